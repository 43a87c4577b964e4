//! A document as one HTML file.

use std::fmt::Write as _;

use super::Document;
use super::ink::Face;
use super::svg::{FAMILY, Fonts, escaped, font_styles, write_svg};
use super::table::{Block, Table};

/// How the page looks, on a screen and on paper.
const STYLE: &str = "
:root{color-scheme:light}
body{margin:0;background:#f3eee2;color:#22303a;font:16px/1.45 'Bommie Plan',sans-serif}
main{max-width:297mm;margin:0 auto;padding:1.2rem}
h1{margin:0;font-size:1.7rem}
h2{margin:2.2rem 0 .6rem;font-size:1.25rem;border-bottom:1px solid #22303a}
p{max-width:48rem;margin:.5rem 0}
.aside{font-style:italic;color:#666053}
figure{margin:1rem 0;padding:6mm;background:#fff;border:1px solid #b4ab98;overflow-x:auto}
figcaption{font-style:italic;color:#666053;margin-bottom:2mm}
figure svg{display:block;max-width:none}
.wide{overflow-x:auto}
table{border-collapse:collapse;background:#fbf8f0;font-size:.94rem}
th,td{padding:.2rem .6rem;text-align:left;vertical-align:top;border-bottom:1px solid #b4ab98}
th{background:#e9e2d2}
.figures{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}
.accent{color:#a84129}
footer{margin-top:2rem;font-size:.85rem;color:#666053}
@page{size:landscape;margin:8mm 10mm}
@media print{body{background:#fff}main{max-width:none;padding:0}h1{display:inline;font-size:1.1rem}h1+p{display:inline;margin-left:1rem}figure{border:0;padding:0;break-inside:avoid}tr{break-inside:avoid}h2{break-after:avoid}}
";

/// The document; sheets as inline SVG that prints at its stated scale.
pub(super) fn html(document: &Document) -> String {
    let (title, subtitle) = (escaped(&document.title), escaped(&document.subtitle));
    let fonts = font_styles(&[Face::Regular, Face::Italic, Face::Bold]);
    let mut page = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}: {subtitle}</title>\n<style>\n{fonts}{STYLE}</style>\n</head>\n<body>\n<main>\n\
         <h1>{title}</h1>\n<p class=\"aside\">{subtitle}</p>\n"
    );
    debug_assert!(STYLE.contains(FAMILY), "the style names the family");
    for block in &document.blocks {
        write_block(&mut page, block);
    }
    let stamp = escaped(&document.stamp);
    let _written = write!(
        page,
        "<footer>{stamp}</footer>\n</main>\n</body>\n</html>\n"
    );
    page
}

fn write_block(page: &mut String, block: &Block) {
    // Writing to a String cannot fail.
    let _written = match block {
        Block::Heading(text, _) => writeln!(page, "<h2>{}</h2>", escaped(text)),
        Block::Text(text) => writeln!(page, "<p>{}</p>", escaped(text)),
        Block::Aside(text) => writeln!(page, "<p class=\"aside\">{}</p>", escaped(text)),
        Block::Table(table) => {
            write_table(page, table);
            Ok(())
        }
        Block::Sheet(title, drawing) => {
            let caption = escaped(title);
            page.push_str("<figure>\n");
            let done = writeln!(page, "<figcaption>{caption}</figcaption>");
            write_svg(page, drawing, Fonts::Around);
            page.push_str("</figure>\n");
            done
        }
        // A page at full size is for paper.
        Block::Page(_) => Ok(()),
    };
}

fn write_table(page: &mut String, table: &Table) {
    page.push_str("<div class=\"wide\"><table>\n<thead><tr>");
    let class = |is_figures: bool, is_accent: bool| match (is_figures, is_accent) {
        (true, true) => " class=\"figures accent\"",
        (true, false) => " class=\"figures\"",
        (false, true) => " class=\"accent\"",
        (false, false) => "",
    };
    for column in &table.columns {
        let title = escaped(&column.title);
        let _written = write!(page, "<th{}>{title}</th>", class(column.is_figures, false));
    }
    page.push_str("</tr></thead>\n<tbody>\n");
    for row in &table.rows {
        page.push_str("<tr>");
        for (column, cell) in table.columns.iter().zip(row) {
            let (class, text) = (
                class(column.is_figures, cell.is_accent),
                escaped(&cell.text),
            );
            let _written = write!(page, "<td{class}>{text}</td>");
        }
        page.push_str("</tr>\n");
    }
    page.push_str("</tbody>\n</table></div>\n");
}

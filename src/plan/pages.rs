//! A document set on pages.

use glam::DVec2;

use super::face;
use super::ink::{Drawing, Face, Hand, Pen, Wash};
use super::palette::{ACCENT, ASIDE, INK, RULE, STRIP};
use super::table::{Block, Cell, Column, Table};
use super::{Document, Paper};

/// Free edge of a page, in mm.
pub(super) const EDGE_MM: f64 = 10.0;
/// Height of head and foot, in mm.
const HEAD_MM: f64 = 12.0;
const FOOT_MM: f64 = 7.0;
/// Widest line of running text, in mm.
const TEXT_MM: f64 = 185.0;
/// Height of letters in running text and in tables, in mm.
const BODY_MM: f64 = 3.5;
const CELL_MM: f64 = 3.15;
/// From line to line.
const LEADING: f64 = 1.28;
/// Room around a cell's text, in mm.
const PAD_MM: f64 = 1.6;

/// Room for a sheet's drawing between head and foot, in mm.
pub(super) fn sheet_room_mm(paper: Paper) -> DVec2 {
    paper.size_mm() - DVec2::new(2.0 * EDGE_MM, 2.0 * EDGE_MM + HEAD_MM + FOOT_MM)
}

/// The pages, numbered.
pub(super) fn pages(document: &Document) -> Vec<Drawing> {
    let mut press = Press::new(document);
    for (idx, block) in document.blocks.iter().enumerate() {
        let next = document.blocks.get(idx + 1);
        press.set(block, next);
    }
    press.finish()
}

struct Press<'a> {
    document: &'a Document,
    pages: Vec<Page>,
    /// Where the next line goes; none where a new page is due.
    y_mm: Option<f64>,
    /// Title of the section.
    section: String,
}

struct Page {
    drawing: Drawing,
    section: String,
    is_bare: bool,
}

impl<'a> Press<'a> {
    fn new(document: &'a Document) -> Self {
        Self {
            document,
            pages: Vec::new(),
            y_mm: None,
            section: String::new(),
        }
    }

    fn size(&self) -> DVec2 {
        self.document.paper.size_mm()
    }

    fn bottom_mm(&self) -> f64 {
        self.size().y - EDGE_MM - FOOT_MM
    }

    fn open_page(&mut self) {
        self.pages.push(Page {
            drawing: Drawing::new(self.size(), self.section.clone()),
            section: self.section.clone(),
            is_bare: false,
        });
        self.y_mm = Some(EDGE_MM + HEAD_MM + 5.0);
    }

    /// Makes sure that there is so much room on the page.
    fn need(&mut self, high_mm: f64) -> f64 {
        match self.y_mm {
            Some(y) if y + high_mm <= self.bottom_mm() => {}
            _ => self.open_page(),
        }
        self.y_mm.unwrap_or(EDGE_MM + HEAD_MM)
    }

    fn to(&mut self) -> Option<&mut Drawing> {
        self.pages.last_mut().map(|page| &mut page.drawing)
    }

    fn set(&mut self, block: &Block, next: Option<&Block>) {
        match block {
            Block::Heading(text, on_new_page) => {
                if *on_new_page {
                    self.y_mm = None;
                }
                if self.y_mm.is_none() {
                    self.section.clone_from(text);
                }
                // With the first lines of what follows.
                let follow_mm = match next {
                    Some(Block::Table(_)) => 22.0,
                    _ => 10.0,
                };
                let y = self.need(12.0 + follow_mm);
                let is_first = y < EDGE_MM + HEAD_MM + 6.0;
                let y = y + if is_first { 4.0 } else { 6.5 };
                self.write(y, text, Hand::new(Face::Bold, 4.6, INK));
                self.y_mm = Some(y + 5.5);
            }
            Block::Text(text) => self.paragraph(text, Hand::new(Face::Regular, BODY_MM, INK)),
            Block::Aside(text) => self.paragraph(text, Hand::new(Face::Italic, BODY_MM, ASIDE)),
            Block::Table(table) => self.table(table),
            Block::Sheet(title, drawing) => {
                self.section.clone_from(title);
                self.open_page();
                let at = DVec2::new(EDGE_MM, EDGE_MM + HEAD_MM);
                let (name, which) = (&self.document.title, &self.document.subtitle);
                let alt = format!("Drawing of {name}, {which}: {title}. Its words follow.");
                if let Some(to) = self.to() {
                    to.lay(drawing.clone(), at);
                    to.alt = alt;
                }
                self.y_mm = None;
            }
            Block::Page(drawing) => {
                self.pages.push(Page {
                    drawing: drawing.clone(),
                    section: String::new(),
                    is_bare: true,
                });
                self.y_mm = None;
            }
        }
    }

    fn write(&mut self, y_mm: f64, text: &str, hand: Hand) {
        if let Some(to) = self.to() {
            to.text(DVec2::new(EDGE_MM, y_mm), text, hand);
        }
    }

    fn paragraph(&mut self, text: &str, hand: Hand) {
        for line in face::wrapped(text, hand.face, hand.size_mm, TEXT_MM) {
            let y = self.need(BODY_MM * LEADING) + BODY_MM;
            self.write(y, &line, hand);
            self.y_mm = Some(y + BODY_MM * (LEADING - 1.0));
        }
        self.y_mm = self.y_mm.map(|y| y + 1.6);
    }

    fn table(&mut self, table: &Table) {
        let room_mm = self.size().x - 2.0 * EDGE_MM;
        let widths = column_widths(table, room_mm);
        let mut has_head = false;
        // What fits on a page below the head; longer rows go on on the next.
        let room_mm = self.bottom_mm() - EDGE_MM - HEAD_MM - 16.0;
        let most = (room_mm / (CELL_MM * LEADING)).max(1.0) as usize;
        let parts = table.rows.iter().flat_map(|row| {
            let lines = row_lines(row, &widths);
            pieces(&lines, most)
                .into_iter()
                .map(move |part| (row, part))
        });
        for (row, lines) in parts.collect::<Vec<_>>() {
            let high_mm = row_height(&lines);
            let before = self.pages.len();
            let head_mm = if has_head { 0.0 } else { CELL_MM + 4.0 };
            let mut y = self.need(high_mm + head_mm);
            if !has_head || self.pages.len() > before {
                y = self.table_head(&table.columns, &widths, y);
                has_head = true;
            }
            self.table_row((&table.columns, row), (&lines, &widths), y);
            self.y_mm = Some(y + high_mm);
        }
        self.y_mm = self.y_mm.map(|y| y + 4.0);
    }

    fn table_head(&mut self, columns: &[Column], widths: &[f64], y_mm: f64) -> f64 {
        let high_mm = CELL_MM + 3.0;
        let all_mm: f64 = widths.iter().sum();
        let corner = DVec2::new(EDGE_MM, y_mm);
        let Some(to) = self.to() else { return y_mm };
        let end = corner + DVec2::new(all_mm, high_mm);
        to.rect(corner, end, Some(Wash::full(STRIP)), None);
        let mut x = EDGE_MM;
        for (column, wide_mm) in columns.iter().zip(widths) {
            let hand = Hand::new(Face::Bold, CELL_MM, INK);
            let base = y_mm + CELL_MM + 1.1;
            cell_line(to, (x, *wide_mm, base), &column.title, column, hand);
            x += wide_mm;
        }
        y_mm + high_mm
    }

    fn table_row(
        &mut self,
        (columns, row): (&[Column], &[Cell]),
        (lines, widths): (&[Vec<String>], &[f64]),
        y_mm: f64,
    ) {
        let high_mm = row_height(lines);
        let all_mm: f64 = widths.iter().sum();
        let Some(to) = self.to() else { return };
        let mut x = EDGE_MM;
        for (idx, wide_mm) in widths.iter().enumerate() {
            let (Some(column), Some(cell)) = (columns.get(idx), row.get(idx)) else {
                continue;
            };
            let color = if cell.is_accent { ACCENT } else { INK };
            let hand = Hand::new(Face::Regular, CELL_MM, color);
            for (k, line) in lines.get(idx).into_iter().flatten().enumerate() {
                let base = y_mm + CELL_MM + 0.6 + CELL_MM * LEADING * k as f64;
                cell_line(to, (x, *wide_mm, base), line, column, hand);
            }
            x += wide_mm;
        }
        let under = y_mm + high_mm;
        to.line(
            DVec2::new(EDGE_MM, under),
            DVec2::new(EDGE_MM + all_mm, under),
            Pen::new(0.1, RULE),
        );
    }

    fn finish(self) -> Vec<Drawing> {
        let document = self.document;
        let count = self.pages.len();
        let number = |(idx, page): (usize, Page)| {
            let mut drawing = page.drawing;
            if !page.is_bare {
                frame(&mut drawing, document, &page.section, (idx + 1, count));
            }
            drawing
        };
        self.pages.into_iter().enumerate().map(number).collect()
    }
}

/// Head and foot of a page.
fn frame(to: &mut Drawing, document: &Document, section: &str, (page, of): (usize, usize)) {
    let DVec2 { x: wide, y: high } = to.size_mm;
    let (left, right) = (EDGE_MM, wide - EDGE_MM);
    let room_mm = right - left;
    let section_mm = face::width(section, Face::Regular, 4.0);
    let title_mm = (room_mm - section_mm - 10.0).max(40.0);
    let big = Hand::new(Face::Bold, 5.4, INK);
    let title = face::shortened(&document.title, big.face, big.size_mm, 0.62 * title_mm);
    let after = left + face::width(&title, big.face, big.size_mm) + 4.0;
    let base = EDGE_MM + 5.0;
    to.text(DVec2::new(left, base), title, big);
    let plain = Hand::new(Face::Regular, 4.0, ASIDE);
    let rest_mm = right - section_mm - 6.0 - after;
    let subtitle = face::shortened(
        &document.subtitle,
        plain.face,
        plain.size_mm,
        rest_mm.max(8.0),
    );
    to.text(DVec2::new(after, base), subtitle, plain);
    let ending = Hand::new(Face::Regular, 4.0, INK).ending();
    to.text(DVec2::new(right, base), section, ending);
    let rule = base + 3.0;
    to.line(
        DVec2::new(left, rule),
        DVec2::new(right, rule),
        Pen::new(0.3, INK),
    );
    let foot = high - EDGE_MM;
    let thin = Pen::new(0.15, RULE);
    to.line(
        DVec2::new(left, foot - 4.2),
        DVec2::new(right, foot - 4.2),
        thin,
    );
    let small = Hand::new(Face::Regular, 2.9, ASIDE);
    to.text(DVec2::new(left, foot), document.stamp.clone(), small);
    to.text(
        DVec2::new(right, foot),
        format!("sheet {page} of {of}"),
        small.ending(),
    );
}

fn cell_line(
    to: &mut Drawing,
    (x_mm, wide_mm, base_mm): (f64, f64, f64),
    text: &str,
    column: &Column,
    hand: Hand,
) {
    if column.is_figures {
        let end = DVec2::new(x_mm + wide_mm - PAD_MM, base_mm);
        to.text(end, text, hand.ending());
    } else {
        to.text(DVec2::new(x_mm + PAD_MM, base_mm), text, hand);
    }
}

fn row_lines(row: &[Cell], widths: &[f64]) -> Vec<Vec<String>> {
    row.iter()
        .zip(widths)
        .map(|(cell, wide)| face::wrapped(&cell.text, Face::Regular, CELL_MM, wide - 2.0 * PAD_MM))
        .collect()
}

/// The lines of a row's cells in pieces of at most `most` lines.
fn pieces(lines: &[Vec<String>], most: usize) -> Vec<Vec<Vec<String>>> {
    let longest = lines.iter().map(Vec::len).max().unwrap_or(1).max(1);
    let part = |k: usize| {
        let of = |cell: &Vec<String>| cell.iter().skip(k * most).take(most).cloned().collect();
        lines.iter().map(of).collect()
    };
    (0..longest.div_ceil(most)).map(part).collect()
}

fn row_height(lines: &[Vec<String>]) -> f64 {
    let most = lines.iter().map(Vec::len).max().unwrap_or(1).max(1);
    CELL_MM * LEADING * most as f64 + 1.5
}

/// Widths that give each column what it wants if there is room, and take from
/// the widest first if not.
fn column_widths(table: &Table, room_mm: f64) -> Vec<f64> {
    let wanted: Vec<f64> = table
        .columns
        .iter()
        .enumerate()
        .map(|(idx, column)| {
            let cells = table.rows.iter().filter_map(|row| row.get(idx));
            let widest = cells
                .map(|cell| face::width(&cell.text, Face::Regular, CELL_MM))
                .fold(face::width(&column.title, Face::Bold, CELL_MM), f64::max);
            widest + 2.0 * PAD_MM + 0.2
        })
        .collect();
    if wanted.iter().sum::<f64>() <= room_mm {
        return wanted;
    }
    // The cap under which the widths fill the room, by halving.
    let (mut low, mut high) = (0.0, room_mm);
    for _ in 0..50 {
        let cap = f64::midpoint(low, high);
        let sum: f64 = wanted.iter().map(|w| w.min(cap)).sum();
        if sum > room_mm {
            high = cap;
        } else {
            low = cap;
        }
    }
    wanted.iter().map(|w| w.min(low)).collect()
}

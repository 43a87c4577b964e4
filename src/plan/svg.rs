//! A drawing as SVG.

use std::fmt::Write as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD as BASE64;
use glam::DVec2;

use super::face::font_file;
use super::ink::{Anchor, Drawing, Face, Hand, Mark, Pen, Stroke, Wash};
use super::palette::Rgb;

/// Whether the font travels in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fonts {
    /// In the file, so that it looks the same everywhere.
    Within,
    /// In the page around it.
    Around,
}

/// Name of the family in style sheets.
pub(super) const FAMILY: &str = "Bommie Plan";

impl Drawing {
    /// The drawing as an SVG file of its own: as wide and high on paper as it
    /// is meant to be, its coordinates in mm.
    ///
    /// **Source** W3C, SVG 2: `width` and `height` in mm, `viewBox` in mm.
    pub fn svg(&self) -> String {
        let mut svg = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_owned();
        write_svg(&mut svg, self, Fonts::Within);
        svg
    }
}

/// Appends the drawing as an `svg` element.
pub(super) fn write_svg(to: &mut String, drawing: &Drawing, fonts: Fonts) {
    let DVec2 { x: w, y: h } = drawing.size_mm;
    let title = escaped(&drawing.title);
    let _written = writeln!(
        to,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" \
         viewBox=\"0 0 {0} {1}\" role=\"img\" font-family=\"'{FAMILY}', sans-serif\" \
         stroke-linejoin=\"round\" stroke-linecap=\"round\" fill-rule=\"evenodd\">\
         <title>{title}</title>",
        short(w),
        short(h)
    );
    if fonts == Fonts::Within {
        let _written = writeln!(to, "<style>{}</style>", font_styles(&faces(drawing)));
    }
    for mark in &drawing.marks {
        match mark {
            Mark::Shape { strokes, fill, pen } => write_shape(to, strokes, *fill, *pen),
            Mark::Text { at_mm, text, hand } => write_text(to, *at_mm, text, *hand),
        }
    }
    to.push_str("</svg>\n");
}

/// Style rules that bring the font along.
pub(super) fn font_styles(faces: &[Face]) -> String {
    let mut css = String::new();
    for face in faces {
        let (weight, style) = css_face(*face);
        let data = BASE64.encode(font_file(*face));
        let _written = writeln!(
            css,
            "@font-face{{font-family:'{FAMILY}';font-weight:{weight};font-style:{style};\
             src:url(data:font/ttf;base64,{data}) format('truetype')}}"
        );
    }
    css
}

fn faces(drawing: &Drawing) -> Vec<Face> {
    let used = drawing.marks.iter().filter_map(|mark| match mark {
        Mark::Text { hand, .. } => Some(hand.face),
        Mark::Shape { .. } => None,
    });
    let mut faces: Vec<Face> = used.collect();
    faces.sort_unstable();
    faces.dedup();
    faces
}

fn css_face(face: Face) -> (&'static str, &'static str) {
    match face {
        Face::Regular => ("400", "normal"),
        Face::Italic => ("400", "italic"),
        Face::Bold => ("700", "normal"),
    }
}

fn write_shape(to: &mut String, strokes: &[Stroke], fill: Option<Wash>, pen: Option<Pen>) {
    to.push_str("<path d=\"");
    for stroke in strokes {
        for (idx, point) in stroke.points_mm.iter().enumerate() {
            let command = if idx == 0 { 'M' } else { 'L' };
            let _written = write!(to, "{command}{} {}", short(point.x), short(point.y));
        }
        if stroke.is_closed {
            to.push('Z');
        }
    }
    to.push('"');
    match fill {
        Some(wash) => {
            let _written = write!(to, " fill=\"{}\"", hex(wash.color));
            if wash.opacity < 1.0 {
                let _written = write!(to, " fill-opacity=\"{}\"", short(wash.opacity));
            }
        }
        None => to.push_str(" fill=\"none\""),
    }
    if let Some(pen) = pen {
        let width = short(pen.width_mm);
        let _written = write!(
            to,
            " stroke=\"{}\" stroke-width=\"{width}\"",
            hex(pen.color)
        );
        if let Some([dash, gap]) = pen.dash_mm {
            let _written = write!(to, " stroke-dasharray=\"{} {}\"", short(dash), short(gap));
        }
    }
    to.push_str("/>\n");
}

fn write_text(to: &mut String, at_mm: DVec2, text: &str, hand: Hand) {
    let (x, y) = (short(at_mm.x), short(at_mm.y));
    let _written = write!(
        to,
        "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" fill=\"{}\"",
        short(hand.size_mm),
        hex(hand.color)
    );
    match hand.face {
        Face::Regular => {}
        Face::Italic => to.push_str(" font-style=\"italic\""),
        Face::Bold => to.push_str(" font-weight=\"700\""),
    }
    match hand.anchor {
        Anchor::Start => {}
        Anchor::Middle => to.push_str(" text-anchor=\"middle\""),
        Anchor::End => to.push_str(" text-anchor=\"end\""),
    }
    if hand.turn_deg != 0.0 {
        let turn = short(-hand.turn_deg);
        let _written = write!(to, " transform=\"rotate({turn} {x} {y})\"");
    }
    let _written = writeln!(to, ">{}</text>", escaped(text));
}

fn hex(Rgb(r, g, b): Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// A number to a hundredth, without needless zeros.
pub(super) fn short(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    // No "-0".
    format!("{}", rounded + 0.0)
}

/// Text for XML and HTML: markup becomes letters, and control characters that
/// XML 1.0 forbids become spaces.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{fffe}' | '\u{ffff}' => out.push(' '),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

//! Drawings as the pages of a PDF file.

use glam::DVec2;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke as PdfStroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use thiserror::Error;

use super::face;
use super::ink::{Anchor, Drawing, Face, Hand, Mark, Pen, Stroke, Wash};
use super::palette::Rgb;

/// Points a millimeter: 72 points are an inch of 25.4 mm.
const PT_PER_MM: f64 = 72.0 / 25.4;

/// Why there is no PDF.
#[derive(Debug, Error)]
pub enum PdfError {
    /// A page has no size.
    #[error("page {page} is {width_mm} x {height_mm} mm, should have a size")]
    Size {
        /// Number of the page, from 1.
        page: usize,
        /// Its width, in mm.
        width_mm: f64,
        /// Its height, in mm.
        height_mm: f64,
    },
    /// The built-in font cannot be used.
    #[error("the document's font is broken")]
    Font,
    /// The pages could not be put together.
    #[error("cannot put the pages together: {0:?}")]
    Assembly(krilla::error::KrillaError),
}

/// A PDF file with these pages, one after the other, each as large as its
/// drawing. It holds no date: the same pages give the same bytes.
///
/// # Errors
/// [`PdfError`].
pub(super) fn pdf(title: &str, pages: &[Drawing]) -> Result<Vec<u8>, PdfError> {
    let font = |face| Font::new(face::font_file(face).to_vec().into(), 0).ok_or(PdfError::Font);
    let fonts = [font(Face::Regular)?, font(Face::Italic)?, font(Face::Bold)?];
    let mut document = krilla::Document::new();
    document.set_metadata(
        Metadata::new()
            .title(title.to_owned())
            .creator("Bommie".to_owned())
            .language("en".to_owned()),
    );
    for (idx, drawing) in pages.iter().enumerate() {
        let DVec2 { x, y } = drawing.size_mm * PT_PER_MM;
        let size = PageSettings::from_wh(x as f32, y as f32).ok_or(PdfError::Size {
            page: idx + 1,
            width_mm: drawing.size_mm.x,
            height_mm: drawing.size_mm.y,
        })?;
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        for mark in &drawing.marks {
            match mark {
                Mark::Shape { strokes, fill, pen } => shape(&mut surface, strokes, *fill, *pen),
                Mark::Text { at_mm, text, hand } => {
                    let font = &fonts[hand.face as usize];
                    write(&mut surface, (*at_mm, text), *hand, font);
                }
            }
        }
        surface.finish();
        page.finish();
    }
    document.finish().map_err(PdfError::Assembly)
}

fn shape(surface: &mut Surface<'_>, strokes: &[Stroke], fill: Option<Wash>, pen: Option<Pen>) {
    let Some(path) = path(strokes) else { return };
    surface.set_fill(fill.map(paint));
    surface.set_stroke(pen.map(|pen| PdfStroke {
        paint: color(pen.color).into(),
        width: (pen.width_mm * PT_PER_MM) as f32,
        line_cap: LineCap::Round,
        line_join: LineJoin::Round,
        dash: pen.dash_mm.map(|dash| StrokeDash {
            array: dash.map(|mm| (mm * PT_PER_MM) as f32).to_vec(),
            offset: 0.0,
        }),
        ..PdfStroke::default()
    }));
    if fill.is_some() || pen.is_some() {
        surface.draw_path(&path);
    }
}

fn path(strokes: &[Stroke]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for stroke in strokes {
        for (idx, point) in stroke.points_mm.iter().enumerate() {
            let Point { x, y } = place(*point);
            if idx == 0 {
                path.move_to(x, y);
            } else {
                path.line_to(x, y);
            }
        }
        if stroke.is_closed {
            path.close();
        }
    }
    path.finish()
}

fn write(surface: &mut Surface<'_>, (at_mm, text): (DVec2, &str), hand: Hand, font: &Font) {
    let width_mm = face::width(text, hand.face, hand.size_mm);
    let back_mm = match hand.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => width_mm / 2.0,
        Anchor::End => width_mm,
    };
    let mut start = 0;
    let glyphs: Vec<KrillaGlyph> = face::letters(text, hand.face)
        .into_iter()
        .map(|letter| {
            let range = start..start + letter.n_bytes;
            start = range.end;
            let glyph = GlyphId::new(letter.glyph);
            KrillaGlyph::new(glyph, letter.advance as f32, 0.0, 0.0, 0.0, range, None)
        })
        .collect();
    surface.set_stroke(None);
    surface.set_fill(Some(paint(Wash::full(hand.color))));
    let Point { x, y } = place(at_mm);
    surface.push_transform(&Transform::from_translate(x, y));
    surface.push_transform(&Transform::from_rotate(-hand.turn_deg as f32));
    let from = Point::from_xy((-back_mm * PT_PER_MM) as f32, 0.0);
    let size_pt = (hand.size_mm * PT_PER_MM) as f32;
    surface.draw_glyphs(from, &glyphs, font.clone(), text, size_pt, false);
    surface.pop();
    surface.pop();
}

fn place(at_mm: DVec2) -> Point {
    let DVec2 { x, y } = at_mm * PT_PER_MM;
    Point::from_xy(x as f32, y as f32)
}

fn color(Rgb(r, g, b): Rgb) -> rgb::Color {
    rgb::Color::new(r, g, b)
}

fn paint(wash: Wash) -> Fill {
    Fill {
        paint: color(wash.color).into(),
        opacity: NormalizedF32::new(wash.opacity as f32).unwrap_or(NormalizedF32::ONE),
        rule: FillRule::EvenOdd,
    }
}

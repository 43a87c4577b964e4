//! Drawings as the pages of a PDF file.

use std::num::NonZeroU16;

use glam::DVec2;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke as PdfStroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, SpanTag, Tag, TagGroup, TagKind, TagTree,
};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use thiserror::Error;

use super::face;
use super::ink::{Anchor, Drawing, Face, Hand, Mark, Pen, Stroke, Wash};
use super::palette::{INK, Rgb};

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
    let mut tags = TagTree::new().with_lang(Some("en".to_owned()));
    for (idx, drawing) in pages.iter().enumerate() {
        let DVec2 { x, y } = drawing.size_mm * PT_PER_MM;
        let size = PageSettings::from_wh(x as f32, y as f32).ok_or(PdfError::Size {
            page: idx + 1,
            width_mm: drawing.size_mm.x,
            height_mm: drawing.size_mm.y,
        })?;
        let mut page = document.start_page_with(size);
        let mut surface = page.surface();
        tags.push(draw_page(&mut surface, drawing, &fonts));
        surface.finish();
        page.finish();
    }
    document.set_tag_tree(tags);
    document.finish().map_err(PdfError::Assembly)
}

/// Draws a page; its words in the order in which they are read, headings told
/// from text, and what is drawn as one figure with words for those who do not
/// see it, or as decoration where there are none. Pictures with words of their
/// own are read where they lie.
fn draw_page(surface: &mut Surface<'_>, drawing: &Drawing, fonts: &[Font; 3]) -> TagGroup {
    let mut section = TagGroup::new(Tag::Section);
    let mut figure =
        (!drawing.alt.is_empty()).then(|| TagGroup::new(Tag::Figure(Some(drawing.alt.clone()))));
    let mut reading = Reading::default();
    let mut idx = 0;
    while idx < drawing.marks.len() {
        let own = drawing.figures.iter().find(|it| it.marks.start == idx);
        let end = match own {
            Some(own) if !own.marks.is_empty() => own.marks.end,
            _ => run_end(drawing, idx),
        };
        let marks = &drawing.marks[idx..end];
        idx = end;
        match (own, marks) {
            (Some(own), _) => {
                let mut picture = TagGroup::new(Tag::Figure(Some(own.alt.clone())));
                let id = surface.start_tagged(ContentTag::Other);
                for mark in marks {
                    draw(surface, mark, fonts);
                }
                surface.end_tagged();
                picture.push(id);
                reading.close();
                reading.groups.push(picture);
            }
            (None, [Mark::Text { at_mm, text, hand }]) => {
                let id = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
                write(surface, (*at_mm, text), *hand, &fonts[hand.face as usize]);
                surface.end_tagged();
                reading.add(id, (*at_mm, text), *hand);
            }
            (None, shapes) => {
                let tag = match &figure {
                    Some(_) => ContentTag::Other,
                    None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
                };
                let id = surface.start_tagged(tag);
                for mark in shapes {
                    draw(surface, mark, fonts);
                }
                surface.end_tagged();
                if let Some(figure) = &mut figure {
                    figure.push(id);
                }
            }
        }
    }
    reading.close();
    // The figure is said first, its words after it.
    for group in figure.into_iter().chain(reading.groups) {
        section.push(group);
    }
    section
}

/// Words and pictures in the order in which they are read.
#[derive(Default)]
struct Reading {
    groups: Vec<TagGroup>,
    /// The paragraph that is open, its hand, and where its lines begin.
    paragraph: Option<(TagGroup, Hand, f64)>,
}

impl Reading {
    /// A line of words: of the open paragraph if it looks and begins alike.
    fn add(&mut self, id: Identifier, (at_mm, text): (DVec2, &str), hand: Hand) {
        let goes_on = self.paragraph.as_ref().is_some_and(|(_, before, x_mm)| {
            *before == hand && hand.anchor == Anchor::Start && *x_mm == at_mm.x
        });
        if !goes_on {
            self.close();
        }
        let new = || (TagGroup::new(kind_of(hand, text)), hand, at_mm.x);
        self.paragraph.get_or_insert_with(new).0.push(id);
    }

    fn close(&mut self) {
        self.groups
            .extend(self.paragraph.take().map(|(group, ..)| group));
    }
}

/// One text, or shapes up to the next text or picture with words of its own.
fn run_end(drawing: &Drawing, start: usize) -> usize {
    if matches!(drawing.marks[start], Mark::Text { .. }) {
        return start + 1;
    }
    let is_in_run = |idx: &usize| {
        matches!(drawing.marks[*idx], Mark::Shape { .. })
            && drawing.figures.iter().all(|it| it.marks.start != *idx)
    };
    let rest = start + 1..drawing.marks.len();
    let n_more = rest.take_while(is_in_run).count();
    start + 1 + n_more
}

fn draw(surface: &mut Surface<'_>, mark: &Mark, fonts: &[Font; 3]) {
    match mark {
        Mark::Shape { strokes, fill, pen } => shape(surface, strokes, *fill, *pen),
        Mark::Text { at_mm, text, hand } => {
            write(surface, (*at_mm, text), *hand, &fonts[hand.face as usize]);
        }
    }
}

/// Large bold words in ink head what follows; cautions are no headings.
fn kind_of(hand: Hand, text: &str) -> TagKind {
    const HEADING_MM: f64 = 4.5;
    let is_large = hand.face == Face::Bold && hand.size_mm >= HEADING_MM;
    match NonZeroU16::new(2) {
        Some(level) if is_large && hand.color == INK => {
            Tag::Hn(level, Some(text.to_owned())).into()
        }
        _ => Tag::P.into(),
    }
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

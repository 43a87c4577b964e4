//! A drawing as a picture of dots.

use glam::DVec2;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder as _};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, GlyphId, MetadataProvider as _};
use thiserror::Error;
use tiny_skia::{
    Color, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Stroke as Line,
    StrokeDash, Transform,
};

use super::face;
use super::ink::{Anchor, Drawing, Face, Hand, Mark, Pen, Stroke, Wash};
use super::palette::Rgb;

/// Most dots of a picture: a sheet of A2 at 300 to the inch.
const DOTS_MAX: f64 = 40e6;

/// Why there is no picture.
#[derive(Debug, Error)]
pub enum PngError {
    /// It would have no dots, or too many.
    #[error("the picture would be {width:.0} x {height:.0} dots, at most 40 million are drawn")]
    Size {
        /// Its width, in dots.
        width: f64,
        /// Its height, in dots.
        height: f64,
    },
    /// The built-in font cannot be used.
    #[error("the drawing's font is broken")]
    Font,
    /// The picture could not be encoded.
    #[error("cannot encode the picture: {0}")]
    Encode(#[from] image::ImageError),
}

impl Drawing {
    /// The drawing as PNG on white paper, with so many dots a millimeter.
    ///
    /// # Errors
    /// [`PngError`].
    pub fn png(&self, dots_per_mm: f64) -> Result<Vec<u8>, PngError> {
        let size = (self.size_mm * dots_per_mm).ceil();
        let too_large = PngError::Size {
            width: size.x,
            height: size.y,
        };
        if !(size.x >= 1.0 && size.y >= 1.0 && size.x * size.y <= DOTS_MAX) {
            return Err(too_large);
        }
        let mut sheet = Pixmap::new(size.x as u32, size.y as u32).ok_or(too_large)?;
        sheet.fill(Color::WHITE);
        let font = |face| FontRef::new(face::font_file(face)).map_err(|_broken| PngError::Font);
        let fonts = [font(Face::Regular)?, font(Face::Italic)?, font(Face::Bold)?];
        let scale = Transform::from_scale(dots_per_mm as f32, dots_per_mm as f32);
        for mark in &self.marks {
            match mark {
                Mark::Shape { strokes, fill, pen } => {
                    shape(&mut sheet, (strokes, scale), *fill, *pen);
                }
                Mark::Text { at_mm, text, hand } => {
                    let font = &fonts[hand.face as usize];
                    write(&mut sheet, (*at_mm, text), (*hand, font), scale);
                }
            }
        }
        // All dots are opaque, so that their colors are plain ones.
        let dots: Vec<u8> = sheet
            .data()
            .chunks_exact(4)
            .flat_map(|dot| [dot[0], dot[1], dot[2]])
            .collect();
        let mut png = Vec::new();
        let (width, height) = (sheet.width(), sheet.height());
        PngEncoder::new(&mut png).write_image(&dots, width, height, ExtendedColorType::Rgb8)?;
        Ok(png)
    }
}

fn shape(
    to: &mut Pixmap,
    (strokes, scale): (&[Stroke], Transform),
    fill: Option<Wash>,
    pen: Option<Pen>,
) {
    let Some(path) = path(strokes) else { return };
    if let Some(wash) = fill {
        let paint = paint(wash.color, wash.opacity);
        to.fill_path(&path, &paint, FillRule::EvenOdd, scale, None);
    }
    if let Some(pen) = pen {
        let dash = pen.dash_mm.and_then(|dash| {
            let lengths = dash.map(|mm| mm as f32).to_vec();
            StrokeDash::new(lengths, 0.0)
        });
        let line = Line {
            width: pen.width_mm as f32,
            line_cap: LineCap::Round,
            line_join: LineJoin::Round,
            dash,
            ..Line::default()
        };
        to.stroke_path(&path, &paint(pen.color, 1.0), &line, scale, None);
    }
}

fn path(strokes: &[Stroke]) -> Option<Path> {
    let mut path = PathBuilder::new();
    for stroke in strokes {
        for (idx, DVec2 { x, y }) in stroke.points_mm.iter().enumerate() {
            if idx == 0 {
                path.move_to(*x as f32, *y as f32);
            } else {
                path.line_to(*x as f32, *y as f32);
            }
        }
        if stroke.is_closed {
            path.close();
        }
    }
    path.finish()
}

fn write(
    to: &mut Pixmap,
    (at_mm, text): (DVec2, &str),
    (hand, font): (Hand, &FontRef<'_>),
    scale: Transform,
) {
    let width_mm = face::width(text, hand.face, hand.size_mm);
    let start_mm = match hand.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -width_mm / 2.0,
        Anchor::End => -width_mm,
    };
    let outlines = font.outline_glyphs();
    let mut pencil = Pencil {
        path: PathBuilder::new(),
        x: start_mm as f32,
    };
    for letter in face::letters(text, hand.face) {
        let size = skrifa::instance::Size::new(hand.size_mm as f32);
        let settings = DrawSettings::unhinted(size, skrifa::instance::LocationRef::default());
        if let Some(outline) = outlines.get(GlyphId::new(letter.glyph)) {
            // A glyph without an outline, as a space, draws nothing.
            drop(outline.draw(settings, &mut pencil));
        }
        pencil.x += (letter.advance * hand.size_mm) as f32;
    }
    if let Some(path) = pencil.path.finish() {
        let place = scale
            .pre_translate(at_mm.x as f32, at_mm.y as f32)
            .pre_concat(Transform::from_rotate(-hand.turn_deg as f32));
        to.fill_path(
            &path,
            &paint(hand.color, 1.0),
            FillRule::Winding,
            place,
            None,
        );
    }
}

/// Draws a glyph's outline where the text has come to; y upwards turns down.
struct Pencil {
    path: PathBuilder,
    x: f32,
}

impl OutlinePen for Pencil {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(self.x + x, -y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(self.x + x, -y);
    }

    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.path.quad_to(self.x + cx, -cy, self.x + x, -y);
    }

    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        let start = self.x;
        self.path
            .cubic_to(start + ax, -ay, start + bx, -by, start + x, -y);
    }

    fn close(&mut self) {
        self.path.close();
    }
}

fn paint(Rgb(r, g, b): Rgb, opacity: f64) -> Paint<'static> {
    let mut paint = Paint::default();
    let alpha = (opacity.clamp(0.0, 1.0) * 255.0).round() as u8;
    paint.set_color_rgba8(r, g, b, alpha);
    paint.anti_alias = true;
    paint
}

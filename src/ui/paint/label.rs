//! Small words on the drawing, and the strokes that carry meaning: dashed,
//! dotted, stippled.

use egui::epaint::Mesh;
use egui::{Align2, Color32, FontId, Painter, Pos2, Rect, Shape, Stroke, Vec2, vec2};

use crate::ui::theme::{self, Theme};

/// Height of words on the drawing, in points.
pub(crate) const SIZE: f32 = 13.0;

/// Plain small text.
pub(crate) fn font() -> FontId {
    FontId::proportional(SIZE)
}

/// Text with a rim of paper around it.
pub(crate) fn rimmed(painter: &Painter, at: Pos2, align: Align2, text: &str, inks: [Color32; 2]) {
    let [ink, rim] = inks;
    let galley = painter.layout_no_wrap(text.to_owned(), font(), ink);
    let rect = align.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand2(vec2(3.0, 0.0)), 2.0, rim);
    painter.galley(rect.min, galley, ink);
}

/// Words in italics on a scrap of paper, ready to be put on a drawing.
pub(crate) struct Caption {
    /// Where they go.
    pub(crate) rect: Rect,
    galley: std::sync::Arc<egui::Galley>,
}

/// Words in italics for the lower left corner of a drawing: the first of `texts`
/// that is no wider than it; nothing if none is.
pub(crate) fn caption<T: AsRef<str>>(
    painter: &Painter,
    drawing: Rect,
    texts: &[T],
    theme: &Theme,
) -> Option<Caption> {
    let font = theme::italic(SIZE + 0.5);
    let lay_out = |text: &T| {
        let text = text.as_ref().to_owned();
        painter.layout_no_wrap(text, font.clone(), theme.ink)
    };
    let room = drawing.width() - 16.0;
    let galley = texts.iter().map(lay_out).find(|g| g.size().x <= room)?;
    let at = drawing.left_bottom() + vec2(7.0, -7.0);
    let rect = Align2::LEFT_BOTTOM.anchor_size(at, galley.size());
    Some(Caption { rect, galley })
}

impl Caption {
    /// Writes them.
    pub(crate) fn paint(self, painter: &Painter, theme: &Theme) {
        let paper = theme.sheet.gamma_multiply(0.82);
        painter.rect_filled(self.rect.expand2(vec2(4.0, 1.0)), 2.0, paper);
        painter.galley(self.rect.min, self.galley, theme.ink);
    }
}

/// A dashed line.
pub(crate) fn dashed(painter: &Painter, points: &[Pos2], stroke: Stroke, dash: f32, gap: f32) {
    painter.extend(Shape::dashed_line(points, stroke, dash, gap));
}

/// A dotted circle: its dots so far apart and so large, in points.
pub(crate) fn dotted_circle(
    painter: &Painter,
    (center, radius): (Pos2, f32),
    (apart, dot): (f32, f32),
    color: Color32,
) {
    let n = ((radius * std::f32::consts::TAU / apart) as usize).clamp(10, 160);
    let dots = (0..n).map(|k| {
        let angle = k as f32 / n as f32 * std::f32::consts::TAU;
        center + radius * Vec2::angled(angle)
    });
    painter.add(dots_mesh(dots, dot, color));
}

/// Many small dots as one shape.
pub(crate) fn dots_mesh(dots: impl Iterator<Item = Pos2>, radius: f32, color: Color32) -> Shape {
    let mut mesh = Mesh::default();
    for dot in dots {
        mesh.add_colored_rect(
            Rect::from_center_size(dot, Vec2::splat(2.0 * radius)),
            color,
        );
    }
    Shape::mesh(mesh)
}

/// Many short strokes as one shape.
pub(crate) fn strokes_mesh(
    strokes: impl Iterator<Item = ([Pos2; 2], Color32)>,
    width: f32,
) -> Shape {
    let mut mesh = Mesh::default();
    for ([a, b], color) in strokes {
        let along = b - a;
        if along.length_sq() < 1e-6 {
            continue;
        }
        let side = along.normalized().rot90() * (width / 2.0);
        let first = mesh.vertices.len() as u32;
        for corner in [a + side, b + side, b - side, a - side] {
            mesh.colored_vertex(corner, color);
        }
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first, first + 2, first + 3);
    }
    Shape::mesh(mesh)
}

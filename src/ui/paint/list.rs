//! Lays a display list on the screen: names of colors become colors of the
//! theme, nibs become points.

use egui::epaint::{Mesh, WHITE_UV};
use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Vec2, vec2};
use glam::DVec2;

use crate::draw::{self, Area, Fill, Ink, Line, Mark, Pen, Show, Vertex};
use crate::ui::paint::label;
use crate::ui::sheet::Frame;
use crate::ui::theme::Theme;

/// Where and how a list is shown.
pub(crate) struct Screen<'a> {
    /// What it is laid on.
    pub(crate) painter: &'a Painter,
    /// Where its view lies.
    pub(crate) frame: &'a Frame,
    /// Colors.
    pub(crate) theme: &'a Theme,
}

/// A shift of nibs on the screen, where y points downwards.
fn points(off: DVec2) -> Vec2 {
    vec2(off.x as f32, -off.y as f32)
}

/// The rectangle whose corners these are, if they are those of an upright one:
/// it is put on whole pixels.
fn upright(corners: &[Pos2]) -> Option<Rect> {
    let rect = Rect::from_points(corners);
    let is_corner = |p: &Pos2| {
        (p.x == rect.left() || p.x == rect.right()) && (p.y == rect.top() || p.y == rect.bottom())
    };
    (corners.len() == 4 && rect.is_positive() && corners.iter().all(is_corner)).then_some(rect)
}

impl Screen<'_> {
    /// Lays down a mark; one that is lit as what is pointed at or selected.
    pub(crate) fn lay(&self, mark: &Mark, is_lit: bool) {
        if mark.show == Show::WhenLit && !is_lit {
            return;
        }
        let pen = mark.pen.map(|pen| if is_lit { pen.lit() } else { pen });
        let pen = pen.filter(|pen| pen.width > 0.0);
        match &mark.shape {
            draw::Shape::Circle {
                at,
                radius_cm,
                radius,
            } => {
                let radius = self.frame.points(*radius_cm) + *radius as f32;
                self.circle(self.pos(at), radius, (mark.fill, pen));
            }
            draw::Shape::Path {
                points,
                is_closed,
                hub,
            } => {
                let points: Vec<Pos2> = points.iter().map(|vertex| self.pos(vertex)).collect();
                let hub = hub.as_ref().map(|hub| self.pos(hub));
                if *is_closed {
                    self.area(points, hub, (mark.fill, pen));
                } else if let Some(pen) = pen {
                    self.line(points, pen);
                }
            }
            draw::Shape::Area { at_cm, area } => self.rings((*at_cm, area), (mark.fill, pen)),
            draw::Shape::Lines { at_cm, lines } => {
                let place = self.around(*at_cm);
                for (line, pen) in lines.iter().zip(pen.iter().cycle()) {
                    self.line(line.iter().map(&place).collect(), *pen);
                }
            }
            draw::Shape::Dots {
                at_cm,
                dots,
                radius,
            } => {
                let dots = dots.iter().map(self.around(*at_cm));
                let dots = label::dots_mesh(dots, *radius as f32, self.fill(mark.fill));
                self.painter.add(dots);
            }
        }
    }

    /// From places off one of the view, in cm, to the screen. What is counted so
    /// lies in the water, below where the air is folded.
    pub(crate) fn around(&self, at_cm: DVec2) -> impl Fn(&glam::Vec2) -> Pos2 + use<> {
        let (origin, scale) = (self.frame.pos_flat(at_cm), self.frame.scale as f32);
        move |off| origin + vec2(off.x, -off.y) * scale
    }

    /// An area between rings and its border.
    fn rings(&self, (at_cm, area): (DVec2, &Area), (fill, pen): (Option<Fill>, Option<Pen>)) {
        let place = self.around(at_cm);
        if fill.is_some() {
            let color = self.fill(fill);
            let corner = |p: &glam::Vec2| egui::epaint::Vertex {
                pos: place(p),
                uv: WHITE_UV,
                color,
            };
            self.painter.add(Shape::mesh(Mesh {
                vertices: area.corners.iter().map(corner).collect(),
                indices: area.triangles.clone(),
                ..Mesh::default()
            }));
        }
        let Some(pen) = pen else { return };
        for ring in &area.rings {
            let points = ring.iter().map(&place);
            self.painter
                .add(Shape::closed_line(points.collect(), self.stroke(&pen)));
        }
    }

    fn pos(&self, vertex: &Vertex) -> Pos2 {
        self.frame.pos_flat(vertex.at_cm) + points(vertex.off)
    }

    fn color(&self, ink: Ink, strength: f64) -> Color32 {
        let theme = self.theme;
        let color = match ink {
            Ink::Line => theme.ink,
            Ink::Accent => theme.accent,
            Ink::Paper => theme.sheet,
            Ink::Coral => theme.coral,
            Ink::Glow => theme.glow,
            Ink::Beam if theme.is_night => theme.glow,
            // Darker than the glow itself, to be seen on paper and on the wash.
            Ink::Beam => Color32::from_rgb(0xA8, 0x78, 0x10),
            Ink::Water => theme.water_line,
            Ink::Rock => theme.rock,
            Ink::Sand => theme.sand,
        };
        if strength < 1.0 {
            color.gamma_multiply(strength as f32)
        } else {
            color
        }
    }

    fn fill(&self, fill: Option<Fill>) -> Color32 {
        fill.map_or(Color32::TRANSPARENT, |fill| {
            self.color(fill.ink, fill.strength)
        })
    }

    fn stroke(&self, pen: &Pen) -> Stroke {
        Stroke::new(pen.width as f32, self.color(pen.ink, pen.strength))
    }

    fn circle(&self, at: Pos2, radius: f32, (fill, pen): (Option<Fill>, Option<Pen>)) {
        let fill = self.fill(fill);
        match pen {
            Some(pen) if let Line::Dotted(apart) = pen.line => {
                let dot = pen.width as f32 / 2.0;
                let color = self.color(pen.ink, pen.strength);
                label::dotted_circle(self.painter, (at, radius), (apart as f32, dot), color);
            }
            pen => {
                let stroke = pen.map_or(Stroke::NONE, |pen| self.stroke(&pen));
                self.painter.circle(at, radius, fill, stroke);
            }
        }
    }

    fn area(&self, points: Vec<Pos2>, hub: Option<Pos2>, (fill, pen): (Option<Fill>, Option<Pen>)) {
        let outline = pen.filter(|pen| pen.line == Line::Full);
        let stroke = outline.map_or(Stroke::NONE, |pen| self.stroke(&pen));
        match (hub, fill) {
            (Some(hub), Some(_)) => {
                let mut mesh = Mesh::default();
                let color = self.fill(fill);
                mesh.colored_vertex(hub, color);
                let n = points.len() as u32;
                for point in &points {
                    mesh.colored_vertex(*point, color);
                }
                for k in 0..n {
                    mesh.add_triangle(0, 1 + k, 1 + (k + 1) % n);
                }
                self.painter.add(Shape::mesh(mesh));
                self.painter.add(Shape::closed_line(points, stroke));
            }
            (Some(_), None) => {
                self.painter.add(Shape::closed_line(points, stroke));
            }
            (None, None) if let Some(rect) = upright(&points) => {
                let within = rect.shrink(stroke.width / 2.0);
                let kind = StrokeKind::Outside;
                self.painter.rect_stroke(within, 0.0, stroke, kind);
            }
            (None, _) => {
                let mut around = points;
                if let Some(pen) = pen.filter(|pen| pen.line != Line::Full) {
                    around.extend(around.first().copied());
                    self.line(around.clone(), pen);
                }
                let fill = self.fill(fill);
                self.painter
                    .add(Shape::convex_polygon(around, fill, stroke));
            }
        }
    }

    fn line(&self, points: Vec<Pos2>, pen: Pen) {
        let stroke = self.stroke(&pen);
        match pen.line {
            // Straight ones are put on whole pixels.
            Line::Full => match *points.as_slice() {
                [from, to] => {
                    self.painter.line_segment([from, to], stroke);
                }
                _ => {
                    self.painter.add(Shape::line(points, stroke));
                }
            },
            Line::Dashed([dash, gap]) => {
                label::dashed(self.painter, &points, stroke, dash as f32, gap as f32);
            }
            Line::Dotted(apart) => {
                let dot = stroke.width / 2.0;
                let dots = Shape::dotted_line(&points, stroke.color, apart as f32, dot);
                self.painter.extend(dots);
            }
        }
    }
}

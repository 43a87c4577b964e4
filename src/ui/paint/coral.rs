//! Corals at their true size, drawn by growth form, from above and from the side.

use egui::epaint::Mesh;
use egui::{Color32, Painter, Pos2, Shape, Stroke, Vec2, pos2, vec2};
use glam::DVec3;

use crate::catalog::{Catalog, Form};
use crate::geometry::drape::SkinStep;
use crate::scene::Coral;
use crate::ui::paint::{label, mats};
use crate::ui::sheet::{Frame, View};
use crate::ui::theme::Theme;

/// How a coral is to be drawn.
#[derive(Clone, Copy)]
pub(crate) struct CoralLook<'a> {
    /// What is known of corals.
    pub(crate) catalog: &'a Catalog,
    /// Colors.
    pub(crate) theme: &'a Theme,
    /// Whether it is selected or pointed at.
    pub(crate) is_lit: bool,
    /// Whether rock stands before it.
    pub(crate) is_hidden: bool,
    /// A mat's ways over its rock.
    pub(crate) ways: Option<&'a [Vec<SkinStep>]>,
}

/// Form and sting reach (cm past its edge) of a coral.
fn facts(coral: &Coral, catalog: &Catalog) -> (Form, f64) {
    catalog
        .entry(&coral.entry)
        .map_or((Form::Massive, 0.0), |entry| {
            (entry.form, entry.reach_cm.value)
        })
}

/// Draws a coral in a view, with a dotted circle as far as it stings.
pub(crate) fn paint(painter: &Painter, frame: &Frame, coral: &Coral, look: CoralLook<'_>) {
    let (form, reach_cm) = facts(coral, look.catalog);
    let theme = look.theme;
    let line_color = if look.is_lit { theme.accent } else { theme.ink };
    let fade = if look.is_hidden { 0.4 } else { 1.0 };
    let pen = Pen {
        painter,
        fill: if look.is_hidden {
            Color32::TRANSPARENT
        } else {
            theme.coral
        },
        stroke: Stroke::new(
            if look.is_lit { 1.8 } else { 1.1 },
            line_color.gamma_multiply(fade),
        ),
    };
    let middle = frame.pos(coral.at_cm + coral.facing * (coral.size_cm.z / 2.0));
    let is_draped = match look.ways {
        Some(ways) if !look.is_hidden => over_rock(&pen, frame, coral, ways),
        _ => false,
    };
    if is_draped {
        // The rim is all that there is to draw.
    } else if frame.view == View::Top {
        let half = vec2(
            frame.points(coral.size_cm.x / 2.0).max(3.0),
            frame.points(coral.size_cm.y / 2.0).max(3.0),
        );
        from_above(&pen, form, frame.pos(coral.at_cm), half, coral.id);
    } else {
        let (h, _, _) = frame.view.axes();
        let half_width = frame.points(coral.size_cm[h] / 2.0).max(3.0);
        let height = frame.points(coral.size_cm.z).max(3.0);
        let up = frame.vector(coral.facing);
        let up = if up.length() > 0.05 * frame.scale as f32 {
            up.normalized()
        } else {
            vec2(0.0, -1.0)
        };
        let upright = Upright {
            base: frame.pos(coral.at_cm),
            up,
            half_width,
            height,
        };
        from_the_side(&pen, form, &upright, coral.id);
    }
    if reach_cm > 0.0 && (look.is_lit || !look.is_hidden) {
        let radius = frame.points(coral.size_cm.x.max(coral.size_cm.y) / 2.0 + reach_cm);
        let color = line_color.gamma_multiply(if look.is_lit { 0.9 } else { 0.45 });
        label::dotted_circle(painter, middle, radius, color);
    }
}

/// Draws what shows of a mat as it lies over its rock; returns whether that is
/// all of it: seen from its edge, its thickness is still to be drawn.
fn over_rock(pen: &Pen<'_>, frame: &Frame, coral: &Coral, ways: &[Vec<SkinStep>]) -> bool {
    /// Seen flatter than this, its thickness shows more than its face.
    const EDGE_ON: f32 = 0.35;
    let shown = mats::shown(frame, coral, ways);
    if shown.half.min_elem() < 2.0 {
        return false;
    }
    let base = frame.pos(coral.at_cm);
    pen.blob(base, shown.rim);
    let is_whole = shown.facing > EDGE_ON;
    if is_whole {
        polyps(pen, shown.middle, shown.half * 0.8, coral.id);
    }
    is_whole
}

/// How far a coral reaches on the screen, for pointing at it.
pub(crate) fn middle_cm(coral: &Coral) -> DVec3 {
    coral.at_cm + coral.facing * (coral.size_cm.z / 2.0)
}

struct Pen<'a> {
    painter: &'a Painter,
    fill: Color32,
    stroke: Stroke,
}

impl Pen<'_> {
    /// A closed shape that its middle sees whole.
    fn blob(&self, middle: Pos2, points: Vec<Pos2>) {
        let mut mesh = Mesh::default();
        mesh.colored_vertex(middle, self.fill);
        let n = points.len() as u32;
        for point in &points {
            mesh.colored_vertex(*point, self.fill);
        }
        for k in 0..n {
            mesh.add_triangle(0, 1 + k, 1 + (k + 1) % n);
        }
        self.painter.add(Shape::mesh(mesh));
        self.painter.add(Shape::closed_line(points, self.stroke));
    }

    fn line(&self, points: Vec<Pos2>) {
        let thin = Stroke::new(self.stroke.width * 0.75, self.stroke.color);
        self.painter.add(Shape::line(points, thin));
    }
}

/// A ring with `lobes` bumps of relative depth `depth`.
fn ring(middle: Pos2, half: Vec2, lobes: u32, depth: f32, turn: f32) -> Vec<Pos2> {
    let n = (lobes * 8).max(28);
    (0..n)
        .map(|k| {
            let angle = k as f32 / n as f32 * std::f32::consts::TAU;
            let radius = 1.0 - depth * (0.5 + 0.5 * (angle * lobes as f32 + turn).cos());
            let direction = Vec2::angled(angle + turn * 0.13);
            middle + direction * half * radius
        })
        .collect()
}

fn from_above(pen: &Pen<'_>, form: Form, middle: Pos2, half: Vec2, id: u32) {
    let turn = id as f32 * 1.7;
    let spokes = |n: u32, from: f32, to: f32| {
        for k in 0..n {
            let direction = Vec2::angled(k as f32 / n as f32 * std::f32::consts::TAU + turn);
            pen.line(vec![
                middle + direction * half * from,
                middle + direction * half * to,
            ]);
        }
    };
    match form {
        Form::Massive => {
            pen.blob(middle, ring(middle, half, 5, 0.07, turn));
            pen.line(ring(middle, half * 0.55, 5, 0.16, turn + 2.0));
        }
        Form::Branching => {
            pen.blob(middle, ring(middle, half, 11, 0.30, turn));
            spokes(11, 0.2, 0.62);
        }
        Form::Table | Form::Plating => {
            pen.blob(middle, ring(middle, half, 8, 0.06, turn));
            for share in [0.72, 0.44] {
                pen.line(ring(middle, half * share, 8, 0.08, turn));
            }
        }
        Form::Encrusting | Form::Mat => {
            pen.blob(middle, ring(middle, half, 6, 0.2, turn));
            polyps(pen, middle, half, id);
        }
        Form::Phaceloid => {
            pen.blob(middle, ring(middle, half, 9, 0.14, turn));
            polyps(pen, middle, half * 1.1, id);
        }
        Form::FreeLiving | Form::Disc => {
            pen.blob(middle, ring(middle, half, 12, 0.05, turn));
            spokes(16, 0.22, 0.86);
        }
        Form::Tree => {
            pen.blob(middle, ring(middle, half, 7, 0.36, turn));
            spokes(7, 0.0, 0.7);
        }
        Form::Fan => {
            let thin = vec2(half.x, (half.y * 0.22).max(2.0));
            pen.blob(middle, ring(middle, thin, 10, 0.12, turn));
        }
        Form::Clam => {
            pen.blob(middle, ring(middle, half * vec2(1.0, 0.7), 5, 0.1, turn));
            let lips = (0..=12).map(|k| {
                let x = k as f32 / 6.0 - 1.0;
                middle + vec2(x * half.x * 0.85, (x * 9.0).sin() * half.y * 0.14)
            });
            pen.line(lips.collect());
        }
    }
}

/// Small rings scattered over a crust.
fn polyps(pen: &Pen<'_>, middle: Pos2, half: Vec2, id: u32) {
    const GOLDEN: f32 = 2.399_963;
    let radius = (half.min_elem() * 0.13).clamp(0.8, 3.0);
    let n = ((half.min_elem() / 2.2) as u32).clamp(3, 14);
    for k in 0..n {
        let share = ((k as f32 + 0.5) / n as f32).sqrt() * 0.68;
        let direction = Vec2::angled(k as f32 * GOLDEN + id as f32);
        let thin = Stroke::new(pen.stroke.width * 0.7, pen.stroke.color);
        pen.painter
            .circle_stroke(middle + direction * half * share, radius, thin);
    }
}

/// A place on the screen that stands up from a base.
struct Upright {
    base: Pos2,
    up: Vec2,
    half_width: f32,
    height: f32,
}

impl Upright {
    /// Screen place of `x` (-1 to 1 across) and `y` (0 to 1 up).
    fn at(&self, x: f32, y: f32) -> Pos2 {
        let right = vec2(-self.up.y, self.up.x);
        self.base + right * (x * self.half_width) + self.up * (y * self.height)
    }

    fn all(&self, points: &[(f32, f32)]) -> Vec<Pos2> {
        points.iter().map(|(x, y)| self.at(*x, *y)).collect()
    }

    /// The upper half of a bumpy ring.
    fn dome(&self, lobes: u32, depth: f32) -> Vec<Pos2> {
        (0..=32)
            .map(|k| {
                let angle = k as f32 / 32.0 * std::f32::consts::PI;
                let bump = 1.0 - depth * (0.5 + 0.5 * (angle * 2.0 * lobes as f32).cos());
                self.at(-angle.cos() * bump, angle.sin() * bump)
            })
            .collect()
    }
}

/// Tips of branches, across and up.
const BRANCHES: [(f32, f32); 5] = [
    (-0.7, 0.5),
    (-0.35, 0.8),
    (0.05, 0.9),
    (0.4, 0.75),
    (0.72, 0.45),
];
/// A flat top on a stalk.
const TABLE: [(f32, f32); 10] = [
    (-1.0, 0.86),
    (-0.9, 1.0),
    (0.9, 1.0),
    (1.0, 0.86),
    (0.16, 0.66),
    (0.16, 0.1),
    (0.3, 0.0),
    (-0.3, 0.0),
    (-0.16, 0.1),
    (-0.16, 0.66),
];
/// A disc on a short foot.
const CAP: [(f32, f32); 6] = [
    (-1.0, 0.75),
    (-0.5, 1.0),
    (0.5, 1.0),
    (1.0, 0.75),
    (0.3, 0.15),
    (-0.3, 0.15),
];
/// A clam's wavy lips and rounded foot.
const SHELL: [(f32, f32); 9] = [
    (-1.0, 0.7),
    (-0.6, 1.0),
    (-0.2, 0.86),
    (0.2, 1.0),
    (0.6, 0.86),
    (1.0, 0.7),
    (0.5, 0.1),
    (0.0, 0.0),
    (-0.5, 0.1),
];

fn from_the_side(pen: &Pen<'_>, form: Form, up: &Upright, id: u32) {
    let middle = up.at(0.0, 0.4);
    match form {
        Form::Massive => {
            pen.blob(middle, up.dome(4, 0.07));
            pen.line(up.all(&[(-0.5, 0.35), (-0.2, 0.55), (0.25, 0.5)]));
        }
        Form::Encrusting | Form::Mat => pen.blob(middle, up.dome(6, 0.16)),
        Form::Branching | Form::Tree => {
            pen.blob(middle, up.dome(5, 0.26));
            for (x, y) in BRANCHES {
                pen.line(vec![
                    up.at(x * 0.2, 0.05),
                    up.at(x * 0.6, y * 0.45),
                    up.at(x, y),
                ]);
            }
        }
        Form::Table => {
            pen.blob(up.at(0.0, 0.8), up.all(&TABLE));
        }
        Form::Plating => {
            for (y, w) in [(0.18, 0.6), (0.5, 1.0), (0.82, 0.75)] {
                let plate = [(-w, y + 0.16), (-w * 0.4, y), (w * 0.4, y), (w, y + 0.16)];
                pen.blob(up.at(0.0, y + 0.06), up.all(&plate));
            }
        }
        Form::Phaceloid => {
            pen.blob(middle, up.dome(4, 0.12));
            for x in [-0.55_f32, -0.15, 0.25, 0.62] {
                pen.line(vec![up.at(x * 0.4, 0.0), up.at(x, 0.8 - 0.3 * x.abs())]);
            }
        }
        Form::FreeLiving | Form::Disc => {
            pen.blob(up.at(0.0, 0.7), up.all(&CAP));
        }
        Form::Fan => {
            pen.blob(middle, up.dome(7, 0.08));
            for k in 0..7 {
                let x = (k as f32 - 3.0) / 3.6;
                pen.line(vec![up.at(0.0, 0.0), up.at(x, 0.92 - 0.5 * x * x)]);
            }
        }
        Form::Clam => {
            pen.blob(up.at(0.0, 0.5), up.all(&SHELL));
        }
    }
    if form == Form::Mat {
        let at = up.at(0.0, 0.5);
        polyps(
            pen,
            pos2(at.x, at.y),
            vec2(up.half_width, up.height * 0.4),
            id,
        );
    }
}

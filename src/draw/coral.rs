//! Corals at their true size, drawn by growth form, from above and from the side.

use glam::{DVec2, DVec3};

use crate::catalog::{Catalog, Form};
use crate::geometry::drape::SkinStep;
use crate::list::{Fill, Ink, Layer, Line, List, Mark, Pen, Shape, Show, Source, Subject, Vertex};
use crate::mats;
use crate::scene::Coral;
use crate::view::View;

/// Least half size of a coral, in nibs.
const LEAST: f64 = 3.0;

/// Draws the corals of a view, farther ones first.
pub(crate) fn draw(list: &mut List, source: &Source<'_>) {
    let view = list.view;
    let mut corals: Vec<&Coral> = source.corals.layout().corals.iter().collect();
    corals.sort_by(|a, b| view.nearness(a.at_cm).total_cmp(&view.nearness(b.at_cm)));
    let hidden = &source.facts.hidden[view.idx()];
    for coral in corals {
        let mat = source.mats.iter().find(|mat| mat.coral.id == coral.id);
        let look = Look {
            catalog: source.corals.catalog(),
            is_hidden: hidden.contains(&coral.id),
            ways: mat.map(|mat| mat.ways.as_slice()),
        };
        paint(list, coral, &look);
    }
}

/// The middle of a coral's body, in cm.
pub fn middle_cm(coral: &Coral) -> DVec3 {
    coral.at_cm + coral.facing * (coral.size_cm.z / 2.0)
}

/// How a coral is to be drawn.
struct Look<'a> {
    catalog: &'a Catalog,
    /// Whether rock stands before it.
    is_hidden: bool,
    /// A mat's ways over its rock.
    ways: Option<&'a [Vec<SkinStep>]>,
}

/// Draws a coral, with a dotted circle as far as it stings.
fn paint(list: &mut List, coral: &Coral, look: &Look<'_>) {
    let entry = look.catalog.entry(&coral.entry);
    let (form, reach_cm) = entry.map_or((Form::Massive, 0.0), |entry| {
        (entry.form, entry.reach_cm.value)
    });
    let of = Subject::Coral(coral.id);
    let mut hand = Hand {
        list,
        of,
        fill: (!look.is_hidden).then_some(Fill::full(Ink::Coral)),
        pen: Pen::new(1.1, Ink::Line).faint(if look.is_hidden { 0.4 } else { 1.0 }),
    };
    let view = hand.list.view;
    let is_draped = match look.ways {
        Some(ways) if !look.is_hidden => over_rock(&mut hand, coral, ways),
        _ => false,
    };
    let least_cm = hand.list.cm(LEAST);
    if is_draped {
        // The rim is all that there is to draw.
    } else if view == View::Top {
        let half = (coral.size_cm.truncate() / 2.0).max(DVec2::splat(least_cm));
        from_above(&mut hand, form, (view.flat(coral.at_cm), half), coral.id);
    } else {
        let (h, _, _) = view.axes();
        let up = view.flat(coral.facing);
        let upright = Upright {
            base: view.flat(coral.at_cm),
            up: if up.length() > 0.05 {
                up.normalize()
            } else {
                DVec2::Y
            },
            half_width: (coral.size_cm[h] / 2.0).max(least_cm),
            height: coral.size_cm.z.max(least_cm),
        };
        from_the_side(&mut hand, form, &upright, coral.id);
    }
    if reach_cm > 0.0 {
        let pen = Pen::new(1.6, Ink::Line)
            .faint(if look.is_hidden { 0.18 } else { 0.45 })
            .run(Line::Dotted(4.5));
        list.push(Mark {
            of,
            layer: Layer::Corals,
            show: if look.is_hidden {
                Show::WhenLit
            } else {
                Show::Always
            },
            shape: Shape::Circle {
                at: Vertex::at(view.flat(middle_cm(coral))),
                radius_cm: coral.size_cm.x.max(coral.size_cm.y) / 2.0 + reach_cm,
                radius: 0.0,
            },
            fill: None,
            pen: Some(pen),
        });
    }
}

/// Draws what shows of a mat as it lies over its rock; returns whether that is
/// all of it: seen from its edge, its thickness is still to be drawn.
fn over_rock(hand: &mut Hand<'_>, coral: &Coral, ways: &[Vec<SkinStep>]) -> bool {
    /// Seen flatter than this, its thickness shows more than its face.
    const EDGE_ON: f64 = 0.35;
    /// Half of the least that can be drawn, in nibs.
    const THIN: f64 = 2.0;
    let view = hand.list.view;
    let shown = mats::shown(view, coral, ways);
    if shown.half.min_element() < hand.list.cm(THIN) {
        return false;
    }
    hand.blob(view.flat(coral.at_cm), shown.rim);
    let is_whole = shown.facing > EDGE_ON;
    if is_whole {
        hand.polyps(shown.middle, shown.half * 0.8, coral.id);
    }
    is_whole
}

/// Draws the marks of one coral.
struct Hand<'a> {
    list: &'a mut List,
    of: Subject,
    fill: Option<Fill>,
    pen: Pen,
}

impl Hand<'_> {
    /// A closed shape that its middle sees whole.
    fn blob(&mut self, middle: DVec2, points: Vec<DVec2>) {
        let shape = Shape::Path {
            points: points.into_iter().map(Vertex::at).collect(),
            is_closed: true,
            hub: Some(Vertex::at(middle)),
        };
        let place = (self.of, Layer::Corals);
        self.list.add(place, shape, self.fill, Some(self.pen));
    }

    fn line(&mut self, points: impl IntoIterator<Item = DVec2>) {
        let thin = self.thin(0.75);
        let place = (self.of, Layer::Corals);
        self.list.add(place, Shape::line(points), None, Some(thin));
    }

    /// Small rings scattered over a crust.
    fn polyps(&mut self, middle: DVec2, half: DVec2, id: u32) {
        const GOLDEN: f64 = 2.399_963;
        let small = half.min_element() * self.list.nibs_per_cm;
        let n = ((small / 2.2) as u32).clamp(3, 14);
        for k in 0..n {
            let share = ((f64::from(k) + 0.5) / f64::from(n)).sqrt() * 0.68;
            let away = towards(f64::from(k) * GOLDEN + f64::from(id)) * half * share;
            let shape = Shape::dot(middle + away, (small * 0.13).clamp(0.8, 3.0));
            let thin = self.thin(0.7);
            self.list
                .add((self.of, Layer::Corals), shape, None, Some(thin));
        }
    }

    fn thin(&self, share: f64) -> Pen {
        Pen {
            width: self.pen.width * share,
            ..self.pen
        }
    }
}

/// Direction at an angle, turning clockwise from the right.
fn towards(angle: f64) -> DVec2 {
    DVec2::new(angle.cos(), -angle.sin())
}

/// A ring with `lobes` bumps of relative depth `depth`.
fn ring(middle: DVec2, half: DVec2, (lobes, depth): (u32, f64), turn: f64) -> Vec<DVec2> {
    let n = (lobes * 8).max(28);
    (0..n)
        .map(|k| {
            let angle = f64::from(k) / f64::from(n) * std::f64::consts::TAU;
            let radius = 1.0 - depth * (0.5 + 0.5 * (angle * f64::from(lobes) + turn).cos());
            middle + towards(angle + turn * 0.13) * half * radius
        })
        .collect()
}

/// Lines from the middle outwards, from one share of the half size to another.
fn spokes(hand: &mut Hand<'_>, n: u32, turn: f64, at: impl Fn(f64, f64) -> DVec2, ends: [f64; 2]) {
    for k in 0..n {
        let angle = f64::from(k) / f64::from(n) * std::f64::consts::TAU + turn;
        hand.line(ends.map(|share| at(angle, share)));
    }
}

fn from_above(hand: &mut Hand<'_>, form: Form, (middle, half): (DVec2, DVec2), id: u32) {
    let turn = f64::from(id) * 1.7;
    let at = |angle: f64, share: f64| middle + towards(angle) * half * share;
    let lobed = |lobes: u32, depth: f64| ring(middle, half, (lobes, depth), turn);
    match form {
        Form::Massive => {
            hand.blob(middle, lobed(5, 0.07));
            hand.line(ring(middle, half * 0.55, (5, 0.16), turn + 2.0));
        }
        Form::Branching => {
            hand.blob(middle, lobed(11, 0.30));
            spokes(hand, 11, turn, at, [0.2, 0.62]);
        }
        Form::Table | Form::Plating => {
            hand.blob(middle, lobed(8, 0.06));
            for share in [0.72, 0.44] {
                hand.line(ring(middle, half * share, (8, 0.08), turn));
            }
        }
        Form::Encrusting | Form::Mat => {
            hand.blob(middle, lobed(6, 0.2));
            hand.polyps(middle, half, id);
        }
        Form::Phaceloid => {
            hand.blob(middle, lobed(9, 0.14));
            hand.polyps(middle, half * 1.1, id);
        }
        Form::FreeLiving | Form::Disc => {
            hand.blob(middle, lobed(12, 0.05));
            spokes(hand, 16, turn, at, [0.22, 0.86]);
        }
        Form::Tree => {
            hand.blob(middle, lobed(7, 0.36));
            spokes(hand, 7, turn, at, [0.0, 0.7]);
        }
        Form::Fan => {
            let least_cm = hand.list.cm(2.0);
            let thin = DVec2::new(half.x, (half.y * 0.22).max(least_cm));
            hand.blob(middle, ring(middle, thin, (10, 0.12), turn));
        }
        Form::Clam => {
            let flat = half * DVec2::new(1.0, 0.7);
            hand.blob(middle, ring(middle, flat, (5, 0.1), turn));
            hand.line((0..=12).map(|k| {
                let x = f64::from(k) / 6.0 - 1.0;
                middle + DVec2::new(x * half.x * 0.85, -(x * 9.0).sin() * half.y * 0.14)
            }));
        }
    }
}

/// A place that stands up from a base.
struct Upright {
    base: DVec2,
    up: DVec2,
    half_width: f64,
    height: f64,
}

impl Upright {
    /// Place of `x` (-1 to 1 across) and `y` (0 to 1 up).
    fn at(&self, x: f64, y: f64) -> DVec2 {
        let right = -self.up.perp();
        self.base + right * (x * self.half_width) + self.up * (y * self.height)
    }

    fn all(&self, points: &[(f64, f64)]) -> Vec<DVec2> {
        points.iter().map(|(x, y)| self.at(*x, *y)).collect()
    }

    /// The upper half of a bumpy ring.
    fn dome(&self, lobes: u32, depth: f64) -> Vec<DVec2> {
        (0..=32)
            .map(|k| {
                let angle = f64::from(k) / 32.0 * std::f64::consts::PI;
                let bump = 1.0 - depth * (0.5 + 0.5 * (angle * 2.0 * f64::from(lobes)).cos());
                self.at(-angle.cos() * bump, angle.sin() * bump)
            })
            .collect()
    }
}

/// Tips of branches, across and up.
const BRANCHES: [(f64, f64); 5] = [
    (-0.7, 0.5),
    (-0.35, 0.8),
    (0.05, 0.9),
    (0.4, 0.75),
    (0.72, 0.45),
];
/// A flat top on a stalk.
const TABLE: [(f64, f64); 10] = [
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
const CAP: [(f64, f64); 6] = [
    (-1.0, 0.75),
    (-0.5, 1.0),
    (0.5, 1.0),
    (1.0, 0.75),
    (0.3, 0.15),
    (-0.3, 0.15),
];
/// A clam's wavy lips and rounded foot.
const SHELL: [(f64, f64); 9] = [
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

fn from_the_side(hand: &mut Hand<'_>, form: Form, up: &Upright, id: u32) {
    let middle = up.at(0.0, 0.4);
    match form {
        Form::Massive => {
            hand.blob(middle, up.dome(4, 0.07));
            hand.line(up.all(&[(-0.5, 0.35), (-0.2, 0.55), (0.25, 0.5)]));
        }
        Form::Encrusting | Form::Mat => hand.blob(middle, up.dome(6, 0.16)),
        Form::Branching | Form::Tree => {
            hand.blob(middle, up.dome(5, 0.26));
            for (x, y) in BRANCHES {
                hand.line([up.at(x * 0.2, 0.05), up.at(x * 0.6, y * 0.45), up.at(x, y)]);
            }
        }
        Form::Table => hand.blob(up.at(0.0, 0.8), up.all(&TABLE)),
        Form::Plating => {
            for (y, w) in [(0.18, 0.6), (0.5, 1.0), (0.82, 0.75)] {
                let plate = [(-w, y + 0.16), (-w * 0.4, y), (w * 0.4, y), (w, y + 0.16)];
                hand.blob(up.at(0.0, y + 0.06), up.all(&plate));
            }
        }
        Form::Phaceloid => {
            hand.blob(middle, up.dome(4, 0.12));
            for x in [-0.55_f64, -0.15, 0.25, 0.62] {
                hand.line([up.at(x * 0.4, 0.0), up.at(x, 0.8 - 0.3 * x.abs())]);
            }
        }
        Form::FreeLiving | Form::Disc => hand.blob(up.at(0.0, 0.7), up.all(&CAP)),
        Form::Fan => {
            hand.blob(middle, up.dome(7, 0.08));
            for k in 0..7 {
                let x = (f64::from(k) - 3.0) / 3.6;
                hand.line([up.at(0.0, 0.0), up.at(x, 0.92 - 0.5 * x * x)]);
            }
        }
        Form::Clam => hand.blob(up.at(0.0, 0.5), up.all(&SHELL)),
    }
    if form == Form::Mat {
        let half = DVec2::new(up.half_width, up.height * 0.4);
        hand.polyps(up.at(0.0, 0.5), half, id);
    }
}

//! Flow and light as washes in classes, with hatching where the first class is.

use glam::{DVec2, DVec3};

use super::face;
use super::ink::{Drawing, Face, Hand, Pen, Wash};
use super::palette::{ASIDE, Class, FLOW, INK, LIGHT, PAPER};
use super::view::{Frame, View, plane};
use crate::flow::FlowField;
use crate::geometry::contour::{self, Values};
use crate::light::LightSolver;
use crate::scene::Tank;
use crate::units::{M_PER_CM, Measure, UnitSystem};

/// Values over a view from its lower left corner, x running fastest; what is
/// not known (in rock) takes the nearest known value.
pub(super) struct Sheet {
    n: [usize; 2],
    step_cm: DVec2,
    values: Vec<f32>,
}

/// Which wash.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum WashKind {
    /// Mean speed of the water.
    Flow,
    /// Light on a level sensor facing up.
    Light,
}

impl WashKind {
    pub(super) fn classes(self) -> &'static [Class] {
        match self {
            Self::Flow => &FLOW,
            Self::Light => &LIGHT,
        }
    }

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Flow => "flow",
            Self::Light => "light",
        }
    }

    /// What its values are of.
    fn measure(self) -> Measure {
        match self {
            Self::Flow => Measure::Speed,
            Self::Light => Measure::Ppfd,
        }
    }

    /// What is hatched: the first class.
    fn hatched(self, units: UnitSystem) -> String {
        let limit = self.classes().get(1).map_or(0.0, |class| class.from);
        let limit = self.measure().text(limit, units);
        match self {
            Self::Flow => format!("hatched: slower than {limit}"),
            Self::Light => format!("hatched: less than {limit}"),
        }
    }
}

impl Sheet {
    /// Values at nodes about `step_cm` apart over what is under water.
    fn over(view: View, tank: &Tank, step_cm: f64, value: impl Fn(DVec2) -> Option<f64>) -> Self {
        let size_cm = water_size_cm(view, tank);
        let cells = (size_cm / step_cm).ceil().max(DVec2::ONE);
        let n = [cells.x as usize + 1, cells.y as usize + 1];
        let step_cm = size_cm / cells;
        let known: Vec<Option<f64>> = (0..n[0] * n[1])
            .map(|idx| {
                let node = DVec2::new((idx % n[0]) as f64, (idx / n[0]) as f64);
                value(node * step_cm)
            })
            .collect();
        Self {
            n,
            step_cm,
            values: filled(known, n),
        }
    }

    /// Mean speed in cm/s on a cut.
    pub(super) fn flow(view: View, tank: &Tank, level_cm: f64, field: &FlowField) -> Self {
        Self::over(view, tank, 1.0, |seen_cm| {
            let at_cm = view.lift(seen_cm, level_cm);
            let at_m = inside(at_cm, tank) * M_PER_CM;
            Some(field.sample(at_m)?.speed_m_s / M_PER_CM)
        })
    }

    /// PPFD facing up on a cut, in cells of 2 cm, interpolated.
    pub(super) fn light(view: View, tank: &Tank, level_cm: f64, solver: &LightSolver) -> Self {
        let plane = solver.plane(plane(view, level_cm), 0.02);
        let grid = plane.grid;
        Self::over(view, tank, 1.0, |seen_cm| {
            let at_cm = view.lift(seen_cm, level_cm);
            let place = (at_cm * M_PER_CM - grid.origin_m) / grid.cell_m - 0.5;
            let (mut sum, mut weights) = (0.0, 0.0);
            for corner in 0..8_usize {
                let (mut weight, mut cell) = (1.0, [0; 3]);
                for axis in 0..3 {
                    let last = grid.n[axis] - 1;
                    let position = place[axis].clamp(0.0, last as f64);
                    let low = (position as usize).min(last);
                    let share = position - low as f64;
                    let high = corner >> axis & 1;
                    weight *= if high == 1 { share } else { 1.0 - share };
                    cell[axis] = (low + high).min(last);
                }
                // Cells in rock are dark by definition and take no part.
                let ppfd = f64::from(plane.up_umol[grid.idx(cell)]);
                if ppfd > 0.0 {
                    sum += weight * ppfd;
                    weights += weight;
                }
            }
            (weights > 1e-9).then(|| sum / weights)
        })
    }

    /// Lays the wash down: each class over the one before, the first hatched.
    pub(super) fn draw(&self, to: &mut Drawing, frame: &Frame, kind: WashKind) {
        let classes = kind.classes();
        let size_cm = self.step_cm * DVec2::new(self.n[0] as f64 - 1.0, self.n[1] as f64 - 1.0);
        let (a, b) = (frame.on_paper(DVec2::ZERO), frame.on_paper(size_cm));
        for (idx, class) in classes.iter().enumerate() {
            if idx == 0 {
                to.rect(a, b, Some(Wash::full(class.color)), None);
            } else {
                let rings = self.above(class.from, frame);
                to.area(rings, Some(Wash::full(class.color)), None);
            }
        }
        if let Some(second) = classes.get(1) {
            let mut rings = self.above(second.from, frame);
            // What is not above: the whole less the rings.
            rings.push(vec![a, DVec2::new(b.x, a.y), b, DVec2::new(a.x, b.y)]);
            to.hatch(&rings, 1.3, Pen::new(0.12, PAPER));
        }
    }

    /// Closed curves around values of at least `level`.
    fn above(&self, level: f64, frame: &Frame) -> Vec<Vec<DVec2>> {
        // A border of very low values closes curves at the edge.
        let [nx, ny] = [self.n[0] + 2, self.n[1] + 2];
        let mut padded = vec![-1e9_f32; nx * ny];
        for j in 0..self.n[1] {
            let from = (j + 1) * nx + 1;
            let row = &self.values[j * self.n[0]..(j + 1) * self.n[0]];
            padded[from..from + self.n[0]].copy_from_slice(row);
        }
        let found = contour::lines(
            Values {
                n: [nx, ny],
                at: &padded,
            },
            level as f32,
        );
        let on_paper = |p: &[f32; 2]| {
            let node = DVec2::new(f64::from(p[0]) - 1.0, f64::from(p[1]) - 1.0);
            let most = DVec2::new(self.n[0] as f64 - 1.0, self.n[1] as f64 - 1.0);
            frame.on_paper(node.clamp(DVec2::ZERO, most) * self.step_cm)
        };
        found
            .iter()
            .map(|line| line.points.iter().map(on_paper).collect())
            .collect()
    }
}

/// Size of what is under water in a view, in cm.
pub(super) fn water_size_cm(view: View, tank: &Tank) -> DVec2 {
    let size = view.size_cm(tank).truncate();
    match view {
        View::Top => size,
        View::Side | View::End => DVec2::new(size.x, tank.water_cm),
    }
}

/// A place kept just off the panes, where fields are known.
fn inside(at_cm: DVec3, tank: &Tank) -> DVec3 {
    let high = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
    let inset = DVec3::splat(0.02);
    at_cm.clamp(inset, (high - inset).max(inset))
}

/// Values with the gaps filled from their nearest known neighbors.
pub(super) fn filled(known: Vec<Option<f64>>, n: [usize; 2]) -> Vec<f32> {
    let mut known = known;
    let around = |idx: usize| {
        let (i, j) = (idx % n[0], idx / n[0]);
        let left = (i > 0).then(|| idx - 1);
        let right = (i + 1 < n[0]).then(|| idx + 1);
        let down = (j > 0).then(|| idx - n[0]);
        let up = (j + 1 < n[1]).then(|| idx + n[0]);
        [left, right, down, up].into_iter().flatten()
    };
    for _ in 0..n[0] + n[1] {
        let before = known.clone();
        let mut is_whole = true;
        for idx in 0..known.len() {
            if before[idx].is_none() {
                let near: Vec<f64> = around(idx).filter_map(|k| before[k]).collect();
                is_whole &= !near.is_empty();
                if !near.is_empty() {
                    known[idx] = Some(near.iter().sum::<f64>() / near.len() as f64);
                }
            }
        }
        if is_whole && known.iter().all(Option::is_some) {
            break;
        }
    }
    known.iter().map(|v| v.unwrap_or(0.0) as f32).collect()
}

/// Short strokes along the mean velocity on a cut, as long as the water goes in
/// half a second, with a dot where they start.
pub(super) fn draw_streaks(
    to: &mut Drawing,
    frame: &Frame,
    tank: &Tank,
    level_cm: f64,
    field: &FlowField,
) {
    const SECONDS: f64 = 0.5;
    const LONGEST_CM: f64 = 6.0;
    let view = frame.view;
    let size_cm = water_size_cm(view, tank);
    let gap_cm = (5.0 / frame.mm_per_cm).max(size_cm.x / 60.0);
    let n = (size_cm / gap_cm).floor();
    for j in 0..n.y as usize {
        for i in 0..n.x as usize {
            // Every other row is shifted, so that no lines appear.
            let shift = if j % 2 == 0 { 0.25 } else { 0.75 };
            let seen_cm = DVec2::new(i as f64 + shift, j as f64 + 0.5) * size_cm / n;
            let at_cm = inside(view.lift(seen_cm, level_cm), tank);
            let Some(sample) = field.sample(at_cm * M_PER_CM) else {
                continue;
            };
            let along = view.seen(sample.velocity_m_s).truncate() / M_PER_CM * SECONDS;
            let length = along.length();
            if length < 0.4 {
                continue;
            }
            let along = along * (LONGEST_CM.min(length) / length);
            let (from, end) = (frame.on_paper(seen_cm), frame.on_paper(seen_cm + along));
            to.line(from, end, Pen::new(0.16, PAPER));
            to.circle(end, 0.3, Some(Wash::full(PAPER)), None);
        }
    }
}

/// The legend of a wash: classes with their limits, unit and hatching; about
/// 80 mm wide and 22 mm high from its upper left corner.
pub(super) fn draw_legend(to: &mut Drawing, at_mm: DVec2, (kind, units): (WashKind, UnitSystem)) {
    const HIGH_MM: f64 = 5.0;
    let classes = kind.classes();
    let wide_mm = 80.0 / classes.len() as f64;
    let small = Hand::new(Face::Regular, 2.7, ASIDE);
    let shown = kind.measure().shown(units);
    let what = match kind {
        WashKind::Flow => "mean speed",
        WashKind::Light => "PPFD facing up",
    };
    let head = format!("{what}, {}", shown.unit);
    to.text(at_mm, head, Hand::new(Face::Bold, 3.2, INK));
    let number = |limit: f64| kind.measure().number(limit, units);
    let top_mm = at_mm + DVec2::new(0.0, 2.2);
    for (idx, class) in classes.iter().enumerate() {
        let a = top_mm + DVec2::new(wide_mm * idx as f64, 0.0);
        let b = a + DVec2::new(wide_mm, HIGH_MM);
        to.rect(a, b, Some(Wash::full(class.color)), None);
        let limit = DVec2::new(a.x, b.y + 3.0);
        to.text(limit, number(class.from), small.centered());
    }
    if let Some(last) = classes.last() {
        let end = top_mm + DVec2::new(80.0, HIGH_MM + 3.0);
        to.text(end, number(last.to), small.centered());
    }
    let whole = top_mm + DVec2::new(80.0, HIGH_MM);
    to.rect(top_mm, whole, None, Some(Pen::new(0.2, INK)));
    let first = vec![
        top_mm,
        top_mm + DVec2::new(wide_mm, 0.0),
        top_mm + DVec2::new(wide_mm, HIGH_MM),
        top_mm + DVec2::new(0.0, HIGH_MM),
    ];
    to.hatch(&[first], 1.3, Pen::new(0.12, PAPER));
    let more = match kind {
        WashKind::Flow => "; strokes: way of the water in half a second",
        WashKind::Light => "",
    };
    let note = format!("{}{more}", kind.hatched(units));
    let hand = Hand::new(Face::Italic, 2.7, ASIDE);
    let lines = face::wrapped(&note, hand.face, hand.size_mm, 88.0);
    for (idx, line) in lines.into_iter().enumerate() {
        to.text(
            top_mm + DVec2::new(0.0, HIGH_MM + 7.2 + 3.4 * idx as f64),
            line,
            hand,
        );
    }
}

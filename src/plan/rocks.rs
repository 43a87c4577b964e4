//! Rocks as ink: outline, contour lines, tone; and the cut through them.

use glam::{DVec2, DVec3};

use super::ink::{Drawing, Pen, Wash};
use super::palette::{ACCENT, INK, ROCK, ROCK_SHADE};
use super::view::{Frame, View};
use super::wash::filled;
use crate::geometry::contour::{self, Values};
use crate::geometry::{RockSolid, Rockwork};
use crate::scene::Tank;
use crate::units::M_PER_CM;

/// Distance of the nodes on which a rock is looked at, on paper, in mm.
const NODE_MM: f64 = 0.5;
/// Most nodes along one side.
const NODES_MAX: f64 = 160.0;
/// Height between two contour lines, in cm.
pub(super) const CONTOUR_CM: f64 = 5.0;
/// Below these shares of full light on the surface, tone is laid on.
const TONES: [f64; 3] = [0.72, 0.5, 0.28];
/// Direction to the light of the drawing: from the upper left, towards the
/// viewer, as (across, up, towards).
const LIGHT: DVec3 = DVec3::new(-0.42, 0.5, 0.757);

/// Nodes over a part of a view.
struct Nodes {
    low_cm: DVec2,
    step_cm: f64,
    n: [usize; 2],
}

impl Nodes {
    fn over(low_cm: DVec2, high_cm: DVec2, step_cm: f64) -> Self {
        let size = high_cm - low_cm;
        let step_cm = step_cm.max(size.max_element() / NODES_MAX).max(1e-3);
        // A node of room around, so that outlines close.
        let n = (size / step_cm).ceil() + 3.0;
        Self {
            low_cm: low_cm - step_cm,
            step_cm,
            n: [n.x as usize, n.y as usize],
        }
    }

    fn seen_cm(&self, idx: usize) -> DVec2 {
        let node = DVec2::new((idx % self.n[0]) as f64, (idx / self.n[0]) as f64);
        self.low_cm + node * self.step_cm
    }

    fn values(&self, value: impl Fn(DVec2) -> f64) -> Vec<f32> {
        let n = self.n[0] * self.n[1];
        (0..n).map(|idx| value(self.seen_cm(idx)) as f32).collect()
    }

    fn lines(&self, at: &[f32], level: f32, frame: &Frame) -> Vec<(Vec<DVec2>, bool)> {
        let found = contour::lines(Values { n: self.n, at }, level);
        found
            .into_iter()
            .map(|line| {
                let points = line.points.iter().map(|p| self.on_paper(*p, frame));
                (points.collect(), line.closed)
            })
            .collect()
    }

    fn on_paper(&self, node: [f32; 2], frame: &Frame) -> DVec2 {
        let node = DVec2::new(node[0].into(), node[1].into());
        frame.on_paper(self.low_cm + node * self.step_cm)
    }

    /// A value between nodes.
    fn between(&self, values: &[f32], node: [f32; 2]) -> f32 {
        let [nx, ny] = self.n;
        let (i, j) = (
            (node[0].max(0.0) as usize).min(nx.saturating_sub(2)),
            (node[1].max(0.0) as usize).min(ny.saturating_sub(2)),
        );
        let (x, y) = (node[0] - i as f32, node[1] - j as f32);
        let at = |i: usize, j: usize| values[j * nx + i];
        let low = at(i, j) + (at(i + 1, j) - at(i, j)) * x;
        let high = at(i, j + 1) + (at(i + 1, j + 1) - at(i, j + 1)) * x;
        low + (high - low) * y
    }

    fn rings(&self, at: &[f32], level: f32, frame: &Frame) -> Vec<Vec<DVec2>> {
        let closed = self.lines(at, level, frame).into_iter().filter(|l| l.1);
        closed.map(|line| line.0).collect()
    }
}

/// Draws the rocks as they are seen, the farther ones first, with or without tone.
pub(super) fn draw(
    to: &mut Drawing,
    frame: &Frame,
    tank: &Tank,
    (rockwork, with_tone): (&Rockwork, bool),
) {
    let towards = |rock: &RockSolid| {
        let bounds = rock.bounds();
        let (a, b) = (frame.view.seen(bounds.min_m), frame.view.seen(bounds.max_m));
        a.z.max(b.z)
    };
    let mut order: Vec<&RockSolid> = rockwork.rocks.iter().map(AsRef::as_ref).collect();
    order.sort_by(|a, b| towards(a).total_cmp(&towards(b)));
    for rock in order {
        draw_rock(to, frame, tank, (rock, with_tone));
    }
}

fn draw_rock(to: &mut Drawing, frame: &Frame, tank: &Tank, (rock, with_tone): (&RockSolid, bool)) {
    let nodes = nodes_over(rock, frame);
    let view = frame.view;
    let outline = nodes.values(|seen_cm| nearness_m(rock, view, tank, seen_cm));
    let rings = nodes.rings(&outline, 0.0, frame);
    to.area(rings.clone(), Some(Wash::full(ROCK)), None);
    let surface: Vec<Option<DVec3>> = (0..outline.len())
        .map(|idx| {
            let ray = view.look(nodes.seen_cm(idx), tank);
            let distance = rock.first_hit(&ray, 100.0)?;
            Some(ray.origin_m + ray.direction * distance)
        })
        .collect();
    // Off the rock the light is full, so that tone ends at the outline.
    let light = |at_m: &Option<DVec3>| match at_m {
        Some(at_m) => view.seen(rock.normal(*at_m)).dot(LIGHT).max(0.0) as f32,
        None => 1.0,
    };
    let shine = smoothed(&surface.iter().map(light).collect::<Vec<_>>(), nodes.n);
    for tone in TONES.into_iter().filter(|_| with_tone) {
        // Rings around the dark; those at the rock's edge close just outside.
        let dark = nodes.rings(&shine, tone as f32, frame);
        let wash = Wash {
            color: ROCK_SHADE,
            opacity: 0.14,
        };
        to.area(dark, Some(wash), None);
    }
    let height_cm = |at_m: &Option<DVec3>| at_m.map(|at_m| view.seen(at_m).z / M_PER_CM);
    let heights = filled(surface.iter().map(height_cm).collect(), nodes.n);
    draw_contours(to, frame, &nodes, (&heights, &outline));
    to.area(rings, None, Some(Pen::new(0.35, INK)));
}

/// Lines of equal distance from the viewer, inside the outline.
fn draw_contours(
    to: &mut Drawing,
    frame: &Frame,
    nodes: &Nodes,
    (heights, outline): (&[f32], &[f32]),
) {
    let inside = heights.iter().zip(outline).filter(|(_, o)| **o < 0.0);
    let (low, high) = inside.fold((f32::MAX, f32::MIN), |(low, high), (h, _)| {
        (low.min(*h), high.max(*h))
    });
    if low > high {
        return;
    }
    let (first, last) = (
        (f64::from(low) / CONTOUR_CM).ceil() as i64,
        (f64::from(high) / CONTOUR_CM).floor() as i64,
    );
    for k in first..=last.min(first + 60) {
        let level = (k as f64 * CONTOUR_CM) as f32;
        let values = Values {
            n: nodes.n,
            at: heights,
        };
        for line in contour::lines(values, level) {
            let mut points = line.points;
            if line.closed
                && let Some(first) = points.first().copied()
            {
                points.push(first);
            }
            // What lies outside the rock was only filled in.
            for piece in points.split(|p| nodes.between(outline, *p) > -0.5e-3) {
                if piece.len() > 4 {
                    let piece = piece.iter().map(|p| nodes.on_paper(*p, frame)).collect();
                    to.path(piece, Pen::new(0.12, ROCK_SHADE));
                }
            }
        }
    }
}

fn nodes_over(rock: &RockSolid, frame: &Frame) -> Nodes {
    let bounds = rock.bounds();
    let a = frame.view.seen(bounds.min_m / M_PER_CM).truncate();
    let b = frame.view.seen(bounds.max_m / M_PER_CM).truncate();
    Nodes::over(a.min(b), a.max(b), NODE_MM / frame.mm_per_cm)
}

/// How near a line of sight comes to a rock, in m: negative through it. Its
/// zero line is the rock's outline in the view.
fn nearness_m(rock: &RockSolid, view: View, tank: &Tank, seen_cm: DVec2) -> f64 {
    const STEPS_MAX: usize = 200;
    let ray = view.look(seen_cm, tank);
    // Only the part beside the rock counts.
    let bounds = rock.bounds();
    let depth = |p: DVec3| (p - ray.origin_m).dot(ray.direction);
    let ends = [depth(bounds.min_m), depth(bounds.max_m)];
    let (mut t, end) = (ends[0].min(ends[1]) - 0.01, ends[0].max(ends[1]) + 0.01);
    let mut nearest = f64::INFINITY;
    for _ in 0..STEPS_MAX {
        let distance = rock.signed_distance(ray.origin_m + ray.direction * t);
        nearest = nearest.min(distance);
        t += (0.8 * distance.abs()).max(0.004);
        if t > end {
            break;
        }
    }
    nearest
}

/// Each value replaced by the mean of it and its neighbors.
fn smoothed(values: &[f32], n: [usize; 2]) -> Vec<f32> {
    let at = |i: usize, j: usize| values[j * n[0] + i];
    (0..values.len())
        .map(|idx| {
            let (i, j) = (idx % n[0], idx / n[0]);
            let (i0, i1) = (i.saturating_sub(1), (i + 1).min(n[0] - 1));
            let (j0, j1) = (j.saturating_sub(1), (j + 1).min(n[1] - 1));
            (2.0 * at(i, j) + at(i0, j) + at(i1, j) + at(i, j0) + at(i, j1)) / 6.0
        })
        .collect()
}

/// Rocks that are not there any more, in red dashes.
pub(super) fn draw_ghosts(to: &mut Drawing, frame: &Frame, tank: &Tank, rockwork: &Rockwork) {
    let pen = Pen::new(0.25, ACCENT).dashed(1.6, 1.0);
    draw_outlines(to, frame, tank, (rockwork, pen));
}

fn draw_outlines(to: &mut Drawing, frame: &Frame, tank: &Tank, (rockwork, pen): (&Rockwork, Pen)) {
    for rock in &rockwork.rocks {
        let nodes = nodes_over(rock, frame);
        let outline = nodes.values(|seen_cm| nearness_m(rock, frame.view, tank, seen_cm));
        to.area(nodes.rings(&outline, 0.0, frame), None, Some(pen));
    }
}

/// Draws what a cut at `level_cm` goes through, hatched, and the outlines of
/// the rocks behind it in dashes.
pub(super) fn draw_cut(
    to: &mut Drawing,
    frame: &Frame,
    tank: &Tank,
    rockwork: &Rockwork,
    level_cm: f64,
) {
    let behind = Pen::new(0.14, INK).dashed(0.9, 0.7);
    draw_outlines(to, frame, tank, (rockwork, behind));
    for rock in &rockwork.rocks {
        let nodes = nodes_over(rock, frame);
        let cut = nodes.values(|seen_cm| {
            let at_cm = frame.view.lift(seen_cm, level_cm);
            rock.signed_distance(at_cm * M_PER_CM)
        });
        let rings = nodes.rings(&cut, 0.0, frame);
        to.area(rings.clone(), Some(Wash::full(ROCK)), None);
        to.hatch(&rings, 1.6, Pen::new(0.1, ROCK_SHADE));
        to.area(rings, None, Some(Pen::new(0.35, INK)));
    }
}

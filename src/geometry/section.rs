//! An outline with its openings, made ready for many distance and line
//! queries: edges lie in one flat list, and no query allocates.

use glam::DVec2;

use super::polygon::Polygon;
use super::solid::Prism;

/// One straight edge, with what every query needs of it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Edge {
    from: DVec2,
    along: DVec2,
    inverse_length_squared: f64,
}

/// A prepared [`Prism`]: the outer curve first, then the openings.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Section {
    curves: Vec<Vec<Edge>>,
    /// Smallest and largest coordinates of the outer curve.
    pub(super) bounds: (DVec2, DVec2),
}

impl Section {
    /// `prism`, ready for queries.
    pub(super) fn new(prism: &Prism) -> Self {
        let curves = std::iter::once(&prism.outline).chain(&prism.openings);
        Self {
            curves: curves.map(edges).collect(),
            bounds: prism.outline.bounds().unwrap_or((DVec2::ZERO, DVec2::ZERO)),
        }
    }

    /// Number of curves.
    pub(super) fn n_curves(&self) -> usize {
        self.curves.len()
    }

    /// Distance to the swept shape within its view, negative inside, and the
    /// direction in which it grows.
    pub(super) fn distance_and_slope(&self, p: DVec2) -> (f64, DVec2) {
        let Some((outer, openings)) = self.curves.split_first() else {
            return (f64::INFINITY, DVec2::X);
        };
        let mut farthest = curve_distance(outer, p);
        for hole in openings {
            let (distance, slope) = curve_distance(hole, p);
            if -distance > farthest.0 {
                farthest = (-distance, -slope);
            }
        }
        farthest
    }

    /// Adds where the line `from + t·step` crosses each curve to `toggles`,
    /// and counts the curves on whose right side (in the outline, outside an
    /// opening) the line begins.
    pub(super) fn cross(&self, from: DVec2, step: DVec2, toggles: &mut Toggles) -> usize {
        let length_squared = step.length_squared();
        let still = length_squared < 1e-24;
        let mut n_right = 0;
        for (i, curve) in self.curves.iter().enumerate() {
            let outer = i == 0;
            if still {
                n_right += usize::from(curve_contains(curve, from) == outer);
                continue;
            }
            n_right += usize::from(!outer);
            let per_length = length_squared.recip();
            let first = toggles.len();
            let mut side = curve
                .first()
                .map_or(0.0, |edge| step.perp_dot(edge.from - from));
            for edge in curve {
                // Half-open on the side of the line: a shared corner counts once.
                let end = edge.from + edge.along;
                let side_end = step.perp_dot(end - from);
                if (side > 0.0) != (side_end > 0.0) {
                    let hit = edge.from + edge.along * (side / (side - side_end));
                    toggles.push((hit - from).dot(step) * per_length, outer);
                }
                side = side_end;
            }
            toggles.alternate(first, outer);
        }
        n_right
    }
}

/// The edges, counter-clockwise, so that outwards is to their right.
fn edges(curve: &Polygon) -> Vec<Edge> {
    let mut points = curve.points().to_vec();
    if curve.signed_area() < 0.0 {
        points.reverse();
    }
    Polygon::new(points)
        .edges()
        .map(|(a, b)| Edge {
            from: a,
            along: b - a,
            inverse_length_squared: match (b - a).length_squared() {
                0.0 => 0.0,
                squared => squared.recip(),
            },
        })
        .collect()
}

fn curve_contains(curve: &[Edge], p: DVec2) -> bool {
    curve
        .iter()
        .fold(false, |inside, edge| inside ^ passes(edge, p))
}

/// Whether a level line from `p` towards +x crosses the edge.
fn passes(edge: &Edge, p: DVec2) -> bool {
    let (a, b) = (edge.from, edge.from + edge.along);
    (a.y > p.y) != (b.y > p.y) && {
        // p.x < a.x + along.x (p.y - a.y) / along.y, without the division.
        let turn = edge.along.x * (p.y - a.y) - edge.along.y * (p.x - a.x);
        (turn > 0.0) == (edge.along.y > 0.0) && turn != 0.0
    }
}

fn curve_distance(curve: &[Edge], p: DVec2) -> (f64, DVec2) {
    /// Nearer than this the direction to the curve is lost in rounding.
    const ON_CURVE_SQUARED: f64 = 1e-24;
    let mut inside = false;
    let mut nearest = (DVec2::INFINITY, DVec2::X);
    let mut nearest_squared = f64::INFINITY;
    for edge in curve {
        let to_p = p - edge.from;
        let share = (to_p.dot(edge.along) * edge.inverse_length_squared).clamp(0.0, 1.0);
        let from_edge = to_p - edge.along * share;
        let squared = from_edge.length_squared();
        if squared < nearest_squared {
            (nearest, nearest_squared) = ((from_edge, edge.along), squared);
        }
        inside ^= passes(edge, p);
    }
    let (from_edge, along) = nearest;
    let distance = nearest_squared.sqrt();
    if nearest_squared < ON_CURVE_SQUARED {
        (0.0, -along.perp().normalize_or_zero())
    } else if inside {
        (-distance, from_edge / -distance)
    } else {
        (distance, from_edge / distance)
    }
}

/// Crossings that fit without a heap allocation.
const INLINE: usize = 32;

/// Where a line crosses curves, each with the change that it makes to the
/// number of curves on whose right side the line is.
pub(super) struct Toggles {
    n_inline: usize,
    inline: [(f64, i32); INLINE],
    /// Used for all crossings once there are more than `INLINE`.
    spill: Vec<(f64, i32)>,
}

impl Toggles {
    /// No crossings yet.
    pub(super) fn new() -> Self {
        Self {
            n_inline: 0,
            inline: [(0.0, 0); INLINE],
            spill: Vec::new(),
        }
    }

    fn len(&self) -> usize {
        if self.spill.is_empty() {
            self.n_inline
        } else {
            self.spill.len()
        }
    }

    fn push(&mut self, t: f64, outer: bool) {
        let toggle = (t, if outer { 1 } else { -1 });
        if self.spill.is_empty() && self.n_inline < INLINE {
            self.inline[self.n_inline] = toggle;
            self.n_inline += 1;
            return;
        }
        if self.spill.is_empty() {
            self.spill.extend_from_slice(&self.inline[..self.n_inline]);
        }
        self.spill.push(toggle);
    }

    fn all(&mut self) -> &mut [(f64, i32)] {
        if self.spill.is_empty() {
            &mut self.inline[..self.n_inline]
        } else {
            &mut self.spill
        }
    }

    /// Sorts one curve's crossings, from the `first` on, and lets their
    /// changes alternate: in, out, in …
    fn alternate(&mut self, first: usize, outer: bool) {
        let own = &mut self.all()[first..];
        own.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let start = if outer { 1 } else { -1 };
        for (k, toggle) in own.iter_mut().enumerate() {
            toggle.1 = if k % 2 == 0 { start } else { -start };
        }
    }

    /// Calls `visit` with each stretch of the line on which all `n_curves`
    /// curves agree, in order, until it gives something.
    pub(super) fn stretches<R>(
        &mut self,
        n_right: usize,
        n_curves: usize,
        mut visit: impl FnMut(f64, f64) -> Option<R>,
    ) -> Option<R> {
        let all = self.all();
        all.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let (mut right, n_curves) = (n_right as i32, n_curves as i32);
        let mut from = f64::NEG_INFINITY;
        for &mut (t, change) in all {
            if right == n_curves && from < t {
                if let Some(found) = visit(from, t) {
                    return Some(found);
                }
            }
            right += change;
            from = t;
        }
        if right == n_curves {
            return visit(from, f64::INFINITY);
        }
        None
    }
}

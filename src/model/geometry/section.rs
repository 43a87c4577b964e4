//! An outline with its openings, made ready for many distance and line
//! queries: edges lie in one flat list, and no query allocates.

use glam::DVec2;

use super::polygon::Polygon;
use super::solid::Prism;

/// One straight edge, with what every query needs of it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Edge {
    from: DVec2,
    to: DVec2,
    along: DVec2,
    inverse_length_squared: f64,
}

/// Edges in a row, and what encloses them: most queries pass a whole block by.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Block {
    first: usize,
    end: usize,
    center: DVec2,
    radius: f64,
    lo: DVec2,
    hi: DVec2,
}

/// A closed curve.
#[derive(Clone, Debug, PartialEq)]
struct Curve {
    edges: Vec<Edge>,
    blocks: Vec<Block>,
}

/// A prepared [`Prism`]: the outer curve first, then the openings.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Section {
    curves: Vec<Curve>,
    /// Smallest and largest coordinates of the outer curve.
    pub(super) bounds: (DVec2, DVec2),
}

impl Section {
    /// `prism`, ready for queries.
    pub(super) fn new(prism: &Prism) -> Self {
        let curves = std::iter::once(&prism.outline).chain(&prism.openings);
        Self {
            curves: curves.map(Curve::new).collect(),
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
        let mut farthest = outer.distance_and_slope(p);
        for hole in openings {
            let (distance, slope) = hole.distance_and_slope(p);
            if -distance > farthest.0 {
                farthest = (-distance, -slope);
            }
        }
        farthest
    }

    /// Whether `p` is farther than `reach` from every curve.
    pub(super) fn clear_of(&self, p: DVec2, reach: f64) -> bool {
        self.curves.iter().all(|curve| curve.clear_of(p, reach))
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
                n_right += usize::from(curve.contains(from) == outer);
                continue;
            }
            n_right += usize::from(!outer);
            let first = toggles.len();
            curve.cross(from, step, |t| toggles.push(t, outer));
            toggles.alternate(first, outer);
        }
        n_right
    }
}

impl Curve {
    /// `curve` with its edges counter-clockwise, so that outwards is to their
    /// right.
    fn new(curve: &Polygon) -> Self {
        let mut points = curve.points().to_vec();
        if curve.signed_area() < 0.0 {
            points.reverse();
        }
        let edges: Vec<Edge> = Polygon::new(points).edges().map(Edge::new).collect();
        // About as many blocks as edges in a block: the least work for both.
        let size = (edges.len() as f64).sqrt().ceil().max(4.0) as usize;
        let blocks = (0..edges.len())
            .step_by(size)
            .map(|first| Block::new(&edges, first, (first + size).min(edges.len())))
            .collect();
        Self { edges, blocks }
    }

    fn of(&self, block: &Block) -> &[Edge] {
        &self.edges[block.first..block.end]
    }

    /// Calls `visit` with each `t` at which the line `from + t·step` crosses.
    fn cross(&self, from: DVec2, step: DVec2, mut visit: impl FnMut(f64)) {
        let length_squared = step.length_squared();
        let (length, per_length) = (length_squared.sqrt(), length_squared.recip());
        for block in &self.blocks {
            if step.perp_dot(block.center - from).abs() > block.radius * length {
                continue;
            }
            let edges = self.of(block);
            let mut side = edges
                .first()
                .map_or(0.0, |edge| step.perp_dot(edge.from - from));
            for edge in edges {
                // Half-open on the side of the line: a shared corner counts once.
                let side_end = step.perp_dot(edge.to - from);
                if (side > 0.0) != (side_end > 0.0) {
                    let hit = edge.from + edge.along * (side / (side - side_end));
                    visit((hit - from).dot(step) * per_length);
                }
                side = side_end;
            }
        }
    }

    fn clear_of(&self, p: DVec2, reach: f64) -> bool {
        let reach_squared = reach * reach;
        self.blocks.iter().all(|block| {
            let far = block.radius + reach;
            block.center.distance_squared(p) > far * far
                || self
                    .of(block)
                    .iter()
                    .all(|edge| edge.way_from_nearest(p).length_squared() > reach_squared)
        })
    }

    fn contains(&self, p: DVec2) -> bool {
        self.blocks
            .iter()
            .fold(false, |inside, block| inside ^ self.passes(block, p))
    }

    /// Whether a level line from `p` towards +x crosses a block's edges an odd
    /// number of times.
    fn passes(&self, block: &Block, p: DVec2) -> bool {
        if p.y < block.lo.y || p.y > block.hi.y || p.x > block.hi.x {
            return false;
        }
        let edges = self.of(block);
        if p.x < block.lo.x {
            // All its crossings lie ahead: only the ends count.
            let (Some(first), Some(last)) = (edges.first(), edges.last()) else {
                return false;
            };
            return (first.from.y > p.y) != (last.to.y > p.y);
        }
        edges
            .iter()
            .fold(false, |inside, edge| inside ^ edge.passes(p))
    }

    /// Distance to the curve, negative inside, and the direction in which it
    /// grows.
    fn distance_and_slope(&self, p: DVec2) -> (f64, DVec2) {
        /// Nearer than this the direction to the curve is lost in rounding.
        const ON_CURVE_SQUARED: f64 = 1e-24;
        let mut inside = false;
        let mut nearest = (DVec2::INFINITY, DVec2::X);
        let mut nearest_squared = f64::INFINITY;
        // Each block starts with a corner: the nearest of them bounds the search.
        let corner_squared = self
            .blocks
            .iter()
            .filter_map(|block| self.edges.get(block.first))
            .map(|edge| edge.from.distance_squared(p))
            .fold(f64::INFINITY, f64::min);
        let mut bound = corner_squared.sqrt();
        for block in &self.blocks {
            inside ^= self.passes(block, p);
            let reach = bound + block.radius;
            if block.center.distance_squared(p) > reach * reach {
                continue;
            }
            for edge in self.of(block) {
                let from_edge = edge.way_from_nearest(p);
                let squared = from_edge.length_squared();
                if squared < nearest_squared {
                    (nearest, nearest_squared) = ((from_edge, edge.along), squared);
                }
            }
            bound = bound.min(nearest_squared.sqrt());
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
}

impl Edge {
    fn new((from, to): (DVec2, DVec2)) -> Self {
        let along = to - from;
        Self {
            from,
            to,
            along,
            inverse_length_squared: match along.length_squared() {
                0.0 => 0.0,
                squared => squared.recip(),
            },
        }
    }

    /// The way to `p` from the edge's nearest point.
    fn way_from_nearest(&self, p: DVec2) -> DVec2 {
        let to_p = p - self.from;
        let share = (to_p.dot(self.along) * self.inverse_length_squared).clamp(0.0, 1.0);
        to_p - self.along * share
    }

    /// Whether a level line from `p` towards +x crosses the edge.
    fn passes(&self, p: DVec2) -> bool {
        (self.from.y > p.y) != (self.to.y > p.y) && {
            // p.x < from.x + along.x (p.y - from.y) / along.y, undivided.
            let turn = self.along.x * (p.y - self.from.y) - self.along.y * (p.x - self.from.x);
            (turn > 0.0) == (self.along.y > 0.0) && turn != 0.0
        }
    }
}

impl Block {
    fn new(edges: &[Edge], first: usize, end: usize) -> Self {
        let start = edges[first].from;
        let (lo, hi) = edges[first..end]
            .iter()
            .fold((start, start), |(lo, hi), edge| {
                (lo.min(edge.to), hi.max(edge.to))
            });
        let center = 0.5 * (lo + hi);
        let farthest = edges[first..end]
            .iter()
            .map(|edge| edge.to.distance(center))
            .fold(start.distance(center), f64::max);
        Self {
            first,
            end,
            center,
            // A little more, so that rounding never hides an edge.
            radius: farthest * (1.0 + 1e-9) + 1e-12,
            lo,
            hi,
        }
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
            if right == n_curves
                && from < t
                && let Some(found) = visit(from, t)
            {
                return Some(found);
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

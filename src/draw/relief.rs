//! A rock as one view sees it: its outline, lines of equal distance from the
//! viewer, how its surface faces the light, and what a cut goes through. All of
//! it from the sampled solid, so that every drawing has the same points.

use std::sync::Arc;

use glam::{DMat3, Mat3, Vec2, Vec3};

use crate::area::{Area, Ring};
use crate::geometry::contour::{self, Line, Values};
use crate::view::View;
use crate::volume::Volume;

/// Most nodes along one side of a view.
const NODES_MAX: f32 = 160.0;
/// Direction to the light of the drawing: right, up and towards the viewer.
const LIGHT: Vec3 = Vec3::new(-0.49, 0.58, 0.65);

/// A rock in one view. Places are in cm of the view, from the rock's place.
#[derive(Clone, Debug)]
pub struct Relief {
    /// What is seen of it.
    pub area: Arc<Area>,
    /// The nodes of what follows.
    pub grid: Grid,
    /// What the viewer sees at each node, in the rock's own frame.
    pub skin: Vec<Option<Skin>>,
    /// How squarely the surface seen at each node faces the light, -1 to 1;
    /// beside the rock that of the nearest.
    pub light: Vec<f32>,
    /// Distance to the rock along the line of sight at each node where it is
    /// least, smoothed, in cm: how deep the sight goes through it.
    pub deep_cm: Vec<f32>,
    /// The same where it is least, not smoothed.
    least_cm: Vec<f32>,
    /// How far towards the viewer the surface lies at each node, in cm.
    near_cm: Vec<f32>,
}

/// A place on a rock's surface, in its own frame, in cm.
#[derive(Clone, Copy, Debug)]
pub struct Skin {
    /// Where it is.
    pub at_cm: Vec3,
    /// Outward unit normal.
    pub normal: Vec3,
}

/// Nodes in a view.
#[derive(Clone, Copy, Debug)]
pub struct Grid {
    /// Place of the first node.
    pub min_cm: Vec2,
    /// Between nodes.
    pub step_cm: f32,
    /// Nodes to the right and upwards.
    pub n: [usize; 2],
}

impl Grid {
    fn at(&self, i: usize, j: usize) -> Vec2 {
        self.min_cm + Vec2::new(i as f32, j as f32) * self.step_cm
    }

    /// Place of the last node.
    pub fn max_cm(&self) -> Vec2 {
        self.at(self.n[0] - 1, self.n[1] - 1)
    }

    /// A value between nodes, one a node, x running fastest.
    // Asked for every dot of a picture.
    #[inline]
    pub fn sample(&self, values: &[f32], at_cm: Vec2) -> f32 {
        let last = Vec2::new((self.n[0] - 1) as f32, (self.n[1] - 1) as f32);
        let place = ((at_cm - self.min_cm) / self.step_cm).clamp(Vec2::ZERO, last);
        let low = place.floor().min(last - 1.0);
        let share = place - low;
        let first = low.y as usize * self.n[0] + low.x as usize;
        let row = |idx: usize| values[idx] + (values[idx + 1] - values[idx]) * share.x;
        let (a, b) = (row(first), row(first + self.n[0]));
        a + (b - a) * share.y
    }

    /// Lines of one value.
    fn lines(&self, at: &[f32], level: f32) -> Vec<Line> {
        let found = contour::lines(Values { n: self.n, at }, level);
        let in_cm = |p: &[f32; 2]| (self.min_cm + Vec2::from(*p) * self.step_cm).to_array();
        let line = |line: Line| Line {
            points: line.points.iter().map(in_cm).collect(),
            ..line
        };
        found.into_iter().map(line).collect()
    }

    fn rings(&self, at: &[f32], level: f32) -> Vec<Ring> {
        let lines = self.lines(at, level).into_iter();
        let closed = lines.filter(|line| line.closed && line.points.len() > 2);
        let ring = |line: Line| line.points.into_iter().map(Vec2::from).collect();
        closed.map(ring).collect()
    }

    /// How fast values change at each node: by how much a step of the same
    /// length.
    fn steepness(&self, values: &[f32]) -> Vec<f32> {
        let [nx, ny] = self.n;
        let at = |i: usize, j: usize| values[j * nx + i];
        let between = |a: f32, b: f32, steps: usize| (b - a) / (steps as f32 * self.step_cm);
        let node = |idx: usize| {
            let (i, j) = (idx % nx, idx / nx);
            let (i0, i1) = (i.saturating_sub(1), (i + 1).min(nx - 1));
            let (j0, j1) = (j.saturating_sub(1), (j + 1).min(ny - 1));
            let across = between(at(i0, j), at(i1, j), i1 - i0);
            let up = between(at(i, j0), at(i, j1), j1 - j0);
            across.hypot(up)
        };
        (0..values.len()).map(node).collect()
    }

    /// The same values averaged with their neighbors.
    fn smoothed(&self, values: &[f32]) -> Vec<f32> {
        let [nx, ny] = self.n;
        let mut out = Vec::with_capacity(values.len());
        for j in 0..ny {
            let rows = [j.saturating_sub(1), j, (j + 1).min(ny - 1)];
            for i in 0..nx {
                let columns = [i.saturating_sub(1), i, (i + 1).min(nx - 1)];
                let sum: f32 = rows
                    .iter()
                    .flat_map(|row| columns.iter().map(move |column| values[row * nx + column]))
                    .sum();
                out.push(sum / 9.0);
            }
        }
        out
    }

    /// Gives nodes without a value (those that are not a number), two steps
    /// deep, that of their neighbors, and those farther off any `otherwise`.
    pub fn fill_gaps(&self, values: &mut [f32], otherwise: f32) {
        let [nx, ny] = self.n;
        for _ in 0..2 {
            let before = values.to_vec();
            for j in 0..ny {
                for i in 0..nx {
                    let idx = j * nx + i;
                    if !before[idx].is_nan() {
                        continue;
                    }
                    let mut sum = (0.0, 0.0);
                    for (is_there, other) in [
                        (i > 0, idx.wrapping_sub(1)),
                        (i + 1 < nx, idx + 1),
                        (j > 0, idx.wrapping_sub(nx)),
                        (j + 1 < ny, idx + nx),
                    ] {
                        if is_there && !before[other].is_nan() {
                            sum = (sum.0 + before[other], sum.1 + 1.0);
                        }
                    }
                    if sum.1 > 0.0 {
                        values[idx] = sum.0 / sum.1;
                    }
                }
            }
        }
        for value in values.iter_mut().filter(|value| value.is_nan()) {
            *value = otherwise;
        }
    }
}

/// A volume turned as its rock is, looked at in one view.
struct Sight<'a> {
    volume: &'a Volume,
    view: View,
    rock_from_tank: Mat3,
    /// Lowest and highest corner of the turned grid, from the rock's place.
    box_cm: (Vec3, Vec3),
}

/// What a line of sight meets.
struct Met {
    /// Least distance to the rock, in cm: negative through it.
    least_cm: f32,
    /// Depth at which it first enters the rock, coming from the viewer.
    entry_cm: Option<f32>,
}

impl<'a> Sight<'a> {
    fn new(volume: &'a Volume, tank_from_rock: DMat3, view: View) -> Self {
        let turn = tank_from_rock.as_mat3();
        let (lo, hi) = (volume.origin_cm, volume.end_cm());
        let corners = (0..8).map(|bits| {
            let pick = |bit: usize, axis: usize| {
                if bits >> bit & 1 == 0 {
                    lo[axis]
                } else {
                    hi[axis]
                }
            };
            turn * Vec3::new(pick(0, 0), pick(1, 1), pick(2, 2))
        });
        let mut box_cm = (Vec3::INFINITY, Vec3::NEG_INFINITY);
        for corner in corners {
            box_cm = (box_cm.0.min(corner), box_cm.1.max(corner));
        }
        Self {
            volume,
            view,
            rock_from_tank: turn.transpose(),
            box_cm,
        }
    }

    fn grid(&self, finer: f32) -> Grid {
        let (h, v, _) = self.view.axes();
        let (lo, hi) = self.box_cm;
        let min_cm = Vec2::new(lo[h], lo[v]);
        let size = Vec2::new(hi[h], hi[v]) - min_cm;
        let step_cm = (self.volume.step_cm * finer).max(size.max_element() / NODES_MAX);
        let n = (size / step_cm).ceil() + 1.0;
        Grid {
            min_cm,
            step_cm,
            n: [n.x as usize, n.y as usize],
        }
    }

    fn lift(&self, flat: Vec2, depth: f32) -> Vec3 {
        let (h, v, w) = self.view.axes();
        let mut at = Vec3::ZERO;
        at[h] = flat.x;
        at[v] = flat.y;
        at[w] = depth;
        self.rock_from_tank * at
    }

    fn skin(&self, flat: Vec2, depth: f32) -> Skin {
        let at_cm = self.lift(flat, depth);
        Skin {
            at_cm,
            normal: self.volume.slope(at_cm),
        }
    }

    fn march(&self, flat: Vec2) -> Met {
        let w = self.view.axes().2;
        let (near, far) = match self.view {
            View::Side => (self.box_cm.0[w], self.box_cm.1[w]),
            View::Top | View::End => (self.box_cm.1[w], self.box_cm.0[w]),
        };
        let length = (far - near).abs();
        let sign = (far - near).signum();
        let step = self.volume.step_cm * 0.8;
        let (mut least_cm, mut entry_cm, mut t) = (f32::INFINITY, None, 0.0);
        let (mut before, mut before_t) = (f32::INFINITY, 0.0);
        while t <= length {
            let distance = self.volume.distance(self.lift(flat, near + sign * t));
            least_cm = least_cm.min(distance);
            if distance < 0.0 && entry_cm.is_none() {
                // Straight between the last place outside and the first inside.
                let share = if before.is_finite() {
                    before / (before - distance)
                } else {
                    1.0
                };
                entry_cm = Some(near + sign * (before_t + (t - before_t) * share));
            }
            (before, before_t) = (distance, t);
            t += step.max(0.9 * distance);
        }
        Met { least_cm, entry_cm }
    }

    /// How squarely a surface faces the light.
    fn facing_light(&self, seen: &Skin) -> f32 {
        let normal = self.rock_from_tank.transpose() * seen.normal;
        let (h, v, _) = self.view.axes();
        let towards = normal.dot(self.view.towards_viewer().as_vec3());
        Vec3::new(normal[h], normal[v], towards).dot(LIGHT)
    }
}

impl Relief {
    /// How the rock with this volume and turn looks in a view.
    pub fn new(volume: &Volume, tank_from_rock: DMat3, view: View) -> Self {
        let sight = Sight::new(volume, tank_from_rock, view);
        let grid = sight.grid(0.9);
        let n_nodes = grid.n[0] * grid.n[1];
        let mut least_cm = Vec::with_capacity(n_nodes);
        let mut near_cm = Vec::with_capacity(n_nodes);
        let mut light = Vec::with_capacity(n_nodes);
        let mut skin = Vec::with_capacity(n_nodes);
        // Depths grow away from the viewer of the front glass alone.
        let towards = view.towards_viewer()[view.axes().2] as f32;
        for j in 0..grid.n[1] {
            for i in 0..grid.n[0] {
                let flat = grid.at(i, j);
                let met = sight.march(flat);
                least_cm.push(met.least_cm);
                near_cm.push(met.entry_cm.map_or(f32::NAN, |depth| depth * towards));
                let seen = met.entry_cm.map(|depth| sight.skin(flat, depth));
                light.push(seen.map_or(f32::NAN, |seen| sight.facing_light(&seen)));
                skin.push(seen);
            }
        }
        grid.fill_gaps(&mut light, 0.5);
        let light = grid.smoothed(&light);
        grid.fill_gaps(&mut near_cm, f32::MIN);
        Self {
            area: Arc::new(Area::filled(grid.rings(&least_cm, 0.0))),
            deep_cm: grid.smoothed(&grid.smoothed(&least_cm)),
            grid,
            skin,
            light,
            least_cm,
            near_cm,
        }
    }

    /// Lines of equal distance from the viewer on what is seen of it, every
    /// `apart_cm`, counted from a place that lies `datum_cm` farther from the
    /// viewer than the rock's own.
    pub fn contours(&self, apart_cm: f64, datum_cm: f64) -> Vec<Vec<Vec2>> {
        /// Shorter ones are specks.
        const POINTS_LEAST: usize = 4;
        const LINES_MAX: i64 = 60;
        /// So deep within the outline a line ends, in cm.
        const RIM_CM: f32 = -0.05;
        /// On a steeper face lines would run into each other: it is a cliff.
        const STEEP: f32 = 3.0;
        let seen = self.skin.iter().zip(&self.near_cm);
        let seen = seen.filter_map(|(skin, near)| skin.map(|_| f64::from(*near)));
        let (low, high) = seen.fold((f64::MAX, f64::MIN), |(low, high), near| {
            (low.min(near), high.max(near))
        });
        if low > high {
            return Vec::new();
        }
        let first = ((low + datum_cm) / apart_cm).ceil() as i64;
        let last = ((high + datum_cm) / apart_cm).floor() as i64;
        let steep = self.grid.steepness(&self.near_cm);
        let mut all = Vec::new();
        for k in first..=last.min(first + LINES_MAX) {
            let level = (k as f64 * apart_cm - datum_cm) as f32;
            for line in self.grid.lines(&self.near_cm, level) {
                let mut points: Vec<Vec2> = line.points.into_iter().map(Vec2::from).collect();
                if line.closed {
                    points.extend(points.first().copied());
                }
                // What lies outside the rock was only filled in.
                let is_off = |p: &Vec2| {
                    self.grid.sample(&self.least_cm, *p) > RIM_CM
                        || self.grid.sample(&steep, *p) > STEEP
                };
                let pieces = points.split(is_off);
                all.extend(
                    pieces
                        .filter(|it| it.len() > POINTS_LEAST)
                        .map(<[Vec2]>::to_vec),
                );
            }
        }
        all
    }

    /// Closed curves around what faces the light less than `share` of squarely.
    pub fn darker(&self, share: f32) -> Vec<Ring> {
        // Off the rock the light is full, so that tone ends at the outline.
        let lit = self.light.iter().zip(&self.skin);
        let lit: Vec<f32> = lit
            .map(|(light, skin)| skin.map_or(1.0, |_| light.max(0.0)))
            .collect();
        self.grid.rings(&lit, share)
    }

    /// Whether a point of the view lies on it, or within `near_cm` of it.
    pub fn covers(&self, at_cm: Vec2, near_cm: f32) -> bool {
        let (low, high) = (self.grid.min_cm, self.grid.max_cm());
        let is_near = at_cm.cmpge(low).all() && at_cm.cmple(high).all();
        is_near && self.grid.sample(&self.least_cm, at_cm) < near_cm
    }
}

/// The part of a rock that the cut at `depth_cm` (along the line of sight, from
/// the rock's place) goes through.
pub(crate) fn section(volume: &Volume, tank_from_rock: DMat3, view: View, depth_cm: f32) -> Area {
    let sight = Sight::new(volume, tank_from_rock, view);
    let w = view.axes().2;
    if depth_cm < sight.box_cm.0[w] || depth_cm > sight.box_cm.1[w] {
        return Area::default();
    }
    let grid = sight.grid(0.7);
    let mut distance = Vec::with_capacity(grid.n[0] * grid.n[1]);
    for j in 0..grid.n[1] {
        for i in 0..grid.n[0] {
            distance.push(volume.distance(sight.lift(grid.at(i, j), depth_cm)));
        }
    }
    Area::filled(grid.rings(&distance, 0.0))
}

#[cfg(test)]
mod tests {
    use glam::DVec3;

    use super::*;
    use crate::scene::shapes::Shape;
    use crate::scene::solids::rock_solid;
    use crate::volume::{Detail, tank_from_rock};

    fn volume(shape: Shape) -> (Volume, DMat3) {
        let rock = shape.rock(1, DVec3::ZERO);
        let solid = Arc::new(rock_solid(&rock));
        (Volume::new(&solid, Detail::Fine), tank_from_rock(&rock))
    }

    fn relief(shape: Shape, view: View) -> Relief {
        let (volume, turn) = volume(shape);
        Relief::new(&volume, turn, view)
    }

    #[test]
    fn the_arch_is_drawn_with_its_opening_seen_from_the_front_only() {
        let front = relief(Shape::Arch, View::Side);
        assert!(!front.covers(Vec2::new(0.0, 4.0), 0.0), "one sees through");
        assert!(
            front.covers(Vec2::new(0.0, 14.0), 0.0),
            "the crown is there"
        );
        let top = relief(Shape::Arch, View::Top);
        assert!(top.covers(Vec2::ZERO, 0.0), "from above it is closed");
    }

    #[test]
    fn the_silhouette_has_the_area_of_the_outline() {
        let rock = Shape::Boulder.rock(1, DVec3::ZERO);
        let expected = rock.plan.curve_cm().signed_area().abs();
        let drawn = relief(Shape::Boulder, View::Top).area.area_cm2();
        // The front outline is a little wider than the plan, so the plan alone
        // decides; its rounding and the grid take about 1 %.
        assert!(
            (drawn / expected - 1.0).abs() < 0.03,
            "drawn {drawn} cm², sketched {expected} cm²"
        );
    }

    #[test]
    fn a_cut_through_the_legs_of_the_arch_is_two_pieces() {
        let (volume, turn) = volume(Shape::Arch);
        let cut = |height| section(&volume, turn, View::Top, height);
        assert_eq!(cut(3.0).rings.len(), 2, "two legs");
        assert_eq!(cut(14.0).rings.len(), 1, "one crown");
        assert!(cut(40.0).rings.is_empty(), "nothing above it");
    }

    #[test]
    fn lines_of_height_lie_on_the_rock_at_their_height() {
        let (volume, turn) = volume(Shape::Boulder);
        let relief = Relief::new(&volume, turn, View::Top);
        // A rock that stands 3 cm above what heights are counted from.
        let lines = relief.contours(5.0, 3.0);
        assert!(!lines.is_empty(), "it is higher than 5 cm");
        for p in lines.iter().flatten() {
            let height = relief.grid.sample(&relief.near_cm, *p) + 3.0;
            let off = (height / 5.0 - (height / 5.0).round()).abs() * 5.0;
            // Lines are straight between nodes, the surface there is bent.
            assert!(off < 0.2, "{height} cm at {p}");
        }
    }
}

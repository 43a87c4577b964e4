//! How a rock looks in one view: its silhouette, contour lines of its
//! thickness, and a shaded texture, all from the sampled solid.

use egui::{Color32, ColorImage};
use glam::{DMat3, Mat3, Vec2, Vec3};

use crate::ui::paint::contour::{self, Line, Values};
use crate::ui::paint::volume::Volume;
use crate::ui::sheet::View;

/// Pixels of the shaded texture at most, along a side.
const PIXELS_MAX: usize = 224;
/// Contour lines in a silhouette.
const N_CONTOURS: usize = 4;

/// A filled shape: closed curves and the triangles between them, in cm of the
/// view, relative to the rock's place.
#[derive(Clone, Debug, Default)]
pub(crate) struct Area {
    /// Its border.
    pub rings: Vec<Vec<Vec2>>,
    /// Corners of the triangles.
    pub corners: Vec<Vec2>,
    /// Three corners a triangle.
    pub triangles: Vec<u32>,
}

/// A rock in one view.
#[derive(Clone, Debug)]
pub(crate) struct Relief {
    /// What is seen of it.
    pub area: Area,
    /// Contour lines of its thickness.
    pub contours: Vec<Line>,
    /// Lowest and highest corner of the texture, in cm of the view.
    pub texture_cm: [Vec2; 2],
    /// Shade, white for the lightest, top row first.
    pub image: ColorImage,
    /// What the viewer sees at each node, in the rock's own frame.
    skin: Vec<Option<Skin>>,
    grid: Grid,
    /// Least distance along the line of sight at each node, in cm.
    least_cm: Vec<f32>,
}

/// A place on a rock's surface, in its own frame, in cm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Skin {
    /// Where it is.
    pub at_cm: Vec3,
    /// Outward unit normal.
    pub normal: Vec3,
}

/// Nodes in a view, in cm relative to the rock's place.
#[derive(Clone, Copy, Debug)]
struct Grid {
    min_cm: Vec2,
    step_cm: f32,
    n: [usize; 2],
}

impl Grid {
    fn at(&self, i: usize, j: usize) -> Vec2 {
        self.min_cm + Vec2::new(i as f32, j as f32) * self.step_cm
    }

    fn max_cm(&self) -> Vec2 {
        self.at(self.n[0] - 1, self.n[1] - 1)
    }

    fn sample(&self, values: &[f32], at_cm: Vec2) -> f32 {
        let last = Vec2::new((self.n[0] - 1) as f32, (self.n[1] - 1) as f32);
        let place = ((at_cm - self.min_cm) / self.step_cm).clamp(Vec2::ZERO, last);
        let low = place.floor().min(last - 1.0);
        let share = place - low;
        let first = low.y as usize * self.n[0] + low.x as usize;
        let row = |idx: usize| values[idx] + (values[idx + 1] - values[idx]) * share.x;
        let (a, b) = (row(first), row(first + self.n[0]));
        a + (b - a) * share.y
    }

    fn values<'a>(&self, at: &'a [f32]) -> Values<'a> {
        Values { n: self.n, at }
    }
}

/// A volume turned as its rock is, looked at in one view.
struct Sight<'a> {
    volume: &'a Volume,
    view: View,
    rock_from_tank: Mat3,
    /// Lowest and highest corner of the turned grid, relative to the rock's place.
    box_cm: (Vec3, Vec3),
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
        let step_cm = (self.volume.step_cm * finer).max(size.max_element() / 160.0);
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

    /// Least distance along the line of sight, and the depth at which it
    /// first enters the rock, coming from the viewer.
    fn march(&self, flat: Vec2) -> (f32, Option<f32>) {
        let w = self.view.axes().2;
        let (near, far) = match self.view {
            View::Side => (self.box_cm.0[w], self.box_cm.1[w]),
            View::Top | View::End => (self.box_cm.1[w], self.box_cm.0[w]),
        };
        let length = (far - near).abs();
        let sign = (far - near).signum();
        let step = self.volume.step_cm * 0.8;
        let (mut least, mut entry, mut t) = (f32::INFINITY, None, 0.0);
        while t <= length {
            let distance = self.volume.distance(self.lift(flat, near + sign * t));
            least = least.min(distance);
            if distance < 0.0 && entry.is_none() {
                entry = Some(near + sign * t);
            }
            t += step.max(0.9 * distance);
        }
        (least, entry)
    }
}

impl Relief {
    /// How the rock with this volume and turn looks in `view`.
    pub(crate) fn new(volume: &Volume, tank_from_rock: DMat3, view: View) -> Self {
        let sight = Sight::new(volume, tank_from_rock, view);
        let grid = sight.grid(0.9);
        let mut least_cm = Vec::with_capacity(grid.n[0] * grid.n[1]);
        let mut light = Vec::with_capacity(least_cm.capacity());
        let mut skin = Vec::with_capacity(least_cm.capacity());
        for j in 0..grid.n[1] {
            for i in 0..grid.n[0] {
                let flat = grid.at(i, j);
                let (least, entry) = sight.march(flat);
                least_cm.push(least);
                let seen = entry.map(|depth| sight.skin(flat, depth));
                light.push(seen.map_or(f32::NAN, |seen| facing_light(&sight, &seen)));
                skin.push(seen);
            }
        }
        let area = Area::below_zero(&grid, &least_cm);
        let smooth = smoothed(&grid, &smoothed(&grid, &least_cm));
        let deepest = smooth.iter().copied().fold(0.0, f32::min);
        let contours = (1..=N_CONTOURS)
            .flat_map(|k| {
                let level = deepest * k as f32 / (N_CONTOURS as f32 + 0.7);
                contour::lines(grid.values(&smooth), level)
            })
            .map(|line| in_cm(&grid, &line))
            .collect();
        fill_gaps(&grid, &mut light, 0.5);
        let light = smoothed(&grid, &light);
        let image = texture(&grid, &smooth, &light, deepest);
        Self {
            area,
            contours,
            texture_cm: [grid.min_cm, grid.max_cm()],
            image,
            skin,
            grid,
            least_cm,
        }
    }

    /// The shaded texture with a wash of color on the surface: `value` gives
    /// the wash's value at a place of it, `color` the color of a value (0 to
    /// 255 a channel). Places without a value keep the color of their neighbors.
    pub(crate) fn washed(
        &self,
        value: impl Fn(&Skin) -> Option<f32>,
        color: impl Fn(f32) -> [f32; 3],
    ) -> ColorImage {
        let at_node = |skin: &Option<Skin>| skin.as_ref().and_then(&value).unwrap_or(f32::NAN);
        let mut values: Vec<f32> = self.skin.iter().map(at_node).collect();
        fill_gaps(&self.grid, &mut values, 0.0);
        let [width, height] = self.image.size;
        let size_cm = self.texture_cm[1] - self.texture_cm[0];
        let mut pixels = Vec::with_capacity(width * height);
        for (idx, gray) in self.image.pixels.iter().enumerate() {
            let share = Vec2::new(
                ((idx % width) as f32 + 0.5) / width as f32,
                1.0 - ((idx / width) as f32 + 0.5) / height as f32,
            );
            let at = self.texture_cm[0] + size_cm * share;
            let shade = f32::from(gray.r()) / 255.0;
            let [r, g, b] = color(self.grid.sample(&values, at)).map(|c| (c * shade).min(255.0));
            pixels.push(Color32::from_rgb(r as u8, g as u8, b as u8));
        }
        ColorImage::new([width, height], pixels)
    }

    /// Whether a point of the view (relative to the rock's place, in cm) lies
    /// on it, or within `near_cm` of it.
    pub(crate) fn covers(&self, at_cm: Vec2, near_cm: f32) -> bool {
        let within = at_cm.cmpge(self.texture_cm[0]).all() && at_cm.cmple(self.texture_cm[1]).all();
        within && self.grid.sample(&self.least_cm, at_cm) < near_cm
    }
}

/// The part of a rock that the cut at `depth_cm` (relative to the rock's place)
/// goes through.
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
    Area::below_zero(&grid, &distance)
}

/// How squarely the surface seen at a place faces the light of the drawing,
/// which comes from the upper left, from the viewer's side.
fn facing_light(sight: &Sight<'_>, seen: &Skin) -> f32 {
    const LIGHT: Vec3 = Vec3::new(-0.49, 0.58, 0.65);
    let normal = sight.rock_from_tank.transpose() * seen.normal;
    let (h, v, _) = sight.view.axes();
    let towards = normal.dot(sight.view.towards_viewer().as_vec3());
    Vec3::new(normal[h], normal[v], towards).dot(LIGHT)
}

/// The same values averaged with their neighbors.
fn smoothed(grid: &Grid, values: &[f32]) -> Vec<f32> {
    let [nx, ny] = grid.n;
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

/// Gives nodes without a value (beside the silhouette) that of their
/// neighbors, those far from any `otherwise`.
fn fill_gaps(grid: &Grid, light: &mut [f32], otherwise: f32) {
    let [nx, ny] = grid.n;
    for _ in 0..2 {
        let before = light.to_vec();
        for j in 0..ny {
            for i in 0..nx {
                let idx = j * nx + i;
                if !before[idx].is_nan() {
                    continue;
                }
                let mut sum = (0.0, 0.0);
                let mut add = |other: usize| {
                    if !before[other].is_nan() {
                        sum = (sum.0 + before[other], sum.1 + 1.0);
                    }
                };
                if i > 0 {
                    add(idx - 1);
                }
                if i + 1 < nx {
                    add(idx + 1);
                }
                if j > 0 {
                    add(idx - nx);
                }
                if j + 1 < ny {
                    add(idx + nx);
                }
                if sum.1 > 0.0 {
                    light[idx] = sum.0 / sum.1;
                }
            }
        }
    }
    for value in light.iter_mut().filter(|value| value.is_nan()) {
        *value = otherwise;
    }
}

/// Shade of the rock: the light on its surface, darker towards its edges, with
/// the grain and pores of reef rock.
fn texture(grid: &Grid, thickness: &[f32], light: &[f32], deepest: f32) -> ColorImage {
    const PIXELS_PER_CM: f32 = 6.0;
    let size_cm = grid.max_cm() - grid.min_cm;
    let per_cm = PIXELS_PER_CM.min(PIXELS_MAX as f32 / size_cm.max_element());
    let n = (size_cm * per_cm).ceil().max(Vec2::splat(2.0));
    let (width, height) = (n.x as usize, n.y as usize);
    let rim_cm = (-deepest * 0.5).clamp(0.6, 2.5);
    let mut pixels = Vec::with_capacity(width * height);
    for row in 0..height {
        for column in 0..width {
            let share = Vec2::new(
                (column as f32 + 0.5) / width as f32,
                1.0 - (row as f32 + 0.5) / height as f32,
            );
            let at = grid.min_cm + size_cm * share;
            let inside = (-grid.sample(thickness, at) / rim_cm).clamp(0.0, 1.0);
            let lit = grid.sample(light, at).clamp(-0.4, 1.0);
            let grain = noise(at / 2.3) * 0.10 + noise(at / 0.8) * 0.07;
            let pore = if noise(at / 0.33 + 40.0) > 0.62 {
                0.13
            } else {
                0.0
            };
            let shade = 0.66 + 0.26 * lit + 0.12 * inside + grain - pore * inside;
            pixels.push(Color32::from_gray((shade.clamp(0.3, 1.0) * 255.0) as u8));
        }
    }
    ColorImage::new([width, height], pixels)
}

/// Smooth noise from -1 to 1, one bump a unit.
fn noise(at: Vec2) -> f32 {
    let low = at.floor();
    let share = at - low;
    let ease = share * share * (3.0 - 2.0 * share);
    let corner = |dx: f32, dy: f32| scatter((low.x + dx) as i32, (low.y + dy) as i32);
    let row = |dy: f32| corner(0.0, dy) * (1.0 - ease.x) + corner(1.0, dy) * ease.x;
    row(0.0) * (1.0 - ease.y) + row(1.0) * ease.y
}

/// A fixed value from -1 to 1 for a pair of whole numbers.
pub(crate) fn scatter(i: i32, j: i32) -> f32 {
    let mut bits = (i as u32).wrapping_mul(0x9E37_79B1) ^ (j as u32).wrapping_mul(0x85EB_CA77);
    bits ^= bits >> 15;
    bits = bits.wrapping_mul(0x2C1B_3C6D);
    bits ^= bits >> 12;
    bits = bits.wrapping_mul(0x297A_2D39);
    bits ^= bits >> 15;
    (bits & 0xFFFF) as f32 / 32767.5 - 1.0
}

fn in_cm(grid: &Grid, line: &Line) -> Line {
    let points = line
        .points
        .iter()
        .map(|p| (grid.min_cm + Vec2::from(*p) * grid.step_cm).to_array())
        .collect();
    Line {
        points,
        closed: line.closed,
    }
}

impl Area {
    fn below_zero(grid: &Grid, values: &[f32]) -> Self {
        let rings = contour::lines(grid.values(values), 0.0)
            .into_iter()
            .filter(|line| line.closed && line.points.len() > 2)
            .map(|line| {
                in_cm(grid, &line)
                    .points
                    .into_iter()
                    .map(Vec2::from)
                    .collect()
            })
            .collect();
        Self::filled(rings)
    }

    /// The area between rings (even–odd), cut into triangles.
    pub(crate) fn filled(rings: Vec<Vec<Vec2>>) -> Self {
        let depths: Vec<usize> = (0..rings.len())
            .map(|own| {
                let around = |other: &usize| *other != own && holds(&rings[*other], rings[own][0]);
                (0..rings.len()).filter(around).count()
            })
            .collect();
        let (mut corners, mut triangles) = (Vec::new(), Vec::new());
        let mut cutter = earcut::Earcut::<f32>::new();
        for outer in (0..rings.len()).filter(|ring| depths[*ring].is_multiple_of(2)) {
            let mut points: Vec<[f32; 2]> = rings[outer].iter().map(|p| p.to_array()).collect();
            let mut hole_starts: Vec<u32> = Vec::new();
            let is_hole = |ring: &usize| {
                depths[*ring] == depths[outer] + 1 && holds(&rings[outer], rings[*ring][0])
            };
            for hole in (0..rings.len()).filter(is_hole) {
                hole_starts.push(points.len() as u32);
                points.extend(rings[hole].iter().map(|p| p.to_array()));
            }
            let mut cut: Vec<u32> = Vec::new();
            cutter.earcut_slice(&points, &hole_starts, &mut cut);
            let base = corners.len() as u32;
            corners.extend(points.into_iter().map(Vec2::from));
            triangles.extend(cut.into_iter().map(|idx| idx + base));
        }
        Self {
            rings,
            corners,
            triangles,
        }
    }

    /// Area, in cm².
    #[cfg(test)]
    pub(crate) fn area_cm2(&self) -> f64 {
        self.triangles
            .chunks_exact(3)
            .map(|t| {
                let [a, b, c] = [0, 1, 2].map(|k| self.corners[t[k] as usize].as_dvec2());
                let (u, v): (glam::DVec2, glam::DVec2) = (b - a, c - a);
                (u.perp_dot(v) / 2.0).abs()
            })
            .sum()
    }
}

/// Whether a ring holds a point (even–odd).
fn holds(ring: &[Vec2], p: Vec2) -> bool {
    let mut inside = false;
    for (k, a) in ring.iter().enumerate() {
        let b = ring[(k + 1) % ring.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            inside = !inside;
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shapes::Shape;
    use crate::ui::paint::volume::{Detail, tank_from_rock};
    use glam::DVec3;

    fn relief(shape: Shape, view: View) -> Relief {
        let rock = shape.rock(1, DVec3::ZERO);
        let volume = Volume::new(&rock, Detail::Fine);
        Relief::new(&volume, tank_from_rock(&rock), view)
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
        let rock = Shape::Arch.rock(1, DVec3::ZERO);
        let volume = Volume::new(&rock, Detail::Fine);
        let cut = |height| section(&volume, tank_from_rock(&rock), View::Top, height);
        assert_eq!(cut(3.0).rings.len(), 2, "two legs");
        assert_eq!(cut(14.0).rings.len(), 1, "one crown");
        assert!(cut(40.0).rings.is_empty(), "nothing above it");
    }

    #[test]
    fn a_ring_with_a_hole_is_filled_between() {
        let square = |half: f32| {
            [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
                .map(|(x, y): (f32, f32)| Vec2::new(x, y) * half)
                .to_vec()
        };
        let area = Area::filled(vec![square(2.0), square(1.0)]);
        assert!((area.area_cm2() - 12.0).abs() < 1e-5, "16 less 4");
    }
}

//! A shape given by its distances at the nodes of a grid, as scans are kept.
//! Lengths here are in steps of the grid; the first node is the origin.

use std::collections::BTreeMap;

use glam::DVec3;

use super::contour::{self, Values};
use super::polygon::Polygon;
use super::tetra::{Lattice, surface};

/// Parts of a step in which distances are kept.
pub const PARTS: f64 = 128.0;

/// Distances of a closed shape at the nodes of a grid, negative inside, with
/// what is asked of the shape all the time.
///
/// Between nodes the distance is interpolated linearly along each axis: right
/// to a small part of a step beside smooth faces, while edges are rounded by
/// about half a step and what is thinner than a step may be lost.
#[derive(Clone, Debug)]
pub struct DistanceGrid {
    lattice: Lattice,
    parts: Vec<i16>,
    bounds: (DVec3, DVec3),
    measures: Measures,
}

/// Volume, surface and center of a shape, in steps.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Measures {
    /// Volume, in cubic steps.
    pub volume: f64,
    /// Surface, in square steps.
    pub area: f64,
    /// Center of the volume.
    pub center: DVec3,
}

/// A piece of surface in steps: middle, outward unit normal, area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facet {
    /// A point on the surface.
    pub at: DVec3,
    /// Outward unit normal.
    pub normal: DVec3,
    /// Its area, in square steps.
    pub area: f64,
}

/// Why numbers are no distances of a closed shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoShape {
    /// The grid has no cells, or another number of values than nodes.
    #[error("the number of distances is not that of the grid's nodes")]
    Count,
    /// No node, or hardly any, lies inside.
    #[error("no node of the grid lies within the rock")]
    Empty,
    /// A node on the border lies inside.
    #[error("the rock reaches the border of its grid")]
    Open,
    /// Neighbors differ by more than the way between them.
    #[error("neighbors differ by more than a step, so these are no distances")]
    Steep,
}

impl PartialEq for DistanceGrid {
    fn eq(&self, other: &Self) -> bool {
        // All else follows from these.
        self.lattice == other.lattice && self.parts == other.parts
    }
}

impl Eq for DistanceGrid {}

impl DistanceGrid {
    /// The shape of distances in 1/[`PARTS`] of a step, x running fastest.
    ///
    /// # Errors
    ///
    /// [`NoShape`] unless they are distances of a closed shape.
    pub fn new(n: [usize; 3], parts: Vec<i16>) -> Result<Self, NoShape> {
        let lattice = Lattice(n);
        let count = n.iter().try_fold(1_usize, |all, n| all.checked_mul(*n));
        if n.iter().any(|n| *n < 3) || count != Some(parts.len()) {
            return Err(NoShape::Count);
        }
        check(lattice, &parts)?;
        let mut grid = Self {
            lattice,
            parts,
            bounds: (DVec3::ZERO, DVec3::ZERO),
            measures: Measures::default(),
        };
        grid.measure();
        if grid.measures.volume > 0.0 {
            Ok(grid)
        } else {
            Err(NoShape::Empty)
        }
    }

    /// The mirror image in x.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let mut image = self.clone();
        for row in image.parts.chunks_mut(self.lattice.0[0]) {
            row.reverse();
        }
        image.measure();
        image
    }

    /// Nodes along x, y and z.
    pub fn n(&self) -> [usize; 3] {
        self.lattice.0
    }

    /// The distances in 1/[`PARTS`] of a step, x running fastest.
    pub fn parts(&self) -> &[i16] {
        &self.parts
    }

    /// Lowest and highest corner of the box around the shape.
    pub fn bounds(&self) -> (DVec3, DVec3) {
        self.bounds
    }

    /// Volume, surface and center.
    pub fn measures(&self) -> Measures {
        self.measures
    }

    fn node(&self, ijk: [usize; 3]) -> f64 {
        f64::from(self.parts[self.lattice.idx(ijk)]) / PARTS
    }

    /// Corner of the cell around a place within the grid, and the place in it.
    fn cell(&self, p: DVec3) -> ([usize; 3], DVec3) {
        let last = DVec3::from_array(self.lattice.0.map(|n| (n - 2) as f64));
        let low = p.floor().min(last).max(DVec3::ZERO);
        (low.to_array().map(|x| x as usize), p - low)
    }

    fn high(&self) -> DVec3 {
        DVec3::from_array(self.lattice.0.map(|n| (n - 1) as f64))
    }

    /// Distance from `p` to the surface, negative inside. Beyond the grid it is
    /// a bound from below: the surface lies in the grid, at least as far from
    /// the grid's nearest place as is known there. Far away that may be a
    /// third too little.
    pub fn distance(&self, p: DVec3) -> f64 {
        let within = p.clamp(DVec3::ZERO, self.high());
        let ([i, j, k], s) = self.cell(within);
        let row = |j: usize, k: usize| {
            let (a, b) = (self.node([i, j, k]), self.node([i + 1, j, k]));
            a + (b - a) * s.x
        };
        let sheet = |k: usize| {
            let (a, b) = (row(j, k), row(j + 1, k));
            a + (b - a) * s.y
        };
        let (a, b) = (sheet(k), sheet(k + 1));
        let distance = a + (b - a) * s.z;
        let beyond = p.distance_squared(within);
        if beyond > 0.0 {
            (beyond + distance.max(0.0).powi(2)).sqrt()
        } else {
            distance
        }
    }

    /// Direction in which the distance grows at `p`, of a length about one:
    /// central differences a step wide, which is as smooth as the shape is known.
    pub fn slope(&self, p: DVec3) -> DVec3 {
        const REACH: f64 = 0.5;
        let along = |axis: DVec3| self.distance(p + axis * REACH) - self.distance(p - axis * REACH);
        DVec3::new(along(DVec3::X), along(DVec3::Y), along(DVec3::Z))
    }

    /// Calls `add` with each triangle of the surface.
    fn triangles(&self, add: impl FnMut([DVec3; 3])) {
        let crossing = |inside: usize, outside: usize| {
            let (a, b) = (
                f64::from(self.parts[inside]),
                f64::from(self.parts[outside]),
            );
            let (from, to) = (self.lattice.place(inside), self.lattice.place(outside));
            from + (to - from) * (a / (a - b))
        };
        surface(self.lattice, |idx| self.parts[idx] < 0, crossing, add);
    }

    fn measure(&mut self) {
        let middle = self.high() / 2.0;
        let (mut volume, mut area, mut center) = (0.0, 0.0, DVec3::ZERO);
        let (mut low, mut high) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        self.triangles(|t| {
            let [a, b, c] = t.map(|p| p - middle);
            // Signed sixths: the tetrahedra between the middle and the faces.
            let part = a.dot(b.cross(c)) / 6.0;
            volume += part;
            center += (a + b + c) / 4.0 * part;
            area += (b - a).cross(c - a).length() / 2.0;
            for p in t {
                low = low.min(p);
                high = high.max(p);
            }
        });
        if volume > 0.0 {
            self.bounds = (low, high);
            self.measures = Measures {
                volume,
                area,
                center: middle + center / volume,
            };
        }
    }

    /// The surface in pieces about `spacing` steps wide; their areas add up to
    /// the surface.
    pub fn facets(&self, spacing: f64) -> Vec<Facet> {
        // What faces one of six ways within a cube is one piece.
        let mut pieces: BTreeMap<([i32; 3], u8), (DVec3, DVec3, f64)> = BTreeMap::new();
        let mut gather = |t: [DVec3; 3]| {
            let face = (t[1] - t[0]).cross(t[2] - t[0]) / 2.0;
            let (middle, area) = ((t[0] + t[1] + t[2]) / 3.0, face.length());
            if area <= 0.0 {
                return;
            }
            let axis = face.abs().max_position();
            let way = (axis * 2 + usize::from(face[axis] < 0.0)) as u8;
            let cube = (middle / spacing).floor().as_ivec3().to_array();
            let piece = (pieces.entry((cube, way))).or_insert((DVec3::ZERO, DVec3::ZERO, 0.0));
            piece.0 += middle * area;
            piece.1 += face;
            piece.2 += area;
        };
        let parts = (1.2 / spacing).ceil().clamp(1.0, 16.0) as u32;
        self.triangles(|t| split(t, parts, &mut gather));
        let facet = |(middle, face, area): &(DVec3, DVec3, f64)| Facet {
            at: self.settled(*middle / *area),
            normal: face.normalize_or(DVec3::Z),
            area: *area,
        };
        pieces.values().map(facet).collect()
    }

    /// A place near the surface moved onto it.
    fn settled(&self, near: DVec3) -> DVec3 {
        const ROUNDS: usize = 4;
        let mut at = near;
        for _ in 0..ROUNDS {
            let slope = self.slope(at);
            let steepness = slope.length_squared().max(0.25);
            at -= slope * (self.distance(at) / steepness).clamp(-1.0, 1.0);
        }
        at
    }

    /// The largest curve around the shape seen along the vertical, in (x, y).
    pub fn plan(&self) -> Polygon {
        self.silhouette([0, 1, 2])
    }

    /// The largest curve around the shape seen along y, in (x, z).
    pub fn front(&self) -> Polygon {
        self.silhouette([0, 2, 1])
    }

    fn silhouette(&self, [across, up, along]: [usize; 3]) -> Polygon {
        let n = self.lattice.0;
        let mut nearest = vec![f32::INFINITY; n[across] * n[up]];
        for (idx, parts) in self.parts.iter().enumerate() {
            let ijk = [idx % n[0], idx / n[0] % n[1], idx / (n[0] * n[1])];
            debug_assert!(ijk[along] < n[along], "within the grid");
            let slot = &mut nearest[ijk[up] * n[across] + ijk[across]];
            *slot = slot.min(f32::from(*parts));
        }
        let values = Values {
            n: [n[across], n[up]],
            at: &nearest,
        };
        let rings = contour::lines(values, 0.0).into_iter().map(|line| {
            let points = line.points.iter();
            Polygon::new(points.map(|p| glam::Vec2::from(*p).as_dvec2()).collect())
        });
        let largest = rings.max_by(|a, b| {
            let area = |p: &Polygon| p.signed_area().abs();
            area(a).total_cmp(&area(b))
        });
        largest.unwrap_or_else(|| Polygon::new(Vec::new()))
    }
}

fn check(lattice: Lattice, parts: &[i16]) -> Result<(), NoShape> {
    let n = lattice.0;
    let strides = [1, n[0], n[0] * n[1]];
    // A distance changes by a step from node to node at most; rounding adds a part.
    let most = PARTS as i32 + 2;
    let mut any_inside = false;
    for (idx, value) in parts.iter().enumerate() {
        let ijk = [idx % n[0], idx / n[0] % n[1], idx / (n[0] * n[1])];
        let is_border = (0..3).any(|axis| ijk[axis] == 0 || ijk[axis] + 1 == n[axis]);
        any_inside |= *value < 0;
        if *value < 0 && is_border {
            return Err(NoShape::Open);
        }
        for axis in 0..3 {
            if ijk[axis] + 1 < n[axis] {
                let next = parts[idx + strides[axis]];
                if (i32::from(next) - i32::from(*value)).abs() > most {
                    return Err(NoShape::Steep);
                }
            }
        }
    }
    if any_inside {
        Ok(())
    } else {
        Err(NoShape::Empty)
    }
}

/// Calls `visit` with `parts`² equal parts of a triangle.
fn split(t: [DVec3; 3], parts: u32, visit: &mut impl FnMut([DVec3; 3])) {
    let n = f64::from(parts);
    let (u, v) = ((t[1] - t[0]) / n, (t[2] - t[0]) / n);
    for i in 0..parts {
        for j in 0..parts - i {
            let corner = t[0] + u * f64::from(i) + v * f64::from(j);
            visit([corner, corner + u, corner + v]);
            if i + j + 1 < parts {
                visit([corner + u, corner + u + v, corner + v]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ball of this radius in the middle of 41³ nodes.
    fn ball(radius: f64) -> DistanceGrid {
        let lattice = Lattice([41; 3]);
        let parts = (0..lattice.len())
            .map(|idx| {
                let d = lattice.place(idx).distance(DVec3::splat(20.0)) - radius;
                (d * PARTS).round() as i16
            })
            .collect();
        DistanceGrid::new([41; 3], parts).expect("a shape")
    }

    #[test]
    fn a_ball_has_its_measures() {
        let ball = ball(15.3);
        let exact = 4.0 / 3.0 * std::f64::consts::PI * 15.3_f64.powi(3);
        let found = ball.measures();
        // Flat triangles between points on the ball lose about 1/(4 r²) each way.
        assert!((found.volume / exact - 1.0).abs() < 0.004, "{found:?}");
        assert!(found.center.distance(DVec3::splat(20.0)) < 0.01);
        let area = 4.0 * std::f64::consts::PI * 15.3_f64.powi(2);
        assert!((found.area / area - 1.0).abs() < 0.005, "{found:?}");
        let plan = ball.plan();
        let disc = std::f64::consts::PI * 15.3_f64.powi(2);
        assert!((plan.signed_area().abs() / disc - 1.0).abs() < 0.005);
    }

    #[test]
    fn distances_are_right_and_never_too_large_beyond_the_grid() {
        let ball = ball(15.3);
        for k in 0..200 {
            let t = f64::from(k);
            let way = DVec3::new((t * 0.7).sin(), (t * 1.3).cos(), (t * 2.1).sin()).normalize();
            let at = |far: f64| DVec3::splat(20.0) + way * far;
            let near = ball.distance(at(17.0)) - 1.7;
            // A quarter of the curvature times a square step, and a part.
            assert!(near.abs() < 0.03, "{near} at {way}");
            let exact = 60.0 - 15.3;
            let far = ball.distance(at(60.0));
            // The bound loses most where a corner of the grid is nearest.
            assert!(far < exact + 0.03 && far > 0.65 * exact, "{far} at {way}");
        }
    }

    #[test]
    fn facets_add_up_at_any_spacing() {
        let ball = ball(15.3);
        for spacing in [0.4, 1.0, 3.0, 8.0] {
            let facets = ball.facets(spacing);
            let area: f64 = facets.iter().map(|f| f.area).sum();
            assert!((area / ball.measures().area - 1.0).abs() < 1e-9);
            for facet in facets {
                assert!(ball.distance(facet.at).abs() < 0.01, "{facet:?}");
                let out = (facet.at - 20.0).normalize().dot(facet.normal);
                assert!(out > 0.8, "{facet:?} looks inwards");
            }
        }
    }

    #[test]
    fn what_is_no_distance_is_refused() {
        let n = [5; 3];
        let refused = |parts: Vec<i16>| DistanceGrid::new(n, parts).err();
        assert_eq!(refused(vec![1; 124]), Some(NoShape::Count));
        assert_eq!(refused(vec![1; 125]), Some(NoShape::Empty));
        assert_eq!(refused(vec![-1; 125]), Some(NoShape::Open));
        let mut steep = vec![64; 125];
        steep[62] = -10_000;
        assert_eq!(refused(steep.clone()), Some(NoShape::Steep));
        steep[62] = -60;
        assert_eq!(refused(steep), None, "a small lump");
    }
}

//! The solid of a rock: what all its outlines agree on. One representation
//! serves flow cells, shadow rays, surface points, volume and the drawn mesh.

use std::sync::Arc;

use glam::{DMat3, DVec3};

use super::distance_grid::DistanceGrid;
use super::drawn::Drawn;
use super::polygon::Polygon;

/// An axis-aligned box, in m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lowest corner.
    pub min_m: DVec3,
    /// Highest corner.
    pub max_m: DVec3,
}

impl Bounds {
    /// Distance from `p` to the box, zero inside.
    pub fn distance(&self, p: DVec3) -> f64 {
        (self.min_m - p)
            .max(p - self.max_m)
            .max(DVec3::ZERO)
            .length()
    }

    /// The part of a ray inside the box as `(t_in, t_out)`; `None` if it misses.
    pub fn span(&self, ray: &Ray) -> Option<(f64, f64)> {
        let inverse = ray.direction.recip();
        let (a, b) = (
            (self.min_m - ray.origin_m) * inverse,
            (self.max_m - ray.origin_m) * inverse,
        );
        // A ray along a face gives 0·inf = NaN; min and max then keep the other operand.
        let (lo, hi) = (a.min(b), a.max(b));
        let t_in = lo.x.max(lo.y).max(lo.z);
        let t_out = hi.x.min(hi.y).min(hi.z);
        (t_in <= t_out && t_out >= 0.0).then_some((t_in, t_out))
    }
}

/// A half line: `origin + t·direction`, `direction` of length one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ray {
    /// Start, in m.
    pub origin_m: DVec3,
    /// Unit direction.
    pub direction: DVec3,
}

/// Where a ray first meets rock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Distance along the ray, in m.
    pub distance_m: f64,
    /// Index of the rock in its [`Rockwork`].
    pub rock_idx: usize,
}

/// One outline swept along the axis its view looks along.
#[derive(Clone, Debug, PartialEq)]
pub struct Prism {
    /// Outer curve.
    pub outline: Polygon,
    /// Curves cut out of it.
    pub openings: Vec<Polygon>,
}

/// The solid of one rock, turned and set into the tank: the intersection of
/// its outlines' prisms, with edges between them rounded, or a scanned shape.
///
/// Outside a drawn rock without rounding, `signed_distance` is exact or too small, never
/// too large: the distance to an intersection is at least the largest of the
/// distances to its parts.
#[derive(Clone, Debug, PartialEq)]
pub struct RockSolid {
    pub(super) form: Form,
    pub(super) tank_from_rock: DMat3,
    at_m: DVec3,
    /// The box around it in its own frame.
    bounds_in_rock: Bounds,
    bounds: Bounds,
}

/// What gives a rock its form, in its own frame.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Form {
    /// Outlines.
    Drawn(Box<Drawn>),
    /// Distances of a scanned shape.
    Scanned(Scanned),
}

/// A scanned shape at its size, in the rock's own frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Scanned {
    /// Its distances, shared between all rocks of this shape.
    pub grid: Arc<DistanceGrid>,
    /// How far apart the nodes are, in m.
    pub step_m: f64,
    /// Where the first node lies, in m.
    pub low_m: DVec3,
}

impl Scanned {
    fn in_steps(&self, p: DVec3) -> DVec3 {
        (p - self.low_m) / self.step_m
    }

    /// A place of the grid in the rock's own frame, in m.
    pub(super) fn in_rock(&self, node: DVec3) -> DVec3 {
        self.low_m + node * self.step_m
    }

    fn distance(&self, p: DVec3) -> f64 {
        self.grid.distance(self.in_steps(p)) * self.step_m
    }

    fn bounds(&self) -> Bounds {
        let (min, max) = self.grid.bounds();
        Bounds {
            min_m: self.in_rock(min),
            max_m: self.in_rock(max),
        }
    }

    fn first_hit(&self, ray: &Ray, from: f64, until: f64) -> Option<f64> {
        march(
            |t| self.distance(ray.origin_m + ray.direction * t),
            from,
            until,
        )
    }
}

/// What a drawn [`RockSolid`] is made from; curves in m in the rock's own frame.
#[derive(Clone, Debug, PartialEq)]
pub struct RockShape {
    /// Outline in (x, y), seen from above.
    pub plan: Prism,
    /// Outline in (x, z), seen through the front glass.
    pub front: Prism,
    /// Outline in (y, z), seen from the right end, where one was drawn.
    pub end: Option<Prism>,
    /// Radius of the edges, in m.
    pub rounding_m: f64,
    /// Lean about the rock's own y axis, positive lowers its +x end, in rad.
    pub tilt_rad: f64,
    /// Turn about the vertical, counter-clockwise from above, in rad.
    pub turn_rad: f64,
    /// Where the rock's own origin stands in the tank, in m.
    pub at_m: DVec3,
}

impl RockSolid {
    /// The solid of `shape`.
    pub fn new(shape: RockShape) -> Self {
        let outlines = (shape.plan, shape.front, shape.end);
        let drawn = Drawn::new(outlines, shape.rounding_m);
        let bounds = drawn.bounds();
        let turns = (shape.turn_rad, shape.tilt_rad);
        Self::placed((Form::Drawn(Box::new(drawn)), bounds), turns, shape.at_m)
    }

    /// The solid of a scanned shape, turned about the vertical and tilted as a
    /// drawn one is (see [`RockShape`]), with its origin at `at_m`.
    pub fn scanned(shape: Scanned, turn_and_tilt_rad: (f64, f64), at_m: DVec3) -> Self {
        let bounds = shape.bounds();
        Self::placed((Form::Scanned(shape), bounds), turn_and_tilt_rad, at_m)
    }

    fn placed(
        (form, bounds_in_rock): (Form, Bounds),
        (turn_rad, tilt_rad): (f64, f64),
        at_m: DVec3,
    ) -> Self {
        let tank_from_rock = DMat3::from_rotation_z(turn_rad) * DMat3::from_rotation_y(tilt_rad);
        let (lo, hi) = (bounds_in_rock.min_m, bounds_in_rock.max_m);
        let corner = |i: usize| {
            let pick = |bit: usize, axis: usize| {
                if i >> bit & 1 == 0 {
                    lo[axis]
                } else {
                    hi[axis]
                }
            };
            tank_from_rock * DVec3::new(pick(0, 0), pick(1, 1), pick(2, 2)) + at_m
        };
        let first = corner(0);
        let bounds = (1..8).map(corner).fold(
            Bounds {
                min_m: first,
                max_m: first,
            },
            |b, p| Bounds {
                min_m: b.min_m.min(p),
                max_m: b.max_m.max(p),
            },
        );
        Self {
            form,
            tank_from_rock,
            at_m,
            bounds_in_rock,
            bounds,
        }
    }

    /// The box around the solid in the tank.
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// The box around the solid in its own frame.
    pub fn bounds_in_rock(&self) -> Bounds {
        self.bounds_in_rock
    }

    /// Distance from `p_m` (tank frame) to the surface, in m, negative inside.
    pub fn signed_distance(&self, p_m: DVec3) -> f64 {
        self.distance_in_rock(self.rock_from_tank(p_m))
    }

    /// The same from a point of the rock's own frame.
    pub fn distance_in_rock(&self, p_m: DVec3) -> f64 {
        match &self.form {
            Form::Drawn(drawn) => drawn.distance_and_slope(p_m).0,
            Form::Scanned(scanned) => scanned.distance(p_m),
        }
    }

    /// Whether `p_m` lies in the rock.
    pub fn contains(&self, p_m: DVec3) -> bool {
        self.bounds.distance(p_m) <= 0.0 && self.signed_distance(p_m) < 0.0
    }

    /// Unit normal at or near the surface, outwards, by central differences.
    pub fn normal(&self, p_m: DVec3) -> DVec3 {
        if let Form::Scanned(scanned) = &self.form {
            let slope = scanned
                .grid
                .slope(scanned.in_steps(self.rock_from_tank(p_m)));
            return (self.tank_from_rock * slope).normalize_or(DVec3::Z);
        }
        const STEP_M: f64 = 2e-4;
        let slope = |axis: DVec3| {
            self.signed_distance(p_m + axis * STEP_M) - self.signed_distance(p_m - axis * STEP_M)
        };
        DVec3::new(slope(DVec3::X), slope(DVec3::Y), slope(DVec3::Z)).normalize_or(DVec3::Z)
    }

    /// First meeting of a ray with the rock within `reach_m`; zero if it
    /// starts inside.
    pub fn first_hit(&self, ray: &Ray, reach_m: f64) -> Option<f64> {
        let (local, from, until) = self.approach(ray, reach_m)?;
        match &self.form {
            Form::Drawn(drawn) => drawn.first_hit(&local, until),
            Form::Scanned(scanned) => scanned.first_hit(&local, from, until),
        }
    }

    /// Whether the rock stands within `reach_m` along a ray. Cheaper than
    /// [`Self::first_hit`] where edges are rounded.
    pub fn blocks(&self, ray: &Ray, reach_m: f64) -> bool {
        let Some((local, from, until)) = self.approach(ray, reach_m) else {
            return false;
        };
        match &self.form {
            Form::Drawn(drawn) => drawn.blocks(&local, until),
            Form::Scanned(scanned) => scanned.first_hit(&local, from, until).is_some(),
        }
    }

    /// The ray in the rock's own frame, and where along it the rock's box
    /// begins and ends; `None` where ray and box do not meet within `reach_m`.
    fn approach(&self, ray: &Ray, reach_m: f64) -> Option<(Ray, f64, f64)> {
        self.bounds.span(ray).filter(|(t_in, _)| *t_in <= reach_m)?;
        let local = Ray {
            origin_m: self.rock_from_tank(ray.origin_m),
            direction: self.tank_from_rock.transpose() * ray.direction,
        };
        let (t_in, t_out) = self.bounds_in_rock.span(&local)?;
        (t_in <= reach_m).then_some((local, t_in.max(0.0), reach_m.min(t_out)))
    }

    /// A point of the tank in the rock's own frame.
    pub fn rock_from_tank(&self, p_m: DVec3) -> DVec3 {
        self.tank_from_rock.transpose() * (p_m - self.at_m)
    }

    /// A point of the rock's own frame in the tank.
    pub fn tank_from_rock(&self, p_m: DVec3) -> DVec3 {
        self.tank_from_rock * p_m + self.at_m
    }
}

/// Where `is_inside` first holds between `outside` and `inside`, to a hair: a
/// step that led too far is taken back.
fn halved(mut outside: f64, mut inside: f64, is_inside: impl Fn(f64) -> bool) -> f64 {
    while inside - outside > 1e-7 {
        let middle = 0.5 * (outside + inside);
        if is_inside(middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    inside
}

/// First place between `from` and `to` along a ray where a distance falls below
/// zero; `distance_at` is never much too large.
pub(super) fn march(distance_at: impl Fn(f64) -> f64, from: f64, to: f64) -> Option<f64> {
    // A grazing ray comes closer by a few percent a step only.
    const STEPS_MAX: usize = 400;
    const NEAR_M: f64 = 1e-5;
    // Near a hollow corner the round edge can seem farther than it is.
    const STEP_SHARE: f64 = 0.8;
    let (mut before, mut t) = (from, from);
    for _ in 0..STEPS_MAX {
        let distance = distance_at(t);
        if distance < -NEAR_M && t > from {
            return Some(halved(before, t, |t| distance_at(t) < 0.0));
        }
        if distance < NEAR_M {
            return Some(t);
        }
        before = t;
        t += distance * STEP_SHARE;
        if t > to {
            return None;
        }
    }
    Some(t)
}

/// All rocks of a layout.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rockwork {
    /// The solids, in the layout's order; shared, so that a copy is cheap.
    pub rocks: Vec<Arc<RockSolid>>,
}

impl Rockwork {
    /// Distance to the nearest rock, in m, negative inside, and that rock's
    /// index; `None` without rocks.
    pub fn nearest(&self, p_m: DVec3) -> Option<(f64, usize)> {
        let mut best: Option<(f64, usize)> = None;
        for (rock_idx, rock) in self.rocks.iter().enumerate() {
            let to_box = rock.bounds.distance(p_m);
            if best.is_some_and(|(d, _)| to_box > d.max(0.0)) {
                continue;
            }
            // Off its edges a drawn rock seems nearer than it is, but never
            // nearer than its box: so the order of rocks is nothing.
            let distance = rock.signed_distance(p_m);
            let distance = if to_box > 0.0 {
                distance.max(to_box)
            } else {
                distance
            };
            if best.is_none_or(|(d, _)| distance < d) {
                best = Some((distance, rock_idx));
            }
        }
        best
    }

    /// Whether `p_m` lies in any rock.
    pub fn contains(&self, p_m: DVec3) -> bool {
        self.rocks.iter().any(|rock| rock.contains(p_m))
    }

    /// First rock a ray meets within `reach_m`.
    pub fn first_hit(&self, ray: &Ray, reach_m: f64) -> Option<Hit> {
        let mut best: Option<Hit> = None;
        for (rock_idx, rock) in self.rocks.iter().enumerate() {
            let reach = best.map_or(reach_m, |hit| hit.distance_m);
            if let Some(distance_m) = rock.first_hit(ray, reach) {
                best = Some(Hit {
                    distance_m,
                    rock_idx,
                });
            }
        }
        best
    }

    /// Whether any rock stands within `reach_m` along a ray.
    pub fn blocks(&self, ray: &Ray, reach_m: f64) -> bool {
        self.rocks.iter().any(|rock| rock.blocks(ray, reach_m))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec2;

    fn rect(a: (f64, f64), b: (f64, f64)) -> Polygon {
        Polygon::new(
            [(a.0, a.1), (b.0, a.1), (b.0, b.1), (a.0, b.1)]
                .map(DVec2::from)
                .to_vec(),
        )
    }

    fn arch() -> RockSolid {
        RockSolid::new(RockShape {
            plan: Prism {
                outline: rect((-0.12, -0.08), (0.12, 0.08)),
                openings: vec![],
            },
            front: Prism {
                outline: rect((-0.12, 0.0), (0.12, 0.2)),
                openings: vec![rect((-0.04, 0.0), (0.04, 0.09))],
            },
            end: None,
            rounding_m: 0.0,
            tilt_rad: 0.0,
            turn_rad: 0.0,
            at_m: DVec3::new(0.3, 0.28, 0.0),
        })
    }

    fn ray(from: (f64, f64, f64), towards: (f64, f64, f64)) -> Ray {
        Ray {
            origin_m: DVec3::from(from),
            direction: DVec3::from(towards).normalize(),
        }
    }

    #[test]
    fn a_ray_through_the_opening_meets_nothing() {
        assert_eq!(
            arch().first_hit(&ray((0.3, 0.0, 0.05), (0.0, 1.0, 0.0)), 1.0),
            None,
            "through the arch"
        );
        let over = arch().first_hit(&ray((0.3, 0.0, 0.15), (0.0, 1.0, 0.0)), 1.0);
        assert!(
            over.is_some_and(|t| (t - 0.2).abs() < 1e-12),
            "meets the front face at y = 0.20: {over:?}"
        );
    }

    #[test]
    fn rounding_takes_the_edges_and_leaves_the_faces() {
        let block = |rounding_m| {
            RockSolid::new(RockShape {
                plan: Prism {
                    outline: rect((-0.1, -0.1), (0.1, 0.1)),
                    openings: vec![],
                },
                front: Prism {
                    outline: rect((-0.1, 0.0), (0.1, 0.2)),
                    openings: vec![],
                },
                end: None,
                rounding_m,
                tilt_rad: 0.0,
                turn_rad: 0.0,
                at_m: DVec3::ZERO,
            })
        };
        let round = block(0.02);
        for face in [
            DVec3::new(0.1, 0.0, 0.1),
            DVec3::new(0.0, 0.1, 0.1),
            DVec3::new(0.0, 0.0, 0.2),
        ] {
            let d = round.signed_distance(face);
            assert!(d.abs() < 1e-12, "face at {face} moved by {d}");
        }
        // The edge between top and back keeps a quarter circle: its old line
        // is now (sqrt 2 - 1) r away.
        let d = round.signed_distance(DVec3::new(0.0, 0.1, 0.2));
        assert!(
            (d - 0.02 * (2.0_f64.sqrt() - 1.0)).abs() < 1e-12,
            "edge distance was {d}"
        );
        assert!(
            block(0.0).signed_distance(DVec3::new(0.0, 0.1, 0.2)).abs() < 1e-12,
            "sharp edge stays"
        );
    }

    #[test]
    fn a_positive_tilt_lowers_the_far_end() {
        let mut shape = RockShape {
            plan: Prism {
                outline: rect((-0.1, -0.02), (0.1, 0.02)),
                openings: vec![],
            },
            front: Prism {
                outline: rect((-0.1, 0.0), (0.1, 0.02)),
                openings: vec![],
            },
            end: None,
            rounding_m: 0.0,
            tilt_rad: 0.3,
            turn_rad: 0.0,
            at_m: DVec3::ZERO,
        };
        let tip = RockSolid::new(shape.clone()).tank_from_rock(DVec3::new(0.1, 0.0, 0.0));
        assert!(tip.z < -0.02, "+x end went to {tip}");
        shape.tilt_rad = 0.0;
        shape.turn_rad = std::f64::consts::FRAC_PI_2;
        let tip = RockSolid::new(shape).tank_from_rock(DVec3::new(0.1, 0.0, 0.0));
        assert!(
            (tip.y - 0.1).abs() < 1e-12,
            "a quarter turn takes +x to +y: {tip}"
        );
    }
}

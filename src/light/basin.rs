//! The tank as light sees it: mirrors on four sides, a surface above, sand
//! below, rock and coral in between.

use std::sync::Arc;

use glam::DVec3;

use super::optics;
use crate::geometry::{Ray, Rockwork};
use crate::scene::solids::CoralBody;
use crate::scene::{Side, Tank};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Distance by which a ray's start is kept off the surface that it leaves, in m.
pub(super) const LIFT_M: f64 = 1e-4;

/// The glass box and its water.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Basin {
    /// Inner length and width, in m.
    pub(super) size_m: [f64; 2],
    /// Height of the water surface, in m.
    pub(super) surface_m: f64,
    /// Height of the sand's top, in m.
    pub(super) floor_m: f64,
    /// Share of a flawless mirror's light that clear sides throw back.
    pub(super) returned_share: f64,
    /// For x and y: whether the low and the high side are clear.
    pub(super) clear: [[bool; 2]; 2],
    /// Refractive index of the water.
    pub(super) n: f64,
    /// Absorption, in 1/m.
    pub(super) absorption_per_m: f64,
    /// Share of light that the sand throws back.
    pub(super) sand_reflectance: f64,
}

impl Basin {
    pub(super) fn new(tank: &Tank) -> Self {
        let clear = |side: Side| side == Side::Clear;
        let sides = &tank.sides;
        Self {
            size_m: [tank.length_cm * M_PER_CM, tank.width_cm * M_PER_CM],
            surface_m: tank.water_cm * M_PER_CM,
            floor_m: (tank.sand.depth_cm * M_PER_CM).min(tank.water_cm * M_PER_CM),
            clear: [
                [clear(sides.left), clear(sides.right)],
                [clear(sides.front), clear(sides.back)],
            ],
            n: tank.water.refractive_index,
            absorption_per_m: tank.water.real_absorption_per_m(),
            returned_share: tank.panes.real_share(),
            sand_reflectance: tank.sand.reflectance,
        }
    }

    /// What a pane of side `high` across `axis` throws back.
    pub(super) fn pane(&self, axis: usize, high: bool, cosine: f64) -> f64 {
        if self.clear[axis][usize::from(high)] {
            self.returned_share * optics::clear_pane(cosine, self.n)
        } else {
            optics::black_pane(cosine, self.n)
        }
    }

    /// Whether `p_m` lies in the tank's water space (rock included).
    pub(super) fn holds(&self, p_m: DVec3) -> bool {
        (0..2).all(|axis| p_m[axis] >= 0.0 && p_m[axis] <= self.size_m[axis])
            && p_m.z <= self.surface_m
            && p_m.z >= self.floor_m
    }

    /// Distance along a ray inside the tank to the nearest side, and that
    /// side's axis; infinite for a vertical ray.
    fn side_ahead(&self, ray: &Ray) -> (f64, usize) {
        let mut nearest = (f64::INFINITY, 0);
        for axis in 0..2 {
            let step = ray.direction[axis];
            let target = if step > 0.0 { self.size_m[axis] } else { 0.0 };
            let distance = (target - ray.origin_m[axis]) / step;
            if step.abs() > 1e-12 && distance < nearest.0 {
                nearest = (distance.max(0.0), axis);
            }
        }
        nearest
    }
}

/// What stands in the light's way.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Obstacles {
    pub(super) rockwork: Rockwork,
    pub(super) corals: Arc<[CoralBody]>,
}

impl Obstacles {
    /// Rock and corals of a study.
    pub(super) fn of(study: &Study) -> Self {
        Self {
            rockwork: study.rockwork().clone(),
            corals: Arc::clone(study.standing_corals()),
        }
    }

    /// Whether any of it stands out of the water.
    pub(super) fn stand_above(&self, surface_m: f64) -> bool {
        self.rockwork
            .rocks
            .iter()
            .map(|rock| rock.bounds().max_m.z)
            .chain(self.corals.iter().map(|coral| coral.bounds().max_m.z))
            .any(|top| top > surface_m)
    }

    /// Share of light left on a straight way.
    pub(super) fn open_share(&self, ray: &Ray, reach_m: f64) -> f64 {
        let mut share = 1.0;
        for coral in self.corals.iter() {
            if coral.first_hit(ray, reach_m).is_some() {
                share *= 1.0 - coral.opacity;
            }
        }
        if share > 0.0 && self.rockwork.blocks(ray, reach_m) {
            return 0.0;
        }
        share
    }

    /// First thing met within `reach_m`; a coral lets a ray through unless
    /// `draw` (0 to 1) is below its opacity.
    fn first_hit(&self, ray: &Ray, reach_m: f64, draw: f64) -> Option<(f64, Owner)> {
        let hit = self.rockwork.first_hit(ray, reach_m);
        let mut best = hit.map(|hit| (hit.distance_m, Owner::Rock(hit.rock_idx)));
        for (coral_idx, coral) in self.corals.iter().enumerate() {
            if draw >= coral.opacity {
                continue;
            }
            let reach = best.map_or(reach_m, |(distance, _)| distance);
            if let Some(distance) = coral.first_hit(ray, reach) {
                best = Some((distance, Owner::Coral(coral_idx)));
            }
        }
        best
    }
}

/// What a diffuse patch belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Owner {
    Rock(usize),
    Sand,
    Coral(usize),
}

/// Where a ray under water ends on something that scatters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Met {
    pub(super) owner: Owner,
    pub(super) at_m: DVec3,
    /// The ray's direction on arrival.
    pub(super) direction: DVec3,
    /// Share of the light from there that arrives at the ray's start.
    pub(super) share: f64,
}

/// Share of direct light left on the way from `at_m` towards `to_light` (unit,
/// upwards) to the surface, folded at the panes; their reflectance not counted.
pub(super) fn open_to_surface(
    basin: &Basin,
    obstacles: &Obstacles,
    at_m: DVec3,
    to_light: DVec3,
) -> f64 {
    const FOLDS_MAX: usize = 32;
    let mut ray = Ray {
        origin_m: at_m,
        direction: to_light,
    };
    let mut share = 1.0;
    for _ in 0..FOLDS_MAX {
        let rise = (basin.surface_m - ray.origin_m.z) / ray.direction.z;
        let (side, axis) = basin.side_ahead(&ray);
        share *= obstacles.open_share(&ray, rise.min(side));
        if share <= 0.0 || rise <= side {
            return share;
        }
        reflect(&mut ray, side, axis);
    }
    share
}

/// Follows a ray backwards through mirrors to the first thing that scatters;
/// `None` if it leaves the tank or fades below one in a thousand.
pub(super) fn trace(basin: &Basin, obstacles: &Obstacles, mut ray: Ray, draw: f64) -> Option<Met> {
    const MIRRORS_MAX: usize = 48;
    const FAINT: f64 = 1e-3;
    let (mut share, mut length_m) = (1.0, 0.0);
    for _ in 0..MIRRORS_MAX {
        let (side, side_axis) = basin.side_ahead(&ray);
        let level = if ray.direction.z > 0.0 {
            basin.surface_m
        } else {
            basin.floor_m
        };
        let upright = (level - ray.origin_m.z) / ray.direction.z;
        let upright = if upright.is_nan() {
            f64::INFINITY
        } else {
            upright.max(0.0)
        };
        let reach = side.min(upright);
        let met = |owner: Owner, distance: f64, share: f64| Met {
            owner,
            at_m: ray.origin_m + ray.direction * distance,
            direction: ray.direction,
            share: share * (-basin.absorption_per_m * (length_m + distance)).exp(),
        };
        if let Some((distance, owner)) = obstacles.first_hit(&ray, reach, draw) {
            return Some(met(owner, distance, share));
        }
        if upright <= side {
            if ray.direction.z < 0.0 {
                return Some(met(Owner::Sand, upright, share));
            }
            share *= optics::surface_from_below(ray.direction.z, basin.n);
            reflect(&mut ray, upright, 2);
        } else {
            let step = ray.direction[side_axis];
            share *= basin.pane(side_axis, step > 0.0, step.abs());
            reflect(&mut ray, side, side_axis);
        }
        length_m += reach;
        if share < FAINT {
            return None;
        }
    }
    None
}

fn reflect(ray: &mut Ray, distance: f64, axis: usize) {
    ray.origin_m += ray.direction * distance;
    ray.direction[axis] = -ray.direction[axis];
}

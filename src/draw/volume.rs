//! A rock's signed distance on a small grid in its own frame: sampled once
//! when an outline changes, it serves silhouettes, cuts and the drawn mesh in
//! every view, however the rock is turned or moved.

use std::sync::Arc;

use glam::{DMat3, DVec3, Vec3};

use crate::geometry::RockSolid;
use crate::scene::{Outline, Rock, Scan};
use crate::units::M_PER_CM;

/// How finely a rock is sampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Detail {
    /// While a hand reshapes it.
    Coarse,
    /// When the hand rests.
    Fine,
}

impl Detail {
    fn n_nodes(self) -> f64 {
        match self {
            Self::Coarse => 5_000.0,
            Self::Fine => 26_000.0,
        }
    }
}

/// What decides a rock's shape in its own frame.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ShapeKey {
    plan: Outline,
    front: Outline,
    end: Option<Outline>,
    scan: Option<Scan>,
    rounding_cm: f64,
}

impl ShapeKey {
    /// Of this rock.
    pub(crate) fn of(rock: &Rock) -> Self {
        Self {
            plan: rock.plan.clone(),
            front: rock.front.clone(),
            end: rock.end.clone(),
            scan: rock.scan.clone(),
            rounding_cm: rock.rounding_cm,
        }
    }

    /// Whether it is this rock's, without copying anything.
    pub(crate) fn is_of(&self, rock: &Rock) -> bool {
        self.rounding_cm == rock.rounding_cm
            && self.plan == rock.plan
            && self.front == rock.front
            && self.end == rock.end
            && self.scan == rock.scan
    }
}

/// Signed distance in cm at the nodes of a grid in the rock's own frame.
#[derive(Clone, Debug)]
pub struct Volume {
    /// Place of the first node, in cm.
    pub origin_cm: Vec3,
    /// Between nodes, in cm.
    pub step_cm: f32,
    /// Nodes along x, y and z.
    pub n: [usize; 3],
    /// Distance in cm, negative inside; x runs fastest.
    pub distance_cm: Vec<f32>,
    /// How finely it was sampled.
    pub detail: Detail,
}

impl Volume {
    /// Samples a rock.
    pub fn new(solid: &Arc<RockSolid>, detail: Detail) -> Self {
        let mut sampling = Sampling::start(solid, detail);
        while !sampling.advance() {}
        sampling.volume
    }

    /// Far corner of the grid, in cm.
    pub(crate) fn end_cm(&self) -> Vec3 {
        let last = Vec3::new(
            (self.n[0] - 1) as f32,
            (self.n[1] - 1) as f32,
            (self.n[2] - 1) as f32,
        );
        self.origin_cm + last * self.step_cm
    }

    /// Distance at a point of the rock's own frame, in cm: interpolated within
    /// the grid, never too large outside it.
    pub fn distance(&self, at_cm: Vec3) -> f32 {
        let place = (at_cm - self.origin_cm) / self.step_cm;
        let last = Vec3::new(
            (self.n[0] - 1) as f32,
            (self.n[1] - 1) as f32,
            (self.n[2] - 1) as f32,
        );
        let inside = place.clamp(Vec3::ZERO, last);
        let outside = (place - inside).length() * self.step_cm;
        let low = inside.floor().min(last - 1.0);
        let share = inside - low;
        let [nx, ny, _] = self.n;
        let first = (low.z as usize * ny + low.y as usize) * nx + low.x as usize;
        let d = &self.distance_cm;
        let along_x = |idx: usize| d[idx] + (d[idx + 1] - d[idx]) * share.x;
        let along_y = |idx: usize| {
            let (a, b) = (along_x(idx), along_x(idx + nx));
            a + (b - a) * share.y
        };
        let (a, b) = (along_y(first), along_y(first + nx * ny));
        a + (b - a) * share.z + outside
    }

    /// Unit direction in which the distance grows, in the rock's own frame.
    pub(crate) fn slope(&self, at_cm: Vec3) -> Vec3 {
        let h = self.step_cm * 0.7;
        let along = |axis: Vec3| self.distance(at_cm + axis * h) - self.distance(at_cm - axis * h);
        Vec3::new(along(Vec3::X), along(Vec3::Y), along(Vec3::Z)).normalize_or(Vec3::Z)
    }
}

/// A volume that is being sampled layer by layer, so that no frame has to wait
/// for all of it.
#[derive(Clone, Debug)]
pub(crate) struct Sampling {
    solid: Arc<RockSolid>,
    volume: Volume,
}

impl Sampling {
    /// Prepares the grid.
    pub(crate) fn start(solid: &Arc<RockSolid>, detail: Detail) -> Self {
        let bounds = solid.bounds_in_rock();
        let size_cm = ((bounds.max_m - bounds.min_m) / M_PER_CM).max(DVec3::splat(0.5));
        let volume = size_cm.x * size_cm.y * size_cm.z;
        let step_cm = (volume / detail.n_nodes()).cbrt().clamp(0.25, 4.0);
        let n = (size_cm / step_cm + 4.0).ceil();
        let n = [n.x as usize, n.y as usize, n.z as usize];
        Self {
            solid: Arc::clone(solid),
            volume: Volume {
                origin_cm: (bounds.min_m / M_PER_CM - 1.5 * step_cm).as_vec3(),
                step_cm: step_cm as f32,
                n,
                distance_cm: Vec::with_capacity(n[0] * n[1] * n[2]),
                detail,
            },
        }
    }

    /// Samples one more layer; whether all are done.
    pub(crate) fn advance(&mut self) -> bool {
        let Volume {
            origin_cm,
            step_cm,
            n,
            ref mut distance_cm,
            ..
        } = self.volume;
        let k = distance_cm.len() / (n[0] * n[1]);
        if k < n[2] {
            for j in 0..n[1] {
                for i in 0..n[0] {
                    let node = Vec3::new(i as f32, j as f32, k as f32);
                    let at_m = (origin_cm + node * step_cm).as_dvec3() * M_PER_CM;
                    distance_cm.push((self.solid.distance_in_rock(at_m) / M_PER_CM) as f32);
                }
            }
        }
        k + 1 >= n[2]
    }

    /// The finished volume.
    pub(crate) fn into_volume(self) -> Volume {
        self.volume
    }
}

/// Rotation from a rock's own frame to the tank.
pub fn tank_from_rock(rock: &Rock) -> DMat3 {
    DMat3::from_rotation_z(rock.turn_deg.to_radians())
        * DMat3::from_rotation_y(rock.tilt_deg.to_radians())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shapes::Shape;
    use crate::scene::solids::rock_solid;

    #[test]
    fn the_grid_follows_the_solid() {
        let rock = Shape::Arch.rock(1, DVec3::ZERO);
        let solid = Arc::new(rock_solid(&rock));
        let volume = Volume::new(&solid, Detail::Fine);
        let mut worst = 0.0_f64;
        for k in 0..400 {
            let wave = |step: f64| (k as f64 * step).sin();
            let at_cm = DVec3::new(15.0 * wave(1.3), 6.0 * wave(2.1), 9.0 + 9.0 * wave(0.7));
            let exact = solid.signed_distance(at_cm / 100.0) * 100.0;
            let drawn = f64::from(volume.distance(at_cm.as_vec3()));
            worst = worst.max((exact - drawn).abs());
        }
        // Distance changes by at most the way gone (its slope is one), and no
        // point is farther from the corners of its cell, in the mean that
        // interpolation takes, than half the cell's diagonal.
        assert!(
            worst < 0.5 * 3.0_f64.sqrt() * f64::from(volume.step_cm),
            "off by {worst} cm at a step of {} cm",
            volume.step_cm
        );
    }
}

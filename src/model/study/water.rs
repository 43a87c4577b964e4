//! The box of water, and what fills a place.

use glam::DVec3;

use crate::scene::Tank;
use crate::units::M_PER_CM;

/// What fills a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Medium {
    /// Water.
    Water,
    /// Rock.
    Rock,
    /// Sand.
    Sand,
    /// Above the water or beyond the glass.
    Outside,
}

/// The box that the water fills, sand and rock included; lengths in m from the
/// inner bottom front left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaterBox {
    /// Inner length and width, and the height of the water.
    pub size_m: DVec3,
    /// Height of the sand's top.
    pub sand_m: f64,
}

impl WaterBox {
    /// The water of a tank.
    pub fn of(tank: &Tank) -> Self {
        Self {
            size_m: DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm) * M_PER_CM,
            sand_m: tank.sand.depth_cm * M_PER_CM,
        }
    }

    /// Whether a place lies in it; panes and surface belong to it.
    pub fn holds(&self, at_m: DVec3) -> bool {
        at_m.cmpge(DVec3::ZERO).all() && at_m.cmple(self.size_m).all()
    }
}

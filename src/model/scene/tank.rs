//! The glass box: its size, sand, sides, water, returns and overflow.

use glam::DVec3;
use serde::{Deserialize, Serialize};

/// Inner measures of the tank and what belongs to it in every layout.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tank {
    /// Inner length, along the front glass, in cm.
    pub length_cm: f64,
    /// Inner width, front to back, in cm.
    pub width_cm: f64,
    /// Inner height, in cm.
    pub height_cm: f64,
    /// Height of the water surface above the inner bottom, in cm.
    pub water_cm: f64,
    /// The bed.
    #[serde(default)]
    pub sand: Sand,
    /// What each side does to light.
    #[serde(default)]
    pub sides: Sides,
    /// How the water takes and bends light.
    #[serde(default)]
    pub water: Water,
    /// Nozzles that bring water back from a sump.
    #[serde(default)]
    pub returns: Vec<Return>,
    /// Where that water leaves the tank.
    #[serde(default)]
    pub overflow: Option<Overflow>,
}

/// The sand bed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Sand {
    /// Depth, in cm; zero for a bare bottom.
    pub depth_cm: f64,
    /// Grain size, in mm.
    pub grain_mm: f64,
    /// Share of light thrown back.
    pub reflectance: f64,
}

impl Default for Sand {
    fn default() -> Self {
        Self {
            depth_cm: 3.0,
            grain_mm: 1.0,
            reflectance: 0.5,
        }
    }
}

/// What one side of the tank does to light.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Side {
    /// Glass with air behind it: a mirror beyond the critical angle.
    #[default]
    Clear,
    /// Blacked out in contact with the pane: takes all light.
    Black,
}

/// The four sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Sides {
    /// At x = 0.
    pub left: Side,
    /// At x = length.
    pub right: Side,
    /// At y = 0.
    pub front: Side,
    /// At y = width.
    pub back: Side,
}

impl Default for Sides {
    fn default() -> Self {
        Self {
            left: Side::Clear,
            right: Side::Clear,
            front: Side::Clear,
            back: Side::Black,
        }
    }
}

/// Optical properties of the water.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Water {
    /// Absorption of photosynthetic light along its path, in 1/m.
    pub absorption_per_m: f64,
    /// Refractive index.
    pub refractive_index: f64,
}

impl Default for Water {
    fn default() -> Self {
        // Clear, carbon-filtered water; Quan & Fry 1995 at salinity 35, 25 °C.
        Self {
            absorption_per_m: 0.15,
            refractive_index: 1.34,
        }
    }
}

/// A nozzle that brings water into the tank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Return {
    /// Middle of the outlet, in cm.
    pub at_cm: DVec3,
    /// Aim about the vertical, counter-clockwise from +x, in degrees.
    #[serde(default)]
    pub turn_deg: f64,
    /// Aim above the horizontal, in degrees.
    #[serde(default)]
    pub tilt_deg: f64,
    /// Flow, in L/h.
    pub flow_lph: f64,
    /// Diameter of the outlet, in cm.
    pub outlet_cm: f64,
}

/// A weir in the upper edge of one side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Overflow {
    /// Which side it is in.
    pub side: SideName,
    /// Start along that side (x for front and back, y for left and right), in cm.
    pub from_cm: f64,
    /// End along that side, in cm.
    pub to_cm: f64,
    /// Depth below the water surface, in cm.
    pub depth_cm: f64,
}

/// Names a side of the tank, seen from the front.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum SideName {
    /// At x = 0.
    Left,
    /// At x = length.
    Right,
    /// At y = 0.
    Front,
    /// At y = width.
    Back,
}

impl SideName {
    /// Its stable name, for scripts.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Front => "front",
            Self::Back => "back",
        }
    }
}

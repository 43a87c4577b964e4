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
    /// How well clear panes throw light back.
    #[serde(default)]
    pub panes: Panes,
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
    /// Blacked out in contact with the pane: takes what the pane's own face does
    /// not throw back (0.4 % straight on, more at grazing angles).
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

/// What clear panes throw back.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Panes {
    /// Share of the light that a flawless pane would throw back into the water
    /// and that this one does, 0 to 1, a meeting.
    pub returned_share: f64,
    /// The same as readings have it, if they were asked.
    pub measured: Option<Measure>,
}

impl Panes {
    /// The share to reckon with: as readings have it, else as stated.
    pub fn real_share(&self) -> f64 {
        self.measured
            .map_or(self.returned_share, |found| found.value)
    }
}

impl Default for Panes {
    /// Beyond the critical angle a flawless pane returns everything, but light
    /// crosses the glass twice at a slant: through 10 mm about 36 mm of it,
    /// which takes 3 % in low-iron glass and 15 % in plain float (from their
    /// light transmittances, 0.91 and 0.86 at 12 mm; MEMORY), and the film on
    /// the inside takes its part. The default lies between clean low-iron and
    /// clean float glass; readings find the real one.
    fn default() -> Self {
        Self {
            returned_share: 0.92,
            measured: None,
        }
    }
}

/// A value found from readings, beside the one that was stated.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measure {
    /// The value.
    pub value: f64,
    /// Lower end of its 80 % interval.
    pub low: f64,
    /// Upper end of its 80 % interval.
    pub high: f64,
}

/// Optical properties of the water.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Water {
    /// Absorption of photosynthetic light along its path, in 1/m.
    pub absorption_per_m: f64,
    /// Refractive index.
    pub refractive_index: f64,
    /// The absorption as readings have it, in 1/m, if they were asked.
    pub measured: Option<Measure>,
}

impl Water {
    /// The absorption to reckon with, in 1/m: as readings have it, else as
    /// stated.
    pub fn real_absorption_per_m(&self) -> f64 {
        self.measured
            .map_or(self.absorption_per_m, |found| found.value)
    }

    /// Angle to the vertical below the surface of a ray that comes from the air
    /// at such an angle, in rad: the law of Snell.
    pub fn bent_rad(&self, air_rad: f64) -> f64 {
        (air_rad.sin() / self.refractive_index.max(1.0)).asin()
    }
}

impl Tank {
    /// A place on a side of the tank, so far along it and so high, in cm.
    pub fn on_side(&self, side: SideName, along_cm: f64, z_cm: f64) -> DVec3 {
        match side {
            SideName::Left => DVec3::new(0.0, along_cm, z_cm),
            SideName::Right => DVec3::new(self.length_cm, along_cm, z_cm),
            SideName::Front => DVec3::new(along_cm, 0.0, z_cm),
            SideName::Back => DVec3::new(along_cm, self.width_cm, z_cm),
        }
    }

    /// Corners of the overflow, from a little above the water to its lower
    /// edge, in cm.
    pub fn overflow_cm(&self) -> Option<[DVec3; 4]> {
        /// So much of it stands out of the water.
        const ABOVE_CM: f64 = 1.0;
        let weir = self.overflow?;
        let (high, low) = (self.water_cm + ABOVE_CM, self.water_cm - weir.depth_cm);
        let place = |along_cm: f64, z_cm: f64| self.on_side(weir.side, along_cm, z_cm);
        Some([
            place(weir.from_cm, high),
            place(weir.to_cm, high),
            place(weir.to_cm, low),
            place(weir.from_cm, low),
        ])
    }
}

impl Default for Water {
    fn default() -> Self {
        // Clear, carbon-filtered water; Quan & Fry 1995 at salinity 35, 25 °C.
        Self {
            absorption_per_m: 0.15,
            refractive_index: 1.34,
            measured: None,
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

//! Pumps and lamps.

use glam::DVec3;
use serde::{Deserialize, Serialize};

use super::ItemId;

/// A circulation pump.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pump {
    /// Unique within the layout.
    pub id: ItemId,
    /// What the keeper calls it.
    #[serde(default)]
    pub name: String,
    /// How it moves water.
    #[serde(default)]
    pub kind: PumpKind,
    /// Middle of the outlet, in cm.
    pub at_cm: DVec3,
    /// Aim about the vertical, counter-clockwise from +x, in degrees.
    #[serde(default)]
    pub turn_deg: f64,
    /// Aim above the horizontal, in degrees.
    #[serde(default)]
    pub tilt_deg: f64,
    /// Rated flow, in L/h.
    pub flow_lph: f64,
    /// Diameter of the outlet (slot height of a cross-flow pump), in cm.
    pub outlet_cm: f64,
    /// Share of the rated flow that it is set to, 0 to 1.
    #[serde(default = "one")]
    pub throttle: f64,
    /// How that flow changes with time.
    #[serde(default)]
    pub programme: Programme,
    /// Electrical power, in W.
    #[serde(default)]
    pub power_w: Option<f64>,
    /// Whether a guard or sponge keeps animals out of its intake.
    #[serde(default)]
    pub guarded: bool,
    /// Whether the pointer leaves it alone.
    #[serde(default)]
    pub locked: bool,
}

/// How a pump moves water.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum PumpKind {
    /// A propeller in a guard: a wide round jet.
    #[default]
    Propeller,
    /// A long roller behind a slot: a sheet of water.
    CrossFlow {
        /// Length of the slot, in cm.
        length_cm: f64,
    },
    /// A narrow round nozzle.
    Nozzle,
}

/// How a pump's flow changes with time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Programme {
    /// Always on.
    #[default]
    Steady,
    /// On for a share of each period, then off.
    Pulse {
        /// Length of a cycle, in s.
        period_s: f64,
        /// Share of the cycle that it runs, 0 to 1.
        share: f64,
    },
    /// One of a set whose members run in turn, each for an equal part of the period.
    Alternate {
        /// Number of the set.
        set: u32,
        /// Length of a cycle, in s.
        period_s: f64,
        /// Place in the turn, from 0.
        turn: u32,
        /// Members of the set.
        of: u32,
    },
}

/// A lamp above the water.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lamp {
    /// Unique within the layout.
    pub id: ItemId,
    /// What the keeper calls it.
    #[serde(default)]
    pub name: String,
    /// Shape of the glowing face.
    pub body: Body,
    /// Middle of that face, in cm.
    pub at_cm: DVec3,
    /// Turn about the vertical, counter-clockwise from +x, in degrees.
    #[serde(default)]
    pub turn_deg: f64,
    /// Lean of its axis from straight down towards `turn_deg`, in degrees.
    #[serde(default)]
    pub tilt_deg: f64,
    /// How much light it gives.
    pub output: Output,
    /// Where that light goes.
    #[serde(default)]
    pub spread: Spread,
    /// Share of its output that it is set to, 0 to 1.
    #[serde(default = "one")]
    pub dim: f64,
    /// Hours of light.
    #[serde(default)]
    pub day: Day,
    /// Whether the pointer leaves it alone.
    #[serde(default)]
    pub locked: bool,
}

/// Shape of a lamp's glowing face.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Body {
    /// A rectangle, its length along its turned x.
    Panel {
        /// Length, in cm.
        length_cm: f64,
        /// Width, in cm.
        width_cm: f64,
    },
    /// A round face.
    Disc {
        /// Diameter, in cm.
        diameter_cm: f64,
    },
    /// A glowing line along its turned x.
    Tube {
        /// Length, in cm.
        length_cm: f64,
    },
}

/// How much light a lamp gives at full setting.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Output {
    /// Photon flux, 400 to 700 nm.
    Photons {
        /// In µmol/s.
        umol_s: f64,
    },
    /// From the socket.
    Power {
        /// Electrical power, in W.
        power_w: f64,
        /// Photons a joule, in µmol/J.
        efficacy_umol_j: f64,
    },
    /// Whatever makes the light at one place (facing up, this lamp alone) the
    /// value that was measured there.
    Reading {
        /// Where it was measured, in cm.
        at_cm: DVec3,
        /// PPFD there, in µmol/m²/s.
        ppfd_umol: f64,
    },
}

/// Where a lamp's light goes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Spread {
    /// A lobe that falls off as a power of the cosine from the axis.
    Beam {
        /// Full angle between the directions of half intensity, in degrees.
        full_angle_deg: f64,
    },
    /// A measured distribution.
    Measured {
        /// IES LM-63 file, beside the scene.
        file: String,
        /// Sum of that file when the scene was saved (FNV-1a, 64 bits, in
        /// hexadecimal), to notice another file of the same name.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        sum: String,
    },
}

impl Spread {
    /// As this file beside the scene says, whatever it holds.
    pub fn measured(file: String) -> Self {
        let sum = String::new();
        Self::Measured { file, sum }
    }
}

impl Default for Spread {
    fn default() -> Self {
        // A bare flat source: intensity as the cosine.
        Self::Beam {
            full_angle_deg: 120.0,
        }
    }
}

/// Hours of light in a day.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Day {
    /// From first to last light, in h.
    pub hours: f64,
    /// Of these, rising, and as many falling, each linear, in h.
    pub ramp_hours: f64,
}

impl Default for Day {
    fn default() -> Self {
        Self {
            hours: 10.0,
            ramp_hours: 1.0,
        }
    }
}

fn one() -> f64 {
    1.0
}

/// Unit vector of an aim: turned about the vertical, counter-clockwise from +x,
/// and tilted up from level, in degrees.
pub fn aim(turn_deg: f64, tilt_deg: f64) -> DVec3 {
    let (sin_turn, cos_turn) = turn_deg.to_radians().sin_cos();
    let (sin_tilt, cos_tilt) = tilt_deg.to_radians().sin_cos();
    DVec3::new(cos_tilt * cos_turn, cos_tilt * sin_turn, sin_tilt)
}

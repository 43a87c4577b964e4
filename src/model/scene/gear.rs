//! Pumps and lamps.

use glam::DVec3;
use serde::{Deserialize, Serialize};

use super::{ItemId, Measure};

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
    /// Shares of that setting by the hour of the day, in order of their hours;
    /// all day as set if there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub by_hour: Vec<FromHour>,
    /// Electrical power, in W.
    #[serde(default)]
    pub power_w: Option<f64>,
    /// Whether a guard or sponge keeps animals out of its intake.
    #[serde(default)]
    pub guarded: bool,
    /// What readings of it alone say of its jet; stands beside the rated flow,
    /// never over it.
    #[serde(default)]
    pub measured: Option<JetMeasure>,
    /// Whether the pointer leaves it alone.
    #[serde(default)]
    pub locked: bool,
}

/// A pump's jet as readings have it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JetMeasure {
    /// Share of the rated flow that gives its thrust; the thrust goes with its
    /// square.
    pub flow_share: Measure,
    /// How far before (positive) or behind its outlet the jet seems to begin,
    /// in cm; none if readings cannot tell. It sharpens the thrust; the flow
    /// estimate leaves it out, since its own jets begin some outlets behind
    /// already.
    #[serde(default)]
    pub offset_cm: Option<Measure>,
}

impl Pump {
    /// The flow to reckon with, throttle included, in L/h: as readings have
    /// it, else as rated.
    pub fn real_flow_lph(&self) -> f64 {
        let share = self
            .measured
            .map_or(1.0, |measured| measured.flow_share.value);
        self.flow_lph * self.throttle * share
    }

    /// How far along its aim the jet seems to begin, in cm.
    pub fn offset_cm(&self) -> f64 {
        let offset = self.measured.and_then(|measured| measured.offset_cm);
        offset.map_or(0.0, |offset| offset.value)
    }
}

/// A share that holds from an hour of the day until the next one.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FromHour {
    /// Hour of the day, 0 to 24.
    pub hour: f64,
    /// Share of the pump's setting, 0 to 1.
    pub share: f64,
}

impl Pump {
    /// Share of its setting at an hour of the day: that of the last hour that
    /// has passed, round midnight.
    pub fn share_at(&self, hour: f64) -> f64 {
        let passed = self.by_hour.iter().rev().find(|from| from.hour <= hour);
        let at = passed.or(self.by_hour.last());
        at.map_or(1.0, |from| from.share)
    }

    /// Share of the time that its programme lets it run.
    pub fn running_share(&self) -> f64 {
        match self.programme {
            Programme::Steady => 1.0,
            Programme::Pulse { share, .. } => share,
            Programme::Alternate { of, .. } => 1.0 / f64::from(of.max(1)),
        }
    }
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
    /// Share of the stated output that readings have it give, its age
    /// included; stands beside that output, never over it.
    #[serde(default)]
    pub measured: Option<Measure>,
    /// Whether the pointer leaves it alone.
    #[serde(default)]
    pub locked: bool,
}

impl Lamp {
    /// Share of the stated output to reckon with, dimming left out.
    pub fn real_share(&self) -> f64 {
        self.measured.map_or(1.0, |measured| measured.value)
    }

    /// Unit vector in which it shines.
    pub fn axis(&self) -> DVec3 {
        let (sin_tilt, cos_tilt) = self.tilt_deg.to_radians().sin_cos();
        let (sin_turn, cos_turn) = self.turn_deg.to_radians().sin_cos();
        DVec3::new(sin_tilt * cos_turn, sin_tilt * sin_turn, -cos_tilt)
    }

    /// Unit vectors along and across its glowing face.
    pub fn face_axes(&self) -> [DVec3; 2] {
        let (sin, cos) = self.turn_deg.to_radians().sin_cos();
        let across = DVec3::new(-sin, cos, 0.0);
        let along = across.cross(self.axis()).normalize_or(DVec3::X);
        [along, across]
    }

    /// Corners of its glowing face in order, in cm; of a disc points around it.
    pub fn face_cm(&self) -> Vec<DVec3> {
        const DISC_POINTS: u32 = 28;
        let [along, across] = self.face_axes();
        let half = match self.body {
            Body::Disc { diameter_cm } => {
                let at = |k: u32| {
                    let turn = f64::from(k) / f64::from(DISC_POINTS) * std::f64::consts::TAU;
                    let (sin, cos) = turn.sin_cos();
                    self.at_cm + (along * cos + across * sin) * (diameter_cm / 2.0)
                };
                return (0..DISC_POINTS).map(at).collect();
            }
            Body::Panel {
                length_cm,
                width_cm,
            } => [length_cm / 2.0, width_cm / 2.0],
            Body::Tube { length_cm } => [length_cm / 2.0, TUBE_CM / 2.0],
        };
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .map(|(a, b)| self.at_cm + along * (a * half[0]) + across * (b * half[1]))
            .to_vec()
    }
}

/// Diameter of a fluorescent tube, in cm.
///
/// **Source** the thin tubes of reef lamps are 16 mm thick, COMMON PRACTICE.
pub const TUBE_CM: f64 = 1.6;

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
    /// Hour of the day of first light, 0 to 24.
    pub first_hour: f64,
}

impl Day {
    /// Share of its setting at which a lamp shines at an hour of the day; a day
    /// that begins late goes on past midnight. Ramps longer than half the day
    /// meet in the middle.
    pub fn share_at(&self, hour: f64) -> f64 {
        let since = (hour - self.first_hour).rem_euclid(24.0);
        let left = self.hours - since;
        if left <= 0.0 {
            return 0.0;
        }
        if self.ramp_hours <= 0.0 {
            return 1.0;
        }
        (since.min(left) / self.ramp_hours).min(1.0)
    }
}

impl Default for Day {
    fn default() -> Self {
        Self {
            hours: 10.0,
            ramp_hours: 1.0,
            first_hour: 10.0,
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

/// Turn and tilt of a direction, in degrees; undoes [`aim`].
pub fn angles_deg(direction: DVec3) -> (f64, f64) {
    let flat = direction.truncate().length();
    let turn = direction.y.atan2(direction.x).to_degrees();
    let tilt = direction.z.atan2(flat).to_degrees();
    (turn, tilt)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn aim_and_angles_undo_each_other() {
        for (turn, tilt) in [(0.0, 0.0), (135.0, -20.0), (-70.0, 45.0)] {
            let back = angles_deg(aim(turn, tilt));
            assert!(
                (back.0 - turn).abs() < 1e-9 && (back.1 - tilt).abs() < 1e-9,
                "{turn}, {tilt} came back as {back:?}"
            );
        }
    }

    #[test]
    fn a_lamp_s_face_lies_across_its_axis_and_has_its_size() {
        for (turn_deg, tilt_deg) in [(0.0, 0.0), (30.0, 0.0), (0.0, 25.0), (-50.0, 40.0)] {
            let lamp = Lamp {
                turn_deg,
                tilt_deg,
                ..lamp(Body::Tube { length_cm: 90.0 })
            };
            let face = lamp.face_cm();
            let (long, wide) = (face[1] - face[0], face[2] - face[1]);
            assert!((long.length() - 90.0).abs() < 1e-9, "{long}");
            assert!((wide.length() - TUBE_CM).abs() < 1e-9, "{wide}");
            let lean = long.dot(lamp.axis()).abs() + wide.dot(lamp.axis()).abs();
            assert!(lean < 1e-9, "turned {turn_deg}, tilted {tilt_deg}: {lean}");
        }
    }

    fn lamp(body: Body) -> Lamp {
        Lamp {
            id: 1,
            name: String::new(),
            body,
            at_cm: DVec3::new(60.0, 30.0, 60.0),
            turn_deg: 0.0,
            tilt_deg: 0.0,
            output: Output::Photons { umol_s: 100.0 },
            spread: Spread::default(),
            dim: 1.0,
            day: Day::default(),
            measured: None,
            locked: false,
        }
    }

    #[test]
    fn a_day_rises_stands_falls_and_goes_past_midnight() {
        let day = Day {
            hours: 10.0,
            ramp_hours: 2.0,
            first_hour: 20.0,
        };
        let shares = [19.9, 21.0, 23.0, 1.0, 5.0, 6.1].map(|hour| day.share_at(hour));
        assert_eq!(shares, [0.0, 0.5, 1.0, 1.0, 0.5, 0.0], "round midnight");
        // Its mean over the day is the trapezoid's area.
        let n = 24_000;
        let hours: f64 = (0..n)
            .map(|i| day.share_at((f64::from(i) + 0.5) * 24.0 / f64::from(n)))
            .sum::<f64>()
            * 24.0
            / f64::from(n);
        assert!((hours - 8.0).abs() < 1e-3, "{hours} of 8 h");
    }

    #[test]
    fn a_share_holds_until_the_next_hour_round_midnight() {
        let text = "(id: 1, at_cm: (0.0, 0.0, 0.0), flow_lph: 1000.0, outlet_cm: 3.0, \
                    by_hour: [(hour: 8.0, share: 1.0), (hour: 22.0, share: 0.4)])";
        let pump: Pump = ron::from_str(text).unwrap();
        let shares = [3.0, 8.0, 21.9, 22.0].map(|hour| pump.share_at(hour));
        assert_eq!(shares, [0.4, 1.0, 1.0, 0.4], "by the hour");
    }
}

//! The law of a free jet, and how far one is felt in a tank. One law for all:
//! the core of a slice's jets, what a reading near a pump says of it, how far a
//! jet burns a coral, and the arrow of a pump on the drawing.

use glam::DVec3;

use crate::geometry::{Bounds, Ray, Rockwork};
use crate::scene::{Pump, PumpKind, Tank, aim};
use crate::units::{M_PER_CM, flow_m3_s_from_lph};

/// Fall of the speed on the axis of a round jet, `u = 5.9 U₀ d / x`.
///
/// **Source** Hussein, Capp & George 1994. PUBLISHED-secondhand.
pub const ROUND_DECAY: f64 = 5.9;

/// Fall of the speed on the axis of a plane jet, `u = 2.47 U₀ √(h/x)`.
///
/// **Source** Rajaratnam 1976, 3.50 over half the height. MEMORY.
pub const PLANE_DECAY: f64 = 2.47;

/// Speed that is still felt as a jet: where an arrow ends, in m/s. Own choice.
pub const FELT_M_S: f64 = 0.10;

/// A jet in free water, known by its outlet.
///
/// ```
/// use bommie_flow::jet::FreeJet;
/// use bommie_model::scene::PumpKind;
/// // 500 L/h through 2 cm: 0.442 m/s at the outlet.
/// let jet = FreeJet::through(PumpKind::Propeller, 2.0, 500.0);
/// assert_eq!(jet.axis_m_s(0.01), jet.exit_m_s, "near the outlet as there");
/// // 5.9 · 0.442 · 0.02 / 0.10 m.
/// assert!((jet.way_to_m(0.10) - 0.522).abs() < 1e-3);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeJet {
    /// Speed at the outlet, in m/s.
    pub exit_m_s: f64,
    /// Diameter of a round outlet of the same area, in m.
    pub diameter_m: f64,
    /// Height of a slot, in m; none for round outlets.
    pub slot_m: Option<f64>,
    /// How far along its aim it seems to begin, in m.
    pub offset_m: f64,
}

impl FreeJet {
    /// The jet of an outlet of this kind and diameter (of a slot: height).
    pub fn through(kind: PumpKind, outlet_cm: f64, flow_lph: f64) -> Self {
        let outlet_m = outlet_cm * M_PER_CM;
        let (area_m2, slot_m) = match kind {
            PumpKind::CrossFlow { length_cm } => (length_cm * M_PER_CM * outlet_m, Some(outlet_m)),
            PumpKind::Propeller | PumpKind::Nozzle => {
                (std::f64::consts::FRAC_PI_4 * outlet_m * outlet_m, None)
            }
        };
        Self {
            exit_m_s: flow_m3_s_from_lph(flow_lph) / area_m2.max(1e-9),
            diameter_m: (area_m2 / std::f64::consts::FRAC_PI_4).sqrt(),
            slot_m,
            offset_m: 0.0,
        }
    }

    /// The jet of a pump as readings know it, at full stroke.
    pub fn of(pump: &Pump) -> Self {
        Self {
            offset_m: pump.offset_cm() * M_PER_CM,
            ..Self::through(pump.kind, pump.outlet_cm, pump.real_flow_lph())
        }
    }

    /// Mean speed on its axis after a way from its outlet, in m/s.
    ///
    /// Near the outlet the speed is the outlet's; a slot's sheet of water falls
    /// as a plane jet until it has become a round one of the same thrust.
    pub fn axis_m_s(&self, way_m: f64) -> f64 {
        let way_m = (way_m - self.offset_m).max(1e-6);
        let round = ROUND_DECAY * self.exit_m_s * self.diameter_m / way_m;
        let plane = self.slot_m.map_or(f64::INFINITY, |height_m| {
            PLANE_DECAY * self.exit_m_s * (height_m / way_m).sqrt()
        });
        self.exit_m_s.min(round).min(plane)
    }

    /// Way on its axis from which on it is slower than a limit, in m; none at
    /// all if it is slower from its outlet on.
    pub fn way_to_m(&self, limit_m_s: f64) -> f64 {
        if self.exit_m_s <= limit_m_s {
            return 0.0;
        }
        let round = ROUND_DECAY * self.exit_m_s * self.diameter_m / limit_m_s;
        let way_m = match self.slot_m {
            Some(height_m) => {
                let ratio = PLANE_DECAY * self.exit_m_s / limit_m_s;
                round.min(height_m * ratio * ratio)
            }
            None => round,
        };
        (way_m + self.offset_m).max(0.0)
    }
}

/// How far a jet is felt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reach {
    /// Where it ends, in m.
    pub tip_m: DVec3,
    /// Its distance from the outlet, in m.
    pub way_m: f64,
    /// Speed on the jet's axis there, in m/s.
    pub speed_m_s: f64,
}

impl Reach {
    /// Where it ends, in cm.
    pub fn tip_cm(&self) -> DVec3 {
        self.tip_m / M_PER_CM
    }

    /// Whether it ends at a pane.
    pub fn is_at_glass(&self, tank: &Tank) -> bool {
        /// A tip this close to a pane is on it, in m.
        const NEAR_M: f64 = 0.005;
        let size_m = DVec3::new(tank.length_cm, tank.width_cm, 0.0) * M_PER_CM;
        let gaps = self.tip_m.min(size_m - self.tip_m);
        gaps.x.min(gaps.y) < NEAR_M
    }
}

/// Where the speed on the axis of a pump's jet has fallen to
/// [`FELT_M_S`], or where the jet meets glass, the surface or rock before that;
/// at least 4 cm from the outlet.
pub fn reach(pump: &Pump, tank: &Tank, rocks: &Rockwork) -> Reach {
    const LEAST_M: f64 = 0.04;
    let jet = FreeJet::of(pump);
    let direction = aim(pump.turn_deg, pump.tilt_deg);
    let ray = Ray {
        origin_m: pump.at_cm * M_PER_CM,
        direction,
    };
    let water = Bounds {
        min_m: DVec3::ZERO,
        max_m: DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm) * M_PER_CM,
    };
    let wanted_m = jet.way_to_m(FELT_M_S);
    let glass_m = water.span(&ray).map_or(wanted_m, |(_, out)| out.max(0.0));
    let free_m = wanted_m.min(glass_m).max(LEAST_M);
    let rock_m = rocks.first_hit(&ray, free_m).map(|hit| hit.distance_m);
    let way_m = rock_m.filter(|m| *m > 0.01).unwrap_or(free_m);
    Reach {
        tip_m: ray.origin_m + direction * way_m,
        way_m,
        speed_m_s: jet.axis_m_s(way_m),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{Panes, Programme, Sand, Sides, Water};

    fn tank() -> Tank {
        Tank {
            length_cm: 120.0,
            width_cm: 60.0,
            height_cm: 55.0,
            water_cm: 50.0,
            sand: Sand::default(),
            sides: Sides::default(),
            panes: Panes::default(),
            water: Water::default(),
            returns: vec![],
            overflow: None,
        }
    }

    fn small_pump(flow_lph: f64) -> Pump {
        Pump {
            id: 1,
            name: String::new(),
            kind: PumpKind::Propeller,
            at_cm: DVec3::new(3.0, 30.0, 30.0),
            turn_deg: 0.0,
            tilt_deg: 0.0,
            flow_lph,
            outlet_cm: 2.0,
            throttle: 1.0,
            programme: Programme::Steady,
            power_w: None,
            by_hour: Vec::new(),
            guarded: false,
            measured: None,
            locked: false,
        }
    }

    #[test]
    fn a_small_jet_ends_where_the_law_says_and_a_large_one_at_the_glass() {
        // 500 L/h through 2 cm is 0.4421 m/s: 5.9 · 0.4421 · 2 / 0.1 = 52.2 cm.
        let near = reach(&small_pump(500.0), &tank(), &Rockwork::default());
        assert!((near.way_m - 0.5217).abs() < 5e-4, "{near:?}");
        assert!((near.speed_m_s - 0.1).abs() < 1e-9, "{near:?}");
        assert!(!near.is_at_glass(&tank()), "in open water");
        let far = reach(&small_pump(5000.0), &tank(), &Rockwork::default());
        assert!((far.tip_m.x - 1.2).abs() < 1e-9, "at the glass: {far:?}");
        assert!(far.is_at_glass(&tank()), "and knows it");
        assert!(far.speed_m_s > 0.1, "still fast there: {far:?}");
    }

    #[test]
    fn a_slot_falls_as_a_sheet_first_and_as_its_round_jet_afterwards() {
        let kind = PumpKind::CrossFlow { length_cm: 20.0 };
        let jet = FreeJet::through(kind, 2.0, 4000.0);
        // 4000 L/h through 40 cm²: 0.2778 m/s. After 50 cm as a sheet:
        // 2.47 · 0.2778 · √0.04 = 0.1372; as round 5.9 · 0.2778 · 0.07136 / 0.5.
        assert!((jet.axis_m_s(0.5) - 0.1372).abs() < 1e-4);
        // 5.9 · 7.136 / x = 2.47 √(2/x) at 145 cm.
        let far = 5.9 * 0.2778 * 0.07136 / 2.0;
        assert!((jet.axis_m_s(2.0) - far).abs() < 1e-4);
    }

    #[test]
    fn the_way_to_a_speed_has_that_speed() {
        let kinds = [
            PumpKind::Propeller,
            PumpKind::CrossFlow { length_cm: 15.0 },
            PumpKind::Nozzle,
        ];
        for kind in kinds {
            for offset_m in [-0.03, 0.0, 0.05] {
                let jet = FreeJet {
                    offset_m,
                    ..FreeJet::through(kind, 2.5, 6000.0)
                };
                for limit in [0.05, 0.1, 0.2] {
                    let there = jet.axis_m_s(jet.way_to_m(limit));
                    assert!((there - limit).abs() < 1e-9, "{kind:?}: {there} at {limit}");
                }
            }
        }
        let still = FreeJet::through(PumpKind::Propeller, 5.0, 10.0);
        assert_eq!(still.way_to_m(0.1), 0.0, "slow from its outlet on");
    }
}

//! How far a pump's jet burns: the mean speed of a free jet at a place, where
//! rock does not stand in its way.

use glam::DVec3;

use crate::geometry::{Ray, Rockwork};
use crate::scene::{ItemId, Layout, PumpKind, Scene, aim};
use crate::units::{M_PER_CM, flow_m3_s_from_lph};

/// Axis speed of a round free jet times way over exit speed times diameter.
///
/// **Source** 5.9 to 6.2, Hussein, Capp & George 1994 and textbooks; MEMORY.
const ROUND_DECAY: f64 = 6.1;

/// The same of a plane jet, by the root of height over way.
///
/// **Source** 2.4 to 2.5, textbooks; MEMORY.
const PLANE_DECAY: f64 = 2.4;

/// Half width over way. **Source** as above; MEMORY.
const HALF_WIDTH_PER_M: f64 = 0.094;

/// One jet in free water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Jet {
    /// The pump; none for a return of the tank.
    pub(crate) pump: Option<ItemId>,
    /// Middle of its outlet, in m.
    pub(crate) at_m: DVec3,
    /// Where it blows.
    pub(crate) aim: DVec3,
    /// Speed at the outlet, in m/s.
    pub(crate) exit_m_s: f64,
    /// Diameter of a round outlet of the same area, in m.
    pub(crate) diameter_m: f64,
    /// Height of a slot, in m; none for round outlets.
    slot_m: Option<f64>,
}

/// Every jet of a layout and its tank, at full stroke.
pub(crate) fn jets(scene: &Scene, layout: &Layout) -> Vec<Jet> {
    let area = |diameter_m: f64| std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m;
    let pumps = layout.pumps.iter().map(|pump| {
        let outlet_m = pump.outlet_cm * M_PER_CM;
        let (area_m2, slot_m) = match pump.kind {
            PumpKind::CrossFlow { length_cm } => (length_cm * M_PER_CM * outlet_m, Some(outlet_m)),
            PumpKind::Propeller | PumpKind::Nozzle => (area(outlet_m), None),
        };
        Jet {
            pump: Some(pump.id),
            at_m: pump.at_cm * M_PER_CM,
            aim: aim(pump.turn_deg, pump.tilt_deg),
            exit_m_s: flow_m3_s_from_lph(pump.flow_lph * pump.throttle) / area_m2.max(1e-9),
            diameter_m: (area_m2 / std::f64::consts::FRAC_PI_4).sqrt(),
            slot_m,
        }
    });
    let returns = scene.tank.returns.iter().map(|back| Jet {
        pump: None,
        at_m: back.at_cm * M_PER_CM,
        aim: aim(back.turn_deg, back.tilt_deg),
        exit_m_s: flow_m3_s_from_lph(back.flow_lph) / area(back.outlet_cm * M_PER_CM).max(1e-9),
        diameter_m: back.outlet_cm * M_PER_CM,
        slot_m: None,
    });
    pumps
        .chain(returns)
        .filter(|jet| jet.exit_m_s > 0.0)
        .collect()
}

impl Jet {
    /// Mean speed on its axis after some way, in m/s.
    pub(crate) fn axis_m_s(&self, way_m: f64) -> f64 {
        let way_m = way_m.max(1e-6);
        let round = ROUND_DECAY * self.exit_m_s * self.diameter_m / way_m;
        let plane = self.slot_m.map_or(f64::INFINITY, |height_m| {
            PLANE_DECAY * self.exit_m_s * (height_m / way_m).sqrt()
        });
        self.exit_m_s.min(round).min(plane)
    }

    /// Way on its axis from which on it is slower than a limit, in m.
    pub(crate) fn way_to_m(&self, limit_m_s: f64) -> f64 {
        if self.exit_m_s <= limit_m_s {
            return 0.0;
        }
        let round = ROUND_DECAY * self.exit_m_s * self.diameter_m / limit_m_s;
        match self.slot_m {
            Some(height_m) => {
                let ratio = PLANE_DECAY * self.exit_m_s / limit_m_s;
                round.min(height_m * ratio * ratio)
            }
            None => round,
        }
    }

    /// Way along its axis to a place, in m, and mean speed that a body of this
    /// radius feels there, in m/s: nothing behind the outlet, or where rock
    /// stands between.
    pub(crate) fn at(&self, rockwork: &Rockwork, at_m: DVec3, radius_m: f64) -> (f64, f64) {
        let from = at_m - self.at_m;
        let way_m = from.dot(self.aim);
        if way_m <= 0.0 {
            return (way_m, 0.0);
        }
        let beside_m = (from - self.aim * way_m).length();
        let half_m = (HALF_WIDTH_PER_M * way_m).max(self.diameter_m / 2.0);
        let nearest = (beside_m - radius_m).max(0.0) / half_m;
        let speed = self.axis_m_s(way_m) * (-std::f64::consts::LN_2 * nearest * nearest).exp();
        let ray = Ray {
            origin_m: self.at_m,
            direction: from.normalize_or(self.aim),
        };
        let free_m = (from.length() - radius_m - 0.01).max(0.0);
        if speed > 0.0 && rockwork.blocks(&ray, free_m) {
            return (way_m, 0.0);
        }
        (way_m, speed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn jet() -> Jet {
        // 3000 L/h from 3.5 cm: 0.866 m/s.
        Jet {
            pump: None,
            at_m: DVec3::ZERO,
            aim: DVec3::X,
            exit_m_s: 0.8662,
            diameter_m: 0.035,
            slot_m: None,
        }
    }

    #[test]
    fn a_jet_decays_with_its_way_and_burns_up_to_the_distance_of_its_table() {
        let jet = jet();
        // 6.1 · 0.8662 · 0.035 = 0.1849 m²/s: 0.37 m to 50 cm/s.
        assert!((jet.way_to_m(0.5) - 0.3699).abs() < 1e-3);
        assert!((jet.axis_m_s(jet.way_to_m(0.3)) - 0.3).abs() < 1e-9);
        let open = Rockwork::default();
        let (_, on_axis) = jet.at(&open, DVec3::X * 0.5, 0.0);
        let (_, at_half) = jet.at(&open, DVec3::new(0.5, 0.047, 0.0), 0.0);
        assert!((at_half / on_axis - 0.5).abs() < 1e-9, "half width");
        assert_eq!(jet.at(&open, -DVec3::X, 0.0).1, 0.0, "behind it");
    }
}

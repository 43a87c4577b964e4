//! How far a pump's jet burns: the mean speed of a free jet at a place, where
//! rock does not stand in its way.

use glam::DVec3;

use crate::flow::jet::FreeJet;
use crate::geometry::{Ray, Rockwork};
use crate::scene::{ItemId, Layout, PumpKind, Scene, aim};
use crate::units::M_PER_CM;

/// Half width over way.
///
/// **Source** Hussein, Capp & George 1994; MEMORY.
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
    /// How it falls.
    pub(crate) law: FreeJet,
}

/// Every jet of a layout and its tank, at full stroke.
pub(crate) fn jets(scene: &Scene, layout: &Layout) -> Vec<Jet> {
    let pumps = layout.pumps.iter().map(|pump| Jet {
        pump: Some(pump.id),
        at_m: pump.at_cm * M_PER_CM,
        aim: aim(pump.turn_deg, pump.tilt_deg),
        law: FreeJet::through(pump.kind, pump.outlet_cm, pump.flow_lph * pump.throttle),
    });
    let returns = scene.tank.returns.iter().map(|back| Jet {
        pump: None,
        at_m: back.at_cm * M_PER_CM,
        aim: aim(back.turn_deg, back.tilt_deg),
        law: FreeJet::through(PumpKind::Nozzle, back.outlet_cm, back.flow_lph),
    });
    pumps
        .chain(returns)
        .filter(|jet| jet.law.exit_m_s > 0.0)
        .collect()
}

impl Jet {
    /// Way on its axis from which on it is slower than a limit, in m.
    pub(crate) fn way_to_m(&self, limit_m_s: f64) -> f64 {
        self.law.way_to_m(limit_m_s)
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
        let half_m = (HALF_WIDTH_PER_M * way_m).max(self.law.diameter_m / 2.0);
        let nearest = (beside_m - radius_m).max(0.0) / half_m;
        let speed = self.law.axis_m_s(way_m) * (-std::f64::consts::LN_2 * nearest * nearest).exp();
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
            law: FreeJet::through(PumpKind::Propeller, 3.5, 3000.0),
        }
    }

    #[test]
    fn a_jet_decays_with_its_way_and_burns_up_to_the_distance_of_its_table() {
        let jet = jet();
        // 5.9 · 0.8662 · 0.035 = 0.1789 m²/s: 0.36 m to 50 cm/s.
        assert!((jet.way_to_m(0.5) - 0.3577).abs() < 1e-3);
        let open = Rockwork::default();
        let (_, on_axis) = jet.at(&open, DVec3::X * 0.5, 0.0);
        let (_, at_half) = jet.at(&open, DVec3::new(0.5, 0.047, 0.0), 0.0);
        assert!((at_half / on_axis - 0.5).abs() < 1e-9, "half width");
        assert_eq!(jet.at(&open, -DVec3::X, 0.0).1, 0.0, "behind it");
    }
}

//! A round jet along the bottom pane against published wall jets, which spread
//! several times as quickly along the wall as off it.

use bommie_flow::{Device, FlowField};
use glam::DVec3;

use super::jets::{Jet, slope};

/// Growth of the half width off the wall and along it.
///
/// **Source** Launder & Rodi 1983, Annu. Rev. Fluid Mech. 15:429. MEMORY. Davis &
/// Winarto 1972, Aeronaut. Q. 23:188, find seven times as much along it as off it
/// for a round outlet beside a wall. PUBLISHED (abstract).
pub(crate) const OFF_WALL: f64 = 0.048;
pub(crate) const ALONG_WALL: f64 = 0.26;

const OUTLET_M: f64 = 0.04;
/// Where it begins, from the left pane and above the bottom; in the middle of
/// its tank.
const START_M: [f64; 2] = [0.10, 0.02];
/// Left out from rest, and averaged, in s.
const TIMES_S: [f64; 2] = [20.0, 30.0];

/// A tank whose other panes are far away, and one that a test has time for: there
/// the jet grows by 0.006 and 0.03 more on 2 cm.
pub(crate) const WIDE_CM: DVec3 = DVec3::new(200.0, 160.0, 80.0);
pub(crate) const NARROW_CM: DVec3 = DVec3::new(180.0, 120.0, 50.0);

/// The jet's field and the middle of its tank across it, in m.
struct Wall {
    field: FlowField,
    middle_m: f64,
}
/// What was found.
#[derive(Debug)]
pub(crate) struct Found {
    /// Half height and half width in m at 12, 14, … 30 diameters.
    pub(crate) halves: Vec<[f64; 2]>,
    /// Growth of both.
    pub(crate) growth: [f64; 2],
    /// Most speed over the outlet's at 10, 20 and 30 diameters.
    pub(crate) most: [f64; 3],
}

fn mm(k: u32) -> f64 {
    f64::from(k) * 1e-3
}

impl Wall {
    /// Mean speed along x, `x_m` from the outlet, beside its plane and above the
    /// bottom.
    fn along(&self, x_m: f64, beside_m: f64, up_m: f64) -> f64 {
        let at_m = DVec3::new(START_M[0] + x_m, self.middle_m + beside_m, up_m);
        let sample = self.field.sample(at_m);
        sample.map_or(0.0, |at| at.velocity_m_s.x)
    }

    /// Height of the most speed in the jet's plane, in mm, and that speed.
    fn most(&self, x_m: f64) -> (u32, f64) {
        let upward = |k: u32| self.along(x_m, 0.0, mm(k));
        let most = (5..400).max_by(|a, b| upward(*a).total_cmp(&upward(*b)));
        let most = most.unwrap_or(5);
        (most, upward(most))
    }

    /// Half height and half width of the jet `x_m` from its outlet, in m: where
    /// the speed has fallen to a half of the most above its axis.
    fn halves(&self, x_m: f64) -> [f64; 2] {
        let (most, speed) = self.most(x_m);
        let height = (most..400).find(|k| self.along(x_m, 0.0, mm(*k)) < 0.5 * speed);
        let aside = |k: u32| {
            let sides = [mm(k), -mm(k)].map(|y_m| self.along(x_m, y_m, mm(most)));
            0.5 * (sides[0] + sides[1])
        };
        let width = (0..700).find(|k| aside(*k) < 0.5 * speed);
        [height, width].map(|found| found.map_or(f64::NAN, mm))
    }
}

/// Solves it in one of the tanks on cells of one size.
pub(crate) fn solved(tank_cm: DVec3, cell_m: f64, device: &Device) -> Found {
    let middle_m = tank_cm.y / 200.0;
    let jet = Jet {
        tank_cm,
        at_cm: DVec3::new(START_M[0], middle_m, START_M[1]) * 100.0,
        turn_deg: 0.0,
        tilt_deg: 0.0,
        outlet_cm: OUTLET_M * 100.0,
        flow_lph: 3000.0,
    };
    let wall = Wall {
        field: jet.solved(cell_m, TIMES_S, device),
        middle_m,
    };
    let ways: Vec<f64> = (12..=30)
        .step_by(2)
        .map(|x| f64::from(x) * OUTLET_M)
        .collect();
    let halves: Vec<[f64; 2]> = ways.iter().map(|x_m| wall.halves(*x_m)).collect();
    let growth = [0, 1].map(|which| {
        let points = ways.iter().zip(&halves).map(|(x, both)| (*x, both[which]));
        slope(&points.collect::<Vec<_>>())
    });
    Found {
        growth,
        most: [10.0, 20.0, 30.0].map(|x| wall.most(x * OUTLET_M).1 / jet.exit_m_s()),
        halves,
    }
}

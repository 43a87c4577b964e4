//! A jet that goes up through a tank to its surface, against measurements.
//!
//! **Source** Shinneeb, Bugg & Balachandar 2002, ASME FEDSM2002, particle image
//! velocimetry: tank of 40.5×40.5 cm and 61 cm of water, nozzle of 9 mm in the
//! middle of its bottom; the surface tells on the axis from 13 diameters below it;
//! all water that the jet takes along sinks along the walls. Speed of the nozzle,
//! 2.5 m/s: the same authors' other jets from it (2008, J. Fluids Eng.
//! 130:011202). In between: the law of a free jet.

use bommie_flow::{Device, FlowField};
use glam::DVec3;

use super::jets::{Jet, slope};

/// How far below the surface a jet feels it, in diameters.
pub(crate) const FELT: f64 = 13.0;

/// Speed on the axis of a free jet, `5.9 U₀ d/x`: Hussein, Capp & George 1994.
const DECAY: f64 = 5.9;

const OUTLET_CM: f64 = 0.9;
const SPEED_M_S: f64 = 2.5;
const TANK_CM: DVec3 = DVec3::new(40.5, 40.5, 61.0);
/// Tank time from rest that is left out, and that of averages: the jet stirs this
/// tank once in 11 s.
const TIMES_S: [f64; 2] = [25.0, 60.0];
/// Where a jet is as a free one: from where cells see it, to the surface's reach.
const FREE: [u32; 2] = [20, 45];

/// What was found.
#[derive(Debug)]
pub(crate) struct Found {
    /// Speed over the law's at 10, 20, 30, 40 and 50 diameters.
    pub(crate) over_law: [f64; 5],
    /// How it slows down where it is free: 5.9 by the law.
    pub(crate) decay: f64,
    /// Where the speed falls 5 and 10 % below what it would be if it went on so,
    /// in diameters below the surface.
    pub(crate) felt: [f64; 2],
    /// Share of the water 2 cm from the walls, from 25 to 55 cm up, that sinks.
    pub(crate) sinks: f64,
}

fn upward(field: &FlowField, at_cm: DVec3) -> f64 {
    let sample = field.sample(at_cm / 100.0);
    sample.map_or(0.0, |sample| sample.velocity_m_s.z)
}

/// Solves it on cells of one size.
pub(crate) fn solved(cell_m: f64, device: &Device) -> Found {
    let jet = Jet {
        tank_cm: TANK_CM,
        at_cm: DVec3::new(20.25, 20.25, 1.5),
        turn_deg: 0.0,
        tilt_deg: 90.0,
        outlet_cm: OUTLET_CM,
        flow_lph: SPEED_M_S * std::f64::consts::FRAC_PI_4 * OUTLET_CM * OUTLET_CM * 1e-4 * 3.6e6,
    };
    let field = jet.solved(cell_m, TIMES_S, device);
    let speed_m_s = |diameters: f64| {
        let up_cm = jet.at_cm.z + diameters * OUTLET_CM;
        upward(&field, DVec3::new(20.25, 20.25, up_cm))
    };
    let over_law = |diameters: f64| speed_m_s(diameters) * diameters / (DECAY * jet.exit_m_s());
    let free = (FREE[0]..=FREE[1]).map(f64::from);
    let slower: Vec<(f64, f64)> = free.map(|x| (x, jet.exit_m_s() / speed_m_s(x))).collect();
    let per_diameter = slope(&slower);
    let middle =
        |of: fn(&(f64, f64)) -> f64| slower.iter().map(of).sum::<f64>() / slower.len() as f64;
    let (x_mean, slower_mean) = (middle(|point| point.0), middle(|point| point.1));
    let gone_on = |x: f64| jet.exit_m_s() / (slower_mean + per_diameter * (x - x_mean));
    let surface = (TANK_CM.z - jet.at_cm.z) / OUTLET_CM;
    let felt = |share: f64| {
        let mut ways =
            (FREE[1] * 10..(surface * 10.0) as u32).map(|tenths| f64::from(tenths) / 10.0);
        let found = ways.find(|&x| speed_m_s(x) < share * gone_on(x));
        found.map_or(0.0, |x| surface - x)
    };
    Found {
        over_law: [10.0, 20.0, 30.0, 40.0, 50.0].map(over_law),
        decay: 1.0 / per_diameter,
        felt: [0.95, 0.9].map(felt),
        sinks: sinks(&field),
    }
}

fn sinks(field: &FlowField) -> f64 {
    let near_cm = [2.0, TANK_CM.x - 2.0];
    let (mut down, mut n) = (0.0, 0.0);
    for z in (25..=55).map(f64::from) {
        for along in (2..=38).map(f64::from) {
            for near in near_cm {
                for (x, y) in [(near, along), (along, near)] {
                    n += 1.0;
                    down += f64::from(u8::from(upward(field, DVec3::new(x, y, z)) < 0.0));
                }
            }
        }
    }
    down / n
}

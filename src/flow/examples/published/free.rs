//! A round jet in a box so wide that it is nearly free, against the law of a
//! free one.

use std::f64::consts::TAU;

use bommie_flow::{Device, FlowField};
use glam::DVec3;

use super::jets::{Jet, slope};

/// Decay and growth of a free round jet: `U = 5.9 U₀ d/x`, half width `0.094 x`.
///
/// **Source** Hussein, Capp & George 1994, J. Fluid Mech. 258:31.
pub(crate) const DECAY: f64 = 5.9;
pub(crate) const GROWTH: f64 = 0.094;

const OUTLET_M: f64 = 0.04;
const START_M: DVec3 = DVec3::new(0.20, 0.60, 0.60);

/// What a free jet does on cells of one size.
#[derive(Debug)]
pub(crate) struct Found {
    /// Speed over the law's at 6, 10, 20, 30 and 40 diameters.
    pub(crate) over_law: [f64; 5],
    /// Half width over the law's at the same places.
    pub(crate) widths: [f64; 5],
    /// `B` and growth of the half width from 10 to 26 diameters.
    pub(crate) decay: f64,
    pub(crate) growth: f64,
}

/// Mean speed on the axis and half width of the jet, `x_m` from its outlet.
fn section(field: &FlowField, x_m: f64) -> (f64, f64) {
    let ring = |radius_m: f64| {
        let speeds = (0..24).map(|k| {
            let (sin, cos) = (f64::from(k) * TAU / 24.0).sin_cos();
            let at_m = START_M + DVec3::new(x_m, radius_m * cos, radius_m * sin);
            let sample = field.sample(at_m);
            sample.map_or(0.0, |sample| sample.velocity_m_s.x)
        });
        speeds.sum::<f64>() / 24.0
    };
    let axis = ring(0.0);
    let half = (1..500).map(|mm| f64::from(mm) * 1e-3);
    let half = half
        .take_while(|radius_m| ring(*radius_m) > 0.5 * axis)
        .last();
    (axis, half.unwrap_or(0.0))
}

/// Solves the jet; time left out from rest and time averaged, in s.
pub(crate) fn solved(cell_m: f64, times_s: [f64; 2], device: &Device) -> Found {
    let jet = Jet {
        tank_cm: DVec3::new(240.0, 120.0, 120.0),
        at_cm: START_M * 100.0,
        turn_deg: 0.0,
        tilt_deg: 0.0,
        outlet_cm: OUTLET_M * 100.0,
        flow_lph: 3000.0,
    };
    let field = jet.solved(cell_m, times_s, device);
    let exit_m_s = jet.exit_m_s();
    let (mut speeds, mut widths) = (Vec::new(), Vec::new());
    for diameters in 10..=26 {
        let x = f64::from(diameters);
        let (speed, half) = section(&field, x * OUTLET_M);
        speeds.push((x, exit_m_s / speed));
        widths.push((x, half / OUTLET_M));
    }
    let places = [6.0, 10.0, 20.0, 30.0, 40.0].map(|x| (x, section(&field, x * OUTLET_M)));
    Found {
        over_law: places.map(|(x, (speed, _))| speed * x / (DECAY * exit_m_s)),
        widths: places.map(|(x, (_, half))| half / (GROWTH * x * OUTLET_M)),
        decay: 1.0 / slope(&speeds),
        growth: slope(&widths),
    }
}

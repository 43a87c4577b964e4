//! Jets: thrust and apparent beginning of one pump from readings of it alone,
//! by the closed form of the jet.
//!
//! All pumps at once, against readings of the whole tank, is never tried: the
//! estimate of a tank is too uncertain at a point to tell pumps apart by it.

use super::fit::{Fitting, Prior, Unknown, fit};
use super::spread_of;
use crate::scene::{Pump, PumpKind, Reading, aim};
use crate::units::{M_PER_CM, flow_m3_s_from_lph};

/// Fall of the speed on the axis of a round jet, `u = 5.9 U₀ d / x`.
///
/// **Source** Hussein, Capp & George 1994.
const ROUND: f64 = 5.9;

/// Fall of the speed on the axis of a plane jet, `u = 2.47 U₀ √(h/x)`.
///
/// **Source** Rajaratnam 1976, 3.50 over half the height. MEMORY.
const PLANE: f64 = 2.47;

/// Spread of a pump's real flow about the rated one, as a ratio.
///
/// **Source** COMMON PRACTICE: rated without guard and when new.
const FLOW_SPREAD: f64 = 0.35;

/// Spread of a jet's offset and the most that it may be, in outlets: a guard
/// widens a jet, so that it seems to begin some outlets behind.
///
/// **Source** own choice.
const OFFSET_SPREAD: f64 = 2.5;
const OFFSET_MOST: f64 = 8.0;

/// Farther off the axis than this share of the way, and a centimeter, a
/// reading says little of the axis: there a free jet has lost a tenth.
const OFF_AXIS_SHARE: f64 = 0.036;

/// Speed on the axis of a free jet, in m/s, at a way from its outlet.
///
/// Near the outlet the speed is the outlet's; a slot's sheet of water falls as
/// a plane jet until it has become a round one of the same thrust.
pub fn axis_speed_m_s(pump: &Pump, way_m: f64) -> f64 {
    axis_speed(
        pump,
        pump.real_flow_lph(),
        way_m - pump.offset_cm() * M_PER_CM,
    )
}

fn axis_speed(pump: &Pump, flow_lph: f64, way_m: f64) -> f64 {
    let height_m = pump.outlet_cm * M_PER_CM;
    let area_m2 = match pump.kind {
        PumpKind::Propeller | PumpKind::Nozzle => std::f64::consts::FRAC_PI_4 * height_m * height_m,
        PumpKind::CrossFlow { length_cm } => length_cm * M_PER_CM * height_m,
    };
    let outlet_m_s = flow_m3_s_from_lph(flow_lph) / area_m2;
    let diameter_m = (area_m2 / std::f64::consts::FRAC_PI_4).sqrt();
    let way_m = way_m.max(1e-3);
    let round = ROUND * outlet_m_s * diameter_m / way_m;
    let plane = PLANE * outlet_m_s * (height_m / way_m).sqrt();
    match pump.kind {
        PumpKind::CrossFlow { .. } => round.min(plane).min(outlet_m_s),
        PumpKind::Propeller | PumpKind::Nozzle => round.min(outlet_m_s),
    }
}

/// Way along a pump's axis of a place, in m; none if it lies off the axis or
/// behind the outlet.
pub(super) fn way_on_axis_m(pump: &Pump, reading: &Reading) -> Option<f64> {
    let from_m = (reading.at_cm - pump.at_cm) * M_PER_CM;
    let along = aim(pump.turn_deg, pump.tilt_deg);
    let way_m = from_m.dot(along);
    let off_m = (from_m - along * way_m).length();
    (way_m > 0.01 && off_m <= OFF_AXIS_SHARE * way_m + 0.01).then_some(way_m)
}

/// Fits the share of a pump's rated flow and its jet's offset (in cm), in this
/// order, to readings on its axis, each with its way in m.
pub(super) fn fit_jet(pump: &Pump, readings: &[(&Reading, f64)]) -> Fitting {
    let unknowns = [
        Unknown {
            stated: 1.0,
            bounds: [0.1, 2.0],
            prior: Prior::Ratio(FLOW_SPREAD),
            kind: None,
        },
        Unknown {
            stated: 0.0,
            bounds: [-OFFSET_MOST * pump.outlet_cm, OFFSET_MOST * pump.outlet_cm],
            prior: Prior::Plain(OFFSET_SPREAD * pump.outlet_cm),
            kind: None,
        },
    ];
    let model = |values: &[f64]| {
        let foretold = foretold_cm_s(pump, readings, values);
        let pairs = foretold.iter().zip(readings);
        pairs
            .map(|(foretold, (reading, _))| (foretold - reading.measured()) / spread_of(reading))
            .collect()
    };
    fit(&unknowns, &model)
}

/// Speed foretold at each reading, in cm/s.
fn foretold_cm_s(pump: &Pump, readings: &[(&Reading, f64)], values: &[f64]) -> Vec<f64> {
    let flow_lph = pump.flow_lph * pump.throttle * values[0];
    readings
        .iter()
        .map(|(_, way_m)| axis_speed(pump, flow_lph, way_m - values[1] * M_PER_CM) / M_PER_CM)
        .collect()
}

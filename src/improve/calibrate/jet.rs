//! Jets: thrust and apparent beginning of one pump from readings of it alone,
//! by the closed form of the jet.
//!
//! All pumps at once, against readings of the whole tank, is never tried: the
//! estimate of a tank is too uncertain at a point to tell pumps apart by it.

use super::fit::{Fitting, Prior, Unknown, fit};
use super::spread_of;
use crate::flow::jet::FreeJet;
use crate::scene::{Pump, Reading, aim};
use crate::units::M_PER_CM;

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

/// Speed on the axis of a pump's free jet as readings know it, in m/s, at a way
/// from its outlet.
pub fn axis_speed_m_s(pump: &Pump, way_m: f64) -> f64 {
    FreeJet::of(pump).axis_m_s(way_m)
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
    let jet = FreeJet {
        offset_m: values[1] * M_PER_CM,
        ..FreeJet::through(pump.kind, pump.outlet_cm, flow_lph)
    };
    readings
        .iter()
        .map(|(_, way_m)| jet.axis_m_s(*way_m) / M_PER_CM)
        .collect()
}

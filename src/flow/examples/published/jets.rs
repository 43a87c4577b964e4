//! Bare tanks with one jet, through the door that the program itself takes.

use std::f64::consts::FRAC_PI_4;

use bommie_flow::{Device, FlowField, FlowOptions, FlowSetup, solve};
use bommie_model::scene::Scene;
use bommie_model::study::Study;
use glam::DVec3;

/// A tank of glass with a nozzle, which has thrust and no body, in cm.
pub(crate) struct Jet {
    pub(crate) tank_cm: DVec3,
    pub(crate) at_cm: DVec3,
    pub(crate) turn_deg: f64,
    pub(crate) tilt_deg: f64,
    pub(crate) outlet_cm: f64,
    pub(crate) flow_lph: f64,
}

impl Jet {
    /// Speed at the outlet, in m/s.
    pub(crate) fn exit_m_s(&self) -> f64 {
        let diameter_m = self.outlet_cm / 100.0;
        self.flow_lph / 3.6e6 / (FRAC_PI_4 * diameter_m * diameter_m)
    }

    fn scene(&self) -> Scene {
        let DVec3 { x, y, z } = self.at_cm;
        let (turn, tilt, flow, outlet) =
            (self.turn_deg, self.tilt_deg, self.flow_lph, self.outlet_cm);
        let (length, width, water) = (self.tank_cm.x, self.tank_cm.y, self.tank_cm.z);
        let height = water + 5.0;
        let text = format!(
            "(format: 1, name: \"tank\", tank: (length_cm: {length:?}, width_cm: {width:?}, height_cm: {height:?}, water_cm: {water:?},
            sand: (depth_cm: 0.0, grain_mm: 1.0, reflectance: 0.4),
            sides: (left: Clear, right: Clear, front: Clear, back: Clear),
            water: (absorption_per_m: 0.2, refractive_index: 1.34)),
            layouts: [(name: \"one\", rocks: [], pumps: [(id: 1, name: \"pump\", kind: Nozzle, at_cm: ({x:?}, {y:?}, {z:?}),
            turn_deg: {turn:?}, tilt_deg: {tilt:?}, flow_lph: {flow:?}, outlet_cm: {outlet:?}, programme: Steady)],
            lamps: [], corals: [])])"
        );
        ron::Options::default()
            .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
            .from_str(&text)
            .expect("a scene")
    }

    /// Averages over some tank time after another from rest, in s.
    pub(crate) fn solved(
        &self,
        cell_m: f64,
        [spin_up_s, average_s]: [f64; 2],
        device: &Device,
    ) -> FlowField {
        let options = FlowOptions {
            cell_m: Some(cell_m),
            spin_up_s: Some(spin_up_s),
            average_s: Some([average_s; 2]),
            ..FlowOptions::default()
        };
        let study = Study::with_built_in(&self.scene(), 0).expect("there is a layout");
        let setup = FlowSetup::new(&study, &options).expect("it can be set up");
        solve(setup.on(device.clone()), &mut |_| true).expect("it is solved")
    }
}

/// Least squares: how quickly y grows with x.
pub(crate) fn slope(points: &[(f64, f64)]) -> f64 {
    let n = points.len() as f64;
    let mx = points.iter().map(|(x, _)| x).sum::<f64>() / n;
    let my = points.iter().map(|(_, y)| y).sum::<f64>() / n;
    let over: f64 = points.iter().map(|(x, y)| (x - mx) * (y - my)).sum();
    over / points.iter().map(|(x, _)| (x - mx).powi(2)).sum::<f64>()
}

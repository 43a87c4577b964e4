//! A round jet in a box so wide that it is nearly free, against the law of a
//! free one, on cells of two sizes.
#![cfg(feature = "slow-tests")]
#![expect(clippy::expect_used, reason = "a broken premise fails the test")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use std::f64::consts::{FRAC_PI_4, TAU};

use bommie::flow::{FlowField, FlowOptions, FlowSetup, solve};
use glam::DVec3;

use super::tanks::tank;

/// Decay and growth of a free round jet: `U = 5.9 U₀ d/x`, half width `0.094 x`.
///
/// **Source** Hussein, Capp & George 1994, J. Fluid Mech. 258:31.
const DECAY: f64 = 5.9;
const GROWTH: f64 = 0.094;

const OUTLET_M: f64 = 0.04;
const FLOW_LPH: f64 = 3000.0;
const START_M: DVec3 = DVec3::new(0.20, 0.60, 0.60);

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

fn slope(points: &[(f64, f64)]) -> f64 {
    let n = points.len() as f64;
    let (sx, sy) = points
        .iter()
        .fold((0.0, 0.0), |(sx, sy), (x, y)| (sx + x, sy + y));
    let (mx, my) = (sx / n, sy / n);
    let over: f64 = points.iter().map(|(x, y)| (x - mx) * (y - my)).sum();
    over / points.iter().map(|(x, _)| (x - mx).powi(2)).sum::<f64>()
}

/// Speed over the law's at 10, 20 and 40 diameters.
fn over_law(cell_m: f64) -> [f64; 3] {
    let pump = (START_M * 100.0, DVec3::X, OUTLET_M * 100.0, FLOW_LPH);
    let scene = tank(DVec3::new(240.0, 120.0, 120.0), &[], &[pump]);
    let options = FlowOptions {
        cell_m: Some(cell_m),
        spin_up_s: Some(20.0),
        average_s: Some([30.0, 30.0]),
        ..FlowOptions::default()
    };
    let setup = FlowSetup::new(&scene, &scene.layouts[0], &options).expect("it can be set up");
    let field = solve(setup, &mut |_| true).expect("it is solved");
    let exit_m_s = FLOW_LPH / 3.6e6 / (FRAC_PI_4 * OUTLET_M * OUTLET_M);
    let (mut speeds, mut widths) = (Vec::new(), Vec::new());
    for diameters in 10..=26 {
        let x = f64::from(diameters);
        let (speed, half) = section(&field, x * OUTLET_M);
        speeds.push((x, exit_m_s / speed));
        widths.push((x, half / OUTLET_M));
    }
    let (decay, growth) = (1.0 / slope(&speeds), slope(&widths));
    let found = [10.0, 20.0, 40.0].map(|x| {
        let (speed, half) = section(&field, x * OUTLET_M);
        let share = half / (GROWTH * x * OUTLET_M);
        println!("{cell_m} m cells, {x} diameters: half width {share:.2} of the law's");
        speed * x / (DECAY * exit_m_s)
    });
    println!("{cell_m} m cells: speed {found:.2?} of the law's, B {decay:.2}, growth {growth:.3}");
    found
}

/// What the tank estimate is for: how fast the water is some way down a jet.
/// Near the outlet cells this large mix too early, which the methods page
/// states; the slopes between 10 and 26 diameters, printed here, depend on
/// where the jet breaks up.
#[test]
fn a_free_jet_is_as_fast_as_the_law_says_whatever_the_cell() {
    let (coarse, fine) = (over_law(0.03), over_law(0.02));
    for found in [coarse, fine] {
        assert!(
            (0.6..1.1).contains(&found[0]),
            "{:.2} at 10 diameters",
            found[0]
        );
        // The goal for a free jet is 15 % between cell sizes; so is this for
        // the law, at the distance of a tank's length.
        assert!(
            (found[1] - 1.0).abs() < 0.15,
            "{:.2} at 20 diameters",
            found[1]
        );
    }
    let apart = coarse[1] / fine[1] - 1.0;
    assert!(
        apart.abs() < 0.15,
        "cells of 3 and 2 cm differ by {apart:.2}"
    );
}

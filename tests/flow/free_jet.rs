//! A round jet in a box so wide that it is nearly free, against the law of a
//! free one, on cells of two sizes.
#![cfg(feature = "slow-tests")]
#![expect(clippy::expect_used, reason = "a broken premise fails the test")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use std::f64::consts::{FRAC_PI_4, TAU};

use bommie::flow::{FlowField, FlowOptions, FlowSetup, solve};
use bommie::scene::Scene;
use bommie::study::Study;
use glam::DVec3;

use super::tanks::tank;

/// A study of the first layout.
fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

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

/// What a free jet does on cells of one size.
struct Found {
    /// Speed over the law's at 10, 20 and 40 diameters.
    over_law: [f64; 3],
    /// `B` and growth of the half width from 10 to 26 diameters.
    decay: f64,
    growth: f64,
}

/// Solves the jet, with averages over `average_s` after `spin_up_s`.
fn found(cell_m: f64, spin_up_s: f64, average_s: f64) -> Found {
    let pump = (START_M * 100.0, DVec3::X, OUTLET_M * 100.0, FLOW_LPH);
    let scene = tank(DVec3::new(240.0, 120.0, 120.0), &[], &[pump]);
    let options = FlowOptions {
        cell_m: Some(cell_m),
        spin_up_s: Some(spin_up_s),
        average_s: Some([average_s; 2]),
        ..FlowOptions::default()
    };
    let setup = FlowSetup::new(&study(&scene), &options).expect("it can be set up");
    let field = solve(setup, &mut |_| true).expect("it is solved");
    let exit_m_s = FLOW_LPH / 3.6e6 / (FRAC_PI_4 * OUTLET_M * OUTLET_M);
    let (mut speeds, mut widths) = (Vec::new(), Vec::new());
    for diameters in 10..=26 {
        let x = f64::from(diameters);
        let (speed, half) = section(&field, x * OUTLET_M);
        speeds.push((x, exit_m_s / speed));
        widths.push((x, half / OUTLET_M));
    }
    let over_law = [10.0, 20.0, 40.0].map(|x| {
        let (speed, half) = section(&field, x * OUTLET_M);
        let share = half / (GROWTH * x * OUTLET_M);
        println!("{cell_m} m cells, {x} diameters: half width {share:.2} of the law's");
        speed * x / (DECAY * exit_m_s)
    });
    let (decay, growth) = (1.0 / slope(&speeds), slope(&widths));
    println!("{cell_m} m cells: {over_law:.2?} of the law's speed, B {decay:.2}, {growth:.4}");
    Found {
        over_law,
        decay,
        growth,
    }
}

/// Goals that the estimate was built for.
fn assert_lawful(jet: &Found) {
    assert!((5.2..=6.6).contains(&jet.decay), "B is {:.2}", jet.decay);
    // 0.080 to 0.110; other processors round otherwise: seeds differ by 0.001.
    assert!(
        (0.078..=0.110).contains(&jet.growth),
        "it grows by {:.3}",
        jet.growth
    );
    // Of the law's speed, seen 0.70 to 0.83 and 0.85 to 0.92: low, and less so
    // on the way.
    let [near, far, _] = jet.over_law;
    assert!((0.58..1.1).contains(&near), "{near:.2} at 10 diameters");
    assert!((0.73..1.1).contains(&far), "{far:.2} at 20 diameters");
}

/// What the tank estimate is for: how a jet slows down and widens on its way, on
/// cells that mix it by its way. Near the outlet cells this large mix too early,
/// so the jet is as one that began some diameters further back: its speed lies
/// below the law's, and nears it on the way (the methods page has the figures).
#[test]
fn a_free_jet_decays_and_grows_by_the_law_on_coarse_cells() {
    let [coarse, fine] = [found(0.03, 20.0, 30.0), found(0.02, 20.0, 30.0)];
    for jet in [&coarse, &fine] {
        assert_lawful(jet);
    }
    // The goal is 15 % between cell sizes.
    let apart = coarse.over_law[1] / fine.over_law[1] - 1.0;
    assert!(apart.abs() < 0.15, "cells differ by {apart:.2}");
}

/// The same on cells that leave it to its own eddies: the goal, not met yet.
#[test]
#[ignore = "missed: on cells of 1.5 cm the jet widens too quickly, as that of the resolved tanks does; see METHODS"]
fn a_free_jet_decays_and_grows_by_the_law_on_finer_cells() {
    // For less time, since it takes so long: the jet has come past 26 diameters
    // by then, and not yet to 40.
    assert_lawful(&found(0.015, 12.0, 18.0));
}

//! A round jet in a box so wide that it is nearly free, against the law of a
//! free one, on cells of two sizes.
#![cfg(feature = "slow-tests")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use bommie_flow::Device;

use super::measured::free::{self, Found};

/// Solves the jet, with averages over the second of these after the first, in s.
fn found(cell_m: f64, times_s: [f64; 2]) -> Found {
    let found = free::solved(cell_m, times_s, &Device::Processor);
    println!(
        "free jet, {cell_m} m cells: {:.2?} of the law's speed and {:.2?} of its half width at 6, 10, 20, 30, 40 diameters, B \
         {:.2} ({}), growth {:.4} ({})",
        found.over_law,
        found.widths,
        found.decay,
        free::DECAY,
        found.growth,
        free::GROWTH
    );
    found
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
    // The goal, 0.9 to 1.1 of the law's speed from 20 to 30 diameters: seen 0.93
    // to 1.02.
    for over_law in &jet.over_law[2..4] {
        assert!((0.9..1.1).contains(over_law), "{:.2?}", jet.over_law);
    }
}

/// What the tank estimate is for: how a jet slows down and widens on its way, on
/// cells that mix it by its way.
#[test]
fn a_free_jet_decays_and_grows_by_the_law_on_coarse_cells() {
    let [coarse, fine] = [0.03, 0.02].map(|cell_m| found(cell_m, [20.0, 30.0]));
    for jet in [&coarse, &fine] {
        assert_lawful(jet);
    }
    // Ten diameters on as well where a cell is half an outlet: seen 0.95. Larger
    // ones mix too early (0.78), and nearer to the outlet both do (0.76 and 0.55
    // at six; the methods page says what stands in for it).
    let [_, near, ..] = fine.over_law;
    assert!((0.9..1.1).contains(&near), "{near:.2} at 10 diameters");
    let [_, near, ..] = coarse.over_law;
    assert!((0.65..1.1).contains(&near), "{near:.2} at 10 diameters");
    // The goal is 15 % between cell sizes.
    let apart = coarse.over_law[2] / fine.over_law[2] - 1.0;
    assert!(apart.abs() < 0.15, "cells differ by {apart:.2}");
}

/// The same on cells that leave it to its own eddies: the goal, not met yet.
#[test]
#[ignore = "missed: on cells of 1.5 cm the jet breaks up late and is too wide from 20 diameters on; see METHODS"]
fn a_free_jet_decays_and_grows_by_the_law_on_finer_cells() {
    // For less time, since it takes so long: the jet has come past 26 diameters
    // by then, and not yet to 40.
    assert_lawful(&found(0.015, [12.0, 18.0]));
}

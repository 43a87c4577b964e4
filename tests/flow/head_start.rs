//! Fine cells begin with the water of cells twice as large: it must be the same
//! tank that comes of it, sooner.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use bommie::flow::{FlowField, FlowOptions, FlowSetup, FlowSolver, solve};
use bommie::study::Study;
use glam::DVec3;

use crate::tanks::tank;

/// A jet along the front pane of 48 L, past a box of rock: one steady round.
fn setup(cell_m: f64, head_start: Option<[f64; 2]>) -> FlowSetup {
    let rock = [DVec3::new(18.0, 15.0, 0.0), DVec3::new(28.0, 23.0, 12.0)];
    let pump = (DVec3::new(3.0, 8.0, 18.0), DVec3::X, 3.0, 1_200.0);
    let scene = tank(DVec3::new(50.0, 32.0, 30.0), &[rock], &[pump]);
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let options = FlowOptions {
        cell_m: Some(cell_m),
        head_start,
        ..FlowOptions::default()
    };
    FlowSetup::new(&study, &options).expect("it can be set up")
}

fn solved(setup: FlowSetup) -> FlowField {
    solve(setup, &mut |_| true).expect("it is solved")
}

/// Two runs of one tank from different beginnings: each is as sure of its mean
/// speed and dead share as it says.
#[test]
fn the_water_is_the_same_however_it_began() {
    let default = FlowOptions::default().head_start;
    let [coarse, rest] = [default, None].map(|head_start| {
        let setup = setup(0.0125, head_start);
        assert_eq!(setup.begins_with_coarser_cells(), head_start.is_some());
        solved(setup).settling
    });
    println!("mean speed {coarse:?}, from rest {rest:?}");
    let widths = [coarse, rest].map(|of| of.mean_speed_half_width_m_s);
    let off = (coarse.mean_speed_m_s - rest.mean_speed_m_s).abs();
    assert!(
        off <= widths[0] + widths[1],
        "mean speeds are {off} m/s apart"
    );
    let widths = [coarse, rest].map(|of| of.dead_share_half_width);
    let off = (coarse.dead_share - rest.dead_share).abs();
    assert!(off <= widths[0] + widths[1], "dead shares are {off} apart");
}

/// What nobody looks at is not kept; the result must not know.
#[test]
fn a_run_that_is_watched_gives_what_one_alone_gives() {
    let alone = solved(setup(0.0125, Some([0.5, 0.4])));
    let mut watched =
        FlowSolver::begun(setup(0.0125, Some([0.5, 0.4])), &mut |_| true).expect("it begins");
    while !watched.is_done() {
        watched.advance(0.5).expect("it goes on");
    }
    let watched = watched.snapshot();
    assert_eq!(watched.speed_m_s, alone.speed_m_s, "to the last bit");
    assert_eq!(watched.settling, alone.settling);
}

/// Cells of 1.5 cm would begin on cells that know too little of jets; those of
/// 5 mm are what others are judged by and owe them nothing.
#[test]
fn only_cells_of_about_a_centimeter_begin_with_coarser_ones() {
    let default = FlowOptions::default().head_start;
    for (cell_m, is_begun) in [(0.015, false), (0.0125, true), (0.01, true), (0.005, false)] {
        let is = setup(cell_m, default).begins_with_coarser_cells();
        assert_eq!(is, is_begun, "cells of {cell_m} m");
    }
    let costs = [default, None].map(|start| setup(0.01, start).cell_updates_max());
    let ratio = costs[0] / costs[1];
    // Twice the spin-up on cells of 2 cm: a few percent of a run at most.
    assert!((1.0..1.1).contains(&ratio), "{ratio} times the updates");
}

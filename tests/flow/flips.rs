//! Tanks in which the flow may flip, and some in which it does not.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use bommie::flow::{FlowOptions, FlowSetup, RUNS, solve_runs};
use bommie::study::Study;
use glam::DVec3;

use crate::tanks::{Pump, tank};

/// A study of the first layout.
fn study(scene: &bommie::scene::Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

/// Share of the water of a bare tank of 120×60×50 cm, on cells of 3 cm, in
/// which several runs go different ways.
fn flip_share(pumps: &[Pump]) -> f64 {
    let scene = tank(DVec3::new(120.0, 60.0, 50.0), &[], pumps);
    let options = FlowOptions {
        cell_m: Some(0.03),
        ..FlowOptions::default()
    };
    let setup = FlowSetup::new(&study(&scene), &options).expect("it can be set up");
    let field = solve_runs(&setup, RUNS, &|_| true).expect("it is solved");
    assert_eq!(field.n_runs, RUNS, "all runs are in it");
    field.settling.flip_share
}

/// Jets that meet head on are known to lean to one side or the other for
/// minutes; the same pumps beside each other drive one steady round. The limits
/// lie far from both (the methods page has the figures).
#[test]
fn jets_that_meet_may_flip_and_jets_that_pass_do_not() {
    let at = |x: f64, y: f64| DVec3::new(x, y, 30.0);
    let meeting = flip_share(&[
        (at(5.0, 30.0), DVec3::X, 4.0, 4000.0),
        (at(115.0, 30.0), -DVec3::X, 4.0, 4000.0),
    ]);
    let passing = flip_share(&[
        (at(5.0, 12.0), DVec3::X, 4.0, 4000.0),
        (at(115.0, 48.0), -DVec3::X, 4.0, 4000.0),
    ]);
    println!("meeting {meeting:.3}, passing {passing:.3}");
    assert!(meeting > 0.25, "{meeting:.3} of the water flips");
    assert!(passing < 0.09, "{passing:.3} of the water flips");
}

/// One jet along a pane drives one steady round. Of a jet down the middle nothing
/// is asked: whether a real one leans for minutes is not known.
#[test]
fn a_jet_along_a_pane_does_not_flip() {
    let pane = flip_share(&[(DVec3::new(3.0, 10.0, 30.0), DVec3::X, 4.0, 6000.0)]);
    println!("along a pane {pane:.3}");
    assert!(pane < 0.09, "{pane:.3} of the water flips");
}

//! The worked stories: each asks a question, and its answer stays right.
//!
//! Method: the scene as it stands and with its answer, on coarse cells (4 cm)
//! and coarse light, so that all of them take seconds. Each pair differs by far
//! more than coarse cells are off.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::allow_attributes,
    reason = "prints what is seen; a broken story must stop it"
)]

use bommie_advice::{AdviceOptions, flow_figures};
use bommie_flow::{FlowField, FlowOptions, FlowSetup, solve};
use bommie_light::{LightOptions, LightSolver, Measured};
use bommie_model::catalog::Catalog;
use bommie_model::scene::Scene;
use bommie_model::study::Study;
use glam::DVec3;

fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("it has a layout")
}

fn story(text: &str) -> Scene {
    ron::from_str(text).expect("story reads")
}

fn flow(scene: &Scene) -> FlowField {
    let options = FlowOptions {
        cell_m: Some(0.04),
        spin_up_s: Some(20.0),
        average_s: Some([25.0, 25.0]),
        ..FlowOptions::default()
    };
    let setup = FlowSetup::new(&study(scene), &options).expect("sets up");
    solve(setup, &mut |_| true).expect("solves")
}

/// Speed 2 cm over the first coral, in cm/s.
fn over_coral(scene: &Scene) -> f64 {
    let coral = &scene.layouts[0].corals[0];
    let top = coral.at_cm + coral.facing.normalize() * (coral.size_cm.z + 2.0);
    flow(scene)
        .sample(top * 0.01)
        .map_or(0.0, |s| s.speed_m_s * 100.0)
}

/// PPFD on each coral, in µmol/m²/s.
fn light(scene: &Scene) -> Vec<f64> {
    let layout = &scene.layouts[0];
    let solver =
        LightSolver::new(&study(scene), &Measured::new(), &LightOptions::live()).expect("solves");
    let on = |coral: &bommie_model::scene::Coral| {
        let top = coral.at_cm + coral.facing.normalize() * (coral.size_cm.z + 0.5);
        solver.sample(top * 0.01, Some(coral.facing)).facing_umol
    };
    layout.corals.iter().map(on).collect()
}

fn flow_range(entry: &str) -> (f64, f64) {
    let range = &Catalog::built_in().entry(entry).expect("known").flow_cm_s;
    (range.low, range.high)
}

fn light_range(entry: &str) -> (f64, f64) {
    let range = &Catalog::built_in()
        .entry(entry)
        .expect("known")
        .light_ppfd_umol;
    (range.low, range.high)
}

/// Nano: the mushroom gets too much; throttled to 45 % it lies in its range.
#[test]
fn nano_throttle_the_pump() {
    let mut scene = story(include_str!("../../../scenes/stories/nano-60.ron"));
    let (low, high) = flow_range("rhodactis");
    let before = over_coral(&scene);
    scene.layouts[0].pumps[0].throttle = 0.45;
    let after = over_coral(&scene);
    println!("nano: {before:.1} -> {after:.1} cm/s of {low} to {high}");
    assert!(before > high, "too strong: {before} cm/s");
    assert!(after > low && after < high, "in range: {after} cm/s");
}

/// Lagoon: aimed up, the pump leaves the sand alone.
#[test]
fn lagoon_aim_the_pump_up() {
    let mut scene = story(include_str!("../../../scenes/stories/lagoon-sand.ron"));
    let moving = |scene: &Scene| {
        let figures = flow_figures(&flow(scene), &scene.tank, &AdviceOptions::default());
        figures.sand_at_risk_m2.unwrap_or(0.0) * 1e4
    };
    let before = moving(&scene);
    scene.layouts[0].pumps[0].tilt_deg = 8.0;
    let after = moving(&scene);
    println!("lagoon: {before:.0} -> {after:.0} cm² of sand moves");
    assert!(before > 100.0, "the jet digs: {before} cm²");
    assert!(
        after < 0.4 * before,
        "it lies still: {after} of {before} cm²"
    );
}

/// Wall: the left pump hung farther back blows behind the rock.
#[test]
fn wall_hang_the_pump_behind() {
    let mut scene = story(include_str!("../../../scenes/stories/wall-400.ron"));
    let behind = |scene: &Scene| {
        let field = flow(scene);
        let places = (0..120).map(|k| {
            let k = f64::from(k);
            let share = |step: f64| (0.5 + k * step).fract();
            let at = DVec3::new(
                30.0 + 70.0 * share(0.618),
                46.0 + 9.0 * share(0.755),
                6.0 + 16.0 * share(0.57),
            );
            field.sample(at * 0.01).map_or(0.0, |s| s.speed_m_s * 100.0)
        });
        places.sum::<f64>() / 120.0
    };
    let before = behind(&scene);
    scene.layouts[0].pumps[0].at_cm.y = 49.0;
    scene.layouts[0].pumps[0].at_cm.z = 16.0;
    let after = behind(&scene);
    println!("wall: {before:.1} -> {after:.1} cm/s behind the rock");
    assert!(
        after > 1.5 * before && after > 5.0,
        "{before} to {after} cm/s"
    );
}

/// Peninsula: lowered by 20 cm, the lamps reach the table.
#[test]
fn peninsula_lower_the_lamps() {
    let mut scene = story(include_str!("../../../scenes/stories/peninsula-1000.ron"));
    let (low, high) = light_range("acropora_table");
    let before = light(&scene)[0];
    for lamp in &mut scene.layouts[0].lamps {
        lamp.at_cm.z -= 20.0;
    }
    let after = light(&scene)[0];
    println!("peninsula: {before:.0} -> {after:.0} µmol/m²/s of {low} to {high}");
    assert!(before < low, "too dim: {before}");
    assert!(after > low && after < high, "in range: {after}");
}

/// Frag tray: raised by 25 cm at the same output, all three lie in range.
#[test]
fn tray_raise_the_lamp() {
    let mut scene = story(include_str!("../../../scenes/stories/frag-tray.ron"));
    let (low, high) = light_range("stylophora");
    let before = light(&scene);
    scene.layouts[0].lamps[0].at_cm.z += 25.0;
    let after = light(&scene);
    println!("tray: {before:.0?} -> {after:.0?} µmol/m²/s of {low} to {high}");
    assert!(
        before[1] > 1.5 * high,
        "too bright in the middle: {before:?}"
    );
    assert!(
        after.iter().all(|on| *on > low && *on < high),
        "all in range: {after:?}"
    );
}

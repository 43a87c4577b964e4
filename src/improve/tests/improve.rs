//! What can be done with what is there, on a demo.
//!
//! Goal: a plan without a purchase brings more corals into their ranges, by the
//! same solve that judged the tank as it stands. Method: the search as a keeper
//! runs it on the smallest demo, on coarse cells and one run, so that it takes
//! seconds; the plan's layout is then solved anew and must give what the plan
//! says.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::allow_attributes,
    reason = "prints the figures of the methods page; a broken demo must stop it"
)]

use std::collections::BTreeSet;

use bommie_advice::{AdviceInput, GearPane, Verdict, fit};
use bommie_flow::{FlowOptions, FlowSetup, solve};
use bommie_improve::search::{
    Anew, Fresh, Goal, ImproveError, ImproveOptions, Improvement, Lever, SolveError, improve,
};
use bommie_light::{LightOptions, LightSolver, Measured};
use bommie_model::scene::{Coral, Scene};
use bommie_model::study::Study;
use glam::DVec3;

fn demo(text: &str) -> Scene {
    ron::from_str(text).expect("demo reads")
}

fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("it has a layout")
}

fn solved(study: &Study, anew: Anew) -> Result<Fresh, SolveError> {
    let options = FlowOptions {
        cell_m: Some(0.035),
        spin_up_s: Some(20.0),
        average_s: Some([30.0, 30.0]),
        ..FlowOptions::default()
    };
    let light = LightSolver::new(study, &Measured::new(), &LightOptions::live())?;
    let surfaces = light.field(0.03, &|_| true);
    let flow = match anew {
        Anew::Light => None,
        Anew::All | Anew::Once => {
            let setup = FlowSetup::new(study, &options)?;
            Some(solve(setup, &mut |_| true)?)
        }
    };
    Ok(Fresh {
        flow,
        light,
        surfaces,
    })
}

fn search(study: &Study, options: &ImproveOptions) -> Result<Improvement, ImproveError> {
    let estimate = |study: &Study, anew: Anew, _: &mut dyn FnMut(f64) -> bool| solved(study, anew);
    improve((study, &Measured::new()), options, &estimate, &mut |_| true)
}

/// Corals with light and flow in range, counted anew.
fn counted(study: &Study) -> usize {
    let fresh = solved(study, Anew::All).expect("it is solved");
    let light_at = |at: DVec3, facing: DVec3| fresh.light.sample(at, Some(facing));
    let input = AdviceInput {
        flow: fresh.flow.as_ref(),
        light: Some(&fresh.surfaces),
        light_at: Some(&light_at),
        ..AdviceInput::of(study)
    };
    let in_range = |coral: &&Coral| {
        fit(&input, coral).is_some_and(|fit| {
            let mut of_water = fit.strips.iter().take(2);
            of_water.all(|strip| strip.verdict == Verdict::Good)
        })
    };
    study.layout().corals.iter().filter(in_range).count()
}

fn check(name: &str, text: &str) {
    let scene = demo(text);
    let study = study(&scene);
    let options = ImproveOptions::default();
    let found = search(&study, &options).expect("it is solved");
    println!(
        "{name}: {} of {} in range, {} weighed, {} solved",
        found.before.in_range(),
        found.before.corals.len(),
        found.n_weighed,
        found.n_solved
    );
    for plan in &found.plans {
        println!(
            "  {} -> {} in range, dead {:.1} -> {:.1} L",
            plan.before.in_range(),
            plan.after.in_range(),
            plan.before.dead_l,
            plan.after.dead_l
        );
        for deed in &plan.deeds {
            println!("    {deed:?}");
        }
    }
    let best = found.plans.first().expect("a plan without a purchase");
    assert!(best.buys.is_empty(), "nothing to buy: {:?}", best.deeds);
    assert!(best.gain() > 0, "more corals in range");
    let fresh = counted(&study.with_layout(best.layout.clone()));
    assert_eq!(fresh, best.after.in_range(), "a fresh solve says the same");
    for (i, a) in found.plans.iter().enumerate() {
        for b in &found.plans[i + 1..] {
            assert_ne!(a.deeds, b.deeds, "plans differ");
        }
    }
}

#[test]
fn window_seat_is_bettered_with_what_is_there() {
    check(
        "window seat",
        include_str!("../../../scenes/window-seat.ron"),
    );
}

#[test]
fn what_may_not_change_stays() {
    let scene = demo(include_str!("../../../scenes/harbour-office.ron"));
    let options = ImproveOptions {
        may: BTreeSet::from([Lever::Place]),
        ..ImproveOptions::default()
    };
    let layout = &scene.layouts[0];
    let found = search(&study(&scene), &options).expect("it is solved");
    for plan in found.plans {
        assert_eq!(plan.layout.pumps, layout.pumps, "pumps stay");
        assert_eq!(plan.layout.lamps, layout.lamps, "lamps stay");
        for deed in &plan.deeds {
            assert_eq!(deed.kind, "move", "{deed:?}");
        }
    }
    let mut bare = scene.clone();
    bare.layouts[0].corals.clear();
    let none = search(&study(&bare), &options);
    assert!(matches!(none, Err(ImproveError::NoCorals)), "{none:?}");
}

/// Pumps hang anew only on panes that were named, and two run in turn only if
/// that was allowed.
#[test]
fn gear_keeps_to_its_panes() {
    let scene = demo(include_str!("../../../scenes/window-seat.ron"));
    let study = study(&scene);
    let options = ImproveOptions {
        goal: Goal::Water,
        may: BTreeSet::from([Lever::Hang, Lever::Programme]),
        panes: BTreeSet::from([GearPane::Right]),
        ..ImproveOptions::default()
    };
    let found = search(&study, &options).expect("it is solved");
    assert!(found.n_weighed > 0, "places were weighed");
    for plan in &found.plans {
        for pump in &plan.layout.pumps {
            let own = (scene.layouts[0].pumps.iter()).find(|own| own.id == pump.id);
            let own = own.expect("no pump is new");
            let is_right = pump.at_cm.x > scene.tank.length_cm - 6.0;
            assert!(pump.at_cm == own.at_cm || is_right, "{:?}", pump.at_cm);
        }
        for deed in &plan.deeds {
            let kinds = ["hang", "turn", "programme"];
            assert!(kinds.contains(&deed.kind), "{deed:?}");
        }
    }
}

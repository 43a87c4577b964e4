//! What a mean hides of the flow over a coral: phases of the pumps' programs,
//! and jets that the cells of an estimate mix too early. Fields made by hand.

use bommie::advice::{AdviceOptions, Aspect, Certainty, Site, Strip, Verdict, fit_at};
use bommie::catalog::{Catalog, Entry};
use bommie::flow::{FlowField, FlowOptions, FlowSetup, PumpPhase, solve};
use bommie::light::SurfaceOwner;
use bommie::scene::finding::{Figure, Note};
use bommie::scene::{Layout, Mount, Programme, Pump, PumpKind, Scene};
use bommie::study::Study;
use glam::DVec3;

use crate::hand;

/// Likes 5 to 18 cm/s.
fn torch() -> &'static Entry {
    let entry = Catalog::built_in().entry("euphyllia_torch").expect("entry");
    let range = (entry.flow_cm_s.low, entry.flow_cm_s.high);
    assert_eq!(range, (5.0, 18.0), "what the tests below build on");
    entry
}

fn pump(id: u32, at_cm: (f64, f64, f64), programme: Programme) -> Pump {
    Pump {
        id,
        name: "pump".to_owned(),
        kind: PumpKind::Nozzle,
        at_cm: DVec3::from(at_cm),
        turn_deg: 0.0,
        tilt_deg: 0.0,
        flow_lph: 3000.0,
        outlet_cm: 3.5,
        throttle: 1.0,
        programme,
        by_hour: Vec::new(),
        power_w: None,
        guarded: true,
        measured: None,
        locked: false,
    }
}

/// The flow strip of a torch 5 cm high whose base is at a place.
fn strip(scene: &Scene, field: &FlowField, at_m: DVec3) -> Strip {
    strip_of(torch(), scene, field, at_m)
}

/// The same of another coral.
fn strip_of(entry: &Entry, scene: &Scene, field: &FlowField, at_m: DVec3) -> Strip {
    let options = AdviceOptions::default();
    let input = hand::input(scene, Some(field), None, &options);
    let site = Site {
        at_m,
        normal: DVec3::Z,
        on: SurfaceOwner::Sand,
        size_m: DVec3::new(0.05, 0.05, 0.05),
        mount: Mount::Sand,
        own: None,
    };
    let fit = fit_at(&input, entry, &site);
    let mut strips = fit.strips.into_iter();
    strips
        .find(|strip| strip.what == Aspect::Flow)
        .expect("flow")
}

/// Two pumps far from the coral that take turns, and the water of each phase.
fn in_turn(period_s: f64, speeds_m_s: [f32; 2]) -> (Scene, FlowField) {
    let turn = |turn| Programme::Alternate {
        set: 1,
        period_s,
        turn,
        of: 2,
    };
    let scene = hand::scene(Layout {
        pumps: vec![
            pump(1, (5.0, 5.0, 30.0), turn(0)),
            pump(2, (5.0, 45.0, 30.0), turn(1)),
        ],
        ..Layout::default()
    });
    let mut field = hand::even_flow(0.5 * (speeds_m_s[0] + speeds_m_s[1]));
    field.phases = (speeds_m_s.iter().zip(1..))
        .map(|(speed, id)| PumpPhase {
            running: vec![id],
            share: 0.5,
            speed_m_s: field
                .speed_m_s
                .iter()
                .map(|of| of.signum() * speed)
                .collect(),
        })
        .collect();
    (scene, field)
}

const PLACE_M: DVec3 = DVec3::new(0.6, 0.25, 0.04);

#[test]
fn turns_within_the_range_are_good_and_say_from_what_to_what() {
    let (scene, field) = in_turn(600.0, [0.06, 0.16]);
    let strip = strip(&scene, &field, PLACE_M);
    assert_eq!(strip.verdict, Verdict::Good, "{strip:?}");
    let words = hand::speaker(&scene).strip(&strip, torch());
    assert!(
        words.contains("Over the pumps' program its mean goes from 6.0 to 16.0 cm/s."),
        "{words}"
    );
}

#[test]
fn a_blast_in_one_phase_counts_though_the_mean_is_right() {
    let (scene, field) = in_turn(10.0, [0.04, 0.24]);
    let strip = strip(&scene, &field, PLACE_M);
    assert_eq!(strip.value.map(f64::round), Some(14.0), "the mean is right");
    assert_eq!(strip.verdict, Verdict::Fair, "24 of at most 18: {strip:?}");
    assert!(strip.notes.contains(&Note::FastPhase), "{:?}", strip.notes);
    let words = hand::speaker(&scene).strip(&strip, torch());
    assert!(words.contains("the mean is right, but"), "{words}");
    assert!(words.contains("from 4.0 to 24.0 cm/s"), "{words}");
    let (scene, field) = in_turn(10.0, [0.0, 0.30]);
    let strip = self::strip(&scene, &field, PLACE_M);
    assert_eq!(strip.verdict, Verdict::Poor, "far above: {strip:?}");
}

#[test]
fn a_lull_counts_only_where_it_lasts() {
    let (scene, field) = in_turn(600.0, [0.02, 0.14]);
    let short = strip(&scene, &field, PLACE_M);
    assert_eq!(short.verdict, Verdict::Good, "rests are what turns are for");
    let (scene, field) = in_turn(4.0 * 3600.0, [0.02, 0.14]);
    let long = strip(&scene, &field, PLACE_M);
    assert!(long.notes.contains(&Note::SlowPhase), "{:?}", long.notes);
    assert!(long.verdict < Verdict::Good, "two hours at 2: {long:?}");
    let words = hand::speaker(&scene).strip(&long, torch());
    assert!(words.contains("for an hour or more"), "{words}");
}

/// From 6 to 30 diameters on a jet's axis the speed that a coral is judged by
/// is never less than the law of a free jet, and at most a tenth above it,
/// however much the cells of the estimate mix it: 0.4 of the law and less are
/// measured near outlets (see the methods page).
#[test]
fn a_jet_is_never_told_to_be_slower_than_its_law() {
    let outlet_m = 0.035;
    let exit_m_s = 3000.0 / 3.6e6 / (std::f64::consts::FRAC_PI_4 * outlet_m * outlet_m);
    for diameters in [6.0, 10.0, 15.0, 20.0, 25.0] {
        let way_m = diameters * outlet_m;
        // Source: Hussein, Capp & George 1994, J. Fluid Mech. 258:31.
        let law_m_s = 5.9 * exit_m_s / diameters;
        let jet = pump(1, (5.0, 25.0, 11.0), Programme::Steady);
        let scene = hand::scene(Layout {
            pumps: vec![jet],
            ..Layout::default()
        });
        for share in [0.05, 0.3] {
            let field = hand::even_flow((share * law_m_s) as f32);
            let strip = strip(&scene, &field, DVec3::new(0.05 + way_m, 0.25, 0.04));
            let told = strip.others.iter().find(|of| of.figure == Figure::JetSpeed);
            let told_m_s = told.expect("it is told of").value / 100.0;
            let ratio = told_m_s / law_m_s;
            assert!((0.99..1.1).contains(&ratio), "{ratio:.3} of the law");
            assert!(strip.verdict < Verdict::Good, "{diameters}: {strip:?}");
            let words = hand::speaker(&scene).strip(&strip, torch());
            assert!(words.contains("in a pump's jet"), "{words}");
            if strip.notes.contains(&Note::InJet) {
                assert_eq!(strip.certainty, Certainty::Check, "by a law alone");
            }
        }
    }
}

#[test]
fn a_jet_says_nothing_where_the_estimate_is_faster_or_rock_stops_it() {
    let jet = pump(1, (5.0, 25.0, 11.0), Programme::Steady);
    let at_m = DVec3::new(0.5, 0.25, 0.04);
    let mut layout = Layout {
        pumps: vec![jet],
        ..Layout::default()
    };
    let told = |layout: &Layout, speed_m_s: f32| {
        let scene = hand::scene(layout.clone());
        let strip = strip(&scene, &hand::even_flow(speed_m_s), at_m);
        strip.others.iter().any(|of| of.figure == Figure::JetSpeed)
    };
    assert!(told(&layout, 0.1), "in its way");
    assert!(!told(&layout, 0.6), "the estimate is faster");
    let rock = hand::block(9, "wall", (25.0, 25.0, 0.0), (6.0, 30.0, 30.0));
    layout.rocks.push(rock);
    assert!(!told(&layout, 0.1), "behind rock");
}

/// A settled estimate errs by some factor at each place: what lies just outside of a
/// range by it may well lie within, and the other way round.
#[test]
fn water_near_the_end_of_a_range_is_only_worth_a_look() {
    let scene = hand::scene(Layout {
        pumps: vec![pump(1, (5.0, 15.0, 25.0), Programme::Steady)],
        ..Layout::default()
    });
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let options = FlowOptions {
        cell_m: Some(0.03),
        ..FlowOptions::default()
    };
    let setup = FlowSetup::new(&study, &options).expect("it can be set up");
    let mut field = solve(setup, &mut |_| true).expect("it is solved");
    field.settling.settled = true;
    let at_m = DVec3::new(0.6, 0.3, 0.04);
    let speed_cm_s = strip(&scene, &field, at_m).value.expect("water");
    let certainty = |low: f64, high: f64| {
        let mut entry = torch().clone();
        let range = &mut entry.flow_cm_s;
        (range.low, range.high) = (low * speed_cm_s, high * speed_cm_s);
        range.optimum = (range.low * range.high).sqrt();
        strip_of(&entry, &scene, &field, at_m).certainty
    };
    assert_eq!(certainty(4.0, 16.0), Certainty::Likely, "far too slow");
    assert_eq!(certainty(0.02, 0.1), Certainty::Likely, "far too fast");
    assert_eq!(certainty(0.2, 5.0), Certainty::Likely, "well within");
    assert_eq!(certainty(1.02, 4.0), Certainty::Check, "hardly too slow");
    assert_eq!(certainty(0.95, 1.05), Certainty::Check, "a range so narrow");
}

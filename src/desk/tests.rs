//! Goal: whatever a keeper does, in whatever order and however fast, a result
//! that is not marked old is of what is looked at, and once all rests there is
//! one of everything. Method: random edits, undo and switches on a small tank
//! with coarse cells; what is shown against what is worked out from nothing.

use std::sync::Arc;
use std::time::{Duration, Instant};

use glam::DVec3;
use proptest::prelude::*;

use super::{Action, Change, Command, Desk, FlowStatus, LightStatus};
use crate::advice::{self, AdviceInput};
use crate::document::Document;
use crate::flow::{FlowOptions, FlowSetup};
use crate::light::{LightOptions, LightSolver, Measured};
use crate::scene::Scene;

/// Coarse cells: a run takes some ten milliseconds.
const CELL_M: f64 = 0.04;
/// Far longer than all of a small tank takes, also on a machine that does much
/// other work: only a hang fails by it.
const PATIENCE: Duration = Duration::from_mins(15);

/// A 32 × 24 × 24 cm tank with a rock, a pump, a lamp and a coral, twice.
fn scene() -> Scene {
    let layout = |name: &str, x_cm: f64| {
        format!(
            r#"(
                name: "{name}",
                rocks: [(
                    id: 1, at_cm: ({x_cm:.1}, 12.0, 0.0),
                    plan: (points_cm: [(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)]),
                    front: (points_cm: [(-5.0, 0.0), (5.0, 0.0), (5.0, 12.0), (-5.0, 12.0)]),
                )],
                pumps: [(id: 2, at_cm: (3.0, 12.0, 16.0), flow_lph: 1200.0, outlet_cm: 3.0)],
                lamps: [(
                    id: 3, name: "", body: Disc(diameter_cm: 4.0), at_cm: (16.0, 12.0, 40.0),
                    output: Photons(umol_s: 30.0), spread: Beam(full_angle_deg: 90.0),
                    day: (hours: 10.0, ramp_hours: 1.0),
                )],
                corals: [(
                    id: 4, entry: "euphyllia_torch", at_cm: ({x_cm:.1}, 12.0, 12.0),
                    size_cm: (4.0, 4.0, 4.0), on: Rock(1),
                )],
            )"#
        )
    };
    let text = format!(
        r#"(
            format: 1, name: "small",
            tank: (length_cm: 32.0, width_cm: 24.0, height_cm: 28.0, water_cm: 24.0,
                sand: (depth_cm: 2.0, grain_mm: 2.0, reflectance: 0.5)),
            layouts: [{}, {}],
        )"#,
        layout("left", 14.0),
        layout("right", 20.0)
    );
    ron::from_str(&text).expect("the scene reads")
}

/// What a keeper may do next.
#[derive(Clone, Debug)]
enum Deed {
    MoveRock(i8),
    TurnPump(i8),
    DimLamp(u8),
    MoveCoral(i8),
    Rename,
    Undo,
    Redo,
    Show(usize),
    Ahead(bool),
    /// Frames that go by.
    Wait(u8),
}

fn deed() -> impl Strategy<Value = Deed> {
    prop_oneof![
        (-2..=2_i8).prop_map(Deed::MoveRock),
        (-3..=3_i8).prop_map(Deed::TurnPump),
        (2..=10_u8).prop_map(Deed::DimLamp),
        (-2..=2_i8).prop_map(Deed::MoveCoral),
        Just(Deed::Rename),
        Just(Deed::Undo),
        Just(Deed::Redo),
        (0..2_usize).prop_map(Deed::Show),
        any::<bool>().prop_map(Deed::Ahead),
        (1..40_u8).prop_map(Deed::Wait),
    ]
}

fn edit(desk: &mut Desk, change: Change) {
    desk.run(Command::Edit("edit".to_owned(), change));
}

fn act(desk: &mut Desk, deed: &Deed) {
    let sideways = |cm: i8| DVec3::new(f64::from(cm), 0.0, 0.0);
    let put = |item| Change::Put(Box::new(item));
    match *deed {
        Deed::MoveRock(cm) => edit(desk, Change::Shift(vec![1], sideways(cm))),
        Deed::MoveCoral(cm) => edit(desk, Change::Shift(vec![4], sideways(cm))),
        Deed::TurnPump(tens) => {
            let mut pump = desk.layout().pumps[0].clone();
            pump.turn_deg += 10.0 * f64::from(tens);
            edit(desk, put(crate::scene::Item::Pump(pump)));
        }
        Deed::DimLamp(tenths) => {
            let mut lamp = desk.layout().lamps[0].clone();
            lamp.dim = f64::from(tenths) / 10.0;
            edit(desk, put(crate::scene::Item::Lamp(lamp)));
        }
        Deed::Rename => {
            let mut rock = desk.layout().rocks[0].clone();
            rock.name.push('x');
            edit(desk, put(crate::scene::Item::Rock(rock)));
        }
        Deed::Undo => desk.run(Command::Action(Action::Undo)),
        Deed::Redo => desk.run(Command::Action(Action::Redo)),
        Deed::Show(idx) => desk.run(Command::ShowLayout(idx)),
        Deed::Ahead(is_ahead) => {
            let mut settings = desk.settings().clone();
            settings.months = if is_ahead { 12.0 } else { 0.0 };
            desk.run(Command::SetSettings(Box::new(settings)));
        }
        Deed::Wait(frames) => {
            for _ in 0..frames {
                let known = known(desk);
                desk.tend();
                check_kept(desk, known);
                std::thread::sleep(Duration::from_millis(2));
            }
        }
    }
}

/// Whether water and light of what is looked at are shown.
fn known(desk: &Desk) -> [bool; 2] {
    let results = desk.results();
    [!results.tank_is_old(), !results.light_is_old()]
}

/// What was known stays: no late answer about something else takes its place.
fn check_kept(desk: &Desk, before: [bool; 2]) {
    for (was, is) in before.into_iter().zip(known(desk)) {
        assert!(
            is || !was,
            "a late answer was put in the place of a new one"
        );
    }
}

/// Nothing that is not marked old is of anything but what is looked at.
fn check(desk: &Desk) {
    let (results, study) = (desk.results(), desk.shown_study());
    if !results.tank_is_old() {
        let options = FlowOptions {
            cell_m: Some(CELL_M),
            ..FlowOptions::default()
        };
        let setup = FlowSetup::new(study, &options).expect("it can be set up");
        let tank = results.tank.as_ref().expect("it is there");
        assert_eq!(tank.kind, setup.kinds(), "water, rock and coral of today");
    }
    let flow = results.flow_status();
    let has_answer = matches!(flow, FlowStatus::Settled | FlowStatus::Unsettled);
    assert!(!(has_answer && results.tank_is_old()), "stuck on {flow:?}");
    let light = results.light_status();
    let has_answer = matches!(light, LightStatus::Coarse | LightStatus::Fine);
    assert!(
        !(has_answer && results.light_is_old()),
        "stuck on {light:?}"
    );
}

fn rest(desk: &mut Desk) {
    let start = Instant::now();
    loop {
        desk.tend();
        let flow = desk.results().flow_status();
        let is_known = matches!(flow, FlowStatus::Settled | FlowStatus::Unsettled)
            && desk.results().light_status() == LightStatus::Fine;
        if is_known && !desk.is_busy() {
            return;
        }
        assert!(start.elapsed() < PATIENCE, "it never rests: {flow:?}");
        std::thread::sleep(Duration::from_millis(2));
    }
}

/// All that is shown at rest against what is worked out from nothing.
fn check_at_rest(desk: &Desk) {
    check(desk);
    let (results, study) = (desk.results(), desk.shown_study());
    assert!(!results.tank_is_old() && !results.light_is_old(), "all new");
    let solver = LightSolver::new(study, &Measured::new(), &LightOptions::default());
    let anew = solver.expect("it solves").field(0.015, &|_| true);
    let shown = results.light.as_ref().expect("it is there");
    assert_eq!(shown.patches.len(), anew.patches.len(), "the same patches");
    for (a, b) in shown.patches.iter().zip(&anew.patches) {
        // Sums in another order of threads.
        let off = (a.ppfd_umol - b.ppfd_umol).abs();
        assert!(off <= 1e-6 * b.ppfd_umol.max(1.0), "{a:?} is not {b:?}");
    }
    let (flow, light) = (results.tank.as_deref(), results.light.as_deref());
    // Of water that nothing moves there is no advice.
    let flow = flow.filter(|_| study.moves_water());
    let solver = results.light_solver.as_ref().expect("it is there");
    let light_at = |at_m, facing| solver.sample(at_m, Some(facing));
    let input = AdviceInput {
        flow,
        light,
        light_at: Some(&light_at),
        ..AdviceInput::of(study)
    };
    let fits = study.layout().corals.iter();
    let fits: Vec<_> = fits
        .filter_map(|coral| Some((coral.id, advice::fit(&input, coral)?)))
        .collect();
    assert_eq!(*results.fits, fits, "fits of these very fields");
    // Looked at ahead, growth is dated from today's water, which may be kept.
    if desk.settings().months == 0.0 {
        let mut findings = advice::findings(&input);
        findings.extend(advice::lamp_findings(study.layout(), solver.notes()));
        advice::sort_worst_first(&mut findings);
        assert_eq!(*results.findings, findings, "findings of these very fields");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, ..ProptestConfig::default() })]

    #[test]
    fn no_result_outlives_what_it_was_computed_from(
        deeds in proptest::collection::vec(deed(), 1..10),
    ) {
        let mut desk = Desk::new(Document::new(scene(), None), Arc::new(|| {})).with_cells(CELL_M);
        for deed in &deeds {
            act(&mut desk, deed);
            check(&desk);
            let known = known(&desk);
            desk.tend();
            check_kept(&desk, known);
            check(&desk);
        }
        rest(&mut desk);
        check_at_rest(&desk);
    }
}

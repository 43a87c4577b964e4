//! The pump search with the real flow engine, on a small tank and few
//! candidates: what it promises is what one gets.

use bommie::advice::{
    AdviceOptions, GearPane, ProposalOptions, PumpSize, flow_figures, other_hangs, propose_pumps,
};
use bommie::flow::{FlowError, FlowOptions, FlowSetup, solve_runs, solve_runs_under};
use bommie::scene::Scene;
use bommie::study::Study;

/// A 60 × 40 × 40 cm tank with one weak pump behind a block of rock.
const SCENE: &str = r#"(
    format: 1, name: "corner",
    tank: (length_cm: 60.0, width_cm: 40.0, height_cm: 45.0, water_cm: 40.0,
        sand: (depth_cm: 4.0, grain_mm: 2.0, reflectance: 0.5)),
    layouts: [(
        name: "one",
        rocks: [(
            id: 1, at_cm: (24.0, 20.0, 0.0),
            plan: (points_cm: [(-6.0, -12.0), (6.0, -12.0), (6.0, 12.0), (-6.0, 12.0)]),
            front: (points_cm: [(-6.0, 0.0), (6.0, 0.0), (6.0, 28.0), (-6.0, 28.0)]),
        )],
        pumps: [(id: 2, at_cm: (4.0, 20.0, 20.0), flow_lph: 1000.0, outlet_cm: 3.0)],
    )],
)"#;

#[test]
fn a_proposal_keeps_its_promise() {
    let scene: Scene = ron::from_str(SCENE).expect("the scene reads");
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let options = ProposalOptions {
        count: 2,
        sizes: vec![PumpSize {
            flow_lph: 1500.0,
            outlet_cm: 3.5,
        }],
        screen_cell_m: 0.05,
        cell_m: Some(0.04),
        runs: 2,
        screen_max: 16,
        verify_max: 3,
        ..ProposalOptions::default()
    };
    let mut last = 0.0;
    let found = propose_pumps(&study, &options, None, &mut |share| {
        assert!(
            (last..=1.0).contains(&share),
            "progress from {last} to {share}"
        );
        last = share;
        true
    })
    .expect("the search runs");
    assert!(!found.is_empty(), "a second pump helps behind the rock");
    let figures = |pump| {
        let mut layout = study.layout().clone();
        layout.pumps.extend(pump);
        let wish = FlowOptions {
            cell_m: options.cell_m,
            ..FlowOptions::default()
        };
        let setup = FlowSetup::new(&study.with_layout(layout), &wish).expect("the layout sets up");
        let field = solve_runs(&setup, options.runs, &|_| true).expect("the layout solves");
        flow_figures(&field, &scene.tank, &AdviceOptions::default())
    };
    for proposal in &found {
        assert!(
            proposal.after.dead_l < proposal.before.dead_l,
            "{:?}",
            proposal.pump
        );
        assert_eq!(figures(None), proposal.before, "as it stands");
        assert_eq!(
            figures(Some(proposal.pump.clone())),
            proposal.after,
            "{:?}",
            proposal.pump
        );
    }
}

#[test]
fn runs_under_a_control_are_the_same_runs_and_stop_with_a_no() {
    let scene: Scene = ron::from_str(SCENE).expect("the scene reads");
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let wish = FlowOptions {
        cell_m: Some(0.05),
        spin_up_s: Some(2.0),
        average_s: Some([2.0, 2.0]),
        ..FlowOptions::default()
    };
    let setup = FlowSetup::new(&study, &wish).expect("the layout sets up");
    let plain = solve_runs(&setup, 2, &|_| true).expect("it solves");
    // On a pool of one thread, asked from that very thread, nobody waits for
    // ever.
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1);
    let pool = pool.build().expect("a pool");
    let under = pool.install(|| solve_runs_under(&setup, 2, &mut |_| true));
    assert_eq!(
        under.expect("it solves").speed_m_s,
        plain.speed_m_s,
        "the same to the last bit"
    );
    // A minute of tank time leaves time to be asked.
    let long = FlowOptions {
        spin_up_s: Some(600.0),
        ..wish
    };
    let setup = FlowSetup::new(&study, &long).expect("the layout sets up");
    let mut asked = 0;
    let stopped = solve_runs_under(&setup, 2, &mut |_| {
        asked += 1;
        false
    });
    assert!(
        matches!(stopped, Err(FlowError::Cancelled)),
        "{asked} times"
    );
    assert_eq!(asked, 1, "not asked again");
}

/// Where a pump that is there could hang instead: on the named panes, clear of
/// rock and other gear, apart from where it hangs and from each other.
#[test]
fn other_places_for_a_pump_are_free_and_apart() {
    for demo in bommie::storage::demos() {
        let scene = bommie::storage::parse(demo.text, demo.file)
            .expect("reads")
            .scene;
        let study = Study::with_built_in(&scene, 0).expect("a layout");
        let tank = &scene.tank;
        for (idx, own) in study.layout().pumps.iter().enumerate() {
            let found = other_hangs(&study, idx, &[GearPane::Left], 5);
            assert!(!found.is_empty(), "{}: the left pane has room", demo.file);
            for (k, pump) in found.iter().enumerate() {
                assert_eq!(pump.id, own.id, "the same pump");
                assert!(pump.at_cm.x < 6.0, "on the left: {}", pump.at_cm);
                assert!(pump.at_cm.y > 0.0 && pump.at_cm.y < tank.width_cm);
                assert!(pump.at_cm.z > tank.sand.depth_cm && pump.at_cm.z < tank.water_cm);
                let near = study.rockwork().nearest(pump.at_cm / 100.0);
                assert!(near.is_none_or(|(way_m, _)| way_m > 0.04), "clear of rock");
                let others = found.iter().take(k).chain([own]);
                for other in others {
                    let way_cm = other.at_cm.distance(pump.at_cm);
                    assert!(way_cm > 7.0, "{way_cm} cm from another place");
                }
            }
        }
    }
}

//! The pump search with the real flow engine, on a small tank and few
//! candidates: what it promises is what one gets.

use bommie::advice::{AdviceOptions, ProposalOptions, PumpSize, flow_figures, propose_pumps};
use bommie::flow::{FlowOptions, FlowSetup, solve};
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
        cell_m: 0.04,
        screen_max: 16,
        verify_max: 2,
    };
    let mut last = 0.0;
    let found = propose_pumps(&study, &options, &mut |share| {
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
            cell_m: Some(options.cell_m),
            ..FlowOptions::default()
        };
        let setup = FlowSetup::new(&study.with_layout(layout), &wish).expect("the layout sets up");
        let field = solve(setup, &mut |_| true).expect("the layout solves");
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

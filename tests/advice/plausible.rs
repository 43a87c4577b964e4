//! Mistakes of a scene: goal, that what is planted is found and nothing else.
//! Method: a sound tank, mistakes planted one by one and five at a time, and
//! the demos, which have none.

use std::collections::BTreeSet;

use bommie::advice::{AdviceInput, Kind, findings, mistakes};
use bommie::scene::finding::{Finding, Note};
use bommie::scene::{Scene, Support};
use bommie::study::Study;
use bommie::units::UnitSystem;
use bommie::words::Speaker;
use glam::DVec3;

/// A tank of 120 × 60 × 55 cm with two rocks, two pumps that take turns, a
/// lamp, three corals and an anemone far from both pumps.
const SOUND: &str = r#"(
    format: 1, name: "sound",
    tank: (length_cm: 120.0, width_cm: 60.0, height_cm: 55.0, water_cm: 50.0,
        sand: (depth_cm: 4.0, grain_mm: 1.0, reflectance: 0.5)),
    layouts: [(
        name: "one",
        rocks: [
            (id: 1, name: "left block", at_cm: (35.0, 30.0, 0.0),
                plan: (points_cm: [(-12.0, -10.0), (12.0, -10.0), (12.0, 10.0), (-12.0, 10.0)]),
                front: (points_cm: [(-12.0, 0.0), (12.0, 0.0), (12.0, 20.0), (-12.0, 20.0)],
                    openings: [[(-4.0, 0.0), (4.0, 0.0), (4.0, 9.0), (-4.0, 9.0)]])),
            (id: 2, name: "right block", at_cm: (85.0, 30.0, 0.0), rounding_cm: 2.0,
                plan: (points_cm: [(-12.0, -10.0), (12.0, -10.0), (12.0, 10.0), (-12.0, 10.0)]),
                front: (points_cm: [(-12.0, 0.0), (12.0, 0.0), (12.0, 20.0), (-12.0, 20.0)])),
        ],
        pumps: [
            (id: 3, name: "left pump", at_cm: (4.0, 15.0, 36.0), flow_lph: 3000.0, outlet_cm: 4.0,
                programme: Alternate(set: 1, period_s: 60.0, turn: 0, of: 2)),
            (id: 4, name: "right pump", at_cm: (116.0, 15.0, 36.0), turn_deg: 180.0, flow_lph: 3000.0,
                outlet_cm: 4.0, programme: Alternate(set: 1, period_s: 60.0, turn: 1, of: 2)),
        ],
        lamps: [(id: 5, name: "panel", body: Panel(length_cm: 60.0, width_cm: 20.0), at_cm: (60.0, 30.0, 75.0),
            output: Reading(at_cm: (60.0, 30.0, 30.0), ppfd_umol: 200.0))],
        corals: [
            (id: 6, entry: "caulastraea", at_cm: (30.0, 25.0, 20.0), size_cm: (5.0, 5.0, 4.0), mount: Plug, on: Rock(1)),
            (id: 7, entry: "favites", at_cm: (85.0, 30.0, 20.0), size_cm: (6.0, 6.0, 5.0), mount: Putty, on: Rock(2)),
            (id: 8, entry: "fungia", at_cm: (60.0, 15.0, 4.0), size_cm: (7.0, 7.0, 3.0), mount: Loose, on: Sand),
            (id: 9, entry: "entacmaea", at_cm: (43.0, 36.0, 20.0), size_cm: (6.0, 6.0, 4.0), mount: Foot, on: Rock(1)),
        ],
    )],
)"#;

/// A mistake in words.
fn told(study: &Study, mistake: &Finding) -> String {
    Speaker::new(study.scene(), study.layout(), UnitSystem::Metric).finding(mistake)
}

fn sound() -> Scene {
    ron::from_str(SOUND).expect("the scene reads")
}

fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

/// Tag and first item of each mistake.
fn found(scene: &Scene) -> BTreeSet<(&'static str, u32)> {
    let all = mistakes(&study(scene));
    let set: BTreeSet<_> = all
        .iter()
        .map(|m| (m.notes[0].tag(), m.item().expect("an item")))
        .collect();
    assert_eq!(set.len(), all.len(), "each is told once: {all:#?}");
    set
}

type Plant = (&'static str, u32, fn(&mut Scene));

/// Every mistake, each apart from the others so that any can be combined.
const PLANTS: [Plant; 14] = [
    ("floats", 1, |s| {
        s.layouts[0].rocks[0].at_cm.z = 8.0;
        s.layouts[0].corals[0].at_cm.z = 28.0;
        s.layouts[0].corals[3].at_cm.z = 28.0;
    }),
    ("rounding_too_large", 2, |s| {
        s.layouts[0].rocks[1].rounding_cm = 11.0;
    }),
    ("opening_too_large", 2, |s| {
        let front = &mut s.layouts[0].rocks[1].front;
        front.openings = vec![
            [(-13.0, -1.0), (13.0, -1.0), (13.0, 9.0), (-13.0, 9.0)]
                .map(Into::into)
                .to_vec(),
        ];
        // What is left is a slab in the water, which another mistake would be.
        s.layouts[0].rocks[1].at_cm.z = -9.0;
        s.layouts[0].corals[1].at_cm.z = 11.0;
    }),
    ("inside_rock", 6, |s| s.layouts[0].corals[0].at_cm.z -= 6.0),
    ("outside_water", 7, |s| {
        s.layouts[0].corals[1].at_cm = DVec3::new(85.0, 30.0, 60.0);
    }),
    ("off_mount", 7, |s| s.layouts[0].corals[1].at_cm.z += 5.0),
    ("under_sand", 8, |s| s.layouts[0].corals[2].at_cm.z = 0.0),
    ("through_pane", 8, |s| s.layouts[0].corals[2].at_cm.y = 1.5),
    ("in_one_place", 8, |s| {
        let mut other = s.layouts[0].corals[2].clone();
        (other.id, other.at_cm.x) = (30, other.at_cm.x + 1.0);
        s.layouts[0].corals.push(other);
    }),
    ("outlet_out_of_water", 3, |s| {
        s.layouts[0].pumps[0].at_cm.z = 49.0;
    }),
    ("outlet_blocked", 4, |s| {
        s.layouts[0].pumps[1].turn_deg = 0.0;
    }),
    ("alternates_alone", 3, |s| {
        s.layouts[0].pumps[1].programme = bommie::scene::Programme::Steady;
    }),
    ("lamp_absurd", 5, |s| {
        s.layouts[0].lamps[0].output = bommie::scene::Output::Reading {
            at_cm: DVec3::new(60.0, 30.0, 10.0),
            ppfd_umol: 4500.0,
        };
    }),
    ("intake_unguarded", 4, |s| {
        s.layouts[0].corals[3].at_cm = DVec3::new(100.0, 20.0, 4.0);
        s.layouts[0].corals[3].on = Support::Sand;
    }),
];

#[test]
fn a_sound_scene_has_none_and_each_mistake_is_found_alone() {
    assert!(found(&sound()).is_empty(), "{:?}", found(&sound()));
    for (tag, id, plant) in PLANTS {
        let mut scene = sound();
        plant(&mut scene);
        let expected = BTreeSet::from([(tag, id)]);
        assert_eq!(found(&scene), expected, "planted: {tag}");
        let study = study(&scene);
        for mistake in mistakes(&study) {
            let text = told(&study, &mistake);
            assert!(text.len() > 20 && text.ends_with('.'), "{text:?}");
            let most = DVec3::new(120.0, 60.0, 55.0);
            let (low, at, high) = (
                mistake.place.low_cm,
                mistake.place.at_cm,
                mistake.place.high_cm,
            );
            for corner in [low, at, high] {
                let inside = corner.cmpge(DVec3::ZERO).all() && corner.cmple(most).all();
                assert!(inside, "{tag} lies at {corner}");
            }
        }
    }
}

#[test]
fn any_five_planted_mistakes_are_exactly_the_five_that_are_told() {
    // Every set of five that touches no item twice; hundreds, so every 29th.
    let mut n = 0;
    for bits in 0_u32..(1 << PLANTS.len()) {
        let chosen: Vec<&Plant> = (0..PLANTS.len())
            .filter(|i| bits >> i & 1 == 1)
            .map(|i| &PLANTS[i])
            .collect();
        let ids: BTreeSet<u32> = chosen.iter().map(|(_, id, _)| *id).collect();
        // A rock that moves takes the place of its corals with it.
        let moves_both =
            (ids.contains(&1) && ids.contains(&6)) || (ids.contains(&2) && ids.contains(&7));
        if chosen.len() != 5 || ids.len() != 5 || moves_both {
            continue;
        }
        n += 1;
        if n % 29 != 0 {
            continue;
        }
        let mut scene = sound();
        for (_, _, plant) in &chosen {
            plant(&mut scene);
        }
        let expected: BTreeSet<_> = chosen.iter().map(|(tag, id, _)| (*tag, *id)).collect();
        assert_eq!(found(&scene), expected);
        // The report tells the same, and nothing about those corals besides.
        let study = study(&scene);
        let told = findings(&AdviceInput::of(&study));
        let setup = told
            .iter()
            .filter(|finding| finding.kind == Kind::Setup)
            .count();
        assert_eq!(setup, 5, "the report tells five");
    }
    assert!(n > 100, "{n} sets of five");
}

#[test]
fn a_guard_and_the_missing_partner_take_the_mistakes_away() {
    let mut scene = sound();
    (PLANTS[13].2)(&mut scene);
    scene.layouts[0].pumps[1].guarded = true;
    assert!(found(&scene).is_empty(), "guarded");
    assert_eq!(Note::Floats.tag(), "floats");
}

#[test]
fn the_demos_have_no_mistakes() {
    let demos = [
        include_str!("../../scenes/harbour-office.ron"),
        include_str!("../../scenes/long-wall.ron"),
        include_str!("../../scenes/window-seat.ron"),
    ];
    for text in demos {
        let scene: Scene = ron::from_str(text).expect("the demo reads");
        for idx in 0..scene.layouts.len() {
            let study = Study::with_built_in(&scene, idx).expect("there is a layout");
            let told: Vec<String> = mistakes(&study)
                .iter()
                .map(|mistake| told(&study, mistake))
                .collect();
            assert!(told.is_empty(), "{}: {told:#?}", scene.name);
        }
    }
}

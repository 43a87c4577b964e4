//! Comparing layouts, and moving from one to another.

use std::collections::BTreeSet;

use bommie::advice::{
    AdviceInput, AdviceOptions, Aspect, Better, Comparison, FateCause, Ground, Move, MoveKind,
    Outcome, Verdict, compare, layout_figures, moves, rank, standing, with_light_steps,
};
use bommie::flow::FlowField;
use bommie::geometry::surface::surface_samples;
use bommie::light::LightSample;
use bommie::scene::{Coral, Layout, Mount, Rock, Support, solids};
use bommie::study::Study;
use glam::DVec3;

use crate::hand;

/// A study of a tank made by hand with a layout in it.
fn with(layout: &Layout) -> Study {
    Study::with_built_in(&hand::scene(layout.clone()), 0).expect("there is a layout")
}

fn coral(id: u32, entry: &str, at_cm: (f64, f64, f64), on: u32) -> Coral {
    Coral {
        id,
        entry: entry.to_owned(),
        name: String::new(),
        at_cm: DVec3::from(at_cm),
        facing: DVec3::Z,
        size_cm: DVec3::splat(5.0),
        mount: Mount::Putty,
        on: Support::Rock(on),
        since: None,
        note: String::new(),
        locked: false,
    }
}

/// A base, a slab across it, a stone on the slab, and a stone apart.
fn tower(x_cm: f64) -> Layout {
    Layout {
        name: "tower".to_owned(),
        rocks: vec![
            hand::block(1, "base", (x_cm, 25.0, 0.0), (20.0, 20.0, 10.0)),
            hand::block(2, "slab", (x_cm, 25.0, 10.0), (30.0, 20.0, 5.0)),
            hand::block(3, "stone", (x_cm, 25.0, 15.0), (8.0, 8.0, 8.0)),
            hand::block(4, "stray", (85.0, 25.0, 0.0), (10.0, 10.0, 10.0)),
        ],
        corals: vec![
            coral(11, "euphyllia_torch", (x_cm + 8.0, 25.0, 15.0), 2),
            coral(12, "caulastraea", (85.0, 25.0, 10.0), 4),
        ],
        ..Layout::default()
    }
}

fn compared(first: &FlowField, second: &FlowField) -> Comparison {
    let scene = hand::scene(tower(40.0));
    let options = AdviceOptions::default();
    compare(
        &hand::input(&scene, Some(first), None, &options),
        &hand::input(&scene, Some(second), None, &options),
    )
}

fn outcome(comparison: &Comparison, name: &str) -> Outcome {
    let row = comparison.rows.iter().find(|row| row.name == name);
    row.expect("row is there").outcome
}

#[test]
fn a_layout_against_itself_is_all_ties() {
    let flow = hand::even_flow(0.08);
    let same = compared(&flow, &flow);
    assert!(same.rows.len() >= 15, "{} rows", same.rows.len());
    for row in &same.rows {
        let known = row.first.is_some();
        let expected = if known {
            Outcome::Tie
        } else {
            Outcome::Unknown
        };
        assert_eq!(row.outcome, expected, "{row:?}");
    }
    assert!(
        same.corals
            .iter()
            .all(|c| c.causes.is_empty() && c.acclimation.is_none())
    );
}

#[test]
fn swapping_the_layouts_swaps_the_outcomes() {
    let (brisk, mut still) = (hand::even_flow(0.10), hand::even_flow(0.10));
    hand::set_speed(
        &mut still,
        DVec3::new(0.0, 0.0, 0.04),
        DVec3::new(1.0, 0.5, 0.08),
        0.0,
    );
    let (ab, ba) = (compared(&brisk, &still), compared(&still, &brisk));
    for (one, two) in ab.rows.iter().zip(&ba.rows) {
        let mirrored = match one.outcome {
            Outcome::First => Outcome::Second,
            Outcome::Second => Outcome::First,
            other => other,
        };
        assert_eq!(two.outcome, mirrored, "{one:?} against {two:?}");
        assert_eq!(
            (one.first, one.second),
            (two.second, two.first),
            "values swap"
        );
    }
    // 20 L of still water on the bed against none.
    assert_eq!(outcome(&ab, "dead water"), Outcome::First);
    assert_eq!(outcome(&ab, "mean speed"), Outcome::First);
    assert_eq!(outcome(&ab, "settled detritus"), Outcome::First);
    assert_eq!(outcome(&ab, "rock, dry"), Outcome::Tie, "the same rock");
}

#[test]
fn a_difference_within_its_uncertainty_is_a_tie() {
    let (a, mut b) = (hand::even_flow(0.10), hand::even_flow(0.112));
    assert_eq!(
        outcome(&compared(&a, &b), "mean speed"),
        Outcome::Second,
        "12 % more"
    );
    // 1.2 cm/s apart, each within 1 cm/s: the joint interval is 1.4.
    let mut a = a;
    a.settling.mean_speed_half_width_m_s = 0.01;
    b.settling.mean_speed_half_width_m_s = 0.01;
    assert_eq!(
        outcome(&compared(&a, &b), "mean speed"),
        Outcome::Tie,
        "not sure"
    );
    b.estimate = bommie::flow::Estimate::PlanSlice;
    assert_eq!(
        outcome(&compared(&a, &b), "mean speed"),
        Outcome::Unknown,
        "a slice is not set against a tank estimate"
    );
}

#[test]
fn each_coral_has_its_fate_with_cause_and_plan() {
    let flow = hand::even_flow(0.10);
    let mut scene = hand::scene(tower(40.0));
    let mut other = tower(40.0);
    other.corals.remove(1);
    other
        .corals
        .push(coral(13, "zoanthus", (85.0, 25.0, 10.0), 4));
    scene.layouts.push(other);
    let options = AdviceOptions::default();
    let even = |umol: f64| {
        move |_: DVec3, _: DVec3| LightSample {
            facing_umol: umol,
            ..LightSample::default()
        }
    };
    let (dim, bright) = (even(40.0), even(120.0));
    let mut first = hand::input(&scene, Some(&flow), None, &options);
    first.light_at = Some(&dim);
    let study = Study::with_built_in(&scene, 1).expect("there are two");
    let second = AdviceInput {
        flow: Some(&flow),
        light_at: Some(&bright),
        ..AdviceInput::of(&study)
    };
    let fates = compare(&first, &second).corals;
    let fate = |id| fates.iter().find(|fate| fate.id == id).expect("fate");
    let torch = fate(11);
    assert_eq!(torch.after, Some(Verdict::Good), "{torch:?}");
    assert!(torch.before < torch.after, "{torch:?}");
    assert!(
        matches!(&torch.causes[0], FateCause::Better(strip) if strip.what == Aspect::Light),
        "{:?}",
        torch.causes
    );
    // From 40 to 120 the plan starts at the least share, 0.4.
    let plan = torch.acclimation.as_ref().expect("three times the light");
    assert_eq!((plan.start_share, plan.weeks), (0.4, 6), "{plan:?}");
    assert_eq!(fate(12).after, None, "gone");
    assert_eq!(fate(13).before, None, "new");

    // The same in the steps: at the end for a coral that stays, at its mount
    // for one whose rock is lifted.
    let steps = with_light_steps(moves(first.study, second.study), &fates);
    let last = steps.last().expect("steps");
    assert_eq!(
        (last.kind, last.items.as_slice()),
        (MoveKind::Ease, &[11][..])
    );
    assert_eq!(last.ease.as_ref(), Some(plan), "the plan");
    let mut elsewhere = second.layout.clone();
    elsewhere.rocks[0].at_cm.x += 3.0;
    let steps = with_light_steps(
        moves(first.study, &second.study.with_layout(elsewhere)),
        &fates,
    );
    let mounted = steps
        .iter()
        .find(|s| s.kind == MoveKind::Mount && s.items == [11]);
    let eased = mounted.expect("it was taken off").ease.as_ref();
    assert_eq!(eased, Some(plan), "with its plan");
    let n_eased = steps.iter().filter(|s| s.kind == MoveKind::Ease).count();
    assert_eq!(n_eased, 0, "said once");
}

#[test]
fn several_layouts_are_ranked() {
    let scene = hand::scene(tower(40.0));
    let options = AdviceOptions::default();
    let figures = |dead_height_m: f64| {
        let mut flow = hand::even_flow(0.08);
        let high = DVec3::new(1.0, 0.5, 0.04 + dead_height_m);
        hand::set_speed(&mut flow, DVec3::new(0.0, 0.0, 0.04), high, 0.0);
        layout_figures(&hand::input(&scene, Some(&flow), None, &options))
    };
    let all = [figures(0.12), figures(0.0), figures(0.06)];
    assert_eq!(rank(&all), [1, 2, 0], "least dead water first");
    assert_eq!(rank(&[]), Vec::<usize>::new(), "none");
    let comparison = compared(&hand::even_flow(0.1), &hand::even_flow(0.1));
    let turnover = comparison.rows.iter().find(|row| row.name == "turnover");
    assert_eq!(
        turnover.map(|row| row.better),
        Some(Better::Neither),
        "no side"
    );
}

/// Plays steps back: nothing that stands on a rock is left when it is lifted,
/// and everything that a rock stands on is there when it is set.
fn replay(study: &Study, from: &Layout, to: &Layout, steps: &[Move]) -> BTreeSet<u32> {
    let rests_on = |layout: &Layout, id: u32| -> BTreeSet<u32> {
        let bodies = standing(&study.with_layout(layout.clone()));
        let body = bodies
            .iter()
            .find(|body| body.rocks.contains(&id))
            .expect("body");
        let grounds = body.contacts.iter().filter_map(|contact| match contact.on {
            Ground::Rock(other) => Some(other),
            Ground::Pane | Ground::Sand => None,
        });
        grounds.collect()
    };
    let mut there: BTreeSet<u32> = from.rocks.iter().map(|rock| rock.id).collect();
    let mut corals: BTreeSet<u32> = from.corals.iter().map(|coral| coral.id).collect();
    for step in steps {
        for &id in &step.items {
            match step.kind {
                MoveKind::Lift => {
                    for &other in there.iter().filter(|other| !step.items.contains(other)) {
                        assert!(
                            !rests_on(from, other).contains(&id),
                            "{other} stands on {id}"
                        );
                    }
                    let held = from.corals.iter().filter(|c| c.on == Support::Rock(id));
                    for coral in held {
                        assert!(
                            !corals.contains(&coral.id),
                            "coral {} is still on {id}",
                            coral.id
                        );
                    }
                    there.remove(&id);
                }
                MoveKind::Set => {
                    for below in rests_on(to, id) {
                        assert!(
                            there.contains(&below),
                            "{id} is set on {below}, which is away"
                        );
                    }
                    assert_free(to, id, &there);
                    there.insert(id);
                }
                MoveKind::Unmount => assert!(corals.remove(&id), "coral {id} was there"),
                MoveKind::Mount => assert!(corals.insert(id), "coral {id} was away"),
                MoveKind::TakeOff | MoveKind::PutOn | MoveKind::Ease => {}
            }
        }
    }
    assert_eq!(
        corals,
        to.corals.iter().map(|coral| coral.id).collect(),
        "corals of the second"
    );
    there
}

/// The place of a rock that is set is not taken by what is there already.
fn assert_free(layout: &Layout, id: u32, there: &BTreeSet<u32>) {
    let solid = |id: u32| {
        let rock = layout.rocks.iter().find(|rock| rock.id == id);
        solids::rock_solid(rock.expect("a rock of the layout"))
    };
    let skin = surface_samples(&solid(id), 0.01);
    for other in there.iter().filter(|other| **other != id) {
        let other_solid = solid(*other);
        // Rocks that touch may share a skin, but not a place.
        let inside = skin
            .iter()
            .filter(|sample| other_solid.signed_distance(sample.at_m) < -1e-6)
            .count();
        assert_eq!(inside, 0, "{id} would be set into {other}");
    }
}

fn ids(rocks: &[Rock]) -> BTreeSet<u32> {
    rocks.iter().map(|rock| rock.id).collect()
}

#[test]
fn moving_the_base_takes_the_tower_down_and_up_again() {
    let study = with(&tower(40.0));
    let (from, mut to) = (tower(40.0), tower(40.0));
    to.rocks[0].at_cm.x += 3.0;
    let steps = moves(&with(&from), &with(&to));
    let order: Vec<(MoveKind, u32)> = steps.iter().map(|s| (s.kind, s.items[0])).collect();
    assert_eq!(
        order,
        [
            (MoveKind::Unmount, 11),
            (MoveKind::Lift, 3),
            (MoveKind::Lift, 2),
            (MoveKind::Lift, 1),
            (MoveKind::Set, 1),
            (MoveKind::Set, 2),
            (MoveKind::Set, 3),
            (MoveKind::Mount, 11),
        ],
        "the stray stone and its coral stay"
    );
    assert_eq!(
        replay(&study, &from, &to, &steps),
        ids(&to.rocks),
        "all are back"
    );
    // 4 L at 1.5 kg/L, 0.64 of it in water.
    let base = &steps[3];
    assert!(
        hand::speaker(study.scene())
            .knowing(&to)
            .step(base)
            .contains("6.0 kg dry, 3.8 kg in water"),
        "{base:?}"
    );
}

#[test]
fn a_group_that_is_parted_says_so_and_where_each_rock_goes() {
    let mut from = tower(40.0);
    for rock in &mut from.rocks[..2] {
        rock.bonded = Some(1);
    }
    let mut to = from.clone();
    to.rocks[0].at_cm.x = 45.0;
    to.rocks[1].at_cm.x = 45.0;
    let lift = |steps: &[Move]| {
        let step = steps.iter().find(|step| step.items == [1, 2]);
        step.expect("the group is lifted").parts_bonds
    };
    let together = moves(&with(&from), &with(&to));
    assert!(!lift(&together), "{together:?}");
    let set = together.iter().rfind(|step| step.items == [1, 2]);
    let scene = hand::scene(to.clone());
    let text = hand::speaker(&scene).step(set.expect("the group is set"));
    for pose in [
        "origin of the base at 45.0, 25.0, 0.0 cm",
        "origin of the slab at 45.0, 25.0, 10.0 cm",
    ] {
        assert!(text.contains(pose), "{text}");
    }
    to.rocks[1].bonded = None;
    let parted = moves(&with(&from), &with(&to));
    assert!(lift(&parted), "{parted:?}");
}

#[test]
fn rocks_that_swap_come_and_go_are_replayed() {
    let from = tower(40.0);
    let study = with(&from);
    let mut to = tower(60.0);
    to.rocks.remove(3);
    to.rocks.push(hand::block(
        5,
        "new base",
        (20.0, 25.0, 0.0),
        (16.0, 16.0, 12.0),
    ));
    to.rocks[2].at_cm = DVec3::new(20.0, 25.0, 12.0);
    to.corals.remove(1);
    let steps = moves(&with(&from), &with(&to));
    assert_eq!(
        replay(&study, &from, &to, &steps),
        ids(&to.rocks),
        "rocks of the second"
    );
    assert!(moves(&with(&to), &with(&to)).is_empty(), "nothing to do");
}

#[test]
fn the_stock_list_says_what_is_where_and_survives_commas() {
    let mut layout = tower(40.0);
    layout.corals[0].note = "gift, \"blue\"".to_owned();
    layout.corals[0].since = Some("May".to_owned());
    let rows = bommie::advice::stock_list(&with(&layout));
    assert_eq!(rows.len(), 2, "both corals");
    assert_eq!(
        (rows[0].genus.as_str(), rows[0].on),
        ("Euphyllia", Support::Rock(2))
    );
    let scene = hand::scene(layout);
    let csv = bommie::words::stock_csv(&rows, &hand::speaker(&scene));
    let line = csv.lines().nth(1).expect("first coral");
    assert_eq!(
        line,
        "torch,Euphyllia,\"middle of the tank, low\",the slab,putty,48.0,25.0,15.0,5.0,5.0,5.0,May,\
         \"gift, \"\"blue\"\"\"",
    );
}

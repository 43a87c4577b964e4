//! Standing, water and hollows against closed forms.

use bommie::advice::{
    AdviceOptions, Between, Ground, Kind, Severity, Stance, animal_findings, bulk, distances,
    fitting_pump, open_lane_m, stances, standing, standing_findings, water_card, widest_cave_m,
};
use bommie::scene::shapes::Shape;
use bommie::scene::{Animal, Behavior, Layout, Outline, Rock, Scene, solids};
use bommie::study::Study;
use glam::{DVec2, DVec3};

use crate::hand;

/// A study of the first layout.
fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

fn scene(rocks: Vec<Rock>) -> Scene {
    hand::scene(Layout {
        rocks,
        ..Layout::default()
    })
}

#[test]
fn a_box_on_the_pane_has_its_mass_center_and_margin() {
    let scene = scene(vec![hand::block(
        1,
        "",
        (50.0, 25.0, 0.0),
        (20.0, 10.0, 10.0),
    )]);
    let stands = standing(&study(&scene));
    let body = &stands[0];
    assert!(
        (body.volume_m3 - 2e-3).abs() < 1e-9,
        "2 L: {}",
        body.volume_m3
    );
    assert!((body.dry_kg - 3.0).abs() < 1e-6, "1.5 kg/L");
    assert!((body.wet_kg - 1.92).abs() < 1e-6, "0.64 of it");
    assert!(
        body.center_m.distance(DVec3::new(0.5, 0.25, 0.05)) < 1e-6,
        "{}",
        body.center_m
    );
    // Contacts are middles of columns, half a column (2.8 mm) inside the edge.
    assert!(
        (body.margin_m - 0.05).abs() < 0.003,
        "margin {}",
        body.margin_m
    );
    // A box as high as wide tips at 45°; those 2.8 mm make it 43.3.
    assert!(
        (body.tipping_deg - 45.0).abs() < 2.0,
        "angle {}",
        body.tipping_deg
    );
    assert!(
        body.contacts.iter().all(|c| c.on == Ground::Pane),
        "on the pane"
    );
    assert!((body.pane_m2 - 0.02).abs() < 1e-6, "its whole base");
    let [left, right, front, back] = body.clear_m;
    for (got, want) in [(left, 0.4), (right, 0.4), (front, 0.2), (back, 0.2)] {
        assert!((got - want).abs() < 1e-6, "clearance {got}, not {want}");
    }
}

/// Volumes of rounded rocks against a plain count of fine cells, which knows
/// nothing of surfaces.
#[test]
fn rounded_rocks_have_the_volume_that_a_count_finds() {
    for shape in Shape::ALL {
        let solid = solids::rock_solid(&shape.rock(1, DVec3::new(30.0, 20.0, 0.0)));
        let bounds = solid.bounds();
        let step_m = 0.003;
        let n = ((bounds.max_m - bounds.min_m) / step_m).ceil().as_uvec3();
        let mut count = 0_u32;
        for i in 0..n.x {
            for j in 0..n.y {
                for k in 0..n.z {
                    let cell = DVec3::new(i.into(), j.into(), k.into()) + 0.5;
                    count += u32::from(solid.contains(bounds.min_m + cell * step_m));
                }
            }
        }
        let counted_m3 = f64::from(count) * step_m.powi(3);
        let error = bulk(&solid, 0.0).volume_m3 / counted_m3 - 1.0;
        // 1 % is what comparisons rely on; the count itself errs by 0.1 %.
        assert!(error.abs() < 0.01, "{}: {error:.4}", shape.label());
    }
}

#[test]
fn a_wedge_has_its_center_at_a_third() {
    let mut rock = hand::block(1, "", (0.0, 25.0, 0.0), (1.0, 10.0, 1.0));
    let points = |list: &[(f64, f64)]| Outline {
        points_cm: list.iter().map(|p| DVec2::from(*p)).collect(),
        curved: false,
        openings: vec![],
    };
    rock.plan = points(&[(0.0, -5.0), (30.0, -5.0), (30.0, 5.0), (0.0, 5.0)]);
    rock.front = points(&[(0.0, 0.0), (30.0, 0.0), (0.0, 15.0)]);
    let got = bulk(&solids::rock_solid(&rock), 0.05);
    // 30 · 15 / 2 · 10 cm³, center at a third from the right angle.
    assert!(
        (got.volume_m3 - 2.25e-3).abs() < 2.25e-5,
        "within 1 %: {}",
        got.volume_m3
    );
    assert!(
        got.center_m.distance(DVec3::new(0.10, 0.25, 0.05)) < 0.001,
        "{}",
        got.center_m
    );
    // Below a third of its height lie 1 − (2/3)² of a wedge.
    assert!(
        (got.below_m3 - 2.25e-3 * 5.0 / 9.0).abs() < 2.5e-5,
        "{}",
        got.below_m3
    );
}

/// A block 30 cm long on one 20 cm long, its left end `shift_cm` from the lower
/// one's left end.
fn stack(shift_cm: f64) -> Scene {
    scene(vec![
        hand::block(1, "base", (50.0, 25.0, 0.0), (20.0, 20.0, 10.0)),
        hand::block(2, "slab", (55.0 + shift_cm, 25.0, 10.0), (30.0, 20.0, 5.0)),
    ])
}

#[test]
fn overhang_and_tipping_of_a_slab() {
    let options = AdviceOptions::default();
    let told = |shift_cm: f64| {
        let scene = stack(shift_cm);
        let found = standing_findings(&hand::input(&scene, None, None, &options));
        found
            .into_iter()
            .find(|f| f.item() == Some(2))
            .map(|f| (f.severity, hand::say(&scene, &f)))
    };
    let scene = stack(0.0);
    let stands = standing(&study(&scene));
    let slab = &stands[1];
    // Flush left: a third hangs over on the right, 5 cm inside the support.
    assert!(
        (slab.margin_m - 0.05).abs() < 0.005,
        "margin {}",
        slab.margin_m
    );
    assert!(
        (slab.overhang_share - 1.0 / 3.0).abs() < 0.02,
        "{}",
        slab.overhang_share
    );
    assert!(
        slab.contacts.iter().all(|c| c.on == Ground::Rock(1)),
        "on the base"
    );
    // The base carries 3 L · 1.5 kg/L · 0.64.
    assert!(
        (stands[0].carried_kg - 2.88).abs() < 1e-6,
        "{}",
        stands[0].carried_kg
    );
    // Its load bears below its own center, at x = 55 cm: with the base's 3.84 kg
    // at 50 cm the two weigh at 50 + 5 · 2.88 / 6.72 cm.
    assert!(
        (stands[0].center_m.x - 0.521_43).abs() < 1e-4,
        "{}",
        stands[0].center_m
    );
    assert_eq!(told(-5.0), None, "centered, a sixth past each end");
    let (severity, text) = told(3.0).expect("stands on little");
    assert_eq!(severity, Severity::Warning, "{text}");
    let (severity, text) = told(6.0).expect("tips");
    assert_eq!(severity, Severity::Serious, "{text}");
    assert!(
        text.contains("The slab tips over") && text.contains("proves nothing safe"),
        "{text}"
    );
}

/// Equal blocks of 20 cm, each moved out over the one below by `share` of the
/// most that stands: a half, a quarter, a sixth of its length from the top down.
fn leaning_stack(share: f64) -> Scene {
    let offsets_cm = [0.0, 20.0 / 6.0, 20.0 / 4.0, 20.0 / 2.0].map(|cm| share * cm);
    let mut x_cm = 40.0;
    let blocks = offsets_cm.iter().enumerate().map(|(level, offset_cm)| {
        x_cm += offset_cm;
        let name = ["lowest", "second", "third", "top"][level];
        let z_cm = 6.0 * level as f64;
        hand::block(
            level as u32 + 1,
            name,
            (x_cm, 25.0, z_cm),
            (20.0, 20.0, 6.0),
        )
    });
    scene(blocks.collect())
}

/// **Source** the harmonic stack, e.g. Coffin 1923, Am. Math. Monthly 30:76,
/// MEMORY: at the full offsets every joint is on the point of tipping.
#[test]
fn a_stack_tips_where_the_harmonic_series_says() {
    let share = 0.7;
    let scene = leaning_stack(share);
    let stands = standing(&study(&scene));
    for body in &stands[1..] {
        // What stands on each joint has its center 10 cm · share past the
        // middle of the block below, whose edge is at 10 cm. Contacts are
        // columns of 0.56 cm, counted at their middles: half of one, and as
        // much for the last one that is cut.
        let wanted_m = 0.10 * (1.0 - share);
        assert!(
            (body.margin_m - wanted_m).abs() < 0.006,
            "{:?}: {} m, {wanted_m} wanted",
            body.rocks,
            body.margin_m
        );
    }
    let carried: Vec<f64> = stands.iter().map(|body| body.carried_kg).collect();
    // Each block: 2.4 L · 1.5 kg/L · 0.64.
    for (kg, n_above) in carried.iter().zip([3.0, 2.0, 1.0, 0.0]) {
        assert!((kg - 2.304 * n_above).abs() < 1e-6, "{carried:?}");
    }
    let scene = leaning_stack(1.1);
    let stands = standing(&study(&scene));
    assert!(stands[3].margin_m < 0.0, "the top one falls");
}

/// A beam on two posts loads them by the lever rule.
#[test]
fn a_beam_loads_its_posts_by_the_lever_rule() {
    let scene = scene(vec![
        hand::block(1, "left post", (20.0, 25.0, 0.0), (6.0, 12.0, 10.0)),
        hand::block(2, "right post", (60.0, 25.0, 0.0), (6.0, 12.0, 10.0)),
        // Its center at x = 30 cm: a quarter of the way from the left post.
        hand::block(3, "beam", (30.0, 25.0, 10.0), (72.0, 8.0, 4.0)),
    ]);
    let stands = standing(&study(&scene));
    let beam_kg = stands[2].wet_kg;
    for (post, share) in [(0, 0.75), (1, 0.25)] {
        let found = stands[post].carried_kg / beam_kg;
        // The middles of the contacts lie within a quarter of a 2 cm column.
        assert!((found - share).abs() < 0.02, "post {post} carries {found}");
    }
}

#[test]
fn bonded_rocks_are_one_body() {
    let mut rocks = stack(6.0).layouts.remove(0).rocks;
    for rock in &mut rocks {
        rock.bonded = Some(1);
    }
    let scene = scene(rocks);
    let stands = standing(&study(&scene));
    assert_eq!(stands.len(), 1, "one body");
    assert_eq!(stands[0].rocks, [1, 2], "both in it");
    // 4 L at x = 50 and 3 L at x = 61 cm: center at 54.7, 5.3 inside.
    let center = (4.0 * 0.50 + 3.0 * 0.61) / 7.0;
    assert!(
        (stands[0].center_m.x - center).abs() < 1e-4,
        "{}",
        stands[0].center_m
    );
    assert!(
        (stands[0].margin_m - (0.60 - center)).abs() < 0.005,
        "{}",
        stands[0].margin_m
    );
}

#[test]
fn sand_that_is_dug_away_holds_nothing() {
    let scene = {
        let mut scene = scene(vec![hand::block(
            1,
            "stone",
            (50.0, 25.0, 2.0),
            (20.0, 20.0, 10.0),
        )]);
        scene.animals.push(Animal {
            name: "goby".to_owned(),
            does: vec![Behavior::Digs],
        });
        scene
    };
    let stands = standing(&study(&scene));
    assert!(stands[0].margin_m > 0.09, "stands on sand");
    assert_eq!(
        stands[0].dug_margin_m,
        f64::NEG_INFINITY,
        "and on nothing else"
    );
    let options = AdviceOptions::default();
    let input = hand::input(&scene, None, None, &options);
    let found = standing_findings(&input);
    assert!(
        found[0].kind == Kind::Standing && found[0].severity == Severity::Serious,
        "{found:?}"
    );
    let digs = animal_findings(&input);
    assert!(
        hand::say(&scene, &digs[0]).contains("Goby digs: the stone"),
        "{}",
        hand::say(&scene, &digs[0])
    );
}

#[test]
fn a_rock_in_mid_water_has_nothing_under_it() {
    let scene = scene(vec![hand::block(
        1,
        "cloud",
        (50.0, 25.0, 20.0),
        (20.0, 20.0, 10.0),
    )]);
    let options = AdviceOptions::default();
    let found = standing_findings(&hand::input(&scene, None, None, &options));
    assert_eq!(
        found[0].severity,
        Severity::Serious,
        "{}",
        hand::say(&scene, &found[0])
    );
}

#[test]
fn the_water_card_by_hand() {
    let text = r"(id: 5, at_cm: (5.0, 5.0, 30.0), flow_lph: 2000.0, outlet_cm: 4.0,
        throttle: 0.5, programme: Pulse(period_s: 4.0, share: 0.5), power_w: Some(10.0))";
    let pump = ron::from_str(text).expect("the pump reads");
    let scene = hand::scene(Layout {
        rocks: vec![hand::block(1, "", (50.0, 25.0, 0.0), (20.0, 10.0, 20.0))],
        pumps: vec![pump],
        ..Layout::default()
    });
    let card = water_card(&study(&scene));
    let near = |got: f64, want: f64| (got - want).abs() < 1e-6 * want.max(1.0);
    assert!(near(card.gross_l, 200.0), "{card:?}");
    assert!(near(card.rock_kg, 6.0), "4 L at 1.5 kg/L");
    assert!(near(card.volumes.rock_solid_l, 6.0 / 2.8), "its solid part");
    // 20 L of bed less 0.8 L of rock in it, 55 % grains.
    assert!(near(card.volumes.sand_grains_l, 19.2 * 0.55), "{card:?}");
    assert!(near(card.volumes.sand_pores_l, 19.2 * 0.45), "{card:?}");
    assert!(near(card.volumes.open_l, 180.0 - 3.2), "{card:?}");
    assert!(
        near(card.volumes.sum_l(), card.gross_l),
        "parts sum to the whole"
    );
    let net = 200.0 - 6.0 / 2.8 - 10.56;
    assert!(near(card.net_l, net), "{}", card.net_l);
    assert!(
        near(card.total_kg, net * 1.023 + 6.0 + 19.2 * 1.55),
        "{}",
        card.total_kg
    );
    assert!(
        near(card.turnover_per_h, 500.0 / net),
        "half of half of 2000 L/h"
    );
    assert!(near(card.kwh_per_day, 0.24), "10 W all day");
}

#[test]
fn lanes_and_caves_are_measured() {
    let wall = hand::block(1, "", (50.0, 25.0, 0.0), (20.0, 50.0, 45.0));
    let walled = scene(vec![wall]);
    // Across the tank: 50 cm; along it 40 cm less half a lane.
    let lane = open_lane_m(&study(&walled));
    assert!((lane - 0.5).abs() < 1e-9, "{lane}");
    let empty = scene(vec![]);
    assert!(
        (open_lane_m(&study(&empty)) - 1.0).abs() < 1e-9,
        "whole length"
    );
    assert_eq!(widest_cave_m(&study(&empty)), 0.0, "no rock, no cave");

    let mut arch = hand::block(1, "", (50.0, 25.0, 0.0), (24.0, 16.0, 24.0));
    arch.front.openings.push(
        [(-5.0, -1.0), (5.0, -1.0), (5.0, 18.0), (-5.0, 18.0)]
            .map(DVec2::from)
            .to_vec(),
    );
    let mut arched = scene(vec![arch]);
    // The opening is 10 cm wide; the search steps by 1.5 cm.
    let cave = widest_cave_m(&study(&arched));
    assert!((cave - 0.10).abs() < 0.015, "{cave}");
    arched.animals.push(Animal {
        name: "eel".to_owned(),
        does: vec![
            Behavior::NeedsCave { width_cm: 14.0 },
            Behavior::NeedsLane { length_cm: 90.0 },
        ],
    });
    let options = AdviceOptions::default();
    let found = animal_findings(&hand::input(&arched, None, None, &options));
    assert_eq!(found.len(), 1, "the lane is long enough: {found:?}");
    assert!(
        hand::say(&arched, &found[0]).contains("needs a cave 14 cm wide"),
        "{}",
        hand::say(&arched, &found[0])
    );
}

#[test]
fn distances_are_those_of_the_ruler_and_a_pump_fits_its_tank() {
    // The hand tank: 100 × 50 × 45 cm, water 40 cm. A block of 20 × 20 × 25 cm
    // with its middle 14 cm from the left pane and 25 cm from the front.
    let mut scene = hand::scene(Layout {
        rocks: vec![hand::block(
            1,
            "tower",
            (14.0, 25.0, 0.0),
            (20.0, 20.0, 25.0),
        )],
        ..Layout::default()
    });
    let pump = "(id: 2, at_cm: (27.0, 25.0, 15.0), flow_lph: 2000.0, outlet_cm: 4.0)";
    scene.layouts[0]
        .pumps
        .push(ron::from_str(pump).expect("it reads"));
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let all = distances(&study);
    let of = |between: Between| all.iter().find(|d| d.between == between).expect("told");
    let wanted = [
        (Between::LeftPane, 4.0, false),
        (Between::RightPane, 76.0, true),
        (Between::FrontPane, 15.0, true),
        (Between::BackPane, 15.0, true),
        (Between::Surface, 15.0, true),
        (Between::Outlet, 3.0, false),
        // 24 cm to the left pane and 45 cm down from the rim.
        (Between::Rim, 51.0, true),
    ];
    for (between, cm, good) in wanted {
        let got = of(between);
        assert!(
            (got.distance_m * 100.0 - cm).abs() < 0.1,
            "{got:?} for {cm} cm"
        );
        assert_eq!(got.is_good(), good, "{got:?}");
    }
    assert!(!all[0].is_good(), "what will not do comes first");
    // 200 L gross: a mixed tank wants 15 to 40 times an hour, 2000 L/h are 10
    // and more; at most 15 times the net water are added.
    let size = fitting_pump(&study);
    let net_l = water_card(&study).net_l;
    assert!(
        (size.flow_lph - 15.0 * net_l).abs() <= 125.0,
        "{size:?} of {net_l} L"
    );
    let exit = bommie::units::exit_speed_m_s(size.flow_lph, size.outlet_cm);
    assert!((0.4..0.65).contains(&exit), "{exit} m/s");
}

#[test]
fn what_is_unsafe_comes_first_with_its_reason() {
    let scene = hand::scene(Layout {
        rocks: vec![
            hand::block(1, "firm", (20.0, 25.0, 0.0), (20.0, 20.0, 10.0)),
            hand::block(2, "on sand", (50.0, 25.0, 4.0), (20.0, 20.0, 10.0)),
            hand::block(3, "in the water", (80.0, 25.0, 20.0), (10.0, 10.0, 10.0)),
        ],
        ..Layout::default()
    });
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let told: Vec<_> = stances(&study)
        .iter()
        .map(|(body, how, why)| (body.rocks[0], *how, why.map(|note| note.tag())))
        .collect();
    let expected = vec![
        (3, Stance::DoNot, Some("nothing_under")),
        (2, Stance::Watch, Some("stands_on_sand")),
        (1, Stance::Safe, None),
    ];
    assert_eq!(told, expected);
}

//! Causes before symptoms, and no two statements of one report that contradict
//! each other. Method: light and flow made by hand over many random scenes.

use bommie::advice::{AdviceInput, AdviceOptions, Finding, Kind, Remedy, Severity, findings};
use bommie::light::{LightField, LightSample, SurfaceOwner, SurfacePatch};
use bommie::scene::finding::{Cause, Figure, Note};
use bommie::scene::{Layout, Scene};
use glam::DVec3;
use proptest::prelude::*;

use crate::hand;

const GEAR: &str = r#"(
    name: "one",
    pumps: [(id: 1, name: "left pump", at_cm: (5.0, 25.0, 30.0), flow_lph: 2000.0, outlet_cm: 4.0)],
    lamps: [(id: 2, name: "panel", body: Panel(length_cm: 60.0, width_cm: 20.0), at_cm: (50.0, 25.0, 60.0),
        output: Photons(umol_s: 300.0))],
)"#;

/// `n` corals of one kind in a row on the sand, far enough apart.
fn row(n: u32) -> Scene {
    let mut layout: Layout = ron::from_str(GEAR).expect("the layout reads");
    for i in 0..n {
        let text = format!(
            "(id: {}, entry: \"fungia\", at_cm: ({:.1}, {:.1}, 4.0), size_cm: (4.0, 4.0, 2.0), \
             mount: Loose, on: Sand)",
            10 + i,
            12.0 + 12.0 * f64::from(i % 7),
            14.0 + 20.0 * f64::from(i / 7),
        );
        layout
            .corals
            .push(ron::from_str(&text).expect("the coral reads"));
    }
    hand::scene(layout)
}

fn even(umol: f64) -> LightSample {
    LightSample {
        up_umol: umol,
        scalar_umol: umol,
        facing_umol: umol,
    }
}

/// What is found under that light on each of the corals, by place.
fn found(scene: &Scene, speed_m_s: f32, light_at: &dyn Fn(DVec3) -> f64) -> Vec<Finding> {
    let field = hand::even_flow(speed_m_s);
    let at = |at_m: DVec3, _: DVec3| even(light_at(at_m));
    let options = AdviceOptions::default();
    findings(&AdviceInput {
        light_at: Some(&at),
        ..hand::input(scene, Some(&field), None, &options)
    })
}

fn range(scene: &Scene) -> [f64; 4] {
    let options = AdviceOptions::default();
    let input = hand::input(scene, None, None, &options);
    let entry = input.catalog.entry("fungia").expect("it is in the catalog");
    let (light, flow) = (&entry.light_ppfd_umol, &entry.flow_cm_s);
    [light.low, light.high, flow.low, flow.high]
}

#[test]
fn one_lamp_too_bright_for_many_is_one_finding_with_the_setting_that_will_do() {
    let scene = row(14);
    let [low, high, flow_low, _] = range(&scene);
    let speed = (flow_low * 1.2 / 100.0) as f32;
    // Eleven get two and a half times the most, three in a corner a thirtieth of
    // the least, which no dimming helps.
    let lit = move |at_m: DVec3| {
        let is_corner = at_m.x > 0.7 && at_m.y > 0.3 || at_m.x > 0.8;
        if is_corner { low / 30.0 } else { high * 2.5 }
    };
    let all = found(&scene, speed, &lit);
    let causes: Vec<&Finding> = all.iter().filter(|f| f.kind == Kind::LampLevel).collect();
    assert_eq!(causes.len(), 1, "{all:#?}");
    let cause = causes[0];
    let dark = all.iter().filter(|f| f.kind == Kind::CoralLight).count();
    assert_eq!(cause.under.len(), cause.items.len(), "each hangs under it");
    assert_eq!(cause.under.len() + dark, 14, "none is lost");
    assert!(
        cause.under.iter().all(|f| f.has(Note::TooMuch)),
        "{cause:?}"
    );
    assert_eq!(cause.cause, Some(Cause::Lamps(vec![2])), "{cause:?}");
    let Some(Remedy::Dim { factor, .. }) = cause.remedies.first() else {
        panic!("it can be dimmed: {cause:?}");
    };
    // Light is linear: at that factor they all lie in their range.
    let then = high * 2.5 * factor;
    assert!((low..=high).contains(&then), "{then} of {low} to {high}");
    let gain = cause.gain.expect("it says what is gained");
    assert_eq!(gain.after as usize, cause.items.len(), "{gain:?}");
    let text = hand::say(&scene, cause);
    assert!(
        text.contains("would put") && text.contains("panel"),
        "{text}"
    );
    // Carried out, nothing of the kind is left to say.
    let factor = *factor;
    let dimmed = found(&scene, speed, &move |at_m| lit(at_m) * factor);
    let is_level = |f: &&Finding| f.kind == Kind::LampLevel;
    assert_eq!(dimmed.iter().filter(is_level).count(), 0, "{dimmed:#?}");
}

#[test]
fn a_weak_pump_is_one_finding_and_two_corals_are_none() {
    let scene = row(6);
    let [low, high, flow_low, _] = range(&scene);
    let light = (low * high).sqrt();
    let slow = (flow_low / 2.5 / 100.0) as f32;
    let all = found(&scene, slow, &|_| light);
    let levels: Vec<&Finding> = all.iter().filter(|f| f.kind == Kind::PumpLevel).collect();
    assert_eq!(levels.len(), 1, "{all:#?}");
    assert!(levels[0].has(Note::TooLittle), "{:?}", levels[0]);
    let factor = levels[0].figure(Figure::Setting).expect("a setting");
    assert!(factor >= 2.5, "{factor}: it runs at full power already");
    let can = levels[0].remedies.iter();
    let can = can.filter(|remedy| matches!(remedy, Remedy::Throttle { .. }));
    assert_eq!(can.count(), 0, "no throttle above all");
    assert!(!all.iter().any(|f| f.kind == Kind::CoralFlow), "{all:#?}");
    let two = found(&row(2), slow, &|_| light);
    assert!(!two.iter().any(|f| f.kind == Kind::PumpLevel), "{two:#?}");
    // All the water is dead: both hang under that.
    let each = two.iter().flat_map(|f| f.under.iter().chain([f]));
    assert_eq!(
        each.filter(|f| f.kind == Kind::CoralFlow).count(),
        2,
        "{two:#?}"
    );
}

#[test]
fn a_change_within_doubt_is_a_tie_and_not_told_of() {
    let scene = row(8);
    let [_, high, flow_low, _] = range(&scene);
    let speed = (flow_low * 1.2 / 100.0) as f32;
    let all = found(&scene, speed, &|_| high * 1.05);
    assert!(!all.iter().any(|f| f.kind == Kind::LampLevel), "{all:#?}");
}

/// How often the words of all findings name a coral by its number.
fn times_told(scene: &Scene, all: &[Finding], kinds: &[Kind], id: u32) -> usize {
    let told = all.iter().filter(|f| kinds.contains(&f.kind));
    let name = hand::speaker(scene).bare_name(id);
    told.filter(|f| hand::say(scene, f).contains(&name)).count()
}

#[test]
fn dead_water_and_the_corals_that_starve_in_it_are_told_of_once() {
    let scene = row(3);
    let [low, high, flow_low, flow_high] = range(&scene);
    let light = (low * high).sqrt();
    // Still about the first (12 cm from the left), slow but not dead about the
    // third (36 cm), fine about the second.
    let mut field = hand::even_flow((flow_low * flow_high).sqrt() as f32 / 100.0);
    let column = |x_m: f64| {
        [
            DVec3::new(x_m - 0.05, 0.05, 0.0),
            DVec3::new(x_m + 0.05, 0.25, 0.3),
        ]
    };
    let [from, to] = column(0.12);
    hand::set_speed(&mut field, from, to, 0.004);
    let [from, to] = column(0.36);
    hand::set_speed(&mut field, from, to, 0.025);
    let at = |_: DVec3, _: DVec3| even(light);
    let options = AdviceOptions::default();
    let all = findings(&AdviceInput {
        light_at: Some(&at),
        ..hand::input(&scene, Some(&field), None, &options)
    });
    let spots: Vec<&Finding> = all.iter().filter(|f| f.kind == Kind::DeadSpot).collect();
    assert_eq!(spots.len(), 1, "{all:#?}");
    let spot = spots[0];
    assert_eq!(spot.items, [10], "the first stands in it");
    let under: Vec<_> = spot.under.iter().map(|f| (f.kind, f.item())).collect();
    assert_eq!(
        under,
        [(Kind::CoralFlow, Some(10))],
        "its own finding hangs there"
    );
    assert_eq!(
        spot.severity,
        Severity::Serious,
        "as grave as what hangs under it"
    );
    let berths = Remedy::ShowBerths(10);
    assert!(spot.remedies.contains(&berths), "{:?}", spot.remedies);
    let text = hand::say(&scene, spot);
    assert!(text.contains("(0.4, likes 3 to 14 cm/s)"), "{text}");
    let water = [Kind::DeadSpot, Kind::CoralFlow];
    assert_eq!(times_told(&scene, &all, &water, 10), 1, "{all:#?}");
    // What starves elsewhere keeps its own.
    let own: Vec<_> = all.iter().filter(|f| f.kind == Kind::CoralFlow).collect();
    assert_eq!(own.len(), 1, "{own:#?}");
    assert_eq!(own[0].item(), Some(12), "slow, but not dead");
}

#[test]
fn still_water_does_not_hurt_who_likes_it() {
    let scene = row(1);
    // A keeper who calls dead what a plate coral likes (3 to 14 cm/s).
    let options = AdviceOptions {
        dead_limit_m_s: 0.05,
        ..AdviceOptions::default()
    };
    let mut field = hand::even_flow(0.1);
    let (from, to) = (DVec3::new(0.07, 0.05, 0.0), DVec3::new(0.17, 0.25, 0.3));
    hand::set_speed(&mut field, from, to, 0.04);
    let all = findings(&hand::input(&scene, Some(&field), None, &options));
    let spot = all.iter().find(|f| f.kind == Kind::DeadSpot);
    let spot = spot.expect("it is below the limit all the same");
    assert_eq!(spot.items, [10], "it stands in it");
    assert!(spot.severity < Severity::Serious, "{spot:?}");
}

#[test]
fn shade_and_the_corals_that_starve_in_it_are_told_of_once() {
    let scene = row(3);
    let [low, ..] = range(&scene);
    let flow = hand::even_flow(0.06);
    let dark = low / 5.0;
    // Dark sand about the first coral; the third stands dim in the open.
    let mut patches = Vec::new();
    for i in 0..16 {
        for j in 0..10 {
            let at_m = DVec3::new(0.02 + 0.02 * f64::from(i), 0.06 + 0.02 * f64::from(j), 0.04);
            let is_dark = at_m.x < 0.16;
            patches.push(SurfacePatch {
                at_m,
                normal: DVec3::Z,
                owner: SurfaceOwner::Sand,
                ppfd_umol: if is_dark { dark } else { 2.0 * low },
                open_umol: 10.0 * low,
                level_umol: 0.0,
                area_m2: 4e-4,
            });
        }
    }
    let light = LightField {
        patches,
        patch_m: 0.02,
        full: true,
    };
    let at = |at_m: DVec3, _: DVec3| match at_m.x {
        x if x < 0.16 => even(dark),
        x if x < 0.30 => even(2.0 * low),
        _ => even(0.5 * low),
    };
    let options = AdviceOptions::default();
    let all = findings(&AdviceInput {
        light_at: Some(&at),
        ..hand::input(&scene, Some(&flow), Some(&light), &options)
    });
    let zones: Vec<&Finding> = all.iter().filter(|f| f.kind == Kind::Shade).collect();
    assert_eq!(zones.len(), 1, "{all:#?}");
    assert_eq!(zones[0].items, [10], "{:?}", zones[0]);
    assert_eq!(zones[0].under.len(), 1, "{:?}", zones[0]);
    let text = hand::say(&scene, zones[0]);
    assert!(text.contains("(12, likes 60 to 180 µmol/m²/s)"), "{text}");
    let lit = [Kind::Shade, Kind::CoralLight];
    assert_eq!(times_told(&scene, &all, &lit, 10), 1, "{all:#?}");
    let own: Vec<_> = all.iter().filter(|f| f.kind == Kind::CoralLight).collect();
    assert_eq!(own.len(), 1, "{own:#?}");
    assert_eq!(own[0].item(), Some(12), "dim in the open");
}

/// Two statements that cannot both be true.
fn contradictions(all: &[Finding]) -> Vec<String> {
    let flat: Vec<&Finding> = all.iter().flat_map(|f| f.under.iter().chain([f])).collect();
    let mut bad = Vec::new();
    for (i, a) in flat.iter().enumerate() {
        for b in &flat[i + 1..] {
            let same = a.kind == b.kind && a.items.first() == b.items.first();
            let opposed = |x: &Finding, y: &Finding| x.has(Note::TooMuch) && y.has(Note::TooLittle);
            let is_level = matches!(a.kind, Kind::LampLevel | Kind::PumpLevel);
            if (same || is_level && a.kind == b.kind) && (opposed(a, b) || opposed(b, a)) {
                bad.push(format!("{a:?} and {b:?}"));
            }
            // One place is not dead and blasted.
            let pairs = [(a, b), (b, a)];
            for (dead, coral) in pairs {
                let blasted = coral.kind == Kind::CoralFlow && coral.has(Note::TooMuch);
                let stands = coral.item().is_some_and(|id| dead.items.contains(&id));
                if dead.kind == Kind::DeadSpot && blasted && stands {
                    bad.push(format!("{dead:?} and {coral:?}"));
                }
            }
        }
    }
    bad
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn no_two_statements_contradict_and_the_order_of_lists_is_nothing(
        n in 1_u32..14,
        light in prop::collection::vec(1.0_f64..900.0, 14),
        speed in 0.002_f32..0.6,
        turn in 0_usize..13,
    ) {
        let scene = row(n);
        let by_place = move |at_m: DVec3| {
            let column = (((at_m.x * 100.0 - 12.0) / 12.0).round() as usize).min(6);
            light[column + if at_m.y > 0.24 { 7 } else { 0 }]
        };
        let all = found(&scene, speed, &by_place);
        let bad = contradictions(&all);
        prop_assert!(bad.is_empty(), "{bad:#?}");
        let mut other = scene.clone();
        let corals = &mut other.layouts[0].corals;
        let by = turn % corals.len();
        corals.rotate_left(by);
        corals.reverse();
        prop_assert_eq!(&found(&other, speed, &by_place), &all);
    }
}

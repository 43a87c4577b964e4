//! Fit, berths, growth and room of corals, by hand-worked numbers and by
//! properties that must hold for any entry.

use bommie::advice::{
    AdviceOptions, Aspect, BerthFilters, Kind, Meeting, Pace, Severity, Site, Verdict, acclimation,
    berths, candidates, coral_findings, fit, fit_at, fit_wash, growth_events, reach_m,
    required_gap_m, size_after_cm,
};
use bommie::catalog::{Catalog, Entry};
use bommie::light::{LightField, LightSample, SurfaceOwner, SurfacePatch};
use bommie::scene::finding::Note;
use bommie::scene::{Coral, Layout, Mount, Scene, Support};
use bommie::study::Study;
use glam::DVec3;
use proptest::prelude::*;

use crate::hand;

/// A study of a layout in a tank made by hand.
fn study(layout: &Layout) -> Study {
    Study::with_built_in(&hand::scene(layout.clone()), 0).expect("there is a layout")
}

fn entry(id: &str) -> &'static Entry {
    Catalog::built_in().entry(id).expect("entry is there")
}

fn coral(id: u32, entry: &str, at_cm: (f64, f64, f64), size_cm: (f64, f64, f64)) -> Coral {
    Coral {
        id,
        entry: entry.to_owned(),
        name: String::new(),
        at_cm: DVec3::from(at_cm),
        facing: DVec3::Z,
        size_cm: DVec3::from(size_cm),
        mount: Mount::Gel,
        on: Support::Rock(1),
        since: None,
        note: String::new(),
        locked: false,
    }
}

/// A rock of 60 × 30 cm, 20 cm high, in the middle of the tank.
fn scene(corals: Vec<Coral>) -> Scene {
    hand::scene(Layout {
        rocks: vec![hand::block(
            1,
            "reef",
            (50.0, 25.0, 0.0),
            (60.0, 30.0, 20.0),
        )],
        corals,
        ..Layout::default()
    })
}

fn site(entry: &Entry, at_m: DVec3) -> Site {
    Site {
        at_m,
        normal: DVec3::Z,
        on: SurfaceOwner::Rock(0),
        size_m: bommie::advice::cutting_size_m(entry),
        mount: Mount::Gel,
        own: None,
    }
}

#[test]
fn growth_and_touch_by_hand() {
    // Staghorn thicket: 8.6 cm a year at its edge (6.53 to 10.75), to 30 cm.
    let staghorn = entry("acropora_thicket");
    let grown = size_after_cm(staghorn, DVec3::new(6.0, 6.0, 6.0), 12.0, Pace::Usual);
    assert!(
        grown.distance(DVec3::new(23.2, 23.2, 14.6)) < 1e-9,
        "{grown}"
    );
    let full = size_after_cm(staghorn, DVec3::new(6.0, 6.0, 6.0), 60.0, Pace::Usual);
    assert_eq!(full.x, 30.0, "stops at its grown width");
    // Two of them, 24 cm apart and 6 cm wide: 18 cm to close at 17.2 cm a year
    // is 12.56 months; at 21.5 cm 10.05; at 13.06 cm 16.54.
    let layout = Layout {
        corals: vec![
            coral(1, "acropora_thicket", (30.0, 25.0, 20.0), (6.0, 6.0, 6.0)),
            coral(2, "acropora_thicket", (54.0, 25.0, 20.0), (6.0, 6.0, 6.0)),
        ],
        ..Layout::default()
    };
    let events = growth_events(&study(&layout), 24.0);
    assert_eq!(events.len(), 1, "{events:?}");
    let months = events[0].months;
    assert_eq!(events[0].what, Meeting::Touch, "they touch");
    assert!(
        (months.early - 18.0 / 21.5 * 12.0).abs() < 1e-6,
        "{months:?}"
    );
    assert!(
        months
            .usual
            .is_some_and(|m| (m - 18.0 / 17.2 * 12.0).abs() < 1e-6),
        "{months:?}"
    );
    assert!(
        months
            .late
            .is_some_and(|m| (m - 18.0 / 13.06 * 12.0).abs() < 1e-6),
        "{months:?}"
    );
    let words = bommie::words::months(&months);
    assert_eq!(words, "month 13 (11 to 17)", "in words");
    assert!(
        growth_events(&study(&layout), 9.0).is_empty(),
        "not within nine months"
    );
}

#[test]
fn a_table_shades_the_mat_below_it() {
    let layout = Layout {
        corals: vec![
            coral(1, "acropora_table", (30.0, 25.0, 30.0), (10.0, 10.0, 8.0)),
            coral(2, "zoanthus", (42.0, 25.0, 20.0), (4.0, 4.0, 1.0)),
        ],
        ..Layout::default()
    };
    let events = growth_events(&study(&layout), 36.0);
    let shade = events
        .iter()
        .find(|event| event.what == Meeting::Shade)
        .expect("shade is dated");
    assert_eq!((shade.by, shade.to), (1, 2), "the table shades the mat");
    // Edge from 5 to 12 cm at 7.7 cm a year: 10.9 months.
    let usual = shade.months.usual.expect("within three years");
    assert!((usual - 7.0 / 7.7 * 12.0).abs() < 1e-6, "{usual}");
}

#[test]
fn reach_is_longer_on_the_lee_side() {
    // Galaxea reaches 30 cm; in 10 cm/s and more half as much again downstream.
    let galaxea = entry("galaxea");
    let stream = DVec3::new(0.12, 0.0, 0.0);
    assert!(
        (reach_m(galaxea, stream, DVec3::X) - 0.45).abs() < 1e-12,
        "lee"
    );
    assert!(
        (reach_m(galaxea, stream, -DVec3::X) - 0.30).abs() < 1e-12,
        "luff"
    );
    assert!(
        (reach_m(galaxea, stream / 2.4, DVec3::X) - 0.375).abs() < 1e-12,
        "half"
    );
    let catalog = Catalog::built_in();
    let torch = entry("euphyllia_torch");
    let gap = |towards| required_gap_m(catalog, galaxea, torch, stream, towards);
    assert!((gap(DVec3::X) - 0.45).abs() < 1e-12, "torch in the lee");
    assert!(
        (gap(-DVec3::X) - 0.30).abs() < 1e-12,
        "galaxea's gap of 30 cm"
    );
    let among = required_gap_m(catalog, torch, torch, stream, DVec3::X);
    assert_eq!(among, 0.0, "torch with torch may touch");
}

#[test]
fn strips_say_value_range_and_how_far_off() {
    let scene = scene(vec![]);
    let flow = hand::even_flow(0.04);
    let options = AdviceOptions::default();
    let dim = |_: DVec3, _: DVec3| LightSample {
        up_umol: 35.0,
        scalar_umol: 50.0,
        facing_umol: 35.0,
    };
    let mut input = hand::input(&scene, Some(&flow), None, &options);
    input.light_at = Some(&dim);
    let torch = entry("euphyllia_torch");
    let fit = fit_at(&input, torch, &site(torch, DVec3::new(0.5, 0.25, 0.2)));
    let strip = |what| fit.strips.iter().find(|s| s.what == what).expect("strip");
    let light = strip(Aspect::Light);
    // 35 of 70 to 200 is half the low: the end of the scale.
    let words = hand::speaker(&scene).strip(light, torch);
    assert_eq!(light.verdict, Verdict::Bad, "{words}");
    assert!(
        words.contains("35 µmol/m²/s, 50 % below 70 to 200") && words.contains("common practice"),
        "{words}"
    );
    let flow = strip(Aspect::Flow);
    assert_eq!(flow.verdict, Verdict::Poor, "4 of 5 to 18 cm/s: {flow:?}");
    assert_eq!(strip(Aspect::Room).verdict, Verdict::Good, "alone");
    assert_eq!(fit.verdict, Verdict::Bad, "the weakest link");
    let reasons = hand::speaker(&scene).reasons(&fit, torch);
    assert!(reasons[0].contains("light"), "worst first: {reasons:?}");
}

#[test]
fn seats_that_cannot_hold_are_flagged() {
    let scene = scene(vec![]);
    let options = AdviceOptions::default();
    let input = hand::input(&scene, None, None, &options);
    let mount = |id: &str, change: &dyn Fn(&mut Site)| {
        let entry = entry(id);
        let mut site = site(entry, DVec3::new(0.5, 0.25, 0.2));
        change(&mut site);
        let fit = fit_at(&input, entry, &site);
        let strips = fit.strips.into_iter();
        strips
            .filter(|s| matches!(s.what, Aspect::Mount | Aspect::Stability))
            .map(|s| (s.verdict, hand::speaker(&scene).strip(&s, entry)))
            .min()
            .expect("mount strip")
    };
    let torch = mount("euphyllia_torch", &|site| site.mount = Mount::Plug);
    assert_eq!(torch.0, Verdict::Good, "{}", torch.1);
    let brain = mount("trachyphyllia", &|_| {});
    assert_eq!(
        brain.0,
        Verdict::Bad,
        "fleshy sand coral on rock: {}",
        brain.1
    );
    let hanging = mount("euphyllia_torch", &|site| {
        site.normal = -DVec3::Z;
        site.mount = Mount::Loose;
    });
    assert_eq!(
        hanging.0,
        Verdict::Bad,
        "loose under an overhang: {}",
        hanging.1
    );
    let heavy = mount("porites_massive", &|site| site.size_m = DVec3::splat(0.12));
    // 0.52 · 12³ cm³ · 1.3 g/cm³ = 1168 g on gel that holds 80 g.
    assert!(
        heavy.0 <= Verdict::Poor && heavy.1.contains("1168 g"),
        "{}",
        heavy.1
    );
    let middle = mount("porites_massive", &|site| {
        site.mount = Mount::Loose;
        site.size_m = DVec3::splat(0.12);
    });
    let edge = mount("porites_massive", &|site| {
        site.mount = Mount::Loose;
        site.size_m = DVec3::splat(0.12);
        site.at_m.x = 0.795;
    });
    assert!(
        edge.0 < middle.0,
        "edge {edge:?} is worse than middle {middle:?}"
    );
    assert_eq!(edge.0, Verdict::Bad, "half over the edge: {}", edge.1);
}

/// A gap that is too small by less than a centimeter still reads as smaller,
/// and the way to go is never none.
#[test]
fn a_gap_that_is_hardly_too_small_reads_so() {
    let options = AdviceOptions::default();
    let mut n_short = 0;
    for step in 0..60 {
        let mut stinger = coral(2, "galaxea", (30.0, 25.0, 20.0), (6.0, 6.0, 5.0));
        stinger.mount = Mount::Putty;
        let x_cm = 46.0 + 0.35 * f64::from(step);
        let mut torch = coral(3, "euphyllia_torch", (x_cm, 25.0, 20.0), (6.0, 6.0, 6.0));
        torch.mount = Mount::Plug;
        let scene = scene(vec![stinger, torch]);
        let found = coral_findings(&hand::input(&scene, None, None, &options));
        let room = found.iter().filter(|f| f.kind == Kind::CoralRoom);
        for words in room.map(|f| hand::say(&scene, f)) {
            let number = |before: &str| -> f64 {
                let rest = words.split(before).nth(1).expect("it is said");
                let number = rest.split_whitespace().next().expect("a number");
                number.parse().expect("a number")
            };
            let (is, needed) = (number("Only "), number(", "));
            assert!(is < needed, "{words}");
            assert!(!words.contains("Move it 0 "), "{words}");
            n_short += 1;
        }
    }
    assert!(n_short > 3, "some gaps are too small: {n_short}");
}

#[test]
fn findings_name_the_coral_and_its_trouble() {
    let mut close = coral(2, "galaxea", (40.0, 25.0, 20.0), (6.0, 6.0, 5.0));
    close.mount = Mount::Putty;
    let mut torch = coral(3, "euphyllia_torch", (55.0, 25.0, 20.0), (6.0, 6.0, 6.0));
    torch.name = "Old torch".to_owned();
    torch.mount = Mount::Plug;
    let mat = coral(4, "palythoa", (70.0, 25.0, 20.0), (4.0, 4.0, 1.0));
    let scene = scene(vec![close, torch, mat]);
    let options = AdviceOptions::default();
    let found = coral_findings(&hand::input(&scene, None, None, &options));
    let room: Vec<_> = found.iter().filter(|f| f.kind == Kind::CoralRoom).collect();
    assert!(
        room.iter()
            .map(|f| hand::say(&scene, f))
            .any(|words| words.contains("Old torch") && words.contains("Only 9 cm")),
        "{room:?}"
    );
    let caution = found
        .iter()
        .find(|f| f.kind == Kind::Caution)
        .expect("palytoxin");
    assert!(
        hand::say(&scene, caution).contains("urgent medical help"),
        "{caution:?}"
    );
    assert_eq!(caution.severity, Severity::Note, "a caution is no fault");
    assert!(
        found.iter().all(|f| f.kind != Kind::CoralLight),
        "nothing about light that is not solved"
    );
}

/// Light that rises with height, on the top and the flanks of the rock and on
/// the sand in front of it.
fn light() -> LightField {
    let mut patches = Vec::new();
    for i in 0..30 {
        for j in 0..15 {
            let at_m = DVec3::new(0.21 + 0.02 * f64::from(i), 0.11 + 0.02 * f64::from(j), 0.2);
            patches.push((
                at_m,
                DVec3::Z,
                100.0 + 3.0 * f64::from(i),
                SurfaceOwner::Rock(0),
            ));
        }
        for k in 0..8 {
            let at_m = DVec3::new(0.21 + 0.02 * f64::from(i), 0.1, 0.05 + 0.02 * f64::from(k));
            patches.push((
                at_m,
                -DVec3::Y,
                30.0 + 5.0 * f64::from(k),
                SurfaceOwner::Rock(0),
            ));
        }
        for j in 0..4 {
            let at_m = DVec3::new(0.21 + 0.02 * f64::from(i), 0.01 + 0.02 * f64::from(j), 0.04);
            patches.push((
                at_m,
                DVec3::Z,
                60.0 + 10.0 * f64::from(j),
                SurfaceOwner::Sand,
            ));
        }
    }
    LightField {
        patches: patches
            .into_iter()
            .map(|(at_m, normal, ppfd_umol, owner)| SurfacePatch {
                at_m,
                normal,
                area_m2: 4e-4,
                owner,
                ppfd_umol,
                open_umol: 260.0,
                level_umol: 0.0,
            })
            .collect(),
        patch_m: 0.02,
        full: true,
    }
}

#[test]
fn berths_lie_on_the_surface_apart_and_clear_of_neighbors() {
    let mut galaxea = coral(2, "galaxea", (24.0, 25.0, 20.0), (6.0, 6.0, 5.0));
    galaxea.mount = Mount::Putty;
    let scene = scene(vec![galaxea]);
    let flow = hand::even_flow(0.10);
    let light = light();
    let options = AdviceOptions::default();
    let input = hand::input(&scene, Some(&flow), Some(&light), &options);
    let torch = entry("euphyllia_torch");
    let found = berths(&input, torch, 10, &BerthFilters::default());
    assert!(found.len() >= 3, "{} berths", found.len());
    for (i, berth) in found.iter().enumerate() {
        assert!(
            light
                .patches
                .iter()
                .any(|p| p.at_m == berth.at_m && p.normal == berth.normal),
            "{} is not on the surface",
            berth.at_m
        );
        assert_eq!(berth.on, Support::Rock(1), "a torch goes on rock");
        assert!(berth.fit.verdict >= Verdict::Poor, "{:?}", berth.fit);
        for other in &found[i + 1..] {
            assert!(berth.at_m.distance(other.at_m) >= 0.1, "too close together");
        }
    }
    let best = &found[0];
    assert_eq!(best.fit.verdict, Verdict::Good, "{:?}", best.fit);
    assert!(
        best.at_m.distance(DVec3::new(0.24, 0.25, 0.2)) > 0.30,
        "keeps out of the sweepers' reach: {}",
        best.at_m
    );
    // The figures equal those of the coral once it is there.
    let mut planted = scene.clone();
    planted.layouts[0].corals.push(Coral {
        on: best.on,
        mount: best.mount,
        facing: best.normal,
        ..coral(
            9,
            "euphyllia_torch",
            (best.at_m * 100.0).into(),
            (best.size_m * 100.0).into(),
        )
    });
    let input = hand::input(&planted, Some(&flow), Some(&light), &options);
    let there = fit(&input, &planted.layouts[0].corals[1]).expect("known");
    assert_eq!(there.verdict, best.fit.verdict, "{there:?}");
    for (then, now) in best.fit.strips.iter().zip(&there.strips) {
        let same = match (then.value, now.value) {
            (Some(a), Some(b)) => (a - b).abs() < 1e-9,
            (a, b) => a == b,
        };
        assert!(same, "{then:?} became {now:?}");
    }
}

#[test]
fn filters_hold_and_sand_corals_go_to_the_sand() {
    let scene = scene(vec![]);
    let flow = hand::even_flow(0.06);
    let mut light = light();
    // The strip before the rock is too narrow for a grown one: there is open
    // sand at the left end too.
    let strip = light.patches.iter_mut();
    for patch in strip.filter(|patch| patch.owner == SurfaceOwner::Sand) {
        let along = patch.at_m.x - 0.21;
        patch.at_m = DVec3::new(0.06 + patch.at_m.y, 0.11 + 0.4 * along, 0.04);
    }
    let options = AdviceOptions::default();
    let input = hand::input(&scene, Some(&flow), Some(&light), &options);
    let brain = entry("trachyphyllia");
    let found = berths(&input, brain, 5, &BerthFilters::default());
    assert!(!found.is_empty(), "there is sand");
    assert!(
        found
            .iter()
            .all(|b| b.on == Support::Sand && b.mount == Mount::Sand),
        "on sand"
    );
    // Grown it is 18 cm wide, and a scraper needs 3 cm.
    assert!(
        found
            .iter()
            .all(|b| b.at_m.y >= 0.12 - 1e-9 && b.at_m.x >= 0.12 - 1e-9),
        "clear of the glass"
    );
    let plugs = BerthFilters {
        plug_only: true,
        ..BerthFilters::default()
    };
    let found = berths(&input, entry("caulastraea"), 10, &plugs);
    assert!(
        found
            .iter()
            .all(|b| b.normal == DVec3::Z && b.at_m.z > 0.19),
        "level rock"
    );
    let wash = fit_wash(&input, brain, &BerthFilters::default());
    assert_eq!(wash.len(), light.patches.len(), "one score a patch");
    assert!(
        wash.iter().all(|s| (0.0..=1.0).contains(s)),
        "scores lie in 0 to 1"
    );
}

#[test]
fn shade_has_its_own_candidates() {
    let scene = scene(vec![]);
    let flow = hand::even_flow(0.06);
    let options = AdviceOptions::default();
    let dark = |_: DVec3, _: DVec3| LightSample {
        up_umol: 45.0,
        scalar_umol: 45.0,
        facing_umol: 45.0,
    };
    let mut input = hand::input(&scene, Some(&flow), None, &options);
    input.light_at = Some(&dark);
    let found = candidates(
        &input,
        DVec3::new(0.5, 0.25, 0.2),
        DVec3::Z,
        SurfaceOwner::Rock(0),
        12,
    );
    let ids: Vec<_> = found.iter().map(|c| c.entry.as_str()).collect();
    assert!(ids.contains(&"leptoseris"), "{ids:?}");
    assert!(!ids.iter().any(|id| id.starts_with("acropora")), "{ids:?}");
}

#[test]
fn a_large_step_up_in_light_gets_a_plan() {
    let torch = entry("euphyllia_torch");
    let plan = acclimation(torch, 60.0, 120.0).expect("doubling needs a plan");
    assert_eq!(
        (plan.start_share, plan.weeks),
        (0.5, 5),
        "half, then 10 % a week"
    );
    assert!(acclimation(torch, 100.0, 110.0).is_none(), "a small step");
    let thicket = entry("acropora_thicket");
    let dim = acclimation(thicket, 300.0, 100.0).expect("stretches");
    assert_eq!(dim.weeks, 0, "it may stretch: {dim:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// More light never turns "too dark" into "darker": below the optimum the
    /// score of the light strip does not fall as light rises.
    #[test]
    fn more_light_is_never_darker(pick in 0..88_usize, a in 0.0..600.0_f64, b in 0.0..600.0_f64) {
        let entry = &Catalog::built_in().entries()[pick];
        let scene = scene(vec![]);
        let options = AdviceOptions::default();
        let score = |umol: f64| {
            let even = move |_: DVec3, _: DVec3| LightSample {
                facing_umol: umol,
                ..LightSample::default()
            };
            let mut input = hand::input(&scene, None, None, &options);
            input.light_at = Some(&even);
            let fit = fit_at(&input, entry, &site(entry, DVec3::new(0.5, 0.25, 0.2)));
            (fit.strips[0].score, fit.strips[0].notes.clone())
        };
        let (low, high) = (a.min(b), a.max(b));
        let ((dim, _), (bright, notes)) = (score(low), score(high));
        if high <= entry.light_ppfd_umol.optimum {
            prop_assert!(bright >= dim, "{low} gave {dim}, {high} gave {bright}");
        }
        if low >= entry.light_ppfd_umol.low {
            prop_assert!(!notes.contains(&Note::TooLittle), "{notes:?}");
        }
    }

    /// The verdict is never better than its weakest strip.
    #[test]
    fn the_verdict_is_the_weakest_link(
        pick in 0..88_usize, umol in 0.0..600.0_f64, speed in 0.0..0.6_f32, x in 0.21..0.79_f64,
    ) {
        let entry = &Catalog::built_in().entries()[pick];
        let scene = scene(vec![coral(2, "galaxea", (40.0, 25.0, 20.0), (6.0, 6.0, 5.0))]);
        let options = AdviceOptions::default();
        let flow = hand::even_flow(speed);
        let even = move |_: DVec3, _: DVec3| LightSample { facing_umol: umol, ..LightSample::default() };
        let mut input = hand::input(&scene, Some(&flow), None, &options);
        input.light_at = Some(&even);
        let fit = fit_at(&input, entry, &site(entry, DVec3::new(x, 0.25, 0.2)));
        for strip in &fit.strips {
            prop_assert!(fit.verdict <= strip.verdict, "{:?} above {strip:?}", fit.verdict);
            prop_assert!(fit.score <= strip.score, "{} above {strip:?}", fit.score);
            prop_assert!((0.0..=1.0).contains(&strip.score), "{strip:?}");
        }
    }
}

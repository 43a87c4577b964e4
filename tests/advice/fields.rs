//! Dead spots, shade, bed and figures on fields made by hand.

use bommie::advice::{
    AdviceOptions, Certainty, Finding, Kind, Severity, bed_cells, dead_spots, findings,
    flip_findings, flow_figures, sand_findings, settling_stress_pa, shaded_zones,
};
use bommie::flow::{CellKind, Estimate, FlowField};
use bommie::geometry::CellGrid;
use bommie::light::{LightField, SurfaceOwner, SurfacePatch};
use bommie::scene::Layout;
use bommie::scene::finding::{Figure, Spot};
use glam::DVec3;

use crate::hand;

fn volume_l(spot: &Finding) -> f64 {
    assert_eq!(spot.kind, Kind::DeadSpot, "{spot:?}");
    spot.figure(Figure::Volume).expect("it has a volume")
}

#[test]
fn a_still_corner_is_found_measured_and_named() {
    let scene = hand::scene(Layout::default());
    let mut flow = hand::even_flow(0.1);
    // 10 × 5 × 5 cells of 8 mL at the right, back, on the sand: 2.0 L.
    hand::set_speed(
        &mut flow,
        DVec3::new(0.8, 0.4, 0.04),
        DVec3::new(1.0, 0.5, 0.14),
        0.005,
    );
    let options = AdviceOptions::default();
    let found = dead_spots(&hand::input(&scene, Some(&flow), None, &options));
    assert_eq!(found.len(), 1, "one spot");
    let spot = &found[0];
    assert!((volume_l(spot) - 2.0).abs() < 1e-9, "{:?}", spot.kind);
    assert!(
        hand::say(&scene, spot).contains("back right corner, low"),
        "{}",
        hand::say(&scene, spot)
    );
    assert!(
        hand::say(&scene, spot).contains("detritus settles"),
        "{}",
        hand::say(&scene, spot)
    );
    assert!(
        spot.place.middle_m().distance(DVec3::new(0.9, 0.45, 0.09)) < 1e-9,
        "{:?}",
        spot.place
    );
    assert!(
        spot.place
            .half_size_m()
            .distance(DVec3::new(0.1, 0.05, 0.05))
            < 1e-9,
        "{:?}",
        spot.place
    );
    assert_eq!(
        spot.certainty,
        Certainty::Sure,
        "far below, settled, whole tank"
    );
}

#[test]
fn two_still_spots_stay_two_and_the_larger_comes_first() {
    let scene = hand::scene(Layout::default());
    let mut flow = hand::even_flow(0.1);
    hand::set_speed(
        &mut flow,
        DVec3::new(0.0, 0.0, 0.04),
        DVec3::new(0.1, 0.1, 0.2),
        0.0,
    );
    hand::set_speed(
        &mut flow,
        DVec3::new(0.7, 0.0, 0.2),
        DVec3::new(1.0, 0.2, 0.4),
        0.0,
    );
    let options = AdviceOptions::default();
    let found = dead_spots(&hand::input(&scene, Some(&flow), None, &options));
    assert_eq!(found.len(), 2, "two spots");
    assert!(volume_l(&found[0]) > volume_l(&found[1]), "order");
    assert!(
        hand::say(&scene, &found[0]).contains("front right corner, high"),
        "{}",
        hand::say(&scene, &found[0])
    );
    assert!(
        hand::say(&scene, &found[1]).contains("front left corner, low"),
        "{}",
        hand::say(&scene, &found[1])
    );
}

#[test]
fn water_beside_a_rock_is_named_after_it() {
    let rock = hand::block(1, "left island", (30.0, 25.0, 0.0), (24.0, 16.0, 24.0));
    let scene = hand::scene(Layout {
        rocks: vec![rock],
        ..Layout::default()
    });
    let mut flow = hand::even_flow(0.1);
    hand::set_speed(
        &mut flow,
        DVec3::new(0.2, 0.33, 0.04),
        DVec3::new(0.4, 0.41, 0.12),
        0.0,
    );
    let options = AdviceOptions::default();
    let found = dead_spots(&hand::input(&scene, Some(&flow), None, &options));
    assert_eq!(found.len(), 1, "one spot");
    assert!(
        hand::say(&scene, &found[0]).contains("behind the left island, low"),
        "{}",
        hand::say(&scene, &found[0])
    );
}

#[test]
fn a_corner_behind_rock_is_named_by_both() {
    let rock = hand::block(1, "harbor wall", (85.0, 38.0, 0.0), (20.0, 8.0, 30.0));
    let scene = hand::scene(Layout {
        rocks: vec![rock],
        ..Layout::default()
    });
    let mut flow = hand::even_flow(0.1);
    let (low, high) = (DVec3::new(0.76, 0.42, 0.04), DVec3::new(1.0, 0.5, 0.12));
    hand::set_speed(&mut flow, low, high, 0.0);
    let options = AdviceOptions::default();
    let found = dead_spots(&hand::input(&scene, Some(&flow), None, &options));
    assert!(
        hand::say(&scene, &found[0]).contains("back right corner by the harbor wall, low"),
        "{}",
        hand::say(&scene, &found[0])
    );
}

#[test]
fn doubt_lowers_the_certainty() {
    let scene = hand::scene(Layout::default());
    let options = AdviceOptions::default();
    let (low, high) = (DVec3::new(0.0, 0.0, 0.04), DVec3::new(0.2, 0.2, 0.2));
    let certainty = |change: &dyn Fn(&mut FlowField)| {
        let mut flow = hand::even_flow(0.1);
        hand::set_speed(&mut flow, low, high, 0.005);
        change(&mut flow);
        let found = dead_spots(&hand::input(&scene, Some(&flow), None, &options));
        found[0].certainty
    };
    assert_eq!(certainty(&|_| {}), Certainty::Sure, "settled and far below");
    assert_eq!(
        certainty(&|flow| hand::set_speed(flow, low, high, 0.018)),
        Certainty::Likely,
        "close to the limit"
    );
    assert_eq!(
        certainty(&|flow| flow.speed_half_width_m_s.fill(0.03)),
        Certainty::Check,
        "the interval spans the limit"
    );
    assert_eq!(
        certainty(&|flow| flow.settling.settled = false),
        Certainty::Check,
        "not settled"
    );
}

/// A plan slice of 2 cm cells with a still patch of 10 × 10 cells.
fn plan_slice() -> FlowField {
    let grid = CellGrid {
        origin_m: DVec3::new(0.0, 0.0, 0.29),
        cell_m: 0.02,
        n: [50, 25, 1],
    };
    let n = grid.n_cells();
    let mut field = FlowField {
        grid,
        estimate: Estimate::PlanSlice,
        kind: vec![CellKind::Water; n],
        velocity_m_s: vec![[0.1, 0.0, 0.0]; n],
        speed_m_s: vec![0.1; n],
        fluctuation_m_s: vec![0.0; n],
        slow_share: vec![0.0; n],
        speed_half_width_m_s: vec![0.0; n],
        ..hand::even_flow(0.1)
    };
    hand::set_speed(&mut field, DVec3::ZERO, DVec3::new(0.2, 0.2, 1.0), 0.001);
    field
}

#[test]
fn a_slice_says_so_and_is_never_sure() {
    let scene = hand::scene(Layout::default());
    let flow = plan_slice();
    let options = AdviceOptions::default();
    let found = dead_spots(&hand::input(&scene, Some(&flow), None, &options));
    assert_eq!(found.len(), 1, "one spot");
    // 100 cells of 4 cm² times the stated 10 cm: 4.0 L.
    assert!(
        (volume_l(&found[0]) - 4.0).abs() < 1e-9,
        "{:?}",
        found[0].kind
    );
    assert!(
        hand::say(&scene, &found[0]).contains("Slice estimate"),
        "{}",
        hand::say(&scene, &found[0])
    );
    assert_eq!(found[0].certainty, Certainty::Likely, "never better");
    let figures = flow_figures(&flow, &scene.tank, &options);
    assert_eq!(figures.detritus_m2, None, "a slice has no bed");
    assert!(sand_findings(&hand::input(&scene, Some(&flow), None, &options)).is_empty());
}

#[test]
fn figures_count_what_is_there() {
    let scene = hand::scene(Layout::default());
    let mut flow = hand::even_flow(0.10);
    // The lowest two of eighteen layers of water stand still.
    hand::set_speed(
        &mut flow,
        DVec3::new(0.0, 0.0, 0.04),
        DVec3::new(1.0, 0.5, 0.08),
        0.0,
    );
    let figures = flow_figures(&flow, &scene.tank, &AdviceOptions::default());
    assert!((figures.water_l - 180.0).abs() < 1e-9, "100 × 50 × 36 cm");
    assert!((figures.dead_l - 20.0).abs() < 1e-9, "two layers of 10 L");
    assert!((figures.dead_share - 1.0 / 9.0).abs() < 1e-9, "share");
    assert!(
        (figures.mean_speed_m_s - 0.1 * 16.0 / 18.0).abs() < 1e-6,
        "mean {}",
        figures.mean_speed_m_s
    );
    assert_eq!(figures.slowest_tenth_m_s, 0.0, "a ninth stands still");
    assert_eq!(figures.bed_m2, Some(1250.0 * 4e-4), "whole bed");
    assert_eq!(
        figures.detritus_m2, figures.bed_m2,
        "waste stays on all of it"
    );
    assert_eq!(figures.sand_at_risk_m2, Some(0.0), "no sand moves");
}

/// Carvajalino-Fernández et al. 2020 and Cromey et al. 2002 give critical
/// stresses; the speeds beside them are the smooth law
/// `U+ = ln(z+)/0.41 + 5.2` with 1023 kg/m³ and 0.93e-6 m²/s, worked by hand.
#[test]
fn bed_stress_follows_the_log_law() {
    let rows = [
        (0.018, 0.01, 0.061),
        (0.018, 0.05, 0.077),
        (0.06, 0.01, 0.122),
        (0.06, 0.05, 0.152),
    ];
    for (stress, height, speed) in rows {
        let got = settling_stress_pa(speed, height, 0.0);
        // The two smooth laws differ by 0.16 in U+, up to 2 % of the speed.
        assert!(
            (got / stress - 1.0).abs() < 0.05,
            "{speed} m/s at {height} m gave {got} Pa, not {stress}"
        );
    }
    // Rough: 1 mm grains, k = 2.5 mm, u* = 2.03 cm/s: 2.03/0.41·ln(30·5/0.25)
    // is 31.7 cm/s at 5 cm; the viscous part of z0 takes 1 % off.
    let got = settling_stress_pa(0.317, 0.05, 2.5e-3);
    assert!(
        (got / (1023.0 * 0.0203 * 0.0203) - 1.0).abs() < 0.04,
        "rough: {got}"
    );
    assert_eq!(settling_stress_pa(0.0, 0.01, 0.0), 0.0, "still water");
}

#[test]
fn fast_water_over_the_bed_moves_sand() {
    let scene = hand::scene(Layout::default());
    let mut flow = hand::even_flow(0.1);
    // Planning limit for 1 mm grains: 0.7 of 31.7 cm/s at 5 cm, at 1 cm about
    // 0.7 · 2.03/0.41 · ln(120) = 16.6 cm/s.
    hand::set_speed(
        &mut flow,
        DVec3::new(0.4, 0.2, 0.04),
        DVec3::new(0.6, 0.3, 0.06),
        0.19,
    );
    let options = AdviceOptions::default();
    let found = sand_findings(&hand::input(&scene, Some(&flow), None, &options));
    assert_eq!(found.len(), 1, "one patch");
    assert!(
        found[0]
            .figure(Figure::Area)
            .is_some_and(|cm2| (cm2 - 200.0).abs() < 1e-6),
        "{:?}",
        found[0].kind
    );
    hand::set_speed(
        &mut flow,
        DVec3::new(0.4, 0.2, 0.04),
        DVec3::new(0.6, 0.3, 0.06),
        0.14,
    );
    let found = sand_findings(&hand::input(&scene, Some(&flow), None, &options));
    assert!(found.is_empty(), "below the planning limit");
}

fn patch(at: (f64, f64, f64), normal: DVec3, ppfd: f64, owner: SurfaceOwner) -> SurfacePatch {
    SurfacePatch {
        at_m: DVec3::from(at),
        normal,
        area_m2: 4e-4,
        owner,
        ppfd_umol: ppfd,
        open_umol: 200.0,
        level_umol: 0.0,
    }
}

/// A table of rock with a dark underside and lit top, over dark sand.
fn ledge_light() -> LightField {
    let mut patches = Vec::new();
    for i in 0..10 {
        for j in 0..5 {
            let (x, y) = (0.61 + 0.02 * f64::from(i), 0.21 + 0.02 * f64::from(j));
            patches.push(patch((x, y, 0.2), -DVec3::Z, 10.0, SurfaceOwner::Rock(0)));
            patches.push(patch((x, y, 0.25), DVec3::Z, 190.0, SurfaceOwner::Rock(0)));
            patches.push(patch((x, y, 0.04), DVec3::Z, 20.0, SurfaceOwner::Sand));
        }
    }
    LightField {
        patches,
        patch_m: 0.02,
        full: true,
    }
}

#[test]
fn shade_is_grouped_measured_and_named() {
    let rock = hand::block(7, "right island", (70.0, 26.0, 20.0), (20.0, 10.0, 5.0));
    let scene = hand::scene(Layout {
        rocks: vec![rock],
        ..Layout::default()
    });
    let light = ledge_light();
    let options = AdviceOptions::default();
    let found = shaded_zones(&hand::input(&scene, None, Some(&light), &options));
    assert_eq!(found.len(), 2, "underside and sand");
    for zone in &found {
        let area_cm2 = zone.figure(Figure::Area).expect("it has an area");
        assert!((area_cm2 - 200.0).abs() < 1e-6, "50 patches of 4 cm²");
        assert!(
            hand::say(&scene, zone).contains("under the right island"),
            "{}",
            hand::say(&scene, zone)
        );
    }
    let under = found
        .iter()
        .find(|f| matches!(f.place.spot, Spot::Ledge { rock: 7, .. }))
        .expect("rock's zone");
    assert!(
        (under.figure(Figure::OpenShare).unwrap_or(1.0) - 0.05).abs() < 1e-9
            && (under.figure(Figure::Light).unwrap_or(0.0) - 10.0).abs() < 1e-9,
        "{under:?}"
    );
    assert_eq!(under.certainty, Certainty::Sure, "full light, far below");
}

#[test]
fn findings_come_worst_first() {
    let rock = hand::block(7, "right island", (70.0, 26.0, 20.0), (20.0, 10.0, 5.0));
    let scene = hand::scene(Layout {
        rocks: vec![rock],
        ..Layout::default()
    });
    let mut flow = hand::even_flow(0.1);
    hand::set_speed(
        &mut flow,
        DVec3::new(0.0, 0.0, 0.04),
        DVec3::new(0.4, 0.4, 0.3),
        0.0,
    );
    let light = ledge_light();
    let options = AdviceOptions::default();
    let found = findings(&hand::input(&scene, Some(&flow), Some(&light), &options));
    assert!(
        found
            .windows(2)
            .all(|pair| pair[0].severity >= pair[1].severity),
        "sorted"
    );
    assert_eq!(found[0].severity, Severity::Serious, "a fifth of the water");
}

#[test]
fn water_in_which_runs_differ_is_told_of() {
    let scene = hand::scene(Layout::default());
    let options = AdviceOptions::default();
    let mut flow = hand::even_flow(0.1);
    let told = |flow: &FlowField| flip_findings(&hand::input(&scene, Some(flow), None, &options));
    assert!(told(&flow).is_empty(), "one run cannot know");
    flow.n_runs = 5;
    flow.may_flip = vec![false; flow.grid.n_cells()];
    assert!(told(&flow).is_empty(), "five that agree");
    // The left fifth of the water: 20 × 50 × 36 cm.
    for idx in 0..flow.grid.n_cells() {
        let is_left = flow.grid.ijk(idx)[0] < 10;
        flow.may_flip[idx] = is_left && flow.kind[idx] == CellKind::Water;
    }
    let found = told(&flow);
    assert_eq!(found.len(), 1, "one region");
    let volume_l = found[0].figure(Figure::Volume).expect("it has a volume");
    assert!((volume_l - 36.0).abs() < 1e-9, "{volume_l} L");
    assert_eq!(found[0].severity, Severity::Warning, "a fifth of the water");
    let middle_m = found[0].place.middle_m();
    assert!((middle_m.x - 0.10).abs() < 1e-9, "{middle_m}");
    // A dead spot there is only worth a look: it may be gone in a minute.
    hand::set_speed(&mut flow, DVec3::ZERO, DVec3::new(0.1, 0.5, 0.4), 0.002);
    let dead = dead_spots(&hand::input(&scene, Some(&flow), None, &options));
    assert_eq!(
        dead[0].certainty,
        Certainty::Check,
        "{}",
        hand::say(&scene, &dead[0])
    );
    assert!(
        hand::say(&scene, &dead[0]).contains("may flip"),
        "{}",
        hand::say(&scene, &dead[0])
    );
}

/// What moves sand is the stress of all moments, not that of the mean: water
/// that swings to and fro at 15 cm/s has no mean velocity but moves it.
#[test]
fn gusts_count_for_the_bed() {
    let scene = hand::scene(Layout::default());
    let mut flow = hand::even_flow(0.1);
    let stress = |flow: &FlowField| bed_cells(flow, &scene.tank)[0].stress_pa;
    let even = stress(&flow);
    flow.fluctuation_m_s.fill(0.1);
    let gusty = stress(&flow);
    // √2 times the speed; rough beds give nearly its square.
    assert!((gusty / even - 2.0).abs() < 0.1, "{gusty} over {even}");
}

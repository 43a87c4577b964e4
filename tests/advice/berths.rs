//! Berths that a keeper would accept: goal, that none breaks a rule that can be
//! checked with a ruler. Method: every entry in a lit tank with one rock, the
//! rules worked out here from the place, the catalog and the tank alone.

use bommie::advice::{AdviceOptions, Berth, BerthFilters, berths, seek_berths, usual_mount};
use bommie::catalog::{Catalog, Entry, Form, Kind, mount_method};
use bommie::light::{LightField, SurfaceOwner, SurfacePatch};
use bommie::scene::{Coral, Layout, Mount, Programme, Pump, PumpKind, Scene, Support};
use glam::DVec3;

use crate::hand;

/// The hand tank of 100 × 50 × 45 cm with a rock of 60 × 30 × 20 cm in it.
fn scene() -> Scene {
    hand::scene(Layout {
        rocks: vec![hand::block(
            1,
            "reef",
            (50.0, 25.0, 0.0),
            (60.0, 30.0, 20.0),
        )],
        ..Layout::default()
    })
}

/// Patches every 4 cm on the rock's top, its front face and the sand, with the
/// light that an entry likes best.
fn light(entry: &Entry) -> LightField {
    let mut patches = Vec::new();
    let mut add = |x: f64, y: f64, z: f64, normal: DVec3, owner: SurfaceOwner| {
        patches.push(SurfacePatch {
            at_m: DVec3::new(x, y, z) / 100.0,
            normal,
            area_m2: 16e-4,
            owner,
            ppfd_umol: entry.light_ppfd_umol.optimum,
            open_umol: entry.light_ppfd_umol.optimum,
            level_umol: 0.0,
        });
    };
    for i in 0..25 {
        let x = 2.0 + 4.0 * f64::from(i);
        for j in 0..12 {
            let y = 2.0 + 4.0 * f64::from(j);
            if (20.0..=80.0).contains(&x) && (10.0..=40.0).contains(&y) {
                add(x, y, 20.0, DVec3::Z, SurfaceOwner::Rock(0));
            } else {
                add(x, y, 4.0, DVec3::Z, SurfaceOwner::Sand);
            }
        }
        if (20.0..=80.0).contains(&x) {
            for z in [6.0, 10.0, 14.0, 18.0] {
                add(x, 10.0, z, -DVec3::Y, SurfaceOwner::Rock(0));
            }
        }
    }
    LightField {
        patches,
        patch_m: 0.04,
        full: true,
    }
}

fn found(scene: &Scene, entry: &Entry) -> Vec<Berth> {
    let flow = hand::even_flow((entry.flow_cm_s.optimum / 100.0) as f32);
    let light = light(entry);
    let options = AdviceOptions::default();
    let input = hand::input(scene, Some(&flow), Some(&light), &options);
    berths(&input, entry, 20, &BerthFilters::default())
}

#[test]
fn no_berth_of_any_entry_breaks_a_rule_of_the_ruler() {
    let scene = scene();
    let (mut n, mut placed) = (0, 0);
    for entry in Catalog::built_in().entries() {
        let berths = found(&scene, entry);
        placed += usize::from(!berths.is_empty());
        for berth in berths {
            n += 1;
            let at = berth.at_m * 100.0;
            let half = if berth.normal == DVec3::Z {
                entry.spread_cm.value.max(berth.size_m.x * 100.0) / 2.0
            } else {
                berth.size_m.x * 50.0
            };
            let clear = at.x.min(100.0 - at.x).min(at.y.min(50.0 - at.y)) - half;
            let told = berth.measures.clear_of_glass_m * 100.0;
            assert!(told >= 3.0 - 1e-9, "{}: {told} cm from the glass", entry.id);
            assert!(clear >= 3.0 - 1e-6, "{} at {at}: {clear} cm", entry.id);
            if !entry.place.sand {
                assert!(at.z >= 7.0 - 1e-9, "{} at {at} near the sand", entry.id);
            }
            let slope = berth.normal.z.acos().to_degrees();
            assert!((berth.measures.slope_deg - slope).abs() < 1e-6);
            if slope > 30.0 {
                assert_ne!(berth.mount, Mount::Plug, "{} plugged on a wall", entry.id);
            }
            let reach = at.x.min(100.0 - at.x).min(at.y).hypot(45.0 - at.z);
            assert!(reach <= 70.0, "{} out of reach", entry.id);
            let ground = berth.on == Support::Sand;
            assert!(if ground {
                entry.place.sand
            } else {
                entry.place.rock
            });
            if berth.mount == Mount::Sand {
                let needed = entry.sand_depth_cm.as_ref().map_or(2.0, |d| d.value);
                assert!(needed <= 4.0, "{} in 4 cm of sand", entry.id);
            }
        }
    }
    assert!(n > 200 && placed > 40, "{n} berths for {placed} entries");
}

#[test]
fn what_lives_free_is_never_glued() {
    let glues = [
        Mount::Plug,
        Mount::Gel,
        Mount::Putty,
        Mount::GelAndPutty,
        Mount::Rod,
        Mount::Hang,
    ];
    for entry in Catalog::built_in().entries() {
        let free =
            entry.form == Form::FreeLiving || matches!(entry.kind, Kind::Clam | Kind::Anemone);
        assert_eq!(entry.never_glued(), free, "{}", entry.id);
        for on in [SurfaceOwner::Rock(0), SurfaceOwner::Sand] {
            for normal in [DVec3::Z, -DVec3::Y, -DVec3::Z] {
                let mount = usual_mount(entry, on, normal, DVec3::splat(0.05));
                assert!(!(free && glues.contains(&mount)), "{}", entry.id);
            }
        }
    }
    let seats = Catalog::built_in().entries().iter().flat_map(|e| &e.seats);
    for seat in seats {
        assert!(mount_method(*seat).is_some(), "{seat:?} is described");
    }
}

#[test]
fn a_jet_keeps_its_distance_and_rock_shelters_from_it() {
    let mut scene = scene();
    let entry = Catalog::built_in().entry("caulastraea").expect("known");
    let before = found(&scene, entry);
    assert!(
        before.iter().any(|berth| berth.at_m.x < 0.4),
        "free at first"
    );
    // 3000 L/h from 3.5 cm along the rock's top: 6.1 · 0.866 m/s · 0.035 m over
    // the most that it bears is the way on the axis that burns.
    scene.layouts[0].pumps.push(Pump {
        id: 9,
        name: String::new(),
        kind: PumpKind::Propeller,
        at_cm: DVec3::new(4.0, 25.0, 23.0),
        turn_deg: 0.0,
        tilt_deg: 0.0,
        flow_lph: 3000.0,
        outlet_cm: 3.5,
        throttle: 1.0,
        programme: Programme::Steady,
        power_w: None,
        by_hour: Vec::new(),
        guarded: false,
        measured: None,
        locked: false,
    });
    let burnt_m = 6.1 * 0.8662 * 0.035 / (entry.flow_cm_s.high / 100.0);
    for berth in found(&scene, entry) {
        let way = berth.at_m.x - 0.04;
        let beside = (berth.at_m.y - 0.25).abs();
        let inside = way < burnt_m && beside < 0.06 * way;
        assert!(!inside, "{} lies in the jet", berth.at_m);
    }
    let (flow, light) = (hand::even_flow(0.1), light(entry));
    let options = AdviceOptions::default();
    let input = hand::input(&scene, Some(&flow), Some(&light), &options);
    let sought = seek_berths(&input, entry, 60, &BerthFilters::default());
    assert!(sought.turned_away.contains_key("in_jet"), "{sought:?}");
    // Aimed below the rock's top, the rock stands in its way.
    scene.layouts[0].pumps[0].at_cm.z = 12.0;
    let input = hand::input(&scene, Some(&flow), Some(&light), &options);
    let sought = seek_berths(&input, entry, 60, &BerthFilters::default());
    let top = |berth: &Berth| berth.at_m.z > 0.19 && berth.at_m.x > 0.35;
    assert!(sought.berths.iter().any(top), "sheltered by the rock");
}

#[test]
fn neighbors_keep_their_sweepers_to_themselves() {
    let mut scene = scene();
    scene.layouts[0].corals.push(Coral {
        id: 2,
        entry: "galaxea".to_owned(),
        name: String::new(),
        at_cm: DVec3::new(26.0, 26.0, 20.0),
        facing: DVec3::Z,
        size_cm: DVec3::new(6.0, 6.0, 5.0),
        mount: Mount::Putty,
        on: Support::Rock(1),
        since: None,
        note: String::new(),
        locked: false,
    });
    let entry = Catalog::built_in().entry("favites").expect("known");
    let all = found(&scene, entry);
    assert!(!all.is_empty(), "the far end is free");
    for berth in all {
        // Grown 20 cm wide, a neighbor of 6 cm, and its 30 cm of sweepers.
        let gap = berth
            .at_m
            .truncate()
            .distance(DVec3::new(0.26, 0.26, 0.0).truncate());
        assert!(gap >= 0.10 + 0.03 + 0.30 - 1e-9, "{} is stung", berth.at_m);
    }
}

//! What must not matter does not: names, the order of lists, and which way
//! round the tank is looked at. Method: random piles with corals and gear,
//! renamed, reordered and mirrored left to right, under light and flow that are
//! mirrored with them.

use bommie::advice::{AdviceInput, AdviceOptions, Between, Finding, distances, findings, stances};
use bommie::light::LightSample;
use bommie::scene::{Layout, Scene};
use bommie::study::Study;
use glam::{DVec2, DVec3};
use proptest::prelude::*;

use crate::hand;

const LENGTH_CM: f64 = 100.0;

/// Two or three blocks, a coral on each and two on the sand, a pump and a lamp.
fn scene(blocks: &[(f64, f64, f64, f64)], corals: &[(f64, f64)]) -> Scene {
    let gear = r#"(
        name: "one",
        pumps: [(id: 1, name: "gear one", at_cm: (5.0, 25.0, 30.0), flow_lph: 2000.0, outlet_cm: 4.0)],
        lamps: [(id: 2, name: "gear two", body: Panel(length_cm: 60.0, width_cm: 20.0),
            at_cm: (47.0, 25.0, 60.0), output: Photons(umol_s: 300.0))],
    )"#;
    let mut layout: Layout = ron::from_str(gear).expect("the layout reads");
    let mut add = |id: u32, at: DVec3, on: &str, entry: &str, mount: &str| {
        let text = format!(
            "(id: {id}, entry: {entry:?}, at_cm: ({:?}, {:?}, {:?}), size_cm: (4.0, 4.0, 3.0), \
             mount: {mount}, on: {on})",
            at.x, at.y, at.z
        );
        layout
            .corals
            .push(ron::from_str(&text).expect("the coral reads"));
    };
    for (i, (x, y, _, high)) in blocks.iter().enumerate() {
        let id = 10 + i as u32;
        let at = DVec3::new(*x, *y, *high);
        add(
            30 + id,
            at,
            &format!("Rock({id})"),
            "euphyllia_torch",
            "Putty",
        );
    }
    for (i, (x, y)) in corals.iter().enumerate() {
        add(
            60 + i as u32,
            DVec3::new(*x, *y, 4.0),
            "Sand",
            "fungia",
            "Loose",
        );
    }
    for (i, (x, y, size, high)) in blocks.iter().enumerate() {
        let id = 10 + i as u32;
        let name = format!("stone {i}");
        let (at, whole) = ((*x, *y, 0.0), (*size, 0.7 * size, *high));
        layout.rocks.push(hand::block(id, &name, at, whole));
    }
    hand::scene(layout)
}

/// The scene as seen in a mirror at its right end.
fn mirrored(scene: &Scene) -> Scene {
    let mut scene = scene.clone();
    let layout = &mut scene.layouts[0];
    let place = |at: &mut DVec3| at.x = LENGTH_CM - at.x;
    for rock in &mut layout.rocks {
        place(&mut rock.at_cm);
        rock.turn_deg = -rock.turn_deg;
        rock.tilt_deg = -rock.tilt_deg;
        for outline in [&mut rock.plan, &mut rock.front] {
            outline.points_cm.reverse();
            for point in &mut outline.points_cm {
                *point = DVec2::new(-point.x, point.y);
            }
        }
    }
    for pump in &mut layout.pumps {
        place(&mut pump.at_cm);
        pump.turn_deg = 180.0 - pump.turn_deg;
    }
    for lamp in &mut layout.lamps {
        place(&mut lamp.at_cm);
    }
    for coral in &mut layout.corals {
        place(&mut coral.at_cm);
        coral.facing.x = -coral.facing.x;
    }
    scene
}

/// The scene with other names and its lists backwards.
fn renamed(scene: &Scene) -> Scene {
    let mut scene = scene.clone();
    let layout = &mut scene.layouts[0];
    for rock in &mut layout.rocks {
        rock.name = format!("Ω{}", rock.id % 2);
    }
    for pump in &mut layout.pumps {
        pump.name.clear();
    }
    for coral in &mut layout.corals {
        "all alike".clone_into(&mut coral.name);
    }
    layout.rocks.reverse();
    layout.corals.reverse();
    scene
}

/// What is found under light that fades from left to right, or the other way
/// round.
fn found(scene: &Scene, is_mirrored: bool) -> Vec<Finding> {
    let field = hand::even_flow(if is_mirrored { -0.05 } else { 0.05 });
    // Speeds have no sign; the water only runs the other way.
    let mut field = field;
    for speed in &mut field.speed_m_s {
        *speed = speed.abs();
    }
    let light_at = |at_m: DVec3, _: DVec3| {
        let x_m = if is_mirrored {
            LENGTH_CM / 100.0 - at_m.x
        } else {
            at_m.x
        };
        let umol = 320.0 * (-2.5 * x_m).exp();
        LightSample {
            up_umol: umol,
            scalar_umol: umol,
            facing_umol: umol,
        }
    };
    let options = AdviceOptions::default();
    findings(&AdviceInput {
        light_at: Some(&light_at),
        ..hand::input(scene, Some(&field), None, &options)
    })
}

/// Something said, and its values.
type Said = (String, Vec<f64>);

/// What findings say, without their places: what they are about, how bad and
/// sure they are, and their values.
fn said(all: &[Finding]) -> Vec<Said> {
    let one = |finding: &Finding| {
        let mut items = finding.items.clone();
        items.sort_unstable();
        let mut values = finding.quantities.clone();
        values.sort_by_key(|quantity| format!("{:?}", quantity.figure));
        let figures: Vec<_> = values.iter().map(|quantity| quantity.figure).collect();
        let words = format!(
            "{:?} {:?} {:?} {items:?} {:?} {figures:?}",
            finding.kind, finding.severity, finding.certainty, finding.notes
        );
        (
            words,
            values.iter().map(|quantity| quantity.value).collect(),
        )
    };
    let flat = all.iter().flat_map(|f| f.under.iter().chain([f]));
    sorted(flat.map(one).collect())
}

/// How rocks stand and the distances about them, by their ids.
fn measured(scene: &Scene, is_mirrored: bool) -> Vec<Said> {
    let study = Study::with_built_in(scene, 0).expect("it has a layout");
    let stands = stances(&study).into_iter().map(|(body, stance, why)| {
        let values = vec![body.margin_m, body.overhang_share, body.wet_kg];
        (format!("{:?} {stance:?} {why:?}", body.rocks), values)
    });
    let ways = distances(&study).into_iter().map(|distance| {
        let between = match distance.between {
            Between::LeftPane if is_mirrored => Between::RightPane,
            Between::RightPane if is_mirrored => Between::LeftPane,
            other => other,
        };
        let words = format!("{between:?} {:?}", distance.items);
        (words, vec![distance.distance_m])
    });
    sorted(stands.chain(ways).collect())
}

fn sorted(mut all: Vec<Said>) -> Vec<Said> {
    all.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.partial_cmp(&b.1).expect("numbers")));
    all
}

/// Whether the same is said, values to a millionth of themselves: what is left
/// of adding up in another order.
fn are_alike(a: &[Said], b: &[Said]) -> bool {
    let near = |a: &f64, b: &f64| a == b || (a - b).abs() <= 1e-6 * (1e-3 + a.abs().max(b.abs()));
    a.len() == b.len()
        && a.iter().zip(b).all(|(a, b)| {
            a.0 == b.0 && a.1.len() == b.1.len() && a.1.iter().zip(&b.1).all(|(a, b)| near(a, b))
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn names_order_and_mirrors_change_nothing(
        x in prop::array::uniform3(14.0_f64..86.0),
        y in prop::array::uniform3(12.0_f64..38.0),
        size in prop::array::uniform3(8.0_f64..22.0),
        high in prop::array::uniform3(8.0_f64..26.0),
        loose in prop::array::uniform2((10.0_f64..90.0, 8.0_f64..42.0)),
        n in 1_usize..4,
    ) {
        // In 1024ths, so that mirroring is exact, and hardly any two touch just so.
        let fine = |value: f64| (value * 1024.0).round() / 1024.0;
        let blocks: Vec<_> = (0..n)
            .map(|i| (fine(x[i]), fine(y[i]), fine(size[i]), fine(high[i])))
            .collect();
        let loose = loose.map(|(x, y)| (fine(x), fine(y)));
        let scene = scene(&blocks, &loose);
        let all = said(&found(&scene, false));
        let other = said(&found(&renamed(&scene), false));
        prop_assert!(are_alike(&other, &all), "{}: {other:#?}\n{all:#?}", "renamed, reordered");
        let mirror = mirrored(&scene);
        let other = said(&found(&mirror, true));
        prop_assert!(are_alike(&other, &all), "{}: {other:#?}\n{all:#?}", "mirrored");
        let stands = measured(&scene, false);
        let other = measured(&renamed(&scene), false);
        prop_assert!(are_alike(&other, &stands), "{}: {other:#?}\n{stands:#?}", "renamed, reordered");
        let other = measured(&mirror, true);
        prop_assert!(are_alike(&other, &stands), "{}: {other:#?}\n{stands:#?}", "mirrored");
    }
}

#[test]
fn two_ledges_of_one_name_stay_two_places() {
    // Zones are told apart by where they are and never by what they are called.
    let one = scene(&[(25.0, 25.0, 20.0, 20.0), (75.0, 25.0, 20.0, 20.0)], &[]);
    let two = renamed(&one);
    let places = |scene: &Scene| {
        let all = found(scene, false);
        let flat = all.iter().flat_map(|f| f.under.iter().chain([f]));
        flat.map(|f| format!("{:?} {:.2?}", f.kind, f.place.at_cm))
            .collect::<std::collections::BTreeSet<_>>()
    };
    assert_eq!(places(&one), places(&two), "names merge nothing");
}

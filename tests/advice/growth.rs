//! What growth takes from neighbors, dated: hand-worked months for light,
//! sting with its lee side, wakes and moats.

use bommie::advice::{AdviceOptions, GrowthEvent, Meeting, growth_findings, later_events};
use bommie::catalog::Catalog;
use bommie::flow::FlowField;
use bommie::scene::{Coral, Lamp, Layout, Mount, Scene, Support};
use glam::DVec3;

use crate::hand;

/// Horizon of all that follows, in months.
const MONTHS: f64 = 48.0;

fn coral(id: u32, entry: &str, x_y_z_cm: (f64, f64, f64), size_cm: (f64, f64, f64)) -> Coral {
    Coral {
        id,
        entry: entry.to_owned(),
        name: String::new(),
        at_cm: DVec3::from(x_y_z_cm),
        facing: DVec3::Z,
        size_cm: DVec3::from(size_cm),
        mount: Mount::Gel,
        on: Support::Rock(1),
        since: None,
        note: String::new(),
        locked: false,
    }
}

/// Corals on a slab of 90 × 30 cm, 20 cm high.
fn scene(corals: Vec<Coral>) -> Scene {
    hand::scene(Layout {
        rocks: vec![hand::block(
            1,
            "reef",
            (47.0, 25.0, 0.0),
            (90.0, 30.0, 20.0),
        )],
        corals,
        ..Layout::default()
    })
}

fn events(scene: &Scene, flow: Option<&FlowField>) -> Vec<GrowthEvent> {
    let options = AdviceOptions::default();
    later_events(&hand::input(scene, flow, None, &options), MONTHS)
}

/// Early, usual and late month of the one event of a kind.
fn dated(events: &[GrowthEvent], what: Meeting, by: u32, to: u32) -> [f64; 3] {
    let found: Vec<&GrowthEvent> = events
        .iter()
        .filter(|event| event.what == what && event.by == by && event.to == to)
        .collect();
    assert_eq!(found.len(), 1, "one {what:?} of {by} and {to}: {events:?}");
    let months = found[0].months;
    [
        months.early,
        months.usual.expect("at the usual pace"),
        months.late.expect("at the slow pace"),
    ]
}

/// `cm` at these yearly rates (fast, usual, slow), in months.
fn months(cm: f64, rates_cm_yr: [f64; 3]) -> [f64; 3] {
    rates_cm_yr.map(|rate| cm / rate * 12.0)
}

fn assert_near(found: [f64; 3], expected: [f64; 3], tolerance: f64) {
    for (a, b) in found.iter().zip(expected) {
        assert!((a - b).abs() < tolerance, "{found:?} against {expected:?}");
    }
}

#[test]
fn a_table_takes_the_light_from_above_when_its_rim_comes_in() {
    // One small lamp 5 m straight above the mat: its rays come down upright.
    let lamp: Lamp = ron::from_str(
        "(id: 9, name: \"\", body: Disc(diameter_cm: 0.1), at_cm: (42.0, 25.0, 540.0), \
         output: Photons(umol_s: 100.0), spread: Beam(full_angle_deg: 60.0), \
         day: (hours: 10.0, ramp_hours: 1.0))",
    )
    .expect("the lamp reads");
    let mut scene = scene(vec![
        coral(1, "acropora_table", (30.0, 25.0, 30.0), (10.0, 10.0, 8.0)),
        coral(2, "zoanthus", (42.0, 25.0, 20.0), (4.0, 4.0, 1.0)),
    ]);
    scene.layouts[0].lamps.push(lamp);
    // Its rim is 5 cm out and 12 cm away: 7 cm to go. The tolerance is the
    // lamp's own width, shrunk on its way down.
    let shade = dated(&events(&scene, None), Meeting::Shade, 1, 2);
    assert_near(shade, months(7.0, [9.71, 7.7, 5.79]), 0.01);
    // Light that leans in from the far side passes the rim for longer.
    scene.layouts[0].lamps[0].at_cm.x = 95.0;
    scene.layouts[0].lamps[0].at_cm.z = 70.0;
    let aside = dated(&events(&scene, None), Meeting::Shade, 1, 2);
    assert!(
        aside
            .iter()
            .zip(shade)
            .all(|(later, first)| *later > first + 5.0),
        "{aside:?} against {shade:?}"
    );
    // From the table's own side it is in the way from the first day on: that
    // is no event any more.
    scene.layouts[0].lamps[0].at_cm = DVec3::new(5.0, 25.0, 70.0);
    scene.layouts[0].corals[0].size_cm.x = 22.0;
    scene.layouts[0].corals[0].size_cm.y = 22.0;
    let dark = events(&scene, None);
    assert!(
        dark.iter().all(|event| event.what != Meeting::Shade),
        "{dark:?}"
    );
}

#[test]
fn the_sting_reaches_farther_on_the_lee_side() {
    let scene = scene(vec![
        coral(1, "euphyllia_torch", (30.0, 25.0, 20.0), (6.0, 6.0, 6.0)),
        coral(2, "montipora_plate", (66.0, 25.0, 20.0), (4.0, 4.0, 2.5)),
    ]);
    // 36 cm apart, 3 and 2 cm wide: a gap of 31 cm that closes by both rates.
    let rates = [1.5 + 3.82, 1.0 + 2.5, 0.5 + 1.16];
    let still = events(&scene, None);
    let [early, usual, _] = months(31.0 - 20.0, rates);
    let event = still
        .iter()
        .find(|event| event.what == Meeting::Sting && event.by == 1)
        .expect("it reaches");
    assert!((event.months.early - early).abs() < 1e-6, "{event:?}");
    assert!(
        event
            .months
            .usual
            .is_some_and(|month| (month - usual).abs() < 1e-6),
        "{event:?}"
    );
    assert_eq!(event.months.late, None, "not within {MONTHS} months");
    // 5 cm/s towards the other: half of the lee addition, 20 × 1.25 = 25 cm.
    // The line between their middles is not quite level: a cosine 0.1 % off.
    let lee = dated(
        &events(&scene, Some(&hand::even_flow(0.05))),
        Meeting::Sting,
        1,
        2,
    );
    assert_near(lee, months(31.0 - 25.0, rates), 0.05);
    // The same water the other way adds nothing.
    let windward = events(&scene, Some(&hand::even_flow(-0.05)));
    let other = windward
        .iter()
        .find(|event| event.what == Meeting::Sting && event.by == 1)
        .expect("it reaches");
    assert!((other.months.early - early).abs() < 1e-3, "{other:?}");
}

#[test]
fn a_colony_upstream_takes_the_flow_once_it_is_wide_enough() {
    let scene = scene(vec![
        coral(1, "galaxea", (30.0, 25.0, 20.0), (6.0, 6.0, 6.0)),
        coral(2, "montipora_plate", (45.0, 29.0, 20.0), (4.0, 4.0, 3.0)),
    ]);
    let flow = hand::even_flow(0.08);
    // 4 cm beside its middle line, 3 cm wide: 1 cm to go.
    let block = dated(&events(&scene, Some(&flow)), Meeting::Block, 1, 2);
    assert_near(block, months(1.0, [1.04, 0.8, 0.5]), 1e-6);
    let blocks = |flow: Option<&FlowField>| {
        events(&scene, flow)
            .iter()
            .any(|event| event.what == Meeting::Block && event.by == 1)
    };
    assert!(!blocks(Some(&hand::even_flow(-0.08))), "downstream of it");
    assert!(!blocks(Some(&hand::even_flow(0.005))), "hardly any flow");
    assert!(!blocks(None), "no flow known");
}

#[test]
fn a_mat_leaves_its_moat() {
    let mut scene = scene(vec![
        coral(1, "briareum", (30.0, 25.0, 20.0), (4.0, 4.0, 1.0)),
        coral(2, "galaxea", (60.0, 25.0, 20.0), (6.0, 6.0, 6.0)),
    ]);
    // A gap of 25 cm, 10 cm of which are the moat.
    let moat = dated(&events(&scene, None), Meeting::Spread, 1, 2);
    assert_near(
        moat,
        months(15.0, [15.0 + 1.04, 10.0 + 0.8, 5.0 + 0.5]),
        1e-6,
    );
    // A rock of its own stands 22 cm from the mat's middle: 22 − 10 − 2 to go.
    scene.layouts[0].rocks = vec![
        hand::block(1, "reef", (30.0, 25.0, 0.0), (30.0, 30.0, 20.0)),
        hand::block(3, "wall", (60.0, 25.0, 0.0), (16.0, 30.0, 38.0)),
    ];
    scene.layouts[0].corals.truncate(1);
    let island = dated(&events(&scene, None), Meeting::Spread, 1, 3);
    // The solid's distance is exact to its sampling, 0.1 mm on 10 cm.
    assert_near(island, months(10.0, [15.0, 10.0, 5.0]), 0.2);
    let all = events(&scene, None);
    let words = hand::speaker(&scene).meeting(&all[0]);
    assert!(words.contains("moat to the wall"), "{words}");
}

/// What is said of growth tells how sure the rate is, by the catalog's own word.
#[test]
fn growth_tells_how_sure_its_rate_is() {
    let pair = vec![
        coral(2, "galaxea", (40.0, 25.0, 20.0), (6.0, 6.0, 5.0)),
        coral(3, "euphyllia_torch", (50.0, 25.0, 20.0), (6.0, 6.0, 6.0)),
    ];
    let scene = scene(pair);
    let options = AdviceOptions {
        months: MONTHS,
        ..AdviceOptions::default()
    };
    let found = growth_findings(&hand::input(&scene, None, None, &options));
    assert!(!found.is_empty(), "they meet within four years");
    for finding in &found {
        let who = finding.items.first().expect("who grows");
        let coral = scene.layouts[0].corals.iter().find(|it| it.id == *who);
        let entry = coral.and_then(|it| Catalog::built_in().entry(&it.entry));
        let status = entry.expect("known").growth_cm_yr.basis.status.words();
        let said = hand::say(&scene, finding);
        assert!(said.contains(&format!("vary widely ({status})")), "{said}");
    }
}

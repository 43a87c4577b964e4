//! The tank estimate against two tanks solved with an independent
//! finite-volume code (`OpenFOAM` 1912; `tests/data/flow_*` hold the figures).

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use std::fmt::Write as _;

use bommie::flow::{FlowField, FlowOptions, FlowSetup, solve};
use bommie::scene::Scene;
use bommie::storage::parse;
use bommie::study::Study;
use glam::DVec3;

/// A study of the first layout.
fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

/// Outlet, aim, diameter in cm and flow in L/h.
pub(super) type Pump = (DVec3, DVec3, f64, f64);

/// A tank of glass with boxes of rock, all in cm. Its pumps are nozzles: the
/// references have thrust at outlets and no bodies.
pub(super) fn tank(size: DVec3, boxes: &[[DVec3; 2]], pumps: &[Pump]) -> Scene {
    let (mut rocks, mut gear) = (String::new(), String::new());
    for (k, [low, high]) in boxes.iter().enumerate() {
        let (half, at, height) = ((high - low) / 2.0, (low + high) / 2.0, high.z - low.z);
        let outline = |a: f64, low: f64, high: f64| {
            format!(
                "(curved: false, points_cm: [({:?}, {low:?}), ({a:?}, {low:?}), ({a:?}, {high:?}), ({:?}, {high:?})])",
                -a, -a
            )
        };
        let (plan, front) = (
            outline(half.x, -half.y, half.y),
            outline(half.x, 0.0, height),
        );
        let (id, x, y, z) = (100 + k, at.x, at.y, low.z);
        write!(
            rocks,
            "(id: {id}, name: \"box\", at_cm: ({x:?}, {y:?}, {z:?}), turn_deg: 0.0, plan: {plan}, front: {front}, rounding_cm: 0.0),"
        )
        .expect("a string takes all");
    }
    for (k, (at, aim, outlet_cm, flow_lph)) in pumps.iter().enumerate() {
        let (id, x, y, z) = (1 + k, at.x, at.y, at.z);
        let turn = aim.y.atan2(aim.x).to_degrees();
        let tilt = aim.z.atan2(aim.x.hypot(aim.y)).to_degrees();
        write!(
            gear,
            "(id: {id}, name: \"pump\", kind: Nozzle, at_cm: ({x:?}, {y:?}, {z:?}), turn_deg: {turn:?}, tilt_deg: {tilt:?}, flow_lph: {flow_lph:?}, outlet_cm: {outlet_cm:?}, programme: Steady),"
        )
        .expect("a string takes all");
    }
    let (length, width, water) = (size.x, size.y, size.z);
    let height = water + 5.0;
    let text = format!(
        "(format: 1, name: \"tank\", tank: (length_cm: {length:?}, width_cm: {width:?}, height_cm: {height:?}, water_cm: {water:?},
        sand: (depth_cm: 0.0, grain_mm: 1.0, reflectance: 0.4),
        sides: (left: Clear, right: Clear, front: Clear, back: Clear),
        water: (absorption_per_m: 0.2, refractive_index: 1.34)),
        layouts: [(name: \"one\", rocks: [{rocks}], pumps: [{gear}], lamps: [], corals: [])])"
    );
    parse(&text, "tank.ron").expect("it loads").scene
}

/// What a coral feels: root of the mean square of the speed.
fn felt_m_s(field: &FlowField, at_m: DVec3) -> Option<f64> {
    let sample = field.sample(at_m)?;
    Some(sample.velocity_m_s.length().hypot(sample.fluctuation_m_s))
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

pub(super) fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut ranks = vec![0.0; values.len()];
    for (rank, at) in order.into_iter().enumerate() {
        ranks[at] = rank as f64;
    }
    ranks
}

pub(super) fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let (mean_a, mean_b) = (mean(a), mean(b));
    let product = |x: &[f64], mx: f64, y: &[f64], my: f64| -> f64 {
        x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum()
    };
    product(a, mean_a, b, mean_b)
        / (product(a, mean_a, a, mean_a) * product(b, mean_b, b, mean_b)).sqrt()
}

/// Share of the places that lie in the slowest quarter of one or both which lie
/// in that of both.
fn overlap(a: &[f64], b: &[f64]) -> f64 {
    let quarter = a.len() as f64 / 4.0;
    let is_slow = |ranks: &[f64]| -> Vec<bool> { ranks.iter().map(|r| *r < quarter).collect() };
    let (a, b) = (is_slow(&ranks(a)), is_slow(&ranks(b)));
    let both = a.iter().zip(&b).filter(|(a, b)| **a && **b).count();
    let either = a.iter().zip(&b).filter(|(a, b)| **a || **b).count();
    both as f64 / either as f64
}

/// Two piles of rock, an arch and two pumps, on cells of 1.25 cm, against the
/// field resolved on cells of 3.3 mm (`tests/data/resolved`, tank `z-piles`; its
/// page says how far to trust it). An earlier reference, an LES on cells of 2 cm,
/// agrees with the resolved one at a rank of 0.73 alone and is no judge.
#[test]
fn two_piles_are_slow_and_fast_where_the_resolved_field_is() {
    let text = include_str!("../data/flow_two_piles_resolved.txt");
    let boxes = include_str!("../data/flow_two_piles_boxes.csv");
    let boxes: Vec<[DVec3; 2]> = (boxes.lines())
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
        .map(|line| {
            let n: Vec<f64> = line
                .split(',')
                .map(|x| x.parse().expect("a number"))
                .collect();
            [DVec3::new(n[0], n[1], n[2]), DVec3::new(n[3], n[4], n[5])]
        })
        .collect();
    let pumps = [
        (DVec3::new(6.0, 8.0, 34.0), DVec3::X, 3.5, 3500.0),
        (
            DVec3::new(84.0, 37.0, 30.0),
            DVec3::new(-0.98058, 0.0, -0.196116),
            4.0,
            3000.0,
        ),
    ];
    let options = FlowOptions {
        cell_m: Some(0.0125),
        ..FlowOptions::default()
    };
    let scene = tank(DVec3::new(90.0, 45.0, 45.0), &boxes, &pumps);
    let setup = FlowSetup::new(&study(&scene), &options).expect("it can be set up");
    let field = solve(setup, &mut |_| true).expect("it is solved");
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    // Rows along x, in the order of y, layers in that of z.
    for (row, line) in text.lines().enumerate() {
        for (i, word) in line.split(' ').enumerate().filter(|(_, word)| *word != "-") {
            let ijk = DVec3::new(i as f64, (row % 22) as f64, (row / 22) as f64);
            if let Some(felt) = felt_m_s(&field, (ijk + 0.5) * 0.02) {
                ours.push(felt);
                theirs.push(word.parse::<f64>().expect("a number") * 1e-3);
            }
        }
    }
    let rank = correlation(&ranks(&ours), &ranks(&theirs));
    let (overlap, ratio) = (overlap(&ours, &theirs), mean(&ours) / mean(&theirs));
    println!(
        "{} places: rank {rank:.3}, overlap {overlap:.3}, ratio {ratio:.3}",
        ours.len()
    );
    assert!(ours.len() > 17_000, "{} places", ours.len());
    // Seen 0.935, 0.647, 0.990. Two runs of one tank are a few hundredths apart;
    // the bars of the estimate at 1.25 cm are 0.8, 0.48 and 15 %.
    assert!(rank >= 0.80, "rank correlation {rank:.3}");
    assert!(overlap >= 0.48, "overlap {overlap:.3}");
    assert!((0.85..1.15).contains(&ratio), "ratio {ratio:.3}");
}

/// Speed at 0.5 m, half width at 0.7 m and felt speed of one jet in an empty
/// tank, in m/s, m and m/s. The jet may lean to either side, so the fastest place
/// of a plane is taken.
fn one_jet() -> [f64; 3] {
    let pump = (DVec3::new(3.0, 30.0, 30.0), DVec3::X, 4.0, 6000.0);
    let scene = tank(DVec3::new(120.0, 60.0, 50.0), &[], &[pump]);
    let options = FlowOptions {
        cell_m: Some(0.02),
        ..FlowOptions::default()
    };
    let setup = FlowSetup::new(&study(&scene), &options).expect("it can be set up");
    let field = solve(setup, &mut |_| true).expect("it is solved");
    let (speed, _) = plane(&field, 0.5);
    let (_, half) = plane(&field, 0.7);
    let cells = (0..field.grid.n_cells())
        .filter_map(|cell| felt_m_s(&field, field.grid.center_m(field.grid.ijk(cell))));
    let felt = mean(&cells.collect::<Vec<_>>());
    println!("at 0.5 m {speed:.3} m/s, half width at 0.7 m {half:.3} m, felt {felt:.4} m/s");
    [speed, half, felt]
}

/// The mean felt speed against a steady RANS solution (k-epsilon, 2 cm): 0.0813
/// m/s. The speed at 0.5 m and the half width at 0.7 m against the law of a free
/// round jet, `5.9·U₀·d/s` and `0.094 s` (Hussein, Capp & George 1994): walls are
/// three half widths away and more there. The RANS solution's own jet has 0.36 m/s
/// and 0.093 m, 0.54 and 1.5 of the law: k-epsilon spreads round jets too fast
/// (Pope 1978, AIAA J. 16:279, MEMORY).
#[test]
fn one_jet_reaches_as_far_as_the_law_says_and_stirs_its_tank_as_much_as_the_reference() {
    let [speed, half, felt] = one_jet();
    // The goal is 15 % for each: seen +2, −8 and +10 %, and of three runs +2, −8
    // and +7. Single ones differ by 1, 1 and 4 %, and other processors round
    // otherwise, so the first bound lies a little further.
    assert!((felt / 0.0813 - 1.0).abs() < 0.16, "{felt} m/s on average");
    let exit_m_s = (6.0 / 3600.0) / (std::f64::consts::FRAC_PI_4 * 0.04 * 0.04);
    let law_m_s = 5.9 * exit_m_s * 0.04 / (0.5 - 0.03);
    let law_m = 0.094 * (0.7 - 0.03);
    assert!((speed / law_m_s - 1.0).abs() < 0.15, "{speed} m/s at 0.5 m");
    assert!(
        (half / law_m - 1.0).abs() < 0.15,
        "half width {half} m at 0.7 m"
    );
}

/// Fastest forward speed in a plane across the tank, in m/s, and the radius of
/// the disc on which it is at least half as fast, in m.
fn plane(field: &FlowField, x_m: f64) -> (f64, f64) {
    let grid = field.grid;
    let i = (x_m / grid.cell_m - 1e-9) as usize;
    let speeds: Vec<f64> = (0..grid.n[1] * grid.n[2])
        .map(|jk| grid.idx([i, jk % grid.n[1], jk / grid.n[1]]))
        .map(|cell| f64::from(field.velocity_m_s[cell][0]))
        .collect();
    let top = speeds.iter().copied().fold(0.0, f64::max);
    let n = speeds.iter().filter(|u| **u > top / 2.0).count() as f64;
    let area_m2 = n * grid.cell_m * grid.cell_m;
    (top, (area_m2 / std::f64::consts::PI).sqrt())
}

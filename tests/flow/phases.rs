//! Pumps that take turns: the water of each phase, against symmetry, against
//! steady pumps, and against a tank resolved with pumps that switch
//! (`tests/data/switching`, whose page says what it is).

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use bommie::flow::{CellKind, FlowField, FlowOptions, FlowSetup, solve, solve_runs};
use bommie::scene::{Programme, Scene};
use bommie::study::Study;
use glam::DVec3;

use crate::tanks::{Pump, correlation, ranks, tank};

/// The scene with its pumps in turn.
fn in_turn(mut scene: Scene, period_s: f64) -> Scene {
    let of = scene.layouts[0].pumps.len() as u32;
    for (turn, pump) in (0..).zip(&mut scene.layouts[0].pumps) {
        pump.programme = Programme::Alternate {
            set: 1,
            period_s,
            turn,
            of,
        };
    }
    scene
}

fn solved(scene: &Scene, options: &FlowOptions) -> FlowField {
    let study = Study::with_built_in(scene, 0).expect("there is a layout");
    let setup = FlowSetup::new(&study, options).expect("it can be set up");
    solve(setup, &mut |_| true).expect("it is solved")
}

fn on_cells(cell_m: f64) -> FlowOptions {
    FlowOptions {
        cell_m: Some(cell_m),
        ..FlowOptions::default()
    }
}

/// Cells of water.
fn water(field: &FlowField) -> impl Iterator<Item = usize> + '_ {
    (0..field.kind.len()).filter(|cell| field.kind[*cell] == CellKind::Water)
}

/// Two pumps that face each other from the ends of a bare tank.
fn facing(period_s: f64) -> Scene {
    let at = |x: f64| DVec3::new(x, 15.0, 18.0);
    let pumps: [Pump; 2] = [
        (at(4.0), DVec3::X, 3.0, 1500.0),
        (at(56.0), -DVec3::X, 3.0, 1500.0),
    ];
    in_turn(tank(DVec3::new(60.0, 30.0, 30.0), &[], &pumps), period_s)
}

/// The mean over the water of what two phases differ by, each the mirror image
/// of the other, over the mean speed; and what they differ by as they are.
fn apart(field: &FlowField) -> [f64; 2] {
    let [a, b] = &field.phases[..] else {
        panic!("two phases, not {}", field.phases.len())
    };
    let (mut mirrored, mut plain, mut sum) = (0.0, 0.0, 0.0);
    for cell in water(field) {
        let [i, j, k] = field.grid.ijk(cell);
        let other = field.grid.idx([field.grid.n[0] - 1 - i, j, k]);
        mirrored += f64::from((a.speed_m_s[cell] - b.speed_m_s[other]).abs());
        plain += f64::from((a.speed_m_s[cell] - b.speed_m_s[cell]).abs());
        sum += f64::from(0.5 * (a.speed_m_s[cell] + b.speed_m_s[cell]));
    }
    [mirrored / sum, plain / sum]
}

/// Mean over all phases as the field has it and as its phases weigh up to.
fn assert_weighs_up(field: &FlowField) {
    let shares: f64 = field.phases.iter().map(|phase| phase.share).sum();
    assert!((shares - 1.0).abs() < 1e-9, "shares sum to {shares}");
    for cell in water(field) {
        let at_m = field.grid.center_m(field.grid.ijk(cell));
        let over = field.over_phases(at_m).expect("pumps change");
        let mean_m_s = f64::from(field.speed_m_s[cell]);
        // Sums are of single precision.
        assert!(
            (over.mean_m_s - mean_m_s).abs() < 1e-4 * mean_m_s + 1e-6,
            "{} against {mean_m_s}",
            over.mean_m_s
        );
        assert!(
            over.worst_m_s <= over.mean_m_s && over.mean_m_s <= over.peak_m_s,
            "{over:?}"
        );
    }
}

/// Pumps that face each other in a bare tank make mirror images in turn, both
/// where the cycle is followed and where it is taken phase by phase. Phases of
/// about a minute sway by themselves: mirrored they must differ by far less
/// than as they are.
#[test]
fn phases_of_a_symmetric_tank_are_mirror_images() {
    for period_s in [12.0, 900.0] {
        let options = FlowOptions {
            average_s: Some([240.0; 2]),
            ..on_cells(0.02)
        };
        let field = solved(&facing(period_s), &options);
        let [mirrored, plain] = apart(&field);
        println!("cycle of {period_s} s: mirrored {mirrored:.3} apart, as they are {plain:.3}");
        let ids: Vec<_> = field.phases.iter().map(|of| of.running.clone()).collect();
        assert_eq!(ids, [[1], [2]], "one pump after the other");
        for phase in &field.phases {
            assert!((phase.share - 0.5).abs() < 0.01, "{}", phase.share);
        }
        assert_weighs_up(&field);
        assert!(mirrored < 0.12, "{mirrored:.3} of the mean speed");
        assert!(plain > 2.0 * mirrored, "as they are {plain:.3}");
    }
}

/// A program that never lets a pump rest is none, quick or slow.
#[test]
fn a_program_of_one_phase_is_a_steady_pump() {
    let pump: Pump = (DVec3::new(4.0, 12.0, 18.0), DVec3::X, 3.0, 1500.0);
    let mut scene = tank(DVec3::new(40.0, 30.0, 30.0), &[], &[pump]);
    let options = FlowOptions {
        spin_up_s: Some(4.0),
        average_s: Some([8.0; 2]),
        ..on_cells(0.02)
    };
    let steady = solved(&scene, &options);
    for period_s in [2.0, 900.0] {
        scene.layouts[0].pumps[0].programme = Programme::Pulse {
            period_s,
            share: 1.0,
        };
        let pulsed = solved(&scene, &options);
        assert!(pulsed.phases.is_empty(), "there is but one phase");
        for cell in water(&steady) {
            // The same samples, added up in other batches.
            let (a, b) = (steady.speed_m_s[cell], pulsed.speed_m_s[cell]);
            assert!((a - b).abs() < 1e-5 * a + 1e-7, "{a} against {b}");
        }
    }
}

/// Slow pumps are taken phase by phase: each phase is what its pump alone does.
#[test]
fn a_slow_phase_is_the_water_of_its_pumps_alone() {
    let mut alone = facing(900.0);
    alone.layouts[0].pumps[0].programme = Programme::Steady;
    alone.layouts[0].pumps.truncate(1);
    let options = FlowOptions {
        average_s: Some([20.0; 2]),
        ..on_cells(0.016)
    };
    let alone = solved(&alone, &options);
    let both = solved(&facing(900.0), &options);
    let first = &both.phases[0];
    let (mut apart, mut sum) = (0.0, 0.0);
    for cell in water(&alone) {
        apart += f64::from((alone.speed_m_s[cell] - first.speed_m_s[cell]).abs());
        sum += f64::from(alone.speed_m_s[cell]);
    }
    println!("alone and in its phase: {:.4} apart", apart / sum);
    // The very same run until the other pump takes over: cells this small mix
    // no cores, which would rest in the way of the other jet. It ends up to half a
    // second of 20 s later.
    assert!(apart < 0.01 * sum, "{:.3} apart", apart / sum);
    let averaged_s = both.settling.averaged_s;
    assert!((averaged_s - 40.0).abs() < 2.0, "{averaged_s} s in all");
}

/// Mean speeds of the resolved tank in m/s, by cycle (20 s, 240 s), by pump and
/// by block of 2 cm; none where a block is not wholly water.
fn resolved() -> Vec<Vec<Option<f64>>> {
    let text = include_str!("../data/switching/phases_mm_s.txt");
    let parts = text.split('#').skip(1).map(|part| {
        let (_, numbers) = part.split_once('\n').expect("a headline");
        let words = numbers.split_whitespace();
        words
            .map(|word| word.parse::<f64>().ok().map(|mm_s| mm_s * 1e-3))
            .collect()
    });
    parts.collect()
}

/// The resolved tank.
fn switching(period_s: f64) -> Scene {
    let v = DVec3::new;
    let boxes = [
        [v(14.0, 10.0, 0.0), v(28.0, 26.0, 16.0)],
        [v(36.0, 18.0, 0.0), v(46.0, 32.0, 24.0)],
    ];
    let pumps: [Pump; 2] = [
        (v(4.0, 12.0, 28.0), v(1.0, 0.25, 0.0), 3.0, 2500.0),
        (v(56.0, 28.0, 20.0), v(-1.0, -0.15, 0.1), 3.0, 2000.0),
    ];
    in_turn(tank(v(60.0, 40.0, 40.0), &boxes, &pumps), period_s)
}

/// Rank correlation and ratio of the means.
fn score(name: &str, estimate: &[f64], truth: &[f64]) -> [f64; 2] {
    let rank = correlation(&ranks(estimate), &ranks(truth));
    let ratio = estimate.iter().sum::<f64>() / truth.iter().sum::<f64>();
    println!("{name}: rank {rank:.3}, ratio of means {ratio:.3}");
    [rank, ratio]
}

/// Scores of mean, slowest and fastest phase of a cycle of the resolved tank,
/// solved by the mean of so many runs; beside each the share of places that lie
/// within the 80 % interval that is said of it.
fn scores(
    period_s: f64,
    options: &FlowOptions,
    runs: usize,
    truth: [&[Option<f64>]; 2],
) -> [([f64; 2], f64); 3] {
    let study = Study::with_built_in(&switching(period_s), 0).expect("there is a layout");
    let setup = FlowSetup::new(&study, options).expect("it can be set up");
    let field = solve_runs(&setup, runs, &|_| true).expect("it is solved");
    let cell_m = field.grid.cell_m;
    println!(
        "cycle of {period_s} s on {cell_m} m: {:.0} s averaged, settled {}",
        field.settling.averaged_s, field.settling.settled
    );
    let (mut estimate, mut resolved) = ([vec![], vec![], vec![]], [vec![], vec![], vec![]]);
    let mut within = [0.0; 3];
    for (block, (a, b)) in truth[0].iter().zip(truth[1]).enumerate() {
        let (Some(a), Some(b)) = (a, b) else { continue };
        let at = DVec3::new(
            (block % 30) as f64,
            (block / 30 % 20) as f64,
            (block / 600) as f64,
        );
        let at_m = (at + 0.5) * 0.02;
        let Some(over) = field.over_phases(at_m) else {
            continue;
        };
        let error = field.speed_error(at_m).expect("water that moves");
        let found = [over.mean_m_s, over.worst_m_s, over.peak_m_s];
        let true_m_s = [0.5 * (a + b), a.min(*b), a.max(*b)];
        for (k, (said, truth)) in found.into_iter().zip(true_m_s).enumerate() {
            estimate[k].push(said);
            resolved[k].push(truth);
            let [low, high] = error.interval_m_s(said);
            within[k] += f64::from((low..=high).contains(&truth));
        }
    }
    let names = ["mean", "slowest phase", "fastest phase"];
    std::array::from_fn(|k| {
        let share = within[k] / estimate[k].len() as f64;
        println!("{}: {share:.3} within the interval", names[k]);
        (score(names[k], &estimate[k], &resolved[k]), share)
    })
}

/// Against the tank that was resolved with pumps that switch every 10 s (the
/// cycle is followed) and every 120 s (phase by phase). Seen on 2 cm, the mean of
/// three runs, as in a report: ranks 0.89, 0.89, 0.86 and 0.86, 0.69, 0.83; ratios
/// 0.89, 0.86, 0.90 and 0.89, 0.81, 0.93: cells so coarse are too slow, and the
/// slower pump alone is what they do worst.
#[test]
fn phases_agree_with_a_resolved_tank_whose_pumps_switch() {
    let truth = resolved();
    assert_eq!(truth.len(), 4, "two cycles of two pumps");
    for (period_s, at, least) in [(20.0, 0, [0.8; 3]), (240.0, 2, [0.75, 0.45, 0.75])] {
        let scores = scores(period_s, &on_cells(0.02), 3, [&truth[at], &truth[at + 1]]);
        for (k, (([rank, ratio], share), least)) in scores.into_iter().zip(least).enumerate() {
            assert!(rank > least, "rank {rank:.3}");
            assert!((0.8..1.1).contains(&ratio), "ratio {ratio:.3}");
            // One tank's share, where 0.70 to 0.90 is asked of any; of a pump that
            // runs alone for minutes the law, which sees them all, is too sure.
            let is_alone = (period_s, k) == (240.0, 1);
            let least = if is_alone { 0.45 } else { 0.7 };
            assert!((least..1.0).contains(&share), "{share:.3} within");
        }
    }
}

/// The same on cells of 1.25 cm. Of the cycle that is followed one run; seen: ranks
/// 0.92, 0.91, 0.91, ratios 0.97, 0.95, 0.99. Of the other the mean of three runs, as
/// in a report: 0.89, 0.75, 0.90 and 0.97, 0.89, 1.00; one alone would meet the bound
/// of the slowest phase, or not, by chance.
#[cfg(feature = "slow-tests")]
#[test]
fn phases_agree_better_on_finer_cells() {
    let truth = resolved();
    // Of the cycle that is followed three turns instead of six, for time.
    let three_turns = FlowOptions {
        average_s: Some([60.0; 2]),
        ..on_cells(0.0125)
    };
    let cycles = [
        (20.0, three_turns, 1, 0, 0.9),
        (240.0, on_cells(0.0125), 3, 2, 0.75),
    ];
    for (period_s, options, runs, at, least) in cycles {
        for ([rank, ratio], _) in scores(period_s, &options, runs, [&truth[at], &truth[at + 1]]) {
            assert!(rank > least, "rank {rank:.3}");
            assert!((0.85..1.1).contains(&ratio), "ratio {ratio:.3}");
        }
    }
}

//! The kernel and the tank estimate in space: published flows in a cube and
//! through spheres, the balance of momentum, a mirrored tank, a jet that dies in
//! a long one. Minutes of work, so behind the feature `slow-tests`.
#![cfg_attr(
    feature = "slow-tests",
    expect(clippy::expect_used, reason = "a broken premise fails the test")
)]
#![cfg_attr(
    feature = "slow-tests",
    expect(clippy::print_stdout, reason = "figures for the methods page")
)]
#![cfg(feature = "slow-tests")]

use std::f64::consts::PI;

use bommie::flow::{
    CellForce, Domain, FlowField, FlowOptions, FlowSetup, Kernel, MovingCell, WallDrag,
    closure_term, solve_runs,
};
use bommie::scene::Scene;
use bommie::study::Study;
use glam::DVec3;

use super::tanks::{Pump, tank};

/// A study of the first layout.
fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

/// Rows of numbers of a table, without its comments and its heading.
fn rows(table: &str) -> Vec<Vec<f64>> {
    let lines = table.lines().filter(|line| !line.starts_with('#')).skip(1);
    let number = |text: &str| text.parse::<f64>().expect("a number");
    lines
        .map(|line| line.split(',').map(number).collect())
        .collect()
}

/// Value between cells' middles along a line of cells from 0 to 1.
fn on_line(values: &[f64], at: f64) -> f64 {
    let place = (at * values.len() as f64 - 0.5).clamp(0.0, values.len() as f64 - 1.0);
    let low = (place as usize).min(values.len() - 2);
    let share = place - low as f64;
    values[low] * (1.0 - share) + values[low + 1] * share
}

/// Both center lines of the cube at Re 1000: along the lid's way over the
/// height, and upright along the lid's way; over the lid's speed.
fn cube(n: usize) -> [Vec<f64>; 2] {
    let lid = 0.1;
    let nu = lid * n as f64 / 1000.0;
    let mut domain = Domain::new([n, n, n + 1], 3.0 * nu + 0.5);
    for j in 0..n {
        for i in 0..n {
            let cell = domain.idx([i, j, n]);
            domain.solid[cell] = true;
            let velocity = [lid as f32, 0.0, 0.0];
            domain.moving.push(MovingCell { cell, velocity });
        }
    }
    let mut kernel = Kernel::new(domain.clone());
    // Forty crossings of the lid, after which nothing changes any more.
    for _ in 0..(40.0 * n as f64 / lid) as usize {
        kernel.step();
    }
    // The middle lies between two rows of cells each way.
    let half = n / 2;
    let pairs = [
        (half - 1, half - 1),
        (half, half - 1),
        (half - 1, half),
        (half, half),
    ];
    let speed =
        |ijk: [usize; 3], axis: usize| kernel.macroscopic(domain.idx(ijk)).velocity[axis] / lid;
    let mean =
        |line: &dyn Fn((usize, usize)) -> f64| pairs.iter().map(|p| line(*p)).sum::<f64>() / 4.0;
    let u = (0..n)
        .map(|k| mean(&|(i, j)| speed([i, j, k], 0)))
        .collect();
    let w = (0..n)
        .map(|i| mean(&|(j, k)| speed([i, j, k], 2)))
        .collect();
    [u, w]
}

#[test]
fn the_lid_driven_cube_agrees() {
    // Goals: extrema within 6 %, 0.03 of the lid's speed in the mean over the
    // profiles, what 48 cells a side leave.
    let [u, w] = cube(48);
    let least = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // Source: Albensoeder & Kuhlmann 2005, spectral extrema.
    let extrema = [
        ("least u", least(&u), -0.280_383_3),
        ("least w", least(&w), -0.435_018_6),
        ("most w", most(&w), 0.246_651_1),
    ];
    for (name, found, known) in extrema {
        println!("cube Re 1000, 48 cells: {name} {found:.4} against {known:.4}");
        assert!((found / known - 1.0).abs() < 0.06, "{name}: {found}");
    }
    let table = rows(include_str!("../data/flow_cube.csv"));
    let inner = |at: &f64| *at > 0.01 && *at < 0.99;
    let mut squares = Vec::new();
    for row in &table {
        for (line, at, known) in [(&u, row[0], row[1]), (&w, row[2], row[3])] {
            if inner(&at) {
                squares.push((on_line(line, at) - known).powi(2));
            }
        }
    }
    let rms = (squares.iter().sum::<f64>() / squares.len() as f64).sqrt();
    println!(
        "cube Re 1000, 48 cells: profiles off by {rms:.4} in the mean of {}",
        squares.len()
    );
    assert!(rms < 0.03, "profiles are off by {rms}");
}

/// Permeability over the radius squared of spheres in a cubic array that fill
/// the share `phi`, on `n` cells a side; `about` is what it should be, which
/// tells how long to wait.
fn permeability(n: usize, phi: f64, about: f64) -> f64 {
    let radius = n as f64 * (3.0 * phi / (4.0 * PI)).cbrt();
    let middle = DVec3::splat(n as f64 / 2.0);
    let away = |ijk: [usize; 3]| DVec3::from(ijk.map(|i| i as f64 + 0.5)).distance(middle);
    // The reach of cells' middles at which the staircase fills that share best.
    let reach = (-20..=20)
        .map(|step| radius + 0.02 * f64::from(step))
        .min_by_key(|reach| {
            let cells = (0..n * n * n).map(|cell| [cell % n, cell / n % n, cell / (n * n)]);
            let filled = cells.filter(|ijk| away(*ijk) < *reach).count();
            filled.abs_diff((phi * (n * n * n) as f64).round() as usize)
        })
        .expect("there are some");
    // At this relaxation time bounced water rests half a cell off the last
    // middle (Ginzburg & d'Humières 2003: (τ − ½)² = 3/16; MEMORY).
    let (tau, push) = (0.933, 1e-6);
    let nu = (tau - 0.5) / 3.0;
    let mut domain = Domain::new([n; 3], tau);
    domain.periodic = [true; 3];
    for cell in 0..domain.n_cells() {
        if away(domain.ijk(cell)) < reach {
            domain.solid[cell] = true;
        } else {
            domain.forces.push(CellForce {
                cell,
                force: [push as f32, 0.0, 0.0],
                ..CellForce::default()
            });
        }
    }
    let n_cells = domain.n_cells();
    let mut kernel = Kernel::new(domain);
    // Water comes up to speed in k/ν steps, or in some tenths of what friction
    // takes to cross a cell of the array, whichever is longer.
    let (thin, dense) = (10.0 * about * radius * radius, 0.5 * (n * n) as f64);
    kernel.advance((thin.max(dense) / nu) as u64);
    let sum: f64 = (0..n_cells)
        .filter(|cell| !kernel.domain().solid[*cell])
        .map(|cell| kernel.macroscopic(cell).velocity[0])
        .sum();
    let superficial = sum / n_cells as f64;
    // A push on the water does what a pressure gradient of that size does; that
    // it does not press on the spheres changes no flow.
    nu * superficial / push / (radius * radius)
}

#[test]
fn spheres_in_an_array_let_water_through_as_known() {
    // Source: Zick & Homsy 1982, simple cubic array. Tolerance: 5 %, the
    // staircase of spheres on 32 cells.
    for row in rows(include_str!("../data/flow_spheres.csv")) {
        let (phi, known) = (row[0], row[2]);
        if phi > 0.4 {
            continue; // The gaps of closer ones are a few cells wide.
        }
        let found = permeability(32, phi, known);
        let off = found / known - 1.0;
        println!(
            "spheres, {phi}: k/a² {found:.4} against {known:.4}, {:+.1} %",
            off * 100.0
        );
        assert!(off.abs() < 0.05, "{phi}: {found} against {known}");
    }
}

#[test]
fn the_walls_take_all_of_the_thrust() {
    // A jet in a tank with a step on its floor; water slides along the walls
    // against drag. Tolerance: 2 %, what sways about over the average.
    let n = [48, 24, 20];
    let mut domain = Domain::new(n, 0.501);
    domain.lid = true;
    domain.closure = vec![closure_term(0.16); domain.n_cells()];
    let drag = WallDrag {
        linear: 1e-4,
        quadratic: 0.004,
    };
    domain.wall_drag = vec![WallDrag::default(); domain.n_cells()];
    for cell in 0..domain.n_cells() {
        let [i, j, k] = domain.ijk(cell);
        domain.solid[cell] = (30..36).contains(&i) && (6..14).contains(&j) && k < 8;
        let is_outer = j == 0 || j + 1 == n[1] || k == 0 || i == 0 || i + 1 == n[0];
        if is_outer && !domain.solid[cell] {
            domain.wall_drag[cell] = drag;
        }
    }
    let mut thrust = 0.0;
    for (j, k) in [(11, 12), (12, 12), (11, 13), (12, 13)] {
        let cell = domain.idx([5, j, k]);
        let force = [0.01_f32, 0.0, 0.0];
        thrust += f64::from(force[0]);
        domain.forces.push(CellForce {
            cell,
            force,
            ..CellForce::default()
        });
    }
    let mut kernel = Kernel::new(domain);
    // Looked at every 157th step: in place, odd and even steps are stored in two
    // ways.
    let (settle, looks, apart) = (20_000, 200, 157);
    kernel.advance(settle);
    let mut reaction = [0.0; 3];
    for _ in 0..looks {
        kernel.advance(apart);
        let now = kernel.walls_reaction();
        for axis in 0..3 {
            reaction[axis] += now[axis] / f64::from(looks);
        }
    }
    let share = reaction[0] / thrust;
    println!(
        "walls take {share:.4} of the thrust, {:.1e} across",
        reaction[1] / thrust
    );
    assert!((share - 1.0).abs() < 0.02, "the walls take {share} of it");
    assert!(
        reaction[1].abs() < 0.02 * thrust,
        "none across: {reaction:?}"
    );
}

fn solved(size: DVec3, boxes: &[[DVec3; 2]], pumps: &[Pump], cell_m: f64) -> FlowField {
    solved_often(size, (boxes, pumps), cell_m, 1)
}

/// The mean of several runs.
fn solved_often(
    size: DVec3,
    (boxes, pumps): (&[[DVec3; 2]], &[Pump]),
    cell_m: f64,
    n_runs: usize,
) -> FlowField {
    let scene = tank(size, boxes, pumps);
    let options = FlowOptions {
        cell_m: Some(cell_m),
        ..FlowOptions::default()
    };
    let setup = FlowSetup::new(&study(&scene), &options).expect("it can be set up");
    solve_runs(&setup, n_runs, &|_| true).expect("it is solved")
}

/// Share of the water between two distances from the left glass, in m, whose
/// mean speed is below the limit for dead water.
fn dead_share(field: &FlowField, [from_m, to_m]: [f64; 2]) -> f64 {
    let (mut dead, mut n) = (0, 0);
    for cell in 0..field.grid.n_cells() {
        let at_m = field.grid.center_m(field.grid.ijk(cell));
        let speed_m_s = field.speed_m_s[cell];
        if at_m.x >= from_m && at_m.x < to_m && speed_m_s > 0.0 {
            n += 1;
            dead += i32::from(f64::from(speed_m_s) < field.slow_limit_m_s);
        }
    }
    f64::from(dead) / f64::from(n)
}

#[test]
fn a_jet_dies_in_a_long_tank() {
    // Source: Risso & Fabre 1997, J. Fluid Mech. 337 (MEMORY): a jet in a closed
    // tube is dead after about three diameters; here 3·√(W·H) is 0.9 m of 1.8 m.
    // Nearly still is what the program calls dead, by its mean speed: most of
    // the water beyond four widths, and hardly any up to three.
    let size = DVec3::new(180.0, 30.0, 30.0);
    let pump = (DVec3::new(6.0, 15.0, 15.0), DVec3::X, 3.0, 3000.0);
    let field = solved(size, &[], &[pump], 0.02);
    let parts = [[0.0, 0.9], [0.9, 1.2], [1.2, 1.8]];
    let [near, beyond, far] = parts.map(|part| dead_share(&field, part));
    println!("long tank: dead {near:.3} up to three widths, {beyond:.3} to four, {far:.3} beyond");
    assert!(
        near < 0.05,
        "{near} of the water that the jet stirs is dead"
    );
    assert!(far > 0.5, "only {far} of the far end is dead");
}

#[test]
fn a_mirrored_tank_has_the_mirrored_mean_field_within_its_certainty() {
    // Two averages of a flow that sways differ by what they are sure of: the
    // half widths are 95 % intervals, of which batches that hang together
    // leave somewhat less. The gusts are not mirrored. Single runs sway by up to
    // 15 % of the mean, so three make each average, as in a report.
    let size = DVec3::new(90.0, 45.0, 40.0);
    let block = [DVec3::new(55.0, 15.0, 0.0), DVec3::new(70.0, 30.0, 20.0)];
    let pump = (
        DVec3::new(6.0, 15.0, 25.0),
        DVec3::new(1.0, 0.25, 0.0),
        3.5,
        2500.0,
    );
    let flip = |p: DVec3| DVec3::new(90.0 - p.x, p.y, p.z);
    let flipped_block = [DVec3::new(20.0, 15.0, 0.0), DVec3::new(35.0, 30.0, 20.0)];
    let flipped_pump = (flip(pump.0), DVec3::new(-1.0, 0.25, 0.0), pump.2, pump.3);
    let one = solved_often(size, (&[block], &[pump]), 0.025, 3);
    let two = solved_often(size, (&[flipped_block], &[flipped_pump]), 0.025, 3);
    let (mut within, mut n, mut sum, mut apart) = (0, 0, 0.0, 0.0);
    for cell in 0..one.grid.n_cells() {
        let [i, j, k] = one.grid.ijk(cell);
        let other = one.grid.idx([one.grid.n[0] - 1 - i, j, k]);
        let sure = f64::from(one.speed_half_width_m_s[cell])
            .hypot(f64::from(two.speed_half_width_m_s[other]));
        let (a, b) = (
            f64::from(one.speed_m_s[cell]),
            f64::from(two.speed_m_s[other]),
        );
        if a > 0.0 && b > 0.0 {
            n += 1;
            sum += 0.5 * (a + b);
            apart += (a - b).abs();
            within += i32::from((a - b).abs() <= sure);
        }
    }
    let share = f64::from(within) / f64::from(n);
    let apart = apart / sum;
    println!(
        "mirrored: {share:.3} of {n} cells within 95 % intervals, apart by {apart:.3} of the mean"
    );
    assert!(share > 0.85, "{share} of the cells within");
    assert!(apart < 0.1, "apart by {apart} of the mean");
}

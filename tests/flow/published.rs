//! The kernel against published and independently computed flows. Minutes of
//! work, so behind the feature `slow-tests`.
#![cfg_attr(
    feature = "slow-tests",
    expect(clippy::expect_used, reason = "a broken premise fails the test")
)]
#![cfg_attr(
    feature = "slow-tests",
    expect(clippy::print_stdout, reason = "figures for the methods page")
)]
#![cfg(feature = "slow-tests")]

use bommie::flow::{Domain, Kernel, MovingCell};

const CAVITY: &str = include_str!("../data/flow_cavity.csv");

/// Kind (`u_of_y` or `v_of_x`), place and speed of the reference at one Re.
fn cavity_reference(column: usize) -> Vec<(bool, f64, f64)> {
    let rows = CAVITY.lines().filter(|line| line.starts_with(['u', 'v']));
    rows.map(|line| {
        let parts: Vec<&str> = line.split(',').collect();
        let number = |at: usize| parts[at].parse::<f64>().expect("a number");
        (parts[0] == "u_of_y", number(1), number(column))
    })
    .collect()
}

/// Value between the centers of cells, by the cubic through four of them.
fn between(values: &[f64], at: f64) -> f64 {
    let place = at * values.len() as f64 - 0.5;
    let first = (place.floor() as isize - 1).clamp(0, values.len() as isize - 4) as usize;
    let t = place - first as f64;
    (0..4)
        .map(|a| {
            let others = (0..4).filter(|b| *b != a);
            let weight: f64 = others
                .map(|b| (t - f64::from(b)) / f64::from(a - b))
                .product();
            weight * values[first + a as usize]
        })
        .sum()
}

/// Largest deviation of both centerline profiles, over the lid's speed.
fn cavity_error(reynolds: f64, column: usize, turns: f64) -> f64 {
    let (n, lid) = (96_usize, 0.1);
    let nu = lid * n as f64 / reynolds;
    let mut domain = Domain::new([n, n + 1, 1], 3.0 * nu + 0.5);
    domain.periodic[2] = true;
    for i in 0..n {
        let cell = domain.idx([i, n, 0]);
        domain.solid[cell] = true;
        let velocity = [lid as f32, 0.0, 0.0];
        domain.moving.push(MovingCell { cell, velocity });
    }
    let mut kernel = Kernel::new(domain.clone());
    for _ in 0..(turns * n as f64 / lid) as usize {
        kernel.step();
    }
    // The middle lies between two columns and two rows of cells.
    let mid =
        |i: usize, j: usize, axis: usize| kernel.macroscopic(domain.idx([i, j, 0])).velocity[axis];
    let half = n / 2;
    let u: Vec<f64> = (0..n)
        .map(|j| 0.5 * (mid(half - 1, j, 0) + mid(half, j, 0)) / lid)
        .collect();
    let v: Vec<f64> = (0..n)
        .map(|i| 0.5 * (mid(i, half - 1, 1) + mid(i, half, 1)) / lid)
        .collect();
    (cavity_reference(column).into_iter())
        .filter(|(_, at, _)| *at > 0.01 && *at < 0.99)
        .map(|(is_u, at, speed)| (between(if is_u { &u } else { &v }, at) - speed).abs())
        .fold(0.0, f64::max)
}

#[test]
fn the_lid_driven_cavity_agrees() {
    // Tolerance: 0.01 of the lid's speed, what 96 cells of second order leave.
    for (reynolds, column, turns) in [(100.0, 2, 15.0), (400.0, 3, 25.0), (1000.0, 4, 40.0)] {
        let error = cavity_error(reynolds, column, turns);
        println!("cavity Re {reynolds}: largest deviation {error:.4}");
        assert!(error < 0.01, "Re {reynolds}: off by {error}");
    }
}

/// Drag coefficient of the cylinder of `d` cells in the benchmark's channel.
fn cylinder_drag(d: usize) -> f64 {
    let scale = d as f64 / 0.1;
    let (nx, ny) = (
        (2.2 * scale).round() as usize,
        (0.41 * scale).round() as usize,
    );
    let mean = 0.05;
    let nu = mean * d as f64 / 20.0;
    let mut domain = Domain::new([nx + 2, ny, 1], 3.0 * nu + 0.5);
    domain.periodic[2] = true;
    for cell in 0..domain.n_cells() {
        let [i, j, _] = domain.ijk(cell);
        let (x, y) = (i as f64 - 0.5, j as f64 + 0.5);
        if i == 0 || i == nx + 1 {
            let share = y / ny as f64;
            let speed = 6.0 * mean * share * (1.0 - share);
            domain.solid[cell] = true;
            let velocity = [speed as f32, 0.0, 0.0];
            domain.moving.push(MovingCell { cell, velocity });
        } else if (x - 0.2 * scale).hypot(y - 0.2 * scale) < 0.5 * d as f64 {
            domain.solid[cell] = true;
        }
    }
    let mut kernel = Kernel::new(domain.clone());
    for _ in 0..(5.0 * nx as f64 / mean) as usize {
        kernel.step();
    }
    let is_cylinder = |wall: usize| !(domain.ijk(wall)[0] == 0 || domain.ijk(wall)[0] == nx + 1);
    let steps = 200;
    let mut force = 0.0;
    for _ in 0..steps {
        kernel.step();
        force += kernel.wall_force(is_cylinder)[0];
    }
    2.0 * force / f64::from(steps) / (mean * mean * d as f64)
}

#[test]
fn the_cylinder_in_a_channel_has_its_drag() {
    // Source: Schäfer & Turek 1996, case 2D-1, refined reference 5.57953.
    // Tolerance: 5 %, the staircase of 20 cells across.
    let drag = cylinder_drag(20);
    println!("cylinder 2D-1: drag {drag:.3} against 5.580");
    assert!((drag / 5.579_535 - 1.0).abs() < 0.05, "drag {drag}");
}

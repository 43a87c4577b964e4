//! The kernel against exact solutions: order of convergence in channels and
//! decaying vortices, flow through a duct, conservation and symmetry.
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use std::f64::consts::TAU;

use bommie::flow::{CellForce, Domain, Kernel, Macroscopic, closure_term};

fn order(coarse: f64, fine: f64, ratio: f64) -> f64 {
    (coarse / fine).ln() / ratio.ln()
}

fn pushed(mut domain: Domain, force: [f32; 3]) -> Domain {
    for cell in (0..domain.n_cells()).filter(|&cell| !domain.solid[cell]) {
        domain.forces.push(CellForce {
            cell,
            force,
            ..CellForce::default()
        });
    }
    domain
}

/// Largest error of a channel of `n` cells, as a share of its top speed.
fn poiseuille_error(n: usize) -> f64 {
    let (tau, top) = (0.8, 0.64 / n as f64);
    let nu = (tau - 0.5) / 3.0;
    let force = 8.0 * nu * top / (n * n) as f64;
    let mut domain = Domain::new([8, n, 1], tau);
    domain.periodic = [true, false, true];
    let mut kernel = Kernel::new(pushed(domain, [force as f32, 0.0, 0.0]));
    // Five times the time in which friction crosses half of the channel.
    for _ in 0..(5 * n * n) / 4 * 10 {
        kernel.step();
    }
    let exact = |j: usize| {
        let y = (j as f64 + 0.5) / n as f64;
        4.0 * top * y * (1.0 - y)
    };
    let error = |j: usize| (kernel.macroscopic(j * 8).velocity[0] - exact(j)).abs() / top;
    (0..n).map(error).fold(0.0, f64::max)
}

#[test]
fn poiseuille_converges_with_second_order() {
    // Source: exact parabola between plates.
    let (coarse, fine) = (poiseuille_error(8), poiseuille_error(16));
    let order = order(coarse, fine, 2.0);
    println!("Poiseuille: {coarse:.2e} at 8 cells, {fine:.2e} at 16, order {order:.2}");
    assert!(
        order >= 1.9,
        "order {order}, errors {coarse:e} and {fine:e}"
    );
}

/// Error of the decay of a Taylor-Green vortex of `n` cells.
fn taylor_green_error(n: usize) -> f64 {
    let tau = 0.8;
    let nu = (tau - 0.5) / 3.0;
    let speed = 0.32 / n as f64;
    let k = TAU / n as f64;
    let mut domain = Domain::new([n, n, 1], tau);
    domain.periodic = [true; 3];
    let mut kernel = Kernel::new(domain.clone());
    let exact = |cell: usize, t: f64| {
        let [i, j, _] = domain.ijk(cell);
        let (x, y) = (k * (i as f64 + 0.5), k * (j as f64 + 0.5));
        let fade = (-2.0 * nu * k * k * t).exp();
        let pressure = -0.25 * speed * speed * ((2.0 * x).cos() + (2.0 * y).cos()) * fade * fade;
        let velocity = [
            -x.cos() * y.sin() * speed * fade,
            x.sin() * y.cos() * speed * fade,
            0.0,
        ];
        Macroscopic {
            density: 3.0 * pressure,
            velocity,
        }
    };
    for cell in 0..n * n {
        kernel.set(cell, exact(cell, 0.0));
    }
    // Until νk²t is one half.
    let steps = (0.5 / (nu * k * k)).round();
    for _ in 0..steps as usize {
        kernel.step();
    }
    let square = |cell: usize| {
        let (found, exact) = (
            kernel.macroscopic(cell).velocity,
            exact(cell, steps).velocity,
        );
        (0..2).map(|a| (found[a] - exact[a]).powi(2)).sum::<f64>()
    };
    let mean = (0..n * n).map(square).sum::<f64>() / (n * n) as f64;
    mean.sqrt() / (speed * (-1.0_f64).exp())
}

#[test]
fn taylor_green_decays_with_second_order() {
    // Source: Taylor & Green 1937, exact decay of the plane vortex.
    let (coarse, fine) = (taylor_green_error(16), taylor_green_error(32));
    let order = order(coarse, fine, 2.0);
    println!("Taylor-Green: {coarse:.2e} at 16 cells, {fine:.2e} at 32, order {order:.2}");
    assert!(
        order >= 1.9,
        "order {order}, errors {coarse:e} and {fine:e}"
    );
}

#[test]
fn a_duct_gives_the_series_solution() {
    // Source: series for a duct twice as high as wide, half widths a and 2a:
    // mean speed 0.2286817 a²G/μ (computed from 100 terms; White, Viscous Fluid
    // Flow, eq. 3-48). Friction goes as one over it. 16 cells: second order
    // leaves about 1/16² of it.
    let (n, tau) = (16_usize, 0.9);
    let nu = (tau - 0.5) / 3.0;
    let force = 1e-5;
    let mut domain = Domain::new([1, n, 2 * n], tau);
    domain.periodic[0] = true;
    let mut kernel = Kernel::new(pushed(domain, [force as f32, 0.0, 0.0]));
    for _ in 0..4_000 {
        kernel.step();
    }
    let cells = 2 * n * n;
    let mean = (0..cells)
        .map(|cell| kernel.macroscopic(cell).velocity[0])
        .sum::<f64>()
        / cells as f64;
    let exact = 0.228_681_7 * (n * n) as f64 / 4.0 * force / nu;
    println!("duct: mean {mean:.6}, exact {exact:.6}");
    assert!(
        (mean / exact - 1.0).abs() < 0.01,
        "mean {mean}, exact {exact}"
    );
}

/// A box with a rock, a lid and a jet off its middle.
fn small_tank(flip_y: bool) -> Domain {
    let n = [20, 13, 10];
    let mut domain = Domain::new(n, 0.505);
    domain.lid = true;
    domain.closure = vec![closure_term(0.16); domain.n_cells()];
    let j = |j: usize| if flip_y { n[1] - 1 - j } else { j };
    for (i, y, k) in [(9, 3, 0), (9, 4, 0), (9, 4, 1), (10, 4, 0), (12, 9, 0)] {
        let cell = domain.idx([i, j(y), k]);
        domain.solid[cell] = true;
    }
    domain.forces.push(CellForce {
        cell: domain.idx([3, j(5), 6]),
        force: [0.03, if flip_y { -0.01 } else { 0.01 }, 0.0],
        ..CellForce::default()
    });
    domain
}

#[test]
fn mass_stays_over_a_hundred_thousand_steps() {
    let domain = small_tank(false);
    let mut kernel = Kernel::new(domain.clone());
    let water: Vec<usize> = (0..domain.n_cells())
        .filter(|&cell| !domain.solid[cell])
        .collect();
    let mass = |kernel: &Kernel| {
        let extra: f64 = water
            .iter()
            .map(|&cell| kernel.macroscopic(cell).density)
            .sum();
        1.0 + extra / water.len() as f64
    };
    // Populations that rest in walls take part: let the flow settle first.
    for _ in 0..5_000 {
        kernel.step();
    }
    let average = |kernel: &mut Kernel| {
        let mut sum = 0.0;
        for _ in 0..500 {
            kernel.step();
            sum += mass(kernel);
        }
        sum / 500.0
    };
    let before = average(&mut kernel);
    for _ in 0..99_000 {
        kernel.step();
    }
    let after = average(&mut kernel);
    println!("mass: {before:.9} before, {after:.9} after");
    assert!(
        (after / before - 1.0).abs() < 1e-6,
        "{before} became {after}"
    );
}

#[test]
fn a_mirrored_tank_has_a_mirrored_flow() {
    let [mut one, mut other] = [false, true].map(|flip| Kernel::new(small_tank(flip)));
    for _ in 0..400 {
        one.step();
        other.step();
    }
    let (mut worst, mut top) = (0.0_f64, 0.0_f64);
    for cell in 0..20 * 13 * 10 {
        let domain = one.domain();
        let [i, j, k] = domain.ijk(cell);
        let there = domain.idx([i, 12 - j, k]);
        let (a, b) = (
            one.macroscopic(cell).velocity,
            other.macroscopic(there).velocity,
        );
        let mirrored = [b[0], -b[1], b[2]];
        if !domain.solid[cell] {
            top = top.max(a[0].abs());
            worst = (0..3)
                .map(|x| (a[x] - mirrored[x]).abs())
                .fold(worst, f64::max);
        }
    }
    // Sums run in another order; 400 steps amplify the last bit a little.
    assert!(
        top > 0.02 && worst < 1e-3 * top,
        "off by {worst:e} of {top}"
    );
}

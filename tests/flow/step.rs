//! Laminar flow over a backward-facing step in a channel that doubles its
//! height: where it meets the floor again.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]
#![expect(clippy::print_stdout, reason = "figures for the methods page")]

use bommie::flow::{Domain, Kernel, MovingCell};

/// Length of the dead water behind the step in step heights, at the Reynolds
/// number of the mean inflow and the height of the wide channel, with `h` cells
/// a step.
fn reattachment(reynolds: f64, h: usize) -> f64 {
    let (before, behind) = ((1.35 * h as f64).round() as usize, 18 * h);
    let (nx, ny, mean) = (before + behind, 2 * h, 0.08);
    let nu = mean * ny as f64 / reynolds;
    let mut domain = Domain::new([nx + 2, ny, 1], 3.0 * nu + 0.5);
    domain.periodic[2] = true;
    for cell in 0..domain.n_cells() {
        let [i, j, _] = domain.ijk(cell);
        // Both ends carry the parabola of their height.
        let parabola = |from: usize, height: usize, mean: f64| {
            let share = (j as f64 + 0.5 - from as f64) / height as f64;
            6.0 * mean * share * (1.0 - share)
        };
        let speed = match (i == 0, i == nx + 1) {
            (true, _) if j >= h => parabola(h, h, mean),
            (_, true) => parabola(0, ny, 0.5 * mean),
            _ => 0.0,
        };
        domain.solid[cell] = i == nx + 1 || i == 0 || (i <= before && j < h);
        if speed > 0.0 {
            let velocity = [speed as f32, 0.0, 0.0];
            domain.moving.push(MovingCell { cell, velocity });
        }
    }
    let mut kernel = Kernel::new(domain.clone());
    // Six times the way through at the wide channel's mean speed.
    kernel.advance((6.0 * nx as f64 / (0.5 * mean)) as u64);
    let along = |i: usize| kernel.macroscopic(domain.idx([i, 0, 0])).velocity[0];
    let turn = (before + 2..nx)
        .find(|&i| along(i) < 0.0 && along(i + 1) >= 0.0)
        .expect("it comes back to the floor");
    let (a, b) = (along(turn), along(turn + 1));
    // The step ends where cell `before + 1` begins; cells' middles count.
    let middle = turn as f64 - 0.5 - before as f64;
    (middle + a / (a - b)) / h as f64
}

/// **Source** Katsoudas et al. 2025, arXiv:2507.16509, ten studies compiled:
/// 3.00 and 4.95 step heights at 100 and 200 with 1.35 steps of channel before
/// the step. PUBLISHED-secondhand. Armaly et al. 1983, J. Fluid Mech. 127:473,
/// measured 3.05 and 5.0 at 102 and 200 (height ratio 1.94).
#[test]
fn flow_over_a_step_meets_the_floor_where_it_should() {
    for (reynolds, known) in [(100.0, 3.00), (200.0, 4.95)] {
        let [coarse, fine] = [8, 16].map(|h| reattachment(reynolds, h));
        // The sharp edge leaves an error that falls with the cell, not with its
        // square: what cells without size would give.
        let limit = 2.0 * fine - coarse;
        println!(
            "step, Re {reynolds}: {coarse:.2}, {fine:.2} heights on 8 and 16 cells, {limit:.2} in the limit, \
             against {known:.2}"
        );
        // Seen 2.72, 2.82, 2.91 and 4.61, 4.80, 4.99; studies differ by 2 %.
        assert!((fine / known - 1.0).abs() < 0.07, "Re {reynolds}: {fine}");
        assert!((limit / known - 1.0).abs() < 0.04, "Re {reynolds}: {limit}");
        assert!(
            (fine - known).abs() < (coarse - known).abs(),
            "finer is truer"
        );
    }
}

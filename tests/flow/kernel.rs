//! The fast step equals the plain one, whatever the width of its registers and
//! the number of threads.

use bommie::flow::{
    CellForce, Domain, Kernel, Macroscopic, MovingCell, PlainStep, WallDrag, Width, closure_term,
};

/// A small block with everything in it: rock, lid, closed y, drag, a jet,
/// inflow and outflow, a moving wall, and a closure that differs by cell.
fn busy([periodic_y, slides]: [bool; 2]) -> Domain {
    let mut domain = Domain::new([13, 6, 7], 0.51);
    domain.lid = true;
    domain.periodic[1] = periodic_y;
    for cell in 0..domain.n_cells() {
        let [i, j, k] = domain.ijk(cell);
        domain.solid[cell] = (i + 2 * j + 3 * k) % 11 == 0 || (i == 0 && k < 3);
        domain
            .closure
            .push(closure_term(0.05 + 0.01 * (i % 7) as f64));
        if i == 5 && j == 2 {
            let side = if k < 3 { 1.0 } else { -1.0 };
            domain.forces.push(CellForce {
                cell,
                force: [0.01, -0.004, 0.002],
                linear: 0.1 * k as f32,
                quadratic: 0.3,
                mass: side * 0.001,
            });
        }
        if domain.solid[cell] && k == 2 {
            let velocity = [0.02, 0.01, 0.0];
            domain.moving.push(MovingCell { cell, velocity });
        }
        if slides {
            domain.wall_drag.push(WallDrag {
                linear: 0.001,
                quadratic: 0.01 * (cell % 5) as f32,
            });
        }
    }
    domain
}

fn start(cell: usize) -> Macroscopic {
    let x = cell as f64;
    Macroscopic {
        density: 0.01 * (0.3 * x).sin(),
        velocity: [
            0.05 * (0.7 * x).cos(),
            0.03 * (1.1 * x).sin(),
            0.02 * (0.9 * x).cos(),
        ],
    }
}

#[test]
fn the_fast_step_equals_the_plain_step() {
    for (periodic_y, slides) in [(false, false), (true, false), (false, true), (true, true)] {
        for width in [Width::Widest, Width::Eight, Width::Narrow, Width::Plain] {
            let domain = busy([periodic_y, slides]);
            let mut plain = PlainStep::new(domain.clone());
            let mut fast = Kernel::new(domain.clone());
            fast.set_width(width);
            for cell in (0..domain.n_cells()).filter(|&cell| !domain.solid[cell]) {
                plain.set(cell, start(cell));
                fast.set(cell, start(cell));
            }
            for step in 0..60 {
                plain.step();
                fast.step();
                let mut worst: f64 = 0.0;
                for cell in (0..domain.n_cells()).filter(|&cell| !domain.solid[cell]) {
                    let (a, b) = (plain.macroscopic(cell), fast.macroscopic(cell));
                    worst = worst.max((a.density - b.density).abs());
                    for axis in 0..3 {
                        worst = worst.max((a.velocity[axis] - b.velocity[axis]).abs());
                    }
                }
                // f32 keeps 6e-8 of numbers below 0.1; sixty steps add up little.
                assert!(worst < 2e-6, "step {step}, {width:?}: off by {worst:e}");
            }
        }
    }
}

#[test]
fn threads_do_not_change_a_bit() {
    let state = |threads: usize, at_once: u64| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("a small pool").install(|| {
            let mut domain = Domain::new([60, 30, 25], 0.501);
            domain.lid = true;
            domain.closure = vec![closure_term(0.16); domain.n_cells()];
            for cell in 0..domain.n_cells() {
                let [i, j, _] = domain.ijk(cell);
                domain.solid[cell] = (30..33).contains(&i) && (10..20).contains(&j);
            }
            domain.forces.push(CellForce {
                cell: domain.idx([4, 14, 12]),
                force: [0.05, 0.01, 0.0],
                ..CellForce::default()
            });
            let mut kernel = Kernel::new(domain);
            for _ in 0..150 / at_once {
                kernel.advance(at_once);
            }
            (0..45_000)
                .map(|cell| kernel.macroscopic(cell))
                .collect::<Vec<_>>()
        })
    };
    let one = state(1, 1);
    assert!(
        one.iter().any(|m| m.velocity[0] > 0.01),
        "the jet moves water"
    );
    for (threads, at_once) in [(1, 5), (2, 1), (2, 2), (2, 150), (3, 3)] {
        let other = state(threads, at_once);
        assert!(one == other, "{threads} threads, {at_once} steps at once");
    }
}

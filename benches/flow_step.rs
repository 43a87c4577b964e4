//! Cost of a flow step, in cell updates a second, walls and closure included.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};

use bommie::flow::{CellForce, Domain, Kernel, WallDrag, Width, closure_term};

/// Blocks that are timed: the 120 cm tank at 2 cm, a medium one, and 0.5 cm.
const SIZES: [[usize; 3]; 3] = [[60, 30, 25], [128, 64, 64], [240, 120, 100]];

/// Steps between two changes of forces, about as in a run.
const STEPS: u64 = 8;

/// A tank with a jet, a lid, a heap of rock, and walls that water slides along
/// against a drag like that of glass.
fn tank(n: [usize; 3]) -> Kernel {
    let mut domain = Domain::new(n, 0.5005);
    domain.lid = true;
    domain.closure = vec![closure_term(0.16); domain.n_cells()];
    for cell in 0..domain.n_cells() {
        let [i, j, k] = domain.ijk(cell);
        let heap = 3 * i > n[0] && 2 * i < n[0] && 3 * j > n[1] && 3 * k < n[2];
        domain.solid[cell] = heap;
    }
    domain.forces.push(CellForce {
        cell: domain.idx([3, n[1] / 2, n[2] / 2]),
        force: [0.05, 0.0, 0.0],
        ..CellForce::default()
    });
    let drag = WallDrag {
        linear: 1e-4,
        quadratic: 0.004,
    };
    let is_beside_wall = |cell: usize| {
        let [i, j, k] = domain.ijk(cell);
        let is_end = |at: usize, n: usize| at == 0 || at + 1 == n;
        is_end(i, n[0]) || is_end(j, n[1]) || k == 0
    };
    domain.wall_drag = (0..domain.n_cells())
        .map(|cell| {
            if is_beside_wall(cell) {
                drag
            } else {
                WallDrag::default()
            }
        })
        .collect();
    Kernel::new(domain)
}

fn flow_step(c: &mut Criterion) {
    let mut group = c.benchmark_group("flow_step");
    group.sample_size(20);
    for n in SIZES {
        for width in [Width::Widest, Width::Eight, Width::Narrow, Width::Plain] {
            let mut kernel = tank(n);
            kernel.set_width(width);
            let cells: usize = n.iter().product();
            group.throughput(Throughput::Elements(STEPS * cells as u64));
            group.bench_function(format!("{}x{}x{} {width:?}", n[0], n[1], n[2]), |bencher| {
                bencher.iter(|| kernel.advance(STEPS));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, flow_step);
criterion_main!(benches);

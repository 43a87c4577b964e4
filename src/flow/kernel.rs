//! The fast step: the method of `plain`, in place, on all cores, several cells
//! at a time.
//!
//! The answer is the same bit for bit whatever the number of threads, since
//! every cell is computed by the same arithmetic from numbers of its own.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use std::ops::Range;

use crate::Domain;
use crate::blocks::{BlockForce, Kind};
use crate::collide::{
    Constants, Populations, Push, collide, moments, pushed_velocity, thrice_eddy_viscosity,
};
use crate::domain::{CellForce, HOU, WallDrag};
use crate::lanes::{BLOCK, Lanes, Machine, Width, Work, nine, run};
use crate::lattice::{Q, direction};
use crate::plain::{Macroscopic, equilibrium, slide, velocity_of};
use crate::slides::{BlockSlide, slide_block};
use crate::store::{Slab, Store, WallLink};

/// Fewest cells worth a second thread.
const GRAIN: usize = 8_192;

/// Constant between eddy viscosity, mixing length and the energy of eddies too
/// small to be seen: `k = (ν_t/(0.5875 l))²`. They count for what a coral feels:
/// with their share the mean speed is `√(u² + 4k/3)`.
///
/// **Source** Yoshizawa 1982, Phys. Fluids 25:1532, as used in one-equation
/// closures: 0.094 of a cell, for a mixing length of 0.16 cells. MEMORY.
const UNSEEN: f32 = 0.094 / 0.16;

/// Sums over time of what was seen in the cells of a block.
#[derive(Clone, Debug, Default)]
pub(crate) struct BlockSums {
    pub(crate) velocity: [[f32; BLOCK]; 3],
    pub(crate) speed: [f32; BLOCK],
    pub(crate) square: [f32; BLOCK],
    pub(crate) slow: [f32; BLOCK],
}

/// A block of water that can be advanced.
#[derive(Clone, Debug)]
pub struct Kernel {
    domain: Domain,
    store: Store,
    kinds: Vec<Kind>,
    /// Closure term of each place; negative where there is no water.
    closure: Vec<f32>,
    forces: Vec<BlockForce>,
    /// Which of `forces` hold more than walls.
    pushed: Vec<usize>,
    width: Width,
    steps: u64,
}

impl Kernel {
    /// Water at rest.
    pub fn new(domain: Domain) -> Self {
        let store = Store::new(&domain);
        let layout = store.layout;
        let mut closure = vec![-1.0; layout.cells];
        for cell in (0..domain.n_cells()).filter(|&cell| !domain.solid[cell]) {
            closure[layout.place(domain.ijk(cell))] = domain.closure_at(cell);
        }
        let kinds = closure
            .chunks_exact(BLOCK)
            .map(|block| match block.iter().filter(|x| **x >= 0.0).count() {
                0 => Kind::Solid,
                BLOCK => Kind::Open,
                _ => Kind::Mixed,
            })
            .collect();
        let mut kernel = Self {
            store,
            kinds,
            closure,
            forces: Vec::new(),
            pushed: Vec::new(),
            width: Width::Widest,
            steps: 0,
            domain,
        };
        kernel.place_walls();
        kernel.place_forces();
        kernel
    }

    /// Uses registers of this width from now on.
    pub fn set_width(&mut self, width: Width) {
        self.width = width;
    }

    /// The cells and what acts on them.
    pub fn domain(&self) -> &Domain {
        &self.domain
    }

    /// How many steps were made.
    pub fn steps(&self) -> u64 {
        self.steps
    }

    /// Changes what acts on cells, without changing which cells those are.
    pub fn set_forces(&mut self, forces: &[CellForce]) {
        self.domain.forces.clear();
        self.domain.forces.extend_from_slice(forces);
        self.place_forces();
    }

    /// Which blocks have walls that water slides along, and their drag.
    fn place_walls(&mut self) {
        if self.domain.wall_drag.is_empty() {
            return;
        }
        for cell in 0..self.domain.n_cells() {
            if self.domain.solid[cell] {
                continue;
            }
            let drag = self.domain.wall_drag[cell];
            let slides: Vec<usize> = self.domain.slides_at(cell).collect();
            if slides.is_empty() && drag == WallDrag::default() {
                continue;
            }
            let (at, lane) = self.forced_block(cell);
            let block = &mut self.forces[at];
            block.wall_linear[lane] = drag.linear;
            block.wall_quadratic[lane] = drag.quadratic;
            for slide in slides {
                let known = block.slides.iter().position(|known| known.slide == slide);
                let index = known.unwrap_or_else(|| {
                    let sign = [1.0; BLOCK];
                    block.slides.push(BlockSlide { slide, sign });
                    block.slides.len() - 1
                });
                block.slides[index].sign[lane] = -1.0;
            }
        }
        for block in &mut self.forces {
            block.rest();
        }
    }

    /// Index into `forces` of a cell's block, which is made if there is none,
    /// and the cell's lane.
    fn forced_block(&mut self, cell: usize) -> (usize, usize) {
        let (block, lane) = self.block_of(cell);
        let found = self.forces.binary_search_by_key(&block, |b| b.block);
        let at = found.unwrap_or_else(|at| {
            let force = BlockForce {
                block,
                ..BlockForce::default()
            };
            self.forces.insert(at, force);
            self.kinds[block] = self.kinds[block].forced();
            // Those behind it moved up.
            for pushed in self.pushed.iter_mut().filter(|pushed| **pushed >= at) {
                *pushed += 1;
            }
            at
        });
        (at, lane)
    }

    fn place_forces(&mut self) {
        for at in std::mem::take(&mut self.pushed) {
            self.forces[at].rest();
        }
        let forces = std::mem::take(&mut self.domain.forces);
        for force in &forces {
            if self.domain.solid[force.cell] {
                continue;
            }
            let (at, lane) = self.forced_block(force.cell);
            if self.pushed.last() != Some(&at) {
                self.pushed.push(at);
            }
            let entry = &mut self.forces[at];
            for a in 0..3 {
                entry.force[a][lane] += force.force[a];
            }
            entry.linear[lane] += force.linear;
            entry.quadratic[lane] += force.quadratic;
            entry.mass[lane] += force.mass;
        }
        self.domain.forces = forces;
    }

    /// Sets a cell of water to equilibrium.
    pub fn set(&mut self, cell: usize, state: Macroscopic) {
        if !self.domain.solid[cell] {
            let place = self.store.layout.place(self.domain.ijk(cell));
            let mut f = equilibrium(state.density, state.velocity);
            slide(&self.domain, cell, &mut f);
            self.store.write(place, &f);
        }
    }

    /// One step.
    pub fn step(&mut self) {
        let cells = self.store.layout.cells;
        let threads = rayon::current_num_threads();
        let grain = cells.div_ceil(threads).max(GRAIN).next_multiple_of(BLOCK);
        let shared = Shared {
            kinds: &self.kinds,
            closure: &self.closure,
            forces: &self.forces,
            tau: self.domain.tau as f32,
            width: self.width,
        };
        step_slab(self.store.slab(), 0..cells, grain, &shared);
        self.store.finish_step();
        self.steps += 1;
    }

    /// Whether all numbers are small enough to mean anything: populations at
    /// rest far off their weight tell of a run that diverges.
    pub(crate) fn is_sound(&self) -> bool {
        let (rest, _, _) = self.store.views();
        rest.iter().all(|f| f.abs() < 0.3)
    }

    /// What has arrived in a cell, before any of it slides along a wall.
    pub(super) fn arriving(&self, cell: usize) -> [f64; Q] {
        let place = self.store.layout.place(self.domain.ijk(cell));
        let (rest, near, far) = self.store.views();
        let mut f = [0.0; Q];
        f[0] = f64::from(rest[place]);
        for p in 0..9 {
            f[1 + 2 * p] = f64::from(near[p][place]);
            f[2 + 2 * p] = f64::from(far[p][place]);
        }
        f
    }

    /// Density and velocity of a cell.
    pub fn macroscopic(&self, cell: usize) -> Macroscopic {
        let mut f = self.arriving(cell);
        slide(&self.domain, cell, &mut f);
        let mut momentum = [0.0; 3];
        for (i, f) in f.iter().enumerate() {
            let c = direction(i);
            for a in 0..3 {
                momentum[a] += f64::from(c[a]) * f;
            }
        }
        Macroscopic {
            density: f.iter().sum(),
            velocity: velocity_of(momentum, &self.force_at(cell)),
        }
    }

    /// All that acts on a cell, walls included.
    fn force_at(&self, cell: usize) -> CellForce {
        let (block, lane) = self.block_of(cell);
        let found = self.forces.binary_search_by_key(&block, |b| b.block);
        let force = found.ok().map(|at| CellForce {
            cell,
            force: self.forces[at].force.map(|along| along[lane]),
            linear: self.forces[at].linear[lane],
            quadratic: self.forces[at].quadratic[lane],
            mass: self.forces[at].mass[lane],
        });
        force.unwrap_or_default()
    }

    /// Adds what is seen now to `sums`, one entry a block; `slow_lu` is the
    /// speed below which water counts as slow.
    pub(crate) fn sample(&self, sums: &mut [BlockSums], slow_lu: f32) {
        use rayon::prelude::*;
        let chunk = (GRAIN / BLOCK).max(sums.len().div_ceil(rayon::current_num_threads()));
        let views = self.store.views();
        (sums.par_chunks_mut(chunk).enumerate()).for_each(|(index, sums)| {
            let work = Sample {
                views,
                kinds: &self.kinds,
                forces: &self.forces,
                closure: &self.closure,
                tau: self.domain.tau as f32,
                first: index * chunk,
                sums,
                slow_lu,
            };
            run(self.width, work);
        });
    }

    /// How many blocks there are.
    pub(crate) fn n_blocks(&self) -> usize {
        self.kinds.len()
    }

    /// The block and lane of a cell.
    fn block_of(&self, cell: usize) -> (usize, usize) {
        let place = self.place_of(cell);
        (place / BLOCK, place % BLOCK)
    }

    /// Where a cell lies among those of all blocks.
    pub(crate) fn place_of(&self, cell: usize) -> usize {
        self.store.layout.place(self.domain.ijk(cell))
    }

    /// Momentum that the water gives in a step to the solid cells for which
    /// `counts` holds, with pressure less that of water at rest.
    ///
    /// **Source** momentum exchange: Ladd 1994, J. Fluid Mech. 271:285. MEMORY.
    pub fn wall_force(&self, counts: impl Fn(usize) -> bool) -> [f64; 3] {
        self.force_where(|link| link.wall.is_some_and(&counts))
    }

    /// The same for every wall: sides, bottom and solid cells.
    pub fn all_walls_force(&self) -> [f64; 3] {
        self.force_where(|_| true)
    }

    fn force_where(&self, counts: impl Fn(&WallLink) -> bool) -> [f64; 3] {
        let mut force = [0.0; 3];
        let links = self.store.wall_links(&self.domain);
        for link in links.iter().filter(|link| counts(link)) {
            // What went in, and what comes out with its direction reversed.
            let given: f64 = (link.places.iter())
                .map(|&at| f64::from(self.store.values[at]))
                .sum();
            for (sum, c) in force.iter_mut().zip(link.c) {
                *sum += f64::from(c) * given;
            }
        }
        force
    }
}

/// What all slabs share.
struct Shared<'a> {
    kinds: &'a [Kind],
    closure: &'a [f32],
    forces: &'a [BlockForce],
    tau: f32,
    width: Width,
}

/// Splits the work between threads down to `grain` cells.
fn step_slab(slab: Slab<'_>, cells: Range<usize>, grain: usize, shared: &Shared<'_>) {
    if slab.len() <= grain {
        let first = cells.start / BLOCK;
        run(
            shared.width,
            Step {
                slab,
                first,
                shared,
            },
        );
        return;
    }
    let mid = (slab.len() / 2).next_multiple_of(BLOCK);
    let (first, other) = slab.split(mid);
    let border = cells.start + mid;
    rayon::join(
        || step_slab(first, cells.start..border, grain, shared),
        || step_slab(other, border..cells.end, grain, shared),
    );
}

struct Step<'a, 'b> {
    slab: Slab<'a>,
    first: usize,
    shared: &'b Shared<'b>,
}

type Blocks<'a> = &'a mut [[f32; BLOCK]];

impl Work for Step<'_, '_> {
    #[inline(always)]
    fn on<M: Machine>(self, machine: M) {
        let Step {
            slab,
            first,
            shared,
        } = self;
        let n = slab.len() / BLOCK;
        let constants = Constants::new(machine, shared.tau);
        let rest: Blocks<'_> = &mut slab.rest.as_chunks_mut().0[..n];
        let near: [Blocks<'_>; 9] = slab.near.map(|x| &mut x.as_chunks_mut().0[..n]);
        let far: [Blocks<'_>; 9] = slab.far.map(|x| &mut x.as_chunks_mut().0[..n]);
        let closure = &shared.closure[first * BLOCK..].as_chunks::<BLOCK>().0[..n];
        let kinds = &shared.kinds[first..][..n];
        let mut next_force = shared.forces.partition_point(|force| force.block < first);
        let mut arrays = Arrays { rest, near, far };
        for b in 0..n {
            let term = &closure[b];
            match kinds[b] {
                Kind::Solid => {}
                Kind::Open => arrays.advance::<M, false>(machine, b, term, None, &constants),
                Kind::Mixed => arrays.advance::<M, true>(machine, b, term, None, &constants),
                Kind::OpenForced => {
                    let force = shared.forces.get(next_force);
                    next_force += 1;
                    arrays.advance::<M, false>(machine, b, term, force, &constants);
                }
                Kind::MixedForced => {
                    let force = shared.forces.get(next_force);
                    next_force += 1;
                    arrays.advance::<M, true>(machine, b, term, force, &constants);
                }
            }
        }
    }
}

/// All arrays, block by block.
struct Arrays<'a> {
    rest: Blocks<'a>,
    near: [Blocks<'a>; 9],
    far: [Blocks<'a>; 9],
}

impl Arrays<'_> {
    /// Advances block `b`; `MASKED` keeps solid cells as they are.
    #[inline(always)]
    fn advance<M: Machine, const MASKED: bool>(
        &mut self,
        machine: M,
        b: usize,
        closure: &[f32; BLOCK],
        force: Option<&BlockForce>,
        constants: &Constants<M::V>,
    ) {
        let Self { rest, near, far } = self;
        for from in (0..BLOCK).step_by(M::LANES) {
            let mut f = Populations {
                rest: machine.load(&rest[b], from),
                plus: nine!(p => machine.load(&near[p][b], from)),
                minus: nine!(p => machine.load(&far[p][b], from)),
            };
            if let Some(force) = force {
                slide_block(machine, &force.slides, from, &mut f);
            }
            let term = machine.load(closure, from);
            let push = force.map(|force| push(machine, force, from));
            let mut g = collide(&f, term, push.as_ref(), constants);
            if MASKED {
                g = in_water(&f, &g, term);
            }
            machine.store(&mut rest[b], from, g.rest);
            for p in 0..9 {
                machine.store(&mut far[p][b], from, g.plus[p]);
                machine.store(&mut near[p][b], from, g.minus[p]);
            }
        }
    }
}

/// `new` in water; in solid what was there, put back where it was.
#[inline(always)]
fn in_water<V: Lanes>(old: &Populations<V>, new: &Populations<V>, sign: V) -> Populations<V> {
    Populations {
        rest: new.rest.where_positive(sign, old.rest),
        plus: nine!(p => new.plus[p].where_positive(sign, old.minus[p])),
        minus: nine!(p => new.minus[p].where_positive(sign, old.plus[p])),
    }
}

#[inline(always)]
fn push<M: Machine>(machine: M, force: &BlockForce, from: usize) -> Push<M::V> {
    let half = machine.splat(0.5);
    let two = machine.splat(2.0);
    Push {
        half_force: [
            machine.load(&force.force[0], from) * half,
            machine.load(&force.force[1], from) * half,
            machine.load(&force.force[2], from) * half,
        ],
        half_linear_plus_one: (machine.load(&force.linear, from)).mul_add(half, machine.splat(1.0)),
        twice_quadratic: machine.load(&force.quadratic, from) * two,
        mass: machine.load(&force.mass, from),
    }
}

struct Sample<'a> {
    views: (&'a [f32], [&'a [f32]; 9], [&'a [f32]; 9]),
    kinds: &'a [Kind],
    forces: &'a [BlockForce],
    closure: &'a [f32],
    tau: f32,
    first: usize,
    sums: &'a mut [BlockSums],
    slow_lu: f32,
}

impl Work for Sample<'_> {
    #[inline(always)]
    fn on<M: Machine>(self, machine: M) {
        let (rest, near, far) = self.views;
        let (rest, near, far) = (
            rest.as_chunks::<BLOCK>().0,
            near.map(|x| x.as_chunks::<BLOCK>().0),
            far.map(|x| x.as_chunks::<BLOCK>().0),
        );
        let closure = self.closure.as_chunks::<BLOCK>().0;
        let constants = Constants::new(machine, self.tau);
        // A cell's closure term is this times the square of its mixing length.
        let unseen_share = machine.splat(2.0 / (9.0 * UNSEEN * UNSEEN) * HOU as f32);
        let no_closure = machine.splat(1e-12);
        let two_thirds = machine.splat(2.0 / 3.0);
        let slow = machine.splat(self.slow_lu);
        let (zero, one) = (machine.splat(0.0), machine.splat(1.0));
        let first = self.first;
        let mut next_force = self.forces.partition_point(|force| force.block < first);
        for (at, sums) in self.sums.iter_mut().enumerate() {
            let b = first + at;
            let kind = self.kinds[b];
            if kind == Kind::Solid {
                continue;
            }
            let force = self.forces.get(next_force).filter(|_| kind.is_forced());
            next_force += usize::from(kind.is_forced());
            for from in (0..BLOCK).step_by(M::LANES) {
                let mut f = Populations {
                    rest: machine.load(&rest[b], from),
                    plus: nine!(p => machine.load(&near[p][b], from)),
                    minus: nine!(p => machine.load(&far[p][b], from)),
                };
                if let Some(force) = force {
                    slide_block(machine, &force.slides, from, &mut f);
                }
                let m = moments(&f);
                let mut u = m.momentum;
                if let Some(force) = force {
                    u = pushed_velocity(u, &push(machine, force, from), &constants);
                }
                let square = u[0].mul_add(u[0], u[1].mul_add(u[1], u[2] * u[2]));
                let term = machine.load(&closure[b], from);
                let eddy = thrice_eddy_viscosity(&m, term, &constants);
                let length = term.where_positive(term, one) + no_closure;
                let unseen = (eddy * eddy * unseen_share).over(length);
                let speed = unseen.mul_add(two_thirds, square).sqrt();
                let add = |sum: &mut [f32; BLOCK], value: M::V| {
                    let before = machine.load(sum, from);
                    machine.store(sum, from, before + value);
                };
                for (sum, u) in sums.velocity.iter_mut().zip(u) {
                    add(sum, u);
                }
                add(&mut sums.speed, speed);
                add(&mut sums.square, square + unseen);
                add(&mut sums.slow, zero.where_positive(speed - slow, one));
            }
        }
    }
}

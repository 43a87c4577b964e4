//! The fast step: the method of `plain`, in place, on all cores, several cells
//! at a time.
//!
//! The answer is the same bit for bit whatever the number of threads, since
//! every cell is computed by the same arithmetic from numbers of its own.

use crate::Domain;
use crate::blocks::{BlockForce, Kind};
use crate::domain::{CellForce, WallDrag};
use crate::lanes::{BLOCK, Width};
use crate::lattice::Q;
use crate::pass::Pass;
use crate::plain::{Macroscopic, equilibrium, seen, slide};
use crate::slides::BlockSlide;
use crate::store::{Layout, Store, WallLink};

/// Fewest cells worth a second thread.
const GRAIN: usize = 8_192;

/// Bytes that the caches of a processor hold, about; own choice.
const CACHED: usize = 16 << 20;

/// Bytes that the caches of a processor with many cores hold, about; own choice.
const CACHED_BY_MANY: usize = 128 << 20;

/// Where the force on a cell is kept: index into the forces of blocks, and lane.
#[derive(Clone, Copy, Debug)]
struct Placed {
    cell: usize,
    at: usize,
    lane: usize,
}

/// A block of water that can be advanced.
#[derive(Clone, Debug)]
pub struct Kernel {
    pub(super) domain: Domain,
    pub(super) store: Store,
    pub(super) kinds: Vec<Kind>,
    /// Closure term of each place; negative where there is no water.
    pub(super) closure: Vec<f32>,
    pub(super) forces: Vec<BlockForce>,
    /// Which of `forces` hold more than walls.
    pushed: Vec<usize>,
    /// Where the domain's forces are kept, those in solid cells left out.
    placed: Vec<Placed>,
    pub(super) width: Width,
    /// Whether what follows a step concerns the top plane alone.
    is_local: bool,
    /// Most steps in a pass over the planes.
    depth: usize,
    steps: u64,
}

impl Kernel {
    /// Water at rest.
    pub fn new(domain: Domain) -> Self {
        let store = Store::new(&domain);
        let layout = store.layout;
        let mut closure = vec![-1.0; layout.places()];
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
        let is_local = domain.periodic == [false; 3] && domain.moving.is_empty();
        let mut kernel = Self {
            store,
            kinds,
            closure,
            forces: Vec::new(),
            pushed: Vec::new(),
            placed: Vec::new(),
            width: Width::Widest,
            is_local,
            depth: if is_local { depth_of(&layout) } else { 1 },
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
            at
        });
        (at, lane)
    }

    fn place_forces(&mut self) {
        for at in std::mem::take(&mut self.pushed) {
            self.forces[at].rest();
        }
        let forces = std::mem::take(&mut self.domain.forces);
        self.find_places(&forces);
        let wet = forces.iter().filter(|f| !self.domain.solid[f.cell]);
        for (force, &Placed { at, lane, .. }) in wet.zip(&self.placed) {
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

    /// Looks up where forces are kept; mostly they act on the same cells as
    /// before.
    fn find_places(&mut self, forces: &[CellForce]) {
        let cells = forces.iter().map(|force| force.cell);
        let wet: Vec<usize> = cells.filter(|&cell| !self.domain.solid[cell]).collect();
        if self
            .placed
            .iter()
            .map(|placed| placed.cell)
            .eq(wet.iter().copied())
        {
            return;
        }
        // All blocks are made first: a new one moves those behind it.
        for &cell in &wet {
            self.forced_block(cell);
        }
        let place = |cell| {
            let (at, lane) = self.forced_block(cell);
            Placed { cell, at, lane }
        };
        self.placed = wet.into_iter().map(place).collect();
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
        self.advance(1);
    }

    /// Several steps with the same forces.
    pub fn advance(&mut self, n_steps: u64) {
        if self.store.layout.places() < 2 * GRAIN {
            self.advance_here(n_steps);
        } else {
            // One of the threads that share the work leads them: a thread of
            // another kind would be woken and sent to sleep with every step.
            rayon::scope(|_| self.advance_here(n_steps));
        }
    }

    fn advance_here(&mut self, n_steps: u64) {
        let most = self.depth.min(shared_depth(&self.store.layout));
        let mut left = n_steps;
        while left > 0 {
            let depth = left.min(most as u64) as usize;
            self.pass(depth);
            left -= depth as u64;
        }
    }

    /// `depth` steps in one pass over the planes.
    fn pass(&mut self, depth: usize) {
        let layout = self.store.layout;
        let threads = rayon::current_num_threads();
        let slabs = if depth == 1 {
            threads.min(layout.places() / GRAIN)
        } else {
            let at_least = GRAIN.div_ceil(layout.plane.max(1)).max(2 * depth);
            threads.min(layout.n_planes / at_least)
        };
        let pass = Pass {
            kinds: &self.kinds,
            closure: &self.closure,
            forces: &self.forces,
            tau: self.domain.tau as f32,
            width: self.width,
            layout,
            parity: self.store.parity,
            depth,
            after: &self.store.after,
            is_local: self.is_local,
            is_large: bytes(&layout) >= CACHED,
        };
        pass.run(&mut self.store.values, slabs.max(1));
        self.store.parity = self.store.parity.after(depth);
        self.steps += depth as u64;
    }

    /// Whether all numbers are small enough to mean anything: populations at
    /// rest far off their weight tell of a run that diverges.
    pub(crate) fn is_sound(&self) -> bool {
        let mut planes = 0..self.store.layout.n_planes;
        planes.all(|k| self.store.view(k).rest.iter().all(|f| f.abs() < 0.3))
    }

    /// What has arrived in a cell, before any of it slides along a wall.
    pub(super) fn arriving(&self, cell: usize) -> [f64; Q] {
        self.store.read(self.place_of(cell))
    }

    /// Density and velocity of a cell.
    pub fn macroscopic(&self, cell: usize) -> Macroscopic {
        let mut f = self.arriving(cell);
        slide(&self.domain, cell, &mut f);
        seen(&f, &self.force_at(cell))
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

/// Most steps in a pass so that every thread has planes enough: of a block that
/// many cores hold in their caches six for each step, for what a deeper pass
/// saves there is less than what its borders cost (`EXPERIMENTS.md`); of a
/// larger one the two that a pass needs.
fn shared_depth(layout: &Layout) -> usize {
    let is_held = bytes(layout) < CACHED_BY_MANY;
    let planes = if is_held { 6 } else { 2 };
    (layout.n_planes / (planes * rayon::current_num_threads())).max(1)
}

fn bytes(layout: &Layout) -> usize {
    layout.plane_len() * layout.n_planes * size_of::<f32>()
}

/// How many steps a pass makes: more where the block is far larger than the
/// caches, so that each step finds there what the one before it has left.
fn depth_of(layout: &Layout) -> usize {
    if bytes(layout) < CACHED { 2 } else { 3 }
}

//! The fast step: the method of `plain`, in place, on all cores, several cells
//! at a time.
//!
//! The answer is the same bit for bit whatever the number of threads, since
//! every cell is computed by the same arithmetic from numbers of its own.

use crate::Domain;
use crate::acting::Acting;
use crate::blocks::Kind;
use crate::domain::CellForce;
use crate::lanes::{BLOCK, Width};
use crate::lattice::Q;
use crate::pass::Pass;
use crate::plain::{Macroscopic, seen, set_all, slide};
use crate::store::{Layout, Store, WallLink};

/// Fewest cells worth a second thread.
const GRAIN: usize = 8_192;

/// Bytes that the caches of a processor hold, about; own choice.
const CACHED: usize = 16 << 20;

/// Bytes that the caches of a processor with many cores hold, about; own choice.
const CACHED_BY_MANY: usize = 128 << 20;

/// A block of water that can be advanced.
#[derive(Clone, Debug)]
pub struct Kernel {
    pub(super) domain: Domain,
    pub(super) store: Store,
    pub(super) kinds: Vec<Kind>,
    /// Closure term of each place; negative where there is no water.
    pub(super) closure: Vec<f32>,
    pub(super) acting: Acting,
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
            acting: Acting::of_walls(&domain, &layout),
            width: Width::Widest,
            is_local,
            depth: if is_local { depth_of(&layout) } else { 1 },
            steps: 0,
            domain,
        };
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

    fn place_forces(&mut self) {
        let (domain, layout) = (&self.domain, &self.store.layout);
        self.acting.set_forces(domain, layout, &domain.forces);
        for block in self.acting.blocks() {
            self.kinds[block] = self.kinds[block].forced();
        }
    }

    /// Sets a cell of water to equilibrium.
    pub fn set(&mut self, cell: usize, state: Macroscopic) {
        if !self.domain.solid[cell] {
            self.set_all(&[cell as u32], &|_| state);
        }
    }

    /// Sets some cells of water to equilibrium.
    pub(crate) fn set_all(&mut self, cells: &[u32], state: &(dyn Fn(usize) -> Macroscopic + Sync)) {
        let Self { domain, store, .. } = self;
        set_all(domain, cells, state, |cell, f| {
            store.write(store.layout.place(domain.ijk(cell)), f);
        });
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
            acting: &self.acting,
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
        let force = (self.acting).force_at(&self.domain, &self.store.layout, cell);
        seen(&f, &force)
    }

    /// How many blocks there are.
    pub(crate) fn n_blocks(&self) -> usize {
        self.kinds.len()
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

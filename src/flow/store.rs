//! How populations lie in memory, and how one step reads and writes them in
//! place.
//!
//! Each population has an array of its own over the cells of a plane. A step
//! reads and
//! writes the population of a pair at the cell itself ("near") or at its
//! neighbor along the pair ("far"), and even and odd steps change the roles of
//! the pair's two arrays, so that what is written is already streamed. Each
//! number is touched by one cell only, so cells may be done in any order, and
//! a slab of cells is a plain slice of each array: no `unsafe`, no second copy.
//! What meets a wall stays where it was written and is read again, reversed,
//! two steps later.
//!
//! **Source** "esoteric pull": Lehmann 2022, Computation 10:92. PUBLISHED (code).

use std::slice::ChunksMut;

use crate::Domain;
use crate::buffer::Buffer;
use crate::domain::Neighbor;
use crate::lanes::BLOCK;
use crate::lattice::{N_PAIRS, PAIRS, Q, population};

/// Places of cells. Each plane of the block has all its arrays together, so that
/// a range of planes is a plain slice; rows and planes end in room for what
/// leaves the block.
///
/// Two numbers say where a cell is: its *place* among the cells of all planes,
/// padded rows included, and where in memory one of its populations is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Layout {
    /// Padded length of a row; a multiple of the block.
    pub(crate) row: usize,
    /// Places in a plane; a multiple of the block.
    pub(crate) plane: usize,
    /// Planes of cells; one more is stored for what leaves upwards.
    pub(crate) n_planes: usize,
    /// Length of one population's array in a plane.
    array: usize,
    /// Room before the first cell of an array.
    before: usize,
    /// Way to the neighbor along each pair, but for the plane.
    way: [isize; N_PAIRS],
}

impl Layout {
    pub(crate) fn new(n: [usize; 3]) -> Self {
        // A line of the cache, and lines that share a place in it: arrays a
        // multiple of so many apart would all fall on each other.
        const LINE: usize = 16;
        const LINES: usize = 64;
        const SHIFT: usize = 27;
        let row = (n[0] + 1).next_multiple_of(BLOCK);
        let plane = row * n[1];
        let before = row + BLOCK;
        let lines = (before + plane + row + BLOCK).div_ceil(LINE);
        Self {
            row,
            plane,
            n_planes: n[2],
            array: (lines + (SHIFT + LINES - lines % LINES) % LINES) * LINE,
            before,
            way: PAIRS.map(|[x, y, _]| x as isize + y as isize * row as isize),
        }
    }

    /// Places of all cells.
    pub(crate) fn places(&self) -> usize {
        self.plane * self.n_planes
    }

    pub(crate) fn place(&self, [i, j, k]: [usize; 3]) -> usize {
        k * self.plane + j * self.row + i
    }

    /// Length of a plane with all its arrays.
    pub(crate) fn plane_len(&self) -> usize {
        self.array * Q
    }

    /// Where the number of array `i` at a place is.
    fn near(&self, i: usize, place: usize) -> usize {
        let (k, within) = (place / self.plane, place % self.plane);
        k * self.plane_len() + i * self.array + self.before + within
    }

    /// Where the number of array `i` at the neighbor of a place along pair `p`
    /// is.
    fn far(&self, i: usize, place: usize, p: usize) -> usize {
        let up = PAIRS[p][2] as usize * self.plane_len();
        (self.near(i, place) + up).wrapping_add_signed(self.way[p])
    }
}

/// The two arrays' roles in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Parity {
    Even,
    Odd,
}

impl Parity {
    fn flipped(self) -> Self {
        match self {
            Self::Even => Self::Odd,
            Self::Odd => Self::Even,
        }
    }

    /// The parity `steps` steps later.
    pub(crate) fn after(self, steps: usize) -> Self {
        if steps.is_multiple_of(2) {
            self
        } else {
            self.flipped()
        }
    }

    /// Arrays of pair `p` that are read near and far in this step.
    pub(crate) fn arrays(self, p: usize) -> (usize, usize) {
        match self {
            Self::Even => (2 + 2 * p, 1 + 2 * p),
            Self::Odd => (1 + 2 * p, 2 + 2 * p),
        }
    }
}

/// A run of numbers to be copied after a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Run {
    from: usize,
    to: usize,
    len: usize,
}

/// A number to be added after a step.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Addend {
    at: usize,
    value: f32,
}

/// What a wall, the lid or a closed direction asks for after a step.
#[derive(Clone, Debug, Default)]
pub(crate) struct AfterStep {
    runs: Vec<Run>,
    addends: Vec<Addend>,
}

/// A link from water into a wall: what goes in and comes out of it, each step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct WallLink {
    /// Places of the two numbers.
    pub(crate) places: [usize; 2],
    /// Direction into the wall.
    pub(crate) c: [i32; 3],
    /// Cell in the wall, if it is one of the block.
    pub(crate) wall: Option<usize>,
}

/// All populations.
#[derive(Clone, Debug)]
pub(crate) struct Store {
    pub(crate) layout: Layout,
    pub(crate) values: Buffer,
    pub(crate) parity: Parity,
    pub(crate) after: [AfterStep; 2],
}

/// Some planes of the block, from plane `first`.
pub(crate) struct Planes<'a> {
    pub(crate) layout: Layout,
    pub(crate) first: usize,
    pub(crate) values: &'a mut [f32],
}

/// Slices of all arrays over the cells of a plane.
pub(crate) struct Slab<'a> {
    pub(crate) rest: &'a mut [f32],
    pub(crate) near: [&'a mut [f32]; N_PAIRS],
    pub(crate) far: [&'a mut [f32]; N_PAIRS],
}

/// The same to look at.
pub(crate) struct View<'a> {
    pub(crate) rest: &'a [f32],
    pub(crate) near: [&'a [f32]; N_PAIRS],
    pub(crate) far: [&'a [f32]; N_PAIRS],
}

impl Planes<'_> {
    /// Those below `plane` and those from it on.
    pub(crate) fn split(self, plane: usize) -> (Self, Self) {
        let Self {
            layout,
            first,
            values,
        } = self;
        let (low, high) = values.split_at_mut((plane - first) * layout.plane_len());
        let planes = |first, values| Planes {
            layout,
            first,
            values,
        };
        (planes(first, low), planes(plane, high))
    }

    /// The cells of plane `k`, with the roles of a step of this parity. Needs
    /// the plane above as well.
    pub(crate) fn slab(&mut self, k: usize, parity: Parity) -> Slab<'_> {
        let layout = self.layout;
        let len = layout.plane_len();
        let both = &mut self.values[(k - self.first) * len..][..2 * len];
        let mut arrays: [Option<&mut [f32]>; 2 * Q] = [const { None }; 2 * Q];
        for (slot, array) in arrays.iter_mut().zip(both.chunks_exact_mut(layout.array)) {
            *slot = Some(array);
        }
        Slab::of_plane(&layout, parity, &mut arrays)
    }

    /// All cells for one step of this parity, as [`Slab::parts`] of up to `cells`
    /// of them.
    pub(crate) fn slabs(&mut self, parity: Parity, cells: usize) -> Vec<(usize, Slab<'_>)> {
        let layout = self.layout;
        let mut arrays: Vec<Option<&mut [f32]>> = self
            .values
            .chunks_exact_mut(layout.array)
            .map(Some)
            .collect();
        let mut slabs = Vec::new();
        for k in 0..layout.n_planes {
            let slab = Slab::of_plane(&layout, parity, &mut arrays[k * Q..]);
            slabs.extend(slab.parts(k * layout.plane / BLOCK, cells));
        }
        slabs
    }

    /// What must follow a step on the planes.
    pub(crate) fn follow(&mut self, after: &AfterStep) {
        let base = self.first * self.layout.plane_len();
        for run in &after.runs {
            let from = run.from - base;
            self.values.copy_within(from..from + run.len, run.to - base);
        }
        for addend in &after.addends {
            self.values[addend.at - base] += addend.value;
        }
    }
}

impl<'a> Slab<'a> {
    /// What a step of this parity touches of one plane, taken out of its arrays
    /// and of those of the plane above it, which come after them.
    fn of_plane(layout: &Layout, parity: Parity, arrays: &mut [Option<&'a mut [f32]>]) -> Self {
        let Layout {
            plane, before, way, ..
        } = *layout;
        let mut take = |i: usize, from: usize| match arrays[i].take() {
            Some(array) => &mut array[from..from + plane],
            None => &mut [],
        };
        Self {
            rest: take(0, before),
            near: std::array::from_fn(|p| take(parity.arrays(p).0, before)),
            far: std::array::from_fn(|p| {
                let up = PAIRS[p][2] as usize * Q;
                take(parity.arrays(p).1 + up, before.wrapping_add_signed(way[p]))
            }),
        }
    }

    /// Parts of up to `cells` cells, in whole blocks, each with its first block
    /// where this slab has `first`: since each number is touched by one cell only,
    /// they may be done side by side.
    pub(crate) fn parts(
        self,
        first: usize,
        cells: usize,
    ) -> impl Iterator<Item = (usize, Slab<'a>)> {
        let cells = cells.next_multiple_of(BLOCK).max(BLOCK);
        let n = self.rest.len().div_ceil(cells);
        let mut rest = self.rest.chunks_mut(cells);
        let mut near = self.near.map(|array| array.chunks_mut(cells));
        let mut far = self.far.map(|array| array.chunks_mut(cells));
        let next = |chunks: &mut ChunksMut<'a, f32>| chunks.next().unwrap_or_default();
        (0..n).map(move |part| {
            let slab = Slab {
                rest: next(&mut rest),
                near: near.each_mut().map(next),
                far: far.each_mut().map(next),
            };
            (first + part * cells / BLOCK, slab)
        })
    }
}

impl Store {
    pub(crate) fn new(domain: &Domain) -> Self {
        let layout = Layout::new(domain.n);
        Self {
            layout,
            values: Buffer::zeros(layout.plane_len() * (layout.n_planes + 1)),
            parity: Parity::Even,
            after: [Parity::Even, Parity::Odd].map(|parity| after_step(domain, &layout, parity)),
        }
    }

    /// The cells of plane `k` as the coming step reads them.
    pub(crate) fn view(&self, k: usize) -> View<'_> {
        let layout = &self.layout;
        let first = k * layout.plane;
        let slice = |from: usize| &self.values[from..from + layout.plane];
        let arrays = |p: usize| self.parity.arrays(p);
        View {
            rest: slice(layout.near(0, first)),
            near: std::array::from_fn(|p| slice(layout.near(arrays(p).0, first))),
            far: std::array::from_fn(|p| slice(layout.far(arrays(p).1, first, p))),
        }
    }

    /// The populations of a cell as the coming step reads them.
    pub(crate) fn read(&self, place: usize) -> [f64; Q] {
        let mut f = [0.0; Q];
        f[0] = f64::from(self.values[self.layout.near(0, place)]);
        for p in 0..N_PAIRS {
            let (near, far) = self.parity.arrays(p);
            f[1 + 2 * p] = f64::from(self.values[self.layout.near(near, place)]);
            f[2 + 2 * p] = f64::from(self.values[self.layout.far(far, place, p)]);
        }
        f
    }

    /// Writes the populations of a cell so that the coming step reads them.
    pub(crate) fn write(&mut self, place: usize, f: &[f64; Q]) {
        let at = self.layout.near(0, place);
        self.values[at] = f[0] as f32;
        for p in 0..N_PAIRS {
            let (near, far) = self.parity.arrays(p);
            let (near, far) = (
                self.layout.near(near, place),
                self.layout.far(far, place, p),
            );
            self.values[near] = f[1 + 2 * p] as f32;
            self.values[far] = f[2 + 2 * p] as f32;
        }
    }

    /// Links from water into walls.
    pub(crate) fn wall_links(&self, domain: &Domain) -> Vec<WallLink> {
        let mut links = Vec::new();
        for_water(domain, |_, ijk| {
            let place = self.layout.place(ijk);
            for (p, c) in PAIRS.into_iter().enumerate() {
                let arrays = [1 + 2 * p, 2 + 2 * p];
                let far = arrays.map(|i| self.layout.far(i, place, p));
                let near = arrays.map(|i| self.layout.near(i, place));
                for (c, places) in [(c, far), (c.map(|x| -x), near)] {
                    if let Neighbor::Wall(wall) = domain.neighbor(ijk, c) {
                        links.push(WallLink { places, c, wall });
                    }
                }
            }
        });
        links
    }
}

fn for_water(domain: &Domain, mut visit: impl FnMut(usize, [usize; 3])) {
    for (cell, _) in domain
        .solid
        .iter()
        .enumerate()
        .filter(|(_, solid)| !**solid)
    {
        visit(cell, domain.ijk(cell));
    }
}

/// What must follow a step of `parity`.
fn after_step(domain: &Domain, layout: &Layout, parity: Parity) -> AfterStep {
    let mut copies = Vec::new();
    let mut addends = Vec::new();
    let velocity = |cell: usize| domain.moving.iter().find(|moving| moving.cell == cell);
    for_water(domain, |_, ijk| {
        let place = layout.place(ijk);
        for (p, c) in PAIRS.into_iter().enumerate() {
            let (near, far) = parity.arrays(p);
            let (far_here, near_here) = (layout.far(far, place, p), layout.far(near, place, p));
            match domain.neighbor(ijk, c) {
                Neighbor::Water(to) => {
                    let there = layout.place(domain.ijk(to));
                    if layout.near(far, there) != far_here {
                        copies.push((far_here, layout.near(far, there)));
                        copies.push((layout.near(near, there), near_here));
                    }
                }
                Neighbor::Lid(from) => {
                    let up = population([-c[0], -c[1], 1]).map_or(0, |i| (i - 1) / 2);
                    let from = layout.place(domain.ijk(from));
                    copies.push((layout.far(parity.arrays(up).1, from, up), near_here));
                }
                Neighbor::Wall(None) if domain.lid && c[2] == 1 && ijk[2] + 1 == domain.n[2] => {
                    copies.push((far_here, near_here));
                }
                Neighbor::Wall(_) => {}
            }
            let back = c.map(|x| -x);
            for (c, at) in [(c, far_here), (back, layout.near(near, place))] {
                if let Neighbor::Wall(Some(wall)) = domain.neighbor(ijk, c)
                    && !domain.moving.is_empty()
                    && let Some(moving) = velocity(wall)
                {
                    let cu: f32 = (0..3).map(|a| c[a] as f32 * moving.velocity[a]).sum();
                    let weight = crate::lattice::WEIGHTS[p] as f32;
                    let value = -6.0 * weight * cu;
                    addends.push(Addend { at, value });
                }
            }
        }
    });
    AfterStep {
        runs: joined(copies),
        addends,
    }
}

/// Copies of neighboring numbers as runs.
fn joined(mut copies: Vec<(usize, usize)>) -> Vec<Run> {
    copies.sort_unstable();
    let mut runs: Vec<Run> = Vec::new();
    for (from, to) in copies {
        match runs.last_mut() {
            Some(run) if run.from + run.len == from && run.to + run.len == to => run.len += 1,
            _ => runs.push(Run { from, to, len: 1 }),
        }
    }
    runs
}

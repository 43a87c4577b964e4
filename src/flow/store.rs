//! How populations lie in memory, and how one step reads and writes them in
//! place.
//!
//! Each population has an array of its own over all cells. A step reads and
//! writes the population of a pair at the cell itself ("near") or at its
//! neighbor along the pair ("far"), and even and odd steps change the roles of
//! the pair's two arrays, so that what is written is already streamed. Each
//! number is touched by one cell only, so cells may be done in any order, and
//! a slab of cells is a plain slice of each array: no `unsafe`, no second copy.
//! What meets a wall stays where it was written and is read again, reversed,
//! two steps later.
//!
//! **Source** "esoteric pull": Lehmann 2022, Computation 10:92. PUBLISHED (code).

use crate::Domain;
use crate::domain::Neighbor;
use crate::lanes::BLOCK;
use crate::lattice::{PAIRS, Q, population};

/// Places of cells in the padded arrays. Each row, plane and the block as a
/// whole end in room for what leaves the block.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Layout {
    pub(crate) row: usize,
    pub(crate) plane: usize,
    /// Padded length of all cells; a multiple of the block.
    pub(crate) cells: usize,
    /// Length of one population's array.
    stride: usize,
    /// Way to the neighbor along each pair.
    far: [usize; 9],
}

impl Layout {
    pub(crate) fn new(n: [usize; 3]) -> Self {
        let row = (n[0] + 1).next_multiple_of(BLOCK);
        let plane = row * (n[1] + 1);
        let cells = plane * n[2];
        let far = PAIRS.map(|[x, y, z]| {
            let way = x as isize + y as isize * row as isize + z as isize * plane as isize;
            way as usize
        });
        let reach = far.iter().copied().max().unwrap_or(0);
        // Arrays a multiple of 4 KiB apart would all fall into the same few
        // lines of the cache; 13 lines of shift spread them.
        let page = 1024;
        let stride = (cells + reach).next_multiple_of(page) + 13 * 16;
        Self {
            row,
            plane,
            cells,
            stride,
            far,
        }
    }

    pub(crate) fn place(&self, [i, j, k]: [usize; 3]) -> usize {
        k * self.plane + j * self.row + i
    }
}

/// The two arrays' roles in a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Parity {
    Even,
    Odd,
}

impl Parity {
    pub(crate) fn flipped(self) -> Self {
        match self {
            Self::Even => Self::Odd,
            Self::Odd => Self::Even,
        }
    }

    /// Arrays of pair `p` that are read near and far in this step.
    fn arrays(self, p: usize) -> (usize, usize) {
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
struct AfterStep {
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
    pub(crate) values: Vec<f32>,
    pub(crate) parity: Parity,
    after: [AfterStep; 2],
}

/// Slices of all arrays over the same cells.
pub(crate) struct Slab<'a> {
    pub(crate) rest: &'a mut [f32],
    pub(crate) near: [&'a mut [f32]; 9],
    pub(crate) far: [&'a mut [f32]; 9],
}

impl Slab<'_> {
    pub(crate) fn len(&self) -> usize {
        self.rest.len()
    }

    /// The first `mid` cells and the others.
    pub(crate) fn split(self, mid: usize) -> (Self, Self) {
        let (rest, rest_b) = self.rest.split_at_mut(mid);
        let (near, near_b) = split_all(self.near, mid);
        let (far, far_b) = split_all(self.far, mid);
        let first = Slab { rest, near, far };
        let other = Slab {
            rest: rest_b,
            near: near_b,
            far: far_b,
        };
        (first, other)
    }
}

type Nine<'a> = [&'a mut [f32]; 9];

fn split_all(arrays: Nine<'_>, mid: usize) -> (Nine<'_>, Nine<'_>) {
    let mut others: Nine<'_> = Default::default();
    let mut others_left = others.iter_mut();
    let first = arrays.map(|array| {
        let (first, other) = array.split_at_mut(mid);
        if let Some(slot) = others_left.next() {
            *slot = other;
        }
        first
    });
    (first, others)
}

impl Store {
    pub(crate) fn new(domain: &Domain) -> Self {
        let layout = Layout::new(domain.n);
        Self {
            layout,
            values: vec![0.0; layout.stride * Q],
            parity: Parity::Even,
            after: [Parity::Even, Parity::Odd].map(|parity| after_step(domain, &layout, parity)),
        }
    }

    /// All cells as one slab, with the roles of the coming step.
    pub(crate) fn slab(&mut self) -> Slab<'_> {
        let Layout { cells, stride, .. } = self.layout;
        let mut arrays: [Option<&mut [f32]>; Q] = Default::default();
        for (slot, array) in arrays.iter_mut().zip(self.values.chunks_exact_mut(stride)) {
            *slot = Some(array);
        }
        let mut take = |i: usize, from: usize| match arrays[i].take() {
            Some(array) => &mut array[from..from + cells],
            None => &mut [],
        };
        let rest = take(0, 0);
        let parity = self.parity;
        let far_ways = self.layout.far;
        let near = std::array::from_fn(|p| take(parity.arrays(p).0, 0));
        let far = std::array::from_fn(|p| take(parity.arrays(p).1, far_ways[p]));
        Slab { rest, near, far }
    }

    /// The same to look at: slices of rest, near and far.
    pub(crate) fn views(&self) -> (&[f32], [&[f32]; 9], [&[f32]; 9]) {
        let Layout {
            cells, stride, far, ..
        } = self.layout;
        let array = |i: usize, from: usize| &self.values[i * stride + from..][..cells];
        let near = std::array::from_fn(|p| array(self.parity.arrays(p).0, 0));
        let far = std::array::from_fn(|p| array(self.parity.arrays(p).1, far[p]));
        (array(0, 0), near, far)
    }

    /// Ends a step: lid, closed directions and moving walls, then the other
    /// parity.
    pub(crate) fn finish_step(&mut self) {
        let after = &self.after[self.parity as usize];
        for run in &after.runs {
            self.values
                .copy_within(run.from..run.from + run.len, run.to);
        }
        for addend in &after.addends {
            self.values[addend.at] += addend.value;
        }
        self.parity = self.parity.flipped();
    }

    /// Writes the populations of a cell so that the coming step reads them.
    pub(crate) fn write(&mut self, place: usize, f: &[f64; Q]) {
        let Layout { stride, far, .. } = self.layout;
        self.values[place] = f[0] as f32;
        for (p, way) in far.into_iter().enumerate() {
            let (near, far) = self.parity.arrays(p);
            self.values[near * stride + place] = f[1 + 2 * p] as f32;
            self.values[far * stride + place + way] = f[2 + 2 * p] as f32;
        }
    }

    /// Links from water into walls.
    pub(crate) fn wall_links(&self, domain: &Domain) -> Vec<WallLink> {
        let mut links = Vec::new();
        for_water(domain, |_, ijk| {
            for (p, c) in PAIRS.into_iter().enumerate() {
                for (c, place) in [
                    (c, self.layout.place(ijk) + self.layout.far[p]),
                    (c.map(|x| -x), self.layout.place(ijk)),
                ] {
                    let neighbor = domain.neighbor(ijk, c);
                    if let Neighbor::Wall(wall) = neighbor {
                        let places = [1 + 2 * p, 2 + 2 * p].map(|i| i * self.layout.stride + place);
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
            let at = |array: usize, place: usize| array * layout.stride + place;
            let here = place + layout.far[p];
            match domain.neighbor(ijk, c) {
                Neighbor::Water(to) => {
                    let there = layout.place(domain.ijk(to));
                    if there != here {
                        copies.push((at(far, here), at(far, there)));
                        copies.push((at(near, there), at(near, here)));
                    }
                }
                Neighbor::Lid(from) => {
                    let up = population([-c[0], -c[1], 1]).map_or(0, |i| (i - 1) / 2);
                    let above = layout.place(domain.ijk(from)) + layout.far[up];
                    copies.push((at(parity.arrays(up).1, above), at(near, here)));
                }
                Neighbor::Wall(None) if domain.lid && c[2] == 1 && ijk[2] + 1 == domain.n[2] => {
                    copies.push((at(far, here), at(near, here)));
                }
                Neighbor::Wall(_) => {}
            }
            for (c, array, place) in [(c, far, here), (c.map(|x| -x), near, place)] {
                if let Neighbor::Wall(Some(wall)) = domain.neighbor(ijk, c)
                    && !domain.moving.is_empty()
                    && let Some(moving) = velocity(wall)
                {
                    let cu: f32 = (0..3).map(|a| c[a] as f32 * moving.velocity[a]).sum();
                    let weight = crate::lattice::WEIGHTS[p] as f32;
                    addends.push(Addend {
                        at: at(array, place),
                        value: -6.0 * weight * cu,
                    });
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

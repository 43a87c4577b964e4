//! Steps over all planes of the block, on all cores, several cells at a time.
//!
//! A pass makes several steps. Each goes over a plane as soon as the planes
//! beside it allow, so that it finds in the caches what the one before it has
//! left there. A plane needs those beside it one step behind: each core works
//! on planes of its own, a plane less at each border with every step, and the
//! wedges that are left at the borders follow, each by two cores, since there are
//! fewer of them. A pass of one step needs none of that: all parts are done side
//! by side.
//!
//! A step reads and writes twenty-seven arrays side by side, more than a
//! processor follows by itself: where they do not lie in its caches it is told
//! what comes next.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use std::ops::Range;

use rayon::prelude::*;

use crate::acting::{Acting, BlockPush};
use crate::blocks::Kind;
use crate::collide::{Constants, Populations, Push, collide};
use crate::lanes::{BLOCK, Lanes, Machine, Width, Work, fetch, pairs, run};
use crate::lattice::N_PAIRS;
use crate::slides::{BlockMemory, slide_block};
use crate::store::{AfterStep, Layout, Parity, Planes, Slab};

/// How many blocks ahead numbers are fetched; own trials, `EXPERIMENTS.md`.
const AHEAD: usize = 4;

/// What is needed for several steps with the same forces.
pub(super) struct Pass<'a> {
    pub(super) kinds: &'a [Kind],
    pub(super) closure: &'a [f32],
    pub(super) acting: &'a Acting,
    pub(super) tau: f32,
    pub(super) width: Width,
    pub(super) layout: Layout,
    /// Of the first step.
    pub(super) parity: Parity,
    /// How many steps; one where what follows a step is not local.
    pub(super) depth: usize,
    pub(super) after: &'a [AfterStep; 2],
    /// Whether what follows a step concerns the top plane alone.
    pub(super) is_local: bool,
    /// Whether the block is so large that numbers must be fetched ahead.
    pub(super) is_large: bool,
}

impl Pass<'_> {
    /// Does all of it in up to `n_slabs` parts at once; each needs twice as many
    /// planes as there are steps.
    pub(super) fn run(&self, values: &mut [f32], n_slabs: usize) {
        if self.depth == 1 {
            return self.step(values, n_slabs);
        }
        let border = |s: usize| (s * self.layout.n_planes).div_ceil(n_slabs);
        let own = |s: usize, step: usize| {
            let low = border(s) + if s == 0 { 0 } else { step };
            let high = border(s + 1) - if s + 1 == n_slabs { 0 } else { step + 1 };
            low..high
        };
        let slabs = self.parts(values, (1..n_slabs).map(border));
        (slabs.into_par_iter().enumerate())
            .for_each(|(s, mut planes)| self.sweep(&mut planes, |step| own(s, step), 1));
        let middles = (1..n_slabs).map(|s| usize::midpoint(border(s), border(s + 1)));
        let around = self.parts(values, middles);
        (around.into_par_iter().take(n_slabs - 1).enumerate()).for_each(|(s, mut planes)| {
            let at = border(s + 1);
            self.sweep(&mut planes, |step| at - step - 1..at + step, 2);
        });
        if !self.is_local {
            self.planes(values)
                .follow(&self.after[self.parity as usize]);
        }
    }

    /// One step, on up to `n_threads`: here no border is in the way.
    fn step(&self, values: &mut [f32], n_threads: usize) {
        // So many parts for each that none waits long for another.
        const PARTS: usize = 4;
        let mut planes = self.planes(values);
        let cells = self.layout.places().div_ceil(PARTS * n_threads);
        let part = if n_threads == 1 { usize::MAX } else { cells };
        let slabs = planes.slabs(self.parity, part.min(self.layout.plane));
        self.side_by_side(slabs, n_threads);
        planes.follow(&self.after[self.parity as usize]);
    }

    /// One step of parts that lie apart; with each goes its first block.
    fn side_by_side(&self, slabs: Vec<(usize, Slab<'_>)>, n_threads: usize) {
        let advance = |(first, slab)| {
            let pass = self;
            run(self.width, Step { slab, first, pass });
        };
        if n_threads == 1 {
            slabs.into_iter().for_each(advance);
        } else {
            slabs.into_par_iter().with_max_len(1).for_each(advance);
        }
    }

    fn planes<'v>(&self, values: &'v mut [f32]) -> Planes<'v> {
        Planes {
            layout: self.layout,
            first: 0,
            values,
        }
    }

    /// The planes between these borders.
    fn parts<'v>(
        &self,
        values: &'v mut [f32],
        borders: impl Iterator<Item = usize>,
    ) -> Vec<Planes<'v>> {
        let mut rest = self.planes(values);
        let mut parts = Vec::new();
        for border in borders {
            let (low, high) = rest.split(border);
            parts.push(low);
            rest = high;
        }
        parts.push(rest);
        parts
    }

    /// Steps over the planes that `range` gives for each, 0 the first, each plane
    /// on so many threads.
    fn sweep(
        &self,
        planes: &mut Planes<'_>,
        range: impl Fn(usize) -> Range<usize>,
        n_threads: usize,
    ) {
        let ends = || (0..self.depth).map(&range);
        let first = ends().map(|planes| planes.start).min().unwrap_or(0);
        let last = ends().map(|planes| planes.end).max().unwrap_or(0);
        for front in first..last + self.depth {
            for step in 0..self.depth.min(front + 1) {
                let k = front - step;
                if range(step).contains(&k) {
                    self.plane(planes, k, self.parity.after(step), n_threads);
                }
            }
        }
    }

    fn plane(&self, planes: &mut Planes<'_>, k: usize, parity: Parity, n_threads: usize) {
        let first = k * self.layout.plane / BLOCK;
        let slab = planes.slab(k, parity);
        if n_threads == 1 {
            let pass = self;
            run(self.width, Step { slab, first, pass });
        } else {
            let cells = self.layout.plane.div_ceil(n_threads);
            self.side_by_side(slab.parts(first, cells).collect(), n_threads);
        }
        if self.is_local && k + 1 == self.layout.n_planes {
            planes.follow(&self.after[parity as usize]);
        }
    }
}

/// One step of one plane.
struct Step<'a, 'b> {
    slab: Slab<'a>,
    /// First block of the plane.
    first: usize,
    pass: &'b Pass<'b>,
}

type Blocks<'a> = &'a mut [[f32; BLOCK]];

impl Work for Step<'_, '_> {
    #[inline(always)]
    fn on<M: Machine>(self, machine: M) {
        let Step { slab, first, pass } = self;
        let n = slab.rest.len() / BLOCK;
        let constants = Constants::new(machine, pass.tau);
        let closure = &pass.closure[first * BLOCK..].as_chunks::<BLOCK>().0[..n];
        let kinds = &pass.kinds[first..][..n];
        let mut acted = pass.acting.among(first..first + n).iter();
        let Slab { rest, near, far } = slab;
        // As many blocks in each, so that none need be counted again.
        let mut arrays = Arrays {
            rest: blocks(rest, n),
            near: all_blocks(near, n),
            far: all_blocks(far, n),
        };
        for b in 0..n {
            let term = &closure[b];
            let kind = kinds[b];
            if pass.is_large && b + AHEAD < n {
                arrays.fetch(b + AHEAD);
            }
            // Each has code of its own: what acts is known to act.
            if kind.is_forced() {
                let Some(now) = acted.next() else {
                    continue;
                };
                let (slides, push) = pass.acting.on(*now);
                slide_block(machine, slides, &mut OneOf(&mut arrays, b));
                if kind == Kind::OpenForced {
                    arrays.advance::<M, false>(machine, b, term, Some(push), &constants);
                } else {
                    arrays.advance::<M, true>(machine, b, term, Some(push), &constants);
                }
            } else if kind == Kind::Open {
                arrays.advance::<M, false>(machine, b, term, None, &constants);
            } else if kind == Kind::Mixed {
                arrays.advance::<M, true>(machine, b, term, None, &constants);
            }
        }
    }
}

#[inline(always)]
fn blocks(array: &mut [f32], n: usize) -> Blocks<'_> {
    &mut array.as_chunks_mut().0[..n]
}

/// Written out, so that all lengths are known to be the same.
#[inline(always)]
fn all_blocks(arrays: [&mut [f32]; N_PAIRS], n: usize) -> [Blocks<'_>; N_PAIRS] {
    let [a, b, c, d, e, f, g, h, i, j, k, l, m] = arrays;
    [
        blocks(a, n),
        blocks(b, n),
        blocks(c, n),
        blocks(d, n),
        blocks(e, n),
        blocks(f, n),
        blocks(g, n),
        blocks(h, n),
        blocks(i, n),
        blocks(j, n),
        blocks(k, n),
        blocks(l, n),
        blocks(m, n),
    ]
}

/// All arrays, block by block.
struct Arrays<'a> {
    rest: Blocks<'a>,
    near: [Blocks<'a>; N_PAIRS],
    far: [Blocks<'a>; N_PAIRS],
}

/// One block of them.
struct OneOf<'a, 'b>(&'a mut Arrays<'b>, usize);

impl BlockMemory for OneOf<'_, '_> {
    #[inline(always)]
    fn population(&mut self, i: usize) -> &mut [f32; BLOCK] {
        let Self(Arrays { rest, near, far }, b) = self;
        match i {
            0 => &mut rest[*b],
            _ if i % 2 == 1 => &mut near[i / 2][*b],
            _ => &mut far[i / 2 - 1][*b],
        }
    }
}

impl Arrays<'_> {
    /// Tells the processor that block `b` comes soon.
    #[inline(never)]
    fn fetch(&self, b: usize) {
        fetch(&self.rest[b]);
        let _fetched: [(); N_PAIRS] = pairs!(p => fetch(&self.near[p][b]));
        let _fetched: [(); N_PAIRS] = pairs!(p => fetch(&self.far[p][b]));
    }

    /// Advances block `b`; `MASKED` keeps solid cells as they are.
    #[inline(always)]
    fn advance<M: Machine, const MASKED: bool>(
        &mut self,
        machine: M,
        b: usize,
        closure: &[f32; BLOCK],
        on: Option<&BlockPush>,
        constants: &Constants<M::V>,
    ) {
        let Self { rest, near, far } = self;
        for from in (0..BLOCK).step_by(M::LANES) {
            let f = Populations {
                rest: machine.load(&rest[b], from),
                plus: pairs!(p => machine.load(&near[p][b], from)),
                minus: pairs!(p => machine.load(&far[p][b], from)),
            };
            let term = machine.load(closure, from);
            let push = on.map(|on| push(machine, on, from));
            let mut g = collide(&f, term, push.as_ref(), constants);
            if MASKED {
                g = in_water(&f, &g, term);
            }
            machine.store(&mut rest[b], from, g.rest);
            let _stored: [(); N_PAIRS] =
                pairs!(p => machine.store(&mut far[p][b], from, g.plus[p]));
            let _stored: [(); N_PAIRS] =
                pairs!(p => machine.store(&mut near[p][b], from, g.minus[p]));
        }
    }
}

/// `new` in water; in solid what was there, put back where it was.
#[inline(always)]
fn in_water<V: Lanes>(old: &Populations<V>, new: &Populations<V>, sign: V) -> Populations<V> {
    Populations {
        rest: new.rest.where_positive(sign, old.rest),
        plus: pairs!(p => new.plus[p].where_positive(sign, old.minus[p])),
        minus: pairs!(p => new.minus[p].where_positive(sign, old.plus[p])),
    }
}

#[inline(always)]
pub(super) fn push<M: Machine>(machine: M, on: &BlockPush, from: usize) -> Push<M::V> {
    let half = machine.splat(0.5);
    let two = machine.splat(2.0);
    Push {
        half_force: [
            machine.load(&on.force[0], from) * half,
            machine.load(&on.force[1], from) * half,
            machine.load(&on.force[2], from) * half,
        ],
        half_linear_plus_one: (machine.load(&on.linear, from)).mul_add(half, machine.splat(1.0)),
        twice_quadratic: machine.load(&on.quadratic, from) * two,
        mass: machine.load(&on.mass, from),
    }
}

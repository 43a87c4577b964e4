//! What is seen of the water at one moment, added up block by block.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use rayon::prelude::*;

use crate::acting::Acting;
use crate::blocks::Kind;
use crate::collide::{Constants, Populations, moments, thrice_eddy_viscosity};
use crate::domain::HOU;
use crate::kernel::Kernel;
use crate::lanes::{BLOCK, Lanes as _, Machine, Work, pairs, run};
use crate::lattice::{N_PAIRS, Q};
use crate::pass::push;
use crate::slides::{BlockSlide, slide_block};
use crate::store::View;

/// Fewest cells of which a thread of its own takes a sample.
const GRAIN: usize = 8_192;

/// Constant between eddy viscosity, mixing length and the energy of eddies too
/// small to be seen: `k = (ν_t/(0.5875 l))²`. They count for what a coral feels:
/// with their share the mean speed is `√(u² + 4k/3)`.
///
/// **Source** Yoshizawa 1982, Phys. Fluids 25:1532, as used in one-equation
/// closures: 0.094 of a cell, for a mixing length of 0.16 cells. MEMORY.
const UNSEEN: f32 = 0.094 / 0.16;

/// Energy of unseen eddies, times a cell's closure term over the square of
/// three times its eddy viscosity.
pub(crate) fn unseen_share() -> f32 {
    2.0 / (9.0 * UNSEEN * UNSEEN) * HOU as f32
}

/// Sums over time of what was seen in the cells of a block.
#[derive(Clone, Debug, Default)]
pub(crate) struct BlockSums {
    pub(crate) velocity: [[f32; BLOCK]; 3],
    pub(crate) speed: [f32; BLOCK],
    pub(crate) square: [f32; BLOCK],
    pub(crate) slow: [f32; BLOCK],
}

impl Kernel {
    /// Adds what is seen now to `sums`, one entry a block; `slow_lu` is the
    /// speed below which water counts as slow.
    pub(crate) fn sample(&self, sums: &mut [BlockSums], slow_lu: f32) {
        let layout = self.store.layout;
        let blocks = layout.plane / BLOCK;
        (sums.par_chunks_mut(blocks.max(1)).enumerate())
            .with_min_len((GRAIN / layout.plane.max(1)).max(1))
            .for_each(|(k, sums)| {
                let work = Sample {
                    view: self.store.view(k),
                    kinds: &self.kinds,
                    acting: &self.acting,
                    closure: &self.closure,
                    tau: self.domain.tau as f32,
                    first: k * blocks,
                    sums,
                    slow_lu,
                };
                run(self.width, work);
            });
    }
}

/// A copy of block `at` in which what walls mirror is mirrored, where any do; the
/// population at rest, which none mirrors, is left out.
#[inline(always)]
fn slid<M: Machine>(
    machine: M,
    slides: &[BlockSlide],
    [near, far]: [&[&[[f32; BLOCK]]; N_PAIRS]; 2],
    at: usize,
) -> Option<[[f32; BLOCK]; Q]> {
    if slides.is_empty() {
        return None;
    }
    let mut block = [[0.0; BLOCK]; Q];
    for p in 0..N_PAIRS {
        block[1 + 2 * p] = near[p][at];
        block[2 + 2 * p] = far[p][at];
    }
    slide_block(machine, slides, &mut block);
    Some(block)
}

struct Sample<'a> {
    view: View<'a>,
    kinds: &'a [Kind],
    acting: &'a Acting,
    closure: &'a [f32],
    tau: f32,
    first: usize,
    sums: &'a mut [BlockSums],
    slow_lu: f32,
}

impl Work for Sample<'_> {
    #[inline(always)]
    fn on<M: Machine>(self, machine: M) {
        let View { rest, near, far } = self.view;
        let (rest, near, far) = (
            rest.as_chunks::<BLOCK>().0,
            near.map(|x| x.as_chunks::<BLOCK>().0),
            far.map(|x| x.as_chunks::<BLOCK>().0),
        );
        let closure = self.closure.as_chunks::<BLOCK>().0;
        let constants = Constants::new(machine, self.tau);
        // A cell's closure term is this times the square of its mixing length.
        let unseen_share = machine.splat(unseen_share());
        let no_closure = machine.splat(1e-12);
        let two_thirds = machine.splat(2.0 / 3.0);
        let slow = machine.splat(self.slow_lu);
        let (zero, one) = (machine.splat(0.0), machine.splat(1.0));
        let first = self.first;
        let blocks = first..first + self.sums.len();
        let mut acted = self.acting.among(blocks).iter();
        for (at, sums) in self.sums.iter_mut().enumerate() {
            let b = first + at;
            let kind = self.kinds[b];
            if kind == Kind::Solid {
                continue;
            }
            let acted = if kind.is_forced() { acted.next() } else { None };
            let on = acted.map(|acted| self.acting.on(*acted));
            let slides = on.map_or(&[][..], |(slides, _)| slides);
            let slid = slid(machine, slides, [&near, &far], at);
            for from in (0..BLOCK).step_by(M::LANES) {
                let rest = machine.load(&rest[at], from);
                let f = match &slid {
                    Some(block) => Populations {
                        rest,
                        plus: pairs!(p => machine.load(&block[1 + 2 * p], from)),
                        minus: pairs!(p => machine.load(&block[2 + 2 * p], from)),
                    },
                    None => Populations {
                        rest,
                        plus: pairs!(p => machine.load(&near[p][at], from)),
                        minus: pairs!(p => machine.load(&far[p][at], from)),
                    },
                };
                let m = moments(&f, &constants);
                let mut u = m.velocity;
                if let Some((_, on)) = on {
                    u = m.pushed(&push(machine, on, from), &constants);
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

//! Water that slides along flat walls, block by block: on cells larger than the
//! boundary layer a wall at which water rests would take far more momentum than
//! a real one does.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use crate::lanes::{BLOCK, Lanes as _, Machine};
use crate::lattice::{Q, SLIDES};

/// Populations that change places beside walls in a block: in lanes whose sign
/// is negative.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BlockSlide {
    /// Index into [`SLIDES`].
    pub(crate) slide: usize,
    pub(crate) sign: [f32; BLOCK],
}

/// The populations of a block where they lie in memory.
pub(crate) trait BlockMemory {
    /// Those in direction `i`.
    fn population(&mut self, i: usize) -> &mut [f32; BLOCK];
}

impl BlockMemory for [[f32; BLOCK]; Q] {
    #[inline(always)]
    fn population(&mut self, i: usize) -> &mut [f32; BLOCK] {
        &mut self[i]
    }
}

/// Mirrors what comes back from the flat walls in a block, in memory: where it
/// is known only at run time which populations change places, they cannot stay
/// in registers.
#[inline(always)]
pub(crate) fn slide_block<M: Machine>(
    machine: M,
    slides: &[BlockSlide],
    block: &mut impl BlockMemory,
) {
    for BlockSlide { slide, sign } in slides {
        let [a, b] = SLIDES[*slide].pair;
        for from in (0..BLOCK).step_by(M::LANES) {
            let sign = machine.load(sign, from);
            let at_a = machine.load(block.population(a), from);
            let at_b = machine.load(block.population(b), from);
            let (new_a, new_b) = (
                at_a.where_positive(sign, at_b),
                at_b.where_positive(sign, at_a),
            );
            machine.store(block.population(a), from, new_a);
            machine.store(block.population(b), from, new_b);
        }
    }
}

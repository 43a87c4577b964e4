//! Water that slides along flat walls, block by block: on cells larger than the
//! boundary layer a wall at which water rests would take far more momentum than
//! a real one does.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use crate::collide::Populations;
use crate::lanes::{BLOCK, Lanes, Machine};
use crate::lattice::N_PAIRS;

/// Populations that change places beside walls in a block: in lanes whose sign
/// is negative.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BlockSlide {
    /// Index into [`crate::lattice::SLIDES`].
    pub(crate) slide: usize,
    pub(crate) sign: [f32; BLOCK],
}

/// Mirrors what comes back from the flat walls in a block.
#[inline(always)]
pub(crate) fn slide_block<M: Machine>(
    machine: M,
    slides: &[BlockSlide],
    from: usize,
    f: &mut Populations<M::V>,
) {
    for BlockSlide { slide, sign } in slides {
        let sign = machine.load(sign, from);
        // As in `SLIDES`, written out so that all stays in registers.
        match slide {
            0 => swap_within(sign, &mut f.plus, 5, 6),
            1 => swap_within(sign, &mut f.plus, 7, 8),
            2 => swap_within(sign, &mut f.plus, 9, 12),
            3 => swap_within(sign, &mut f.plus, 11, 10),
            4 => swap_within(sign, &mut f.minus, 6, 5),
            5 => swap_within(sign, &mut f.minus, 8, 7),
            6 => swap_within(sign, &mut f.minus, 12, 9),
            7 => swap_within(sign, &mut f.minus, 10, 11),
            8 => swap_within(sign, &mut f.plus, 3, 4),
            9 => swap(sign, &mut f.plus[7], &mut f.minus[8]),
            10 => swap(sign, &mut f.plus[9], &mut f.minus[11]),
            11 => swap(sign, &mut f.minus[12], &mut f.plus[10]),
            12 => swap_within(sign, &mut f.minus, 4, 3),
            13 => swap(sign, &mut f.plus[8], &mut f.minus[7]),
            14 => swap(sign, &mut f.plus[11], &mut f.minus[9]),
            15 => swap(sign, &mut f.minus[10], &mut f.plus[12]),
            16 => swap(sign, &mut f.plus[3], &mut f.minus[4]),
            17 => swap(sign, &mut f.plus[5], &mut f.minus[6]),
            18 => swap(sign, &mut f.plus[9], &mut f.minus[10]),
            19 => swap(sign, &mut f.minus[12], &mut f.plus[11]),
            20 => swap(sign, &mut f.plus[4], &mut f.minus[3]),
            21 => swap(sign, &mut f.plus[6], &mut f.minus[5]),
            22 => swap(sign, &mut f.plus[10], &mut f.minus[9]),
            _ => swap(sign, &mut f.minus[11], &mut f.plus[12]),
        }
    }
}

#[inline(always)]
fn swap_within<V: Lanes>(sign: V, f: &mut [V; N_PAIRS], a: usize, b: usize) {
    (f[a], f[b]) = (
        f[a].where_positive(sign, f[b]),
        f[b].where_positive(sign, f[a]),
    );
}

#[inline(always)]
fn swap<V: Lanes>(sign: V, a: &mut V, b: &mut V) {
    (*a, *b) = (a.where_positive(sign, *b), b.where_positive(sign, *a));
}

//! Several cells side by side in one register.
//!
//! The widest kind is chosen at run time: sixteen cells with AVX-512, else eight
//! with AVX2 and FMA, else four with SSE4.2, else four with whatever the build
//! allows. Each lane does
//! the same arithmetic, so the answer does not depend on how cells fall into
//! lanes.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use std::ops::{Add, Mul, Sub};

/// One value a pair of directions, written out: a closure would not be inlined into code that uses
/// a processor's own instructions, which halves the speed.
macro_rules! pairs {
    ($p:ident => $value:expr) => {
        [
            pairs!(@ 0, $p, $value), pairs!(@ 1, $p, $value), pairs!(@ 2, $p, $value),
            pairs!(@ 3, $p, $value), pairs!(@ 4, $p, $value), pairs!(@ 5, $p, $value),
            pairs!(@ 6, $p, $value), pairs!(@ 7, $p, $value), pairs!(@ 8, $p, $value),
            pairs!(@ 9, $p, $value), pairs!(@ 10, $p, $value), pairs!(@ 11, $p, $value),
            pairs!(@ 12, $p, $value),
        ]
    };
    (@ $at:literal, $p:ident, $value:expr) => {{
        let $p: usize = $at;
        $value
    }};
}
pub(crate) use pairs;

/// Cells in a block; a multiple of every number of lanes.
pub(crate) const BLOCK: usize = 16;

/// Tells the processor that a block will soon be read and written, where it can
/// be told.
#[inline(always)]
pub(crate) fn fetch(block: &[f32; BLOCK]) {
    #[cfg(target_arch = "x86_64")]
    safe_arch::prefetch_et0(block);
    #[cfg(not(target_arch = "x86_64"))]
    let _ = block;
}

/// One number in each of several cells.
pub(crate) trait Lanes:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self>
{
    /// `self·b + c`.
    fn mul_add(self, b: Self, c: Self) -> Self;
    /// `c − self·b`.
    fn neg_mul_add(self, b: Self, c: Self) -> Self;
    /// `self·b − c`.
    fn mul_sub(self, b: Self, c: Self) -> Self;
    /// Without its sign.
    fn abs(self) -> Self;
    /// Square root.
    fn sqrt(self) -> Self;
    /// `self / b`.
    fn over(self, b: Self) -> Self;
    /// `self` where the sign bit of `sign` is clear, else `other`.
    fn where_positive(self, sign: Self, other: Self) -> Self;
}

/// Makes lanes from memory and back.
pub(crate) trait Machine: Copy {
    /// Its register.
    type V: Lanes;
    /// How many cells a register holds.
    const LANES: usize;
    /// The same number in each lane.
    fn splat(self, x: f32) -> Self::V;
    /// Lanes `from..` of a block.
    fn load(self, block: &[f32; BLOCK], from: usize) -> Self::V;
    /// Writes lanes `from..` of a block.
    fn store(self, block: &mut [f32; BLOCK], from: usize, value: Self::V);
}

/// Four lanes on any machine; some compilers turn these loops into vector code.
mod four {
    use super::Lanes;
    use std::array::from_fn;
    use std::ops::{Add, Mul, Sub};

    /// Four numbers.
    #[derive(Clone, Copy)]
    #[repr(align(16))]
    pub(crate) struct Four([f32; 4]);

    impl Four {
        #[inline(always)]
        pub(super) fn from_array(x: [f32; 4]) -> Self {
            Self(x)
        }
        #[inline(always)]
        pub(super) fn to_array(self) -> [f32; 4] {
            self.0
        }
    }
    impl Add for Four {
        type Output = Self;
        #[inline(always)]
        fn add(self, b: Self) -> Self {
            Self(from_fn(|k| self.0[k] + b.0[k]))
        }
    }
    impl Sub for Four {
        type Output = Self;
        #[inline(always)]
        fn sub(self, b: Self) -> Self {
            Self(from_fn(|k| self.0[k] - b.0[k]))
        }
    }
    impl Mul for Four {
        type Output = Self;
        #[inline(always)]
        fn mul(self, b: Self) -> Self {
            Self(from_fn(|k| self.0[k] * b.0[k]))
        }
    }
    impl Lanes for Four {
        #[inline(always)]
        fn mul_add(self, b: Self, c: Self) -> Self {
            self * b + c
        }
        #[inline(always)]
        fn neg_mul_add(self, b: Self, c: Self) -> Self {
            c - self * b
        }
        #[inline(always)]
        fn mul_sub(self, b: Self, c: Self) -> Self {
            self * b - c
        }
        #[inline(always)]
        fn abs(self) -> Self {
            Self(from_fn(|k| self.0[k].abs()))
        }
        #[inline(always)]
        fn sqrt(self) -> Self {
            Self(from_fn(|k| self.0[k].sqrt()))
        }
        #[inline(always)]
        fn over(self, b: Self) -> Self {
            Self(from_fn(|k| self.0[k] / b.0[k]))
        }
        #[inline(always)]
        fn where_positive(self, sign: Self, other: Self) -> Self {
            let pick = |k: usize| {
                if sign.0[k].is_sign_positive() {
                    self.0[k]
                } else {
                    other.0[k]
                }
            };
            Self(from_fn(pick))
        }
    }
}

/// A machine with four lanes.
#[derive(Clone, Copy)]
pub(crate) struct AnyMachine;

impl Machine for AnyMachine {
    type V = four::Four;
    const LANES: usize = 4;
    #[inline(always)]
    fn splat(self, x: f32) -> Self::V {
        four::Four::from_array([x; 4])
    }
    #[inline(always)]
    fn load(self, block: &[f32; BLOCK], from: usize) -> Self::V {
        four::Four::from_array(block.as_chunks::<4>().0[from / 4])
    }
    #[inline(always)]
    fn store(self, block: &mut [f32; BLOCK], from: usize, value: Self::V) {
        block.as_chunks_mut::<4>().0[from / 4] = value.to_array();
    }
}

/// Lanes of a processor's own.
#[cfg(target_arch = "x86_64")]
mod own {
    use super::{BLOCK, Lanes, Machine};
    use pulp::{Simd, cast, f32x4, f32x8, f32x16};
    use std::ops::{Add, Mul, Sub};

    /// Several numbers, and the proof that this processor can work on them.
    /// `FUSED` says whether it multiplies and adds in one go: where it does not,
    /// the crate would call a slow function for each number.
    #[derive(Clone, Copy)]
    pub(crate) struct Own<S: Simd, const FUSED: bool>(S, S::f32s);

    impl<S: Simd, const FUSED: bool> Add for Own<S, FUSED> {
        type Output = Self;
        #[inline(always)]
        fn add(self, b: Self) -> Self {
            Self(self.0, self.0.add_f32s(self.1, b.1))
        }
    }
    impl<S: Simd, const FUSED: bool> Sub for Own<S, FUSED> {
        type Output = Self;
        #[inline(always)]
        fn sub(self, b: Self) -> Self {
            Self(self.0, self.0.sub_f32s(self.1, b.1))
        }
    }
    impl<S: Simd, const FUSED: bool> Mul for Own<S, FUSED> {
        type Output = Self;
        #[inline(always)]
        fn mul(self, b: Self) -> Self {
            Self(self.0, self.0.mul_f32s(self.1, b.1))
        }
    }
    impl<S: Simd, const FUSED: bool> Lanes for Own<S, FUSED> {
        #[inline(always)]
        fn mul_add(self, b: Self, c: Self) -> Self {
            if FUSED {
                Self(self.0, self.0.mul_add_e_f32s(self.1, b.1, c.1))
            } else {
                self * b + c
            }
        }
        #[inline(always)]
        fn neg_mul_add(self, b: Self, c: Self) -> Self {
            if FUSED {
                let less = self.0.neg_f32s(self.1);
                Self(self.0, self.0.mul_add_e_f32s(less, b.1, c.1))
            } else {
                c - self * b
            }
        }
        #[inline(always)]
        fn mul_sub(self, b: Self, c: Self) -> Self {
            if FUSED {
                let less = self.0.neg_f32s(c.1);
                Self(self.0, self.0.mul_add_e_f32s(self.1, b.1, less))
            } else {
                self * b - c
            }
        }
        #[inline(always)]
        fn abs(self) -> Self {
            Self(self.0, self.0.abs_f32s(self.1))
        }
        #[inline(always)]
        fn sqrt(self) -> Self {
            Self(self.0, self.0.sqrt_f32s(self.1))
        }
        #[inline(always)]
        fn over(self, b: Self) -> Self {
            Self(self.0, self.0.div_f32s(self.1, b.1))
        }
        #[inline(always)]
        fn where_positive(self, sign: Self, other: Self) -> Self {
            let simd = self.0;
            let negative = simd.less_than_f32s(sign.1, simd.splat_f32s(0.0));
            Self(simd, simd.select_f32s(negative, other.1, self.1))
        }
    }

    /// A machine of the crate: lanes, their register, whether it is fused.
    macro_rules! machine {
        ($machine:ty, $lanes:literal, $register:ty, $fused:literal) => {
            impl Machine for $machine {
                type V = Own<Self, $fused>;
                const LANES: usize = $lanes;
                #[inline(always)]
                fn splat(self, x: f32) -> Self::V {
                    Own(self, self.splat_f32s(x))
                }
                #[inline(always)]
                fn load(self, block: &[f32; BLOCK], from: usize) -> Self::V {
                    let part = block.as_chunks::<$lanes>().0[from / $lanes];
                    Own(self, cast::<[f32; $lanes], $register>(part))
                }
                #[inline(always)]
                fn store(self, block: &mut [f32; BLOCK], from: usize, value: Self::V) {
                    block.as_chunks_mut::<$lanes>().0[from / $lanes] = cast(value.1);
                }
            }
        };
    }

    machine!(pulp::x86::V2, 4, f32x4, false);
    machine!(pulp::x86::V3, 8, f32x8, true);
    machine!(pulp::x86::V4, 16, f32x16, true);
}

/// Work that can be done on any machine.
pub(crate) trait Work {
    /// Does it; must be inlined so that the compiler uses the machine's
    /// instructions.
    fn on<M: Machine>(self, machine: M);
}

/// Which registers to use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// The widest that this processor has: sixteen cells with AVX-512.
    Widest,
    /// Eight cells with AVX2 and FMA; else the next.
    Eight,
    /// Four cells with SSE4.2, which nearly all processors have; else plain.
    Narrow,
    /// Plain code, which any processor runs.
    Plain,
}

/// Does `work` with registers of this width.
pub(crate) fn run<W: Work>(width: Width, work: W) {
    #[cfg(target_arch = "x86_64")]
    {
        if width == Width::Widest
            && let Some(machine) = pulp::x86::V4::try_new()
        {
            machine.vectorize(OnMachine { machine, work });
            return;
        }
        if matches!(width, Width::Widest | Width::Eight)
            && let Some(machine) = pulp::x86::V3::try_new()
        {
            machine.vectorize(OnMachine { machine, work });
            return;
        }
        if width != Width::Plain
            && let Some(machine) = pulp::x86::V2::try_new()
        {
            machine.vectorize(OnMachine { machine, work });
            return;
        }
    }
    work.on(AnyMachine);
}

#[cfg(target_arch = "x86_64")]
struct OnMachine<M, W> {
    machine: M,
    work: W,
}

#[cfg(target_arch = "x86_64")]
impl<M: Machine, W: Work> pulp::NullaryFnOnce for OnMachine<M, W> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        self.work.on(self.machine);
    }
}

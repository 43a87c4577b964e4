//! Several cells side by side in one register.
//!
//! The widest kind is chosen at run time: eight cells with AVX2 and FMA, else
//! four with whatever the build allows. Each lane does the same arithmetic, so
//! the answer does not depend on how cells fall into lanes.

use std::ops::{Add, Mul, Sub};

/// Cells in a block; a multiple of every number of lanes.
pub(crate) const BLOCK: usize = 8;

/// One number in each of several cells.
pub(crate) trait Lanes:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self>
{
    /// `self·b + c`.
    fn mul_add(self, b: Self, c: Self) -> Self;
    /// Square root.
    fn sqrt(self) -> Self;
    /// `self / b`.
    fn over(self, b: Self) -> Self;
    /// `self` where `sign` is not negative, else `other`.
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

/// Four lanes on any machine; compilers turn these loops into vector code.
#[derive(Clone, Copy)]
#[repr(align(16))]
pub(crate) struct Four([f32; 4]);

/// The machine of [`Four`].
#[derive(Clone, Copy)]
pub(crate) struct AnyMachine;

macro_rules! four_operator {
    ($name:ident, $method:ident, $op:tt) => {
        impl $name for Four {
            type Output = Self;
            #[inline(always)]
            fn $method(self, b: Self) -> Self {
                let (a, b) = (self.0, b.0);
                Self([a[0] $op b[0], a[1] $op b[1], a[2] $op b[2], a[3] $op b[3]])
            }
        }
    };
}
four_operator!(Add, add, +);
four_operator!(Sub, sub, -);
four_operator!(Mul, mul, *);

impl Lanes for Four {
    #[inline(always)]
    fn mul_add(self, b: Self, c: Self) -> Self {
        self * b + c
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        let a = self.0;
        Self([a[0].sqrt(), a[1].sqrt(), a[2].sqrt(), a[3].sqrt()])
    }
    #[inline(always)]
    fn over(self, b: Self) -> Self {
        let (a, b) = (self.0, b.0);
        Self([a[0] / b[0], a[1] / b[1], a[2] / b[2], a[3] / b[3]])
    }
    #[inline(always)]
    fn where_positive(self, sign: Self, other: Self) -> Self {
        Self(std::array::from_fn(|k| {
            if sign.0[k] >= 0.0 {
                self.0[k]
            } else {
                other.0[k]
            }
        }))
    }
}

impl Machine for AnyMachine {
    type V = Four;
    const LANES: usize = 4;
    #[inline(always)]
    fn splat(self, x: f32) -> Four {
        Four([x; 4])
    }
    #[inline(always)]
    fn load(self, block: &[f32; BLOCK], from: usize) -> Four {
        if from == 0 {
            Four([block[0], block[1], block[2], block[3]])
        } else {
            Four([block[4], block[5], block[6], block[7]])
        }
    }
    #[inline(always)]
    fn store(self, block: &mut [f32; BLOCK], from: usize, value: Four) {
        if from == 0 {
            [block[0], block[1], block[2], block[3]] = value.0;
        } else {
            [block[4], block[5], block[6], block[7]] = value.0;
        }
    }
}

/// Eight lanes with AVX2 and FMA.
#[cfg(target_arch = "x86_64")]
mod eight {
    use super::{BLOCK, Lanes, Machine};
    use pulp::Simd as _;
    use pulp::x86::V3;
    use std::ops::{Add, Mul, Sub};

    /// Eight numbers, and the proof that this processor can work on them.
    #[derive(Clone, Copy)]
    pub(crate) struct Eight(V3, pulp::f32x8);

    impl Add for Eight {
        type Output = Self;
        #[inline(always)]
        fn add(self, b: Self) -> Self {
            Self(self.0, self.0.add_f32s(self.1, b.1))
        }
    }
    impl Sub for Eight {
        type Output = Self;
        #[inline(always)]
        fn sub(self, b: Self) -> Self {
            Self(self.0, self.0.sub_f32s(self.1, b.1))
        }
    }
    impl Mul for Eight {
        type Output = Self;
        #[inline(always)]
        fn mul(self, b: Self) -> Self {
            Self(self.0, self.0.mul_f32s(self.1, b.1))
        }
    }
    impl Lanes for Eight {
        #[inline(always)]
        fn mul_add(self, b: Self, c: Self) -> Self {
            Self(self.0, self.0.mul_add_f32s(self.1, b.1, c.1))
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
    impl Machine for V3 {
        type V = Eight;
        const LANES: usize = 8;
        #[inline(always)]
        fn splat(self, x: f32) -> Eight {
            Eight(self, self.splat_f32s(x))
        }
        #[inline(always)]
        fn load(self, block: &[f32; BLOCK], _from: usize) -> Eight {
            Eight(self, pulp::cast(*block))
        }
        #[inline(always)]
        fn store(self, block: &mut [f32; BLOCK], _from: usize, value: Eight) {
            *block = pulp::cast(value.1);
        }
    }
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
    /// The widest that this processor has.
    Widest,
    /// Those that any processor has.
    Plain,
}

/// Does `work` with registers of this width.
pub(crate) fn run<W: Work>(width: Width, work: W) {
    #[cfg(target_arch = "x86_64")]
    if width == Width::Widest
        && let Some(machine) = pulp::x86::V3::try_new()
    {
        machine.vectorize(OnEight { machine, work });
        return;
    }
    work.on(AnyMachine);
}

#[cfg(target_arch = "x86_64")]
struct OnEight<W> {
    machine: pulp::x86::V3,
    work: W,
}

#[cfg(target_arch = "x86_64")]
impl<W: Work> pulp::NullaryFnOnce for OnEight<W> {
    type Output = ();
    #[inline(always)]
    fn call(self) {
        self.work.on(self.machine);
    }
}

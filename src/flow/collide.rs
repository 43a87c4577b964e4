//! One collision in moment space, on several cells at once.
//!
//! The formulas are those of `plain`; here each pair of opposite populations
//! enters through its sum and its difference, which needs about 140 vector
//! operations in all.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use crate::lanes::{Lanes, Machine, nine};

/// Populations of one cell (or one register of cells).
#[derive(Clone, Copy)]
pub(crate) struct Populations<V> {
    pub(crate) rest: V,
    pub(crate) plus: [V; 9],
    pub(crate) minus: [V; 9],
}

/// What acts on a cell.
#[derive(Clone, Copy)]
pub(crate) struct Push<V> {
    pub(crate) half_force: [V; 3],
    pub(crate) half_linear_plus_one: V,
    pub(crate) twice_quadratic: V,
    pub(crate) mass: V,
}

/// Numbers that are the same in every cell.
#[derive(Clone, Copy)]
pub(crate) struct Constants<V> {
    half_tau: V,
    quarter_tau_squared: V,
    quarter: V,
    one: V,
    two: V,
    third: V,
    sixth: V,
    twelfth: V,
    eighteenth: V,
    thirty_sixth: V,
    one_and_a_half: V,
    four_and_a_half: V,
}

impl<V: Lanes> Constants<V> {
    #[inline(always)]
    pub(crate) fn new<M: Machine<V = V>>(machine: M, tau: f32) -> Self {
        let s = |x| machine.splat(x);
        Self {
            half_tau: s(0.5 * tau),
            quarter_tau_squared: s(0.25 * tau * tau),
            quarter: s(0.25),
            one: s(1.0),
            two: s(2.0),
            third: s(1.0 / 3.0),
            sixth: s(1.0 / 6.0),
            twelfth: s(1.0 / 12.0),
            eighteenth: s(1.0 / 18.0),
            thirty_sixth: s(1.0 / 36.0),
            one_and_a_half: s(1.5),
            four_and_a_half: s(4.5),
        }
    }
}

/// Density, momentum and second moment, the latter as xx, yy, zz, xy, xz, yz.
#[derive(Clone, Copy)]
pub(crate) struct Moments<V> {
    pub(crate) density: V,
    pub(crate) momentum: [V; 3],
    stress: [V; 6],
}

/// Density and momentum alone.
#[inline(always)]
pub(crate) fn moments<V: Lanes>(f: &Populations<V>) -> Moments<V> {
    let s: [V; 9] = nine!(p => f.plus[p] + f.minus[p]);
    let d: [V; 9] = nine!(p => f.plus[p] - f.minus[p]);
    let xy = s[3] + s[4];
    let xz = s[5] + s[6];
    let yz = s[7] + s[8];
    Moments {
        density: ((f.rest + s[0]) + (s[1] + s[2])) + ((xy + xz) + yz),
        momentum: [
            d[0] + ((d[3] - d[4]) + (d[5] - d[6])),
            d[1] + ((d[3] + d[4]) + (d[7] - d[8])),
            d[2] + ((d[5] + d[6]) + (d[7] + d[8])),
        ],
        stress: [
            s[0] + (xy + xz),
            s[1] + (xy + yz),
            s[2] + (xz + yz),
            s[3] - s[4],
            s[5] - s[6],
            s[7] - s[8],
        ],
    }
}

/// Velocity with half of the force; see `plain` for the implicit drag.
#[inline(always)]
pub(crate) fn pushed_velocity<V: Lanes>(
    momentum: [V; 3],
    push: &Push<V>,
    c: &Constants<V>,
) -> [V; 3] {
    let [x, y, z] = [
        momentum[0] + push.half_force[0],
        momentum[1] + push.half_force[1],
        momentum[2] + push.half_force[2],
    ];
    let size = x.mul_add(x, y.mul_add(y, z * z)).sqrt();
    let linear = push.half_linear_plus_one;
    let root = linear.mul_add(linear, push.twice_quadratic * size).sqrt();
    let share = c.two.over(linear + root);
    [x * share, y * share, z * share]
}

/// One collision; `closure` is the cell's closure term.
#[inline(always)]
pub(crate) fn collide<V: Lanes>(
    f: &Populations<V>,
    closure: V,
    push: Option<&Push<V>>,
    c: &Constants<V>,
) -> Populations<V> {
    let m = moments(f);
    let j = m.momentum;
    let u = match push {
        Some(push) => pushed_velocity(j, push, c),
        None => j,
    };
    let uu = products(u);
    // Half of uF + Fu with F = 2(u − j), which is u(u−j) + (u−j)u.
    let both = match push {
        Some(_) => {
            let g = [u[0] - j[0], u[1] - j[1], u[2] - j[2]];
            Some([
                c.two * u[0] * g[0],
                c.two * u[1] * g[1],
                c.two * u[2] * g[2],
                u[0].mul_add(g[1], g[0] * u[1]),
                u[0].mul_add(g[2], g[0] * u[2]),
                u[1].mul_add(g[2], g[1] * u[2]),
            ])
        }
        None => None,
    };
    let mut out = out_of_equilibrium(&m, &uu, c);
    let mut kept = uu;
    if let Some(both) = both {
        for a in 0..6 {
            out[a] = out[a] + both[a];
            kept[a] = kept[a] + both[a];
        }
    }
    let root = root_of_tau(&out, closure, c);
    let keep = c.one - c.one.over(c.half_tau + root);
    for a in 0..6 {
        kept[a] = keep.mul_add(out[a], kept[a]);
    }
    let (density, first) = match push {
        Some(push) => {
            // j + F = 2u − j.
            let first = [
                c.two * u[0] - j[0],
                c.two * u[1] - j[1],
                c.two * u[2] - j[2],
            ];
            (m.density + push.mass, first)
        }
        None => (m.density, j),
    };
    rebuilt(density, first, kept, c)
}

/// Products of velocities, in the order of the second moments.
#[inline(always)]
fn products<V: Lanes>(u: [V; 3]) -> [V; 6] {
    [
        u[0] * u[0],
        u[1] * u[1],
        u[2] * u[2],
        u[0] * u[1],
        u[0] * u[2],
        u[1] * u[2],
    ]
}

#[inline(always)]
fn out_of_equilibrium<V: Lanes>(m: &Moments<V>, uu: &[V; 6], c: &Constants<V>) -> [V; 6] {
    let third = m.density * c.third;
    [
        m.stress[0] - third - uu[0],
        m.stress[1] - third - uu[1],
        m.stress[2] - third - uu[2],
        m.stress[3] - uu[3],
        m.stress[4] - uu[4],
        m.stress[5] - uu[5],
    ]
}

/// What must be added to half the resting relaxation time: Smagorinsky's closed form.
#[inline(always)]
fn root_of_tau<V: Lanes>(out: &[V; 6], closure: V, c: &Constants<V>) -> V {
    let straight = out[0].mul_add(out[0], out[1].mul_add(out[1], out[2] * out[2]));
    let skew = out[3].mul_add(out[3], out[4].mul_add(out[4], out[5] * out[5]));
    let norm = skew.mul_add(c.two, straight).sqrt();
    (closure * c.quarter)
        .mul_add(norm, c.quarter_tau_squared)
        .sqrt()
}

/// Three times the eddy viscosity of the closure.
#[inline(always)]
pub(crate) fn thrice_eddy_viscosity<V: Lanes>(m: &Moments<V>, closure: V, c: &Constants<V>) -> V {
    let out = out_of_equilibrium(m, &products(m.momentum), c);
    root_of_tau(&out, closure, c) - c.half_tau
}

/// Populations with these moments.
#[inline(always)]
fn rebuilt<V: Lanes>(density: V, j: [V; 3], a: [V; 6], c: &Constants<V>) -> Populations<V> {
    let base = density - c.one_and_a_half * ((a[0] + a[1]) + a[2]);
    let axis = base * c.eighteenth;
    let diagonal = base * c.thirty_sixth;
    // 4.5/18 on an axis, 4.5/36 on a diagonal.
    let eighth = c.four_and_a_half * c.thirty_sixth;
    let [xx, yy, zz] = [a[0] * eighth, a[1] * eighth, a[2] * eighth];
    let [xy, xz, yz] = [a[3] * c.quarter, a[4] * c.quarter, a[5] * c.quarter];
    let even = [
        xx.mul_add(c.two, axis),
        yy.mul_add(c.two, axis),
        zz.mul_add(c.two, axis),
        diagonal + (xx + yy) + xy,
        diagonal + (xx + yy) - xy,
        diagonal + (xx + zz) + xz,
        diagonal + (xx + zz) - xz,
        diagonal + (yy + zz) + yz,
        diagonal + (yy + zz) - yz,
    ];
    let odd = odd_part(j, c);
    Populations {
        rest: base * c.third,
        plus: nine!(p => even[p] + odd[p]),
        minus: nine!(p => even[p] - odd[p]),
    }
}

/// Half the difference of each pair at equilibrium: `3w c·j`.
#[inline(always)]
fn odd_part<V: Lanes>(j: [V; 3], c: &Constants<V>) -> [V; 9] {
    [
        j[0] * c.sixth,
        j[1] * c.sixth,
        j[2] * c.sixth,
        (j[0] + j[1]) * c.twelfth,
        (j[1] - j[0]) * c.twelfth,
        (j[0] + j[2]) * c.twelfth,
        (j[2] - j[0]) * c.twelfth,
        (j[1] + j[2]) * c.twelfth,
        (j[2] - j[1]) * c.twelfth,
    ]
}

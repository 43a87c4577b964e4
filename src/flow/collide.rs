//! One collision in the moving frame, on several cells at once.
//!
//! The formulas are those of `plain`. Here sums over the populations are made axis
//! by axis, up to third order, and turned into moments about the water's velocity;
//! the way back goes axis by axis too. All are kept less those of water at rest,
//! which keeps the digits of slow water; about 400 vector operations in all.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use crate::lanes::{Lanes, Machine};
use crate::lattice::N_PAIRS;
use crate::plain::THIRD_SCALE;
use crate::sums::{Halved, Sums, populations, sums};

/// Populations of one cell (or one register of cells).
#[derive(Clone, Copy)]
pub(crate) struct Populations<V> {
    pub(crate) rest: V,
    pub(crate) plus: [V; N_PAIRS],
    pub(crate) minus: [V; N_PAIRS],
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
    zero: V,
    eighth: V,
    quarter: V,
    pub(crate) half: V,
    pub(crate) one: V,
    pub(crate) two: V,
    four: V,
    sixteen: V,
    thirty_two: V,
    third: V,
    pub(crate) sixth: V,
    ninth: V,
    pub(crate) thirty_sixth: V,
    less_216th: V,
    seven: V,
    eight: V,
    nine: V,
    ten: V,
    fourteen: V,
    third_scale: V,
}

impl<V: Lanes> Constants<V> {
    #[inline(always)]
    pub(crate) fn new<M: Machine<V = V>>(machine: M, tau: f32) -> Self {
        let s = |x| machine.splat(x);
        Self {
            half_tau: s(0.5 * tau),
            quarter_tau_squared: s(0.25 * tau * tau),
            zero: s(0.0),
            eighth: s(0.125),
            quarter: s(0.25),
            half: s(0.5),
            one: s(1.0),
            two: s(2.0),
            four: s(4.0),
            sixteen: s(16.0),
            thirty_two: s(32.0),
            third: s(1.0 / 3.0),
            sixth: s(1.0 / 6.0),
            ninth: s(1.0 / 9.0),
            thirty_sixth: s(1.0 / 36.0),
            less_216th: s(-1.0 / 216.0),
            seven: s(7.0),
            eight: s(8.0),
            nine: s(9.0),
            ten: s(10.0),
            fourteen: s(14.0),
            third_scale: s(THIRD_SCALE as f32),
        }
    }
}

/// Density less 1, velocity and second moment, the latter as xx, yy, zz, xy, xz,
/// yz; all before the force.
#[derive(Clone, Copy)]
pub(crate) struct Moments<V> {
    density: V,
    momentum: [V; 3],
    pub(crate) velocity: [V; 3],
    share: V,
    stress: [V; 6],
}

/// Density, velocity and second moment.
#[inline(always)]
pub(crate) fn moments<V: Lanes>(f: &Populations<V>, c: &Constants<V>) -> Moments<V> {
    let sums = sums(f);
    let share = c.one.over(c.one + sums.density);
    Moments {
        density: sums.density,
        momentum: sums.momentum,
        velocity: sums.momentum.map_all(share),
        share,
        stress: sums.second,
    }
}

/// Three numbers times one; a closure would not be inlined.
trait MapAll<V> {
    fn map_all(self, share: V) -> Self;
}

impl<V: Lanes> MapAll<V> for [V; 3] {
    #[inline(always)]
    fn map_all(self, share: V) -> Self {
        [self[0] * share, self[1] * share, self[2] * share]
    }
}

/// Velocity with half of the force; see `plain` for the implicit drag. The square
/// root of what was pushed need not wait for `share`, one over the density.
#[inline(always)]
fn pushed_velocity<V: Lanes>(momentum: [V; 3], (whole, share): (V, V), push: &Push<V>) -> [V; 3] {
    let pushed = [
        push.half_force[0].mul_add(whole, momentum[0]),
        push.half_force[1].mul_add(whole, momentum[1]),
        push.half_force[2].mul_add(whole, momentum[2]),
    ];
    let [x, y, z] = pushed;
    let size = x.mul_add(x, y.mul_add(y, z * z)).sqrt();
    let linear = push.half_linear_plus_one;
    let quadratic = push.twice_quadratic * share;
    let root = quadratic.mul_add(size, linear * linear).sqrt();
    pushed.map_all((share + share).over(linear + root))
}

impl<V: Lanes> Moments<V> {
    /// Velocity with half of the force.
    #[inline(always)]
    pub(crate) fn pushed(&self, push: &Push<V>, c: &Constants<V>) -> [V; 3] {
        let density = (c.one + self.density, self.share);
        pushed_velocity(self.momentum, density, push)
    }
}

/// One collision; `closure` is the cell's closure term.
#[inline(always)]
pub(crate) fn collide<V: Lanes>(
    f: &Populations<V>,
    closure: V,
    push: Option<&Push<V>>,
    c: &Constants<V>,
) -> Populations<V> {
    let sums = sums(f);
    let whole = c.one + sums.density;
    let share = c.one.over(whole);
    let before = sums.momentum.map_all(share);
    let (mut second, third) = about(&sums, before, c);
    let Some(push) = push else {
        let density = (sums.density, share);
        let left = relax(density, &second, &third, closure, c);
        return populations(&halved(density, &left, None, c), before, c);
    };
    // Momentum in the frame of the velocity half-way: half of the force is
    // missing, and is then over.
    let u = pushed_velocity(sums.momentum, (whole, share), push);
    let gained = [u[0] - before[0], u[1] - before[1], u[2] - before[2]];
    let first = gained.map_all(whole);
    second = [
        first[0].mul_add(gained[0], second[0]),
        first[1].mul_add(gained[1], second[1]),
        first[2].mul_add(gained[2], second[2]),
        first[0].mul_add(gained[1], second[3]),
        first[0].mul_add(gained[2], second[4]),
        first[1].mul_add(gained[2], second[5]),
    ];
    let all = sums.density + push.mass;
    let density = (all, c.one.over(c.one + all));
    let left = relax(density, &second, &third, closure, c);
    let first = Some(first.map_all(c.half));
    populations(&halved(density, &left, first, c), u, c)
}

/// Second and third moments about the water's velocity `u`, less those of water
/// at rest: `K_xx = M_xx − u_x M_x`, `K_xxy = M_xxy − u_y M_xx − 2 u_x K_xy` and so
/// on, with `M` the sums.
#[inline(always)]
fn about<V: Lanes>(sums: &Sums<V>, u: [V; 3], c: &Constants<V>) -> ([V; 6], [V; 7]) {
    let [x, y, z] = u;
    let [along_x, along_y, along_z] = sums.momentum;
    let [xx, yy, zz, xy, xz, yz] = sums.second;
    let [all_xx, all_yy, all_zz] = [xx + c.third, yy + c.third, zz + c.third];
    let second = [
        x.neg_mul_add(along_x, xx),
        y.neg_mul_add(along_y, yy),
        z.neg_mul_add(along_z, zz),
        x.neg_mul_add(along_y, xy),
        x.neg_mul_add(along_z, xz),
        y.neg_mul_add(along_z, yz),
    ];
    let [twice_x, twice_y, twice_z] = [x + x, y + y, z + z];
    let [_, _, _, k_xy, k_xz, k_yz] = second;
    let [xxy, xyy, xxz, xzz, yyz, yzz, xyz] = sums.third;
    let third = [
        twice_x.neg_mul_add(k_xy, y.neg_mul_add(all_xx, xxy)),
        twice_y.neg_mul_add(k_xy, x.neg_mul_add(all_yy, xyy)),
        twice_x.neg_mul_add(k_xz, z.neg_mul_add(all_xx, xxz)),
        twice_z.neg_mul_add(k_xz, x.neg_mul_add(all_zz, xzz)),
        twice_y.neg_mul_add(k_yz, z.neg_mul_add(all_yy, yyz)),
        twice_z.neg_mul_add(k_yz, y.neg_mul_add(all_zz, yzz)),
        x.neg_mul_add(k_yz, y.neg_mul_add(k_xz, z.neg_mul_add(xy, xyz))),
    ];
    (second, third)
}

/// What a collision leaves: second moments (xx, yy, zz, xy, xz, yz, less those of
/// water at rest) and third ones (xxy, xyy, xxz, xzz, yyz, yzz, xyz, halved as in
/// [`Halved`]).
type Left<V> = ([V; 6], [V; 7]);

/// Second cumulants relax, and those of third order are kept as far as they are
/// small. `share` is one over the density.
#[inline(always)]
fn relax<V: Lanes>(
    (density, share): (V, V),
    second: &[V; 6],
    third: &[V; 7],
    closure: V,
    c: &Constants<V>,
) -> Left<V> {
    let mean = ((second[0] + second[1]) + second[2]) * c.third;
    let straight = [second[0] - mean, second[1] - mean, second[2] - mean];
    let skew = [second[3], second[4], second[5]];
    let root = root_of_tau(straight, skew, closure * share, c);
    let tau = c.half_tau + root;
    let keep = c.one - c.one.over(tau);
    let pressure = density * c.third;
    let [xy, xz, yz] = skew.map_all(keep);
    let second = [
        straight[0].mul_add(keep, pressure),
        straight[1].mul_add(keep, pressure),
        straight[2].mul_add(keep, pressure),
        xy,
        xz,
        yz,
    ];
    (second, kept_third(third, c.one + density, tau, c))
}

/// All moments, with no cumulant above third order: those of fourth order and
/// above are what second and third ones make. `first` is half of the momentum.
#[inline(always)]
fn halved<V: Lanes>(
    (density, share): (V, V),
    (second, third): &Left<V>,
    first: Option<[V; 3]>,
    c: &Constants<V>,
) -> Halved<V> {
    let [xx, yy, zz, xy, xz, yz] = *second;
    let all = [xx + c.third, yy + c.third, zz + c.third];
    let skews = Skews {
        skew: [xy, xz, yz],
        twice: [xy + xy, xz + xz, yz + yz],
    };
    let fourth = fourth([xx, yy, zz], all, &skews, (density, share), c);
    let xyz = third[6] * c.eight;
    let [half_xx, half_yy, half_zz] = [xx, yy, zz].map_all(c.half);
    let [quarter_xy, quarter_xz, quarter_yz] = skews.skew.map_all(c.quarter);
    Halved {
        density,
        first,
        second: [
            half_xx, half_yy, half_zz, quarter_xy, quarter_xz, quarter_yz,
        ],
        third: *third,
        fourth,
        fifth: fifth(third, xyz, all, &skews, share * c.half),
        sixth: sixth((third, xyz), &fourth, all[0], &skews, share, c),
    }
}

/// xy, xz, yz, and twice that.
struct Skews<V> {
    skew: [V; 3],
    twice: [V; 3],
}

/// Cumulants of third order after the collision, halved as in [`Halved`]. What
/// limits them is divided by before the relaxation time, for which much must be
/// waited, is needed.
#[inline(always)]
fn kept_third<V: Lanes>(third: &[V; 7], whole: V, tau: V, c: &Constants<V>) -> [V; 7] {
    let scale = c.third_scale * whole;
    let [a, b] = both_limited(third[0], third[1], scale, c);
    let [d, e] = both_limited(third[2], third[3], scale, c);
    let [g, h] = both_limited(third[4], third[5], scale, c);
    let limited = [a, b, d, e, g, h, third[6].over(scale + third[6].abs())];
    // As in `plain`, times the square of the relaxation time.
    let left = c.eight.mul_add(tau, c.ten).neg_mul_add(tau, c.nine);
    let left = left.over(c.eight.mul_add(tau, c.fourteen).mul_sub(tau, c.seven));
    let most = left.where_positive(left, c.zero) * (scale * c.quarter);
    [
        limited[0] * most,
        limited[1] * most,
        limited[2] * most,
        limited[3] * most,
        limited[4] * most,
        limited[5] * most,
        limited[6] * (most * c.half),
    ]
}

/// Two at once, since a division takes longer than four products.
#[inline(always)]
fn both_limited<V: Lanes>(a: V, b: V, scale: V, c: &Constants<V>) -> [V; 2] {
    let (under_a, under_b) = (scale + a.abs(), scale + b.abs());
    let share = c.one.over(under_a * under_b);
    [a * (under_b * share), b * (under_a * share)]
}

/// Moments of fourth order, whose cumulants are gone, halved as in [`Halved`].
#[inline(always)]
fn fourth<V: Lanes>(
    [a, b, d]: [V; 3],
    [xx, yy, zz]: [V; 3],
    Skews { skew, twice }: &Skews<V>,
    (density, share): (V, V),
    c: &Constants<V>,
) -> [V; 6] {
    let ([xy, xz, yz], [twice_xy, twice_xz, twice_yz]) = (*skew, *twice);
    let (quarter, eighth) = (share * c.quarter, share * c.eighth);
    let rest = density * c.ninth;
    [
        twice_xy.mul_add(xz, xx * yz) * eighth,
        twice_xy.mul_add(yz, yy * xz) * eighth,
        twice_xz.mul_add(yz, zz * xy) * eighth,
        a.mul_add(yy, b.mul_add(c.third, twice_xy.mul_sub(xy, rest))) * quarter,
        a.mul_add(zz, d.mul_add(c.third, twice_xz.mul_sub(xz, rest))) * quarter,
        b.mul_add(zz, d.mul_add(c.third, twice_yz.mul_sub(yz, rest))) * quarter,
    ]
}

/// Moments of fifth order, halved: each second one with a third one.
#[inline(always)]
fn fifth<V: Lanes>(
    kept: &[V; 7],
    xyz: V,
    [xx, yy, zz]: [V; 3],
    Skews { skew, twice }: &Skews<V>,
    share: V,
) -> [V; 3] {
    let ([xy, xz, yz], [twice_xy, twice_xz, twice_yz]) = (*skew, *twice);
    let [xxy, xyy, xxz, xzz, yyz, yzz, _] = *kept;
    let xyyzz = twice_xz.mul_add(yyz, twice_xy.mul_add(yzz, xyz * yz));
    let xxyzz = twice_yz.mul_add(xxz, twice_xy.mul_add(xzz, xyz * xz));
    let xxyyz = twice_yz.mul_add(xxy, twice_xz.mul_add(xyy, xyz * xy));
    [
        zz.mul_add(xyy, yy.mul_add(xzz, xyyzz)) * share,
        zz.mul_add(xxy, xx.mul_add(yzz, xxyzz)) * share,
        yy.mul_add(xxz, xx.mul_add(yyz, xxyyz)) * share,
    ]
}

/// What must be added to half the resting relaxation time: Smagorinsky's closed form.
#[inline(always)]
fn root_of_tau<V: Lanes>(straight: [V; 3], skew: [V; 3], closure: V, c: &Constants<V>) -> V {
    let [xx, yy, zz] = straight;
    let [xy, xz, yz] = skew;
    let straight = xx.mul_add(xx, yy.mul_add(yy, zz * zz));
    let skew = xy.mul_add(xy, xz.mul_add(xz, yz * yz));
    let norm = skew.mul_add(c.two, straight).sqrt();
    (closure * c.quarter)
        .mul_add(norm, c.quarter_tau_squared)
        .sqrt()
}

/// Three times the eddy viscosity of the closure.
#[inline(always)]
pub(crate) fn thrice_eddy_viscosity<V: Lanes>(m: &Moments<V>, closure: V, c: &Constants<V>) -> V {
    let whole = c.one + m.density;
    let [x, y, z] = m.velocity;
    let s = &m.stress;
    let [xx, yy, zz] = [
        s[0] - whole * (x * x),
        s[1] - whole * (y * y),
        s[2] - whole * (z * z),
    ];
    let mean = (xx + yy + zz) * c.third;
    let straight = [xx - mean, yy - mean, zz - mean];
    let skew = [
        s[3] - whole * (x * y),
        s[4] - whole * (x * z),
        s[5] - whole * (y * z),
    ];
    root_of_tau(straight, skew, closure * m.share, c) - c.half_tau
}

/// The moment of sixth order, less that of water at rest, halved as in [`Halved`]:
/// `K_xxyyzz = (K_xx K_yyzz + 2 K_xz K_xyyz + 2 K_xy K_xyzz + the triples)/ρ`.
#[inline(always)]
fn sixth<V: Lanes>(
    (third, xyz): (&[V; 7], V),
    fourth: &[V; 6],
    xx: V,
    Skews { skew, .. }: &Skews<V>,
    share: V,
    c: &Constants<V>,
) -> V {
    let [_, xyyz, xyzz, _, _, yyzz] = *fourth;
    let skew = skew[1].mul_add(xyyz, skew[0] * xyzz);
    let straight = xx * c.four.mul_add(yyzz, c.ninth);
    let [xxy, xyy, xxz, xzz, yyz, yzz, _] = *third;
    let pairs = xyy.mul_add(xzz, xxy.mul_add(yzz, xxz * yyz));
    let triples = (c.four * xyz).mul_add(xyz, c.thirty_two * pairs);
    let sum = c.sixteen.mul_add(skew, straight) + triples;
    sum.mul_add(share * c.eighth, c.less_216th)
}

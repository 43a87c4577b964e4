//! One collision in the moving frame, on several cells at once.
//!
//! The formulas are those of `plain`. Here the moments in the frame that moves
//! with the water are made axis by axis and kept less those of water at rest,
//! which keeps the digits of slow water; about 650 vector operations in all.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use crate::lanes::{Lanes, Machine, pairs};
use crate::lattice::N_PAIRS;
use crate::plain::THIRD_SCALE;

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
    quarter: V,
    half: V,
    one: V,
    two: V,
    four: V,
    third: V,
    ninth: V,
    twenty_seventh: V,
    seven: V,
    eight: V,
    nine: V,
    ten: V,
    fourteen: V,
    third_scale: V,
    /// Weights of water at rest on the lines along an axis, by how many of the
    /// other two directions they are off the middle; then the same where the
    /// second moment along one of them is meant.
    lines: [V; 3],
    rows: [V; 2],
    second_rows: [V; 2],
}

impl<V: Lanes> Constants<V> {
    #[inline(always)]
    pub(crate) fn new<M: Machine<V = V>>(machine: M, tau: f32) -> Self {
        let s = |x| machine.splat(x);
        Self {
            half_tau: s(0.5 * tau),
            quarter_tau_squared: s(0.25 * tau * tau),
            zero: s(0.0),
            quarter: s(0.25),
            half: s(0.5),
            one: s(1.0),
            two: s(2.0),
            four: s(4.0),
            third: s(1.0 / 3.0),
            ninth: s(1.0 / 9.0),
            twenty_seventh: s(1.0 / 27.0),
            seven: s(7.0),
            eight: s(8.0),
            nine: s(9.0),
            ten: s(10.0),
            fourteen: s(14.0),
            third_scale: s(THIRD_SCALE as f32),
            lines: [s(4.0 / 9.0), s(1.0 / 9.0), s(1.0 / 36.0)],
            rows: [s(2.0 / 3.0), s(1.0 / 6.0)],
            second_rows: [s(2.0 / 9.0), s(1.0 / 18.0)],
        }
    }
}

/// Density less 1, velocity and second moment, the latter as xx, yy, zz, xy, xz,
/// yz; all before the force.
#[derive(Clone, Copy)]
pub(crate) struct Moments<V> {
    pub(crate) density: V,
    pub(crate) velocity: [V; 3],
    stress: [V; 6],
}

/// Density, velocity and second moment.
#[inline(always)]
pub(crate) fn moments<V: Lanes>(f: &Populations<V>, c: &Constants<V>) -> Moments<V> {
    let s: [V; N_PAIRS] = pairs!(p => f.plus[p] + f.minus[p]);
    let (density, velocity) = density_and_velocity(f, &s, c);
    let corners = (s[9] + s[10]) + (s[11] + s[12]);
    let (xy, xz, yz) = (s[3] + s[4], s[5] + s[6], s[7] + s[8]);
    Moments {
        density,
        velocity,
        stress: [
            s[0] + (xy + xz) + corners,
            s[1] + (xy + yz) + corners,
            s[2] + (xz + yz) + corners,
            (s[3] - s[4]) + ((s[9] - s[10]) - (s[11] - s[12])),
            (s[5] - s[6]) + ((s[9] - s[10]) + (s[11] - s[12])),
            (s[7] - s[8]) + ((s[9] + s[10]) - (s[11] + s[12])),
        ],
    }
}

/// `s` holds the sums of the pairs.
#[inline(always)]
fn density_and_velocity<V: Lanes>(
    f: &Populations<V>,
    s: &[V; N_PAIRS],
    c: &Constants<V>,
) -> (V, [V; 3]) {
    let d: [V; N_PAIRS] = pairs!(p => f.plus[p] - f.minus[p]);
    let flat = ((s[0] + s[1]) + (s[2] + s[3])) + ((s[4] + s[5]) + (s[6] + s[7]));
    let corners = (s[9] + s[10]) + (s[11] + s[12]);
    let density = f.rest + flat + (s[8] + corners);
    let momentum = [
        d[0] + ((d[3] - d[4]) + (d[5] - d[6])) + ((d[9] - d[10]) + (d[11] - d[12])),
        d[1] + ((d[3] + d[4]) + (d[7] - d[8])) + ((d[9] + d[10]) - (d[11] + d[12])),
        d[2] + ((d[5] + d[6]) + (d[7] + d[8])) + ((d[9] + d[10]) + (d[11] + d[12])),
    ];
    let share = c.one.over(c.one + density);
    (density, momentum.map_all(share))
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

/// Velocity with half of the force; see `plain` for the implicit drag.
#[inline(always)]
pub(crate) fn pushed_velocity<V: Lanes>(
    velocity: [V; 3],
    push: &Push<V>,
    c: &Constants<V>,
) -> [V; 3] {
    let [x, y, z] = [
        velocity[0] + push.half_force[0],
        velocity[1] + push.half_force[1],
        velocity[2] + push.half_force[2],
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
    let s: [V; N_PAIRS] = pairs!(p => f.plus[p] + f.minus[p]);
    let (mut density, before) = density_and_velocity(f, &s, c);
    let u = match push {
        Some(push) => pushed_velocity(before, push, c),
        None => before,
    };
    let mut g = cube(f);
    into_frame(&mut g, u, c);
    // Momentum in the frame: half of the force is missing, and is then over.
    let first = match push {
        Some(push) => {
            let whole = c.one + density;
            density = density + push.mass;
            [
                (u[0] - before[0]) * whole,
                (u[1] - before[1]) * whole,
                (u[2] - before[2]) * whole,
            ]
        }
        None => [c.zero; 3],
    };
    relax(&mut g, density, (first, closure), c);
    [g[9], g[3], g[1]] = first;
    out_of_frame(&mut g, u, c);
    populations(&g)
}

/// Populations by direction: `9(x+1) + 3(y+1) + (z+1)`.
type Cube<V> = [V; 27];

#[inline(always)]
fn cube<V: Lanes>(f: &Populations<V>) -> Cube<V> {
    let Populations { rest, plus, minus } = f;
    [
        minus[9], minus[3], plus[12], minus[5], minus[0], plus[6], minus[11], plus[4], plus[10],
        minus[7], minus[1], plus[8], minus[2], *rest, plus[2], minus[8], plus[1], plus[7],
        minus[10], minus[4], plus[11], minus[6], plus[0], plus[5], minus[12], plus[3], plus[9],
    ]
}

#[inline(always)]
fn populations<V: Lanes>(g: &Cube<V>) -> Populations<V> {
    Populations {
        rest: g[13],
        plus: [
            g[22], g[16], g[14], g[25], g[7], g[23], g[5], g[17], g[11], g[26], g[8], g[20], g[2],
        ],
        minus: [
            g[4], g[10], g[12], g[1], g[19], g[3], g[21], g[9], g[15], g[0], g[18], g[6], g[24],
        ],
    }
}

/// The same for each line along an axis, written out.
macro_rules! along {
    ($f:ident, $g:expr, $step:literal, $u:expr; $($at:literal: $weight:expr),*) => {
        $($f($g, [$at, $at + $step, $at + 2 * $step], $u, $weight);)*
    };
}

/// Moments in the frame that moves with `u`, less those of water at rest there.
#[inline(always)]
fn into_frame<V: Lanes>(g: &mut Cube<V>, u: [V; 3], c: &Constants<V>) {
    let [middle, edge, corner] = c.lines.each_some();
    along!(shift, g, 1, u[2]; 0: corner, 3: edge, 6: corner, 9: edge, 12: middle, 15: edge,
        18: corner, 21: edge, 24: corner);
    let [middle, edge] = c.rows.each_some();
    let [middle_2, edge_2] = c.second_rows.each_some();
    along!(shift, g, 3, u[1]; 0: edge, 1: None, 2: edge_2, 9: middle, 10: None, 11: middle_2,
        18: edge, 19: None, 20: edge_2);
    let (one, third, ninth) = (Some(c.one), Some(c.third), Some(c.ninth));
    along!(shift, g, 9, u[0]; 0: one, 1: None, 2: third, 3: None, 4: None, 5: None, 6: third,
        7: None, 8: ninth);
}

/// Populations from such moments.
#[inline(always)]
fn out_of_frame<V: Lanes>(g: &mut Cube<V>, u: [V; 3], c: &Constants<V>) {
    let (one, third, ninth) = (Some(c.one), Some(c.third), Some(c.ninth));
    let half = c.half;
    let x = (u[0], half);
    along!(shift_back, g, 9, x; 0: one, 1: None, 2: third, 3: None, 4: None, 5: None, 6: third,
        7: None, 8: ninth);
    let [middle, edge] = c.rows.each_some();
    let [middle_2, edge_2] = c.second_rows.each_some();
    let y = (u[1], half);
    along!(shift_back, g, 3, y; 0: edge, 1: None, 2: edge_2, 9: middle, 10: None, 11: middle_2,
        18: edge, 19: None, 20: edge_2);
    let [middle, edge, corner] = c.lines.each_some();
    let z = (u[2], half);
    along!(shift_back, g, 1, z; 0: corner, 3: edge, 6: corner, 9: edge, 12: middle, 15: edge,
        18: corner, 21: edge, 24: corner);
}

/// Weights of lines that have one.
trait EachSome<V, const N: usize> {
    fn each_some(self) -> [Option<V>; N];
}

impl<V: Lanes> EachSome<V, 2> for [V; 2] {
    #[inline(always)]
    fn each_some(self) -> [Option<V>; 2] {
        [Some(self[0]), Some(self[1])]
    }
}

impl<V: Lanes> EachSome<V, 3> for [V; 3] {
    #[inline(always)]
    fn each_some(self) -> [Option<V>; 3] {
        [Some(self[0]), Some(self[1]), Some(self[2])]
    }
}

/// Three populations on a line become their moments of order 0, 1 and 2 about
/// `u`; `weight` is what water at rest has on the line.
#[inline(always)]
fn shift<V: Lanes>(g: &mut Cube<V>, [low, mid, high]: [usize; 3], u: V, weight: Option<V>) {
    let (difference, outer) = (g[high] - g[low], g[high] + g[low]);
    let sum = outer + g[mid];
    let whole = match weight {
        Some(weight) => sum + weight,
        None => sum,
    };
    let moved = u * whole;
    g[low] = sum;
    g[mid] = difference - moved;
    g[high] = u.mul_add(moved - (difference + difference), outer);
}

/// The way back; with `u` comes a half.
#[inline(always)]
fn shift_back<V: Lanes>(
    g: &mut Cube<V>,
    [low, mid, high]: [usize; 3],
    (u, half): (V, V),
    weight: Option<V>,
) {
    let sum = g[low];
    let whole = match weight {
        Some(weight) => sum + weight,
        None => sum,
    };
    let first = u.mul_add(whole, g[mid]);
    let second = u.mul_add(first + g[mid], g[high]);
    let (first, outer) = (first * half, second * half);
    g[low] = outer - first;
    g[mid] = sum - second;
    g[high] = outer + first;
}

/// Second cumulants relax, those of third order are kept as far as they are
/// small, and those of higher order are gone at once. `first` is the momentum in
/// the frame after the force, of which the other half came before.
#[inline(always)]
fn relax<V: Lanes>(g: &mut Cube<V>, density: V, (first, closure): ([V; 3], V), c: &Constants<V>) {
    let whole = c.one + density;
    let share = c.one.over(whole);
    let mean = (g[18] + g[6] + g[2]) * c.third;
    let mut out = [g[18] - mean, g[6] - mean, g[2] - mean, g[12], g[10], g[4]];
    let root = root_of_tau(&out, closure * share, c);
    let rate = c.one.over(c.half_tau + root);
    let keep = c.one - rate;
    for moment in &mut out {
        *moment = *moment * keep;
    }
    let third = kept_third(g, first, (whole, rate), c);
    *g = [c.zero; 27];
    let pressure = density * c.third;
    let straight = [out[0] + pressure, out[1] + pressure, out[2] + pressure];
    let skew = [out[3], out[4], out[5]];
    g[0] = density;
    (g[18], g[6], g[2]) = (straight[0], straight[1], straight[2]);
    (g[12], g[10], g[4]) = (skew[0], skew[1], skew[2]);
    let products = fourth(g, density, share, c);
    (g[21], g[15], g[19], g[11]) = (third[0], third[1], third[2], third[3]);
    (g[7], g[5], g[13]) = (third[4], third[5], third[6]);
    fifth(g, &third, share, c);
    g[26] = (products + triples(&third, c)) * share - c.twenty_seventh;
}

/// Cumulants of third order after the collision: xxy, xyy, xxz, xzz, yyz, yzz, xyz.
#[inline(always)]
fn kept_third<V: Lanes>(
    g: &Cube<V>,
    first: [V; 3],
    (whole, rate): (V, V),
    c: &Constants<V>,
) -> [V; 7] {
    // About the water's own velocity, which lies half of the force before.
    let [x, y, z] = first.map_all(c.third);
    let all = [
        g[21] + y,
        g[15] + x,
        g[19] + z,
        g[11] + x,
        g[7] + z,
        g[5] + y,
        g[13],
    ];
    let scale = c.third_scale * whole;
    let kept = c
        .nine
        .mul_add(rate, c.zero - c.ten)
        .mul_add(rate, c.zero - c.eight);
    let kept = kept.over((c.fourteen - c.seven * rate).mul_add(rate, c.eight));
    let most = kept.where_positive(kept, c.zero) * scale;
    [
        limited(all[0], most, scale, c),
        limited(all[1], most, scale, c),
        limited(all[2], most, scale, c),
        limited(all[3], most, scale, c),
        limited(all[4], most, scale, c),
        limited(all[5], most, scale, c),
        limited(all[6], most, scale, c),
    ]
}

#[inline(always)]
fn limited<V: Lanes>(moment: V, most: V, scale: V, c: &Constants<V>) -> V {
    let size = moment.where_positive(moment, c.zero - moment);
    moment * most.over(scale + size)
}

/// Moments of fourth order, whose cumulants are gone; gives what pairs of second
/// ones bring to the sixth, times the density.
#[inline(always)]
fn fourth<V: Lanes>(g: &mut Cube<V>, density: V, share: V, c: &Constants<V>) -> V {
    let ([a, b, d], [xy, xz, yz]) = ([g[18], g[6], g[2]], [g[12], g[10], g[4]]);
    let [xx, yy, zz] = [a + c.third, b + c.third, d + c.third];
    let (twice_xy, twice_xz, twice_yz) = (xy + xy, xz + xz, yz + yz);
    let xxyz = twice_xy.mul_add(xz, xx * yz) * share;
    let xyyz = twice_xy.mul_add(yz, yy * xz) * share;
    let xyzz = twice_xz.mul_add(yz, zz * xy) * share;
    let rest = density * c.ninth;
    let square = |p: V, q: V, twice: V, skew: V| {
        (p.mul_add(
            q,
            (p + q).mul_add(c.third, twice.mul_add(skew, c.zero - rest)),
        )) * share
    };
    let xxyy = square(a, b, twice_xy, xy);
    let xxzz = square(a, d, twice_xz, xz);
    let yyzz = square(b, d, twice_yz, yz);
    let skew = (yz * xxyz + xz * xyyz) + xy * xyzz;
    let straight = xx * (yyzz + c.ninth) + (yy * (xxzz + c.ninth) + zz * (xxyy + c.ninth));
    let quadratic = (xz * xz * yy + yz * yz * xx) + xy * xy * zz;
    let cubic =
        (c.four * c.four) * (xy * xz * yz) + quadratic.mul_add(c.four, (xx + xx) * (yy * zz));
    (g[22], g[16], g[14]) = (xxyz, xyyz, xyzz);
    (g[24], g[20], g[8]) = (xxyy, xxzz, yyzz);
    skew.mul_add(c.four, straight) - cubic * share
}

/// Moments of fifth order: each second one with a third one.
#[inline(always)]
fn fifth<V: Lanes>(g: &mut Cube<V>, third: &[V; 7], share: V, c: &Constants<V>) {
    let [xx, yy, zz] = [g[18] + c.third, g[6] + c.third, g[2] + c.third];
    let [xy, xz, yz] = [g[12], g[10], g[4]];
    let [xxy, xyy, xxz, xzz, yyz, yzz, xyz] = *third;
    let four_xyz = c.four * xyz;
    let twice = |a: V| a + a;
    let xyyzz = zz.mul_add(xyy, yy * xzz) + four_xyz.mul_add(yz, twice(xz.mul_add(yyz, xy * yzz)));
    let xxyzz = zz.mul_add(xxy, xx * yzz) + four_xyz.mul_add(xz, twice(yz.mul_add(xxz, xy * xzz)));
    let xxyyz = yy.mul_add(xxz, xx * yyz) + four_xyz.mul_add(xy, twice(yz.mul_add(xxy, xz * xyy)));
    (g[17], g[23], g[25]) = (xyyzz * share, xxyzz * share, xxyyz * share);
}

/// What pairs of third moments bring to the sixth, times the density.
#[inline(always)]
fn triples<V: Lanes>(third: &[V; 7], c: &Constants<V>) -> V {
    let [xxy, xyy, xxz, xzz, yyz, yzz, xyz] = *third;
    let pairs = xyy.mul_add(xzz, xxy.mul_add(yzz, xxz * yyz));
    (c.four * xyz).mul_add(xyz, pairs + pairs)
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
    let whole = c.one + m.density;
    let [x, y, z] = m.velocity;
    let s = &m.stress;
    let [xx, yy, zz] = [
        s[0] - whole * (x * x),
        s[1] - whole * (y * y),
        s[2] - whole * (z * z),
    ];
    let mean = (xx + yy + zz) * c.third;
    let out = [
        xx - mean,
        yy - mean,
        zz - mean,
        s[3] - whole * (x * y),
        s[4] - whole * (x * z),
        s[5] - whole * (y * z),
    ];
    root_of_tau(&out, closure * c.one.over(whole), c) - c.half_tau
}

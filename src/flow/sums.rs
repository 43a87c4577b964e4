//! Between populations and their sums, on several cells at once.
//!
//! Along one axis three populations `low`, `mid`, `high` have the sums
//! `low + mid + high`, `high − low` and `high + low`; three axes one after the
//! other give all sums over powers of the direction.
#![expect(
    clippy::inline_always,
    reason = "code for a vector width is compiled for it only where it is inlined"
)]

use crate::collide::{Constants, Populations};
use crate::lanes::Lanes;

/// Sums over the populations times powers of their direction, less those of
/// water at rest.
#[derive(Clone, Copy)]
pub(crate) struct Sums<V> {
    pub(crate) density: V,
    pub(crate) momentum: [V; 3],
    /// xx, yy, zz, xy, xz, yz.
    pub(crate) second: [V; 6],
    /// xxy, xyy, xxz, xzz, yyz, yzz, xyz.
    pub(crate) third: [V; 7],
}

/// Orders 0, 1 and 2 along an axis.
#[inline(always)]
fn line<V: Lanes>([low, mid, high]: [V; 3]) -> [V; 3] {
    let outer = high + low;
    [outer + mid, high - low, outer]
}

/// Orders 0 and 1.
#[inline(always)]
fn short_line<V: Lanes>([low, mid, high]: [V; 3]) -> [V; 2] {
    [(high + low) + mid, high - low]
}

/// Populations with one `x` as sums over the other two directions.
struct Plane<V> {
    rest: V,
    y: V,
    yy: V,
    z: V,
    yz: V,
    yyz: V,
    zz: V,
    yzz: V,
}

#[inline(always)]
fn plane<V: Lanes>(f: [V; 9]) -> Plane<V> {
    let low = line([f[0], f[1], f[2]]);
    let mid = line([f[3], f[4], f[5]]);
    let high = line([f[6], f[7], f[8]]);
    let [rest, y, yy] = line([low[0], mid[0], high[0]]);
    let [z, yz, yyz] = line([low[1], mid[1], high[1]]);
    let [zz, yzz] = short_line([low[2], mid[2], high[2]]);
    Plane {
        rest,
        y,
        yy,
        z,
        yz,
        yyz,
        zz,
        yzz,
    }
}

/// All sums up to third order.
#[inline(always)]
pub(crate) fn sums<V: Lanes>(f: &Populations<V>) -> Sums<V> {
    let Populations { rest, plus, minus } = f;
    let low = plane([
        minus[9], minus[3], plus[12], minus[5], minus[0], plus[6], minus[11], plus[4], plus[10],
    ]);
    let mid = plane([
        minus[7], minus[1], plus[8], minus[2], *rest, plus[2], minus[8], plus[1], plus[7],
    ]);
    let high = plane([
        minus[10], minus[4], plus[11], minus[6], plus[0], plus[5], minus[12], plus[3], plus[9],
    ]);
    let [density, x, xx] = line([low.rest, mid.rest, high.rest]);
    let [y, xy, xxy] = line([low.y, mid.y, high.y]);
    let [yy, xyy] = short_line([low.yy, mid.yy, high.yy]);
    let [z, xz, xxz] = line([low.z, mid.z, high.z]);
    let [yz, xyz] = short_line([low.yz, mid.yz, high.yz]);
    let yyz = (high.yyz + low.yyz) + mid.yyz;
    let [zz, xzz] = short_line([low.zz, mid.zz, high.zz]);
    let yzz = (high.yzz + low.yzz) + mid.yzz;
    Sums {
        density,
        momentum: [x, y, z],
        second: [xx, yy, zz, xy, xz, yz],
        third: [xxy, xyy, xxz, xzz, yyz, yzz, xyz],
    }
}

/// Moments about a velocity, less those of water at rest, each halved once for
/// every axis in it: the halves of the way back, taken before it.
pub(crate) struct Halved<V> {
    pub(crate) density: V,
    /// None where nothing acts on the cell.
    pub(crate) first: Option<[V; 3]>,
    /// xx, yy, zz, xy, xz, yz.
    pub(crate) second: [V; 6],
    /// xxy, xyy, xxz, xzz, yyz, yzz, xyz.
    pub(crate) third: [V; 7],
    /// xxyz, xyyz, xyzz, xxyy, xxzz, yyzz.
    pub(crate) fourth: [V; 6],
    /// xyyzz, xxyzz, xxyyz.
    pub(crate) fifth: [V; 3],
    pub(crate) sixth: V,
}

/// Velocity along an axis, its half and its double.
#[derive(Clone, Copy)]
struct Along<V> {
    speed: V,
    half: V,
    twice: V,
}

impl<V: Lanes> Along<V> {
    #[inline(always)]
    fn new(speed: V, c: &Constants<V>) -> Self {
        Self {
            speed,
            half: speed * c.half,
            twice: speed + speed,
        }
    }

    /// Halves of orders 1 and 2 about the lattice from those about the water.
    #[inline(always)]
    fn shift(self, whole: V, first: V, second: V) -> [V; 2] {
        let shifted = self.half.mul_add(whole, first);
        [shifted, self.speed.mul_add(shifted + first, second)]
    }

    /// The same where the first may be nothing.
    #[inline(always)]
    fn shift_rest(self, whole: V, first: Option<V>, second: V) -> [V; 2] {
        let Some(first) = first else {
            let shifted = self.half * whole;
            return [shifted, self.speed.mul_add(shifted, second)];
        };
        self.shift(whole, first, second)
    }

    /// The same where the whole may be nothing.
    #[inline(always)]
    fn shift_moved(self, whole: Option<V>, first: V, second: V) -> [V; 2] {
        let Some(whole) = whole else {
            return [first, self.twice.mul_add(first, second)];
        };
        self.shift(whole, first, second)
    }
}

/// Populations along an axis from their sums, of which orders 1 and 2 are
/// halved.
#[inline(always)]
fn spread<V: Lanes>(sum: V, [first, second]: [V; 2], c: &Constants<V>) -> [V; 3] {
    [
        second - first,
        c.two.neg_mul_add(second, sum),
        second + first,
    ]
}

/// Along an axis for three lines beside each other.
#[inline(always)]
fn spread_all<V: Lanes>(lines: [[V; 3]; 3], c: &Constants<V>) -> [[V; 3]; 3] {
    let [sum, first, second] = lines;
    let a = spread(sum[0], [first[0], second[0]], c);
    let b = spread(sum[1], [first[1], second[1]], c);
    let d = spread(sum[2], [first[2], second[2]], c);
    [[a[0], b[0], d[0]], [a[1], b[1], d[1]], [a[2], b[2], d[2]]]
}

/// Populations with these moments about `u`.
#[inline(always)]
pub(crate) fn populations<V: Lanes>(k: &Halved<V>, u: [V; 3], c: &Constants<V>) -> Populations<V> {
    let [x, y, z] = [
        Along::new(u[0], c),
        Along::new(u[1], c),
        Along::new(u[2], c),
    ];
    let (first_x, first_y, first_z) = match k.first {
        Some([x, y, z]) => (Some(x), Some(y), Some(z)),
        None => (None, None, None),
    };
    let [xx, yy, zz, xy, xz, yz] = k.second;
    let [xxy, xyy, xxz, xzz, yyz, yzz, xyz] = k.third;
    let [xxyz, xyyz, xyzz, xxyy, xxzz, yyzz] = k.fourth;
    let [xyyzz, xxyzz, xxyyz] = k.fifth;
    let (rest, all_yy, all_zz) = (c.one + k.density, yy + c.sixth, zz + c.sixth);
    let all_yyzz = yyzz + c.thirty_sixth;

    // Orders 1 and 2 in x, by the orders in y and z.
    let x_ = x.shift_rest(rest, first_x, xx);
    let x_y = x.shift_moved(first_y, xy, xxy);
    let x_yy = x.shift(all_yy, xyy, xxyy);
    let x_z = x.shift_moved(first_z, xz, xxz);
    let x_yz = x.shift(yz, xyz, xxyz);
    let x_yyz = x.shift(yyz, xyyz, xxyyz);
    let x_zz = x.shift(all_zz, xzz, xxzz);
    let x_yzz = x.shift(yzz, xyzz, xxyzz);
    let x_yyzz = x.shift(all_yyzz, xyyzz, k.sixth);

    // Orders 1 and 2 in y, by the orders in x (0, 1, 2) and z.
    let y_0 = y.shift_rest(rest, first_y, yy);
    let y_0z = y.shift_moved(first_z, yz, yyz);
    let y_0zz = y.shift(all_zz, yzz, yyzz);
    let y_1 = y.shift(x_[0], x_y[0], x_yy[0]);
    let y_1z = y.shift(x_z[0], x_yz[0], x_yyz[0]);
    let y_1zz = y.shift(x_zz[0], x_yzz[0], x_yyzz[0]);
    let all_xx = x_[1] + c.sixth;
    let y_2 = y.shift(all_xx, x_y[1], x_yy[1]);
    let y_2z = y.shift(x_z[1], x_yz[1], x_yyz[1]);
    let y_2zz = y.shift(x_zz[1] + c.thirty_sixth, x_yzz[1], x_yyzz[1]);

    // The same in z, and at once the populations along it.
    let none = spread_all(
        [
            spread(k.density, z.shift_rest(rest, first_z, zz), c),
            spread(y_0[0], z.shift(y_0[0], y_0z[0], y_0zz[0]), c),
            spread(y_0[1], z.shift(y_0[1] + c.sixth, y_0z[1], y_0zz[1]), c),
        ],
        c,
    );
    let one = spread_all(
        [
            spread(x_[0], z.shift(x_[0], x_z[0], x_zz[0]), c),
            spread(y_1[0], z.shift(y_1[0], y_1z[0], y_1zz[0]), c),
            spread(y_1[1], z.shift(y_1[1], y_1z[1], y_1zz[1]), c),
        ],
        c,
    );
    let two = spread_all(
        [
            spread(x_[1], z.shift(all_xx, x_z[1], x_zz[1]), c),
            spread(y_2[0], z.shift(y_2[0], y_2z[0], y_2zz[0]), c),
            spread(
                y_2[1],
                z.shift(y_2[1] + c.thirty_sixth, y_2z[1], y_2zz[1]),
                c,
            ),
        ],
        c,
    );
    gathered(&[
        spread_all([none[0], one[0], two[0]], c),
        spread_all([none[1], one[1], two[1]], c),
        spread_all([none[2], one[2], two[2]], c),
    ])
}

/// Populations in the order of the lattice; `g` has them by y, x and z.
#[inline(always)]
fn gathered<V: Lanes>(g: &[[[V; 3]; 3]; 3]) -> Populations<V> {
    Populations {
        rest: g[1][1][1],
        plus: [
            g[1][2][1], g[2][1][1], g[1][1][2], g[2][2][1], g[2][0][1], g[1][2][2], g[1][0][2],
            g[2][1][2], g[0][1][2], g[2][2][2], g[2][0][2], g[0][2][2], g[0][0][2],
        ],
        minus: [
            g[1][0][1], g[0][1][1], g[1][1][0], g[0][0][1], g[0][2][1], g[1][0][0], g[1][2][0],
            g[0][1][0], g[2][1][0], g[0][0][0], g[0][2][0], g[2][0][0], g[2][2][0],
        ],
    }
}

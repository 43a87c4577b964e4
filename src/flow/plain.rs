//! The reference step: the method written for reading, not for speed. The fast
//! kernel must equal it.
//!
//! Collide: take moments in the frame that moves with the water, relax the
//! second cumulants, keep those of third order as far as they are small, and let
//! those of higher order go at once (Geier, Schönherr, Pasquali & Krafczyk 2015,
//! Comput. Math. Appl. 70:507; third order: Geier, Pasquali & Schönherr 2017,
//! J. Comput. Phys. 348:862); a force turns the momentum in the frame of the
//! velocity half-way. Stream: move each population one cell. Populations are kept
//! less their weight.
//!
//! A population that meets a wall rests there for one step and comes back
//! reversed, so the wall stands half a cell off the last center of water. Where
//! the block asks for it, water slides along flat walls instead: those that come
//! back are mirrored, and a drag takes what the wall's boundary layer takes.

use rayon::prelude::*;

use crate::Domain;
use crate::domain::{CellForce, Neighbor};
use crate::lattice::{Q, SLIDES, direction, opposite, weight};

/// Share of a small cumulant of third order that is left after a collision in
/// which the second ones relax at `rate`: all of it without viscosity, nothing
/// below a rate of 1.65, where the published one would turn it around.
///
/// **Source** rate of `C_xyy + C_xzz`, Geier, Pasquali & Schönherr 2017, for a bulk
/// rate of one; the same for all of them: own choice, see `EXPERIMENTS.md`.
fn kept_third(rate: f64) -> f64 {
    let kept = ((9.0 * rate - 10.0) * rate - 8.0) / ((14.0 - 7.0 * rate) * rate + 8.0);
    kept.max(0.0)
}

/// Size over the density at which half of that is left: the larger ones would
/// make the step unstable.
///
/// **Source** the same, part I: 0.01.
pub(crate) const THIRD_SCALE: f64 = 0.01;

/// Density and momentum of a cell, in lattice units, less the resting density.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Macroscopic {
    /// Density less 1.
    pub density: f64,
    /// Velocity, cells a step, with half of the force counted in.
    pub velocity: [f64; 3],
}

/// Populations of all cells and one plain way to advance them.
#[derive(Clone, Debug)]
pub struct PlainStep {
    domain: Domain,
    /// `[cell][population]`
    f: Vec<[f64; Q]>,
    /// Populations that rest in the wall, by the cell and the direction that
    /// they left in.
    in_wall: Vec<[f64; Q]>,
    force_at: Vec<Option<CellForce>>,
    velocity_at: Vec<[f32; 3]>,
}

impl PlainStep {
    /// Water at rest.
    pub fn new(domain: Domain) -> Self {
        let n = domain.n_cells();
        let mut velocity_at = vec![[0.0; 3]; n];
        for moving in &domain.moving {
            velocity_at[moving.cell] = moving.velocity;
        }
        let mut plain = Self {
            domain,
            f: vec![[0.0; Q]; n],
            in_wall: vec![[0.0; Q]; n],
            force_at: vec![None; n],
            velocity_at,
        };
        plain.place_forces();
        plain
    }

    /// Changes what acts on cells.
    pub fn set_forces(&mut self, forces: &[CellForce]) {
        self.domain.forces = forces.to_vec();
        self.place_forces();
    }

    fn place_forces(&mut self) {
        self.force_at = vec![None; self.domain.n_cells()];
        for force in &self.domain.forces {
            let sum: &mut CellForce = self.force_at[force.cell].get_or_insert_default();
            for (sum, part) in sum.force.iter_mut().zip(force.force) {
                *sum += part;
            }
            sum.linear += force.linear;
            sum.quadratic += force.quadratic;
            sum.mass += force.mass;
        }
        for (cell, drag) in self.domain.wall_drag.iter().enumerate() {
            let force: &mut CellForce = self.force_at[cell].get_or_insert_default();
            force.linear += drag.linear;
            force.quadratic += drag.quadratic;
        }
    }

    /// Sets a cell to equilibrium.
    pub fn set(&mut self, cell: usize, state: Macroscopic) {
        self.f[cell] = equilibrium(state.density, state.velocity);
        slide(&self.domain, cell, &mut self.f[cell]);
    }

    /// One step.
    pub fn step(&mut self) {
        let n = self.domain.n_cells();
        let mut after = vec![[0.0; Q]; n];
        for cell in (0..n).filter(|&cell| !self.domain.solid[cell]) {
            after[cell] = self.collided(cell);
        }
        let mut next = vec![[0.0; Q]; n];
        let mut next_in_wall = vec![[0.0; Q]; n];
        for cell in (0..n).filter(|&cell| !self.domain.solid[cell]) {
            for (i, &f) in after[cell].iter().enumerate() {
                let c = direction(i);
                match self.domain.neighbor(self.domain.ijk(cell), c) {
                    Neighbor::Water(to) => next[to][i] = f,
                    Neighbor::Lid(to) => next[to][mirrored(i)] = f,
                    Neighbor::Wall(None) if self.is_lid(cell, c) => next[cell][opposite(i)] = f,
                    Neighbor::Wall(wall) => {
                        let u = wall.map_or([0.0; 3], |wall| self.velocity_at[wall]);
                        let cu: f64 = (0..3).map(|a| f64::from(c[a]) * f64::from(u[a])).sum();
                        next_in_wall[cell][i] = f - 6.0 * weight(i) * cu;
                        next[cell][opposite(i)] = self.in_wall[cell][i];
                    }
                }
            }
        }
        self.f = next;
        self.in_wall = next_in_wall;
    }

    /// Whether `c` leaves through the lid, beside a wall.
    fn is_lid(&self, cell: usize, c: [i32; 3]) -> bool {
        let [_, _, k] = self.domain.ijk(cell);
        self.domain.lid && c[2] == 1 && k + 1 == self.domain.n[2]
    }

    /// Density and velocity of a cell.
    pub fn macroscopic(&self, cell: usize) -> Macroscopic {
        let mut f = self.f[cell];
        slide(&self.domain, cell, &mut f);
        seen(&f, &self.force_at[cell].unwrap_or_default())
    }

    fn collided(&self, cell: usize) -> [f64; Q] {
        let mut f = self.f[cell];
        slide(&self.domain, cell, &mut f);
        let force = self.force_at[cell].unwrap_or_default();
        let (density, before) = density_and_velocity(&f);
        let u = velocity_of(before, &force);
        let k = |x, y, z| central_moment(&f, u, [x, y, z]);
        let rho = 1.0 + density;
        let mean = (k(2, 0, 0) + k(0, 2, 0) + k(0, 0, 2)) / 3.0;
        let straight = [k(2, 0, 0) - mean, k(0, 2, 0) - mean, k(0, 0, 2) - mean];
        let skew = [k(1, 1, 0), k(1, 0, 1), k(0, 1, 1)];
        let rho_after = rho + f64::from(force.mass);
        let norm: f64 = straight.iter().map(|x| x * x).sum::<f64>()
            + 2.0 * skew.iter().map(|x| x * x).sum::<f64>();
        let tau0 = self.domain.tau;
        let closure = f64::from(self.domain.closure_at(cell));
        let tau = 0.5 * (tau0 + (tau0 * tau0 + closure * norm.sqrt() / rho_after).sqrt());
        let keep = 1.0 - 1.0 / tau;
        let kept_third = kept_third(1.0 / tau);
        let straight = straight.map(|x| keep * x + rho_after / 3.0);
        let [xy, xz, yz] = skew.map(|x| keep * x);
        let second = [
            [straight[0], xy, xz],
            [xy, straight[1], yz],
            [xz, yz, straight[2]],
        ];
        let push = std::array::from_fn(|a| rho * (u[a] - before[a]));
        let third = |axes: [usize; 3]| {
            let order = |axis| axes.iter().filter(|&&a| a == axis).count() as i32;
            // About the water's own velocity, which lies half of the force before.
            let moment = central_moment(&f, before, [order(0), order(1), order(2)]);
            moment * kept_third * THIRD_SCALE * rho_after / (THIRD_SCALE * rho_after + moment.abs())
        };
        let moments = moments_of(rho_after, push, &second, &third);
        let after = populations_of(&moments, u);
        std::array::from_fn(|i| after[i] - weight(i))
    }
}

/// `Σ (c − u)^order f`, weights included.
fn central_moment(f: &[f64; Q], u: [f64; 3], order: [i32; 3]) -> f64 {
    (0..Q)
        .map(|i| {
            let c = direction(i);
            let factor: f64 = (0..3)
                .map(|a| (f64::from(c[a]) - u[a]).powi(order[a]))
                .product();
            factor * (f[i] + weight(i))
        })
        .sum()
}

/// Central moments `[x][y][z]` of orders 0 to 2 with this density, momentum,
/// second moments and third ones, and no cumulant of higher order: the others are
/// sums over the ways to part their directions into pairs and triples.
fn moments_of(
    rho: f64,
    momentum: [f64; 3],
    second: &[[f64; 3]; 3],
    third: &dyn Fn([usize; 3]) -> f64,
) -> [[[f64; 3]; 3]; 3] {
    let mut moments = [[[0.0; 3]; 3]; 3];
    for (x, planes) in moments.iter_mut().enumerate() {
        for (y, rows) in planes.iter_mut().enumerate() {
            for (z, moment) in rows.iter_mut().enumerate() {
                let axes: Vec<usize> = [x, y, z]
                    .into_iter()
                    .enumerate()
                    .flat_map(|(axis, n)| std::iter::repeat_n(axis, n))
                    .collect();
                *moment = match axes[..] {
                    [axis] => momentum[axis],
                    _ => {
                        rho * parted(&axes, &|part| match *part {
                            [a, b] => second[a][b] / rho,
                            [a, b, c] => third([a, b, c]) / rho,
                            _ => 0.0,
                        })
                    }
                };
            }
        }
    }
    moments
}

/// Sum over all ways to part `axes` into pairs and triples of the products of
/// `of` each of them.
fn parted(axes: &[usize], of: &dyn Fn(&[usize]) -> f64) -> f64 {
    let Some((&first, rest)) = axes.split_first() else {
        return 1.0;
    };
    let without = |gone: &[usize]| -> Vec<usize> {
        let left = rest.iter().enumerate().filter(|(k, _)| !gone.contains(k));
        left.map(|(_, &axis)| axis).collect()
    };
    let mut sum = 0.0;
    for k in 0..rest.len() {
        sum += of(&[first, rest[k]]) * parted(&without(&[k]), of);
        for l in k + 1..rest.len() {
            sum += of(&[first, rest[k], rest[l]]) * parted(&without(&[k, l]), of);
        }
    }
    sum
}

/// Populations whose central moments about `u` are these.
fn populations_of(moments: &[[[f64; 3]; 3]; 3], u: [f64; 3]) -> [f64; Q] {
    // What each moment about `u` along one axis adds to a population there.
    let share = |c: i32, order: usize, u: f64| match (c, order) {
        (0, 0) => 1.0 - u * u,
        (0, 1) => -2.0 * u,
        (0, _) => -1.0,
        (_, 0) => 0.5 * (u * u + f64::from(c) * u),
        (_, 1) => u + 0.5 * f64::from(c),
        _ => 0.5,
    };
    std::array::from_fn(|i| {
        let c = direction(i);
        let mut sum = 0.0;
        for (x, planes) in moments.iter().enumerate() {
            for (y, rows) in planes.iter().enumerate() {
                for (z, moment) in rows.iter().enumerate() {
                    let shares = [x, y, z];
                    let factor: f64 = (0..3).map(|a| share(c[a], shares[a], u[a])).product();
                    sum += factor * moment;
                }
            }
        }
        sum
    })
}

/// Cells whose populations are worked out together, before they are put down.
const AT_ONCE: usize = 65_536;

/// Equilibrium in some cells of water, as it lies beside their walls: worked out
/// by all threads, put down one by one.
pub(crate) fn set_all(
    domain: &Domain,
    cells: &[u32],
    state: &(dyn Fn(usize) -> Macroscopic + Sync),
    mut put: impl FnMut(usize, &[f64; Q]),
) {
    let at = |cell: &u32| {
        let Macroscopic { density, velocity } = state(*cell as usize);
        let mut f = equilibrium(density, velocity);
        slide(domain, *cell as usize, &mut f);
        f
    };
    for some in cells.chunks(AT_ONCE) {
        let all: Vec<[f64; Q]> = some.par_iter().map(at).collect();
        for (cell, f) in some.iter().zip(&all) {
            put(*cell as usize, f);
        }
    }
}

/// Mirrors what comes back from the flat walls beside a cell.
pub(crate) fn slide(domain: &Domain, cell: usize, f: &mut [f64; Q]) {
    for index in domain.slides_at(cell) {
        let [a, b] = SLIDES[index].pair;
        f.swap(a, b);
    }
}

fn mirrored(i: usize) -> usize {
    let [x, y, z] = direction(i);
    (0..Q)
        .find(|&k| direction(k) == [x, y, -z])
        .unwrap_or_default()
}

/// Density less 1, and velocity before the force.
fn density_and_velocity(f: &[f64; Q]) -> (f64, [f64; 3]) {
    let density: f64 = f.iter().sum();
    let mut velocity = [0.0; 3];
    for (i, f) in f.iter().enumerate() {
        let c = direction(i);
        for a in 0..3 {
            velocity[a] += f64::from(c[a]) * f / (1.0 + density);
        }
    }
    (density, velocity)
}

/// What these populations say of the water, under this force.
pub(crate) fn seen(f: &[f64; Q], force: &CellForce) -> Macroscopic {
    let (density, velocity) = density_and_velocity(f);
    Macroscopic {
        density,
        velocity: velocity_of(velocity, force),
    }
}

/// Velocity with half of the force, drag taken implicitly: with
/// `m = |u + F/2|` and `A = 1 + a/2` it is `(u + F/2)·2/(A + √(A² + 2bm))`.
pub(crate) fn velocity_of(velocity: [f64; 3], force: &CellForce) -> [f64; 3] {
    let pushed: [f64; 3] = std::array::from_fn(|a| velocity[a] + 0.5 * f64::from(force.force[a]));
    let size = pushed.iter().map(|x| x * x).sum::<f64>().sqrt();
    let linear = 1.0 + 0.5 * f64::from(force.linear);
    let root = (linear * linear + 2.0 * f64::from(force.quadratic) * size).sqrt();
    pushed.map(|x| x * 2.0 / (linear + root))
}

/// Equilibrium less the weights: the only cumulants are density, velocity and
/// the pressure.
pub(crate) fn equilibrium(density: f64, u: [f64; 3]) -> [f64; Q] {
    std::array::from_fn(|i| {
        let c = direction(i).map(f64::from);
        let along: f64 = (0..3)
            .map(|a| {
                let second = 1.0 / 3.0 + u[a] * u[a];
                if c[a] == 0.0 {
                    1.0 - second
                } else {
                    0.5 * (second + c[a] * u[a])
                }
            })
            .product();
        (1.0 + density) * along - weight(i)
    })
}

//! The reference step: the method written for reading, not for speed. The fast
//! kernel must equal it.
//!
//! Collide: project what is out of equilibrium on its second moment (Latt &
//! Chopard 2006, Math. Comput. Simul. 72:165, MEMORY), relax it, add the force
//! (Guo, Zheng & Shi 2002, Phys. Rev. E 65:046308, MEMORY). Stream: move each
//! population one cell. The equilibrium is the incompressible one (He & Luo
//! 1997, J. Stat. Phys. 88:927, MEMORY). Populations are kept less their weight.
//!
//! A population that meets a wall rests there for one step and comes back
//! reversed, so the wall stands half a cell off the last center of water. Where
//! the block asks for it, water slides along flat walls instead: those that come
//! back are mirrored, and a drag takes what the wall's boundary layer takes.

use crate::Domain;
use crate::domain::{CellForce, Neighbor};
use crate::lattice::{Q, SLIDES, direction, opposite, weight};

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
        let mut force_at = vec![None; n];
        for force in &domain.forces {
            force_at[force.cell] = Some(*force);
        }
        for (cell, drag) in domain.wall_drag.iter().enumerate() {
            let force: &mut CellForce = force_at[cell].get_or_insert_default();
            force.linear += drag.linear;
            force.quadratic += drag.quadratic;
        }
        let mut velocity_at = vec![[0.0; 3]; n];
        for moving in &domain.moving {
            velocity_at[moving.cell] = moving.velocity;
        }
        Self {
            domain,
            f: vec![[0.0; Q]; n],
            in_wall: vec![[0.0; Q]; n],
            force_at,
            velocity_at,
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
        let (density, momentum, _) = moments(&f);
        let force = self.force_at[cell].unwrap_or_default();
        Macroscopic {
            density,
            velocity: velocity_of(momentum, &force),
        }
    }

    fn collided(&self, cell: usize) -> [f64; Q] {
        let mut f = self.f[cell];
        slide(&self.domain, cell, &mut f);
        let (density, momentum, mut stress) = moments(&f);
        let force = self.force_at[cell].unwrap_or_default();
        let u = velocity_of(momentum, &force);
        let push: [f64; 3] = std::array::from_fn(|a| 2.0 * (u[a] - momentum[a]));
        let mut norm = 0.0;
        for a in 0..3 {
            for b in 0..3 {
                let trace = if a == b { density / 3.0 } else { 0.0 };
                stress[a][b] -= trace + u[a] * u[b] - 0.5 * (u[a] * push[b] + push[a] * u[b]);
                norm += stress[a][b] * stress[a][b];
            }
        }
        let tau0 = self.domain.tau;
        let closure = f64::from(self.domain.closure_at(cell));
        let tau = 0.5 * (tau0 + (tau0 * tau0 + closure * norm.sqrt()).sqrt());
        let density = density + f64::from(force.mass);
        std::array::from_fn(|i| {
            let c = direction(i).map(f64::from);
            let mut second = 0.0;
            for a in 0..3 {
                for b in 0..3 {
                    let delta = if a == b { 1.0 / 3.0 } else { 0.0 };
                    let both = u[a] * push[b] + push[a] * u[b];
                    let kept = u[a] * u[b] + (1.0 - 1.0 / tau) * stress[a][b] + 0.5 * both;
                    second += (c[a] * c[b] - delta) * kept;
                }
            }
            let first: f64 = (0..3).map(|a| c[a] * (momentum[a] + push[a])).sum();
            weight(i) * (density + 3.0 * first + 4.5 * second)
        })
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

fn moments(f: &[f64; Q]) -> (f64, [f64; 3], [[f64; 3]; 3]) {
    let mut momentum = [0.0; 3];
    let mut stress = [[0.0; 3]; 3];
    for (i, f) in f.iter().enumerate() {
        let c = direction(i).map(f64::from);
        for a in 0..3 {
            momentum[a] += c[a] * f;
            for b in 0..3 {
                stress[a][b] += c[a] * c[b] * f;
            }
        }
    }
    (f.iter().sum(), momentum, stress)
}

/// Velocity with half of the force, drag taken implicitly: with
/// `m = |j + F/2|` and `A = 1 + a/2` it is `(j + F/2)·2/(A + √(A² + 2bm))`.
pub(crate) fn velocity_of(momentum: [f64; 3], force: &CellForce) -> [f64; 3] {
    let pushed: [f64; 3] = std::array::from_fn(|a| momentum[a] + 0.5 * f64::from(force.force[a]));
    let size = pushed.iter().map(|x| x * x).sum::<f64>().sqrt();
    let linear = 1.0 + 0.5 * f64::from(force.linear);
    let root = (linear * linear + 2.0 * f64::from(force.quadratic) * size).sqrt();
    pushed.map(|x| x * 2.0 / (linear + root))
}

/// Equilibrium less the weights: `w·[ρ + 3c·u + 9/2 (c·u)² − 3/2 u²]`.
pub(crate) fn equilibrium(density: f64, u: [f64; 3]) -> [f64; Q] {
    let uu: f64 = u.iter().map(|x| x * x).sum();
    std::array::from_fn(|i| {
        let c = direction(i).map(f64::from);
        let cu = c[0] * u[0] + c[1] * u[1] + c[2] * u[2];
        weight(i) * (density + 3.0 * cu + 4.5 * cu * cu - 1.5 * uu)
    })
}

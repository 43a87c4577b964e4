//! A room with a slot under its ceiling, against measurements: how much air goes
//! forth and comes back at one and two heights from the slot.
//!
//! **Source** IEA Annex 20, two-dimensional test case: Nielsen 1990, Aalborg
//! University R9040 (length 3 heights, slot 0.056, outlet 0.16, Reynolds number
//! 5,000 by the slot, 4 % of turbulence there); measured by Restivo 1979 with
//! laser-Doppler anemometry in a model as wide as high. What is compared are
//! sums over his profiles as a public report integrates them from the published
//! table. PUBLISHED-secondhand.

use bommie_flow::{CellForce, Device, Domain, closure_term};

use super::block::{Block, Noise, between};

/// Volume that goes forth and comes back in the middle plane over what the slot
/// brings, at one and two heights, each with its range by how the profile is
/// closed at the walls.
pub(crate) const FORTH: [[f64; 3]; 2] = [[1.91, 2.07, 2.23], [2.41, 2.46, 2.52]];
pub(crate) const BACK: [[f64; 3]; 2] = [[0.89, 0.90, 0.92], [1.77, 1.84, 1.91]];

/// Where the water at rest lies at two heights, in heights below the ceiling.
pub(crate) const TURNS: f64 = 0.46;

/// Where it is fastest at one height, in heights below the ceiling.
pub(crate) const FASTEST: f64 = 0.04;

const SLOT: f64 = 0.056;
const OUTLET: f64 = 0.16;
const REYNOLDS: f64 = 5000.0;
/// Length of the ducts that bring the air and take it, in cells.
const DUCT: usize = 8;
/// Speed in the slot, in cells a step.
const SPEED: f64 = 0.15;
/// Share of turbulence there.
const TURBULENCE: f64 = 0.04;
/// Smagorinsky's constant, as in the tank estimate.
const CLOSURE: f64 = 0.05;

/// What was found in the middle plane, as the constants above.
#[derive(Debug)]
pub(crate) struct Found {
    pub(crate) forth: [f64; 2],
    pub(crate) back: [f64; 2],
    pub(crate) turns: f64,
    pub(crate) fastest: f64,
    /// Most speed at one and two heights, and most that comes back anywhere
    /// in the lower half, over the slot's.
    pub(crate) most: [f64; 2],
    pub(crate) most_back: f64,
}

/// The room between its two ducts.
struct Room {
    slot: usize,
    /// Height in cells.
    h: usize,
    domain: Domain,
}

impl Room {
    /// The room with cells of which `slot` make the slot's height: as wide as
    /// high, or a slice of it that closes on itself, a third as wide.
    fn new(slot: usize, is_slice: bool) -> Self {
        let h = (slot as f64 / SLOT).round() as usize;
        let width = if is_slice { h / 3 } else { h };
        let outlet = (OUTLET * h as f64).round() as usize;
        let viscosity = SPEED * slot as f64 / REYNOLDS;
        let n = [3 * h + 2 * DUCT, width, h];
        let mut domain = Domain::new(n, 3.0 * viscosity + 0.5);
        domain.periodic[1] = is_slice;
        domain.closure = vec![closure_term(CLOSURE); domain.n_cells()];
        for cell in 0..domain.n_cells() {
            let [i, _, k] = domain.ijk(cell);
            let is_wall = i < DUCT && k + slot < h;
            domain.solid[cell] = is_wall || (i >= DUCT + 3 * h && k >= outlet);
        }
        Self { slot, h, domain }
    }

    /// Water that appears at the closed end of the slot's duct and goes at that
    /// of the outlet's, in the order of cells, and where the slot's eddies are
    /// made.
    fn forces(&self) -> Vec<CellForce> {
        let volume = SPEED * (self.slot * self.domain.n[1]) as f64;
        let end = self.domain.n[0] - DUCT / 2;
        let is_water = |cell: &usize| !self.domain.solid[*cell];
        let column = |cell: usize| self.domain.ijk(cell)[0];
        let all = || (0..self.domain.n_cells()).filter(is_water);
        let count = |is: &dyn Fn(usize) -> bool| all().filter(|cell| is(column(*cell))).count();
        let (comes, goes) = (|i: usize| i < DUCT / 2, |i: usize| i >= end);
        let brought = (volume / count(&comes) as f64) as f32;
        let taken = (volume / count(&goes) as f64) as f32;
        let force = |cell: usize| {
            let (mass, linear) = match column(cell) {
                i if comes(i) => (brought, 0.0),
                // What leaves takes its momentum along.
                i if goes(i) => (-taken, taken),
                i if i < DUCT => (0.0, 0.0),
                _ => return None,
            };
            Some(CellForce {
                cell,
                mass,
                linear,
                ..CellForce::default()
            })
        };
        all().filter_map(force).collect()
    }

    /// The two rows of cells on either side of the middle plane, x fastest,
    /// without the ducts.
    fn middle(&self) -> Vec<usize> {
        let mut cells = Vec::new();
        for k in 0..self.h {
            let width = self.domain.n[1];
            for j in [(width - 1) / 2, width / 2] {
                let row = DUCT..DUCT + 3 * self.h;
                cells.extend(row.map(|i| self.domain.idx([i, j, k])));
            }
        }
        cells
    }
}

/// Solves it; times in heights over the slot's speed.
pub(crate) fn solved(
    (slot, is_slice): (usize, bool),
    [spin_up, average]: [f64; 2],
    device: &Device,
) -> Found {
    let room = Room::new(slot, is_slice);
    let (h, nx, middle) = (room.h, 3 * room.h, room.middle());
    let mut forces = room.forces();
    let turbulent: Vec<bool> = (forces.iter())
        .map(|force| force.mass == 0.0 && room.domain.ijk(force.cell)[0] + 2 >= DUCT)
        .collect();
    let mut block = Block::new(room.domain.clone(), device);
    let mut noise = Noise::new(1);
    // New eddies as soon as the last ones have passed a cell, along two cells.
    let every = (1.0 / SPEED).round();
    let push = 3.0_f64.sqrt() * TURBULENCE * SPEED / (2.0 * every);
    let beats = |time: f64| (time * h as f64 / SPEED / every).round() as usize;
    // A look whenever the slot's water has come a height further.
    let apart = h;
    let mut sums = vec![0.0; middle.len()];
    let mut looks = 0.0;
    for beat in 0..beats(spin_up) + beats(average) {
        for (force, _) in forces.iter_mut().zip(&turbulent).filter(|(_, is)| **is) {
            force.force = std::array::from_fn(|_| (push * noise.next()) as f32);
        }
        block.advance(every as u64, &forces);
        if beat >= beats(spin_up) && beat.is_multiple_of(apart) {
            let seen = block.velocities(&middle);
            (sums.iter_mut().zip(seen)).for_each(|(sum, u)| *sum += u[0]);
            looks += 1.0;
        }
    }
    let rows: Vec<Vec<f64>> = (sums.chunks_exact(2 * nx))
        .map(|pair| {
            let (front, back) = pair.split_at(nx);
            let both = front.iter().zip(back);
            both.map(|(a, b)| 0.5 * (a + b) / (looks * SPEED)).collect()
        })
        .collect();
    found(&rows, h)
}

/// What a mean speed over the slot's, `[z][x]`, says.
fn found(rows: &[Vec<f64>], h: usize) -> Found {
    let profile = |heights: f64| -> Vec<f64> {
        let x = heights * h as f64;
        rows.iter().map(|row| between(row, x)).collect()
    };
    let both = [1.0, 2.0].map(profile);
    let sum = |u: &[f64], sign: f64| {
        let forth: f64 = u.iter().map(|u| (sign * u).max(0.0)).sum();
        forth / h as f64 / SLOT
    };
    let most = |u: &[f64]| u.iter().copied().fold(0.0, f64::max);
    let below = |k: f64| 1.0 - (k + 0.5) / h as f64;
    // From the ceiling down to where it first comes back.
    let far = &both[1];
    let turn = (0..h - 1).rev().find(|&k| far[k] < 0.0).unwrap_or(0);
    let share = far[turn] / (far[turn] - far[turn + 1]);
    let top = (0..h).max_by(|a, b| both[0][*a].total_cmp(&both[0][*b]));
    let low = rows[..h / 2].iter().flatten().copied();
    Found {
        forth: [&both[0], &both[1]].map(|u| sum(u, 1.0)),
        back: [&both[0], &both[1]].map(|u| sum(u, -1.0)),
        turns: below(turn as f64 + share),
        fastest: below(top.unwrap_or(0) as f64),
        most: [&both[0], &both[1]].map(|u| most(u)),
        most_back: -low.fold(0.0, f64::min),
    }
}

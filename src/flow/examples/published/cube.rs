//! Turbulent flow over a cube on the floor of a channel twice as high, against
//! measurements: where the water leaves the floor before it and meets it again
//! behind it, and the speed along the channel over the height.
//!
//! The channel closes on itself, 14 edges long or longer and 7 wide: a layer of
//! cells behind the wake pushes the water around, and so the cube stands in what
//! has come through 13 edges of channel behind the last one.
//!
//! **Source** Martinuzzi & Tropea 1993, J. Fluids Eng. 115:85, Reynolds number
//! 40,000 by the cube's edge; profiles: `tests/data/flow_channel_cube.csv`.

use bommie_flow::{CellForce, Device, Domain, closure_term};

use super::block::{Block, Noise, between};

/// Where the water meets the floor again, in edges behind the cube's back, and
/// where it leaves it before the cube's front. MEMORY: 1.61 and 1.04; LES of the
/// workshops on this case find 1.4 to 1.7 and 0.8 to 1.3.
pub(crate) const BEHIND: f64 = 1.61;
pub(crate) const BEFORE: f64 = 1.04;

const TABLE: &str = include_str!("../../../../tests/data/flow_channel_cube.csv");

const REYNOLDS: f64 = 40_000.0;
/// Length of the channel in edges: the shortest that holds all profiles.
pub(crate) const LENGTH: usize = 14;
/// Its width and height, and where the cube begins.
const WIDTH: usize = 7;
const HEIGHT: usize = 2;
const FRONT: usize = 4;
/// Where the water is pushed, in edges; behind all places that are looked at.
const PUSHED: [f64; 2] = [12.6, 13.4];
/// Mean speed, in cells a step.
const SPEED: f64 = 0.1;
/// Smagorinsky's constant, as in the tank estimate.
const CLOSURE: f64 = 0.05;
/// Places of the profiles, in edges from the cube's front.
pub(crate) const PLACES: [f64; 8] = [-3.0, -1.0, 0.5, 1.0, 1.5, 2.0, 2.5, 8.0];

/// What was found; speeds over the mean over the height three edges before the
/// cube, in the middle plane.
#[derive(Debug)]
pub(crate) struct Found {
    pub(crate) behind: f64,
    pub(crate) before: f64,
    /// At each of [`PLACES`]: root mean square off the measured ones, and off
    /// in the mean.
    pub(crate) off: [[f64; 2]; 8],
}

/// Heights in edges and speeds over the mean at one of [`PLACES`], as measured.
fn measured(place: f64) -> Vec<[f64; 2]> {
    let rows = |wanted: f64| -> Vec<[f64; 2]> {
        let lines = TABLE.lines().filter(|line| !line.starts_with('#')).skip(1);
        let row = |line: &str| -> Vec<f64> {
            let parts = line.split(',');
            parts.map(|x| x.parse().expect("a number")).collect()
        };
        (lines.map(row))
            .filter(|row| row[0] == wanted)
            .map(|row| [row[1] / 25.0, row[2]])
            .collect()
    };
    let mut first = rows(PLACES[0]);
    first.insert(0, [0.0; 2]);
    first.push([2.0, 0.0]);
    let pieces = first.windows(2);
    let area: f64 = pieces
        .map(|w| 0.5 * (w[1][0] - w[0][0]) * (w[0][1] + w[1][1]))
        .sum();
    let mean = area / 2.0;
    rows(place).iter().map(|[y, u]| [*y, u / mean]).collect()
}

struct Channel {
    h: usize,
    domain: Domain,
}

impl Channel {
    fn new(h: usize, length: usize) -> Self {
        let n = [length, WIDTH, HEIGHT].map(|edges| edges * h);
        let viscosity = SPEED * h as f64 / REYNOLDS;
        let mut domain = Domain::new(n, 3.0 * viscosity + 0.5);
        domain.periodic = [true, true, false];
        domain.closure = vec![closure_term(CLOSURE); domain.n_cells()];
        for cell in 0..domain.n_cells() {
            let [i, j, k] = domain.ijk(cell);
            domain.solid[cell] = i / h == FRONT && (3 * h..4 * h).contains(&j) && k < h;
        }
        Self { h, domain }
    }

    /// The two rows of cells on either side of the middle plane, x fastest.
    fn middle(&self) -> Vec<usize> {
        let [nx, ny, nz] = self.domain.n;
        let mut cells = Vec::new();
        for k in 0..nz {
            for j in [ny / 2 - 1, ny / 2] {
                cells.extend((0..nx).map(|i| self.domain.idx([i, j, k])));
            }
        }
        cells
    }

    fn pushed(&self) -> Vec<CellForce> {
        let is_pushed = |cell: &usize| {
            let x = (self.domain.ijk(*cell)[0] as f64 + 0.5) / self.h as f64;
            x > PUSHED[0] && x < PUSHED[1]
        };
        (0..self.domain.n_cells())
            .filter(is_pushed)
            .map(|cell| CellForce {
                cell,
                ..CellForce::default()
            })
            .collect()
    }

    /// Cells of one section, through which all the water comes.
    fn section(&self) -> Vec<usize> {
        let [_, ny, nz] = self.domain.n;
        let at = |p: usize| self.domain.idx([2 * self.h, p % ny, p / ny]);
        (0..ny * nz).map(at).collect()
    }
}

/// Mean speed along the channel in its middle plane, over its own mean three
/// edges before the cube.
struct Means {
    h: usize,
    /// `[z][x]`
    rows: Vec<Vec<f64>>,
}

impl Means {
    /// Profile at a place, in edges from the cube's front.
    fn profile(&self, place: f64) -> Vec<f64> {
        let x = (place + FRONT as f64) * self.h as f64;
        self.rows.iter().map(|row| between(row, x)).collect()
    }

    fn off(&self, place: f64) -> [f64; 2] {
        let ours = self.profile(place);
        let least = 0.5 / self.h as f64;
        // Of places above the cube those above its uppermost cells.
        let floor = if (0.0..=1.0).contains(&place) {
            1.0
        } else {
            0.0
        };
        let apart: Vec<f64> = (measured(place).into_iter())
            .filter(|[y, _]| *y > floor + least && *y < 2.0 - least)
            .map(|[y, u]| between(&ours, y * self.h as f64) - u)
            .collect();
        let n = apart.len() as f64;
        let square: f64 = apart.iter().map(|x| x * x).sum();
        [(square / n).sqrt(), apart.iter().sum::<f64>() / n]
    }

    /// Where the lowest cells' speed changes its sign between two of them, in
    /// edges: the way from the cube to the far end of the water that comes back.
    fn back_flow(&self) -> [f64; 2] {
        let (floor, h) = (&self.rows[0], self.h);
        let cross = |a: usize, b: usize| {
            let share = floor[a] / (floor[a] - floor[b]);
            a as f64 + 0.5 + share * (b as f64 - a as f64)
        };
        let (front, back) = (FRONT * h, (FRONT + 1) * h);
        let last = (back..back + 4 * h).rev().find(|&i| floor[i] < 0.0);
        let first = (h..front).find(|&i| floor[i] < 0.0);
        let behind = last.map_or(0.0, |i| cross(i, i + 1) - back as f64);
        let before = first.map_or(0.0, |i| front as f64 - cross(i - 1, i));
        [behind / h as f64, before / h as f64]
    }
}

/// Solves it with `h` cells an edge in a channel of this length in edges; times
/// in edges over the mean speed.
pub(crate) fn solved(
    (h, length): (usize, usize),
    [spin_up, average]: [f64; 2],
    device: &Device,
) -> Found {
    let channel = Channel::new(h, length);
    let (middle, section) = (channel.middle(), channel.section());
    let mut forces = channel.pushed();
    let mut block = Block::new(channel.domain.clone(), device);
    let mut noise = Noise::new(1);
    for cell in (0..channel.domain.n_cells()).filter(|&cell| !channel.domain.solid[cell]) {
        let mut astray = || 0.1 * SPEED * noise.next();
        block.set(cell, [SPEED + astray(), astray(), astray()]);
    }
    // The push follows the flow so that its mean speed stays.
    let every = 8 * h as u64;
    let looks = |time: f64| (time / (every as f64 * SPEED / h as f64)).round() as usize;
    let share = (PUSHED[1] - PUSHED[0]) / length as f64;
    let gain = 0.2 / (every as f64 * share);
    let watched = [section.as_slice(), middle.as_slice()].concat();
    let mut sums = vec![0.0; middle.len()];
    for look in 0..looks(spin_up) + looks(average) {
        let seen = block.velocities(&watched);
        let (across, along) = seen.split_at(section.len());
        let mean = across.iter().map(|u| u[0]).sum::<f64>() / section.len() as f64;
        let push = (gain * (1.02 * SPEED - mean)).max(0.0) as f32;
        for force in &mut forces {
            force.force[0] = push;
        }
        if look >= looks(spin_up) {
            (sums.iter_mut().zip(along)).for_each(|(sum, u)| *sum += u[0]);
        }
        block.advance(every, &forces);
    }
    let nx = channel.domain.n[0];
    let rows = sums.chunks_exact(2 * nx).map(|pair| {
        let (front, back) = pair.split_at(nx);
        front.iter().zip(back).map(|(a, b)| a + b).collect()
    });
    let mut means = Means {
        h,
        rows: rows.collect(),
    };
    let before = means.profile(PLACES[0]);
    let mean = before.iter().sum::<f64>() / before.len() as f64;
    (means.rows.iter_mut().flatten()).for_each(|speed| *speed /= mean);
    let [behind, before] = means.back_flow();
    Found {
        behind,
        before,
        off: PLACES.map(|place| means.off(place)),
    }
}

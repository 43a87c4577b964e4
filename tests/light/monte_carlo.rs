//! The light map against photons.
//!
//! Goal: mirrors, bounces and shade are right together, not only one by one.
//! Method: a plain photon tracer that shares no code with the solver (its own
//! Fresnel, its own boxes, light forwards instead of backwards) fills cells on
//! sand, on rock faces and on level planes of a tank with an arch and a ledge;
//! the solver answers for the same cells. The seed is fixed.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::allow_attributes,
    reason = "prints the figures of the methods page; a broken test scene must stop it"
)]

use super::scenes::{lamp, outline, rect, rock, tank_of, with_lamps};
use bommie::light::{LightOptions, LightSolver, Measured};
use bommie::scene::{Body, Scene, Side, Spread};
use bommie::study::Study;
use glam::DVec3;
use rayon::prelude::*;

/// A study of the first layout.
fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

const N: f64 = 1.34;
const GLASS: f64 = 1.52;
const SIZE: [f64; 3] = [0.60, 0.45, 0.40];
const FLOOR: f64 = 0.03;
const ABSORPTION: f64 = 0.3;
const SAND: f64 = 0.5;
const ROCK: f64 = 0.25;
/// Share of a flawless mirror's light that clear panes throw back.
const RETURNED: f64 = 0.9;
/// Level planes in the water, in m.
const LEVELS: [f64; 2] = [0.25, 0.08];
/// Edge of the cells, in m.
const CELL: f64 = 0.03;

/// The rocks of [`scene`] as boxes: (low corner, high corner).
const BOXES: [([f64; 3], [f64; 3]); 5] = [
    ([0.09, 0.15, 0.03], [0.15, 0.30, 0.18]),
    ([0.24, 0.15, 0.03], [0.30, 0.30, 0.18]),
    ([0.15, 0.15, 0.12], [0.24, 0.30, 0.18]),
    ([0.39, 0.12, 0.03], [0.48, 0.27, 0.15]),
    ([0.33, 0.12, 0.15], [0.54, 0.27, 0.21]),
];

fn scene() -> Scene {
    let mut scene = tank_of(60.0, 45.0, 40.0);
    scene.tank.water.absorption_per_m = ABSORPTION;
    scene.tank.sides.back = Side::Black;
    scene.tank.panes.returned_share = RETURNED;
    let arch = rock(
        1,
        (19.5, 22.5, 3.0),
        outline(&rect((-10.5, -7.5), (10.5, 7.5)), &[]),
        outline(
            &rect((-10.5, 0.0), (10.5, 15.0)),
            &[&rect((-4.5, 0.0), (4.5, 9.0))],
        ),
    );
    let ledge = rock(
        2,
        (43.5, 19.5, 3.0),
        outline(&rect((-10.5, -7.5), (10.5, 7.5)), &[]),
        outline(
            &[
                (-4.5, 0.0),
                (4.5, 0.0),
                (4.5, 12.0),
                (10.5, 12.0),
                (10.5, 18.0),
                (-10.5, 18.0),
                (-10.5, 12.0),
                (-4.5, 12.0),
            ],
            &[],
        ),
    );
    scene.layouts[0].rocks = vec![arch, ledge];
    let mut panel = lamp(27.0, 24.0, 60.0, 120.0);
    panel.body = Body::Panel {
        length_cm: 30.0,
        width_cm: 15.0,
    };
    let mut pendant = lamp(50.0, 15.0, 55.0, 60.0);
    pendant.id = 4;
    pendant.body = Body::Disc { diameter_cm: 8.0 };
    pendant.spread = Spread::Beam {
        full_angle_deg: 80.0,
    };
    with_lamps(&mut scene, vec![panel, pendant]);
    scene
}

/// Pseudo-random numbers: splitmix64 (Steele, Lea & Flood 2014, MEMORY).
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A direction about +z with density cosᵐ⁺¹… of solid angle `cosᵐ`.
    fn lobe(&mut self, m: f64) -> DVec3 {
        let cos = self.next().powf(1.0 / (m + 1.0));
        let (sin, turn) = (
            (1.0 - cos * cos).max(0.0).sqrt(),
            self.next() * std::f64::consts::TAU,
        );
        DVec3::new(sin * turn.cos(), sin * turn.sin(), cos)
    }
}

/// Unpolarized reflectance of a flat boundary, by angles instead of cosines.
fn mirror(n1: f64, n2: f64, cos: f64) -> f64 {
    let a = cos.clamp(0.0, 1.0).acos();
    let s = a.sin() * n1 / n2;
    if s >= 1.0 {
        return 1.0;
    }
    let b = s.asin();
    if a < 1e-6 {
        return ((n1 - n2) / (n1 + n2)).powi(2);
    }
    let rs = ((a - b).sin() / (a + b).sin()).powi(2);
    let rp = ((a - b).tan() / (a + b).tan()).powi(2);
    0.5 * (rs + rp)
}

/// What a photon met: axis of the face, whether on its high side, what it is.
#[derive(Clone, Copy, PartialEq)]
enum Face {
    Side,
    Surface,
    Sand,
    Rock(usize),
}

#[derive(Clone)]
struct Tally {
    sand: Vec<f64>,
    level_up: Vec<Vec<f64>>,
    level_scalar: Vec<Vec<f64>>,
    /// For each box and each of its six faces.
    rock: Vec<Vec<f64>>,
    absorbed: f64,
    escaped: f64,
    entered: f64,
}

fn grid(lo: [f64; 2], hi: [f64; 2]) -> [usize; 2] {
    [0, 1].map(|i| ((hi[i] - lo[i]) / CELL).round() as usize)
}

fn bin(p: [f64; 2], lo: [f64; 2], n: [usize; 2]) -> usize {
    let cell = |i: usize| (((p[i] - lo[i]) / CELL).max(0.0) as usize).min(n[i] - 1);
    cell(1) * n[0] + cell(0)
}

fn others(axis: usize) -> [usize; 2] {
    [[1, 2], [0, 2], [0, 1]][axis]
}

fn face_grid(solid: usize, axis: usize) -> ([f64; 2], [usize; 2]) {
    let (lo, hi) = BOXES[solid];
    let [a, b] = others(axis);
    ([lo[a], lo[b]], grid([lo[a], lo[b]], [hi[a], hi[b]]))
}

impl Tally {
    fn new() -> Self {
        let n = grid([0.0; 2], [SIZE[0], SIZE[1]]);
        let plane = vec![0.0; n[0] * n[1]];
        let rock = (0..BOXES.len() * 6)
            .map(|i| {
                let (_, n) = face_grid(i / 6, i % 6 / 2);
                vec![0.0; n[0] * n[1]]
            })
            .collect();
        Self {
            sand: plane.clone(),
            level_up: vec![plane.clone(); LEVELS.len()],
            level_scalar: vec![plane; LEVELS.len()],
            rock,
            absorbed: 0.0,
            escaped: 0.0,
            entered: 0.0,
        }
    }

    fn add(&mut self, other: &Self) {
        let sum = |a: &mut Vec<f64>, b: &Vec<f64>| a.iter_mut().zip(b).for_each(|(a, b)| *a += b);
        sum(&mut self.sand, &other.sand);
        for i in 0..LEVELS.len() {
            sum(&mut self.level_up[i], &other.level_up[i]);
            sum(&mut self.level_scalar[i], &other.level_scalar[i]);
        }
        for (a, b) in self.rock.iter_mut().zip(&other.rock) {
            sum(a, b);
        }
        self.absorbed += other.absorbed;
        self.escaped += other.escaped;
        self.entered += other.entered;
    }
}

/// Nearest thing along a ray under water: distance, axis of its face, what.
fn meet(p: DVec3, d: DVec3) -> (f64, usize, Face) {
    let mut best = (f64::INFINITY, 0, Face::Side);
    for axis in 0..3 {
        let (low, high) = if axis == 2 {
            (FLOOR, SIZE[2])
        } else {
            (0.0, SIZE[axis])
        };
        let target = if d[axis] > 0.0 { high } else { low };
        let t = (target - p[axis]) / d[axis];
        if t < best.0 {
            let face = match (axis, d[axis] > 0.0) {
                (2, true) => Face::Surface,
                (2, false) => Face::Sand,
                _ => Face::Side,
            };
            best = (t.max(0.0), axis, face);
        }
    }
    for (i, (lo, hi)) in BOXES.iter().enumerate() {
        let (mut t_in, mut t_out, mut axis_in) = (f64::NEG_INFINITY, f64::INFINITY, 0);
        for axis in 0..3 {
            let (a, b) = (
                (lo[axis] - p[axis]) / d[axis],
                (hi[axis] - p[axis]) / d[axis],
            );
            if a.min(b) > t_in {
                (t_in, axis_in) = (a.min(b), axis);
            }
            t_out = t_out.min(a.max(b));
        }
        if t_in < t_out && t_in > 0.0 && t_in < best.0 {
            best = (t_in, axis_in, Face::Rock(i));
        }
    }
    best
}

/// One photon from just under the surface to its end.
fn follow(mut p: DVec3, mut d: DVec3, mut weight: f64, draws: &mut Draws, tally: &mut Tally) {
    let n = grid([0.0; 2], [SIZE[0], SIZE[1]]);
    let area = CELL * CELL;
    for _ in 0..200 {
        let (t, axis, face) = meet(p, d);
        for (i, z) in LEVELS.iter().enumerate() {
            let cross = (z - p.z) / d.z;
            if cross > 0.0 && cross < t {
                let at = p + d * cross;
                let w = weight * (-ABSORPTION * cross).exp() / area;
                let idx = bin([at.x, at.y], [0.0; 2], n);
                if d.z < 0.0 {
                    tally.level_up[i][idx] += w;
                }
                tally.level_scalar[i][idx] += w / d.z.abs().max(0.02);
            }
        }
        let left = weight * (-ABSORPTION * t).exp();
        tally.absorbed += weight - left;
        weight = left;
        p += d * t;
        match face {
            Face::Surface => {
                if draws.next() >= mirror(N, 1.0, d.z) {
                    tally.escaped += weight;
                    return;
                }
                d.z = -d.z;
            }
            Face::Side => {
                let cos = d[axis].abs();
                let is_black = axis == 1 && d.y > 0.0;
                let is_back = if is_black {
                    draws.next() < mirror(N, GLASS, cos)
                } else {
                    pane_reflects(cos, draws) && draws.next() < RETURNED
                };
                if !is_back {
                    tally.escaped += weight;
                    return;
                }
                d[axis] = -d[axis];
            }
            Face::Sand | Face::Rock(_) => {
                let reflectance = if let Face::Rock(solid) = face {
                    let high = d[axis] < 0.0;
                    let (lo, cells) = face_grid(solid, axis);
                    let [a, b] = others(axis);
                    tally.rock[solid * 6 + axis * 2 + usize::from(high)]
                        [bin([p[a], p[b]], lo, cells)] += weight / area;
                    ROCK
                } else {
                    tally.sand[bin([p.x, p.y], [0.0; 2], n)] += weight / area;
                    SAND
                };
                if draws.next() >= reflectance {
                    tally.absorbed += weight;
                    return;
                }
                let out = draws.lobe(1.0);
                let side = -d[axis].signum();
                let [a, b] = others(axis);
                d[a] = out.x;
                d[b] = out.y;
                d[axis] = out.z * side;
                p[axis] += side * 1e-9;
            }
        }
    }
}

/// A pane drawn face by face: into the glass, back at the air, and so on.
fn pane_reflects(cos: f64, draws: &mut Draws) -> bool {
    if draws.next() < mirror(N, GLASS, cos) {
        return true;
    }
    let sin_glass = (1.0 - cos * cos).sqrt() * N / GLASS;
    let cos_glass = (1.0 - sin_glass * sin_glass).max(0.0).sqrt();
    loop {
        if draws.next() >= mirror(GLASS, 1.0, cos_glass) {
            return false;
        }
        if draws.next() >= mirror(GLASS, N, cos_glass) {
            return true;
        }
    }
}

fn shoot(photons: usize, seed: u64) -> Tally {
    let mut draws = Draws(seed.wrapping_mul(0x2545_f491_4f6c_dd1d));
    let mut tally = Tally::new();
    for k in 0..photons {
        let panel = k % 3 != 2;
        let (from, m) = if panel {
            let (u, v) = (draws.next() - 0.5, draws.next() - 0.5);
            (DVec3::new(0.27 + 0.30 * u, 0.24 + 0.15 * v, 0.60), 1.0)
        } else {
            let (r, turn) = (
                0.04 * draws.next().sqrt(),
                draws.next() * std::f64::consts::TAU,
            );
            let at = DVec3::new(0.50 + r * turn.cos(), 0.15 + r * turn.sin(), 0.55);
            (at, 0.5_f64.ln() / 40.0_f64.to_radians().cos().ln())
        };
        let out = draws.lobe(m);
        let down = DVec3::new(out.x, out.y, -out.z);
        let t = (from.z - SIZE[2]) / out.z;
        let entry = from + down * t;
        let inside = entry.x > 0.0 && entry.x < SIZE[0] && entry.y > 0.0 && entry.y < SIZE[1];
        if !inside || draws.next() < mirror(1.0, N, out.z) {
            continue;
        }
        let (x, y) = (down.x / N, down.y / N);
        let d = DVec3::new(x, y, -(1.0 - x * x - y * y).sqrt());
        // Two thirds of the photons stand for 120 µmol/s, one third for 60.
        let weight = 180.0 / photons as f64;
        tally.entered += weight;
        follow(
            DVec3::new(entry.x, entry.y, SIZE[2] - 1e-9),
            d,
            weight,
            &mut draws,
            &mut tally,
        );
    }
    tally
}

fn trace_all(photons: usize) -> Tally {
    const BATCHES: usize = 64;
    let batches: Vec<Tally> = (0..BATCHES)
        .into_par_iter()
        .map(|i| shoot(photons / BATCHES, 1000 + i as u64))
        .collect();
    let mut sum = Tally::new();
    for batch in &batches {
        sum.add(batch);
    }
    let scale = |v: &mut Vec<f64>| v.iter_mut().for_each(|x| *x /= BATCHES as f64);
    scale(&mut sum.sand);
    sum.level_up.iter_mut().for_each(scale);
    sum.level_scalar.iter_mut().for_each(scale);
    sum.rock.iter_mut().for_each(scale);
    sum.absorbed /= BATCHES as f64;
    sum.escaped /= BATCHES as f64;
    sum.entered /= BATCHES as f64;
    sum
}

/// A cell as both codes see it.
struct Sensor {
    class: &'static str,
    traced: f64,
    solved: f64,
    /// Spread of the solver's values within the cell, over their mean.
    edge: f64,
}

fn free(p: DVec3) -> bool {
    !BOXES
        .iter()
        .any(|(lo, hi)| (0..3).all(|i| p[i] > lo[i] - 1e-9 && p[i] < hi[i] + 1e-9))
}

/// Middle of a cell, its two edges, and its outward normal.
struct Cell {
    middle: DVec3,
    edges: [DVec3; 2],
    normal: DVec3,
}

/// The full answer, and the same with nothing that scatters: the difference
/// is smooth over a cell, the rest is cheap enough to average finely.
struct Solvers {
    full: LightSolver,
    unscattered: LightSolver,
}

fn sensor(solvers: &Solvers, class: &'static str, cell: &Cell, traced: f64) -> Option<Sensor> {
    const FINE: i32 = 9;
    let lifted = cell.middle + cell.normal * 1e-6;
    let place = |i: f64, j: f64| lifted + cell.edges[0] * (i * CELL) + cell.edges[1] * (j * CELL);
    let ends = [-0.499, 0.499];
    if !ends
        .iter()
        .all(|&i| ends.iter().all(|&j| free(place(i, j))))
        || !free(lifted)
    {
        return None;
    }
    let read = |solver: &LightSolver, p: DVec3| {
        let sample = solver.sample(p, Some(cell.normal));
        if class == "scalar" {
            sample.scalar_umol
        } else {
            sample.facing_umol
        }
    };
    let mut scattered = 0.0;
    for (i, j) in [(-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)] {
        let p = place(i, j);
        scattered += (read(&solvers.full, p) - read(&solvers.unscattered, p)) / 4.0;
    }
    let (mut sum, mut low, mut high) = (0.0, f64::INFINITY, 0.0_f64);
    for i in 0..FINE {
        for j in 0..FINE {
            let share = |k: i32| (f64::from(k) + 0.5) / f64::from(FINE) - 0.5;
            let value = read(&solvers.unscattered, place(share(i), share(j))) + scattered;
            sum += value / f64::from(FINE * FINE);
            low = low.min(value);
            high = high.max(value);
        }
    }
    Some(Sensor {
        class,
        traced,
        solved: sum,
        edge: (high - low) / sum.max(1e-9),
    })
}

fn sensors(solvers: &Solvers, tally: &Tally) -> Vec<Sensor> {
    let mut jobs: Vec<(&'static str, Cell, f64)> = Vec::new();
    let n = grid([0.0; 2], [SIZE[0], SIZE[1]]);
    let mut level = |class: &'static str, z: f64, values: &[f64]| {
        for (idx, traced) in values.iter().enumerate() {
            let at = |i: usize| (i as f64 + 0.5) * CELL;
            let cell = Cell {
                middle: DVec3::new(at(idx % n[0]), at(idx / n[0]), z),
                edges: [DVec3::X, DVec3::Y],
                normal: DVec3::Z,
            };
            jobs.push((class, cell, *traced));
        }
    };
    level("sand", FLOOR, &tally.sand);
    for (i, z) in LEVELS.iter().enumerate() {
        level("water", *z, &tally.level_up[i]);
        level("scalar", *z, &tally.level_scalar[i]);
    }
    for (face, values) in tally.rock.iter().enumerate() {
        let (solid, axis, high) = (face / 6, face % 6 / 2, face % 2 == 1);
        let (lo, cells) = face_grid(solid, axis);
        let [a, b] = others(axis);
        for (idx, traced) in values.iter().enumerate() {
            let mut middle = DVec3::ZERO;
            middle[a] = lo[0] + ((idx % cells[0]) as f64 + 0.5) * CELL;
            middle[b] = lo[1] + ((idx / cells[0]) as f64 + 0.5) * CELL;
            middle[axis] = if high {
                BOXES[solid].1[axis]
            } else {
                BOXES[solid].0[axis]
            };
            if middle.z <= FLOOR {
                continue;
            }
            let cell = Cell {
                middle,
                edges: [DVec3::AXES[a], DVec3::AXES[b]],
                normal: DVec3::AXES[axis] * if high { 1.0 } else { -1.0 },
            };
            jobs.push(("rock", cell, *traced));
        }
    }
    jobs.par_iter()
        .filter_map(|(class, cell, traced)| sensor(solvers, class, cell, *traced))
        .collect()
}

fn quantile(errors: &[f64], q: f64) -> f64 {
    let mut sorted = errors.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted[((sorted.len() - 1) as f64 * q) as usize]
}

/// Quantiles of the relative error, and how many cells are within a tenth.
struct Errors {
    count: usize,
    median: f64,
    bias: f64,
    high: f64,
    worst: f64,
    within_tenth: f64,
}

impl Errors {
    fn of(relative: &[f64]) -> Self {
        let sizes: Vec<f64> = relative.iter().map(|e| e.abs()).collect();
        let near = sizes.iter().filter(|e| **e < 0.10).count();
        Self {
            count: sizes.len(),
            median: quantile(&sizes, 0.5),
            bias: quantile(relative, 0.5),
            high: quantile(&sizes, 0.95),
            worst: quantile(&sizes, 1.0),
            within_tenth: near as f64 / sizes.len() as f64,
        }
    }
}

/// Prints the errors of one kind of cell and holds them against the goals.
fn judge(class: &str, sensors: &[Sensor], median_most: f64) {
    let own = sensors
        .iter()
        .filter(|s| s.class == class && s.traced > 5.0);
    // A cell whose values differ by more than a third holds a shadow's edge.
    let relative: Vec<f64> = own
        .filter(|s| s.edge < 0.33)
        .map(|s| s.solved / s.traced - 1.0)
        .collect();
    let errors = Errors::of(&relative);
    println!(
        "{class}: {} cells, median {:.2} %, bias {:+.2} %, 95 % of cells within {:.1} %, \
         worst {:.1} %, within a tenth {:.1} %",
        errors.count,
        100.0 * errors.median,
        100.0 * errors.bias,
        100.0 * errors.high,
        100.0 * errors.worst,
        100.0 * errors.within_tenth
    );
    assert!(errors.count > 100, "{class}: only {} cells", errors.count);
    assert!(
        errors.median < median_most && errors.bias.abs() < 0.01,
        "{class}: median {}, bias {}",
        errors.median,
        errors.bias
    );
    assert!(
        errors.within_tenth > 0.98,
        "{class}: {} within a tenth",
        errors.within_tenth
    );
}

#[test]
fn the_map_agrees_with_traced_photons() {
    // Noise of a median cell: about 1 % with the few photons, 0.25 % with the
    // many; the allowance for the median is the goal of 1 % plus that noise.
    let (photons, median_most) = if cfg!(feature = "slow-tests") {
        (64_000_000, 0.01)
    } else {
        (6_000_000, 0.02)
    };
    let tally = trace_all(photons);
    let balance = (tally.absorbed + tally.escaped) / tally.entered;
    assert!(
        (balance - 1.0).abs() < 1e-3,
        "tracer keeps photons: {balance}"
    );

    let bright = scene();
    let mut dark = scene();
    dark.tank.sand.reflectance = 0.0;
    for rock in &mut dark.layouts[0].rocks {
        rock.reflectance = 0.0;
    }
    let solve = |scene: &Scene, options: &LightOptions| {
        LightSolver::new(&study(scene), &Measured::new(), options).expect("scene solves")
    };
    let few_rays = LightOptions {
        gather_rays: 8,
        transfer_rays: 1,
        ..LightOptions::default()
    };
    let solvers = Solvers {
        full: solve(&bright, &LightOptions::default()),
        unscattered: solve(&dark, &few_rays),
    };
    let sensors = sensors(&solvers, &tally);
    for class in ["water", "scalar", "sand", "rock"] {
        judge(class, &sensors, median_most);
    }
    let dark: Vec<f64> = sensors
        .iter()
        .filter(|s| s.traced <= 5.0)
        .map(|s| (s.solved - s.traced).abs())
        .collect();
    let worst = quantile(&dark, 1.0);
    println!(
        "below 5 µmol/m²/s: {} cells, worst {worst:.2} off",
        dark.len()
    );
    assert!(dark.len() > 8 && worst < 1.0, "deep shade is {worst} off");
}

//! Second step: the coefficients.
//!
//! The middle of the logarithm is fitted by least squares, in which the factor of no speed may be negative; the
//! logarithm of its scale by least squares on that of the residuals; the shape is the table of residuals over their
//! scale. All residuals are out of the tank: each tank's come from a fit without it. By how much tanks err as a whole
//! is the least that holds, for either limit and on each size of cells, the slow water of seven of eight of them, again
//! from fits without the tank.

use bommie_flow::felt::{FEATURE_NAMES, FeltLaw, N_FEATURES, SPEED_FEATURES};
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::table::{Row, Table};

/// Factors on fine and on coarse cells.
const N: usize = 2 * N_FEATURES;

/// Rows of a table that are taken, at most.
const ROWS_MAX: usize = 3000;

/// Residuals below this are taken as it, in the logarithm.
const RESIDUAL_MIN: f64 = 0.03;

/// Weight of keeping factors small, and of keeping those of fine and coarse cells alike, over that of the rows.
const SMALL: f64 = 1e-3;
const ALIKE: f64 = 1e-3;

/// Features that tell the scale.
const OF_SCALE: [usize; 9] = [0, 1, 5, 7, 8, 10, 11, 12, 14];

/// No truth is taken as slower than this, in m/s: below it the logarithm would
/// tell of nothing that a coral feels. Own choice.
const TRUE_MIN_M_S: f64 = 0.001;

/// Shares of the shape's table.
const SHARES: [f64; 15] = [
    0.01, 0.025, 0.05, 0.1, 0.17, 0.25, 0.33, 0.5, 0.66, 0.75, 0.83, 0.9, 0.95, 0.975, 0.99,
];

/// Limits that chances are told for, in m/s.
pub(crate) const LIMITS_M_S: [f64; 2] = [0.02, 0.05];

/// Share of tanks whose slow water is to lie within what is said.
const WITHIN: f64 = 0.875;

/// Tanks that are said to have less dead water than this share tell how well so little is known; own choice.
const LITTLE: f64 = 0.01;

/// Share of such tanks that are to lie within it.
const WITHIN_LEAST: f64 = 0.8;

/// One row as the fit sees it.
struct Point {
    tank: usize,
    features: [f64; N],
    ln_true: f64,
    weight: f64,
}

/// Normal equations of least squares.
#[derive(Clone)]
struct Normal {
    matrix: DMatrix<f64>,
    right: DVector<f64>,
}

impl Normal {
    fn of<'a>(points: impl Iterator<Item = (&'a Point, f64)>) -> Self {
        let (mut matrix, mut right) = (vec![0.0; N * N], vec![0.0; N]);
        for (point, value) in points {
            for a in 0..N {
                let weighted = point.weight * point.features[a];
                right[a] += weighted * value;
                for b in 0..=a {
                    matrix[a * N + b] += weighted * point.features[b];
                }
            }
        }
        let full = |a: usize, b: usize| matrix[a.max(b) * N + a.min(b)];
        Self {
            matrix: DMatrix::from_fn(N, N, full),
            right: DVector::from_vec(right),
        }
    }

    fn less(&self, other: &Self) -> Self {
        Self {
            matrix: &self.matrix - &other.matrix,
            right: &self.right - &other.right,
        }
    }

    /// Factors of the features that `may` be other than zero; none of `rising` is negative.
    fn solved(&self, may: &[usize], rising: bool) -> Vec<f64> {
        let mut free: Vec<usize> = (0..N).filter(|k| may.contains(&(k % N_FEATURES))).collect();
        loop {
            let n = free.len();
            let mut matrix = DMatrix::from_fn(n, n, |a, b| self.matrix[(free[a], free[b])]);
            for (a, &k) in free.iter().enumerate() {
                let other = (k + N_FEATURES) % N;
                let size = self.matrix[(k, k)] + self.matrix[(other, other)];
                matrix[(a, a)] += (SMALL + ALIKE) * size;
                if let Some(b) = free.iter().position(|&at| at == other) {
                    matrix[(a, b)] -= ALIKE * size;
                }
            }
            let right = DVector::from_fn(n, |a, _| self.right[free[a]]);
            let found = matrix.cholesky().expect("features differ").solve(&right);
            let falls = |a: &usize| SPEED_FEATURES.contains(&(free[*a] % N_FEATURES));
            let worst = (0..n)
                .filter(|a| rising && falls(a) && found[*a] < 0.0)
                .min_by(|a, b| found[*a].total_cmp(&found[*b]));
            let Some(worst) = worst else {
                let mut all = vec![0.0; N];
                for (a, &k) in free.iter().enumerate() {
                    all[k] = found[a];
                }
                return all;
            };
            free.remove(worst);
        }
    }
}

fn halves(factors: &[f64]) -> [Vec<f64>; 2] {
    [
        factors[..N_FEATURES].to_vec(),
        factors[N_FEATURES..].to_vec(),
    ]
}

/// Lowest and highest of each feature, less one in two hundred at either end.
fn seen(tables: &[&Table]) -> Vec<[f64; 2]> {
    let of = |k: usize| {
        let mut values: Vec<f64> = (tables.iter().flat_map(|table| &table.rows))
            .map(|row| f64::from(row.features[k]))
            .collect();
        values.sort_by(f64::total_cmp);
        let n = values.len();
        [values[n / 200], values[n - 1 - n / 200]]
    };
    (0..N_FEATURES).into_par_iter().map(of).collect()
}

fn point(row: &Row, tank: usize, cell_cm: f64, law: &FeltLaw) -> Point {
    let blend = FeltLaw::blend(cell_cm / 100.0);
    let features = std::array::from_fn(|k| {
        let share = if k < N_FEATURES { 1.0 - blend } else { blend };
        share * law.held(k % N_FEATURES, row.features[k % N_FEATURES])
    });
    Point {
        tank,
        features,
        ln_true: row.true_m_s.max(TRUE_MIN_M_S).ln(),
        weight: 0.0,
    }
}

fn points(tables: &[&Table], tanks: &[&str], law: &FeltLaw) -> Vec<Point> {
    let mut points = Vec::new();
    for table in tables {
        let tank = tanks.iter().position(|name| *name == table.tank);
        let tank = tank.expect("every tank has a name");
        let step = table.rows.len().div_ceil(ROWS_MAX).max(1);
        let taken: Vec<&Row> = table.rows.iter().step_by(step).collect();
        for row in &taken {
            let mut point = point(row, tank, table.cell_cm, law);
            point.weight = 1.0 / taken.len() as f64;
            points.push(point);
        }
    }
    points
}

fn dot(factors: &[f64], features: &[f64; N]) -> f64 {
    factors.iter().zip(features).map(|(a, b)| a * b).sum()
}

/// The middle without each tank in turn, and with all.
fn middles(points: &[Point], n_tanks: usize) -> (Vec<Vec<f64>>, Vec<f64>) {
    let every: Vec<usize> = (0..N_FEATURES).collect();
    let of_tank: Vec<Normal> = (0..n_tanks)
        .into_par_iter()
        .map(|tank| {
            let own = points.iter().filter(|point| point.tank == tank);
            Normal::of(own.map(|point| (point, point.ln_true)))
        })
        .collect();
    let zero = Normal {
        matrix: DMatrix::zeros(N, N),
        right: DVector::zeros(N),
    };
    let all = (of_tank.iter()).fold(zero, |sum, tank| Normal {
        matrix: sum.matrix + &tank.matrix,
        right: sum.right + &tank.right,
    });
    let without = (of_tank.iter()).map(|tank| all.less(tank).solved(&every, true));
    (without.collect(), all.solved(&every, true))
}

/// Residuals over their scale at the shares of the table.
fn shape(mut residuals: Vec<(f64, f64)>) -> Vec<[f64; 2]> {
    residuals.sort_by(|a, b| a.0.total_cmp(&b.0));
    let all: f64 = residuals.iter().map(|(_, weight)| weight).sum();
    let mut rows: Vec<[f64; 2]> = Vec::new();
    let mut sum = 0.0;
    let mut shares = SHARES.iter().peekable();
    for (residual, weight) in residuals {
        sum += weight;
        while let Some(share) = shares.next_if(|share| sum >= **share * all) {
            let least = rows.last().map_or(f64::NEG_INFINITY, |row| row[0] + 1e-4);
            rows.push([residual.max(least), *share]);
        }
    }
    rows
}

/// The law that the fit tanks give.
pub(crate) fn fitted(tables: &[&Table], note: &str) -> FeltLaw {
    let mut tables = tables.to_vec();
    tables.retain(|table| table.is_fit);
    assert!(!tables.is_empty(), "there are tables of fit tanks");
    let mut tanks: Vec<&str> = tables.iter().map(|table| table.tank.as_str()).collect();
    tanks.sort_unstable();
    tanks.dedup();
    let mut cells: Vec<f64> = tables.iter().map(|table| table.cell_cm).collect();
    cells.sort_by(f64::total_cmp);
    cells.dedup();
    let n_rows: usize = tables.iter().map(|table| table.rows.len()).sum();
    let mut law = FeltLaw {
        provenance: format!(
            "{} fit tanks ({}), cells of {cells:?} cm, {n_rows} blocks of 2 cm; {note}",
            tanks.len(),
            tanks.join(", ")
        ),
        features: FEATURE_NAMES.map(str::to_owned).to_vec(),
        seen: seen(&tables),
        middle: [vec![0.0; N_FEATURES], vec![0.0; N_FEATURES]],
        scale: [vec![0.0; N_FEATURES], vec![0.0; N_FEATURES]],
        shape: Vec::new(),
        together: [0.0; 2],
        least: 0.0,
    };
    let points = points(&tables, &tanks, &law);
    let (without, all) = middles(&points, tanks.len());
    let residual = |point: &Point| point.ln_true - dot(&without[point.tank], &point.features);
    let sizes = points.iter().map(|point| {
        let size = residual(point).abs().max(RESIDUAL_MIN);
        (point, size.ln())
    });
    let scale = Normal::of(sizes).solved(&OF_SCALE, false);
    let over_scale = |point: &Point| residual(point) / dot(&scale, &point.features).exp();
    law.shape = shape(points.iter().map(|p| (over_scale(p), p.weight)).collect());
    law.middle = halves(&all);
    law.scale = halves(&scale);
    let wholes = Wholes::new(&tables, &tanks, &without, &law);
    law.together = wholes.together();
    law.least = wholes.least();
    round(&mut law);
    law
}

/// How whole tanks err, each by a fit without it.
struct Wholes {
    /// Cells in cm, limit, and by how much all middles must move to hold the true share.
    needed: Vec<(f64, usize, f64)>,
    /// Share said to be dead and what it misses.
    dead: Vec<[f64; 2]>,
}

/// The value that a share of all lies below.
fn quantile(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    let at = (share * values.len() as f64) as usize;
    values.get(at).copied().unwrap_or(0.0)
}

impl Wholes {
    fn new(tables: &[&Table], tanks: &[&str], without: &[Vec<f64>], law: &FeltLaw) -> Self {
        let of_table = |table: &&Table| {
            let tank = tanks.iter().position(|name| *name == table.tank);
            let law = FeltLaw {
                middle: halves(&without[tank.expect("every tank has a name")]),
                ..law.clone()
            };
            let needed = [0, 1].map(|at| (table.cell_cm, at, needed(table, &law, LIMITS_M_S[at])));
            let said = said_share(table, &law, LIMITS_M_S[0], 0.0);
            (needed, [said, said - true_share(table, LIMITS_M_S[0])])
        };
        let all: Vec<_> = tables.par_iter().map(of_table).collect();
        Self {
            needed: all.iter().flat_map(|(needed, _)| *needed).collect(),
            dead: all.iter().map(|(_, dead)| *dead).collect(),
        }
    }

    /// What the hardest size and limit on either side of the middle of sizes asks for.
    fn together(&self) -> [f64; 2] {
        [false, true].map(|is_coarse| {
            let of_side = self
                .needed
                .iter()
                .filter(|(cell_cm, ..)| (FeltLaw::blend(cell_cm / 100.0) > 0.5) == is_coarse);
            let asked = of_side.map(|(cell_cm, at, _)| {
                let alike = self
                    .needed
                    .iter()
                    .filter(|of| of.0 == *cell_cm && of.1 == *at);
                quantile(alike.map(|of| of.2).collect(), WITHIN)
            });
            asked.fold(0.0, f64::max)
        })
    }

    /// How well shares are known where there is little dead water.
    fn least(&self) -> f64 {
        let little = self.dead.iter().filter(|[said, _]| *said < LITTLE);
        quantile(little.map(|[_, off]| off.abs()).collect(), WITHIN_LEAST)
    }
}

/// Share of a table said to be slower than a limit where all middles lie `by` higher.
pub(crate) fn said_share(table: &Table, law: &FeltLaw, limit_m_s: f64, by: f64) -> f64 {
    let chance = |row: &Row| {
        let [middle, scale] = law.at(&row.features, table.cell_cm / 100.0);
        law.share_below((limit_m_s.ln() - middle - by) / scale)
    };
    table.rows.iter().map(chance).sum::<f64>() / table.rows.len() as f64
}

pub(crate) fn true_share(table: &Table, limit_m_s: f64) -> f64 {
    let slow = table.rows.iter().filter(|row| row.true_m_s < limit_m_s);
    slow.count() as f64 / table.rows.len() as f64
}

/// Half width of the share that a shift of all middles gives.
pub(crate) fn half_width(table: &Table, law: &FeltLaw, limit_m_s: f64, by: f64) -> f64 {
    let [low, middle, high] = [by, 0.0, -by].map(|by| said_share(table, law, limit_m_s, by));
    (high - middle).max(middle - low)
}

/// Least shift that holds the truth.
fn needed(table: &Table, law: &FeltLaw, limit_m_s: f64) -> f64 {
    let off = (true_share(table, limit_m_s) - said_share(table, law, limit_m_s, 0.0)).abs();
    let [mut low, mut high] = [0.0, 2.0];
    for _ in 0..8 {
        let middle = 0.5 * (low + high);
        if half_width(table, law, limit_m_s, middle) < off {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

fn round(law: &mut FeltLaw) {
    let lists = law.middle.iter_mut().chain(&mut law.scale).flatten();
    let pairs = law.seen.iter_mut().chain(&mut law.shape).flatten();
    for value in lists
        .chain(pairs)
        .chain(&mut law.together)
        .chain([&mut law.least])
    {
        *value = (*value * 1e5).round() / 1e5;
    }
}

/// The law as the file that the program reads.
pub(crate) fn as_text(law: &FeltLaw) -> String {
    let pretty = ron::ser::PrettyConfig::new().depth_limit(2);
    let text = ron::ser::to_string_pretty(law, pretty).expect("a law can be written");
    format!(
        "// How fast water really is, beside what the estimate says: written by the example `felt` of bommie-flow.\n{text}\n"
    )
}

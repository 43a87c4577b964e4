//! Lamps against the keeper's own meter: one factor a lamp, fitted within
//! bounds; the readings themselves are never changed.

use super::solver::LightSolver;
use crate::scene::{Quantity, Reading};
use crate::units::M_PER_CM;

/// Factors that a fit may give a lamp: beyond these something else is wrong
/// (a wrong place, a wrong channel, a meter that cannot see blue).
pub const FACTOR_BOUNDS: (f64, f64) = (0.2, 5.0);

/// A reading beside its estimate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LightResidual {
    /// Index of the reading among those handed in.
    pub reading_idx: usize,
    /// What the keeper measured, in µmol/m²/s.
    pub measured_umol: f64,
    /// The estimate with the lamps as the scene has them, in µmol/m²/s.
    pub before_umol: f64,
    /// The estimate with the fitted factors, in µmol/m²/s.
    pub after_umol: f64,
}

/// Lamps fitted to readings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LampFit {
    /// For each lamp of the layout: what its output should be multiplied by.
    pub factors: Vec<f64>,
    /// Whether any reading gets a twentieth of its light or more from that
    /// lamp; the factor of another one says nothing.
    pub seen: Vec<bool>,
    /// One for each light reading, in their order.
    pub residuals: Vec<LightResidual>,
}

/// Fits one factor to each lamp by bounded least squares.
///
/// A reading weighs by its stated spread, or by a tenth of its value and at
/// least 3 µmol/m²/s where none is stated (hobby quantum sensors, COMMON
/// PRACTICE). A hair of pull towards 1 decides between lamps that the
/// readings cannot tell apart. Readings of other quantities are left out.
pub fn fit_lamps(solver: &LightSolver, readings: &[&Reading]) -> LampFit {
    let outputs = solver.outputs_umol_s();
    let mut rows = Vec::new();
    for (reading_idx, reading) in readings.iter().enumerate() {
        let parts: Vec<f64> = match reading.quantity {
            Quantity::PpfdUp | Quantity::PpfdScalar => solver
                .sample_of_each(reading.at_cm * M_PER_CM, None)
                .iter()
                .zip(outputs)
                .map(|(one, output)| match reading.quantity {
                    Quantity::PpfdScalar => one.scalar_umol * output,
                    _ => one.up_umol * output,
                })
                .collect(),
            Quantity::Speed => continue,
        };
        let spread = reading
            .spread
            .filter(|spread| *spread > 0.0)
            .unwrap_or((0.1 * reading.measured()).max(3.0));
        rows.push(Row {
            reading_idx,
            measured: reading.measured(),
            weight: spread.powi(-2),
            parts,
        });
    }
    let factors = bounded_least_squares(&rows, outputs.len());
    let dot = |parts: &[f64]| -> f64 { parts.iter().zip(&factors).map(|(p, f)| p * f).sum() };
    let seen = (0..outputs.len())
        .map(|lamp| {
            rows.iter()
                .any(|row| row.parts[lamp] > 0.05 * row.parts.iter().sum::<f64>())
        })
        .collect();
    LampFit {
        seen,
        residuals: rows
            .iter()
            .map(|row| LightResidual {
                reading_idx: row.reading_idx,
                measured_umol: row.measured,
                before_umol: row.parts.iter().sum(),
                after_umol: dot(&row.parts),
            })
            .collect(),
        factors,
    }
}

struct Row {
    reading_idx: usize,
    measured: f64,
    weight: f64,
    /// Estimate by lamp, at its present output.
    parts: Vec<f64>,
}

/// Minimizes `Σ w (m − Σ f·p)² + pull·Σ (f − 1)²` with `f` in bounds, one
/// factor at a time; the sum is convex, so that this ends at its minimum.
fn bounded_least_squares(rows: &[Row], n_lamps: usize) -> Vec<f64> {
    const SWEEPS_MAX: usize = 10_000;
    const NEAR: f64 = 1e-10;
    let mut factors = vec![1.0; n_lamps];
    let largest = rows
        .iter()
        .flat_map(|row| row.parts.iter().map(|p| row.weight * p * p))
        .fold(0.0_f64, f64::max);
    let pull = 1e-6 * largest.max(1e-12);
    for _ in 0..SWEEPS_MAX {
        let mut change = 0.0_f64;
        for lamp in 0..n_lamps {
            let (mut top, mut bottom) = (pull, pull);
            for row in rows {
                let others: f64 = row
                    .parts
                    .iter()
                    .zip(&factors)
                    .enumerate()
                    .filter(|(i, _)| *i != lamp)
                    .map(|(_, (p, f))| p * f)
                    .sum();
                top += row.weight * row.parts[lamp] * (row.measured - others);
                bottom += row.weight * row.parts[lamp] * row.parts[lamp];
            }
            let next = (top / bottom).clamp(FACTOR_BOUNDS.0, FACTOR_BOUNDS.1);
            change = change.max((next - factors[lamp]).abs());
            factors[lamp] = next;
        }
        if change < NEAR {
            break;
        }
    }
    factors
}

//! The keeper's readings against the estimate: the value computed at each
//! place, and the factor for each lamp that brings light nearest to the meter.

use crate::advice::AdviceInput;
use crate::light::{LightSolver, fit_lamps};
use crate::scene::{ItemId, Quantity, Reading};
use crate::units::M_PER_CM;

/// A reading beside its estimate, in the reading's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingCheck {
    /// Which of the scene's readings.
    pub reading_idx: usize,
    /// What the keeper measured.
    pub measured: f64,
    /// What the estimate has there; none where it knows nothing.
    pub computed: Option<f64>,
    /// The same with the lamps' factors.
    pub fitted: Option<f64>,
}

impl ReadingCheck {
    /// Estimate less reading, as a share of the reading; none for a reading of
    /// zero.
    pub fn off_share(&self) -> Option<f64> {
        let computed = self.computed?;
        (self.measured > 0.0).then(|| computed / self.measured - 1.0)
    }
}

/// What the readings say of one lamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LampFactor {
    /// The lamp.
    pub id: ItemId,
    /// What its output should be multiplied by.
    pub factor: f64,
    /// Whether any reading lies in its light; else the factor says nothing.
    pub is_seen: bool,
}

/// All readings of a layout against its estimate.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingChecks {
    /// One for each reading of the layout.
    pub checks: Vec<ReadingCheck>,
    /// One for each lamp, if there is a reading of light.
    pub lamps: Vec<LampFactor>,
}

impl ReadingChecks {
    /// The check of a reading.
    pub fn of(&self, reading_idx: usize) -> Option<&ReadingCheck> {
        self.checks
            .iter()
            .find(|check| check.reading_idx == reading_idx)
    }

    /// Compares the readings of a layout with its estimates.
    pub(super) fn new(input: &AdviceInput<'_>, solver: Option<&LightSolver>) -> Self {
        let (scene, layout, flow) = (input.scene, input.layout, input.flow);
        let shown: Vec<(usize, &Reading)> = scene.readings_of(layout).collect();
        let readings: Vec<&Reading> = shown.iter().map(|(_, reading)| *reading).collect();
        let fit = solver.map(|solver| fit_lamps(solver, &readings));
        let check = |(nth, (reading_idx, reading)): (usize, &(usize, &Reading))| {
            let light = fit.as_ref().and_then(|fit| {
                let residuals = &fit.residuals;
                residuals
                    .iter()
                    .find(|residual| residual.reading_idx == nth)
            });
            let (computed, fitted) = match reading.quantity {
                Quantity::PpfdUp | Quantity::PpfdScalar => (
                    light.map(|light| light.before_umol),
                    light.map(|light| light.after_umol),
                ),
                // The estimate is of all pumps together.
                Quantity::Speed if reading.alone.is_some() => (None, None),
                Quantity::Speed => {
                    let sample = flow.and_then(|flow| flow.sample(reading.at_cm * M_PER_CM));
                    (sample.map(|sample| sample.speed_m_s / M_PER_CM), None)
                }
            };
            ReadingCheck {
                reading_idx: *reading_idx,
                measured: reading.measured(),
                computed,
                fitted,
            }
        };
        let lamps = fit
            .as_ref()
            .filter(|fit| !fit.residuals.is_empty())
            .map(|fit| {
                let lamps = layout.lamps.iter().zip(&fit.factors).zip(&fit.seen);
                lamps
                    .map(|((lamp, factor), is_seen)| LampFactor {
                        id: lamp.id,
                        factor: *factor,
                        is_seen: *is_seen,
                    })
                    .collect()
            });
        Self {
            checks: shown.iter().enumerate().map(check).collect(),
            lamps: lamps.unwrap_or_default(),
        }
    }
}

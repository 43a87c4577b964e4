//! How fast the water really is: at every place of a tank estimate the felt
//! speed as a distribution, and all verdicts on slow water from it.
//!
//! The felt speed is the root of the mean square speed over a cube of 2 cm, as
//! resolved tanks have it. `METHODS.md` has the page on how it was fitted and
//! how well what it says was borne out.

mod boxes;
mod features;
mod law;

use std::sync::{Arc, OnceLock};

use glam::DVec3;
use rayon::prelude::*;

use crate::geometry::CellGrid;
use crate::outlet::Outlet;
use crate::scene::finding::Certainty;
use crate::{Estimate, FlowField};
pub use features::{FEATURE_NAMES, Features, N_FEATURES, SPEED_FEATURES};
pub use law::{FeltLaw, is_finer_than_fitted};

/// From this chance on a verdict is sure.
pub const SURE: f64 = 0.90;

/// From this chance on it is likely.
pub const LIKELY: f64 = 0.66;

/// From this chance on water is called slow or dead at all: on the tanks of the
/// fit as much is called as truly is. With a half less would be called, since
/// single places are less sure than their sum.
pub const CALLED: f64 = 0.37;

/// Chances at the ends of the interval that is shown: eight of ten lie within.
pub const INTERVAL: [f64; 2] = [0.1, 0.9];

/// Speed below which water is slow, in m/s; dead water has a limit that the
/// keeper sets.
pub const SLOW_M_S: f64 = 0.05;

/// How sure a verdict with this chance is.
pub fn certainty(chance: f64) -> Certainty {
    if chance >= SURE {
        Certainty::Sure
    } else if chance >= LIKELY {
        Certainty::Likely
    } else {
        Certainty::Check
    }
}

/// The felt speed at one place.
#[derive(Clone, Copy, Debug)]
pub struct FeltSpeed {
    law: &'static FeltLaw,
    /// Logarithm of the speed in m/s that the shape lies around.
    middle: f64,
    scale: f64,
}

impl FeltSpeed {
    /// Speed that the water stays below with this chance, in m/s.
    pub fn quantile_m_s(&self, chance: f64) -> f64 {
        (self.middle + self.scale * self.law.distance(chance)).exp()
    }

    /// As likely above as below, in m/s.
    pub fn median_m_s(&self) -> f64 {
        self.quantile_m_s(0.5)
    }

    /// Ends of the 80 % interval, in m/s.
    pub fn interval_m_s(&self) -> [f64; 2] {
        INTERVAL.map(|chance| self.quantile_m_s(chance))
    }

    /// Chance that the water is slower than `limit_m_s`.
    pub fn chance_below(&self, limit_m_s: f64) -> f64 {
        self.chance_shifted(limit_m_s, 0.0)
    }

    fn chance_shifted(&self, limit_m_s: f64, by: f64) -> f64 {
        let limit = limit_m_s.max(1e-6).ln();
        (self.law).share_below((limit - self.middle - by) / self.scale)
    }
}

/// How far speeds that the estimate has at one place may be off: a mean speed, or
/// that of a phase of the pumps' programs, errs by the factor by which the felt
/// speed there does. `METHODS.md` has how that was borne out.
#[derive(Clone, Copy, Debug)]
pub struct SpeedError {
    felt: FeltSpeed,
    /// The felt speed as estimated, in m/s.
    estimated_m_s: f64,
}

impl SpeedError {
    /// Ends of the 80 % interval of what is estimated as `speed_m_s`, in m/s.
    pub fn interval_m_s(&self, speed_m_s: f64) -> [f64; 2] {
        let ends = self.felt.interval_m_s();
        ends.map(|end| end * speed_m_s / self.estimated_m_s)
    }

    /// Chance that what is estimated as `speed_m_s` is slower than `limit_m_s`.
    pub fn chance_below(&self, speed_m_s: f64, limit_m_s: f64) -> f64 {
        let felt_m_s = limit_m_s * self.estimated_m_s / speed_m_s.max(1e-6);
        self.felt.chance_below(felt_m_s)
    }
}

/// Water slower than a limit in a whole tank, as shares of its water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlowShare {
    /// Mean of the chances over the water.
    pub share: f64,
    /// Half width of its 80 % interval, for all places of a tank err partly
    /// together.
    pub half_width: f64,
}

/// The felt speed in all water of a tank estimate.
#[derive(Clone, Debug)]
pub struct FeltWater {
    law: &'static FeltLaw,
    grid: CellGrid,
    /// Middle and scale of each cell; a scale of zero where there is no water.
    cells: Vec<[f32; 2]>,
}

/// What a field needs to know its felt water, which is reckoned when it is
/// first asked for. A field made by hand has none.
#[derive(Clone, Debug, Default)]
pub struct FeltSource {
    outlets: Option<Arc<[Outlet]>>,
    water: Arc<OnceLock<Option<FeltWater>>>,
}

impl FeltSource {
    pub(crate) fn new(outlets: &[Outlet]) -> Self {
        Self {
            outlets: Some(outlets.into()),
            water: Arc::default(),
        }
    }

    /// For a field whose values are no longer those of the one it came from.
    pub(crate) fn anew(&self) -> Self {
        Self {
            outlets: self.outlets.clone(),
            water: Arc::default(),
        }
    }
}

impl FlowField {
    /// The felt speed in its water; none of a slice, which knows too little of
    /// its tank, and of a field that no solver made. The first call takes some
    /// tens of milliseconds.
    pub fn felt(&self) -> Option<&FeltWater> {
        let outlets = self.felt.outlets.as_ref()?;
        let new = || FeltWater::new(self, outlets);
        self.felt.water.get_or_init(new).as_ref()
    }
}

impl FlowField {
    /// How far its speeds at a place, in m, may be off; none of a slice, out of
    /// the water and where it stands still.
    pub fn speed_error(&self, at_m: DVec3) -> Option<SpeedError> {
        let felt = self.felt()?.at(at_m)?;
        let sample = self.sample(at_m)?;
        let estimated_m_s = sample.velocity_m_s.length().hypot(sample.fluctuation_m_s);
        (estimated_m_s > 0.0).then_some(SpeedError {
            felt,
            estimated_m_s,
        })
    }
}

/// Features of all cells of a tank estimate, for fitting.
pub fn cell_features(field: &FlowField) -> Vec<Features> {
    let outlets = field.felt.outlets.as_deref().unwrap_or_default();
    features::features(field, outlets)
}

/// Values at a place, between the middles of cells that are water as
/// [`FlowField::sample`] has it. None out of the water.
pub fn between<const N: usize>(
    grid: &CellGrid,
    at_m: DVec3,
    value: impl Fn(usize) -> Option<[f32; N]>,
) -> Option<[f32; N]> {
    let place = (at_m - grid.origin_m) / grid.cell_m - 0.5;
    let (mut sum, mut weights) = ([0.0; N], 0.0);
    for corner in 0..8_usize {
        let mut weight = 1.0;
        let mut cell = [0; 3];
        for axis in 0..3 {
            let last = grid.n[axis] as f64 - 1.0;
            if place[axis] < -0.5 - 1e-9 || place[axis] > last + 0.5 + 1e-9 {
                return None;
            }
            let position = place[axis].clamp(0.0, last);
            let low = (position.floor() as usize).min(grid.n[axis].saturating_sub(2));
            let share = (position - low as f64) as f32;
            let high = corner >> axis & 1;
            weight *= if high == 1 { share } else { 1.0 - share };
            cell[axis] = (low + high).min(grid.n[axis] - 1);
        }
        if weight > 0.0
            && let Some(values) = value(grid.idx(cell))
        {
            weights += weight;
            for (sum, value) in sum.iter_mut().zip(values) {
                *sum += weight * value;
            }
        }
    }
    (weights > 1e-6).then(|| sum.map(|x| x / weights))
}

impl FeltWater {
    fn new(field: &FlowField, outlets: &[Outlet]) -> Option<Self> {
        if field.estimate != Estimate::Tank {
            return None;
        }
        let law = law::built_in()?;
        let of = |features: &Features| {
            if features[0] > 0.0 {
                law.at(features, field.grid.cell_m).map(|x| x as f32)
            } else {
                [0.0; 2]
            }
        };
        let features = features::features(field, outlets);
        Some(Self {
            law,
            grid: field.grid,
            cells: features.par_iter().map(of).collect(),
        })
    }

    /// At a place, in m; none out of the water.
    pub fn at(&self, at_m: DVec3) -> Option<FeltSpeed> {
        let value = |idx: usize| Some(self.cells[idx]).filter(|[_, scale]| *scale > 0.0);
        between(&self.grid, at_m, value).map(|of| self.speed(of))
    }

    /// In a cell of the field; none where it is not water.
    pub fn cell(&self, idx: usize) -> Option<FeltSpeed> {
        let of = *self.cells.get(idx)?;
        (of[1] > 0.0).then(|| self.speed(of))
    }

    fn speed(&self, [middle, scale]: [f32; 2]) -> FeltSpeed {
        FeltSpeed {
            law: self.law,
            middle: middle.into(),
            scale: scale.into(),
        }
    }

    /// Water slower than a limit.
    pub fn slow_share(&self, limit_m_s: f64) -> SlowShare {
        let together = self.law.together(self.grid.cell_m);
        let cells: Vec<[f64; 3]> = (0..self.cells.len())
            .into_par_iter()
            .filter_map(|idx| {
                let felt = self.cell(idx)?;
                Some([-together, 0.0, together].map(|by| felt.chance_shifted(limit_m_s, by)))
            })
            .collect();
        let n = (cells.len() as f64).max(1.0);
        // Summed in order, so that threads do not change it.
        let [high, share, low] =
            [0, 1, 2].map(|k| cells.iter().map(|cell| cell[k]).sum::<f64>() / n);
        SlowShare {
            share,
            half_width: (high - share).max(share - low).max(self.law.least),
        }
    }
}

#[cfg(test)]
mod tests;

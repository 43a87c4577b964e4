//! The result of a flow run: time averages in every cell, in SI.

use glam::DVec3;
use serde::{Deserialize, Serialize};

use crate::ComputedOn;
use crate::felt::FeltSource;
use crate::geometry::CellGrid;
use crate::scene::ItemId;

/// What fills a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize)]
pub enum CellKind {
    /// Moving water (also where a coral slows it).
    Water,
    /// Rock.
    Rock,
    /// The bed.
    Sand,
    /// Anything else that water cannot pass: a pump's body, a solid coral.
    Blocked,
}

/// Which of the two estimates a field is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize)]
pub enum Estimate {
    /// A plane cut with one layer of cells: fast, and overstates reach.
    PlanSlice,
    /// The same, standing upright along x.
    SideSlice,
    /// The whole tank.
    Tank,
}

/// How far the averages of a run have come to rest.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize, Serialize)]
pub struct Settling {
    /// Whether the stated tolerance was reached.
    pub settled: bool,
    /// Tank time that the averages cover, in s.
    pub averaged_s: f64,
    /// Volume mean of the mean speed, in m/s.
    pub mean_speed_m_s: f64,
    /// Half width of its 95 % confidence interval, in m/s.
    pub mean_speed_half_width_m_s: f64,
    /// Share of the water slower than the limit.
    pub dead_share: f64,
    /// Half width of its 95 % confidence interval.
    pub dead_share_half_width: f64,
    /// Share of the water in which several runs go different ways; zero for one
    /// run, which cannot know.
    pub flip_share: f64,
}

/// Averages over time, one value a cell of `grid`.
///
/// A slice has one cell in the direction that it does not resolve. Values in
/// cells that are not water are zero.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct FlowField {
    /// The cells.
    pub grid: CellGrid,
    /// Which estimate this is.
    pub estimate: Estimate,
    /// What fills each cell.
    pub kind: Vec<CellKind>,
    /// Mean velocity, in m/s.
    pub velocity_m_s: Vec<[f32; 3]>,
    /// Time mean of the speed, what a coral feels, in m/s.
    pub speed_m_s: Vec<f32>,
    /// Root mean square of the deviation from the mean velocity, all three
    /// directions together, in m/s.
    pub fluctuation_m_s: Vec<f32>,
    /// Share of time below `slow_limit_m_s`.
    pub slow_share: Vec<f32>,
    /// Half width of the 95 % confidence interval of `speed_m_s`, in m/s.
    pub speed_half_width_m_s: Vec<f32>,
    /// Speed below which water counts as slow, in m/s.
    pub slow_limit_m_s: f64,
    /// How settled the averages are.
    pub settling: Settling,
    /// What it was computed on.
    pub computed_on: ComputedOn,
    /// How many runs were made. The averages are those of the runs that began
    /// straight.
    pub n_runs: usize,
    /// Whether those runs are apart in each cell, so that the flow may flip from
    /// one of their pictures to another; empty for a single run, which cannot
    /// know.
    pub may_flip: Vec<bool>,
    /// The speed while the same pumps run; empty where no pump changes, and for
    /// slices.
    pub phases: Vec<PumpPhase>,
    /// What [`Self::felt`] needs; nothing for a field made by hand, and what has
    /// been read gets it by [`FlowSetup::recalled`](crate::FlowSetup::recalled).
    #[serde(skip)]
    pub felt: FeltSource,
}

/// The time in which the same pumps run.
#[derive(Clone, Debug, PartialEq, Deserialize, Serialize)]
pub struct PumpPhase {
    /// Which of the pumps that change run, by their ids.
    pub running: Vec<ItemId>,
    /// Share of the time for which they do.
    pub share: f64,
    /// Mean of the speed in each cell meanwhile, in m/s.
    pub speed_m_s: Vec<f32>,
}

/// What the pumps' programs make of the speed at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverPhases {
    /// Mean over all phases, each by its share of the time, in m/s.
    pub mean_m_s: f64,
    /// Least mean of a phase, in m/s.
    pub worst_m_s: f64,
    /// Number of that phase in [`FlowField::phases`].
    pub worst: usize,
    /// Highest mean of a phase, in m/s.
    pub peak_m_s: f64,
    /// Number of that phase.
    pub peak: usize,
}

/// The averages at one place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FlowSample {
    /// Mean velocity, in m/s.
    pub velocity_m_s: DVec3,
    /// Time mean of the speed, in m/s.
    pub speed_m_s: f64,
    /// Root mean square deviation from the mean velocity, in m/s.
    pub fluctuation_m_s: f64,
}

impl FlowField {
    /// Whether every list has a value for each cell; what was read from a file
    /// need not.
    pub fn is_whole(&self) -> bool {
        let n = self.grid.n_cells();
        let values = [
            &self.speed_m_s,
            &self.fluctuation_m_s,
            &self.slow_share,
            &self.speed_half_width_m_s,
        ];
        self.kind.len() == n
            && self.velocity_m_s.len() == n
            && values.iter().all(|list| list.len() == n)
            && (self.may_flip.is_empty() || self.may_flip.len() == n)
            && self.phases.iter().all(|phase| phase.speed_m_s.len() == n)
    }

    /// Averages at `at_m`, interpolated between the centers of water cells
    /// (a cell that is not water takes no part); `None` where no water cell is
    /// near or outside the block. A slice answers for any depth.
    pub fn sample(&self, at_m: DVec3) -> Option<FlowSample> {
        let corners = self.corners(at_m)?;
        let mut sum = FlowSample::default();
        let mut weight_sum = 0.0;
        for (idx, weight) in corners {
            if weight > 0.0 {
                let [u, v, w] = self.velocity_m_s[idx];
                sum.velocity_m_s += DVec3::new(u.into(), v.into(), w.into()) * weight;
                sum.speed_m_s += f64::from(self.speed_m_s[idx]) * weight;
                sum.fluctuation_m_s += f64::from(self.fluctuation_m_s[idx]) * weight;
                weight_sum += weight;
            }
        }
        (weight_sum > 1e-6).then(|| FlowSample {
            velocity_m_s: sum.velocity_m_s / weight_sum,
            speed_m_s: sum.speed_m_s / weight_sum,
            fluctuation_m_s: sum.fluctuation_m_s / weight_sum,
        })
    }

    /// What the pumps' programs make of the speed at `at_m`, between cells as
    /// [`Self::sample`] has it; `None` there and where no pump changes.
    pub fn over_phases(&self, at_m: DVec3) -> Option<OverPhases> {
        if self.phases.len() < 2 {
            return None;
        }
        let corners = self.corners(at_m)?;
        let weights: f64 = corners.iter().map(|(_, weight)| weight).sum();
        if weights <= 1e-6 {
            return None;
        }
        let of = |phase: &PumpPhase| {
            let parts = corners.iter();
            let sum: f64 = parts
                .map(|(idx, weight)| f64::from(phase.speed_m_s[*idx]) * weight)
                .sum();
            sum / weights
        };
        let speeds: Vec<f64> = self.phases.iter().map(of).collect();
        let (mut worst, mut peak, mut mean_m_s, mut shares) = (0, 0, 0.0, 0.0);
        for (at, (speed, phase)) in speeds.iter().zip(&self.phases).enumerate() {
            mean_m_s += phase.share * speed;
            shares += phase.share;
            if *speed < speeds[worst] {
                worst = at;
            }
            if *speed > speeds[peak] {
                peak = at;
            }
        }
        Some(OverPhases {
            mean_m_s: mean_m_s / shares,
            worst_m_s: speeds[worst],
            worst,
            peak_m_s: speeds[peak],
            peak,
        })
    }

    /// The cells around a place with their weights; zero where a cell is not
    /// water. `None` outside the block.
    fn corners(&self, at_m: DVec3) -> Option<[(usize, f64); 8]> {
        let place = (at_m - self.grid.origin_m) / self.grid.cell_m - 0.5;
        let mut corners = [(0, 0.0); 8];
        for (corner, entry) in corners.iter_mut().enumerate() {
            let mut weight = 1.0;
            let mut cell = [0_usize; 3];
            for axis in 0..3 {
                let n = self.grid.n[axis];
                let position = if n == 1 { 0.0 } else { place[axis] };
                if position < -0.5 - 1e-9 || position > n as f64 - 0.5 + 1e-9 {
                    return None;
                }
                let position = position.clamp(0.0, n as f64 - 1.0);
                let low = (position.floor() as usize).min(n.saturating_sub(2));
                let share = position - low as f64;
                let high = corner >> axis & 1;
                weight *= if high == 1 { share } else { 1.0 - share };
                cell[axis] = (low + high).min(n - 1);
            }
            let idx = self.grid.idx(cell);
            if self.kind[idx] == CellKind::Water {
                *entry = (idx, weight);
            }
        }
        Some(corners)
    }

    /// How many cells are water.
    pub fn n_water(&self) -> usize {
        let water = self.kind.iter().filter(|kind| **kind == CellKind::Water);
        water.count()
    }

    /// Volume of one cell, in m³; a slice is taken as one cell thick.
    pub fn cell_volume_m3(&self) -> f64 {
        self.grid.cell_m.powi(3)
    }
}

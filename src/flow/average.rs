//! Averages over time and how sure they are.
//!
//! Samples are gathered in batches of equal length. The spread of batch means
//! gives the confidence interval; what neighboring batches share widens it by
//! `(1 + r)/(1 − r)`, with `r` the correlation of the volume-mean speed from
//! one batch to the next, or by more if longer blocks of batches ask for it.

use std::cmp::Ordering;

use rayon::prelude::*;

use crate::FlowError;
use crate::engine::Engine;
use crate::field::Settling;
use crate::lanes::BLOCK;
use crate::phases::{PhaseMean, PhaseSums};
use crate::sampling::BlockSums;
use crate::scene::ItemId;

/// Student's t for a two-sided 95 % interval is near 2 from eight batches on;
/// below that this many batches are too few to say anything.
const BATCHES_MIN: usize = 6;

/// Half width of a 95 % interval in standard errors.
const T_95: f64 = 2.1;

/// Half width of the 95 % interval in a place, as a share of the speed there,
/// root mean square over the water of both, below which the picture counts as
/// settled; own choice, `EXPERIMENTS.md`.
const PICTURE_TOLERANCE: f64 = 0.35;

/// What a cell keeps of finished batches.
#[derive(Clone, Debug, Default)]
struct BlockBatches {
    mean: [f32; BLOCK],
    square: [f32; BLOCK],
}

/// Running averages of a kernel.
#[derive(Clone, Debug)]
pub(crate) struct Averages {
    total: Vec<BlockSums>,
    batch: Vec<BlockSums>,
    batches: Vec<BlockBatches>,
    samples: u64,
    batch_samples: u64,
    /// Samples that the card keeps until the batch is full.
    kept_samples: u64,
    samples_per_batch: u64,
    /// Volume-mean speed of each finished batch, in lattice units.
    batch_speed: Vec<f64>,
    /// The speed while the same pumps run, where any change.
    phases: PhaseSums,
}

/// Averages of one cell, in lattice units.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct CellMeans {
    pub(crate) velocity: [f64; 3],
    pub(crate) speed: f64,
    pub(crate) fluctuation: f64,
    pub(crate) slow_share: f64,
    pub(crate) speed_half_width: f64,
}

impl Averages {
    pub(crate) fn new(n_blocks: usize, samples_per_batch: u64) -> Self {
        Self {
            total: vec![BlockSums::default(); n_blocks],
            batch: vec![BlockSums::default(); n_blocks],
            batches: vec![BlockBatches::default(); n_blocks],
            samples: 0,
            batch_samples: 0,
            kept_samples: 0,
            samples_per_batch: samples_per_batch.max(1),
            batch_speed: Vec::new(),
            phases: PhaseSums::default(),
        }
    }

    /// Forgets everything.
    pub(crate) fn restart(&mut self, engine: &mut Engine) -> Result<(), FlowError> {
        *self = Self::new(self.total.len(), self.samples_per_batch);
        engine.forget_samples()
    }

    /// How many batches are finished.
    pub(crate) fn batches(&self) -> u64 {
        self.batch_speed.len() as u64
    }

    pub(crate) fn samples(&self) -> u64 {
        self.samples + self.batch_samples
    }

    /// Adds what the water shows now.
    pub(crate) fn sample(
        &mut self,
        engine: &mut Engine,
        slow_lu: f32,
        n_water: usize,
    ) -> Result<(), FlowError> {
        engine.sample(&mut self.batch, slow_lu)?;
        if engine.keeps_samples() {
            self.kept_samples += 1;
        } else {
            self.batch_samples += 1;
        }
        self.phases.count();
        if self.batch_samples + self.kept_samples == self.samples_per_batch {
            self.collect(engine)?;
            self.close_batch(n_water);
        }
        Ok(())
    }

    /// From now on these of the pumps that change run.
    pub(crate) fn run_with(
        &mut self,
        engine: &mut Engine,
        running: Vec<ItemId>,
    ) -> Result<(), FlowError> {
        if self.phases.is_another(&running) {
            self.collect(engine)?;
            self.phases.begin(running, &self.batch);
        }
        Ok(())
    }

    /// The speed of each phase so far.
    pub(crate) fn phases(&self) -> Vec<PhaseMean> {
        let is_whole = self.kept_samples == 0;
        self.phases.means(is_whole.then_some(self.batch.as_slice()))
    }

    fn collect(&mut self, engine: &mut Engine) -> Result<(), FlowError> {
        engine.collect(&mut self.batch)?;
        self.batch_samples += std::mem::take(&mut self.kept_samples);
        Ok(())
    }

    fn close_batch(&mut self, n_water: usize) {
        self.phases.close(&self.batch);
        let n = self.batch_samples as f32;
        let all = self
            .total
            .par_iter_mut()
            .zip(&mut self.batch)
            .zip(&mut self.batches);
        // Summed in order afterwards, so that threads do not change it.
        let speeds: Vec<f64> = all
            .map(|((total, batch), kept)| {
                let mut sum = 0.0;
                for lane in 0..BLOCK {
                    for a in 0..3 {
                        total.velocity[a][lane] += batch.velocity[a][lane];
                    }
                    total.speed[lane] += batch.speed[lane];
                    total.square[lane] += batch.square[lane];
                    total.slow[lane] += batch.slow[lane];
                    let mean = batch.speed[lane] / n;
                    kept.mean[lane] += mean;
                    kept.square[lane] += mean * mean;
                    sum += f64::from(mean);
                }
                *batch = BlockSums::default();
                sum
            })
            .collect();
        self.batch_speed
            .push(speeds.iter().sum::<f64>() / n_water as f64);
        self.samples += self.batch_samples;
        self.batch_samples = 0;
    }

    /// By how much correlation widens an interval made of batch means: what
    /// neighbors share, or what means of longer and longer blocks of batches
    /// show beyond it, whichever is more.
    ///
    /// **Source** Flyvbjerg & Petersen 1989, J. Chem. Phys. 91:461. MEMORY.
    pub(crate) fn widening(&self) -> f64 {
        let x = &self.batch_speed;
        let n = x.len() as f64;
        let mean = x.iter().sum::<f64>() / n;
        let variance: f64 = x.iter().map(|x| (x - mean).powi(2)).sum();
        let shared: f64 = x.windows(2).map(|w| (w[0] - mean) * (w[1] - mean)).sum();
        if variance.partial_cmp(&0.0) != Some(Ordering::Greater) {
            return 1.0;
        }
        let r = (shared / variance).clamp(0.0, 0.8);
        let single = variance_of_mean(x);
        let (mut widest, mut blocks) = ((1.0 + r) / (1.0 - r), x.clone());
        while blocks.len() >= 2 * BATCHES_MIN {
            // An odd one out is the oldest.
            let odd = blocks.len() % 2;
            let pairs = blocks[odd..].chunks_exact(2);
            blocks = pairs.map(|pair| f64::midpoint(pair[0], pair[1])).collect();
            widest = f64::max(widest, variance_of_mean(&blocks) / single);
        }
        widest.sqrt()
    }

    /// Averages of the cell that is kept at a place.
    pub(crate) fn cell(&self, place: u32, widening: f64) -> CellMeans {
        let (block, lane) = (place as usize / BLOCK, place as usize % BLOCK);
        let n = self.samples() as f64;
        if n == 0.0 {
            return CellMeans::default();
        }
        let (total, batch, kept) = (&self.total[block], &self.batch[block], &self.batches[block]);
        let mean = |a: &[f32; BLOCK], b: &[f32; BLOCK]| f64::from(a[lane] + b[lane]) / n;
        let velocity: [f64; 3] =
            std::array::from_fn(|a| mean(&total.velocity[a], &batch.velocity[a]));
        let mean_square: f64 = velocity.iter().map(|u| u * u).sum();
        let speed = mean(&total.speed, &batch.speed);
        let batches = self.batch_speed.len();
        let speed_half_width = if batches < BATCHES_MIN {
            speed
        } else {
            let n = batches as f64;
            let mean = f64::from(kept.mean[lane]) / n;
            let variance = (f64::from(kept.square[lane]) / n - mean * mean).max(0.0);
            T_95 * widening * (variance / (n - 1.0)).sqrt()
        };
        CellMeans {
            velocity,
            speed,
            fluctuation: (mean(&total.square, &batch.square) - mean_square)
                .max(0.0)
                .sqrt(),
            slow_share: mean(&total.slow, &batch.slow),
            speed_half_width,
        }
    }

    /// How settled the averages of the cells at `places` are, in lattice units of
    /// speed and `sample_s` seconds a sample; `tolerance` as in the options.
    pub(crate) fn settling(&self, places: &[u32], limits: &Limits) -> Settling {
        let n = places.len().max(1) as f64;
        let counts = self.counts(places, limits.slow_lu);
        let mean = counts.speed / n;
        let batches = self.batch_speed.len();
        let half = if batches < BATCHES_MIN {
            mean
        } else {
            let k = batches as f64;
            let middle = self.batch_speed.iter().sum::<f64>() / k;
            let square: f64 = self.batch_speed.iter().map(|x| (x - middle).powi(2)).sum();
            T_95 * self.widening() * (square / (k * (k - 1.0))).sqrt()
        };
        // Cells err partly together: half of the interval that would follow if
        // they all erred the same way.
        let dead_half = if batches < BATCHES_MIN {
            1.0
        } else {
            0.25 * (counts.slow[0] - counts.slow[2]) as f64 / n
        };
        let averaged_s = self.samples() as f64 * limits.sample_s;
        Settling {
            settled: averaged_s >= limits.shortest_s
                && half <= limits.tolerance * mean
                && dead_half <= limits.tolerance
                && counts.unsure <= PICTURE_TOLERANCE.powi(2) * counts.square,
            averaged_s,
            mean_speed_m_s: mean * limits.speed_m_s,
            mean_speed_half_width_m_s: half * limits.speed_m_s,
            dead_share: counts.slow[1] as f64 / n,
            dead_share_half_width: dead_half,
            flip_share: 0.0,
        }
    }
}

/// Sums over cells.
#[derive(Clone, Copy, Debug, Default)]
struct Counts {
    /// Of their mean speeds, in lattice units.
    speed: f64,
    /// Of the squares of their mean speeds.
    square: f64,
    /// Of the squares of the half widths of their intervals.
    unsure: f64,
    /// How many are slow at the lower end of their interval, in its middle and
    /// at its upper end.
    slow: [usize; 3],
}

impl Averages {
    fn counts(&self, places: &[u32], slow_lu: f64) -> Counts {
        const AT_ONCE: usize = 8_192;
        let widening = self.widening();
        let of_some = |places: &[u32]| {
            let mut counts = Counts::default();
            for place in places {
                let cell = self.cell(*place, widening);
                counts.speed += cell.speed;
                counts.square += cell.speed.powi(2);
                counts.unsure += cell.speed_half_width.powi(2);
                for (slow, end) in counts.slow.iter_mut().zip([-1.0, 0.0, 1.0]) {
                    *slow += usize::from(cell.speed + end * cell.speed_half_width < slow_lu);
                }
            }
            counts
        };
        // Summed in order afterwards, so that threads do not change it.
        let parts: Vec<Counts> = places.par_chunks(AT_ONCE).map(of_some).collect();
        parts.iter().fold(Counts::default(), |all, part| Counts {
            speed: all.speed + part.speed,
            square: all.square + part.square,
            unsure: all.unsure + part.unsure,
            slow: std::array::from_fn(|k| all.slow[k] + part.slow[k]),
        })
    }
}

/// What averages are held against.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    /// Speed below which water counts as slow, in cells a step.
    pub(crate) slow_lu: f64,
    /// Tank time between samples, in s.
    pub(crate) sample_s: f64,
    /// Shortest tank time that must be covered, in s.
    pub(crate) shortest_s: f64,
    /// Wanted tolerance.
    pub(crate) tolerance: f64,
    /// Metres a second in a cell a step.
    pub(crate) speed_m_s: f64,
}

/// Variance of the mean of values that have nothing in common.
fn variance_of_mean(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    values.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n * (n - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with_batches(batch_speed: Vec<f64>) -> Averages {
        Averages {
            batch_speed,
            ..Averages::new(0, 1)
        }
    }

    #[test]
    fn slow_swings_widen_an_interval_more_than_neighbors_tell() {
        let from = |value: fn(usize) -> f64| with_batches((0..48).map(value).collect());
        let still = from(|_| 1.0).widening();
        assert!((still - 1.0).abs() < 1e-12, "nothing to widen: {still}");
        let quick = from(|k| 1.0 + 0.1 * f64::from(k as u32 % 2)).widening();
        assert!((quick - 1.0).abs() < 1e-12, "swings that cancel: {quick}");
        // Eight batches up, eight down. By hand: from batch to batch they share
        // 37/47 of the variance once the two ends count, but blocks of four hold
        // all of it: 48/4 values in place of 48, widened by about √4.3.
        let slow = from(|k| 1.0 + 0.1 * f64::from((k / 8) as u32 % 2)).widening();
        assert!(slow > 2.0, "swings of sixteen batches: {slow}");
    }
}

//! Who runs when: which pumps run together, and what the water does meanwhile.
//!
//! A cycle of up to [`CYCLE_MAX_S`] is followed as it is. Pumps that change
//! more slowly are taken phase by phase: each set of them that runs together
//! is solved until it is steady, and counts for its share of the time.

use rayon::prelude::*;

use crate::lanes::BLOCK;
use crate::sampling::BlockSums;
use crate::scene::{ItemId, Programme};

/// Longest cycle that is followed, in s.
///
/// **Source** own choice: a tank takes some 10 to 20 s to follow its pumps, so
/// that much longer phases are steady ones.
pub(crate) const CYCLE_MAX_S: f64 = 60.0;

/// Most sets of pumps that are told apart; own choice. Slow programmes that
/// make more are followed as if they were as short as [`CYCLE_MAX_S`].
const PHASES_MAX: usize = 16;

/// Phases that hold for a smaller share of the time are left out: two clocks
/// that are not quite alike.
const SHARE_MIN: f64 = 0.01;

/// How a source takes part in its programme.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Turn {
    /// It changes as time passes.
    #[default]
    Followed,
    /// It runs all the time of this phase.
    Running,
    /// It rests all the time of this phase.
    Resting,
}

/// Slow pumps that run together.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LongPhase {
    /// The turn of each source.
    pub(crate) turns: Vec<Turn>,
    /// Share of the time for which it holds.
    pub(crate) share: f64,
}

/// Length of a programme's cycle, in s; none if it does not change.
pub(crate) fn period_s(programme: Programme) -> Option<f64> {
    match programme {
        Programme::Steady => None,
        Programme::Pulse { period_s, .. } | Programme::Alternate { period_s, .. } => {
            (period_s > 0.0).then_some(period_s)
        }
    }
}

/// Whether a pump runs at a share of its cycle.
pub(crate) fn runs_at(programme: Programme, at: f64) -> bool {
    match programme {
        Programme::Steady => true,
        Programme::Pulse { share, .. } => at < share,
        Programme::Alternate { turn, of, .. } => (at * f64::from(of.max(1))) as u32 == turn,
    }
}

/// The phases of slow programmes, in the order in which they first come; a
/// single one where none is slow.
pub(crate) fn long_phases(programmes: &[Programme]) -> Vec<LongPhase> {
    /// How often the programmes are looked at, over how many of their longest
    /// cycles: enough for those that have no common one.
    const LOOKS: u32 = 1 << 15;
    const CYCLES: f64 = 8.0;
    let slow_s = |programme: Programme| period_s(programme).filter(|s| *s > CYCLE_MAX_S);
    let slow: Vec<Option<f64>> = programmes.iter().map(|of| slow_s(*of)).collect();
    let followed = vec![LongPhase {
        turns: vec![Turn::Followed; programmes.len()],
        share: 1.0,
    }];
    let Some(longest_s) = slow.iter().flatten().copied().reduce(f64::max) else {
        return followed;
    };
    let mut phases: Vec<LongPhase> = Vec::new();
    for look in 0..LOOKS {
        let time_s = CYCLES * longest_s * (f64::from(look) + 0.5) / f64::from(LOOKS);
        let turn = |(programme, slow): (&Programme, &Option<f64>)| match slow {
            None => Turn::Followed,
            Some(period_s) if runs_at(*programme, (time_s / period_s).fract()) => Turn::Running,
            Some(_) => Turn::Resting,
        };
        let turns: Vec<Turn> = programmes.iter().zip(&slow).map(turn).collect();
        let known = phases.iter().position(|phase| phase.turns == turns);
        let at = known.unwrap_or_else(|| {
            phases.push(LongPhase { turns, share: 0.0 });
            phases.len() - 1
        });
        phases[at].share += 1.0 / f64::from(LOOKS);
        if phases.len() > 4 * PHASES_MAX {
            return followed;
        }
    }
    phases.retain(|phase| phase.share >= SHARE_MIN);
    if phases.len() > PHASES_MAX {
        return followed;
    }
    let sum: f64 = phases.iter().map(|phase| phase.share).sum();
    for phase in &mut phases {
        phase.share /= sum;
    }
    phases
}

/// The speed while the same pumps run.
#[derive(Clone, Debug)]
pub(crate) struct PhaseMean {
    /// Which of the pumps that change run.
    pub(crate) running: Vec<ItemId>,
    /// Share of the time for which they do.
    pub(crate) share: f64,
    /// Mean speed where averages keep each cell, in lattice units.
    pub(crate) speed: Vec<f32>,
}

/// Sums of the speed while the same pumps run, of one run.
#[derive(Clone, Debug, Default)]
pub(crate) struct PhaseSums {
    phases: Vec<Phase>,
    /// Sums of the batch when the phase began.
    mark: Vec<f32>,
    current: Option<usize>,
    /// Samples since then.
    pending: u64,
    /// Whether there were more sets of pumps than are told apart.
    are_too_many: bool,
}

#[derive(Clone, Debug)]
struct Phase {
    running: Vec<ItemId>,
    samples: u64,
    speed: Vec<f32>,
}

impl PhaseSums {
    /// Whether other pumps run than at the last sample.
    pub(crate) fn is_another(&self, running: &[ItemId]) -> bool {
        let now = self.current.map(|at| self.phases[at].running.as_slice());
        now != Some(running)
    }

    /// From now on these pumps run; `batch` holds all samples so far.
    pub(crate) fn begin(&mut self, running: Vec<ItemId>, batch: &[BlockSums]) {
        self.add(batch);
        self.mark.clear();
        self.mark.extend(batch.iter().flat_map(|block| block.speed));
        let known = self.phases.iter().position(|of| of.running == running);
        self.current = match known {
            Some(at) => Some(at),
            None if self.phases.len() == PHASES_MAX => {
                self.are_too_many = true;
                None
            }
            None => {
                self.phases.push(Phase {
                    running,
                    samples: 0,
                    speed: vec![0.0; batch.len() * BLOCK],
                });
                Some(self.phases.len() - 1)
            }
        };
    }

    /// One more sample was taken.
    pub(crate) fn count(&mut self) {
        self.pending += 1;
    }

    /// The batch is full and begins anew.
    pub(crate) fn close(&mut self, batch: &[BlockSums]) {
        self.add(batch);
        self.mark.fill(0.0);
    }

    fn add(&mut self, batch: &[BlockSums]) {
        if let Some(at) = self.current {
            let phase = &mut self.phases[at];
            phase.samples += self.pending;
            let sums = phase.speed.par_chunks_exact_mut(BLOCK);
            let marks = self.mark.par_chunks_exact(BLOCK);
            sums.zip(marks)
                .zip(batch)
                .for_each(|((sums, marks), batch)| {
                    for ((sum, mark), now) in sums.iter_mut().zip(marks).zip(&batch.speed) {
                        *sum += now - mark;
                    }
                });
        }
        self.pending = 0;
    }

    /// What there is of each phase, with what an open batch holds if its samples
    /// are all in it; nothing where there are too many.
    pub(crate) fn means(&self, open: Option<&[BlockSums]>) -> Vec<PhaseMean> {
        if self.are_too_many {
            return Vec::new();
        }
        let mut phases = self.phases.clone();
        if let (Some(batch), Some(at)) = (open, self.current) {
            let phase = &mut phases[at];
            phase.samples += self.pending;
            let now = batch.iter().flat_map(|block| block.speed);
            for ((sum, mark), now) in phase.speed.iter_mut().zip(&self.mark).zip(now) {
                *sum += now - mark;
            }
        }
        phases.retain(|phase| phase.samples > 0);
        let all: u64 = phases.iter().map(|phase| phase.samples).sum();
        let mean = |mut phase: Phase| {
            for sum in &mut phase.speed {
                *sum /= phase.samples as f32;
            }
            PhaseMean {
                running: phase.running,
                share: phase.samples as f64 / all as f64,
                speed: phase.speed,
            }
        };
        phases.into_iter().map(mean).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alternate(period_s: f64, turn: u32, of: u32) -> Programme {
        Programme::Alternate {
            set: 1,
            period_s,
            turn,
            of,
        }
    }

    fn pulse(period_s: f64, share: f64) -> Programme {
        Programme::Pulse { period_s, share }
    }

    #[test]
    fn slow_sets_are_taken_phase_by_phase_and_quick_ones_followed() {
        let quick = [
            alternate(10.0, 0, 2),
            alternate(10.0, 1, 2),
            pulse(2.0, 0.3),
        ];
        assert_eq!(long_phases(&quick).len(), 1, "all is followed");
        let slow = [
            alternate(900.0, 0, 2),
            alternate(900.0, 1, 2),
            pulse(2.0, 0.3),
        ];
        let phases = long_phases(&slow);
        let [a, b] = [Turn::Running, Turn::Resting];
        assert_eq!(
            phases.iter().map(|of| of.turns.clone()).collect::<Vec<_>>(),
            [vec![a, b, Turn::Followed], vec![b, a, Turn::Followed]],
            "one after the other"
        );
        assert!(phases.iter().all(|of| (of.share - 0.5).abs() < 1e-3));
    }

    #[test]
    fn clocks_without_a_common_cycle_meet_by_the_product_of_their_shares() {
        let phases = long_phases(&[pulse(1000.0, 0.25), pulse(731.0, 0.6)]);
        for phase in &phases {
            let share = |turn: Turn, share: f64| match turn {
                Turn::Running => share,
                _ => 1.0 - share,
            };
            let expected = share(phase.turns[0], 0.25) * share(phase.turns[1], 0.6);
            // Eight cycles of the slower, eleven of the quicker: within a sixteenth.
            assert!(
                (phase.share - expected).abs() < 1.0 / 16.0,
                "{phase:?} against {expected}"
            );
        }
        assert_eq!(phases.len(), 4, "both, either, none");
        let one = long_phases(&[pulse(1000.0, 0.25), pulse(1000.0, 0.6)]);
        let shares: Vec<f64> = one.iter().map(|of| of.share).collect();
        assert_eq!(one.len(), 3, "they begin together: {one:?}");
        for (got, expected) in shares.iter().zip([0.25, 0.35, 0.4]) {
            assert!((got - expected).abs() < 1e-3, "{got} against {expected}");
        }
    }

    #[test]
    fn means_of_phases_weigh_up_to_the_mean_of_all() {
        let mut sums = PhaseSums::default();
        let mut batch = vec![BlockSums::default()];
        let (mut all, mut n) = (0.0, 0);
        // Seven samples a cycle: two of pump 1, five of pump 2; batches of nine,
        // the last one open.
        for step in 0..70_u32 {
            let running = vec![if step % 7 < 2 { 1 } else { 2 }];
            if sums.is_another(&running) {
                sums.begin(running, &batch);
            }
            let speed = (step % 7) as f32;
            batch[0].speed[3] += speed;
            sums.count();
            (all, n) = (all + speed, n + 1);
            if step % 9 == 8 {
                sums.close(&batch);
                batch = vec![BlockSums::default()];
            }
        }
        let means = sums.means(Some(&batch));
        let [one, two] = &means[..] else {
            panic!("two phases, not {}", means.len())
        };
        assert_eq!((one.running.as_slice(), one.speed[3]), (&[1][..], 0.5));
        assert_eq!((two.running.as_slice(), two.speed[3]), (&[2][..], 4.0));
        let weighed: f64 = (means.iter().map(|of| of.share * f64::from(of.speed[3]))).sum();
        assert!((weighed - f64::from(all / n as f32)).abs() < 1e-9);
    }
}

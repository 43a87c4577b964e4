//! Pumps and returns as forces on cells, as they change with time.
//!
//! A jet far from its outlet is known by its thrust alone, so a pump is a
//! momentum source whose total is exact whatever the cell size. The source is
//! sharp: points spread over a short cylinder at the outlet each act on the one
//! cell that holds them. Water is drawn in by the low pressure behind it.

use glam::DVec3;

use crate::domain::CellForce;
use crate::phases::{CYCLE_MAX_S, LongPhase, Turn, period_s, runs_at};
use crate::scene::{ItemId, Programme};

/// Most of the time between two settings of what acts, in s.
const INTERVAL_MAX_S: f64 = 0.03;

/// Sideways and upward share of thrust by which the jets of some runs are bent
/// at their beginning.
///
/// **Source** own choice: 14 and 6 degrees, more than a jet wanders by itself.
const BENT: [f64; 2] = [0.25, 0.10];

/// Tells the sides to which jets are bent from other chance.
const BEND_KEY: u64 = 77;

/// A cell that a source acts on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct SourceCell {
    /// Index of the cell.
    pub(crate) cell: usize,
    /// Its share of the source; the shares add up to one.
    pub(crate) share: f32,
    /// The patch that it lies in: cells of a patch are pushed alike.
    pub(crate) patch: u64,
}

/// One source of momentum.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Source {
    /// What it acts on.
    pub(crate) cells: Vec<SourceCell>,
    /// Thrust over density, in m⁴/s².
    pub(crate) thrust_m4_s2: f64,
    /// Momentum a step along `aim`, in lattice units.
    pub(crate) thrust_lu: f64,
    /// Water that it adds a step, in cells.
    pub(crate) mass_lu: f64,
    /// Unit direction.
    pub(crate) aim: DVec3,
    /// The pump that it is; none for a return.
    pub(crate) pump: Option<ItemId>,
    /// How it changes with time.
    pub(crate) programme: Programme,
    /// How it takes part in that now.
    pub(crate) turn: Turn,
    /// Directions across it, to which it may be bent.
    pub(crate) across: [DVec3; 2],
    /// Water of a slice that is held to this jet.
    pub(crate) held: Vec<CellForce>,
}

impl Source {
    /// Whether it runs at `time_s`.
    pub(crate) fn runs(&self, time_s: f64) -> bool {
        match self.turn {
            Turn::Running => true,
            Turn::Resting => false,
            Turn::Followed => (self.cycle_s())
                .is_none_or(|cycle_s| runs_at(self.programme, (time_s / cycle_s).fract())),
        }
    }

    /// Share of its thrust at `time_s`.
    pub(crate) fn share(&self, time_s: f64) -> f64 {
        if self.runs(time_s) { 1.0 } else { 0.0 }
    }

    /// Length of its cycle as it is followed, in s.
    pub(crate) fn cycle_s(&self) -> Option<f64> {
        let is_followed = self.turn == Turn::Followed;
        let period_s = period_s(self.programme).filter(|_| is_followed)?;
        Some(period_s.min(CYCLE_MAX_S))
    }
}

/// Everything that acts on the water.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Sources {
    /// Pumps and returns.
    pub(crate) jets: Vec<Source>,
    /// Drag and sinks, which do not change.
    pub(crate) fixed: Vec<CellForce>,
    /// Largest share of thrust by which each patch of an outlet is pushed at
    /// random along each direction: an outlet's water is turbulent.
    pub(crate) noise_share: f64,
    /// How long a patch takes to pass the fastest outlet, in s.
    pub(crate) patch_s: f64,
    /// Seed of the noise.
    pub(crate) seed: u64,
    /// Time over which everything comes on, in s.
    pub(crate) ramp_s: f64,
    /// Which of several runs this is; see [`bent_pair`].
    pub(crate) run: usize,
    /// How long the jets of a bent run are bent, in s.
    pub(crate) bent_s: f64,
}

impl Sources {
    /// How often forces must be set anew, in s.
    pub(crate) fn interval_s(&self) -> f64 {
        if self.noise_share > 0.0 {
            self.patch_s.min(INTERVAL_MAX_S)
        } else {
            INTERVAL_MAX_S
        }
    }

    /// The longest cycle among them, in s.
    pub(crate) fn cycle_s(&self) -> Option<f64> {
        (self.jets.iter().filter_map(Source::cycle_s)).reduce(f64::max)
    }

    /// Takes up a phase of the slow pumps.
    pub(crate) fn begin(&mut self, phase: &LongPhase) {
        for (jet, turn) in self.jets.iter_mut().zip(&phase.turns) {
            jet.turn = *turn;
        }
    }

    /// Whether any of them changes with time.
    pub(crate) fn change(&self) -> bool {
        let mut programmes = self.jets.iter().map(|jet| jet.programme);
        programmes.any(|programme| period_s(programme).is_some())
    }

    /// Which of the pumps that change run at `time_s`.
    pub(crate) fn running(&self, time_s: f64) -> Vec<ItemId> {
        let jets = self.jets.iter();
        let changes = jets.filter(|jet| period_s(jet.programme).is_some() && jet.runs(time_s));
        changes.filter_map(|jet| jet.pump).collect()
    }

    /// Forces at `time_s`, each jet's cells in its order, then the fixed ones.
    pub(crate) fn forces(&self, time_s: f64, out: &mut Vec<CellForce>) {
        out.clear();
        let ramp = (time_s / self.ramp_s).clamp(0.0, 1.0);
        // Half a step late, so that rounding does not shift it.
        let beat = (time_s / self.patch_s.max(1e-9) + 1e-6) as u64;
        for (index, jet) in self.jets.iter().enumerate() {
            let thrust = jet.thrust_lu * jet.share(time_s) * ramp;
            let mut push = jet.aim * thrust;
            for (which, across) in jet.across.into_iter().enumerate() {
                push += across * (thrust * self.bend(index, which, time_s));
            }
            for source in &jet.cells {
                let noise = self.noise((index, source.patch), beat) * thrust;
                let force = (push + noise).as_vec3() * source.share;
                out.push(CellForce {
                    cell: source.cell,
                    force: force.to_array(),
                    mass: (jet.mass_lu * ramp) as f32 * source.share,
                    ..CellForce::default()
                });
            }
            if jet.share(time_s) > 0.0 {
                out.extend_from_slice(&jet.held);
            }
        }
        out.extend(self.fixed.iter().map(|fixed| CellForce {
            mass: fixed.mass * ramp as f32,
            ..*fixed
        }));
    }
}

impl Sources {
    /// By which share of its thrust a patch of a jet is pushed astray.
    fn noise(&self, (jet, patch): (usize, u64), beat: u64) -> DVec3 {
        if self.noise_share == 0.0 {
            return DVec3::ZERO;
        }
        let along = |axis: u64| {
            let key = self.seed << 56 ^ (jet as u64) << 48 ^ axis << 44 ^ patch << 24 ^ beat;
            2.0 * unit(key) - 1.0
        };
        DVec3::new(along(0), along(1), along(2)) * self.noise_share
    }

    /// Share of thrust by which a jet is bent along one of its directions
    /// across, to opposite sides in the two runs of a pair.
    fn bend(&self, jet: usize, which: usize, time_s: f64) -> f64 {
        let Some((pair, is_second)) = bent_pair(self.run) else {
            return 0.0;
        };
        if time_s >= self.bent_s {
            return 0.0;
        }
        let is_other_side = unit(BEND_KEY ^ (jet as u64) << 2 ^ (pair as u64) << 32) < 0.5;
        if is_other_side == is_second {
            BENT[which]
        } else {
            -BENT[which]
        }
    }
}

/// Which pair of bent runs a run belongs to, and whether it is the second of
/// it; none for one that begins straight. Of five runs three begin straight.
pub(crate) fn bent_pair(run: usize) -> Option<(usize, bool)> {
    (run % 5 >= 3).then_some((run / 5, run % 5 == 4))
}

/// A number in 0..1 that looks random, the same for the same key.
///
/// **Source** Steele, Lea & Flood 2014, "`SplitMix`". MEMORY.
fn unit(key: u64) -> f64 {
    let mut z = key
        .wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
    (z ^ z >> 31) as f64 / u64::MAX as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(programme: Programme) -> Source {
        let cell = SourceCell {
            cell: 0,
            share: 1.0,
            patch: 5,
        };
        Source {
            cells: vec![cell],
            thrust_m4_s2: 1e-3,
            thrust_lu: 0.1,
            mass_lu: 0.0,
            aim: DVec3::X,
            pump: Some(1),
            programme,
            turn: Turn::Followed,
            across: [DVec3::Y, DVec3::Z],
            held: Vec::new(),
        }
    }

    fn sources(noise_share: f64, run: usize) -> Sources {
        Sources {
            jets: vec![source(Programme::Steady), source(Programme::Steady)],
            fixed: Vec::new(),
            noise_share,
            patch_s: 0.01,
            seed: 7,
            ramp_s: 0.001,
            run,
            bent_s: 5.0,
        }
    }

    #[test]
    fn programmes_run_for_their_share_of_the_cycle() {
        let cases = [
            (Programme::Steady, 1.0),
            (
                Programme::Pulse {
                    period_s: 2.0,
                    share: 0.25,
                },
                0.25,
            ),
            (
                Programme::Alternate {
                    set: 1,
                    period_s: 6.0,
                    turn: 1,
                    of: 3,
                },
                1.0 / 3.0,
            ),
            (
                Programme::Alternate {
                    set: 1,
                    period_s: 900.0,
                    turn: 0,
                    of: 2,
                },
                0.5,
            ),
        ];
        for (programme, expected) in cases {
            let source = source(programme);
            let cycle = source.cycle_s().unwrap_or(1.0);
            let mean: f64 = (0..1000)
                .map(|i| source.share(cycle * (f64::from(i) + 0.5) / 1000.0))
                .sum::<f64>()
                / 1000.0;
            assert!((mean - expected).abs() < 2e-3, "{programme:?} runs {mean}");
        }
    }

    #[test]
    fn the_jets_of_a_pair_of_runs_begin_bent_to_opposite_sides() {
        let bent = |run, time_s| {
            let sources = sources(0.0, run);
            let mut out = Vec::new();
            sources.forces(time_s, &mut out);
            [out[0].force, out[1].force]
        };
        assert_eq!(
            bent(0, 2.0),
            [[0.1, 0.0, 0.0]; 2],
            "the plain run goes straight"
        );
        assert_eq!(bent(2, 2.0), bent(0, 2.0), "so do two more");
        let (one, other) = (bent(3, 2.0), bent(4, 2.0));
        for (a, b) in one.iter().zip(&other) {
            assert_eq!((a[0], b[0]), (0.1, 0.1), "thrust along the aim is kept");
            assert_eq!((a[1], a[2]), (-b[1], -b[2]), "opposite sides");
            assert!((a[1].abs() - 0.025).abs() < 1e-6, "bent by {}", a[1]);
        }
        assert_eq!(bent(3, 6.0), bent(0, 6.0), "and are let go");
    }

    #[test]
    fn noise_has_its_size_and_no_mean_and_lasts_for_a_patch() {
        let sources = sources(0.1, 0);
        let mut out = Vec::new();
        let (mut sum, mut square, mut both, n) = ([0.0; 3], 0.0, 0.0, 20_000);
        for beat in 1..=n {
            sources.forces(f64::from(beat) * 0.01, &mut out);
            let [one, other] = [0, 1].map(|k| out[k].force.map(f64::from));
            for a in 0..3 {
                sum[a] += one[a] / f64::from(n);
            }
            square += one[1].powi(2) / f64::from(n);
            both += one[1] * other[1] / f64::from(n);
        }
        // Uniform within a tenth of 0.1: rms 0.01/√3, standard error of the mean
        // 4.1e-5, of the mean square 2.1e-7; five of them.
        assert!(
            (sum[0] - 0.1).abs() < 2.1e-4 && sum[1].abs() < 2.1e-4 && sum[2].abs() < 2.1e-4,
            "mean {sum:?}"
        );
        assert!((square - 1e-4 / 3.0).abs() < 1.1e-6, "square {square}");
        assert!(
            both.abs() < 1.2e-6,
            "two jets have nothing in common: {both}"
        );
        let at = |time_s: f64| {
            let mut out = Vec::new();
            sources.forces(time_s, &mut out);
            out[0].force
        };
        assert_eq!(at(1.001), at(1.009), "the same while the patch passes");
        assert_ne!(at(1.009), at(1.011), "then another");
    }
}

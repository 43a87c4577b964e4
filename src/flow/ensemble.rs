//! Several runs of the same tank that begin differently.
//!
//! Jets that meet, or one down the middle of a tank, lean to one side or the
//! other for minutes, and which side is chance. One run shows one of the
//! pictures. Here each run has noise of its own, and of five runs two begin with
//! their jets bent, to opposite sides, until the water moves; then they are let
//! go. Where the runs end up apart, the flow may flip. The averages are those of
//! the runs that began straight.

use std::ops::Range;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::mpsc::RecvTimeoutError;
use std::time::Duration;

use glam::DVec3;
use rayon::prelude::*;

use crate::source::bent_pair;
use crate::{CellKind, FlowError, FlowField, FlowSetup, PumpPhase, Settling, solve};

/// How many runs a verdict on flipping takes: three that begin straight and a
/// pair that begins bent to opposite sides.
pub const RUNS: usize = 5;

/// Two mean velocities are apart if they differ by more than this share of the
/// mean speed; one against the other would be 2.
///
/// **Source** own choice.
const APART_SHARE: f64 = 1.0;

/// Differences below this many slow limits are of no consequence; own choice.
const APART_LIMITS: f64 = 1.5;

/// Cells of a run above which runs are made one after the other, each on all
/// threads, so that they need not all be held at once: 120 MB at this size.
const SIDE_BY_SIDE_MAX: usize = 1_000_000;

/// Student's t for a two-sided 95 % interval, by the number of runs from two.
///
/// **Source** tables of the distribution. MEMORY.
const T_95: [f64; 6] = [12.71, 4.30, 3.18, 2.78, 2.57, 2.45];

/// Solves `n_runs` runs of a setup side by side and puts them together; `tell`
/// hears the share done from any thread and says whether to go on. The answer
/// does not depend on the number of threads. Further runs that diverge are
/// left out.
///
/// # Errors
/// As [`solve`] for the plain run.
pub fn solve_runs(
    setup: &FlowSetup,
    n_runs: usize,
    tell: &(dyn Fn(f64) -> bool + Sync),
) -> Result<FlowField, FlowError> {
    let mut sound = Vec::new();
    for (run, field) in solve_range(setup, 0..n_runs.max(1), tell)
        .into_iter()
        .enumerate()
    {
        match field {
            Ok(field) => sound.push((run, field)),
            Err(FlowError::Diverged { .. }) if run > 0 => {}
            Err(error) => return Err(error),
        }
    }
    combined(sound).ok_or(FlowError::Cancelled)
}

/// [`solve_runs`] under a control that only one thread may ask: it hears the
/// share done now and then, and stops the runs with a no.
///
/// # Errors
/// As [`solve_runs`]; [`FlowError::Cancelled`] after a no.
pub fn solve_runs_under(
    setup: &FlowSetup,
    n_runs: usize,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<FlowField, FlowError> {
    const ASKED_EVERY: Duration = Duration::from_millis(50);
    let (done, goes_on) = (AtomicU32::new(0), AtomicBool::new(true));
    let tell = |share: f64| {
        done.store((share * 1000.0) as u32, Ordering::Relaxed);
        goes_on.load(Ordering::Relaxed)
    };
    let (sends, over) = std::sync::mpsc::channel();
    rayon::in_place_scope(|scope| {
        let tell = &tell;
        scope.spawn(move |_| {
            // Nobody listens only if this thread is unwinding already.
            let _sent = sends.send(solve_runs(setup, n_runs, tell));
        });
        loop {
            match over.recv_timeout(ASKED_EVERY) {
                Ok(field) => return field,
                Err(RecvTimeoutError::Disconnected) => return Err(FlowError::Cancelled),
                Err(RecvTimeoutError::Timeout) => {
                    let share = f64::from(done.load(Ordering::Relaxed)) / 1000.0;
                    if goes_on.load(Ordering::Relaxed) && !control(share) {
                        goes_on.store(false, Ordering::Relaxed);
                    }
                    // Asked from one of the pool's own threads, it lends a hand,
                    // since there may be no other.
                    let _lent = rayon::yield_now();
                }
            }
        }
    })
}

/// Solves some of the runs of a setup side by side, in their order; zero is
/// the plain one. See [`solve_runs`].
pub fn solve_range(
    setup: &FlowSetup,
    runs: Range<usize>,
    tell: &(dyn Fn(f64) -> bool + Sync),
) -> Vec<Result<FlowField, FlowError>> {
    let shares: Vec<AtomicU32> = runs.clone().map(|_| AtomicU32::new(0)).collect();
    let first = runs.start;
    let one = |run: usize| {
        let mut control = |share: f64| {
            shares[run - first].store((share * 1000.0) as u32, Ordering::Relaxed);
            let done = shares.iter().map(|share| share.load(Ordering::Relaxed));
            tell(f64::from(done.sum::<u32>()) / (1000.0 * shares.len() as f64))
        };
        let field = solve(setup.for_run(run)?, &mut control);
        // One that settles early is done all the same.
        let _goes_on = control(1.0);
        field
    };
    if setup.grid().n_cells() > SIDE_BY_SIDE_MAX {
        runs.map(one).collect()
    } else {
        runs.into_par_iter().map(one).collect()
    }
}

/// One field from those of several runs (each with its number) on the same
/// cells: means over those that began straight, their fluctuation with what
/// tells them apart, and where any two runs are apart. A single one is given
/// back as it is; none that began straight gives none.
pub fn combined(runs: Vec<(usize, FlowField)>) -> Option<FlowField> {
    let (mut straight, mut bent) = (Vec::new(), Vec::new());
    for (run, field) in runs {
        if bent_pair(run).is_some() {
            bent.push(field);
        } else {
            straight.push(field);
        }
    }
    if straight.len() + bent.len() < 2 || straight.is_empty() {
        return straight.pop();
    }
    let mut whole = straight[0].clone();
    whole.felt = whole.felt.anew();
    let n_cells = whole.grid.n_cells();
    let flips = (0..n_cells)
        .into_par_iter()
        .map(|cell| may_flip([&straight, &bent], cell));
    whole.may_flip = flips.collect();
    whole.n_runs = straight.len() + bent.len();
    // One run that was left to the processor is worth telling.
    let mut others = straight.iter().chain(&bent).map(|field| &field.computed_on);
    if let Some(other) = others.find(|on| on.instead.is_some()) {
        whole.computed_on = other.clone();
    }
    if straight.len() > 1 {
        let cells: Vec<CellOfRuns> = (0..n_cells)
            .into_par_iter()
            .map(|cell| CellOfRuns::new(&straight, cell))
            .collect();
        for (cell, runs) in cells.into_iter().enumerate() {
            whole.velocity_m_s[cell] = runs.velocity_m_s.as_vec3().to_array();
            whole.speed_m_s[cell] = runs.speed_m_s as f32;
            whole.fluctuation_m_s[cell] = runs.fluctuation_m_s as f32;
            whole.slow_share[cell] = runs.slow_share as f32;
            whole.speed_half_width_m_s[cell] = runs.speed_half_width_m_s as f32;
        }
        whole.settling = settling(&straight, &whole);
        whole.phases = phases(&straight);
    }
    let n_flips = whole.may_flip.iter().filter(|flips| **flips).count();
    whole.settling.flip_share = n_flips as f64 / whole.n_water().max(1) as f64;
    Some(whole)
}

fn velocity_m_s(field: &FlowField, cell: usize) -> DVec3 {
    DVec3::from_array(field.velocity_m_s[cell].map(f64::from))
}

/// Whether any two runs are apart in a cell.
fn may_flip([straight, bent]: [&[FlowField]; 2], cell: usize) -> bool {
    let fields = || straight.iter().chain(bent);
    if straight[0].kind[cell] != CellKind::Water {
        return false;
    }
    let n = fields().count() as f64;
    let speed_m_s = fields()
        .map(|field| f64::from(field.speed_m_s[cell]))
        .sum::<f64>()
        / n;
    let least = (APART_SHARE * speed_m_s).max(APART_LIMITS * straight[0].slow_limit_m_s);
    let are_apart = |a: &FlowField, b: &FlowField| {
        let widths = f64::from(a.speed_half_width_m_s[cell] + b.speed_half_width_m_s[cell]);
        velocity_m_s(a, cell).distance(velocity_m_s(b, cell)) > least.max(widths)
    };
    let mut others = fields().enumerate();
    others.any(|(k, a)| fields().take(k).any(|b| are_apart(a, b)))
}

/// What several runs say of one cell.
#[derive(Clone, Copy, Default)]
struct CellOfRuns {
    velocity_m_s: DVec3,
    speed_m_s: f64,
    fluctuation_m_s: f64,
    slow_share: f64,
    speed_half_width_m_s: f64,
}

impl CellOfRuns {
    fn new(fields: &[FlowField], cell: usize) -> Self {
        if fields[0].kind[cell] != CellKind::Water {
            return Self::default();
        }
        let all = |of: &dyn Fn(&FlowField) -> f32| -> Vec<f64> {
            fields.iter().map(|field| f64::from(of(field))).collect()
        };
        let velocities: Vec<DVec3> = fields
            .iter()
            .map(|field| velocity_m_s(field, cell))
            .collect();
        let velocity_m_s = velocities.iter().sum::<DVec3>() / velocities.len() as f64;
        let squares: Vec<f64> = (velocities.iter().zip(fields))
            .map(|(u, field)| {
                let within = f64::from(field.fluctuation_m_s[cell]);
                u.distance_squared(velocity_m_s) + within * within
            })
            .collect();
        let speeds = all(&|field| field.speed_m_s[cell]);
        let widths = all(&|field| field.speed_half_width_m_s[cell]);
        Self {
            velocity_m_s,
            speed_m_s: mean(&speeds),
            fluctuation_m_s: mean(&squares).sqrt(),
            slow_share: mean(&all(&|field| field.slow_share[cell])),
            speed_half_width_m_s: half_width(&speeds, &widths),
        }
    }
}

fn settling(fields: &[FlowField], whole: &FlowField) -> Settling {
    let all = |of: &dyn Fn(&Settling) -> f64| -> Vec<f64> {
        fields.iter().map(|field| of(&field.settling)).collect()
    };
    let speeds = all(&|settling| settling.mean_speed_m_s);
    let speed_widths = all(&|settling| settling.mean_speed_half_width_m_s);
    let shares = all(&|settling| settling.dead_share);
    let share_widths = all(&|settling| settling.dead_share_half_width);
    let n_dead = (whole.kind.iter().zip(&whole.speed_m_s))
        .filter(|(kind, speed)| {
            **kind == CellKind::Water && f64::from(**speed) < whole.slow_limit_m_s
        })
        .count();
    Settling {
        settled: fields.iter().all(|field| field.settling.settled),
        averaged_s: all(&|settling| settling.averaged_s).iter().sum(),
        mean_speed_m_s: mean(&speeds),
        mean_speed_half_width_m_s: half_width(&speeds, &speed_widths),
        dead_share: n_dead as f64 / whole.n_water().max(1) as f64,
        dead_share_half_width: half_width(&shares, &share_widths),
        flip_share: 0.0,
    }
}

/// Means over runs of each phase that all of them have.
fn phases<'a>(fields: &'a [FlowField]) -> Vec<PumpPhase> {
    let of_all = |first: &'a PumpPhase| {
        let same = |field: &'a FlowField| {
            let mut phases = field.phases.iter();
            phases.find(|of| of.running == first.running)
        };
        let all: Vec<&PumpPhase> = fields.iter().map(same).collect::<Option<_>>()?;
        let n = all.len() as f64;
        Some(PumpPhase {
            running: first.running.clone(),
            share: all.iter().map(|phase| phase.share).sum::<f64>() / n,
            speed_m_s: (0..first.speed_m_s.len())
                .map(|cell| all.iter().map(|of| of.speed_m_s[cell]).sum::<f32>() / n as f32)
                .collect(),
        })
    };
    fields[0].phases.iter().filter_map(of_all).collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Half width of the 95 % interval of the mean over runs: what each run says of
/// itself, or the spread between them, whichever is more.
fn half_width(values: &[f64], widths: &[f64]) -> f64 {
    let n = values.len() as f64;
    let middle = mean(values);
    let variance = values.iter().map(|x| (x - middle).powi(2)).sum::<f64>() / (n - 1.0);
    let t = T_95[(values.len() - 2).min(T_95.len() - 1)];
    let between = t * (variance / n).sqrt();
    let within = widths.iter().map(|w| w * w).sum::<f64>().sqrt() / n;
    between.max(within)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::felt::FeltSource;
    use crate::geometry::CellGrid;
    use crate::{ComputedOn, Estimate};

    /// Two cells of water and one of rock that flow along x.
    fn field(speeds: [f32; 2]) -> FlowField {
        let [a, b] = speeds;
        FlowField {
            grid: CellGrid {
                origin_m: DVec3::ZERO,
                cell_m: 0.02,
                n: [3, 1, 1],
            },
            estimate: Estimate::Tank,
            kind: vec![CellKind::Water, CellKind::Water, CellKind::Rock],
            velocity_m_s: vec![[a, 0.0, 0.0], [b, 0.0, 0.0], [0.0; 3]],
            speed_m_s: vec![a.abs(), b.abs(), 0.0],
            fluctuation_m_s: vec![0.03, 0.0, 0.0],
            slow_share: vec![0.5, 0.0, 0.0],
            speed_half_width_m_s: vec![0.004, 0.004, 0.0],
            slow_limit_m_s: 0.02,
            settling: Settling {
                settled: true,
                averaged_s: 30.0,
                mean_speed_m_s: f64::from(a.abs() + b.abs()) / 2.0,
                mean_speed_half_width_m_s: 0.003,
                dead_share: 0.0,
                dead_share_half_width: 0.1,
                flip_share: 0.0,
            },
            computed_on: ComputedOn::default(),
            n_runs: 1,
            may_flip: Vec::new(),
            phases: Vec::new(),
            felt: FeltSource::default(),
        }
    }

    fn close(a: f32, b: f64) -> bool {
        (f64::from(a) - b).abs() < 1e-6
    }

    #[test]
    fn runs_that_turn_round_may_flip_and_those_that_agree_do_not() {
        let whole =
            combined(vec![(0, field([0.1, 0.1])), (1, field([-0.1, 0.12]))]).expect("two runs");
        assert_eq!(whole.may_flip, [true, false, false], "one cell turns round");
        assert_eq!(whole.n_runs, 2, "two runs");
        assert!(
            (whole.settling.flip_share - 0.5).abs() < 1e-12,
            "of the water"
        );
        // Means by hand: the first cell's velocities cancel, its speed does not.
        assert!(close(whole.velocity_m_s[0][0], 0.0), "mean velocity");
        assert!(close(whole.speed_m_s[0], 0.1), "mean speed");
        // What the runs differ by counts as fluctuation: √(0.1² + 0.03²).
        assert!(close(whole.fluctuation_m_s[0], 0.104_403), "fluctuation");
        assert!(close(whole.speed_m_s[1], 0.11), "mean speed");
        assert!(close(whole.slow_share[0], 0.5), "share of slow time");
        // Two runs 2 cm/s apart: 12.71·0.01414/√2 = 0.1271 m/s.
        assert!(close(whole.speed_half_width_m_s[1], 0.1271), "interval");
        assert!(
            (whole.settling.averaged_s - 60.0).abs() < 1e-9,
            "time adds up"
        );
    }

    #[test]
    fn a_field_that_lacks_a_cell_is_not_whole() {
        let whole = field([0.1, 0.1]);
        assert!(whole.is_whole(), "a value a cell");
        for at in 0..3 {
            let mut less = whole.clone();
            match at {
                0 => drop(less.velocity_m_s.pop()),
                1 => drop(less.slow_share.pop()),
                _ => less.may_flip = vec![false; 2],
            }
            assert!(!less.is_whole(), "list {at} lacks one");
        }
    }

    #[test]
    fn equal_runs_are_surer_than_one_and_small_differences_do_not_count() {
        let whole = combined(vec![(1, field([0.1, 0.1])); 4]).expect("four runs");
        // 0.004/√4.
        assert!(close(whole.speed_half_width_m_s[0], 0.002), "interval");
        let slow =
            combined(vec![(0, field([0.012, 0.1])), (1, field([-0.012, 0.1]))]).expect("two runs");
        assert_eq!(slow.may_flip, [false; 3], "still water that turns is still");
        let bent = combined(vec![(0, field([0.1, 0.1])), (3, field([-0.1, 0.2]))]);
        let bent = bent.expect("two runs");
        assert_eq!(
            bent.may_flip,
            [true, false, false],
            "a bent run tells of flips"
        );
        assert!(
            close(bent.speed_m_s[1], 0.1),
            "and has no part in the means"
        );
        assert!(combined(Vec::new()).is_none(), "no run, no field");
        let one = combined(vec![(0, field([0.1, 0.1]))]).expect("one run");
        assert!(one.may_flip.is_empty(), "one run cannot know");
    }
}

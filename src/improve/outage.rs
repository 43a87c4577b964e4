//! What goes still when a pump fails, or all of them at once: the tank solved
//! anew without each pump in turn, and followed to rest with everything off.

use crate::advice::{AdviceInput, Finding, FlowFigures, dead_spots, flow_figures};
use crate::flow::{FlowError, FlowField, FlowSetup, FlowSolver, FlowState, solve_runs_under};
use crate::scene::ItemId;
use crate::study::Study;

/// Mean speed of water that has come to rest, in m/s: a quarter of what counts
/// as dead. Own choice.
pub const STILL_M_S: f64 = 0.005;

/// Longest that coming to rest is followed, in s. Own choice.
pub const FOLLOWED_S: f64 = 600.0;

/// Tank time between two looks at water that comes to rest, in s.
const SLICE_S: f64 = 2.0;

/// What an outage brings.
#[derive(Clone, Debug)]
pub struct Outage {
    /// With everything running.
    pub before: FlowFigures,
    /// Each pump's failure, in the order of the layout.
    pub pumps: Vec<PumpFailure>,
    /// With everything off; none for a tank in which nothing moves.
    pub all_off: Option<Stilling>,
}

/// What one pump's failure brings.
#[derive(Clone, Debug)]
pub struct PumpFailure {
    /// The pump.
    pub pump: ItemId,
    /// The water without it.
    pub after: FlowFigures,
    /// Where it goes dead, the largest first.
    pub dead: Vec<Finding>,
}

/// How water comes to rest with everything off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stilling {
    /// When the mean speed falls below [`STILL_M_S`], in s; none if not within
    /// [`FOLLOWED_S`].
    pub after_s: Option<f64>,
}

/// Works out what an outage brings. `setup` is of `study` and says how and where
/// each tank is solved, in `runs` runs; `control` is told the share that is done
/// and says whether to go on.
///
/// # Errors
/// [`FlowError::Cancelled`] if `control` says no; others as in a solve.
pub fn outage(
    study: &Study,
    setup: &FlowSetup,
    runs: usize,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<Outage, FlowError> {
    let pumps = &study.layout().pumps;
    let n = pumps.len() + 2;
    let mut tell = |part: usize, share: f64| control((part as f64 + share) / n as f64);
    let figures = |field: &FlowField| flow_figures(field, &study.scene().tank, study.limits());
    let before = solve_runs_under(setup, runs, &mut |share| tell(0, share))?;
    let mut failures = Vec::new();
    for (i, pump) in pumps.iter().enumerate() {
        let mut layout = study.layout().clone();
        layout.pumps.retain(|other| other.id != pump.id);
        let without = study.with_layout(layout);
        let setup = FlowSetup::new(&without, setup.options())?.on(setup.device().clone());
        let field = solve_runs_under(&setup, runs, &mut |share| tell(i + 1, share))?;
        let input = AdviceInput {
            flow: Some(&field),
            ..AdviceInput::of(&without)
        };
        failures.push(PumpFailure {
            pump: pump.id,
            after: figures(&field),
            dead: dead_spots(&input),
        });
    }
    let all_off = stills(setup, &mut |share| tell(n - 1, share))?;
    Ok(Outage {
        before: figures(&before),
        pumps: failures,
        all_off,
    })
}

/// How long the water takes to come to rest with everything off: one run is
/// followed from the moving water.
fn stills(
    setup: &FlowSetup,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<Option<Stilling>, FlowError> {
    let mut go_on = |share: f64| control(share).then_some(()).ok_or(FlowError::Cancelled);
    let mut running = FlowSolver::new(setup.clone());
    while !running.is_done() {
        running.advance(SLICE_S)?;
        go_on(0.5 * running.progress())?;
    }
    let moving = running.state();
    if mean_m_s(&moving) < STILL_M_S {
        return Ok(None);
    }
    let mut off = FlowSolver::new(setup.switched_off()?);
    off.warm_from_state(&moving);
    let (mut time_s, mut after_s) = (0.0, None);
    while time_s < FOLLOWED_S && after_s.is_none() {
        off.advance(SLICE_S)?;
        time_s += SLICE_S;
        go_on(0.5 + 0.5 * time_s / FOLLOWED_S)?;
        if mean_m_s(&off.state()) < STILL_M_S {
            after_s = Some(time_s);
        }
    }
    Ok(Some(Stilling { after_s }))
}

/// Mean speed of the water as it is, in m/s.
fn mean_m_s(state: &FlowState) -> f64 {
    let velocities = state.velocity_m_s.iter();
    let speeds = velocities
        .map(|u| glam::Vec3::from_array(*u).as_dvec3().length())
        .filter(|speed| *speed > 0.0);
    let (sum, n) = speeds.fold((0.0, 0.0_f64), |(sum, n), speed| (sum + speed, n + 1.0));
    sum / n.max(1.0)
}

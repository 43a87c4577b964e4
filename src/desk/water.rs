//! The flow estimate as work on the desk: slices at once, then the tank
//! estimate until it settles, warm-started from the last field.

use std::sync::{Arc, Mutex};

use super::query::Answer;
use super::results::FlowStatus;
use super::settings::Levels;
use crate::flow::{
    Crew, Cut, Device, FlowError, FlowField, FlowOptions, FlowSetup, FlowSolver, RUNS, combined,
    solve_range,
};
use crate::job::{Job, JobContext, Notify};
use crate::study::{Study, StudySettings};
use crate::units::M_PER_CM;

/// Tank time between two looks at a running estimate, in s.
const STRIDE_S: f64 = 0.5;
/// Least change of progress between two published tank snapshots.
const SHOW_EVERY: f64 = 0.02;

/// What the worker needs to answer it.
pub(super) struct FlowTask {
    pub(super) study: Arc<Study>,
    pub(super) levels: Levels,
    pub(super) memory: Arc<Mutex<FlowMemory>>,
}

/// Solvers of the last run, to start the next one warm.
#[derive(Default)]
pub(super) struct FlowMemory {
    plan: Option<FlowSolver>,
    side: Option<FlowSolver>,
    tank: Option<FlowSolver>,
}

/// Slices at the levels of the views; none where no jet runs.
#[derive(Clone)]
pub(super) enum SliceNews {
    /// At the level of the top view.
    Plan(Option<Arc<FlowField>>),
    /// At the level of the side view.
    Side(Option<Arc<FlowField>>),
}

/// The tank estimate, and where it stands.
pub(super) type TankNews = (Arc<FlowField>, FlowStatus);

/// Starts the worker for both slices.
pub(super) fn start_slices(task: FlowTask, notify: Notify) -> std::io::Result<Job<Answer>> {
    Job::start("water slices", notify, move |context| {
        let mut memory = {
            let mut kept = locked(&task.memory);
            FlowMemory {
                plan: kept.plan.take(),
                side: kept.side.take(),
                tank: None,
            }
        };
        let outcome = Crew::One.run(|| slices(context, &task, &mut memory));
        let mut kept = locked(&task.memory);
        (kept.plan, kept.side) = (memory.plan, memory.side);
        Ok(outcome?)
    })
}

/// Starts the worker for the tank estimate.
pub(super) fn start_tank(task: FlowTask, notify: Notify) -> std::io::Result<Job<Answer>> {
    Job::start("water", notify, move |context| {
        let mut last = locked(&task.memory).tank.take();
        let outcome = Crew::All.run(|| tank(context, &task, &mut last));
        locked(&task.memory).tank = last;
        Ok(outcome?)
    })
}

/// Starts the worker for further runs of a tank whose plain estimate is known,
/// which publishes the mean of those that began straight.
pub(super) fn start_ensemble(
    task: FlowTask,
    plain: Arc<FlowField>,
    notify: Notify,
) -> std::io::Result<Job<Answer>> {
    Job::start("ensemble", notify, move |context| {
        let options = kept_to(&task.study, &FlowOptions::default());
        let setup = FlowSetup::new(&task.study, &options)?.on(device_of(&task.study));
        let tell = |share| context.progress(share);
        let further = Crew::All.run(|| solve_range(&setup, 1..RUNS, &tell));
        if context.is_cancelled() {
            return Ok(());
        }
        // One that diverged tells nothing; the others still do.
        let sound = (1..RUNS).zip(further);
        let sound = sound.filter_map(|(run, field)| Some((run, field.ok()?)));
        let runs = std::iter::once((0, FlowField::clone(&plain))).chain(sound);
        if let Some(whole) = combined(runs.collect()) {
            context.publish(Answer::Ensemble(known(whole)));
        }
        Ok(())
    })
}

/// A field whose felt speeds are reckoned here and not on the window's thread.
fn known(field: FlowField) -> Arc<FlowField> {
    let _known = field.felt();
    Arc::new(field)
}

fn locked(memory: &Mutex<FlowMemory>) -> std::sync::MutexGuard<'_, FlowMemory> {
    // A worker that panicked leaves nothing half written here: solvers are
    // put back whole.
    memory
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// Options as the study's settings ask for.
pub(super) fn kept_to(study: &Study, options: &FlowOptions) -> FlowOptions {
    let settings = study.settings();
    FlowOptions {
        slow_limit_m_s: settings.limits.dead_limit_m_s,
        cell_m: settings.cell_m.or(options.cell_m),
        seed: settings.seed,
        ..options.clone()
    }
}

/// What computes a study's tank: the graphics card if that was chosen and there
/// is one. Why there is none is told beside the estimate.
pub(super) fn device_of(study: &Study) -> Device {
    if study.settings().on_card {
        Device::kept_card().unwrap_or_default()
    } else {
        Device::Processor
    }
}

/// What is to be solved with these options.
fn setup(study: &Study, options: &FlowOptions) -> Result<FlowSetup, FlowError> {
    let options = kept_to(study, options);
    let setup = FlowSetup::new(study, &options)?;
    // Slices are left to the processor, which has them before a card is asked.
    Ok(match options.cut {
        Cut::Tank => setup.on(device_of(study)),
        Cut::Plan { .. } | Cut::Side { .. } => setup,
    })
}

/// A solver that is warm from the last one.
fn warmed(setup: FlowSetup, last: Option<&FlowSolver>) -> FlowSolver {
    let mut solver = FlowSolver::new(setup);
    if let Some(last) = last {
        solver.warm_from(last);
    }
    solver
}

/// Both slices in turn, so that both views follow the hand.
fn slices(
    context: &JobContext<Answer>,
    task: &FlowTask,
    memory: &mut FlowMemory,
) -> Result<(), FlowError> {
    let levels = task.levels;
    let plan = FlowOptions::plan(levels.height_cm * M_PER_CM);
    let side = FlowOptions::side(levels.depth_cm * M_PER_CM);
    let plan = Slice::new(task, &plan, memory.plan.as_ref(), SliceNews::Plan);
    let side = Slice::new(task, &side, memory.side.as_ref(), SliceNews::Side);
    // One may be outside the water where the other is not.
    let (mut running, mut outcome) = (Vec::new(), Ok(()));
    for slice in [plan, side] {
        match slice {
            // Where no jet runs the old picture is truer than still water.
            Ok(slice) if !slice.solver.setup().has_jet() => {
                context.publish(Answer::Slice((slice.news)(None)));
            }
            Ok(slice) => running.push(slice),
            Err(error) => outcome = Err(error),
        }
    }
    let mut has_shown = false;
    while running.iter().any(|slice| !slice.solver.is_done())
        && !(has_shown && context.is_cancelled())
    {
        for slice in &mut running {
            slice.go_on(context)?;
        }
        has_shown = running.iter().all(|slice| slice.shown_at > 0.0);
    }
    for slice in running {
        match slice.solver.setup().options().cut {
            Cut::Plan { .. } => memory.plan = Some(slice.solver),
            Cut::Side { .. } | Cut::Tank => memory.side = Some(slice.solver),
        }
    }
    outcome
}

/// A slice under way.
struct Slice {
    solver: FlowSolver,
    was_warm: bool,
    /// Progress at which it was last shown; none yet at zero.
    shown_at: f64,
    news: fn(Option<Arc<FlowField>>) -> SliceNews,
}

impl Slice {
    fn new(
        task: &FlowTask,
        options: &FlowOptions,
        last: Option<&FlowSolver>,
        news: fn(Option<Arc<FlowField>>) -> SliceNews,
    ) -> Result<Self, FlowError> {
        Ok(Self {
            solver: warmed(setup(&task.study, options)?, last),
            was_warm: last.is_some(),
            shown_at: 0.0,
            news,
        })
    }

    fn go_on(&mut self, context: &JobContext<Answer>) -> Result<(), FlowError> {
        if self.solver.is_done() {
            return Ok(());
        }
        self.solver.advance(STRIDE_S)?;
        let progress = self.solver.progress();
        let is_due = progress - self.shown_at > SHOW_EVERY || self.solver.is_done();
        if is_due && is_past_start(&self.solver, self.was_warm) {
            self.shown_at = progress;
            let field = Arc::new(self.solver.snapshot());
            context.publish(Answer::Slice((self.news)(Some(field))));
        }
        Ok(())
    }
}

/// The tank estimate until it settles. On cells finer than the engine's own it
/// begins with those, which answer in seconds, and goes on from there.
fn tank(
    context: &JobContext<Answer>,
    task: &FlowTask,
    last: &mut Option<FlowSolver>,
) -> Result<(), FlowError> {
    if context.is_cancelled() {
        return Ok(());
    }
    let mut before = last.take();
    let wanted = setup(&task.study, &FlowOptions::default())?;
    let mut share = 0.0;
    if let Some(quick) = quicker(&task.study, &wanted)? {
        let costs = [&quick, &wanted].map(FlowSetup::cell_updates_max);
        share = costs[0] / (costs[0] + costs[1]);
        let was_warm = before.is_some();
        let mut quick = warmed(quick, before.as_ref());
        follow(context, &mut quick, was_warm, [0.0, share])?;
        before = Some(quick);
    }
    let (mut solver, was_warm) = if let Some(before) = &before {
        (warmed(wanted, Some(before)), true)
    } else {
        let is_begun = wanted.begins_with_coarser_cells();
        match FlowSolver::begun(wanted, &mut |_| !context.is_cancelled()) {
            Err(FlowError::Cancelled) => return Ok(()),
            begun => (begun?, is_begun),
        }
    };
    follow(context, &mut solver, was_warm, [share, 1.0])?;
    if solver.is_done() {
        let status = if solver.settling().settled {
            FlowStatus::Settled
        } else {
            FlowStatus::Unsettled
        };
        context.publish(Answer::Tank((known(solver.snapshot()), status)));
    }
    *last = Some(solver);
    Ok(())
}

/// The same on the engine's own cells, if those that are wanted are finer and
/// take longer.
fn quicker(study: &Study, wanted: &FlowSetup) -> Result<Option<FlowSetup>, FlowError> {
    /// Cells that are hardly finer are begun with at once.
    const WORTH: f64 = 1.2;
    // A card has fine cells as soon as coarse ones.
    let is_on_card = wanted.device().card_name().is_some();
    if study.settings().cell_m.is_none() || is_on_card {
        return Ok(None);
    }
    let settings = StudySettings {
        cell_m: None,
        ..study.settings().clone()
    };
    let quick = setup(&study.with_settings(settings), &FlowOptions::default())?;
    let is_worth = quick.grid().cell_m > WORTH * wanted.grid().cell_m;
    Ok(is_worth.then_some(quick))
}

/// Runs a solver until it is done or the job is cancelled, and shows on the way
/// what it has; its progress goes from the first share of the job's to the last.
fn follow(
    context: &JobContext<Answer>,
    solver: &mut FlowSolver,
    was_warm: bool,
    [from, to]: [f64; 2],
) -> Result<(), FlowError> {
    let whole = |part: f64| from + (to - from) * part;
    let mut shown_at = -1.0;
    while !solver.is_done() && context.progress(whole(solver.progress())) {
        solver.advance(STRIDE_S)?;
        if is_past_start(solver, was_warm) && solver.progress() - shown_at > SHOW_EVERY {
            shown_at = solver.progress();
            let status = FlowStatus::Running(whole(shown_at));
            context.publish(Answer::Tank((known(solver.snapshot()), status)));
        }
    }
    Ok(())
}

/// Whether the water moves as it will, roughly: from rest the first averages
/// would show a dead tank.
fn is_past_start(solver: &FlowSolver, was_warm: bool) -> bool {
    const START_SHARE: f64 = 0.55;
    was_warm || solver.time_s() > START_SHARE * solver.setup().spin_up_s()
}

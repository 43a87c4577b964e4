//! Light as work on the desk: a coarse answer at once, then the fine one.

use std::sync::Arc;

use super::query::Answer;
use super::settings::Levels;
use crate::job::{Job, JobContext, Notify};
use crate::light::{
    LightError, LightField, LightOptions, LightPlane, LightSolver, Measured, PlaneCut,
};
use crate::scene::Scene;
use crate::study::Study;
use crate::units::M_PER_CM;

/// Edge of the cells of a plane in the water, in m.
const PLANE_CELL_M: f64 = 0.02;
/// Edge of the surface patches of the full answer, in m.
const SURFACE_M: f64 = 0.015;
/// The same while the hand moves, in m.
const SURFACE_LIVE_M: f64 = 0.04;

/// What the worker needs.
pub(super) struct LightTask {
    pub(super) study: Arc<Study>,
    pub(super) levels: Levels,
    pub(super) measured: Arc<Measured>,
    pub(super) before: LightSolvers,
}

/// The last coarse and the last fine solver: what still holds of them, such as
/// which surface sees which while only a lamp moves, is used again.
#[derive(Clone, Default)]
pub(super) struct LightSolvers {
    coarse: Option<Arc<LightSolver>>,
    fine: Option<Arc<LightSolver>>,
}

impl LightSolvers {
    /// Remembers the solver of an answer.
    pub(super) fn keep(&mut self, news: &LightNews) {
        let slot = if news.is_final {
            &mut self.fine
        } else {
            &mut self.coarse
        };
        *slot = Some(Arc::clone(&news.solver));
    }
}

/// Light as far as it is known.
#[derive(Clone)]
pub(super) struct LightNews {
    pub(super) about: (Arc<Scene>, usize),
    pub(super) solver: Arc<LightSolver>,
    pub(super) field: Arc<LightField>,
    /// At the levels that it was cut at.
    pub(super) planes: [Arc<LightPlane>; 3],
    pub(super) levels: Levels,
    pub(super) is_final: bool,
}

/// Starts the worker for a changed scene.
pub(super) fn start(task: LightTask, notify: Notify) -> std::io::Result<Job<Answer>> {
    Job::start("light", notify, move |context| {
        solve(
            context,
            &task,
            &LightOptions::live(),
            SURFACE_LIVE_M,
            &|| true,
        )?;
        let goes_on = || !context.is_cancelled();
        if goes_on() {
            solve(
                context,
                &task,
                &LightOptions::default(),
                SURFACE_M,
                &goes_on,
            )?;
        }
        Ok(())
    })
}

/// Starts the worker for cuts elsewhere in the same light.
pub(super) fn start_planes(
    solver: Arc<LightSolver>,
    levels: Levels,
    notify: Notify,
) -> std::io::Result<Job<Answer>> {
    Job::start("light planes", notify, move |context| {
        context.publish(Answer::Planes(planes(&solver, levels)));
        Ok(())
    })
}

fn solve(
    context: &JobContext<Answer>,
    task: &LightTask,
    options: &LightOptions,
    surface_m: f64,
    goes_on: &(dyn Fn() -> bool + Sync),
) -> Result<(), LightError> {
    let is_final = surface_m < SURFACE_LIVE_M;
    let before = if is_final {
        &task.before.fine
    } else {
        &task.before.coarse
    };
    let solver = match before {
        Some(before) => before.again(&task.study, &task.measured),
        None => LightSolver::new(&task.study, &task.measured, options),
    };
    let solver = solver?;
    if !goes_on() {
        return Ok(());
    }
    let field = solver.field(surface_m, &|_| goes_on());
    if !goes_on() {
        return Ok(());
    }
    let planes = planes(&solver, task.levels);
    context.publish(Answer::Light(LightNews {
        about: (Arc::clone(task.study.scene()), task.study.layout_idx()),
        solver: Arc::new(solver),
        field: Arc::new(field),
        planes,
        levels: task.levels,
        is_final,
    }));
    Ok(())
}

fn planes(solver: &LightSolver, levels: Levels) -> [Arc<LightPlane>; 3] {
    let cuts = [
        PlaneCut::Level {
            height_m: levels.height_cm * M_PER_CM,
        },
        PlaneCut::Depth {
            depth_m: levels.depth_cm * M_PER_CM,
        },
        PlaneCut::Across {
            x_m: levels.across_cm * M_PER_CM,
        },
    ];
    cuts.map(|cut| Arc::new(solver.plane(cut, PLANE_CELL_M)))
}

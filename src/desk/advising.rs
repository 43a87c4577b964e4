//! Advice as work on the desk: findings, fits and what growth brings, from the
//! newest fields.

use std::sync::Arc;

use super::Desk;
use super::query::{AdviceKey, Answer, Fields, FlowKey, Same};
use super::readings::ReadingChecks;
use super::studies::MONTHS_MAX;
use crate::advice::{self, AdviceInput, Ahead, Distance, Finding, Fit, GrowthEvent};
use crate::flow::FlowField;
use crate::job::{Job, Notify};
use crate::light::{LightField, LightSolver};
use crate::scene::{Coral, ItemId};
use crate::study::Study;

/// A layout as it is looked at, with the fields that are known of it.
pub(super) struct Outlook {
    /// The layout as it is looked at.
    pub(super) study: Arc<Study>,
    pub(super) flow: Option<Arc<FlowField>>,
    pub(super) light: Option<Arc<LightField>>,
    pub(super) solver: Option<Arc<LightSolver>>,
}

impl Outlook {
    /// Which fields these are.
    pub(super) fn fields(&self) -> Fields {
        Fields {
            flow: self.flow.as_ref().map(Same::of),
            light: self.light.as_ref().map(Same::of),
        }
    }

    /// Hands what advice looks at to `look`.
    pub(super) fn with_input<R>(&self, look: impl FnOnce(&AdviceInput<'_>) -> R) -> R {
        let light_at = self
            .solver
            .as_ref()
            .map(|solver| move |at_m, facing| solver.sample(at_m, Some(facing)));
        look(&AdviceInput {
            flow: self.flow.as_deref(),
            light: self.light.as_deref(),
            light_at: light_at.as_ref().map(|look| look as _),
            ..AdviceInput::of(&self.study)
        })
    }
}

/// What the worker looks at.
pub(super) struct AdviceTask {
    outlook: Outlook,
    /// The layout of today, from which growth is dated.
    today: Arc<Study>,
    /// The water of today, as far as it is known.
    flow_today: Option<Arc<FlowField>>,
    /// Lamps whose measured file is not there or does not read.
    without_file: Vec<ItemId>,
}

/// What it noticed.
#[derive(Clone)]
pub(super) struct AdviceNews {
    pub(super) findings: Arc<Vec<Finding>>,
    pub(super) fits: Arc<Vec<(ItemId, Fit)>>,
    pub(super) ahead: Arc<Vec<Ahead>>,
    pub(super) growth: Arc<Vec<GrowthEvent>>,
    pub(super) readings: Arc<ReadingChecks>,
    pub(super) distances: Arc<Vec<Distance>>,
}

/// Starts the worker.
pub(super) fn start(task: AdviceTask, notify: Notify) -> std::io::Result<Job<Answer>> {
    Job::start("advice", notify, move |context| {
        let news = task.outlook.with_input(|later| {
            let today = AdviceInput {
                flow: task.flow_today.as_deref(),
                light: later.light,
                light_at: later.light_at,
                ..AdviceInput::of(&task.today)
            };
            let fit = |coral: &Coral| Some((coral.id, advice::fit(later, coral)?));
            let solver = task.outlook.solver.as_deref();
            let mut findings = advice::findings_grown(later, &today);
            let missing = &task.without_file;
            findings.extend(advice::lamp_file_mistakes(later.study, missing));
            if let Some(solver) = solver {
                findings.extend(advice::lamp_findings(later.layout, solver.notes()));
            }
            advice::sort_worst_first(&mut findings);
            AdviceNews {
                findings: Arc::new(findings),
                distances: Arc::new(advice::distances(later.study)),
                readings: Arc::new(ReadingChecks::new(later, solver)),
                fits: Arc::new(later.layout.corals.iter().filter_map(fit).collect()),
                ahead: Arc::new(advice::corals_ahead(&today)),
                growth: Arc::new(advice::later_events(&today, MONTHS_MAX)),
            }
        });
        context.publish(Answer::Advice(news));
        Ok(())
    })
}

impl Desk {
    /// All that advice depends on, as it is looked at now.
    pub(super) fn advice_key(&mut self) -> AdviceKey {
        let flow_today = self.flow_today();
        AdviceKey {
            shown: Arc::clone(self.shown_study()),
            today: Arc::clone(self.study()),
            fields: self.outlook().fields(),
            flow_today: flow_today.as_ref().map(Same::of),
        }
    }

    /// The shown layout with its newest fields. Of water that nothing moves yet
    /// there is nothing to advise: the status says that there is no pump.
    pub(super) fn outlook(&self) -> Outlook {
        let study = Arc::clone(self.shown_study());
        let flow = self.results.advised_flow.clone();
        Outlook {
            flow: flow.filter(|_| study.moves_water()),
            study,
            light: self.results.light.clone(),
            solver: self.results.light_solver.clone(),
        }
    }

    pub(super) fn advice_task(&mut self, key: &AdviceKey) -> AdviceTask {
        AdviceTask {
            outlook: self.outlook(),
            today: Arc::clone(&key.today),
            flow_today: self.flow_today(),
            without_file: self.lamps_without_file(),
        }
    }

    /// The water of the scene as it is today: the kept estimate, else the
    /// newest one.
    fn flow_today(&mut self) -> Option<Arc<FlowField>> {
        let key = FlowKey::new(self.study(), self.n_edits());
        let kept = self.engines.cache.tanks.find(&key).map(|kept| kept.field);
        kept.or_else(|| self.results.advised_flow.clone())
    }
}

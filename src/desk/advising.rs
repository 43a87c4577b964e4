//! Advice as work on the desk: findings, fits and what growth brings, from the
//! newest fields.

use std::sync::Arc;

use super::Desk;
use super::keys::{AdviceKey, WaterKey};
use super::readings::ReadingChecks;
use super::studies::MONTHS_MAX;
use crate::advice::{self, AdviceInput, Finding, Fit, GrowthEvent};
use crate::flow::FlowField;
use crate::job::{Job, Notify, Update};
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
    pub(super) outlook: Outlook,
    /// The layout of today, from which growth is dated.
    pub(super) today: Arc<Study>,
    /// The water of today, as far as it is known.
    pub(super) flow_today: Option<Arc<FlowField>>,
}

/// What it noticed.
#[derive(Clone)]
pub(super) struct AdviceNews {
    pub(super) findings: Arc<Vec<Finding>>,
    pub(super) fits: Arc<Vec<(ItemId, Fit)>>,
    pub(super) growth: Arc<Vec<GrowthEvent>>,
    pub(super) readings: Arc<ReadingChecks>,
}

/// Starts the worker.
fn start(task: AdviceTask, notify: Notify) -> std::io::Result<Job<AdviceNews>> {
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
            if let Some(solver) = solver {
                findings.extend(advice::lamp_findings(later.layout, solver.notes()));
                advice::sort_worst_first(&mut findings);
            }
            AdviceNews {
                findings: Arc::new(findings),
                readings: Arc::new(ReadingChecks::new(later, solver)),
                fits: Arc::new(later.layout.corals.iter().filter_map(fit).collect()),
                growth: Arc::new(advice::later_events(&today, MONTHS_MAX)),
            }
        });
        context.publish(news);
        Ok(())
    })
}

impl Desk {
    /// All that advice depends on, as it is looked at now.
    pub(super) fn advice_key(&self) -> AdviceKey {
        AdviceKey {
            scene: Arc::clone(self.scene()),
            layout_idx: self.layout_idx(),
            limit_cm_s: self.settings.dead_limit_cm_s,
            shade_share: self.settings.shade_share,
            months: self.settings.months,
            water_version: self.engines.water_version,
            light_version: self.engines.light_version,
        }
    }

    /// The shown layout with its newest fields.
    pub(super) fn outlook(&self) -> Outlook {
        Outlook {
            study: Arc::clone(self.shown_study()),
            flow: self.results.best_flow(),
            light: self.results.light.clone(),
            solver: self.results.light_solver.clone(),
        }
    }

    pub(super) fn tend_advice(&mut self) {
        let wish = self.advice_key();
        if !self.engines.advice.is_on(&wish)
            && let Some(news) = self.engines.kept.advice.find(&wish)
        {
            self.engines.advice.recall(&wish);
            self.take_advice(news);
        }
        let outlook = self.outlook();
        let task = AdviceTask {
            flow_today: self.flow_today().or_else(|| outlook.flow.clone()),
            outlook,
            today: Arc::clone(self.study()),
        };
        let notify = Arc::clone(&self.notify);
        let updates = self
            .engines
            .advice
            .tend(Some(&wish), |_| start(task, notify));
        for update in updates {
            match update {
                Update::Partial(news) => {
                    if self.engines.advice.shows(&wish) {
                        self.engines.kept.advice.put(wish.clone(), news.clone(), 1);
                    }
                    self.take_advice(news);
                }
                Update::Failed(reason) => self.fail("Some advice could not be worked out", reason),
                Update::Done => {}
            }
        }
    }

    /// The kept tank estimate of the scene as it is today.
    fn flow_today(&mut self) -> Option<Arc<FlowField>> {
        let key = WaterKey::new(self.study());
        Some(self.engines.kept.water.find(&key)?.field)
    }

    fn take_advice(&mut self, news: AdviceNews) {
        self.results.findings = news.findings;
        self.results.fits = news.fits;
        self.results.growth = news.growth;
        self.results.readings = news.readings;
    }
}

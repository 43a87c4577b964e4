//! Advice as work on the desk: findings, fits and what growth brings, from the
//! newest fields.

use std::sync::Arc;

use super::Desk;
use super::keys::{AdviceKey, WaterKey};
use super::later::MONTHS_MAX;
use super::readings::ReadingChecks;
use crate::advice::{self, AdviceInput, AdviceOptions, Finding, Fit, GrowthEvent};
use crate::catalog::Catalog;
use crate::flow::FlowField;
use crate::job::{Job, Notify, Update};
use crate::light::{LightField, LightSolver};
use crate::scene::{Coral, ItemId, Scene};

/// A layout as it is looked at, with the fields that are known of it.
pub(super) struct Outlook {
    /// The scene as it is looked at.
    pub(super) scene: Arc<Scene>,
    pub(super) layout_idx: usize,
    pub(super) flow: Option<Arc<FlowField>>,
    pub(super) light: Option<Arc<LightField>>,
    pub(super) solver: Option<Arc<LightSolver>>,
    pub(super) options: AdviceOptions,
}

impl Outlook {
    /// Hands what advice looks at to `look`.
    pub(super) fn with_input<R>(
        &self,
        look: impl FnOnce(&AdviceInput<'_>) -> R,
    ) -> Result<R, String> {
        let layouts = &self.scene.layouts;
        let layout = layouts.get(self.layout_idx).ok_or("no such layout")?;
        let light_at = self
            .solver
            .as_ref()
            .map(|solver| move |at_m, facing| solver.sample(at_m, Some(facing)));
        Ok(look(&AdviceInput {
            scene: &self.scene,
            layout,
            catalog: Catalog::built_in(),
            flow: self.flow.as_deref(),
            light: self.light.as_deref(),
            light_at: light_at.as_ref().map(|look| look as _),
            options: &self.options,
        }))
    }
}

/// What the worker looks at.
pub(super) struct AdviceTask {
    pub(super) outlook: Outlook,
    /// The scene of today, from which growth is dated.
    pub(super) today: Arc<Scene>,
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

/// Options of the advice for the keeper's settings.
pub(super) fn options(key: &AdviceKey) -> AdviceOptions {
    AdviceOptions {
        dead_limit_m_s: key.limit_cm_s / 100.0,
        shade_share: key.shade_share,
        ..AdviceOptions::default()
    }
}

/// Starts the worker.
fn start(task: AdviceTask, notify: Notify) -> std::io::Result<Job<AdviceNews>> {
    Job::start("advice", notify, move |context| {
        let news = task.outlook.with_input(|later| {
            let layout = task.today.layouts.get(task.outlook.layout_idx);
            let today = AdviceInput {
                scene: &task.today,
                layout: layout.unwrap_or(later.layout),
                flow: task.flow_today.as_deref(),
                ..*later
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
        })?;
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
            scene: Arc::clone(self.shown_scene()),
            layout_idx: self.layout_idx(),
            flow: self.results.best_flow(),
            light: self.results.light.clone(),
            solver: self.results.light_solver.clone(),
            options: options(&self.advice_key()),
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
            today: Arc::clone(self.scene()),
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
        let limit = self.settings.dead_limit_cm_s;
        let key = WaterKey::new(self.scene(), self.layout_idx(), limit);
        Some(self.engines.kept.water.find(&key)?.field)
    }

    fn take_advice(&mut self, news: AdviceNews) {
        self.results.findings = news.findings;
        self.results.fits = news.fits;
        self.results.growth = news.growth;
        self.results.readings = news.readings;
    }
}

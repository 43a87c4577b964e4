//! Advice as work on the desk: findings, fits and berths from the newest fields.

use std::sync::Arc;

use super::keys::AdviceKey;
use crate::advice::{self, AdviceInput, AdviceOptions, Berth, BerthFilters, Finding, Fit};
use crate::catalog::Catalog;
use crate::flow::FlowField;
use crate::job::{Job, Notify};
use crate::light::{LightField, LightSolver};
use crate::scene::{Coral, ItemId, Scene};

/// What the worker looks at.
pub(super) struct AdviceTask {
    pub(super) scene: Arc<Scene>,
    pub(super) layout_idx: usize,
    pub(super) catalog: &'static Catalog,
    pub(super) flow: Option<Arc<FlowField>>,
    pub(super) light: Option<Arc<LightField>>,
    pub(super) solver: Option<Arc<LightSolver>>,
    pub(super) options: AdviceOptions,
    pub(super) chosen: Option<String>,
}

/// Berths that are offered at once.
const BERTHS: usize = 10;

/// What it noticed.
pub(super) struct AdviceNews {
    pub(super) findings: Arc<Vec<Finding>>,
    pub(super) fits: Arc<Vec<(ItemId, Fit)>>,
    pub(super) berths: Arc<Vec<Berth>>,
    pub(super) fit_wash: Arc<Vec<f32>>,
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
pub(super) fn start(task: AdviceTask, notify: Notify) -> std::io::Result<Job<AdviceNews>> {
    Job::start("advice", notify, move |context| {
        let layout = task
            .scene
            .layouts
            .get(task.layout_idx)
            .ok_or("no such layout")?;
        let light_at = task
            .solver
            .as_ref()
            .map(|solver| move |at_m, facing| solver.sample(at_m, Some(facing)));
        let input = AdviceInput {
            scene: &task.scene,
            layout,
            catalog: task.catalog,
            flow: task.flow.as_deref(),
            light: task.light.as_deref(),
            light_at: light_at.as_ref().map(|look| look as _),
            options: &task.options,
        };
        let fit = |coral: &Coral| Some((coral.id, advice::fit(&input, coral)?));
        let fits = layout.corals.iter().filter_map(fit).collect();
        let entry = task.chosen.as_deref().and_then(|id| task.catalog.entry(id));
        let filters = BerthFilters::default();
        let berths = entry.map_or_else(Vec::new, |entry| {
            advice::berths(&input, entry, BERTHS, &filters)
        });
        let fit_wash =
            entry.map_or_else(Vec::new, |entry| advice::fit_wash(&input, entry, &filters));
        context.publish(AdviceNews {
            findings: Arc::new(advice::findings(&input)),
            fits: Arc::new(fits),
            berths: Arc::new(berths),
            fit_wash: Arc::new(fit_wash),
        });
        Ok(())
    })
}

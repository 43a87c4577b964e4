//! Another layout beside the shown one: its results are kept or worked out in
//! the background, the two are compared, and layouts that are solved are ranked.

use std::sync::{Arc, Mutex};

use super::advising::Outlook;
use super::kept::{KeptLight, KeptWater, field_bytes};
use super::keys::{AdviceKey, LightKey, WaterKey};
use super::lighting::{self, LightNews, LightSolvers, LightTask};
use super::results::{FlowStatus, Results};
use super::water::{self, TankNews, WaterMemory, WaterTask};
use super::work::Work;
use super::{Desk, Levels};
use crate::advice::{self, AdviceInput, BerthFilters, Comparison, Move};
use crate::document::Document;
use crate::flow::FlowField;
use crate::job::{Job, Notify, Update};
use crate::light::{LightField, LightPlane};
use crate::scene::Scene;
use crate::study::Study;

/// Most layouts that are worked out beside the shown one; fewer than what is
/// kept, so that none pushes out another.
const OTHERS_MAX: usize = 12;

/// Two layouts set against each other: from the other one to the shown one.
#[derive(Clone, Debug)]
pub struct Compared {
    /// Which layout the shown one is set against.
    pub other_idx: usize,
    /// Figures and corals, the other layout first.
    pub comparison: Comparison,
    /// What to move to get from the other layout to the shown one.
    pub moves: Vec<Move>,
    /// Layouts that are solved, best first.
    pub ranking: Vec<usize>,
    /// How much better the chosen entry fits on each patch of the shown
    /// layout's light, and which light that is; none without both lights.
    pub fit_change: Option<FitChange>,
}

/// A change of fit by patch, from -1 to 1, not a number where only one layout
/// has surface, with the light whose patches these are.
pub type FitChange = (Arc<LightField>, Arc<Vec<f32>>);

/// Light on rock and sand, with the scene and the layout that it is about.
pub type LightOf = (Arc<LightField>, (Arc<Scene>, usize));

/// What is known of the other layout.
#[derive(Clone, Debug, Default)]
pub struct OtherResults {
    /// Its tank estimate.
    pub tank: Option<Arc<FlowField>>,
    /// Its light on rock and sand, and the scene that it is about.
    pub light: Option<LightOf>,
    /// Its light at the levels of top, side and end view.
    pub light_planes: Option<[Arc<LightPlane>; 3]>,
    /// Where its flow estimate stands.
    pub status: FlowStatus,
}

/// All that a comparison depends on.
#[derive(Clone, Debug, PartialEq)]
struct CompareKey {
    shown: AdviceKey,
    scene: Arc<Scene>,
    other_idx: usize,
    versions: Vec<Versions>,
    chosen: Option<String>,
    filters: BerthFilters,
}

/// Which flow and light of a layout are known.
type Versions = (Option<u64>, Option<u64>);

/// The jobs about layouts that are not shown.
#[derive(Default)]
pub(super) struct Others {
    water: Work<WaterKey, TankNews>,
    light: Work<LightKey, LightNews>,
    planes: Work<(u64, Levels), [Arc<LightPlane>; 3]>,
    compare: Work<CompareKey, Compared>,
    memory: Arc<Mutex<WaterMemory>>,
}

impl Others {
    pub(super) fn is_running(&self) -> bool {
        self.water.is_running()
            || self.light.is_running()
            || self.planes.is_running()
            || self.compare.is_running()
    }
}

impl Desk {
    /// The layout that the shown one is set against, if it is another one.
    pub fn compared(&self) -> Option<usize> {
        let n = self.scene().layouts.len();
        let shown = self.layout_idx();
        self.compared.filter(|idx| *idx < n && *idx != shown)
    }

    /// A still desk on the other layout with what is known of it, cut and grown
    /// as this one: to look at, not to work on.
    pub fn glimpse(&self) -> Option<Self> {
        let other_idx = self.compared()?;
        let scene = Scene::clone(self.scene());
        let mut desk = Self::new(Document::new(scene, None), Arc::new(|| {}));
        desk.layout_idx = other_idx;
        desk.levels = self.levels;
        desk.settings = self.settings.clone();
        desk.settings.is_live = false;
        desk.follow_scene();
        desk.refresh_glimpse(self);
        Some(desk)
    }

    /// Brings a glimpse of `desk` up to date with its results and levels.
    pub fn refresh_glimpse(&mut self, desk: &Self) {
        let other = &desk.results.other;
        let planes = other.light_planes.clone().map(|planes| planes.map(Some));
        let [light_plan, light_side, light_end] = planes.unwrap_or_default();
        self.levels = desk.levels;
        self.results = Results {
            tank: other.tank.clone(),
            light_plan,
            light_side,
            light_end,
            flow_status: other.status.clone(),
            light: other.light.as_ref().map(|(field, _)| Arc::clone(field)),
            light_about: other.light.as_ref().map(|(_, about)| about.clone()),
            ..Results::default()
        };
    }

    fn keys_of(&self, layout_idx: usize) -> (WaterKey, LightKey) {
        let study = &self.shown_studies()[layout_idx];
        (
            WaterKey::new(study),
            LightKey::new(study, self.measured_version),
        )
    }

    pub(super) fn tend_comparing(&mut self) {
        let Some(other_idx) = self.compared() else {
            if self.results.compared.is_some() || self.engines.others.is_running() {
                self.engines.others = Others::default();
                self.results.compared = None;
                self.results.other = OtherResults::default();
            }
            return;
        };
        let n_layouts = self.shown_studies().len();
        let keys: Vec<(WaterKey, LightKey)> = (0..n_layouts).map(|idx| self.keys_of(idx)).collect();
        let shown = self.layout_idx();
        // The other layout first, then the rest for the ranking.
        let order: Vec<usize> = std::iter::once(other_idx)
            .chain((0..keys.len()).filter(|idx| *idx != other_idx && *idx != shown))
            .take(OTHERS_MAX)
            .collect();
        self.tend_other_water(&keys, &order);
        self.tend_other_light(&keys, &order);
        self.take_other(&keys[other_idx]);
        self.tend_comparison(other_idx, &keys);
    }

    /// One tank estimate at a time, and none while that of the shown layout runs.
    fn tend_other_water(&mut self, keys: &[(WaterKey, LightKey)], order: &[usize]) {
        let kept = &mut self.engines.kept.water;
        let missing = order
            .iter()
            .copied()
            .find(|idx| kept.find(&keys[*idx].0).is_none());
        let may_run = !self.is_busy_with_water();
        let wanted = missing.filter(|_| may_run).map(|idx| keys[idx].0.clone());
        let task = WaterTask {
            study: Arc::clone(&self.shown_studies()[missing.unwrap_or_default()]),
            memory: Arc::clone(&self.engines.others.memory),
            ..self.water_task()
        };
        let notify = Arc::clone(&self.notify);
        let work = &mut self.engines.others.water;
        let updates = work.tend(wanted.as_ref(), |_| water::start_tank(task, notify));
        for update in updates {
            match update {
                Update::Partial((field, status)) => {
                    let is_done = matches!(status, FlowStatus::Settled | FlowStatus::Unsettled);
                    let key = self.engines.others.water.shown().cloned();
                    let first = key.as_ref() == Some(&keys[order[0]].0);
                    if first {
                        self.results.other.tank = Some(Arc::clone(&field));
                        self.results.other.status = status.clone();
                    }
                    if is_done && let Some(key) = key {
                        self.keep_water(key, field, status);
                    }
                }
                Update::Failed(reason) => {
                    self.results.other.status = FlowStatus::Failed(reason);
                }
                Update::Done => {}
            }
        }
    }

    fn keep_water(&mut self, key: WaterKey, field: Arc<FlowField>, status: FlowStatus) {
        let weight = field_bytes(&field);
        let version = self.engines.fresh_version();
        let kept = KeptWater {
            field,
            status,
            version,
        };
        self.engines.kept.water.put(key, kept, weight);
    }

    fn tend_other_light(&mut self, keys: &[(WaterKey, LightKey)], order: &[usize]) {
        let kept = &mut self.engines.kept.light;
        let missing = order
            .iter()
            .copied()
            .find(|idx| kept.find(&keys[*idx].1).is_none());
        let may_run = !self.engines.light.is_running();
        let wanted = missing.filter(|_| may_run).map(|idx| keys[idx].1.clone());
        let task = LightTask {
            study: Arc::clone(&self.shown_studies()[missing.unwrap_or_default()]),
            levels: self.levels,
            measured: Arc::clone(&self.measured),
            before: LightSolvers::default(),
        };
        let notify = Arc::clone(&self.notify);
        let work = &mut self.engines.others.light;
        let updates = work.tend(wanted.as_ref(), |_| lighting::start(task, notify));
        for update in updates {
            if let Update::Partial(news) = update
                && news.is_final
                && let Some(key) = self.engines.others.light.shown().cloned()
            {
                let version = self.engines.fresh_version();
                self.engines
                    .kept
                    .light
                    .put(key, KeptLight { news, version }, 1);
            }
        }
    }

    /// Takes what is kept of the other layout, and cuts its light where the
    /// views are cut.
    fn take_other(&mut self, (water, light): &(WaterKey, LightKey)) {
        let other = &mut self.results.other;
        match self.engines.kept.water.find(water) {
            Some(kept) => {
                other.tank = Some(kept.field);
                other.status = kept.status;
            }
            None if !self.engines.others.water.shows(water) => {
                other.tank = None;
                other.status = FlowStatus::Running(0.0);
            }
            None => {}
        }
        let Some(kept) = self.engines.kept.light.find(light) else {
            self.results.other.light_planes = None;
            self.results.other.light = None;
            return;
        };
        self.results.other.light = Some((Arc::clone(&kept.news.field), kept.news.about.clone()));
        let wish = (kept.version, self.levels);
        let planes = &mut self.engines.others.planes;
        if self.results.other.light_planes.is_none() {
            self.results.other.light_planes = Some(kept.news.planes.clone());
        }
        let (levels, notify) = (self.levels, Arc::clone(&self.notify));
        let solver = Arc::clone(&kept.news.solver);
        let updates = planes.tend(Some(&wish), |_| {
            lighting::start_planes(solver, levels, notify)
        });
        for update in updates {
            if let Update::Partial(planes) = update {
                self.results.other.light_planes = Some(planes);
            }
        }
    }

    /// A layout with what is kept of it.
    pub(super) fn outlook_on(&mut self, idx: usize) -> Outlook {
        let keys = self.keys_of(idx);
        self.kept_outlook(idx, &keys).0
    }

    /// The same, and which fields these are.
    fn kept_outlook(
        &mut self,
        idx: usize,
        (water, light): &(WaterKey, LightKey),
    ) -> (Outlook, Versions) {
        let water = self.engines.kept.water.find(water);
        let light = self.engines.kept.light.find(light);
        let versions = (
            water.as_ref().map(|kept| kept.version),
            light.as_ref().map(|kept| kept.version),
        );
        let outlook = Outlook {
            study: Arc::clone(&self.shown_studies()[idx]),
            flow: water.map(|kept| kept.field),
            light: light.as_ref().map(|kept| Arc::clone(&kept.news.field)),
            solver: light.map(|kept| kept.news.solver),
        };
        (outlook, versions)
    }

    fn tend_comparison(&mut self, other_idx: usize, keys: &[(WaterKey, LightKey)]) {
        let shown = self.layout_idx();
        let (outlooks, versions): (Vec<_>, Vec<_>) = keys
            .iter()
            .enumerate()
            .map(|(idx, keys)| self.kept_outlook(idx, keys))
            .unzip();
        let wish = CompareKey {
            shown: self.advice_key(),
            scene: Arc::clone(self.scene()),
            other_idx,
            versions,
            chosen: self.chosen_entry.clone(),
            filters: self.filters,
        };
        let task = CompareTask {
            outlooks,
            shown,
            other_idx,
            chosen: self.chosen_entry.clone(),
            filters: self.filters,
            today: [other_idx, shown].map(|idx| Arc::clone(&self.studies()[idx])),
        };
        let notify = Arc::clone(&self.notify);
        let work = &mut self.engines.others.compare;
        let updates = work.tend(Some(&wish), |_| start(task, notify));
        for update in updates {
            match update {
                Update::Partial(news) => self.results.compared = Some(Arc::new(news)),
                Update::Failed(reason) => self.fail("The layouts could not be compared", reason),
                Update::Done => {}
            }
        }
        let is_other = |old: &Arc<Compared>| old.other_idx == other_idx;
        if !self.results.compared.as_ref().is_some_and(is_other) {
            self.results.compared = None;
        }
    }
}

struct CompareTask {
    outlooks: Vec<Outlook>,
    shown: usize,
    other_idx: usize,
    chosen: Option<String>,
    filters: BerthFilters,
    /// Moves are of today's corals, whatever month is looked at: the other
    /// layout and the shown one.
    today: [Arc<Study>; 2],
}

fn start(task: CompareTask, notify: Notify) -> std::io::Result<Job<Compared>> {
    Job::start("compare", notify, move |context| {
        let (first, second) = (&task.outlooks[task.other_idx], &task.outlooks[task.shown]);
        let comparison =
            first.with_input(|one| second.with_input(|other| advice::compare(one, other)));
        let [from, to] = &task.today;
        let mut moves = advice::moves(from, to);
        // Light on grown corals says nothing of a move today.
        if Arc::ptr_eq(from.scene(), first.study.scene()) {
            moves = advice::with_light_steps(moves, &comparison.corals);
        }
        let is_solved = |idx: &usize| {
            let outlook = &task.outlooks[*idx];
            outlook.flow.is_some() && outlook.light.is_some()
        };
        let solved: Vec<usize> = (0..task.outlooks.len()).filter(is_solved).collect();
        let figures = |idx: &usize| {
            task.outlooks[*idx].with_input(|input: &AdviceInput<'_>| advice::layout_figures(input))
        };
        let all: Vec<_> = solved.iter().map(figures).collect();
        let ranking = advice::rank(&all).into_iter().map(|n| solved[n]).collect();
        context.publish(Compared {
            other_idx: task.other_idx,
            comparison,
            moves,
            ranking,
            fit_change: fit_change(&task),
        });
        Ok(())
    })
}

/// How the fit of the chosen entry differs.
fn fit_change(task: &CompareTask) -> Option<FitChange> {
    let (other, shown) = (&task.outlooks[task.other_idx], &task.outlooks[task.shown]);
    let entry = shown.study.catalog().entry(task.chosen.as_ref()?)?;
    let (before, now) = (other.light.as_ref()?, shown.light.as_ref()?);
    let fit =
        |look: &Outlook| look.with_input(|input| advice::fit_wash(input, entry, &task.filters));
    let change = advice::fit_change((now, &fit(shown)), (before, &fit(other)));
    Some((Arc::clone(now), Arc::new(change)))
}

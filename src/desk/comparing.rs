//! Another layout beside the shown one: its results are kept or worked out in
//! the background, the two are compared, and layouts that are solved are ranked.

use std::sync::Arc;

use super::advising::Outlook;
use super::query::{Answer, CompareKey, FlowKey, Lane, LightKey, Query, Same};
use super::results::{FlowStatus, Results};
use super::scheduler::Wish;
use super::{Desk, Levels};
use crate::advice::{self, AdviceInput, BerthFilters, Comparison, Move};
use crate::document::Document;
use crate::flow::FlowField;
use crate::job::{Job, Notify};
use crate::light::{LightField, LightPlane, LightSolver};
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
    /// What these planes are of.
    planes_of: Option<(Same<LightSolver>, Levels)>,
}

impl OtherResults {
    pub(super) fn show_planes(
        &mut self,
        of: Same<LightSolver>,
        levels: Levels,
        planes: [Arc<LightPlane>; 3],
    ) {
        self.planes_of = Some((of, levels));
        self.light_planes = Some(planes);
    }

    fn shows_planes(&self, of: &Same<LightSolver>, levels: Levels) -> bool {
        let planes = self.planes_of.as_ref();
        planes.is_some_and(|(solver, at)| solver == of && *at == levels)
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
        let mut desk = Self::with_catalog(
            Document::new(scene, None),
            Arc::clone(self.catalog()),
            Arc::new(|| {}),
        );
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
        let mut results = Results::default();
        results.tank.clone_from(&other.tank);
        (results.light_plan, results.light_side) = (light_plan, light_side);
        results.light_end = light_end;
        results.light = other.light.as_ref().map(|(field, _)| Arc::clone(field));
        results.light_about = other.light.as_ref().map(|(_, about)| about.clone());
        self.replace_results(results);
    }

    fn keys_of(&self, layout_idx: usize) -> (FlowKey, LightKey) {
        let study = &self.shown_studies()[layout_idx];
        (
            FlowKey::new(study, self.n_edits()),
            LightKey::new(study, &self.measured),
        )
    }

    /// What the results of the other layout are of.
    pub(super) fn other_keys(&self) -> Option<(FlowKey, LightKey)> {
        Some(self.keys_of(self.compared()?))
    }

    /// Another layout beside the shown one: what is known of it is taken, what
    /// is missing wanted; then the rest for the ranking, and the comparison.
    pub(super) fn want_comparison(&mut self, wanted: &mut Vec<Wish>) {
        let Some(other_idx) = self.compared() else {
            self.results.end_comparing();
            return;
        };
        let n_layouts = self.shown_studies().len();
        let keys: Vec<(FlowKey, LightKey)> = (0..n_layouts).map(|idx| self.keys_of(idx)).collect();
        self.take_other(other_idx, &keys[other_idx], wanted);
        let shown = self.layout_idx();
        let order = std::iter::once(other_idx)
            .chain((0..n_layouts).filter(|idx| *idx != other_idx && *idx != shown))
            .take(OTHERS_MAX);
        // None while the water of the shown layout runs.
        let is_wet = |wish: &Wish| matches!(wish.query.lane(), Lane::Slices | Lane::Flow);
        let may_run = !wanted.iter().any(is_wet);
        for idx in order {
            let (flow, light) = &keys[idx];
            if may_run && self.engines.cache.tanks.find(flow).is_none() {
                wanted.push(beside(Query::Tank(flow.clone())));
            }
            if self.engines.cache.lights.find(light).is_none() {
                wanted.push(beside(Query::Light(light.clone())));
            }
        }
        let compare = self.compare_key(other_idx, &keys);
        if !self.results.shows_compared(&compare) {
            wanted.push(beside(Query::Compare(Box::new(compare))));
        }
        let is_other = |old: &Arc<Compared>| old.other_idx == other_idx;
        if !self.results.compared.as_ref().is_some_and(is_other) {
            self.results.compared = None;
        }
    }

    /// Takes what is kept of the other layout, and wants its light cut where
    /// the views are cut.
    fn take_other(
        &mut self,
        other_idx: usize,
        (flow, light): &(FlowKey, LightKey),
        wanted: &mut Vec<Wish>,
    ) {
        let (cache, other) = (&mut self.engines.cache, &mut self.results.other);
        let is_running = |wish: &Wish| wish.query == Query::Tank(flow.clone());
        if let Some(kept) = cache.tanks.find(flow) {
            other.tank = Some(kept.field);
            other.status = kept.status;
        } else if let Some(error) = cache.faults.find(&Query::Tank(flow.clone())) {
            other.tank = None;
            other.status = FlowStatus::Failed(error);
        } else if !self.engines.scheduler.is_any(is_running) {
            other.tank = None;
            other.status = FlowStatus::Running(0.0);
        }
        let Some(news) = cache.lights.find(light) else {
            (other.light_planes, other.light) = (None, None);
            return;
        };
        let scene = Arc::clone(self.studies.shown_of(other_idx).scene());
        other.light = Some((Arc::clone(&news.field), (scene, other_idx)));
        let of = Same::of(&news.solver);
        if other.light_planes.is_none() {
            other.show_planes(of.clone(), news.levels, news.planes);
        }
        if !other.shows_planes(&of, self.levels) {
            wanted.push(beside(Query::Planes(of, self.levels)));
        }
    }

    /// The light solver that is told apart by `of`, of the shown layout or of
    /// the other one.
    pub(super) fn solver_of(&mut self, of: &Same<LightSolver>) -> Option<Arc<LightSolver>> {
        let own = self.results.light_solver.clone();
        let other = self.other_keys();
        let other = other.and_then(|(_, light)| self.engines.cache.lights.find(&light));
        let known = own.into_iter().chain(other.map(|news| news.solver));
        known.into_iter().find(|solver| Same::of(solver) == *of)
    }

    /// A layout with what is kept of it.
    pub(super) fn outlook_on(&mut self, idx: usize) -> Outlook {
        let keys = self.keys_of(idx);
        self.kept_outlook(idx, &keys)
    }

    fn kept_outlook(&mut self, idx: usize, (flow, light): &(FlowKey, LightKey)) -> Outlook {
        let flow = self.engines.cache.tanks.find(flow);
        let light = self.engines.cache.lights.find(light);
        Outlook {
            study: Arc::clone(&self.shown_studies()[idx]),
            flow: flow.map(|kept| kept.field),
            light: light.as_ref().map(|news| Arc::clone(&news.field)),
            solver: light.map(|news| news.solver),
        }
    }

    fn compare_key(&mut self, other_idx: usize, keys: &[(FlowKey, LightKey)]) -> CompareKey {
        let layouts = keys.iter().enumerate().map(|(idx, keys)| {
            let outlook = self.kept_outlook(idx, keys);
            let fields = outlook.fields();
            (outlook.study, fields)
        });
        let layouts = layouts.collect();
        CompareKey {
            layouts,
            today: [other_idx, self.layout_idx()].map(|idx| Arc::clone(&self.studies()[idx])),
            other_idx,
            chosen: self.chosen_entry.clone(),
            filters: self.filters,
        }
    }

    pub(super) fn compare_task(&mut self, key: &CompareKey) -> CompareTask {
        let n_layouts = self.shown_studies().len();
        CompareTask {
            outlooks: (0..n_layouts).map(|idx| self.outlook_on(idx)).collect(),
            shown: self.layout_idx(),
            other_idx: key.other_idx,
            chosen: key.chosen.clone(),
            filters: key.filters,
            today: key.today.clone(),
        }
    }
}

/// A wish about another layout than the shown one.
fn beside(query: Query) -> Wish {
    Wish {
        query,
        is_shown: false,
    }
}

/// What the worker compares.
pub(super) struct CompareTask {
    outlooks: Vec<Outlook>,
    shown: usize,
    other_idx: usize,
    chosen: Option<String>,
    filters: BerthFilters,
    /// Moves are of today's corals, whatever month is looked at: the other
    /// layout and the shown one.
    today: [Arc<Study>; 2],
}

pub(super) fn start(task: CompareTask, notify: Notify) -> std::io::Result<Job<Answer>> {
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
        context.publish(Answer::Compare(Arc::new(Compared {
            other_idx: task.other_idx,
            comparison,
            moves,
            ranking,
            fit_change: fit_change(&task),
        })));
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

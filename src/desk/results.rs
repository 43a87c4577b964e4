//! What the engines have found so far. Each result stands beside the query
//! that it answers; whether it is old is found by comparing that with what is
//! looked at, and is kept nowhere.

use std::sync::Arc;

use super::Levels;
use super::advising::AdviceNews;
use super::berthing::BerthNews;
use super::comparing::{Compared, OtherResults};
use super::lighting::LightNews;
use super::paper::PaperStatus;
use super::query::{AdviceKey, BerthKey, CompareKey, FlowKey, LightKey, Same};
use super::readings::ReadingChecks;
use super::searching::SearchStatus;
use super::water::SliceNews;
use crate::advice::{
    Acclimation, Ahead, Berth, Candidate, Distance, Finding, Fit, GrowthEvent, Proposal,
};
use crate::flow::{FlowField, RUNS};
use crate::improve::calibrate::Calibration;
use crate::improve::finer::FinerLook;
use crate::improve::outage::Outage;
use crate::improve::search::Improvement;
use crate::job::JobError;
use crate::light::{LightField, LightPlane, LightSolver};
use crate::scene::{ItemId, Scene};

/// Where the flow estimate stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum FlowStatus {
    /// Nothing asked for yet.
    #[default]
    Idle,
    /// Under way, with how far it has come (0 to 1).
    Running(f64),
    /// Averages settled to the tolerance.
    Settled,
    /// Ran its full time without settling.
    Unsettled,
    /// Could not be computed: why, and what to do.
    Failed(JobError),
}

/// Where the light stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum LightStatus {
    /// Nothing asked for yet.
    #[default]
    Idle,
    /// Under way.
    Running,
    /// A coarse answer; the fine one follows.
    Coarse,
    /// The fine answer.
    Fine,
    /// Could not be computed: why, and what to do.
    Failed(JobError),
}

/// The newest results. A field may be older than the scene: then it is shown
/// as such.
#[derive(Clone, Debug, Default)]
pub struct Results {
    /// Slice estimate at the level of the top view, if a jet runs there.
    pub plan_slice: Option<Arc<FlowField>>,
    /// Slice estimate at the level of the side view, if a jet runs there.
    pub side_slice: Option<Arc<FlowField>>,
    /// Tank estimate.
    pub tank: Option<Arc<FlowField>>,
    /// How far further runs of the tank have come (0 to 1), while there are any.
    pub further_runs: Option<f64>,
    /// Light on rock and sand.
    pub light: Option<Arc<LightField>>,
    /// The scene that the light is about, and which layout of it.
    pub light_about: Option<(Arc<Scene>, usize)>,
    /// Light at the level of the top view.
    pub light_plan: Option<Arc<LightPlane>>,
    /// Light at the level of the side view.
    pub light_side: Option<Arc<LightPlane>>,
    /// Light at the level of the end view.
    pub light_end: Option<Arc<LightPlane>>,
    /// What was noticed, worst first.
    pub findings: Arc<Vec<Finding>>,
    /// How well each coral fits its place.
    pub fits: Arc<Vec<(ItemId, Fit)>>,
    /// Distances that a builder checks, those that will not do first.
    pub distances: Arc<Vec<Distance>>,
    /// Where each coral stands in some years, in today's water and light.
    pub ahead: Arc<Vec<Ahead>>,
    /// What growth brings from today on, earliest first.
    pub growth: Arc<Vec<GrowthEvent>>,
    /// The best places for the chosen entry.
    pub berths: Arc<Vec<Berth>>,
    /// What the move to each of them asks of the coral that would move.
    pub berth_steps: Arc<Vec<Option<Acclimation>>>,
    /// Light (µmol/m²/s) and flow (cm/s) at the place that was asked about.
    pub place_figures: Option<(Option<f64>, Option<f64>)>,
    /// What could live at the place that was asked about, best first.
    pub candidates: Arc<Vec<Candidate>>,
    /// How well the chosen entry fits on each patch of `light`, 0 to 1.
    pub fit_wash: Arc<Vec<f32>>,
    /// Places for one more pump, best first.
    pub proposals: Arc<Vec<Proposal>>,
    /// Where the search for them stands.
    pub search: SearchStatus,
    /// What to change before anything is bought, if it was asked for.
    pub improvement: Option<Arc<Improvement>>,
    /// Where the search for that stands.
    pub improving: SearchStatus,
    /// What goes still when a pump or the power fails, if it was asked for.
    pub outage: Option<Arc<Outage>>,
    /// Where that stands.
    pub failing: SearchStatus,
    /// What finer cells say, if they were asked for.
    pub finer: Option<Arc<FinerLook>>,
    /// Where that stands.
    pub refining: SearchStatus,
    /// What the readings were found to say, while they stand as they were.
    pub calibration: Option<Arc<Calibration>>,
    /// Where something for paper stands.
    pub paper: PaperStatus,
    /// The keeper's readings against the estimates.
    pub readings: Arc<ReadingChecks>,
    /// What is known of the layout that the shown one is set against.
    pub other: OtherResults,
    /// The two of them compared.
    pub compared: Option<Arc<Compared>>,
    /// Light at any place, for a read-out.
    pub light_solver: Option<Arc<LightSolver>>,
    /// The flow that advice looks at: the estimate as it stood when it last
    /// changed by much.
    pub(super) advised_flow: Option<Arc<FlowField>>,
    /// What is looked at.
    wanted: Option<Wanted>,
    of: Of,
    tank_status: FlowStatus,
    light_is_fine: bool,
    flow_fault: Option<(FlowKey, JobError)>,
    light_fault: Option<(LightKey, JobError)>,
}

/// What is looked at.
#[derive(Clone, Debug)]
struct Wanted {
    flow: FlowKey,
    light: LightKey,
    levels: Levels,
    berths: Option<BerthKey>,
    is_live: bool,
}

/// What each result is of.
#[derive(Clone, Debug, Default)]
struct Of {
    slices: Option<(FlowKey, Levels)>,
    tank: Option<FlowKey>,
    light: Option<LightKey>,
    planes: Option<(Same<LightSolver>, Levels)>,
    advice: Option<AdviceKey>,
    berths: Option<BerthKey>,
    compared: Option<CompareKey>,
}

impl Results {
    /// The tank estimate, or the plan slice while there is none.
    pub fn best_flow(&self) -> Option<Arc<FlowField>> {
        self.tank.clone().or_else(|| self.plan_slice.clone())
    }

    /// How well a coral fits its place, if that is known.
    pub fn fit_of(&self, id: ItemId) -> Option<&Fit> {
        self.fits
            .iter()
            .find(|(coral, _)| *coral == id)
            .map(|(_, fit)| fit)
    }

    /// Where a coral stands in some years, if that is known.
    pub fn ahead_of(&self, id: ItemId) -> Option<&Ahead> {
        self.ahead.iter().find(|ahead| ahead.id == id)
    }

    /// Whether there is no tank estimate of the scene as it is looked at.
    pub fn tank_is_old(&self) -> bool {
        (self.wanted.as_ref()).is_some_and(|wanted| !self.shows_tank(&wanted.flow))
    }

    /// Whether there are no slices of the scene and the levels as they are
    /// looked at.
    pub fn slices_are_old(&self) -> bool {
        (self.wanted.as_ref()).is_some_and(|wanted| !self.shows_slices(&wanted.flow, wanted.levels))
    }

    /// Whether the slices are of a later scene than the tank estimate, as while
    /// something is dragged.
    pub fn slices_lead(&self) -> bool {
        let tank_edit = self.of.tank.as_ref().map(|key| key.edit);
        let slice_edit = self.of.slices.as_ref().map(|(key, _)| key.edit);
        self.tank_is_old() && slice_edit > tank_edit
    }

    /// Whether there is no light of the scene as it is looked at.
    pub fn light_is_old(&self) -> bool {
        (self.wanted.as_ref()).is_some_and(|wanted| !self.shows_light(&wanted.light))
    }

    /// Whether berths and candidates do not answer what is asked.
    pub fn berths_are_old(&self) -> bool {
        let asked = self
            .wanted
            .as_ref()
            .and_then(|wanted| wanted.berths.as_ref());
        asked.is_some_and(|asked| !self.shows_berths(asked))
    }

    /// Where the flow estimate of what is looked at stands.
    pub fn flow_status(&self) -> FlowStatus {
        let Some(wanted) = &self.wanted else {
            return self.tank_status.clone();
        };
        match &self.flow_fault {
            Some((key, error)) if *key == wanted.flow => FlowStatus::Failed(error.clone()),
            _ if self.shows_tank(&wanted.flow) => self.tank_status.clone(),
            _ if wanted.is_live => FlowStatus::Running(0.0),
            _ => FlowStatus::Idle,
        }
    }

    /// The water of what is looked at, if all its runs are done, as those of a
    /// report are.
    pub(super) fn cross_checked_tank(&self) -> Option<FlowField> {
        let tank = self.tank.as_ref()?;
        let is_now = matches!(
            self.flow_status(),
            FlowStatus::Settled | FlowStatus::Unsettled
        );
        (is_now && tank.n_runs >= RUNS).then(|| FlowField::clone(tank))
    }

    /// Where the light of what is looked at stands.
    pub fn light_status(&self) -> LightStatus {
        let Some(wanted) = &self.wanted else {
            return LightStatus::Idle;
        };
        match &self.light_fault {
            Some((key, error)) if *key == wanted.light => LightStatus::Failed(error.clone()),
            _ if self.shows_light(&wanted.light) && self.light_is_fine => LightStatus::Fine,
            _ if self.shows_light(&wanted.light) => LightStatus::Coarse,
            _ if wanted.is_live => LightStatus::Running,
            _ => LightStatus::Idle,
        }
    }

    /// What is looked at from now on.
    pub(super) fn look_at(
        &mut self,
        (flow, light, levels): (FlowKey, LightKey, Levels),
        berths: Option<BerthKey>,
        is_live: bool,
    ) {
        if berths.is_none() {
            self.of.berths = None;
            self.berths = Arc::default();
            self.berth_steps = Arc::default();
            self.fit_wash = Arc::default();
            self.candidates = Arc::default();
            self.place_figures = None;
        }
        self.wanted = Some(Wanted {
            flow,
            light,
            levels,
            berths,
            is_live,
        });
    }

    /// Takes these results for those of what is looked at in `other`.
    pub(super) fn stand_in_for(&mut self, other: &Self) {
        self.wanted.clone_from(&other.wanted);
        if let Some(wanted) = &self.wanted {
            self.of.tank = self.tank.as_ref().map(|_| wanted.flow.clone());
            self.of.light = self.light.as_ref().map(|_| wanted.light.clone());
        }
    }

    pub(super) fn shows_tank(&self, key: &FlowKey) -> bool {
        self.of.tank.as_ref() == Some(key)
    }

    pub(super) fn tank_is_final(&self) -> bool {
        matches!(
            self.tank_status,
            FlowStatus::Settled | FlowStatus::Unsettled
        )
    }

    pub(super) fn shows_slices(&self, key: &FlowKey, levels: Levels) -> bool {
        let of = self.of.slices.as_ref();
        of.is_some_and(|(of, at)| of == key && *at == levels)
    }

    pub(super) fn shows_light(&self, key: &LightKey) -> bool {
        self.of.light.as_ref() == Some(key)
    }

    pub(super) fn light_is_fine(&self) -> bool {
        self.light_is_fine
    }

    pub(super) fn shows_planes(&self, of: &Same<LightSolver>, levels: Levels) -> bool {
        let planes = self.of.planes.as_ref();
        planes.is_some_and(|(solver, at)| solver == of && *at == levels)
    }

    pub(super) fn shows_advice(&self, key: &AdviceKey) -> bool {
        self.of.advice.as_ref() == Some(key)
    }

    pub(super) fn shows_berths(&self, key: &BerthKey) -> bool {
        self.of.berths.as_ref() == Some(key)
    }

    pub(super) fn shows_compared(&self, key: &CompareKey) -> bool {
        self.of.compared.as_ref() == Some(key)
    }

    pub(super) fn show_slice(&mut self, key: FlowKey, levels: Levels, slice: SliceNews) {
        self.of.slices = Some((key, levels));
        match slice {
            SliceNews::Plan(field) => self.plan_slice = field,
            SliceNews::Side(field) => self.side_slice = field,
        }
        // Advice looks at a slice only while there is no tank estimate.
        if self.tank.is_none() {
            self.advised_flow.clone_from(&self.plan_slice);
        }
    }

    /// Advice looks again at the first field, at each quarter, and at the end.
    pub(super) fn show_tank(&mut self, key: FlowKey, field: Arc<FlowField>, status: FlowStatus) {
        let quarter = |status: &FlowStatus| match status {
            FlowStatus::Running(share) => (share * 4.0) as i32,
            _ => -1,
        };
        let is_first = self.tank.is_none() || !self.shows_tank(&key);
        let was = quarter(&self.tank_status);
        if is_first || quarter(&status) < 0 || quarter(&status) != was {
            self.advised_flow = Some(Arc::clone(&field));
        }
        self.of.tank = Some(key);
        self.tank = Some(field);
        self.tank_status = status;
    }

    /// A field that diverged means nothing: no colors are shown.
    pub(super) fn fail_flow(&mut self, key: FlowKey, error: JobError) {
        self.tank = None;
        self.of.tank = None;
        self.advised_flow = None;
        self.tank_status = FlowStatus::Idle;
        self.flow_fault = Some((key, error));
    }

    pub(super) fn show_light(&mut self, key: LightKey, news: LightNews) {
        self.of.light = Some(key);
        self.light_is_fine = news.is_final;
        self.light = Some(news.field);
        self.light_about = Some(news.about);
        let of = Same::of(&news.solver);
        self.light_solver = Some(news.solver);
        self.show_planes(of, news.levels, news.planes);
    }

    pub(super) fn fail_light(&mut self, key: LightKey, error: JobError) {
        self.light_fault = Some((key, error));
    }

    pub(super) fn show_planes(
        &mut self,
        of: Same<LightSolver>,
        levels: Levels,
        [plan, side, end]: [Arc<LightPlane>; 3],
    ) {
        self.of.planes = Some((of, levels));
        self.light_plan = Some(plan);
        self.light_side = Some(side);
        self.light_end = Some(end);
    }

    pub(super) fn show_advice(&mut self, key: AdviceKey, news: AdviceNews) {
        self.of.advice = Some(key);
        self.findings = news.findings;
        self.fits = news.fits;
        self.ahead = news.ahead;
        self.growth = news.growth;
        self.readings = news.readings;
        self.distances = news.distances;
    }

    pub(super) fn show_berths(&mut self, key: BerthKey, news: BerthNews) {
        self.of.berths = Some(key);
        self.berths = news.berths;
        self.berth_steps = news.steps;
        self.fit_wash = news.fit_wash;
        self.candidates = news.candidates;
        self.place_figures = news.figures;
    }

    pub(super) fn show_compared(&mut self, key: CompareKey, compared: Arc<Compared>) {
        self.of.compared = Some(key);
        self.compared = Some(compared);
    }

    /// Forgets the comparison and what it was made of.
    pub(super) fn end_comparing(&mut self) {
        self.of.compared = None;
        self.compared = None;
        self.other = OtherResults::default();
    }
}

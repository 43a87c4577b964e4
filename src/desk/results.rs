//! What the engines have found so far.

use std::sync::Arc;

use super::comparing::{Compared, OtherResults};
use super::paper::PaperStatus;
use super::readings::ReadingChecks;
use super::searching::SearchStatus;
use crate::advice::{Acclimation, Berth, Candidate, Finding, Fit, GrowthEvent, Proposal};
use crate::flow::FlowField;
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
    Failed(String),
}

/// Where the light stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
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
    Failed(String),
}

/// The newest results. A field may be older than the scene: then its `_is_old`
/// says so and it is shown as such.
#[derive(Clone, Debug, Default)]
pub struct Results {
    /// Slice estimate at the level of the top view, if a jet runs there.
    pub plan_slice: Option<Arc<FlowField>>,
    /// Slice estimate at the level of the side view, if a jet runs there.
    pub side_slice: Option<Arc<FlowField>>,
    /// Tank estimate.
    pub tank: Option<Arc<FlowField>>,
    /// Whether the slices are of an earlier scene.
    pub slices_are_old: bool,
    /// Whether the tank estimate is of an earlier scene.
    pub tank_is_old: bool,
    /// Whether the slices are of a later scene than the tank estimate, as while
    /// something is dragged.
    pub slices_lead: bool,
    /// Where the flow estimate stands.
    pub flow_status: FlowStatus,
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
    /// Whether the light is of an earlier scene.
    pub light_is_old: bool,
    /// Where the light stands.
    pub light_status: LightStatus,
    /// What was noticed, worst first.
    pub findings: Arc<Vec<Finding>>,
    /// How well each coral fits its place.
    pub fits: Arc<Vec<(ItemId, Fit)>>,
    /// What growth brings from today on, earliest first.
    pub growth: Arc<Vec<GrowthEvent>>,
    /// The best places for the chosen entry.
    pub berths: Arc<Vec<Berth>>,
    /// What the move to each of them asks of the coral that would move.
    pub berth_steps: Arc<Vec<Option<Acclimation>>>,
    /// Whether berths and candidates are of an earlier wish.
    pub berths_are_old: bool,
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
}

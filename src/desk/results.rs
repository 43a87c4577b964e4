//! What the engines have found so far.

use std::sync::Arc;

use crate::advice::Finding;
use crate::flow::FlowField;
use crate::light::{LightField, LightPlane};

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
#[derive(Clone, Debug, Default, PartialEq)]
pub enum LightStatus {
    /// Nothing asked for yet.
    #[default]
    Idle,
    /// Under way.
    Running,
    /// Direct light only; bounces follow.
    Direct,
    /// With mirrors and bounces.
    Full,
    /// Could not be computed: why, and what to do.
    Failed(String),
}

/// The newest results. A field may be older than the scene: then its `_is_old`
/// says so and it is shown as such.
#[derive(Clone, Debug, Default)]
pub struct Results {
    /// Slice estimate at the level of the top view.
    pub plan_slice: Option<Arc<FlowField>>,
    /// Slice estimate at the level of the side view.
    pub side_slice: Option<Arc<FlowField>>,
    /// Tank estimate.
    pub tank: Option<Arc<FlowField>>,
    /// Whether the slices are of an earlier scene.
    pub slices_are_old: bool,
    /// Whether the tank estimate is of an earlier scene.
    pub tank_is_old: bool,
    /// Where the flow estimate stands.
    pub flow_status: FlowStatus,
    /// Light on rock and sand.
    pub light: Option<Arc<LightField>>,
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
}

//! The keeper's own choices, and where the views are cut.

use serde::{Deserialize, Serialize};

use crate::draw;
use crate::scene::{Layout, Scene};
use crate::units::UnitSystem;

/// Choices that belong to the keeper, not to the scene.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Settings {
    /// Units on the screen.
    pub units: UnitSystem,
    /// Mean speed below which water counts as dead, in cm/s.
    pub dead_limit_cm_s: f64,
    /// Share of open light below which a surface counts as shaded.
    pub shade_share: f64,
    /// Months of growth to show.
    pub months: f64,
    /// Flow of the pump that a search looks for, in L/h; one that fits the tank
    /// if none was chosen.
    pub wanted_flow_lph: Option<f64>,
    /// Diameter of its outlet, in cm; one that fits that flow if none was chosen.
    pub wanted_outlet_cm: Option<f64>,
    /// Whether it also looks for pumps of the sizes that hang in the tank.
    pub search_own_sizes: bool,
    /// Whether the estimates run by themselves.
    pub is_live: bool,
    /// Whether the water is estimated on finer cells than the tank asks for.
    pub fine_cells: bool,
    /// Whether a layout that is left alone is looked at on finer cells too.
    pub looks_finer: bool,
    /// Whether the water is computed on the graphics card.
    pub on_card: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            units: UnitSystem::default(),
            dead_limit_cm_s: 2.0,
            shade_share: 0.2,
            months: 0.0,
            wanted_flow_lph: None,
            wanted_outlet_cm: None,
            search_own_sizes: false,
            is_live: true,
            fine_cells: false,
            looks_finer: true,
            on_card: false,
        }
    }
}

/// Where the views are cut, in cm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// Height of the cut that the top view shows.
    pub height_cm: f64,
    /// Distance from the front glass of the cut that the side view shows.
    pub depth_cm: f64,
    /// Distance from the left glass of the cut that the end view shows.
    pub across_cm: f64,
}

impl Levels {
    /// Cuts through the pumps of a layout and the middle of the tank, as a plan
    /// of it is cut.
    pub fn for_scene(scene: &Scene, layout_idx: usize) -> Self {
        let none = Layout::default();
        let layout = scene.layouts.get(layout_idx).unwrap_or(&none);
        let levels = draw::Levels::of_layout(scene, layout);
        Self {
            height_cm: levels.top_cm,
            depth_cm: levels.side_cm,
            across_cm: levels.end_cm,
        }
    }
}

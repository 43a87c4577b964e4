//! What each engine's result depends on: when none of it changes, the result
//! stays, whatever else is edited.

use std::sync::Arc;

use super::berthing::Place;
use crate::advice::BerthFilters;
use crate::scene::{Coral, ItemId, Lamp, Layout, Pump, Rock, Scene, Tank};

/// All that the flow estimate depends on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct WaterKey {
    tank: Tank,
    rocks: Vec<Rock>,
    pumps: Vec<Pump>,
    corals: Vec<Coral>,
    limit_cm_s: f64,
}

/// All that the light depends on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LightKey {
    tank: Tank,
    rocks: Vec<Rock>,
    lamps: Vec<Lamp>,
    corals: Vec<Coral>,
    measured_version: u64,
}

impl WaterKey {
    pub(super) fn new(scene: &Scene, layout: &Layout, limit_cm_s: f64) -> Self {
        let pump = |pump: &Pump| Pump {
            name: String::new(),
            power_w: None,
            locked: false,
            ..pump.clone()
        };
        Self {
            tank: scene.tank.clone(),
            rocks: layout.rocks.iter().map(bare_rock).collect(),
            pumps: layout.pumps.iter().map(pump).collect(),
            corals: layout.corals.iter().map(bare_coral).collect(),
            limit_cm_s,
        }
    }
}

impl LightKey {
    pub(super) fn new(scene: &Scene, layout: &Layout, measured_version: u64) -> Self {
        let lamp = |lamp: &Lamp| Lamp {
            name: String::new(),
            locked: false,
            ..lamp.clone()
        };
        Self {
            tank: scene.tank.clone(),
            rocks: layout.rocks.iter().map(bare_rock).collect(),
            lamps: layout.lamps.iter().map(lamp).collect(),
            corals: layout.corals.iter().map(bare_coral).collect(),
            measured_version,
        }
    }
}

/// All that the findings depend on beside the fields.
///
/// It is made several times a frame: it holds the scene itself, and looks into
/// it only when it is another one.
#[derive(Clone, Debug)]
pub(super) struct AdviceKey {
    pub(super) scene: Arc<Scene>,
    pub(super) layout_idx: usize,
    pub(super) limit_cm_s: f64,
    pub(super) shade_share: f64,
    pub(super) months: f64,
    pub(super) water_version: u64,
    pub(super) light_version: u64,
}

impl AdviceKey {
    /// Whether the parts of the scene that advice looks at are the same.
    fn is_about_the_same(&self, other: &Self) -> bool {
        if Arc::ptr_eq(&self.scene, &other.scene) {
            return self.layout_idx == other.layout_idx;
        }
        let (a, b) = (&self.scene, &other.scene);
        a.layouts.get(self.layout_idx) == b.layouts.get(other.layout_idx)
            && a.tank == b.tank
            && a.readings == b.readings
            && a.animals == b.animals
    }
}

impl PartialEq for AdviceKey {
    fn eq(&self, other: &Self) -> bool {
        let figures = |key: &Self| (key.limit_cm_s, key.shade_share, key.months);
        let versions = |key: &Self| (key.water_version, key.light_version);
        figures(self) == figures(other)
            && versions(self) == versions(other)
            && self.is_about_the_same(other)
    }
}

/// All that berths and candidates depend on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct BerthKey {
    pub(super) advice: AdviceKey,
    pub(super) chosen: Option<String>,
    pub(super) own: Option<ItemId>,
    pub(super) filters: BerthFilters,
    pub(super) place: Option<Place>,
}

fn bare_rock(rock: &Rock) -> Rock {
    Rock {
        name: String::new(),
        density_kg_per_l: 0.0,
        bonded: None,
        locked: false,
        ..rock.clone()
    }
}

fn bare_coral(coral: &Coral) -> Coral {
    Coral {
        name: String::new(),
        since: None,
        note: String::new(),
        locked: false,
        ..coral.clone()
    }
}

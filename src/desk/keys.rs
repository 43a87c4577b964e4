//! What each engine's result depends on: when none of it changes, the result
//! stays, whatever else is edited.

use super::berthing::Place;
use crate::advice::BerthFilters;
use crate::scene::{Animal, Coral, ItemId, Lamp, Layout, Pump, Reading, Rock, Scene, Tank};

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
#[derive(Clone, Debug, PartialEq)]
pub(super) struct AdviceKey {
    pub(super) tank: Tank,
    pub(super) layout: Layout,
    pub(super) readings: Vec<Reading>,
    pub(super) animals: Vec<Animal>,
    pub(super) limit_cm_s: f64,
    pub(super) shade_share: f64,
    pub(super) months: f64,
    pub(super) water_version: u64,
    pub(super) light_version: u64,
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

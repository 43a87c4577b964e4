//! What the keeper drew: one tank and the layouts tried in it.
//!
//! The model is the file: names, units (cm, L/h, degrees, µmol) and defaults
//! are those of `scenes/FORMAT.md`. Engines turn it into SI when they set up.

pub mod check;
pub mod finding;
mod gear;
mod items;
mod layout;
mod rock;
pub mod scan;
pub mod shapes;
pub mod solids;
mod tank;
mod underlay;

pub use check::{Issue, IssueSeverity, check, has_errors};
pub use gear::{
    Body, Day, FromHour, JetMeasure, Lamp, Output, Programme, Pump, PumpKind, Spread, TUBE_CM, aim,
    angles_deg,
};
pub use items::{Item, ItemKind};
pub use layout::{Animal, Behavior, Coral, Drift, Layout, Mount, Quantity, Reading, Support};
pub use rock::{Outline, Rock};
pub use scan::Scan;
pub use tank::{Measure, Overflow, Panes, Return, Sand, Side, SideName, Sides, Tank, Water};
pub use underlay::{PhotoView, Underlay};

use serde::{Deserialize, Serialize};

/// The format number that this program writes.
pub const FORMAT: u32 = 1;

/// One file: a tank, its stock and one or more layouts of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scene {
    /// Format number of the file.
    pub format: u32,
    /// What the keeper calls it.
    pub name: String,
    /// The glass box and what fills it.
    pub tank: Tank,
    /// The arrangements tried in it; at least one.
    pub layouts: Vec<Layout>,
    /// What the keeper measured.
    #[serde(default)]
    pub readings: Vec<Reading>,
    /// Who lives in it, by behavior.
    #[serde(default)]
    pub animals: Vec<Animal>,
    /// Photos of the tank under its views; at most one a view.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub underlays: Vec<Underlay>,
}

/// Names one item of a layout; unique within it.
pub type ItemId = u32;

impl Scene {
    /// The photo under a view, if there is one.
    pub fn underlay(&self, view: PhotoView) -> Option<&Underlay> {
        self.underlays.iter().find(|photo| photo.view == view)
    }

    /// The layout called `name`, or the first one if `name` is `None`.
    pub fn layout(&self, name: Option<&str>) -> Option<&Layout> {
        match name {
            Some(name) => self.layouts.iter().find(|layout| layout.name == name),
            None => self.layouts.first(),
        }
    }

    /// The readings that were taken in a layout, with their indices: those that
    /// name it, and those that name none if it is the first. Places that are
    /// only marked are left out.
    pub fn readings_of<'a>(
        &'a self,
        layout: &'a Layout,
    ) -> impl Iterator<Item = (usize, &'a Reading)> {
        let marked = self.marked_of(layout);
        marked.filter(|(_, reading)| reading.value.is_some())
    }

    /// The same with places that are only marked.
    pub fn marked_of<'a>(
        &'a self,
        layout: &'a Layout,
    ) -> impl Iterator<Item = (usize, &'a Reading)> {
        let is_first = self.layouts.first().map(|first| &first.name) == Some(&layout.name);
        let is_of = move |reading: &Reading| match &reading.layout {
            Some(name) => *name == layout.name,
            None => is_first,
        };
        let readings = self.readings.iter().enumerate();
        readings.filter(move |(_, reading)| is_of(reading))
    }
}

impl Layout {
    /// An id that no item of the layout has.
    pub fn free_id(&self) -> ItemId {
        self.ids().max().unwrap_or(0) + 1
    }

    /// All ids in use, rocks first.
    pub fn ids(&self) -> impl Iterator<Item = ItemId> + '_ {
        let rocks = self.rocks.iter().map(|item| item.id);
        let pumps = self.pumps.iter().map(|item| item.id);
        let lamps = self.lamps.iter().map(|item| item.id);
        let corals = self.corals.iter().map(|item| item.id);
        rocks.chain(pumps).chain(lamps).chain(corals)
    }
}

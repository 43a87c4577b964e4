//! What brings a finding about and what can be done, as data that the program
//! can carry out.

use glam::DVec3;

use super::quantity::Figure;
use crate::scene::{ItemId, Mount, Pump};

/// What brings a finding about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cause {
    /// A pump.
    Pump(ItemId),
    /// Pumps that move the water together.
    Pumps(Vec<ItemId>),
    /// Lamps, one or several that share the light.
    Lamps(Vec<ItemId>),
    /// A rock.
    Rock(ItemId),
    /// A coral.
    Coral(ItemId),
    /// An animal, by its place in the scene's list.
    Animal(usize),
}

impl Cause {
    /// Its stable name.
    pub fn tag(&self) -> &'static str {
        match self {
            Self::Pump(_) | Self::Pumps(_) => "pump",
            Self::Lamps(_) => "lamp",
            Self::Rock(_) => "rock",
            Self::Coral(_) => "coral",
            Self::Animal(_) => "animal",
        }
    }

    /// Ids of the items; empty for animals.
    pub fn items(&self) -> Vec<ItemId> {
        match self {
            Self::Pump(id) | Self::Rock(id) | Self::Coral(id) => vec![*id],
            Self::Lamps(ids) | Self::Pumps(ids) => ids.clone(),
            Self::Animal(_) => Vec::new(),
        }
    }
}

/// What can be done about a finding, by one click.
#[derive(Clone, Debug, PartialEq)]
pub enum Remedy {
    /// Search for a place for one more pump.
    ProposePump,
    /// Add this pump.
    AddPump(Box<Pump>),
    /// Set lamps to this share of what they give now.
    Dim {
        /// Which lamps.
        lamps: Vec<ItemId>,
        /// Factor on what each is set to.
        factor: f64,
    },
    /// Set a pump to this throttle, 0 to 1.
    Throttle {
        /// Which pump.
        pump: ItemId,
        /// Its new throttle.
        throttle: f64,
    },
    /// Turn a pump to this aim.
    Aim {
        /// Which pump.
        pump: ItemId,
        /// Turn about the vertical, in degrees.
        turn_deg: f64,
        /// Tilt upwards, in degrees.
        tilt_deg: f64,
    },
    /// Put an item elsewhere.
    Move {
        /// Which item.
        item: ItemId,
        /// By how much, in cm.
        by_cm: DVec3,
    },
    /// Hold a coral otherwise.
    Remount {
        /// Which coral.
        coral: ItemId,
        /// The mount to use.
        mount: Mount,
    },
    /// Take an item out.
    Remove(ItemId),
    /// Show where this coral would fit.
    ShowBerths(ItemId),
    /// Show what could live at the place.
    ListCandidates,
    /// Select the item.
    Select(ItemId),
}

impl Remedy {
    /// Its stable name.
    pub fn tag(&self) -> &'static str {
        match self {
            Self::ProposePump => "propose_pump",
            Self::AddPump(_) => "add_pump",
            Self::Dim { .. } => "dim",
            Self::Throttle { .. } => "throttle",
            Self::Aim { .. } => "aim",
            Self::Move { .. } => "move",
            Self::Remount { .. } => "remount",
            Self::Remove(_) => "remove",
            Self::ShowBerths(_) => "show_berths",
            Self::ListCandidates => "list_candidates",
            Self::Select(_) => "select",
        }
    }

    /// The item that it acts on, if it is one.
    pub fn item(&self) -> Option<ItemId> {
        match self {
            Self::Throttle { pump: id, .. }
            | Self::Aim { pump: id, .. }
            | Self::Move { item: id, .. }
            | Self::Remount { coral: id, .. }
            | Self::Remove(id)
            | Self::ShowBerths(id)
            | Self::Select(id) => Some(*id),
            Self::Dim { lamps, .. } => lamps.first().copied(),
            Self::AddPump(pump) => Some(pump.id),
            Self::ProposePump | Self::ListCandidates => None,
        }
    }
}

/// What a remedy gains: a figure before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gain {
    /// What it is of.
    pub figure: Figure,
    /// Its value now.
    pub before: f64,
    /// Its value with the remedy.
    pub after: f64,
    /// The whole that it is part of, such as all corals.
    pub of: Option<f64>,
}

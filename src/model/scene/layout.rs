//! One arrangement: rocks, pumps, lamps and corals; and what is known beside it.

use glam::DVec3;
use serde::{Deserialize, Serialize};

use super::{ItemId, Lamp, Pump, Rock};

/// One arrangement of the tank.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layout {
    /// What the keeper calls it; unique within the scene.
    pub name: String,
    /// The rockwork.
    #[serde(default)]
    pub rocks: Vec<Rock>,
    /// Circulation pumps.
    #[serde(default)]
    pub pumps: Vec<Pump>,
    /// Lamps.
    #[serde(default)]
    pub lamps: Vec<Lamp>,
    /// Corals.
    #[serde(default)]
    pub corals: Vec<Coral>,
}

/// A coral in its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coral {
    /// Unique within the layout.
    pub id: ItemId,
    /// Catalogue entry.
    pub entry: String,
    /// What the keeper calls it, if it has a name of its own.
    #[serde(default)]
    pub name: String,
    /// Middle of its base on the mount, in cm.
    pub at_cm: DVec3,
    /// Outward normal of the surface that it sits on.
    #[serde(default = "up")]
    pub facing: DVec3,
    /// Across x, across y, and height along `facing`, now, in cm.
    pub size_cm: DVec3,
    /// How it is held.
    #[serde(default)]
    pub mount: Mount,
    /// What it sits on.
    #[serde(default)]
    pub on: Support,
    /// When it was placed, as the keeper wrote it.
    #[serde(default)]
    pub since: Option<String>,
    /// The keeper's note.
    #[serde(default)]
    pub note: String,
    /// Whether the pointer leaves it alone.
    #[serde(default)]
    pub locked: bool,
}

/// How a coral is held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Mount {
    /// A frag plug in a drilled hole.
    Plug,
    /// Cyanoacrylate gel.
    #[default]
    Gel,
    /// Two-part epoxy putty.
    Putty,
    /// Gel, putty and gel again.
    GelAndPutty,
    /// Wedged between two contacts.
    Wedge,
    /// Tied down until it holds by itself.
    Thread,
    /// A rod in a drilled hole.
    Rod,
    /// Hung from a ledge.
    Hang,
    /// Set into the sand.
    Sand,
    /// On a loose stone.
    Rubble,
    /// Laid down, not fastened.
    Loose,
    /// It holds on by its own foot or threads.
    Foot,
}

impl Mount {
    /// Every mount, in the order of a list to choose from.
    pub const ALL: [Self; 12] = [
        Self::Plug,
        Self::Gel,
        Self::Putty,
        Self::GelAndPutty,
        Self::Wedge,
        Self::Thread,
        Self::Rod,
        Self::Hang,
        Self::Rubble,
        Self::Sand,
        Self::Loose,
        Self::Foot,
    ];

    /// A short stable name, for tables and scripts.
    pub fn tag(self) -> &'static str {
        match self {
            Self::Plug => "plug",
            Self::Gel => "gel",
            Self::Putty => "putty",
            Self::GelAndPutty => "gel_and_putty",
            Self::Wedge => "wedge",
            Self::Thread => "thread",
            Self::Rod => "rod",
            Self::Hang => "hang",
            Self::Sand => "sand",
            Self::Rubble => "rubble",
            Self::Loose => "loose",
            Self::Foot => "foot",
        }
    }
}

/// What a coral sits on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Support {
    /// The rock with this id.
    Rock(ItemId),
    /// The sand bed or bare bottom.
    #[default]
    Sand,
}

/// An animal, by what it does to rocks and corals.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Animal {
    /// What the keeper calls it.
    pub name: String,
    /// What it does.
    pub does: Vec<Behavior>,
}

/// What an animal does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Behavior {
    /// Digs under rock.
    Digs,
    /// Pushes loose things about.
    Pushes,
    /// Lives in a coral and rubs it.
    Hosts,
    /// Sits on corals and rock.
    Perches,
    /// Needs a hollow to hide in.
    NeedsCave {
        /// Smallest inner width, in cm.
        width_cm: f64,
    },
    /// Needs room to swim straight.
    NeedsLane {
        /// Length, in cm.
        length_cm: f64,
    },
}

/// Something that the keeper measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Layout that stood when it was taken; the first if left out.
    #[serde(default)]
    pub layout: Option<String>,
    /// Where, in cm.
    pub at_cm: DVec3,
    /// What was measured.
    pub quantity: Quantity,
    /// The value, in the quantity's unit; none while only the place is marked.
    #[serde(default, with = "plain", skip_serializing_if = "Option::is_none")]
    pub value: Option<f64>,
    /// Plus or minus (one standard deviation), in the same unit.
    #[serde(default)]
    pub spread: Option<f64>,
    /// The pump or lamp that ran alone, all others off; none if all ran.
    #[serde(default)]
    pub alone: Option<ItemId>,
    /// How a speed was taken, if by a drifting particle.
    #[serde(default)]
    pub drift: Option<Drift>,
    /// When, as the keeper wrote it.
    #[serde(default)]
    pub when: Option<String>,
}

impl Reading {
    /// The value; 0 of a place that is only marked, which counts for nothing.
    pub fn measured(&self) -> f64 {
        self.value.unwrap_or(0.0)
    }
}

/// A value that is left out or stands there by itself, without `Some`.
mod plain {
    use serde::{Deserialize as _, Deserializer, Serializer};

    #[expect(clippy::ref_option, reason = "serde asks for it so")]
    pub(super) fn serialize<S: Serializer>(value: &Option<f64>, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_f64(value.unwrap_or_default())
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<f64>, D::Error> {
        f64::deserialize(from).map(Some)
    }
}

/// A particle timed over a way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drift {
    /// The way, in cm.
    pub way_cm: f64,
    /// The time that it took, in s; the mean of all tries.
    pub time_s: f64,
    /// How often it was tried.
    #[serde(default = "once")]
    pub times: u32,
}

impl Drift {
    /// The speed, in cm/s.
    pub fn speed_cm_s(&self) -> f64 {
        self.way_cm / self.time_s
    }
}

fn once() -> u32 {
    1
}

/// What a reading measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Quantity {
    /// PPFD on a level sensor facing up, in µmol/m²/s.
    PpfdUp,
    /// PPFD on a small sphere, in µmol/m²/s.
    PpfdScalar,
    /// Speed of the water, in cm/s.
    Speed,
}

fn up() -> DVec3 {
    DVec3::Z
}

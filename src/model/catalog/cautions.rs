//! Cautions for people and animals.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::Status;
use crate::units::UnitSystem;

/// One caution, in our own words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// Short name.
    pub id: String,
    /// What it is about.
    pub topic: Topic,
    /// What to do, for the keeper, in metric units.
    pub text: String,
    /// The same in US units, where it has any.
    #[serde(default)]
    pub text_us: Option<String>,
    /// How sure it is.
    pub status: Status,
    /// What it rests on, if that is in print.
    pub references: Vec<String>,
}

impl Caution {
    /// What to do, in the keeper's units.
    pub fn text_in(&self, units: UnitSystem) -> &str {
        match (&self.text_us, units) {
            (Some(text), UnitSystem::Us) => text,
            _ => &self.text,
        }
    }
}

/// What a caution is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Topic {
    /// Mains current beside salt water.
    Electricity,
    /// Mass on glass, stand and floor.
    Weight,
    /// Rock that falls.
    Rock,
    /// The poison of some zoanthids.
    Palytoxin,
    /// Cuts and infections.
    Cuts,
    /// Glues and mortar.
    Glue,
    /// Medicines that harm.
    Medicine,
    /// Bright and heavy lamps.
    Lamps,
    /// Water on the floor.
    Flooding,
    /// Animals under hands and in pumps.
    Animals,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CautionFile {
    cautions: Vec<Caution>,
}

static CAUTIONS: LazyLock<Vec<Caution>> = LazyLock::new(|| {
    ron::from_str(include_str!("../../../assets/cautions.ron"))
        .map(|file: CautionFile| file.cautions)
        .unwrap_or_default()
});

/// All cautions in reading order. It is empty only if the built-in table is
/// broken, which a test rules out.
pub fn cautions() -> &'static [Caution] {
    &CAUTIONS
}

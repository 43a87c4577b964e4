//! One planning type and its parts, as they stand in the file.

use serde::{Deserialize, Serialize};

/// One way of living: a genus, or a growth form of it, that is planned alike.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Unique name, as scenes use it.
    pub id: String,
    /// Scientific name of the genus.
    pub genus: String,
    /// Which kind of animal it is.
    pub kind: Kind,
    /// The trade's generic word.
    pub plain_name: String,
    /// Other names that it goes by, old genus names among them.
    pub aliases: Vec<String>,
    /// Light on its surface, PPFD in µmol/m²/s.
    pub light_ppfd_umol: Range,
    /// Mean speed just above it, in cm/s.
    pub flow_cm_s: Range,
    /// How it grows.
    pub form: Form,
    /// That form in words.
    pub form_text: String,
    /// Width that it reaches in a tank, in cm.
    pub spread_cm: Sourced,
    /// How fast its edge moves outwards, in cm a year.
    pub growth_cm_yr: Range,
    /// What the low and high of that rate are.
    pub growth_range_text: String,
    /// How far its stinging tentacles or filaments reach past its edge, in cm.
    pub reach_cm: Sourced,
    /// Gap to keep to a neighbor of another group, in cm.
    pub gap_cm: Sourced,
    /// Rank in published contests, 0 (always loses) to 100.
    pub aggressiveness: Option<f64>,
    /// Id of its contact group.
    pub contact: String,
    /// Ways in which it can be held, best first.
    pub seats: Vec<Seat>,
    /// The same in words.
    pub seat_text: String,
    /// Where it is put.
    pub place: Place,
    /// Depth of sand that it needs where it is set into sand, in cm; a shallow
    /// bed will do if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sand_depth_cm: Option<Sourced>,
    /// How well it bears shade, 0 (not at all) to 4 (wants it).
    pub shade_tolerance: u8,
    /// Whether its flesh tears on rough rock.
    pub fleshy: bool,
    /// What it does to others or to people.
    pub hazards: Vec<Hazard>,
    /// The same in words.
    pub hazard_text: String,
    /// What else a planner should know.
    pub note: String,
}

impl Entry {
    /// Common and scientific name, as in "torch (Euphyllia)"; the common one
    /// alone if it holds the other, as in "finger Porites".
    pub fn label(&self) -> String {
        if self.plain_name.contains(&self.genus) {
            return self.plain_name.clone();
        }
        format!("{} ({})", self.plain_name, self.genus)
    }

    /// Names in lower case, for the search.
    pub(crate) fn names_text(&self) -> String {
        let aliases = self.aliases.join(" ");
        format!("{} {} {} {aliases}", self.id, self.genus, self.plain_name).to_lowercase()
    }

    /// Everything that can be searched, in lower case.
    pub(crate) fn words(&self) -> String {
        let kind = self.kind.words();
        format!(
            "{} {kind} {} {} {} {} {} {} {}",
            self.names_text(),
            self.form_text,
            self.form.word(),
            self.contact,
            self.seat_text,
            self.place.text,
            self.hazard_text,
            self.note
        )
        .to_lowercase()
    }
}

/// A range with the value that suits best, and where it comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    /// Least that will do.
    pub low: f64,
    /// Best.
    pub optimum: f64,
    /// Most that will do.
    pub high: f64,
    /// Where it comes from.
    pub basis: Basis,
}

/// A value and where it comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sourced {
    /// The value, in the unit that the field's name gives.
    pub value: f64,
    /// Where it comes from.
    pub basis: Basis,
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Basis {
    /// How sure it is.
    pub status: Status,
    /// Short names of its sources.
    pub sources: Vec<String>,
    /// What those say.
    pub text: String,
}

impl Basis {
    /// One line for the keeper: how sure, and what the sources say.
    pub fn line(&self) -> String {
        if self.text.is_empty() {
            self.status.words().to_owned()
        } else {
            format!("{}: {}", self.status.words(), self.text)
        }
    }
}

/// How sure a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Status {
    /// Recalled, without a source at hand.
    Memory,
    /// What keepers agree on.
    CommonPractice,
    /// Computed from other values here.
    Derived,
    /// Printed in a source that is named.
    Published,
}

impl Status {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Memory => "from memory",
            Self::CommonPractice => "common practice",
            Self::Derived => "derived",
            Self::Published => "published",
        }
    }
}

/// What a short source name stands for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Short name.
    pub id: String,
    /// Who, when, what.
    pub reference: String,
    /// How much of it was read.
    pub seen: String,
    /// How sure it is.
    pub status: String,
}

/// Which kind of animal an entry is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Kind {
    /// Stony, small polyps.
    SmallPolyped,
    /// Stony, between small and large polyps.
    Between,
    /// Stony, large polyps.
    LargePolyped,
    /// Leathers and other soft corals.
    Soft,
    /// Sea fans, rods and plumes.
    Gorgonian,
    /// Zoanthids.
    Zoanthid,
    /// Mushroom corals.
    Mushroom,
    /// Fire corals.
    Hydrocoral,
    /// Blue coral: an octocoral with a stony skeleton.
    BlueCoral,
    /// Sea anemones.
    Anemone,
    /// Giant clams.
    Clam,
}

impl Kind {
    /// Words that a keeper may search for.
    pub fn words(self) -> &'static str {
        match self {
            Self::SmallPolyped => "SPS stony",
            Self::Between => "SPS LPS stony",
            Self::LargePolyped => "LPS stony",
            Self::Soft => "soft coral",
            Self::Gorgonian => "gorgonian soft coral",
            Self::Zoanthid => "zoanthid polyps",
            Self::Mushroom => "mushroom corallimorph",
            Self::Hydrocoral => "hydrocoral stony",
            Self::BlueCoral => "octocoral stony",
            Self::Anemone => "anemone",
            Self::Clam => "clam",
        }
    }
}

/// How an entry grows, as far as water, shade and room are concerned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Form {
    /// Branches of one piece.
    Branching,
    /// A flat top on a stalk.
    Table,
    /// Thin plates, scrolls and leaves.
    Plating,
    /// A crust that follows the rock.
    Encrusting,
    /// A boulder or column.
    Massive,
    /// Heads on separate stalks, or an upright wall.
    Phaceloid,
    /// A single skeleton that lies free.
    FreeLiving,
    /// Polyps joined by a creeping sheet or runners.
    Mat,
    /// A soft stem with branches or a cap.
    Tree,
    /// A flat net that stands up.
    Fan,
    /// A soft disc held by its foot.
    Disc,
    /// A clam.
    Clam,
}

impl Form {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Branching => "branching",
            Self::Table => "table",
            Self::Plating => "plating",
            Self::Encrusting => "encrusting",
            Self::Massive => "massive",
            Self::Phaceloid => "phaceloid",
            Self::FreeLiving => "free-living",
            Self::Mat => "mat",
            Self::Tree => "tree",
            Self::Fan => "fan",
            Self::Disc => "disc",
            Self::Clam => "clam",
        }
    }

    /// Whether water passes through it (a drag) instead of around it (a solid).
    pub fn lets_water_through(self) -> bool {
        matches!(
            self,
            Self::Branching | Self::Phaceloid | Self::Tree | Self::Fan
        )
    }

    /// Whether it grows over the surface that it sits on, as mats and crusts do.
    pub fn creeps(self) -> bool {
        matches!(self, Self::Encrusting | Self::Mat)
    }

    /// How fast its top rises as a share of how fast its edge moves outwards.
    ///
    /// **Source** COMMON PRACTICE: crusts and mats stay low, plates stay thin,
    /// stems and branches rise as they spread.
    pub fn rise_share(self) -> f64 {
        match self {
            Self::Encrusting | Self::Mat | Self::Disc | Self::FreeLiving => 0.1,
            Self::Table | Self::Plating => 0.3,
            Self::Massive | Self::Clam | Self::Phaceloid => 0.7,
            Self::Branching => 1.0,
            Self::Tree | Self::Fan => 1.5,
        }
    }
}

/// How an entry can be held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Seat {
    /// A frag plug in a drilled hole.
    Plug,
    /// Cyanoacrylate gel.
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
    /// It holds on by itself.
    Itself,
}

/// Where an entry is put.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// In words.
    pub text: String,
    /// Heights that suit, if any are named.
    pub heights: Vec<Height>,
    /// Whether it goes on rock.
    pub rock: bool,
    /// Whether it goes on sand.
    pub sand: bool,
    /// Whether it wants a roof.
    pub under_ledge: bool,
    /// Whether it wants a rock of its own.
    pub own_island: bool,
}

/// A third of the water column.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Height {
    /// Lowest.
    Low,
    /// Middle.
    Middle,
    /// Highest.
    High,
}

/// What an entry does to others or to people.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Hazard {
    /// Can hold a strong poison.
    Palytoxin,
    /// Stings hands.
    StingsPeople,
    /// Stings neighbors badly.
    StrongSting,
    /// Spreads over rock and neighbors.
    Spreads,
    /// Starves unless fed.
    MustBeFed,
    /// Gives off substances that slow others.
    Chemicals,
    /// Walks off, into pumps at worst.
    Wanders,
    /// Catches fish.
    EatsFish,
}

impl Hazard {
    /// What a keeper should know, in one sentence.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::Palytoxin => {
                "It can hold palytoxin, a strong poison: gloves and eye protection, never boil, scrub or cut it dry."
            }
            Self::StingsPeople => "It stings people: wear gloves.",
            Self::StrongSting => "It stings its neighbors badly.",
            Self::Spreads => "It spreads over rock and neighbors.",
            Self::MustBeFed => "It must be fed: without food it starves, whatever the light.",
            Self::Chemicals => {
                "It gives off substances that slow stony corals: keep it downstream, and use carbon."
            }
            Self::Wanders => "It wanders: guard every pump intake.",
            Self::EatsFish => "It catches small fish.",
        }
    }
}

/// Who may touch whom.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Contact {
    /// Short name.
    pub id: String,
    /// In words.
    pub name: String,
    /// Among members.
    pub same: ContactRule,
    /// The same in words.
    pub same_text: String,
    /// With anything else.
    pub others: ContactRule,
    /// The same in words.
    pub others_text: String,
    /// Why.
    pub why: String,
    /// Where it comes from.
    pub basis: Basis,
}

/// Whether two may touch; later is worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum ContactRule {
    /// They may.
    Fine,
    /// Only within one genus.
    SameKindOnly,
    /// Keep an eye on them.
    Watch,
    /// One will suffer.
    Avoid,
    /// One will die back.
    Never,
}

//! One thing that was noticed.

use glam::DVec3;

use crate::scene::{ItemId, Pump};

/// One thing the program noticed, with place, size, how bad and how sure.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// What it is about.
    pub kind: Kind,
    /// How bad it is.
    pub severity: Severity,
    /// How sure the estimate is of it.
    pub certainty: Certainty,
    /// One sentence for the keeper.
    pub text: String,
    /// Middle of it in the tank, in m.
    pub at_m: DVec3,
    /// Half size of the box around it, in m.
    pub half_size_m: DVec3,
    /// The item that it is about, if there is one.
    pub item: Option<ItemId>,
    /// What could be done.
    pub remedies: Vec<Remedy>,
}

/// What a finding is about, with the figure that matters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// Connected water slower than the limit.
    DeadSpot {
        /// Its volume, in L.
        volume_l: f64,
        /// Mean speed in it, in m/s.
        mean_speed_m_s: f64,
    },
    /// Rock or sand surface that gets little light.
    Shade {
        /// Its surface, in m².
        area_m2: f64,
        /// Mean share of open light.
        open_share: f64,
        /// Mean PPFD, in µmol/m²/s.
        ppfd_umol: f64,
    },
    /// A coral outside its range of light.
    CoralLight {
        /// PPFD on it, in µmol/m²/s.
        ppfd_umol: f64,
    },
    /// A coral outside its range of flow.
    CoralFlow {
        /// Mean speed over it, in m/s.
        speed_m_s: f64,
    },
    /// A coral too close to a neighbor.
    CoralRoom {
        /// Gap now, in m.
        gap_m: f64,
    },
    /// A rock that may not stand.
    Standing {
        /// Horizontal distance of its center of mass from the edge of its
        /// support, in m; negative outside.
        margin_m: f64,
    },
    /// A coral held in a way that will not do.
    CoralMount,
    /// Something that an animal does or misses.
    Animal,
    /// A caution for people that an item brings with it.
    Caution,
    /// Sand that the flow may move.
    SandMoves {
        /// Its surface, in m².
        area_m2: f64,
    },
    /// Water in which several runs of the tank go different ways.
    MayFlip {
        /// Its volume, in L.
        volume_l: f64,
    },
    /// Something in the scene that keeps the estimate from being right.
    Setup,
}

impl Kind {
    /// A short stable name, for tables and scripts.
    pub fn word(&self) -> &'static str {
        match self {
            Self::DeadSpot { .. } => "dead_spot",
            Self::Shade { .. } => "shade",
            Self::CoralLight { .. } => "coral_light",
            Self::CoralFlow { .. } => "coral_flow",
            Self::CoralRoom { .. } => "coral_room",
            Self::Standing { .. } => "standing",
            Self::CoralMount => "coral_mount",
            Self::Animal => "animal",
            Self::Caution => "caution",
            Self::SandMoves { .. } => "sand_moves",
            Self::MayFlip { .. } => "may_flip",
            Self::Setup => "setup",
        }
    }

    /// The figures that come with it: name with unit, and value.
    pub fn figures(&self) -> Vec<(&'static str, f64)> {
        match *self {
            Self::DeadSpot {
                volume_l,
                mean_speed_m_s,
            } => vec![
                ("volume_l", volume_l),
                ("mean_speed_cm_s", mean_speed_m_s * 100.0),
            ],
            Self::Shade {
                area_m2,
                open_share,
                ppfd_umol,
            } => vec![
                ("area_m2", area_m2),
                ("open_share", open_share),
                ("ppfd_umol", ppfd_umol),
            ],
            Self::CoralLight { ppfd_umol } => vec![("ppfd_umol", ppfd_umol)],
            Self::CoralFlow { speed_m_s } => vec![("speed_cm_s", speed_m_s * 100.0)],
            Self::CoralRoom { gap_m } => vec![("gap_cm", gap_m * 100.0)],
            Self::Standing { margin_m } => vec![("margin_cm", margin_m * 100.0)],
            Self::MayFlip { volume_l } => vec![("volume_l", volume_l)],
            Self::SandMoves { area_m2 } => vec![("area_m2", area_m2)],
            Self::CoralMount | Self::Animal | Self::Caution | Self::Setup => Vec::new(),
        }
    }
}

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Good to know.
    Note,
    /// Worth a change.
    Warning,
    /// Will hurt something.
    Serious,
}

impl Severity {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Serious => "serious",
        }
    }
}

/// How sure the estimate is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Certainty {
    /// Worth a look at the tank.
    Check,
    /// More likely than not.
    Likely,
    /// Would surprise if it were not so.
    Sure,
}

impl Certainty {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Check => "check",
            Self::Likely => "likely",
            Self::Sure => "sure",
        }
    }
}

/// What could be done about a finding, by one click.
#[derive(Clone, Debug, PartialEq)]
pub enum Remedy {
    /// Search for a place for one more pump.
    ProposePump,
    /// Add this pump.
    AddPump(Box<Pump>),
    /// Show where this coral would fit.
    ShowBerths(ItemId),
    /// Show what could live at the place.
    ListCandidates,
    /// Select the item.
    Select(ItemId),
}

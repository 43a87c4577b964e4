//! What the blocks of the kernel hold.

/// What a block holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// No water.
    Solid,
    /// Water only.
    Open,
    /// Water and solid.
    Mixed,
    /// Water only, and something acts on it.
    OpenForced,
    /// Water and solid, and something acts on the water.
    MixedForced,
}

impl Kind {
    /// Whether something acts on its water.
    pub(super) fn is_forced(self) -> bool {
        matches!(self, Self::OpenForced | Self::MixedForced)
    }

    /// The same once something acts on it.
    pub(super) fn forced(self) -> Self {
        match self {
            Self::Open | Self::OpenForced => Self::OpenForced,
            Self::Solid | Self::Mixed | Self::MixedForced => Self::MixedForced,
        }
    }
}

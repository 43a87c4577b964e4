//! What the blocks of the kernel hold, and what acts on them.

use crate::lanes::BLOCK;
use crate::slides::BlockSlide;

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

/// What acts on the cells of a block.
#[derive(Clone, Debug, Default)]
pub(super) struct BlockForce {
    pub(super) block: usize,
    pub(super) slides: Vec<BlockSlide>,
    pub(super) wall_linear: [f32; BLOCK],
    pub(super) wall_quadratic: [f32; BLOCK],
    pub(super) force: [[f32; BLOCK]; 3],
    pub(super) linear: [f32; BLOCK],
    pub(super) quadratic: [f32; BLOCK],
    pub(super) mass: [f32; BLOCK],
}

impl BlockForce {
    /// Leaves only what the walls do.
    pub(super) fn rest(&mut self) {
        self.force = [[0.0; BLOCK]; 3];
        self.linear = self.wall_linear;
        self.quadratic = self.wall_quadratic;
        self.mass = [0.0; BLOCK];
    }
}

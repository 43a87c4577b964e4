//! Where a finding is: on which rock and side, under which ledge, in which
//! part of the water, with a box and a point that lies in it.

use glam::DVec3;

use super::kind::tagged;
use crate::scene::{ItemId, SideName, Tank};
use crate::units::M_PER_CM;

/// Where something is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// What kind of place, and of which rock or part of the tank.
    pub spot: Spot,
    /// A point that lies in it, where it is worst, in cm.
    pub at_cm: DVec3,
    /// Lowest corner of the box around it, in cm.
    pub low_cm: DVec3,
    /// Highest corner of that box, in cm.
    pub high_cm: DVec3,
}

/// What kind of place it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot {
    /// A side of a rock.
    Rock {
        /// Which rock.
        rock: ItemId,
        /// Which side of it.
        side: Side,
    },
    /// The underside of a ledge.
    Ledge {
        /// Which rock.
        rock: ItemId,
        /// Which of its ledges, counted from below; 0 where there is but one.
        number: u32,
    },
    /// The sand, open or under a rock.
    Sand {
        /// A rock above or near it.
        near: Option<(Bearing, ItemId)>,
        /// Part of the tank.
        part: Part,
    },
    /// A pane.
    Pane(SideName),
    /// Open water.
    Water {
        /// How it lies to a rock that most of it is near.
        near: Option<(Bearing, ItemId)>,
        /// A second rock, if it lies between two.
        other: Option<ItemId>,
        /// Part of the tank.
        part: Part,
        /// Whether it fills a corner of the tank.
        is_cornered: bool,
    },
    /// An item: a coral, pump or lamp.
    Item(ItemId),
    /// The whole tank.
    Tank,
}

impl Spot {
    /// Its stable name.
    pub fn tag(&self) -> &'static str {
        match self {
            Self::Rock { .. } => "rock",
            Self::Ledge { .. } => "ledge",
            Self::Sand { .. } => "sand",
            Self::Pane(_) => "pane",
            Self::Water { .. } => "water",
            Self::Item(_) => "item",
            Self::Tank => "tank",
        }
    }

    /// The rock or item that it belongs to or is near, if there is one.
    pub fn item(&self) -> Option<ItemId> {
        match *self {
            Self::Rock { rock: id, .. } | Self::Ledge { rock: id, .. } | Self::Item(id) => Some(id),
            Self::Sand { near, .. } | Self::Water { near, .. } => near.map(|(_, id)| id),
            Self::Pane(_) | Self::Tank => None,
        }
    }
}

tagged! {
    /// A side of a rock.
    Side {
        /// All of it.
        Whole = "whole",
        /// Its top.
        Top = "top",
        /// Its underside.
        Underside = "underside",
        /// Towards the left pane.
        Left = "left",
        /// Towards the right pane.
        Right = "right",
        /// Towards the front pane.
        Front = "front",
        /// Towards the back pane.
        Back = "back",
        /// Several flanks.
        Flanks = "flanks",
    }
}

tagged! {
    /// How a place lies to a rock.
    Bearing {
        /// Above it.
        Above = "above",
        /// Below it.
        Under = "under",
        /// Behind it.
        Behind = "behind",
        /// In front of it.
        InFront = "in_front",
        /// Left of it.
        LeftOf = "left_of",
        /// Right of it.
        RightOf = "right_of",
        /// Between it and another one.
        Between = "between",
    }
}

tagged! {
    /// Where along the tank's length.
    Along {
        /// The left third.
        Left = "left",
        /// The middle.
        Middle = "middle",
        /// The right third.
        Right = "right",
        /// More than half of the length.
        All = "all",
    }
}

tagged! {
    /// Where from front to back.
    Across {
        /// The front third.
        Front = "front",
        /// The middle.
        Middle = "middle",
        /// The back third.
        Back = "back",
        /// More than half of the width.
        All = "all",
    }
}

tagged! {
    /// How high in the water.
    Level {
        /// The lowest third.
        Low = "low",
        /// The middle.
        Middle = "middle",
        /// The highest third.
        High = "high",
        /// From the bottom to the top.
        All = "all",
    }
}

/// A part of the tank.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Part {
    /// Along its length.
    pub along: Along,
    /// From front to back.
    pub across: Across,
    /// From the bottom up.
    pub level: Level,
}

impl Place {
    /// A place at one point with a box around it, both in cm.
    pub fn at(spot: Spot, at_cm: DVec3, half_size_cm: DVec3) -> Self {
        Self {
            spot,
            at_cm,
            low_cm: at_cm - half_size_cm,
            high_cm: at_cm + half_size_cm,
        }
    }

    /// A place with a point and the box of points around it, all in m; the box
    /// is wider than the points by `edge_m` in all, as each stands for a cell.
    pub fn of_points_m(spot: Spot, at_m: DVec3, points_m: &[DVec3], edge_m: f64) -> Self {
        let (low, high) = points_m.iter().fold((at_m, at_m), |(low, high), point| {
            (low.min(*point), high.max(*point))
        });
        Self {
            spot,
            at_cm: at_m / M_PER_CM,
            low_cm: (low - edge_m / 2.0) / M_PER_CM,
            high_cm: (high + edge_m / 2.0) / M_PER_CM,
        }
    }

    /// The whole water of a tank.
    pub fn tank(tank: &Tank) -> Self {
        let low_cm = DVec3::new(0.0, 0.0, tank.sand.depth_cm);
        let high_cm = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
        Self {
            spot: Spot::Tank,
            at_cm: (low_cm + high_cm) / 2.0,
            low_cm,
            high_cm,
        }
    }

    /// The same with point and box brought inside the tank.
    #[must_use]
    pub fn within(mut self, tank: &Tank) -> Self {
        let most = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm);
        let inside = |at: DVec3| at.clamp(DVec3::ZERO, most.max(DVec3::ZERO));
        self.at_cm = inside(self.at_cm);
        self.low_cm = inside(self.low_cm);
        self.high_cm = inside(self.high_cm);
        self
    }

    /// Its point, in m.
    pub fn at_m(&self) -> DVec3 {
        self.at_cm * M_PER_CM
    }

    /// Middle of its box, in m.
    pub fn middle_m(&self) -> DVec3 {
        (self.low_cm + self.high_cm) / 2.0 * M_PER_CM
    }

    /// Half size of its box, in m.
    pub fn half_size_m(&self) -> DVec3 {
        (self.high_cm - self.low_cm) / 2.0 * M_PER_CM
    }

    /// Volume of its box, in L.
    pub fn volume_l(&self) -> f64 {
        (self.high_cm - self.low_cm).element_product() / 1000.0
    }
}

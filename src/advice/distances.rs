//! Distances that a builder checks with a ruler: rock to glass, top of rock to
//! the surface, room round outlets, an arm's reach.

use glam::DVec3;

use crate::scene::ItemId;
use crate::standing::standing;
use crate::study::Study;
use crate::units::M_PER_CM;

/// What a distance is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Between {
    /// A rock and the left pane.
    LeftPane,
    /// A rock and the right pane.
    RightPane,
    /// A rock and the front pane.
    FrontPane,
    /// A rock and the back pane.
    BackPane,
    /// The top of a rock and the surface.
    Surface,
    /// The outlet of a pump and the nearest rock or coral.
    Outlet,
    /// The farthest part of a rock and the rim of the front or a side.
    Rim,
}

impl Between {
    /// A short stable name, for scripts and tables.
    pub fn tag(self) -> &'static str {
        match self {
            Self::LeftPane => "rock_to_left_pane",
            Self::RightPane => "rock_to_right_pane",
            Self::FrontPane => "rock_to_front_pane",
            Self::BackPane => "rock_to_back_pane",
            Self::Surface => "rock_to_surface",
            Self::Outlet => "round_outlet",
            Self::Rim => "reach_from_rim",
        }
    }

    /// Least distance, in m; most for an arm's reach, which the keeper sets.
    ///
    /// **Source** COMMON PRACTICE: 5 to 8 cm to panes for magnet and fingers
    /// (none at a back that is never cleaned), 10 cm at least to the surface, 3
    /// to 5 cm round a pump.
    fn wanted_m(self, reach_m: f64) -> f64 {
        match self {
            Self::Surface => 0.10,
            Self::LeftPane | Self::RightPane | Self::FrontPane | Self::BackPane | Self::Outlet => {
                0.05
            }
            Self::Rim => reach_m,
        }
    }
}

/// One distance of a layout.
#[derive(Clone, Debug, PartialEq)]
pub struct Distance {
    /// What it is of.
    pub between: Between,
    /// The rocks that move as one, or the pump.
    pub items: Vec<ItemId>,
    /// The distance, in m; negative where something reaches through.
    pub distance_m: f64,
    /// Least that is wanted, in m; most for a reach.
    pub wanted_m: f64,
}

impl Distance {
    /// Whether it will do.
    pub fn is_good(&self) -> bool {
        match self.between {
            Between::Rim => self.distance_m <= self.wanted_m,
            _ => self.distance_m >= self.wanted_m,
        }
    }
}

/// The distances of every rock or bonded group and every pump, those that will
/// not do first.
pub fn distances(study: &Study) -> Vec<Distance> {
    let reach_m = study.limits().arm_reach_m;
    let tank = &study.scene().tank;
    let size_m = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm) * M_PER_CM;
    let water_m = tank.water_cm * M_PER_CM;
    let mut all = Vec::new();
    let mut tell = |between: Between, items: &[ItemId], distance_m: f64| {
        all.push(Distance {
            between,
            items: items.to_vec(),
            distance_m,
            wanted_m: between.wanted_m(reach_m),
        });
    };
    for body in standing(study) {
        let panes = [
            Between::LeftPane,
            Between::RightPane,
            Between::FrontPane,
            Between::BackPane,
        ];
        for (pane, clear_m) in panes.into_iter().zip(body.clear_m) {
            tell(pane, &body.rocks, clear_m);
        }
        let solids = body.rocks.iter().filter_map(|id| study.rock_solid(*id));
        let bounds: Vec<_> = solids.map(|solid| solid.bounds()).collect();
        let top_m = bounds.iter().map(|b| b.max_m.z).fold(0.0, f64::max);
        tell(Between::Surface, &body.rocks, water_m - top_m);
        let far_m = bounds.iter().map(|b| farthest_m(b.min_m, b.max_m, size_m));
        tell(Between::Rim, &body.rocks, far_m.fold(0.0, f64::max));
    }
    for pump in &study.layout().pumps {
        let at_m = pump.at_cm * M_PER_CM;
        let rock_m = study
            .rockwork()
            .nearest(at_m)
            .map_or(f64::INFINITY, |(d, _)| d);
        let corals = study.layout().corals.iter().map(|coral| {
            let half_cm = coral.size_cm.max_element() / 2.0;
            (coral.at_cm.distance(pump.at_cm) - half_cm) * M_PER_CM
        });
        let nearest_m = corals.fold(rock_m, f64::min);
        if nearest_m.is_finite() {
            tell(Between::Outlet, &[pump.id], nearest_m);
        }
    }
    all.sort_by_key(Distance::is_good);
    all
}

/// How far the corner of a box that is hardest to reach lies from the rim of
/// the front or the nearer side.
fn farthest_m(low_m: DVec3, high_m: DVec3, size_m: DVec3) -> f64 {
    let corners = (0..4).map(|idx| {
        let x = if idx & 1 == 0 { low_m.x } else { high_m.x };
        let y = if idx & 2 == 0 { low_m.y } else { high_m.y };
        let sideways = y.min(x).min(size_m.x - x).max(0.0);
        sideways.hypot(size_m.z - low_m.z)
    });
    corners.fold(0.0, f64::max)
}

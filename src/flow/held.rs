//! Jets of a slice. A single layer of water cannot carry a round jet: in a
//! plane it would decay too slowly, and its return flow, which in a tank passes
//! over and under it, would bend it to one side. So a slice holds the water in
//! the core of each jet to the law of a free round jet, cut where the slice
//! cuts it, as far as nothing stands in its way; all other water follows.

use glam::DVec3;

use crate::geometry::{CellGrid, Ray, Rockwork};
use crate::jet::{PLANE_DECAY, ROUND_DECAY};
use crate::outlet::{Outlet, half_width_share};
use crate::{CellKind, Cut};

/// Least share of the centerline speed at which water is held; own choice.
const CORE_SHARE: f64 = 0.3;

/// Part of the free way after which a jet is let go, and where it is let go
/// whole: before a wall it turns as the water there will. Own choice.
const LET_GO: [f64; 2] = [0.7, 0.9];

/// Speed below which nothing is held, in m/s; own choice, half of the slowest
/// class of the wash.
const SPEED_MIN_M_S: f64 = 0.01;

/// A cell of water that follows a jet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct HeldCell {
    pub(crate) cell: usize,
    /// What it is held to, in m/s.
    pub(crate) velocity_m_s: DVec3,
    /// How fast it follows, in 1/s.
    pub(crate) rate_per_s: f64,
}

/// The water that jets run in.
pub(crate) struct JetWater<'a> {
    pub(crate) grid: &'a CellGrid,
    pub(crate) kinds: &'a [CellKind],
    pub(crate) rockwork: &'a Rockwork,
    pub(crate) cut: Cut,
    /// Low and high corner of the water, above the sand, in m.
    pub(crate) bounds_m: [DVec3; 2],
}

impl JetWater<'_> {
    /// The cells that follow this outlet's jet.
    pub(crate) fn held_by(&self, outlet: &Outlet) -> Vec<HeldCell> {
        let flat = match self.cut {
            Cut::Plan { .. } => DVec3::new(1.0, 1.0, 0.0),
            Cut::Side { .. } => DVec3::new(1.0, 0.0, 1.0),
            Cut::Tank => return Vec::new(),
        };
        let top_m_s = outlet.cell_speed_m_s(self.grid.cell_m);
        (0..self.grid.n_cells())
            .filter(|&cell| self.kinds[cell] == CellKind::Water)
            .filter_map(|cell| {
                let at_m = self.grid.center_m(self.grid.ijk(cell));
                let (speed, half_width_m) = free_jet(outlet, at_m, self.grid.cell_m)?;
                let speed_m_s = speed.min(top_m_s);
                let hold = self.hold(outlet.at_m, at_m, LET_GO);
                (hold > 0.0 && speed_m_s > SPEED_MIN_M_S).then(|| HeldCell {
                    cell,
                    velocity_m_s: outlet.aim * flat * speed_m_s,
                    // Water follows within half the jet's half width.
                    rate_per_s: hold * 2.0 * speed_m_s / half_width_m,
                })
            })
            .collect()
    }

    /// How firmly a place is held, 0 to 1: less near the end of the free way
    /// from the outlet through it, between the two parts of it in `let_go`, and
    /// not at all behind rock.
    pub(crate) fn hold(&self, from_m: DVec3, to_m: DVec3, let_go: [f64; 2]) -> f64 {
        let way_m = from_m.distance(to_m);
        let skip_m = 2.0 * self.grid.cell_m;
        if way_m <= skip_m {
            return 1.0;
        }
        let along = (to_m - from_m) / way_m;
        let mut free_m = self.way_to_bounds(from_m, along);
        // What touches the pump itself does not stop its jet.
        let ray = Ray {
            origin_m: from_m + along * skip_m,
            direction: along,
        };
        if let Some(hit) = self.rockwork.first_hit(&ray, free_m - skip_m) {
            free_m = skip_m + hit.distance_m;
        }
        ((let_go[1] - way_m / free_m) / (let_go[1] - let_go[0])).clamp(0.0, 1.0)
    }

    /// Way from a place in the water to its bounds.
    fn way_to_bounds(&self, from_m: DVec3, along: DVec3) -> f64 {
        let [low, high] = self.bounds_m;
        (0..3)
            .filter(|&axis| along[axis].abs() > 1e-9)
            .map(|axis| {
                let wall = if along[axis] > 0.0 { high } else { low };
                (wall[axis] - from_m[axis]) / along[axis]
            })
            .fold(f64::INFINITY, f64::min)
            .max(self.grid.cell_m)
    }
}

/// Speed of the free jet at a place in its core, in m/s, and its half width
/// there; `None` outside the core.
fn free_jet(outlet: &Outlet, at_m: DVec3, cell_m: f64) -> Option<(f64, f64)> {
    let place = outlet.place_in_jet(at_m, cell_m)?;
    let share = half_width_share(place.half_widths.powi(2));
    if share < CORE_SHARE {
        return None;
    }
    let way_m = place.way_m.max(1e-9);
    let [wide_m, high_m] = outlet.span_m();
    let round = ROUND_DECAY * outlet.diameter_m() / way_m;
    let plane = PLANE_DECAY * (high_m / way_m).sqrt();
    let decay = if wide_m > high_m {
        round.min(plane)
    } else {
        round
    };
    let speed_m_s = outlet.speed_m_s() * decay.min(1.0) * share;
    Some((speed_m_s, place.half_width_m))
}

//! From the tank to the paper: three views at one scale.

use glam::{DVec2, DVec3};

pub(super) use crate::draw::View;
use crate::light::PlaneCut;
use crate::units::{M_PER_CM, UnitSystem};

/// Scales that rulers have, as how much smaller the paper is.
const SCALES: [f64; 14] = [
    1.0, 2.0, 4.0, 5.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 100.0,
];

/// The plane of a wash at a level in cm: height in the top view, distance from
/// the front glass in the side view, from the left glass in the end view.
pub(super) fn plane(view: View, level_cm: f64) -> PlaneCut {
    let level_m = level_cm * M_PER_CM;
    match view {
        View::Top => PlaneCut::Level { height_m: level_m },
        View::Side => PlaneCut::Depth { depth_m: level_m },
        View::End => PlaneCut::Across { x_m: level_m },
    }
}

/// Where a view lies on the paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Which view it is.
    pub view: View,
    /// Paper millimeters a centimeter of the tank.
    pub mm_per_cm: f64,
    /// The tank's lower left corner in this view, in mm.
    pub corner_mm: DVec2,
    /// Units of what is written at it.
    pub units: UnitSystem,
}

impl Frame {
    /// A place in the tank on the paper.
    pub fn at(&self, place_cm: DVec3) -> DVec2 {
        self.on_paper(self.view.seen(place_cm).truncate())
    }

    /// A place that is already seen in this view (across, up), on the paper.
    pub fn on_paper(&self, seen_cm: DVec2) -> DVec2 {
        self.corner_mm + DVec2::new(seen_cm.x, -seen_cm.y) * self.mm_per_cm
    }
}

/// The largest of the usual scales at which `size_cm` fits into `room_mm`:
/// how many times smaller the paper is.
pub fn scale_for(size_cm: DVec2, room_mm: DVec2) -> f64 {
    let fits = |scale: &&f64| (size_cm * 10.0 / **scale).cmple(room_mm).all();
    SCALES.iter().find(fits).copied().unwrap_or(200.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_scale_that_fits_is_taken() {
        let scale = scale_for(DVec2::new(120.0, 60.0), DVec2::new(125.0, 90.0));
        assert_eq!(scale, 10.0, "120 cm in 125 mm");
        assert_eq!(scale_for(DVec2::splat(9.0), DVec2::splat(95.0)), 1.0);
    }
}

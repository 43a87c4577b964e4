//! From the sketch to solids in metres.

use glam::DVec2;

use super::{Layout, Outline, Rock};
use crate::geometry::solid::{Prism, RockShape};
use crate::geometry::{Polygon, RockSolid, Rockwork};
use crate::units::M_PER_CM;

/// The solids of all rocks of a layout, in its order.
pub fn rockwork(layout: &Layout) -> Rockwork {
    Rockwork {
        rocks: layout.rocks.iter().map(rock_solid).collect(),
    }
}

/// The solid of one rock.
pub fn rock_solid(rock: &Rock) -> RockSolid {
    RockSolid::new(RockShape {
        plan: prism(&rock.plan, &rock.plan.curve_cm()),
        front: prism(&rock.front, &rock.front.standing_curve_cm()),
        end: rock
            .end
            .as_ref()
            .map(|end| prism(end, &end.standing_curve_cm())),
        rounding_m: rock.rounding_cm * M_PER_CM,
        tilt_rad: rock.tilt_deg.to_radians(),
        turn_rad: rock.turn_deg.to_radians(),
        at_m: rock.at_cm * M_PER_CM,
    })
}

fn prism(outline: &Outline, curve_cm: &Polygon) -> Prism {
    let to_m = |points: &[DVec2]| Polygon::new(points.iter().map(|p| *p * M_PER_CM).collect());
    Prism {
        outline: to_m(curve_cm.points()),
        openings: outline.openings.iter().map(|hole| to_m(hole)).collect(),
    }
}

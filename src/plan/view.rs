//! From the tank to the paper: three views at one scale.

use glam::{DVec2, DVec3};

use crate::geometry::Ray;
use crate::light::PlaneCut;
use crate::scene::Tank;
use crate::units::{M_PER_CM, UnitSystem};

/// A way to look at the tank.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum View {
    /// From above, the front glass below.
    Top,
    /// Through the front glass.
    Side,
    /// Through the right end, the front glass at the left.
    End,
}

/// Scales that rulers have, as how much smaller the paper is.
const SCALES: [f64; 14] = [
    1.0, 2.0, 4.0, 5.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 100.0,
];

impl View {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Top, Self::Side, Self::End];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Top => "top",
            Self::Side => "side",
            Self::End => "end",
        }
    }

    /// A place as it is seen: across, up, and towards the viewer.
    pub fn seen(self, at: DVec3) -> DVec3 {
        match self {
            Self::Top => at,
            Self::Side => DVec3::new(at.x, at.z, -at.y),
            Self::End => DVec3::new(at.y, at.z, at.x),
        }
    }

    /// The place that is seen there; undoes [`Self::seen`].
    pub fn place(self, seen: DVec3) -> DVec3 {
        match self {
            Self::Top => seen,
            Self::Side => DVec3::new(seen.x, -seen.z, seen.y),
            Self::End => DVec3::new(seen.z, seen.x, seen.y),
        }
    }

    /// Inner size of the tank in this view: across, up, and towards the viewer, in cm.
    pub fn size_cm(self, tank: &Tank) -> DVec3 {
        let size = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm);
        self.seen(size).abs()
    }

    /// A look from outside the tank at what is seen at `(across, up)`, in m.
    pub(super) fn look(self, seen_cm: DVec2, tank: &Tank) -> Ray {
        let far_cm = 10.0 + tank.length_cm + tank.width_cm + tank.height_cm;
        Ray {
            origin_m: self.place(seen_cm.extend(far_cm)) * M_PER_CM,
            direction: self.place(DVec3::NEG_Z),
        }
    }

    /// The plane of a wash at a level in cm: height in the top view, distance
    /// from the front glass in the side view, from the left glass in the end
    /// view.
    pub(super) fn cut(self, level_cm: f64) -> PlaneCut {
        let level_m = level_cm * M_PER_CM;
        match self {
            Self::Top => PlaneCut::Level { height_m: level_m },
            Self::Side => PlaneCut::Depth { depth_m: level_m },
            Self::End => PlaneCut::Across { x_m: level_m },
        }
    }

    /// The place in the tank at a level that is seen at `(across, up)`, in cm.
    pub(super) fn on_level(self, seen_cm: DVec2, level_cm: f64) -> DVec3 {
        let towards = match self {
            Self::Side => -level_cm,
            Self::Top | Self::End => level_cm,
        };
        self.place(seen_cm.extend(towards))
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
    fn a_view_and_back_is_the_same_place_and_scales_fit() {
        let place = DVec3::new(10.0, 20.0, 30.0);
        for view in View::ALL {
            assert_eq!(view.place(view.seen(place)), place, "{view:?}");
        }
        assert_eq!(View::Side.seen(place).truncate(), DVec2::new(10.0, 30.0));
        assert_eq!(View::End.seen(place).truncate(), DVec2::new(20.0, 30.0));
        let scale = scale_for(DVec2::new(120.0, 60.0), DVec2::new(125.0, 90.0));
        assert_eq!(scale, 10.0, "120 cm in 125 mm");
        assert_eq!(scale_for(DVec2::splat(9.0), DVec2::splat(95.0)), 1.0);
    }
}

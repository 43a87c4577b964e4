//! The three ways to look at the tank.

use glam::{DVec2, DVec3};

use crate::geometry::Ray;
use crate::scene::Tank;
use crate::units::M_PER_CM;

/// One of the three drawn projections.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum View {
    /// From above: x to the right, y upwards (the back glass on top).
    Top,
    /// Through the front glass: x to the right, z upwards.
    Side,
    /// From the right end: y to the right, z upwards.
    End,
}

impl View {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Top, Self::Side, Self::End];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Top => "top",
            Self::Side => "side",
            Self::End => "end",
        }
    }

    /// Axes to the right, upwards and along the line of sight.
    pub fn axes(self) -> (usize, usize, usize) {
        match self {
            Self::Top => (0, 1, 2),
            Self::Side => (0, 2, 1),
            Self::End => (1, 2, 0),
        }
    }

    /// What of a place the view shows: right and up.
    pub fn flat(self, at: DVec3) -> DVec2 {
        let (h, v, _) = self.axes();
        DVec2::new(at[h], at[v])
    }

    /// The place that the view shows at `flat`, at `depth` along the line of sight.
    pub fn lift(self, flat: DVec2, depth: f64) -> DVec3 {
        let (h, v, w) = self.axes();
        let mut at = DVec3::ZERO;
        at[h] = flat.x;
        at[v] = flat.y;
        at[w] = depth;
        at
    }

    /// Coordinate along the line of sight.
    pub fn depth(self, at: DVec3) -> f64 {
        at[self.axes().2]
    }

    /// Grows towards the viewer.
    pub fn nearness(self, at: DVec3) -> f64 {
        self.seen(at).z
    }

    /// Unit vector towards the viewer.
    pub fn towards_viewer(self) -> DVec3 {
        self.place(DVec3::Z)
    }

    /// Place in arrays of one thing a view.
    pub fn idx(self) -> usize {
        self as usize
    }

    /// A place as it is seen: right, up, and towards the viewer.
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

    /// Inner size of the tank in this view: right, up, and along the line of
    /// sight, in cm.
    pub fn size_cm(self, tank: &Tank) -> DVec3 {
        let size = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm);
        self.seen(size).abs()
    }

    /// A look from outside the tank at what is seen at `(right, up)`.
    pub fn look(self, seen_cm: DVec2, tank: &Tank) -> Ray {
        let far_cm = 10.0 + tank.length_cm + tank.width_cm + tank.height_cm;
        Ray {
            origin_m: self.place(seen_cm.extend(far_cm)) * M_PER_CM,
            direction: self.place(DVec3::NEG_Z),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_view_and_back_is_the_same_place() {
        let place = DVec3::new(10.0, 20.0, 30.0);
        for view in View::ALL {
            assert_eq!(view.place(view.seen(place)), place, "{view:?}");
            let back = view.lift(view.flat(place), view.depth(place));
            assert_eq!(back, place, "{view:?}");
            assert_eq!(view.seen(place).truncate(), view.flat(place), "{view:?}");
            let nearer = place + view.towards_viewer();
            let step = view.nearness(nearer) - view.nearness(place);
            assert!((step - 1.0).abs() < 1e-12, "{view:?} by {step}");
        }
    }
}

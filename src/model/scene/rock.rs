//! Rocks as the keeper sketches them: outlines in two or three views.

use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

use super::{ItemId, Scan};
use crate::geometry::Polygon;

/// One rock: what all its outlines agree on, or a scanned shape.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rock {
    /// Unique within the layout.
    pub id: ItemId,
    /// What the keeper calls it.
    #[serde(default)]
    pub name: String,
    /// Where its own origin (on its base) stands, in cm.
    pub at_cm: DVec3,
    /// Turn about the vertical, counter-clockwise from above, in degrees.
    #[serde(default)]
    pub turn_deg: f64,
    /// Lean about its own y axis, positive lowers its +x end, in degrees.
    #[serde(default)]
    pub tilt_deg: f64,
    /// Outline seen from above, in (x, y); without points if it was scanned.
    #[serde(default)]
    pub plan: Outline,
    /// Outline seen through the front glass, in (x, z); without points if it
    /// was scanned.
    #[serde(default)]
    pub front: Outline,
    /// Outline seen from the right end, in (y, z), if drawn.
    #[serde(default)]
    pub end: Option<Outline>,
    /// Its shape if it was scanned, instead of outlines.
    #[serde(default)]
    pub scan: Option<Scan>,
    /// Radius of its edges, in cm.
    #[serde(default)]
    pub rounding_cm: f64,
    /// Share of light thrown back.
    #[serde(default = "default_reflectance")]
    pub reflectance: f64,
    /// Dry mass over outer volume, in kg/L.
    #[serde(default = "default_density")]
    pub density_kg_per_l: f64,
    /// Rocks with the same number are glued into one.
    #[serde(default)]
    pub bonded: Option<u32>,
    /// Whether the pointer leaves it alone.
    #[serde(default)]
    pub locked: bool,
}

impl Rock {
    /// Its curve seen from above in its own frame, in cm: as drawn, or the
    /// largest one around a scanned shape.
    pub fn plan_cm(&self) -> Polygon {
        let Some(scan) = &self.scan else {
            return self.plan.curve_cm();
        };
        let curve = scan.grid.plan();
        let place = |p: &DVec2| scan.low_cm.truncate() + *p * scan.step_cm;
        Polygon::new(curve.points().iter().map(place).collect())
    }
}

/// A closed curve sketched in one view.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Outline {
    /// Its points in order, in cm; the last is joined to the first.
    pub points_cm: Vec<DVec2>,
    /// Whether the curve through the points is smooth.
    #[serde(default)]
    pub curved: bool,
    /// Closed curves cut out of it, each with straight edges.
    #[serde(default)]
    pub openings: Vec<Vec<DVec2>>,
}

impl Outline {
    /// The outer curve as straight segments, in cm.
    pub fn curve_cm(&self) -> Polygon {
        if self.curved {
            Polygon::curved(&self.points_cm)
        } else {
            Polygon::new(self.points_cm.clone())
        }
    }

    /// The outer curve of a front or end outline, in cm: a smooth curve that
    /// would bulge below its lowest point is cut flat there, so that the rock
    /// has a foot to stand on.
    pub fn standing_curve_cm(&self) -> Polygon {
        let lowest = self
            .points_cm
            .iter()
            .map(|p| p.y)
            .fold(f64::INFINITY, f64::min);
        let curve = self.curve_cm();
        let flat = |p: &DVec2| DVec2::new(p.x, p.y.max(lowest));
        Polygon::new(curve.points().iter().map(flat).collect())
    }
}

fn default_reflectance() -> f64 {
    0.25
}

fn default_density() -> f64 {
    1.5
}

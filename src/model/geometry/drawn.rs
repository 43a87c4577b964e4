//! The solid that drawn outlines make: the intersection of their prisms, with
//! rounded edges, in the rock's own frame.

use glam::{DVec2, DVec3};

use super::section::{Section, Toggles};
use super::solid::{Bounds, Prism, Ray, march};

/// The outlines of a rock in m, as drawn and ready for queries.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Drawn {
    pub(super) plan: Prism,
    pub(super) front: Prism,
    pub(super) end: Option<Prism>,
    pub(super) sections: Sections,
    pub(super) rounding_m: f64,
}

/// The prepared outlines of a rock.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sections {
    pub(super) plan: Section,
    pub(super) front: Section,
    pub(super) end: Option<Section>,
}

impl Drawn {
    /// Makes outlines ready: their corners are rounded.
    pub(super) fn new((plan, front, end): (Prism, Prism, Option<Prism>), rounding_m: f64) -> Self {
        let rounded = |prism: Prism| Prism {
            outline: prism.outline.filleted(rounding_m),
            ..prism
        };
        let (plan, front) = (rounded(plan), rounded(front));
        let end = end.map(rounded);
        let sections = Sections {
            plan: Section::new(&plan),
            front: Section::new(&front),
            end: end.as_ref().map(Section::new),
        };
        Self {
            plan,
            front,
            end,
            sections,
            rounding_m,
        }
    }

    /// The box in the rock's own frame that all outlines leave.
    pub(super) fn bounds(&self) -> Bounds {
        self.sections.bounds()
    }

    /// Distance from a place, and the direction in
    /// which it grows.
    pub(super) fn distance_and_slope(&self, p: DVec3) -> (f64, DVec3) {
        let sections = &self.sections;
        let (d, g) = sections.plan.distance_and_slope(p.truncate());
        let plan = (d, DVec3::new(g.x, g.y, 0.0));
        let (d, g) = sections.front.distance_and_slope(DVec2::new(p.x, p.z));
        let front = (d, DVec3::new(g.x, 0.0, g.y));
        let mut both = joined(plan, front, self.rounding_m);
        if let Some(end) = &sections.end {
            let (d, g) = end.distance_and_slope(DVec2::new(p.y, p.z));
            both = joined(both, (d, DVec3::new(0.0, g.x, g.y)), self.rounding_m);
        }
        both
    }

    /// First meeting of a ray (in the rock's frame) with the rock up to `until`.
    pub(super) fn first_hit(&self, local: &Ray, until: f64) -> Option<f64> {
        self.sharp_stretches(local, until, |a, b| {
            if self.rounding_m > 0.0 && !self.away_from_edges(local.origin_m + local.direction * a)
            {
                self.march(local, a, b)
            } else {
                Some(a)
            }
        })
    }

    /// Whether the rock stands in the way of a ray (in its frame) up to `until`.
    pub(super) fn blocks(&self, local: &Ray, until: f64) -> bool {
        let met = self.sharp_stretches(local, until, |a, b| {
            let middle = local.origin_m + local.direction * (0.5 * (a + b));
            let blocked = self.rounding_m <= 0.0
                || self.away_from_edges(middle)
                || self.distance_and_slope(middle).0 < 0.0
                || self.march(local, a, b).is_some();
            blocked.then_some(())
        });
        met.is_some()
    }

    fn march(&self, ray: &Ray, from: f64, to: f64) -> Option<f64> {
        let distance_at = |t: f64| self.distance_and_slope(ray.origin_m + ray.direction * t).0;
        march(distance_at, from, to)
    }

    /// Whether rounding leaves the sharp solid as it is about a place in or on
    /// it: so it does where one outline is twice the radius away, as then
    /// [`joined`] takes the farther of the two for any angle between them.
    fn away_from_edges(&self, p: DVec3) -> bool {
        let (sections, reach) = (&self.sections, 2.0 * self.rounding_m);
        sections.end.is_none()
            && (sections.plan.clear_of(p.truncate(), reach)
                || sections.front.clear_of(DVec2::new(p.x, p.z), reach))
    }

    /// Calls `visit` with each stretch of the ray (in the rock's frame) inside
    /// the unrounded solid, from 0 to `until`, in order.
    fn sharp_stretches<R>(
        &self,
        ray: &Ray,
        until: f64,
        mut visit: impl FnMut(f64, f64) -> Option<R>,
    ) -> Option<R> {
        let (from, step) = (ray.origin_m, ray.direction);
        let sections = &self.sections;
        let mut toggles = Toggles::new();
        let mut n_curves = sections.plan.n_curves() + sections.front.n_curves();
        let mut n_right = sections
            .plan
            .cross(from.truncate(), step.truncate(), &mut toggles);
        n_right += sections.front.cross(
            DVec2::new(from.x, from.z),
            DVec2::new(step.x, step.z),
            &mut toggles,
        );
        if let Some(end) = &sections.end {
            n_curves += end.n_curves();
            n_right += end.cross(
                DVec2::new(from.y, from.z),
                DVec2::new(step.y, step.z),
                &mut toggles,
            );
        }
        toggles.stretches(n_right, n_curves, |a, b| {
            let (a, b) = (a.max(0.0), b.min(until));
            if a <= b { visit(a, b) } else { None }
        })
    }
}

impl Sections {
    /// The box in the rock's own frame that all outlines leave.
    fn bounds(&self) -> Bounds {
        let ((plan_lo, plan_hi), (front_lo, front_hi)) = (self.plan.bounds, self.front.bounds);
        let mut lo = DVec3::new(plan_lo.x.max(front_lo.x), plan_lo.y, front_lo.y);
        let mut hi = DVec3::new(plan_hi.x.min(front_hi.x), plan_hi.y, front_hi.y);
        if let Some((end_lo, end_hi)) = self.end.as_ref().map(|end| end.bounds) {
            lo = lo.max(DVec3::new(lo.x, end_lo.x, end_lo.y));
            hi = hi.min(DVec3::new(hi.x, end_hi.x, end_hi.y));
        }
        Bounds {
            min_m: lo,
            max_m: hi.max(lo),
        }
    }
}

/// Distance to the intersection of two shapes, from the distance to each and
/// the direction in which it grows, with the edge between them rounded.
///
/// Locally each shape is a half space. Where the nearest point of their
/// intersection lies on the edge between them, it is at
/// `sqrt((a² + b² − 2ab·c) / (1 − c²))` with `c` the cosine between the two
/// slopes; elsewhere it lies on the farther of the two. The round edge is the
/// sharp one of both shapes shrunk by the radius, grown again by it. A face
/// that both outlines share has `c = 1` and stays where it is.
///
/// **Source** derived here from the two plane equations.
fn joined(a: (f64, DVec3), b: (f64, DVec3), round_m: f64) -> (f64, DVec3) {
    const PARALLEL: f64 = 0.999;
    let sharp = if a.0 >= b.0 { a } else { b };
    let cosine = a.1.dot(b.1);
    if round_m <= 0.0 || cosine.abs() > PARALLEL {
        return sharp;
    }
    let (inset_a, inset_b) = (a.0 + round_m, b.0 + round_m);
    let (towards_a, towards_b) = (inset_a - inset_b * cosine, inset_b - inset_a * cosine);
    if towards_a <= 0.0 || towards_b <= 0.0 {
        return sharp;
    }
    let sine_squared = 1.0 - cosine * cosine;
    let squared =
        (inset_a * inset_a + inset_b * inset_b - 2.0 * inset_a * inset_b * cosine) / sine_squared;
    let slope = (a.1 * towards_a + b.1 * towards_b).normalize_or(sharp.1);
    (squared.sqrt() - round_m, slope)
}

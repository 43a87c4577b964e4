//! How the fit of a coral differs between two layouts, on the surface that both
//! of them have.

use crate::geometry::near::Near;
use crate::light::{LightField, SurfacePatch};

/// Patches of both layouts belong together within this many patch sizes.
const NEAR_PATCHES: f64 = 1.0;
/// They face the same way within this cosine (about 37 degrees).
const FACING_LEAST: f64 = 0.8;

/// For each patch of `own` how much better (above 0) or worse its fit is than
/// that of the nearest patch of `other` which faces the same way; not a number
/// where the other layout has no such surface, as on a rock that was moved.
/// Fits are 0 to 1, in the order of the patches, as
/// [`fit_wash`](crate::fit_wash) gives them.
pub fn fit_change(own: (&LightField, &[f32]), other: (&LightField, &[f32])) -> Vec<f32> {
    let reach_m = NEAR_PATCHES * own.0.patch_m.max(other.0.patch_m);
    let mut near = Near::new(reach_m);
    for (idx, patch) in other.0.patches.iter().enumerate().take(other.1.len()) {
        near.add(patch.at_m, idx);
    }
    let nearest = |patch: &SurfacePatch| {
        let away_m = |idx: &usize| other.0.patches[*idx].at_m.distance(patch.at_m);
        let faces = |idx: &usize| {
            other.0.patches[*idx].normal.dot(patch.normal) >= FACING_LEAST && away_m(idx) <= reach_m
        };
        near.around(patch.at_m)
            .filter(faces)
            .min_by(|a, b| away_m(a).total_cmp(&away_m(b)))
    };
    let change = |(patch, fit): (&SurfacePatch, &f32)| {
        nearest(patch).map_or(f32::NAN, |idx| fit - other.1[idx])
    };
    own.0.patches.iter().zip(own.1).map(change).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::SurfaceOwner;
    use glam::DVec3;

    fn field(places: &[(f64, DVec3)]) -> LightField {
        let patch = |(x_m, normal): &(f64, DVec3)| SurfacePatch {
            at_m: DVec3::new(*x_m, 0.0, 0.0),
            normal: *normal,
            area_m2: 4e-4,
            owner: SurfaceOwner::Sand,
            ppfd_umol: 100.0,
            open_umol: 100.0,
            level_umol: 100.0,
        };
        LightField {
            patches: places.iter().map(patch).collect(),
            patch_m: 0.02,
            ..LightField::default()
        }
    }

    #[test]
    fn only_surface_that_both_have_is_compared_and_swapping_turns_the_sign() {
        let one = field(&[(0.0, DVec3::Z), (0.1, DVec3::Z), (0.2, DVec3::X)]);
        let two = field(&[(0.005, DVec3::Z), (0.2, DVec3::Z), (0.3, DVec3::Z)]);
        let change = fit_change((&one, &[0.8, 0.5, 0.5]), (&two, &[0.3, 0.9, 0.9]));
        assert!((change[0] - 0.5).abs() < 1e-6, "beside it: {change:?}");
        assert!(change[1].is_nan(), "nothing near: {change:?}");
        assert!(change[2].is_nan(), "it faces elsewhere: {change:?}");
        let back = fit_change((&two, &[0.3, 0.9, 0.9]), (&one, &[0.8, 0.5, 0.5]));
        assert!((back[0] + change[0]).abs() < 1e-6, "{back:?}");
        let same = fit_change((&one, &[0.8, 0.5, 0.5]), (&one, &[0.8, 0.5, 0.5]));
        assert!(same.iter().all(|change| *change == 0.0), "{same:?}");
    }
}

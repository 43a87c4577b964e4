//! Volume, surface and center of a rock, from samples of its surface.

use glam::DVec3;

use super::solid::{Form, RockSolid, Scanned};
use super::surface::surface_samples;

/// What a rock of even density weighs by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MassProperties {
    /// Outer volume, in m³.
    pub volume_m3: f64,
    /// Surface, in m².
    pub area_m2: f64,
    /// Center of the volume in the tank, in m.
    pub center_m: DVec3,
}

/// Volume, surface and center of `rock` by the divergence theorem over surface
/// samples about `spacing_m` apart: `V = ∮ p·n dA / 3` and
/// `c = ∮ p² n dA / 2V`, axis by axis, from an origin inside the rock.
///
/// Exact for flat, unrounded faces at right angles that stand straight; the
/// error of others vanishes with the spacing (at 5 mm within 1.5 % for the rocks
/// of the demo scenes). A rock whose outlines enclose nothing has no volume and
/// its center in the middle of its box. A scanned rock has the measures of its
/// shape, whatever the spacing.
///
/// **Source** Gauss's theorem.
pub fn mass(rock: &RockSolid, spacing_m: f64) -> MassProperties {
    if let Form::Scanned(scanned) = &rock.form {
        return scanned_mass(rock, scanned);
    }
    let bounds = rock.bounds();
    let origin_m = (bounds.min_m + bounds.max_m) / 2.0;
    let (mut area_m2, mut flux_m3, mut squares_m4) = (0.0, 0.0, DVec3::ZERO);
    for sample in surface_samples(rock, spacing_m) {
        let p = sample.at_m - origin_m;
        let face = sample.normal * sample.area_m2;
        area_m2 += sample.area_m2;
        flux_m3 += p.dot(face);
        squares_m4 += p * p * face;
    }
    let volume_m3 = (flux_m3 / 3.0).max(0.0);
    let shift_m = if volume_m3 > 0.0 {
        squares_m4 / (2.0 * volume_m3)
    } else {
        DVec3::ZERO
    };
    MassProperties {
        volume_m3,
        area_m2,
        center_m: origin_m + shift_m,
    }
}

fn scanned_mass(rock: &RockSolid, scanned: &Scanned) -> MassProperties {
    let measures = scanned.grid.measures();
    MassProperties {
        volume_m3: measures.volume * scanned.step_m.powi(3),
        area_m2: measures.area * scanned.step_m.powi(2),
        center_m: rock.tank_from_rock(scanned.in_rock(measures.center)),
    }
}

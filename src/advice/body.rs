//! What a coral weighs in water and what it takes to tip it over.

use glam::DVec3;

use crate::catalog::{Entry, Form, Kind};
use crate::units::{GRAVITY_M_S2, SEAWATER_DENSITY_KG_M3};

/// Density of dry skeleton with its pores, in kg/m³.
///
/// **Source** 0.88 to 2.01 g/cm³ by genus in a table of NOAA carbonate-budget
/// rates (PUBLISHED); the middle of it.
const SKELETON_KG_M3: f64 = 1300.0;

/// Weight in water as a share of dry weight, pores flooded.
///
/// **Source** 1 − 1.025/2.85 for aragonite. DERIVED.
const SUBMERGED_SHARE: f64 = 0.64;

/// Density of soft tissue, in kg/m³. COMMON PRACTICE.
const TISSUE_KG_M3: f64 = 1060.0;

/// Drag of a bluff, rough body, referred to its front.
///
/// **Source** between a sphere (0.45) and a plate (1.2); the safe end. MEMORY.
const DRAG_COEFFICIENT: f64 = 1.2;

/// Ratios of moments and forces are not told apart above this.
const RATIO_MAX: f64 = 99.0;

/// A coral as a body on a base.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Body {
    /// Mass out of the water, in kg.
    pub mass_kg: f64,
    /// Weight in water, in N.
    pub submerged_n: f64,
    /// Height, in m.
    pub height_m: f64,
    /// Half the width of its base, in m.
    pub base_half_m: f64,
    /// Area that it turns to the flow, in m².
    pub front_m2: f64,
}

impl Body {
    /// The body of a coral of this size (across x, across y, height; in m).
    ///
    /// How much of its box a form fills, and how wide it stands, are
    /// COMMON PRACTICE: a boulder is half an ellipsoid, branches fill a seventh.
    pub fn of(entry: &Entry, size_m: DVec3) -> Self {
        let (fill, stance) = match entry.form {
            Form::Massive => (0.52, 0.8),
            Form::Clam => (0.5, 0.7),
            Form::FreeLiving => (0.35, 0.9),
            Form::Encrusting | Form::Mat | Form::Disc => (0.25, 0.9),
            Form::Phaceloid => (0.25, 0.5),
            Form::Branching => (0.15, 0.5),
            Form::Tree => (0.15, 0.4),
            Form::Table => (0.12, 0.3),
            Form::Plating => (0.1, 0.5),
            Form::Fan => (0.05, 0.2),
        };
        let volume_m3 = fill * size_m.element_product();
        let soft = matches!(
            entry.kind,
            Kind::Soft | Kind::Gorgonian | Kind::Zoanthid | Kind::Mushroom | Kind::Anemone
        );
        let (mass_kg, submerged_kg) = if soft {
            (
                volume_m3 * TISSUE_KG_M3,
                volume_m3 * (TISSUE_KG_M3 - SEAWATER_DENSITY_KG_M3),
            )
        } else {
            let dry = volume_m3 * SKELETON_KG_M3;
            (dry, dry * SUBMERGED_SHARE)
        };
        let porous = if entry.form.lets_water_through() {
            0.6
        } else {
            1.0
        };
        Self {
            mass_kg,
            submerged_n: submerged_kg * GRAVITY_M_S2,
            height_m: size_m.z,
            base_half_m: stance * size_m.x.min(size_m.y) / 2.0,
            front_m2: porous * size_m.x.max(size_m.y) * size_m.z,
        }
    }
}

impl Body {
    /// The same coral grown on a loose stone of 150 g, as keepers use. COMMON PRACTICE.
    pub fn on_stone(self) -> Self {
        const STONE_KG: f64 = 0.15;
        const STONE_HALF_M: f64 = 0.03;
        Self {
            mass_kg: self.mass_kg + STONE_KG,
            submerged_n: self.submerged_n + STONE_KG * SUBMERGED_SHARE * GRAVITY_M_S2,
            base_half_m: self.base_half_m.max(STONE_HALF_M),
            ..self
        }
    }
}

/// What pushes a loose body, and on what it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Push {
    /// Slope of its seat, in rad.
    pub slope_rad: f64,
    /// Distance from under its middle to the nearest edge of its support, in m.
    pub support_m: f64,
    /// Speed of the water, gusts included, in m/s.
    pub speed_m_s: f64,
    /// Push of an animal at its top, in N.
    pub nudge_n: f64,
}

/// Whether a loose body stays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tipping {
    /// Moment that keeps it standing about the edge, in N·m.
    pub restoring_n_m: f64,
    /// Moment that tips it, in N·m.
    pub overturning_n_m: f64,
    /// The first over the second, 0 (it falls by itself) to 99 (nothing tips
    /// it); below 1 it falls.
    pub margin: f64,
    /// Sideways force over what friction holds, 0 to 99; above 1 it slides.
    pub slide: f64,
}

/// Tipping about the downhill edge: weight times its lever against drag at
/// half height and a nudge at the top; sliding at 30° of friction.
///
/// **Source** statics; friction of loose rock on rock COMMON PRACTICE.
pub fn tipping(body: &Body, push: &Push) -> Tipping {
    const FRICTION_DEG: f64 = 30.0;
    let drag_n = 0.5
        * SEAWATER_DENSITY_KG_M3
        * DRAG_COEFFICIENT
        * body.front_m2
        * push.speed_m_s
        * push.speed_m_s;
    let (sin, cos) = push.slope_rad.sin_cos();
    let support_m = push.support_m.min(body.base_half_m);
    let lever_m = support_m * cos - body.height_m / 2.0 * sin;
    let restoring_n_m = body.submerged_n * lever_m;
    let overturning_n_m = drag_n * body.height_m / 2.0 + push.nudge_n * body.height_m;
    // Without a lever nothing holds it, however little pushes; without a push
    // nothing tips it. Neither ratio says more beyond the bounds.
    let ratio = |over: f64, under: f64| {
        if over <= 0.0 {
            0.0
        } else {
            (over / under.max(1e-12)).min(RATIO_MAX)
        }
    };
    let grip_n = body.submerged_n * cos * FRICTION_DEG.to_radians().tan();
    Tipping {
        restoring_n_m,
        overturning_n_m,
        margin: ratio(restoring_n_m, overturning_n_m),
        slide: ratio(body.submerged_n * sin + drag_n + push.nudge_n, grip_n),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_on_a_plane_tips_by_hand_arithmetic() {
        let body = Body {
            mass_kg: 1.0,
            submerged_n: 6.0,
            height_m: 0.10,
            base_half_m: 0.05,
            front_m2: 0.01,
        };
        let level = Push {
            slope_rad: 0.0,
            support_m: 0.05,
            speed_m_s: 0.5,
            nudge_n: 1.0,
        };
        let got = tipping(&body, &level);
        // Drag 0.5·1023·1.2·0.01·0.25 = 1.5345 N at 5 cm, nudge 1 N at 10 cm.
        assert!((got.restoring_n_m - 0.3).abs() < 1e-12, "{got:?}");
        assert!((got.overturning_n_m - 0.176_725).abs() < 1e-9, "{got:?}");
        assert!((got.margin - 0.3 / 0.176_725).abs() < 1e-9, "{got:?}");
        // With its middle over the edge of a ledge nothing holds it.
        let edge = Push {
            support_m: 0.0,
            ..level
        };
        assert_eq!(tipping(&body, &edge).margin, 0.0, "at the edge");
        // A cube-like box (h = 2b) tips by itself at 45°.
        let steep = Push {
            slope_rad: std::f64::consts::FRAC_PI_4,
            ..level
        };
        assert!(
            tipping(&body, &steep).restoring_n_m.abs() < 1e-12,
            "45 degrees"
        );
    }
}

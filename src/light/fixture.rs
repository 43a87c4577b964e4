//! A lamp made ready: points on its glowing face with their share of the
//! photons, and where each of them sends its light.

use glam::{DMat3, DVec3};

use super::distribution::Distribution;
use crate::scene::{Body, Lamp};
use crate::units::M_PER_CM;

/// A point of the glowing face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Emitter {
    pub(super) at_m: DVec3,
    /// Share of the lamp's photons.
    pub(super) share: f64,
}

/// A lamp as point sources that share one pattern.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fixture {
    pub(super) emitters: Vec<Emitter>,
    /// Columns: along the lamp, across it, and its axis (where it shines).
    tank_from_lamp: DMat3,
    pattern: Pattern,
}

#[derive(Clone, Debug, PartialEq)]
enum Pattern {
    /// `I = peak · cosᵐ` for one photon a second in all.
    Lobe { exponent: f64, peak: f64 },
    /// A measured shape.
    Measured(Distribution),
}

/// Exponent of the lobe whose intensity halves at half of `full_angle_deg`.
///
/// `m = ln 0.5 / ln cos(½ angle)`; 120° gives 1, a flat matt face.
pub fn lobe_exponent(full_angle_deg: f64) -> f64 {
    let half = (full_angle_deg.clamp(0.5, 180.0) / 2.0).to_radians();
    if half.cos() < 1e-12 {
        return 0.0;
    }
    0.5_f64.ln() / half.cos().ln()
}

impl Fixture {
    /// `lamp` as points; `finer` scales how many, and `surface_m` is the
    /// height of the water, below which a finer face is needed the nearer it
    /// hangs.
    pub(super) fn new(
        lamp: &Lamp,
        measured: Option<&Distribution>,
        surface_m: f64,
        finer: f64,
    ) -> Self {
        let tank_from_lamp = frame(lamp);
        let at_m = lamp.at_cm * M_PER_CM;
        // The nearest receivers that matter lie some centimetres under water.
        let gap_m = (at_m.z - surface_m).max(0.0) + NEAREST_DEPTH_M;
        let emitters = face_points(&lamp.body, gap_m, finer)
            .into_iter()
            .map(|(along_m, across_m, share)| Emitter {
                at_m: at_m + tank_from_lamp * DVec3::new(along_m, across_m, 0.0),
                share,
            })
            .collect();
        let pattern = match (measured, &lamp.spread) {
            (Some(distribution), _) => Pattern::Measured(distribution.clone()),
            (None, crate::scene::Spread::Beam { full_angle_deg }) => lobe(*full_angle_deg),
            (None, crate::scene::Spread::Measured { .. }) => lobe(120.0),
        };
        Self {
            emitters,
            tank_from_lamp,
            pattern,
        }
    }

    /// Intensity in a unit direction of the tank, in µmol/s/sr for one µmol/s
    /// of the whole lamp.
    pub(super) fn intensity(&self, direction: DVec3) -> f64 {
        let axis = self.tank_from_lamp.z_axis;
        let cosine = direction.dot(axis);
        match &self.pattern {
            Pattern::Lobe { exponent, peak } => {
                if cosine <= 0.0 {
                    0.0
                } else if *exponent == 1.0 {
                    peak * cosine
                } else {
                    peak * cosine.powf(*exponent)
                }
            }
            Pattern::Measured(distribution) => {
                let vertical = cosine.clamp(-1.0, 1.0).acos().to_degrees();
                let horizontal = direction
                    .dot(self.tank_from_lamp.y_axis)
                    .atan2(direction.dot(self.tank_from_lamp.x_axis))
                    .to_degrees();
                let flux = distribution.flux_lm();
                if flux > 0.0 {
                    distribution.intensity_cd(vertical, horizontal) / flux
                } else {
                    0.0
                }
            }
        }
    }
}

const NEAREST_DEPTH_M: f64 = 0.05;

fn lobe(full_angle_deg: f64) -> Pattern {
    let exponent = lobe_exponent(full_angle_deg);
    // Rounding must not turn the common matt face into a slow power.
    let exponent = if (exponent - 1.0).abs() < 1e-9 {
        1.0
    } else {
        exponent
    };
    Pattern::Lobe {
        exponent,
        peak: (exponent + 1.0) / std::f64::consts::TAU,
    }
}

/// Length, width and axis of a lamp: straight down, leaned by its tilt towards
/// its turned x, and turned.
fn frame(lamp: &Lamp) -> DMat3 {
    let (turn, tilt) = (lamp.turn_deg.to_radians(), lamp.tilt_deg.to_radians());
    let heading = DVec3::new(turn.cos(), turn.sin(), 0.0);
    let along = heading * tilt.cos() + DVec3::Z * tilt.sin();
    let axis = heading * tilt.sin() - DVec3::Z * tilt.cos();
    DMat3::from_cols(along, DVec3::new(-turn.sin(), turn.cos(), 0.0), axis)
}

/// Points of a face as `(along, across, share)`: Gauss–Legendre on panels and
/// tubes, rings of equal weight rule on discs.
fn face_points(body: &Body, gap_m: f64, finer: f64) -> Vec<(f64, f64, f64)> {
    let count = |size_m: f64, least: f64, most: f64| {
        (finer * (2.0 + 2.0 * size_m / gap_m))
            .round()
            .clamp(least, most) as usize
    };
    match *body {
        Body::Panel {
            length_cm,
            width_cm,
        } => {
            let (length_m, width_m) = (length_cm * M_PER_CM, width_cm * M_PER_CM);
            let across = gauss_legendre(count(width_m, 2.0, 16.0));
            gauss_legendre(count(length_m, 2.0, 24.0))
                .iter()
                .flat_map(|(x, wx)| {
                    across
                        .iter()
                        .map(move |(y, wy)| (0.5 * length_m * x, 0.5 * width_m * y, 0.25 * wx * wy))
                })
                .collect()
        }
        Body::Tube { length_cm } => {
            let length_m = length_cm * M_PER_CM;
            gauss_legendre(count(length_m, 2.0, 32.0))
                .iter()
                .map(|(x, w)| (0.5 * length_m * x, 0.0, 0.5 * w))
                .collect()
        }
        Body::Disc { diameter_cm } => {
            let radius_m = 0.5 * diameter_cm * M_PER_CM;
            let n_rings = count(radius_m, 1.0, 8.0);
            let n_turn = (2 * n_rings + 3).min(16);
            let mut points = Vec::with_capacity(n_rings * n_turn);
            for (ring, (x, w)) in gauss_legendre(n_rings).iter().enumerate() {
                // Even in r², as the area is.
                let r = radius_m * (0.5 * (1.0 + x)).sqrt();
                for k in 0..n_turn {
                    let turn = (k as f64 + 0.5 * (ring % 2) as f64) * std::f64::consts::TAU
                        / n_turn as f64;
                    points.push((r * turn.cos(), r * turn.sin(), 0.5 * w / n_turn as f64));
                }
            }
            points
        }
    }
}

/// Nodes and weights of the Gauss–Legendre rule on [−1, 1], by Newton on the
/// Legendre recurrence. MEMORY.
fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    let n = n.max(1);
    (0..n)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..50 {
                let (mut p0, mut p1) = (1.0, x);
                for k in 2..=n {
                    let k = k as f64;
                    (p0, p1) = (p1, ((2.0 * k - 1.0) * x * p1 - (k - 1.0) * p0) / k);
                }
                slope = n as f64 * (x * p1 - p0) / (x * x - 1.0);
                let step = p1 / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rule_integrates_polynomials_exactly() {
        // n points are exact up to degree 2n - 1; the integral of x^6 is 2/7.
        for n in 4..12 {
            let sum: f64 = gauss_legendre(n).iter().map(|(x, w)| w * x.powi(6)).sum();
            assert!((sum - 2.0 / 7.0).abs() < 1e-13, "{n} points gave {sum}");
        }
        assert_eq!(gauss_legendre(1).len(), 1, "one point");
    }

    #[test]
    fn beam_angles_have_the_tabled_exponents() {
        // physics of a cosine lobe: 120° is a matt face, 90° its square.
        for (angle, exponent) in [(120.0, 1.0), (100.0, 1.57), (90.0, 2.0), (60.0, 4.82)] {
            let found = lobe_exponent(angle);
            assert!((found - exponent).abs() < 0.005, "{angle}°: {found}");
        }
    }
}

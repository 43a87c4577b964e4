//! The only door between SI and lattice units.

use crate::FlowError;

/// Largest lattice speed that a run may be set up with. Compressibility grows
/// with its square.
pub(crate) const SPEED_MAX_LU: f64 = 0.35;

/// Size of a cell and length of a step. Lattice density is 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scaling {
    /// Edge of a cell, in m.
    pub cell_m: f64,
    /// Length of a step, in s.
    pub step_s: f64,
}

impl Scaling {
    /// The step with which water at `speed_m_s` moves `speed_lu` cells.
    ///
    /// # Errors
    /// A lattice speed above 0.35, or a number that is not positive.
    pub fn with_speed(cell_m: f64, speed_m_s: f64, speed_lu: f64) -> Result<Self, FlowError> {
        for (what, value) in [
            ("the cell size in m", cell_m),
            ("the top speed in m/s", speed_m_s),
            ("the lattice speed", speed_lu),
        ] {
            if !(value.is_finite() && value > 0.0) {
                let must = "positive";
                return Err(FlowError::BadNumber { what, value, must });
            }
        }
        if speed_lu > SPEED_MAX_LU {
            let limit_lu = SPEED_MAX_LU;
            return Err(FlowError::TooFast { speed_lu, limit_lu });
        }
        Ok(Self {
            cell_m,
            step_s: speed_lu * cell_m / speed_m_s,
        })
    }

    /// Cells a step from m/s.
    pub fn speed_lu(&self, speed_m_s: f64) -> f64 {
        speed_m_s * self.step_s / self.cell_m
    }

    /// Metres a second from cells a step.
    pub fn speed_m_s(&self, speed_lu: f64) -> f64 {
        speed_lu * self.cell_m / self.step_s
    }

    /// Lattice viscosity from m²/s.
    pub fn viscosity_lu(&self, viscosity_m2_s: f64) -> f64 {
        viscosity_m2_s * self.step_s / (self.cell_m * self.cell_m)
    }

    /// Relaxation time from m²/s: `3ν + 1/2`.
    pub fn tau(&self, viscosity_m2_s: f64) -> f64 {
        3.0 * self.viscosity_lu(viscosity_m2_s) + 0.5
    }

    /// Momentum a step from a kinematic thrust (thrust over density), in m⁴/s².
    pub fn thrust_lu(&self, thrust_m4_s2: f64) -> f64 {
        thrust_m4_s2 * self.step_s * self.step_s / self.cell_m.powi(4)
    }

    /// Kinematic thrust in m⁴/s² from momentum a step.
    pub fn thrust_m4_s2(&self, thrust_lu: f64) -> f64 {
        thrust_lu * self.cell_m.powi(4) / (self.step_s * self.step_s)
    }

    /// Cells of water a step from m³/s.
    pub fn flow_lu(&self, flow_m3_s: f64) -> f64 {
        flow_m3_s * self.step_s / self.cell_m.powi(3)
    }

    /// Steps that cover `time_s`, at least one.
    pub fn steps(&self, time_s: f64) -> u64 {
        (time_s / self.step_s).round().max(1.0) as u64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_cross_and_come_back() {
        let scaling = Scaling::with_speed(0.02, 1.5, 0.3).expect("a plain case");
        // 0.3 cells of 2 cm at 1.5 m/s take 4 ms.
        assert!((scaling.step_s - 0.004).abs() < 1e-15, "{scaling:?}");
        assert!(
            (scaling.speed_m_s(scaling.speed_lu(0.7)) - 0.7).abs() < 1e-12,
            "speed"
        );
        assert!(
            (scaling.thrust_m4_s2(scaling.thrust_lu(2e-3)) - 2e-3).abs() < 1e-15,
            "thrust"
        );
        // One cubic cell of water a step is 8e-6 m³ in 4 ms.
        assert!((scaling.flow_lu(2e-3) - 1.0).abs() < 1e-12, "flow");
        assert!((scaling.tau(1e-6) - 0.500_03).abs() < 1e-9, "tau");
    }

    #[test]
    fn too_fast_a_lattice_is_refused() {
        let result = Scaling::with_speed(0.02, 1.0, 0.5);
        assert!(
            matches!(result, Err(FlowError::TooFast { .. })),
            "{result:?}"
        );
        let result = Scaling::with_speed(0.02, f64::NAN, 0.1);
        assert!(
            matches!(result, Err(FlowError::BadNumber { .. })),
            "{result:?}"
        );
    }
}

//! Constants and conversions. Inside, the engines use SI; a scene holds
//! centimetres and litres an hour, as a keeper writes them.

mod measure;

pub use measure::{Measure, Shown};

use serde::{Deserialize, Serialize};

/// Units in which a keeper reads and types.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum UnitSystem {
    /// Centimetres, litres, litres an hour, centimetres a second.
    #[default]
    Metric,
    /// Inches, US gallons, US gallons an hour, inches a second.
    Us,
}

/// Density of seawater at 25 °C and salinity 35, in kg/m³.
///
/// Source: UNESCO equation of state (EOS-80), rounded. MEMORY.
pub const SEAWATER_DENSITY_KG_M3: f64 = 1023.0;

/// Kinematic viscosity of seawater at 25 °C, in m²/s.
///
/// Source: `mu = 9.6e-4 Pa s` over the density above. MEMORY.
pub const SEAWATER_VISCOSITY_M2_S: f64 = 0.93e-6;

/// Standard gravity, in m/s².
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// Metres in a centimetre.
pub const M_PER_CM: f64 = 0.01;

/// Cubic metres a second from litres an hour.
pub fn flow_m3_s_from_lph(flow_lph: f64) -> f64 {
    flow_lph / 3.6e6
}

/// Litres an hour from cubic metres a second.
pub fn flow_lph_from_m3_s(flow_m3_s: f64) -> f64 {
    flow_m3_s * 3.6e6
}

/// Mean exit speed of a pump, in m/s, from its flow and the diameter of a
/// round outlet.
pub fn exit_speed_m_s(flow_lph: f64, outlet_cm: f64) -> f64 {
    let radius_m = outlet_cm * M_PER_CM / 2.0;
    flow_m3_s_from_lph(flow_lph) / (std::f64::consts::PI * radius_m * radius_m)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exit_speed_of_a_small_pump_matches_hand_arithmetic() {
        // 3000 L/h = 8.333e-4 m³/s through 9.621 cm² is 0.8662 m/s.
        let speed = exit_speed_m_s(3000.0, 3.5);
        assert!((speed - 0.8662).abs() < 1e-4, "speed was {speed}");
    }

    #[test]
    fn flow_conversions_undo_each_other() {
        let back = flow_lph_from_m3_s(flow_m3_s_from_lph(1234.5));
        assert!((back - 1234.5).abs() < 1e-9, "came back as {back}");
    }
}

//! Words on drawings: short, with no more digits than an eye can tell.

use crate::units::UnitSystem;

const CM_PER_IN: f64 = 2.54;

/// A length on a drawing.
pub fn drawn_length(cm: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric => format!("{} cm", rounded(cm)),
        UnitSystem::Us => format!("{} in", rounded(cm / CM_PER_IN)),
    }
}

/// A speed on a drawing.
pub fn drawn_speed(cm_s: f64, units: UnitSystem) -> String {
    match units {
        UnitSystem::Metric => format!("{} cm/s", rounded(cm_s)),
        UnitSystem::Us => format!("{} in/s", rounded(cm_s / CM_PER_IN)),
    }
}

/// One digit behind the point for small values, none for large ones, and no
/// point where it is whole.
fn rounded(value: f64) -> String {
    if value.abs() >= 10.0 {
        format!("{value:.0}")
    } else {
        let text = format!("{value:.1}");
        text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
    }
}

/// What the arrow of a pump says at its tip: how fast the water is there, how
/// far from the outlet, and whether a pane ends it.
pub fn jet_reach(speed_m_s: f64, way_m: f64, is_at_glass: bool, units: UnitSystem) -> String {
    let (fast, far) = (
        drawn_speed(100.0 * speed_m_s, units),
        drawn_length(100.0 * way_m, units),
    );
    if is_at_glass {
        format!("{fast} at the glass ({far})")
    } else {
        format!("{fast} after {far}")
    }
}

/// How high a lamp hangs.
pub fn above_water(cm: f64, units: UnitSystem) -> String {
    format!("{} above the water", drawn_length(cm, units))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_as_many_as_an_eye_can_tell() {
        let metric = UnitSystem::Metric;
        assert_eq!(drawn_length(12.34, metric), "12 cm");
        assert_eq!(drawn_length(3.0, metric), "3 cm");
        assert_eq!(drawn_speed(2.54, UnitSystem::Us), "1 in/s");
        let said = jet_reach(0.234, 1.17, true, metric);
        assert_eq!(said, "23 cm/s at the glass (117 cm)");
        assert_eq!(jet_reach(0.1, 0.5, false, metric), "10 cm/s after 50 cm");
    }
}

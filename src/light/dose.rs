//! Light as a dose, and light read by a lux meter.

use crate::scene::Day;

/// Daily light integral, in mol/m²/d, of a PPFD at full setting over a day
/// with linear ramps; ramps longer than half the day meet in the middle, at
/// less than full setting.
///
/// **Source** definition: `∫ PPFD dt`, 0.0036 mol an hour for each µmol/m²/s.
pub fn dli_mol(ppfd_umol: f64, day: &Day) -> f64 {
    ppfd_umol * full_light_hours(day) * 3600e-6
}

/// Hours at full setting that would give the same dose as the whole day.
pub fn full_light_hours(day: &Day) -> f64 {
    let (hours, ramp) = (day.hours.clamp(0.0, 24.0), day.ramp_hours.max(0.0));
    if 2.0 * ramp <= hours {
        hours - ramp
    } else if ramp > 0.0 {
        // A triangle that reaches only hours / (2 ramp) of the full setting.
        hours * hours / (4.0 * ramp)
    } else {
        0.0
    }
}

/// Kinds of lamp that a lux reading can be converted for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LampColor {
    /// Daylight.
    Sunlight,
    /// Metal halide.
    MetalHalide,
    /// Cool-white fluorescent tube.
    Fluorescent,
    /// White LED, about 6500 K.
    WhiteLed,
    /// White LED, about 10 000 K.
    ColdWhiteLed,
    /// Half of the photons blue, half white.
    HalfBlue,
    /// Four fifths of the photons blue.
    MostlyBlue,
    /// 450 nm alone.
    RoyalBlue,
}

/// A conversion of lux to PPFD and how far it may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conversion {
    /// PPFD, in µmol/m²/s.
    pub ppfd_umol: f64,
    /// The truth may be lower or higher by this share.
    pub uncertainty: f64,
}

impl LampColor {
    /// Lux for each µmol/m²/s.
    ///
    /// **Source** sunlight, metal halide, cool-white fluorescent: published
    /// sensor maker's table; the LEDs: computed from model spectra with the
    /// photopic curve of Wyman, Sloan & Shirley 2013
    /// (`tests/data/light_lux_per_umol.csv`).
    pub fn lux_per_umol(self) -> f64 {
        match self {
            Self::Sunlight => 54.0,
            Self::MetalHalide => 71.0,
            Self::Fluorescent => 74.0,
            Self::WhiteLed => 78.2,
            Self::ColdWhiteLed => 71.9,
            Self::HalfBlue => 42.9,
            Self::MostlyBlue => 21.7,
            Self::RoyalBlue => 6.6,
        }
    }

    /// Share by which that figure may be off.
    ///
    /// White sources differ among themselves by about a tenth (65–82 lux for
    /// one µmol over the published discharge lamps). A blue mix stands or
    /// falls with its small white part, and a lone blue peak with where in
    /// the steep flank of the eye's curve it lies (1.2 at 420 nm, 17 at
    /// 470 nm): there a lux meter says little.
    pub fn uncertainty(self) -> f64 {
        match self {
            Self::Sunlight => 0.05,
            Self::MetalHalide | Self::Fluorescent | Self::WhiteLed | Self::ColdWhiteLed => 0.15,
            Self::HalfBlue => 0.4,
            Self::MostlyBlue => 0.7,
            Self::RoyalBlue => 0.9,
        }
    }
}

/// PPFD of a lux reading under a kind of lamp.
pub fn ppfd_from_lux(lux: f64, color: LampColor) -> Conversion {
    Conversion {
        ppfd_umol: lux / color.lux_per_umol(),
        uncertainty: color.uncertainty(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_gives_its_dose() {
        let day = |hours, ramp_hours| Day {
            hours,
            ramp_hours,
            ..Day::default()
        };
        // 200 µmol/m²/s over 10 h is 7.2 mol; ramps of 1 h cost one hour.
        assert!(
            (dli_mol(200.0, &day(10.0, 0.0)) - 7.2).abs() < 1e-12,
            "no ramp"
        );
        assert!(
            (dli_mol(200.0, &day(10.0, 1.0)) - 6.48).abs() < 1e-12,
            "ramps"
        );
        // Ramps that meet: a triangle.
        assert!(
            (full_light_hours(&day(8.0, 4.0)) - 4.0).abs() < 1e-12,
            "meet"
        );
        assert!(
            (full_light_hours(&day(8.0, 8.0)) - 2.0).abs() < 1e-12,
            "cut"
        );
        assert_eq!(full_light_hours(&day(0.0, 0.0)), 0.0, "night");
    }
}

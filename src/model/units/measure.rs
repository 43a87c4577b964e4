//! Numbers with units: how a value is shown to the keeper, and how what the
//! keeper types is read, arithmetic included.

use super::UnitSystem;

/// Litres in a US gallon. Exact by definition (231 cubic inches).
const L_PER_GAL: f64 = 3.785_411_784;
/// Centimetres in an inch. Exact by definition.
const CM_PER_IN: f64 = 2.54;
/// Kilograms in a pound. Exact by definition.
const KG_PER_LB: f64 = 0.453_592_37;
/// Square metres in a square foot. Exact by definition.
const M2_PER_FT2: f64 = 0.092_903_04;

/// What a number measures, and the unit it is stored in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Lengths and places, cm.
    Length,
    /// Grain sizes, mm.
    Grain,
    /// Surfaces, cm².
    Area,
    /// Angles, degrees.
    Angle,
    /// Pump and return flow, L/h.
    Flow,
    /// Speed of water, cm/s.
    Speed,
    /// Volumes, L.
    Volume,
    /// Masses, kg.
    Mass,
    /// Small masses, g.
    SmallMass,
    /// Mass over a surface, kg/m².
    Load,
    /// Temperatures, °C.
    Temperature,
    /// Density, kg/L.
    Density,
    /// Photon flux density, µmol/m²/s.
    Ppfd,
    /// Photon flux, µmol/s.
    Photons,
    /// Photons a joule, µmol/J.
    Efficacy,
    /// Photons a day, mol/m²/d.
    Dose,
    /// Absorption, 1/m.
    Absorption,
    /// Shares of one, shown as percent.
    Share,
    /// Hours.
    Hours,
    /// Seconds.
    Seconds,
    /// Watts.
    Power,
    /// Energy a day, kWh.
    Energy,
    /// How often in an hour, 1/h.
    PerHour,
    /// Months.
    Months,
    /// How many.
    Count,
    /// Pure numbers.
    Plain,
}

/// How a measure is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown {
    /// Unit after the number.
    pub unit: &'static str,
    /// Shown value of one stored unit.
    pub factor: f64,
    /// What is added to it then; zero but for temperatures.
    pub offset: f64,
    /// Digits after the point.
    pub decimals: usize,
}

impl Measure {
    /// Unit, factor and digits in this system.
    pub fn shown(self, units: UnitSystem) -> Shown {
        let is_us = units == UnitSystem::Us;
        let offset = if self == Self::Temperature && is_us {
            32.0
        } else {
            0.0
        };
        let (unit, factor, decimals) = match self {
            Self::Length if is_us => ("in", 1.0 / CM_PER_IN, 2),
            Self::Length => ("cm", 1.0, 1),
            Self::Grain if is_us => ("in", 0.1 / CM_PER_IN, 3),
            Self::Grain => ("mm", 1.0, 1),
            Self::Area if is_us => ("in²", 1.0 / (CM_PER_IN * CM_PER_IN), 0),
            Self::Area => ("cm²", 1.0, 0),
            Self::Angle => ("°", 1.0, 1),
            Self::Flow if is_us => ("gph", 1.0 / L_PER_GAL, 0),
            Self::Flow => ("L/h", 1.0, 0),
            Self::Speed if is_us => ("in/s", 1.0 / CM_PER_IN, 1),
            Self::Speed => ("cm/s", 1.0, 1),
            Self::Volume if is_us => ("gal", 1.0 / L_PER_GAL, 1),
            Self::Volume => ("L", 1.0, 1),
            Self::Mass if is_us => ("lb", 1.0 / KG_PER_LB, 1),
            Self::Mass => ("kg", 1.0, 1),
            Self::SmallMass if is_us => ("oz", 0.016 / KG_PER_LB, 1),
            Self::SmallMass => ("g", 1.0, 0),
            Self::Load if is_us => ("lb/ft²", M2_PER_FT2 / KG_PER_LB, 0),
            Self::Load => ("kg/m²", 1.0, 0),
            Self::Temperature if is_us => ("°F", 1.8, 1),
            Self::Temperature => ("°C", 1.0, 1),
            Self::Density if is_us => ("lb/gal", L_PER_GAL / KG_PER_LB, 1),
            Self::Density => ("kg/L", 1.0, 2),
            Self::Ppfd => ("µmol/m²/s", 1.0, 0),
            Self::Photons => ("µmol/s", 1.0, 0),
            Self::Efficacy => ("µmol/J", 1.0, 2),
            Self::Dose => ("mol/m²/d", 1.0, 1),
            Self::Absorption if is_us => ("/ft", 12.0 * CM_PER_IN / 100.0, 3),
            Self::Absorption => ("/m", 1.0, 2),
            Self::Share => ("%", 100.0, 0),
            Self::Hours => ("h", 1.0, 1),
            Self::Seconds => ("s", 1.0, 1),
            Self::Power => ("W", 1.0, 1),
            Self::Energy => ("kWh", 1.0, 1),
            Self::PerHour => ("1/h", 1.0, 1),
            Self::Months => ("months", 1.0, 0),
            Self::Count => ("", 1.0, 0),
            Self::Plain => ("", 1.0, 2),
        };
        Shown {
            unit,
            factor,
            offset,
            decimals,
        }
    }

    /// The stored unit as it stands last in names of fields; empty for shares
    /// and counts.
    pub const fn suffix(self) -> &'static str {
        match self {
            Self::Length => "cm",
            Self::Grain => "mm",
            Self::Area => "cm2",
            Self::Angle => "deg",
            Self::Flow => "lph",
            Self::Speed => "cm_s",
            Self::Volume => "l",
            Self::Mass => "kg",
            Self::SmallMass => "g",
            Self::Load => "kg_m2",
            Self::Temperature => "deg_c",
            Self::Density => "kg_per_l",
            Self::Ppfd => "umol",
            Self::Photons => "umol_s",
            Self::Efficacy => "umol_j",
            Self::Dose => "mol",
            Self::Absorption => "per_m",
            Self::Hours => "hours",
            Self::Seconds => "s",
            Self::Power => "w",
            Self::Energy => "kwh",
            Self::PerHour => "per_h",
            Self::Months | Self::Share | Self::Count | Self::Plain => "",
        }
    }

    /// The stored value of one of this unit, where the unit measures this.
    fn stored_from_unit(self, unit: &str) -> Option<f64> {
        let lower = unit.to_lowercase();
        let table: &[(&str, f64)] = match self {
            Self::Length => &[
                ("cm", 1.0),
                ("mm", 0.1),
                ("m", 100.0),
                ("in", CM_PER_IN),
                ("inch", CM_PER_IN),
                ("inches", CM_PER_IN),
                ("\"", CM_PER_IN),
                ("ft", 12.0 * CM_PER_IN),
                ("'", 12.0 * CM_PER_IN),
            ],
            Self::Grain => &[("mm", 1.0), ("cm", 10.0), ("in", 10.0 * CM_PER_IN)],
            Self::Angle => &[("°", 1.0), ("deg", 1.0)],
            Self::Flow => &[
                ("l/h", 1.0),
                ("lph", 1.0),
                ("l/min", 60.0),
                ("gph", L_PER_GAL),
                ("gal/h", L_PER_GAL),
            ],
            Self::Speed => &[("cm/s", 1.0), ("m/s", 100.0), ("in/s", CM_PER_IN)],
            Self::Volume => &[("l", 1.0), ("gal", L_PER_GAL)],
            Self::Mass => &[("kg", 1.0), ("g", 0.001), ("lb", KG_PER_LB)],
            Self::Density => &[("kg/l", 1.0), ("lb/gal", KG_PER_LB / L_PER_GAL)],
            Self::Absorption => &[("/m", 1.0), ("/ft", 100.0 / (12.0 * CM_PER_IN))],
            Self::Share => &[("%", 0.01)],
            Self::Hours => &[("h", 1.0), ("min", 1.0 / 60.0)],
            Self::Seconds => &[("s", 1.0), ("min", 60.0)],
            Self::Power => &[("w", 1.0)],
            _ => &[],
        };
        let shown = self.shown(UnitSystem::Metric);
        if lower == shown.unit.to_lowercase() && !lower.is_empty() {
            return Some(1.0 / shown.factor);
        }
        let row = table.iter().find(|(name, _)| *name == lower)?;
        Some(row.1)
    }

    /// A value without the unit, rounded to a number of digits after the
    /// point of the metric unit; a unit that is larger gets one digit more.
    pub fn rounded(self, stored: f64, decimals: usize, units: UnitSystem) -> String {
        let Shown { factor, offset, .. } = self.shown(units);
        let plain = self.shown(UnitSystem::Metric).factor;
        let finer = usize::from(factor.abs() < 0.6 * plain);
        let text = format!("{:.*}", decimals + finer, stored * factor + offset);
        if text
            .trim_start_matches('-')
            .chars()
            .all(|c| "0.".contains(c))
        {
            text.trim_start_matches('-').to_owned()
        } else {
            text
        }
    }

    /// The same with its unit.
    pub fn rounded_text(self, stored: f64, decimals: usize, units: UnitSystem) -> String {
        with_unit(
            self.rounded(stored, decimals, units),
            self.shown(units).unit,
        )
    }

    /// The value in words, such as `12.5 cm`.
    pub fn text(self, stored: f64, units: UnitSystem) -> String {
        with_unit(self.number(stored, units), self.shown(units).unit)
    }

    /// The number alone, with no more digits than it needs.
    pub fn number(self, stored: f64, units: UnitSystem) -> String {
        let shown = self.shown(units);
        let value = stored * shown.factor + shown.offset;
        let text = format!("{:.*}", shown.decimals, value);
        let text = if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        } else {
            text
        };
        if text == "-0" { "0".to_owned() } else { text }
    }

    /// Reads what the keeper typed, into the stored unit. Bare numbers are in
    /// the unit that is shown; `+ - * / ( )` and other units of the same kind
    /// are understood. `None` if it is no such number.
    pub fn read(self, text: &str, units: UnitSystem) -> Option<f64> {
        let mut reader = Reader {
            rest: text,
            measure: self,
            factor: self.shown(units).factor,
            depth: 0,
        };
        let shown = reader.sum()?;
        reader.skip_space();
        let Shown { factor, offset, .. } = self.shown(units);
        let value = (shown - offset) / factor;
        (reader.rest.is_empty() && value.is_finite()).then_some(value)
    }
}

fn with_unit(number: String, unit: &str) -> String {
    match unit {
        "" => number,
        "°" => format!("{number}°"),
        _ => format!("{number} {unit}"),
    }
}

/// Deepest brackets that are followed.
const DEPTH_MAX: usize = 16;

/// Reads a sum from the left; its values are in the shown unit.
struct Reader<'a> {
    rest: &'a str,
    measure: Measure,
    factor: f64,
    depth: usize,
}

impl Reader<'_> {
    fn skip_space(&mut self) {
        self.rest = self.rest.trim_start();
    }

    fn take(&mut self, sign: char) -> bool {
        self.skip_space();
        match self.rest.strip_prefix(sign) {
            Some(rest) => {
                self.rest = rest;
                true
            }
            None => false,
        }
    }

    fn sum(&mut self) -> Option<f64> {
        let mut value = self.product()?;
        loop {
            if self.take('+') {
                value += self.product()?;
            } else if self.take('-') || self.take('−') {
                value -= self.product()?;
            } else {
                return Some(value);
            }
        }
    }

    fn product(&mut self) -> Option<f64> {
        let mut value = self.factor()?;
        loop {
            if self.take('*') || self.take('×') {
                value *= self.factor()?;
            } else if self.take('/') {
                value /= self.factor()?;
            } else {
                return Some(value);
            }
        }
    }

    fn factor(&mut self) -> Option<f64> {
        self.depth += 1;
        if self.depth > DEPTH_MAX {
            return None;
        }
        let value = if self.take('-') || self.take('−') {
            -self.factor()?
        } else if self.take('+') {
            self.factor()?
        } else if self.take('(') {
            let value = self.sum()?;
            self.take(')').then_some(value)?
        } else {
            self.number_with_unit()?
        };
        self.depth -= 1;
        Some(value)
    }

    fn number_with_unit(&mut self) -> Option<f64> {
        self.skip_space();
        let end = self
            .rest
            .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
            .unwrap_or(self.rest.len());
        let (digits, rest) = self.rest.split_at(end);
        let value: f64 = digits.replace(',', ".").parse().ok()?;
        self.rest = rest.trim_start();
        // The longest unit that fits, so that "cm/s" is not taken for "cm".
        let length = self
            .rest
            .find(|c: char| !(c.is_alphabetic() || "/%°\"'²".contains(c)))
            .unwrap_or(self.rest.len());
        let ends = (1..=length)
            .rev()
            .filter(|n| self.rest.is_char_boundary(*n));
        for end in ends {
            if let Some(stored) = self.measure.stored_from_unit(&self.rest[..end]) {
                self.rest = &self.rest[end..];
                return Some(value * stored * self.factor);
            }
        }
        Some(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(measure: Measure, units: UnitSystem, text: &str, expected: Option<f64>) {
        let found = measure.read(text, units);
        let same = match (found, expected) {
            (Some(a), Some(b)) => (a - b).abs() < 1e-9 * (1.0 + b.abs()),
            (a, b) => a == b,
        };
        assert!(same, "{text:?} gave {found:?}, expected {expected:?}");
    }

    #[test]
    fn what_a_keeper_types_is_read() {
        use UnitSystem::{Metric, Us};
        check(Measure::Length, Metric, "12", Some(12.0));
        check(Measure::Length, Metric, "12,5 cm", Some(12.5));
        check(Measure::Length, Metric, "10 + 2*3", Some(16.0));
        check(Measure::Length, Metric, "(10+2)/4", Some(3.0));
        check(Measure::Length, Metric, "-4", Some(-4.0));
        check(Measure::Length, Metric, "2 in", Some(5.08));
        check(Measure::Length, Us, "2", Some(5.08));
        check(Measure::Length, Us, "2 * 3", Some(15.24));
        check(Measure::Length, Us, "10 cm + 1", Some(12.54));
        check(Measure::Length, Us, "4'", Some(121.92));
        check(Measure::Flow, Metric, "1000 gph", Some(3_785.411_784));
        check(Measure::Flow, Us, "3000 L/h", Some(3000.0));
        check(Measure::Share, Metric, "80", Some(0.8));
        check(Measure::Share, Metric, "80 %", Some(0.8));
        check(Measure::Angle, Metric, "360/16", Some(22.5));
        check(Measure::Hours, Metric, "30 min", Some(0.5));
        for nonsense in ["", "reef", "1/0", "(1", "3 kg", "1 2", "--", "1..2"] {
            check(Measure::Length, Metric, nonsense, None);
        }
        check(Measure::Length, Metric, &"(".repeat(500), None);
    }

    #[test]
    fn what_is_shown_is_read_back_to_the_shown_digit() {
        let measures = [
            Measure::Length,
            Measure::Flow,
            Measure::Share,
            Measure::Mass,
        ];
        for units in [UnitSystem::Metric, UnitSystem::Us] {
            for measure in measures {
                for value in [0.0, 0.37, 1.0, 12.7, 640.0] {
                    let text = measure.text(value, units);
                    let shown = measure.shown(units);
                    let step = 0.5 * 10_f64.powi(-(shown.decimals as i32)) / shown.factor;
                    let back = measure.read(&text, units).expect("reads");
                    assert!((back - value).abs() <= step + 1e-9, "{text} gave {back}");
                }
            }
        }
    }

    #[test]
    fn numbers_have_no_empty_digits() {
        let text = |value| Measure::Length.text(value, UnitSystem::Metric);
        assert_eq!(text(12.0), "12 cm", "no point");
        assert_eq!(text(12.25), "12.2 cm", "one digit");
        assert_eq!(text(-0.01), "0 cm", "no minus zero");
        assert_eq!(Measure::Angle.text(20.0, UnitSystem::Us), "20°", "no space");
    }
}

//! Rulers, grids and scale bars: which lengths they count in, and what stands
//! at their ticks, in the keeper's units.

use glam::DVec2;

use crate::units::{Measure, UnitSystem};
use crate::words;

/// Numbers of a ruler are at least so far apart, in nibs: three digits and as
/// much air.
pub const NUMBERS_APART: f64 = 45.0;
/// Length of a tick with a number and of one without, in nibs.
pub const TICKS: [f64; 2] = [6.0, 3.0];
/// Least length of a scale bar, in nibs.
const BAR_LEAST: f64 = 62.0;

/// A tick of a ruler.
#[derive(Clone, Debug, PartialEq)]
pub struct Tick {
    /// 0 along a ruler that goes to the right, 1 along one that goes up.
    pub axis: usize,
    /// Where it is along it, in cm of the view.
    pub at_cm: f64,
    /// Its number, if it has one.
    pub text: Option<String>,
}

/// A bar of a round length.
#[derive(Clone, Debug, PartialEq)]
pub struct ScaleBar {
    /// Its length, in cm of the view.
    pub length_cm: f64,
    /// That length in words.
    pub text: String,
}

/// The least round length that takes so many nibs, in cm.
pub fn round_cm(least: f64, nibs_per_cm: f64, units: UnitSystem) -> f64 {
    let lengths: &[f64] = match units {
        UnitSystem::Metric => &[1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0],
        UnitSystem::Us => &[0.5, 1.0, 2.0, 4.0, 6.0, 12.0, 24.0, 48.0],
    };
    let unit_cm = unit_cm(units);
    let fits = |length: &&f64| **length * unit_cm * nibs_per_cm >= least;
    let longest = lengths.last().copied().unwrap_or(1.0);
    lengths.iter().find(fits).copied().unwrap_or(longest) * unit_cm
}

/// A centimeter or an inch, in cm.
fn unit_cm(units: UnitSystem) -> f64 {
    1.0 / Measure::Length.shown(units).factor
}

/// The ticks of both rulers of a view from one corner to another, numbered
/// ones and those halfway between.
pub fn ticks([low_cm, high_cm]: [DVec2; 2], nibs_per_cm: f64, units: UnitSystem) -> Vec<Tick> {
    const TICKS_MAX: i64 = 800;
    let half_cm = round_cm(NUMBERS_APART, nibs_per_cm, units) / 2.0;
    let unit_cm = unit_cm(units);
    let mut ticks = Vec::new();
    for axis in 0..2 {
        let first = (low_cm[axis] / half_cm - 1e-9).ceil() as i64;
        let last = (high_cm[axis] / half_cm + 1e-9).floor() as i64;
        for k in first..=last.min(first + TICKS_MAX) {
            let at_cm = k as f64 * half_cm;
            // No minus before a zero.
            let number = (at_cm / unit_cm * 10.0).round() / 10.0 + 0.0;
            let text = (k % 2 == 0).then(|| format!("{number}"));
            ticks.push(Tick { axis, at_cm, text });
        }
    }
    ticks
}

/// A bar for a drawing of this scale.
pub fn scale_bar(nibs_per_cm: f64, units: UnitSystem) -> ScaleBar {
    let length_cm = round_cm(BAR_LEAST, nibs_per_cm, units);
    ScaleBar {
        length_cm,
        text: words::drawn_length(length_cm, units),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TANK: [DVec2; 2] = [DVec2::ZERO, DVec2::new(60.0, 45.0)];

    fn numbers(nibs_per_cm: f64, units: UnitSystem) -> Vec<String> {
        let all = ticks(TANK, nibs_per_cm, units).into_iter();
        let along = all.filter(|tick| tick.axis == 0);
        along.filter_map(|tick| tick.text).collect()
    }

    #[test]
    fn rulers_count_in_round_lengths_of_the_keeper() {
        // 10 cm of 5 nibs are 50, 5 cm are 25: too near.
        let metric = ["0", "10", "20", "30", "40", "50", "60"];
        assert_eq!(numbers(5.0, UnitSystem::Metric), metric);
        // 60 cm are 23.6 in; 4 in are 10.16 cm.
        let inches = ["0", "4", "8", "12", "16", "20"];
        assert_eq!(numbers(5.0, UnitSystem::Us), inches);
        assert_eq!(numbers(90.0, UnitSystem::Us)[1], "0.5", "closer by");
    }

    #[test]
    fn numbers_keep_apart_and_ticks_halve_what_is_between() {
        for units in [UnitSystem::Metric, UnitSystem::Us] {
            for scale in [0.8, 2.0, 4.55, 9.09, 30.0, 60.0] {
                let all = ticks([DVec2::splat(-7.0), TANK[1]], scale, units);
                for axis in 0..2 {
                    let own: Vec<&Tick> = all.iter().filter(|it| it.axis == axis).collect();
                    for pair in own.windows(2) {
                        let apart = (pair[1].at_cm - pair[0].at_cm) * scale;
                        assert!(apart >= NUMBERS_APART / 2.0 - 1e-9, "{apart} at {scale}");
                        assert_ne!(
                            pair[0].text.is_some(),
                            pair[1].text.is_some(),
                            "every other one has a number"
                        );
                    }
                }
                let inside = |tick: &Tick| (-7.0..=60.0).contains(&tick.at_cm);
                assert!(all.iter().all(inside), "none leaves the ruler");
            }
        }
    }

    #[test]
    fn a_bar_is_a_round_length_and_says_it() {
        let bar = scale_bar(4.55, UnitSystem::Metric);
        assert_eq!((bar.length_cm, bar.text.as_str()), (20.0, "20 cm"));
        let bar = scale_bar(4.55, UnitSystem::Us);
        assert_eq!(bar.text, "6 in", "15.24 cm are 69 nibs");
        assert!((bar.length_cm - 15.24).abs() < 1e-9, "{}", bar.length_cm);
    }
}

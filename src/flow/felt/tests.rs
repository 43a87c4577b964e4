//! Checks of the law itself, and of how it was borne out on a few stored blocks.

use super::*;

/// Seventy blocks of each of the sixteen check tanks on cells of 2 cm, at even steps through their tables (example
/// `felt`): cell in cm, felt
/// speed of the resolved tank in m/s, features.
const STORED: &str = include_str!("stored.csv");

fn law() -> &'static FeltLaw {
    law::built_in().expect("the built-in law reads and is sound")
}

fn stored() -> Vec<(f64, FeltSpeed, Features)> {
    let rows = STORED.lines().map(|line| {
        let numbers: Vec<f32> = (line.split(','))
            .map(|word| word.parse().expect("a number"))
            .collect();
        let features: Features = std::array::from_fn(|k| numbers[2 + k]);
        let [middle, scale] = law().at(&features, f64::from(numbers[0]) / 100.0);
        let felt = FeltSpeed {
            law: law(),
            middle,
            scale,
        };
        (f64::from(numbers[1]), felt, features)
    });
    rows.collect()
}

#[test]
fn chances_and_intervals_are_one_distribution() {
    for (_, felt, _) in stored() {
        let [low, high] = felt.interval_m_s();
        let middle = felt.median_m_s();
        assert!(low < middle && middle < high, "{low} {middle} {high}");
        for chance in [0.003, 0.1, 0.37, 0.5, 0.9, 0.996] {
            let back = felt.chance_below(felt.quantile_m_s(chance));
            assert!((back - chance).abs() < 1e-6, "{chance} came back as {back}");
        }
        assert!(
            felt.chance_below(0.02) <= felt.chance_below(0.05),
            "a higher limit holds more"
        );
    }
}

/// The scale falls with the speed, so that this is not so by form: from the
/// lowest percent to the highest, in steps of a tenth over all that was seen.
#[test]
fn faster_water_is_said_to_be_faster() {
    for (_, _, features) in stored().iter().step_by(20) {
        for cell_m in [0.01, 0.0125, 0.015, 0.02] {
            let mut last = [0.0; 3];
            for step in 0..48 {
                let mut faster = *features;
                faster[1] = -6.0 + 0.1 * step as f32;
                let [middle, scale] = law().at(&faster, cell_m);
                let felt = FeltSpeed {
                    law: law(),
                    middle,
                    scale,
                };
                let now = [0.1, 0.5, 0.9].map(|chance| felt.quantile_m_s(chance));
                assert!(
                    now.iter()
                        .zip(last)
                        .all(|(now, last)| *now >= last * (1.0 - 1e-9)),
                    "{now:?} after {last:?} at step {step}"
                );
                last = now;
            }
        }
    }
}

/// Bounds are those that all check tanks together meet; so few blocks scatter
/// by a few hundredths round them.
#[test]
fn what_was_said_of_unseen_tanks_was_so() {
    let stored = stored();
    let n = stored.len() as f64;
    let covered = stored.iter().filter(|(truth, felt, _)| {
        let [low, high] = felt.interval_m_s();
        *truth >= low && *truth <= high
    });
    let covered = covered.count() as f64 / n;
    assert!((0.70..=0.90).contains(&covered), "covered {covered}");
    for limit in [0.02, SLOW_M_S] {
        let right = |from: f64, to: f64| {
            let of: Vec<bool> = (stored.iter())
                .filter(|(_, felt, _)| (from..to).contains(&felt.chance_below(limit)))
                .map(|(truth, _, _)| *truth < limit)
                .collect();
            of.iter().filter(|slow| **slow).count() as f64 / of.len() as f64
        };
        let [sure, likely] = [right(SURE, 1.1), right(LIKELY, SURE)];
        assert!(sure >= 0.90, "sure below {limit}: {sure}");
        assert!(likely >= 0.60, "likely below {limit}: {likely}");
    }
}

#[test]
fn verdicts_follow_the_chance() {
    assert_eq!(certainty(0.95), Certainty::Sure, "sure");
    assert_eq!(certainty(0.7), Certainty::Likely, "likely");
    assert_eq!(certainty(0.5), Certainty::Check, "to be checked");
}

/// Whatever else is estimated at a place errs by the felt speed's factor.
#[test]
fn a_speed_errs_as_the_felt_speed_does() {
    for (_, felt, features) in stored().into_iter().step_by(50) {
        let estimated_m_s = f64::from(features[1]).exp();
        let error = SpeedError {
            felt,
            estimated_m_s,
        };
        let ends = error.interval_m_s(estimated_m_s).into_iter();
        for (end, own) in ends.zip(felt.interval_m_s()) {
            assert!((end / own - 1.0).abs() < 1e-12, "{end} for {own}");
        }
        let [low, high] = error.interval_m_s(0.1);
        for (end_m_s, chance) in [(low, INTERVAL[0]), (high, INTERVAL[1])] {
            let found = error.chance_below(0.1, end_m_s);
            assert!((found - chance).abs() < 1e-6, "{found} for {chance}");
        }
    }
}

//! Words about light: where it is shown, the keeper's readings, measured lamps.

use crate::scene::{Measure, Quantity};

words! {
    LIT_WATER = "in the water";
    LIT_SURFACES = "on surfaces";
    HATCHED_LIGHT = "hatched: shaded; rock as it faces";
    PAGE_READINGS = "readings against the estimate";
    NO_READINGS = "No readings yet. Click where the meter was, or add one from the shelf and drag it there, and give its value.";
    READING_TITLES_NUMBER = "reading";
    READING_TITLES_PLACE = "at";
    READING_TITLES_MEASURED = "measured";
    READING_TITLES_COMPUTED = "computed";
    READING_TITLES_OFF = "off by";
    READING_TITLES_FITTED = "with the lamps' factors";
    CALIBRATION = "what the readings fix";
    CALIBRATION_WORDS = "Output of each lamp, the water's absorption, what panes return, and each pump that was read alone. What is found stands beside what is printed; nothing is fixed that the readings cannot tell.";
    CALIBRATE = "calibrate by these readings";
    CALIBRATING = "looking at the readings…";
    TAKE_BACK = "take back what readings gave";
    OUTPUT_SHARE = "of its stated output";
    FLOW_SHARE = "of its rated flow";
    PANES = "clear panes";
    RETURNED = "of the light is returned";
    LAMPS_BY_READINGS = "what the readings say of the lamps";
    FACTOR_WORDS = "One factor for each lamp that brings the estimate nearest to your meter, between 0.2 and 5. Your readings stay as they are; the lamp's output changes only if you say so.";
    FACTOR_NONE = "no reading lies in its light";
    FACTOR_BY_READING = "its output is fixed by a reading already";
    SET_BY_READINGS = "set the output by readings";
    NOT_KNOWN_YET = "not known yet";
    NOT_READ_YET = "not read yet";
    LIGHT_HERE = "light, up";
    LIGHT_HERE_ROUND = "light, all round";
    SPEED_HERE = "speed";
    PATH_LAMP = "measured lamp file (IES)";
    LAMP_FILES = "IES lamp file";
    DO_READ = "read";
}

/// A share that readings gave, with its 80 % interval.
pub fn measured_share(name: &str, of: &str, found: &Measure) -> String {
    let [value, low, high] = [found.value, found.low, found.high].map(|share| 100.0 * share);
    format!("{name}: {value:.0} % {of} ({low:.0} to {high:.0} % in 8 of 10 cases)")
}

/// The absorption that readings gave.
pub fn measured_absorption(found: &Measure) -> String {
    let Measure { value, low, high } = found;
    format!("water: absorbs {value:.2} per m ({low:.2} to {high:.2} in 8 of 10 cases)")
}

/// What a reading is of, in a narrow column.
pub fn quantity(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::PpfdUp => LIGHT_HERE,
        Quantity::PpfdScalar => LIGHT_HERE_ROUND,
        Quantity::Speed => SPEED_HERE,
    }
}

/// A difference, as a share.
pub fn off_by(share: f64) -> String {
    let percent = (share * 100.0).round();
    match percent {
        p if p > 0.0 => format!("+{p} %"),
        p if p < 0.0 => format!("{p} %"),
        _ => "0 %".to_owned(),
    }
}

/// What a lamp's factor means.
pub fn factor(factor: f64) -> String {
    let percent = (factor * 100.0).round();
    if percent == 100.0 {
        "gives what it is drawn with".to_owned()
    } else {
        format!("gives {percent} % of what it is drawn with")
    }
}

/// The link that takes a factor over.
pub fn take_factor(lamp: &str) -> String {
    format!("set {lamp} to that")
}

/// A reading and its estimate in a line.
pub fn measured_computed(measured: &str, computed: Option<&str>) -> String {
    match computed {
        Some(computed) => format!("measured {measured}, computed {computed}"),
        None => format!("measured {measured}, {NOT_KNOWN_YET}"),
    }
}

/// How many of the distances that a builder checks will do.
pub fn good_distances(n_good: usize, n: usize) -> String {
    format!(
        "{n_good} of {n} are as builders leave them: room for a scraper, to the surface, round outlets, an arm's reach"
    )
}

/// The link that draws hidden things again.
pub fn n_hidden(n: usize) -> String {
    match n {
        1 => "1 thing is hidden: show it".to_owned(),
        n => format!("{n} things are hidden: show them"),
    }
}

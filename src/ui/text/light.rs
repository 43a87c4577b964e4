//! Words about light: where it is shown, the keeper's readings, measured lamps.

use crate::scene::Quantity;

words! {
    LIT_WATER = "in the water";
    LIT_SURFACES = "on surfaces";
    HATCHED_LIGHT = "hatched: shaded; rock as it faces";
    PAGE_READINGS = "readings against the estimate";
    NO_READINGS = "No readings yet. Add one from the shelf, drag it to where the meter was, and give its value.";
    READING_TITLES_NUMBER = "reading";
    READING_TITLES_PLACE = "at";
    READING_TITLES_MEASURED = "measured";
    READING_TITLES_COMPUTED = "computed";
    READING_TITLES_OFF = "off by";
    READING_TITLES_FITTED = "with the lamps' factors";
    LAMPS_BY_READINGS = "what the readings say of the lamps";
    FACTOR_WORDS = "One factor for each lamp that brings the estimate nearest to your meter, between 0.2 and 5. Your readings stay as they are; the lamp's output changes only if you say so.";
    FACTOR_NONE = "no reading lies in its light";
    FACTOR_BY_READING = "its output is fixed by a reading already";
    SET_BY_READINGS = "set the output by readings";
    NOT_KNOWN_YET = "not known yet";
    LIGHT_HERE = "light, up";
    LIGHT_HERE_ROUND = "light, all round";
    SPEED_HERE = "speed";
    PATH_LAMP = "measured lamp file (IES)";
    LAMP_FILES = "IES lamp file";
    DO_READ = "read";
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

/// The link that draws hidden things again.
pub fn n_hidden(n: usize) -> String {
    match n {
        1 => "1 thing is hidden: show it".to_owned(),
        n => format!("{n} things are hidden: show them"),
    }
}

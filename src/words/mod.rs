//! Says in words what the program noticed: the only place where findings,
//! fits, proposals, steps and places become sentences. It is told the keeper's
//! units and language; window, report, JSON texts, paper and screen reader all
//! use it, so that one figure reads the same everywhere. Nothing reads the
//! sentences back.

use bommie_advice as advice;
use bommie_model::{catalog, scene, units};
use bommie_scan as scan;

mod distances;
mod drawn;
mod finding;
mod finer;
mod fit;
mod growth;
mod mistakes;
mod moves;
mod names;
mod notes;
mod outage;
mod place;
mod proposals;
mod scanned;
mod stock;

pub use drawn::{above_water, drawn_length, drawn_speed, jet_reach};
pub use finding::{certainty_word, kind_word, remedy_link, severity_word};
pub use fit::{aspect_word, mount_word, verdict_adverb};
pub use growth::months;
pub use names::{Language, Speaker};
pub use scanned::{scan_figures, scan_guesses};
pub use stock::{stock_csv, volume_parts, water_account};

/// Puts the first letter in upper case.
pub fn capitalized(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Whether a name stands for several, as in "button polyps": it ends in a plain
/// word in the plural. Names of genera, such as Porites, do not.
pub(crate) fn is_plural(name: &str) -> bool {
    let last = name.split_whitespace().last().unwrap_or("");
    let is_plain = last.starts_with(char::is_lowercase);
    let is_single = ["ss", "us", "is"].iter().any(|end| last.ends_with(end));
    is_plain && last.ends_with('s') && !is_single
}

/// A verb as its subject wants it: of one, of several.
pub(crate) fn agreeing(name: &str, [one, several]: [&'static str; 2]) -> &'static str {
    if is_plural(name) { several } else { one }
}

/// Words joined as a list: "a", "a and b", "a, b and c".
pub(crate) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [start @ .., last] => format!("{} and {last}", start.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verbs_agree_with_names() {
        let stands = |name: &str| agreeing(name, ["stands", "stand"]);
        for name in [
            "plate coral",
            "finger Porites",
            "blasto",
            "brain 3",
            "my bass",
            "cactus",
        ] {
            assert_eq!(stands(name), "stands", "{name}");
        }
        for name in ["button polyps", "the yellow polyps"] {
            assert_eq!(stands(name), "stand", "{name}");
        }
    }
}

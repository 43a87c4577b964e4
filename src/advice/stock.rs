//! The stock list: what lives where, how it is held, since when.

use crate::place::Surroundings;
use crate::scene::finding::Place;
use crate::scene::{Coral, Mount, Support};
use crate::study::Study;
use crate::units::M_PER_CM;

/// One coral of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct StockRow {
    /// What the keeper calls it, or the trade's word.
    pub name: String,
    /// Scientific genus, or the entry's id if the catalog does not know it.
    pub genus: String,
    /// Part of the tank.
    pub place: Place,
    /// What it sits on.
    pub on: Support,
    /// How it is held.
    pub mount: Mount,
    /// Middle of its base, in cm.
    pub at_cm: [f64; 3],
    /// Across x, across y, height, in cm.
    pub size_cm: [f64; 3],
    /// Since when, as the keeper wrote it; empty if not given.
    pub since: String,
    /// The keeper's note.
    pub note: String,
}

/// All corals of a layout, in its order.
pub fn stock_list(study: &Study) -> Vec<StockRow> {
    let (layout, surroundings) = (study.layout(), Surroundings::new(study));
    let row = |coral: &Coral| {
        let entry = study.entry_of(coral);
        let word = entry.map_or(&coral.entry, |entry| &entry.plain_name);
        StockRow {
            name: if coral.name.is_empty() {
                word.clone()
            } else {
                coral.name.clone()
            },
            genus: entry.map_or(&coral.entry, |entry| &entry.genus).clone(),
            place: surroundings.point_place(coral.at_cm * M_PER_CM),
            on: coral.on,
            mount: coral.mount,
            at_cm: coral.at_cm.to_array(),
            size_cm: coral.size_cm.to_array(),
            since: coral.since.clone().unwrap_or_default(),
            note: coral.note.clone(),
        }
    };
    layout.corals.iter().map(row).collect()
}

/// A field of a line of comma-separated text.
///
/// **Source** RFC 4180: fields with comma, quote or line break are quoted.
pub fn csv_field(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

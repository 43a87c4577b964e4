//! The stock list: what lives where, how it is held, since when.

use crate::place::{Surroundings, rock_name};
use crate::scene::{Coral, Support};
use crate::study::Study;
use crate::units::M_PER_CM;

/// One coral of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct StockRow {
    /// What the keeper calls it, or the trade's word.
    pub name: String,
    /// Scientific genus, or the entry's id if the catalog does not know it.
    pub genus: String,
    /// Part of the tank, in words.
    pub place: String,
    /// What it sits on, in words.
    pub on: String,
    /// How it is held, in words.
    pub mount: &'static str,
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
        let rock = |id| layout.rocks.iter().find(|rock| rock.id == id);
        StockRow {
            name: if coral.name.is_empty() {
                word.clone()
            } else {
                coral.name.clone()
            },
            genus: entry.map_or(&coral.entry, |entry| &entry.genus).clone(),
            place: surroundings.point_place(coral.at_cm * M_PER_CM),
            on: match coral.on {
                Support::Rock(id) => rock(id).map_or_else(|| format!("rock {id}"), rock_name),
                Support::Sand => "sand".to_owned(),
            },
            mount: coral.mount.tag(),
            at_cm: coral.at_cm.to_array(),
            size_cm: coral.size_cm.to_array(),
            since: coral.since.clone().unwrap_or_default(),
            note: coral.note.clone(),
        }
    };
    layout.corals.iter().map(row).collect()
}

/// The list as comma-separated text with a heading line.
///
/// **Source** RFC 4180: fields with comma, quote or line break are quoted.
pub fn stock_csv(rows: &[StockRow]) -> String {
    let mut csv = String::from(
        "name,genus,place,on,mount,x_cm,y_cm,z_cm,width_cm,depth_cm,height_cm,since,note\n",
    );
    for row in rows {
        let numbers = row
            .at_cm
            .iter()
            .chain(&row.size_cm)
            .map(|v| format!("{v:.1}"));
        let words = [&row.name, &row.genus, &row.place, &row.on].map(|word| csv_field(word));
        let fields: Vec<String> = words
            .into_iter()
            .chain([row.mount.to_owned()])
            .chain(numbers)
            .chain([csv_field(&row.since), csv_field(&row.note)])
            .collect();
        csv.push_str(&fields.join(","));
        csv.push('\n');
    }
    csv
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

//! The stock list as text, and the tank's water in parts.

use crate::advice::{StockRow, Volumes, csv_field};
use crate::names::Speaker;
use crate::units::{Measure, UnitSystem};

/// The stock list as comma-separated text with a heading line; lengths in cm,
/// as a table for other programs.
///
/// **Source** RFC 4180: fields with comma, quote or line break are quoted.
pub fn stock_csv(rows: &[StockRow], speaker: &Speaker<'_>) -> String {
    let mut csv = String::from(
        "name,genus,place,on,mount,x_cm,y_cm,z_cm,width_cm,depth_cm,height_cm,since,note\n",
    );
    for row in rows {
        let numbers = row
            .at_cm
            .iter()
            .chain(&row.size_cm)
            .map(|v| format!("{v:.1}"));
        let place = speaker.place(&row.place);
        let on = speaker.support(row.on);
        let words = [&row.name, &row.genus, &place, &on].map(|word| csv_field(word));
        let fields: Vec<String> = words
            .into_iter()
            .chain([row.mount.tag().to_owned()])
            .chain(numbers)
            .chain([csv_field(&row.since), csv_field(&row.note)])
            .collect();
        csv.push_str(&fields.join(","));
        csv.push('\n');
    }
    csv
}

/// The parts of a tank's volume, with what each is called, in L.
pub fn volume_parts(volumes: &Volumes) -> [(&'static str, f64); 5] {
    [
        ("open water, where it can flow", volumes.open_l),
        ("water in the pores of rock", volumes.rock_pores_l),
        ("solid rock", volumes.rock_solid_l),
        ("water between grains of sand", volumes.sand_pores_l),
        ("grains of sand", volumes.sand_grains_l),
    ]
}

/// How the water in which a whole tank's flow is computed stands to the tank's
/// open water, both in L.
pub fn water_account(open_l: f64, in_cells_l: f64, units: UnitSystem) -> String {
    let shown = |l: f64| Measure::Volume.rounded_text(l, 1, units);
    let rest_l = open_l - in_cells_l;
    let (cells, open, rest) = (shown(in_cells_l), shown(open_l), shown(rest_l.abs()));
    if rest_l < 0.0 {
        format!(
            "Flow is computed in cells of {cells}: the open water of {open} and {rest} more, as cells are cut at rock and sand."
        )
    } else {
        format!(
            "Flow is computed in cells of {cells}: the open water of {open} less {rest} that corals and gear fill or cells cut off."
        )
    }
}

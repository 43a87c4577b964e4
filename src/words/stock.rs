//! The stock list as text.

use crate::advice::{StockRow, Volumes, csv_field};
use crate::names::Speaker;

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

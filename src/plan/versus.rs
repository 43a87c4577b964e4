//! Two layouts against each other, in tables.

use super::listing::{bare, tenth};
use super::table::{Cell, Table};
use crate::advice::{Comparison, Outcome, Verdict};
use crate::units::Measure;
use crate::words::{Speaker, verdict_adverb};

/// Figures of two layouts, with which is better.
pub(super) fn figures(comparison: &Comparison, speaker: &Speaker<'_>) -> Table {
    let mut table = Table::new(&["figure", "#A", "#B", "unit", "#sure to within", "better"]);
    for row in &comparison.rows {
        let number = |value: f64| match row.measure {
            Measure::Plain => tenth(value),
            measure => bare(measure, value, speaker),
        };
        let value = |value: Option<f64>| value.map_or_else(|| "–".to_owned(), number);
        let unit = match row.measure {
            Measure::Plain => row.unit,
            measure => speaker.unit(measure),
        };
        let better = match row.outcome {
            Outcome::First => "A",
            Outcome::Second => "B",
            Outcome::Tie => "a tie",
            Outcome::Differs => "as you like",
            Outcome::Unknown => "not known",
        };
        table.row([
            row.name.to_owned(),
            value(row.first),
            value(row.second),
            unit.to_owned(),
            number(row.uncertainty),
            better.to_owned(),
        ]);
    }
    table
}

/// What becomes of each coral.
pub(super) fn fates(comparison: &Comparison, speaker: &Speaker<'_>) -> Table {
    let mut table = Table::new(&[
        "key",
        "coral",
        "sits in A",
        "sits in B",
        "why",
        "getting used to the light",
    ]);
    for fate in &comparison.corals {
        let word = |verdict: Option<Verdict>| verdict.map_or("not there", verdict_adverb);
        let is_off = fate.after.is_some_and(|verdict| verdict <= Verdict::Poor);
        let light = fate
            .acclimation
            .as_ref()
            .map(|plan| speaker.acclimation(plan));
        table.row([
            Cell::from(fate.id.to_string()),
            fate.name.clone().into(),
            word(fate.before).into(),
            Cell::marked(word(fate.after), is_off),
            speaker.fate_causes(fate).join(" ").into(),
            light.unwrap_or_default().into(),
        ]);
    }
    table
}

//! How to take readings, with lines to fill in, and those that were taken
//! against the estimates.

use bommie_improve::calibrate::spread_of;
use bommie_improve::protocol;

use super::PlanInput;
use super::listing::titled;
use super::table::{Block, Cell, Table};
use crate::scene::{Quantity, Reading};
use crate::units::{M_PER_CM, Measure};

/// Empty lines of the sheet to fill in.
const LINES: usize = 12;

/// A difference of so many spreads calls for attention; own choice.
const FAR_SPREADS: f64 = 2.0;

/// The section on readings.
pub(super) fn readings(input: &PlanInput<'_>) -> Vec<Block> {
    let (scene, layout) = (input.advice.scene, input.advice.layout);
    let parts = protocol::parts(scene, layout, input.units);
    let mut blocks = Vec::new();
    let table = taken(input);
    if !table.rows.is_empty() {
        blocks.push(Block::Heading("Readings and the estimate".to_owned(), true));
        blocks.push(Block::Table(table));
        blocks.push(Block::Aside(
            "Off: the estimate less the reading, over the reading. Marked where they are more than two spreads of the reading apart; the estimate has an error of its own."
                .to_owned(),
        ));
    }
    if parts.is_empty() {
        return blocks;
    }
    blocks.push(Block::Heading("How to take readings".to_owned(), true));
    for part in parts {
        blocks.push(Block::Heading(part.heading.to_owned(), false));
        for (i, step) in part.steps.iter().enumerate() {
            blocks.push(Block::Text(format!("{}. {step}", i + 1)));
        }
        blocks.push(Block::Aside(format!("What it is worth: {}", part.worth)));
    }
    blocks.push(Block::Heading("To fill in".to_owned(), false));
    blocks.push(Block::Table(to_fill_in(input)));
    blocks
}

/// Lines for a pen.
fn to_fill_in(input: &PlanInput<'_>) -> Table {
    let titles = [
        "what ran",
        "x, y, z {length}",
        "light {light}",
        "way {length}",
        "times, s",
        "note",
    ];
    let mut table = titled(&titles, &input.speaker());
    // Room for a pen: spaces that do not break hold a column open.
    let room = [75, 60, 40, 50, 90, 110].map(|n| "\u{a0}".repeat(n));
    for _line in 0..LINES {
        table.row(room.iter().map(String::as_str));
    }
    table
}

/// What was read, what the estimate has there, and how far it is off.
fn taken(input: &PlanInput<'_>) -> Table {
    let speaker = input.speaker();
    let titles = [
        "reading",
        "x, y, z {length}",
        "what ran",
        "#read",
        "#±",
        "#estimate",
        "#off",
        "when",
    ];
    let mut table = titled(&titles, &speaker);
    for (_, reading) in input.advice.scene.readings_of(input.advice.layout) {
        let (what, measure) = match reading.quantity {
            Quantity::PpfdUp => ("light, facing up", Measure::Ppfd),
            Quantity::PpfdScalar => ("light, all around", Measure::Ppfd),
            Quantity::Speed if reading.drift.is_some() => ("speed, by drift", Measure::Speed),
            Quantity::Speed => ("speed", Measure::Speed),
        };
        let number = |value: f64| measure.rounded(value, 1, input.units);
        let unit = measure.shown(input.units).unit;
        let (computed, spread) = (computed(input, reading), spread_of(reading));
        let off = computed.filter(|_| reading.measured() > 0.0);
        let off = off.map(|computed| computed / reading.measured() - 1.0);
        let is_far = computed
            .is_some_and(|computed| (computed - reading.measured()).abs() > FAR_SPREADS * spread);
        let alone = match (reading.alone, reading.quantity) {
            (Some(id), _) => format!("{} alone", speaker.bare_name(id)),
            (None, Quantity::Speed) => "all pumps".to_owned(),
            (None, _) => "all lamps".to_owned(),
        };
        table.row([
            Cell::from(format!("{what}, {unit}")),
            Cell::from(super::listing::place(reading.at_cm, &speaker)),
            Cell::from(alone),
            Cell::from(number(reading.measured())),
            Cell::from(number(spread)),
            Cell::from(computed.map_or_else(|| "not known".to_owned(), number)),
            Cell::marked(
                off.map_or_else(String::new, |off| format!("{:+.0} %", 100.0 * off)),
                is_far,
            ),
            Cell::from(reading.when.clone().unwrap_or_default()),
        ]);
    }
    table
}

/// What the estimate has where a reading was taken, in the reading's unit; none
/// where it knows nothing, as of one pump alone.
fn computed(input: &PlanInput<'_>, reading: &Reading) -> Option<f64> {
    let at_m = reading.at_cm * M_PER_CM;
    match reading.quantity {
        Quantity::Speed if reading.alone.is_some() => None,
        Quantity::Speed => {
            let sample = input.advice.flow?.sample(at_m)?;
            Some(sample.speed_m_s / M_PER_CM)
        }
        Quantity::PpfdUp | Quantity::PpfdScalar => {
            let solver = input.solver?;
            let lamps = &input.advice.layout.lamps;
            let runs = |lamp: usize| match reading.alone {
                Some(id) => lamps.get(lamp).is_some_and(|lamp| lamp.id == id),
                None => true,
            };
            let of_each = solver.sample_of_each(at_m, None);
            let lit = of_each.iter().zip(solver.outputs_umol_s()).enumerate();
            let lit = lit.filter(|(lamp, _)| runs(*lamp));
            let of_lamp = lit.map(|(_, (one, output))| match reading.quantity {
                Quantity::PpfdScalar => one.scalar_umol * output,
                _ => one.up_umol * output,
            });
            Some(of_lamp.sum())
        }
    }
}

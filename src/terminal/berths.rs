//! `bommie berths`: the best places for a catalog entry.

use std::collections::BTreeMap;
use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::answer::{Solved, StripPart, fit_parts, with_advice};
use super::paper::UnitsArgs;
use super::solve::{Case, SURFACE_M, WaterArgs};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::advice::{self, Berth, BerthFilters};
use crate::catalog::{Catalog, Entry};
use crate::light::LightOptions;
use crate::scene::Support;
use crate::units::{M_PER_CM, Measure};
use crate::words::Speaker;

#[derive(Args, Debug)]
pub(super) struct BerthsArgs {
    /// Scene file
    scene: PathBuf,
    /// Catalog entry, as caulastraea
    #[arg(long)]
    coral: String,
    /// How many places
    #[arg(long, default_value_t = 10)]
    count: usize,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    #[command(flatten)]
    water: WaterArgs,
    /// Judge by light alone
    #[arg(long)]
    no_flow: bool,
    #[command(flatten)]
    units: UnitsArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// The answer of `berths --json`.
#[derive(Debug, Serialize)]
struct Answer {
    file: String,
    layout: String,
    coral: String,
    berths: Vec<BerthPart>,
    /// Places with light and flow for it that were looked at closely.
    looked_at: usize,
    /// How many of them were turned away, by why.
    turned_away: BTreeMap<&'static str, usize>,
}

#[derive(Debug, Serialize)]
struct BerthPart {
    at_cm: [f64; 3],
    /// Distance of the grown body from the nearest pane.
    clear_of_glass_cm: f64,
    /// Height of the grown body's lowest part above the sand; 0 on sand.
    above_sand_cm: f64,
    /// Slope of the seat, from level.
    slope_deg: f64,
    /// Distance from the nearest rim of the front or a side.
    from_rim_cm: f64,
    facing: [f64; 3],
    on: String,
    mount: &'static str,
    place: String,
    verdict: &'static str,
    score: f64,
    strips: Vec<StripPart>,
    notes: Vec<String>,
}

pub(super) fn run(args: &BerthsArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    let entry = find_entry(&args.coral, case.study.catalog())?;
    let flow = if args.no_flow {
        None
    } else {
        Some(case.flow(false, &args.water, streams)?)
    };
    let lit = Some(case.light(&LightOptions::default(), Some(SURFACE_M), streams)?);
    let solved = Solved {
        flow,
        lit,
        notes: Vec::new(),
    };
    let sought = with_advice(&case, &solved, |input| {
        advice::seek_berths(input, entry, args.count, &BerthFilters::default())
    });
    let speaker = case.speaker(args.units.system());
    if args.json {
        let answer = Answer {
            file: case.file.clone(),
            layout: case.layout().name.clone(),
            coral: entry.id.clone(),
            looked_at: sought.looked_at,
            turned_away: sought.turned_away.clone(),
            berths: sought
                .berths
                .iter()
                .map(|berth| berth_part(berth, entry, &speaker))
                .collect(),
        };
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        writeln!(
            streams.out,
            "{}: {} berths in layout {:?}",
            entry.label(),
            sought.berths.len(),
            case.layout().name
        )?;
        for (idx, berth) in sought.berths.iter().enumerate() {
            write_berth(idx, &berth_part(berth, entry, &speaker), &speaker, streams)?;
        }
    }
    if !sought.turned_away.is_empty() && !args.json {
        let counts = sought.turned_away.iter();
        let counts: Vec<String> = counts.map(|(why, n)| format!("{n} {why}")).collect();
        let (n, counts) = (sought.looked_at, counts.join(", ").replace('_', " "));
        writeln!(
            streams.out,
            "of {n} places looked at closely, turned away: {counts}"
        )?;
    }
    if sought.berths.is_empty() {
        writeln!(streams.err, "no place in this layout suits it")?;
    }
    Ok(EXIT_GOOD)
}

/// The catalog's entry of that name, or what comes close.
pub(super) fn find_entry<'a>(
    wanted: &str,
    catalog: &'a Catalog,
) -> Result<&'a Entry, TerminalError> {
    catalog
        .entry(wanted)
        .ok_or_else(|| no_entry(wanted, catalog))
}

fn write_berth(
    idx: usize,
    berth: &BerthPart,
    speaker: &Speaker<'_>,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    writeln!(
        streams.out,
        "{:3}. {}: {} ({}, on {}, {})",
        idx + 1,
        berth.verdict,
        berth.place,
        speaker.at(berth.at_cm.into(), 1),
        berth.on,
        berth.mount.replace('_', " ")
    )?;
    writeln!(
        streams.out,
        "     measures  slope {:.0}°, grown {} clear of glass and {} above the sand, {} from the rim",
        berth.slope_deg,
        speaker.value(Measure::Length, berth.clear_of_glass_cm, 1),
        speaker.value(Measure::Length, berth.above_sand_cm, 1),
        speaker.value(Measure::Length, berth.from_rim_cm, 0)
    )?;
    for strip in &berth.strips {
        writeln!(streams.out, "     {:9} {}", strip.what, strip.text)?;
    }
    for note in &berth.notes {
        writeln!(streams.out, "     - {note}")?;
    }
    Ok(())
}

fn berth_part(berth: &Berth, entry: &Entry, speaker: &Speaker<'_>) -> BerthPart {
    let (verdict, strips) = fit_parts(&berth.fit, entry, speaker);
    BerthPart {
        at_cm: ((berth.at_m / M_PER_CM * 100.0).round() / 100.0).to_array(),
        clear_of_glass_cm: tenths(berth.measures.clear_of_glass_m / M_PER_CM),
        above_sand_cm: tenths(berth.measures.above_sand_m / M_PER_CM),
        slope_deg: tenths(berth.measures.slope_deg),
        from_rim_cm: tenths(berth.measures.from_rim_m / M_PER_CM),
        facing: berth.normal.to_array(),
        on: match berth.on {
            Support::Rock(id) => format!("rock {id}"),
            Support::Sand => "sand".to_owned(),
        },
        mount: berth.mount.tag(),
        place: speaker.seat(berth.on, &berth.place),
        verdict,
        score: berth.fit.score,
        strips,
        notes: berth.notes.clone(),
    }
}

/// Rounded down to a tenth, so that no limit seems to be kept that is not.
fn tenths(value: f64) -> f64 {
    (value * 10.0).floor() / 10.0
}

fn no_entry(wanted: &str, catalog: &Catalog) -> TerminalError {
    let near: Vec<&str> = catalog
        .search(wanted)
        .iter()
        .take(8)
        .map(|entry| entry.id.as_str())
        .collect();
    let known = match near.as_slice() {
        [] => format!(
            "it holds {} entries, as {}",
            catalog.entries().len(),
            catalog
                .entries()
                .iter()
                .take(8)
                .map(|entry| entry.id.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        ),
        near => format!("perhaps {}", near.join(", ")),
    };
    TerminalError::NoEntry {
        wanted: wanted.to_owned(),
        known,
    }
}

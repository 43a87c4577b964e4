//! `bommie berths`: the best places for a catalog entry.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::answer::{Solved, StripPart, fit_parts, with_advice};
use super::solve::{Case, SURFACE_M, WaterArgs};
use super::{EXIT_GOOD, EXIT_PROBLEM, Streams, TerminalError};
use crate::advice::{self, Berth, BerthFilters};
use crate::catalog::{Catalog, Entry};
use crate::light::LightOptions;
use crate::units::M_PER_CM;

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
}

#[derive(Debug, Serialize)]
struct BerthPart {
    at_cm: [f64; 3],
    facing: [f64; 3],
    on: String,
    mount: String,
    place: String,
    verdict: String,
    score: f64,
    strips: Vec<StripPart>,
    notes: Vec<String>,
}

pub(super) fn run(args: &BerthsArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let entry = find_entry(&args.coral)?;
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
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
    let berths = with_advice(&case, &solved, |input| {
        advice::berths(input, entry, args.count, &BerthFilters::default())
    });
    if args.json {
        let answer = Answer {
            file: case.file.clone(),
            layout: case.layout().name.clone(),
            coral: entry.id.clone(),
            berths: berths.iter().map(berth_part).collect(),
        };
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        writeln!(
            streams.out,
            "{}: {} berths in layout {:?}",
            entry.label(),
            berths.len(),
            case.layout().name
        )?;
        for (idx, berth) in berths.iter().enumerate() {
            write_berth(idx, &berth_part(berth), streams)?;
        }
    }
    if berths.is_empty() {
        writeln!(streams.err, "no place in this layout suits it")?;
        return Ok(EXIT_PROBLEM);
    }
    Ok(EXIT_GOOD)
}

/// The catalog's entry of that name, or what comes close.
pub(super) fn find_entry(wanted: &str) -> Result<&'static Entry, TerminalError> {
    let catalog = Catalog::built_in();
    catalog
        .entry(wanted)
        .ok_or_else(|| no_entry(wanted, catalog))
}

fn write_berth(
    idx: usize,
    berth: &BerthPart,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    let [x, y, z] = berth.at_cm;
    writeln!(
        streams.out,
        "{:3}. {}: {} (x {x:.1}, y {y:.1}, z {z:.1} cm, on {}, {})",
        idx + 1,
        berth.verdict,
        berth.place,
        berth.on,
        berth.mount
    )?;
    for strip in &berth.strips {
        writeln!(streams.out, "     {:9} {}", strip.what, strip.text)?;
    }
    for note in &berth.notes {
        writeln!(streams.out, "     - {note}")?;
    }
    Ok(())
}

fn berth_part(berth: &Berth) -> BerthPart {
    let (verdict, strips) = fit_parts(&berth.fit);
    BerthPart {
        at_cm: ((berth.at_m / M_PER_CM * 100.0).round() / 100.0).to_array(),
        facing: berth.normal.to_array(),
        on: match berth.on {
            crate::scene::Support::Rock(id) => format!("rock {id}"),
            crate::scene::Support::Sand => "sand".to_owned(),
        },
        mount: format!("{:?}", berth.mount).to_lowercase(),
        place: berth.place.clone(),
        verdict,
        score: berth.fit.score,
        strips,
        notes: berth.notes.clone(),
    }
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

//! `bommie compare`: two layouts of a scene side by side.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::answer::{Solved, with_advice};
use super::paper::{FileKind, PaperArgs};
use super::solve::{Case, SURFACE_M, WaterArgs};
use super::unsigned::unsigned;
use super::{EXIT_GOOD, Streams, TerminalError, paper, tables};
use crate::advice::{self, Comparison, CoralFate, FigureRow, Move, Outcome, Verdict};
use crate::light::LightOptions;
use crate::units::Measure;
use crate::words::Speaker;

#[derive(Args, Debug)]
pub(super) struct CompareArgs {
    /// Scene file
    scene: PathBuf,
    /// Layout to start from
    layout_a: String,
    /// Layout to compare with it
    layout_b: String,
    #[command(flatten)]
    water: WaterArgs,
    /// Leave the flow out
    #[arg(long)]
    no_flow: bool,
    /// Leave the light out
    #[arg(long)]
    no_light: bool,
    /// Also write the comparison as FILE.pdf or FILE.html, or with its tables
    /// into a folder
    #[arg(long)]
    out: Option<PathBuf>,
    #[command(flatten)]
    paper: PaperArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// The answer of `compare --json`.
#[derive(Debug, Serialize)]
struct Answer {
    file: String,
    first: String,
    second: String,
    figures: Vec<RowPart>,
    corals: Vec<FatePart>,
    moves: Vec<MovePart>,
}

#[derive(Debug, Serialize)]
struct RowPart {
    name: &'static str,
    unit: &'static str,
    first: Option<f64>,
    second: Option<f64>,
    uncertainty: f64,
    /// `first`, `second`, `tie`, `differs` or `unknown`.
    better: &'static str,
}

#[derive(Debug, Serialize)]
struct FatePart {
    id: u32,
    name: String,
    before: Option<&'static str>,
    after: Option<&'static str>,
    causes: Vec<String>,
}

#[derive(Debug, Serialize)]
struct MovePart {
    kind: &'static str,
    items: Vec<u32>,
    text: String,
    dry_kg: Option<f64>,
    wet_kg: Option<f64>,
}

/// Files of a comparison that are always there.
const FIRST_FILES: [&str; 2] = ["comparison.pdf", "comparison.html"];

pub(super) fn run(args: &CompareArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let first = Case::open(&args.scene, Some(&args.layout_a), streams)?;
    let second = first.on_layout(&args.layout_b)?;
    if let Some(path) = &args.out {
        paper::check_out(&streams.guard, path, &FIRST_FILES)?;
    }
    let solved = [
        solve(&first, args, streams)?,
        solve(&second, args, streams)?,
    ];
    let comparison = with_advice(&first, &solved[0], |one| {
        with_advice(&second, &solved[1], |other| advice::compare(one, other))
    });
    let moves = advice::moves(&first.study, &second.study);
    let moves = advice::with_light_steps(moves, &comparison.corals);
    let speaker = second
        .speaker(args.paper.units.system())
        .knowing(first.layout());
    let answer = Answer {
        file: first.file.clone(),
        first: args.layout_a.clone(),
        second: args.layout_b.clone(),
        figures: comparison.rows.iter().map(row_part).collect(),
        corals: comparison
            .corals
            .iter()
            .map(|fate| fate_part(fate, &speaker))
            .collect(),
        moves: moves.iter().map(|step| move_part(step, &speaker)).collect(),
    };
    if let Some(path) = &args.out {
        let document = paper::comparison([&first, &second], [&solved[0], &solved[1]], args.paper);
        if let Some(kind) = paper::kind_of(path) {
            let bytes = paper::bytes(kind, &document)?;
            streams.guard.write(path, &bytes)?;
        } else {
            let [pdf, html] = FIRST_FILES.map(str::to_owned);
            let mut files = vec![
                (pdf, paper::bytes(FileKind::Pdf, &document)?),
                (html, paper::bytes(FileKind::Html, &document)?),
            ];
            for (name, table) in tables::of_comparison(&comparison, &moves, &speaker) {
                files.push((name.to_owned(), unsigned(&table).into_bytes()));
            }
            paper::write_all(&streams.guard, path, &files)?;
        }
        writeln!(streams.err, "written to {}", path.display())?;
    }
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        write_text(&answer, &comparison, &speaker, streams)?;
    }
    Ok(EXIT_GOOD)
}

fn solve(
    case: &Case,
    args: &CompareArgs,
    streams: &mut Streams<'_>,
) -> Result<Solved, TerminalError> {
    let flow = if args.no_flow {
        None
    } else {
        Some(case.flow(false, &args.water, streams)?)
    };
    let lit = if args.no_light {
        None
    } else {
        Some(case.light(&LightOptions::default(), Some(SURFACE_M), streams)?)
    };
    Ok(Solved {
        flow,
        lit,
        notes: Vec::new(),
    })
}

fn write_text(
    answer: &Answer,
    comparison: &Comparison,
    speaker: &Speaker<'_>,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    writeln!(streams.out, "A: {}\nB: {}\n", answer.first, answer.second)?;
    writeln!(streams.out, "{:32} {:>10} {:>10}  better", "", "A", "B")?;
    for row in &comparison.rows {
        let value = |value: Option<f64>| {
            value.map_or_else(|| "-".to_owned(), |v| speaker.number(row.measure, v, 1))
        };
        let unit = match row.measure {
            Measure::Plain => row.unit,
            measure => speaker.unit(measure),
        };
        let better = match row.outcome {
            Outcome::First => "A",
            Outcome::Second => "B",
            Outcome::Tie => "no difference that counts",
            Outcome::Differs => "depends on what is wanted",
            Outcome::Unknown => "not known",
        };
        let name = format!("{} {unit}", row.name);
        writeln!(
            streams.out,
            "{name:32} {:>10} {:>10}  {better}",
            value(row.first),
            value(row.second)
        )?;
    }
    writeln!(streams.out, "\nCorals, from A to B")?;
    for coral in &answer.corals {
        let verdict = |verdict: Option<&'static str>| verdict.unwrap_or("not there");
        writeln!(
            streams.out,
            "{:4} {}: {} -> {}",
            coral.id,
            coral.name,
            verdict(coral.before),
            verdict(coral.after)
        )?;
        for cause in &coral.causes {
            writeln!(streams.out, "       {cause}")?;
        }
    }
    writeln!(streams.out, "\nSteps from A to B: {}", answer.moves.len())?;
    for (idx, step) in answer.moves.iter().enumerate() {
        writeln!(streams.out, "{:3}. {}", idx + 1, step.text)?;
    }
    Ok(())
}

fn row_part(row: &FigureRow) -> RowPart {
    RowPart {
        name: row.name,
        unit: row.unit,
        first: row.first,
        second: row.second,
        uncertainty: row.uncertainty,
        better: row.outcome.tag(),
    }
}

fn fate_part(fate: &CoralFate, speaker: &Speaker<'_>) -> FatePart {
    FatePart {
        id: fate.id,
        name: fate.name.clone(),
        before: fate.before.map(Verdict::tag),
        after: fate.after.map(Verdict::tag),
        causes: speaker.fate_causes(fate),
    }
}

fn move_part(step: &Move, speaker: &Speaker<'_>) -> MovePart {
    MovePart {
        kind: step.kind.tag(),
        items: step.items.clone(),
        text: speaker.step(step),
        dry_kg: step.dry_kg,
        wet_kg: step.wet_kg,
    }
}

//! `bommie report`: flow, light, findings and figures of a layout.

use std::path::{Path, PathBuf};

use clap::Args;

use super::answer::{Answer, Solved};
use super::kept::KeepArgs;
use super::paper::{FileKind, NamedFile, PaperArgs, Wishes};
use super::report_words::text;
use super::solve::{Case, SURFACE_M, WaterArgs};
use super::unsigned::unsigned;
use super::{
    EXIT_GOOD, EXIT_INPUT, EXIT_INTERNAL, Streams, TerminalError, paper, pictures, tables,
};
use crate::catalog::Entry;
use crate::light::LightOptions;
use crate::units::UnitSystem;

#[derive(Args, Debug)]
pub(super) struct ReportArgs {
    /// Scene file
    scene: PathBuf,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    #[command(flatten)]
    water: WaterArgs,
    #[command(flatten)]
    keep: KeepArgs,
    /// Also write the plan as FILE.pdf or FILE.html, or report, plan, tables
    /// and pictures into a folder
    #[arg(long)]
    out: Option<PathBuf>,
    /// Put the steps to this layout into the plan
    #[arg(long, value_name = "LAYOUT")]
    moves_to: Option<String>,
    /// Put the best places for this catalog entry into the plan; may be given
    /// several times
    #[arg(long, value_name = "ENTRY")]
    berths: Vec<String>,
    #[command(flatten)]
    paper: PaperArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
    /// Leave the flow out
    #[arg(long)]
    no_flow: bool,
    /// Leave the light out
    #[arg(long)]
    no_light: bool,
}

/// Files of a report that are always there.
const FIRST_FILES: [&str; 4] = ["report.txt", "report.json", "plan.pdf", "plan.html"];

pub(super) fn run(args: &ReportArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let case = Case::open_in_part(&args.scene, args.layout.as_deref(), streams)?;
    // Faults of the command line before minutes of work.
    let _entries = entries(args, &case)?;
    if let Some(name) = &args.moves_to {
        let _target = case.on_layout(name)?;
    }
    if let Some(path) = &args.out {
        paper::check_out(&streams.guard, path, &FIRST_FILES)?;
    }
    let parts = (!args.no_flow, !args.no_light);
    let (solved, code) = solve(&case, parts, (&args.water, &args.keep), streams)?;
    let units = args.paper.units.system();
    let answer = Answer::of(&case, &solved, units);
    if let Some(path) = &args.out {
        write_out(path, args, (&case, &solved, &answer), streams)?;
        writeln!(streams.err, "written to {}", path.display())?;
    }
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        write!(streams.out, "{}", text(&answer, units))?;
    }
    Ok(code)
}

/// The report of a case on `out`, as `bommie report` gives it.
pub(super) fn print(case: &Case, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let water = (&WaterArgs::default(), &KeepArgs::default());
    let (solved, code) = solve(case, (true, true), water, streams)?;
    let units = UnitSystem::Metric;
    let answer = Answer::of(case, &solved, units);
    write!(streams.out, "{}", text(&answer, units))?;
    Ok(code)
}

/// Solves what is wanted of flow and light. A flow that cannot be had leaves
/// the rest of the report standing, with a note and another exit code.
fn solve(
    case: &Case,
    (with_flow, with_light): (bool, bool),
    water: (&WaterArgs, &KeepArgs),
    streams: &mut Streams<'_>,
) -> Result<(Solved, u8), TerminalError> {
    let mut solved = Solved {
        flow: None,
        lit: None,
        notes: Vec::new(),
    };
    let mut code = EXIT_GOOD;
    if with_flow {
        match case.flow_kept(false, water, streams) {
            Ok(field) => solved.flow = Some(field),
            Err(error) => {
                solved
                    .notes
                    .push(format!("no flow in this report: {error}"));
                code = EXIT_INTERNAL;
            }
        }
    }
    if with_light && let Err(error) = case.all_lamps() {
        solved
            .notes
            .push(format!("no light in this report: {error}"));
        code = EXIT_INPUT;
    } else if with_light {
        solved.lit = Some(case.light(&LightOptions::default(), Some(SURFACE_M), streams)?);
    }
    Ok((solved, code))
}

/// The catalog entries whose berths are asked for.
fn entries<'a>(args: &ReportArgs, case: &'a Case) -> Result<Vec<&'a Entry>, TerminalError> {
    let entry = |id: &String| super::berths::find_entry(id, case.study.catalog());
    args.berths.iter().map(entry).collect()
}

/// Writes the plan as one file, or everything into a folder.
fn write_out(
    path: &Path,
    args: &ReportArgs,
    (case, solved, answer): (&Case, &Solved, &Answer),
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    // Corals are brought from the light here to the light there.
    let target = match &args.moves_to {
        Some(name) => {
            let other = case.on_layout(name)?;
            let (lit, _) = solve(
                &other,
                (false, !args.no_light),
                (&args.water, &args.keep),
                streams,
            )?;
            Some((other, lit))
        }
        None => None,
    };
    let wishes = Wishes {
        moves_to: target.as_ref().map(|(case, solved)| (case, solved)),
        entries: entries(args, case)?,
        paper: args.paper,
    };
    let document = paper::plan(case, solved, &wishes);
    if let Some(kind) = paper::kind_of(path) {
        return Ok(streams.guard.write(path, &paper::bytes(kind, &document)?)?);
    }
    let mut files = vec![
        (
            "plan.pdf".to_owned(),
            paper::bytes(FileKind::Pdf, &document)?,
        ),
        (
            "plan.html".to_owned(),
            paper::bytes(FileKind::Html, &document)?,
        ),
    ];
    files.extend(paper::views(case, solved));
    files.extend(folder_files(case, solved, answer, args)?);
    paper::write_all(&streams.guard, path, &files)
}

/// The report, its tables and pictures as files of a folder.
fn folder_files(
    case: &Case,
    solved: &Solved,
    answer: &Answer,
    args: &ReportArgs,
) -> Result<Vec<NamedFile>, TerminalError> {
    let mut json = serde_json::to_string_pretty(answer)?;
    json.push('\n');
    let mut texts = vec![
        (
            "report.txt".to_owned(),
            text(answer, args.paper.units.system()),
        ),
        ("report.json".to_owned(), json),
    ];
    for (name, table) in tables::of_report(case, solved, answer) {
        texts.push((name.to_owned(), table));
    }
    let files = texts.into_iter();
    let mut files: Vec<NamedFile> = files
        .map(|(name, text)| (name, unsigned(&text).into_bytes()))
        .collect();
    for (name, png) in pictures::all(case, solved)? {
        files.push((name.to_owned(), png));
    }
    Ok(files)
}

//! `bommie report`: flow, light, findings and figures of a layout.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;

use super::answer::{Answer, FlowPart, LightPart, Solved, TankPart};
use super::paper::{FileKind, NamedFile, PaperArgs, Wishes};
use super::solve::{Case, SURFACE_M, WaterArgs};
use super::unsigned::unsigned;
use super::{EXIT_GOOD, EXIT_INTERNAL, Streams, TerminalError, paper, pictures, tables};
use crate::catalog::Entry;
use crate::light::LightOptions;

#[derive(Args, Debug)]
pub(super) struct ReportArgs {
    /// Scene file
    scene: PathBuf,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    #[command(flatten)]
    water: WaterArgs,
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
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    // Faults of the command line before minutes of work.
    let _entries = entries(args, &case)?;
    if let Some(name) = &args.moves_to {
        let _target = case.on_layout(name)?;
    }
    if let Some(path) = &args.out {
        paper::check_out(&streams.guard, path, &FIRST_FILES)?;
    }
    let (solved, code) = solve(&case, (!args.no_flow, !args.no_light), &args.water, streams)?;
    let answer = Answer::of(&case, &solved);
    if let Some(path) = &args.out {
        write_out(path, args, (&case, &solved, &answer), streams)?;
        writeln!(streams.err, "written to {}", path.display())?;
    }
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        write!(streams.out, "{}", text(&answer))?;
    }
    Ok(code)
}

/// The report of a case on `out`, as `bommie report` gives it.
pub(super) fn print(case: &Case, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let (solved, code) = solve(case, (true, true), &WaterArgs::default(), streams)?;
    write!(streams.out, "{}", text(&Answer::of(case, &solved)))?;
    Ok(code)
}

/// Solves what is wanted of flow and light. A flow that cannot be had leaves
/// the rest of the report standing, with a note and another exit code.
fn solve(
    case: &Case,
    (with_flow, with_light): (bool, bool),
    water: &WaterArgs,
    streams: &mut Streams<'_>,
) -> Result<(Solved, u8), TerminalError> {
    let mut solved = Solved {
        flow: None,
        lit: None,
        notes: Vec::new(),
    };
    let mut code = EXIT_GOOD;
    if with_flow {
        match case.flow(false, water, streams) {
            Ok(field) => solved.flow = Some(field),
            Err(error) => {
                solved
                    .notes
                    .push(format!("no flow in this report: {error}"));
                code = EXIT_INTERNAL;
            }
        }
    }
    if with_light {
        solved.lit = Some(case.light(&LightOptions::default(), Some(SURFACE_M), streams)?);
    }
    Ok((solved, code))
}

/// The report in words.
fn text(answer: &Answer) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _written = write_text(&mut text, answer);
    text
}

fn write_text(to: &mut String, answer: &Answer) -> std::fmt::Result {
    writeln!(to, "{}, layout {:?}", answer.scene, answer.layout)?;
    write_tank(to, &answer.tank)?;
    for note in &answer.notes {
        writeln!(to, "note: {note}")?;
    }
    if let Some(flow) = &answer.flow {
        write_flow(to, flow)?;
    }
    if let Some(light) = &answer.light {
        write_light(to, light)?;
    }
    writeln!(to, "\nFindings, worst first: {}", answer.findings.len())?;
    for (idx, finding) in answer.findings.iter().enumerate() {
        writeln!(
            to,
            "{:3}. {} ({}): {}",
            idx + 1,
            finding.severity,
            finding.certainty,
            finding.text
        )?;
        let [x, y, z] = finding.at_cm;
        writeln!(to, "     around x {x:.0}, y {y:.0}, z {z:.0} cm")?;
        for remedy in &finding.remedies {
            writeln!(to, "     - {remedy}")?;
        }
    }
    if !answer.corals.is_empty() {
        writeln!(to, "\nCorals")?;
    }
    for coral in &answer.corals {
        let name = if coral.name.is_empty() {
            &coral.entry
        } else {
            &coral.name
        };
        let dose = coral
            .dli_mol
            .map_or_else(String::new, |dli| format!(", {dli:.1} mol/m²/d"));
        writeln!(to, "{:4} {name}: {}{dose}", coral.id, coral.verdict)?;
        for strip in &coral.strips {
            writeln!(to, "       {:9} {}", strip.what, strip.text)?;
        }
    }
    write_rocks(to, answer)?;
    writeln!(to, "\nCautions")?;
    for caution in &answer.cautions {
        writeln!(to, "- {caution}")?;
    }
    Ok(())
}

/// How the rocks stand, and the distances that will not do.
fn write_rocks(to: &mut String, answer: &Answer) -> std::fmt::Result {
    if answer.standing.is_empty() {
        return Ok(());
    }
    writeln!(
        to,
        "\nStanding, unsafe first (a rough estimate: it proves nothing safe)"
    )?;
    for body in &answer.standing {
        let why = match body.reason {
            "" => String::new(),
            reason => format!(": {reason}"),
        };
        let margin = body
            .margin_cm
            .map_or_else(String::new, |cm| format!(", margin {cm:.1} cm"));
        writeln!(
            to,
            "- {}: {}{why}{margin}",
            body.name,
            body.verdict.replace('_', " ")
        )?;
    }
    let short: Vec<_> = answer.distances.iter().filter(|d| !d.good).collect();
    if !short.is_empty() {
        writeln!(to, "\nDistances that will not do (common practice)")?;
    }
    for distance in short {
        let items: Vec<String> = distance.items.iter().map(ToString::to_string).collect();
        let (what, ids) = (distance.between.replace('_', " "), items.join(", "));
        let (is, wanted) = (distance.distance_cm, distance.wanted_cm);
        writeln!(
            to,
            "- {what}, item {ids}: {is:.1} cm, {wanted:.0} cm wanted"
        )?;
    }
    Ok(())
}

fn write_tank(to: &mut String, tank: &TankPart) -> std::fmt::Result {
    writeln!(
        to,
        "Tank {} x {} x {} cm, water {} cm: {:.0} L, {:.0} L net of rock and sand",
        tank.length_cm, tank.width_cm, tank.height_cm, tank.water_cm, tank.gross_l, tank.net_l
    )?;
    writeln!(
        to,
        "Rock {:.0} kg dry, sand {:.0} kg; with water {:.0} kg, {:.0} kg/m² on its footprint, without glass and stand",
        tank.rock_kg, tank.sand_kg, tank.total_kg, tank.load_kg_m2
    )?;
    writeln!(
        to,
        "Pumps turn the water over {:.0} times an hour, the return {:.1} times; usual for {} are {:.0} to {:.0} (common practice), which says little about speed",
        tank.turnover_per_h,
        tank.return_per_h,
        tank.tank_kind_words,
        tank.usual_turnover_per_h[0],
        tank.usual_turnover_per_h[1]
    )?;
    let unknown = match tank.unknown_power {
        0 => String::new(),
        n => format!(" (without {n} whose power is not given)"),
    };
    writeln!(
        to,
        "Power: pumps {:.0} W, lamps {:.0} W, {:.1} kWh a day{unknown}",
        tank.pump_w, tank.lamp_w, tank.kwh_per_day
    )
}

fn write_flow(to: &mut String, flow: &FlowPart) -> std::fmt::Result {
    let what = match flow.estimate {
        "tank" => "tank estimate",
        _ => "slice estimate, which overstates reach",
    };
    let Some(run) = &flow.run else {
        return Ok(());
    };
    let settled = if run.settled {
        "settled"
    } else {
        "not settled: read it as a rough picture"
    };
    writeln!(
        to,
        "\nWater ({what}, {:.1} cm cells, averaged over {:.0} s, {settled})",
        run.cell_cm, run.averaged_s
    )?;
    if let Some(may_flip_l) = run.may_flip_l {
        writeln!(
            to,
            "  {} runs              go different ways in {may_flip_l:.1} L",
            run.runs
        )?;
    }
    writeln!(
        to,
        "  mean speed           {:.1} ± {:.1} cm/s",
        flow.mean_speed_cm_s, flow.mean_speed_half_width_cm_s
    )?;
    writeln!(
        to,
        "  slowest tenth below  {:.1} cm/s",
        flow.slowest_tenth_cm_s
    )?;
    writeln!(
        to,
        "  slower than {} cm/s   {:.1} L of {:.0} L ({:.1} ± {:.1} %)",
        flow.dead_limit_cm_s,
        flow.dead_l,
        flow.water_l,
        flow.dead_share * 100.0,
        flow.dead_share_half_width * 100.0
    )?;
    if let (Some(bed), Some(detritus), Some(risk)) =
        (flow.bed_m2, flow.detritus_m2, flow.sand_at_risk_m2)
    {
        writeln!(
            to,
            "  open bed             {bed:.2} m²; waste stays on {detritus:.2} m², sand may move on {risk:.2} m²"
        )?;
    }
    Ok(())
}

fn write_light(to: &mut String, light: &LightPart) -> std::fmt::Result {
    let what = if light.full {
        "with mirrors and bounces"
    } else {
        "from the lamps alone"
    };
    writeln!(
        to,
        "\nLight ({what}), PPFD in µmol/m²/s on each surface's own facing"
    )?;
    for lamp in &light.lamps {
        writeln!(
            to,
            "  lamp {:14} {:.0} µmol/s, {} h a day",
            lamp.name, lamp.umol_s, lamp.hours
        )?;
    }
    writeln!(
        to,
        "  surface              a tenth below  half below  a tenth above    shaded"
    )?;
    for surface in &light.surfaces {
        writeln!(
            to,
            "  {:20} {:13.0} {:11.0} {:14.0}   {:.0} of {:.0} cm²",
            surface.on,
            surface.ppfd_low_umol,
            surface.ppfd_median_umol,
            surface.ppfd_high_umol,
            surface.shaded_m2 * 1e4,
            surface.area_m2 * 1e4
        )?;
    }
    Ok(())
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
            let (lit, _) = solve(&other, (false, !args.no_light), &args.water, streams)?;
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
    files.extend(folder_files(case, solved, answer)?);
    paper::write_all(&streams.guard, path, &files)
}

/// The report, its tables and pictures as files of a folder.
fn folder_files(
    case: &Case,
    solved: &Solved,
    answer: &Answer,
) -> Result<Vec<NamedFile>, TerminalError> {
    let mut json = serde_json::to_string_pretty(answer)?;
    json.push('\n');
    let mut texts = vec![
        ("report.txt".to_owned(), text(answer)),
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

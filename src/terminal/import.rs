//! `bommie import`: a scanned rock into a scene.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use glam::DVec2;
use serde::Serialize;

use super::paper::UnitsArgs;
use super::solve::Case;
use super::{EXIT_GOOD, Streams, TerminalError, shown};
use crate::scan::{self, Mesh, Report, Unit, Up, Wishes};
use crate::scene::{IssueSeverity, Scene, check};
use crate::storage::read_bytes;
use crate::words::{scan_figures, scan_guesses};

#[derive(Args, Debug)]
pub(super) struct ImportArgs {
    /// The mesh: OBJ, STL, PLY or GLB
    mesh: PathBuf,
    /// Scene file that it comes into
    #[arg(long)]
    scene: PathBuf,
    /// Scene file to write
    #[arg(long, value_name = "SCENE")]
    out: PathBuf,
    /// Layout that it comes into; the first if left out
    #[arg(long)]
    layout: Option<String>,
    /// Unit of the mesh; guessed from its extent if left out
    #[arg(long, value_enum)]
    unit: Option<UnitName>,
    /// Which axis of the mesh points up; guessed if left out
    #[arg(long, value_enum, allow_hyphen_values = true)]
    up: Option<UpName>,
    /// Where its middle stands, as X,Y in cm; a free place if left out
    #[arg(long, value_name = "X,Y", value_parser = place, allow_hyphen_values = true)]
    at: Option<DVec2>,
    /// What to call it; the mesh's file name if left out
    #[arg(long)]
    name: Option<String>,
    #[command(flatten)]
    units: UnitsArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum UnitName {
    Mm,
    Cm,
    M,
    In,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum UpName {
    X,
    Y,
    Z,
    #[value(name = "-x")]
    MinusX,
    #[value(name = "-y")]
    MinusY,
    #[value(name = "-z")]
    MinusZ,
}

/// The answer of `import --json`.
#[derive(Debug, Serialize)]
struct Answer {
    answer_format: u32,
    file: String,
    scene: String,
    out: String,
    layout: String,
    rock: u32,
    name: String,
    at_cm: [f64; 3],
    format: &'static str,
    triangles: usize,
    unit: &'static str,
    unit_guessed: bool,
    up: &'static str,
    up_guessed: bool,
    flat_foot: bool,
    size_cm: [f64; 3],
    volume_l: f64,
    volume_error: f64,
    closed: bool,
    open_edges: f64,
    step_cm: f64,
    nodes: usize,
    pieces: usize,
    crumbs: usize,
}

pub(super) fn run(args: &ImportArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    streams.guard.keep(&args.mesh);
    streams.guard.check(&args.out)?;
    let mut scene = Scene::clone(case.study.scene());
    let layout_idx = case.study.layout_idx();
    let bytes = read_bytes(&args.mesh, scan::BYTES_MAX)?;
    let refused = |source| TerminalError::Scan {
        file: shown(&args.mesh),
        source,
    };
    let mesh = Mesh::read(&shown(&args.mesh), &bytes).map_err(refused)?;
    drop(bytes);
    let imported = scan::import(&mesh, args.wishes(), &|_| true).map_err(refused)?;
    let layout = &mut scene.layouts[layout_idx];
    let mut rock = scan::rock(imported.scan, (&scene.tank, layout), args.at);
    rock.name = args.name.clone().unwrap_or_else(|| {
        let stem = args.mesh.file_stem().unwrap_or_default();
        stem.to_string_lossy().chars().take(60).collect()
    });
    let answer = answer(args, (&layout.name, &rock), &imported.report);
    layout.rocks.push(rock);
    for issue in check(&scene) {
        match issue.severity {
            IssueSeverity::Error => return Err(TerminalError::Unsound(issue.to_string())),
            IssueSeverity::Warning => writeln!(streams.err, "warning: {issue}")?,
        }
    }
    case.write_scene(&args.out, &scene, streams)?;
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
        return Ok(EXIT_GOOD);
    }
    let [x, y, z] = answer.at_cm;
    writeln!(
        streams.out,
        "{:?} is rock {} of {:?}, at ({x}, {y}, {z}) cm.",
        answer.name, answer.rock, answer.layout
    )?;
    let figures = scan_figures(&imported.report, args.units.system());
    for line in figures.into_iter().chain(scan_guesses(&imported.report)) {
        writeln!(streams.out, "  {line}")?;
    }
    if answer.unit_guessed || answer.up_guessed {
        writeln!(streams.out, "If a guess is wrong, say --unit and --up.")?;
    }
    Ok(EXIT_GOOD)
}

/// Two numbers with a comma between them.
fn place(text: &str) -> Result<DVec2, String> {
    let numbers: Option<Vec<f64>> = text
        .split(',')
        .map(|part| part.trim().parse().ok())
        .collect();
    match numbers.as_deref() {
        Some([x, y]) if x.is_finite() && y.is_finite() => Ok(DVec2::new(*x, *y)),
        _ => Err("give two numbers in cm, as 40,25".to_owned()),
    }
}

impl ImportArgs {
    fn wishes(&self) -> Wishes {
        Wishes {
            unit: self.unit.map(|unit| match unit {
                UnitName::Mm => Unit::Mm,
                UnitName::Cm => Unit::Cm,
                UnitName::M => Unit::M,
                UnitName::In => Unit::In,
            }),
            up: self.up.map(|up| match up {
                UpName::X => Up::X,
                UpName::Y => Up::Y,
                UpName::Z => Up::Z,
                UpName::MinusX => Up::MinusX,
                UpName::MinusY => Up::MinusY,
                UpName::MinusZ => Up::MinusZ,
            }),
        }
    }
}

fn answer(
    args: &ImportArgs,
    (layout, rock): (&str, &crate::scene::Rock),
    report: &Report,
) -> Answer {
    Answer {
        answer_format: 1,
        file: shown(&args.mesh),
        scene: shown(&args.scene),
        out: shown(&args.out),
        layout: layout.to_owned(),
        rock: rock.id,
        name: rock.name.clone(),
        at_cm: rock.at_cm.to_array(),
        format: report.format.name(),
        triangles: report.triangles,
        unit: report.unit.symbol(),
        unit_guessed: report.unit_is_guessed,
        up: report.up.name(),
        up_guessed: report.up_is_guessed,
        flat_foot: report.foot_is_flat,
        size_cm: report.size_cm.to_array(),
        volume_l: report.volume_l,
        volume_error: report.volume_error,
        closed: report.open_edges == 0.0,
        open_edges: report.open_edges,
        step_cm: report.step_cm,
        nodes: report.nodes,
        pieces: report.pieces,
        crumbs: report.crumbs,
    }
}

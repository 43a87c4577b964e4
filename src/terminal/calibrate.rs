//! `bommie calibrate`: what the readings say of lamps, water, panes and pumps.

use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;
use serde::Serialize;

use super::paper::UnitsArgs;
use super::solve::Case;
use super::{EXIT_GOOD, Streams, TerminalError, shown};
use crate::improve::calibrate::{Calibration, Error, Found, Sought, Target, calibrate, take_back};
use crate::improve::{protocol, readings_from_csv};
use crate::scene::{Quantity, Reading, Scene};
use crate::storage::read_text;

#[derive(Args, Debug)]
pub(super) struct CalibrateArgs {
    /// Scene file, with readings
    scene: PathBuf,
    /// Layout that stood when they were taken; the first if left out
    #[arg(long)]
    layout: Option<String>,
    /// A table of further readings (CSV); they go into the scene that is written
    #[arg(long, value_name = "FILE.csv")]
    readings: Option<PathBuf>,
    /// Write the scene with what was found beside what is stated
    #[arg(long, value_name = "SCENE")]
    out: Option<PathBuf>,
    /// Write it with everything taken back that readings gave
    #[arg(long, requires = "out", conflicts_with = "readings")]
    take_back: bool,
    /// Only say how to take readings
    #[arg(long)]
    protocol: bool,
    #[command(flatten)]
    units: UnitsArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// The answer of `calibrate --json`.
#[derive(Debug, Serialize)]
struct Answer {
    answer_format: u32,
    file: String,
    layout: String,
    out: Option<String>,
    values: Vec<ValuePart>,
    kept: Vec<KeptPart>,
    leave_one_out: ErrorsPart,
    readings: Vec<ReadingPart>,
    unused: Vec<UnusedPart>,
}

#[derive(Debug, Serialize)]
struct ValuePart {
    what: &'static str,
    id: Option<u32>,
    name: String,
    unit: &'static str,
    before: f64,
    after: f64,
    low: f64,
    high: f64,
    share: Option<f64>,
    tied_to: Option<u32>,
    readings: usize,
    leave_one_out_before: f64,
    leave_one_out_after: f64,
}

#[derive(Debug, Serialize)]
struct KeptPart {
    what: &'static str,
    id: Option<u32>,
    name: String,
    why: &'static str,
}

#[derive(Debug, Serialize)]
struct ErrorsPart {
    light: Option<ErrorPart>,
    speed: Option<ErrorPart>,
}

#[derive(Debug, Serialize)]
struct ErrorPart {
    before: f64,
    after: f64,
}

#[derive(Debug, Serialize)]
struct ReadingPart {
    index: usize,
    quantity: String,
    at_cm: [f64; 3],
    measured: f64,
    spread: f64,
    before: f64,
    after: f64,
    left_out: f64,
}

#[derive(Debug, Serialize)]
struct UnusedPart {
    index: usize,
    why: &'static str,
}

pub(super) fn run(args: &CalibrateArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let mut case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    if let Some(out) = &args.out {
        streams.guard.check(out)?;
    }
    if args.protocol {
        write!(
            streams.out,
            "{}",
            protocol::text(case.study.scene(), case.layout(), args.units.system())
        )?;
        return Ok(EXIT_GOOD);
    }
    if let (true, Some(out)) = (args.take_back, &args.out) {
        let mut scene = Scene::clone(case.study.scene());
        take_back(&mut scene);
        case.write_scene(out, &scene, streams)?;
        return Ok(EXIT_GOOD);
    }
    if let Some(path) = &args.readings {
        streams.guard.keep(path);
        let text = read_text(path)?;
        let found = readings_from_csv(&text, case.study.scene(), case.layout());
        let found = found.map_err(|source| TerminalError::Readings {
            file: shown(path),
            source,
        })?;
        let mut scene = Scene::clone(case.study.scene());
        scene.readings.extend(found);
        refuse_faults(&scene)?;
        case.study = case
            .study
            .after(Arc::new(scene), case.study.layout_idx())
            .map_err(|error| TerminalError::Unsound(error.to_string()))?;
    }
    let calibration = calibrate(&case.study, &case.measured)?;
    if let Some(out) = &args.out {
        let mut scene = Scene::clone(case.study.scene());
        calibration.apply(&mut scene, &case.layout().name);
        case.write_scene(out, &scene, streams)?;
    }
    let answer = answer(&case, &calibration, args);
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        write_text(&answer, streams)?;
    }
    if calibration.found.is_empty() {
        writeln!(
            streams.err,
            "the readings fix no value; `bommie calibrate SCENE --protocol` says how to take some"
        )?;
        return Ok(EXIT_GOOD);
    }
    Ok(EXIT_GOOD)
}

/// Readings of a table must be as sound as those of a scene.
fn refuse_faults(scene: &Scene) -> Result<(), TerminalError> {
    use crate::scene::{IssueSeverity, check};
    let issues = check(scene);
    match issues
        .iter()
        .find(|issue| issue.severity == IssueSeverity::Error)
    {
        Some(issue) => Err(TerminalError::Unsound(issue.to_string())),
        None => Ok(()),
    }
}

fn answer(case: &Case, calibration: &Calibration, args: &CalibrateArgs) -> Answer {
    let reading = |index: usize| &case.study.scene().readings[index];
    Answer {
        answer_format: 1,
        file: case.file.clone(),
        layout: case.layout().name.clone(),
        out: args.out.as_ref().map(|path| shown(path)),
        values: calibration.found.iter().map(value_part).collect(),
        kept: calibration
            .kept
            .iter()
            .map(|kept| KeptPart {
                what: what_word(kept.target.what),
                id: kept.target.id,
                name: kept.target.name.clone(),
                why: kept.why,
            })
            .collect(),
        leave_one_out: ErrorsPart {
            light: calibration.light.map(error_part),
            speed: calibration.speed.map(error_part),
        },
        readings: calibration
            .residuals
            .iter()
            .map(|residual| {
                let Reading {
                    quantity, at_cm, ..
                } = reading(residual.reading_idx);
                ReadingPart {
                    index: residual.reading_idx,
                    quantity: quantity_tag(*quantity).to_owned(),
                    at_cm: at_cm.to_array(),
                    measured: residual.measured,
                    spread: residual.spread,
                    before: residual.before,
                    after: residual.after,
                    left_out: residual.left_out,
                }
            })
            .collect(),
        unused: calibration
            .unused
            .iter()
            .map(|unused| UnusedPart {
                index: unused.reading_idx,
                why: unused.why,
            })
            .collect(),
    }
}

fn value_part(found: &Found) -> ValuePart {
    let Target { what, id, name } = &found.target;
    let is_share_of = matches!(what, Sought::LampOutput | Sought::PumpFlow) && found.before > 0.0;
    ValuePart {
        what: what_word(*what),
        id: *id,
        name: name.clone(),
        unit: what.unit(),
        before: found.before,
        after: found.after.value,
        low: found.after.low,
        high: found.after.high,
        share: is_share_of.then(|| found.after.value / found.before),
        tied_to: found.tied_to,
        readings: found.n_readings,
        leave_one_out_before: found.left_out.before,
        leave_one_out_after: found.left_out.after,
    }
}

fn error_part(error: Error) -> ErrorPart {
    ErrorPart {
        before: error.before,
        after: error.after,
    }
}

fn what_word(what: Sought) -> &'static str {
    match what {
        Sought::LampOutput => "lamp_output",
        Sought::Absorption => "absorption",
        Sought::ReturnedShare => "returned_share",
        Sought::PumpFlow => "pump_flow",
        Sought::JetOffset => "jet_offset",
    }
}

fn write_text(answer: &Answer, streams: &mut Streams<'_>) -> Result<(), TerminalError> {
    let out = &mut streams.out;
    writeln!(
        out,
        "What {} readings say of layout {:?}",
        answer.readings.len(),
        answer.layout
    )?;
    for value in &answer.values {
        let decimals = if value.before.abs().max(value.after.abs()) < 10.0 {
            2
        } else {
            0
        };
        let whose = match value.id {
            Some(id) => format!(" of {:?} ({id})", value.name),
            None => String::new(),
        };
        let tied = value.tied_to.map_or_else(String::new, |id| {
            format!("; readings cannot tell it from {id}, so both move together")
        });
        writeln!(
            out,
            "  {}{whose}: stated {:.decimals$}, found {:.decimals$} {} ({:.decimals$} to {:.decimals$} in 8 of 10 cases){tied}",
            value.what.replace('_', " "),
            value.before,
            value.after,
            value.unit,
            value.low,
            value.high,
        )?;
    }
    for kept in &answer.kept {
        let name = kept
            .id
            .map_or_else(String::new, |id| format!(" of {:?} ({id})", kept.name));
        writeln!(out, "  {}{name}: {}", kept.what.replace('_', " "), kept.why)?;
    }
    write_readings(answer, streams)
}

/// How far readings are missed, in all and one by one.
fn write_readings(answer: &Answer, streams: &mut Streams<'_>) -> Result<(), TerminalError> {
    let out = &mut streams.out;
    let errors = [
        ("light", &answer.leave_one_out.light),
        ("speed", &answer.leave_one_out.speed),
    ];
    for (name, error) in errors {
        if let Some(error) = error {
            writeln!(
                out,
                "{name}: readings left out are missed by {:.0} % as stated, by {:.0} % after the fit",
                100.0 * error.before,
                100.0 * error.after
            )?;
        }
    }
    for reading in &answer.readings {
        writeln!(
            out,
            "  reading {}: {:.1} +- {:.1}, as stated {:.1}, fitted {:.1}",
            reading.index + 1,
            reading.measured,
            reading.spread,
            reading.before,
            reading.after
        )?;
    }
    for unused in &answer.unused {
        writeln!(out, "  reading {}: {}", unused.index + 1, unused.why)?;
    }
    Ok(())
}

/// A stable name of what was read.
fn quantity_tag(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::PpfdUp => "ppfd_up",
        Quantity::PpfdScalar => "ppfd_scalar",
        Quantity::Speed => "speed",
    }
}

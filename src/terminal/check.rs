//! `bommie check`: every problem of a scene, with its place.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::noticed::{FindingPart, finding_part};
use super::{EXIT_FINDINGS, EXIT_GOOD, EXIT_INPUT, Streams, TerminalError, shown};
use crate::advice;
use crate::scene::finding::Severity;
use crate::scene::{Issue, IssueSeverity, ItemId, Lamp, Layout, Scene, Spread};
use crate::storage::{LocatedIssue, StorageError, clipped, load, read_text};
use crate::study::Study;
use crate::units::UnitSystem;
use crate::words::Speaker;

#[derive(Args, Debug)]
pub(super) struct CheckArgs {
    /// Scene file
    scene: PathBuf,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// The answer of `check --json`. Field names are stable.
#[derive(Debug, Serialize)]
struct Answer {
    /// The file, as it was named.
    file: String,
    /// Whether the scene can be used.
    usable: bool,
    /// Errors first met by the parser, or all faults of the scene.
    problems: Vec<Problem>,
    /// Mistakes that the scene can be used with, over all layouts.
    findings: Vec<MistakePart>,
}

/// One mistake, as a report's finding with its layout. Field names are stable.
#[derive(Debug, Serialize)]
struct MistakePart {
    /// What it is, as `rocks_overlap`; the first of its notes.
    mistake: &'static str,
    layout: String,
    #[serde(flatten)]
    finding: FindingPart,
}

impl MistakePart {
    fn is_error(&self) -> bool {
        self.finding.severity == Severity::Serious.tag()
    }
}

#[derive(Debug, Serialize)]
struct Problem {
    /// `error` or `warning`.
    severity: &'static str,
    /// One sentence with everything in it.
    text: String,
    line: Option<usize>,
    column: Option<usize>,
    /// Path of the field in the file, as `layouts[0].pumps[1].flow_lph`.
    path: Option<String>,
    /// The item in words.
    item: Option<String>,
    value: Option<String>,
    limit: Option<String>,
    way_out: Option<String>,
}

pub(super) fn run(args: &CheckArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let file = shown(&args.scene);
    let (issues, refused, scene) = match load(&args.scene) {
        Ok(loaded) => (loaded.issues, None, Some(loaded.scene)),
        Err(StorageError::Unsound { issues, .. }) => (issues, None, None),
        Err(error) => (Vec::new(), Some(error), None),
    };
    let usable = scene.is_some();
    let found = scene
        .as_ref()
        .map_or_else(Vec::new, |scene| mistakes_of(scene, &args.scene));
    let issues: Vec<LocatedIssue> = issues
        .into_iter()
        .filter(|located| !found.iter().any(|mistake| is_told(&located.issue, mistake)))
        .collect();
    let n_grave = found.iter().filter(|mistake| mistake.is_error()).count();
    let counts = counts_of(&issues, &found, refused.is_some());
    if args.json {
        let problems = issues
            .iter()
            .map(issue_problem)
            .chain(refused.iter().map(file_problem))
            .collect();
        serde_json::to_writer_pretty(
            &mut *streams.out,
            &Answer {
                file,
                usable,
                problems,
                findings: found,
            },
        )?;
        writeln!(streams.out)?;
    } else {
        for issue in &issues {
            writeln!(streams.out, "{}", clipped(&issue.to_string()))?;
        }
        for mistake in &found {
            let severity = if mistake.is_error() {
                "error"
            } else {
                "warning"
            };
            let (layout, text) = (&mistake.layout, &mistake.finding.text);
            writeln!(streams.out, "{severity}: layout {layout:?}: {text}")?;
        }
        if let Some(error) = &refused {
            writeln!(streams.out, "error: {}", clipped(&error.to_string()))?;
        }
        writeln!(streams.out, "{}", summary(&file, &counts, scene.as_ref()))?;
    }
    Ok(match (usable, refused) {
        (true, _) if n_grave == 0 => EXIT_GOOD,
        (true, _) | (false, None) => EXIT_FINDINGS,
        (false, Some(_)) => EXIT_INPUT,
    })
}

/// The mistakes of every layout, in their order, worst first within one.
fn mistakes_of(scene: &Scene, path: &Path) -> Vec<MistakePart> {
    let mut all = Vec::new();
    for (idx, layout) in scene.layouts.iter().enumerate() {
        let Ok(study) = Study::with_built_in(scene, idx) else {
            continue;
        };
        let mut found = advice::mistakes(&study);
        let missing = lamps_without_file(layout, path);
        found.extend(advice::lamp_file_mistakes(&study, &missing));
        let speaker = Speaker::new(study.scene(), study.layout(), UnitSystem::Metric);
        all.extend(found.iter().map(|mistake| MistakePart {
            mistake: mistake.notes.first().map_or("", |note| note.tag()),
            layout: layout.name.clone(),
            finding: finding_part(mistake, &speaker),
        }));
    }
    all
}

/// Lamps whose measured file does not read.
fn lamps_without_file(layout: &Layout, path: &Path) -> Vec<ItemId> {
    let fails = |lamp: &&Lamp| match &lamp.spread {
        Spread::Measured { file, .. } => {
            let folder = path.parent().unwrap_or(Path::new(""));
            read_text(&folder.join(file)).is_err()
        }
        Spread::Beam { .. } => false,
    };
    layout
        .lamps
        .iter()
        .filter(fails)
        .map(|lamp| lamp.id)
        .collect()
}

/// Whether a warning of the file says of an item's place what a mistake says
/// of it too.
fn is_told(issue: &Issue, mistake: &MistakePart) -> bool {
    let of_place = matches!(issue.field.as_str(), "at_cm" | "programme");
    let same = issue.item.layout.as_deref() == Some(mistake.layout.as_str())
        && issue
            .item
            .id
            .is_some_and(|id| mistake.finding.item == Some(id));
    issue.severity == IssueSeverity::Warning && of_place && same
}

/// How many errors and warnings there are, in words.
fn counts_of(issues: &[LocatedIssue], found: &[MistakePart], is_refused: bool) -> String {
    let of = |severity| {
        let same = issues.iter().filter(|at| at.issue.severity == severity);
        same.count()
    };
    let n_grave = found.iter().filter(|mistake| mistake.is_error()).count();
    let n_errors = of(IssueSeverity::Error) + usize::from(is_refused) + n_grave;
    let n_warnings = of(IssueSeverity::Warning) + found.len() - n_grave;
    format!(
        "{}, {}",
        counted(n_errors, "error"),
        counted(n_warnings, "warning")
    )
}

fn summary(file: &str, counts: &str, scene: Option<&Scene>) -> String {
    let Some(scene) = scene else {
        return format!("{file}: {counts}; the scene cannot be used");
    };
    let tank = &scene.tank;
    let liters = tank.length_cm * tank.width_cm * tank.water_cm / 1000.0;
    format!(
        "{file}: {counts}; {:?}, {} x {} x {} cm, {liters:.0} L to the surface, {}",
        scene.name,
        tank.length_cm,
        tank.width_cm,
        tank.height_cm,
        counted(scene.layouts.len(), "layout"),
    )
}

fn counted(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

fn issue_problem(located: &LocatedIssue) -> Problem {
    let issue = &located.issue;
    Problem {
        severity: issue.severity.word(),
        text: clipped(&issue.to_string()),
        line: located.at.map(|at| at.line),
        column: located.at.map(|at| at.column),
        path: Some(issue.path.clone()),
        item: Some(issue.item.to_string()),
        value: Some(issue.value.clone()),
        limit: Some(issue.limit.clone()),
        way_out: Some(issue.way_out.clone()),
    }
}

fn file_problem(error: &StorageError) -> Problem {
    let at = match error {
        StorageError::Syntax { at, .. } | StorageError::NotText { at, .. } => Some(*at),
        _ => None,
    };
    Problem {
        severity: "error",
        text: clipped(&error.to_string()),
        line: at.map(|at| at.line),
        column: at.map(|at| at.column),
        path: None,
        item: None,
        value: None,
        limit: None,
        way_out: None,
    }
}

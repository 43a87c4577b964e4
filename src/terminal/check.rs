//! `bommie check`: every problem of a scene, with its place.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::{EXIT_GOOD, EXIT_PROBLEM, Streams, TerminalError, shown};
use crate::scene::{IssueSeverity, Scene};
use crate::storage::{LocatedIssue, StorageError, load};

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
            },
        )?;
        writeln!(streams.out)?;
    } else {
        for issue in &issues {
            writeln!(streams.out, "{issue}")?;
        }
        if let Some(error) = &refused {
            writeln!(streams.out, "error: {error}")?;
        }
        writeln!(
            streams.out,
            "{}",
            summary(&file, &issues, scene.as_ref(), refused.is_some())
        )?;
    }
    Ok(if usable { EXIT_GOOD } else { EXIT_PROBLEM })
}

fn summary(file: &str, issues: &[LocatedIssue], scene: Option<&Scene>, is_refused: bool) -> String {
    let of = |severity| {
        issues
            .iter()
            .filter(|at| at.issue.severity == severity)
            .count()
    };
    let (n_errors, n_warnings) = (
        of(IssueSeverity::Error) + usize::from(is_refused),
        of(IssueSeverity::Warning),
    );
    let counts = format!(
        "{}, {}",
        counted(n_errors, "error"),
        counted(n_warnings, "warning")
    );
    let Some(scene) = scene else {
        return format!("{file}: {counts}; the scene cannot be used");
    };
    let tank = &scene.tank;
    let litres = tank.length_cm * tank.width_cm * tank.water_cm / 1000.0;
    format!(
        "{file}: {counts}; {:?}, {} x {} x {} cm, {litres:.0} L to the surface, {}",
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
        text: issue.to_string(),
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
        text: error.to_string(),
        line: at.map(|at| at.line),
        column: at.map(|at| at.column),
        path: None,
        item: None,
        value: None,
        limit: None,
        way_out: None,
    }
}

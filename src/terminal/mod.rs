//! The same engine without a window: commands for scripts, tests and machines
//! with no display. Answers go to `out`, progress and errors to `err`.

mod answer;
mod berths;
mod check;
mod compare;
mod draw;
mod error;
mod export;
mod paper;
mod pictures;
mod points;
mod probe;
mod propose;
mod report;
mod solve;
mod tables;

use std::ffi::OsString;
use std::io::{IsTerminal as _, Write};
use std::path::{Path, PathBuf};

use clap::{Parser, Subcommand};

use crate::storage::{demos, parse};
use solve::Case;

pub use error::TerminalError;
pub use points::PointsError;

/// Exit code when all went well.
pub const EXIT_GOOD: u8 = 0;
/// Exit code when the answer is a problem or could not be had.
pub const EXIT_PROBLEM: u8 = 1;
/// Exit code for a command line that makes no sense.
pub const EXIT_USAGE: u8 = 2;

/// Plans a reef tank: where water stands still, where light reaches, where a
/// coral can live. Without a command it opens the window.
#[derive(Debug, Parser)]
#[command(name = "bommie", version, args_conflicts_with_subcommands = true)]
struct Cli {
    /// Scene to open; the demo if left out
    scene: Option<PathBuf>,
    /// Say on the error stream what is done and how long it takes, and write it
    /// to `log.txt` in the folder for this program's data
    #[arg(long, global = true)]
    log: bool,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Read a scene and list every problem with its place
    Check(check::CheckArgs),
    /// Solve flow and light, print findings and figures
    Report(report::ReportArgs),
    /// Flow and light at the places of a points file, as CSV
    Probe(probe::ProbeArgs),
    /// Where one more circulation pump helps, with before and after
    Propose(propose::ProposeArgs),
    /// The best places for a catalog entry
    Berths(berths::BerthsArgs),
    /// Two layouts of a scene side by side, and the steps from one to the other
    Compare(compare::CompareArgs),
    /// One view of a layout as SVG or PNG, to scale
    Draw(draw::DrawArgs),
    /// Flow, light and rock as files for other programs (VTK, STL)
    Export(export::ExportArgs),
}

/// What the caller has to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Open the window, on this scene or on the demo.
    Window(Option<PathBuf>),
    /// Leave with this code.
    Exit(u8),
}

/// Where a command writes to.
struct Streams<'a> {
    /// The answer.
    out: &'a mut dyn Write,
    /// Progress and errors.
    err: &'a mut (dyn Write + Send),
    /// Whether someone watches `err` on a terminal.
    is_live: bool,
}

/// Runs the command line `args` (the program's name first).
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    out: &mut dyn Write,
    err: &mut (dyn Write + Send),
) -> Outcome {
    let is_live = std::io::stderr().is_terminal();
    let mut streams = Streams { out, err, is_live };
    match Cli::try_parse_from(args) {
        Ok(Cli {
            command: None,
            scene,
            log: _,
        }) => Outcome::Window(scene),
        Ok(Cli {
            command: Some(command),
            ..
        }) => Outcome::Exit(finish(&command, &mut streams)),
        Err(error) => Outcome::Exit(usage(&error, &mut streams)),
    }
}

/// The report of a scene, or of the first demo, for a keeper who wanted the
/// window; `why` says why there is none and how to get it.
pub fn report_instead(
    scene: Option<&Path>,
    why: &str,
    out: &mut dyn Write,
    err: &mut (dyn Write + Send),
) -> u8 {
    let is_live = std::io::stderr().is_terminal();
    let mut streams = Streams { out, err, is_live };
    let streams = &mut streams;
    let done = writeln!(streams.err, "{why}").map_err(TerminalError::from);
    let case = done.and_then(|()| match (scene, demos().first()) {
        (None, Some(demo)) => {
            let loaded = parse(demo.text, demo.file)?;
            writeln!(
                streams.err,
                "the report of the demo scene {} instead:",
                demo.file
            )?;
            Case::of(loaded, demo.file.to_owned(), None, streams)
        }
        (scene, _) => Case::open(scene.unwrap_or(Path::new("")), None, streams),
    });
    let done = case.and_then(|case| report::print(&case, streams));
    close(done, streams)
}

fn finish(command: &Command, streams: &mut Streams<'_>) -> u8 {
    let done = match command {
        Command::Check(args) => check::run(args, streams),
        Command::Report(args) => report::run(args, streams),
        Command::Probe(args) => probe::run(args, streams),
        Command::Propose(args) => propose::run(args, streams),
        Command::Berths(args) => berths::run(args, streams),
        Command::Compare(args) => compare::run(args, streams),
        Command::Draw(args) => draw::run(args, streams),
        Command::Export(args) => export::run(args, streams),
    };
    close(done, streams)
}

/// Makes sure that the answer is out, or says why there is none.
fn close(done: Result<u8, TerminalError>, streams: &mut Streams<'_>) -> u8 {
    let done = done.and_then(|code| {
        streams.out.flush()?;
        Ok(code)
    });
    match done {
        Ok(code) => code,
        // Whoever reads the answer has seen enough, as in `bommie … | head`.
        Err(error) if error.is_broken_pipe() => EXIT_GOOD,
        Err(error) => {
            // Nobody is left to tell if this fails too.
            drop(writeln!(streams.err, "error: {error}"));
            EXIT_PROBLEM
        }
    }
}

/// Help and version are answers; anything else is a mistake in the command line.
fn usage(error: &clap::Error, streams: &mut Streams<'_>) -> u8 {
    let text = error.render().to_string();
    if error.use_stderr() {
        drop(write!(streams.err, "{text}"));
        EXIT_USAGE
    } else {
        drop(write!(streams.out, "{text}"));
        EXIT_GOOD
    }
}

/// The path as a keeper wrote it.
fn shown(path: &Path) -> String {
    path.display().to_string()
}

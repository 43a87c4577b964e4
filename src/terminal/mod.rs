//! The same engine without a window: commands for scripts, tests and machines
//! with no display. Answers go to `out`, progress and errors to `err`.

mod answer;
mod berths;
mod booklet;
mod calibrate;
mod check;
mod compare;
mod converge;
mod draw;
mod error;
mod export;
mod import;
mod improve;
mod kept;
mod noticed;
mod outage;
mod paper;
mod pictures;
mod points;
mod probe;
mod propose;
mod report;
mod report_words;
mod shell;
mod solve;
mod tables;
mod unsigned;

use std::ffi::OsString;
use std::io::{IsTerminal as _, Write};
use std::path::{Path, PathBuf};

use clap::{Parser, Subcommand};

use crate::storage::{WriteGuard, clipped, demos, parse};
use solve::Case;
use unsigned::UnsignedLines;

pub use error::TerminalError;
pub use points::PointsError;

/// Exit code when all went well.
pub const EXIT_GOOD: u8 = 0;
/// Exit code of `check` for a scene with errors.
pub const EXIT_FINDINGS: u8 = 1;
/// Exit code for a command line that makes no sense, or that would write over
/// something.
pub const EXIT_USAGE: u8 = 2;
/// Exit code for a file that cannot be read or holds no usable scene.
pub const EXIT_INPUT: u8 = 3;
/// Exit code when the answer could not be worked out or written.
pub const EXIT_INTERNAL: u8 = 4;

const CODES: &str = "Exit codes: 0 done; 1 check found errors, mistakes of a layout included; 2 the command line makes no sense \
    or would write over something; 3 a file cannot be read or used; 4 the answer could not be \
    worked out or written. Answers go to standard output, all else to standard error.";

/// Plans a reef tank: where water stands still, where light reaches, where a
/// coral can live. Without a command it opens the window.
#[derive(Debug, Parser)]
#[command(name = "bommie", version, after_help = CODES)]
struct Cli {
    /// Scene to open; the demo if left out
    scene: Option<PathBuf>,
    /// Say on the error stream what is done and how long it takes, and write it
    /// to `log.txt` in the folder for this program's data
    #[arg(long, global = true)]
    log: bool,
    #[command(flatten)]
    manners: Manners,
    #[command(subcommand)]
    command: Option<Command>,
}

/// How every command behaves.
#[derive(clap::Args, Clone, Copy, Debug, Default)]
struct Manners {
    /// Only answers and errors: no progress, no warnings
    #[arg(long, short, global = true)]
    quiet: bool,
    /// No color, which is how it always is
    #[arg(long, global = true)]
    no_color: bool,
    /// Replace files that are there already; never one that is read
    #[arg(long, global = true)]
    force: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Read a scene and list every problem with its place
    Check(check::CheckArgs),
    /// Solve flow and light, print findings and figures
    Report(report::ReportArgs),
    /// Flow and light at the places of a points file, as CSV
    Probe(probe::ProbeArgs),
    /// A scanned rock (OBJ, STL, PLY, GLB) into a scene
    Import(import::ImportArgs),
    /// Where one more circulation pump helps, with before and after
    Propose(propose::ProposeArgs),
    /// What to turn, throttle, dim, lower or move before anything is bought
    Improve(improve::ImproveArgs),
    /// What goes still if a pump or the power fails, and what runs to the sump
    Outage(outage::OutageArgs),
    /// What readings say of lamps, water, panes and pumps
    Calibrate(calibrate::CalibrateArgs),
    /// The best places for a catalog entry
    Berths(berths::BerthsArgs),
    /// Two layouts of a scene side by side, and the steps from one to the other
    Compare(compare::CompareArgs),
    /// The same water on finer cells: what that changes
    Converge(converge::ConvergeArgs),
    /// What to do on moving day, step by step, as a PDF to print
    Booklet(booklet::BookletArgs),
    /// One view of a layout as SVG or PNG, to scale
    Draw(draw::DrawArgs),
    /// Flow, light and rock as files for other programs (VTK, STL)
    Export(export::ExportArgs),
    /// Print the manual page, or completions for a shell
    Shell(shell::ShellArgs),
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
    /// Progress and warnings.
    err: &'a mut (dyn Write + Send),
    /// Whether someone watches `err` on a terminal.
    is_live: bool,
    /// What may be written over.
    guard: WriteGuard,
}

/// The command line's tree of commands, for manual pages and completions.
pub fn command_line() -> clap::Command {
    <Cli as clap::CommandFactory>::command()
}

/// Runs the command line `args` (the program's name first).
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    out: &mut dyn Write,
    err: &mut (dyn Write + Send),
) -> Outcome {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => return Outcome::Exit(usage(&error, out, err)),
    };
    let Some(command) = cli.command else {
        return Outcome::Window(cli.scene);
    };
    if cli.scene.is_some() {
        let kind = clap::error::ErrorKind::ArgumentConflict;
        let error = command_line().error(kind, "a scene stands after the command, not before it");
        return Outcome::Exit(usage(&error, out, err));
    }
    let mut lines = UnsignedLines::new(out);
    let out: &mut dyn Write = &mut lines;
    let mut silence = std::io::sink();
    let (done, err) = {
        let talk: &mut (dyn Write + Send) = if cli.manners.quiet {
            &mut silence
        } else {
            &mut *err
        };
        let mut streams = Streams {
            out: &mut *out,
            err: talk,
            is_live: std::io::stderr().is_terminal(),
            guard: WriteGuard::new(cli.manners.force),
        };
        (finish(&command, &mut streams), err)
    };
    Outcome::Exit(close(done, out, err))
}

/// The report of a scene, or of the first demo, for a keeper who wanted the
/// window; `why` says why there is none and how to get it.
pub fn report_instead(
    scene: Option<&Path>,
    why: &str,
    out: &mut dyn Write,
    err: &mut (dyn Write + Send),
) -> u8 {
    let mut lines = UnsignedLines::new(out);
    let out: &mut dyn Write = &mut lines;
    let mut streams = Streams {
        out: &mut *out,
        err: &mut *err,
        is_live: std::io::stderr().is_terminal(),
        guard: WriteGuard::default(),
    };
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
    close(done, out, err)
}

fn finish(command: &Command, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    match command {
        Command::Check(args) => check::run(args, streams),
        Command::Report(args) => report::run(args, streams),
        Command::Probe(args) => probe::run(args, streams),
        Command::Import(args) => import::run(args, streams),
        Command::Propose(args) => propose::run(args, streams),
        Command::Improve(args) => improve::run(args, streams),
        Command::Outage(args) => outage::run(args, streams),
        Command::Calibrate(args) => calibrate::run(args, streams),
        Command::Berths(args) => berths::run(args, streams),
        Command::Compare(args) => compare::run(args, streams),
        Command::Converge(args) => converge::run(args, streams),
        Command::Booklet(args) => booklet::run(args, streams),
        Command::Draw(args) => draw::run(args, streams),
        Command::Export(args) => export::run(args, streams),
        Command::Shell(args) => shell::run(args, streams),
    }
}

/// Makes sure that the answer is out, or says why there is none.
fn close(done: Result<u8, TerminalError>, out: &mut dyn Write, err: &mut (dyn Write + Send)) -> u8 {
    let done = done.and_then(|code| {
        out.flush()?;
        Ok(code)
    });
    match done {
        Ok(code) => code,
        // Whoever reads the answer has seen enough, as in `bommie … | head`.
        Err(error) if error.is_broken_pipe() => EXIT_GOOD,
        Err(error) => {
            // Nobody is left to tell if this fails too.
            drop(writeln!(err, "error: {}", clipped(&error.to_string())));
            error.exit_code()
        }
    }
}

/// Help and version are answers; anything else is a mistake in the command line.
fn usage(error: &clap::Error, out: &mut dyn Write, err: &mut (dyn Write + Send)) -> u8 {
    let text = error.render().to_string();
    if error.use_stderr() {
        drop(write!(err, "{}", clipped(&text)));
        EXIT_USAGE
    } else {
        let said = write!(out, "{text}").and_then(|()| out.flush());
        close(said.map(|()| EXIT_GOOD).map_err(Into::into), out, err)
    }
}

/// The path as a keeper wrote it.
fn shown(path: &Path) -> String {
    path.display().to_string()
}

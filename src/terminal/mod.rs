//! The same engine without a window: commands for scripts, tests and machines
//! with no display. Answers go to `out`, progress and errors to `err`.

mod check;
mod error;

use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Parser, Subcommand};

pub use error::TerminalError;

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
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Read a scene and list every problem with its place
    Check(check::CheckArgs),
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
    err: &'a mut dyn Write,
}

/// Runs the command line `args` (the program's name first).
pub fn run(
    args: impl IntoIterator<Item = OsString>,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Outcome {
    let mut streams = Streams { out, err };
    match Cli::try_parse_from(args) {
        Ok(Cli {
            command: None,
            scene,
        }) => Outcome::Window(scene),
        Ok(Cli {
            command: Some(command),
            ..
        }) => Outcome::Exit(finish(command, &mut streams)),
        Err(error) => Outcome::Exit(usage(&error, &mut streams)),
    }
}

fn finish(command: Command, streams: &mut Streams<'_>) -> u8 {
    let done = match command {
        Command::Check(args) => check::run(&args, streams),
    };
    let done = done.and_then(|code| {
        streams.out.flush().map_err(TerminalError::from)?;
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

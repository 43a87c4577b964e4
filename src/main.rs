//! Opens the window; with no display, or when asked, answers in the terminal.

use std::io::Write as _;
use std::path::Path;
use std::process::ExitCode;

use bommie::job::thread_name;
use bommie::logging;
use bommie::storage::{data_folder, watch_for_crashes};
use bommie::terminal::{EXIT_INTERNAL, Outcome, report_instead, run};

fn main() -> ExitCode {
    if let Some(folder) = data_folder() {
        watch_for_crashes(folder, thread_name);
    }
    // What panicked has said so and left a report.
    std::panic::catch_unwind(answer).unwrap_or(ExitCode::from(EXIT_INTERNAL))
}

fn answer() -> ExitCode {
    let is_wordy = std::env::args_os().any(|arg| arg == "--log");
    if is_wordy {
        start_log(true);
    }
    // Not locked: a thread that panics must be able to say so.
    let mut out = std::io::BufWriter::new(std::io::stdout());
    let outcome = run(std::env::args_os(), &mut out, &mut std::io::stderr());
    ExitCode::from(match outcome {
        Outcome::Exit(code) => code,
        Outcome::Window(scene) => {
            if !is_wordy {
                start_log(false);
            }
            window(scene.as_deref())
        }
    })
}

/// Commands keep a log only if asked to, the window always.
fn start_log(is_wordy: bool) {
    if let Err(error) = logging::start(data_folder().as_deref(), is_wordy) {
        // Without a log the program works as well.
        drop(writeln!(std::io::stderr(), "no log: {error}"));
    }
}

/// The report in the terminal, with a word on why there is no window.
fn report(scene: Option<&Path>, why: &str) -> u8 {
    let mut out = std::io::BufWriter::new(std::io::stdout());
    report_instead(scene, why, &mut out, &mut std::io::stderr())
}

/// Opens the window; where it cannot open, the report takes its place.
#[cfg(feature = "gui")]
fn window(scene: Option<&Path>) -> u8 {
    const WAY_OUT: &str = "To get the window, run it in a desktop session (DISPLAY or \
        WAYLAND_DISPLAY set) with a graphics driver; Debian calls what it needs libx11-6 \
        libx11-xcb1 libxcursor1 libxi6 libxkbcommon-x11-0 and mesa-vulkan-drivers.";
    match bommie::ui::run(scene.map(Path::to_owned)) {
        Ok(()) => 0,
        Err(error) => report(scene, &format!("no window: {}\n{WAY_OUT}", plain(&error))),
    }
}

/// What kept the window away, without the places in other people's sources
/// that the system's message begins with.
#[cfg(feature = "gui")]
fn plain(error: &bommie::ui::StartError) -> String {
    match error {
        bommie::ui::StartError::NoDisplay { reason } => {
            let last = reason.rsplit(": ").next().unwrap_or(reason);
            format!("no display: {}", last.trim_end_matches('.'))
        }
        other => other.to_string(),
    }
}

/// Without the window built in.
#[cfg(not(feature = "gui"))]
fn window(scene: Option<&Path>) -> u8 {
    const WAY_OUT: &str = "To get the window, build it in: cargo run --release";
    report(scene, &format!("no window: this build has none\n{WAY_OUT}"))
}

//! Opens the window; with no display, or when asked, answers in the terminal.

use std::process::ExitCode;

use bommie::terminal::{Outcome, run};

fn main() -> ExitCode {
    // Not locked: a thread that panics must be able to say so.
    let mut out = std::io::BufWriter::new(std::io::stdout());
    let mut err = std::io::stderr();
    match run(std::env::args_os(), &mut out, &mut err) {
        Outcome::Exit(code) => ExitCode::from(code),
        Outcome::Window(_scene) => ExitCode::SUCCESS,
    }
}

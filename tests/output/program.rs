//! The built program as a script calls it.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// Runs a command line in `folder`, with no display.
pub(crate) fn run(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_bommie"))
        .args(args)
        .current_dir(folder)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .stdin(Stdio::null())
        .output()
        .expect("the program starts")
}

/// What it wrote to standard output and to standard error.
pub(crate) fn words(output: &Output) -> (String, String) {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (text(&output.stdout), text(&output.stderr))
}

/// Its answer, where that is JSON.
pub(crate) fn json(output: &Output) -> Value {
    let (out, err) = words(output);
    serde_json::from_str(&out).unwrap_or_else(|error| panic!("{error}: {out}\n{err}"))
}

//! `cargo xtask dist`: a Debian package and a tarball of the program under
//! `target/dist/`, from the profile `dist`. Needs `dpkg-deb` and `tar`.

mod debian;
mod stage;

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

/// What went wrong, in words.
type Outcome<T> = Result<T, String>;

const USAGE: &str = "usage: cargo xtask dist [--program FILE]\n\n  \
    --program FILE  package this program instead of building one with the profile dist\n";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    let done = match args.as_slice() {
        ["dist"] => build().and_then(|program| dist(&program)),
        ["dist", "--program", program] => dist(Path::new(program)),
        _ => Err(USAGE.to_owned()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            say(&format!("xtask: {problem}"));
            ExitCode::FAILURE
        }
    }
}

#[expect(clippy::print_stderr, reason = "a tool that talks to whoever runs it")]
fn say(words: &str) {
    eprintln!("{words}");
}

/// The repository's root: this crate lies two folders below it.
fn root() -> PathBuf {
    let own = Path::new(env!("CARGO_MANIFEST_DIR"));
    own.ancestors().nth(2).unwrap_or(own).to_owned()
}

/// Where cargo puts what it builds.
fn target() -> PathBuf {
    let chosen = std::env::var_os("CARGO_TARGET_DIR").map(PathBuf::from);
    chosen.unwrap_or_else(|| root().join("target"))
}

/// Builds the program with the profile `dist`.
fn build() -> Outcome<PathBuf> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command
        .args([
            "build",
            "--locked",
            "--profile",
            "dist",
            "--package",
            "bommie",
        ])
        .current_dir(root());
    run(&mut command)?;
    Ok(target().join("dist/bommie"))
}

/// Makes both packages of a program.
fn dist(program: &Path) -> Outcome<()> {
    let program = std::path::absolute(program).map_err(|error| error.to_string())?;
    let folder = target().join("dist");
    let version = env!("CARGO_PKG_VERSION");
    let tree = folder.join("tree");
    stage::stage(&program, &tree)?;
    let tarball = stage::tarball(&tree, &folder, version)?;
    let package = debian::package(&tree, &folder, version)?;
    for file in [&program, &tarball, &package] {
        let about = std::fs::metadata(file).map_err(|error| at(file, &error))?;
        let size_mb = about.len() as f64 / 1e6;
        say(&format!("{size_mb:6.1} MB  {}", file.display()));
    }
    std::fs::remove_dir_all(&tree).map_err(|error| at(&tree, &error))
}

/// Runs a command and waits for it to be done well.
fn run(command: &mut Command) -> Outcome<()> {
    let name = format!("{}", command.get_program().display());
    let status = command
        .status()
        .map_err(|error| format!("{name}: {error}"))?;
    if status.success() {
        Ok(())
    } else {
        Err(format!("{name} failed: {status}"))
    }
}

/// What a command says.
fn said_by(command: &mut Command) -> Outcome<Vec<u8>> {
    let name = format!("{}", command.get_program().display());
    let output = command
        .output()
        .map_err(|error| format!("{name}: {error}"))?;
    if output.status.success() {
        Ok(output.stdout)
    } else {
        let words = String::from_utf8_lossy(&output.stderr).into_owned();
        Err(format!("{name} failed: {words}"))
    }
}

/// An error with the file that it is about.
fn at(path: &Path, error: &std::io::Error) -> String {
    format!("{}: {error}", path.display())
}

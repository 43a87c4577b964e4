//! The files of the program where they lie once it is installed.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::{Outcome, at, root, run, said_by};

/// What is copied as it is: from the repository, to below `/usr`.
const COPIES: &[(&str, &str)] = &[
    (
        "assets/desktop/bommie.desktop",
        "share/applications/bommie.desktop",
    ),
    (
        "assets/desktop/bommie.svg",
        "share/icons/hicolor/scalable/apps/bommie.svg",
    ),
    (
        "assets/desktop/bommie.xml",
        "share/mime/packages/bommie.xml",
    ),
    (
        "assets/desktop/bommie.metainfo.xml",
        "share/metainfo/bommie.metainfo.xml",
    ),
    ("README.md", "share/doc/bommie/README.md"),
    ("scenes/FORMAT.md", "share/doc/bommie/FORMAT.md"),
    ("src/terminal/JSON.md", "share/doc/bommie/JSON.md"),
    ("LICENSE-MIT", "share/doc/bommie/LICENSE-MIT"),
    ("LICENSE-APACHE", "share/doc/bommie/LICENSE-APACHE"),
    ("assets/fonts/OFL.txt", "share/doc/bommie/OFL.txt"),
    (
        "scenes/harbour-office.ron",
        "share/doc/bommie/examples/harbour-office.ron",
    ),
    (
        "scenes/window-seat.ron",
        "share/doc/bommie/examples/window-seat.ron",
    ),
    (
        "scenes/long-wall.ron",
        "share/doc/bommie/examples/long-wall.ron",
    ),
];

/// What the program writes about itself: its arguments, and where to.
const WRITTEN: &[(&[&str], &str)] = &[
    (&["shell", "man"], "share/man/man1/bommie.1"),
    (
        &["shell", "bash"],
        "share/bash-completion/completions/bommie",
    ),
    (&["shell", "zsh"], "share/zsh/vendor-completions/_bommie"),
    (
        &["shell", "fish"],
        "share/fish/vendor_completions.d/bommie.fish",
    ),
];

/// Lays the program and its files out below `tree`, as `usr/bin/bommie` and so on.
pub(crate) fn stage(program: &Path, tree: &Path) -> Outcome<()> {
    if tree.exists() {
        fs::remove_dir_all(tree).map_err(|error| at(tree, &error))?;
    }
    let usr = tree.join("usr");
    let target = usr.join("bin/bommie");
    copy(program, &target)?;
    set_mode(&target, 0o755)?;
    for (from, to) in COPIES {
        copy(&root().join(from), &usr.join(to))?;
    }
    for (args, to) in WRITTEN {
        let text = said_by(Command::new(program).args(*args))?;
        put(&usr.join(to), &text)?;
    }
    let man = usr.join("share/man/man1/bommie.1");
    run(Command::new("gzip").args(["-9", "-n"]).arg(man))
}

/// The tree as a tarball that unpacks into one folder.
pub(crate) fn tarball(tree: &Path, folder: &Path, version: &str) -> Outcome<PathBuf> {
    let name = format!("bommie-{version}-{}-linux", std::env::consts::ARCH);
    let path = folder.join(format!("{name}.tar.gz"));
    let inside = format!("s,^usr,{name},");
    run(Command::new("tar")
        .args(["--owner=0", "--group=0", "--numeric-owner", "--sort=name"])
        .args(["--mtime=@0", "--transform", &inside, "-czf"])
        .arg(&path)
        .arg("-C")
        .arg(tree)
        .arg("usr"))?;
    Ok(path)
}

pub(crate) fn put(path: &Path, bytes: &[u8]) -> Outcome<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|error| at(folder, &error))?;
    }
    fs::write(path, bytes).map_err(|error| at(path, &error))?;
    set_mode(path, 0o644)
}

fn copy(from: &Path, to: &Path) -> Outcome<()> {
    let bytes = fs::read(from).map_err(|error| at(from, &error))?;
    put(to, &bytes)
}

#[cfg(unix)]
pub(crate) fn set_mode(path: &Path, mode: u32) -> Outcome<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let set = fs::set_permissions(path, fs::Permissions::from_mode(mode));
    set.map_err(|error| at(path, &error))
}

#[cfg(not(unix))]
pub(crate) fn set_mode(_path: &Path, _mode: u32) -> Outcome<()> {
    Ok(())
}

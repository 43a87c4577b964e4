//! The Debian package: what it needs, and how `dpkg-deb` makes it.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::stage::put;
use super::{Outcome, at, root, run, said_by};

/// Libraries that the window loads when it opens, so that no tool sees them in
/// the program: X11 and Wayland, keyboards, and something that draws.
const LOADED: &str = "libx11-6, libx11-xcb1, libxcursor1, libxi6, libxkbcommon0, \
    libxkbcommon-x11-0, libwayland-client0";
/// What draws: a driver of the graphics card, or one without a card.
const DRIVERS: &str = "mesa-vulkan-drivers | vulkan-driver | libgl1-mesa-dri";

/// Makes the package of a tree, in `folder`.
pub(crate) fn package(tree: &Path, folder: &Path, version: &str) -> Outcome<PathBuf> {
    let told = said_by(Command::new("dpkg").arg("--print-architecture"))?;
    let told = String::from_utf8_lossy(&told).into_owned();
    let architecture = told.trim();
    let doc = tree.join("usr/share/doc/bommie");
    // Debian wants all licences in one file.
    for licence in ["LICENSE-MIT", "LICENSE-APACHE", "OFL.txt"] {
        let path = doc.join(licence);
        fs::remove_file(&path).map_err(|error| at(&path, &error))?;
    }
    put(&doc.join("copyright"), copyright()?.as_bytes())?;
    let changes = format!(
        "bommie ({version}) stable; urgency=low\n\n  * See CHANGELOG.md in the source.\n\n -- \
         The Bommie contributors <bommie@localhost>  Thu, 01 Jan 2026 00:00:00 +0000\n"
    );
    put(&doc.join("changelog"), changes.as_bytes())?;
    run(Command::new("gzip")
        .args(["-9", "-n"])
        .arg(doc.join("changelog")))?;
    let installed_kb = size_kb(tree)?;
    let needs = linked(&tree.join("usr/bin/bommie"))?;
    let control = format!(
        "Package: bommie\nVersion: {version}\nArchitecture: {architecture}\n\
         Maintainer: The Bommie contributors <bommie@localhost>\n\
         Installed-Size: {installed_kb}\nDepends: {needs}, {LOADED}\nRecommends: {DRIVERS}\n\
         Section: science\nPriority: optional\n\
         Description: plan a reef tank before the rock is glued\n \
         Sketch the rockwork of a reef aquarium in a top and a side view, set pumps,\n \
         lamps and corals, and see where water stands still, where light does not\n \
         reach and where a coral can live. The same engine answers in the terminal.\n"
    );
    put(&tree.join("DEBIAN/control"), control.as_bytes())?;
    let path = folder.join(format!("bommie_{version}_{architecture}.deb"));
    run(Command::new("dpkg-deb")
        .args(["--root-owner-group", "-Zxz", "--build"])
        .args([tree, &path]))?;
    Ok(path)
}

/// The packages of the libraries that the program is linked with, as
/// `dpkg-shlibdeps` finds them; the C library alone where that tool is missing.
fn linked(program: &Path) -> Outcome<String> {
    let place = program.with_file_name("debian-look");
    fs::create_dir_all(place.join("debian")).map_err(|error| at(&place, &error))?;
    let source = "Source: bommie\n\nPackage: bommie\nArchitecture: any\n";
    put(&place.join("debian/control"), source.as_bytes())?;
    let told = said_by(
        Command::new("dpkg-shlibdeps")
            .args(["-O", "--ignore-missing-info"])
            .arg(program)
            .current_dir(&place),
    );
    fs::remove_dir_all(&place).map_err(|error| at(&place, &error))?;
    let told = told.map(|bytes| String::from_utf8_lossy(&bytes).into_owned());
    let found = told.ok().and_then(|told| {
        let line = told
            .lines()
            .find_map(|line| line.strip_prefix("shlibs:Depends="));
        line.map(str::to_owned)
    });
    Ok(found.unwrap_or_else(|| "libc6, libgcc-s1".to_owned()))
}

fn size_kb(tree: &Path) -> Outcome<u64> {
    let mut bytes = 0;
    let mut folders = vec![tree.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).map_err(|error| at(&folder, &error))? {
            let entry = entry.map_err(|error| at(&folder, &error))?;
            let about = entry.metadata().map_err(|error| at(&folder, &error))?;
            if about.is_dir() {
                folders.push(entry.path());
            } else {
                bytes += about.len();
            }
        }
    }
    Ok(bytes.div_ceil(1024))
}

/// The licences of program and typeface, in the form that Debian reads.
fn copyright() -> Outcome<String> {
    let mut text = String::from(
        "Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/\n\n\
         Files: *\nCopyright: The Bommie contributors\nLicense: Expat or Apache-2.0\n\n\
         Files: usr/bin/bommie\nCopyright: The Bommie contributors; of the typeface within, \
         those that its licence names\nLicense: (Expat or Apache-2.0) and OFL-1.1\n\n\
         License: Apache-2.0\n On Debian systems the text is in /usr/share/common-licenses/Apache-2.0.\n",
    );
    for (name, file) in [
        ("Expat", "LICENSE-MIT"),
        ("OFL-1.1", "assets/fonts/OFL.txt"),
    ] {
        let path = root().join(file);
        let licence = fs::read_to_string(&path).map_err(|error| at(&path, &error))?;
        // Writing to a String cannot fail.
        let _written = writeln!(text, "\nLicense: {name}");
        for line in licence.lines() {
            let line = if line.trim().is_empty() { "." } else { line };
            let _written = writeln!(text, " {line}");
        }
    }
    Ok(text)
}

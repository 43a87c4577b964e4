//! What is left of a program that failed: a report with its version, the sum
//! of the scene, the last commands and where it was. It holds no name, place
//! or word of the keeper's; it stays on this machine until it is copied.

use std::backtrace::Backtrace;
use std::collections::VecDeque;
use std::fmt::Write as _;
use std::fs;
use std::panic::PanicHookInfo;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, Weak};

use super::{scene_text, sum_words};
use crate::scene::Scene;

/// Commands that are remembered.
const COMMANDS_MAX: usize = 40;
/// Reports that are kept.
const REPORTS_MAX: usize = 5;
/// Longest part of the program's complaint that is kept, in characters.
const COMPLAINT_CHARS_MAX: usize = 400;

/// The last commands, oldest first, and what they were about.
#[derive(Debug)]
struct Trail {
    commands: VecDeque<&'static str>,
    scene: Weak<Scene>,
}

static TRAIL: Mutex<Trail> = Mutex::new(Trail {
    commands: VecDeque::new(),
    scene: Weak::new(),
});

/// Remembers a command by its name alone, and the scene after it.
pub fn note_command(name: &'static str, scene: Weak<Scene>) {
    // A trail that another thread broke is no reason to stop.
    let Ok(mut trail) = TRAIL.lock() else { return };
    if trail.commands.len() == COMMANDS_MAX {
        trail.commands.pop_front();
    }
    trail.commands.push_back(name);
    trail.scene = scene;
}

/// What helps to find a fault, as text to copy: version, system, scene in
/// figures, last commands. `more` is what the window knows.
pub fn diagnostics(more: &str) -> String {
    let mut text = format!(
        "Bommie {} on {} {}\n",
        env!("CARGO_PKG_VERSION"),
        std::env::consts::OS,
        std::env::consts::ARCH
    );
    // Never waits: the thread that failed may hold it.
    if let Ok(trail) = TRAIL.try_lock() {
        if let Some(scene) = trail.scene.upgrade() {
            text.push_str(&scene_figures(&scene));
        }
        let commands: Vec<&str> = trail.commands.iter().copied().collect();
        text.push_str("last commands: ");
        text.push_str(&grouped(&commands));
        text.push('\n');
    }
    text.push_str(more);
    text
}

/// A scene without a word of the keeper's.
fn scene_figures(scene: &Scene) -> String {
    let sum = scene_text(scene).map_or_else(|_| "none".to_owned(), |it| sum_words(it.as_bytes()));
    let tank = &scene.tank;
    let mut text = format!(
        "scene: sum {sum}, tank {} x {} x {} cm, layouts: {}\n",
        tank.length_cm,
        tank.width_cm,
        tank.height_cm,
        scene.layouts.len()
    );
    for layout in &scene.layouts {
        // Writing to a String cannot fail.
        let _written = writeln!(
            text,
            "  rocks {}, pumps {}, lamps {}, corals {}",
            layout.rocks.len(),
            layout.pumps.len(),
            layout.lamps.len(),
            layout.corals.len()
        );
    }
    text
}

/// Commands with repeats counted.
fn grouped(commands: &[&str]) -> String {
    let mut groups: Vec<(&str, usize)> = Vec::new();
    for command in commands {
        match groups.last_mut() {
            Some((last, n)) if last == command => *n += 1,
            _ => groups.push((command, 1)),
        }
    }
    let words = groups.iter().map(|(command, n)| match n {
        1 => (*command).to_owned(),
        n => format!("{command} ({n} times)"),
    });
    words.collect::<Vec<_>>().join(", ")
}

/// Writes a report into `folder` whenever a thread of this program panics;
/// the first one of a run is kept. The system's own message stays.
/// `thread_name` says which thread it is called on.
pub fn watch_for_crashes(folder: PathBuf, thread_name: fn() -> String) {
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        before(info);
        let path = folder.join(format!("crash-{}.txt", std::process::id()));
        if !path.exists() && fs::create_dir_all(&folder).is_ok() {
            // There is nobody left to tell if this fails too.
            drop(super::write_bytes(
                &path,
                report(info, &thread_name()).as_bytes(),
            ));
        }
    }));
}

fn report(info: &PanicHookInfo<'_>, thread: &str) -> String {
    let complaint = info.payload_as_str().unwrap_or("no words");
    let complaint: String = complaint.chars().take(COMPLAINT_CHARS_MAX).collect();
    let place = info
        .location()
        .map_or_else(String::new, ToString::to_string);
    let text = format!(
        "{}thread: {thread}\nat: {place}\ncomplaint: {complaint}\n\n{}\n",
        diagnostics(""),
        Backtrace::force_capture()
    );
    impersonal(&text)
}

/// The text without the keeper's folders and name.
fn impersonal(text: &str) -> String {
    let home = directories::BaseDirs::new().map(|dirs| dirs.home_dir().to_owned());
    let text = match home.as_deref().and_then(Path::to_str) {
        Some(home) if home.len() > 1 => text.replace(home, "~"),
        _ => text.to_owned(),
    };
    let user = ["USER", "LOGNAME", "USERNAME"]
        .iter()
        .find_map(|name| std::env::var(name).ok());
    match user {
        // A short name would tear words apart.
        Some(user) if user.len() > 3 => text.replace(&user, "~"),
        _ => text,
    }
}

/// A report that an earlier run left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CrashReport {
    /// Where it lies.
    pub path: PathBuf,
    /// All of it.
    pub text: String,
}

/// Reports in `folder`, newest first; older ones than the last few are taken
/// away.
pub fn crash_reports(folder: &Path) -> Vec<CrashReport> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let is_report = |path: &PathBuf| {
        let name = path.file_name().and_then(|name| name.to_str());
        let is_text = path.extension().is_some_and(|ending| ending == "txt");
        is_text && name.is_some_and(|name| name.starts_with("crash-"))
    };
    let mut paths: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(is_report)
        .collect();
    let age = |path: &PathBuf| fs::metadata(path).and_then(|about| about.modified()).ok();
    paths.sort_by_key(|path| std::cmp::Reverse(age(path)));
    for old in paths.iter().skip(REPORTS_MAX) {
        drop(fs::remove_file(old));
    }
    paths.truncate(REPORTS_MAX);
    let read = |path: PathBuf| {
        let text = super::read_text(&path).ok()?;
        Some(CrashReport { path, text })
    };
    paths.into_iter().filter_map(read).collect()
}

/// Takes a report away.
pub fn forget_report(report: &CrashReport) {
    drop(fs::remove_file(&report.path));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn repeats_are_counted() {
        let said = grouped(&["undo", "undo", "change", "undo"]);
        assert_eq!(said, "undo (2 times), change, undo");
        assert_eq!(grouped(&[]), "");
    }

    #[test]
    fn few_reports_are_kept_newest_first() {
        let folder = tempfile::tempdir().expect("a folder");
        let now = std::time::SystemTime::now();
        for n in 0..8_u64 {
            let path = folder.path().join(format!("crash-{n}.txt"));
            fs::write(&path, n.to_string()).expect("written");
            let file = fs::File::options().write(true).open(&path).expect("opens");
            let when = now - std::time::Duration::from_mins(n);
            file.set_modified(when).expect("made old");
        }
        let found = crash_reports(folder.path());
        let texts: Vec<&str> = found.iter().map(|it| it.text.as_str()).collect();
        assert_eq!(texts, ["0", "1", "2", "3", "4"], "the newest ones");
        forget_report(&found[0]);
        let left = fs::read_dir(folder.path()).expect("reads").count();
        assert_eq!(left, 4, "the old ones are gone, and the one let go");
    }
}

//! Which window has a file open: a lock in the data folder, named after the
//! file, that says who holds it. It tells windows of one user on one machine
//! apart; what others do to a shared file is noticed when it is saved.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use super::sum_of;

/// The mark of this program on an open file; taken away when it is dropped.
#[derive(Debug)]
pub struct Presence {
    lock_path: PathBuf,
    _lock: File,
}

/// Another program that has a file open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherWindow {
    /// What it is called by the system, as `process 4711`.
    pub name: String,
    /// How long it has had the file.
    pub age: Duration,
}

/// What came of wanting to mark a file.
#[derive(Debug)]
pub enum Marked {
    /// It is ours.
    Ours(Presence),
    /// Another window has it.
    Other(OtherWindow),
    /// The data folder cannot be used; nothing is known.
    Unknown,
}

/// Marks `path` as open here, in the data folder `folder`.
pub fn mark_open(folder: &Path, path: &Path) -> Marked {
    let real = fs::canonicalize(path).unwrap_or_else(|_missing| path.to_owned());
    let sum = sum_of(real.as_os_str().as_encoded_bytes());
    let lock_path = folder.join(format!("open-{sum:016x}.lock"));
    let mut options = File::options();
    let opened = options.read(true).write(true).create(true).truncate(false);
    let Ok(mut lock) = opened.open(&lock_path) else {
        return Marked::Unknown;
    };
    if lock.try_lock().is_err() {
        return Marked::Other(other(&lock_path));
    }
    let words = format!("process {}", std::process::id());
    let written = lock
        .set_len(0)
        .and_then(|()| lock.write_all(words.as_bytes()));
    if written.and_then(|()| lock.flush()).is_err() {
        return Marked::Unknown;
    }
    Marked::Ours(Presence {
        lock_path,
        _lock: lock,
    })
}

fn other(lock_path: &Path) -> OtherWindow {
    let words = fs::read_to_string(lock_path).unwrap_or_default();
    let is_ours = words.starts_with("process ") && words.len() < 40;
    let name = if is_ours {
        words
    } else {
        "another program".to_owned()
    };
    let since = fs::metadata(lock_path).and_then(|about| about.modified());
    let age = since.map(|since| SystemTime::now().duration_since(since).unwrap_or_default());
    OtherWindow {
        name,
        age: age.unwrap_or_default(),
    }
}

impl Drop for Presence {
    fn drop(&mut self) {
        drop(fs::remove_file(&self.lock_path));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_window_hears_of_the_first_until_that_is_closed() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("reef.ron");
        fs::write(&path, "").expect("written");
        let Marked::Ours(first) = mark_open(folder.path(), &path) else {
            panic!("nobody has it");
        };
        let again = folder.path().join("./reef.ron");
        let Marked::Other(other) = mark_open(folder.path(), &again) else {
            panic!("the first one has it, by whatever name");
        };
        assert_eq!(other.name, format!("process {}", std::process::id()));
        drop(first);
        let Marked::Ours(_second) = mark_open(folder.path(), &path) else {
            panic!("it is free again");
        };
        let nowhere = mark_open(&folder.path().join("none"), &path);
        assert!(matches!(nowhere, Marked::Unknown), "no folder, no mark");
    }
}

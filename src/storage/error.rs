//! What can go wrong with files, each with the way out.

use std::fmt;
use std::path::PathBuf;

use thiserror::Error;

use crate::scene::{Issue, IssueSeverity};

/// A place in a text file, both counted from 1, columns in characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// Line.
    pub line: usize,
    /// Column.
    pub column: usize,
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.line, self.column)
    }
}

/// A fault of a scene and where its file says so.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LocatedIssue {
    /// File, as it was named.
    pub file: String,
    /// The field, or the innermost thing around it that the file holds.
    pub at: Option<Position>,
    /// The fault.
    pub issue: Issue,
}

impl fmt::Display for LocatedIssue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(at) = self.at {
            write!(f, ":{at}")?;
        }
        write!(f, ": {}: {}", self.issue.severity.word(), self.issue)
    }
}

/// Why a file could not be read or written.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum StorageError {
    /// There is no such file.
    #[error("no such file; check the name and the folder: {}", path.display())]
    Missing {
        /// The file.
        path: PathBuf,
    },
    /// The path names a folder.
    #[error("this is a folder; name a file in it: {}", path.display())]
    IsFolder {
        /// The folder.
        path: PathBuf,
    },
    /// The path names a file where a folder is needed.
    #[error("this is a file, not a folder; name another: {}", path.display())]
    NoFolder {
        /// The file.
        path: PathBuf,
    },
    /// The path leads to a pipe, a device or the like.
    #[error("this is {kind}, not a file; copy what it holds into a file, or name another: {}", path.display())]
    NotAFile {
        /// The path.
        path: PathBuf,
        /// What it is.
        kind: &'static str,
    },
    /// The name cannot be that of a file.
    #[error("{problem}; pick another name: {}", path.display())]
    BadName {
        /// The path.
        path: PathBuf,
        /// What is wrong with it.
        problem: String,
    },
    /// A file that is read would be written over.
    #[error("this file is read by this command and is never written over; pick another name: {}", path.display())]
    IsInput {
        /// The file.
        path: PathBuf,
    },
    /// A file of this name is there.
    #[error("there is a file of this name; pick another, or say --force to replace it: {}", path.display())]
    Taken {
        /// The file.
        path: PathBuf,
    },
    /// Several files of these names are there.
    #[error("there are files of these names ({names}); pick another folder, or say --force to replace them: {}", folder.display())]
    SeveralTaken {
        /// Where.
        folder: PathBuf,
        /// Their names.
        names: String,
    },
    /// The file must not be changed.
    #[error("the file is write-protected; take the protection away, or pick another name: {}", path.display())]
    Protected {
        /// The file.
        path: PathBuf,
    },
    /// The file is there and cannot be read.
    #[error("cannot read the file: {source}: {}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The file is larger than anything this program reads.
    #[error(
        "{file}: the file has {bytes} bytes, the limit is {limit}; it is hardly a file of this kind, else split it"
    )]
    TooLarge {
        /// The file.
        file: String,
        /// Its size, or the part of it that was read.
        bytes: u64,
        /// The largest size.
        limit: u64,
    },
    /// The file is not UTF-8 text.
    #[error(
        "{file}:{at}: the file is not UTF-8 text from this place on; save it as UTF-8, or pick another file"
    )]
    NotText {
        /// The file.
        file: String,
        /// First byte that is not text.
        at: Position,
    },
    /// The file's format number is not known.
    #[error("{file}: format is {found}, this program reads {newest}; {way_out}")]
    Format {
        /// The file.
        file: String,
        /// Its format number.
        found: i64,
        /// The newest number known.
        newest: u32,
        /// What to do.
        way_out: &'static str,
    },
    /// The file breaks the rules of RON or of the format.
    #[error("{file}:{at}: {problem}{place}; {way_out}")]
    Syntax {
        /// The file.
        file: String,
        /// Where the parser stopped.
        at: Position,
        /// What it found and what it wanted.
        problem: String,
        /// The item around it, as ` in pump 2 "left pump"`; may be empty.
        place: String,
        /// What to do.
        way_out: String,
    },
    /// The file was read, and what it describes cannot be solved.
    #[error("{}", unsound_text(file, issues))]
    Unsound {
        /// The file.
        file: String,
        /// All faults, warnings too, in the order of the file.
        issues: Vec<LocatedIssue>,
    },
    /// The file could not be written; what was there before is untouched.
    #[error("cannot write the file: {source}; {way_out}: {}", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
        /// What to do.
        way_out: &'static str,
    },
    /// Someone else wrote the file since it was read.
    #[error("the file was changed by someone else since it was opened here; nothing was written: {}", path.display())]
    Changed {
        /// The file.
        path: PathBuf,
    },
    /// The scene cannot be put into words.
    #[error("cannot write the scene as text: {source}")]
    Unwritable {
        /// Why.
        source: ron::Error,
    },
    /// A measured lamp file beside the scene could not be read.
    #[error("lamp {lamp:?} needs the file {file:?} beside the scene: {problem}")]
    Measured {
        /// The lamp.
        lamp: String,
        /// The file that it names.
        file: String,
        /// Why it could not be read.
        problem: String,
    },
}

/// Longest line of a message, in characters.
const LINE_CHARS_MAX: usize = 400;

/// A message whose lines are at most a few hundred characters long: what a
/// hostile file or name holds is not echoed whole. The end is kept, where the
/// way out stands.
pub fn clipped(text: &str) -> String {
    const HEAD: usize = LINE_CHARS_MAX / 2;
    let line = |line: &str| {
        let n = line.chars().count();
        if n <= LINE_CHARS_MAX {
            return line.to_owned();
        }
        let head: String = line.chars().take(HEAD).collect();
        let tail: String = line.chars().skip(n - HEAD).collect();
        format!("{head} … {tail}")
    };
    let lines: Vec<String> = text.split('\n').map(line).collect();
    lines.join("\n")
}

fn unsound_text(file: &str, issues: &[LocatedIssue]) -> String {
    let n_errors = issues
        .iter()
        .filter(|at| at.issue.severity == IssueSeverity::Error)
        .count();
    let word = if n_errors == 1 {
        "error keeps"
    } else {
        "errors keep"
    };
    let mut text = format!("{file}: {n_errors} {word} this scene from being used");
    for issue in issues {
        text.push('\n');
        text.push_str(&issue.to_string());
    }
    text
}

//! From a scene to disk, never leaving half a file.

use std::ffi::OsString;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use ron::ser::PrettyConfig;

use super::copy::{coming, copy_into, finish_copy, has_other_names};
use super::guard::{check_target, check_there};
use super::{FILE_BYTES_MAX, StorageError, read_bytes};
use crate::scene::Scene;

/// What is put after a file's name to name its previous version.
pub const PREVIOUS_SUFFIX: &str = ".previous";

/// Longest line that short brackets are drawn together on.
const LINE_CHARS_MAX: usize = 110;

/// Writes a scene and gives the sum of its text; the version that was there is
/// kept beside it, with [`PREVIOUS_SUFFIX`] after its name.
///
/// The new text is complete on disk under another name before it takes the
/// place of the old one, so a crash leaves one or the other. A file of several
/// names is copied over; if that is cut short, reading it again finishes it.
///
/// # Errors
/// As [`write_bytes`]; the file is then as it was.
pub fn save(path: &Path, scene: &Scene) -> Result<u64, StorageError> {
    let text = scene_text(scene)?;
    check_target(path)?;
    // A link stays a link: what it points at is replaced.
    let path = through_links(path);
    if path.exists() {
        finish_copy(&path);
        let previous = read_bytes(&path, FILE_BYTES_MAX)?;
        let kept = beside(&path, PREVIOUS_SUFFIX);
        check_there(&kept)?;
        put(&kept, &previous)?;
    }
    put(&path, text.as_bytes())?;
    Ok(super::sum_of(text.as_bytes()))
}

/// Writes a whole file at once, over a file of that name: for files of this
/// program's own, and those that the keeper said yes to in a dialog. Commands
/// write through [`super::WriteGuard`].
///
/// # Errors
/// [`StorageError::NotAFile`], [`StorageError::IsFolder`],
/// [`StorageError::Protected`], [`StorageError::BadName`],
/// [`StorageError::Write`]; the file is then as it was.
#[tracing::instrument(level = "debug", skip_all, fields(path = %path.display()), err(level = "warn"))]
pub fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), StorageError> {
    check_target(path)?;
    put(path, bytes)
}

/// Writes to a checked target: first under another name in the same folder,
/// then moved into place. Permissions stay as they were, so do links; the
/// owner where the system lets us.
pub(super) fn put(path: &Path, bytes: &[u8]) -> Result<(), StorageError> {
    let failed = |source: std::io::Error| failed_at(path, &source);
    let target = through_links(path);
    let folder = folder_of(&target);
    let mut part = part_in(&folder).map_err(failed)?;
    part.write_all(bytes).map_err(failed)?;
    let about = fs::metadata(&target).ok();
    if let Some(about) = &about {
        let file = part.as_file();
        file.set_permissions(about.permissions()).map_err(failed)?;
        keep_owner(file, about);
    }
    part.as_file().sync_all().map_err(failed)?;
    if about.is_some_and(|about| has_other_names(&about)) {
        // Moved into place it would part from its other names.
        let coming = coming(&target);
        check_there(&coming)?;
        part.persist(coming).map_err(|error| failed(error.error))?;
        sync_folder(&folder);
        copy_into(&target, bytes).map_err(failed)?;
    } else {
        part.persist(&target).map_err(|error| failed(error.error))?;
    }
    sync_folder(&folder);
    Ok(())
}

/// Makes what was moved in a folder last. Not every file system lets a folder
/// be synced; the files are whole either way.
fn sync_folder(folder: &Path) {
    if let Ok(folder) = fs::File::open(folder) {
        drop(folder.sync_all());
    }
}

/// The path of a file with more after its name.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = path.file_name().map(OsString::from).unwrap_or_default();
    name.push(suffix);
    path.with_file_name(name)
}

/// Whether a file can be made beside `path`, tried and taken away again.
pub(super) fn try_folder(path: &Path) -> Result<(), StorageError> {
    let folder = folder_of(&through_links(path));
    let made = part_in(&folder).map(drop);
    made.map_err(|source| failed_at(path, &source))
}

/// A file that is taken away again unless it is moved into place.
fn part_in(folder: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // What any new file gets, less the umask, rather than a private file.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

/// Where a path leads, also if nothing is there yet.
pub(super) fn through_links(path: &Path) -> PathBuf {
    const LINKS_MAX: usize = 40;
    if let Ok(real) = fs::canonicalize(path) {
        return real;
    }
    let mut path = path.to_owned();
    for _ in 0..LINKS_MAX {
        let Ok(next) = fs::read_link(&path) else {
            break;
        };
        path = folder_of(&path).join(next);
    }
    path
}

#[cfg(unix)]
fn keep_owner(file: &fs::File, about: &fs::Metadata) {
    use std::os::unix::fs::MetadataExt as _;
    // Only root may give files away; whoever may not keeps its own.
    drop(std::os::unix::fs::fchown(
        file,
        Some(about.uid()),
        Some(about.gid()),
    ));
}

#[cfg(not(unix))]
fn keep_owner(_file: &fs::File, _about: &fs::Metadata) {}

/// Makes a folder and those above it, unless it is there.
///
/// # Errors
/// [`StorageError::Write`].
#[tracing::instrument(level = "debug", skip_all, fields(path = %path.display()), err(level = "warn"))]
pub fn make_folder(path: &Path) -> Result<(), StorageError> {
    fs::create_dir_all(path).map_err(|source| failed_at(path, &source))
}

fn failed_at(path: &Path, source: &std::io::Error) -> StorageError {
    let source = plain(source);
    StorageError::Write {
        path: path.to_owned(),
        way_out: way_out(&source),
        source,
    }
}

/// The system's own word, without names of files that come and go.
fn plain(error: &std::io::Error) -> std::io::Error {
    let mut inner = error.get_ref().and_then(std::error::Error::source);
    while let Some(cause) = inner {
        let system = cause.downcast_ref::<std::io::Error>();
        if let Some(code) = system.and_then(std::io::Error::raw_os_error) {
            return std::io::Error::from_raw_os_error(code);
        }
        inner = cause.source();
    }
    match error.raw_os_error() {
        Some(code) => std::io::Error::from_raw_os_error(code),
        None => error.kind().into(),
    }
}

/// The scene as RON: fields in the order of the model, short brackets on one
/// line, points of an outline side by side. Comments of a file that was read
/// are lost.
///
/// # Errors
/// [`StorageError::Unwritable`], which no scene is known to cause.
pub fn scene_text(scene: &Scene) -> Result<String, StorageError> {
    let style = PrettyConfig::new().new_line("\n").indentor("    ");
    let mut text = ron::ser::to_string_pretty(scene, style)
        .map_err(|source| StorageError::Unwritable { source })?;
    text.push('\n');
    Ok(tidied(&text))
}

/// Draws brackets whose content is short together on one line, and fills lines
/// with the points of long outlines. Works line by line: strings of the writer
/// never hold a line break.
fn tidied(text: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut opened: Vec<usize> = Vec::new();
    for line in text.lines() {
        let content = line.trim_start();
        let closes = content.starts_with([')', ']', '}']);
        lines.push(line.to_owned());
        if closes
            && let Some(start) = opened.pop()
            && start > 0
        {
            close_bracket(&mut lines, start);
        }
        if content.ends_with(['(', '[', '{']) {
            opened.push(lines.len() - 1);
        }
    }
    let mut tidy = lines.join("\n");
    tidy.push('\n');
    tidy
}

/// Draws the lines from `start` on together if they fit on one.
fn close_bracket(lines: &mut Vec<String>, start: usize) {
    let inner: Vec<&str> = lines[start + 1..lines.len() - 1]
        .iter()
        .map(|line| line.trim())
        .collect();
    let content = inner.join(" ");
    let last = lines[lines.len() - 1].trim().to_owned();
    let joined = format!("{}{}{last}", lines[start], content.trim_end_matches(','));
    // A list of items reads better one a line, however short.
    let is_item_list = lines[start].ends_with('[') && inner.iter().any(|line| line.contains(": "));
    if joined.chars().count() <= LINE_CHARS_MAX && !is_item_list {
        lines.truncate(start);
        lines.push(joined);
    } else if inner.iter().all(|line| is_vector(line)) {
        let filled = filled(&inner, lines[start + 1].len() - inner[0].len());
        let close = lines.pop().unwrap_or_default();
        lines.truncate(start + 1);
        lines.extend(filled);
        lines.push(close);
    }
}

/// Whether a line is one vector, as `(1.0, -2.5),`.
fn is_vector(line: &str) -> bool {
    line.starts_with('(')
        && line.ends_with("),")
        && line
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || "()+-., ".contains(c))
}

/// Vectors side by side, as many a line as fit.
fn filled(vectors: &[&str], indent: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for vector in vectors {
        match lines.last_mut() {
            Some(line) if line.len() + 1 + vector.len() <= LINE_CHARS_MAX => {
                line.push(' ');
                line.push_str(vector);
            }
            _ => lines.push(format!("{:indent$}{vector}", "")),
        }
    }
    lines
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

pub(super) fn way_out(source: &std::io::Error) -> &'static str {
    use std::io::ErrorKind;
    match source.kind() {
        ErrorKind::NotFound => "its folder does not exist; make it or pick another",
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "save it in a folder of your own"
        }
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            "make room on the disk, or save it elsewhere"
        }
        ErrorKind::IsADirectory => "a folder has this name; pick another",
        _ => "try another folder",
    }
}

//! From a scene to disk, never leaving half a file.

use std::ffi::OsString;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use ron::ser::PrettyConfig;

use super::StorageError;
use crate::scene::Scene;

/// What is put after a file's name to name its previous version.
pub const PREVIOUS_SUFFIX: &str = ".previous";

/// Longest line that short brackets are drawn together on.
const LINE_CHARS_MAX: usize = 110;

/// Writes a scene; the version that was there is kept beside it, with
/// [`PREVIOUS_SUFFIX`] after its name.
///
/// The new text is complete on disk under another name before it takes the
/// place of the old one, so a crash leaves one or the other.
///
/// # Errors
/// [`StorageError::Write`]; the file is then as it was.
pub fn save(path: &Path, scene: &Scene) -> Result<(), StorageError> {
    let text = scene_text(scene)?;
    // A link stays a link: what it points at is replaced.
    let path = fs::canonicalize(path).unwrap_or_else(|_missing| path.to_owned());
    if let Ok(previous) = fs::read(&path) {
        let mut name = path.file_name().map(OsString::from).unwrap_or_default();
        name.push(PREVIOUS_SUFFIX);
        write_bytes(&path.with_file_name(name), &previous)?;
    }
    write_bytes(&path, text.as_bytes())
}

/// Writes a whole file at once: first under another name in the same folder,
/// then moved into place.
///
/// # Errors
/// [`StorageError::Write`]; the file is then as it was.
#[tracing::instrument(level = "debug", skip_all, fields(path = %path.display()), err(level = "warn"))]
pub fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), StorageError> {
    let failed = |source: std::io::Error| StorageError::Write {
        path: path.to_owned(),
        way_out: way_out(&source),
        source,
    };
    let folder = folder_of(path);
    let mut builder = tempfile::Builder::new();
    builder.prefix(".").suffix(".part");
    let permissions = fs::metadata(path).ok().map(|about| about.permissions());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // What any new file gets, less the umask, rather than a private file.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut part = builder.tempfile_in(&folder).map_err(failed)?;
    part.write_all(bytes).map_err(failed)?;
    if let Some(permissions) = permissions {
        part.as_file()
            .set_permissions(permissions)
            .map_err(failed)?;
    }
    part.as_file().sync_all().map_err(failed)?;
    part.persist(path).map_err(|error| failed(error.error))?;
    // The move itself must last too. Not every file system lets a folder be
    // synced; the file is whole either way.
    if let Ok(folder) = fs::File::open(&folder) {
        drop(folder.sync_all());
    }
    Ok(())
}

/// Makes a folder and those above it, unless it is there.
///
/// # Errors
/// [`StorageError::Write`].
#[tracing::instrument(level = "debug", skip_all, fields(path = %path.display()), err(level = "warn"))]
pub fn make_folder(path: &Path) -> Result<(), StorageError> {
    fs::create_dir_all(path).map_err(|source| StorageError::Write {
        path: path.to_owned(),
        way_out: way_out(&source),
        source,
    })
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

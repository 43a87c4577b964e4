//! From disk to text.

use std::fs::File;
use std::io::{ErrorKind, Read as _};
use std::path::Path;

use super::copy::finish_copy;
use super::guard::check_kind;
use super::locate::position_of;
use super::{FILE_BYTES_MAX, Loaded, StorageError, parse};

/// The scene in a file. A save into it that was cut short is finished first.
///
/// # Errors
/// [`StorageError`] names the file, the place in it, and the way out.
pub fn load(path: &Path) -> Result<Loaded, StorageError> {
    finish_copy(path);
    parse(&read_text(path)?, &path.display().to_string())
}

/// The text of a file of at most [`FILE_BYTES_MAX`].
///
/// # Errors
/// If it is missing, a folder, too large, unreadable or not UTF-8.
#[tracing::instrument(level = "debug", skip_all, fields(path = %path.display()), err(level = "warn"))]
pub fn read_text(path: &Path) -> Result<String, StorageError> {
    let name = path.display().to_string();
    String::from_utf8(read_bytes(path, FILE_BYTES_MAX)?).map_err(|error| {
        let good_len = error.utf8_error().valid_up_to();
        let good = String::from_utf8_lossy(&error.as_bytes()[..good_len]).into_owned();
        StorageError::NotText {
            file: name,
            at: position_of(&good, good_len),
        }
    })
}

/// The bytes of a file of at most `limit` bytes.
///
/// # Errors
/// If it is missing, a folder, too large or unreadable.
pub fn read_bytes(path: &Path, limit: u64) -> Result<Vec<u8>, StorageError> {
    let failed = |source: std::io::Error| match source.kind() {
        ErrorKind::NotFound => StorageError::Missing {
            path: path.to_owned(),
        },
        ErrorKind::IsADirectory => StorageError::IsFolder {
            path: path.to_owned(),
        },
        _ => StorageError::Read {
            path: path.to_owned(),
            source,
        },
    };
    // Asked before it is opened: opening a pipe waits for whoever writes to it,
    // and on some systems opening a folder fails in less clear words.
    let about = path.metadata().map_err(failed)?;
    if about.is_dir() {
        return Err(StorageError::IsFolder {
            path: path.to_owned(),
        });
    }
    check_kind(path, &about)?;
    if about.len() > limit {
        return Err(StorageError::TooLarge {
            file: path.display().to_string(),
            bytes: about.len(),
            limit,
        });
    }
    let mut bytes = Vec::new();
    // Some files have no length to ask for, so the reading itself is bounded.
    let file = File::open(path).map_err(failed)?;
    file.take(limit + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    if bytes.len() as u64 > limit {
        let bytes = path.metadata().map_or(bytes.len() as u64, |about| {
            about.len().max(bytes.len() as u64)
        });
        return Err(StorageError::TooLarge {
            file: path.display().to_string(),
            bytes,
            limit,
        });
    }
    Ok(bytes)
}

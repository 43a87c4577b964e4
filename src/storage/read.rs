//! From disk to text.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{ErrorKind, Read as _};
use std::path::Path;

use super::locate::position_of;
use super::{FILE_BYTES_MAX, Loaded, StorageError, parse};
use crate::scene::{Scene, Spread};

/// The scene in a file.
///
/// # Errors
/// [`StorageError`] names the file, the place in it, and the way out.
pub fn load(path: &Path) -> Result<Loaded, StorageError> {
    parse(&read_text(path)?, &path.display().to_string())
}

/// The text of a file of at most [`FILE_BYTES_MAX`].
///
/// # Errors
/// If it is missing, a folder, too large, unreadable or not UTF-8.
#[tracing::instrument(level = "debug", skip_all, fields(path = %path.display()), err(level = "warn"))]
pub fn read_text(path: &Path) -> Result<String, StorageError> {
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
    // On some systems opening a folder fails in less clear words.
    if path.is_dir() {
        return Err(StorageError::IsFolder {
            path: path.to_owned(),
        });
    }
    let mut bytes = Vec::new();
    // A device or pipe has no length to ask for, so the reading itself is bounded.
    let file = File::open(path).map_err(failed)?;
    file.take(FILE_BYTES_MAX + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    let name = path.display().to_string();
    if bytes.len() as u64 > FILE_BYTES_MAX {
        let bytes = path.metadata().map_or(bytes.len() as u64, |about| {
            about.len().max(bytes.len() as u64)
        });
        return Err(StorageError::TooLarge {
            file: name,
            bytes,
            limit: FILE_BYTES_MAX,
        });
    }
    String::from_utf8(bytes).map_err(|error| {
        let good_len = error.utf8_error().valid_up_to();
        let good = String::from_utf8_lossy(&error.as_bytes()[..good_len]).into_owned();
        StorageError::NotText {
            file: name,
            at: position_of(&good, good_len),
        }
    })
}

/// Texts of the measured distributions (IES files) that lamps of any layout
/// name, by file name, read from the folder that holds the scene.
///
/// # Errors
/// [`StorageError::Measured`] names the lamp, the file and why.
pub fn read_measured(
    scene: &Scene,
    folder: &Path,
) -> Result<BTreeMap<String, String>, StorageError> {
    let mut texts = BTreeMap::new();
    for lamp in scene.layouts.iter().flat_map(|layout| &layout.lamps) {
        let Spread::Measured { file } = &lamp.spread else {
            continue;
        };
        if texts.contains_key(file) {
            continue;
        }
        let text = read_text(&folder.join(file)).map_err(|source| StorageError::Measured {
            lamp: lamp.name.clone(),
            file: file.clone(),
            source: Box::new(source),
        })?;
        texts.insert(file.clone(), text);
    }
    Ok(texts)
}

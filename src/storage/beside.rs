//! Measured lamp files: they lie beside the scene that names them, go along
//! when it is saved elsewhere, and are known again by their sum.

use std::collections::BTreeMap;
use std::path::Path;

use super::{StorageError, free_beside, read_bytes, read_text, sum_words, write_bytes};
use crate::photo::BYTES_MAX;
use crate::scene::{Lamp, Scene, Spread};

/// A lamp file that is not as the scene knew it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LampFault {
    /// The lamp.
    pub lamp: String,
    /// The file that it names.
    pub file: String,
    /// Whether there is a file at all, though another one.
    pub is_there: bool,
    /// What is wrong, and the way out.
    pub problem: String,
}

/// What was found beside a scene.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Beside {
    /// Texts of the lamp files, by the name that the scene gives them.
    pub texts: BTreeMap<String, String>,
    /// Files that are missing, unreadable or other ones.
    pub faults: Vec<LampFault>,
}

/// All lamps of a scene that name a file.
fn measured(scene: &Scene) -> impl Iterator<Item = (&Lamp, &str, &str)> {
    let lamps = scene.layouts.iter().flat_map(|layout| &layout.lamps);
    lamps.filter_map(|lamp| match &lamp.spread {
        Spread::Measured { file, sum } => Some((lamp, file.as_str(), sum.as_str())),
        Spread::Beam { .. } => None,
    })
}

/// Reads the lamp files of a scene from `folder`. One that cannot be read or
/// is another than it was is a fault, and the others are read all the same.
pub fn read_beside(scene: &Scene, folder: &Path) -> Beside {
    let mut beside = Beside::default();
    let mut failed: BTreeMap<&str, String> = BTreeMap::new();
    for (lamp, file, sum) in measured(scene) {
        if !beside.texts.contains_key(file) && !failed.contains_key(file) {
            match read_text(&folder.join(file)) {
                Ok(text) => drop(beside.texts.insert(file.to_owned(), text)),
                Err(error) => drop(failed.insert(file, error.to_string())),
            }
        }
        let problem = match (beside.texts.get(file), failed.get(file)) {
            (Some(text), _) if sum.is_empty() || *sum == sum_words(text.as_bytes()) => continue,
            (Some(_), _) => "this is another file than the scene was saved with, so the light may \
                differ; give the lamp its file again"
                .to_owned(),
            (None, Some(problem)) => problem.clone(),
            (None, None) => continue,
        };
        beside.faults.push(LampFault {
            lamp: lamp.name.clone(),
            file: file.to_owned(),
            is_there: beside.texts.contains_key(file),
            problem,
        });
    }
    beside
}

/// Brings the lamp files of a scene into `folder`, as `bring_files` does.
///
/// # Errors
/// [`StorageError::Write`]; files before that one are written.
pub fn bring_along(
    scene: &Scene,
    place: (&Path, bool),
    texts: &BTreeMap<String, String>,
    new: &[String],
) -> Result<Vec<(String, String)>, StorageError> {
    bring_files(measured(scene).map(|(_, file, _)| file), place, texts, new)
}

/// Brings files into `folder`. A file of that name and another content stays
/// as it is: ours then gets a free name, under which the returned pairs
/// (before, now) say it is found. With `is_home` the folder is where the
/// scene's files come from: what lies there is left alone, but for files in
/// `new`.
///
/// # Errors
/// [`StorageError::Write`]; files before that one are written.
pub(super) fn bring_files<'a, C: AsRef<[u8]>>(
    files: impl Iterator<Item = &'a str>,
    (folder, is_home): (&Path, bool),
    contents: &BTreeMap<String, C>,
    new: &[String],
) -> Result<Vec<(String, String)>, StorageError> {
    let mut renamed: Vec<(String, String)> = Vec::new();
    let mut done: Vec<&str> = Vec::new();
    for file in files {
        let Some(content) = contents.get(file).map(AsRef::as_ref) else {
            continue;
        };
        if done.contains(&file) {
            continue;
        }
        done.push(file);
        let path = folder.join(file);
        let is_new = new.iter().any(|new| new == file);
        match read_bytes(&path, BYTES_MAX) {
            Ok(there) if there == content => {}
            Err(StorageError::Missing { .. }) => write_bytes(&path, content)?,
            _ if is_home && !is_new => {}
            // Another file, or something that is none: it stays as it is.
            _ => {
                let free = free_beside(&path);
                write_bytes(&free, content)?;
                let name = free.file_name().unwrap_or_default().to_string_lossy();
                renamed.push((file.to_owned(), name.into_owned()));
            }
        }
    }
    Ok(renamed)
}

/// Names lamp files as [`bring_along`] says that they are called now.
pub fn rename_lamp_files(scene: &mut Scene, renamed: &[(String, String)]) {
    for lamp in scene.layouts.iter_mut().flat_map(|it| &mut it.lamps) {
        if let Spread::Measured { file, .. } = &mut lamp.spread
            && let Some((_, now)) = renamed.iter().find(|(before, _)| before == file)
        {
            file.clone_from(now);
        }
    }
}

/// The scene with the sum of each lamp file that is known beside its name.
pub fn with_sums(scene: &Scene, texts: &BTreeMap<String, String>) -> Scene {
    let mut scene = scene.clone();
    let lamps = scene.layouts.iter_mut().flat_map(|it| &mut it.lamps);
    for lamp in lamps {
        if let Spread::Measured { file, sum } = &mut lamp.spread
            && let Some(text) = texts.get(file)
        {
            *sum = sum_words(text.as_bytes());
        }
    }
    scene
}

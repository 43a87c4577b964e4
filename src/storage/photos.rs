//! Photos under the drawing: like measured lamp files they lie beside the scene
//! that names them and go along when it is saved elsewhere.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use super::beside::bring_files;
use super::{StorageError, read_bytes, sum_words};
use crate::photo::BYTES_MAX;
use crate::scene::Scene;

/// Bytes of photos by the name that the scene gives them; shared, since they
/// are large.
pub type PhotoFiles = BTreeMap<String, Arc<Vec<u8>>>;

/// A photo that is not as the scene knew it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PhotoFault {
    /// Its file.
    pub file: String,
    /// What is wrong, and the way out.
    pub problem: String,
}

/// The bytes of one picture, of bounded size.
///
/// # Errors
/// As [`read_bytes`].
pub fn read_photo(path: &Path) -> Result<Vec<u8>, StorageError> {
    read_bytes(path, BYTES_MAX)
}

/// Reads the photos of a scene from `folder`. One that cannot be read or is
/// another than it was is a fault, and the others are read all the same.
pub fn read_photos(scene: &Scene, folder: &Path) -> (PhotoFiles, Vec<PhotoFault>) {
    let (mut files, mut faults) = (PhotoFiles::new(), Vec::new());
    for photo in &scene.underlays {
        let mut fault = |problem: String| {
            faults.push(PhotoFault {
                file: photo.file.clone(),
                problem,
            });
        };
        match read_photo(&folder.join(&photo.file)) {
            Ok(bytes) => {
                if !photo.sum.is_empty() && photo.sum != sum_words(&bytes) {
                    fault(
                        "this is another picture than the scene was saved with, so its corners \
                        may lie elsewhere; set them anew"
                            .to_owned(),
                    );
                }
                files.insert(photo.file.clone(), Arc::new(bytes));
            }
            Err(error) => fault(error.to_string()),
        }
    }
    (files, faults)
}

/// Brings the photos of a scene into the folder where it is saved, as lamp
/// files are brought along.
///
/// # Errors
/// [`StorageError::Write`]; files before that one are written.
pub fn bring_photos(
    scene: &Scene,
    place: (&Path, bool),
    files: &PhotoFiles,
    new: &[String],
) -> Result<Vec<(String, String)>, StorageError> {
    // A shared vector is no slice of bytes to the borrow checker's eye.
    let contents: BTreeMap<String, &[u8]> = files
        .iter()
        .map(|(file, bytes)| (file.clone(), bytes.as_slice()))
        .collect();
    let names = scene.underlays.iter().map(|photo| photo.file.as_str());
    bring_files(names, place, &contents, new)
}

/// Names photos as [`bring_photos`] says that they are called now.
pub fn rename_photos(scene: &mut Scene, renamed: &[(String, String)]) {
    for photo in &mut scene.underlays {
        if let Some((_, now)) = renamed.iter().find(|(before, _)| *before == photo.file) {
            photo.file.clone_from(now);
        }
    }
}

/// The scene with the sum of each photo that is known beside its name.
pub fn with_photo_sums(mut scene: Scene, files: &PhotoFiles) -> Scene {
    for photo in &mut scene.underlays {
        if let Some(bytes) = files.get(&photo.file) {
            photo.sum = sum_words(bytes);
        }
    }
    scene
}

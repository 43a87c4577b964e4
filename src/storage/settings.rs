//! The keeper's choices, as one RON file in the data folder.

use std::fs;
use std::path::Path;

use ron::ser::PrettyConfig;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::{StorageError, write_bytes};

/// Name of the file.
const FILE: &str = "choices.ron";

/// The choices in `folder`; the default where there are none or they do not read.
pub fn load_choices<T: DeserializeOwned + Default>(folder: &Path) -> T {
    fs::read_to_string(folder.join(FILE))
        .ok()
        .and_then(|text| ron::from_str(&text).ok())
        .unwrap_or_default()
}

/// Writes the choices into `folder`, which is made where it is missing.
///
/// # Errors
/// [`StorageError::Write`], [`StorageError::Unwritable`].
pub fn save_choices<T: Serialize>(folder: &Path, choices: &T) -> Result<(), StorageError> {
    let text = ron::ser::to_string_pretty(choices, PrettyConfig::new())
        .map_err(|source| StorageError::Unwritable { source })?;
    fs::create_dir_all(folder).map_err(|source| StorageError::Write {
        path: folder.to_owned(),
        way_out: "choices are not kept",
        source,
    })?;
    write_bytes(&folder.join(FILE), text.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_come_back_and_nonsense_gives_the_default() {
        let folder = tempfile::tempdir().expect("a folder");
        assert_eq!(load_choices::<u32>(folder.path()), 0, "none yet");
        save_choices(folder.path(), &7_u32).expect("written");
        assert_eq!(load_choices::<u32>(folder.path()), 7, "as written");
        fs::write(folder.path().join(FILE), "nonsense").expect("written");
        assert_eq!(load_choices::<u32>(folder.path()), 0, "default");
    }
}

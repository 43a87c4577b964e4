//! Files opened or saved lately, newest first.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

/// Files remembered.
const FILES_MAX: usize = 12;

/// The list, newest first.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Recent {
    files: Vec<PathBuf>,
}

impl Recent {
    /// Puts a file in front.
    pub fn note(&mut self, path: &Path) {
        let path = std::path::absolute(path).unwrap_or_else(|_unknown| path.to_owned());
        self.files.retain(|old| *old != path);
        self.files.insert(0, path);
        self.files.truncate(FILES_MAX);
    }

    /// Those that are still there, newest first.
    pub fn present(&self) -> Vec<&Path> {
        let files = self.files.iter().map(PathBuf::as_path);
        files.filter(|path| path.is_file()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_is_first_and_stands_once() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut recent = Recent::default();
        let paths: Vec<PathBuf> = (0..3)
            .map(|n| folder.path().join(format!("{n}.ron")))
            .collect();
        for path in [&paths[0], &paths[1], &paths[2], &paths[0]] {
            recent.note(path);
        }
        std::fs::write(&paths[0], "").expect("written");
        std::fs::write(&paths[2], "").expect("written");
        assert_eq!(
            recent.present(),
            [paths[0].as_path(), paths[2].as_path()],
            "in order, each once, and only those on disk"
        );
    }
}

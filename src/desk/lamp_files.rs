//! Measured lamp files on the desk: read from beside the scene, taken in by
//! hand, brought along when the scene is saved.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use super::{Desk, Subject};
use crate::light::{Distribution, Measured, distribution_from_ies};
use crate::scene::{ItemId, Spread};
use crate::storage;

impl Desk {
    /// Texts of the lamp files that are in no folder yet, by name.
    pub fn new_lamp_files(&self) -> BTreeMap<String, String> {
        let texts = self.measured_texts.iter();
        texts
            .filter(|(file, _)| self.new_lamp_files.contains(file))
            .map(|(file, text)| (file.clone(), text.clone()))
            .collect()
    }

    /// Takes in lamp files that were kept with unsaved work.
    pub fn take_lamp_files(&mut self, texts: BTreeMap<String, String>) {
        for (file, text) in texts {
            match distribution_from_ies(&text, &file) {
                Ok(distribution) => self.put_lamp_file(&file, text, distribution),
                Err(error) => self.fail(
                    Subject::Lamp,
                    "A measured lamp could not be read",
                    error.to_string(),
                ),
            }
        }
    }

    /// Takes in one lamp file, under a name that no other file of the scene
    /// has; that name is returned.
    pub(super) fn take_lamp_file(
        &mut self,
        file: &str,
        text: String,
        distribution: Distribution,
    ) -> String {
        let is_other = |name: &str| self.measured_texts.get(name).is_some_and(|it| *it != text);
        let (stem, ending) = file.rsplit_once('.').unwrap_or((file, "ies"));
        let numbered = |n: u32| match n {
            1 => file.to_owned(),
            n => format!("{stem}-{n}.{ending}"),
        };
        let free = (1..u32::MAX).map(numbered).find(|name| !is_other(name));
        let name = free.unwrap_or_else(|| file.to_owned());
        self.put_lamp_file(&name, text, distribution);
        name
    }

    fn put_lamp_file(&mut self, file: &str, text: String, distribution: Distribution) {
        let mut measured = Measured::clone(&self.measured);
        measured.insert(file.to_owned(), distribution);
        self.measured = Arc::new(measured);
        if self.measured_texts.insert(file.to_owned(), text).is_none() {
            self.new_lamp_files.push(file.to_owned());
        }
    }

    /// Lamps of the layout whose measured file is not there or does not read.
    pub(super) fn lamps_without_file(&self) -> Vec<ItemId> {
        let lamps = self.layout().lamps.iter();
        let lamps = lamps.filter(|lamp| match &lamp.spread {
            Spread::Measured { file, .. } => !self.measured.contains_key(file),
            Spread::Beam { .. } => false,
        });
        lamps.map(|lamp| lamp.id).collect()
    }

    /// Brings the lamp files into the folder of `scene_path`. Where another
    /// file has the name of one, the scene names ours by its new name.
    pub(super) fn bring_lamp_files(&mut self, scene_path: &Path) {
        let folder = |path: &Path| path.parent().unwrap_or(Path::new("")).to_owned();
        let to = folder(scene_path);
        let is_home = self.document.path.as_deref().map(folder) == Some(to.clone());
        let scene = Arc::clone(self.document.scene());
        let (texts, new) = (&self.measured_texts, &self.new_lamp_files);
        match storage::bring_along(&scene, (&to, is_home), texts, new) {
            Ok(renamed) => {
                self.new_lamp_files.clear();
                if !renamed.is_empty() {
                    self.rename_lamp_files(&renamed);
                }
            }
            Err(error) => self.fail(
                Subject::Lamp,
                "A lamp file could not be saved beside the scene",
                error.to_string(),
            ),
        }
    }

    fn rename_lamp_files(&mut self, renamed: &[(String, String)]) {
        for (before, now) in renamed {
            let mut measured = Measured::clone(&self.measured);
            if let Some(distribution) = measured.get(before).cloned() {
                measured.insert(now.clone(), distribution);
            }
            self.measured = Arc::new(measured);
            if let Some(text) = self.measured_texts.get(before).cloned() {
                self.measured_texts.insert(now.clone(), text);
            }
        }
        self.document.edit("lamp file under another name", |scene| {
            storage::rename_lamp_files(scene, renamed);
        });
    }

    /// Reads the measured lamp distributions that the scene names, from beside
    /// its file; what is wrong with one is said, and the scene stays open.
    pub(super) fn read_measured(&mut self) {
        self.measured = Arc::default();
        self.measured_texts.clear();
        self.new_lamp_files.clear();
        let scene = Arc::clone(self.document.scene());
        let Some(folder) = self.document.path.as_deref().and_then(Path::parent) else {
            return;
        };
        let beside = storage::read_beside(&scene, folder);
        for fault in &beside.faults {
            let summary = if fault.is_there {
                "A measured lamp has another file than before"
            } else {
                "A measured lamp could not be read"
            };
            let reason = format!("{:?}, {:?}: {}", fault.lamp, fault.file, fault.problem);
            self.fail(Subject::Lamp, summary, reason);
        }
        let mut measured = Measured::new();
        for (file, text) in &beside.texts {
            match distribution_from_ies(text, file) {
                Ok(distribution) => drop(measured.insert(file.clone(), distribution)),
                Err(error) => self.fail(
                    Subject::Lamp,
                    "A measured lamp could not be read",
                    error.to_string(),
                ),
            }
        }
        self.measured = Arc::new(measured);
        self.measured_texts = beside.texts;
    }
}

//! Opening and saving: an error leaves the open scene as it was.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::{Change, Command, Desk, Levels, Notice, NoticeKind, Results};
use crate::document::Document;
use crate::light::{Measured, distribution_from_ies};
use crate::scene::{Item, Scene, Spread};
use crate::storage;

impl Desk {
    /// Opens a file in place of the open scene. On an error the scene stays
    /// and a notice says what is wrong. Returns whether it was opened.
    pub fn open(&mut self, path: &Path) -> bool {
        match storage::load(path) {
            Ok(loaded) => {
                self.put_on(Document::new(loaded.scene, Some(path.to_owned())));
                let n = loaded.issues.len();
                if n > 0 {
                    let lines: Vec<String> =
                        loaded.issues.iter().map(ToString::to_string).collect();
                    let things = if n == 1 { "one thing" } else { "some things" };
                    let summary = format!("Opened, with {things} to look at");
                    self.tell(
                        Notice::new(NoticeKind::Warning, summary).with_details(lines.join("\n")),
                    );
                }
                true
            }
            Err(error) => {
                let notice = Notice::new(
                    NoticeKind::Error,
                    "This file could not be opened; the open scene is unchanged",
                );
                self.tell(notice.with_details(error.to_string()));
                false
            }
        }
    }

    /// Puts a scene that is in no file on the desk.
    pub fn open_scene(&mut self, scene: Scene) {
        self.put_on(Document::new(scene, None));
    }

    /// Saves to `path` and remembers it. On an error a notice says why, and
    /// the scene still counts as unsaved. Returns whether it was saved.
    pub fn save_to(&mut self, path: PathBuf) -> bool {
        match storage::save(&path, self.document.scene()) {
            Ok(()) => {
                self.tell(Notice::new(
                    NoticeKind::Done,
                    format!("Saved to {}", path.display()),
                ));
                self.write_measured(&path);
                self.document.mark_saved(path);
                true
            }
            Err(error) => {
                let notice = Notice::new(
                    NoticeKind::Error,
                    "The scene could not be saved; it is still open here",
                );
                self.tell(notice.with_details(error.to_string()));
                false
            }
        }
    }

    /// Reads an IES file for the selected lamp, or for the only one. On an
    /// error nothing changes and a notice says why.
    pub fn import_measured(&mut self, path: &Path) {
        let lamp = match (self.selected_item(), self.layout().lamps.as_slice()) {
            (Some(Item::Lamp(lamp)), _) => Some(lamp),
            (_, [only]) => Some(only.clone()),
            _ => None,
        };
        let Some(mut lamp) = lamp else {
            let hint = "Select the lamp that this file describes, then give it again";
            return self.tell(Notice::new(NoticeKind::Warning, hint));
        };
        let file = path
            .file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default();
        let read = storage::read_text(path).map_err(|error| error.to_string());
        let parsed = read.and_then(|text| {
            let distribution =
                distribution_from_ies(&text, &file).map_err(|error| error.to_string())?;
            Ok((text, distribution))
        });
        match parsed {
            Ok((text, distribution)) => {
                let mut measured = Measured::clone(&self.measured);
                measured.insert(file.clone(), distribution);
                self.measured = Arc::new(measured);
                self.measured_texts.insert(file.clone(), text);
                let name = if lamp.name.is_empty() {
                    format!("Lamp {}", lamp.id)
                } else {
                    format!("The lamp {}", lamp.name)
                };
                let shown = file.clone();
                lamp.spread = Spread::Measured { file };
                let change = Change::Put(Box::new(Item::Lamp(lamp)));
                self.run(Command::Edit("measured lamp".to_owned(), change));
                let done = format!("{name} now shines as {shown} says");
                self.tell(Notice::new(NoticeKind::Done, done));
            }
            Err(reason) => {
                let notice = Notice::new(
                    NoticeKind::Error,
                    "This lamp file could not be read; nothing was changed",
                );
                self.tell(notice.with_details(reason));
            }
        }
    }

    /// Writes the lamp files that came in since the scene was opened beside
    /// it, where there is none of that name.
    fn write_measured(&mut self, scene_path: &Path) {
        let folder = scene_path.parent().unwrap_or(Path::new(""));
        for (file, text) in self.measured_texts.clone() {
            let path = folder.join(&file);
            if path.exists() {
                continue;
            }
            if let Err(error) = storage::write_bytes(&path, text.as_bytes()) {
                self.fail(
                    "A lamp file could not be saved beside the scene",
                    error.to_string(),
                );
            }
        }
    }

    /// Shows a message.
    pub(super) fn tell(&mut self, notice: Notice) {
        self.notices.push(notice);
    }

    /// Says that something went wrong, once: not again while it still stands.
    pub(super) fn fail(&mut self, summary: &str, reason: String) {
        let notice = Notice::new(NoticeKind::Error, summary).with_details(reason);
        if !self.notices.contains(&notice) {
            self.tell(notice);
        }
    }

    /// Puts a document on the desk in place of the open one.
    pub fn put_on(&mut self, document: Document) {
        self.levels = Levels::for_scene(document.scene(), 0);
        self.document = document;
        // A plan that waits is of the scene before.
        self.stop_paper();
        self.layout_idx = 0;
        self.selection.clear();
        self.hidden.clear();
        self.results = Results::default();
        self.place = None;
        self.compared = None;
        self.follow_scene();
        self.read_measured();
    }

    /// Reads the measured lamp distributions that the scene names, from beside
    /// its file; what is wrong with one is said, and the scene stays open.
    fn read_measured(&mut self) {
        self.measured = Arc::default();
        self.measured_texts.clear();
        let scene = Arc::clone(self.document.scene());
        let Some(folder) = self.document.path.as_deref().and_then(Path::parent) else {
            return;
        };
        match storage::read_measured(&scene, folder) {
            Ok(texts) => {
                let mut measured = Measured::new();
                for (file, text) in texts {
                    match distribution_from_ies(&text, &file) {
                        Ok(distribution) => drop(measured.insert(file, distribution)),
                        Err(error) => {
                            self.fail("A measured lamp could not be read", error.to_string());
                        }
                    }
                }
                self.measured = Arc::new(measured);
            }
            Err(error) => self.fail("A measured lamp could not be read", error.to_string()),
        }
    }
}

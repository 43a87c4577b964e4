//! Opening and saving: an error leaves the open scene as it was.

use std::path::{Path, PathBuf};

use super::{Desk, Levels, Notice, NoticeKind};
use crate::document::Document;
use crate::scene::Scene;
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

    /// Shows a message.
    pub(super) fn tell(&mut self, notice: Notice) {
        self.notices.push(notice);
    }

    /// Puts a document on the desk in place of the open one.
    pub fn put_on(&mut self, document: Document) {
        self.levels = Levels::for_scene(document.scene(), 0);
        self.document = document;
        self.layout_idx = 0;
        self.selection.clear();
    }
}

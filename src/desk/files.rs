//! Opening and saving: an error leaves the open scene as it was.

use std::path::{Path, PathBuf};

use super::{Change, Command, Desk, Levels, Notice, NoticeKind, Results, Subject};
use crate::document::Document;
use crate::light::distribution_from_ies;
use crate::scene::{Item, Scene, Spread};
use crate::storage::{self, OnDisk};

impl Desk {
    /// Opens a file in place of the open scene. On an error the scene stays
    /// and a notice says what is wrong. Returns whether it was opened.
    pub fn open(&mut self, path: &Path) -> bool {
        match storage::load(path) {
            Ok(loaded) => {
                let sum = loaded.sum;
                self.put_on(Document::new(loaded.scene, Some(path.to_owned())));
                self.sum_on_disk = Some(sum);
                let n = loaded.issues.len();
                if n > 0 {
                    let lines: Vec<String> =
                        loaded.issues.iter().map(ToString::to_string).collect();
                    let things = if n == 1 { "one thing" } else { "some things" };
                    let summary = format!("Opened, with {things} to look at");
                    let notice = Notice::new(NoticeKind::Warning, summary);
                    self.tell(notice.with_details(lines.join("\n")));
                }
                true
            }
            Err(error) => {
                let notice = Notice::new(
                    NoticeKind::Error,
                    "This file could not be opened; the open scene is unchanged",
                );
                let notice = notice.with_details(error.to_string());
                self.tell(notice.about(Subject::File));
                false
            }
        }
    }

    /// Puts a scene that is in no file on the desk.
    pub fn open_scene(&mut self, scene: Scene) {
        self.put_on(Document::new(scene, None));
    }

    /// Whether `path` holds something that was not read or written here: the
    /// open file changed by someone else, or another file.
    pub fn is_other_on_disk(&self, path: &Path) -> bool {
        storage::on_disk(path, self.known_sum(path)) == OnDisk::Other
    }

    /// What the file held when it was last read or written here.
    fn known_sum(&self, path: &Path) -> Option<u64> {
        let is_open = self.document.path.as_deref() == Some(path);
        self.sum_on_disk.filter(|_| is_open)
    }

    /// Saves to `path` and remembers it, unless the open file was changed by
    /// someone else. On an error a notice says why, and the scene still counts
    /// as unsaved. Returns whether it was saved.
    pub fn save_to(&mut self, path: PathBuf) -> bool {
        let is_open = self.document.path.as_deref() == Some(&*path);
        if is_open && self.is_other_on_disk(&path) {
            let error = storage::StorageError::Changed { path };
            return self.not_saved(&error.to_string());
        }
        self.save_over(path)
    }

    /// Saves to `path` whatever is there; what was there is kept as the
    /// previous version. Returns whether it was saved.
    pub fn save_over(&mut self, path: PathBuf) -> bool {
        self.bring_lamp_files(&path);
        self.bring_photos(&path);
        let scene = storage::with_sums(self.document.scene(), &self.measured_texts);
        let scene = self.with_photo_sums(scene);
        match storage::save(&path, &scene) {
            Ok(sum) => {
                let saved = format!("Saved to {}", path.display());
                self.tell(Notice::new(NoticeKind::Done, saved).about(Subject::File));
                self.sum_on_disk = Some(sum);
                self.document.mark_saved(path);
                true
            }
            Err(error) => self.not_saved(&error.to_string()),
        }
    }

    fn not_saved(&mut self, reason: &str) -> bool {
        let summary = "The scene could not be saved; it is still open here";
        let notice = Notice::new(NoticeKind::Error, summary).with_details(reason);
        self.tell(notice.about(Subject::File));
        false
    }

    /// Says so if someone else changed the open file, once for each change.
    pub fn look_at_disk(&mut self) {
        let Some(path) = self.document.path.clone() else {
            return;
        };
        if self.is_other_on_disk(&path) {
            let notice = Notice::new(
                NoticeKind::Warning,
                "The open file was changed by someone else",
            );
            let way_out = "What is open here is as it was; saving will ask which to keep.";
            let notice = notice.with_details(format!("{}\n{way_out}", path.display()));
            self.tell(notice.about(Subject::File));
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
                let file = self.take_lamp_file(&file, text, distribution);
                let name = if lamp.name.is_empty() {
                    format!("Lamp {}", lamp.id)
                } else {
                    format!("The lamp {}", lamp.name)
                };
                let shown = file.clone();
                lamp.spread = Spread::measured(file);
                let change = Change::Put(Box::new(Item::Lamp(lamp)));
                self.run(Command::Edit("measured lamp".to_owned(), change));
                let done = format!("{name} now shines as {shown} says");
                self.tell(Notice::new(NoticeKind::Done, done).about(Subject::Lamp));
            }
            Err(reason) => {
                let notice = Notice::new(
                    NoticeKind::Error,
                    "This lamp file could not be read; nothing was changed",
                );
                self.tell(notice.with_details(reason).about(Subject::Lamp));
            }
        }
    }

    /// Shows a message, unless the same one stands there still. What was amiss
    /// with its subject before is over once something about it went as asked;
    /// of files only the newest try counts.
    pub(super) fn tell(&mut self, notice: Notice) {
        if notice.kind == NoticeKind::Done || notice.subject == Subject::File {
            self.settle(&notice.subject);
        }
        if !self.notices.contains(&notice) {
            self.notices.push(notice);
        }
    }

    /// Says that something went wrong.
    pub(super) fn fail(&mut self, subject: Subject, summary: &str, reason: String) {
        let notice = Notice::new(NoticeKind::Error, summary).with_details(reason);
        self.tell(notice.about(subject));
    }

    /// Takes back what was amiss with something that is over.
    pub(super) fn settle(&mut self, subject: &Subject) {
        if *subject != Subject::Nothing {
            let stays = |it: &Notice| it.subject != *subject || it.kind == NoticeKind::Done;
            self.notices.retain(stays);
        }
    }

    /// Takes back what a change of the scene has made moot: what was put back
    /// or failed before it, and how to handle corals that are not there.
    pub(super) fn settle_after_change(&mut self) {
        let scene = std::sync::Arc::clone(self.document.scene());
        let has = |entry: &str| {
            let mut corals = scene.layouts.iter().flat_map(|layout| &layout.corals);
            corals.any(|coral| coral.entry == entry)
        };
        self.notices.retain(|notice| match &notice.subject {
            Subject::Change | Subject::Estimate | Subject::Search => false,
            Subject::Handling(entry) => has(entry),
            _ => true,
        });
    }

    /// Puts a document on the desk in place of the open one.
    pub fn put_on(&mut self, document: Document) {
        self.levels = Levels::for_scene(document.scene(), 0);
        self.document = document;
        self.sum_on_disk = None;
        // A plan that waits is of the scene before.
        self.stop_paper();
        self.layout_idx = 0;
        self.selection.clear();
        self.hidden.clear();
        self.results = Results::default();
        // What was said of the scene before is moot.
        let stays = |notice: &Notice| notice.subject == Subject::Keeping;
        self.notices.retain(stays);
        self.place = None;
        self.compared = None;
        self.follow_scene();
        self.read_measured();
        self.read_photos();
    }
}

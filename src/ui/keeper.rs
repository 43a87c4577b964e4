//! Keeps unsaved work and the keeper's choices on disk while the window is
//! open, without making it wait.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::desk::{Desk, Notice, NoticeKind, Subject};
use crate::job::{Job, Update};
use crate::storage::{
    Autosave, Leftover, Marked, Presence, StorageError, Work, leftovers, mark_open, save_choices,
    write_work,
};
use crate::ui::choices::Choices;
use crate::ui::text;

/// Seconds of quiet before work is written.
const QUIET_S: f64 = 1.5;
/// Most seconds between two writings while the hand never rests.
const LATEST_S: f64 = 10.0;

/// Why work could not be kept.
#[derive(Debug, thiserror::Error)]
pub enum KeepError {
    /// The system names no folder for it.
    #[error("{}", text::NO_FOLDER)]
    NoFolder,
    /// The disk does not take it.
    #[error(transparent)]
    Disk(#[from] StorageError),
}

/// Where work and choices are kept, and what is there already.
#[derive(Default)]
pub struct Keeper {
    folder: Option<PathBuf>,
    place: Option<Autosave>,
    written_revision: Option<u64>,
    seen_revision: u64,
    changed_at_s: f64,
    written_at_s: f64,
    writing: Option<Job<()>>,
    choices: Option<Choices>,
    has_complained: bool,
    /// The file that is marked as open here, and the mark if it is ours.
    marked: Option<(PathBuf, Option<Presence>)>,
}

impl Keeper {
    /// Keeps things in `folder`; nothing is kept without one. Gives back work
    /// that was left over, and a word if the folder cannot be used.
    pub fn start(folder: Option<PathBuf>) -> (Self, Vec<Leftover>, Option<Notice>) {
        let Some(folder) = folder else {
            return (Self::default(), Vec::new(), None);
        };
        let left = leftovers(&folder);
        let (place, notice) = match Autosave::start(&folder) {
            Ok(place) => (Some(place), None),
            Err(error) => (None, Some(not_kept(&error.to_string()))),
        };
        let keeper = Self {
            folder: Some(folder),
            place,
            ..Self::default()
        };
        (keeper, left, notice)
    }

    /// Writes what is due, in the background. Returns a word if that failed.
    pub fn tend(&mut self, desk: &Desk, choices: &Choices, now_s: f64) -> Option<Notice> {
        let mut failed = None;
        if let Some(job) = &mut self.writing {
            for update in job.poll() {
                if let Update::Failed(reason) = update {
                    failed = Some(reason);
                }
            }
            if job.is_over() {
                self.writing = None;
            }
        }
        let document = desk.document();
        if document.revision() != self.seen_revision {
            self.seen_revision = document.revision();
            self.changed_at_s = now_s;
        }
        let rests = now_s - self.changed_at_s > QUIET_S;
        let is_due = rests || now_s - self.written_at_s > LATEST_S;
        if is_due && self.writing.is_none() && self.written_revision != Some(self.seen_revision) {
            self.written_at_s = now_s;
            self.written_revision = Some(self.seen_revision);
            if document.is_unsaved() {
                self.write_later(desk);
            } else if let Some(place) = &self.place {
                place.forget();
            }
        }
        if rests && self.writing.is_none() && self.choices.as_ref() != Some(choices) {
            self.keep_choices(choices);
        }
        let reason = failed.filter(|_| !std::mem::replace(&mut self.has_complained, true))?;
        Some(not_kept(&reason.to_string()))
    }

    /// Marks the open file as open here. Returns a word if another window has
    /// it.
    pub fn mark(&mut self, desk: &Desk) -> Option<Notice> {
        let path = desk.document().path.as_deref();
        if self.marked.as_ref().map(|(path, _)| path.as_path()) == path {
            return None;
        }
        // The old mark goes first: it may be of the same file by another name.
        self.marked = None;
        let (path, folder) = (path?, self.folder.as_deref()?);
        let (mark, other) = match mark_open(folder, path) {
            Marked::Ours(mark) => (Some(mark), None),
            Marked::Other(other) => (None, Some(other)),
            Marked::Unknown => (None, None),
        };
        self.marked = Some((path.to_owned(), mark));
        let other = other?;
        let details = text::other_window(&other.name, &text::age(other.age));
        Some(Notice::new(NoticeKind::Warning, text::OPEN_ELSEWHERE).with_details(details))
    }

    /// Whether something still waits to be written.
    pub fn is_waiting(&self, desk: &Desk) -> bool {
        self.place.is_some() && self.written_revision != Some(desk.document().revision())
    }

    fn write_later(&mut self, desk: &Desk) {
        let Some(place) = &self.place else { return };
        let target = place.path().to_owned();
        let scene = Arc::clone(desk.scene());
        let origin = desk.document().path.clone();
        let (lamps, photos) = (desk.new_lamp_files(), desk.new_photos());
        let job = Job::start("autosave", Arc::new(|| {}), move |_| {
            let work = Work {
                scene: &scene,
                lamp_files: &lamps,
                photos: &photos,
            };
            Ok(write_work(&target, work, origin.as_deref())?)
        });
        self.writing = job.ok();
    }

    fn keep_choices(&mut self, choices: &Choices) {
        self.choices = Some(choices.clone());
        let Some(folder) = self.folder.clone() else {
            return;
        };
        let choices = choices.clone();
        let job = Job::start("choices", Arc::new(|| {}), move |_| {
            Ok(save_choices(&folder, &choices)?)
        });
        self.writing = job.ok();
    }

    /// Writes the work at once and waits for it.
    ///
    /// # Errors
    /// [`KeepError`].
    pub fn write_now(&mut self, desk: &Desk) -> Result<(), KeepError> {
        self.finish();
        let Some(place) = &self.place else {
            return Err(KeepError::NoFolder);
        };
        let origin: Option<&Path> = desk.document().path.as_deref();
        let work = Work {
            scene: desk.scene(),
            lamp_files: &desk.new_lamp_files(),
            photos: &desk.new_photos(),
        };
        write_work(place.path(), work, origin)?;
        self.written_revision = Some(desk.document().revision());
        Ok(())
    }

    /// Leaves the work where it is, to be offered at the next start, and goes
    /// on in a new place.
    ///
    /// # Errors
    /// [`KeepError`]: the work could not be written.
    pub fn leave_work(&mut self, desk: &Desk) -> Result<(), KeepError> {
        self.write_now(desk)?;
        if let Some(folder) = &self.folder {
            self.place = Autosave::start(folder).ok();
        }
        self.written_revision = None;
        Ok(())
    }

    /// Last words of the window: work is kept if it is not saved, else taken
    /// away; the choices are written.
    pub fn close(&mut self, desk: &Desk, choices: &Choices) {
        if desk.document().is_unsaved() {
            // Nobody is left to be told; what was written before stays.
            drop(self.write_now(desk));
        } else {
            self.finish();
            if let Some(place) = &self.place {
                place.forget();
            }
        }
        if let Some(folder) = &self.folder
            && self.choices.as_ref() != Some(choices)
        {
            drop(save_choices(folder, choices));
        }
    }

    /// Waits for a writing under way, so that two never cross.
    fn finish(&mut self) {
        if let Some(mut job) = self.writing.take() {
            while !job.is_over() && job.wait(std::time::Duration::from_secs(5)).is_some() {}
        }
    }
}

fn not_kept(reason: &str) -> Notice {
    let notice = Notice::new(NoticeKind::Warning, text::WORK_NOT_KEPT).with_details(reason);
    notice.about(Subject::Keeping)
}

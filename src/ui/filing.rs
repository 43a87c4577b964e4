//! Saving without losing: what the window asks before it writes over a file
//! that is there, or over one that someone else changed.

use std::path::{Path, PathBuf};

use egui::Ui;

use crate::desk::{Command, Notice, NoticeKind, PaperKind};
use crate::scan::Format;
use crate::scene::PhotoView;
use crate::storage::free_beside;
use crate::ui::app::{App, tell};
use crate::ui::ask::{Ask, Next, PathFor};
use crate::ui::pages::Page;
use crate::ui::parts::{self, Panel};
use crate::ui::photo::PhotoPage;
use crate::ui::text;

/// What to do with a file that was changed by someone else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Resolution {
    /// Keep theirs under its name, save ours under a new one.
    Both,
    /// Open theirs; ours is kept for the next start.
    Theirs,
    /// Save ours; theirs is kept as the previous version.
    Ours,
}

impl App {
    pub(super) fn save_then(&mut self, next: Option<Next>) {
        match self.desk.document().path.clone() {
            Some(path) => self.save_to(&path, next),
            None => self.ask_path(PathFor::Save(next)),
        }
    }

    /// Saves, unless someone else changed the file: then asks which to keep.
    fn save_to(&mut self, path: &Path, next: Option<Next>) {
        let is_open = self.desk.document().path.as_deref() == Some(path);
        if is_open && self.desk.is_other_on_disk(path) {
            self.page = Some(Page::Changed(path.to_owned(), next));
            return;
        }
        let is_saved = self.desk.save_over(path.to_owned());
        self.after_save(is_saved, path, next);
    }

    fn after_save(&mut self, is_saved: bool, path: &Path, next: Option<Next>) {
        if is_saved {
            self.choices.recent.note(path);
            self.page = None;
            if let Some(next) = next {
                self.bring(next);
            }
        }
    }

    /// Does what was chosen about a file that someone else changed.
    pub(super) fn resolve(&mut self, resolution: Resolution, path: &Path, next: Option<Next>) {
        match resolution {
            Resolution::Both => {
                let free = free_beside(path);
                let is_saved = self.desk.save_over(free.clone());
                self.after_save(is_saved, &free, next);
            }
            Resolution::Ours => {
                let is_saved = self.desk.save_over(path.to_owned());
                self.after_save(is_saved, path, next);
            }
            Resolution::Theirs => match self.keeper.leave_work(&self.desk) {
                Ok(()) => {
                    let kept = text::kept(&self.desk.scene().name);
                    tell(&mut self.sends, Notice::new(NoticeKind::Done, kept));
                    self.bring(next.unwrap_or(Next::File(path.to_owned())));
                }
                Err(reason) => {
                    let notice = Notice::new(NoticeKind::Error, text::WORK_NOT_KEPT);
                    tell(&mut self.sends, notice.with_details(reason.to_string()));
                }
            },
        }
    }

    /// Takes a file that was dropped onto the window.
    pub(super) fn take_dropped(&mut self, ctx: &egui::Context) {
        let first = |input: &egui::InputState| input.raw.dropped_files.first().cloned();
        if let Some(file) = ctx.input(first) {
            let path = PathBuf::from(file.path());
            let is = |wanted| (path.extension()).is_some_and(|e| e.eq_ignore_ascii_case(wanted));
            if Format::of_name(&path.to_string_lossy()).is_some() {
                self.asks.push(Ask::Path(PathFor::Mesh, path));
            } else if ["jpg", "jpeg", "png"].into_iter().any(is) {
                self.asks
                    .push(Ask::Path(PathFor::Photo(PhotoView::Front), path));
            } else if is("csv") {
                self.asks.push(Ask::Path(PathFor::Readings, path));
            } else if is("ies") {
                self.sends.push(Command::ImportMeasured(path));
            } else {
                self.asks.push(Ask::Replace(Next::File(path)));
            }
        }
    }

    /// Takes a path that was given. One that is taken is asked about, unless
    /// the system's dialog has done so.
    pub(super) fn take_path(&mut self, what: PathFor, path: PathBuf, may_replace: bool) {
        let is_open = self.desk.document().path.as_deref() == Some(&*path);
        let writes = matches!(
            what,
            PathFor::Save(_) | PathFor::Picture | PathFor::Charts | PathFor::Paper(..)
        );
        let is_save_in_place = is_open && matches!(what, PathFor::Save(_));
        if writes && !may_replace && !is_save_in_place && is_taken(&path) {
            self.page = Some(Page::Taken(what, path));
            return;
        }
        if is_open && !matches!(what, PathFor::Save(_) | PathFor::Open) {
            let notice = Notice::new(NoticeKind::Error, text::IS_OPEN_FILE);
            return tell(
                &mut self.sends,
                notice.with_details(path.display().to_string()),
            );
        }
        match what {
            PathFor::Open => self.replace(Next::File(path)),
            PathFor::Lamp => {
                self.page = None;
                self.run(Command::ImportMeasured(path));
            }
            PathFor::Readings => {
                self.page = Some(Page::Readings);
                self.run(Command::ReadReadings(path));
            }
            PathFor::Mesh => {
                self.page = Some(Page::Scanned);
                self.run(Command::ReadScan(path));
            }
            PathFor::Photo(view) => {
                self.page = Some(Page::Photo(PhotoPage::of(view)));
                self.run(Command::ReadPhoto(view, path));
            }
            PathFor::Save(next) => self.save_to(&path, next),
            PathFor::Picture => {
                self.page = None;
                self.picture = Some(path);
            }
            PathFor::Charts => {
                self.page = None;
                self.save_charts(&path);
            }
            PathFor::Paper(mut wish, _) => {
                self.page = None;
                wish.path = path;
                debug_assert!(
                    wish.kind == PaperKind::Parts || !wish.path.is_dir(),
                    "a file"
                );
                self.run(Command::PutOnPaper(wish));
            }
        }
    }
}

/// Whether something would be written over: a file, or a folder with things.
fn is_taken(path: &Path) -> bool {
    match path.read_dir() {
        Ok(mut entries) => entries.next().is_some(),
        Err(_) => path.exists(),
    }
}

/// The question about a file that is there.
pub fn taken(ui: &mut Ui, panel: &mut Panel<'_>, what: &PathFor, path: &Path) {
    ui.label(text::taken_question(path));
    ui.add_space(8.0);
    ui.horizontal_wrapped(|ui| {
        if parts::main_button(ui, panel.theme, text::OTHER_NAME).clicked() {
            panel.ask.push(Ask::Close);
            panel.ask.push(Ask::Whereto(what.clone()));
        }
        if ui.button(text::REPLACE_IT).clicked() {
            panel.ask.push(Ask::Close);
            panel.ask.push(Ask::Chosen(what.clone(), path.to_owned()));
        }
        if ui.button(text::STAY).clicked() {
            panel.ask.push(Ask::Close);
        }
    });
}

/// The question about a file that someone else changed.
pub fn changed(ui: &mut Ui, panel: &mut Panel<'_>, path: &Path, next: Option<&Next>) {
    ui.label(text::changed_question(path));
    ui.add_space(8.0);
    let choices = [
        (Resolution::Both, text::KEEP_BOTH, text::KEEP_BOTH_WORDS),
        (
            Resolution::Theirs,
            text::TAKE_THEIRS,
            text::TAKE_THEIRS_WORDS,
        ),
        (Resolution::Ours, text::KEEP_OURS, text::KEEP_OURS_WORDS),
    ];
    for (resolution, label, words) in choices {
        let is_first = resolution == Resolution::Both;
        let is_clicked = if is_first {
            parts::main_button(ui, panel.theme, label).clicked()
        } else {
            ui.button(label).clicked()
        };
        parts::aside(ui, panel.theme, words);
        ui.add_space(4.0);
        if is_clicked {
            panel.ask.push(Ask::Close);
            let next = next.cloned();
            panel
                .ask
                .push(Ask::Resolve(resolution, path.to_owned(), next));
        }
    }
    if ui.button(text::STAY).clicked() {
        panel.ask.push(Ask::Close);
    }
}

//! Asking for a path: the system's own dialog where there is one, else a line
//! to type it in; and the question about unsaved work.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use egui::{TextEdit, Ui};

use crate::job::{Job, Notify, Update};
use crate::scan;
use crate::ui::ask::{Ask, Next, PaperFile, PathFor};
use crate::ui::parts::{self, Panel};
use crate::ui::text;

/// A dialog that answers nothing sooner than this was never on the screen.
const SOONEST_ANSWER: Duration = Duration::from_millis(700);

/// One that answers nothing sooner than this, and has never given a path, may
/// not have been there either: a busy system takes long to say so.
const SOONEST_SURE_ANSWER: Duration = Duration::from_secs(3);

/// Endings of pictures, as cameras write them.
const PHOTO_ENDINGS: [&str; 6] = ["jpg", "jpeg", "png", "JPG", "JPEG", "PNG"];

/// A path typed by hand.
#[derive(Clone, Debug)]
pub struct PathEntry {
    what: PathFor,
    typed: String,
    has_asked_keyboard: bool,
}

impl PathEntry {
    /// An entry that starts with this path.
    pub fn new(what: PathFor, start: String) -> Self {
        Self {
            what,
            typed: start,
            has_asked_keyboard: false,
        }
    }

    /// What is asked.
    pub fn title(&self) -> &'static str {
        match self.what {
            PathFor::Open => text::PATH_OPEN,
            PathFor::Save(_) => text::PATH_SAVE,
            PathFor::Picture => text::PATH_PICTURE,
            PathFor::Lamp => text::PATH_LAMP,
            PathFor::Mesh => text::PATH_MESH,
            PathFor::Readings => text::PATH_READINGS,
            PathFor::Photo(_) => text::PATH_PHOTO,
            PathFor::Charts => text::PATH_CHARTS,
            PathFor::Paper(..) => text::PATH_PAPER,
        }
    }

    /// Draws the line and the button.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        parts::aside(ui, panel.theme, text::PATH_WORDS);
        let edit = TextEdit::singleline(&mut self.typed)
            .hint_text(text::PATH_HINT)
            .desired_width(f32::INFINITY);
        let response = ui.add(edit).accessible_name(text::PATH_NAME);
        if !self.has_asked_keyboard {
            self.has_asked_keyboard = true;
            response.request_focus();
        }
        let is_entered =
            response.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
        ui.add_space(6.0);
        let button = match self.what {
            PathFor::Open => text::DO_OPEN,
            PathFor::Lamp | PathFor::Mesh | PathFor::Readings | PathFor::Photo(_) => text::DO_READ,
            PathFor::Save(_) | PathFor::Picture | PathFor::Charts | PathFor::Paper(..) => {
                text::DO_SAVE
            }
        };
        let is_clicked = parts::main_button(ui, panel.theme, button).clicked();
        if (is_clicked || is_entered) && !self.typed.trim().is_empty() {
            let path = with_ending(PathBuf::from(self.typed.trim()), &self.what);
            panel.ask.push(Ask::Path(self.what.clone(), path));
        }
    }
}

/// The path with the ending that files of this kind have, unless it has one.
pub fn with_ending(path: PathBuf, what: &PathFor) -> PathBuf {
    let ending = match what {
        PathFor::Open
        | PathFor::Lamp
        | PathFor::Mesh
        | PathFor::Readings
        | PathFor::Photo(_)
        | PathFor::Paper(_, PaperFile::Folder) => return path,
        PathFor::Paper(_, PaperFile::Pdf) => "pdf",
        PathFor::Paper(_, PaperFile::Html) => "html",
        PathFor::Save(_) => "ron",
        PathFor::Picture => "png",
        PathFor::Charts => "csv",
    };
    if path.extension().is_some() {
        path
    } else {
        path.with_extension(ending)
    }
}

/// The question about unsaved work, before something else comes onto the desk.
pub fn unsaved(ui: &mut Ui, panel: &mut Panel<'_>, next: &Next) {
    let is_quit = matches!(next, Next::Quit);
    ui.label(text::unsaved_question(&panel.desk.scene().name, is_quit));
    ui.add_space(8.0);
    ui.horizontal_wrapped(|ui| {
        if parts::main_button(ui, panel.theme, text::SAVE_FIRST).clicked() {
            panel.ask.push(Ask::Close);
            panel.ask.push(Ask::SaveThen(next.clone()));
        }
        let go_on = if is_quit {
            text::QUIT_AND_KEEP
        } else {
            text::GO_ON_AND_KEEP
        };
        if ui.button(go_on).clicked() {
            panel.ask.push(Ask::Close);
            panel.ask.push(Ask::GoOn(next.clone()));
        }
        if ui.button(text::STAY).clicked() {
            panel.ask.push(Ask::Close);
        }
    });
}

/// What a dialog said.
pub enum Answer {
    /// This path, and whether the dialog asked about a file that is there.
    Path(PathFor, PathBuf, bool),
    /// There is no dialog on this system: ask by hand.
    NoDialog(PathFor),
    /// There may be none: ask by hand this time.
    MaybeNoDialog(PathFor),
}

/// The system's dialog, on a thread of its own so that the window goes on.
#[derive(Default)]
pub struct NativeDialog {
    open: Option<(PathFor, Job<Said>)>,
    /// Whether a dialog has given a path before: then there is one.
    is_proven: bool,
}

/// The path that was chosen, if any, and how long that took.
type Said = (Option<PathBuf>, Duration);

impl NativeDialog {
    /// Opens the dialog. One at a time; a second wish is dropped. Returns
    /// whether one is open now.
    pub fn ask(&mut self, what: PathFor, start: PathBuf, notify: Notify) -> bool {
        if self.open.is_some() {
            return true;
        }
        let kind = what.clone();
        let job = Job::start("file dialog", notify, move |context| {
            let begun = Instant::now();
            let path = native(&kind, &start);
            context.publish((path, begun.elapsed()));
            Ok(())
        });
        self.open = job.ok().map(|job| (what, job));
        self.open.is_some()
    }

    /// What it said, once it has.
    pub fn answer(&mut self) -> Option<Answer> {
        let (_, job) = self.open.as_mut()?;
        let updates = job.poll();
        let is_over = job.is_over();
        let mut said = None;
        let mut has_failed = false;
        for update in updates {
            match update {
                Update::Partial(found) => said = Some(found),
                Update::Failed(_) => has_failed = true,
                Update::Done => {}
            }
        }
        if said.is_none() && !is_over {
            return None;
        }
        let (what, _) = self.open.take()?;
        let (path, took) = said.unwrap_or_default();
        if let Some(path) = path {
            self.is_proven = true;
            let ended = with_ending(path.clone(), &what);
            let has_asked = ended == path;
            return Some(Answer::Path(what, ended, has_asked));
        }
        if has_failed {
            return Some(Answer::NoDialog(what));
        }
        nothing_said(took, self.is_proven, what)
    }
}

/// What no path means: no dialog, perhaps none, or a keeper who closed it.
fn nothing_said(took: Duration, is_proven: bool, what: PathFor) -> Option<Answer> {
    if took < SOONEST_ANSWER {
        Some(Answer::NoDialog(what))
    } else if !is_proven && took < SOONEST_SURE_ANSWER {
        Some(Answer::MaybeNoDialog(what))
    } else {
        None
    }
}

fn native(what: &PathFor, start: &std::path::Path) -> Option<PathBuf> {
    let mut dialog = rfd::FileDialog::new();
    if let Some(folder) = start.parent().filter(|folder| folder.is_dir()) {
        dialog = dialog.set_directory(folder);
    }
    let name = start
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    match what {
        PathFor::Open => dialog
            .set_title(text::PATH_OPEN)
            .add_filter(text::SCENE_FILES, &["ron"])
            .pick_file(),
        PathFor::Lamp => dialog
            .set_title(text::PATH_LAMP)
            .add_filter(text::LAMP_FILES, &["ies", "IES"])
            .pick_file(),
        PathFor::Readings => dialog
            .set_title(text::PATH_READINGS)
            .add_filter(text::TABLE_FILES, &["csv", "CSV", "txt", "tsv"])
            .pick_file(),
        PathFor::Charts => dialog
            .set_title(text::PATH_CHARTS)
            .add_filter(text::TABLE_FILES, &["csv"])
            .set_file_name(name)
            .save_file(),
        PathFor::Photo(_) => dialog
            .set_title(text::PATH_PHOTO)
            .add_filter(text::PHOTO_FILES, &PHOTO_ENDINGS)
            .pick_file(),
        PathFor::Mesh => {
            let endings: Vec<String> = (scan::ENDINGS.iter())
                .flat_map(|ending| [(*ending).to_owned(), ending.to_uppercase()])
                .collect();
            dialog
                .set_title(text::PATH_MESH)
                .add_filter(text::MESH_FILES, &endings)
                .pick_file()
        }
        PathFor::Save(_) => dialog
            .set_title(text::PATH_SAVE)
            .add_filter(text::SCENE_FILES, &["ron"])
            .set_file_name(name)
            .save_file(),
        PathFor::Picture => dialog
            .set_title(text::PATH_PICTURE)
            .add_filter(text::PICTURE_FILES, &["png"])
            .set_file_name(name)
            .save_file(),
        PathFor::Paper(_, PaperFile::Folder) => dialog.set_title(text::PATH_PAPER).pick_folder(),
        PathFor::Paper(_, PaperFile::Pdf) => dialog
            .set_title(text::PATH_PAPER)
            .add_filter(text::PDF_FILES, &["pdf"])
            .set_file_name(name)
            .save_file(),
        PathFor::Paper(_, PaperFile::Html) => dialog
            .set_title(text::PATH_PAPER)
            .add_filter(text::HTML_FILES, &["html"])
            .set_file_name(name)
            .save_file(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dialog_that_never_was_is_told_from_one_that_was_closed() {
        let said =
            |ms, is_proven| nothing_said(Duration::from_millis(ms), is_proven, PathFor::Open);
        assert!(
            matches!(said(20, false), Some(Answer::NoDialog(_))),
            "at once"
        );
        assert!(
            matches!(said(1500, false), Some(Answer::MaybeNoDialog(_))),
            "on a busy system"
        );
        assert!(said(1500, true).is_none(), "there is one: it was closed");
        assert!(said(9000, false).is_none(), "closed after a look");
    }

    #[test]
    fn a_saved_file_gets_the_ending_of_its_kind_unless_it_has_one() {
        let ended = |path: &str, what: &PathFor| with_ending(PathBuf::from(path), what);
        assert_eq!(
            ended("reef", &PathFor::Save(None)),
            PathBuf::from("reef.ron"),
            "scene"
        );
        assert_eq!(
            ended("a.txt", &PathFor::Save(None)),
            PathBuf::from("a.txt"),
            "kept"
        );
        assert_eq!(
            ended("view", &PathFor::Picture),
            PathBuf::from("view.png"),
            "picture"
        );
        assert_eq!(
            ended("reef", &PathFor::Open),
            PathBuf::from("reef"),
            "as typed"
        );
    }
}

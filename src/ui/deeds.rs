//! What the window does when it is asked: the shell's own part of the action
//! table, files, findings, pictures.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use egui::Context;

use crate::catalog::Hazard;
use crate::desk::{
    Action, Change, Command, Levels, MONTHS_MAX, Notice, NoticeKind, PaperKind, Subject, UnitSystem,
};
use crate::document::Document;
use crate::plan::file_word;
use crate::scene::Item;
use crate::storage::{Leftover, diagnostics, forget_leftover, forget_report, write_bytes};
use crate::ui::adding;
use crate::ui::app::{App, page_of, tell};
use crate::ui::ask::{Ask, Below, Next, PaperFile, PathFor};
use crate::ui::charts;
use crate::ui::dialogs::{Answer, PathEntry};
use crate::ui::inspector::berths::palytoxin_words;
use crate::ui::pages::Page;
use crate::ui::parts::Panel;
use crate::ui::sheet::{Dropped, SheetContext};
use crate::ui::text;

/// Most rounds in which a deed may ask for another, in one frame.
const ROUNDS_MAX: usize = 8;

impl App {
    /// Does all that was asked for, until nothing is left to do.
    pub(super) fn run_all(&mut self, ctx: &Context) {
        for _ in 0..ROUNDS_MAX {
            let (sends, asks) = (
                std::mem::take(&mut self.sends),
                std::mem::take(&mut self.asks),
            );
            if sends.is_empty() && asks.is_empty() {
                return;
            }
            for command in sends {
                self.run(command);
            }
            for ask in asks {
                self.fulfil(ctx, ask);
            }
        }
    }

    fn fulfil(&mut self, ctx: &Context, ask: Ask) {
        match ask {
            Ask::Do(action) => self.act(ctx, action),
            Ask::Drop(dropped) => self.drop_thing(ctx, &dropped),
            Ask::FlyTo(at_m, half_size_m) => self.sheet.fly_to(at_m, half_size_m),
            Ask::Show(page) => self.page = Some(*page),
            Ask::Close => self.page = None,
            Ask::Replace(next) => self.replace(next),
            Ask::GoOn(next) => self.go_on(next),
            Ask::SaveThen(next) => self.save_then(Some(next)),
            Ask::Path(what, path) => self.take_path(what, path, false),
            Ask::Chosen(what, path) => self.take_path(what, path, true),
            Ask::Resolve(resolution, path, next) => self.resolve(resolution, &path, next),
            Ask::LetReportGo(report) => {
                forget_report(&report);
                self.reports.retain(|other| other.path != report.path);
            }
            Ask::CopyDiagnostics => self.copy_diagnostics(ctx),
            Ask::Recover(leftover) => self.recover(&leftover),
            Ask::LetGo(leftover) => {
                forget_leftover(&leftover);
                self.leftovers.retain(|other| other.path != leftover.path);
            }
            Ask::PlaceCoral(entry) => {
                let wanted = self.coral_at.take();
                if let Some(command) = adding::coral(&self.desk, &entry, wanted) {
                    self.run(command);
                }
                self.caution(&entry);
            }
            Ask::Berths(entry) => self.show_berths(entry),
            Ask::Caution(entry) => self.caution(&entry),
            Ask::SetEntry(entry) => self.set_entry(&entry),
            Ask::Finding(idx) => self.stand_on(idx),
            Ask::Months(months) => self.look_ahead(months),
            Ask::SwipeLine => self.glimpse.toggle(),
            Ask::List(below) => {
                self.below = below;
                self.has_lists = true;
            }
            Ask::Whereto(what) => self.ask_path(what),
        }
    }

    /// Adds what was let go over a view; of a coral it is asked first which.
    fn drop_thing(&mut self, ctx: &Context, dropped: &Dropped) {
        if let Some(command) = adding::dropped(&self.desk, dropped) {
            self.run(command);
        } else {
            self.act(ctx, dropped.action);
            self.coral_at = dropped.surface;
        }
    }

    /// One action of the table, from wherever it was asked for.
    fn act(&mut self, ctx: &Context, action: Action) {
        if let Some(page) = page_of(action) {
            self.page = Some(page);
            self.coral_at = None;
            return;
        }
        if let Some(command) = adding::command(&self.desk, action) {
            self.run(command);
            return;
        }
        match action {
            Action::Open => self.replace(Next::AskFile),
            Action::ProposePump => {
                // What it finds stands among the findings.
                self.below = Below::Findings;
                self.has_lists = true;
                self.pass_on(action);
            }
            Action::Save => self.save_then(None),
            Action::SaveAs => self.ask_path(PathFor::Save(None)),
            Action::MeasuredLamp => self.ask_path(PathFor::Lamp),
            Action::ImportRock => self.ask_path(PathFor::Mesh),
            Action::ReadReadings => self.ask_path(PathFor::Readings),
            Action::PlaceReading => {
                // What was placed is filled in beside the sheet.
                self.run(Command::Select(Vec::new()));
                self.pass_on(action);
            }
            Action::SavePicture => self.ask_path(PathFor::Picture),
            Action::Quit => self.replace(Next::Quit),
            Action::Rename => self.inspector.rename(),
            Action::RenameLayout => self.rename_layout(),
            Action::NextLayout => {
                let n = self.desk.scene().layouts.len().max(1);
                let next = (self.desk.layout_idx() + 1) % n;
                self.run(Command::ShowLayout(next));
            }
            Action::NextFinding => self.step_finding(1),
            Action::PreviousFinding => self.step_finding(-1),
            Action::MonthsOn => self.look_ahead(self.desk.settings().months + 6.0),
            Action::MonthsBack => self.look_ahead(self.desk.settings().months - 6.0),
            Action::Today => self.look_ahead(0.0),
            Action::Compare => self.compare(),
            Action::GrowthList => {
                self.below = Below::Growth;
                self.has_lists = true;
            }
            Action::UnitsSwitch => self.switch_units(),
            Action::NightSheet => self.choices.is_night = !self.choices.is_night,
            Action::LessMotion => self.choices.reduced_motion = !self.choices.reduced_motion,
            Action::UsualText => self.choices.text_scale = 1.0,
            Action::FoldPanels => {
                let panels = &mut self.choices.panels;
                panels.are_folded = !panels.are_folded;
            }
            Action::ZoomFinding => {
                self.stand_on(self.finding.unwrap_or(0));
            }
            Action::LargerText => self.choices.scale_step(1),
            Action::SmallerText => self.choices.scale_step(-1),
            Action::WashFit | Action::WashFitChange => {
                self.choose_entry();
                self.pass_on(action);
            }
            Action::Copy => {
                // The platform pastes only what it has been given.
                ctx.copy_text(text::COPIED.to_owned());
                self.run(Command::Action(action));
            }
            _ => self.pass_on(action),
        }
    }

    /// Lets the sheet do it, and the desk if it is not the sheet's.
    fn pass_on(&mut self, action: Action) {
        let context = SheetContext {
            desk: &self.desk,
            theme: &self.theme,
            motion: self.motion,
        };
        if !self.sheet.act(action, &context, &mut self.sends) {
            self.run(Command::Action(action));
        }
    }

    /// The fit wash needs an entry to speak of: that of the selected coral,
    /// else of the first one.
    fn choose_entry(&mut self) {
        let selected = match self.desk.selected_item() {
            Some(Item::Coral(coral)) => Some(coral.entry),
            _ => None,
        };
        if selected.is_none() && self.desk.chosen_entry().is_some() {
            return;
        }
        let first = || {
            let corals = &self.desk.layout().corals;
            corals.first().map(|coral| coral.entry.clone())
        };
        if let Some(entry) = selected.or_else(first) {
            self.run(Command::ChooseEntry(Some(entry)));
        }
    }

    /// Colors the views by how an entry would do, and lists its berths.
    fn show_berths(&mut self, entry: String) {
        self.run(Command::AskPlace(None));
        self.run(Command::Select(Vec::new()));
        self.run(Command::ChooseEntry(Some(entry)));
        self.pass_on(Action::WashFit);
    }

    /// Says how an entry that can hold a strong poison is to be handled.
    fn caution(&mut self, entry: &str) {
        let catalog = Arc::clone(self.desk.catalog());
        let entry = catalog.entry(entry);
        if let Some(entry) = entry.filter(|entry| entry.hazards.contains(&Hazard::Palytoxin)) {
            let notice = Notice::new(NoticeKind::Warning, text::palytoxin(&entry.plain_name));
            let notice = notice.with_details(palytoxin_words());
            let subject = Subject::Handling(entry.id.clone());
            tell(&mut self.sends, notice.about(subject));
        }
    }

    fn set_entry(&mut self, entry: &str) {
        if let Some(Item::Coral(mut coral)) = self.desk.selected_item() {
            entry.clone_into(&mut coral.entry);
            let change = Change::Put(Box::new(Item::Coral(coral)));
            self.run(Command::Edit(text::CHANGE_ENTRY.to_owned(), change));
        }
    }

    fn rename_layout(&mut self) {
        let Self {
            desk,
            theme,
            sends,
            asks,
            strip,
            ..
        } = self;
        let panel = Panel {
            desk,
            theme,
            send: sends,
            ask: asks,
        };
        strip.rename_layout(&panel);
    }

    /// Sets the shown layout against the one before it, or the next one.
    fn compare(&mut self) {
        self.below = Below::Compare;
        self.has_lists = true;
        if self.desk.compared().is_some() {
            return;
        }
        let (shown, n) = (self.desk.layout_idx(), self.desk.scene().layouts.len());
        let other = shown.checked_sub(1).or((n > 1).then_some(1));
        self.run(Command::CompareWith(other));
    }

    fn look_ahead(&mut self, months: f64) {
        let mut settings = self.desk.settings().clone();
        settings.months = months.clamp(0.0, MONTHS_MAX);
        self.run(Command::SetSettings(Box::new(settings)));
    }

    fn switch_units(&mut self) {
        let mut settings = self.desk.settings().clone();
        settings.units = match settings.units {
            UnitSystem::Metric => UnitSystem::Us,
            UnitSystem::Us => UnitSystem::Metric,
        };
        self.run(Command::SetSettings(Box::new(settings)));
    }

    fn step_finding(&mut self, step: isize) {
        let n = self.desk.results().findings.len();
        if n == 0 {
            return;
        }
        let next = match self.finding {
            Some(idx) => (idx as isize + step).rem_euclid(n as isize) as usize,
            None if step > 0 => 0,
            None => n - 1,
        };
        self.stand_on(next);
    }

    /// Flies to a finding and selects what it is about.
    fn stand_on(&mut self, idx: usize) {
        self.below = Below::Findings;
        self.has_lists = true;
        let findings = Arc::clone(&self.desk.results().findings);
        let Some(finding) = findings.get(idx) else {
            return;
        };
        self.finding = Some(idx);
        self.stood_on = Some(finding.clone());
        if let Some(id) = finding.item() {
            self.run(Command::Select(vec![id]));
        }
        let at_m = finding.place.at_m();
        self.sheet.fly_to(at_m, finding.place.half_size_m());
        // All views are cut where it is worst, so that each shows its water.
        let levels = Levels {
            height_cm: at_m.z * 100.0,
            depth_cm: at_m.y * 100.0,
            across_cm: at_m.x * 100.0,
        };
        self.run(Command::SetLevels(levels));
    }

    /// Puts something else on the desk, after a question if work is unsaved.
    pub(super) fn replace(&mut self, next: Next) {
        if self.desk.document().is_unsaved() && !matches!(next, Next::AskFile) {
            self.page = Some(Page::Unsaved(next));
        } else {
            self.bring(next);
        }
    }

    /// Keeps unsaved work for the next start, then goes on.
    fn go_on(&mut self, next: Next) {
        if !matches!(next, Next::Quit) {
            match self.keeper.leave_work(&self.desk) {
                Ok(()) => tell(
                    &mut self.sends,
                    Notice::new(NoticeKind::Done, text::kept(&self.desk.scene().name)),
                ),
                Err(reason) => {
                    let notice = Notice::new(NoticeKind::Error, text::WORK_NOT_KEPT);
                    tell(&mut self.sends, notice.with_details(reason.to_string()));
                    return;
                }
            }
        }
        self.bring(next);
    }

    /// Puts something on the desk; what was there is saved, kept or not wanted.
    pub(super) fn bring(&mut self, next: Next) {
        match next {
            Next::File(path) => {
                if self.desk.open(&path) {
                    self.choices.recent.note(&path);
                    self.page = None;
                }
            }
            Next::Scene(scene) => {
                self.desk.open_scene(*scene);
                self.page = None;
            }
            Next::AskFile => {
                self.ask_path(PathFor::Open);
                return;
            }
            Next::Quit => {
                self.wants_quit = true;
                return;
            }
        }
        self.finding = None;
        let fit = Action::FitSheet;
        self.pass_on(fit);
    }

    /// Asks for a path: the system's dialog if there may be one, else by hand.
    pub(super) fn ask_path(&mut self, what: PathFor) {
        if self.has_dialogs {
            let notify = Arc::clone(&self.notify);
            let start = self.start_path(&what);
            if self.dialog.ask(what.clone(), start, notify) {
                return;
            }
        }
        self.ask_by_hand(what);
    }

    /// Asks for a path in a line to type it in.
    fn ask_by_hand(&mut self, what: PathFor) {
        let typed = self.start_path(&what).display().to_string();
        self.page = Some(Page::Path(PathEntry::new(what, typed)));
    }

    /// The path that a dialog starts with.
    fn start_path(&self, what: &PathFor) -> PathBuf {
        let open = self.desk.document().path.clone();
        let recent = || self.choices.recent.present().first().map(PathBuf::from);
        let folder = open
            .clone()
            .or_else(recent)
            .and_then(|path| path.parent().map(Path::to_owned))
            .or_else(|| std::env::current_dir().ok())
            .unwrap_or_default();
        let name = file_name(&self.desk.scene().name);
        match what {
            PathFor::Open
            | PathFor::Lamp
            | PathFor::Mesh
            | PathFor::Readings
            | PathFor::Photo(_) => folder.join(""),
            PathFor::Save(_) => open.unwrap_or_else(|| folder.join(format!("{name}.ron"))),
            PathFor::Picture => folder.join(format!("{name}.png")),
            PathFor::Charts => folder.join(format!("{name}-{}.csv", text::CHART_FILE)),
            PathFor::Paper(wish, file) => {
                let kind = match wish.kind {
                    PaperKind::Plan | PaperKind::Parts => text::PLAN_FILE,
                    PaperKind::Comparison => text::COMPARISON_FILE,
                    PaperKind::MovingDay => text::BOOKLET_FILE,
                };
                let layout = file_word(&self.desk.layout().name);
                let stem = [name.as_str(), &layout, kind].join("-").replace("--", "-");
                folder.join(match file {
                    PaperFile::Pdf => format!("{stem}.pdf"),
                    PaperFile::Html => format!("{stem}.html"),
                    PaperFile::Folder => stem,
                })
            }
        }
    }

    /// Hears what the system's dialog said.
    pub(super) fn take_dialog(&mut self) {
        match self.dialog.answer() {
            Some(Answer::Path(what, path, true)) => self.asks.push(Ask::Chosen(what, path)),
            Some(Answer::Path(what, path, false)) => self.asks.push(Ask::Path(what, path)),
            Some(Answer::NoDialog(what)) => {
                self.has_dialogs = false;
                self.ask_path(what);
            }
            Some(Answer::MaybeNoDialog(what)) => self.ask_by_hand(what),
            None => {}
        }
    }

    /// Opens left-over work; it counts as unsaved, and stays on disk until it
    /// is kept in its new place.
    fn recover(&mut self, leftover: &Leftover) {
        if self.desk.document().is_unsaved()
            && let Err(reason) = self.keeper.leave_work(&self.desk)
        {
            let notice = Notice::new(NoticeKind::Error, text::WORK_NOT_KEPT);
            tell(&mut self.sends, notice.with_details(reason.to_string()));
            return;
        }
        let mut document = Document::new(leftover.scene.clone(), leftover.origin.clone());
        document.mark_unsaved();
        self.desk.put_on(document);
        self.desk.take_lamp_files(leftover.lamp_files.clone());
        self.desk.take_photos(leftover.photos.clone());
        self.finding = None;
        self.leftovers.retain(|other| other.path != leftover.path);
        match self.keeper.write_now(&self.desk) {
            Ok(()) => forget_leftover(leftover),
            Err(reason) => {
                let notice = Notice::new(NoticeKind::Warning, text::WORK_NOT_KEPT);
                tell(&mut self.sends, notice.with_details(reason.to_string()));
            }
        }
    }

    /// Takes the picture that was asked for, once no page hides the sheet.
    pub(super) fn take_picture(&mut self, ctx: &Context) {
        if self.page.is_some() {
            return;
        }
        let Some(path) = self.picture.take() else {
            return;
        };
        let notify = Arc::clone(&self.notify);
        let outcome = Arc::clone(&self.picture_outcome);
        ctx.request_screenshot(move |image| {
            let said = write_picture(&path, &image);
            if let Ok(mut outcome) = outcome.lock() {
                *outcome = Some(said);
            }
            notify();
        });
    }

    /// Puts what helps to find a fault where it can be pasted from.
    fn copy_diagnostics(&mut self, ctx: &Context) {
        let size = ctx.content_rect().size();
        let more = format!(
            "window {:.0} x {:.0} points of {} pixels, drawn by {}\n",
            size.x,
            size.y,
            ctx.pixels_per_point(),
            self.drawn_by
        );
        ctx.copy_text(diagnostics(&more));
        let copied = Notice::new(NoticeKind::Done, text::DIAGNOSTICS_COPIED);
        tell(&mut self.sends, copied);
    }

    /// Saves what the charts show as a table.
    pub(super) fn save_charts(&mut self, path: &Path) {
        let table = charts::table(&self.desk, &self.theme);
        let said = match write_bytes(path, table.as_bytes()) {
            Ok(()) => Notice::new(NoticeKind::Done, text::picture_saved(path)),
            Err(error) => {
                let notice = Notice::new(NoticeKind::Error, text::CHART_NOT_SAVED);
                notice.with_details(error.to_string())
            }
        };
        tell(&mut self.sends, said);
    }

    /// Tells how the picture came out.
    pub(super) fn take_picture_outcome(&mut self) {
        let said = self
            .picture_outcome
            .lock()
            .ok()
            .and_then(|mut it| it.take());
        if let Some(notice) = said {
            tell(&mut self.sends, notice);
        }
    }
}

fn write_picture(path: &Path, image: &egui::ColorImage) -> Notice {
    let [width, height] = image.size;
    let bytes: Vec<u8> = image
        .pixels
        .iter()
        .flat_map(|pixel| pixel.to_array())
        .collect();
    let mut png = std::io::Cursor::new(Vec::new());
    let written = image::RgbaImage::from_raw(width as u32, height as u32, bytes)
        .ok_or_else(|| text::PICTURE_EMPTY.to_owned())
        .and_then(|picture| {
            let written = picture.write_to(&mut png, image::ImageFormat::Png);
            written.map_err(|error| error.to_string())
        })
        .and_then(|()| write_bytes(path, png.get_ref()).map_err(|error| error.to_string()));
    match written {
        Ok(()) => Notice::new(NoticeKind::Done, text::picture_saved(path)),
        Err(reason) => Notice::new(NoticeKind::Error, text::PICTURE_NOT_SAVED).with_details(reason),
    }
}

/// A scene's name as a file name.
fn file_name(name: &str) -> String {
    let plain = file_word(name);
    if plain.is_empty() {
        file_word(text::NEW_SCENE)
    } else {
        plain
    }
}

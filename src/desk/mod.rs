//! The desk: one open document, its results, and the one place that runs
//! commands. It knows no widgets; a window or a test drives it.

mod action;
mod advising;
mod arrange;
mod asked;
mod berthing;
mod cache;
mod calibrating;
mod change;
mod command;
mod comparing;
mod failing;
mod files;
mod finer;
mod improving;
mod lamp_files;
mod lighting;
mod mend;
mod notice;
mod paper;
mod photos;
mod query;
mod readings;
mod results;
mod scanning;
mod scheduler;
mod searching;
mod settings;
mod studies;
mod tend;
#[cfg(test)]
mod tests;
mod water;

use std::collections::BTreeMap;
use std::sync::Arc;

pub use crate::units::UnitSystem;
pub use action::{Action, ActionGroup};
pub use arrange::Edge;
pub use berthing::Place;
pub use change::Change;
pub use command::Command;
pub use comparing::{Compared, FitChange, LightOf, OtherResults};
pub use mend::changes_of;
pub use notice::{Notice, NoticeKind, Subject};
pub use paper::{PaperKind, PaperStatus, PaperWish};
pub use readings::{LampFactor, ReadingCheck, ReadingChecks};
pub use results::{FlowStatus, LightStatus, Results};
pub use scanning::ScanStatus;
pub use searching::SearchStatus;
pub use settings::{Levels, Settings};
pub use studies::MONTHS_MAX;

use asked::Asked;
use calibrating::Calibrating;
use improving::Improving;
use paper::PaperWork;
use photos::Photos;
use scanning::Scanning;
use searching::Search;
use studies::Studies;
use tend::Engines;

use crate::advice::BerthFilters;
use crate::catalog::Catalog;
use crate::document::Document;
use crate::improve::finer::FinerLook;
use crate::improve::outage::Outage;
use crate::job::Notify;
use crate::light::Measured;
use crate::scene::{IssueSeverity, Item, ItemId, Layout, Scene, check};
use crate::storage::note_command;

/// One open scene with all that is known of it.
pub struct Desk {
    document: Document,
    layout_idx: usize,
    selection: Vec<ItemId>,
    hidden: Vec<ItemId>,
    /// Heights and depths at which the views are cut.
    levels: Levels,
    settings: Settings,
    results: Results,
    notices: Vec<Notice>,
    clipboard: Vec<Item>,
    /// Catalog entry for which berths are shown.
    chosen_entry: Option<String>,
    /// Which berths are asked for.
    filters: BerthFilters,
    /// A place for which inhabitants are asked for.
    place: Option<Place>,
    /// The layout that the shown one is set against.
    compared: Option<usize>,
    /// What is computed on.
    studies: Studies,
    /// Measured lamp distributions by file name.
    measured: Arc<Measured>,
    /// Their texts.
    measured_texts: BTreeMap<String, String>,
    /// Those that came in since the scene was opened or saved.
    new_lamp_files: Vec<String>,
    /// What the open file held when it was last read or written here.
    sum_on_disk: Option<u64>,
    engines: Engines,
    search: Search,
    calibrating: Calibrating,
    improving: Improving,
    failing: Asked<Outage>,
    finer: Asked<FinerLook>,
    finer_unasked: finer::Unasked,
    scanning: Scanning,
    photos: Photos,
    paper: PaperWork,
    notify: Notify,
}

/// One step of larger and smaller.
const SCALE_STEP: f64 = 1.1;

impl Desk {
    /// A desk with `document` on it. `notify` is called from worker threads
    /// when there is something new to see.
    pub fn new(document: Document, notify: Notify) -> Self {
        Self::with_catalog(document, Catalog::shared(), notify)
    }

    /// The same, its corals looked up in `catalog`: the one that comes with the
    /// program with the keeper's own entries laid over it.
    pub fn with_catalog(document: Document, catalog: Arc<Catalog>, notify: Notify) -> Self {
        let levels = Levels::for_scene(document.scene(), 0);
        Self {
            studies: Studies::new(document.scene(), catalog, &Settings::default()),
            document,
            layout_idx: 0,
            selection: Vec::new(),
            hidden: Vec::new(),
            levels,
            settings: Settings::default(),
            results: Results::default(),
            notices: Vec::new(),
            clipboard: Vec::new(),
            chosen_entry: None,
            filters: BerthFilters::default(),
            place: None,
            compared: None,
            measured: Arc::default(),
            measured_texts: BTreeMap::new(),
            new_lamp_files: Vec::new(),
            sum_on_disk: None,
            engines: Engines::default(),
            search: Search::default(),
            calibrating: Calibrating::default(),
            improving: Improving::default(),
            failing: Asked::default(),
            finer: Asked::default(),
            finer_unasked: finer::Unasked::default(),
            scanning: Scanning::default(),
            photos: Photos::default(),
            paper: PaperWork::default(),
            notify,
        }
    }

    /// The open document.
    pub fn document(&self) -> &Document {
        &self.document
    }

    /// The scene as it stands.
    pub fn scene(&self) -> &Arc<Scene> {
        self.document.scene()
    }

    /// Which layout is shown.
    pub fn layout_idx(&self) -> usize {
        self.layout_idx
            .min(self.scene().layouts.len().saturating_sub(1))
    }

    /// The layout that is shown.
    pub fn layout(&self) -> &Layout {
        // A valid scene has at least one layout; edits keep it so.
        &self.scene().layouts[self.layout_idx()]
    }

    /// What is left out of the drawing; it still counts in every estimate.
    pub fn hidden(&self) -> &[ItemId] {
        &self.hidden
    }

    /// Whether a thing is left out of the drawing.
    pub fn is_hidden(&self, id: ItemId) -> bool {
        self.hidden.contains(&id)
    }

    /// What is selected.
    pub fn selection(&self) -> &[ItemId] {
        &self.selection
    }

    /// The selected item, if it is the only one.
    pub fn selected_item(&self) -> Option<Item> {
        match self.selection.as_slice() {
            [id] => self.layout().item(*id),
            _ => None,
        }
    }

    /// Where the views are cut.
    pub fn levels(&self) -> Levels {
        self.levels
    }

    /// Choices that belong to the keeper, not to the scene.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// What the engines found.
    pub fn results(&self) -> &Results {
        &self.results
    }

    /// Shows these results instead of those of the engines, as of the scene
    /// that is looked at: kept ones, or ones made for a bench or a picture.
    pub fn replace_results(&mut self, mut results: Results) {
        results.stand_in_for(&self.results);
        self.results = results;
    }

    /// Catalog entry for which berths are shown.
    pub fn chosen_entry(&self) -> Option<&str> {
        self.chosen_entry.as_deref()
    }

    /// Messages that have not been put away, oldest first.
    pub fn notices(&self) -> &[Notice] {
        &self.notices
    }

    /// Runs one command.
    pub fn run(&mut self, command: Command) {
        let name = command.name();
        let (revision, n_notices) = (self.document.revision(), self.notices.len());
        match command {
            Command::Action(action) => self.run_action(action),
            Command::Select(ids) => {
                if !ids.is_empty() {
                    self.place = None;
                }
                self.selection = ids;
            }
            Command::Begin(label) => self.document.begin(&label),
            Command::Change(change) => self.apply(change),
            Command::End => self.end_gesture(),
            Command::Abandon => self.document.abandon(),
            Command::Edit(label, change) => {
                self.document.begin(&label);
                self.apply(change);
                self.end_gesture();
            }
            Command::JumpTo(n_past) => self.document.jump(n_past),
            Command::ShowLayout(idx) => self.show_layout(idx),
            Command::SetLevels(levels) => self.levels = levels,
            Command::ChooseEntry(entry) => self.chosen_entry = entry,
            Command::FilterBerths(filters) => self.filters = filters,
            Command::Calibrate => self.start_calibrating(),
            Command::Improve(options) => self.start_improving(*options),
            Command::TryOutage => self.start_failing(),
            Command::TryFiner => self.start_finer(),
            Command::DropCalibration => self.results.calibration = None,
            Command::ReadReadings(path) => self.read_readings(&path),
            Command::ReadScan(path) => self.read_scan(path),
            Command::WishScan(wishes) => self.wish_scan(wishes),
            Command::PlaceScan => self.place_scan(),
            Command::DropScan => self.drop_scan(),
            Command::ReadPhoto(view, path) => self.read_photo(view, path),
            Command::AskPlace(place) => self.place = place,
            Command::CompareWith(other) => self.compared = other,
            Command::SetSettings(settings) => self.settings = *settings,
            Command::Open(path) => {
                self.open(&path);
            }
            Command::ImportMeasured(path) => self.import_measured(&path),
            Command::OpenScene(scene) => self.open_scene(*scene),
            Command::SaveTo(path) => {
                self.save_to(path);
            }
            Command::PutOnPaper(wish) => self.put_on_paper(*wish),
            Command::Tell(notice) => self.tell(*notice),
            Command::PutAway(idx) => {
                if idx < self.notices.len() {
                    self.notices.remove(idx);
                }
            }
        }
        self.drop_lost_selection();
        self.follow_scene();
        // What was said of this very change stands.
        if self.document.revision() != revision && self.notices.len() <= n_notices {
            self.settle_after_change();
        }
        note_command(name, Arc::downgrade(self.document.scene()));
    }

    /// Ends a gesture, or takes it back if it left a scene that could not be
    /// opened again; so what is on the desk can always be saved.
    fn end_gesture(&mut self) {
        let fault = check(self.scene())
            .into_iter()
            .find(|issue| issue.severity == IssueSeverity::Error);
        match fault {
            Some(fault) if self.document.history().is_open() => {
                self.document.abandon();
                let notice =
                    Notice::new(NoticeKind::Warning, "That does not work; it was put back");
                let notice = notice.with_details(fault.to_string());
                self.tell(notice.about(Subject::Change));
            }
            _ => self.document.end(),
        }
    }

    fn show_layout(&mut self, idx: usize) {
        if idx < self.scene().layouts.len() {
            // Shown instead of the one it is set against, the two change roles.
            if self.compared == Some(idx) {
                self.compared = Some(self.layout_idx());
            }
            self.place = None;
            self.layout_idx = idx;
        }
    }

    fn apply(&mut self, change: Change) {
        let idx = self.layout_idx();
        let mut selected = None;
        self.document
            .change(|scene| selected = change.apply(scene, idx));
        if let Some(ids) = selected {
            self.selection = ids;
        }
    }

    fn run_action(&mut self, action: Action) {
        let selection = self.selection.clone();
        match action {
            Action::Save => {
                if let Some(path) = self.document.path.clone() {
                    self.save_to(path);
                }
            }
            Action::Undo => drop(self.document.undo()),
            Action::Redo => drop(self.document.redo()),
            Action::Remove => self.edit_selection(action, Change::Remove(selection)),
            Action::Duplicate => self.edit_selection(action, Change::Duplicate(selection)),
            Action::Mirror => self.edit_selection(action, Change::Mirror(selection)),
            Action::LetDown => self.edit_selection(action, Change::LetDown(selection)),
            Action::AlignLeft => self.align(action, Edge::Left),
            Action::AlignMiddle => self.align(action, Edge::Middle),
            Action::AlignRight => self.align(action, Edge::Right),
            Action::AlignFront => self.align(action, Edge::Front),
            Action::AlignBack => self.align(action, Edge::Back),
            Action::AlignTops => self.align(action, Edge::Top),
            Action::AlignBottoms => self.align(action, Edge::Bottom),
            Action::DistributeAcross => {
                self.edit_selection(action, Change::Distribute(selection, 0));
            }
            Action::DistributeDepth => {
                self.edit_selection(action, Change::Distribute(selection, 1));
            }
            Action::ScaleUp => self.edit_selection(action, Change::Scale(selection, SCALE_STEP)),
            Action::ScaleDown => {
                self.edit_selection(action, Change::Scale(selection, 1.0 / SCALE_STEP));
            }
            Action::Bond => self.edit_selection(action, Change::ToggleBond(selection)),
            Action::Hide => {
                self.hidden.extend(selection);
                self.selection.clear();
            }
            Action::ShowAll => self.hidden.clear(),
            Action::Lock => self.edit_selection(action, Change::ToggleLock(selection)),
            Action::SelectAll => self.selection = self.layout().ids().collect(),
            Action::SelectNone => {
                self.selection.clear();
                self.place = None;
            }
            Action::Copy => self.copy(),
            Action::Paste => {
                let items = self.clipboard.clone();
                if !items.is_empty() {
                    self.edit(action, Change::Paste(items));
                }
            }
            Action::CopyLayout => {
                self.edit(action, Change::CopyLayout);
                // What it was copied from is what it will be compared with.
                self.compared = self.compared.map(|_| self.layout_idx);
                self.layout_idx += 1;
            }
            Action::RemoveLayout => self.edit(action, Change::RemoveLayout),
            Action::LayoutLeft => self.move_layout(action, -1),
            Action::LayoutRight => self.move_layout(action, 1),
            Action::PhotoShown => self.switch_photos(),
            Action::FinerCells | Action::LooksFiner | Action::OnCard => self.turn(action),
            Action::ProposePump => self.start_search(),
            Action::StopWork => {
                self.stop_search();
                self.stop_improving();
                self.failing.stop();
                self.finer.stop();
                self.stop_paper();
            }
            // The rest belongs to whoever shows the desk.
            _ => {}
        }
    }

    /// Turns a choice on or off.
    fn turn(&mut self, action: Action) {
        let settings = &mut self.settings;
        let choice = match action {
            Action::FinerCells => &mut settings.fine_cells,
            Action::LooksFiner => &mut settings.looks_finer,
            Action::OnCard => &mut settings.on_card,
            _ => return,
        };
        *choice = !*choice;
    }

    /// Moves the shown layout in the strip; it stays the one that is shown.
    fn move_layout(&mut self, action: Action, step: isize) {
        let to = self.layout_idx().checked_add_signed(step);
        if let Some(to) = to.filter(|to| *to < self.scene().layouts.len()) {
            self.edit(action, Change::MoveLayout(step));
            self.layout_idx = to;
        }
    }

    fn edit(&mut self, action: Action, change: Change) {
        self.run(Command::Edit(action.label().to_owned(), change));
    }

    fn align(&mut self, action: Action, edge: Edge) {
        let change = Change::Align(self.selection.clone(), edge);
        self.edit_selection(action, change);
    }

    fn edit_selection(&mut self, action: Action, change: Change) {
        if !self.selection.is_empty() {
            self.edit(action, change);
        }
    }

    fn copy(&mut self) {
        let layout = self.layout();
        let items: Vec<Item> = self
            .selection
            .iter()
            .filter_map(|id| layout.item(*id))
            .collect();
        if !items.is_empty() {
            self.clipboard = items;
        }
    }

    fn drop_lost_selection(&mut self) {
        let ids: Vec<ItemId> = self.layout().ids().collect();
        self.selection.retain(|id| ids.contains(id));
    }
}

//! Pages that lie over the sheet for a moment. Escape or a click beside them
//! puts them away; none of them loses work.

use std::path::PathBuf;

use egui::{Context, Frame, Id, Margin, Modal, RichText, Ui};

use crate::ui::ask::{Ask, Next, PathFor};
use crate::ui::charts::ChartsPage;
use crate::ui::commands::CommandList;
use crate::ui::coral_picker::CoralPicker;
use crate::ui::day::DayPage;
use crate::ui::dialogs::PathEntry;
use crate::ui::improve::ImprovePage;
use crate::ui::new_tank::NewTank;
use crate::ui::paper::PaperPage;
use crate::ui::parts::{self, Panel};
use crate::ui::photo::PhotoPage;
use crate::ui::{
    about, dialogs, filing, help, history, readings, scanned, scenes, stock, text, theme,
};

/// What lies over the sheet.
#[derive(Clone, Debug)]
pub enum Page {
    /// Every command, searchable.
    Commands(CommandList),
    /// How to begin, and all keys.
    Help,
    /// What this is, and cautions.
    About,
    /// An empty tank.
    NewTank(NewTank),
    /// Corals to place or to change to.
    Corals(CoralPicker),
    /// Past and undone steps.
    History,
    /// What is where.
    Stock,
    /// Readings against the estimate.
    Readings,
    /// What to change before anything is bought.
    Improve(ImprovePage),
    /// Light and pumps by the hour, weeks of getting used to light.
    Day(DayPage),
    /// Demo scenes and recent files.
    Scenes,
    /// What to put on paper.
    Paper(PaperPage),
    /// A path typed by hand.
    Path(PathEntry),
    /// What to do with unsaved work.
    Unsaved(Next),
    /// Whether to replace a file.
    Taken(PathFor, PathBuf),
    /// A scanned rock on its way in.
    Scanned,
    /// Shares and curves.
    Charts(ChartsPage),
    /// A photo under the drawing.
    Photo(PhotoPage),
    /// What to keep of a file that someone else changed.
    Changed(PathBuf, Option<Next>),
}

impl Page {
    /// The list of commands.
    pub fn commands() -> Self {
        Self::Commands(CommandList::default())
    }

    /// Corals to place.
    pub fn corals() -> Self {
        Self::Corals(CoralPicker::to_place())
    }

    /// Corals to change the selected one to.
    pub fn change_entry() -> Self {
        Self::Corals(CoralPicker::to_change())
    }

    fn title(&self) -> &'static str {
        match self {
            Self::Commands(_) => text::PAGE_COMMANDS,
            Self::Help => text::PAGE_HELP,
            Self::About => text::PAGE_ABOUT,
            Self::NewTank(_) => text::PAGE_NEW_TANK,
            Self::Corals(_) => text::PAGE_CORALS,
            Self::History => text::PAGE_HISTORY,
            Self::Stock => text::PAGE_STOCK,
            Self::Readings => text::PAGE_READINGS,
            Self::Improve(_) => text::PAGE_IMPROVE,
            Self::Day(_) => text::PAGE_DAY,
            Self::Scenes => text::PAGE_SCENES,
            Self::Paper(_) => text::PAGE_PAPER,
            Self::Path(entry) => entry.title(),
            Self::Unsaved(_) => text::PAGE_UNSAVED,
            Self::Taken(..) => text::PAGE_TAKEN,
            Self::Scanned => text::PAGE_SCANNED,
            Self::Photo(_) => text::PAGE_PHOTO,
            Self::Charts(_) => text::PAGE_CHARTS,
            Self::Changed(..) => text::PAGE_CHANGED,
        }
    }

    fn width(&self) -> f32 {
        match self {
            Self::Photo(_) => 1120.0,
            Self::Readings => 860.0,
            Self::Help
            | Self::About
            | Self::Stock
            | Self::Improve(_)
            | Self::Day(_)
            | Self::Charts(_) => 720.0,
            Self::Unsaved(_) | Self::History | Self::Taken(..) | Self::Changed(..) => 420.0,
            _ => 560.0,
        }
    }

    /// Draws the page; returns whether it stays.
    pub fn show(&mut self, ctx: &Context, panel: &mut Panel<'_>, recent: &[PathBuf]) -> bool {
        let room = ctx.content_rect().size();
        let width = self.width().min(room.x - 80.0);
        let height = (room.y - 140.0).max(120.0);
        let frame = Frame::new()
            .fill(panel.theme.paper)
            .stroke(egui::Stroke::new(1.2, panel.theme.ink))
            .inner_margin(Margin::same(18));
        let modal = Modal::new(Id::unique(("page", self.title())))
            .backdrop_color(panel.theme.ink.gamma_multiply(0.22))
            .frame(frame)
            .show(ctx, |ui| {
                ui.set_width(width);
                self.head(ui, panel);
                self.body(ui, panel, recent, height);
            });
        // A page that has grown is brought into the middle with the next frame:
        // without one it would jump from under the first click, which would
        // then lie beside it and put it away.
        let size = modal.response.rect.size();
        let known = Id::unique("page size");
        let before = ctx.data_mut(|data| data.get_temp(known));
        if before != Some(size) {
            ctx.data_mut(|data| data.insert_temp(known, size));
            ctx.request_repaint();
        }
        !modal.should_close()
    }

    fn head(&self, ui: &mut Ui, panel: &mut Panel<'_>) {
        ui.horizontal(|ui| {
            ui.label(RichText::new(self.title()).font(theme::bold(theme::HEADING_SIZE)));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if parts::link(ui, panel.theme, text::CLOSE).clicked() {
                    panel.ask.push(Ask::Close);
                }
            });
        });
        parts::rule(ui, panel.theme);
    }

    fn body(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, recent: &[PathBuf], height: f32) {
        match self {
            Self::Commands(list) => return list.show(ui, panel, height),
            Self::Corals(picker) => return picker.show(ui, panel, height),
            _ => {}
        }
        egui::ScrollArea::vertical()
            .id_salt("page body")
            .auto_shrink([false, true])
            .max_height(height)
            .min_scrolled_height(height)
            .show(ui, |ui| match self {
                Self::Help => help::show(ui, panel),
                Self::About => about::show(ui, panel),
                Self::NewTank(new) => new.show(ui, panel),
                Self::History => history::show(ui, panel),
                Self::Stock => stock::show(ui, panel),
                Self::Readings => readings::show(ui, panel),
                Self::Improve(page) => page.show(ui, panel),
                Self::Day(page) => page.show(ui, panel),
                Self::Scenes => scenes::show(ui, panel, recent),
                Self::Paper(page) => page.show(ui, panel),
                Self::Path(entry) => entry.show(ui, panel),
                Self::Unsaved(next) => dialogs::unsaved(ui, panel, next),
                Self::Scanned => scanned::show(ui, panel),
                Self::Photo(page) => page.show(ui, panel),
                Self::Charts(page) => page.show(ui, panel),
                Self::Taken(what, path) => filing::taken(ui, panel, what, path),
                Self::Changed(path, next) => filing::changed(ui, panel, path, next.as_ref()),
                Self::Commands(_) | Self::Corals(_) => {}
            });
    }
}

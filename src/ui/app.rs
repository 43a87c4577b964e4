//! The window's state and its two beats: `logic` takes in results and runs
//! commands, `ui` only draws and collects wishes.

use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use eframe::CreationContext;
use egui::{CentralPanel, Context, Frame, Margin, Panel as Side, Rect, Ui};

use crate::advice::Finding;
use crate::desk::{Action, Command, Desk, Notice, Place};
use crate::document::Document;
use crate::job::Notify;
use crate::storage::{CrashReport, Leftover, crash_reports, demos, load_choices, parse};
use crate::ui::ask::{Ask, Below, Next};
use crate::ui::charts::ChartsPage;
use crate::ui::choices::Choices;
use crate::ui::day::DayPage;
use crate::ui::dialogs::NativeDialog;
use crate::ui::findings::Lists;
use crate::ui::glimpse::Glimpse;
use crate::ui::improve::ImprovePage;
use crate::ui::inspector::Inspector;
use crate::ui::keeper::Keeper;
use crate::ui::notices::NoticeBoard;
use crate::ui::pace::{Motion, Pace};
use crate::ui::pages::Page;
use crate::ui::paper::PaperPage;
use crate::ui::parts::{self, Panel};
use crate::ui::photo::PhotoPage;
use crate::ui::room::{self, Moved, PanelSizes, Room, TITLE, border};
use crate::ui::sheet::{Sheet, SheetContext, Wash};
use crate::ui::theme::Theme;
use crate::ui::title_strip::TitleStrip;
use crate::ui::{findings, legend, new_tank, notices, shelf, shortcuts, status, text, time_bar};

/// What the window starts with.
#[derive(Clone, Debug)]
pub struct Start {
    /// Scene to open; the last one, or the first demo, if left out.
    pub path: Option<PathBuf>,
    /// Folder for unsaved work and choices; nothing is kept without one.
    pub folder: Option<PathBuf>,
    /// Whether the system's dialogs may be asked.
    pub has_dialogs: bool,
    /// Whether the estimates run by themselves.
    pub is_live: bool,
}

/// The window.
pub struct App {
    pub(super) desk: Desk,
    pub(super) sheet: Sheet,
    pub(super) theme: Theme,
    pub(super) choices: Choices,
    pub(super) keeper: Keeper,
    pub(super) leftovers: Vec<Leftover>,
    pub(super) reports: Vec<CrashReport>,
    pace: Pace,
    /// What may move by itself in this frame.
    pub(super) motion: Motion,
    /// What draws the window, in the driver's words.
    pub(super) drawn_by: String,
    pub(super) strip: TitleStrip,
    pub(super) inspector: Inspector,
    pub(super) board: NoticeBoard,
    pub(super) page: Option<Page>,
    /// Where the coral goes that is being chosen, if it was dragged there.
    pub(super) coral_at: Option<Place>,
    pub(super) dialog: NativeDialog,
    pub(super) has_dialogs: bool,
    pub(super) finding: Option<usize>,
    /// The finding itself, to find it again when the list comes anew.
    pub(super) stood_on: Option<Finding>,
    pub(super) below: Below,
    /// Whether a small window shows the lists in the inspector's place.
    pub(super) has_lists: bool,
    pub(super) glimpse: Glimpse,
    pub(super) notify: Notify,
    pub(super) wants_quit: bool,
    /// Where the picture goes that the next quiet frame shows.
    pub(super) picture: Option<PathBuf>,
    /// What became of the last picture.
    pub(super) picture_outcome: Arc<Mutex<Option<Notice>>>,
    pub(super) sends: Vec<Command>,
    pub(super) asks: Vec<Ask>,
    shown: Option<(bool, bool, f32)>,
    title: String,
}

impl App {
    /// A window over this context.
    pub fn new(creation: &CreationContext<'_>, start: &Start) -> Self {
        let ctx = creation.egui_ctx.clone();
        let repaint = ctx.clone();
        let notify: Notify = Arc::new(move || repaint.request_repaint());
        let mut choices: Choices = start
            .folder
            .as_deref()
            .map(load_choices)
            .unwrap_or_default();
        choices.settings.is_live = start.is_live;
        // Every day begins today.
        choices.settings.months = 0.0;
        let (keeper, leftovers, notice) = Keeper::start(start.folder.clone());
        let theme = theme_of(&choices);
        theme.install(&ctx);
        ctx.options_mut(|options| options.zoom_with_keyboard = false);
        let mut app = Self {
            desk: Desk::new(first_document(), Arc::clone(&notify)),
            sheet: Sheet::new(),
            theme,
            choices,
            keeper,
            leftovers,
            reports: start
                .folder
                .as_deref()
                .map(crash_reports)
                .unwrap_or_default(),
            pace: Pace::new(
                is_drawn_by_processor(creation),
                start.has_dialogs.then_some(&notify),
            ),
            motion: Motion { frame_s: None },
            drawn_by: driver_words(creation),
            strip: TitleStrip::default(),
            inspector: Inspector::default(),
            board: NoticeBoard::default(),
            page: None,
            coral_at: None,
            dialog: NativeDialog::default(),
            has_dialogs: start.has_dialogs,
            finding: None,
            stood_on: None,
            below: Below::default(),
            has_lists: false,
            glimpse: Glimpse::default(),
            notify,
            wants_quit: false,
            picture: None,
            picture_outcome: Arc::default(),
            sends: Vec::new(),
            asks: Vec::new(),
            shown: None,
            title: String::new(),
        };
        let settings = Box::new(app.choices.settings.clone());
        app.desk.run(Command::SetSettings(settings));
        app.sheet.set_column(app.choices.panels.column);
        app.sends
            .extend(notice.map(|notice| Command::Tell(Box::new(notice))));
        app.open_first(start);
        app
    }

    /// The desk, to read.
    pub fn desk(&self) -> &Desk {
        &self.desk
    }

    /// The sheet, to read.
    pub fn sheet(&self) -> &Sheet {
        &self.sheet
    }

    /// The keeper's choices, to read.
    pub fn choices(&self) -> &Choices {
        &self.choices
    }

    /// Which finding the keeper stands on.
    pub fn finding(&self) -> Option<usize> {
        self.finding
    }

    /// Opens the file that was asked for, else the last one that is still there.
    fn open_first(&mut self, start: &Start) {
        let last = self.choices.recent.present().first().map(PathBuf::from);
        if let Some(path) = start.path.clone().or(last) {
            self.bring(Next::File(path));
            self.show_layout_last_used();
        }
    }

    /// Sends a command as a panel does: it is run in the next frame.
    pub fn send(&mut self, command: Command) {
        self.sends.push(command);
    }

    /// Runs a command; choices that belong to the keeper are remembered.
    pub(super) fn run(&mut self, command: Command) {
        if let Command::SetSettings(settings) = &command {
            self.choices.settings = (**settings).clone();
        }
        self.desk.run(command);
    }

    fn take_keys(&mut self, ctx: &Context) {
        // A page or an open menu has the keyboard for itself.
        if self.page.is_some() || egui::Popup::is_any_open(ctx) {
            return;
        }
        let pressed = shortcuts::pressed(ctx);
        // What was typed on after a page was asked for, before it could be
        // drawn, is meant for the page.
        let page = pressed.iter().find(|action| page_of(**action).is_some());
        match page {
            Some(page) => self.asks.push(Ask::Do(*page)),
            None => self.asks.extend(pressed.into_iter().map(Ask::Do)),
        }
    }

    fn take_close(&mut self, ctx: &Context) {
        let is_asked = ctx.input(|input| input.viewport().close_requested());
        if is_asked && !self.wants_quit && self.desk.document().is_unsaved() {
            ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
            self.asks.push(Ask::Replace(Next::Quit));
        } else if self.wants_quit && !is_asked {
            ctx.send_viewport_cmd(egui::ViewportCommand::Close);
        }
    }

    /// Colors, text scale and window title follow the choices and the scene.
    fn dress(&mut self, ctx: &Context) {
        let choices = &self.choices;
        let wanted = (choices.is_night, choices.reduced_motion, choices.text_scale);
        if self.shown != Some(wanted) {
            self.shown = Some(wanted);
            self.theme = theme_of(&self.choices);
            self.theme.install(ctx);
            if self.choices.reduced_motion {
                ctx.all_styles_mut(|style| style.animation_time = 0.0);
            }
            ctx.set_zoom_factor(self.choices.text_scale);
        }
        let unsaved = self.desk.document().is_unsaved();
        let title = text::window_title(&self.desk.scene().name, unsaved);
        if title != self.title {
            self.title.clone_from(&title);
            ctx.send_viewport_cmd(egui::ViewportCommand::Title(title));
        }
    }

    fn draw(&mut self, ui: &mut Ui) {
        let window = ui.max_rect();
        let room = Room::new(window.size(), &self.choices.panels, self.below);
        let look = (self.sheet.wash(), self.sheet.is_surface_light());
        let readout = readout_words(&self.sheet, &self.desk);
        let Self {
            desk,
            sheet,
            theme,
            sends,
            asks,
            ..
        } = self;
        let mut panel = Panel {
            desk,
            theme,
            send: sends,
            ask: asks,
        };
        let folded = room.are_folded;
        Side::top("title strip")
            .exact_size(TITLE)
            .resizable(false)
            .frame(bare(theme.strip, 12, 0))
            .show(ui, |ui| self.strip.show(ui, &mut panel, (look.0, folded)));
        let lists = Lists {
            below: self.below,
            current: self.finding,
            has_line: self.glimpse.is_on(),
        };
        if folded {
            let left = (&*self.leftovers, &*self.reports);
            self.board.show_below(ui, &mut panel, left);
        } else {
            let beside = Beside {
                lists: room.is_compact.then_some((&mut self.has_lists, lists)),
                board: &mut self.board,
                left: (&self.leftovers, &self.reports),
            };
            show_right(ui, &mut panel, &mut self.inspector, (room, look), beside);
            if !room.is_compact {
                show_below(ui, &mut panel, (room, lists), readout.as_deref());
            }
            show_around(ui, &mut panel);
        }
        let context = SheetContext {
            desk,
            theme,
            motion: self.motion,
        };
        let has_readout_below = !folded && !room.is_compact;
        CentralPanel::default()
            .frame(bare(theme.paper, 1, 1))
            .show(ui, |ui| {
                let rect = ui.available_rect_before_wrap();
                sheet.show(ui, &context, panel.send);
                self.glimpse.show(ui, rect, sheet, &context, panel.send);
                if let Some(words) = readout.filter(|_| !has_readout_below) {
                    status::float(ui, rect, &words, theme);
                }
            });
        if !folded {
            move_borders(ui, window, room, (&mut self.choices.panels, theme));
        }
        self.choices.panels.column = sheet.column();
        let called = sheet.take_called();
        self.asks.extend(called.map(Ask::Finding));
        let dropped = sheet.take_dropped();
        self.asks.extend(dropped.map(Ask::Drop));
        shelf::show_dragged(ui.ctx(), theme);
    }

    fn draw_page(&mut self, ctx: &Context) {
        let Some(mut page) = self.page.take() else {
            return;
        };
        let recent: Vec<PathBuf> = match page {
            Page::Scenes => {
                let files = self.choices.recent.present();
                files.into_iter().map(PathBuf::from).collect()
            }
            _ => Vec::new(),
        };
        let mut panel = Panel {
            desk: &self.desk,
            theme: &self.theme,
            send: &mut self.sends,
            ask: &mut self.asks,
        };
        if page.show(ctx, &mut panel, &recent) {
            self.page = Some(page);
        }
    }

    /// Says where a file would go that hovers over the window.
    fn draw_drop_hint(&self, ctx: &Context) {
        if ctx.input(|input| input.raw.hovered_files.is_empty()) {
            return;
        }
        let painter = ctx.layer_painter(egui::LayerId::new(
            egui::Order::Foreground,
            egui::Id::unique("drop hint"),
        ));
        let rect = ctx.content_rect();
        painter.rect_filled(rect, 0.0, self.theme.paper.gamma_multiply(0.8));
        painter.text(
            rect.center(),
            egui::Align2::CENTER_CENTER,
            text::DROP_HERE,
            crate::ui::theme::bold(crate::ui::theme::HEADING_SIZE),
            self.theme.ink,
        );
    }
}

impl eframe::App for App {
    fn logic(&mut self, ctx: &Context, frame: &mut eframe::Frame) {
        self.take_keys(ctx);
        self.take_dropped(ctx);
        self.take_close(ctx);
        self.take_dialog();
        self.take_picture_outcome();
        self.run_all(ctx);
        self.desk.tend();
        self.keep_finding();
        self.note_layout();
        if ctx.input(|input| input.events.contains(&egui::Event::WindowFocused(true))) {
            self.desk.look_at_disk();
        }
        if let Some(notice) = self.keeper.mark(&self.desk) {
            self.desk.run(Command::Tell(Box::new(notice)));
        }
        let now_s = ctx.input(|input| input.time);
        if let Some(notice) = self.keeper.tend(&self.desk, &self.choices, now_s) {
            self.desk.run(Command::Tell(Box::new(notice)));
        }
        if self.keeper.is_waiting(&self.desk) {
            ctx.request_repaint_after(std::time::Duration::from_secs(2));
        }
        self.take_picture(ctx);
        let frame_s = frame.info().cpu_usage.unwrap_or(0.0);
        self.motion = self.pace.tend(ctx, frame_s, self.choices.reduced_motion);
        self.dress(ctx);
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        let ctx = ui.ctx().clone();
        self.draw(ui);
        self.draw_page(&ctx);
        self.draw_drop_hint(&ctx);
        if !self.sends.is_empty() || !self.asks.is_empty() {
            ctx.request_repaint();
        }
    }

    fn on_exit(&mut self) {
        self.keeper.close(&self.desk, &self.choices);
    }

    fn clear_color(&self, _visuals: &egui::Visuals) -> [f32; 4] {
        self.theme.paper.to_normalized_gamma_f32()
    }
}

/// What draws the window, for bug reports.
fn driver_words(creation: &CreationContext<'_>) -> String {
    let Some(state) = &creation.wgpu_render_state else {
        return "nothing on a screen".to_owned();
    };
    let info = state.adapter.get_info();
    format!("{} ({:?}, {:?})", info.name, info.backend, info.device_type)
}

/// Whether no graphics card draws the window.
fn is_drawn_by_processor(creation: &CreationContext<'_>) -> bool {
    let state = creation.wgpu_render_state.as_ref();
    state.is_some_and(|state| state.adapter.get_info().device_type == eframe::wgpu::DeviceType::Cpu)
}

/// A bare panel of this color, with room at its sides.
fn bare(fill: egui::Color32, x: i8, y: i8) -> Frame {
    Frame::new()
        .fill(fill)
        .inner_margin(Margin::symmetric(x, y))
}

/// What shares the right panel with the inspector.
struct Beside<'a> {
    /// In a small window the lists, and whether they are shown.
    lists: Option<(&'a mut bool, Lists)>,
    board: &'a mut NoticeBoard,
    left: notices::Left<'a>,
}

/// The inspector, as wide as asked for, over the legend of the wash that is
/// shown; in a small window with the lists in the same place.
fn show_right(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    inspector: &mut Inspector,
    (room, look): (Room, (Wash, bool)),
    beside: Beside<'_>,
) {
    let Beside { lists, board, left } = beside;
    let paper = panel.theme.paper;
    Side::right("inspector")
        .exact_size(room.inspector)
        .resizable(false)
        .frame(bare(paper, 12, 4))
        .show(ui, |ui| {
            Side::bottom("legend")
                .exact_size(legend::height(room.inspector, room.is_compact))
                .resizable(false)
                .frame(bare(paper, 0, 6))
                .show(ui, |ui| legend::show(ui, panel, look));
            if notices::has_any(panel, left) {
                Side::bottom("notices")
                    .resizable(false)
                    .exact_size(board.height(ui.available_height() * 0.6))
                    .frame(bare(paper, 0, 2))
                    .show(ui, |ui| board.show(ui, panel, left));
            }
            let Some((has_lists, lists)) = lists else {
                return inspector.show(ui, panel);
            };
            ui.horizontal(|ui| {
                let n = panel.desk.results().findings.len();
                for (words, is_lists) in [(text::DETAILS.to_owned(), false), (text::lists(n), true)]
                {
                    if parts::word(ui, panel.theme, &words, *has_lists == is_lists).clicked() {
                        *has_lists = is_lists;
                    }
                }
            });
            if *has_lists {
                findings::show(ui, panel, lists, None);
            } else {
                inspector.show(ui, panel);
            }
        });
}

/// The bar of months below the sheet, and the shelf beside it.
fn show_around(ui: &mut Ui, panel: &mut Panel<'_>) {
    let paper = panel.theme.paper;
    Side::bottom("time bar")
        .exact_size(time_bar::HEIGHT)
        .resizable(false)
        .frame(bare(paper, 12, 0))
        .show(ui, |ui| time_bar::show(ui, panel));
    Side::left("shelf")
        .exact_size(room::SHELF)
        .resizable(false)
        .frame(bare(paper, 4, 6))
        .show(ui, |ui| shelf::show(ui, panel));
}

/// The lists below the sheet.
fn show_below(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (room, lists): (Room, Lists),
    readout: Option<&str>,
) {
    Side::bottom("findings")
        .exact_size(room.findings)
        .resizable(false)
        .frame(bare(panel.theme.paper, 12, 4))
        .show(ui, |ui| findings::show(ui, panel, lists, readout));
}

/// The borders of the panels, to drag; what they are moved to is remembered.
fn move_borders(ui: &Ui, window: Rect, room: Room, (sizes, theme): (&mut PanelSizes, &Theme)) {
    const HALF: f32 = 3.0;
    const KEY_STEP: f32 = 12.0;
    let x = window.right() - room.inspector;
    let strip = Rect::from_x_y_ranges(x - HALF..=x + HALF, window.top() + TITLE..=window.bottom());
    match border(ui, strip, text::INSPECTOR_BORDER, room.inspector, theme) {
        None => {}
        Some(Moved::Back) => sizes.inspector = None,
        Some(Moved::To(x)) => sizes.inspector = Some((window.right() - x).max(0.0)),
        Some(Moved::By(steps)) => sizes.inspector = Some(room.inspector - steps * KEY_STEP),
    }
    if room.is_compact {
        return;
    }
    let y = window.bottom() - room.findings;
    let strip = Rect::from_x_y_ranges(window.left()..=x - HALF, y - HALF..=y + HALF);
    match border(ui, strip, text::FINDINGS_BORDER, room.findings, theme) {
        None => {}
        Some(Moved::Back) => sizes.findings = None,
        Some(Moved::To(y)) => sizes.findings = Some((window.bottom() - y).max(0.0)),
        Some(Moved::By(steps)) => sizes.findings = Some(room.findings - steps * KEY_STEP),
    }
}

fn theme_of(choices: &Choices) -> Theme {
    if choices.is_night {
        Theme::night()
    } else {
        Theme::day()
    }
}

fn readout_words(sheet: &Sheet, desk: &Desk) -> Option<String> {
    if let Some(hint) = sheet.hint() {
        return Some(hint.to_owned());
    }
    let readout = sheet.cursor_readout()?;
    let units = desk.settings().units;
    Some(status::readout_words(&readout, units, desk.catalog()))
}

/// The first demo; an empty tank if it does not read, which a test rules out.
fn first_document() -> Document {
    let demo = demos()
        .first()
        .and_then(|demo| parse(demo.text, demo.file).ok());
    let scene = demo.map_or_else(
        || new_tank::empty_scene((120.0, 60.0, 50.0)),
        |loaded| loaded.scene,
    );
    Document::new(scene, None)
}

/// A word about something that could not be done.
pub(super) fn tell(sends: &mut Vec<Command>, notice: Notice) {
    sends.push(Command::Tell(Box::new(notice)));
}

/// Whether the table's action only shows or hides a page.
pub(super) fn page_of(action: Action) -> Option<Page> {
    Some(match action {
        Action::Commands => Page::commands(),
        Action::Help => Page::Help,
        Action::About => Page::About,
        Action::NewTank => Page::NewTank(new_tank::NewTank::default()),
        Action::AddCoral => Page::corals(),
        Action::History => Page::History,
        Action::Stocklist => Page::Stock,
        Action::Readings => Page::Readings,
        Action::Improve => Page::Improve(ImprovePage::default()),
        Action::DayAndWeek => Page::Day(DayPage::default()),
        Action::OpenDemo => Page::Scenes,
        Action::OnPaper => Page::Paper(PaperPage::default()),
        Action::Charts => Page::Charts(ChartsPage::default()),
        Action::Photo => Page::Photo(PhotoPage::default()),
        _ => return None,
    })
}

//! The few things that the shell's panels are made of: words that can be
//! clicked, fields for numbers, rules and headings.

use egui::{
    Align, Align2, DragValue, FontId, Layout, Response, RichText, Role, Sense, Stroke, Ui, Vec2,
    WidgetInfo,
};

use crate::catalog::Entry;
use crate::desk::{Change, Command, Desk, UnitSystem};
use crate::ui::ask::Ask;
use crate::ui::theme::{self, Theme};
use crate::units::Measure;
use crate::words::Speaker;

/// What a panel sees, and where it puts what it wants.
pub struct Panel<'a> {
    /// The open scene and all that is known of it.
    pub desk: &'a Desk,
    /// Colors.
    pub theme: &'a Theme,
    /// Commands for the desk.
    pub send: &'a mut Vec<Command>,
    /// Wishes to the window itself.
    pub ask: &'a mut Vec<Ask>,
}

impl<'a> Panel<'a> {
    /// Who says things about the shown layout.
    pub fn speaker(&self) -> Speaker<'a> {
        let desk = self.desk;
        Speaker::new(desk.scene(), desk.layout(), desk.settings().units)
    }

    /// Units on the screen.
    pub fn units(&self) -> UnitSystem {
        self.desk.settings().units
    }

    /// A value in words.
    pub fn text(&self, measure: Measure, stored: f64) -> String {
        measure.text(stored, self.units())
    }

    /// One step that can be undone.
    pub fn edit(&mut self, label: &str, change: Change) {
        self.send.push(Command::Edit(label.to_owned(), change));
    }
}

/// A word to click; the chosen one of a row is bold and underlined.
pub fn word(ui: &mut Ui, theme: &Theme, text: &str, is_chosen: bool) -> Response {
    let size = theme::TEXT_SIZE;
    let font = if is_chosen {
        theme::bold(size)
    } else {
        FontId::proportional(size)
    };
    // The bold width is taken in both states, so that nothing moves.
    let wide = ui
        .painter()
        .layout_no_wrap(text.to_owned(), theme::bold(size), theme.ink)
        .size();
    let (rect, response) = ui.allocate_exact_size(wide + Vec2::new(4.0, 8.0), Sense::click());
    response.widget_info(|| {
        let mut info = WidgetInfo::labeled(Role::Button, ui.is_enabled(), text);
        info.selected = Some(is_chosen);
        info
    });
    let color = if is_chosen || response.hovered() || response.has_focus() {
        theme.ink
    } else {
        theme.aside
    };
    let at = rect.center() - Vec2::new(0.0, 1.0);
    ui.painter()
        .text(at, Align2::CENTER_CENTER, text, font, color);
    let line = if is_chosen {
        Stroke::new(2.0, theme.accent)
    } else if response.hovered() {
        Stroke::new(1.0, theme.accent)
    } else {
        Stroke::NONE
    };
    ui.painter()
        .hline(rect.x_range(), rect.bottom() - 1.0, line);
    focus_ring(ui, theme, &response);
    response
}

/// Draws the frame that says where the keyboard is.
pub fn focus_ring(ui: &Ui, theme: &Theme, response: &Response) {
    if response.has_focus() {
        ui.painter().rect_stroke(
            response.rect.expand(1.0),
            2.0,
            Stroke::new(1.0, theme.accent),
            egui::StrokeKind::Outside,
        );
    }
}

/// Accent words that do something.
pub fn link(ui: &mut Ui, theme: &Theme, text: &str) -> Response {
    ui.link(RichText::new(text).color(theme.accent))
}

/// Words said by the way.
pub fn aside(ui: &mut Ui, theme: &Theme, text: impl Into<String>) -> Response {
    ui.label(
        RichText::new(text)
            .color(theme.aside)
            .size(theme::SMALL_SIZE),
    )
}

/// Bold words over a group.
pub fn heading(ui: &mut Ui, text: &str) {
    ui.add_space(6.0);
    ui.label(RichText::new(text).font(theme::bold(theme::TEXT_SIZE)));
}

/// A number that can be dragged or typed.
pub struct Number<'a> {
    /// Its name for readers and in the list of steps.
    pub name: &'a str,
    /// What it measures.
    pub measure: Measure,
    /// Least and most, in the stored unit.
    pub range: (f64, f64),
    /// Whether nobody has given it yet; it then stands there in words.
    is_open: bool,
}

impl<'a> Number<'a> {
    /// A number of this name, measure and range.
    pub fn new(name: &'a str, measure: Measure, range: (f64, f64)) -> Self {
        Self {
            name,
            measure,
            range,
            is_open: false,
        }
    }

    /// The same of a value that may not have been given yet: none is made up.
    #[must_use]
    pub fn open_if(self, is_open: bool) -> Self {
        Self { is_open, ..self }
    }

    /// Shows it and sends what `change` makes of a new value: a drag is one
    /// step, and so is each value typed.
    pub fn show(
        &self,
        ui: &mut Ui,
        panel: &mut Panel<'_>,
        value: f64,
        change: impl FnOnce(f64) -> Change,
    ) -> Response {
        let (response, new) = self.plain(ui, panel.units(), value);
        let is_dragging = response.dragged() || response.drag_started() || response.drag_stopped();
        let label = format!("set {}", self.name);
        if response.drag_started() {
            panel.send.push(Command::Begin(label.clone()));
        }
        if let Some(new) = new {
            let change = change(new);
            if is_dragging {
                panel.send.push(Command::Change(change));
            } else {
                panel.send.push(Command::Edit(label, change));
            }
        }
        if response.drag_stopped() {
            panel.send.push(Command::End);
        }
        response
    }

    /// Shows it; the new value if there is one.
    pub fn plain(&self, ui: &mut Ui, units: UnitSystem, value: f64) -> (Response, Option<f64>) {
        let measure = self.measure;
        let (low, high) = self.range;
        let shown = measure.shown(units);
        // About three screen points for each step of the last digit but one.
        let step = 10_f64.powi(1 - shown.decimals as i32) / shown.factor * 0.35;
        // Below all that may be entered, so that even the least is a change.
        let open = self.is_open.then_some(low - 1.0);
        let value = open.unwrap_or(value);
        let mut now = value;
        let response = ui.add(
            DragValue::new(&mut now)
                .range(low..=high)
                .clamp_existing_to_range(false)
                .speed(step)
                .update_while_editing(false)
                .min_size(Vec2::new(66.0, 22.0))
                .custom_formatter(move |stored, _| {
                    if open == Some(stored) {
                        crate::ui::text::NOT_READ_YET.to_owned()
                    } else {
                        measure.text(stored, units)
                    }
                })
                .custom_parser(move |text| measure.read(text, units)),
        );
        let response = response.accessible_name(self.name);
        let is_new = response.changed() && now.is_finite() && now != value;
        (response, is_new.then_some(now))
    }
}

/// A row: its name at the left, what `add` shows at the right.
pub fn row<R>(ui: &mut Ui, theme: &Theme, name: &str, add: impl FnOnce(&mut Ui) -> R) -> R {
    /// Where the second column begins when names are too long for the first.
    const LONG_NAME: f32 = 100.0;
    ui.horizontal(|ui| {
        ui.set_min_height(24.0);
        let usual = (ui.available_width() * 0.3).clamp(56.0, 110.0);
        let font = FontId::proportional(theme::TEXT_SIZE);
        let words = ui
            .painter()
            .layout_no_wrap(name.to_owned(), font, theme.aside);
        let width = if words.size().x > usual {
            usual.max(LONG_NAME)
        } else {
            usual
        };
        ui.allocate_ui_with_layout(
            Vec2::new(width, 22.0),
            Layout::left_to_right(Align::Center),
            |ui| {
                ui.set_min_width(width);
                ui.label(RichText::new(name).color(theme.aside));
            },
        );
        ui.with_layout(
            Layout::left_to_right(Align::Center).with_main_wrap(true),
            add,
        )
        .inner
    })
    .inner
}

/// A row with one number.
pub fn number_row(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    number: &Number<'_>,
    value: f64,
    change: impl FnOnce(f64) -> Change,
) {
    let theme = panel.theme;
    row(ui, theme, number.name, |ui| {
        number.show(ui, panel, value, change)
    });
}

/// A row with a fact that cannot be changed.
pub fn fact_row(ui: &mut Ui, panel: &Panel<'_>, name: &str, value: &str) {
    row(ui, panel.theme, name, |ui| ui.label(value));
}

/// A row of words of which one is chosen; the new choice, if there is one.
pub fn choice<T: Copy + PartialEq>(
    ui: &mut Ui,
    theme: &Theme,
    options: &[(T, &str)],
    is_chosen: impl Fn(T) -> bool,
) -> Option<T> {
    let mut new = None;
    for (option, text) in options {
        let chosen = is_chosen(*option);
        if word(ui, theme, text, chosen).clicked() && !chosen {
            new = Some(*option);
        }
    }
    new
}

/// Draws a thin rule across.
pub fn rule(ui: &mut Ui, theme: &Theme) {
    let (rect, _) = ui.allocate_exact_size(Vec2::new(ui.available_width(), 9.0), Sense::hover());
    ui.painter().hline(
        rect.x_range(),
        rect.center().y,
        Stroke::new(1.0, theme.rule),
    );
}

/// A filled box with words, for the one thing that is most likely wanted.
pub fn main_button(ui: &mut Ui, theme: &Theme, text: &str) -> Response {
    ui.add(
        egui::Button::new(RichText::new(text).color(theme.paper))
            .fill(theme.ink)
            .stroke(Stroke::new(1.0, theme.ink)),
    )
}

/// Height of a row of words to click, in points.
pub(crate) const WORD_HEIGHT: f32 = 27.0;

/// A list narrower than this, in points, stacks its cells: at twice the usual
/// size of words a row has no room for sentences.
pub(crate) const NARROW_LIST: f32 = 640.0;

/// Least height of a list's scrolled part, in points: what is above it is to
/// stay whole in a low window.
pub(crate) const LEAST_LIST: f32 = 24.0;

/// A sentence that can be clicked, cut short at the end of the row or whole.
pub(crate) fn sentence(ui: &mut Ui, words: RichText, is_whole: bool) -> Response {
    let label = egui::Label::new(words).sense(Sense::click());
    ui.add(if is_whole {
        label.wrap()
    } else {
        label.truncate()
    })
}

/// One cell of a list's row, this wide.
pub(crate) fn cell(ui: &mut Ui, width: f32, add: impl FnOnce(&mut Ui)) {
    ui.allocate_ui_with_layout(
        Vec2::new(width, 20.0),
        Layout::left_to_right(Align::Center),
        |ui| {
            ui.set_min_width(width);
            ui.set_max_width(width);
            add(ui);
        },
    );
}

/// The light and the flow that an entry likes, in words with units.
pub(crate) fn liked(panel: &Panel<'_>, entry: &Entry) -> [String; 2] {
    let units = panel.units();
    let (light, flow) = (&entry.light_ppfd_umol, &entry.flow_cm_s);
    [
        format!(
            "{:.0} - {}",
            light.low,
            Measure::Ppfd.text(light.high, units)
        ),
        format!(
            "{} - {}",
            Measure::Speed.number(flow.low, units),
            Measure::Speed.text(flow.high, units)
        ),
    ]
}

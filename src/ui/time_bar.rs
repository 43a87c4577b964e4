//! A thin bar of months under the sheet: drag the knob and the corals grow in
//! all views; ticks above the line are what growth brings.

use egui::{
    Align2, FontId, Key, Modifiers, Pos2, Rangef, Rect, Response, Sense, Shape, Stroke, Ui,
    WidgetInfo, pos2, vec2,
};

use crate::desk::MONTHS_MAX;
use crate::ui::ask::{Ask, Below};
use crate::ui::growth;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// Height of the bar.
pub const HEIGHT: f32 = 34.0;
/// Room for the words before it, and in a narrow window.
const WORDS: [f32; 2] = [128.0, 108.0];
/// Room for the words behind it.
const TAIL: f32 = 330.0;
/// Least length of the bar, and in a narrow window.
const LEAST: [f32; 2] = [160.0, 100.0];
/// Months of a key press, and with Shift.
const KEY_MONTHS: (f64, f64) = (1.0, 6.0);
/// Least and most months between ticks with a number.
const NUMBERED: usize = 12;

/// Draws the bar and asks for the month that it is dragged to.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let shown = panel.desk.settings().months;
    let narrow = usize::from(ui.available_width() < parts::NARROW_LIST);
    ui.horizontal_centered(|ui| {
        let (words, _) = ui.allocate_exact_size(vec2(WORDS[narrow], HEIGHT), Sense::hover());
        ui.painter().text(
            words.left_center(),
            Align2::LEFT_CENTER,
            text::months_ahead(shown),
            theme::bold(theme::TEXT_SIZE),
            panel.theme.ink,
        );
        let width = (ui.available_width() - TAIL - 12.0).max(LEAST[narrow]);
        bar(ui, panel, shown, width);
        ui.add_space(12.0);
        egui::ScrollArea::horizontal()
            .id_salt("growth words")
            .show(ui, |ui| ui.horizontal_centered(|ui| tail(ui, panel, shown)));
    });
}

/// What is said behind the bar: the way back, how much happens by then, and
/// what light and water are of.
fn tail(ui: &mut Ui, panel: &mut Panel<'_>, shown: f64) {
    let events = std::sync::Arc::clone(&panel.desk.results().growth);
    if shown <= 0.0 {
        if parts::link(ui, panel.theme, &text::growth_ahead(events.len())).clicked() {
            panel.ask.push(Ask::List(Below::Growth));
        }
        return;
    }
    if parts::link(ui, panel.theme, text::TODAY).clicked() {
        panel.ask.push(Ask::Months(0.0));
    }
    let is_by_then = |month: Option<f64>| month.is_some_and(|month| month <= shown);
    let n = events.iter().filter(|event| is_by_then(event.months.usual));
    let words = text::growth_by_then(n.count());
    if parts::link(ui, panel.theme, &words).clicked() {
        panel.ask.push(Ask::List(Below::Growth));
    }
    let results = panel.desk.results();
    let is_old = results.tank_is_old() || results.light_is_old();
    let words = if is_old {
        text::FIELDS_FOLLOW
    } else {
        text::FIELDS_GROWN
    };
    parts::aside(ui, panel.theme, words).on_hover_text(text::FIELDS_GROWN_TIP);
}

fn bar(ui: &mut Ui, panel: &mut Panel<'_>, shown: f64, width: f32) {
    let (rect, response) = ui.allocate_exact_size(vec2(width, HEIGHT), Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::slider(true, shown, text::MONTHS));
    let line = Rangef::new(rect.left() + 8.0, rect.right() - 8.0);
    let y = rect.top() + 15.0;
    let x = |month: f64| line.min + line.span() * (month / MONTHS_MAX) as f32;
    let wanted = if response.dragged() || response.clicked() {
        let pos = response.interact_pointer_pos();
        pos.map(|pos| f64::from((pos.x - line.min) / line.span()) * MONTHS_MAX)
    } else {
        by_keys(ui, &response, shown)
    };
    if let Some(month) = wanted.map(|month| month.round().clamp(0.0, MONTHS_MAX))
        && month != shown
    {
        panel.ask.push(Ask::Months(month));
    }
    scale(ui, panel, (line, y), x);
    let hovered = response.hover_pos();
    events(ui, panel, y, x, hovered);
    knob(ui, panel, pos2(x(shown), y), &response);
    if let Some(pos) = hovered {
        let month = f64::from((pos.x - line.min) / line.span()) * MONTHS_MAX;
        let near = near_events(panel, month);
        if !near.is_empty() {
            response.on_hover_text_at_pointer(near);
        }
    }
}

fn by_keys(ui: &Ui, response: &Response, shown: f64) -> Option<f64> {
    if !response.has_focus() {
        return None;
    }
    ui.input_mut(|input| {
        let mut pressed =
            |key, modifiers, by: f64| input.consume_key(modifiers, key).then_some(shown + by);
        let (one, six) = KEY_MONTHS;
        pressed(Key::ArrowRight, Modifiers::SHIFT, six)
            .or_else(|| pressed(Key::ArrowLeft, Modifiers::SHIFT, -six))
            .or_else(|| pressed(Key::ArrowRight, Modifiers::NONE, one))
            .or_else(|| pressed(Key::ArrowLeft, Modifiers::NONE, -one))
            .or_else(|| pressed(Key::Home, Modifiers::NONE, -shown))
    })
}

/// The line with a tick every six months and a number every year.
fn scale(ui: &Ui, panel: &Panel<'_>, (line, y): (Rangef, f32), x: impl Fn(f64) -> f32) {
    let theme = panel.theme;
    let painter = ui.painter();
    painter.hline(line, y, Stroke::new(1.2, theme.ink));
    for month in (0..=MONTHS_MAX as usize).step_by(6) {
        let at = x(month as f64);
        let is_year = month % NUMBERED == 0;
        let length = if is_year { 6.0 } else { 3.5 };
        painter.vline(at, y..=y + length, Stroke::new(1.0, theme.ink));
        if is_year {
            painter.text(
                pos2(at, y + 6.0),
                Align2::CENTER_TOP,
                month.to_string(),
                FontId::proportional(theme::SMALL_SIZE - 1.0),
                theme.aside,
            );
        }
    }
}

/// A tick above the line for each event, and its early and late month while
/// the pointer is near.
fn events(ui: &Ui, panel: &Panel<'_>, y: f32, x: impl Fn(f64) -> f32, pointer: Option<Pos2>) {
    let theme = panel.theme;
    for event in panel.desk.results().growth.iter() {
        let month = event.months.usual.unwrap_or(event.months.early);
        let color = if growth::is_grave(event) {
            theme.accent
        } else {
            theme.aside
        };
        let at = x(month);
        ui.painter()
            .vline(at, y - 8.0..=y - 2.0, Stroke::new(1.5, color));
        if pointer.is_some_and(|pos| (pos.x - at).abs() < 4.0) {
            let (early, late) = growth::span(&event.months, MONTHS_MAX);
            let span = Rangef::new(x(early), x(late));
            ui.painter().hline(span, y - 10.0, Stroke::new(1.5, color));
        }
    }
}

fn near_events(panel: &Panel<'_>, month: f64) -> String {
    const NEAR: f64 = 0.6;
    const LINES: usize = 6;
    let near = panel.desk.results().growth.iter().filter(|event| {
        let usual = event.months.usual.unwrap_or(event.months.early);
        (usual - month).abs() < NEAR
    });
    let speaker = panel.speaker();
    let lines: Vec<String> = near
        .take(LINES)
        .map(|event| speaker.meeting(event))
        .collect();
    lines.join("\n")
}

fn knob(ui: &Ui, panel: &Panel<'_>, at: Pos2, response: &Response) {
    let theme = panel.theme;
    let is_held = response.hovered() || response.dragged() || response.has_focus();
    let color = if is_held { theme.accent } else { theme.ink };
    let half = 6.5;
    let body = [
        at + vec2(0.0, -1.0),
        at + vec2(half, 9.0),
        at + vec2(half, 14.0),
        at + vec2(-half, 14.0),
        at + vec2(-half, 9.0),
    ];
    ui.painter().add(Shape::convex_polygon(
        body.to_vec(),
        theme.sheet,
        Stroke::new(1.6, color),
    ));
    if response.has_focus() {
        let frame = Rect::from_center_size(at + vec2(0.0, 6.0), vec2(22.0, 24.0));
        let stroke = Stroke::new(1.0, theme.accent);
        let kind = egui::StrokeKind::Outside;
        ui.painter().rect_stroke(frame, 2.0, stroke, kind);
    }
}

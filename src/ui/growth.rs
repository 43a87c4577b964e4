//! What growth brings, in the order in which it comes.

use egui::{Label, RichText, ScrollArea, Ui};

use crate::advice::{GrowthEvent, Meeting, Months};
use crate::desk::Command;
use crate::scene::Layout as SceneLayout;
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// Half size of what is flown to, in m.
const HALF_M: f64 = 0.08;

/// Draws the list.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let events = std::sync::Arc::clone(&panel.desk.results().growth);
    ScrollArea::vertical()
        .id_salt("growth")
        .auto_shrink(false)
        .min_scrolled_height(parts::LEAST_LIST)
        .show(ui, |ui| {
            if events.is_empty() {
                let words = if panel.desk.layout().corals.is_empty() {
                    text::NO_CORALS
                } else {
                    text::NO_GROWTH
                };
                parts::aside(ui, panel.theme, words);
                return;
            }
            for (n, event) in events.iter().enumerate() {
                ui.push_id(("growth", n), |ui| line(ui, panel, event));
            }
            parts::aside(ui, panel.theme, text::GROWTH_BASIS);
        });
}

fn line(ui: &mut Ui, panel: &mut Panel<'_>, event: &GrowthEvent) {
    let theme = panel.theme;
    let shown = panel.desk.settings().months;
    let width = ui.available_width();
    let month = event.months.usual.unwrap_or(event.months.early);
    let is_narrow = width < parts::NARROW_LIST;
    let text_width = (width - 100.0 - 150.0 - 60.0).max(120.0);
    ui.horizontal_top(|ui| {
        let is_past = shown > 0.0 && month <= shown;
        let color = if is_past { theme.accent } else { theme.ink };
        parts::cell(ui, 100.0, |ui| {
            let word = RichText::new(text::meeting(event.what)).font(theme::bold(theme::TEXT_SIZE));
            ui.add(Label::new(word.color(color)).truncate());
        });
        parts::cell(ui, text_width, |ui| {
            let said = panel.speaker().meeting(event);
            let response = parts::sentence(ui, RichText::new(&said), is_narrow);
            parts::focus_ring(ui, theme, &response);
            let tip = format!("{said}\n{}", text::FLY_THERE);
            if response.on_hover_text(tip).clicked() {
                go(panel, event);
            }
        });
        parts::cell(ui, 150.0, |ui| {
            let words = text::show_month(month.ceil());
            if parts::link(ui, theme, &words).clicked() {
                go(panel, event);
                panel.ask.push(Ask::Months(month.ceil()));
            }
        });
    });
}

/// Flies to where it happens and selects who meets there.
fn go(panel: &mut Panel<'_>, event: &GrowthEvent) {
    let layout = panel.desk.layout();
    let known = |id: &u32| layout.item(*id).is_some();
    let ids = [event.by, event.to].into_iter().filter(known).collect();
    panel.send.push(Command::Select(ids));
    let half_m = glam::DVec3::splat(HALF_M).max(apart_m(layout, event) / 2.0);
    panel.ask.push(Ask::FlyTo(event.at_m, half_m));
}

fn apart_m(layout: &SceneLayout, event: &GrowthEvent) -> glam::DVec3 {
    let at = |id| layout.corals.iter().find(|coral| coral.id == id);
    match (at(event.by), at(event.to)) {
        (Some(a), Some(b)) => (a.at_cm - b.at_cm).abs() / 100.0,
        _ => glam::DVec3::ZERO,
    }
}

/// Whether an event hurts, as far as its kind says.
pub(crate) fn is_grave(event: &GrowthEvent) -> bool {
    event.what != Meeting::Block && event.months.usual.is_some()
}

/// From when to when it may come, the late end open.
pub(crate) fn span(months: &Months, most: f64) -> (f64, f64) {
    (months.early, months.late.unwrap_or(most).min(most))
}

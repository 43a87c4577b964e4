//! How to begin, and all keys.

use egui::{Label, RichText, Ui};

use crate::desk::{Action, ActionGroup};
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// Width of the keys, in points.
const KEY: f32 = 96.0;
/// Width of the names of what they do, in points.
const LABEL: f32 = 180.0;

/// Draws the page.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    ui.label(RichText::new(text::BEGIN).font(theme::bold(theme::TEXT_SIZE)));
    for (n, line) in text::BEGIN_LINES.iter().enumerate() {
        ui.label(format!("{}.  {line}", n + 1));
    }
    ui.add_space(8.0);
    ui.label(RichText::new(text::HOW_SURE).font(theme::bold(theme::TEXT_SIZE)));
    for line in text::HOW_SURE_LINES {
        ui.label(line);
    }
    ui.add_space(8.0);
    ui.label(RichText::new(text::BY_HAND).font(theme::bold(theme::TEXT_SIZE)));
    for line in text::BY_HAND_LINES {
        ui.label(line);
    }
    for group in [
        ActionGroup::Scene,
        ActionGroup::Edit,
        ActionGroup::Add,
        ActionGroup::View,
        ActionGroup::Advice,
        ActionGroup::Layout,
        ActionGroup::Program,
    ] {
        parts::heading(ui, group.label());
        for action in Action::all().filter(|action| action.group() == group) {
            ui.horizontal_top(|ui| {
                parts::cell(ui, KEY, |ui| {
                    ui.label(RichText::new(action.key()).font(theme::bold(theme::SMALL_SIZE)));
                });
                parts::cell(ui, LABEL, |ui| {
                    ui.label(action.label());
                });
                let tip = RichText::new(action.tip()).size(theme::SMALL_SIZE);
                ui.add(Label::new(tip.color(panel.theme.aside)).wrap());
            });
        }
    }
    parts::heading(ui, text::FOR_BUGS);
    let copy = parts::link(ui, panel.theme, text::COPY_DIAGNOSTICS);
    if copy.on_hover_text(text::COPY_DIAGNOSTICS_TIP).clicked() {
        panel.ask.push(Ask::CopyDiagnostics);
    }
}

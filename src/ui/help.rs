//! How to begin, and all keys.

use egui::{Grid, RichText, Ui};

use crate::desk::{Action, ActionGroup};
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// Draws the page.
pub fn show(ui: &mut Ui, panel: &Panel<'_>) {
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
        Grid::new(("keys", group.label()))
            .num_columns(3)
            .spacing([16.0, 2.0])
            .show(ui, |ui| {
                for action in Action::all().filter(|action| action.group() == group) {
                    ui.label(RichText::new(action.key()).font(theme::bold(theme::SMALL_SIZE)));
                    ui.label(action.label());
                    parts::aside(ui, panel.theme, action.tip());
                    ui.end_row();
                }
            });
    }
}

//! What this is, what it is not, and how people stay safe.

use egui::{RichText, Ui};

use crate::catalog::{Status, Topic, cautions};
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// Draws the page.
pub fn show(ui: &mut Ui, panel: &Panel<'_>) {
    ui.label(text::about(env!("CARGO_PKG_VERSION")));
    ui.add_space(4.0);
    ui.label(
        RichText::new(text::CAUTION_FIRST)
            .font(theme::bold(theme::TEXT_SIZE))
            .color(panel.theme.accent),
    );
    for (title, lines) in text::CAUTIONS {
        parts::heading(ui, title);
        for line in lines {
            ui.label(*line);
        }
    }
    parts::heading(ui, text::MORE_CAUTIONS);
    let others = [
        Topic::Cuts,
        Topic::Glue,
        Topic::Medicine,
        Topic::Lamps,
        Topic::Flooding,
        Topic::Animals,
    ];
    for caution in cautions().iter().filter(|it| others.contains(&it.topic)) {
        let mark = match caution.status {
            Status::Published => "",
            status => status.words(),
        };
        ui.horizontal_wrapped(|ui| {
            ui.label(&caution.text);
            parts::aside(ui, panel.theme, mark);
        });
    }
    parts::heading(ui, text::LICENCES);
    ui.label(text::LICENCE_WORDS);
}

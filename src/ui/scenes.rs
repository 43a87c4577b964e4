//! Scenes that come with the program, and files opened lately.

use std::path::PathBuf;

use egui::Ui;

use crate::storage::{demos, parse, stories};
use crate::ui::ask::{Ask, Next};
use crate::ui::parts::{self, Panel};
use crate::ui::text;

/// Draws both lists.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>, recent: &[PathBuf]) {
    parts::heading(ui, text::DEMOS);
    for demo in demos() {
        if parts::link(ui, panel.theme, demo.name).clicked()
            && let Ok(loaded) = parse(demo.text, demo.file)
        {
            panel
                .ask
                .push(Ask::Replace(Next::Scene(Box::new(loaded.scene))));
        }
    }
    parts::heading(ui, text::STORIES);
    for story in stories() {
        if parts::link(ui, panel.theme, story.name).clicked()
            && let Ok(loaded) = parse(story.text, story.file)
        {
            panel
                .ask
                .push(Ask::Replace(Next::Scene(Box::new(loaded.scene))));
        }
        parts::aside(ui, panel.theme, story.task);
    }
    parts::heading(ui, text::RECENT);
    if recent.is_empty() {
        parts::aside(ui, panel.theme, text::NO_RECENT);
    }
    for path in recent {
        let name = path.file_name().map_or_else(
            || path.display().to_string(),
            |name| name.to_string_lossy().into_owned(),
        );
        let response = parts::link(ui, panel.theme, &name);
        if response.on_hover_text(path.display().to_string()).clicked() {
            panel.ask.push(Ask::Replace(Next::File(path.clone())));
        }
    }
    ui.add_space(8.0);
    if ui.button(text::OTHER_FILE).clicked() {
        panel.ask.push(Ask::Replace(Next::AskFile));
    }
}

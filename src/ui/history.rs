//! The list of past steps, to jump in.

use egui::Ui;

use crate::desk::Command;
use crate::ui::parts::{self, Panel};
use crate::ui::text;

/// Draws the list: the start, what was done, and what was undone.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let history = panel.desk.document().history();
    let past: Vec<String> = history
        .past_labels()
        .iter()
        .map(ToString::to_string)
        .collect();
    let future: Vec<String> = history
        .future_labels()
        .iter()
        .map(ToString::to_string)
        .collect();
    parts::aside(ui, panel.theme, text::HISTORY_WORDS);
    let now = past.len();
    let rows = std::iter::once(text::THE_START.to_owned())
        .chain(past)
        .chain(future);
    for (n_past, label) in rows.enumerate() {
        let words = if n_past == 0 {
            label
        } else {
            format!("{n_past}  {label}")
        };
        let response = ui
            .push_id(n_past, |ui| {
                parts::word(ui, panel.theme, &words, n_past == now)
            })
            .inner;
        if response.clicked() {
            panel.send.push(Command::JumpTo(n_past));
        }
        if n_past == now {
            response.scroll_to_me(None);
        }
    }
}

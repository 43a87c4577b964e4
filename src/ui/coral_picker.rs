//! Choosing a coral from the catalog by any of its words.

use egui::{RichText, ScrollArea, TextEdit, Ui};

use crate::catalog::Entry;
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// The search, and what a choice does.
#[derive(Clone, Debug)]
pub struct CoralPicker {
    query: String,
    changes_selected: bool,
    has_asked_keyboard: bool,
}

impl CoralPicker {
    /// A choice places a new coral.
    pub fn to_place() -> Self {
        Self {
            query: String::new(),
            changes_selected: false,
            has_asked_keyboard: false,
        }
    }

    /// A choice changes the selected coral.
    pub fn to_change() -> Self {
        Self {
            changes_selected: true,
            ..Self::to_place()
        }
    }

    /// Draws the search and the entries found.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, height: f32) {
        let edit = TextEdit::singleline(&mut self.query)
            .hint_text(text::SEARCH_CORALS)
            .desired_width(f32::INFINITY);
        let response = ui.add(edit).accessible_name(text::SEARCH_CORALS);
        if !self.has_asked_keyboard {
            self.has_asked_keyboard = true;
            response.request_focus();
        }
        let desk = panel.desk;
        let found = desk.catalog().search(&self.query);
        parts::aside(ui, panel.theme, text::entries_found(found.len()));
        let takes_first =
            response.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
        if takes_first && let Some(first) = found.first() {
            self.choose(panel, first);
        }
        ScrollArea::vertical()
            .id_salt("entries")
            .max_height(height - 60.0)
            .min_scrolled_height(height - 60.0)
            .auto_shrink([false, true])
            .show(ui, |ui| {
                for entry in found {
                    match line(ui, panel, entry, !self.changes_selected) {
                        Pressed::Nothing => {}
                        Pressed::Entry => self.choose(panel, entry),
                        Pressed::Berths => {
                            panel.ask.push(Ask::Close);
                            panel.ask.push(Ask::Berths(entry.id.clone()));
                        }
                    }
                }
            });
    }

    fn choose(&self, panel: &mut Panel<'_>, entry: &Entry) {
        panel.ask.push(Ask::Close);
        panel.ask.push(if self.changes_selected {
            Ask::SetEntry(entry.id.clone())
        } else {
            Ask::PlaceCoral(entry.id.clone())
        });
    }
}

enum Pressed {
    Nothing,
    Entry,
    Berths,
}

fn line(ui: &mut Ui, panel: &Panel<'_>, entry: &Entry, has_berths: bool) -> Pressed {
    let name = RichText::new(entry.label()).font(theme::bold(theme::TEXT_SIZE));
    let (response, wants_berths) = ui
        .horizontal(|ui| {
            let response = ui.add(egui::Button::new(name).frame_when_inactive(false));
            let wants_berths = has_berths
                && parts::link(ui, panel.theme, &text::berths_of(&entry.plain_name)).clicked();
            (response, wants_berths)
        })
        .inner;
    let [light, flow] = parts::liked(panel, entry);
    let words = text::entry_words(&entry.form_text, &light, &flow);
    ui.indent(&entry.id, |ui| {
        parts::aside(ui, panel.theme, words);
        if !entry.hazard_text.is_empty() {
            ui.label(
                RichText::new(&entry.hazard_text)
                    .size(theme::SMALL_SIZE)
                    .color(panel.theme.accent),
            );
        }
    });
    let (light, flow) = (&entry.light_ppfd_umol.basis, &entry.flow_cm_s.basis);
    let tip = format!("{}\n{}", light.line(), flow.line());
    if wants_berths {
        Pressed::Berths
    } else if response.on_hover_text(tip).clicked() {
        Pressed::Entry
    } else {
        Pressed::Nothing
    }
}

//! Every command by its words, from the action table.

use egui::{Key, RichText, ScrollArea, TextEdit, Ui, Vec2};

use crate::desk::Action;
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// The searchable list.
#[derive(Clone, Debug, Default)]
pub struct CommandList {
    query: String,
    /// Which of the found rows Enter runs.
    row: usize,
}

/// Words by which keepers look for something that is named otherwise.
const ALSO: [(Action, &str); 12] = [
    (
        Action::SelectNone,
        "tank overflow water line sand sides details",
    ),
    (Action::AddReturn, "overflow sump outlet"),
    (Action::NextFinding, "dead spot shade problem noticed"),
    (Action::ProposePump, "dead spot flow stronger"),
    (Action::WashFlow, "dead spot still speed current"),
    (Action::OnCard, "gpu faster speed processor"),
    (
        Action::FinerCells,
        "resolution detail precise accurate flow",
    ),
    (
        Action::LooksFiner,
        "resolution background automatic refine accurate flow",
    ),
    (Action::WashLight, "par ppfd shade dark bright"),
    (Action::LetDown, "lower fall rest settle"),
    (Action::Bond, "bond cement putty join"),
    (Action::Remove, "delete"),
];

/// Actions whose words hold every word of the query; those whose label begins
/// with it come first.
pub fn found(query: &str) -> Vec<Action> {
    let words: Vec<String> = query.split_whitespace().map(str::to_lowercase).collect();
    let text = |action: Action| {
        let also = ALSO.iter().find(|(of, _)| *of == action);
        format!(
            "{} {} {} {}",
            action.label(),
            action.tip(),
            action.group().label(),
            also.map_or("", |(_, words)| words)
        )
        .to_lowercase()
    };
    let mut actions: Vec<Action> = Action::all()
        .filter(|action| *action != Action::Commands)
        .filter(|action| {
            let text = text(*action);
            words.iter().all(|word| text.contains(word.as_str()))
        })
        .collect();
    let query = query.trim().to_lowercase();
    actions.sort_by_key(|action| {
        let label = action.label();
        (!label.starts_with(&query), !label.contains(&query))
    });
    actions
}

impl CommandList {
    /// Draws the field and what it finds.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, height: f32) {
        let (up, down, enter) = ui.input_mut(|input| {
            let none = egui::Modifiers::NONE;
            (
                input.consume_key(none, Key::ArrowUp),
                input.consume_key(none, Key::ArrowDown),
                input.key_pressed(Key::Enter),
            )
        });
        let edit = TextEdit::singleline(&mut self.query)
            .hint_text(text::SEARCH_COMMANDS)
            .desired_width(f32::INFINITY);
        let response = ui.add(edit).accessible_name(text::SEARCH_COMMANDS);
        if response.changed() {
            self.row = 0;
        }
        if !response.has_focus() && !enter {
            response.request_focus();
        }
        let actions = found(&self.query);
        let last = actions.len().saturating_sub(1);
        if down {
            self.row = (self.row + 1).min(last);
        }
        if up {
            self.row = self.row.saturating_sub(1);
        }
        if actions.is_empty() {
            parts::aside(ui, panel.theme, text::NO_COMMAND);
        }
        ScrollArea::vertical()
            .id_salt("commands")
            .max_height(height - 40.0)
            .min_scrolled_height(height - 40.0)
            .show(ui, |ui| {
                for (row, action) in actions.iter().enumerate() {
                    let response = line(ui, panel, *action, row == self.row);
                    if row == self.row && (up || down) {
                        response.scroll_to_me(None);
                    }
                    if response.clicked() || (enter && row == self.row) {
                        panel.ask.push(Ask::Close);
                        panel.ask.push(Ask::Do(*action));
                    }
                }
            });
    }
}

fn line(ui: &mut Ui, panel: &Panel<'_>, action: Action, is_chosen: bool) -> egui::Response {
    let key = RichText::new(action.key())
        .color(panel.theme.aside)
        .size(theme::SMALL_SIZE);
    let button = egui::Button::selectable(is_chosen, action.label())
        .right_text(key)
        .min_size(Vec2::new(ui.available_width(), 24.0));
    ui.add(button).on_hover_text(action.tip())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_label_and_tip_find_and_the_label_comes_first() {
        assert_eq!(found("undo")[0], Action::Undo, "by its label");
        assert_eq!(found("SAVE as")[0], Action::SaveAs, "whatever the case");
        assert!(
            found("circulation").contains(&Action::ProposePump),
            "by a word of its tip"
        );
        assert!(
            found("overflow").contains(&Action::SelectNone),
            "the tank's"
        );
        assert!(found("dead").contains(&Action::NextFinding), "dead spots");
        assert!(found("teapot").is_empty(), "nothing");
        assert_eq!(found("").len(), Action::all().count() - 1, "all");
    }
}

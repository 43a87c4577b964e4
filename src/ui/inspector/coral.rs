//! A coral: what it is, how it fares where it is, how it is held.

use egui::{RichText, TextEdit, Ui};

use crate::advice::Verdict;
use crate::catalog::Entry;
use crate::desk::{Action, Change, Command};
use crate::scene::{Coral, Item, Mount, Support};
use crate::ui::ask::Ask;
use crate::ui::inspector::{berths, place_rows, strip};
use crate::ui::pages::Page;
use crate::ui::parts::{self, Number, Panel};
use crate::ui::{text, theme};
use crate::units::Measure;

/// Draws it.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>, coral: &Coral) {
    let theme = panel.theme;
    let desk = panel.desk;
    let entry = desk.catalog().entry(&coral.entry);
    let label = entry.map_or_else(|| text::unknown_entry(&coral.entry), Entry::label);
    ui.horizontal_wrapped(|ui| {
        ui.label(RichText::new(label).font(theme::italic(theme::TEXT_SIZE)));
        if parts::link(ui, theme, text::CHANGE_ENTRY).clicked() {
            panel.ask.push(Ask::Show(Box::new(Page::change_entry())));
        }
    });
    if let Some(entry) = entry {
        berths::hazards(ui, panel, entry);
    }
    fit(ui, panel, coral);

    if panel.desk.chosen_entry() == Some(coral.entry.as_str())
        && let Some(entry) = entry
    {
        berths::list(ui, panel, entry, Some(coral));
    }

    parts::heading(ui, text::MOUNT);
    let options = Mount::ALL.map(|mount| (mount, text::mount(mount)));
    let new = ui
        .horizontal_wrapped(|ui| parts::choice(ui, theme, &options, |mount| mount == coral.mount));
    if let Some(mount) = new.inner {
        panel.edit(
            text::SET_MOUNT,
            put(Coral {
                mount,
                ..coral.clone()
            }),
        );
    }
    let on = on_words(panel, coral);
    parts::fact_row(ui, panel, text::SITS_ON, &on);

    parts::heading(ui, text::SIZE);
    for (axis, name) in [text::LENGTH, text::DEPTH, text::RISE]
        .into_iter()
        .enumerate()
    {
        let number = Number::new(name, Measure::Length, (0.5, 200.0));
        parts::number_row(ui, panel, &number, coral.size_cm[axis], |new| {
            let mut coral = coral.clone();
            coral.size_cm[axis] = new;
            put(coral)
        });
    }
    parts::heading(ui, text::PLACE);
    place_rows(ui, panel, &Item::Coral(coral.clone()));
    words_rows(ui, panel, coral);
}

/// Puts a changed coral in place of itself.
pub(super) fn put(coral: Coral) -> Change {
    Change::Put(Box::new(Item::Coral(coral)))
}

/// The strips, the verdict in a sentence, and the way to better places.
fn fit(ui: &mut Ui, panel: &mut Panel<'_>, coral: &Coral) {
    let theme = panel.theme;
    ui.add_space(4.0);
    match panel.desk.results().fit_of(coral.id) {
        Some(fit) => {
            let fit = fit.clone();
            let study = panel.desk.study();
            if let Some(entry) = study.entry_of(coral) {
                let ahead = panel.desk.results().ahead_of(coral.id).cloned();
                for each in &fit.strips {
                    let later = strip::later(each, ahead.as_ref());
                    strip::show(ui, panel, (each, later), entry);
                }
            }
            let color = match fit.verdict {
                Verdict::Bad | Verdict::Poor => theme.accent,
                _ => theme.ink,
            };
            ui.label(
                RichText::new(verdict_words(fit.verdict))
                    .font(theme::italic(theme::TEXT_SIZE))
                    .color(color),
            );
        }
        None => {
            parts::aside(ui, theme, text::FIT_NOT_KNOWN);
        }
    }
    ui.horizontal_wrapped(|ui| {
        let is_shown = panel.desk.chosen_entry() == Some(coral.entry.as_str());
        if is_shown {
            if ui.button(text::HIDE_BERTHS).clicked() {
                panel.send.push(Command::ChooseEntry(None));
                panel.ask.push(Ask::Do(Action::WashFlow));
            }
        } else if parts::main_button(ui, theme, text::SHOW_BERTHS).clicked() {
            panel
                .send
                .push(Command::ChooseEntry(Some(coral.entry.clone())));
            panel.ask.push(Ask::Do(Action::WashFit));
        }
        if ui.button(Action::ZoomSelection.label()).clicked() {
            panel.ask.push(Ask::Do(Action::ZoomSelection));
        }
    });
}

/// A verdict in a sentence.
pub(super) fn verdict_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Bad => text::VERDICT_BAD,
        Verdict::Poor => text::VERDICT_POOR,
        Verdict::Fair => text::VERDICT_FAIR,
        Verdict::Good => text::VERDICT_GOOD,
        Verdict::Unknown => text::VERDICT_UNKNOWN,
    }
}

fn on_words(panel: &Panel<'_>, coral: &Coral) -> String {
    match coral.on {
        Support::Sand => text::THE_SAND.to_owned(),
        Support::Rock(id) => {
            let rocks = &panel.desk.layout().rocks;
            let rock = rocks.iter().find(|rock| rock.id == id);
            match rock {
                Some(rock) if !rock.name.is_empty() => rock.name.clone(),
                _ => text::rock_number(id),
            }
        }
    }
}

/// Since when it is there, and the keeper's note.
fn words_rows(ui: &mut Ui, panel: &mut Panel<'_>, coral: &Coral) {
    let since = coral.since.clone().unwrap_or_default();
    if let Some(new) = line(ui, panel, text::SINCE, &since) {
        let since = (!new.is_empty()).then_some(new);
        panel.edit(
            text::SET_SINCE,
            put(Coral {
                since,
                ..coral.clone()
            }),
        );
    }
    if let Some(note) = line(ui, panel, text::NOTE, &coral.note) {
        panel.edit(
            text::SET_NOTE,
            put(Coral {
                note,
                ..coral.clone()
            }),
        );
    }
}

/// A row of text that counts when the keyboard leaves it.
pub(super) fn line(ui: &mut Ui, panel: &Panel<'_>, name: &str, value: &str) -> Option<String> {
    parts::row(ui, panel.theme, name, |ui| {
        let id = ui.scope_id().with(("line", name, value));
        let mut typed = ui
            .data(|data| data.get_temp::<String>(id))
            .unwrap_or_else(|| value.to_owned());
        let width = ui.available_width().max(60.0);
        let edit = TextEdit::singleline(&mut typed)
            .id(id)
            .desired_width(width)
            .char_limit(400);
        let response = ui.add(edit).accessible_name(name);
        if response.lost_focus() {
            ui.data_mut(|data| data.remove::<String>(id));
            return (typed != value).then_some(typed);
        }
        if response.changed() {
            ui.data_mut(|data| data.insert_temp(id, typed));
        }
        None
    })
}

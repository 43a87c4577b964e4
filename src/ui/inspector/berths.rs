//! The best berths for a catalog entry: what is asked for, and the ten best
//! places with their reasons; one click moves or plants the coral.

use std::sync::Arc;

use egui::{Label, RichText, Sense, Ui};

use crate::advice::{Acclimation, Berth, BerthFilters, Verdict};
use crate::catalog::{Entry, Hazard, Topic, cautions};
use crate::desk::{Action, Change, Command};
use crate::scene::{Coral, Item, Rock};
use crate::ui::ask::Ask;
use crate::ui::inspector::coral::{put, verdict_words};
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};
use crate::units::M_PER_CM;

/// Draws the berths for an entry that is not placed yet.
pub(super) fn for_new(ui: &mut Ui, panel: &mut Panel<'_>, entry: &Entry) {
    ui.label(RichText::new(&entry.plain_name).font(theme::bold(theme::HEADING_SIZE)));
    ui.label(RichText::new(&entry.genus).font(theme::italic(theme::TEXT_SIZE)));
    ranges(ui, panel, entry);
    hazards(ui, panel, entry);
    ui.horizontal_wrapped(|ui| {
        if parts::link(ui, panel.theme, text::OTHER_ENTRY).clicked() {
            panel.ask.push(Ask::Do(Action::AddCoral));
        }
        parts::aside(ui, panel.theme, "·");
        if parts::link(ui, panel.theme, text::DONE).clicked() {
            panel.send.push(Command::ChooseEntry(None));
            panel.ask.push(Ask::Do(Action::WashFlow));
        }
    });
    list(ui, panel, entry, None);
}

/// What an entry likes, in one line.
pub(super) fn ranges(ui: &mut Ui, panel: &Panel<'_>, entry: &Entry) {
    let [light, flow] = parts::liked(panel, entry);
    let words = text::likes(&light, &flow);
    let (light, flow) = (&entry.light_ppfd_umol.basis, &entry.flow_cm_s.basis);
    let tip = format!("{}\n{}", light.line(), flow.line());
    parts::aside(ui, panel.theme, words).on_hover_text(tip);
}

/// What an entry does to people and neighbors, with the full caution where its
/// poison is the matter.
pub(super) fn hazards(ui: &mut Ui, panel: &Panel<'_>, entry: &Entry) {
    if entry.hazard_text.is_empty() {
        return;
    }
    let words = RichText::new(&entry.hazard_text)
        .size(theme::SMALL_SIZE)
        .color(panel.theme.accent);
    let response = ui.label(words);
    if entry.hazards.contains(&Hazard::Palytoxin) {
        parts::aside(ui, panel.theme, text::PALYTOXIN_SHORT).on_hover_text(palytoxin_words());
        response.on_hover_text(palytoxin_words());
    }
}

/// All that is said about the poison of some zoanthids.
pub(crate) fn palytoxin_words() -> String {
    let all = cautions();
    let told = all
        .iter()
        .filter(|caution| caution.topic == Topic::Palytoxin);
    let lines: Vec<&str> = told.map(|caution| caution.text.as_str()).collect();
    lines.join("\n")
}

/// The filters and the berths; `moving` is the coral that would move.
pub(super) fn list(ui: &mut Ui, panel: &mut Panel<'_>, entry: &Entry, moving: Option<&Coral>) {
    parts::heading(ui, text::BERTHS);
    filters(ui, panel);
    let results = panel.desk.results();
    let (berths, steps) = (
        Arc::clone(&results.berths),
        Arc::clone(&results.berth_steps),
    );
    if berths.is_empty() {
        let waits = results.berths_are_old() || results.light.is_none();
        let words = if waits {
            text::STILL_SEEKING
        } else {
            text::NO_BERTHS
        };
        parts::aside(ui, panel.theme, words);
    }
    for (n, berth) in berths.iter().enumerate() {
        let step = steps.get(n).and_then(Option::as_ref);
        ui.push_id(("berth", n), |ui| {
            one(ui, panel, (n + 1, berth, step), (entry, moving));
        });
    }
}

fn one(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (number, berth, step): (usize, &Berth, Option<&Acclimation>),
    (entry, moving): (&Entry, Option<&Coral>),
) {
    let theme = panel.theme;
    let speaker = panel.speaker();
    let reasons = speaker.reasons(&berth.fit, entry);
    ui.add_space(3.0);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        let name = RichText::new(number.to_string()).font(theme::bold(theme::TEXT_SIZE));
        ui.label(name.color(theme.accent));
        let place = speaker.seat(berth.on, &berth.place);
        let words = ui.add(Label::new(place).sense(Sense::click()));
        let reasons = [&reasons[..], &berth.notes[..]].concat();
        if words.on_hover_text(reasons.join("\n")).clicked() {
            panel.ask.push(Ask::FlyTo(berth.at_m, berth.size_m));
        }
    });
    let color = match berth.fit.verdict {
        Verdict::Bad | Verdict::Poor => theme.accent,
        _ => theme.aside,
    };
    ui.label(
        RichText::new(verdict_words(berth.fit.verdict))
            .size(theme::SMALL_SIZE)
            .color(color),
    );
    let words = text::berth_measures(panel.units(), berth);
    parts::aside(ui, theme, words.as_str());
    for reason in reasons.iter().take(2) {
        parts::aside(ui, theme, reason.as_str());
    }
    if let Some(step) = step {
        let words = RichText::new(speaker.acclimation(step)).font(theme::italic(theme::SMALL_SIZE));
        ui.label(words.color(theme.accent));
    }
    match moving {
        Some(coral) => {
            if parts::link(ui, theme, &text::move_to(number)).clicked() {
                panel.edit(text::MOVE_TO_BERTH, put(moved_to(coral, berth)));
            }
        }
        None => {
            if parts::link(ui, theme, &text::plant_at(number)).clicked() {
                plant(panel, entry, planted(panel, entry, berth));
            }
        }
    }
}

fn moved_to(coral: &Coral, berth: &Berth) -> Coral {
    Coral {
        at_cm: berth.at_m / M_PER_CM,
        facing: berth.normal,
        on: berth.on,
        mount: berth.mount,
        ..coral.clone()
    }
}

fn planted(panel: &Panel<'_>, entry: &Entry, berth: &Berth) -> Coral {
    Coral {
        id: panel.desk.layout().free_id(),
        entry: entry.id.clone(),
        name: String::new(),
        at_cm: berth.at_m / M_PER_CM,
        facing: berth.normal,
        size_cm: berth.size_m / M_PER_CM,
        mount: berth.mount,
        on: berth.on,
        since: None,
        note: String::new(),
        locked: false,
    }
}

/// Adds a coral in one step, says what it needs to be handled with, and ends
/// the search for its place.
pub(super) fn plant(panel: &mut Panel<'_>, entry: &Entry, coral: Coral) {
    panel.edit(
        &text::plant(&entry.plain_name),
        Change::Add(Box::new(Item::Coral(coral))),
    );
    panel.send.push(Command::AskPlace(None));
    panel.send.push(Command::ChooseEntry(None));
    if entry.hazards.contains(&Hazard::Palytoxin) {
        panel.ask.push(Ask::Caution(entry.id.clone()));
    }
}

/// Which berths are wanted.
fn filters(ui: &mut Ui, panel: &mut Panel<'_>) {
    let theme = panel.theme;
    let now = *panel.desk.berth_filters();
    let mut wanted = now;
    ui.horizontal_wrapped(|ui| {
        if parts::word(ui, theme, text::PLUG_ONLY, now.plug_only).clicked() {
            wanted.plug_only = !now.plug_only;
        }
    });
    wanted.only_rock = rock_choice(ui, panel, &now);
    if wanted != now {
        panel.send.push(Command::FilterBerths(wanted));
    }
}

/// Anywhere, or only one of the rocks.
fn rock_choice(ui: &mut Ui, panel: &Panel<'_>, now: &BerthFilters) -> Option<u32> {
    let mut wanted = now.only_rock;
    let name = |rock: &Rock| {
        if rock.name.is_empty() {
            text::rock_number(rock.id)
        } else {
            rock.name.clone()
        }
    };
    let rocks = &panel.desk.layout().rocks;
    let shown = rocks.iter().find(|rock| Some(rock.id) == now.only_rock);
    let selected = shown.map_or_else(|| text::ANYWHERE.to_owned(), name);
    let combo = egui::ComboBox::from_id_salt("only rock")
        .selected_text(selected)
        .show_ui(ui, |ui| {
            ui.selectable_value(&mut wanted, None, text::ANYWHERE);
            for rock in rocks {
                ui.selectable_value(&mut wanted, Some(rock.id), name(rock));
            }
        });
    combo.response.accessible_name(text::ONLY_ROCK);
    wanted
}

/// The entry whose berths are shown while nothing of it is selected.
pub(super) fn entry_without_coral<'a>(panel: &Panel<'a>) -> Option<&'a Entry> {
    let desk = panel.desk;
    let entry = desk.catalog().entry(panel.desk.chosen_entry()?)?;
    panel.desk.selection().is_empty().then_some(entry)
}

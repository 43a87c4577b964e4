//! What could live at a place on rock or sand, with reasons; one click plants it.

use std::sync::Arc;

use egui::{RichText, Ui};

use crate::advice::{Candidate, Surroundings, cutting_size_m};
use crate::catalog::Entry;
use crate::desk::{Command, Place};
use crate::light::SurfaceOwner;
use crate::scene::{Coral, Support};
use crate::ui::ask::Ask;
use crate::ui::inspector::berths;
use crate::ui::inspector::coral::verdict_words;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};
use crate::units::M_PER_CM;
use crate::units::Measure;

/// Draws the list for a place.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, place: Place) {
    let theme = panel.theme;
    ui.label(RichText::new(text::LIVES_HERE).font(theme::bold(theme::HEADING_SIZE)));
    ui.label(RichText::new(place_words(panel, place)).font(theme::italic(theme::TEXT_SIZE)));
    let results = panel.desk.results();
    let (found, is_old) = (Arc::clone(&results.candidates), results.berths_are_old());
    if let Some((light, flow)) = results.place_figures {
        let units = panel.units();
        let words = text::place_figures(
            light.map(|value| Measure::Ppfd.text(value, units)),
            flow.map(|value| Measure::Speed.text(value, units)),
        );
        parts::aside(ui, theme, words);
    }
    if parts::link(ui, theme, text::DONE).clicked() {
        panel.send.push(Command::AskPlace(None));
    }
    parts::rule(ui, theme);
    if found.is_empty() {
        let words = if results.light.is_none() {
            text::NO_LIGHT_YET
        } else if is_old {
            text::STILL_SEEKING
        } else {
            text::NOTHING_LIVES_HERE
        };
        parts::aside(ui, theme, words);
    }
    let catalog = Arc::clone(panel.desk.catalog());
    for candidate in found.iter() {
        if let Some(entry) = catalog.entry(&candidate.entry) {
            ui.push_id(&entry.id, |ui| one(ui, panel, place, (entry, candidate)));
        }
    }
}

fn one(ui: &mut Ui, panel: &mut Panel<'_>, place: Place, found: (&Entry, &Candidate)) {
    let (entry, candidate) = found;
    let theme = panel.theme;
    ui.add_space(4.0);
    let name = RichText::new(entry.label()).font(theme::bold(theme::TEXT_SIZE));
    let reasons = panel.speaker().reasons(&candidate.fit, entry);
    ui.label(name).on_hover_text(reasons.join("\n"));
    parts::aside(ui, theme, verdict_words(candidate.fit.verdict));
    if let Some(reason) = reasons.first() {
        parts::aside(ui, theme, reason.as_str());
    }
    berths::hazards(ui, panel, entry);
    ui.horizontal_wrapped(|ui| {
        if parts::link(ui, theme, &text::plant(&entry.plain_name)).clicked() {
            let coral = planted(panel, place, (entry, candidate));
            berths::plant(panel, entry, coral);
        }
        parts::aside(ui, theme, "·");
        if parts::link(ui, theme, text::BETTER_BERTHS).clicked() {
            panel.ask.push(Ask::Berths(entry.id.clone()));
        }
    });
}

fn planted(panel: &Panel<'_>, place: Place, (entry, candidate): (&Entry, &Candidate)) -> Coral {
    let layout = panel.desk.layout();
    let rock = |idx: usize| layout.rocks.get(idx).map(|rock| rock.id);
    Coral {
        id: layout.free_id(),
        entry: entry.id.clone(),
        name: String::new(),
        at_cm: place.at_m / M_PER_CM,
        facing: place.normal,
        size_cm: cutting_size_m(entry) / M_PER_CM,
        mount: candidate.mount,
        on: match place.on {
            SurfaceOwner::Rock(idx) => rock(idx).map_or(Support::Sand, Support::Rock),
            SurfaceOwner::Sand => Support::Sand,
        },
        since: None,
        note: String::new(),
        locked: false,
    }
}

fn place_words(panel: &Panel<'_>, place: Place) -> String {
    let around = Surroundings::new(panel.desk.study());
    let speaker = panel.speaker();
    let part = speaker.part(around.part_of(place.at_m));
    let rock = match place.on {
        SurfaceOwner::Rock(idx) => around.rock_id(idx),
        SurfaceOwner::Sand => None,
    };
    let on = rock.map_or_else(|| text::THE_SAND.to_owned(), |id| speaker.name(id));
    format!("{on}, {part}")
}

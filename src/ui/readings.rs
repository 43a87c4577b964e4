//! The page of the keeper's readings: measured against computed, and what
//! they say of each lamp.

use egui::{Grid, RichText, Ui};

use crate::desk::{Change, LampFactor, ReadingCheck};
use crate::scene::{Item, Lamp, Output, Quantity, Reading};
use crate::ui::ask::Ask;
use crate::ui::findings::item_words;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};
use crate::units::Measure;

/// An estimate this far off is worth the accent color.
const FAR_OFF: f64 = 0.25;

/// Draws the page.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let results = std::sync::Arc::clone(&panel.desk.results().readings);
    if panel.desk.scene().readings.is_empty() {
        parts::aside(ui, panel.theme, text::NO_READINGS);
        return;
    }
    Grid::new("readings")
        .num_columns(6)
        .spacing([20.0, 3.0])
        .show(ui, |ui| {
            for title in [
                text::READING_TITLES_NUMBER,
                text::READING_TITLES_PLACE,
                text::READING_TITLES_MEASURED,
                text::READING_TITLES_COMPUTED,
                text::READING_TITLES_OFF,
                text::READING_TITLES_FITTED,
            ] {
                ui.label(RichText::new(title).font(theme::bold(theme::SMALL_SIZE)));
            }
            ui.end_row();
            for check in &results.checks {
                row(ui, panel, check);
                ui.end_row();
            }
        });
    if !results.lamps.is_empty() {
        parts::heading(ui, text::LAMPS_BY_READINGS);
        parts::aside(ui, panel.theme, text::FACTOR_WORDS);
        for factor in &results.lamps {
            lamp(ui, panel, factor);
        }
    }
}

/// How values of a quantity are shown.
pub fn measure(quantity: Quantity) -> Measure {
    match quantity {
        Quantity::PpfdUp | Quantity::PpfdScalar => Measure::Ppfd,
        Quantity::Speed => Measure::Speed,
    }
}

fn row(ui: &mut Ui, panel: &mut Panel<'_>, check: &ReadingCheck) {
    let Some(reading) = panel.desk.scene().readings.get(check.reading_idx).cloned() else {
        return;
    };
    let words = format!(
        "{}, {}",
        check.reading_idx + 1,
        text::quantity(reading.quantity)
    );
    if ui.link(words).clicked() {
        let at_m = reading.at_cm / 100.0;
        panel.ask.push(Ask::Close);
        panel.ask.push(Ask::FlyTo(at_m, glam::DVec3::splat(0.05)));
    }
    parts::aside(ui, panel.theme, place(panel, &reading));
    let measure = measure(reading.quantity);
    let in_words = |value: f64| panel.text(measure, value);
    ui.label(in_words(check.measured));
    ui.label(
        check
            .computed
            .map_or_else(|| text::NOT_KNOWN_YET.to_owned(), in_words),
    );
    let off = check.off_share();
    let off_words = RichText::new(off.map_or_else(String::new, text::off_by));
    let is_far = off.is_some_and(|off| off.abs() > FAR_OFF);
    ui.label(if is_far {
        off_words.color(panel.theme.accent)
    } else {
        off_words
    });
    ui.label(check.fitted.map_or_else(String::new, in_words));
}

fn place(panel: &Panel<'_>, reading: &Reading) -> String {
    let number = |value: f64| Measure::Length.number(value, panel.units());
    let unit = Measure::Length.shown(panel.units()).unit;
    let at = reading.at_cm;
    format!(
        "{}, {}, {} {unit}",
        number(at.x),
        number(at.y),
        number(at.z)
    )
}

fn lamp(ui: &mut Ui, panel: &mut Panel<'_>, factor: &LampFactor) {
    let Some(Item::Lamp(lamp)) = panel.desk.layout().item(factor.id) else {
        return;
    };
    let name = item_words(&Item::Lamp(lamp.clone()));
    ui.horizontal(|ui| {
        ui.label(RichText::new(&name).font(theme::bold(theme::TEXT_SIZE)));
        if !factor.is_seen {
            parts::aside(ui, panel.theme, text::FACTOR_NONE);
            return;
        }
        ui.label(text::factor(factor.factor));
        match scaled(&lamp, factor.factor) {
            None => drop(parts::aside(ui, panel.theme, text::FACTOR_BY_READING)),
            Some(output) => {
                if parts::link(ui, panel.theme, &text::take_factor(&name)).clicked() {
                    let lamp = Lamp { output, ..lamp };
                    let change = Change::Put(Box::new(Item::Lamp(lamp)));
                    panel.edit(text::SET_BY_READINGS, change);
                }
            }
        }
    });
}

/// The lamp's output times a factor; none if a reading fixes it.
fn scaled(lamp: &Lamp, factor: f64) -> Option<Output> {
    match lamp.output {
        Output::Photons { umol_s } => Some(Output::Photons {
            umol_s: umol_s * factor,
        }),
        Output::Power {
            power_w,
            efficacy_umol_j,
        } => Some(Output::Power {
            power_w,
            efficacy_umol_j: efficacy_umol_j * factor,
        }),
        Output::Reading { .. } => None,
    }
}

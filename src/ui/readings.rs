//! The page of the keeper's readings: measured against computed, and what
//! they say of each lamp.

use egui::{ComboBox, Grid, RichText, Ui};

use crate::desk::{Action, Change, LampFactor, ReadingCheck, UnitSystem};
use crate::improve::protocol;
use crate::scene::{Item, Lamp, Output, Quantity, Reading};
use crate::ui::ask::Ask;
use crate::ui::findings::item_words;
use crate::ui::parts::{self, Number, Panel};
use crate::ui::{calibration, text, theme};
use crate::units::Measure;

/// An estimate this far off is worth the accent color.
const FAR_OFF: f64 = 0.25;

/// Draws the page.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let results = std::sync::Arc::clone(&panel.desk.results().readings);
    if panel.desk.scene().readings.is_empty() {
        parts::aside(ui, panel.theme, text::NO_READINGS);
        ways(ui, panel);
        return;
    }
    Grid::new("readings")
        .num_columns(8)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            for title in [
                text::READING_TITLES_NUMBER,
                text::READING_TITLES_PLACE,
                text::READING_TITLES_MEASURED,
                text::READING_TITLES_SPREAD,
                text::READING_TITLES_ALONE,
                text::READING_TITLES_COMPUTED,
                text::READING_TITLES_OFF,
                text::READING_TITLES_FITTED,
            ] {
                ui.label(RichText::new(title).font(theme::bold(theme::SMALL_SIZE)));
            }
            ui.end_row();
            let desk = panel.desk;
            for (idx, reading) in desk.scene().marked_of(desk.layout()) {
                row(ui, panel, (idx, reading), results.of(idx));
                ui.end_row();
            }
        });
    ways(ui, panel);
    calibration::show(ui, panel);
    if !results.lamps.is_empty() {
        parts::heading(ui, text::LAMPS_BY_READINGS);
        parts::aside(ui, panel.theme, text::FACTOR_WORDS);
        for factor in &results.lamps {
            lamp(ui, panel, factor);
        }
    }
}

/// Ways to note readings, and how to take them.
fn ways(ui: &mut Ui, panel: &mut Panel<'_>) {
    ui.horizontal_wrapped(|ui| {
        let deeds = [
            (text::CLICK_A_PLACE, Action::PlaceReading),
            (text::FROM_A_TABLE, Action::ReadReadings),
        ];
        for (words, action) in deeds {
            if parts::link(ui, panel.theme, words).clicked() {
                panel.ask.push(Ask::Close);
                panel.ask.push(Ask::Do(action));
            }
        }
    });
    ui.collapsing(text::HOW_TO_READ, |ui| {
        for part in protocol::parts(
            panel.desk.scene(),
            panel.desk.layout(),
            panel.desk.settings().units,
        ) {
            ui.label(RichText::new(part.heading).font(theme::bold(theme::TEXT_SIZE)));
            for (i, step) in part.steps.iter().enumerate() {
                ui.label(format!("{}. {step}", i + 1));
            }
            parts::aside(ui, panel.theme, part.worth);
        }
        parts::aside(ui, panel.theme, text::TABLE_WORDS);
    });
}

/// How values of a quantity are shown.
pub fn measure(quantity: Quantity) -> Measure {
    match quantity {
        Quantity::PpfdUp | Quantity::PpfdScalar => Measure::Ppfd,
        Quantity::Speed => Measure::Speed,
    }
}

fn row(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (idx, reading): (usize, &Reading),
    check: Option<&ReadingCheck>,
) {
    let words = format!("{}, {}", idx + 1, text::quantity(reading.quantity));
    if ui.link(words).clicked() {
        let at_m = reading.at_cm / 100.0;
        panel.ask.push(Ask::Close);
        panel.ask.push(Ask::FlyTo(at_m, glam::DVec3::splat(0.05)));
    }
    parts::aside(ui, panel.theme, place(panel, reading));
    let measure = measure(reading.quantity);
    entered(ui, panel, (idx, reading));
    let in_words = |value: f64| panel.text(measure, value);
    let computed = check.and_then(|check| check.computed);
    ui.label(computed.map_or_else(|| text::NOT_KNOWN_YET.to_owned(), in_words));
    let off = check.and_then(ReadingCheck::off_share);
    let off_words = RichText::new(off.map_or_else(String::new, text::off_by));
    let is_far = off.is_some_and(|off| off.abs() > FAR_OFF);
    ui.label(if is_far {
        off_words.color(panel.theme.accent)
    } else {
        off_words
    });
    let fitted = check.and_then(|check| check.fitted);
    ui.label(fitted.map_or_else(String::new, in_words));
}

/// What the keeper gives: value, spread, and what ran alone.
fn entered(ui: &mut Ui, panel: &mut Panel<'_>, (idx, reading): (usize, &Reading)) {
    let measure = measure(reading.quantity);
    let with = |panel: &Panel<'_>, change: &dyn Fn(&mut Reading)| {
        let mut readings = panel.desk.scene().readings.clone();
        readings.get_mut(idx).into_iter().for_each(change);
        Change::Readings(readings)
    };
    if reading.drift.is_some() {
        let read = reading.value.map(|value| panel.text(measure, value));
        ui.label(read.unwrap_or_else(|| text::NOT_READ_YET.to_owned()));
    } else {
        let name = text::of_reading(text::VALUE, idx + 1);
        let number = Number::new(&name, measure, (0.0, 5000.0));
        let number = number.open_if(reading.value.is_none());
        let change = |new| with(panel, &|reading: &mut Reading| reading.value = Some(new));
        let change = plain(ui, panel.units(), &number, reading.measured()).map(change);
        send(panel, change);
    }
    let name = text::of_reading(text::GIVE_OR_TAKE, idx + 1);
    let number = Number::new(&name, measure, (0.0, 5000.0));
    let spread = crate::improve::calibrate::spread_of(reading);
    let change = |new| with(panel, &|reading: &mut Reading| reading.spread = Some(new));
    let change = plain(ui, panel.units(), &number, spread).map(change);
    send(panel, change);
    let change = ran_alone(ui, panel, reading, idx);
    send(panel, change);
}

fn plain(ui: &mut Ui, units: UnitSystem, number: &Number<'_>, value: f64) -> Option<f64> {
    number.plain(ui, units, value).1
}

fn send(panel: &mut Panel<'_>, change: Option<Change>) {
    if let Some(change) = change {
        panel.edit(text::SET_READING, change);
    }
}

/// A list of what may have run alone: the lamps for light, the pumps for speed;
/// the change if another is chosen.
pub fn ran_alone(ui: &mut Ui, panel: &Panel<'_>, reading: &Reading, idx: usize) -> Option<Change> {
    let layout = panel.desk.layout();
    let items: Vec<Item> = match reading.quantity {
        Quantity::Speed => layout.pumps.iter().cloned().map(Item::Pump).collect(),
        _ => layout.lamps.iter().cloned().map(Item::Lamp).collect(),
    };
    let own = items.iter().find(|item| Some(item.id()) == reading.alone);
    let shown = own.map_or_else(|| text::ALL_RAN.to_owned(), item_words);
    let mut alone = reading.alone;
    let combo = ComboBox::from_id_salt(("alone", idx)).selected_text(shown);
    let response = combo.show_ui(ui, |ui| {
        ui.selectable_value(&mut alone, None, text::ALL_RAN);
        for item in &items {
            ui.selectable_value(&mut alone, Some(item.id()), item_words(item));
        }
    });
    let name = text::of_reading(text::RAN_ALONE, idx + 1);
    response.response.accessible_name(&name);
    (alone != reading.alone).then(|| {
        let mut readings = panel.desk.scene().readings.clone();
        if let Some(reading) = readings.get_mut(idx) {
            reading.alone = alone;
        }
        Change::Readings(readings)
    })
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

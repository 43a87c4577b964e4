//! What the readings fix, before and after, with how well it foretells readings
//! that took no part; taken over and taken back with a click.

use egui::{Grid, RichText, Ui};

use crate::desk::{Change, Command};
use crate::improve::calibrate::{Calibration, Found, Sought};
use crate::scene::{Item, Quantity, Scene};
use crate::ui::findings::item_words;
use crate::ui::parts::{self, Panel};
use crate::ui::readings::measure;
use crate::ui::{text, theme};
use crate::units::Measure;

/// Draws what was found, and the deeds that find it, take it over and take it
/// back.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    parts::heading(ui, text::CALIBRATION);
    parts::aside(ui, panel.theme, text::CALIBRATION_WORDS);
    let found = panel.desk.results().calibration.clone();
    let lines = measured_lines(panel);
    if found.is_none() {
        for line in &lines {
            ui.label(line);
        }
    }
    if let Some(found) = &found {
        values(ui, panel, found);
        errors(ui, panel, found);
    }
    let is_in_use = !lines.is_empty();
    if is_in_use {
        parts::aside(ui, panel.theme, text::CAL_IN_USE);
    }
    ui.horizontal(|ui| {
        if panel.desk.is_calibrating() {
            parts::aside(ui, panel.theme, text::CALIBRATING);
        } else if found.is_none() && parts::link(ui, panel.theme, text::CALIBRATE).clicked() {
            panel.send.push(Command::Calibrate);
        }
        if let Some(found) = found.filter(|found| !found.found.is_empty())
            && !is_taken_over(panel, &found)
            && parts::link(ui, panel.theme, text::CAL_TAKE_OVER).clicked()
        {
            let change = Change::Calibrate(Box::new((*found).clone()));
            panel.edit(text::SET_BY_READINGS_ALL, change);
        }
        if is_in_use && parts::link(ui, panel.theme, text::TAKE_BACK).clicked() {
            panel.edit(text::TAKE_BACK, Change::TakeBack);
        }
    });
}

/// Whether the scene holds what was found already.
fn is_taken_over(panel: &Panel<'_>, found: &Calibration) -> bool {
    let scene = panel.desk.scene();
    let mut then = Scene::clone(scene);
    found.apply(&mut then, &panel.desk.layout().name);
    then == **scene
}

/// Each value as printed and as read, with its interval.
fn values(ui: &mut Ui, panel: &Panel<'_>, found: &Calibration) {
    Grid::new("values")
        .num_columns(4)
        .spacing([20.0, 3.0])
        .show(ui, |ui| {
            let titles = [
                text::CAL_WHAT,
                text::CAL_PRINTED,
                text::CAL_FOUND,
                text::CAL_BETWEEN,
            ];
            for title in titles {
                ui.label(RichText::new(title).font(theme::bold(theme::SMALL_SIZE)));
            }
            ui.end_row();
            for value in &found.found {
                let words = |stored: f64| value_words(panel, value, stored);
                let label = ui.label(text::sought(&value.target));
                if value.tied_to.is_some() {
                    label.on_hover_text(text::TIED);
                }
                ui.label(words(value.before));
                let after = RichText::new(words(value.after.value));
                ui.label(after.font(theme::bold(theme::TEXT_SIZE)));
                let ends = format!("{} – {}", words(value.after.low), words(value.after.high));
                ui.label(ends);
                ui.end_row();
            }
        });
    for kept in &found.kept {
        let words = format!("{}: {}", text::sought(&kept.target), text::CAL_NOT_TOLD);
        parts::aside(ui, panel.theme, words);
    }
}

fn value_words(panel: &Panel<'_>, found: &Found, stored: f64) -> String {
    let units = panel.units();
    match found.target.what {
        Sought::LampOutput => Measure::Photons.text(stored, units),
        Sought::Absorption => Measure::Absorption.text(stored, units),
        Sought::ReturnedShare => Measure::Share.text(stored, units),
        Sought::PumpFlow => Measure::Flow.text(stored, units),
        Sought::JetOffset => Measure::Length.text(stored, units),
    }
}

/// How far readings are missed, in all and one by one.
fn errors(ui: &mut Ui, panel: &Panel<'_>, found: &Calibration) {
    for (what, error) in [
        (text::ASPECT_LIGHT, found.light),
        (text::SPEED, found.speed),
    ] {
        if let Some(error) = error {
            ui.label(text::left_out(what, [error.before, error.after]));
        }
    }
    ui.collapsing(text::CAL_READING, |ui| {
        Grid::new("residuals")
            .num_columns(4)
            .spacing([20.0, 3.0])
            .show(ui, |ui| {
                let titles = [
                    text::CAL_READING,
                    text::CAL_READ,
                    text::CAL_PRINTED,
                    text::CAL_AFTER,
                ];
                for title in titles {
                    ui.label(RichText::new(title).font(theme::bold(theme::SMALL_SIZE)));
                }
                ui.end_row();
                for residual in &found.residuals {
                    let reading = panel.desk.scene().readings.get(residual.reading_idx);
                    let quantity = reading.map_or(Quantity::PpfdUp, |reading| reading.quantity);
                    let words = |value: f64| panel.text(measure(quantity), value);
                    ui.label((residual.reading_idx + 1).to_string());
                    ui.label(format!(
                        "{} ± {}",
                        words(residual.measured),
                        words(residual.spread)
                    ));
                    ui.label(words(residual.before));
                    ui.label(words(residual.after));
                    ui.end_row();
                }
            });
    });
    for unused in &found.unused {
        let words = text::unused(unused.reading_idx + 1, unused.why);
        parts::aside(ui, panel.theme, words);
    }
}

/// One line for each value that readings gave.
fn measured_lines(panel: &Panel<'_>) -> Vec<String> {
    let (tank, layout) = (&panel.desk.scene().tank, panel.desk.layout());
    let mut lines = Vec::new();
    for lamp in &layout.lamps {
        if let Some(found) = &lamp.measured {
            let name = item_words(&Item::Lamp(lamp.clone()));
            lines.push(text::measured_share(&name, text::OUTPUT_SHARE, found));
        }
    }
    for pump in &layout.pumps {
        if let Some(jet) = &pump.measured {
            let name = item_words(&Item::Pump(pump.clone()));
            let share = &jet.flow_share;
            lines.push(text::measured_share(&name, text::FLOW_SHARE, share));
        }
    }
    if let Some(found) = &tank.panes.measured {
        lines.push(text::measured_share(text::PANES, text::RETURNED, found));
    }
    if let Some(found) = &tank.water.measured {
        lines.push(text::measured_absorption(found));
    }
    lines
}

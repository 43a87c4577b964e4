//! The page of a scanned rock on its way in: how large it is, what was guessed,
//! and whether to place it.

use egui::{RichText, Ui};

use crate::desk::Command;
use crate::scan::{Imported, Unit, Up, Wishes};
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};
use crate::words::{scan_figures, scan_guesses};

/// Draws the page.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let desk = panel.desk;
    let status = desk.scan();
    let name = status.path.file_name().unwrap_or_default();
    ui.label(RichText::new(name.to_string_lossy()).font(theme::bold(theme::TEXT_SIZE)));
    choices(ui, panel, status.wishes, status.found);
    ui.add_space(6.0);
    if let Some(found) = status.found {
        let units = panel.desk.settings().units;
        for line in scan_figures(&found.report, units) {
            ui.label(line);
        }
        for line in scan_guesses(&found.report) {
            parts::aside(ui, panel.theme, line);
        }
    } else if let Some(fault) = status.fault {
        ui.label(text::SCAN_REFUSED);
        ui.label(fault);
    } else if status.is_running {
        parts::aside(ui, panel.theme, text::SCAN_RUNNING);
    }
    ui.add_space(8.0);
    ui.horizontal_wrapped(|ui| {
        let is_there = status.found.is_some();
        if is_there && parts::main_button(ui, panel.theme, text::SCAN_PLACE).clicked() {
            panel.send.push(Command::PlaceScan);
            panel.ask.push(Ask::Close);
        }
        if ui.button(text::SCAN_LEAVE).clicked() {
            panel.send.push(Command::DropScan);
            panel.ask.push(Ask::Close);
        }
    });
}

/// Unit and way up: guessed until the keeper says otherwise.
fn choices(ui: &mut Ui, panel: &mut Panel<'_>, wishes: Wishes, found: Option<&Imported>) {
    let report = found.map(|found| &found.report);
    let (unit, up) = (
        wishes.unit.or(report.map(|report| report.unit)),
        wishes.up.or(report.map(|report| report.up)),
    );
    let theme = panel.theme;
    let units = Unit::ALL.map(|unit| (unit, unit.symbol()));
    let new_unit = parts::row(ui, theme, text::SCAN_UNIT, |ui| {
        parts::choice(ui, theme, &units, |one| unit == Some(one))
    });
    let ups = Up::ALL.map(|up| (up, up.name()));
    let new_up = parts::row(ui, theme, text::SCAN_UP, |ui| {
        parts::choice(ui, theme, &ups, |one| up == Some(one))
    });
    if new_unit.is_some() || new_up.is_some() {
        panel.send.push(Command::WishScan(Wishes {
            unit: new_unit.or(wishes.unit),
            up: new_up.or(wishes.up),
        }));
    }
}

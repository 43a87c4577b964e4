//! The water on finer cells beside the estimate, looked at when it is asked
//! for.

use egui::Ui;

use crate::desk::{Action, Command, SearchStatus};
use crate::flow::felt::is_finer_than_fitted;
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::text;

/// Draws it; nothing before there is an estimate.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let results = panel.desk.results();
    let (status, found) = (results.refining.clone(), results.finer.clone());
    let is_ready = results.tank.is_some() && !results.tank_is_old();
    if !is_ready && status == SearchStatus::Idle {
        return;
    }
    parts::heading(ui, text::ON_FINER_CELLS);
    if let SearchStatus::Running(share) = status {
        ui.horizontal_wrapped(|ui| {
            ui.label(text::refining(share));
            if parts::link(ui, panel.theme, text::STOP).clicked() {
                panel.ask.push(Ask::Do(Action::StopWork));
            }
        });
        return;
    }
    let found = found.filter(|_| status == SearchStatus::Done);
    if let Some(found) = &found {
        let speaker = panel.speaker();
        let [known, finer] = &found.figures;
        for line in speaker.on_finer_cells(found.cells_m, found.runs, [known, finer]) {
            ui.label(line);
        }
        if is_finer_than_fitted(found.cells_m[1]) {
            parts::aside(ui, panel.theme, text::CHANCES_STRETCHED);
        }
        if let Some(agreement) = found.agreement {
            let words = text::places_agree(agreement.rank, agreement.slowest_overlap);
            parts::aside(ui, panel.theme, words);
        }
        for shift in &found.corals {
            let words = speaker.feels_otherwise(shift.coral, shift.felt_m_s);
            if ui.link(words).clicked() {
                panel.send.push(Command::Select(vec![shift.coral]));
            }
        }
        if found.corals.is_empty() && !panel.desk.layout().corals.is_empty() {
            parts::aside(ui, panel.theme, text::CORALS_AS_SAID);
        }
    }
    if !is_ready {
        return;
    }
    let words = match status {
        SearchStatus::Done | SearchStatus::Old => text::LOOK_FINER_AGAIN,
        SearchStatus::Idle | SearchStatus::Running(_) => text::LOOK_FINER,
    };
    let link = parts::link(ui, panel.theme, words);
    if link.on_hover_text(text::LOOK_FINER_WHY).clicked() {
        panel.send.push(Command::TryFiner);
    }
}

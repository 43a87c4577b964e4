//! Where one more pump helps: the running search and what it found, above the
//! findings.

use egui::{Align, Label, Layout, RichText, Sense, Ui, Vec2};

use crate::advice::Proposal;
use crate::desk::{Action, Change, SearchStatus};
use crate::scene::Item;
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// Where the one that is pointed at is kept for the drawing, counted from zero.
pub fn pointed_id() -> egui::Id {
    egui::Id::unique("proposal that is pointed at")
}

/// Draws the search and its proposals; nothing if none was asked for.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let pointed = pointed_id();
    ui.data_mut(|data| data.remove::<usize>(pointed));
    let status = panel.desk.results().search.clone();
    if let SearchStatus::Running(share) = status {
        ui.horizontal(|ui| {
            word(ui, panel, text::PROPOSAL);
            ui.label(text::searching(share));
            if parts::link(ui, panel.theme, text::STOP).clicked() {
                panel.ask.push(Ask::Do(Action::StopWork));
            }
        });
    }
    let proposals = std::sync::Arc::clone(&panel.desk.results().proposals);
    if matches!(status, SearchStatus::Running(_)) || !proposals.is_empty() {
        ui.horizontal(|ui| {
            word(ui, panel, text::COSTS_NOTHING);
            if parts::link(ui, panel.theme, Action::Improve.label()).clicked() {
                panel.ask.push(Ask::Do(Action::Improve));
            }
            parts::aside(ui, panel.theme, text::BEFORE_BUYING);
        });
    }
    for (n, proposal) in proposals.iter().enumerate() {
        line(ui, panel, n + 1, proposal, status == SearchStatus::Old);
    }
}

fn line(ui: &mut Ui, panel: &mut Panel<'_>, number: usize, proposal: &Proposal, is_old: bool) {
    let is_narrow = ui.available_width() < parts::NARROW_LIST;
    ui.horizontal_top(|ui| {
        word(ui, panel, &text::proposal(number));
        let beside = if is_old { 330.0 } else { 120.0 };
        let width = (ui.available_width() - beside).max(120.0);
        ui.allocate_ui_with_layout(
            Vec2::new(width, 20.0),
            Layout::left_to_right(Align::Center),
            |ui| {
                ui.set_min_width(width);
                ui.set_max_width(width);
                let said = panel.speaker().proposal(proposal);
                let mut words = RichText::new(&said);
                if is_old {
                    words = words.color(panel.theme.aside);
                }
                let label = Label::new(words).sense(Sense::hover());
                let label = ui.add(if is_narrow {
                    label.wrap()
                } else {
                    label.truncate()
                });
                if label.hovered() {
                    let pointed = pointed_id();
                    ui.data_mut(|data| data.insert_temp(pointed, number - 1));
                }
                label.on_hover_text(said);
            },
        );
        if is_old {
            parts::aside(ui, panel.theme, text::PROPOSAL_IS_OLD);
        }
        if parts::link(ui, panel.theme, &text::add_proposal(number)).clicked() {
            let pump = Item::Pump(proposal.pump.clone());
            panel.edit(text::ADD_PROPOSED, Change::Add(Box::new(pump)));
        }
    });
}

fn word(ui: &mut Ui, panel: &Panel<'_>, words: &str) {
    let bold = RichText::new(words)
        .font(theme::bold(theme::TEXT_SIZE))
        .color(panel.theme.accent);
    ui.allocate_ui_with_layout(
        Vec2::new(100.0, 20.0),
        Layout::left_to_right(Align::Center),
        |ui| {
            ui.set_min_width(100.0);
            ui.add(Label::new(bold).truncate());
        },
    );
}

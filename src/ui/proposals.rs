//! Where one more pump helps: the running search and what it found, above the
//! findings.

use egui::{Align, Context, Id, Label, Layout, RichText, Sense, Ui, Vec2};

use crate::advice::Proposal;
use crate::desk::{Action, Change, SearchStatus};
use crate::scene::{Item, Layout as Arrangement};
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::sheet::View;
use crate::ui::{text, theme};

/// Where the one that is pointed at in the list is kept, with the pass.
fn listed_id() -> Id {
    Id::unique("proposal that is pointed at in the list")
}

/// Where the one that is pointed at on the drawing is kept, with its view.
fn drawn_id() -> Id {
    Id::unique("proposal that is pointed at on the drawing")
}

/// Notes whether the pointer is on a proposal's ghost in a view.
pub fn point_on_drawing(ctx: &Context, at: (View, usize), is_on_it: bool) {
    let id = drawn_id();
    let before = ctx.data(|data| data.get_temp::<(View, usize)>(id));
    if (before == Some(at)) == is_on_it {
        return;
    }
    ctx.data_mut(|data| {
        if is_on_it {
            data.insert_temp(id, at);
        } else {
            data.remove::<(View, usize)>(id);
        }
    });
    // What was drawn before it is still as it was.
    ctx.request_repaint();
}

/// The proposal that is pointed at, in the list or on the drawing, counted from
/// zero. The list is drawn first.
pub fn pointed(ctx: &Context) -> Option<usize> {
    let (listed, drawn) = ctx.data(|data| {
        (
            data.get_temp::<(usize, u64)>(listed_id()),
            data.get_temp::<(View, usize)>(drawn_id()),
        )
    });
    let pass = ctx.cumulative_pass_nr();
    let listed = listed.filter(|(_, seen)| *seen == pass);
    drawn.map(|(_, idx)| idx).or(listed.map(|(idx, _)| idx))
}

/// Whether the pump of a proposal hangs in a layout already.
pub fn is_taken(proposal: &Proposal, layout: &Arrangement) -> bool {
    let wanted = &proposal.pump;
    layout.pumps.iter().any(|pump| {
        let aim = (pump.turn_deg, pump.tilt_deg);
        pump.at_cm == wanted.at_cm && aim == (wanted.turn_deg, wanted.tilt_deg)
    })
}

/// The change that takes a proposal: a pump like any other, with a name of its
/// own.
pub fn taken(proposal: &Proposal) -> Change {
    let mut pump = proposal.pump.clone();
    text::PUMP.clone_into(&mut pump.name);
    Change::Add(Box::new(Item::Pump(pump)))
}

/// Draws the search and its proposals; nothing if none was asked for.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
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
        ui.horizontal_wrapped(|ui| {
            word(ui, panel, text::COSTS_NOTHING);
            if parts::link(ui, panel.theme, Action::Improve.label()).clicked() {
                panel.ask.push(Ask::Do(Action::Improve));
            }
            parts::aside(ui, panel.theme, text::BEFORE_BUYING);
        });
    }
    let is_old = status == SearchStatus::Old;
    if is_old {
        ui.horizontal_wrapped(|ui| {
            word(ui, panel, text::PROPOSAL_IS_OLD);
            ui.label(text::PROPOSALS_ARE_OLD);
            if parts::link(ui, panel.theme, text::SEARCH_AGAIN).clicked() {
                panel.ask.push(Ask::Do(Action::ProposePump));
            }
        });
    }
    for (idx, proposal) in proposals.iter().enumerate() {
        line(ui, panel, (idx, proposal), is_old);
    }
}

fn line(ui: &mut Ui, panel: &mut Panel<'_>, (idx, proposal): (usize, &Proposal), is_old: bool) {
    /// What the link takes, in points.
    const LINK: f32 = 130.0;
    let is_pointed = pointed(ui.ctx()) == Some(idx);
    let row = ui.horizontal_top(|ui| {
        word(ui, panel, &text::proposal(idx + 1));
        let width = (ui.available_width() - LINK).max(120.0);
        ui.allocate_ui_with_layout(
            Vec2::new(width, 20.0),
            Layout::left_to_right(Align::Center),
            |ui| {
                ui.set_min_width(width);
                ui.set_max_width(width);
                let mut words = RichText::new(panel.speaker().proposal(proposal));
                if is_old {
                    words = words.color(panel.theme.aside).italics();
                }
                if is_pointed {
                    words = words.underline();
                }
                ui.add(Label::new(words).sense(Sense::hover()).wrap());
            },
        );
        if is_taken(proposal, panel.desk.layout()) {
            parts::aside(ui, panel.theme, text::PROPOSAL_TAKEN);
        } else if parts::link(ui, panel.theme, &text::add_proposal(idx + 1)).clicked() {
            panel.edit(text::ADD_PROPOSED, taken(proposal));
        }
    });
    if row.response.contains_pointer() {
        let seen = (idx, ui.ctx().cumulative_pass_nr());
        ui.data_mut(|data| data.insert_temp(listed_id(), seen));
    }
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

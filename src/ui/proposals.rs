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

#[cfg(test)]
mod tests {
    use egui::Role;
    use egui_kittest::Harness;
    use egui_kittest::kittest::Queryable as _;

    use super::*;
    use crate::advice::{Certainty, FlowFigures};
    use crate::desk::Command;
    use crate::flow::Estimate;
    use crate::scene::Pump;
    use crate::scene::finding::{Place, Spot};
    use crate::ui::{App, Start};

    /// A tank with so much dead water, in L, of 200.
    fn figures(dead_l: f64) -> FlowFigures {
        FlowFigures {
            estimate: Estimate::Tank,
            water_l: 200.0,
            dead_l,
            dead_share: dead_l / 200.0,
            dead_share_half_width: 0.002,
            mean_speed_m_s: 0.06,
            mean_speed_half_width_m_s: 0.002,
            slowest_tenth_m_s: 0.02,
            bed_m2: None,
            detritus_m2: None,
            sand_at_risk_m2: None,
        }
    }

    /// A pump like the first of the demo, so far from it.
    fn proposal(like: &Pump, off_cm: f64) -> Proposal {
        let mut pump = like.clone();
        pump.at_cm.z -= off_cm;
        let place = Place::at(Spot::Item(pump.id), pump.at_cm, glam::DVec3::ONE);
        Proposal {
            pump,
            before: figures(12.0),
            after: figures(4.0),
            corals: vec![],
            n_screened: 100,
            certainty: Certainty::Likely,
            place,
            harms: vec![],
            shades: vec![],
        }
    }

    fn window() -> Harness<'static, App> {
        let start = Start {
            path: None,
            folder: None,
            has_dialogs: false,
            is_live: false,
        };
        let mut window = Harness::builder()
            .with_size([1440.0, 900.0])
            .build_eframe(move |creation| App::new(creation, &start));
        window.run_steps(4);
        let desk = &mut window.state_mut().desk;
        let like = desk.layout().pumps[0].clone();
        desk.show_proposals(vec![proposal(&like, 8.0), proposal(&like, 20.0)]);
        window.run_steps(6);
        window
    }

    fn n_pumps(window: &Harness<'_, App>) -> usize {
        window.state().desk.layout().pumps.len()
    }

    /// What was pointed at in the pass that is over.
    fn was_pointed(window: &Harness<'_, App>) -> Option<usize> {
        let ctx = &window.ctx;
        let listed = ctx.data(|data| data.get_temp::<(usize, u64)>(listed_id()));
        let last = ctx.cumulative_pass_nr() - 1;
        let listed = listed.filter(|(_, seen)| *seen == last);
        pointed(ctx).or(listed.map(|(idx, _)| idx))
    }

    fn n_ghosts(window: &Harness<'_, App>, name: &str) -> usize {
        let found = window.query_all_by_role_and_label(Role::Button, name);
        found.count()
    }

    #[test]
    fn a_ghost_and_its_line_in_the_list_answer_to_the_pointer_as_one() {
        let mut window = window();
        assert_eq!(was_pointed(&window), None, "nothing is pointed at");
        window
            .get_by_role_and_label(Role::Button, "proposal 2, side view")
            .hover();
        window.run_steps(4);
        assert_eq!(was_pointed(&window), Some(1), "on the drawing");
        let line = window.get_by_role_and_label(Role::Link, "take proposal 1");
        line.hover();
        window.run_steps(4);
        assert_eq!(was_pointed(&window), Some(0), "in the list");
        window
            .get_by_role_and_label(Role::Canvas, "End view")
            .hover();
        window.run_steps(4);
        assert_eq!(was_pointed(&window), None, "and no more");
    }

    #[test]
    fn a_click_on_a_ghost_takes_it_and_one_that_is_out_of_date_says_so() {
        let mut window = window();
        let (before, ghost) = (n_pumps(&window), "proposal 1, side view");
        window.get_by_role_and_label(Role::Button, ghost).click();
        window.run_steps(6);
        assert_eq!(n_pumps(&window), before + 1, "the pump hangs in the tank");
        assert_eq!(n_ghosts(&window, ghost), 0, "and is no ghost any more");
        let taken = window.query_all_by_label(text::PROPOSAL_TAKEN).count();
        assert_eq!(taken, 1, "the list says that it is taken");

        // The tank is not the one that was searched any more.
        let old = window.query_all_by_label(text::PROPOSALS_ARE_OLD).count();
        assert_eq!(old, 1, "the other one is out of date");
        let other = "proposal 2, side view";
        window.get_by_role_and_label(Role::Button, other).hover();
        window.run_steps(40);
        let said = window.query_all_by_label_contains("Out of date").count();
        assert!(said > 0, "and says so where it is pointed at");

        // One step back, and both are as they were.
        let undo = Command::Action(Action::Undo);
        window.state_mut().desk.run(undo);
        window.run_steps(6);
        assert_eq!(n_pumps(&window), before);
        assert_eq!(n_ghosts(&window, ghost), 1, "offered again");
        let old = window.query_all_by_label(text::PROPOSALS_ARE_OLD).count();
        assert_eq!(old, 0, "and about this tank again");
    }
}

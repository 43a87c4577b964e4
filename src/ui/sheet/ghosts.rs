//! Proposed pumps on the drawing: ghosts with their jets, numbered as in the
//! list. The one that is pointed at, here or there, is drawn in full with what
//! it would change; a click takes it. What is out of date looks so and says so.

use egui::{Align2, Painter, Pos2, Rect, Role, Sense, Stroke, Ui, Vec2, WidgetInfo, vec2};
use glam::DVec2;

use crate::advice::Proposal;
use crate::desk::{Command, Desk, SearchStatus};
use crate::draw::{self, Near, Taken, Wanted};
use crate::flow::jet::reach;
use crate::ui::paint::{gear, label};
use crate::ui::sheet::{Frame, Sheet, SheetContext, Tool, labels, words};
use crate::ui::theme::{self, Theme};
use crate::ui::{proposals, text};
use crate::words::Speaker;

/// Proposals that the drawing shows, with their places in the list: those whose
/// pump is not in the tank yet.
fn shown(desk: &Desk) -> impl Iterator<Item = (usize, &Proposal)> {
    let all = desk.results().proposals.iter().enumerate();
    all.filter(move |(_, proposal)| !proposals::is_taken(proposal, desk.layout()))
}

/// Where ghosts and the ends of their jets lie, for words to keep clear of.
pub(super) fn places(frame: &Frame, desk: &Desk) -> Vec<Rect> {
    let ring = |at_cm| Rect::from_center_size(frame.pos(at_cm), Vec2::splat(20.0));
    shown(desk).map(|(_, it)| ring(it.pump.at_cm)).collect()
}

impl Sheet {
    /// Draws the ghosts of a view; where the words of the one that is pointed at
    /// lie, which cover none of those that are there.
    pub(super) fn paint_proposals(
        &self,
        painter: &Painter,
        frame: &Frame,
        context: &SheetContext<'_>,
        there: &[Rect],
    ) -> Option<Rect> {
        let (desk, theme) = (context.desk, context.theme);
        let derived = self.derived.as_ref()?;
        let pointed = proposals::pointed(painter.ctx());
        let is_old = desk.results().search == SearchStatus::Old;
        let mut called = None;
        for (idx, proposal) in shown(desk) {
            let pump = &proposal.pump;
            let reach = reach(pump, &desk.scene().tank, derived.rockwork());
            let is_lit = pointed == Some(idx);
            // Set against each other, the others stand back.
            let strength = match (is_lit, is_old, pointed) {
                (true, false, _) => 1.0,
                (true, true, _) => 0.7,
                (false, true, _) | (false, false, Some(_)) => 0.35,
                (false, false, None) => 0.75,
            };
            let color = theme.accent.gamma_multiply(strength);
            let (at, tip) = (frame.pos(pump.at_cm), frame.pos(reach.tip_cm()));
            let stroke = Stroke::new(if is_lit { 3.0 } else { 1.6 }, color);
            let (dash, gap) = if is_old { (2.0, 5.0) } else { (6.0, 4.0) };
            label::dashed(painter, &[at, tip], stroke, dash, gap);
            painter.circle(tip, 3.5, theme.sheet, stroke);
            painter.circle(at, gear::RING + 1.0, theme.sheet, stroke);
            let number = (idx + 1).to_string();
            let font = theme::bold(theme::SMALL_SIZE);
            painter.text(at, Align2::CENTER_CENTER, number, font, color);
            if is_lit {
                called = Some((at, proposal, idx + 1));
            }
        }
        let (at, proposal, number) = called?;
        let words = gain(desk, (number, proposal));
        beside(painter, (frame, at), (&words, there), context.theme)
    }

    /// What ghosts say and do when they are pointed at.
    pub(super) fn ghost_stops(
        &self,
        ui: &Ui,
        frame: &Frame,
        (context, send): (&SheetContext<'_>, &mut Vec<Command>),
    ) {
        if self.tool != Tool::Hand || self.hand.is_busy() {
            return;
        }
        let desk = context.desk;
        let is_old = desk.results().search == SearchStatus::Old;
        for (idx, proposal) in shown(desk) {
            let at = frame.pos(proposal.pump.at_cm);
            if !frame.rect.contains(at) {
                continue;
            }
            let rect = Rect::from_center_size(at, Vec2::splat(2.0 * gear::RING + 6.0));
            let id = ui.scope_id().with(("proposal", frame.view, idx));
            let response = ui.interact(rect, id, Sense::click());
            let name = words::ghost(idx + 1, frame.view);
            response.widget_info(|| WidgetInfo::labeled(Role::Button, true, &name));
            let is_on_it = response.hovered() || response.has_focus();
            proposals::point_on_drawing(ui.ctx(), (frame.view, idx), is_on_it);
            let said = speaker(desk).proposal(proposal);
            let what = if is_old {
                words::TAKE_OLD_GHOST
            } else {
                words::TAKE_GHOST
            };
            if response.on_hover_text(format!("{said}\n{what}")).clicked() {
                let change = proposals::taken(proposal);
                send.push(Command::Edit(text::ADD_PROPOSED.to_owned(), change));
            }
        }
    }
}

fn speaker(desk: &Desk) -> Speaker<'_> {
    Speaker::new(desk.scene(), desk.layout(), desk.settings().units)
}

/// What a proposal would change, in a few words.
fn gain(desk: &Desk, (number, proposal): (usize, &Proposal)) -> String {
    let gain = speaker(desk).proposal_gain(proposal);
    let words = format!("{}: {gain}", text::proposal(number));
    if desk.results().search == SearchStatus::Old {
        text::out_of_date(&words)
    } else {
        words
    }
}

/// Words above or below a ghost, within the view and over no others.
fn beside(
    painter: &Painter,
    (frame, at): (&Frame, Pos2),
    (words, there): (&str, &[Rect]),
    theme: &Theme,
) -> Option<Rect> {
    let galley = painter.layout_no_wrap(words.to_owned(), label::font(), theme.accent);
    let size = labels::dvec((galley.size() + vec2(10.0, 4.0)).to_pos2());
    let panel = labels::spot(frame.rect.shrink(3.0));
    let (low, high) = (panel.low + size / 2.0, panel.high - size / 2.0);
    let away = f64::from(gear::RING) + 6.0 + size.y / 2.0;
    let rows = [-1.0, 1.0, -2.0, 2.0, -3.0, 3.0].map(|row| {
        let middle = labels::dvec(at) + DVec2::new(0.0, row * away);
        middle.with_x(middle.x.min(high.x).max(low.x))
    });
    let wanted = Wanted {
        sizes: vec![size],
        near: Near::At(rows.to_vec()),
        rank: 0,
        may_cover: true,
    };
    let there: Vec<draw::Spot> = there.iter().map(|rect| labels::spot(*rect)).collect();
    let taken = Taken {
        panel,
        words: &there,
        things: &[],
        apart: 0.0,
    };
    let placed = draw::place(&[wanted], taken);
    let rect = labels::rect(&placed.first()?.as_ref()?.spot);
    let line = Stroke::new(1.0, theme.accent);
    painter.rect(rect, 2.0, theme.sheet, line, egui::StrokeKind::Inside);
    painter.galley(rect.min + vec2(5.0, 2.0), galley, theme.accent);
    Some(rect)
}

//! Messages over the lower right of the sheet: put away with a click; good
//! news goes by itself, errors stay.

use egui::{Align2, Area, Context, Frame, Id, Margin, Order, RichText, Stroke, Vec2};

use crate::desk::{Command, Notice, NoticeKind};
use crate::storage::Leftover;
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::{small_plan, text, theme};

/// Seconds that good news stays.
const DONE_STAYS_S: f64 = 6.0;
/// Most notices shown at once; older ones wait.
const SHOWN_MAX: usize = 4;
/// Width of a card, in points.
const WIDTH: f32 = 330.0;

/// Since when each notice is on the screen.
#[derive(Debug, Default)]
pub struct NoticeBoard {
    since: Vec<(Notice, f64)>,
}

impl NoticeBoard {
    /// Draws the cards; `offset` is the corner they hang in, from the lower
    /// right of the window.
    pub fn show(
        &mut self,
        ctx: &Context,
        panel: &mut Panel<'_>,
        leftovers: &[Leftover],
        offset: Vec2,
    ) {
        self.keep_time(ctx, panel);
        let notices = panel.desk.notices().to_vec();
        if notices.is_empty() && leftovers.is_empty() {
            return;
        }
        Area::new(Id::unique("notices"))
            .order(Order::Foreground)
            .anchor(Align2::RIGHT_BOTTOM, -offset)
            .show(ctx, |ui| {
                ui.set_width(WIDTH);
                for leftover in leftovers.iter().take(1) {
                    recover_card(ui, panel, leftover);
                }
                let first = notices.len().saturating_sub(SHOWN_MAX);
                for (idx, notice) in notices.iter().enumerate().skip(first) {
                    ui.push_id(idx, |ui| card(ui, panel, notice, idx));
                }
            });
    }

    /// Lets good news go after its time.
    fn keep_time(&mut self, ctx: &Context, panel: &mut Panel<'_>) {
        let now_s = ctx.input(|input| input.time);
        let old = std::mem::take(&mut self.since);
        for (idx, notice) in panel.desk.notices().iter().enumerate() {
            let before = old.iter().find(|(seen, _)| seen == notice);
            let since_s = before.map_or(now_s, |(_, since_s)| *since_s);
            if notice.kind == NoticeKind::Done {
                let left_s = since_s + DONE_STAYS_S - now_s;
                if left_s <= 0.0 {
                    panel.send.push(Command::PutAway(idx));
                    return;
                }
                ctx.request_repaint_after(std::time::Duration::from_secs_f64(left_s + 0.05));
            }
            self.since.push((notice.clone(), since_s));
        }
    }
}

fn card_frame(panel: &Panel<'_>, line: egui::Color32) -> Frame {
    Frame::new()
        .fill(panel.theme.sheet)
        .stroke(Stroke::new(1.2, line))
        .inner_margin(Margin::same(10))
        .outer_margin(Margin::symmetric(0, 4))
}

fn card(ui: &mut egui::Ui, panel: &mut Panel<'_>, notice: &Notice, idx: usize) {
    let color = match notice.kind {
        NoticeKind::Done => panel.theme.good,
        NoticeKind::Warning => panel.theme.glow,
        NoticeKind::Error => panel.theme.accent,
    };
    card_frame(panel, color).show(ui, |ui| {
        ui.set_width(WIDTH - 24.0);
        ui.label(RichText::new(&notice.summary).font(theme::bold(theme::TEXT_SIZE)));
        if !notice.details.is_empty() {
            egui::ScrollArea::vertical()
                .id_salt("details")
                .max_height(120.0)
                .show(ui, |ui| {
                    ui.label(RichText::new(&notice.details).size(theme::SMALL_SIZE));
                });
        }
        if parts::link(ui, panel.theme, text::PUT_AWAY).clicked() {
            panel.send.push(Command::PutAway(idx));
        }
    });
}

/// Offers work that a program left behind, with a picture of it and its age.
fn recover_card(ui: &mut egui::Ui, panel: &mut Panel<'_>, leftover: &Leftover) {
    card_frame(panel, panel.theme.accent).show(ui, |ui| {
        ui.set_width(WIDTH - 24.0);
        ui.label(RichText::new(text::UNSAVED_FOUND).font(theme::bold(theme::TEXT_SIZE)));
        let age = text::age(leftover.age);
        ui.label(text::leftover(&leftover.scene.name, &age));
        if let Some(origin) = &leftover.origin {
            parts::aside(ui, panel.theme, origin.display().to_string());
        }
        small_plan::show(
            ui,
            panel.theme,
            &leftover.scene,
            Vec2::new(WIDTH - 24.0, 90.0),
        );
        ui.horizontal(|ui| {
            if parts::main_button(ui, panel.theme, text::RECOVER).clicked() {
                panel.ask.push(Ask::Recover(Box::new(leftover.clone())));
            }
            if parts::link(ui, panel.theme, text::LET_GO).clicked() {
                panel.ask.push(Ask::LetGo(Box::new(leftover.clone())));
            }
        });
    });
}

//! Messages, in a place of their own above the legend, or below the drawing
//! where the panels are folded: they cover neither drawing nor controls. Closed
//! with a click; good news goes by itself, what is over closes by itself, errors
//! stay and are collected.

use egui::{Context, Frame, Margin, RichText, Stroke, Ui, Vec2};

use crate::desk::{Command, Notice, NoticeKind};
use crate::storage::{CrashReport, Leftover};
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::{small_plan, text, theme};

/// Seconds that good news stays.
const DONE_STAYS_S: f64 = 6.0;
/// Seconds that a word without details stays.
const WORD_STAYS_S: f64 = 12.0;
/// Height of the place for cards until it is known what they take, in points.
const FIRST_HEIGHT: f32 = 90.0;

/// What earlier runs left: unsaved work, and reports of failures.
pub type Left<'a> = (&'a [Leftover], &'a [CrashReport]);

/// Since when each notice is on the screen.
#[derive(Debug, Default)]
pub struct NoticeBoard {
    since: Vec<(Notice, f64)>,
    /// What the cards took in the last frame, in points.
    height: f32,
}

impl NoticeBoard {
    /// Height that the cards take in their panel, at most `most`, in points.
    pub fn height(&self, most: f32) -> f32 {
        const MARGINS: f32 = 6.0;
        (self.height + MARGINS).clamp(FIRST_HEIGHT.min(most), most)
    }

    /// Draws the cards into a panel of their own, where they cover nothing.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, left: Left<'_>) {
        self.keep_time(ui.ctx(), panel);
        egui::ScrollArea::vertical()
            .id_salt("notices")
            .auto_shrink([false, true])
            .show(ui, |ui| {
                cards(ui, panel, left);
                let height = ui.min_rect().height();
                if (height - self.height).abs() > 0.5 {
                    // Their place is as high as they are from now on.
                    self.height = height;
                    ui.ctx().request_repaint();
                }
            });
    }

    /// Draws them below the drawing, where the panels are folded; nothing if
    /// there are none.
    pub fn show_below(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, left: Left<'_>) {
        /// Most of the window's height that they take.
        const MOST: f32 = 0.3;
        if !has_any(panel, left) {
            return;
        }
        let frame = Frame::new()
            .fill(panel.theme.paper)
            .inner_margin(Margin::symmetric(12, 2));
        egui::Panel::bottom("notices below")
            .resizable(false)
            .exact_size(self.height(ui.available_height() * MOST))
            .frame(frame)
            .show(ui, |ui| self.show(ui, panel, left));
    }

    /// Lets good news go after its time.
    fn keep_time(&mut self, ctx: &Context, panel: &mut Panel<'_>) {
        let now_s = ctx.input(|input| input.time);
        let old = std::mem::take(&mut self.since);
        for (idx, notice) in panel.desk.notices().iter().enumerate() {
            let before = old.iter().find(|(seen, _)| seen == notice);
            let since_s = before.map_or(now_s, |(_, since_s)| *since_s);
            let stays_s = match notice.kind {
                NoticeKind::Done => Some(DONE_STAYS_S),
                // A word about a click that did nothing is moot soon.
                NoticeKind::Warning if notice.details.is_empty() => Some(WORD_STAYS_S),
                _ => None,
            };
            if let Some(stays_s) = stays_s {
                let left_s = since_s + stays_s - now_s;
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

/// Whether there is anything to say.
pub fn has_any(panel: &Panel<'_>, left: Left<'_>) -> bool {
    let (leftovers, reports) = left;
    !panel.desk.notices().is_empty() || !leftovers.is_empty() || !reports.is_empty()
}

fn cards(ui: &mut Ui, panel: &mut Panel<'_>, left: Left<'_>) {
    let (leftovers, reports) = left;
    for leftover in leftovers.iter().take(1) {
        recover_card(ui, panel, leftover);
    }
    if let Some(report) = reports.first() {
        report_card(ui, panel, report);
    }
    let notices = panel.desk.notices().to_vec();
    let groups = collected(&notices);
    for (n, group) in groups.iter().enumerate() {
        ui.push_id(n, |ui| {
            card(ui, panel, (notices.as_slice(), group.as_slice()));
        });
    }
    if groups.len() > 1 && parts::link(ui, panel.theme, text::CLOSE_ALL).clicked() {
        put_away(panel, &(0..notices.len()).collect::<Vec<_>>());
    }
}

/// Notices that say the same of several things belong together; the newest
/// stand on top.
fn collected(notices: &[Notice]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (idx, notice) in notices.iter().enumerate() {
        let is_same = |group: &&mut Vec<usize>| {
            let first = &notices[group[0]];
            first.kind == notice.kind && first.summary == notice.summary
        };
        match groups.iter_mut().find(is_same) {
            Some(group) => group.push(idx),
            None => groups.push(vec![idx]),
        }
    }
    groups.sort_by_key(|group| std::cmp::Reverse(group.last().copied()));
    groups
}

/// Closes notices, the last one first, so that the others keep their places.
fn put_away(panel: &mut Panel<'_>, idxs: &[usize]) {
    let away = idxs.iter().rev().map(|idx| Command::PutAway(*idx));
    panel.send.extend(away);
}

fn card_frame(panel: &Panel<'_>, line: egui::Color32) -> Frame {
    Frame::new()
        .fill(panel.theme.sheet)
        .stroke(Stroke::new(1.2, line))
        .inner_margin(Margin::same(10))
        .outer_margin(Margin::symmetric(0, 4))
}

fn card(ui: &mut Ui, panel: &mut Panel<'_>, (notices, group): (&[Notice], &[usize])) {
    let notice = &notices[group[0]];
    let color = match notice.kind {
        NoticeKind::Done => panel.theme.good,
        NoticeKind::Warning => panel.theme.glow,
        NoticeKind::Error => panel.theme.accent,
    };
    card_frame(panel, color).show(ui, |ui| {
        ui.set_width(ui.available_width());
        let summary = text::notice_heading(&notice.summary, group.len());
        ui.label(RichText::new(summary).font(theme::bold(theme::TEXT_SIZE)));
        let details = group.iter().map(|idx| notices[*idx].details.as_str());
        for details in details.filter(|details| !details.is_empty()) {
            // A caution is never cut.
            ui.add(egui::Label::new(RichText::new(details).size(theme::SMALL_SIZE)).wrap());
        }
        if parts::link(ui, panel.theme, text::PUT_AWAY).clicked() {
            put_away(panel, group);
        }
    });
}

/// Offers work that a program left behind, with a picture of it and its age.
fn recover_card(ui: &mut Ui, panel: &mut Panel<'_>, leftover: &Leftover) {
    card_frame(panel, panel.theme.accent).show(ui, |ui| {
        ui.set_width(ui.available_width());
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
            Vec2::new(ui.available_width(), 90.0),
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

/// Offers the report of an earlier failure.
fn report_card(ui: &mut Ui, panel: &mut Panel<'_>, report: &CrashReport) {
    card_frame(panel, panel.theme.glow).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(text::CRASHED).font(theme::bold(theme::TEXT_SIZE)));
        ui.label(RichText::new(text::CRASHED_WORDS).size(theme::SMALL_SIZE));
        parts::aside(ui, panel.theme, report.path.display().to_string());
        ui.horizontal(|ui| {
            if parts::main_button(ui, panel.theme, text::COPY_REPORT).clicked() {
                ui.ctx().copy_text(report.text.clone());
            }
            if parts::link(ui, panel.theme, text::LET_GO).clicked() {
                panel.ask.push(Ask::LetReportGo(Box::new(report.clone())));
            }
        });
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_said_of_several_things_is_one_card_and_the_newest_is_on_top() {
        let error = |summary: &str, details: &str| {
            Notice::new(NoticeKind::Error, summary).with_details(details)
        };
        let all = [
            error("A photo could not be read", "one.jpg"),
            error("No reading was taken in", "table.csv"),
            error("A photo could not be read", "two.jpg"),
            Notice::new(NoticeKind::Done, "Saved"),
        ];
        assert_eq!(collected(&all), [vec![3], vec![0, 2], vec![1]]);
    }
}

//! The small marks on the views: one in each corner that lets the view fill the
//! sheet, and the border between the columns to drag.

use egui::{Rect, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, vec2};

use crate::desk::Action;
use crate::ui::room::{Moved, border};
use crate::ui::sheet::frame::{Arrangement, Filling};
use crate::ui::sheet::{Sheet, View, words};
use crate::ui::theme::Theme;

/// Side of a mark, in points.
const MARK: f32 = 15.0;
/// How far an arrow key moves the border, as a share of the width.
const KEY_STEP: f32 = 0.02;
/// Least share that the right column is dragged to before it goes.
const GOES_BELOW: f32 = 0.05;
/// Most of the width that it takes.
const MOST: f32 = 0.6;

impl Sheet {
    /// Draws the marks over the views and does what is asked by them.
    pub(super) fn marks(&mut self, ui: &Ui, arrangement: &Arrangement, theme: &Theme) {
        let views = View::ALL.into_iter().filter_map(|view| {
            let frame = arrangement.frames[view.idx()]?;
            Some((Filling::One(view), frame.rect))
        });
        let solid = arrangement.solid.map(|rect| (Filling::Solid, rect));
        let mut asked = None;
        for (filling, rect) in views.chain(solid) {
            if self.mark(ui, filling, rect, theme) {
                asked = Some(filling);
            }
        }
        if let Some(filling) = asked {
            self.fill(filling);
        }
        if let Some(strip) = arrangement.splitter {
            self.splitter(ui, strip, theme);
        }
    }

    /// One mark in the upper right corner of a view; whether it was clicked.
    fn mark(&self, ui: &Ui, filling: Filling, view: Rect, theme: &Theme) -> bool {
        let corner = view.right_top() + vec2(-MARK / 2.0 - 4.0, MARK / 2.0 + 4.0);
        let rect = Rect::from_center_size(corner, Vec2::splat(MARK));
        let is_back = self.filling == filling;
        let action = if is_back {
            Action::AllViews
        } else {
            action_of(filling)
        };
        let id = ui.scope_id().with(("fill mark", action.label()));
        let response = ui.interact(rect.expand(3.0), id, Sense::click());
        response.widget_info(|| WidgetInfo::labeled(Role::Button, true, action.label()));
        let is_lit = response.hovered() || response.has_focus();
        let color = if is_lit { theme.accent } else { theme.ink };
        let paper = theme.sheet.gamma_multiply(if is_lit { 0.95 } else { 0.6 });
        ui.painter().rect_filled(rect.expand(2.0), 2.0, paper);
        let box_ = rect.shrink(2.0);
        // Corners that point outwards fill, inwards go back in line.
        let arm = box_.width() * 0.34;
        let stroke = Stroke::new(if is_lit { 2.0 } else { 1.4 }, color);
        for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
            let outer = box_.center() + vec2(x, y) * box_.width() / 2.0;
            let tip = if is_back {
                outer - vec2(x, y) * arm
            } else {
                outer
            };
            let sign = if is_back { 1.0 } else { -1.0 };
            let points = vec![
                tip + vec2(sign * x * arm, 0.0),
                tip,
                tip + vec2(0.0, sign * y * arm),
            ];
            ui.painter().add(Shape::line(points, stroke));
        }
        let tip = format!("{} ({})", action.tip(), action.key());
        response.on_hover_text(tip).clicked()
    }

    /// The border between the columns.
    fn splitter(&mut self, ui: &Ui, strip: Rect, theme: &Theme) {
        let sheet = ui.max_rect();
        let share_at = |x: f32| (sheet.right() - x) / sheet.width();
        let share = share_at(strip.center().x);
        match border(ui, strip, words::COLUMN_BORDER, share, theme) {
            None => {}
            Some(Moved::Back) => self.column = None,
            Some(Moved::To(x)) => {
                let share = share_at(x);
                self.column = Some(if share < GOES_BELOW {
                    0.0
                } else {
                    share.min(MOST)
                });
            }
            Some(Moved::By(steps)) => {
                self.column = Some((share - steps * KEY_STEP).clamp(0.0, MOST));
            }
        }
    }
}

fn action_of(filling: Filling) -> Action {
    match filling {
        Filling::All => Action::AllViews,
        Filling::One(View::Top) => Action::FillTop,
        Filling::One(View::Side) => Action::FillSide,
        Filling::One(View::End) => Action::FillEnd,
        Filling::Solid => Action::FillSolid,
    }
}

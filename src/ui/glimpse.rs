//! The other layout laid over the sheet up to a line that can be dragged: same
//! scale, same levels, same wash.

use egui::{Align2, CursorIcon, Rect, Sense, Stroke, Ui, UiBuilder, WidgetInfo, pos2, vec2};

use crate::desk::{Command, Desk, MONTHS_MAX};
use crate::scene::{Layout, Tank};
use crate::ui::paint::label;
use crate::ui::sheet::{Sheet, SheetContext, View};
use crate::ui::text;
use crate::ui::theme::Theme;

/// The other layout, ready to be shown.
struct Shown {
    desk: Desk,
    tank: Tank,
    layout: Layout,
    months: f64,
}

/// What is laid over the sheet.
#[derive(Default)]
pub struct Glimpse {
    is_on: bool,
    /// Where the line stands, 0 (left) to 1; in the middle of the top view
    /// until it is dragged.
    share: Option<f32>,
    sheet: Sheet,
    shown: Option<Shown>,
}

impl Glimpse {
    /// Whether the line is wanted.
    pub fn is_on(&self) -> bool {
        self.is_on
    }

    /// Wants the line, or puts it away.
    pub fn toggle(&mut self) {
        self.is_on = !self.is_on;
    }

    /// Draws the other layout right of the line over `rect`, and the line.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        rect: Rect,
        sheet: &mut Sheet,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        if !self.is_on || sheet.wash().is_change() || !self.refresh(context.desk) {
            return;
        }
        let Some(shown) = &self.shown else { return };
        let share = self.share.unwrap_or_else(|| {
            let frame = sheet.frame(View::Top).or(sheet.frame(View::Side));
            let middle = frame.map_or(rect.center().x, |frame| frame.rect.center().x);
            (middle - rect.left()) / rect.width()
        });
        let x = rect.left() + share * rect.width();
        let mut over = ui.new_child(UiBuilder::new().max_rect(rect).id_salt("glimpse"));
        let right = Rect::from_min_max(pos2(x, rect.top()), rect.max);
        over.set_clip_rect(ui.clip_rect().intersect(right));
        over.painter().rect_filled(right, 0.0, context.theme.paper);
        self.sheet.follow(sheet);
        let ghost = SheetContext {
            desk: &shown.desk,
            theme: context.theme,
            motion: context.motion,
        };
        let mut wishes = Vec::new();
        self.sheet.show(&mut over, &ghost, &mut wishes);
        sheet.follow(&self.sheet);
        // It is to look at: only where to cut can be changed in it.
        let is_cut = |command: &Command| matches!(command, Command::SetLevels(_));
        send.extend(wishes.into_iter().filter(is_cut));
        let names = [context.desk.layout(), &shown.layout].map(|layout| layout.name.clone());
        self.line(ui, (rect, x), &names, context.theme);
    }

    /// Brings what is shown up to date; whether there is something to show.
    fn refresh(&mut self, desk: &Desk) -> bool {
        let Some(idx) = desk.compared() else {
            self.shown = None;
            return false;
        };
        let scene = desk.scene();
        let months = desk.settings().months.min(MONTHS_MAX);
        let fits = |shown: &Shown| {
            shown.layout == scene.layouts[idx] && shown.tank == scene.tank && shown.months == months
        };
        if !self.shown.as_ref().is_some_and(fits) {
            self.shown = desk.glimpse().map(|glimpse| Shown {
                desk: glimpse,
                tank: scene.tank.clone(),
                layout: scene.layouts[idx].clone(),
                months,
            });
        }
        if let Some(shown) = &mut self.shown {
            shown.desk.refresh_glimpse(desk);
        }
        self.shown.is_some()
    }

    /// The line, a grip on it, and the layouts' names on both sides.
    fn line(&mut self, ui: &Ui, (rect, x): (Rect, f32), names: &[String; 2], theme: &Theme) {
        const GRIP: f32 = 7.0;
        let share = (x - rect.left()) / rect.width();
        let strip = Rect::from_x_y_ranges(x - GRIP..=x + GRIP, rect.y_range());
        let id = ui.scope_id().with("swipe line");
        let response = ui.interact(strip, id, Sense::drag());
        response.widget_info(|| WidgetInfo::slider(true, f64::from(share), text::SWIPE_LINE));
        if let Some(pos) = response
            .interact_pointer_pos()
            .filter(|_| response.dragged())
        {
            self.share = Some(((pos.x - rect.left()) / rect.width()).clamp(0.02, 0.98));
        }
        let is_held = response.hovered() || response.dragged();
        if is_held {
            ui.ctx().set_cursor_icon(CursorIcon::ResizeHorizontal);
        }
        let painter = ui.painter();
        let width = if is_held { 2.6 } else { 1.8 };
        painter.vline(x, rect.y_range(), Stroke::new(width, theme.accent));
        let middle = pos2(x, rect.center().y);
        let stroke = Stroke::new(width, theme.accent);
        painter.circle(middle, GRIP, theme.sheet, stroke);
        let tag = |at: egui::Pos2, anchor: Align2, words: &str| {
            let galley = painter.layout_no_wrap(words.to_owned(), label::font(), theme.accent);
            let size = galley.size() + vec2(8.0, 4.0);
            let plate = anchor.anchor_size(at, size);
            painter.rect_filled(plate, 2.0, theme.paper);
            painter.galley(plate.min + vec2(4.0, 2.0), galley, theme.accent);
        };
        let y = rect.top() + 2.0;
        tag(pos2(x - 6.0, y), Align2::RIGHT_TOP, &names[0]);
        tag(pos2(x + 6.0, y), Align2::LEFT_TOP, &names[1]);
    }
}

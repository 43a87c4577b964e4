//! Draws one view: paper, wash, sand, rock, corals, gear, levels, labels.

use egui::{Painter, Pos2, Rect, Stroke, StrokeKind, Ui};

use crate::draw::{Ink, Layer, Mark, Shape, Subject};
use crate::scene::ItemId;
use crate::ui::paint::list::Screen;
use crate::ui::paint::{label, tank};
use crate::ui::sheet::derived::Derived;
use crate::ui::sheet::hand::Preview;
use crate::ui::sheet::outline::{self, Spot};
use crate::ui::sheet::pick::{self, Target};
use crate::ui::sheet::washes::{BedLight, Washes};
use crate::ui::sheet::{Frame, Sheet, SheetContext, View, Wash, labels, washes, words};
use crate::ui::text;

impl Sheet {
    pub(super) fn paint_view(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        context: &SheetContext<'_>,
    ) -> Vec<labels::Mark> {
        let (desk, theme) = (context.desk, context.theme);
        let units = desk.settings().units;
        let scene = desk.scene();
        let painter = ui.painter_at(frame.rect);
        tank::ground(&painter, frame, units, theme);
        if !self.washes.covers(frame.view) {
            self.paint_layer(&painter, frame, context, Layer::Floor);
        }
        self.washes
            .paint(&painter, frame, self.shown_wash(desk), context);
        if frame.view != View::Top {
            self.paint_layer(&painter, frame, context, Layer::Bed);
            if let Some(lit) = &self.lit {
                let cut_cm = frame.view.depth(washes::cut_at_cm(desk));
                let colors = (theme, self.surface_classes(theme));
                tank::lit_bed(&painter, frame, &scene.tank, (lit, cut_cm), colors);
            }
        }
        self.photos.paint(&painter, frame, desk);
        self.paint_tracers(ui, &painter, frame, context);
        self.paint_rocks(&painter, frame, context);
        let caption = self.caption(&painter, frame, context);
        let mut kept: Vec<Rect> = caption.iter().map(|it| it.rect.expand(3.0)).collect();
        let is_alone = self.filling != super::Filling::All;
        let bar = tank::scale_bar(&painter, frame, (units, theme), &kept);
        let bar = bar.filter(|_| is_alone);
        kept.extend(bar.iter().map(|bar| bar.rect));
        if self.wash == Wash::Fit {
            kept.extend(Washes::paint_fit(&painter, frame, context));
        } else {
            self.washes.paint_shade(&painter, frame, context);
        }
        for layer in [Layer::Corals, Layer::Fixed, Layer::Glass] {
            self.paint_layer(&painter, frame, context, layer);
        }
        if frame.view != View::Top && !context.desk.layout().lamps.is_empty() {
            tank::break_line(&painter, frame, theme);
        }
        self.paint_levels(&painter, frame, context);
        self.paint_layer(&painter, frame, context, Layer::Gear);
        let told = self.paint_proposals(&painter, frame, context, &kept);
        kept.extend(told);
        self.paint_first_steps(&painter, frame, context);
        let is_lit = |of| self.is_subject_lit(context, of);
        let list = self.lists.of(frame);
        let words = list.map_or_else(Vec::new, |list| {
            labels::said(&painter, frame, (list, kept), (context, &is_lit))
        });
        let reaches = self.derived.iter().flat_map(Derived::reaches);
        let around = labels::Around {
            pointer: self.hand.hover_pos(),
            flown_to: self.spot.map(|(at_cm, _)| frame.pos(at_cm)),
            words,
            tips: reaches.map(|reach| frame.pos(reach.tip_cm())).collect(),
        };
        let marks = labels::paint(&painter, frame, self.wash, context, &around);
        self.paint_handles(&painter, frame, context);
        self.paint_hand(&painter, frame, context);
        self.paint_spot(&painter, frame, context);
        if let Some(caption) = caption {
            caption.paint(&painter, theme);
        }
        self.paint_edges(ui, frame, context);
        if let Some(bar) = bar {
            bar.paint(&painter, theme);
        }
        marks
    }

    /// The view's border and rulers.
    fn paint_edges(&self, ui: &Ui, frame: &Frame, context: &SheetContext<'_>) {
        let (units, theme) = (context.desk.settings().units, context.theme);
        let around = ui.painter();
        tank::border(around, frame, theme);
        let is_alone = self.filling != super::Filling::All;
        let is_beside = self.arrangement.is_some_and(|it| it.is_beside);
        let rulers = match frame.view {
            _ if is_alone || is_beside => tank::Rulers::AboveAndLeft,
            View::Top => tank::Rulers::BelowAndLeft,
            View::Side => tank::Rulers::Left,
            View::End => tank::Rulers::Above,
        };
        tank::rulers(around, frame, rulers, (units, theme));
    }

    /// What the view is and where it is cut.
    fn caption(
        &self,
        painter: &Painter,
        frame: &Frame,
        context: &SheetContext<'_>,
    ) -> Option<label::Caption> {
        let (desk, theme) = (context.desk, context.theme);
        let is_bed = matches!(self.bed_for(frame.view, desk), BedLight::Bed(_));
        if self.fitted.is_some() && is_bed {
            label::caption(painter, frame.rect, &words::FIT_CAPTION, theme)
        } else if is_bed {
            label::caption(painter, frame.rect, &words::BED_CAPTION, theme)
        } else {
            let texts = words::caption(frame.view, desk.levels(), desk.settings().units);
            label::caption(painter, frame.rect, &texts, theme)
        }
    }

    fn is_lit(&self, context: &SheetContext<'_>, id: ItemId) -> bool {
        context.desk.selection().contains(&id) || self.hand.hovered() == Some(Target::Item(id))
    }

    fn paint_tracers(
        &mut self,
        ui: &Ui,
        painter: &Painter,
        frame: &Frame,
        context: &SheetContext<'_>,
    ) {
        if self.shown_wash(context.desk) != Wash::Flow {
            return;
        }
        let frame_s = context.motion.frame_s.filter(|_| self.has_tracers);
        let view = frame.view;
        let Some(cut) = self.washes.flow_cut(view, context.desk) else {
            return;
        };
        // As much as was seen, but no leap after a pause.
        let passed_s = |frame_s: f32| ui.input(|input| input.unstable_dt).min(1.5 * frame_s);
        let dt_s = frame_s.map_or(0.0, passed_s);
        let tracers = &mut self.tracers[view.idx()];
        tracers.drift(&cut, dt_s);
        let water = tank::water_rect(frame, &context.desk.scene().tank);
        let clipped = painter.with_clip_rect(painter.clip_rect().intersect(water));
        tracers.paint(&clipped, frame, &cut);
        if let Some(frame_s) = frame_s {
            let wait = std::time::Duration::from_secs_f32(frame_s);
            ui.ctx().request_repaint_after(wait);
        }
    }

    fn paint_rocks(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        let Some(list) = self.lists.of(frame) else {
            return;
        };
        let screen = Screen {
            painter,
            frame,
            theme: context.theme,
        };
        let is_washed = self.wash == Wash::Light || self.fitted.is_some();
        let shown = list
            .layer(Layer::Rocks)
            .iter()
            .filter(|mark| match mark.of {
                Subject::Rock(id) | Subject::Section(id) => !context.desk.is_hidden(id),
                _ => true,
            });
        let shown: Vec<&Mark> = shown.collect();
        for mark in &shown {
            if !self.paint_shade(&screen, mark, is_washed) {
                screen.lay(mark, false);
            }
        }
        // Over nearer rocks, so that one that is hidden shows where it is.
        for mark in shown {
            if mark.pen.is_some() && self.is_subject_lit(context, mark.of) {
                screen.lay(mark, true);
            }
        }
    }

    /// Lays the shade of a rock where its fill is; whether that is all there is
    /// to lay down.
    fn paint_shade(&self, screen: &Screen<'_>, mark: &Mark, is_washed: bool) -> bool {
        let (Some(fill), Shape::Area { at_cm, area }) = (mark.fill, &mark.shape) else {
            return false;
        };
        match (mark.of, fill.ink) {
            (Subject::Rock(id) | Subject::Section(id), Ink::Rock) => {
                let is_cut = matches!(mark.of, Subject::Section(_));
                let place = (*at_cm, area.as_ref());
                self.rocks.paint(screen, (id, is_cut), place, is_washed)
            }
            // A tone would make the colors of the wash wrong.
            (Subject::Section(_), _) => is_washed,
            _ => false,
        }
    }

    /// Whether what is drawn is pointed at or selected.
    fn is_subject_lit(&self, context: &SheetContext<'_>, of: Subject) -> bool {
        match of {
            Subject::Pump(id) => {
                self.is_lit(context, id) || self.hand.hovered() == Some(Target::Aim(id))
            }
            Subject::Lamp(id) | Subject::Coral(id) | Subject::Rock(id) => self.is_lit(context, id),
            Subject::Overflow => self.hand.holds(Target::Overflow),
            Subject::Return(_) | Subject::Section(_) | Subject::Tank => false,
        }
    }

    /// Lays down what is drawn of a layer, but what the keeper has hidden.
    fn paint_layer(
        &self,
        painter: &Painter,
        frame: &Frame,
        context: &SheetContext<'_>,
        layer: Layer,
    ) {
        let Some(list) = self.lists.of(frame) else {
            return;
        };
        let screen = Screen {
            painter,
            frame,
            theme: context.theme,
        };
        for mark in list.layer(layer) {
            let is_hidden = match mark.of {
                Subject::Pump(id) | Subject::Lamp(id) | Subject::Coral(id) => {
                    context.desk.is_hidden(id)
                }
                _ => false,
            };
            if !is_hidden {
                screen.lay(mark, self.is_subject_lit(context, mark.of));
            }
        }
    }

    /// What to begin with, on the paper of an empty tank.
    fn paint_first_steps(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        let layout = context.desk.layout();
        let has_any = layout.ids().next().is_some() || self.hand.is_busy();
        if frame.view != View::Top || has_any {
            return;
        }
        let middle = frame.rect.center();
        for (n, words) in text::FIRST_STEPS.iter().enumerate() {
            let at = middle + egui::vec2(0.0, (n as f32 - 1.0) * 26.0);
            let inks = [context.theme.ink, context.theme.sheet.gamma_multiply(0.9)];
            label::rimmed(painter, at, egui::Align2::CENTER_CENTER, words, inks);
        }
    }

    fn paint_levels(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        let cut_at = washes::cut_at_cm(context.desk);
        let (h, v, _) = frame.view.axes();
        for axis in [h, v] {
            let is_lit = self.hand.holds(Target::Level(axis));
            let strength = if is_lit { 1.0 } else { 0.85 };
            let style = (
                context.theme.accent.gamma_multiply(strength),
                if is_lit { 1.8 } else { 1.0 },
            );
            tank::level_line(painter, frame, axis, cut_at[axis], style);
        }
    }

    /// A ring around the place that was flown to.
    fn paint_spot(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        const ROOM_POINTS: f32 = 8.0;
        let Some((at_cm, half_cm)) = self.spot else {
            return;
        };
        let half = frame.view.flat(half_cm) * frame.scale;
        let radius = egui::vec2(half.x as f32, half.y as f32) + egui::Vec2::splat(ROOM_POINTS);
        let stroke = Stroke::new(2.0, context.theme.accent);
        painter.add(egui::Shape::ellipse_stroke(
            frame.pos(at_cm),
            radius,
            stroke,
        ));
    }

    fn paint_handles(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        let theme = context.theme;
        let &[id] = context.desk.selection() else {
            return;
        };
        let layout = context.desk.layout();
        if let Some(at) = pick::turn_handle(layout, id, frame) {
            let is_lit = self.hand.holds(Target::Turn(id));
            let stroke = Stroke::new(if is_lit { 2.2 } else { 1.4 }, theme.accent);
            painter.circle(at, 5.0, theme.sheet, stroke);
            painter.circle_filled(at, 1.6, theme.accent);
        }
        let Some(rock) = layout
            .rocks
            .iter()
            .find(|rock| rock.id == id && !rock.locked)
        else {
            return;
        };
        for (spot, at) in outline::handles(rock, frame) {
            let is_lit = self.hand.holds(Target::Point(spot));
            let is_chosen = self.hand.chosen_point() == Some(spot);
            let size = if is_lit || is_chosen { 8.0 } else { 5.5 };
            let square = Rect::from_center_size(at, egui::Vec2::splat(size));
            let fill = if is_chosen { theme.accent } else { theme.sheet };
            let stroke = Stroke::new(1.3, theme.accent);
            painter.rect(square, 0.0, fill, stroke, StrokeKind::Middle);
        }
        if let Some(Target::Edge(spot)) = self.hand.hovered() {
            self.paint_edge_hint(painter, frame, spot, context);
        }
    }

    /// A small plus where a double click would add a point.
    fn paint_edge_hint(
        &self,
        painter: &Painter,
        frame: &Frame,
        spot: Spot,
        context: &SheetContext<'_>,
    ) {
        let Some(pos) = self
            .hand
            .hover_pos()
            .filter(|pos| frame.rect.contains(*pos))
        else {
            return;
        };
        if context.desk.selection() == [spot.rock] {
            let stroke = Stroke::new(1.4, context.theme.accent);
            for d in [egui::vec2(4.0, 0.0), egui::vec2(0.0, 4.0)] {
                painter.line_segment([pos - d, pos + d], stroke);
            }
        }
    }

    /// What the hand is doing: the marquee, the stroke, the lines it snapped to.
    fn paint_hand(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        let theme = context.theme;
        let accent = Stroke::new(1.4, theme.accent);
        match self.hand.preview(frame.view) {
            Preview::Nothing => {}
            Preview::Marquee(rect) => {
                painter.rect_filled(rect, 0.0, theme.accent.gamma_multiply(0.08));
                let corners = [
                    rect.left_top(),
                    rect.right_top(),
                    rect.right_bottom(),
                    rect.left_bottom(),
                    rect.left_top(),
                ];
                label::dashed(painter, &corners, accent, 4.0, 3.0);
            }
            Preview::Stroke(flats, is_by_points) => {
                let mut points: Vec<Pos2> = flats.iter().map(|p| frame.pos_flat(*p)).collect();
                if is_by_points {
                    for point in &points {
                        painter.circle(*point, 3.5, theme.sheet, accent);
                    }
                    points.extend(self.hand.hover_pos());
                }
                painter.add(egui::Shape::line(points, Stroke::new(2.0, theme.accent)));
            }
            Preview::Guides(guides) => {
                for (axis, at_cm) in guides {
                    let (h, v, _) = frame.view.axes();
                    let rect = frame.rect;
                    let mut flat = glam::DVec2::ZERO;
                    flat[usize::from(*axis == v)] = *at_cm;
                    let at = frame.pos_flat(flat);
                    let line = if *axis == h {
                        [Pos2::new(at.x, rect.top()), Pos2::new(at.x, rect.bottom())]
                    } else {
                        [Pos2::new(rect.left(), at.y), Pos2::new(rect.right(), at.y)]
                    };
                    let thin = Stroke::new(0.8, theme.accent.gamma_multiply(0.7));
                    label::dashed(painter, &line, thin, 2.0, 4.0);
                }
            }
        }
    }
}

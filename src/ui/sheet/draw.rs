//! Draws one view: paper, wash, sand, rock, corals, gear, levels, labels.

use egui::{Painter, Pos2, Rect, Shape, Stroke, StrokeKind, Ui};

use crate::scene::{ItemId, Rock};
use crate::ui::paint::coral::{self, CoralLook};
use crate::ui::paint::gear;
use crate::ui::paint::{label, tank};
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
        let is_bare = !self.washes.covers(frame.view);
        if frame.view == View::Top {
            tank::sand(&painter, frame, &scene.tank, theme, is_bare);
        }
        self.washes
            .paint(&painter, frame, self.shown_wash(desk), context);
        if frame.view != View::Top {
            tank::sand(&painter, frame, &scene.tank, theme, is_bare);
            if let Some(lit) = &self.lit {
                let cut_cm = frame.view.depth(washes::cut_at_cm(desk));
                let colors = (theme, self.surface_classes(theme));
                tank::lit_bed(&painter, frame, &scene.tank, (lit, cut_cm), colors);
            }
        }
        self.photos.paint(&painter, frame, desk);
        self.paint_tracers(ui, &painter, frame, context);
        self.paint_rocks(&painter, frame, context);
        if self.wash == Wash::Fit {
            Washes::paint_fit(&painter, frame, context);
        } else {
            self.washes.paint_shade(&painter, frame, context);
        }
        self.paint_corals(&painter, frame, context);
        let is_lit = self.hand.holds(Target::Overflow);
        tank::overflow(&painter, frame, &scene.tank, (theme, is_lit));
        for nozzle in &scene.tank.returns {
            gear::nozzle(&painter, frame, nozzle, theme);
        }
        tank::water_line(&painter, frame, &scene.tank, theme);
        tank::glass(&painter, frame, &scene.tank, theme);
        if frame.view != View::Top && !context.desk.layout().lamps.is_empty() {
            tank::break_line(&painter, frame, theme);
        }
        self.paint_levels(&painter, frame, context);
        self.paint_gear(&painter, frame, context);
        self.paint_proposals(&painter, frame, context);
        self.paint_first_steps(&painter, frame, context);
        if frame.view != View::Top {
            labels::lamp_heights(&painter, frame, context);
        }
        labels::readings(&painter, frame, context);
        let flown_to = self.spot.map(|(at_cm, _)| frame.pos(at_cm));
        let caption = self.caption(&painter, frame, context);
        let kept = caption.as_ref().map(|caption| caption.rect.expand(3.0));
        let taken = self.reach_words(&painter, frame, kept, context);
        let reaches = self.derived.iter().flat_map(|derived| &derived.reaches);
        let around = labels::Around {
            pointer: self.hand.hover_pos(),
            flown_to,
            words: taken,
            tips: reaches.map(|reach| frame.pos(reach.tip_cm)).collect(),
        };
        let marks = labels::paint(&painter, frame, self.wash, context, around);
        self.paint_handles(&painter, frame, context);
        self.paint_hand(&painter, frame, context);
        self.paint_spot(&painter, frame, context);
        if let Some(caption) = caption {
            caption.paint(&painter, theme);
        }
        self.paint_edges(ui, frame, context);
        marks
    }

    /// The view's border, rulers and scale.
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
        if is_alone {
            tank::scale_bar(around, frame, units, theme);
        }
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
        let is_shown = |rock: &&Rock| !context.desk.is_hidden(rock.id);
        let rocks = context.desk.layout().rocks.iter();
        let mut rocks: Vec<&Rock> = rocks.filter(is_shown).collect();
        let nearness = |rock: &Rock| frame.view.nearness(rock.at_cm);
        rocks.sort_by(|a, b| nearness(a).total_cmp(&nearness(b)));
        let is_washed = self.wash == Wash::Light || self.fitted.is_some();
        for rock in &rocks {
            if let Some(drawing) = self.rocks.rock(rock.id) {
                drawing.paint(painter, frame, rock, (context.theme, is_washed));
            }
        }
        for rock in rocks.iter().filter(|rock| self.is_lit(context, rock.id)) {
            let is_selected = context.desk.selection().contains(&rock.id);
            let width = if is_selected { 2.2 } else { 1.4 };
            let stroke = Stroke::new(width, context.theme.accent);
            if let Some(drawing) = self.rocks.rock(rock.id) {
                drawing.paint_border(painter, frame, rock, stroke);
            }
        }
    }

    fn paint_corals(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        let view = frame.view;
        let hidden = self
            .derived
            .as_ref()
            .map_or(&[][..], |derived| &derived.hidden[view.idx()]);
        let is_shown = |coral: &&crate::scene::Coral| !context.desk.is_hidden(coral.id);
        let corals = context.desk.shown_layout().corals.iter();
        let mut corals: Vec<_> = corals.filter(is_shown).collect();
        corals.sort_by(|a, b| view.nearness(a.at_cm).total_cmp(&view.nearness(b.at_cm)));
        for each in corals {
            let look = CoralLook {
                catalog: context.desk.catalog(),
                theme: context.theme,
                is_lit: self.is_lit(context, each.id),
                is_hidden: hidden.contains(&each.id),
                ways: self.mats.ways(each.id),
            };
            coral::paint(painter, frame, each, look);
        }
    }

    fn paint_gear(&self, painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
        let layout = context.desk.layout();
        let look = |id: ItemId| gear::Look {
            theme: context.theme,
            is_lit: self.is_lit(context, id) || self.hand.hovered() == Some(Target::Aim(id)),
        };
        let tank = &context.desk.scene().tank;
        let is_shown = |id: ItemId| !context.desk.is_hidden(id);
        for lamp in layout.lamps.iter().filter(|lamp| is_shown(lamp.id)) {
            gear::lamp(painter, frame, lamp, tank, &look(lamp.id));
        }
        let reaches = self
            .derived
            .as_ref()
            .map_or(&[][..], |derived| &derived.reaches);
        let pumps = layout.pumps.iter().zip(reaches);
        for (pump, reach) in pumps.filter(|(pump, _)| is_shown(pump.id)) {
            gear::pump(painter, frame, pump, reach, &look(pump.id));
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

    /// Says at each arrow's tip how fast the water is there; where words lie now,
    /// the place that is `kept` for others with them.
    fn reach_words(
        &self,
        painter: &Painter,
        frame: &Frame,
        kept: Option<Rect>,
        context: &SheetContext<'_>,
    ) -> Vec<Rect> {
        let pumps = context.desk.layout().pumps.iter();
        let reaches = self.derived.iter().flat_map(|derived| &derived.reaches);
        let is_lit = |id| self.is_lit(context, id) || self.hand.hovered() == Some(Target::Aim(id));
        let shown = pumps
            .zip(reaches)
            .filter(|(pump, _)| !context.desk.is_hidden(pump.id))
            .map(|(pump, reach)| (pump, reach, is_lit(pump.id)));
        // The one that is pointed at has its words first.
        let mut shown: Vec<_> = shown.collect();
        shown.sort_by_key(|(_, _, is_lit)| !is_lit);
        labels::reaches(painter, frame, (&shown, kept), context)
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
        painter.add(Shape::ellipse_stroke(frame.pos(at_cm), radius, stroke));
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
                painter.add(Shape::line(points, Stroke::new(2.0, theme.accent)));
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

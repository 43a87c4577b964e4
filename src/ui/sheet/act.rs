//! Named actions and keys that the sheet answers itself.

use egui::{Key, Pos2, Ui};
use glam::{DVec2, DVec3};

use crate::desk::{Action, Change, Command, Notice, NoticeKind};
use crate::scene::{Item, ItemId, Outline, Rock};
use crate::ui::paint::tank::inside_cm;
use crate::ui::sheet::frame::{Filling, Look};
use crate::ui::sheet::guess::Guess;
use crate::ui::sheet::outline::{Lie, Which, tidy};
use crate::ui::sheet::{Frame, Sheet, SheetContext, Tool, View, Wash, grip, sketch, washes, words};

/// Arrow keys move by this, and by a quarter of it with Shift, in cm.
const NUDGE_CM: f64 = 1.0;
/// The turn keys turn by this, in degrees.
const TURN_DEG: f64 = 5.0;
/// Zoom of one step.
const ZOOM: f64 = 1.25;

impl Sheet {
    /// Does a named action if it is one of the sheet's: washes, tracers, zoom,
    /// views, drawing, turning. Whether it did.
    pub fn act(
        &mut self,
        action: Action,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) -> bool {
        match action {
            Action::WashFlow => self.wash = Wash::Flow,
            Action::WashLight => self.wash = Wash::Light,
            Action::WashFit => self.wash = Wash::Fit,
            Action::WashFlowChange => self.wash_change(Wash::FlowChange, context, send),
            Action::WashFitChange => self.wash_change(Wash::FitChange, context, send),
            Action::WashLightChange => self.wash_change(Wash::LightChange, context, send),
            Action::WashNone => self.wash = Wash::None,
            Action::LightOnSurfaces => {
                // Asked for from another wash, it is wanted on.
                self.is_surface_light = self.wash != Wash::Light || !self.is_surface_light;
                self.wash = Wash::Light;
            }
            Action::Tracers => self.has_tracers = !self.has_tracers,
            Action::FitSheet => self.look = Look::default(),
            Action::ZoomIn => self.zoom(ZOOM),
            Action::ZoomOut => self.zoom(1.0 / ZOOM),
            Action::ZoomSelection => self.zoom_to_selection(context),
            Action::FillTop => self.fill(Filling::One(View::Top)),
            Action::FillSide => self.fill(Filling::One(View::Side)),
            Action::FillEnd => self.fill(Filling::One(View::End)),
            Action::FillSolid => self.fill(Filling::Solid),
            Action::AllViews => self.fill(Filling::All),
            Action::DrawRock => self.take_up(Tool::Rock),
            Action::PlaceReading => self.take_up(Tool::Reading),
            Action::CutOpening => {
                if selected_rock(context).is_some() {
                    self.take_up(Tool::Opening);
                } else {
                    tell(send, words::SELECT_ROCK_FIRST);
                }
            }
            Action::LivesHere => self.ask_under_pointer(context, send),
            Action::TurnLeft => turn(TURN_DEG, context, send),
            Action::TurnRight => turn(-TURN_DEG, context, send),
            Action::SelectNone => return self.let_go(send),
            Action::Remove => {
                let chosen = self.hand.chosen_point();
                let is_shown = |spot: &crate::ui::sheet::outline::Spot| {
                    context.desk.selection() == [spot.rock]
                };
                return chosen
                    .filter(is_shown)
                    .is_some_and(|spot| self.remove_point(spot, context, send));
            }
            _ => return false,
        }
        true
    }

    /// Brings a place into the middle and marks it until the next click.
    pub fn fly_to(&mut self, at_m: DVec3, half_size_m: DVec3) {
        let (at_cm, half_cm) = (at_m * 100.0, half_size_m * 100.0);
        if let Some(extent) = &self.extent {
            self.look.fly_to(extent, at_cm, half_cm);
        }
        self.spot = Some((at_cm, half_cm));
    }

    /// A difference needs another layout to differ from.
    fn wash_change(&mut self, wash: Wash, context: &SheetContext<'_>, send: &mut Vec<Command>) {
        if context.desk.compared().is_some() {
            self.wash = wash;
        } else {
            tell(send, words::COMPARE_FIRST);
        }
    }

    pub(super) fn fill(&mut self, filling: Filling) {
        // Asked for again, a view that fills the sheet goes back in line.
        self.filling = if self.filling == filling {
            Filling::All
        } else {
            filling
        };
        self.look = Look::default();
    }

    fn take_up(&mut self, tool: Tool) {
        self.hand.drop_all();
        self.tool = if self.tool == tool { Tool::Hand } else { tool };
    }

    /// Stops drawing or dragging; whether there was anything to stop.
    pub(super) fn let_go(&mut self, send: &mut Vec<Command>) -> bool {
        let was_busy = self.tool != Tool::Hand || self.hand.is_busy();
        if self.hand.drop_all() {
            send.push(Command::Abandon);
        }
        self.tool = Tool::Hand;
        self.hand.forget_point();
        self.spot = None;
        was_busy
    }

    fn zoom(&mut self, factor: f64) {
        let Some(arrangement) = &self.arrangement else {
            return;
        };
        let shown = arrangement.frames[self.last_view.idx()];
        let frame = shown.or_else(|| arrangement.frames.iter().flatten().next().copied());
        if let Some(frame) = frame {
            let middle = frame.rect.center();
            let fit_scale = arrangement.fit_scale;
            self.look.zoom_about(&frame, middle, factor, fit_scale);
        } else {
            self.solid.zoom(factor);
        }
    }

    fn zoom_to_selection(&mut self, context: &SheetContext<'_>) {
        let layout = context.desk.layout();
        let items = context
            .desk
            .selection()
            .iter()
            .filter_map(|id| layout.item(*id));
        let boxes: Vec<[DVec3; 2]> = items.map(|item| box_of(&item)).collect();
        let Some(first) = boxes.first().copied() else {
            return;
        };
        let [lo, hi] = boxes
            .iter()
            .fold(first, |[lo, hi], each| [lo.min(each[0]), hi.max(each[1])]);
        if let Some(extent) = &self.extent {
            self.look.fly_to(extent, (lo + hi) / 2.0, (hi - lo) / 2.0);
        }
    }

    /// Keys that belong to the hand: arrows nudge, Enter ends a drawing,
    /// Escape stops.
    pub(super) fn keys(&mut self, ui: &Ui, context: &SheetContext<'_>, send: &mut Vec<Command>) {
        if ui.ctx().text_edit_focused() {
            return;
        }
        let is_drawing = self.tool != Tool::Hand || self.hand.is_busy();
        if is_drawing && ui.input(|input| input.key_pressed(Key::Escape)) {
            ui.input_mut(|input| input.consume_key(egui::Modifiers::NONE, Key::Escape));
            self.let_go(send);
        }
        if self.hand.is_by_points
            && ui.input(|input| input.key_pressed(Key::Enter))
            && let Some(view) = self.hand.stroke_view
            && let Some(frame) = self.arrangement.and_then(|all| all.frames[view.idx()])
        {
            self.finish_stroke(&frame, context, send);
        }
        self.nudge(ui, context, send);
    }

    fn nudge(&mut self, ui: &Ui, context: &SheetContext<'_>, send: &mut Vec<Command>) {
        const ARROWS: [(Key, DVec2); 4] = [
            (Key::ArrowLeft, DVec2::NEG_X),
            (Key::ArrowRight, DVec2::X),
            (Key::ArrowDown, DVec2::NEG_Y),
            (Key::ArrowUp, DVec2::Y),
        ];
        let ids = context.desk.selection();
        // A slider or a border that has the keyboard moves alone.
        let is_elsewhere = ui.memory(|memory| memory.focused()).is_some() && !self.has_stop;
        if is_elsewhere && !self.hand.is_nudging {
            return;
        }
        let (step, is_held, is_plain) = ui.input(|input| {
            let pressed = ARROWS.iter().filter(|(key, _)| input.key_pressed(*key));
            let step: DVec2 = pressed.map(|(_, step)| *step).sum();
            let is_held = ARROWS.iter().any(|(key, _)| input.key_down(*key));
            let fine = if input.modifiers.shift { 0.25 } else { 1.0 };
            let is_plain = !input.modifiers.ctrl && !input.modifiers.command;
            (step * fine * NUDGE_CM, is_held, is_plain)
        });
        if step != DVec2::ZERO && !ids.is_empty() && is_plain && !self.hand.is_busy() {
            if !self.hand.is_nudging {
                self.hand.is_nudging = true;
                send.push(Command::Begin(words::NUDGE.to_owned()));
            }
            let tank = &context.desk.scene().tank;
            let leads = grip::leads(context.desk.layout(), ids, tank);
            let delta_cm = grip::kept_inside(&leads, tank, self.last_view.lift(step, 0.0));
            send.push(Command::Change(Change::Shift(ids.to_vec(), delta_cm)));
        }
        if self.hand.is_nudging && !is_held {
            self.hand.is_nudging = false;
            send.push(Command::End);
        }
    }

    /// A click of the pen: one more point, or the end at the first one.
    pub(super) fn click_point(
        &mut self,
        frame: &Frame,
        pos: Pos2,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        const CLOSE_POINTS: f32 = 9.0;
        if self.hand.stroke_view != Some(frame.view) {
            self.hand.stroke.clear();
            self.hand.stroke_view = Some(frame.view);
        }
        self.hand.is_by_points = true;
        let first = self.hand.stroke.first().map(|p| frame.pos_flat(*p));
        if self.hand.stroke.len() > 2 && first.is_some_and(|at| at.distance(pos) < CLOSE_POINTS) {
            self.finish_stroke(frame, context, send);
        } else {
            self.hand.stroke.push(frame.flat_cm(pos));
        }
    }

    /// Turns what the pen drew into a rock, an end outline or an opening.
    pub(super) fn finish_stroke(
        &mut self,
        frame: &Frame,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        const TOLERANCE_POINTS: f64 = 3.2;
        // Rock cannot be drawn through the glass.
        let [lo, hi] = inside_cm(&context.desk.scene().tank, frame.view);
        let stroke: Vec<DVec2> = std::mem::take(&mut self.hand.stroke)
            .into_iter()
            .map(|p| p.clamp(lo, hi))
            .collect();
        let tolerance_cm = if self.hand.is_by_points {
            0.05
        } else {
            (TOLERANCE_POINTS / frame.scale).clamp(0.15, 1.5)
        };
        let tool = self.tool;
        self.hand.drop_all();
        let change = match tool {
            Tool::Hand | Tool::Reading => return,
            Tool::Rock => drawn_rock(&stroke, frame.view, tolerance_cm, context),
            Tool::Opening => cut_rock(&stroke, frame.view, tolerance_cm, context),
        };
        match change {
            Some(change) => {
                self.tool = Tool::Hand;
                if let Change::Add(item) = &change
                    && let Item::Rock(rock) = &**item
                {
                    self.guess = Guess::new(rock, frame.view);
                }
                send.push(Command::Edit(words::drawn(tool).to_owned(), change));
            }
            None => tell(send, words::not_drawn(tool, frame.view)),
        }
    }
}

fn drawn_rock(
    stroke: &[DVec2],
    view: View,
    tolerance_cm: f64,
    context: &SheetContext<'_>,
) -> Option<Change> {
    if view == View::End {
        let rock = selected_rock(context)?;
        let points = sketch::tidied(stroke, tolerance_cm, true)?;
        return Some(put(with_end(rock, &points)));
    }
    let points = sketch::tidied(stroke, tolerance_cm, true)?;
    let tank = &context.desk.scene().tank;
    let rock = sketch::rock_from(&points, view, tank, washes::cut_at_cm(context.desk))?;
    Some(Change::Add(Box::new(Item::Rock(rock))))
}

/// The rock with an end outline as drawn in the end view. It has to be turned
/// so that its own y axis is seen there.
fn with_end(rock: &Rock, points_cm: &[DVec2]) -> Rock {
    let mut rock = rock.clone();
    rock.end.get_or_insert_with(Outline::default);
    let lie = Lie::new(&rock, View::End).filter(|lie| lie.which == Which::End);
    let own = |p: &DVec2| match &lie {
        Some(lie) => tidy(lie.outline_cm(*p)),
        None => tidy(*p - View::End.flat(rock.at_cm)),
    };
    let outline = Outline {
        points_cm: points_cm.iter().map(own).collect(),
        curved: true,
        openings: vec![],
    };
    rock.end = Some(outline);
    rock
}

fn cut_rock(
    stroke: &[DVec2],
    view: View,
    tolerance_cm: f64,
    context: &SheetContext<'_>,
) -> Option<Change> {
    let rock = selected_rock(context)?;
    let lie = Lie::new(rock, view)?;
    let own: Vec<DVec2> = stroke.iter().map(|p| lie.outline_cm(*p)).collect();
    let points = sketch::tidied(&own, tolerance_cm, false)?;
    let mut rock = rock.clone();
    lie.which.of_mut(&mut rock)?.openings.push(points);
    Some(put(rock))
}

fn put(rock: Rock) -> Change {
    Change::Put(Box::new(Item::Rock(rock)))
}

fn selected_rock<'a>(context: &'a SheetContext<'_>) -> Option<&'a Rock> {
    let &[id] = context.desk.selection() else {
        return None;
    };
    let rocks = &context.desk.layout().rocks;
    rocks.iter().find(|rock| rock.id == id && !rock.locked)
}

fn turn(turn_deg: f64, context: &SheetContext<'_>, send: &mut Vec<Command>) {
    let ids: &[ItemId] = context.desk.selection();
    let items = grip::turned(context.desk.layout(), ids, turn_deg);
    if items.is_empty() {
        return;
    }
    send.push(Command::Begin(words::TURN.to_owned()));
    for item in items {
        send.push(Command::Change(Change::Put(Box::new(item))));
    }
    send.push(Command::End);
}

fn tell(send: &mut Vec<Command>, text: &str) {
    let notice = Notice::new(NoticeKind::Warning, text);
    send.push(Command::Tell(Box::new(notice)));
}

/// Box around an item, in cm.
fn box_of(item: &Item) -> [DVec3; 2] {
    match item {
        Item::Rock(rock) => {
            let bounds = crate::scene::solids::rock_solid(rock).bounds();
            [bounds.min_m * 100.0, bounds.max_m * 100.0]
        }
        Item::Coral(coral) => {
            let half = coral.size_cm / 2.0;
            [coral.at_cm - half, coral.at_cm + half]
        }
        Item::Pump(_) | Item::Lamp(_) => [item.at_cm() - 6.0, item.at_cm() + 6.0],
    }
}

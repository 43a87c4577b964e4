//! What the hand does in a view: hover, press, drag, let go.

use egui::{CursorIcon, Key, PointerButton, Pos2, Rect, Response, Ui};
use glam::{DVec2, DVec3};

use crate::desk::{Change, Command};
use crate::scene::{Coral, Item, ItemId, Rock};
use crate::ui::sheet::outline::{self, Spot};
use crate::ui::sheet::pick::Target;
use crate::ui::sheet::snap::Snapped;
use crate::ui::sheet::{
    Frame, Sheet, SheetContext, Tool, View, grip, place, shown_readings, words,
};

/// What the hand holds, and what it needs to move that.
#[derive(Clone, Debug)]
pub(super) enum Grip {
    /// Items, with the one that the pointer is on, all that move with it, and
    /// the shift so far.
    Items {
        ids: Vec<ItemId>,
        lead: grip::Lead,
        others: Vec<grip::Lead>,
        moved_cm: DVec3,
    },
    /// A coral that stays on whatever is below it.
    Coral(Box<Coral>),
    /// The tip of a pump's arrow.
    Aim(ItemId),
    /// The ring that turns an item, as it was.
    Turn(Box<Item>),
    /// A point of an outline, and the rock as it was.
    Point(Spot, Box<Rock>),
    /// A level line.
    Level(usize),
    /// A return nozzle.
    Return(usize),
    /// The overflow, as it was.
    Overflow(crate::scene::Overflow),
    /// The surface of the water.
    WaterLine,
    /// A reading.
    Reading(usize),
    /// A box to select in.
    Marquee(Pos2),
    /// The paper itself.
    Pan,
    /// A pen.
    Pen,
}

/// A grip in a view.
#[derive(Clone, Debug)]
pub(super) struct Held {
    pub(super) view: View,
    pub(super) grip: Grip,
    /// Where it was pressed, in cm of the view.
    pub(super) press_cm: DVec2,
    /// What it was pressed on.
    target: Option<Target>,
    press_pos: Pos2,
}

/// State of the hand.
#[derive(Debug, Default)]
pub(super) struct Hand {
    hovered: Option<Target>,
    hover_pos: Option<Pos2>,
    held: Option<Held>,
    chosen: Option<Spot>,
    pub(super) guides: Vec<(usize, f64)>,
    /// What the pen has drawn, in cm of its view.
    pub(super) stroke: Vec<DVec2>,
    pub(super) stroke_view: Option<View>,
    pub(super) is_by_points: bool,
    pub(super) is_nudging: bool,
}

/// What to draw of the hand.
pub(super) enum Preview<'a> {
    Nothing,
    Marquee(Rect),
    /// A stroke, and whether it goes from point to point.
    Stroke(&'a [DVec2], bool),
    Guides(&'a [(usize, f64)]),
}

impl Hand {
    pub(super) fn is_busy(&self) -> bool {
        self.held.is_some() || !self.stroke.is_empty()
    }

    /// Whether a rock's shape is changing: fine drawings can wait.
    pub(super) fn is_reshaping(&self) -> bool {
        matches!(
            self.held,
            Some(Held {
                grip: Grip::Point(..),
                ..
            })
        )
    }

    pub(super) fn hovered(&self) -> Option<Target> {
        self.hovered
    }

    pub(super) fn hover_pos(&self) -> Option<Pos2> {
        self.hover_pos
    }

    /// Whether a target is pointed at or held.
    pub(super) fn holds(&self, target: Target) -> bool {
        match &self.held {
            Some(held) => held.target == Some(target),
            None => self.hovered == Some(target),
        }
    }

    pub(super) fn chosen_point(&self) -> Option<Spot> {
        self.chosen
    }

    pub(super) fn forget_point(&mut self) {
        self.chosen = None;
    }

    pub(super) fn preview(&self, view: View) -> Preview<'_> {
        if self.stroke_view == Some(view) && !self.stroke.is_empty() {
            return Preview::Stroke(&self.stroke, self.is_by_points);
        }
        match &self.held {
            Some(held) if held.view == view => match held.grip {
                Grip::Marquee(to) => Preview::Marquee(Rect::from_two_pos(held.press_pos, to)),
                _ if !self.guides.is_empty() => Preview::Guides(&self.guides),
                _ => Preview::Nothing,
            },
            _ => Preview::Nothing,
        }
    }

    /// Lets go of everything; whether a gesture was open in the desk.
    pub(super) fn drop_all(&mut self) -> bool {
        self.guides.clear();
        self.stroke.clear();
        self.stroke_view = None;
        self.is_by_points = false;
        let held = self.held.take();
        held.is_some_and(|held| held.grip.is_edit())
    }
}

impl Grip {
    /// Whether it changes the scene.
    fn is_edit(&self) -> bool {
        !matches!(
            self,
            Self::Level(_) | Self::Marquee(_) | Self::Pan | Self::Pen
        )
    }
}

impl Sheet {
    /// Follows the pointer in one view.
    pub(super) fn gestures(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        response: &Response,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        self.scroll(ui, frame, response);
        if self
            .hand
            .held
            .as_ref()
            .is_none_or(|held| held.view == frame.view)
        {
            self.hover(frame, response, context);
        }
        if response.drag_started() {
            self.press(ui, frame, response, context, send);
        }
        if response.dragged() || response.drag_stopped() {
            if ui.input(|input| input.key_pressed(Key::Escape)) {
                // The toolkit ends a drag at Escape; here it is as if it had
                // never been.
                self.let_go(send);
            }
            self.drag(ui, frame, response, context, send);
            if response.drag_stopped() {
                self.release(ui, frame, context, send);
            }
        }
        if response.clicked() && !response.double_clicked() {
            self.click(ui, frame, response, context, send);
        }
        if response.double_clicked() {
            self.double_click(ui, frame, response, context, send);
        }
        if response.secondary_clicked() {
            match self.hand.hovered {
                Some(Target::Point(spot)) => drop(self.remove_point(spot, context, send)),
                _ => self.ask_place(frame, response, context, send),
            }
        }
        self.set_cursor(ui, response);
    }

    fn scroll(&mut self, ui: &Ui, frame: &Frame, response: &Response) {
        let Some(pos) = response.hover_pos() else {
            return;
        };
        let (scroll, pinch, shift) = ui.input(|input| {
            (
                input.smooth_scroll_delta(),
                input.zoom_delta(),
                input.modifiers.shift,
            )
        });
        let fit_scale = self
            .arrangement
            .map_or(frame.scale, |arranged| arranged.fit_scale);
        if pinch != 1.0 {
            self.look
                .zoom_about(frame, pos, f64::from(pinch), fit_scale);
        } else if shift && scroll != egui::Vec2::ZERO {
            self.look.pan(frame, scroll);
        } else if scroll.y != 0.0 {
            let factor = f64::from(scroll.y / 240.0).exp();
            self.look.zoom_about(frame, pos, factor, fit_scale);
        }
    }

    fn hover(&mut self, frame: &Frame, response: &Response, context: &SheetContext<'_>) {
        if self.hand.held.is_some() {
            return;
        }
        let Some(pos) = response.hover_pos() else {
            if self.last_view == frame.view {
                self.hand.hovered = None;
                self.hand.hover_pos = None;
            }
            return;
        };
        self.hand.hover_pos = Some(pos);
        self.hand.hovered = match self.tool {
            Tool::Hand => self.target_at(frame, pos, context),
            Tool::Rock | Tool::Opening | Tool::Reading => None,
        };
    }

    fn target_at(&self, frame: &Frame, pos: Pos2, context: &SheetContext<'_>) -> Option<Target> {
        let readings = shown_readings(context.desk);
        self.pick(context.desk, context.desk.shown_layout(), &readings)
            .at(frame, pos)
    }

    /// The pointer went down and moved: takes hold of what is there.
    fn press(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        response: &Response,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        let origin = ui.input(|input| input.pointer.press_origin());
        let Some(press_pos) = origin.or(response.interact_pointer_pos()) else {
            return;
        };
        let is_pan = !response.drag_started_by(PointerButton::Primary)
            || ui.input(|input| input.key_down(Key::Space));
        let press_cm = frame.flat_cm(press_pos);
        let (target, grip) = if is_pan || self.tool == Tool::Reading {
            (None, Grip::Pan)
        } else if self.tool != Tool::Hand {
            self.hand.stroke_view = Some(frame.view);
            self.hand.is_by_points = false;
            self.hand.stroke = vec![press_cm];
            (None, Grip::Pen)
        } else {
            let target = self.target_at(frame, press_pos, context);
            let adds = ui.input(|input| input.modifiers.shift);
            let grip = self.take_hold(target, adds, context, send);
            (target, grip.unwrap_or(Grip::Marquee(press_pos)))
        };
        if grip.is_edit() {
            send.push(Command::Begin(words::gesture(&grip, context.desk)));
        }
        self.hand.held = Some(Held {
            view: frame.view,
            grip,
            press_cm,
            target,
            press_pos,
        });
    }

    fn take_hold(
        &mut self,
        target: Option<Target>,
        adds: bool,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) -> Option<Grip> {
        let layout = context.desk.layout();
        match target? {
            Target::Item(id) => {
                let item = layout.item(id)?;
                let mut ids = context.desk.selection().to_vec();
                if !ids.contains(&id) {
                    if !adds {
                        ids.clear();
                    }
                    ids.push(id);
                    send.push(Command::Select(ids.clone()));
                }
                if item.locked() {
                    return None;
                }
                if let (Item::Coral(coral), [_]) = (&item, ids.as_slice()) {
                    return Some(Grip::Coral(Box::new(coral.clone())));
                }
                let tank = &context.desk.scene().tank;
                Some(Grip::Items {
                    lead: grip::Lead::new(&item, tank).among(layout, &ids),
                    others: grip::leads(layout, &ids, tank),
                    ids,
                    moved_cm: DVec3::ZERO,
                })
            }
            Target::Aim(id) => {
                send.push(Command::Select(vec![id]));
                Some(Grip::Aim(id))
            }
            Target::Turn(id) => Some(Grip::Turn(Box::new(layout.item(id)?))),
            Target::Point(spot) => {
                self.hand.chosen = Some(spot);
                let rock = layout.rocks.iter().find(|rock| rock.id == spot.rock)?;
                Some(Grip::Point(spot, Box::new(rock.clone())))
            }
            // An edge belongs to the rock: dragging it moves the rock.
            Target::Edge(spot) => {
                self.take_hold(Some(Target::Item(spot.rock)), adds, context, send)
            }
            Target::Level(axis) => Some(Grip::Level(axis)),
            Target::Return(idx) => Some(Grip::Return(idx)),
            Target::Overflow => context.desk.scene().tank.overflow.map(Grip::Overflow),
            Target::WaterLine => Some(Grip::WaterLine),
            Target::Reading(idx) => Some(Grip::Reading(idx)),
        }
    }

    fn drag(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        response: &Response,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        let Some(mut held) = self.hand.held.take_if(|held| held.view == frame.view) else {
            return;
        };
        let Some(pos) = released_at(ui).or(response.interact_pointer_pos()) else {
            self.hand.held = Some(held);
            return;
        };
        self.hand.hover_pos = Some(pos);
        let is_free = ui.input(|input| input.modifiers.alt);
        match &mut held.grip {
            Grip::Pan => self.look.pan(frame, response.drag_delta()),
            Grip::Marquee(to) => *to = pos,
            Grip::Pen => self.draw_on(frame, pos),
            _ => {
                let motion = grip::Motion {
                    view: frame.view,
                    scale: frame.scale,
                    at_cm: frame.flat_cm(pos),
                    is_free,
                };
                let Snapped { guides, .. } = self.move_grip(&mut held, &motion, context, send);
                self.hand.guides = guides;
            }
        }
        self.hand.held = Some(held);
    }

    fn draw_on(&mut self, frame: &Frame, pos: Pos2) {
        const APART_POINTS: f32 = 3.0;
        const POINTS_MAX: usize = 4_000;
        let last = self.hand.stroke.last().map(|p| frame.pos_flat(*p));
        let is_far = last.is_none_or(|last| last.distance(pos) >= APART_POINTS);
        if is_far && self.hand.stroke.len() < POINTS_MAX {
            self.hand.stroke.push(frame.flat_cm(pos));
        }
    }

    fn release(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        let Some(held) = self.hand.held.take_if(|held| held.view == frame.view) else {
            return;
        };
        self.hand.guides.clear();
        match held.grip {
            Grip::Marquee(to) => {
                let rect = Rect::from_two_pos(held.press_pos, to);
                let readings = shown_readings(context.desk);
                let pick = self.pick(context.desk, context.desk.shown_layout(), &readings);
                let mut ids = pick.within(frame, rect);
                if ui.input(|input| input.modifiers.shift) {
                    ids.extend(context.desk.selection());
                    ids.sort_unstable();
                    ids.dedup();
                }
                send.push(Command::Select(ids));
            }
            Grip::Pen => self.finish_stroke(frame, context, send),
            grip if grip.is_edit() => send.push(Command::End),
            _ => {}
        }
    }

    fn click(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        response: &Response,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        let Some(pos) = released_at(ui).or(response.interact_pointer_pos()) else {
            return;
        };
        self.spot = None;
        if self.tool == Tool::Reading {
            place::note_reading(frame, pos, context.desk, send);
            return;
        }
        if self.tool != Tool::Hand {
            self.click_point(frame, pos, context, send);
            return;
        }
        self.hand.chosen = None;
        let adds = ui.input(|input| input.modifiers.shift);
        match self.target_at(frame, pos, context) {
            Some(Target::Point(spot)) => self.hand.chosen = Some(spot),
            Some(
                Target::Item(id)
                | Target::Aim(id)
                | Target::Turn(id)
                | Target::Edge(Spot { rock: id, .. }),
            ) => {
                let mut ids = context.desk.selection().to_vec();
                if !adds {
                    ids = vec![id];
                } else if ids.contains(&id) {
                    ids.retain(|other| *other != id);
                } else {
                    ids.push(id);
                }
                send.push(Command::Select(ids));
            }
            Some(
                Target::Level(_)
                | Target::Return(_)
                | Target::Overflow
                | Target::WaterLine
                | Target::Reading(_),
            ) => {}
            None if adds => {}
            None => send.push(Command::Select(Vec::new())),
        }
    }

    fn double_click(
        &mut self,
        ui: &Ui,
        frame: &Frame,
        response: &Response,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        if self.tool == Tool::Reading {
            return;
        }
        if self.tool != Tool::Hand {
            self.finish_stroke(frame, context, send);
            return;
        }
        let Some(pos) = released_at(ui).or(response.interact_pointer_pos()) else {
            return;
        };
        let (spot, is_edge) = match self.target_at(frame, pos, context) {
            Some(Target::Edge(spot)) => (spot, true),
            Some(Target::Point(spot)) => (spot, false),
            _ => return,
        };
        let rocks = &context.desk.layout().rocks;
        let Some(rock) = rocks.iter().find(|rock| rock.id == spot.rock) else {
            return;
        };
        let at_cm = frame.flat_cm(pos);
        if !is_edge {
            if let Some(other) = outline::with_curve_switched(rock, spot) {
                let change = Change::Put(Box::new(Item::Rock(other)));
                send.push(Command::Edit(words::SWITCH_CURVE.to_owned(), change));
            }
            return;
        }
        if let Some(more) = outline::with_point_added(rock, frame.view, spot, at_cm) {
            let change = Change::Put(Box::new(Item::Rock(more)));
            send.push(Command::Edit(words::ADD_POINT.to_owned(), change));
            self.hand.chosen = Some(Spot {
                point: spot.point + 1,
                ..spot
            });
        }
    }

    /// Takes a point out of an outline; whether there was one.
    pub(super) fn remove_point(
        &mut self,
        spot: Spot,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) -> bool {
        self.hand.chosen = None;
        let rocks = &context.desk.layout().rocks;
        let rock = rocks
            .iter()
            .find(|rock| rock.id == spot.rock && !rock.locked);
        let Some(less) = rock.and_then(|rock| outline::with_point_removed(rock, spot)) else {
            return false;
        };
        let change = Change::Put(Box::new(Item::Rock(less)));
        send.push(Command::Edit(words::REMOVE_POINT.to_owned(), change));
        true
    }

    fn set_cursor(&self, ui: &Ui, response: &Response) {
        if !response.hovered() && !response.dragged() {
            return;
        }
        let target = match &self.hand.held {
            Some(Held {
                grip: Grip::Pan, ..
            }) => {
                ui.ctx().set_cursor_icon(CursorIcon::Grabbing);
                return;
            }
            Some(held) => held.target,
            None => self.hand.hovered,
        };
        let icon = match target {
            _ if self.tool != Tool::Hand => CursorIcon::Crosshair,
            Some(Target::Item(_)) => CursorIcon::Move,
            Some(Target::Aim(_) | Target::Turn(_)) => CursorIcon::Alias,
            Some(Target::Point(_) | Target::Return(_) | Target::Overflow | Target::Reading(_)) => {
                CursorIcon::Grab
            }
            Some(Target::Edge(_)) => CursorIcon::Copy,
            Some(Target::Level(axis)) if axis == self.last_view.axes().0 => {
                CursorIcon::ResizeHorizontal
            }
            Some(Target::Level(_) | Target::WaterLine) => CursorIcon::ResizeVertical,
            None => CursorIcon::Default,
        };
        ui.ctx().set_cursor_icon(icon);
    }
}

/// Where the primary button was let go in this frame: the pointer may be
/// farther already.
pub(crate) fn released_at(ui: &Ui) -> Option<Pos2> {
    ui.input(|input| {
        input.events.iter().find_map(|event| match event {
            egui::Event::PointerButton {
                pos,
                pressed: false,
                ..
            } => Some(*pos),
            _ => None,
        })
    })
}

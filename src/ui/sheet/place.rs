//! The surface that a view shows under the pointer: where a coral could sit.

use egui::{Pos2, Response};
use glam::{DVec2, DVec3};

use crate::desk::{Action, Command, Desk, Notice, NoticeKind, Place};
use crate::geometry::Ray;
use crate::light::SurfaceOwner;
use crate::ui::sheet::{Frame, Sheet, SheetContext, View, washes, words};
use crate::ui::{adding, text};
use crate::units::M_PER_CM;

/// Half size of the ring around the place, in cm.
const RING_CM: f64 = 1.5;

impl Sheet {
    /// Asks what could live on the surface that was clicked with the second
    /// button.
    pub(super) fn ask_place(
        &mut self,
        frame: &Frame,
        response: &Response,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        if let Some(pos) = response.interact_pointer_pos() {
            self.ask_at(frame, pos, context.desk, send);
        }
    }

    /// Asks what could live on the surface under the pointer.
    pub(super) fn ask_under_pointer(
        &mut self,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        let frame = self.frame(self.last_view);
        if let Some((frame, pos)) = frame.zip(self.hand.hover_pos()) {
            self.ask_at(&frame, pos, context.desk, send);
        } else {
            let notice = Notice::new(NoticeKind::Warning, words::POINT_AT_SURFACE);
            send.push(Command::Tell(Box::new(notice)));
        }
    }

    fn ask_at(&mut self, frame: &Frame, pos: Pos2, desk: &Desk, send: &mut Vec<Command>) {
        let place = self.surface_at(frame, pos, desk);
        if let Some(place) = place {
            self.spot = Some((place.at_m / M_PER_CM, DVec3::splat(RING_CM)));
        }
        let command = match place {
            Some(place) => Command::AskPlace(Some(place)),
            None => Command::Tell(Box::new(Notice::new(
                NoticeKind::Warning,
                words::POINT_AT_SURFACE,
            ))),
        };
        send.push(command);
    }

    /// Rock that the view shows at a point of the screen; in the top view else
    /// the sand.
    fn surface_at(&self, frame: &Frame, pos: Pos2, desk: &Desk) -> Option<Place> {
        const FAR_M: f64 = 10.0;
        let view = frame.view;
        let flat_cm = frame.flat_cm(pos);
        let tank = &desk.scene().tank;
        let size_cm = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
        let front_cm = match view {
            View::Top => size_cm.z,
            View::Side => 0.0,
            View::End => size_cm.x,
        };
        let start_cm = view.lift(flat_cm, front_cm);
        if start_cm.cmplt(DVec3::ZERO).any() || start_cm.cmpgt(size_cm).any() {
            return None;
        }
        let ray = Ray {
            origin_m: start_cm * M_PER_CM,
            direction: -view.towards_viewer(),
        };
        let rockwork = self.derived.as_ref()?.rockwork();
        if let Some(hit) = rockwork.first_hit(&ray, FAR_M) {
            let at_m = ray.origin_m + ray.direction * hit.distance_m;
            return Some(Place {
                at_m,
                normal: rockwork.rocks.get(hit.rock_idx)?.normal(at_m),
                on: SurfaceOwner::Rock(hit.rock_idx),
            });
        }
        let sand_m = tank.sand.depth_cm * M_PER_CM;
        (view == View::Top).then(|| Place {
            at_m: ray.origin_m.truncate().extend(sand_m),
            normal: DVec3::Z,
            on: SurfaceOwner::Sand,
        })
    }
}

/// What was dragged from the shelf and let go over a view.
#[derive(Clone, Copy, Debug)]
pub struct Dropped {
    /// What adds it.
    pub action: Action,
    /// The view.
    pub view: View,
    /// Where in it, in cm.
    pub flat_cm: DVec2,
    /// The surface that the view shows there.
    pub surface: Option<Place>,
}

impl Sheet {
    /// Notes what is let go over a view.
    pub(super) fn take_drop(&mut self, frame: &Frame, response: &Response, desk: &Desk) {
        let Some(action) = response.dnd_release_payload::<Action>() else {
            return;
        };
        let Some(pos) = response.ctx.pointer_interact_pos() else {
            return;
        };
        self.dropped = Some(Dropped {
            action: *action,
            view: frame.view,
            flat_cm: frame.flat_cm(pos),
            surface: self.surface_at(frame, pos, desk),
        });
    }

    /// What was let go over a view since this was asked last.
    pub fn take_dropped(&mut self) -> Option<Dropped> {
        self.dropped.take()
    }
}

/// Notes a reading where it was clicked, at the level of the view.
pub(super) fn note_reading(frame: &Frame, pos: Pos2, desk: &Desk, send: &mut Vec<Command>) {
    let view = frame.view;
    let depth_cm = washes::cut_at_cm(desk).dot(view.towards_viewer().abs());
    let at_cm = view.lift(frame.flat_cm(pos), depth_cm);
    let tank = &desk.scene().tank;
    let size_cm = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
    if at_cm.cmpge(DVec3::ZERO).all() && at_cm.cmple(size_cm).all() {
        let at_cm = (at_cm * 10.0).round() / 10.0;
        let change = adding::reading_at(desk, at_cm);
        send.push(Command::Edit(text::ADD_A_READING.to_owned(), change));
    }
}

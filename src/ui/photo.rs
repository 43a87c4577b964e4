//! The page of a photo under the drawing: choose it, drag four marks onto the
//! tank's corners, say which plane it is to be right for.

use std::fmt;
use std::sync::Arc;

use egui::{
    Key, Pos2, Rect, Response, Sense, Stroke, StrokeKind, Ui, Vec2, WidgetInfo, pos2, vec2,
};
use glam::DVec2;

use crate::desk::{Change, Command, Levels};
use crate::photo::{Laid, Picture};
use crate::scene::{PhotoView, Underlay};
use crate::ui::ask::{Ask, PathFor};
use crate::ui::paint::photo::Dots;
use crate::ui::parts::{self, Number, Panel};
use crate::ui::sheet::released_at;
use crate::ui::text;
use crate::units::Measure;

/// Share of the window's height that the picture may take.
const TALL: f32 = 0.68;
/// Width of the column of figures beside it, in points; below a narrower picture
/// than this they stand under it.
const COLUMN: f32 = 300.0;
/// Size of a mark on a corner, in points.
const MARK: f32 = 9.0;
/// Height of the magnified part, and what a dot of the picture takes in it, in
/// points.
const LENS: f32 = 140.0;
const LENS_DOT: f32 = 2.5;
/// How far beyond the picture a corner may lie that is cut off, as a share.
const BEYOND: f64 = 0.2;

/// What the page remembers while it is open.
#[derive(Default)]
pub struct PhotoPage {
    view: Option<PhotoView>,
    dots: Dots,
    /// The corner that the hand holds, where it took hold, and where the corner
    /// was.
    held: Option<(usize, Pos2, DVec2)>,
}

impl fmt::Debug for PhotoPage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "PhotoPage({:?})", self.view)
    }
}

impl Clone for PhotoPage {
    fn clone(&self) -> Self {
        Self {
            view: self.view,
            ..Self::default()
        }
    }
}

impl PhotoPage {
    /// The page of the photo under one view.
    pub fn of(view: PhotoView) -> Self {
        Self {
            view: Some(view),
            ..Self::default()
        }
    }

    /// Draws the page.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        let theme = panel.theme;
        let first = || panel.desk.scene().underlays.first().map(|photo| photo.view);
        let view = *self
            .view
            .get_or_insert_with(|| first().unwrap_or(PhotoView::Front));
        let options = PhotoView::ALL.map(|view| (view, text::photo_view(view)));
        let new = parts::row(ui, theme, text::PHOTO_UNDER, |ui| {
            parts::choice(ui, theme, &options, |option| option == view)
        });
        if new.is_some() {
            self.view = new;
        }
        if let Some(fault) = panel.desk.photo_fault() {
            ui.label(fault);
        }
        if panel.desk.reads_photos() {
            parts::aside(ui, theme, text::PHOTO_RUNNING);
        }
        let scene = Arc::clone(panel.desk.scene());
        let Some(photo) = scene.underlay(view) else {
            ui.label(text::PHOTO_HOW);
            ui.add_space(6.0);
            if parts::main_button(ui, theme, text::PHOTO_CHOOSE).clicked() {
                panel.ask.push(Ask::Whereto(PathFor::Photo(view)));
            }
            return;
        };
        if let Some(picture) = panel.desk.picture(&photo.file).cloned() {
            parts::aside(ui, theme, text::photo_corners(view));
            let room = ui.available_width() - COLUMN - 16.0;
            if room < COLUMN {
                let looked_at = self.corners(ui, panel, photo, &picture);
                self.lens(ui, panel, &picture, looked_at);
                figures(ui, panel, photo, &picture);
                choices(ui, panel, photo);
                return;
            }
            ui.horizontal_top(|ui| {
                let looked_at = ui.vertical(|ui| {
                    ui.set_max_width(room);
                    self.corners(ui, panel, photo, &picture)
                });
                ui.add_space(8.0);
                ui.vertical(|ui| {
                    ui.set_max_width(COLUMN);
                    self.lens(ui, panel, &picture, looked_at.inner);
                    figures(ui, panel, photo, &picture);
                    choices(ui, panel, photo);
                });
            });
        } else {
            choices(ui, panel, photo);
        }
    }

    /// The picture as it was taken, with a mark on each corner; the one that is
    /// looked at.
    fn corners(
        &mut self,
        ui: &mut Ui,
        panel: &mut Panel<'_>,
        photo: &Underlay,
        picture: &Arc<Picture>,
    ) -> Option<DVec2> {
        let [width, height] = picture.size().map(|n| n as f32);
        let room = vec2(
            ui.available_width(),
            ui.ctx().content_rect().height() * TALL,
        );
        let scale = (room.x / width).min(room.y / height);
        let (rect, _) = ui.allocate_exact_size(vec2(width, height) * scale, Sense::hover());
        let texture = self.dots.texture(ui.ctx(), picture);
        let whole = Rect::from_min_max(Pos2::ZERO, pos2(1.0, 1.0));
        ui.painter()
            .image(texture, rect, whole, egui::Color32::WHITE);
        let at = |corner: DVec2| {
            rect.min
                + vec2(
                    corner.x as f32 * rect.width(),
                    corner.y as f32 * rect.height(),
                )
        };
        let theme = panel.theme;
        let line = Stroke::new(1.4, theme.accent);
        for k in 0..4 {
            let ends = [at(photo.corners[k]), at(photo.corners[(k + 1) % 4])];
            ui.painter().line_segment(ends, line);
        }
        let mut looked_at = None;
        for (k, name) in text::PHOTO_CORNERS.iter().enumerate() {
            let pos = at(photo.corners[k]);
            let hit = Rect::from_center_size(pos, Vec2::splat(2.6 * MARK));
            let sense = if photo.locked {
                Sense::hover()
            } else {
                Sense::click_and_drag()
            };
            let response = ui.interact(hit, ui.scope_id().with(("photo corner", k)), sense);
            response.widget_info(|| WidgetInfo::labeled(egui::Role::Slider, !photo.locked, *name));
            self.move_corner(ui, panel, (photo, k), (&response, rect));
            let is_lit = response.hovered() || response.dragged() || response.has_focus();
            let stroke = Stroke::new(if is_lit { 2.4 } else { 1.6 }, theme.accent);
            ui.painter().circle_stroke(pos, MARK, stroke);
            ui.painter().circle_filled(pos, 1.5, theme.accent);
            if is_lit {
                looked_at = Some(photo.corners[k]);
            }
            response.on_hover_text(*name);
        }
        looked_at
    }

    /// The surroundings of a corner, magnified.
    fn lens(
        &mut self,
        ui: &mut Ui,
        panel: &Panel<'_>,
        picture: &Arc<Picture>,
        corner: Option<DVec2>,
    ) {
        let theme = panel.theme;
        let (glass, _) = ui.allocate_exact_size(vec2(LENS * 1.6, LENS), Sense::hover());
        let rim = Stroke::new(1.0, theme.rule);
        ui.painter()
            .rect(glass, 0.0, theme.sheet, rim, StrokeKind::Middle);
        let Some(corner) = corner else { return };
        let size = picture.size_px();
        let half = glass.size() / (2.0 * LENS_DOT) / vec2(size.x as f32, size.y as f32);
        let part = Rect::from_center_size(pos2(corner.x as f32, corner.y as f32), half * 2.0);
        let texture = self.dots.texture(ui.ctx(), picture);
        ui.painter()
            .image(texture, glass, part, egui::Color32::WHITE);
        let thin = Stroke::new(1.0, theme.accent);
        ui.painter().hline(glass.x_range(), glass.center().y, thin);
        ui.painter().vline(glass.center().x, glass.y_range(), thin);
    }

    /// A corner follows the pointer, or the arrow keys dot by dot.
    fn move_corner(
        &mut self,
        ui: &Ui,
        panel: &mut Panel<'_>,
        (photo, k): (&Underlay, usize),
        (response, rect): (&Response, Rect),
    ) {
        let with = |corner: DVec2| {
            let mut photo = photo.clone();
            let beyond = DVec2::splat(BEYOND);
            photo.corners[k] = corner.clamp(-beyond, DVec2::ONE + beyond);
            put(photo)
        };
        if response.drag_started() {
            response.request_focus();
            panel
                .send
                .push(Command::Begin(text::SET_PHOTO_CORNER.to_owned()));
            let origin = ui.input(|input| input.pointer.press_origin());
            let pressed = origin.or(response.interact_pointer_pos());
            self.held = pressed.map(|pos| (k, pos, photo.corners[k]));
        }
        if let Some((held, pressed, from)) = self.held
            && held == k
            && (response.dragged() || response.drag_stopped())
        {
            let pos = released_at(ui).or(response.interact_pointer_pos());
            let way = pos.map_or(Vec2::ZERO, |pos| pos - pressed) / rect.size();
            let gone = DVec2::new(f64::from(way.x), f64::from(way.y));
            panel.send.push(Command::Change(with(from + gone)));
            if response.drag_stopped() {
                panel.send.push(Command::End);
                self.held = None;
            }
        }
        if !response.has_focus() || photo.locked {
            return;
        }
        let arrows = egui::EventFilter {
            horizontal_arrows: true,
            vertical_arrows: true,
            ..egui::EventFilter::default()
        };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, arrows));
        let keys = [
            (Key::ArrowLeft, DVec2::NEG_X),
            (Key::ArrowRight, DVec2::X),
            (Key::ArrowUp, DVec2::NEG_Y),
            (Key::ArrowDown, DVec2::Y),
        ];
        let (step, is_far) = ui.input(|input| {
            let pressed = keys.iter().filter(|(key, _)| input.key_pressed(*key));
            let step: DVec2 = pressed.map(|(_, way)| *way).sum();
            (step, input.modifiers.shift)
        });
        if step != DVec2::ZERO {
            let dots = if is_far { 10.0 } else { 1.0 };
            let size = DVec2::new(f64::from(rect.width()), f64::from(rect.height()));
            let change = with(photo.corners[k] + step * dots / size);
            panel.edit(text::SET_PHOTO_CORNER, change);
        }
    }
}

fn put(photo: Underlay) -> Change {
    Change::Underlay(photo.view, Some(Box::new(photo)))
}

/// Plane, corners' heights, camera, strength.
fn figures(ui: &mut Ui, panel: &mut Panel<'_>, photo: &Underlay, picture: &Picture) {
    let tank = &panel.desk.scene().tank;
    let (far_cm, name) = match photo.view {
        PhotoView::Front => (tank.width_cm, text::PHOTO_PLANE_FRONT),
        PhotoView::Top => (tank.water_cm, text::PHOTO_PLANE_TOP),
    };
    let theme = panel.theme;
    let number = Number::new(name, Measure::Length, (0.0, far_cm));
    parts::number_row(ui, panel, &number, photo.plane_cm, |plane_cm| {
        put(Underlay {
            plane_cm,
            ..photo.clone()
        })
    });
    ui.horizontal(|ui| {
        let levels = panel.desk.levels();
        let cut_cm = match photo.view {
            PhotoView::Front => levels.depth_cm,
            PhotoView::Top => levels.height_cm,
        };
        if (cut_cm - photo.plane_cm).abs() < 0.05 {
            parts::aside(ui, theme, text::PHOTO_AT_CUT);
        } else if parts::link(ui, theme, text::PHOTO_BRING_CUT).clicked() {
            // New rock is drawn where the view is cut.
            let plane_cm = photo.plane_cm;
            panel.send.push(Command::SetLevels(match photo.view {
                PhotoView::Front => Levels {
                    depth_cm: plane_cm,
                    ..levels
                },
                PhotoView::Top => Levels {
                    height_cm: plane_cm,
                    ..levels
                },
            }));
        }
    });
    if photo.view == PhotoView::Front {
        heights(ui, panel, photo);
    }
    camera(ui, panel, photo, picture);
    let number = Number::new(text::PHOTO_OPACITY, Measure::Share, (0.0, 1.0));
    parts::number_row(ui, panel, &number, photo.opacity, |opacity| {
        put(Underlay {
            opacity,
            ..photo.clone()
        })
    });
}

/// Heights of the corners on the front pane.
fn heights(ui: &mut Ui, panel: &mut Panel<'_>, photo: &Underlay) {
    let tank_cm = panel.desk.scene().tank.height_cm;
    let (low, high) = photo.between_cm.unwrap_or((0.0, tank_cm));
    let with = |low: f64, high: f64| {
        put(Underlay {
            between_cm: Some((low, high)),
            ..photo.clone()
        })
    };
    let number = Number::new(
        text::PHOTO_LOW,
        Measure::Length,
        (0.0, (high - 1.0).max(0.0)),
    );
    parts::number_row(ui, panel, &number, low, |low| with(low, high));
    let number = Number::new(
        text::PHOTO_HIGH,
        Measure::Length,
        ((low + 1.0).min(tank_cm), tank_cm),
    );
    parts::number_row(ui, panel, &number, high, |high| with(low, high));
}

/// Where the camera stood: found, or to be told.
fn camera(ui: &mut Ui, panel: &mut Panel<'_>, photo: &Underlay, picture: &Picture) {
    let theme = panel.theme;
    let laid = Laid::new(photo, &panel.desk.scene().tank, picture.size_px());
    let camera = laid.map(|laid| laid.camera());
    if let Some(camera) = camera.filter(|camera| camera.is_known) {
        let words = text::photo_camera(&panel.text(Measure::Length, camera.distance));
        parts::fact_row(ui, panel, text::PHOTO_CAMERA, &words);
    } else {
        let number = Number::new(text::PHOTO_CAMERA, Measure::Length, (5.0, 2000.0));
        parts::number_row(ui, panel, &number, photo.camera_cm, |camera_cm| {
            put(Underlay {
                camera_cm,
                ..photo.clone()
            })
        });
        parts::aside(ui, theme, text::PHOTO_STRAIGHT);
    }
}

/// What can be done with the photo as a whole.
fn choices(ui: &mut Ui, panel: &mut Panel<'_>, photo: &Underlay) {
    let theme = panel.theme;
    ui.horizontal_wrapped(|ui| {
        let mut other = photo.clone();
        let is_locked = ui.checkbox(&mut other.locked, text::PHOTO_LOCK).changed();
        let is_hidden = ui.checkbox(&mut other.hidden, text::PHOTO_HIDE).changed();
        if is_locked || is_hidden {
            panel.edit(text::SET_PHOTO, put(other));
        }
        if !photo.locked {
            if parts::link(ui, theme, text::PHOTO_OTHER).clicked() {
                panel.ask.push(Ask::Whereto(PathFor::Photo(photo.view)));
            }
            parts::aside(ui, theme, "·");
            if parts::link(ui, theme, text::PHOTO_REMOVE).clicked() {
                let change = Change::Underlay(photo.view, None);
                panel.edit(text::PHOTO_REMOVE, change);
            }
        }
    });
    ui.add_space(6.0);
    if parts::main_button(ui, theme, text::PHOTO_DONE).clicked() {
        panel.ask.push(Ask::Close);
    }
}

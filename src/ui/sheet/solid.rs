//! The turning view: the tank drawn in parallel projection with a depth
//! buffer, so that ink and shade are right from everywhere.

mod picture;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use egui::{
    Color32, PointerButton, Pos2, Rect, Response, Sense, Stroke, StrokeKind, TextureHandle,
    TextureOptions, Ui, WidgetInfo, pos2,
};
use glam::DVec3;

use crate::desk::{Command, Desk};
use crate::job::{Job, Notify, Update};
use crate::scene::{ItemId, Tank};
use crate::study::Study;
use crate::ui::paint::label;
use crate::ui::paint::model::Eye;
use crate::ui::paint::rocks::{LightWish, RockDrawings};
use crate::ui::sheet::{SheetContext, words};
use crate::ui::theme::Theme;
use picture::{Drawn, MeshCache, Task, shown_box};

/// After this long without a change the picture is drawn finely.
const REST: Duration = Duration::from_millis(180);
/// Pixels of a fine picture at most.
const PIXELS_FINE: f32 = 700_000.0;
/// Pixels of a coarse picture at most.
const PIXELS_COARSE: f32 = 110_000.0;
/// From where the tank is seen.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stand {
    turn_deg: f64,
    tilt_deg: f64,
    zoom: f64,
    /// In points.
    shift: egui::Vec2,
}

const CORNER: Stand = Stand {
    turn_deg: 30.0,
    tilt_deg: 24.0,
    zoom: 1.0,
    shift: egui::Vec2::ZERO,
};

/// Straight through the front glass.
const FRONT: Stand = Stand {
    turn_deg: 0.0,
    tilt_deg: 3.0,
    ..CORNER
};

/// What a picture shows; another one needs drawing.
#[derive(Clone, Debug)]
struct Key {
    /// Which document; its number.
    document: u64,
    study: Arc<Study>,
    stamp: u64,
    stand: Stand,
    size: egui::Vec2,
    is_night: bool,
    /// Which light lies on rock and sand; zero for none.
    lit_stamp: u64,
    selection: Vec<ItemId>,
    hidden: Vec<ItemId>,
}

impl Key {
    fn is_same(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.study, &other.study)
            && self.stamp == other.stamp
            && self.stand == other.stand
            && self.size == other.size
            && self.is_night == other.is_night
            && self.lit_stamp == other.lit_stamp
            && self.selection == other.selection
            && self.hidden == other.hidden
    }
}

struct Picture {
    key: Key,
    is_fine: bool,
    drawn_at: Instant,
    drawn: Drawn,
    texture: TextureHandle,
}

/// A picture that is being drawn.
struct Drawing {
    key: Key,
    is_fine: bool,
    job: Job<Drawn>,
}

/// State of the turning view.
pub(super) struct SolidView {
    stand: Stand,
    picture: Option<Picture>,
    drawing: Option<Drawing>,
    cache: Arc<Mutex<MeshCache>>,
}

impl Default for SolidView {
    fn default() -> Self {
        Self {
            stand: CORNER,
            picture: None,
            drawing: None,
            cache: Arc::default(),
        }
    }
}

impl SolidView {
    /// Stands where another view stands.
    pub(super) fn follow(&mut self, other: &Self) {
        self.stand = other.stand;
    }

    /// Looks closer by a factor.
    pub(super) fn zoom(&mut self, factor: f64) {
        self.stand.zoom = (self.stand.zoom * factor).clamp(0.4, 8.0);
    }

    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        rect: Rect,
        context: &SheetContext<'_>,
        drawn: (&RockDrawings, Option<LightWish<'_>>),
        send: &mut Vec<Command>,
    ) {
        let theme = context.theme;
        let response = ui.interact(rect, ui.scope_id().with("solid"), Sense::click_and_drag());
        response.widget_info(|| WidgetInfo::labeled(egui::Role::Canvas, true, words::SOLID_NAME));
        self.turn(ui, &response);
        self.select(ui, &response, context, send);
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, 0.0, theme.sheet);
        let tank = &context.desk.scene().tank;
        let box_cm = shown_box(context.desk.scene(), context.desk.layout());
        let on_screen = self.eye(rect, box_cm, 1.0, rect.min.to_vec2());
        self.prepare(ui, rect, context, drawn);
        let place = |at: DVec3| {
            let [x, y] = on_screen.place(at);
            pos2(x, y)
        };
        let edges = edges(tank, &on_screen);
        let draw_edges = |behind: bool| {
            let width = if behind { 0.8 } else { 1.5 };
            let strength = if behind { 0.5 } else { 1.0 };
            let stroke = Stroke::new(width, theme.ink.gamma_multiply(strength));
            for (ends, _) in edges.iter().filter(|(_, hidden)| *hidden == behind) {
                painter.line_segment(ends.map(place), stroke);
            }
        };
        draw_edges(true);
        // Of another document it would show rock that is not in this tank.
        let number = context.desk.document().number();
        let is_of_scene = |picture: &&Picture| picture.key.document == number;
        if let Some(picture) = self.picture.as_ref().filter(is_of_scene) {
            let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
            painter.image(picture.texture.id(), rect, whole, Color32::WHITE);
        }
        water(&painter, tank, theme, place);
        draw_edges(false);
        let border = Stroke::new(1.0, theme.ink.gamma_multiply(0.55));
        ui.painter()
            .rect_stroke(rect, 0.0, border, StrokeKind::Outside);
        if let Some(caption) = label::caption(ui.painter(), rect, &words::SOLID_CAPTION, theme) {
            caption.paint(ui.painter(), theme);
        }
    }

    fn turn(&mut self, ui: &Ui, response: &Response) {
        let delta = response.drag_delta();
        if response.dragged_by(PointerButton::Primary) {
            self.stand.turn_deg += f64::from(delta.x) * 0.5;
            self.stand.tilt_deg =
                (self.stand.tilt_deg + f64::from(delta.y) * 0.4).clamp(-8.0, 90.0);
        } else if response.dragged() {
            self.stand.shift += delta;
        }
        if response.hovered() {
            let (scroll, pinch) =
                ui.input(|input| (input.smooth_scroll_delta().y, input.zoom_delta()));
            let factor = f64::from(scroll / 240.0).exp() * f64::from(pinch);
            if factor != 1.0 {
                self.zoom(factor);
            }
        }
        if response.double_clicked() {
            self.stand = if self.stand == FRONT { CORNER } else { FRONT };
        }
    }

    fn eye(&self, rect: Rect, size: DVec3, pixels_per_point: f32, origin: egui::Vec2) -> Eye {
        let (sin, cos) = self.stand.turn_deg.to_radians().sin_cos();
        let (sin_tilt, cos_tilt) = self.stand.tilt_deg.to_radians().sin_cos();
        let right = DVec3::new(cos, sin, 0.0);
        let ahead = DVec3::new(-sin, cos, 0.0);
        let away = ahead * cos_tilt - DVec3::Z * sin_tilt;
        let down = -(ahead * sin_tilt + DVec3::Z * cos_tilt);
        // Fits the box's shadow on the picture plane from any side.
        let wide = size.x * cos.abs() + size.y * sin.abs();
        let tall = (size.x * sin.abs() + size.y * cos.abs()) * sin_tilt.abs() + size.z * cos_tilt;
        let room = rect.size() * 0.86;
        let scale = (f64::from(room.x) / wide).min(f64::from(room.y) / tall) * self.stand.zoom;
        let middle = rect.center() - rect.min + origin + self.stand.shift;
        Eye {
            axes: [right, down, away].map(|axis| axis.as_vec3()),
            about_cm: (size / 2.0).as_vec3(),
            scale: scale as f32 * pixels_per_point,
            middle: [middle.x * pixels_per_point, middle.y * pixels_per_point],
        }
    }

    /// Selects what a click is on; Shift adds.
    fn select(
        &self,
        ui: &Ui,
        response: &Response,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) {
        let (Some(picture), true) = (&self.picture, response.clicked()) else {
            return;
        };
        let Some(pos) = response.interact_pointer_pos() else {
            return;
        };
        let rect = response.rect;
        let share = (pos - rect.min) / rect.size();
        if !Arc::ptr_eq(&picture.key.study, context.desk.shown_study()) {
            return;
        }
        let found = picture.drawn.item_at(share, context.desk.shown_layout());
        let adds = ui.input(|input| input.modifiers.shift);
        match found {
            Some(id) if adds => {
                let mut ids = context.desk.selection().to_vec();
                if ids.contains(&id) {
                    ids.retain(|other| *other != id);
                } else {
                    ids.push(id);
                }
                send.push(Command::Select(ids));
            }
            Some(id) => send.push(Command::Select(vec![id])),
            None if adds => {}
            None => send.push(Command::Select(Vec::new())),
        }
    }

    /// Has the picture drawn anew where it is out of date: coarsely at once,
    /// finely when nothing has changed for a moment.
    fn prepare(
        &mut self,
        ui: &Ui,
        rect: Rect,
        context: &SheetContext<'_>,
        (rocks, light): (&RockDrawings, Option<LightWish<'_>>),
    ) {
        self.take_picture(ui.ctx());
        if self.drawing.is_some() {
            return;
        }
        let key = self.key(rect, context, (rocks, light));
        let is_fine = match &self.picture {
            Some(old) if old.key.is_same(&key) => {
                if old.is_fine {
                    return;
                }
                if old.drawn_at.elapsed() < REST {
                    ui.ctx().request_repaint_after(REST);
                    return;
                }
                true
            }
            _ => false,
        };
        let task = self.task(ui, rect, context, (rocks, light), is_fine);
        let ctx = ui.ctx().clone();
        let notify: Notify = Arc::new(move || ctx.request_repaint());
        // Without a thread the picture stays as it was until there is one.
        if let Ok(job) = picture::start(task, notify) {
            self.drawing = Some(Drawing { key, is_fine, job });
        }
    }

    fn key(
        &self,
        rect: Rect,
        context: &SheetContext<'_>,
        (rocks, light): (&RockDrawings, Option<LightWish<'_>>),
    ) -> Key {
        let desk: &Desk = context.desk;
        Key {
            document: desk.document().number(),
            study: Arc::clone(desk.shown_study()),
            stamp: rocks.drawn().stamp(),
            stand: self.stand,
            size: rect.size(),
            is_night: context.theme.is_night,
            lit_stamp: light.map_or(0, |light| light.lit.stamp),
            selection: desk.selection().to_vec(),
            hidden: desk.hidden().to_vec(),
        }
    }

    fn task(
        &self,
        ui: &Ui,
        rect: Rect,
        context: &SheetContext<'_>,
        (rocks, light): (&RockDrawings, Option<LightWish<'_>>),
        is_fine: bool,
    ) -> Task {
        let desk: &Desk = context.desk;
        let area = rect.width() * rect.height();
        let most = if is_fine { PIXELS_FINE } else { PIXELS_COARSE };
        let wanted = if is_fine {
            2.0_f32.max(ui.ctx().pixels_per_point())
        } else {
            1.0
        };
        let pixels_per_point = wanted.min((most / area.max(1.0)).sqrt());
        let box_cm = shown_box(desk.scene(), desk.layout());
        let volumes: BTreeMap<_, _> = desk
            .layout()
            .rocks
            .iter()
            .filter_map(|rock| {
                let drawing = rocks.rock(rock.id)?;
                Some((rock.id, (drawing.stamp, Arc::clone(&drawing.volume))))
            })
            .collect();
        Task {
            study: Arc::clone(desk.shown_study()),
            eye: self.eye(rect, box_cm, pixels_per_point, egui::Vec2::ZERO),
            size: rect.size() * pixels_per_point,
            is_fine,
            theme: context.theme.clone(),
            selection: desk.selection().to_vec(),
            hidden: desk.hidden().to_vec(),
            volumes,
            light: light.map(|light| (Arc::clone(light.lit), light.colors.clone())),
            cache: Arc::clone(&self.cache),
        }
    }

    /// Takes in the picture that was being drawn, if it is ready.
    fn take_picture(&mut self, ctx: &egui::Context) {
        let Some(drawing) = &mut self.drawing else {
            return;
        };
        let mut ready = None;
        for update in drawing.job.poll() {
            if let Update::Partial(drawn) = update {
                ready = Some(drawn);
            }
        }
        let is_over = drawing.job.is_over();
        if let Some(drawn) = ready {
            let image = drawn.image.clone();
            let texture = match self.picture.take() {
                Some(mut old) => {
                    old.texture.set(image, TextureOptions::LINEAR);
                    old.texture
                }
                None => ctx.load_texture("solid", image, TextureOptions::LINEAR),
            };
            self.picture = Some(Picture {
                key: drawing.key.clone(),
                is_fine: drawing.is_fine,
                drawn_at: Instant::now(),
                drawn,
                texture,
            });
            self.drawing = None;
            ctx.request_repaint_after(REST);
        } else if is_over {
            self.drawing = None;
        }
    }
}

/// The twelve edges of the glass box, each with whether it is behind.
fn edges(tank: &Tank, eye: &Eye) -> Vec<([DVec3; 2], bool)> {
    let size = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm);
    let corner = |bits: usize| {
        let pick = |axis: usize| {
            if bits >> axis & 1 == 1 {
                size[axis]
            } else {
                0.0
            }
        };
        DVec3::new(pick(0), pick(1), pick(2))
    };
    let far = (0..8)
        .max_by(|a, b| eye.depth(corner(*a)).total_cmp(&eye.depth(corner(*b))))
        .unwrap_or(0);
    (0..8)
        .flat_map(|bits| (0..3).map(move |axis| (bits, axis)))
        .filter(|(bits, axis)| bits >> axis & 1 == 0)
        .map(|(bits, axis)| {
            let other = bits | 1 << axis;
            ([corner(bits), corner(other)], bits == far || other == far)
        })
        .collect()
}

/// The surface of the water: a thin sheet of color with its rim.
fn water(painter: &egui::Painter, tank: &Tank, theme: &Theme, place: impl Fn(DVec3) -> Pos2) {
    let (l, w, z) = (tank.length_cm, tank.width_cm, tank.water_cm);
    let rim = [(0.0, 0.0), (l, 0.0), (l, w), (0.0, w)].map(|(x, y)| place(DVec3::new(x, y, z)));
    let fill = theme.water_line.gamma_multiply(0.08);
    let stroke = Stroke::new(1.0, theme.water_line.gamma_multiply(0.8));
    painter.add(egui::Shape::convex_polygon(rim.to_vec(), fill, stroke));
}

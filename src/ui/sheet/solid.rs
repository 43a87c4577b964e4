//! The turning view: the tank drawn in parallel projection with a depth
//! buffer, so that ink and shade are right from everywhere.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

use egui::{
    Align2, Color32, PointerButton, Pos2, Rect, Response, Sense, Stroke, StrokeKind, TextureHandle,
    TextureOptions, Ui, WidgetInfo, pos2, vec2,
};
use glam::DVec3;

use crate::scene::{ItemId, Scene, Tank};
use crate::ui::paint::label;
use crate::ui::paint::model::{self, Eye, Pieces, ROCK_TAG, RockMesh};
use crate::ui::paint::raster::Raster;
use crate::ui::paint::rocks::{LightWish, RockDrawings, rock_tint};
use crate::ui::paint::volume::Detail;
use crate::ui::sheet::{SheetContext, words};
use crate::ui::theme::Theme;

/// After this long without a change the picture is drawn finely.
const REST: Duration = Duration::from_millis(180);
/// While things move, it is drawn anew at most this often.
const PACE: Duration = Duration::from_millis(45);
/// Pixels of a fine picture at most.
const PIXELS_FINE: f32 = 700_000.0;
/// Pixels of a coarse picture at most.
const PIXELS_COARSE: f32 = 110_000.0;
/// A step in depth that is worth a line of ink, in cm.
const JUMP_CM: f32 = 3.5;
/// Between contour lines, in cm.
const BAND_CM: f32 = 3.0;

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
    scene: Arc<Scene>,
    layout_idx: usize,
    stamp: u64,
    stand: Stand,
    size: egui::Vec2,
    is_night: bool,
    /// Which light lies on rock and sand; zero for none.
    lit_stamp: u64,
}

impl Key {
    fn is_same(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.scene, &other.scene)
            && self.layout_idx == other.layout_idx
            && self.stamp == other.stamp
            && self.stand == other.stand
            && self.size == other.size
            && self.is_night == other.is_night
            && self.lit_stamp == other.lit_stamp
    }
}

struct Picture {
    key: Key,
    is_fine: bool,
    drawn_at: Instant,
    texture: TextureHandle,
}

/// State of the turning view.
pub(super) struct SolidView {
    stand: Stand,
    picture: Option<Picture>,
    meshes: BTreeMap<ItemId, Meshes>,
}

/// A rock's surface, fine and coarse, for one state of its shape.
struct Meshes {
    stamp: u64,
    fine: RockMesh,
    coarse: RockMesh,
    washed: Option<WashedMeshes>,
}

/// Colors of the corners of both, for one light.
struct WashedMeshes {
    lit_stamp: u64,
    fine: Vec<[f32; 3]>,
    coarse: Vec<[f32; 3]>,
}

impl Default for SolidView {
    fn default() -> Self {
        Self {
            stand: CORNER,
            picture: None,
            meshes: BTreeMap::new(),
        }
    }
}

impl SolidView {
    /// Looks closer by a factor.
    /// Stands where another view stands.
    pub(super) fn follow(&mut self, other: &Self) {
        self.stand = other.stand;
    }

    pub(super) fn zoom(&mut self, factor: f64) {
        self.stand.zoom = (self.stand.zoom * factor).clamp(0.4, 8.0);
    }

    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        rect: Rect,
        context: &SheetContext<'_>,
        drawn: (&RockDrawings, Option<LightWish<'_>>),
    ) {
        let theme = context.theme;
        let response = ui.interact(rect, ui.scope_id().with("solid"), Sense::click_and_drag());
        response.widget_info(|| WidgetInfo::labeled(egui::Role::Canvas, true, words::SOLID_NAME));
        self.turn(ui, &response);
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, 0.0, theme.sheet);
        let tank = &context.desk.scene().tank;
        let box_cm = shown_box(context);
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
        if let Some(picture) = &self.picture {
            let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(1.0, 1.0));
            painter.image(picture.texture.id(), rect, whole, Color32::WHITE);
        }
        water(&painter, tank, theme, place);
        draw_edges(false);
        let border = Stroke::new(1.0, theme.ink.gamma_multiply(0.55));
        ui.painter()
            .rect_stroke(rect, 0.0, border, StrokeKind::Outside);
        let at = pos2(rect.left(), rect.bottom() + 3.0);
        label::caption(
            ui.painter(),
            at,
            Align2::LEFT_TOP,
            words::SOLID_CAPTION,
            theme,
        );
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

    /// Draws the picture anew where it is out of date: coarsely at once, finely
    /// when nothing has changed for a moment.
    fn prepare(
        &mut self,
        ui: &Ui,
        rect: Rect,
        context: &SheetContext<'_>,
        (rocks, light): (&RockDrawings, Option<LightWish<'_>>),
    ) {
        let key = Key {
            scene: Arc::clone(context.desk.shown_scene()),
            layout_idx: context.desk.layout_idx(),
            stamp: rocks.stamp(),
            stand: self.stand,
            size: rect.size(),
            is_night: context.theme.is_night,
            lit_stamp: light.map_or(0, |light| light.lit.stamp),
        };
        let now = Instant::now();
        let is_fine = match &self.picture {
            // A scene that changes under a drag is followed at a slower pace;
            // turning by hand is followed at once.
            Some(old)
                if old.key.stand == key.stand
                    && old.key.size == key.size
                    && !old.key.is_same(&key)
                    && now.duration_since(old.drawn_at) < PACE =>
            {
                ui.ctx().request_repaint_after(PACE);
                return;
            }
            Some(old) if old.key.is_same(&key) => {
                if old.is_fine {
                    return;
                }
                if now.duration_since(old.drawn_at) < REST {
                    ui.ctx().request_repaint_after(REST);
                    return;
                }
                true
            }
            _ => false,
        };
        self.update_meshes(context, rocks);
        if let Some(light) = &light {
            self.wash_meshes(context, light, is_fine);
        }
        let area = rect.width() * rect.height();
        let most = if is_fine { PIXELS_FINE } else { PIXELS_COARSE };
        let wanted = if is_fine {
            2.0_f32.max(ui.ctx().pixels_per_point())
        } else {
            1.0
        };
        let pixels_per_point = wanted.min((most / area.max(1.0)).sqrt());
        let image = self.render(rect, (pixels_per_point, is_fine), context, light.as_ref());
        let texture = match self.picture.take() {
            Some(mut old) => {
                old.texture.set(image, TextureOptions::LINEAR);
                old.texture
            }
            None => ui
                .ctx()
                .load_texture("solid", image, TextureOptions::LINEAR),
        };
        self.picture = Some(Picture {
            key,
            is_fine,
            drawn_at: now,
            texture,
        });
        if !is_fine {
            ui.ctx().request_repaint_after(REST);
        }
    }

    fn update_meshes(&mut self, context: &SheetContext<'_>, rocks: &RockDrawings) {
        let layout = context.desk.layout();
        self.meshes
            .retain(|id, _| layout.rocks.iter().any(|rock| rock.id == *id));
        for rock in &layout.rocks {
            let Some(drawing) = rocks.rock(rock.id) else {
                continue;
            };
            let is_new = |meshes: &Meshes| meshes.stamp == drawing.stamp;
            if !self.meshes.get(&rock.id).is_some_and(is_new) {
                let fine = RockMesh::new(&drawing.volume, 1);
                let coarse = match drawing.volume.detail {
                    Detail::Coarse => fine.clone(),
                    Detail::Fine => RockMesh::new(&drawing.volume, 2),
                };
                let meshes = Meshes {
                    stamp: drawing.stamp,
                    fine,
                    coarse,
                    washed: None,
                };
                self.meshes.insert(rock.id, meshes);
            }
        }
    }

    /// Brings the colors of the meshes up to date with the light.
    fn wash_meshes(&mut self, context: &SheetContext<'_>, light: &LightWish<'_>, is_fine: bool) {
        let lit_stamp = light.lit.stamp;
        for rock in &context.desk.layout().rocks {
            let Some(meshes) = self.meshes.get_mut(&rock.id) else {
                continue;
            };
            let washed = meshes.washed.get_or_insert_with(|| WashedMeshes {
                lit_stamp,
                fine: Vec::new(),
                coarse: Vec::new(),
            });
            if washed.lit_stamp != lit_stamp {
                washed.lit_stamp = lit_stamp;
                washed.fine.clear();
                washed.coarse.clear();
            }
            let (colors, mesh) = if is_fine {
                (&mut washed.fine, &meshes.fine)
            } else {
                (&mut washed.coarse, &meshes.coarse)
            };
            if colors.is_empty() {
                *colors = mesh.washed(rock.id, light);
            }
        }
    }

    fn render(
        &self,
        rect: Rect,
        (pixels_per_point, is_fine): (f32, bool),
        context: &SheetContext<'_>,
        light: Option<&LightWish<'_>>,
    ) -> egui::ColorImage {
        let theme = context.theme;
        let n = (rect.size() * pixels_per_point).round().max(vec2(2.0, 2.0));
        let mut raster = Raster::new(n.x as usize, n.y as usize, BAND_CM);
        let tank = &context.desk.scene().tank;
        let eye = self.eye(rect, shown_box(context), pixels_per_point, egui::Vec2::ZERO);
        let layout = context.desk.shown_layout();
        let pieces = if is_fine {
            Pieces { around: 14, up: 6 }
        } else {
            Pieces { around: 8, up: 3 }
        };
        model::sand(&mut raster, &eye, tank, (theme.sand, light));
        let tint = rock_tint(theme);
        for (k, rock) in layout.rocks.iter().enumerate() {
            if let Some(meshes) = self.meshes.get(&rock.id) {
                let mesh = if is_fine {
                    &meshes.fine
                } else {
                    &meshes.coarse
                };
                let washed = meshes.washed.as_ref().filter(|_| light.is_some());
                let washed = washed.map(|washed| {
                    if is_fine {
                        washed.fine.as_slice()
                    } else {
                        washed.coarse.as_slice()
                    }
                });
                let thing = (rock, ROCK_TAG + k as u16);
                mesh.fill(&mut raster, &eye, thing, (tint, washed));
            }
        }
        for (k, coral) in layout.corals.iter().enumerate() {
            model::coral(&mut raster, &eye, (coral, k as u16), theme.coral, pieces);
        }
        for pump in &layout.pumps {
            model::pump(&mut raster, &eye, pump, theme.sheet);
        }
        for lamp in &layout.lamps {
            model::lamp(&mut raster, &eye, lamp, theme.sheet);
        }
        raster.picture(theme.ink, JUMP_CM, |tag| tag >= ROCK_TAG)
    }
}

/// Size of the box that the view fits: the tank with the lamps above it.
fn shown_box(context: &SheetContext<'_>) -> DVec3 {
    let tank = &context.desk.scene().tank;
    let lamps = context.desk.layout().lamps.iter();
    let top_cm = lamps
        .map(|lamp| lamp.at_cm.z + 2.0)
        .fold(tank.height_cm, f64::max)
        .min(tank.height_cm * 1.8);
    DVec3::new(tank.length_cm, tank.width_cm, top_cm)
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

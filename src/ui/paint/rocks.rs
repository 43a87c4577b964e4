//! The rocks of a layout as drawn, kept until a rock changes its shape or turn.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

use egui::epaint::{Mesh, Vertex, WHITE_UV};
use egui::{Color32, Painter, Pos2, Shape, Stroke, TextureHandle, TextureOptions, pos2};
use glam::{DVec3, Vec2};

use crate::scene::{ItemId, Layout, Rock};
use crate::ui::paint::lit::{self, Lit};
use crate::ui::paint::relief::{self, Area, Relief};
use crate::ui::paint::volume::{Detail, Sampling, ShapeKey, Volume, tank_from_rock};
use crate::ui::sheet::{Frame, View};
use crate::ui::theme::Theme;
use crate::ui::wash::ColorTable;

/// Time a frame may spend on bringing drawings up to date.
const FRAME_BUDGET: Duration = Duration::from_micros(2500);

/// The same while a rock has not been drawn at all.
const FIRST_BUDGET: Duration = Duration::from_millis(24);

/// One rock in one view.
struct Drawing {
    turn_deg: f64,
    tilt_deg: f64,
    detail: Detail,
    relief: Relief,
    texture: TextureHandle,
    washed: Option<Washed>,
}

/// The texture with the light on the rock in it, for one light field.
struct Washed {
    stamp: u64,
    texture: TextureHandle,
}

/// What the drawings are to show.
pub(crate) struct Wish<'a> {
    /// Where the levels cut.
    pub(crate) cut_at_cm: DVec3,
    /// While a hand reshapes a rock, nothing is refined.
    pub(crate) is_reshaping: bool,
    /// The light to lay on them, if that is wanted.
    pub(crate) light: Option<LightWish<'a>>,
}

/// The light on the rocks and its colors.
#[derive(Clone, Copy)]
pub(crate) struct LightWish<'a> {
    /// The light.
    pub(crate) lit: &'a Arc<Lit>,
    /// The classes of the wash.
    pub(crate) colors: &'a ColorTable,
    /// The color of rock.
    pub(crate) rock: Color32,
}

/// The part of a rock that a view's cut goes through.
struct Cut {
    turn_deg: f64,
    tilt_deg: f64,
    detail: Detail,
    depth_cm: f64,
    area: Area,
}

/// One rock.
pub(crate) struct RockDrawing {
    key: ShapeKey,
    /// Grows when the shape does change.
    pub(crate) stamp: u64,
    pub(crate) volume: Arc<Volume>,
    finer: Option<Sampling>,
    drawings: [Option<Drawing>; 3],
    cuts: [Option<Cut>; 3],
}

/// All rocks.
#[derive(Default)]
pub(crate) struct RockDrawings {
    rocks: BTreeMap<ItemId, RockDrawing>,
    n_stamps: u64,
}

impl RockDrawings {
    /// Brings the drawings up to date as far as a frame's time allows; whether
    /// something is left to do.
    pub(crate) fn prepare(
        &mut self,
        ctx: &egui::Context,
        layout: &Layout,
        wish: &Wish<'_>,
    ) -> bool {
        self.rocks
            .retain(|id, _| layout.rocks.iter().any(|rock| rock.id == *id));
        // What has never been seen cannot wait long for its first drawing.
        let is_bare = |rock: &Rock| self.rocks.get(&rock.id).is_none_or(RockDrawing::is_bare);
        let budget = if layout.rocks.iter().any(is_bare) {
            FIRST_BUDGET
        } else {
            FRAME_BUDGET
        };
        let start = Instant::now();
        let is_late = || start.elapsed() > budget;
        let rocks = &layout.rocks;
        // Shapes come first, then what lies on them, then their finer form.
        let is_done = self.draw_shapes(ctx, rocks, &is_late)
            && self.cut(rocks, wish.cut_at_cm, &is_late)
            && self.wash(ctx, rocks, wish.light.as_ref(), &is_late)
            && (wish.is_reshaping || self.refine(rocks, &is_late));
        !is_done
    }

    /// Brings shapes and their drawings up to date; whether all are.
    fn draw_shapes(
        &mut self,
        ctx: &egui::Context,
        rocks: &[Rock],
        is_late: &impl Fn() -> bool,
    ) -> bool {
        for rock in rocks {
            let is_new = |old: &RockDrawing| !old.key.is_of(rock);
            if self.rocks.get(&rock.id).is_none_or(is_new) {
                if is_late() {
                    return false;
                }
                self.renew(rock);
            }
            let Some(drawing) = self.rocks.get_mut(&rock.id) else {
                continue;
            };
            for view in View::ALL {
                if drawing.is_behind(rock, view) {
                    if is_late() {
                        return false;
                    }
                    drawing.draw(ctx, rock, view);
                }
            }
        }
        true
    }

    /// Cuts the rocks where the levels are; whether all are cut there.
    fn cut(&mut self, rocks: &[Rock], cut_at_cm: DVec3, is_late: &impl Fn() -> bool) -> bool {
        for rock in rocks {
            let Some(drawing) = self.rocks.get_mut(&rock.id) else {
                continue;
            };
            for view in View::ALL {
                if drawing.is_cut_elsewhere(rock, view, cut_at_cm) {
                    if is_late() {
                        return false;
                    }
                    drawing.cut(rock, view, cut_at_cm);
                }
            }
        }
        true
    }

    /// Lays the light on the rocks, if it is wanted; whether it lies on all.
    fn wash(
        &mut self,
        ctx: &egui::Context,
        rocks: &[Rock],
        light: Option<&LightWish<'_>>,
        is_late: &impl Fn() -> bool,
    ) -> bool {
        let Some(light) = light else {
            return true;
        };
        for rock in rocks {
            let Some(drawing) = self.rocks.get_mut(&rock.id) else {
                continue;
            };
            for view in View::ALL {
                if drawing.is_unwashed(view, light.lit) {
                    if is_late() {
                        return false;
                    }
                    drawing.wash(ctx, rock.id, view, light);
                }
            }
        }
        true
    }

    /// Samples the rocks finely, a layer at a time; whether all are fine.
    fn refine(&mut self, rocks: &[Rock], is_late: &impl Fn() -> bool) -> bool {
        let mut is_done = true;
        for rock in rocks {
            while let Some(drawing) = self.rocks.get_mut(&rock.id)
                && drawing.volume.detail == Detail::Coarse
            {
                if is_late() {
                    return false;
                }
                self.n_stamps += drawing.refine(rock, self.n_stamps + 1);
                // The finer shape is drawn in the next frame.
                is_done = false;
            }
        }
        is_done
    }

    /// The drawing of a rock.
    pub(crate) fn rock(&self, id: ItemId) -> Option<&RockDrawing> {
        self.rocks.get(&id)
    }

    /// Changes with any rock's shape (not its place or turn).
    pub(crate) fn stamp(&self) -> u64 {
        self.n_stamps
    }

    fn renew(&mut self, rock: &Rock) {
        self.n_stamps += 1;
        let volume = Arc::new(Volume::new(rock, Detail::Coarse));
        let old = self.rocks.remove(&rock.id);
        self.rocks.insert(
            rock.id,
            RockDrawing {
                key: ShapeKey::of(rock),
                stamp: self.n_stamps,
                volume,
                finer: None,
                drawings: old.map_or([None, None, None], |old| {
                    // Redrawn below; the textures are used again.
                    old.drawings.map(|drawing| {
                        drawing.map(|drawing| Drawing {
                            turn_deg: f64::NAN,
                            ..drawing
                        })
                    })
                }),
                cuts: [None, None, None],
            },
        );
    }
}

impl RockDrawing {
    /// One layer more of the fine volume; 1 when it was the last.
    fn refine(&mut self, rock: &Rock, stamp: u64) -> u64 {
        let finer = self
            .finer
            .get_or_insert_with(|| Sampling::start(rock, Detail::Fine));
        if !finer.advance() {
            return 0;
        }
        if let Some(finer) = self.finer.take() {
            self.volume = Arc::new(finer.into_volume());
            self.stamp = stamp;
        }
        1
    }

    /// Whether some view has no drawing of it.
    fn is_bare(&self) -> bool {
        self.drawings.iter().any(Option::is_none)
    }

    fn is_behind(&self, rock: &Rock, view: View) -> bool {
        self.drawings[view.idx()].as_ref().is_none_or(|drawing| {
            drawing.turn_deg != rock.turn_deg
                || drawing.tilt_deg != rock.tilt_deg
                || drawing.detail != self.volume.detail
        })
    }

    fn draw(&mut self, ctx: &egui::Context, rock: &Rock, view: View) {
        let relief = Relief::new(&self.volume, tank_from_rock(rock), view);
        let image = relief.image.clone();
        let slot = &mut self.drawings[view.idx()];
        let (texture, washed) = if let Some(mut old) = slot.take() {
            old.texture.set(image, TextureOptions::LINEAR);
            (old.texture, old.washed)
        } else {
            let texture = ctx.load_texture("rock", image, TextureOptions::LINEAR);
            (texture, None)
        };
        *slot = Some(Drawing {
            // Its texture is used again, once the light is laid on this shape.
            washed: washed.map(|washed| Washed { stamp: 0, ..washed }),
            turn_deg: rock.turn_deg,
            tilt_deg: rock.tilt_deg,
            detail: self.volume.detail,
            relief,
            texture,
        });
    }

    fn is_unwashed(&self, view: View, lit: &Lit) -> bool {
        self.drawings[view.idx()].as_ref().is_some_and(|drawing| {
            let is_new = |washed: &Washed| washed.stamp == lit.stamp;
            !drawing.washed.as_ref().is_some_and(is_new)
        })
    }

    /// Lays the light on it in one view.
    fn wash(&mut self, ctx: &egui::Context, id: ItemId, view: View, light: &LightWish<'_>) {
        let Some(drawing) = &mut self.drawings[view.idx()] else {
            return;
        };
        let lit = light.lit.rock(id);
        let [r, g, b, _] = light.rock.to_array();
        let base = [r, g, b].map(f32::from);
        let image = drawing.relief.washed(
            |skin| lit.as_ref()?.on(skin),
            |ppfd_umol| lit::tinted(light.colors, ppfd_umol, base),
        );
        let texture = match drawing.washed.take() {
            Some(mut old) => {
                old.texture.set(image, TextureOptions::LINEAR);
                old.texture
            }
            None => ctx.load_texture("lit rock", image, TextureOptions::LINEAR),
        };
        drawing.washed = Some(Washed {
            stamp: light.lit.stamp,
            texture,
        });
    }

    fn is_cut_elsewhere(&self, rock: &Rock, view: View, cut_at_cm: DVec3) -> bool {
        let depth_cm = view.depth(cut_at_cm - rock.at_cm);
        let fits = |cut: &Cut| {
            cut.turn_deg == rock.turn_deg
                && cut.tilt_deg == rock.tilt_deg
                && cut.detail == self.volume.detail
                && cut.depth_cm == depth_cm
        };
        !self.cuts[view.idx()].as_ref().is_some_and(fits)
    }

    fn cut(&mut self, rock: &Rock, view: View, cut_at_cm: DVec3) {
        let depth_cm = view.depth(cut_at_cm - rock.at_cm);
        let turn = tank_from_rock(rock);
        self.cuts[view.idx()] = Some(Cut {
            turn_deg: rock.turn_deg,
            tilt_deg: rock.tilt_deg,
            detail: self.volume.detail,
            depth_cm,
            area: relief::section(&self.volume, turn, view, depth_cm as f32),
        });
    }

    /// Whether the rock is drawn at, or within `near_cm` of, a point of the view.
    pub(crate) fn covers(&self, rock: &Rock, frame: &Frame, pos: Pos2, near_cm: f64) -> bool {
        let flat = frame.flat_cm(pos) - frame.view.flat(rock.at_cm);
        self.drawings[frame.view.idx()]
            .as_ref()
            .is_some_and(|drawing| drawing.relief.covers(flat.as_vec2(), near_cm as f32))
    }

    /// Draws it as seen: shaded, with contour lines; what the view's cut goes
    /// through stronger; with the light on it where `is_washed`.
    pub(crate) fn paint(
        &self,
        painter: &Painter,
        frame: &Frame,
        rock: &Rock,
        (theme, is_washed): (&Theme, bool),
    ) {
        let Some(drawing) = &self.drawings[frame.view.idx()] else {
            return;
        };
        let place = Placed::new(frame, rock);
        let washed = drawing.washed.as_ref().filter(|_| is_washed);
        let (texture, tint, veil) = match washed {
            Some(washed) => (washed.texture.id(), Color32::WHITE, 0.97),
            None => (drawing.texture.id(), rock_tint(theme), 0.80),
        };
        let [lo, hi] = drawing.relief.texture_cm;
        let uv = |p: Vec2| {
            let share = (p - lo) / (hi - lo);
            pos2(share.x, 1.0 - share.y)
        };
        let fill = |area: &Area, color: Color32| {
            let mut mesh = Mesh::with_texture(texture);
            mesh.vertices = area
                .corners
                .iter()
                .map(|p| Vertex {
                    pos: place.pos(*p),
                    uv: uv(*p),
                    color,
                })
                .collect();
            mesh.indices.clone_from(&area.triangles);
            painter.add(Shape::mesh(mesh));
        };
        fill(&drawing.relief.area, tint.gamma_multiply(veil));
        if let Some(cut) = &self.cuts[frame.view.idx()] {
            fill(&cut.area, tint);
            let dark = theme
                .ink
                .gamma_multiply(if washed.is_some() { 0.05 } else { 0.13 });
            painter.add(flat_fill(&cut.area, &place, dark));
        }
        let fine = Stroke::new(0.7, theme.ink.gamma_multiply(0.42));
        for line in &drawing.relief.contours {
            let points = line.points.iter().map(|p| place.pos(Vec2::from(*p)));
            let shape = if line.closed {
                Shape::closed_line(points.collect(), fine)
            } else {
                Shape::line(points.collect(), fine)
            };
            painter.add(shape);
        }
        ring_lines(
            painter,
            &drawing.relief.area,
            &place,
            Stroke::new(1.5, theme.ink),
        );
        if let Some(cut) = &self.cuts[frame.view.idx()] {
            ring_lines(painter, &cut.area, &place, Stroke::new(2.0, theme.ink));
        }
    }

    /// Draws its border once more, to show that it is selected or pointed at.
    pub(crate) fn paint_border(
        &self,
        painter: &Painter,
        frame: &Frame,
        rock: &Rock,
        stroke: Stroke,
    ) {
        if let Some(drawing) = &self.drawings[frame.view.idx()] {
            ring_lines(
                painter,
                &drawing.relief.area,
                &Placed::new(frame, rock),
                stroke,
            );
        }
    }
}

/// A rock's place on the screen.
struct Placed {
    origin: Pos2,
    scale: f32,
}

impl Placed {
    fn new(frame: &Frame, rock: &Rock) -> Self {
        Self {
            origin: frame.pos(rock.at_cm),
            scale: frame.scale as f32,
        }
    }

    fn pos(&self, p: Vec2) -> Pos2 {
        pos2(
            self.origin.x + p.x * self.scale,
            self.origin.y - p.y * self.scale,
        )
    }
}

fn ring_lines(painter: &Painter, area: &Area, place: &Placed, stroke: Stroke) {
    for ring in &area.rings {
        let points = ring.iter().map(|p| place.pos(*p)).collect();
        painter.add(Shape::closed_line(points, stroke));
    }
}

fn flat_fill(area: &Area, place: &Placed, color: Color32) -> Shape {
    let mesh = Mesh {
        vertices: area
            .corners
            .iter()
            .map(|p| Vertex {
                pos: place.pos(*p),
                uv: WHITE_UV,
                color,
            })
            .collect(),
        indices: area.triangles.clone(),
        ..Mesh::default()
    };
    Shape::mesh(mesh)
}

/// The textures are gray with their middle below white; this lifts them back
/// to the rock's color.
pub(crate) fn rock_tint(theme: &Theme) -> Color32 {
    let [r, g, b, _] = theme.rock.to_array();
    let lift = |channel: u8| (f32::from(channel) * 1.2).min(255.0) as u8;
    Color32::from_rgb(lift(r), lift(g), lift(b))
}

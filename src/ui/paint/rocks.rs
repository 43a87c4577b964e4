//! The shade on the rocks of a layout, as pictures of the screen within their
//! outlines, kept until an outline or the light on a rock changes.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

use egui::epaint::{Mesh, Vertex};
use egui::{Color32, ColorImage, Shape, TextureHandle, TextureOptions, pos2};
use glam::{DVec2, Vec2};

use crate::draw::{Area, DrawnRock, Relief, RockWish, Rocks, View};
use crate::scene::{ItemId, Rock};
use crate::study::Study;
use crate::ui::paint::list::Screen;
use crate::ui::paint::lit::{self, Lit};
use crate::ui::paint::relief;
use crate::ui::theme::Theme;
use crate::ui::wash::ColorTable;

/// Time a frame may spend on bringing drawings up to date.
const FRAME_BUDGET: Duration = Duration::from_micros(2500);

/// The same while a rock has not been drawn at all.
const FIRST_BUDGET: Duration = Duration::from_millis(24);

/// The shade of a rock in one view.
struct Shade {
    /// The look that it is the shade of.
    stamp: u64,
    extent_cm: [Vec2; 2],
    image: ColorImage,
    texture: TextureHandle,
    washed: Option<Washed>,
}

/// The shade with the light on the rock in it, for one light field.
struct Washed {
    stamp: u64,
    texture: TextureHandle,
}

/// What the drawings are to show.
pub(crate) struct Wish<'a> {
    /// Where the levels cut, and the scale.
    pub(crate) rocks: RockWish,
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

/// All rocks as drawn, with their shades.
#[derive(Default)]
pub(crate) struct RockDrawings {
    rocks: Rocks,
    shades: BTreeMap<ItemId, [Option<Shade>; 3]>,
}

impl RockDrawings {
    /// Brings the drawings up to date as far as a frame's time allows; whether
    /// something is left to do.
    pub(crate) fn prepare(&mut self, ctx: &egui::Context, study: &Study, wish: &Wish<'_>) -> bool {
        let rocks = &study.layout().rocks;
        self.shades
            .retain(|id, _| rocks.iter().any(|rock| rock.id == *id));
        // What has never been seen cannot wait long for its first drawing.
        let is_bare = |rock: &Rock| {
            let shades = self.shades.get(&rock.id);
            shades.is_none_or(|shades| shades.iter().any(Option::is_none))
        };
        let budget = if rocks.iter().any(is_bare) {
            FIRST_BUDGET
        } else {
            FRAME_BUDGET
        };
        let start = Instant::now();
        let is_late = || start.elapsed() > budget;
        // Shapes come first, then what lies on them, then their finer form.
        let is_done = self.rocks.draw_shapes(study, &is_late)
            && self.shade(ctx, rocks, &is_late)
            && self.rocks.cut(study, &wish.rocks, &is_late)
            && self.wash(ctx, rocks, wish.light.as_ref(), &is_late)
            && (wish.is_reshaping || self.rocks.refine(study, &is_late));
        !is_done
    }

    /// Shades what is drawn anew; whether all is shaded.
    fn shade(&mut self, ctx: &egui::Context, rocks: &[Rock], is_late: &impl Fn() -> bool) -> bool {
        for (rock, view) in in_views(rocks) {
            let seen = self.rocks.rock(rock.id).and_then(|it| it.seen(view));
            let Some((relief, stamp)) = seen else {
                continue;
            };
            let slot = &mut self.shades.entry(rock.id).or_default()[view.idx()];
            if slot.as_ref().is_some_and(|old| old.stamp == stamp) {
                continue;
            }
            if is_late() {
                return false;
            }
            *slot = Some(Shade::new(ctx, slot.take(), (relief, stamp)));
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
        for (rock, view) in in_views(rocks) {
            let seen = self.rocks.rock(rock.id).and_then(|it| it.seen(view));
            let shades = self.shades.get_mut(&rock.id);
            let shade = shades.and_then(|it| it[view.idx()].as_mut());
            let (Some((relief, _)), Some(shade)) = (seen, shade) else {
                continue;
            };
            if shade.is_washed(light.lit) {
                continue;
            }
            if is_late() {
                return false;
            }
            shade.wash(ctx, (rock.id, relief), light);
        }
        true
    }

    /// What the lists are made of.
    pub(crate) fn drawn(&self) -> &Rocks {
        &self.rocks
    }

    /// A rock as drawn.
    pub(crate) fn rock(&self, id: ItemId) -> Option<&DrawnRock> {
        self.rocks.rock(id)
    }

    /// Fills an area of a rock with its shade, with the light on it where
    /// `is_washed`; thinly where the cut does not go through it. Whether there
    /// is any.
    pub(crate) fn paint(
        &self,
        screen: &Screen<'_>,
        (id, is_cut): (ItemId, bool),
        (at_cm, area): (DVec2, &Area),
        is_washed: bool,
    ) -> bool {
        let shades = self.shades.get(&id);
        let shade = shades.and_then(|it| it[screen.frame.view.idx()].as_ref());
        let Some(shade) = shade else { return false };
        let washed = shade.washed.as_ref().filter(|_| is_washed);
        let (texture, tint, veil) = match washed {
            Some(washed) => (washed.texture.id(), Color32::WHITE, 0.97),
            None => (shade.texture.id(), rock_tint(screen.theme), 0.80),
        };
        let color = if is_cut {
            tint
        } else {
            tint.gamma_multiply(veil)
        };
        let [lo, hi] = shade.extent_cm;
        let place = screen.around(at_cm);
        let corner = |p: &Vec2| {
            let share = (*p - lo) / (hi - lo);
            Vertex {
                pos: place(p),
                uv: pos2(share.x, 1.0 - share.y),
                color,
            }
        };
        let mut mesh = Mesh::with_texture(texture);
        mesh.vertices = area.corners.iter().map(corner).collect();
        mesh.indices.clone_from(&area.triangles);
        screen.painter.add(Shape::mesh(mesh));
        true
    }
}

/// Every rock in every view.
fn in_views(rocks: &[Rock]) -> impl Iterator<Item = (&Rock, View)> {
    rocks
        .iter()
        .flat_map(|rock| View::ALL.map(|view| (rock, view)))
}

impl Shade {
    /// The shade of a look, in the texture of an old one.
    fn new(ctx: &egui::Context, old: Option<Self>, (relief, stamp): (&Relief, u64)) -> Self {
        let image = relief::shade(relief);
        let (texture, washed) = if let Some(mut old) = old {
            old.texture.set(image.clone(), TextureOptions::LINEAR);
            (old.texture, old.washed)
        } else {
            let texture = ctx.load_texture("rock", image.clone(), TextureOptions::LINEAR);
            (texture, None)
        };
        Self {
            stamp,
            extent_cm: relief::extent_cm(relief),
            image,
            texture,
            // Its texture is used again, once the light is laid on this shape.
            washed: washed.map(|washed| Washed { stamp: 0, ..washed }),
        }
    }

    fn is_washed(&self, lit: &Lit) -> bool {
        let is_new = |washed: &Washed| washed.stamp == lit.stamp;
        self.washed.as_ref().is_some_and(is_new)
    }

    /// Lays the light on it.
    fn wash(
        &mut self,
        ctx: &egui::Context,
        (id, relief): (ItemId, &Relief),
        light: &LightWish<'_>,
    ) {
        let lit = light.lit.rock(id);
        let [r, g, b, _] = light.rock.to_array();
        let base = [r, g, b].map(f32::from);
        let image = relief::washed(
            relief,
            &self.image,
            |skin| lit.as_ref()?.on(skin),
            |ppfd_umol| lit::tinted(light.colors, ppfd_umol, base),
        );
        let texture = match self.washed.take() {
            Some(mut old) => {
                old.texture.set(image, TextureOptions::LINEAR);
                old.texture
            }
            None => ctx.load_texture("lit rock", image, TextureOptions::LINEAR),
        };
        self.washed = Some(Washed {
            stamp: light.lit.stamp,
            texture,
        });
    }
}

/// The textures are gray with their middle below white; this lifts them back
/// to the rock's color.
pub(crate) fn rock_tint(theme: &Theme) -> Color32 {
    let [r, g, b, _] = theme.rock.to_array();
    let lift = |channel: u8| (f32::from(channel) * 1.2).min(255.0) as u8;
    Color32::from_rgb(lift(r), lift(g), lift(b))
}

//! The turning view's picture, drawn on a thread of its own so that no frame
//! waits for it.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use egui::{Color32, ColorImage, Vec2, vec2};
use glam::DVec3;

use crate::catalog::Form;
use crate::draw::{Detail, Volume};
use crate::job::{Job, Notify};
use crate::scene::solids::form_of;
use crate::scene::{ItemId, Layout, Scene};
use crate::study::Study;
use crate::ui::paint::lit::Lit;
use crate::ui::paint::mats::Mats;
use crate::ui::paint::model::{
    self, CORAL_TAG, Eye, LAMP_TAG, PUMP_TAG, Pieces, ROCK_TAG, RockMesh,
};
use crate::ui::paint::raster::Raster;
use crate::ui::paint::rocks::{LightWish, rock_tint};
use crate::ui::theme::Theme;
use crate::ui::wash::ColorTable;

/// A step in depth that is worth a line of ink, in cm.
const JUMP_CM: f32 = 3.5;
/// Between contour lines, in cm.
const BAND_CM: f32 = 3.0;

/// All that a picture shows.
pub(super) struct Task {
    pub(super) study: Arc<Study>,
    pub(super) eye: Eye,
    /// Pixels across and down.
    pub(super) size: Vec2,
    pub(super) is_fine: bool,
    pub(super) theme: Theme,
    pub(super) selection: Vec<ItemId>,
    pub(super) hidden: Vec<ItemId>,
    /// Shapes of the rocks, with the number of their state.
    pub(super) volumes: BTreeMap<ItemId, (u64, Arc<Volume>)>,
    pub(super) light: Option<(Arc<Lit>, ColorTable)>,
    pub(super) cache: Arc<Mutex<MeshCache>>,
}

/// A drawn picture and what is seen where.
pub(super) struct Drawn {
    pub(super) image: ColorImage,
    tags: Vec<u16>,
}

impl Drawn {
    /// The item that is seen at a share of the picture's width and height.
    pub(super) fn item_at(&self, share: Vec2, layout: &Layout) -> Option<ItemId> {
        let [width, height] = self.image.size;
        let place = share * vec2(width as f32, height as f32);
        let (column, row) = (place.x as usize, place.y as usize);
        if place.x < 0.0 || place.y < 0.0 || column >= width || row >= height {
            return None;
        }
        item_of(self.tags[row * width + column], layout)
    }
}

/// The item of a tag.
fn item_of(tag: u16, layout: &Layout) -> Option<ItemId> {
    let nth = |first: u16| usize::from(tag - first);
    match tag {
        tag if tag >= ROCK_TAG => layout.rocks.get(nth(ROCK_TAG)).map(|it| it.id),
        tag if tag >= LAMP_TAG => layout.lamps.get(nth(LAMP_TAG)).map(|it| it.id),
        tag if tag >= PUMP_TAG => layout.pumps.get(nth(PUMP_TAG)).map(|it| it.id),
        tag if tag >= CORAL_TAG => layout.corals.get(nth(CORAL_TAG)).map(|it| it.id),
        _ => None,
    }
}

/// Surfaces of the rocks, kept from picture to picture.
#[derive(Default)]
pub(super) struct MeshCache {
    meshes: BTreeMap<ItemId, Meshes>,
    mats: Mats,
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

/// Draws a picture on a thread of its own.
pub(super) fn start(task: Task, notify: Notify) -> std::io::Result<Job<Drawn>> {
    Job::start("solid view", notify, move |context| {
        context.publish(render(&task));
        Ok(())
    })
}

fn render(task: &Task) -> Drawn {
    let tint = rock_tint(&task.theme);
    let light = task.light.as_ref().map(|(lit, colors)| LightWish {
        lit,
        colors,
        rock: tint,
    });
    let n = task.size.round().max(vec2(2.0, 2.0));
    let mut raster = Raster::new(n.x as usize, n.y as usize, BAND_CM);
    if let Ok(mut cache) = task.cache.lock() {
        cache.mats.tend(&task.study);
        cache.update(&task.volumes, task.is_fine, light.as_ref());
        fill(task, &mut raster, (&cache, light.as_ref()));
    }
    Drawn {
        image: raster.picture(task.theme.ink, JUMP_CM, |tag| tag >= ROCK_TAG),
        tags: raster.tags(),
    }
}

fn fill(task: &Task, raster: &mut Raster, (cache, light): (&MeshCache, Option<&LightWish<'_>>)) {
    let (theme, eye, layout) = (&task.theme, &task.eye, task.study.layout());
    let shown = |id: ItemId| !task.hidden.contains(&id);
    let color = |id: ItemId, plain: Color32| {
        if task.selection.contains(&id) {
            blend(plain, theme.accent, 0.45)
        } else {
            plain
        }
    };
    let pieces = if task.is_fine {
        Pieces { around: 14, up: 6 }
    } else {
        Pieces { around: 8, up: 3 }
    };
    model::sand(raster, eye, &task.study.scene().tank, (theme.sand, light));
    let tint = rock_tint(theme);
    for (k, rock) in layout
        .rocks
        .iter()
        .enumerate()
        .filter(|(_, it)| shown(it.id))
    {
        if let Some((mesh, washed)) = cache.of(rock.id, task.is_fine) {
            let is_selected = task.selection.contains(&rock.id);
            let washed = washed.filter(|_| light.is_some() && !is_selected);
            let thing = (rock, ROCK_TAG + k as u16);
            mesh.fill(raster, eye, thing, (color(rock.id, tint), washed));
        }
    }
    for (k, coral) in layout
        .corals
        .iter()
        .enumerate()
        .filter(|(_, it)| shown(it.id))
    {
        let color = color(coral.id, theme.coral);
        if let Some(ways) = cache.mats.ways(coral.id) {
            model::mat(raster, eye, (ways, k as u16), color);
        } else {
            let form = form_of(coral, task.study.catalog()).unwrap_or(Form::Massive);
            model::coral(raster, eye, (coral, k as u16, form), color, pieces);
        }
    }
    for (k, pump) in layout
        .pumps
        .iter()
        .enumerate()
        .filter(|(_, it)| shown(it.id))
    {
        let color = color(pump.id, theme.sheet);
        model::pump(raster, eye, (pump, PUMP_TAG + k as u16), color);
    }
    for (k, lamp) in layout
        .lamps
        .iter()
        .enumerate()
        .filter(|(_, it)| shown(it.id))
    {
        let color = color(lamp.id, theme.sheet);
        model::lamp(raster, eye, (lamp, LAMP_TAG + k as u16), color);
    }
}

fn blend(a: Color32, b: Color32, share: f32) -> Color32 {
    let (a, b) = (a.to_array(), b.to_array());
    let channel = |k: usize| (f32::from(a[k]) + (f32::from(b[k]) - f32::from(a[k])) * share) as u8;
    Color32::from_rgb(channel(0), channel(1), channel(2))
}

impl MeshCache {
    /// Brings surfaces up to date with the shapes, and their colors with the light.
    fn update(
        &mut self,
        volumes: &BTreeMap<ItemId, (u64, Arc<Volume>)>,
        is_fine: bool,
        light: Option<&LightWish<'_>>,
    ) {
        self.meshes.retain(|id, _| volumes.contains_key(id));
        for (id, (stamp, volume)) in volumes {
            if self.meshes.get(id).is_none_or(|it| it.stamp != *stamp) {
                self.meshes.insert(*id, Meshes::new(*stamp, volume));
            }
            if let (Some(light), Some(meshes)) = (light, self.meshes.get_mut(id)) {
                meshes.wash(*id, light, is_fine);
            }
        }
    }

    /// A rock's surface and the colors of its corners, if there are any.
    fn of(&self, id: ItemId, is_fine: bool) -> Option<(&RockMesh, Option<&[[f32; 3]]>)> {
        let meshes = self.meshes.get(&id)?;
        let washed = meshes.washed.as_ref();
        Some(if is_fine {
            (&meshes.fine, washed.map(|it| it.fine.as_slice()))
        } else {
            (&meshes.coarse, washed.map(|it| it.coarse.as_slice()))
        })
    }
}

impl Meshes {
    fn new(stamp: u64, volume: &Volume) -> Self {
        let fine = RockMesh::new(volume, 1);
        let coarse = match volume.detail {
            Detail::Coarse => fine.clone(),
            Detail::Fine => RockMesh::new(volume, 2),
        };
        Self {
            stamp,
            fine,
            coarse,
            washed: None,
        }
    }

    fn wash(&mut self, id: ItemId, light: &LightWish<'_>, is_fine: bool) {
        let lit_stamp = light.lit.stamp;
        let washed = match self.washed.take() {
            Some(washed) if washed.lit_stamp == lit_stamp => washed,
            _ => WashedMeshes {
                lit_stamp,
                fine: Vec::new(),
                coarse: Vec::new(),
            },
        };
        let washed = self.washed.insert(washed);
        let (colors, mesh) = if is_fine {
            (&mut washed.fine, &self.fine)
        } else {
            (&mut washed.coarse, &self.coarse)
        };
        if colors.is_empty() {
            *colors = mesh.washed(id, light);
        }
    }
}

/// Size of the box that the view fits: the tank with the lamps above it.
pub(super) fn shown_box(scene: &Scene, layout: &Layout) -> DVec3 {
    let tank = &scene.tank;
    let lamps = layout.lamps.iter();
    let top_cm = lamps
        .map(|lamp| lamp.at_cm.z + 2.0)
        .fold(tank.height_cm, f64::max)
        .min(tank.height_cm * 1.8);
    DVec3::new(tank.length_cm, tank.width_cm, top_cm)
}

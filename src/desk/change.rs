//! Changes to a scene, as data.

use glam::DVec3;

use super::arrange::{self, Edge};
use crate::improve::calibrate::{Calibration, take_back};
use crate::scene::shapes::Shape;
use crate::scene::solids::rock_solid;
use crate::scene::{
    Animal, Item, ItemId, ItemKind, Layout, PhotoView, Reading, Scene, Tank, Underlay,
};
use crate::units::M_PER_CM;

/// Shift of a copy, so that it does not hide what it was copied from, in cm.
const COPY_SHIFT_CM: DVec3 = DVec3::new(4.0, 2.0, 0.0);

/// One change of the scene. Item changes act on the layout that is shown.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Replaces the item with the same id.
    Put(Box<Item>),
    /// Adds an item under a free id and selects it.
    Add(Box<Item>),
    /// Adds a rock of a starting shape, its base at this place in cm.
    AddShape(Shape, DVec3),
    /// Takes items out.
    Remove(Vec<ItemId>),
    /// Moves items, with what rides on them or is bonded, by this many cm.
    Shift(Vec<ItemId>, DVec3),
    /// Turns items counter-clockwise seen from above, in degrees.
    Turn(Vec<ItemId>, f64),
    /// Copies items beside themselves and selects the copies.
    Duplicate(Vec<ItemId>),
    /// Mirrors items left to right about their common middle.
    Mirror(Vec<ItemId>),
    /// Lowers rocks until they meet rock or the sand.
    LetDown(Vec<ItemId>),
    /// Brings sides of items into line.
    Align(Vec<ItemId>, Edge),
    /// Leaves equal gaps between items along x (0) or y (1).
    Distribute(Vec<ItemId>, usize),
    /// Makes rocks and corals larger or smaller by a factor.
    Scale(Vec<ItemId>, f64),
    /// Bonds rocks, or frees them if they are one bond.
    ToggleBond(Vec<ItemId>),
    /// Locks items, or frees them if all are locked.
    ToggleLock(Vec<ItemId>),
    /// Adds copies of these items and selects them.
    Paste(Vec<Item>),
    /// Renames the scene.
    Name(String),
    /// Replaces the tank.
    Tank(Box<Tank>),
    /// Replaces the readings.
    Readings(Vec<Reading>),
    /// Puts what readings gave beside what is stated.
    Calibrate(Box<Calibration>),
    /// Takes back all that readings gave.
    TakeBack,
    /// Puts this photo under a view, or takes the one there away.
    Underlay(PhotoView, Option<Box<Underlay>>),
    /// Replaces the animals.
    Animals(Vec<Animal>),
    /// Adds a copy of the shown layout after it.
    CopyLayout,
    /// Adds this layout after the shown one.
    AddLayout(Box<Layout>),
    /// Renames the shown layout.
    NameLayout(String),
    /// Removes the shown layout, unless it is the last.
    RemoveLayout,
    /// Moves the shown layout so many places to the right in the strip; to the
    /// left if negative.
    MoveLayout(isize),
}

impl Change {
    /// Makes the change in the layout at `layout_idx`; returns what to select
    /// instead, if that changes.
    pub fn apply(self, scene: &mut Scene, layout_idx: usize) -> Option<Vec<ItemId>> {
        match self {
            Self::Name(name) => scene.name = name,
            Self::Tank(tank) => scene.tank = *tank,
            Self::Readings(readings) => scene.readings = readings,
            Self::Animals(animals) => scene.animals = animals,
            Self::Underlay(view, photo) => put_underlay(scene, view, photo.map(|photo| *photo)),
            Self::Calibrate(found) => {
                let layout = scene.layouts.get(layout_idx)?.name.clone();
                found.apply(scene, &layout);
            }
            Self::TakeBack => take_back(scene),
            Self::CopyLayout => copy_layout(scene, layout_idx),
            Self::AddLayout(layout) => {
                let after = (layout_idx + 1).min(scene.layouts.len());
                scene.layouts.insert(after, *layout);
            }
            Self::RemoveLayout => {
                if scene.layouts.len() > 1 && layout_idx < scene.layouts.len() {
                    scene.layouts.remove(layout_idx);
                }
            }
            Self::MoveLayout(step) => {
                let to = layout_idx.saturating_add_signed(step);
                if layout_idx < scene.layouts.len() && to < scene.layouts.len() {
                    let layout = scene.layouts.remove(layout_idx);
                    scene.layouts.insert(to, layout);
                }
            }
            Self::LetDown(ids) => let_down(scene, layout_idx, &ids),
            change => return change.apply_to_layout(scene.layouts.get_mut(layout_idx)?),
        }
        None
    }

    fn apply_to_layout(self, layout: &mut Layout) -> Option<Vec<ItemId>> {
        match self {
            Self::Put(item) => layout.put(*item),
            Self::Add(mut item) => {
                let id = layout.free_id();
                item.set_id(id);
                layout.put(*item);
                name_apart(layout, &[id]);
                return Some(vec![id]);
            }
            Self::AddShape(shape, at_cm) => {
                let id = layout.free_id();
                layout.rocks.push(shape.rock(id, at_cm));
                name_apart(layout, &[id]);
                return Some(vec![id]);
            }
            Self::Remove(ids) => ids.iter().for_each(|id| layout.remove(*id)),
            Self::Shift(ids, delta_cm) => layout.shift(&ids, delta_cm),
            Self::Turn(ids, turn_deg) => each(layout, &ids, |item| item.turn(turn_deg)),
            Self::Duplicate(ids) => {
                let copies = layout.duplicate(&ids, COPY_SHIFT_CM);
                name_apart(layout, &copies);
                return Some(copies);
            }
            Self::Mirror(ids) => {
                let places: Vec<f64> = ids
                    .iter()
                    .filter_map(|id| layout.item(*id))
                    .map(|item| item.at_cm().x)
                    .collect();
                let across_cm = places.iter().sum::<f64>() / places.len().max(1) as f64;
                each(layout, &ids, |item| item.mirror(across_cm));
            }
            Self::Align(ids, edge) => arrange::align(layout, &ids, edge),
            Self::Distribute(ids, axis) => arrange::distribute(layout, &ids, axis),
            Self::Scale(ids, factor) => arrange::scale(layout, &ids, factor),
            Self::ToggleBond(ids) => arrange::toggle_bond(layout, &ids),
            Self::ToggleLock(ids) => {
                let all_locked = ids
                    .iter()
                    .filter_map(|id| layout.item(*id))
                    .all(|item| item.locked());
                for mut item in ids
                    .iter()
                    .filter_map(|id| layout.item(*id))
                    .collect::<Vec<_>>()
                {
                    item.set_locked(!all_locked);
                    layout.put(item);
                }
            }
            Self::Paste(items) => {
                let ids = items.into_iter().map(|mut item| {
                    let id = layout.free_id();
                    item.set_id(id);
                    item.set_at_cm(item.at_cm() + COPY_SHIFT_CM);
                    layout.put(item);
                    id
                });
                let ids: Vec<ItemId> = ids.collect();
                name_apart(layout, &ids);
                return Some(ids);
            }
            Self::NameLayout(name) => layout.name = name,
            _ => {}
        }
        None
    }
}

/// Gives new items names that no other of their kind has: "boulder 2" beside a
/// "boulder", "rock 1" for what is just called a rock. Items without a name stay
/// so, and go by kind and number.
fn name_apart(layout: &mut Layout, ids: &[ItemId]) {
    for id in ids {
        let Some(mut item) = layout.item(*id) else {
            continue;
        };
        let others = layout.ids().filter(|other| other != id);
        let others = others.filter_map(|other| layout.item(other));
        let taken: Vec<String> = others
            .filter(|other| other.kind() == item.kind())
            .map(|other| other.name().to_owned())
            .collect();
        if let Some(name) = free_name(item.name(), item.kind(), &taken) {
            item.set_name(name);
            layout.put(item);
        }
    }
}

/// Another name in place of one that is taken, or that is only the kind.
fn free_name(name: &str, kind: ItemKind, taken: &[String]) -> Option<String> {
    let word = match kind {
        ItemKind::Rock => "rock",
        ItemKind::Pump => "pump",
        ItemKind::Lamp => "lamp",
        ItemKind::Coral => "coral",
    };
    let is_taken = |name: &str| taken.iter().any(|other| other == name);
    if name.is_empty() || (name != word && !is_taken(name)) {
        return None;
    }
    let base = name
        .trim_end_matches(|c: char| c.is_ascii_digit())
        .trim_end();
    let base = if base.is_empty() { name } else { base };
    let first = if base == word { 1 } else { 2 };
    let mut names = (first..).map(|n: u32| format!("{base} {n}"));
    names.find(|name| !is_taken(name))
}

/// Changes each item that is not locked.
fn each(layout: &mut Layout, ids: &[ItemId], change: impl Fn(&mut Item)) {
    for mut item in ids
        .iter()
        .filter_map(|id| layout.item(*id))
        .collect::<Vec<_>>()
    {
        if !item.locked() {
            change(&mut item);
            layout.put(item);
        }
    }
}

fn put_underlay(scene: &mut Scene, view: PhotoView, photo: Option<Underlay>) {
    let there = scene.underlays.iter().position(|it| it.view == view);
    match (there, photo) {
        (Some(idx), Some(photo)) => scene.underlays[idx] = photo,
        (Some(idx), None) => drop(scene.underlays.remove(idx)),
        (None, Some(photo)) => scene.underlays.push(photo),
        (None, None) => {}
    }
}

fn copy_layout(scene: &mut Scene, layout_idx: usize) {
    let Some(mut copy) = scene.layouts.get(layout_idx).cloned() else {
        return;
    };
    let taken = |name: &str| scene.layouts.iter().any(|layout| layout.name == name);
    let base = copy.name.clone();
    let names = (2..).map(|n| format!("{base} {n}"));
    copy.name = names.into_iter().find(|name| !taken(name)).unwrap_or(base);
    scene.layouts.insert(layout_idx + 1, copy);
}

/// Lowers each rock, with its corals, in small steps until it meets another
/// rock or the sand.
fn let_down(scene: &mut Scene, layout_idx: usize, ids: &[ItemId]) {
    const STEP_CM: f64 = 0.25;
    const STEPS_MAX: usize = 1000;
    let floor_cm = scene.tank.sand.depth_cm;
    let Some(layout) = scene.layouts.get_mut(layout_idx) else {
        return;
    };
    let mut ids = ids.to_vec();
    let height = |layout: &Layout, id: ItemId| layout.item(id).map_or(0.0, |item| item.at_cm().z);
    ids.sort_by(|a, b| height(layout, *a).total_cmp(&height(layout, *b)));
    for id in ids {
        for _ in 0..STEPS_MAX {
            let Some(rock) = layout
                .rocks
                .iter()
                .find(|rock| rock.id == id && !rock.locked)
            else {
                break;
            };
            let room_cm = rock.at_cm.z - floor_cm;
            let step_cm = STEP_CM.min(room_cm);
            if step_cm <= 0.0 || rests_on_rock(layout, id, step_cm) {
                break;
            }
            layout.shift(&[id], DVec3::new(0.0, 0.0, -step_cm));
        }
    }
}

/// Whether the rock, lowered by `step_cm`, would cut into another more than it does now.
fn rests_on_rock(layout: &Layout, id: ItemId, step_cm: f64) -> bool {
    const SAMPLE_M: f64 = 0.01;
    let Some(rock) = layout.rocks.iter().find(|rock| rock.id == id) else {
        return true;
    };
    let lowered = rock_solid(&{
        let mut rock = rock.clone();
        rock.at_cm.z -= step_cm;
        rock
    });
    let bounds = lowered.bounds();
    let others = layout.rocks.iter().filter(|other| other.id != id);
    others.map(rock_solid).any(|other| {
        let (lo, hi) = (
            bounds.min_m.max(other.bounds().min_m),
            bounds.max_m.min(other.bounds().max_m),
        );
        let n = ((hi - lo) / SAMPLE_M).ceil();
        if n.min_element() <= 0.0 {
            return false;
        }
        (0..n.x as usize).any(|i| {
            (0..n.y as usize).any(|j| {
                (0..n.z as usize).any(|k| {
                    let p = lo + (DVec3::new(i as f64, j as f64, k as f64) + 0.5) * (hi - lo) / n;
                    let above = p + DVec3::Z * step_cm * M_PER_CM;
                    lowered.signed_distance(p) < 0.0
                        && other.signed_distance(p) < 0.0
                        && other.signed_distance(above) >= 0.0
                })
            })
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn new_things_get_names_of_their_own() {
        let taken = ["boulder", "boulder 2", "rock 1", "left pump"].map(str::to_owned);
        let name = |name: &str, kind| free_name(name, kind, &taken);
        let is = |text: &str| Some(text.to_owned());
        assert_eq!(name("boulder", ItemKind::Rock), is("boulder 3"));
        assert_eq!(
            name("boulder 2", ItemKind::Rock),
            is("boulder 3"),
            "of a copy"
        );
        assert_eq!(name("rock", ItemKind::Rock), is("rock 2"), "only its kind");
        assert_eq!(name("pump", ItemKind::Pump), is("pump 1"));
        assert_eq!(name("left pump", ItemKind::Pump), is("left pump 2"));
        assert_eq!(name("slab", ItemKind::Rock), None, "free as it is");
        assert_eq!(name("", ItemKind::Coral), None, "goes by kind and number");
    }
}

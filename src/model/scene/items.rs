//! Items of a layout as one kind of thing: find, put, remove, move, turn.

use glam::{DVec2, DVec3};

use super::{Coral, ItemId, Lamp, Layout, Outline, Pump, Rock, Scan, Support};

/// Anything that can be selected and moved.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A rock.
    Rock(Rock),
    /// A circulation pump.
    Pump(Pump),
    /// A lamp.
    Lamp(Lamp),
    /// A coral.
    Coral(Coral),
}

/// Which kind an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ItemKind {
    /// A rock.
    Rock,
    /// A circulation pump.
    Pump,
    /// A lamp.
    Lamp,
    /// A coral.
    Coral,
}

impl Item {
    /// Its id.
    pub fn id(&self) -> ItemId {
        match self {
            Self::Rock(item) => item.id,
            Self::Pump(item) => item.id,
            Self::Lamp(item) => item.id,
            Self::Coral(item) => item.id,
        }
    }

    /// Gives it another id.
    pub fn set_id(&mut self, id: ItemId) {
        match self {
            Self::Rock(item) => item.id = id,
            Self::Pump(item) => item.id = id,
            Self::Lamp(item) => item.id = id,
            Self::Coral(item) => item.id = id,
        }
    }

    /// Which kind it is.
    pub fn kind(&self) -> ItemKind {
        match self {
            Self::Rock(_) => ItemKind::Rock,
            Self::Pump(_) => ItemKind::Pump,
            Self::Lamp(_) => ItemKind::Lamp,
            Self::Coral(_) => ItemKind::Coral,
        }
    }

    /// The keeper's name for it; may be empty.
    pub fn name(&self) -> &str {
        match self {
            Self::Rock(item) => &item.name,
            Self::Pump(item) => &item.name,
            Self::Lamp(item) => &item.name,
            Self::Coral(item) => &item.name,
        }
    }

    /// Gives it another name.
    pub fn set_name(&mut self, name: String) {
        match self {
            Self::Rock(item) => item.name = name,
            Self::Pump(item) => item.name = name,
            Self::Lamp(item) => item.name = name,
            Self::Coral(item) => item.name = name,
        }
    }

    /// Where it stands, in cm.
    pub fn at_cm(&self) -> DVec3 {
        match self {
            Self::Rock(item) => item.at_cm,
            Self::Pump(item) => item.at_cm,
            Self::Lamp(item) => item.at_cm,
            Self::Coral(item) => item.at_cm,
        }
    }

    /// Puts it elsewhere, in cm.
    pub fn set_at_cm(&mut self, at_cm: DVec3) {
        match self {
            Self::Rock(item) => item.at_cm = at_cm,
            Self::Pump(item) => item.at_cm = at_cm,
            Self::Lamp(item) => item.at_cm = at_cm,
            Self::Coral(item) => item.at_cm = at_cm,
        }
    }

    /// Whether the pointer leaves it alone.
    pub fn locked(&self) -> bool {
        match self {
            Self::Rock(item) => item.locked,
            Self::Pump(item) => item.locked,
            Self::Lamp(item) => item.locked,
            Self::Coral(item) => item.locked,
        }
    }

    /// Locks or frees it.
    pub fn set_locked(&mut self, locked: bool) {
        match self {
            Self::Rock(item) => item.locked = locked,
            Self::Pump(item) => item.locked = locked,
            Self::Lamp(item) => item.locked = locked,
            Self::Coral(item) => item.locked = locked,
        }
    }

    /// Turns it about the vertical through its own place, counter-clockwise
    /// from above, by `turn_deg` degrees.
    pub fn turn(&mut self, turn_deg: f64) {
        let wrapped = |deg: f64| (deg + turn_deg + 180.0).rem_euclid(360.0) - 180.0;
        match self {
            Self::Rock(item) => item.turn_deg = wrapped(item.turn_deg),
            Self::Pump(item) => item.turn_deg = wrapped(item.turn_deg),
            Self::Lamp(item) => item.turn_deg = wrapped(item.turn_deg),
            Self::Coral(item) => {
                let flat = DVec2::from_angle(turn_deg.to_radians()).rotate(item.facing.truncate());
                item.facing = flat.extend(item.facing.z);
            }
        }
    }

    /// Mirrors it left to right in the plane `x = across_cm`.
    pub fn mirror(&mut self, across_cm: f64) {
        let mut at_cm = self.at_cm();
        at_cm.x = 2.0 * across_cm - at_cm.x;
        self.set_at_cm(at_cm);
        match self {
            Self::Rock(item) => {
                item.turn_deg = -item.turn_deg;
                item.tilt_deg = -item.tilt_deg;
                mirror_outline(&mut item.plan);
                mirror_outline(&mut item.front);
                item.scan = item.scan.as_ref().map(Scan::mirrored);
            }
            Self::Pump(item) => item.turn_deg = 180.0 - item.turn_deg,
            Self::Lamp(item) => item.turn_deg = 180.0 - item.turn_deg,
            Self::Coral(item) => item.facing.x = -item.facing.x,
        }
    }
}

/// Mirrors an outline in its first coordinate and keeps its sense of rotation.
fn mirror_outline(outline: &mut Outline) {
    let flip = |points: &mut Vec<DVec2>| {
        for point in points.iter_mut() {
            point.x = -point.x;
        }
        points.reverse();
    };
    flip(&mut outline.points_cm);
    outline.openings.iter_mut().for_each(flip);
}

impl Layout {
    /// The item with this id.
    pub fn item(&self, id: ItemId) -> Option<Item> {
        let rock = self
            .rocks
            .iter()
            .find(|item| item.id == id)
            .cloned()
            .map(Item::Rock);
        rock.or_else(|| {
            self.pumps
                .iter()
                .find(|item| item.id == id)
                .cloned()
                .map(Item::Pump)
        })
        .or_else(|| {
            self.lamps
                .iter()
                .find(|item| item.id == id)
                .cloned()
                .map(Item::Lamp)
        })
        .or_else(|| {
            self.corals
                .iter()
                .find(|item| item.id == id)
                .cloned()
                .map(Item::Coral)
        })
    }

    /// Replaces the item of the same kind and id, or adds it.
    pub fn put(&mut self, item: Item) {
        match item {
            Item::Rock(new) => put_in(&mut self.rocks, new, |old| old.id),
            Item::Pump(new) => put_in(&mut self.pumps, new, |old| old.id),
            Item::Lamp(new) => put_in(&mut self.lamps, new, |old| old.id),
            Item::Coral(new) => put_in(&mut self.corals, new, |old| old.id),
        }
    }

    /// Takes an item out. Corals that sat on a removed rock go with it.
    pub fn remove(&mut self, id: ItemId) {
        self.rocks.retain(|item| item.id != id);
        self.pumps.retain(|item| item.id != id);
        self.lamps.retain(|item| item.id != id);
        self.corals
            .retain(|item| item.id != id && item.on != Support::Rock(id));
    }

    /// The items that move when `ids` do: these, the rocks bonded with them,
    /// and the corals that sit on any of them.
    pub fn with_followers(&self, ids: &[ItemId]) -> Vec<ItemId> {
        let bond_of = |id: &ItemId| self.rocks.iter().find(|rock| rock.id == *id)?.bonded;
        let bonds: Vec<u32> = ids.iter().filter_map(bond_of).collect();
        let mut all = ids.to_vec();
        let bonded = |rock: &&Rock| rock.bonded.is_some_and(|bond| bonds.contains(&bond));
        all.extend(self.rocks.iter().filter(bonded).map(|rock| rock.id));
        let rocks = all.clone();
        let rides = |coral: &&Coral| matches!(coral.on, Support::Rock(id) if rocks.contains(&id));
        all.extend(self.corals.iter().filter(rides).map(|coral| coral.id));
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Moves the items and all that follows them by `delta_cm`; locked ones stay.
    pub fn shift(&mut self, ids: &[ItemId], delta_cm: DVec3) {
        for id in self.with_followers(ids) {
            if let Some(mut item) = self.item(id).filter(|item| !item.locked()) {
                item.set_at_cm(item.at_cm() + delta_cm);
                self.put(item);
            }
        }
    }

    /// Copies the items with ids of their own, moved by `delta_cm`; returns
    /// the ids of the copies. A coral copied with its rock sits on the copy.
    pub fn duplicate(&mut self, ids: &[ItemId], delta_cm: DVec3) -> Vec<ItemId> {
        let mut copies: Vec<(ItemId, ItemId)> = Vec::new();
        for &id in ids {
            let Some(mut item) = self.item(id) else {
                continue;
            };
            let copy_id = self.free_id();
            item.set_id(copy_id);
            item.set_at_cm(item.at_cm() + delta_cm);
            if let Item::Coral(coral) = &mut item
                && let Support::Rock(rock) = coral.on
                && let Some((_, copied)) = copies.iter().find(|(old, _)| *old == rock)
            {
                coral.on = Support::Rock(*copied);
            }
            copies.push((id, copy_id));
            self.put(item);
        }
        copies.into_iter().map(|(_, copy)| copy).collect()
    }
}

fn put_in<T>(items: &mut Vec<T>, new: T, id: impl Fn(&T) -> ItemId) {
    match items.iter_mut().find(|old| id(old) == id(&new)) {
        Some(old) => *old = new,
        None => items.push(new),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{Mount, solids};

    fn rock(id: ItemId) -> Rock {
        let square = |lo: f64, hi: f64| Outline {
            points_cm: [(-6.0, lo), (5.0, lo), (5.0, hi), (-6.0, hi)]
                .map(DVec2::from)
                .to_vec(),
            ..Outline::default()
        };
        Rock {
            id,
            name: "block".to_owned(),
            at_cm: DVec3::new(30.0, 20.0, 3.0),
            turn_deg: 25.0,
            tilt_deg: 10.0,
            plan: square(-4.0, 7.0),
            front: square(0.0, 9.0),
            end: None,
            scan: None,
            rounding_cm: 0.0,
            reflectance: 0.25,
            density_kg_per_l: 1.5,
            bonded: None,
            locked: false,
        }
    }

    fn coral(id: ItemId, on: ItemId) -> Coral {
        Coral {
            id,
            entry: "any".to_owned(),
            name: String::new(),
            at_cm: DVec3::new(30.0, 20.0, 12.0),
            facing: DVec3::Z,
            size_cm: DVec3::splat(3.0),
            mount: Mount::Gel,
            on: Support::Rock(on),
            since: None,
            note: String::new(),
            locked: false,
        }
    }

    #[test]
    fn a_mirrored_rock_is_the_mirror_image_of_its_solid() {
        let original = solids::rock_solid(&rock(1));
        let mut item = Item::Rock(rock(1));
        item.mirror(40.0);
        let Item::Rock(mirrored) = item else {
            unreachable!()
        };
        let mirrored = solids::rock_solid(&mirrored);
        for k in 0..200 {
            let wave = |step: f64| 0.5 + 0.5 * (k as f64 * step).sin();
            let p = DVec3::new(
                0.15 + 0.3 * wave(1.3),
                0.1 + 0.2 * wave(2.1),
                0.2 * wave(0.7),
            );
            let q = DVec3::new(0.8 - p.x, p.y, p.z);
            let gap = original.signed_distance(p) - mirrored.signed_distance(q);
            assert!(gap.abs() < 1e-12, "distance differs by {gap} at {p}");
        }
    }

    #[test]
    fn corals_ride_their_rock_and_leave_with_it() {
        let mut layout = Layout {
            rocks: vec![rock(1)],
            corals: vec![coral(2, 1)],
            ..Layout::default()
        };
        layout.shift(&[1], DVec3::new(5.0, 0.0, 0.0));
        assert_eq!(layout.corals[0].at_cm.x, 35.0, "the coral moved along");
        let copies = layout.duplicate(&[1, 2], DVec3::X);
        assert_eq!(
            layout.corals[1].on,
            Support::Rock(copies[0]),
            "the copy sits on the copied rock"
        );
        layout.remove(1);
        assert_eq!(
            layout.ids().collect::<Vec<_>>(),
            copies,
            "only the copies are left"
        );
    }

    #[test]
    fn bonded_rocks_move_together() {
        let bonded = |id| Rock {
            bonded: Some(7),
            ..rock(id)
        };
        let mut layout = Layout {
            rocks: vec![bonded(1), bonded(2), rock(3)],
            ..Layout::default()
        };
        layout.shift(&[2], DVec3::Y);
        let moved: Vec<f64> = layout.rocks.iter().map(|rock| rock.at_cm.y).collect();
        assert_eq!(
            moved,
            vec![21.0, 21.0, 20.0],
            "both of the bond, not the third"
        );
    }
}

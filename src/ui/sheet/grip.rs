//! Moves what the hand holds: from a place of the pointer to changes.

use glam::{DVec2, DVec3};

use crate::desk::{Change, Command, Desk, Levels};
use crate::geometry::{Bounds, Ray, Rockwork};
use crate::scene::solids::rock_solid;
use crate::scene::{
    Coral, Item, ItemId, Layout, Overflow, Rock, SideName, Support, Tank, aim, angles_deg,
};
use crate::ui::paint::tank::inside_cm;
use crate::ui::sheet::derived::Derived;
use crate::ui::sheet::hand::{Grip, Held};
use crate::ui::sheet::outline::{self, tidy};
use crate::ui::sheet::snap::{self, Snapped};
use crate::ui::sheet::{Sheet, SheetContext, View};
use crate::units::M_PER_CM;

/// How near a line catches, in points.
const CATCH_POINTS: f64 = 7.0;
/// Lamps hang at most this far above the rim, in cm.
const LAMP_ROOM_CM: f64 = 120.0;

/// Least water over the sand that the line is dragged to, in cm.
const WATER_LEAST_CM: f64 = 5.0;

/// The item under the pointer, as it was when the hand took hold.
#[derive(Clone, Debug)]
pub(super) struct Lead {
    at_cm: DVec3,
    bounds: Option<Bounds>,
    box_cm: [DVec3; 2],
    top_cm: f64,
    /// Boxes of the rocks that it may come to rest on.
    beside: Vec<Bounds>,
}

impl Lead {
    /// The same among the rocks that do not move with `ids`.
    pub(super) fn among(self, layout: &Layout, ids: &[ItemId]) -> Self {
        let moved = layout.with_followers(ids);
        let others = layout.rocks.iter().filter(|rock| !moved.contains(&rock.id));
        let beside = match self.bounds {
            Some(_) => others.map(|rock| rock_solid(rock).bounds()).collect(),
            None => Vec::new(),
        };
        Self { beside, ..self }
    }

    pub(super) fn new(item: &Item, tank: &Tank) -> Self {
        let at_cm = item.at_cm();
        let bounds = match item {
            Item::Rock(rock) => Some(rock_solid(rock).bounds()),
            _ => None,
        };
        let box_cm = bounds.map_or([at_cm, at_cm], |bounds| {
            [bounds.min_m * 100.0, bounds.max_m * 100.0]
        });
        let top_cm = match item {
            Item::Lamp(_) => tank.height_cm + LAMP_ROOM_CM,
            Item::Pump(_) | Item::Coral(_) => tank.water_cm,
            Item::Rock(_) => tank.height_cm,
        };
        Self {
            at_cm,
            bounds,
            box_cm,
            top_cm,
            beside: Vec::new(),
        }
    }
}

impl Lead {
    /// The shift that brings it onto the nearest line, if one is near.
    fn snapped(&self, motion: &Motion, tank: &Tank, shift_cm: DVec3) -> Snapped {
        if motion.is_free {
            return Snapped {
                delta_cm: shift_cm,
                guides: Vec::new(),
            };
        }
        let reach_cm = (CATCH_POINTS / motion.scale).min(1.5);
        snap::snap(
            motion.view,
            tank,
            self.at_cm,
            (self.bounds, &self.beside),
            (shift_cm, reach_cm),
        )
    }
}

/// All items that a shift of `ids` moves, as they are now.
pub(super) fn leads(layout: &Layout, ids: &[ItemId], tank: &Tank) -> Vec<Lead> {
    let moved = layout.with_followers(ids);
    let items = moved.iter().filter_map(|id| layout.item(*id));
    items
        .filter(|item| !item.locked())
        .map(|item| Lead::new(&item, tank))
        .collect()
}

/// The shift, cut short so that nothing leaves the tank.
pub(super) fn kept_inside(leads: &[Lead], tank: &Tank, delta_cm: DVec3) -> DVec3 {
    leads.iter().fold(delta_cm, |delta_cm, lead| {
        snap::keep_inside(tank, lead.box_cm, lead.top_cm, delta_cm)
    })
}

/// Where the pointer has brought what the hand holds.
#[derive(Clone, Copy)]
pub(super) struct Motion {
    /// View that it is in.
    pub(super) view: View,
    /// Points a centimetre there.
    pub(super) scale: f64,
    /// Place in the view, in cm.
    pub(super) at_cm: DVec2,
    /// Whether nothing snaps.
    pub(super) is_free: bool,
}

impl Motion {
    /// The place, on the grid unless nothing snaps.
    fn on_grid(&self) -> DVec2 {
        if self.is_free {
            tidy(self.at_cm)
        } else {
            (self.at_cm * 2.0).round() / 2.0
        }
    }

    /// The same within the glass.
    fn within_glass(&self, tank: &Tank) -> DVec2 {
        let [lo, hi] = inside_cm(tank, self.view);
        self.on_grid().clamp(lo, hi)
    }
}

impl Sheet {
    /// Moves the grip to a place of the view; the lines that it came to rest on.
    pub(super) fn move_grip(
        &self,
        held: &mut Held,
        motion: &Motion,
        context: &SheetContext<'_>,
        send: &mut Vec<Command>,
    ) -> Snapped {
        let desk = context.desk;
        let shift_cm = motion.view.lift(motion.at_cm - held.press_cm, 0.0);
        let press_cm = held.press_cm;
        match &mut held.grip {
            Grip::Items {
                ids,
                lead,
                others,
                moved_cm,
            } => {
                let tank = &desk.scene().tank;
                let snapped = lead.snapped(motion, tank, shift_cm);
                let wanted = kept_inside(others, tank, snapped.delta_cm);
                let step = wanted - *moved_cm;
                if step.length() > 1e-9 {
                    *moved_cm = wanted;
                    send.push(Command::Change(Change::Shift(ids.clone(), step)));
                }
                return snapped;
            }
            Grip::Level(axis) => {
                let levels = moved_level(desk, *axis, motion);
                send.push(Command::SetLevels(levels));
            }
            grip => {
                let items = self.moved_items(grip, motion, shift_cm, desk);
                let put = |item| Command::Change(Change::Put(Box::new(item)));
                send.extend(items.into_iter().map(put));
                send.extend(moved_fixture(grip, motion, press_cm, desk).map(Command::Change));
            }
        }
        Snapped::default()
    }

    /// The items that a grip changes otherwise than by a shift, as they become.
    fn moved_items(&self, grip: &Grip, motion: &Motion, shift_cm: DVec3, desk: &Desk) -> Vec<Item> {
        let layout = desk.layout();
        match grip {
            Grip::Coral(coral) => {
                let wish_cm = coral.at_cm + shift_cm;
                let moved = self
                    .rockwork()
                    .map(|rocks| settled(coral, wish_cm, motion.view, desk, rocks));
                moved.map(Item::Coral).into_iter().collect()
            }
            Grip::Aim(id) => self.aimed(*id, motion, layout).into_iter().collect(),
            Grip::Turn(item) => {
                let step_deg = if motion.is_free { 1.0 } else { 5.0 };
                let towards = motion.at_cm - motion.view.flat(item.at_cm());
                let wanted = (towards.to_angle().to_degrees() / step_deg).round() * step_deg;
                let now = layout.item(item.id()).and_then(|item| turn_of(&item));
                now.map_or_else(Vec::new, |now| turned(layout, &[item.id()], wanted - now))
            }
            Grip::Point(spot, before) => {
                // The rock of the last good place stays if this one would
                // make the outline cross itself.
                let at_cm = motion.within_glass(&desk.scene().tank);
                let rock = outline::with_point_at(before, motion.view, *spot, at_cm);
                rock.map(Item::Rock).into_iter().collect()
            }
            _ => Vec::new(),
        }
    }

    fn rockwork(&self) -> Option<&Rockwork> {
        self.derived.as_ref().map(Derived::rockwork)
    }

    /// A pump that blows towards a place of the view. From above only the turn
    /// changes; in the upright views the part of the aim that is seen.
    fn aimed(&self, id: ItemId, motion: &Motion, layout: &Layout) -> Option<Item> {
        let view = motion.view;
        let mut pump = layout.pumps.iter().find(|pump| pump.id == id)?.clone();
        let towards = motion.at_cm - view.flat(pump.at_cm);
        if towards.length() < 1.0 {
            return None;
        }
        let step_deg = if motion.is_free { 0.1 } else { 1.0 };
        let rounded = |deg: f64| (deg / step_deg).round() * step_deg;
        if view == View::Top {
            pump.turn_deg = rounded(towards.to_angle().to_degrees());
        } else {
            let reaches = self.derived.as_ref().map(Derived::reaches);
            let place = layout.pumps.iter().position(|pump| pump.id == id)?;
            let length_cm = reaches?.get(place)?.way_m / M_PER_CM;
            let mut aim = aim(pump.turn_deg, pump.tilt_deg) * length_cm;
            let (h, v, _) = view.axes();
            aim[h] = towards.x;
            aim[v] = towards.y;
            let (turn_deg, tilt_deg) = angles_deg(aim);
            pump.turn_deg = rounded(turn_deg);
            pump.tilt_deg = rounded(tilt_deg);
        }
        Some(Item::Pump(pump))
    }
}

/// Turn of an item that has one, in degrees.
fn turn_of(item: &Item) -> Option<f64> {
    match item {
        Item::Rock(rock) => Some(rock.turn_deg),
        Item::Pump(pump) => Some(pump.turn_deg),
        Item::Lamp(lamp) => Some(lamp.turn_deg),
        Item::Coral(_) => None,
    }
}

/// The items turned about their own places, and the corals on turned rocks
/// carried along.
pub(super) fn turned(layout: &Layout, ids: &[ItemId], turn_deg: f64) -> Vec<Item> {
    let mut all = Vec::new();
    if turn_deg == 0.0 {
        return all;
    }
    let free = |id: &ItemId| layout.item(*id).filter(|item| !item.locked());
    for mut item in ids.iter().filter_map(free) {
        if let Item::Rock(rock) = &item {
            let rides = |coral: &&Coral| {
                coral.on == Support::Rock(rock.id) && !coral.locked && !ids.contains(&coral.id)
            };
            for coral in layout.corals.iter().filter(rides) {
                let mut rider = Item::Coral(coral.clone());
                let arm = (coral.at_cm - rock.at_cm).truncate();
                let arm = DVec2::from_angle(turn_deg.to_radians()).rotate(arm);
                let flat = tidy(rock.at_cm.truncate() + arm);
                rider.set_at_cm(flat.extend(coral.at_cm.z));
                rider.turn(turn_deg);
                all.push(rider);
            }
        }
        item.turn(turn_deg);
        all.push(item);
    }
    all
}

/// The change that moves a return, the water line or a reading.
fn moved_fixture(grip: &Grip, motion: &Motion, press_cm: DVec2, desk: &Desk) -> Option<Change> {
    let scene = desk.scene();
    let place = |before_cm: DVec3| {
        let depth_cm = motion.view.depth(before_cm);
        inside(motion.view.lift(motion.on_grid(), depth_cm), &scene.tank)
    };
    match grip {
        Grip::Return(idx) => {
            let mut tank = scene.tank.clone();
            let nozzle = tank.returns.get_mut(*idx)?;
            nozzle.at_cm = place(nozzle.at_cm);
            Some(Change::Tank(Box::new(tank)))
        }
        Grip::Overflow(before) => {
            let mut tank = scene.tank.clone();
            tank.overflow = Some(moved_overflow(before, motion, press_cm, &scene.tank)?);
            Some(Change::Tank(Box::new(tank)))
        }
        Grip::WaterLine => {
            let mut tank = scene.tank.clone();
            let least_cm = (tank.sand.depth_cm + WATER_LEAST_CM).min(tank.height_cm);
            tank.water_cm = motion.on_grid().y.clamp(least_cm, tank.height_cm);
            Some(Change::Tank(Box::new(tank)))
        }
        Grip::Reading(idx) => {
            let mut readings = scene.readings.clone();
            let reading = readings.get_mut(*idx)?;
            reading.at_cm = place(reading.at_cm);
            Some(Change::Readings(readings))
        }
        _ => None,
    }
}

/// The overflow moved along its side by as much as the pointer has gone; none
/// in a view that looks along that side.
fn moved_overflow(
    before: &Overflow,
    motion: &Motion,
    press_cm: DVec2,
    tank: &Tank,
) -> Option<Overflow> {
    let (axis, length_cm) = match before.side {
        SideName::Front | SideName::Back => (0, tank.length_cm),
        SideName::Left | SideName::Right => (1, tank.width_cm),
    };
    let (h, v, _) = motion.view.axes();
    let gone = motion.at_cm - press_cm;
    let gone_cm = match axis {
        axis if axis == h => gone.x,
        axis if axis == v => gone.y,
        _ => return None,
    };
    let room = (length_cm - before.to_cm).max(0.0);
    let gone_cm = ((gone_cm * 2.0).round() / 2.0).clamp(-before.from_cm.max(0.0), room);
    Some(Overflow {
        from_cm: before.from_cm + gone_cm,
        to_cm: before.to_cm + gone_cm,
        ..*before
    })
}

fn moved_level(desk: &Desk, axis: usize, motion: &Motion) -> Levels {
    let (h, _, _) = motion.view.axes();
    let tank = &desk.scene().tank;
    let place = if axis == h {
        motion.at_cm.x
    } else {
        motion.at_cm.y
    };
    let place = if motion.is_free {
        (place * 10.0).round() / 10.0
    } else {
        place.round()
    };
    let mut levels = desk.levels();
    match axis {
        0 => levels.across_cm = place.clamp(0.0, tank.length_cm),
        1 => levels.depth_cm = place.clamp(0.0, tank.width_cm),
        _ => levels.height_cm = place.clamp(0.0, tank.water_cm),
    }
    levels
}

fn inside(at_cm: DVec3, tank: &Tank) -> DVec3 {
    let size = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
    at_cm.clamp(DVec3::ZERO, size)
}

/// The coral put down at `wish_cm`: on the rock or sand below that place. In
/// the upright views it may also be hung on a wall or roof that is near.
fn settled(coral: &Coral, wish_cm: DVec3, view: View, desk: &Desk, rocks: &Rockwork) -> Coral {
    const NEAR_M: f64 = 0.015;
    const FAR_M: f64 = 5.0;
    let tank = &desk.scene().tank;
    let wish_cm = inside(wish_cm, tank);
    let on_rock = |at_m: DVec3, rock_idx: usize| {
        let solid = &rocks.rocks[rock_idx];
        let owner: &Rock = &desk.layout().rocks[rock_idx];
        Coral {
            at_cm: ((at_m * 1e4).round() / 100.0),
            facing: solid.normal(at_m),
            on: Support::Rock(owner.id),
            ..coral.clone()
        }
    };
    if view != View::Top
        && let Some((distance_m, rock_idx)) = rocks.nearest(wish_cm / 100.0)
        && distance_m.abs() < NEAR_M
    {
        // Twice down the slope: enough for a surface this near.
        let solid = &rocks.rocks[rock_idx];
        let mut at_m = wish_cm / 100.0;
        for _ in 0..2 {
            at_m -= solid.normal(at_m) * solid.signed_distance(at_m);
        }
        return on_rock(at_m, rock_idx);
    }
    let from_z = if view == View::Top {
        tank.water_cm
    } else {
        wish_cm.z
    };
    let ray = Ray {
        origin_m: DVec3::new(wish_cm.x, wish_cm.y, from_z) / 100.0,
        direction: DVec3::NEG_Z,
    };
    if let Some(hit) = rocks.first_hit(&ray, FAR_M)
        && hit.distance_m > 0.0
    {
        let at_m = ray.origin_m + ray.direction * hit.distance_m;
        if at_m.z * 100.0 > tank.sand.depth_cm {
            return on_rock(at_m, hit.rock_idx);
        }
    }
    Coral {
        at_cm: tidy(wish_cm.truncate()).extend(tank.sand.depth_cm),
        facing: DVec3::Z,
        on: Support::Sand,
        ..coral.clone()
    }
}

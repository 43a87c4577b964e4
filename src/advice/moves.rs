//! From one layout to another by hand: what to move, in which order.

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec3;

use crate::acclimation::Acclimation;
use crate::compare::CoralFate;
use crate::place::Surroundings;
use crate::scene::finding::Place;
use crate::scene::{Coral, ItemId, Layout, Rock, Support};
use crate::standing::{Ground, Standing, standing};
use crate::study::Study;
use crate::units::M_PER_CM;

/// What is done in one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MoveKind {
    /// Switch off and take out or aside.
    TakeOff,
    /// Take a coral off its place.
    Unmount,
    /// Lift a rock out.
    Lift,
    /// Set a rock in its new place.
    Set,
    /// Put a coral on its place.
    Mount,
    /// Put gear in its place and switch on.
    PutOn,
    /// Bring a coral that stays to the light that it gets now.
    Ease,
}

impl MoveKind {
    /// Its stable name, for scripts and tables.
    pub const fn tag(self) -> &'static str {
        match self {
            Self::TakeOff => "take_off",
            Self::Unmount => "unmount",
            Self::Lift => "lift",
            Self::Set => "set",
            Self::Mount => "mount",
            Self::PutOn => "put_on",
            Self::Ease => "ease",
        }
    }
}

/// One step.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// What is done.
    pub kind: MoveKind,
    /// With what: one item, or rocks that are bonded.
    pub items: Vec<ItemId>,
    /// Where, if that is told.
    pub place: Option<Place>,
    /// Where each item is put and how it is turned.
    pub pose: Vec<Pose>,
    /// Whether it is gear that hangs in the water.
    pub is_wet: bool,
    /// Whether bonds must be parted.
    pub parts_bonds: bool,
    /// What the change of light asks.
    pub ease: Option<Acclimation>,
    /// Mass out of the water, in kg, for rocks.
    pub dry_kg: Option<f64>,
    /// Weight in water as a mass, in kg, for rocks.
    pub wet_kg: Option<f64>,
}

/// Where an item is put and how it is turned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose {
    /// Which item.
    pub item: ItemId,
    /// Where, in cm.
    pub at_cm: DVec3,
    /// Turn about the vertical, in degrees.
    pub turn_deg: f64,
    /// Tilt, in degrees.
    pub tilt_deg: f64,
}

/// Steps from the layout of one study to that of a later one of the same tank, in an order that can
/// be done by hand: gear off, corals off what moves, rocks out from the top
/// down, rocks in from the bottom up, corals and gear back. Items are the same
/// if they have the same id. A rock that stays but stands on one that moves is
/// lifted too. No rock is lifted while another stands on it, and none is set
/// before what it stands on. Equal layouts give no steps.
pub fn moves(earlier: &Study, later: &Study) -> Vec<Move> {
    let (from, to) = (earlier.layout(), later.layout());
    let (before, after) = (standing(earlier), standing(later));
    let lifted = lifted_rocks(from, to, &before, &after);
    let away = |coral: &&Coral| {
        let stays = to.corals.iter().any(|other| same_seat(coral, other));
        let on_lifted = matches!(coral.on, Support::Rock(id) if lifted.contains(&id));
        !stays || on_lifted
    };
    let unmounted: Vec<&Coral> = from.corals.iter().filter(away).collect();
    let back = |coral: &&Coral| {
        let new = from.corals.iter().all(|other| other.id != coral.id);
        new || unmounted.iter().any(|other| other.id == coral.id)
    };
    let mut steps = gear_off(from, to);
    let places = Surroundings::new(earlier);
    steps.extend(unmounted.iter().map(|coral| Move {
        place: Some(places.point_place(coral.at_cm * M_PER_CM)),
        ..step(MoveKind::Unmount, vec![coral.id])
    }));
    let out = |body: &&Standing| body.rocks.iter().any(|id| lifted.contains(id));
    for body in top_down(before.iter().filter(out).collect()) {
        let mut step = rock_step(MoveKind::Lift, body, earlier);
        // Parts that leave for good are another matter than other company.
        let stays = |id: &&ItemId| to.rocks.iter().any(|rock| rock.id == **id);
        let company: Vec<&ItemId> = body.rocks.iter().filter(stays).collect();
        let as_before = |other: &Standing| company.iter().all(|id| other.rocks.contains(id));
        if !company.is_empty() && (company.len() < body.rocks.len() || !after.iter().any(as_before))
        {
            step.parts_bonds = true;
        }
        steps.push(step);
    }
    let new_rock = |id: &ItemId| from.rocks.iter().all(|rock| rock.id != *id);
    let set = |body: &&Standing| {
        body.rocks
            .iter()
            .any(|id| lifted.contains(id) || new_rock(id))
    };
    let mut order = top_down(after.iter().filter(set).collect());
    order.reverse();
    for body in order {
        steps.push(rock_step(MoveKind::Set, body, later));
    }
    let places = Surroundings::new(later);
    steps.extend(to.corals.iter().filter(back).map(|coral| Move {
        place: Some(places.point_place(coral.at_cm * M_PER_CM)),
        pose: vec![Pose {
            item: coral.id,
            at_cm: coral.at_cm,
            turn_deg: 0.0,
            tilt_deg: 0.0,
        }],
        ..step(MoveKind::Mount, vec![coral.id])
    }));
    steps.extend(gear_on(from, to));
    steps
}

/// The same steps with what the change of light asks of each coral: where it is
/// mounted, or as a last step for one that stays while the light over it
/// grows. `fates` is of the same two layouts in the same order.
pub fn with_light_steps(steps: Vec<Move>, fates: &[CoralFate]) -> Vec<Move> {
    let mut steps = steps;
    for fate in fates {
        let Some(plan) = &fate.acclimation else {
            continue;
        };
        let mount = steps
            .iter_mut()
            .find(|step| step.kind == MoveKind::Mount && step.items == [fate.id]);
        match mount {
            Some(step) => step.ease = Some(plan.clone()),
            None if plan.weeks > 0 => steps.push(Move {
                ease: Some(plan.clone()),
                ..step(MoveKind::Ease, vec![fate.id])
            }),
            // To stand darker asks for nothing to be done.
            None => {}
        }
    }
    steps
}

/// Rocks of `from` that must be lifted: moved, changed or gone ones with all
/// that is bonded to them, and whatever stands on them, before or after.
fn lifted_rocks(
    from: &Layout,
    to: &Layout,
    before: &[Standing],
    after: &[Standing],
) -> BTreeSet<ItemId> {
    let find = |id: ItemId| to.rocks.iter().find(|rock| rock.id == id);
    let mut lifted: BTreeSet<ItemId> = from
        .rocks
        .iter()
        .filter(|rock| find(rock.id).is_none_or(|other| !same_place(rock, other)))
        .map(|rock| rock.id)
        .collect();
    let known: BTreeSet<ItemId> = from.rocks.iter().map(|rock| rock.id).collect();
    let new: BTreeSet<ItemId> = to.rocks.iter().map(|rock| rock.id).collect();
    let new: BTreeSet<ItemId> = new.difference(&known).copied().collect();
    loop {
        let mut more = Vec::new();
        for body in before.iter().chain(after) {
            let rests_on = |id: &ItemId| {
                body.contacts
                    .iter()
                    .any(|contact| contact.on == Ground::Rock(*id))
            };
            let bonded = body.rocks.iter().any(|id| lifted.contains(id));
            let on_lifted = lifted.iter().chain(&new).any(rests_on);
            if bonded || on_lifted {
                let stays = |id: &&ItemId| known.contains(id) && !lifted.contains(id);
                more.extend(body.rocks.iter().filter(stays).copied());
            }
        }
        if more.is_empty() {
            return lifted;
        }
        lifted.extend(more);
    }
}

fn same_place(a: &Rock, b: &Rock) -> bool {
    a.at_cm == b.at_cm
        && a.turn_deg == b.turn_deg
        && a.tilt_deg == b.tilt_deg
        && a.plan == b.plan
        && a.front == b.front
        && a.end == b.end
}

fn same_seat(a: &Coral, b: &Coral) -> bool {
    a.id == b.id && a.at_cm == b.at_cm && a.facing == b.facing && a.on == b.on
}

/// Bodies so that each comes before all that it stands on. A circle of bodies
/// that lean on each other is opened at the highest.
fn top_down(bodies: Vec<&Standing>) -> Vec<&Standing> {
    let mut left = bodies;
    left.sort_by(|a, b| b.center_m.z.total_cmp(&a.center_m.z));
    let stands_on = |upper: &Standing, lower: &Standing| {
        let under = |on: Ground| matches!(on, Ground::Rock(id) if lower.rocks.contains(&id));
        upper.contacts.iter().any(|contact| under(contact.on))
    };
    let mut order = Vec::new();
    while !left.is_empty() {
        let free = (0..left.len()).find(|&i| {
            let mut others = (0..left.len()).filter(|&j| j != i);
            !others.any(|j| stands_on(left[j], left[i]))
        });
        order.push(left.remove(free.unwrap_or(0)));
    }
    order
}

fn rock_step(kind: MoveKind, body: &Standing, study: &Study) -> Move {
    let layout = study.layout();
    let pose = |rock: &Rock| Pose {
        item: rock.id,
        at_cm: rock.at_cm,
        turn_deg: rock.turn_deg,
        tilt_deg: rock.tilt_deg,
    };
    let find = |id: &ItemId| layout.rocks.iter().find(|rock| rock.id == *id);
    Move {
        place: Some(Surroundings::new(study).point_place(body.center_m)),
        pose: body.rocks.iter().filter_map(find).map(pose).collect(),
        dry_kg: Some(body.dry_kg),
        wet_kg: Some(body.wet_kg),
        ..step(kind, body.rocks.clone())
    }
}

fn gear_off(from: &Layout, to: &Layout) -> Vec<Move> {
    let lamps = changed(&from.lamps, &to.lamps, |lamp| lamp.id);
    let lamps = lamps.map(|lamp| step(MoveKind::TakeOff, vec![lamp.id]));
    let pumps = changed(&from.pumps, &to.pumps, |pump| pump.id);
    let pumps = pumps.map(|pump| Move {
        is_wet: true,
        ..step(MoveKind::TakeOff, vec![pump.id])
    });
    lamps.chain(pumps).collect()
}

fn gear_on(from: &Layout, to: &Layout) -> Vec<Move> {
    let pumps = changed(&to.pumps, &from.pumps, |pump| pump.id);
    let pumps = pumps.map(|pump| Move {
        is_wet: true,
        pose: vec![Pose {
            item: pump.id,
            at_cm: pump.at_cm,
            turn_deg: pump.turn_deg,
            tilt_deg: pump.tilt_deg,
        }],
        ..step(MoveKind::PutOn, vec![pump.id])
    });
    let lamps = changed(&to.lamps, &from.lamps, |lamp| lamp.id);
    let lamps = lamps.map(|lamp| Move {
        pose: vec![Pose {
            item: lamp.id,
            at_cm: lamp.at_cm,
            turn_deg: lamp.turn_deg,
            tilt_deg: lamp.tilt_deg,
        }],
        ..step(MoveKind::PutOn, vec![lamp.id])
    });
    pumps.chain(lamps).collect()
}

/// Items of `these` that `those` lacks or has otherwise.
fn changed<'a, T: PartialEq>(
    these: &'a [T],
    those: &[T],
    id: impl Fn(&T) -> ItemId,
) -> impl Iterator<Item = &'a T> {
    let others: BTreeMap<ItemId, &T> = those.iter().map(|item| (id(item), item)).collect();
    let differs: Vec<&T> = these
        .iter()
        .filter(|item| others.get(&id(item)).is_none_or(|other| other != item))
        .collect();
    differs.into_iter()
}

fn step(kind: MoveKind, items: Vec<ItemId>) -> Move {
    Move {
        kind,
        items,
        place: None,
        pose: Vec::new(),
        is_wet: false,
        parts_bonds: false,
        ease: None,
        dry_kg: None,
        wet_kg: None,
    }
}

//! From one layout to another by hand: what to move, in which order.

use std::collections::{BTreeMap, BTreeSet};

use crate::compare::CoralFate;
use crate::place::{Surroundings, rock_name};
use crate::scene::{Coral, ItemId, Lamp, Layout, Pump, Rock, Support};
use crate::standing::{Ground, Standing, standing};
use crate::study::Study;
use crate::units::M_PER_CM;

/// A dry mass from which two people should lift, in kg.
///
/// **Source** COMMON PRACTICE: modules of at most 8 to 10 kg dry.
const HEAVY_KG: f64 = 10.0;

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

/// One step.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// What is done.
    pub kind: MoveKind,
    /// With what: one item, or rocks that are bonded.
    pub items: Vec<ItemId>,
    /// One or two sentences.
    pub text: String,
    /// Mass out of the water, in kg, for rocks.
    pub dry_kg: Option<f64>,
    /// Weight in water as a mass, in kg, for rocks.
    pub wet_kg: Option<f64>,
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
    steps.extend(unmounted.iter().map(|coral| {
        let name = coral_word(coral, earlier);
        let place = places.point_place(coral.at_cm * M_PER_CM);
        step(
            MoveKind::Unmount,
            vec![coral.id],
            format!(
                "Take off the {name} ({place}) and keep it under water in the dark or in shade."
            ),
        )
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
            step.text
                .push_str(" Part its bonds: the rocks go on apart or without some of them.");
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
    steps.extend(to.corals.iter().filter(back).map(|coral| {
        let name = coral_word(coral, later);
        let place = places.point_place(coral.at_cm * M_PER_CM);
        step(
            MoveKind::Mount,
            vec![coral.id],
            format!("Mount the {name}: {place}, {}.", at_text(coral.at_cm)),
        )
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
            Some(step) => {
                step.text.push(' ');
                step.text.push_str(&plan.text);
            }
            None if plan.weeks > 0 => {
                steps.push(step(MoveKind::Ease, vec![fate.id], plan.text.clone()));
            }
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
    let names: Vec<String> = body
        .rocks
        .iter()
        .filter_map(|id| layout.rocks.iter().find(|rock| rock.id == *id))
        .map(rock_name)
        .collect();
    let name = names.join(" with ");
    let heavy = if body.dry_kg > HEAVY_KG {
        " Heavy: lift it with two people."
    } else {
        ""
    };
    let place = Surroundings::new(study).point_place(body.center_m);
    let pose = pose_text(layout, body);
    let weights = format!("{:.1} kg dry, {:.1} kg in water", body.dry_kg, body.wet_kg);
    let text = match kind {
        MoveKind::Lift => {
            format!("Lift out {name} ({place}; {weights}). Look for animals under it first.{heavy}")
        }
        _ => format!(
            "Set {name} in its place ({place}; {pose}; {weights}). It must not rock under a finger.{heavy}"
        ),
    };
    Move {
        kind,
        items: body.rocks.clone(),
        text,
        dry_kg: Some(body.dry_kg),
        wet_kg: Some(body.wet_kg),
    }
}

/// Where the rocks of a body have their origins, and how they are turned.
fn pose_text(layout: &Layout, body: &Standing) -> String {
    let find = |id: &ItemId| layout.rocks.iter().find(|rock| rock.id == *id);
    let rocks: Vec<&Rock> = body.rocks.iter().filter_map(find).collect();
    let pose = |rock: &&Rock| {
        let whose = match rocks.len() {
            1 => "its origin".to_owned(),
            _ => format!("origin of {}", rock_name(rock)),
        };
        let (at, turn, tilt) = (at_text(rock.at_cm), rock.turn_deg, rock.tilt_deg);
        format!("{whose} at {at}, turned {turn:.0}°, leaning {tilt:.0}°")
    };
    rocks.iter().map(pose).collect::<Vec<_>>().join("; ")
}

fn gear_off(from: &Layout, to: &Layout) -> Vec<Move> {
    let mut steps = Vec::new();
    let lamps = changed(&from.lamps, &to.lamps, |lamp| lamp.id);
    for lamp in lamps {
        let text = format!("Switch off {} and take it aside.", lamp_word(lamp));
        steps.push(step(MoveKind::TakeOff, vec![lamp.id], text));
    }
    for pump in changed(&from.pumps, &to.pumps, |pump| pump.id) {
        let text = format!(
            "Unplug {} and take it off. Unplug everything electrical before reaching in.",
            pump_word(pump)
        );
        steps.push(step(MoveKind::TakeOff, vec![pump.id], text));
    }
    steps
}

fn gear_on(from: &Layout, to: &Layout) -> Vec<Move> {
    let mut steps = Vec::new();
    for pump in changed(&to.pumps, &from.pumps, |pump| pump.id) {
        let text = format!(
            "Put {} at {}, aimed {:.0}° about the vertical and {:.0}° up; check its cable's drip loop.",
            pump_word(pump),
            at_text(pump.at_cm),
            pump.turn_deg,
            pump.tilt_deg
        );
        steps.push(step(MoveKind::PutOn, vec![pump.id], text));
    }
    for lamp in changed(&to.lamps, &from.lamps, |lamp| lamp.id) {
        let text = format!(
            "Hang {} at {}, with its second tether; start it dimmer if corals get more light now.",
            lamp_word(lamp),
            at_text(lamp.at_cm)
        );
        steps.push(step(MoveKind::PutOn, vec![lamp.id], text));
    }
    steps
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

fn step(kind: MoveKind, items: Vec<ItemId>, text: String) -> Move {
    Move {
        kind,
        items,
        text,
        dry_kg: None,
        wet_kg: None,
    }
}

fn at_text(at_cm: glam::DVec3) -> String {
    format!("{:.1}, {:.1}, {:.1} cm", at_cm.x, at_cm.y, at_cm.z)
}

fn named(kind: &str, name: &str, id: ItemId) -> String {
    if name.is_empty() {
        format!("{kind} {id}")
    } else {
        format!("the {name}")
    }
}

fn pump_word(pump: &Pump) -> String {
    named("pump", &pump.name, pump.id)
}

fn lamp_word(lamp: &Lamp) -> String {
    named("lamp", &lamp.name, lamp.id)
}

/// What a coral is called: by its keeper, else by the trade.
fn coral_word<'a>(coral: &'a Coral, study: &'a Study) -> &'a str {
    if !coral.name.is_empty() {
        return &coral.name;
    }
    let entry = study.entry_of(coral);
    entry.map_or(&coral.entry, |entry| &entry.plain_name)
}

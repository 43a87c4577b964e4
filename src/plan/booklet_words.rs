//! What the booklet says: cautions, what to have ready, and each step with its
//! places as a tape measures them.
//!
//! Times and amounts are COMMON PRACTICE: as keepers and makers of glues give
//! them, not measured here.

use super::booklet::{BookletInput, Chapter};
use super::booklet_picture::{extent_of, is_before};
use super::booklet_tape::Tape;
use super::coral_name;
use crate::advice::{Move, MoveKind};
use crate::catalog::{Catalog, Hazard};
use crate::scene::{Coral, ItemId, Layout, Mount, Pump};
use crate::units::{Measure, SEAWATER_DENSITY_KG_M3, UnitSystem};
use crate::words::Speaker;

/// How far the water is let down before hands go in, in cm.
///
/// **Source** COMMON PRACTICE: arms and rock must not make the tank run over.
const LET_DOWN_CM: f64 = 10.0;

/// What two people should not lift over a rim in one piece, in kg.
///
/// **Source** MEMORY: guidance on lifting at work gives 25 kg for one at the best
/// height, two thirds of the sum for two, and less for arms held out.
const TOO_HEAVY_KG: f64 = 30.0;

/// Gel and putty for one coral, in g.
///
/// **Source** COMMON PRACTICE: a pea and a walnut of it.
const GEL_G: f64 = 3.0;
const PUTTY_G: f64 = 15.0;

/// Words of one step.
pub(super) struct StepWords {
    pub(super) title: String,
    pub(super) lines: Vec<String>,
}

/// What comes before the first step.
pub(super) fn before(input: &BookletInput<'_>) -> Vec<Chapter> {
    vec![safety(input), waiting(input), needed(input)]
}

fn safety(input: &BookletInput<'_>) -> Chapter {
    let mut items = vec![
        (
            "Before a hand goes in: pull the plug of everything that hangs in or over the water: pumps, return pump, heater, lamps, skimmer.".to_owned(),
            true,
        ),
        (
            format!(
                "Cables of this plan, out until the last sheet says so: {}.",
                cables(input)
            ),
            false,
        ),
        (
            "Each cable hangs in a drip loop, each socket is dry and behind a residual-current device. Ask a licensed electrician; follow your local code.".to_owned(),
            false,
        ),
        (
            "Glue and putty sting skin and eyes: gloves, goggles, open window.".to_owned(),
            false,
        ),
        (
            "Two people for every heavy piece. Fingers never under a rock that is not held. A bare pane breaks where a corner touches it.".to_owned(),
            true,
        ),
        ("Look under each rock for animals before it is lifted.".to_owned(), false),
        ("Towels around the tank; nobody walks on a wet floor.".to_owned(), false),
    ];
    if has_palytoxin(input) {
        items.insert(
            1,
            (
                "Some of these corals can hold palytoxin, a strong poison. Gloves and goggles; never cut, scrub, heat or dry them; wash hands; see a doctor at once if you feel unwell.".to_owned(),
                true,
            ),
        );
    }
    Chapter {
        title: "Safety first".to_owned(),
        lead: "Tick each box. Stop when one cannot be ticked.".to_owned(),
        items,
    }
}

fn has_palytoxin(input: &BookletInput<'_>) -> bool {
    let corals = input.from.corals.iter().chain(&input.to.corals);
    let catalog = Catalog::built_in();
    corals
        .filter_map(|coral| catalog.entry(&coral.entry))
        .any(|entry| entry.hazards.contains(&Hazard::Palytoxin))
}

fn cables(input: &BookletInput<'_>) -> String {
    let mut names: Vec<String> = input.from.pumps.iter().map(pump_word).collect();
    names.extend(
        input
            .from
            .lamps
            .iter()
            .map(|lamp| named("lamp", &lamp.name, lamp.id)),
    );
    if !input.scene.tank.returns.is_empty() {
        names.push("the return pump".to_owned());
    }
    names.push("the heater and whatever else you have".to_owned());
    names.join(", ")
}

fn waiting(input: &BookletInput<'_>) -> Chapter {
    let tank = &input.scene.tank;
    let liters = tank.length_cm * tank.width_cm * LET_DOWN_CM / 1000.0;
    let item = |text: String| (text, false);
    let level_cm = tank.water_cm - LET_DOWN_CM;
    let (down, level) = (level(input, LET_DOWN_CM), level(input, level_cm));
    let water = Measure::Volume.rounded_text(liters, 0, input.units);
    // A difference, so without the zero of the scale; 1 °C is 1.8 °F.
    let off = match input.units {
        UnitSystem::Metric => "1 °C",
        UnitSystem::Us => "2 °F",
    };
    let mut items = vec![
            item(format!(
                "Let the water down by {down}, to {level} above the inner bottom: about {water}, into clean tubs that never held soap. It is used below and goes back in."
            )),
            item("Fish and shrimps: in a covered tub of that water, dark, with an air stone and at the tank's warmth; nothing sharp in it. If all rocks come out, catch them last.".to_owned()),
            item("Rock: wet at all times, best under tank water in a tub of its own. Half an hour under wet towels is the most.".to_owned()),
            item("Corals: at most 10 minutes out of water, wetted on the way; in a shaded tub at the tank's warmth, each apart from the next, at most 2 hours without moving water.".to_owned()),
            item("Sand: move it as little as you can; what lies below is foul.".to_owned()),
            item(format!("A thermometer in each tub. More than {off} away from the tank: warm or exchange the water.")),
        ];
    if let Some(words) = in_air(input, level_cm) {
        items.insert(1, (words, true));
    }
    Chapter {
        title: "Water, fish, rock and corals meanwhile".to_owned(),
        lead: "Common practice, not measured for your tank: when in doubt, be quicker.".to_owned(),
        items,
    }
}

/// What is there and what is needed.
fn needed(input: &BookletInput<'_>) -> Chapter {
    let (from, to) = (input.from, input.to);
    let mut items = Vec::new();
    let mut need = |text: String| items.push((format!("need: {text}"), false));
    let mounts = |wanted: fn(&Mount) -> bool| {
        let moved = to
            .corals
            .iter()
            .filter(|coral| is_mounted_anew(coral, from));
        moved.filter(|coral| wanted(&coral.mount)).count()
    };
    let gel = mounts(|mount| matches!(mount, Mount::Gel | Mount::GelAndPutty));
    let putty = mounts(|mount| matches!(mount, Mount::Putty | Mount::GelAndPutty));
    let plugs = mounts(|mount| matches!(mount, Mount::Plug));
    if gel > 0 {
        need(format!(
            "cyanoacrylate gel, for corals: {gel}; about {} each",
            Measure::SmallMass.text(GEL_G, input.units)
        ));
    }
    if putty > 0 {
        need(format!(
            "two-part epoxy putty, for corals: {putty}; about {} each",
            Measure::SmallMass.text(PUTTY_G, input.units)
        ));
    }
    if plugs > 0 {
        need(format!("plugs and holes that fit them: {plugs}"));
    }
    let is_body = |step: &&Move| step.kind == MoveKind::Set && step.items.len() > 1;
    let n_bodies = input.steps.iter().filter(is_body).count();
    if n_bodies > 0 {
        need(format!(
            "putty or mortar for rock, in case a joint breaks, for glued rocks: {n_bodies}"
        ));
    }
    if input.steps.iter().any(|step| step.parts_bonds) {
        need("chisel and hammer, to separate glued rocks".to_owned());
    }
    items.extend(new_things(input));
    let tools = [
        "three tubs and two buckets, clean",
        "towels, gloves, goggles",
        "tape measure, thermometer, air stone",
        "a second person",
    ];
    items.extend(tools.map(|tool| (format!("need: {tool}"), false)));
    items.extend(there_already(from, to));
    Chapter {
        title: "What is there and what is needed".to_owned(),
        lead: "Have all of it at hand before the first plug is pulled.".to_owned(),
        items,
    }
}

/// Rock, gear and corals of the new layout that the old one lacks.
fn new_things(input: &BookletInput<'_>) -> Vec<(String, bool)> {
    let (from, to) = (input.from, input.to);
    let mut items = Vec::new();
    let mut need = |text: String| items.push((format!("need: {text}"), false));
    let new = |id: ItemId, ids: Vec<ItemId>| !ids.contains(&id);
    let ids = || from.ids().collect::<Vec<_>>();
    for rock in to.rocks.iter().filter(|rock| new(rock.id, ids())) {
        let name = named("rock", &rock.name, rock.id);
        let (low, high) = extent_of(to, rock.id).unwrap_or_default();
        let sides = (high - low).to_array();
        let [long, deep, tall] = sides.map(|it| Measure::Length.rounded(it, 0, input.units));
        let unit = Measure::Length.shown(input.units).unit;
        need(format!("{name}, {long} x {deep} x {tall} {unit}"));
    }
    for pump in to.pumps.iter().filter(|pump| new(pump.id, ids())) {
        let flow = Measure::Flow.rounded_text(pump.flow_lph, 0, input.units);
        need(format!("{}, {flow}", pump_word(pump)));
    }
    for lamp in to.lamps.iter().filter(|lamp| new(lamp.id, ids())) {
        need(named("lamp", &lamp.name, lamp.id));
    }
    for coral in to.corals.iter().filter(|coral| new(coral.id, ids())) {
        need(format!("{} (new)", coral_name(Catalog::built_in(), coral)));
    }
    items
}

/// What is used again.
fn there_already(from: &Layout, to: &Layout) -> Option<(String, bool)> {
    let there = |n: usize, what: &str| (n > 0).then(|| format!("{n} {what}"));
    let stays: Vec<String> = [
        there(kept(&from.rocks, &to.rocks, |it| it.id), "rocks"),
        there(kept(&from.pumps, &to.pumps, |it| it.id), "pumps"),
        there(kept(&from.lamps, &to.lamps, |it| it.id), "lamps"),
        there(kept(&from.corals, &to.corals, |it| it.id), "corals"),
    ]
    .into_iter()
    .flatten()
    .collect();
    let words = format!("there already and used again: {}", stays.join(", "));
    (!stays.is_empty()).then_some((words, false))
}

fn kept<T>(from: &[T], to: &[T], id: impl Fn(&T) -> ItemId) -> usize {
    let is_in = |other: &T| from.iter().any(|it| id(it) == id(other));
    to.iter().filter(|it| is_in(it)).count()
}

fn is_mounted_anew(coral: &Coral, from: &Layout) -> bool {
    let before = from.corals.iter().find(|other| other.id == coral.id);
    before.is_none_or(|other| other.at_cm != coral.at_cm || other.on != coral.on)
}

/// What comes after the last step.
pub(super) fn after(input: &BookletInput<'_>) -> Chapter {
    let tank = &input.scene.tank;
    let mut items = vec![
        ("Push each rock with a finger: none may rock.".to_owned(), false),
        (
            "Wait until glue has set: gel 10 minutes, putty 1 hour before water moves, a day before weight.".to_owned(),
            false,
        ),
        (
            format!("Pour the water back slowly, to {} above the inner bottom.", level(input, tank.water_cm)),
            false,
        ),
        ("Dry your hands, the sockets and the floor.".to_owned(), true),
    ];
    if !tank.returns.is_empty() {
        items.push((
            "Plug in the return pump; see that the overflow runs and nothing leaks.".to_owned(),
            false,
        ));
    }
    for pump in &input.to.pumps {
        items.push((
            format!("Plug in {}; it hums under water only.", pump_word(pump)),
            false,
        ));
    }
    items.push((
        "Plug in the heater once it is covered by water for 15 minutes.".to_owned(),
        false,
    ));
    for lamp in &input.to.lamps {
        let name = named("lamp", &lamp.name, lamp.id);
        items.push((
            format!("Plug in {name}; start at half of its light for a few days."),
            false,
        ));
    }
    items.extend([
        ("Fish back in when warmth and salt agree.".to_owned(), false),
        ("Look again after one hour, in the evening, and next morning: leaks, warmth, fallen pieces.".to_owned(), false),
    ]);
    Chapter {
        title: "When all stands".to_owned(),
        lead: "In this order.".to_owned(),
        items,
    }
}

/// The words of a step.
///
/// `water_cm` is how high the water stands after it.
pub(super) fn step(input: &BookletInput<'_>, step: &Move, water_cm: f64) -> StepWords {
    let layout = if is_before(step.kind) {
        input.from
    } else {
        input.to
    };
    let name = name_of(layout, &step.items);
    let from = || place(input, input.from, &step.items).map(|told| format!("From: {told}."));
    let moved = |tub: Option<&str>| way(input, &step.items, tub);
    let mut lines: Vec<String> = Vec::new();
    let title = match step.kind {
        MoveKind::TakeOff => {
            lines.extend(from());
            lines.push(until(input, &step.items));
            format!("Unplug {name}, then take it off")
        }
        MoveKind::Unmount => {
            lines.extend(from());
            lines.push("Into the shaded tub; at most 10 minutes in air.".to_owned());
            format!("Take off {name}")
        }
        MoveKind::Lift => {
            lines.extend(from());
            lines.extend(weight(step, input.units));
            if step.parts_bonds {
                lines.push("Separate its rocks: it does not go on as it is.".to_owned());
            }
            lines.push("Look under it first. Into the rock tub, wet.".to_owned());
            format!("Lift out {name}")
        }
        MoveKind::Set => {
            lines.extend(moved(Some("the rock tub")));
            lines.extend(weight(step, input.units));
            if step.items.len() > 1 {
                lines.push(
                    "Glued: if it came apart, putty, 1 hour; no weight for a day.".to_owned(),
                );
            }
            lines.push(
                "On the bottom or on rock, never on loose sand; it must not rock.".to_owned(),
            );
            format!("Set {name}")
        }
        MoveKind::Mount => {
            lines.extend(moved(Some("the shaded tub")));
            lines.extend(mount_of(layout, &step.items).map(str::to_owned));
            lines.push("At most 10 minutes in air.".to_owned());
            lines.extend(light_words(input, step));
            format!("Mount {name}")
        }
        MoveKind::PutOn => {
            lines.extend(moved(None));
            lines.push(aim_words(tape(input), layout, &step.items));
            format!("Put {name} in its place")
        }
        MoveKind::Ease => {
            lines.extend(light_words(input, step));
            format!("Mind the light of {name}")
        }
    };
    if step.kind != MoveKind::Ease {
        lines.push(format!("Water: about {}.", level(input, water_cm)));
    }
    StepWords { title, lines }
}

fn tape<'a>(input: &BookletInput<'a>) -> Tape<'a> {
    Tape {
        tank: &input.scene.tank,
        units: input.units,
    }
}

/// A height of water, to the centimeter or a quarter inch.
fn level(input: &BookletInput<'_>, level_cm: f64) -> String {
    match input.units {
        UnitSystem::Metric => Measure::Length.rounded_text(level_cm, 0, input.units),
        UnitSystem::Us => tape(input).length(level_cm),
    }
}

/// Where items are, as a tape measures it: gear by its face, all else by its
/// sides.
fn place(input: &BookletInput<'_>, layout: &Layout, items: &[ItemId]) -> Option<String> {
    let tape = tape(input);
    tape.gear_place(layout, items).or_else(|| {
        let extent = items.iter().filter_map(|id| extent_of(layout, *id));
        let all = extent.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
        all.map(|all| tape.place(all))
    })
}

/// From where and to where: out of the tub in which it waits, if it was in the
/// tank before, and each piece of a body by itself.
fn way(input: &BookletInput<'_>, items: &[ItemId], tub: Option<&str>) -> Vec<String> {
    let before = place(input, input.from, items);
    let mut lines = vec![match (&before, tub) {
        (None, _) => "From: new.".to_owned(),
        (Some(told), None) => format!("From: {told}."),
        (Some(told), Some(tub)) if items.len() == 1 => format!("From: {tub}; before: {told}."),
        (Some(_), Some(tub)) => format!("From: {tub}."),
    }];
    for id in items {
        let one = std::slice::from_ref(id);
        let Some(told) = place(input, input.to, one) else {
            continue;
        };
        let whose = match items.len() {
            1 => String::new(),
            _ => format!(" {}", name_of(input.to, one)),
        };
        let is_same = place(input, input.from, one).as_ref() == Some(&told);
        lines.push(match (is_same, items.len()) {
            (true, 1) => "To: where it was.".to_owned(),
            (true, _) => format!("To,{whose}: where it was, {told}."),
            (false, 1) => format!("To: {told}."),
            (false, _) => format!("To,{whose}: {told}."),
        });
    }
    lines
}

fn mount_of(layout: &Layout, items: &[ItemId]) -> Option<&'static str> {
    let coral = layout.corals.iter().find(|it| items.contains(&it.id));
    coral.map(|coral| mount_words(coral.mount))
}

/// How a pump is aimed, or a lamp hung, and what becomes of its plug.
fn aim_words(tape: Tape<'_>, layout: &Layout, items: &[ItemId]) -> String {
    let pump = layout.pumps.iter().find(|pump| items.contains(&pump.id));
    match pump {
        Some(pump) => format!(
            "Aim it at {}. Drip loop; the plug waits for the last sheet.",
            tape.aimed_at(pump)
        ),
        None => "On two tethers. The plug waits for the last sheet.".to_owned(),
    }
}

/// What the change of light asks of the coral of a step.
fn light_words(input: &BookletInput<'_>, step: &Move) -> Option<String> {
    let speaker = Speaker::new(input.scene, input.to, input.units);
    Some(speaker.acclimation(step.ease.as_ref()?))
}

fn weight(step: &Move, units: UnitSystem) -> Option<String> {
    let (dry_kg, wet_kg) = (step.dry_kg?, step.wet_kg?);
    let many = if dry_kg > TOO_HEAVY_KG {
        " Too heavy for two in one piece: take it apart, or have lifting gear."
    } else if dry_kg > 10.0 {
        " Two people."
    } else {
        ""
    };
    let [dry, wet] = [dry_kg, wet_kg].map(|it| Measure::Mass.text(it, units));
    Some(format!("{dry} in air, {wet} in water.{many}"))
}

/// When the plug of these goes in again.
fn until(input: &BookletInput<'_>, items: &[ItemId]) -> String {
    let is_again = |step: &Move| step.kind == MoveKind::PutOn && step.items == items;
    match input.steps.iter().position(is_again) {
        Some(idx) => format!(
            "Its plug stays out: back in place in step {}, plugged in on the last sheet.",
            idx + 1
        ),
        None => "It leaves this tank for good.".to_owned(),
    }
}

/// How high the water stands after each step, in cm above the inner bottom:
/// let down before the first, then lower by what each rock took up, or higher.
/// Pores stay wet, so only what is solid counts.
pub(super) fn water_levels(input: &BookletInput<'_>) -> Vec<f64> {
    let tank = &input.scene.tank;
    let area_cm2 = tank.length_cm * tank.width_cm;
    let mut level_cm = tank.water_cm - LET_DOWN_CM;
    let after = |step: &Move| {
        let sign = match step.kind {
            MoveKind::Lift => -1.0,
            MoveKind::Set => 1.0,
            _ => 0.0,
        };
        // What it weighs less under water is the water in its place.
        let displaced_kg = step.dry_kg.unwrap_or(0.0) - step.wet_kg.unwrap_or(0.0);
        let displaced_l = displaced_kg / SEAWATER_DENSITY_KG_M3 * 1000.0;
        level_cm += sign * displaced_l * 1000.0 / area_cm2;
        level_cm
    };
    input.steps.iter().map(after).collect()
}

/// What stands out of water that has been let down.
fn in_air(input: &BookletInput<'_>, level_cm: f64) -> Option<String> {
    let corals = input.from.corals.iter().chain(&input.to.corals);
    let stands_out = |coral: &&Coral| coral.at_cm.z + coral.size_cm.z > level_cm;
    let mut names: Vec<String> = corals
        .filter(stands_out)
        .map(|coral| coral_name(Catalog::built_in(), coral))
        .collect();
    names.sort();
    names.dedup();
    (!names.is_empty()).then(|| {
        format!(
            "Above that water stand: {}. Each takes its time in air, so wet them, or let down less and keep a tub under the rim.",
            names.join(", ")
        )
    })
}

fn mount_words(mount: Mount) -> &'static str {
    match mount {
        Mount::Plug => "Plug into its hole; a drop of gel holds it, 10 minutes.",
        Mount::Gel => "Dab both sides dry, gel on the foot, press 1 minute, 10 minutes still.",
        Mount::Putty => "Knead putty 2 minutes, press on a clean spot; 1 hour, hard in a day.",
        Mount::GelAndPutty => {
            "Gel, a ball of putty, gel again; press 1 minute, 1 hour still, hard in a day."
        }
        Mount::Wedge => "Wedge it between two contacts so that it cannot be lifted out.",
        Mount::Thread => "Tie it down with thread; take the thread off once it has grown on.",
        Mount::Rod => "Rod into the drilled hole with a drop of putty; hard in a day.",
        Mount::Hang => "Hang it from the ledge as planned; putty, hard in a day.",
        Mount::Rubble => "On its loose stone, set where it cannot roll.",
        Mount::Foot => "Set it down and let it hold on by itself: pumps low until it has.",
        Mount::Sand => "Lay or press it into the sand, flat, without covering flesh.",
        Mount::Loose => "Laid down only: a snail or a pump can move it.",
    }
}

fn name_of(layout: &Layout, items: &[ItemId]) -> String {
    let word = |id: &ItemId| {
        let rock = layout.rocks.iter().find(|it| it.id == *id);
        let pump = layout.pumps.iter().find(|it| it.id == *id);
        let lamp = layout.lamps.iter().find(|it| it.id == *id);
        let coral = layout.corals.iter().find(|it| it.id == *id);
        rock.map(|it| named("rock", &it.name, it.id))
            .or_else(|| pump.map(pump_word))
            .or_else(|| lamp.map(|it| named("lamp", &it.name, it.id)))
            .or_else(|| coral.map(|it| coral_name(Catalog::built_in(), it)))
    };
    items
        .iter()
        .filter_map(word)
        .collect::<Vec<_>>()
        .join(" with ")
}

fn pump_word(pump: &Pump) -> String {
    named("pump", &pump.name, pump.id)
}

fn named(kind: &str, name: &str, id: ItemId) -> String {
    if name.is_empty() {
        format!("{kind} {id}")
    } else {
        name.to_owned()
    }
}

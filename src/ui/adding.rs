//! Where a new thing goes: a sensible free place, found from what stands there.

use glam::{DVec2, DVec3};

use crate::advice::{cutting_size_m, usual_mount};
use crate::desk::{Action, Change, Command, Desk, Place};
use crate::geometry::Ray;
use crate::light::SurfaceOwner;
use crate::scene::shapes::Shape;
use crate::scene::solids::{rock_solid, rockwork};
use crate::scene::{
    Animal, Behavior, Body, Coral, Day, Item, Lamp, Output, Programme, Pump, PumpKind, Quantity,
    Reading, Return, Spread, Support,
};
use crate::ui::sheet::Dropped;
use crate::ui::text;
use crate::units::M_PER_CM;

/// Steps along each direction in which a free place is looked for.
const STEPS: usize = 13;

/// The command that an adding action stands for, or `None` if it adds nothing
/// by itself.
pub fn command(desk: &Desk, action: Action) -> Option<Command> {
    let change = match action {
        Action::AddBoulder => rock(desk, Shape::Boulder),
        Action::AddSlab => rock(desk, Shape::Slab),
        Action::AddPillar => rock(desk, Shape::Pillar),
        Action::AddArch => rock(desk, Shape::Arch),
        Action::AddLedge => rock(desk, Shape::Ledge),
        Action::AddRubble => rock(desk, Shape::Rubble),
        Action::AddPump => Change::Add(Box::new(Item::Pump(pump(desk)))),
        Action::AddReturn => add_return(desk),
        Action::AddPanel => lamp(desk, PANEL, 180.0, 120.0, text::PANEL),
        Action::AddPendant => lamp(desk, DISC, 150.0, 80.0, text::PENDANT),
        Action::AddTube => lamp(desk, TUBE, 60.0, 120.0, text::TUBE),
        Action::AddBar => lamp(desk, BAR, 120.0, 100.0, text::BAR),
        Action::AddReading => add_reading(desk),
        Action::AddAnimal => add_animal(desk),
        _ => return None,
    };
    Some(Command::Edit(format!("add {}", action.label()), change))
}

/// The command that adds something where it was let go over a view; `None` if
/// it is not added by itself.
pub fn dropped(desk: &Desk, dropped: &Dropped) -> Option<Command> {
    let Command::Edit(label, change) = command(desk, dropped.action)? else {
        return None;
    };
    let tank = &desk.scene().tank;
    let size_cm = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
    // Across what the view does not show it stays where it would go by itself.
    let seen = |at_cm: DVec3| {
        let view = dropped.view;
        let at_cm = view.lift(dropped.flat_cm, view.depth(at_cm));
        (at_cm * 10.0).round() / 10.0
    };
    let inside = |at_cm: DVec3| {
        let margin = DVec3::splat(OFF_PANE_CM).min(size_cm / 2.0);
        at_cm.clamp(margin, size_cm - margin)
    };
    let inwards_deg = |at_cm: DVec3| {
        let aim = (size_cm / 2.0 - at_cm).truncate();
        aim.to_angle().to_degrees().round()
    };
    let change = match change {
        Change::AddShape(shape, at_cm) => {
            // Rock lies on the sand, wherever along the height it was let go.
            let at_cm = inside(seen(at_cm)).truncate().extend(at_cm.z);
            Change::AddShape(shape, at_cm)
        }
        Change::Add(mut item) => {
            match &mut *item {
                Item::Pump(pump) => {
                    pump.at_cm = inside(seen(pump.at_cm));
                    pump.turn_deg = inwards_deg(pump.at_cm);
                }
                Item::Lamp(lamp) => {
                    let at_cm = seen(lamp.at_cm);
                    lamp.at_cm = inside(at_cm).truncate().extend(lamp.at_cm.z);
                    if at_cm.z > tank.water_cm {
                        lamp.at_cm.z = at_cm.z;
                    }
                }
                Item::Rock(_) | Item::Coral(_) => {}
            }
            Change::Add(item)
        }
        Change::Tank(mut tank) => {
            if let Some(nozzle) = tank.returns.last_mut() {
                nozzle.at_cm = inside(seen(nozzle.at_cm));
                nozzle.turn_deg = inwards_deg(nozzle.at_cm);
            }
            Change::Tank(tank)
        }
        Change::Readings(mut readings) => {
            if let Some(reading) = readings.last_mut() {
                reading.at_cm = seen(reading.at_cm).clamp(DVec3::ZERO, size_cm);
            }
            Change::Readings(readings)
        }
        change => change,
    };
    Some(Command::Edit(label, change))
}

/// How far the middle of gear keeps from a pane, in cm.
const OFF_PANE_CM: f64 = 3.0;

const PANEL: Body = Body::Panel {
    length_cm: 40.0,
    width_cm: 20.0,
};
const DISC: Body = Body::Disc { diameter_cm: 12.0 };
const TUBE: Body = Body::Tube { length_cm: 90.0 };

/// A row of small lamps lights as a narrow area does.
const BAR: Body = Body::Panel {
    length_cm: 90.0,
    width_cm: 4.0,
};

/// The place among `candidates` that is farthest from all of `taken`.
fn freest(candidates: impl Iterator<Item = DVec3>, taken: &[DVec3]) -> Option<DVec3> {
    let clearance = |at: DVec3| {
        let gaps = taken.iter().map(|other| other.distance(at));
        gaps.fold(f64::INFINITY, f64::min)
    };
    candidates
        .map(|at| (clearance(at), at))
        .reduce(|best, next| if next.0 > best.0 { next } else { best })
        .map(|(_, at)| at)
}

/// Places on a lattice over a rectangle, the middle first, so that an empty
/// tank gives the middle.
fn lattice(low: DVec2, high: DVec2) -> impl Iterator<Item = DVec2> {
    let middle = (low + high) / 2.0;
    let n = STEPS as f64 - 1.0;
    let all = (0..STEPS * STEPS).map(move |k| {
        let share = DVec2::new((k % STEPS) as f64 / n, (k / STEPS) as f64 / n);
        low + share * (high - low)
    });
    std::iter::once(middle).chain(all)
}

fn rock(desk: &Desk, shape: Shape) -> Change {
    let tank = &desk.scene().tank;
    let bounds = rock_solid(&shape.rock(1, DVec3::ZERO)).bounds();
    let half_cm = (bounds.max_m - bounds.min_m) / M_PER_CM / 2.0;
    let room = DVec2::new(tank.length_cm, tank.width_cm);
    // A hand's breadth from the glass leaves room to clean it, if the tank has it.
    let margin = (half_cm.truncate() + 5.0).min(room / 2.0);
    let others: Vec<(DVec2, f64)> = desk
        .layout()
        .rocks
        .iter()
        .map(|rock| {
            let bounds = rock_solid(rock).bounds();
            let middle = (bounds.min_m + bounds.max_m) / 2.0 / M_PER_CM;
            let reach = (bounds.max_m - bounds.min_m).truncate().max_element() / 2.0 / M_PER_CM;
            (middle.truncate(), reach)
        })
        .collect();
    let gap = |at: DVec2| {
        let gaps = others
            .iter()
            .map(|(middle, reach)| middle.distance(at) - reach);
        gaps.fold(f64::INFINITY, f64::min)
    };
    let place = lattice(margin, room - margin)
        .map(|at| (gap(at), at))
        .reduce(|best, next| if next.0 > best.0 { next } else { best })
        .map_or(room / 2.0, |(_, at)| at);
    Change::AddShape(shape, place.extend(tank.sand.depth_cm))
}

/// A pump on the pane and at the height where no other is near, aimed at the
/// middle.
pub fn pump(desk: &Desk) -> Pump {
    let tank = &desk.scene().tank;
    let layout = desk.layout();
    let taken: Vec<DVec3> = layout.pumps.iter().map(|pump| pump.at_cm).collect();
    let (length, width) = (tank.length_cm, tank.width_cm);
    let off_cm = OFF_PANE_CM;
    let height = tank.sand.depth_cm + 0.65 * (tank.water_cm - tank.sand.depth_cm);
    let along = (1..STEPS).map(|k| k as f64 / STEPS as f64);
    let candidates = along.flat_map(|share| {
        [
            DVec3::new(off_cm, width * share, height),
            DVec3::new(length - off_cm, width * share, height),
            DVec3::new(length * share, width - off_cm, height),
        ]
    });
    let at_cm = freest(candidates, &taken).unwrap_or(DVec3::new(off_cm, width / 2.0, height));
    let aim = DVec2::new(length, width) / 2.0 - at_cm.truncate();
    // About ten times the tank an hour is a quiet start. COMMON PRACTICE.
    let volume_l = length * width * tank.water_cm / 1000.0;
    let flow_lph = (volume_l * 10.0 / 100.0).round().clamp(5.0, 80.0) * 100.0;
    Pump {
        id: layout.free_id(),
        name: numbered(
            text::PUMP,
            layout.pumps.iter().map(|pump| pump.name.as_str()),
        ),
        kind: PumpKind::Propeller,
        at_cm,
        turn_deg: aim.to_angle().to_degrees().round(),
        tilt_deg: 0.0,
        flow_lph,
        outlet_cm: 3.5,
        throttle: 1.0,
        programme: Programme::Steady,
        power_w: None,
        by_hour: Vec::new(),
        guarded: false,
        measured: None,
        locked: false,
    }
}

fn add_return(desk: &Desk) -> Change {
    let mut tank = desk.scene().tank.clone();
    let (length, width) = (tank.length_cm, tank.width_cm);
    let height = tank.water_cm - 4.0;
    let taken: Vec<DVec3> = tank.returns.iter().map(|nozzle| nozzle.at_cm).collect();
    let candidates = (1..STEPS)
        .rev()
        .map(|k| DVec3::new(length * k as f64 / STEPS as f64, width - 3.0, height));
    let at_cm = freest(candidates, &taken).unwrap_or(DVec3::new(length / 2.0, width - 3.0, height));
    let aim = DVec2::new(length, width) / 2.0 - at_cm.truncate();
    tank.returns.push(Return {
        at_cm,
        turn_deg: aim.to_angle().to_degrees().round(),
        tilt_deg: -10.0,
        flow_lph: 1000.0,
        outlet_cm: 2.5,
    });
    Change::Tank(Box::new(tank))
}

fn lamp(desk: &Desk, body: Body, umol_s: f64, full_angle_deg: f64, name: &str) -> Change {
    let tank = &desk.scene().tank;
    let layout = desk.layout();
    let middle = DVec2::new(tank.length_cm, tank.width_cm) / 2.0;
    let height = tank.water_cm.max(tank.height_cm) + 15.0;
    let taken: Vec<DVec3> = layout.lamps.iter().map(|lamp| lamp.at_cm).collect();
    let around = (1..STEPS).map(|k| tank.length_cm * k as f64 / STEPS as f64);
    let candidates = std::iter::once(middle.x)
        .chain(around)
        .map(|x| DVec3::new(x, middle.y, height));
    let body = match body {
        Body::Tube { length_cm } => Body::Tube {
            length_cm: length_cm.min(tank.length_cm),
        },
        Body::Panel {
            length_cm,
            width_cm,
        } => Body::Panel {
            length_cm: length_cm.min(tank.length_cm),
            width_cm,
        },
        Body::Disc { .. } => body,
    };
    Change::Add(Box::new(Item::Lamp(Lamp {
        id: layout.free_id(),
        name: numbered(name, layout.lamps.iter().map(|lamp| lamp.name.as_str())),
        body,
        at_cm: freest(candidates, &taken).unwrap_or(middle.extend(height)),
        turn_deg: 0.0,
        tilt_deg: 0.0,
        output: Output::Photons { umol_s },
        spread: Spread::Beam { full_angle_deg },
        dim: 1.0,
        day: Day::default(),
        measured: None,
        locked: false,
    })))
}

fn add_reading(desk: &Desk) -> Change {
    let tank = &desk.scene().tank;
    let levels = desk.levels();
    let at_cm = DVec3::new(tank.length_cm / 2.0, levels.depth_cm, levels.height_cm);
    reading_at(desk, at_cm)
}

/// One more reading at this place (in cm), of what was read last.
pub fn reading_at(desk: &Desk, at_cm: DVec3) -> Change {
    let mut readings = desk.scene().readings.clone();
    let last = readings.last();
    let quantity = last.map_or(Quantity::PpfdUp, |last| last.quantity);
    readings.push(Reading {
        layout: Some(desk.layout().name.clone()),
        at_cm,
        quantity,
        // Only a keeper's meter gives it.
        value: None,
        spread: None,
        alone: None,
        drift: None,
        when: None,
    });
    Change::Readings(readings)
}

fn add_animal(desk: &Desk) -> Change {
    let mut animals = desk.scene().animals.clone();
    animals.push(Animal {
        name: numbered(
            text::ANIMAL,
            animals.iter().map(|animal| animal.name.as_str()),
        ),
        does: vec![Behavior::Digs],
    });
    Change::Animals(animals)
}

/// A cutting of this entry where it is wanted; else on the selected rock, or
/// where rock or sand is freest of corals. `None` if the catalog does not know
/// it.
pub fn coral(desk: &Desk, entry_id: &str, wanted: Option<Place>) -> Option<Command> {
    let entry = desk.catalog().entry(entry_id)?;
    let wanted = wanted.and_then(|place| {
        let on = match place.on {
            SurfaceOwner::Rock(idx) => Support::Rock(desk.layout().rocks.get(idx)?.id),
            SurfaceOwner::Sand => Support::Sand,
        };
        let at_cm = (place.at_m / M_PER_CM * 100.0).round() / 100.0;
        Some((at_cm, place.normal, on))
    });
    let (at_cm, facing, on) = wanted.unwrap_or_else(|| coral_place(desk));
    let size_cm = cutting_size_m(entry) / M_PER_CM;
    let ground = match on {
        Support::Rock(id) => {
            let rocks = &desk.layout().rocks;
            SurfaceOwner::Rock(rocks.iter().position(|rock| rock.id == id).unwrap_or(0))
        }
        Support::Sand => SurfaceOwner::Sand,
    };
    let mount = usual_mount(entry, ground, facing, size_cm * M_PER_CM);
    let coral = Coral {
        id: desk.layout().free_id(),
        entry: entry.id.clone(),
        name: String::new(),
        at_cm,
        facing,
        size_cm,
        mount,
        on,
        since: None,
        note: String::new(),
        locked: false,
    };
    let label = format!("place {}", entry.plain_name);
    Some(Command::Edit(
        label,
        Change::Add(Box::new(Item::Coral(coral))),
    ))
}

fn coral_place(desk: &Desk) -> (DVec3, DVec3, Support) {
    let (layout, tank) = (desk.layout(), &desk.scene().tank);
    let solids = rockwork(layout);
    let wanted = desk.selection().first().copied();
    let top_m = tank.water_cm * M_PER_CM;
    let taken: Vec<DVec3> = layout.corals.iter().map(|coral| coral.at_cm).collect();
    let mut best: Option<(f64, DVec3, DVec3, Support)> = None;
    for (idx, solid) in solids.rocks.iter().enumerate() {
        let id = layout.rocks[idx].id;
        if wanted.is_some_and(|wanted| wanted != id && layout.rocks.iter().any(|r| r.id == wanted))
        {
            continue;
        }
        let bounds = solid.bounds();
        for at in lattice(bounds.min_m.truncate(), bounds.max_m.truncate()) {
            let ray = Ray {
                origin_m: at.extend(top_m),
                direction: DVec3::NEG_Z,
            };
            let Some(hit) = solids
                .first_hit(&ray, top_m)
                .filter(|hit| hit.rock_idx == idx)
            else {
                continue;
            };
            let at_m = at.extend(top_m - hit.distance_m);
            let normal = solid.normal(at_m);
            if normal.z < 0.6 {
                continue;
            }
            let at_cm = at_m / M_PER_CM;
            let gaps = taken.iter().map(|other| other.distance(at_cm));
            let gap = gaps.fold(20.0, f64::min);
            let score = gap + 5.0 * normal.z + 0.1 * at_cm.z;
            if best.as_ref().is_none_or(|best| score > best.0) {
                best = Some((score, at_cm, normal, Support::Rock(id)));
            }
        }
    }
    if let Some((_, at_cm, normal, on)) = best {
        return (at_cm, normal, on);
    }
    let floor = tank.sand.depth_cm;
    let room = DVec2::new(tank.length_cm, tank.width_cm);
    let candidates = lattice(room * 0.1, room * 0.9).map(|at| at.extend(floor));
    let at_cm = freest(candidates, &taken).unwrap_or((room / 2.0).extend(floor));
    (at_cm, DVec3::Z, Support::Sand)
}

/// `word 3` where `word 1` and `word 2` are taken.
fn numbered<'a>(word: &str, taken: impl Iterator<Item = &'a str>) -> String {
    let taken: Vec<&str> = taken.collect();
    // One of these is free, because there is one more than is taken.
    (1..=taken.len() + 1)
        .map(|n| format!("{word} {n}"))
        .find(|name| !taken.contains(&name.as_str()))
        .unwrap_or_else(|| word.to_owned())
}

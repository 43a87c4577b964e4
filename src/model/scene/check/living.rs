//! Corals, animals and readings.

use super::issue::{Examiner, Fault, Subject};
use super::{Issue, LayoutPlace, limits, place_text, rock_text, water_box_cm, water_box_text};
use crate::catalog::Catalog;
use crate::geometry::Rockwork;
use crate::scene::{Behavior, Coral, ItemId, Quantity, Reading, Scene, Support};
use crate::units::M_PER_CM;

pub(super) fn check_corals(place: &LayoutPlace<'_>, rockwork: &Rockwork, issues: &mut Vec<Issue>) {
    let catalog = Catalog::built_in();
    for (idx, coral) in place.layout.corals.iter().enumerate() {
        let name = if coral.name.is_empty() {
            &coral.entry
        } else {
            &coral.name
        };
        let item = place.subject("coral", name, coral.id);
        let mut on = Examiner::new(issues, item, place.path("corals", idx));
        on.short("entry", &coral.entry);
        if coral.entry.trim().is_empty() {
            on.error(Fault {
                field: "entry",
                value: "empty".to_owned(),
                limit: "the id of a catalog entry, as \"caulastraea\"".to_owned(),
                way_out: "name the planning type that comes closest",
            });
        } else if catalog.entry(&coral.entry).is_none() {
            let near: Vec<_> = catalog
                .search(&coral.entry)
                .iter()
                .take(3)
                .map(|entry| entry.id.clone())
                .collect();
            let near = if near.is_empty() {
                String::new()
            } else {
                format!(", as {}", near.join(", "))
            };
            on.warn(Fault {
                field: "entry",
                value: format!("{:?}, which the catalog does not hold", coral.entry),
                limit: format!("the id of a catalog entry{near}"),
                way_out: "its light and flow are not judged; name the planning type that comes closest",
            });
        }
        let in_water = place.place_in_water(coral.at_cm, "move it into the water", &mut on);
        for (axis, value) in ["width", "depth", "height"]
            .iter()
            .zip(coral.size_cm.to_array())
        {
            on.within(&format!("size_cm ({axis})"), value, &limits::CORAL_SIZE);
        }
        if !(coral.facing.is_finite() && coral.facing.length() > 1e-6) {
            let facing = coral.facing;
            on.error(Fault {
                field: "facing",
                value: format!("({}, {}, {})", facing.x, facing.y, facing.z),
                limit: "a direction of some length".to_owned(),
                way_out: "use (0.0, 0.0, 1.0) for a level mount",
            });
        }
        check_mount(place, coral, (rockwork, in_water), &mut on);
    }
}

fn check_mount(
    place: &LayoutPlace<'_>,
    coral: &Coral,
    (rockwork, in_water): (&Rockwork, bool),
    on: &mut Examiner<'_>,
) {
    let gap_cm = match coral.on {
        Support::Sand => coral.at_cm.z - place.tank.sand.depth_cm,
        Support::Rock(id) => {
            let Some(rock_idx) = place.layout.rocks.iter().position(|rock| rock.id == id) else {
                on.error(Fault {
                    field: "on",
                    value: format!("Rock({id})"),
                    limit: "the id of a rock of this layout, or Sand".to_owned(),
                    way_out: "plant it on a rock that is there",
                });
                return;
            };
            match rockwork.rocks.get(rock_idx) {
                Some(solid) => solid.signed_distance(coral.at_cm * M_PER_CM) / M_PER_CM,
                None => return,
            }
        }
    };
    if !in_water || !place.tank_is_sound || gap_cm.abs() <= limits::CORAL_GAP_DOUBTED_CM {
        return;
    }
    let support = match coral.on {
        Support::Sand => "the sand".to_owned(),
        Support::Rock(id) => {
            let name = place
                .layout
                .rocks
                .iter()
                .find(|rock| rock.id == id)
                .map(|rock| rock.name.as_str());
            rock_text(name.unwrap_or(""), id)
        }
    };
    let (gap_cm, relation) = (gap_cm.abs(), if gap_cm > 0.0 { "off" } else { "inside" });
    on.warn(Fault {
        field: "at_cm",
        value: format!(
            "{}, {gap_cm:.1} cm {relation} {support}",
            place_text(coral.at_cm)
        ),
        limit: format!(
            "within {} cm of the surface it sits on",
            limits::CORAL_GAP_DOUBTED_CM
        ),
        way_out: "move it onto the surface, or change what it is on",
    });
}

pub(super) fn check_readings(scene: &Scene, issues: &mut Vec<Issue>) {
    let item = Subject {
        what: "scene",
        name: scene.name.clone(),
        ..Subject::default()
    };
    let few = Examiner::new(issues, item, String::new()).count(
        "readings",
        scene.readings.len(),
        limits::READINGS_MAX,
    );
    let n_looked_at = if few { scene.readings.len() } else { 0 };
    for (idx, reading) in scene.readings.iter().enumerate().take(n_looked_at) {
        let item = Subject {
            what: "reading",
            name: format!("{}", idx + 1),
            ..Subject::default()
        };
        check_reading(
            scene,
            reading,
            &mut Examiner::new(issues, item, format!("readings[{idx}]")),
        );
    }
}

fn check_reading(scene: &Scene, reading: &Reading, on: &mut Examiner<'_>) {
    let limit = match reading.quantity {
        Quantity::PpfdUp | Quantity::PpfdScalar => &limits::READING_PPFD,
        Quantity::Speed => &limits::READING_SPEED,
    };
    if let Some(value) = reading.value {
        on.within("value", value, limit);
    }
    if let Some(spread) = reading.spread {
        on.within("spread", spread, limit);
    }
    check_drift(reading, on);
    if let Some(id) = reading.alone {
        check_alone(scene, reading, id, on);
    }
    let at = reading.at_cm;
    let (low, high) = water_box_cm(&scene.tank);
    if !(at.cmpge(low).all() && at.cmple(high).all()) {
        on.error(Fault {
            field: "at_cm",
            value: place_text(at),
            limit: water_box_text(&scene.tank),
            way_out: "give the place in the water where it was taken",
        });
    }
    if let Some(name) = &reading.layout
        && scene.layout(Some(name)).is_none()
    {
        let known: Vec<_> = scene
            .layouts
            .iter()
            .take(limits::LAYOUTS_MAX)
            .map(|layout| format!("{:?}", layout.name))
            .collect();
        on.error(Fault {
            field: "layout",
            value: format!("{name:?}"),
            limit: format!("one of {}", known.join(", ")),
            way_out: "name the layout that stood when it was taken",
        });
    }
}

fn check_drift(reading: &Reading, on: &mut Examiner<'_>) {
    let Some(drift) = &reading.drift else { return };
    let way = on.within("drift.way_cm", drift.way_cm, &limits::DRIFT_WAY);
    let time = on.within("drift.time_s", drift.time_s, &limits::DRIFT_TIME);
    if reading.quantity != Quantity::Speed {
        on.error(Fault {
            field: "drift",
            value: "there".to_owned(),
            limit: "left out where light was measured".to_owned(),
            way_out: "leave it out, or set the quantity to Speed",
        });
    } else if way
        && time
        && let Some(read) = reading.value
        && (read - drift.speed_cm_s()).abs() > 0.02 * read + 0.05
    {
        on.error(Fault {
            field: "value",
            value: format!("{read} cm/s"),
            limit: format!("way over time, {:.2} cm/s", drift.speed_cm_s()),
            way_out: "correct the value, the way or the time",
        });
    }
}

/// Light is read with one lamp alone, speed with one pump alone.
fn check_alone(scene: &Scene, reading: &Reading, id: ItemId, on: &mut Examiner<'_>) {
    let Some(layout) = scene.layout(reading.layout.as_deref()) else {
        return;
    };
    let (is_there, limit) = match reading.quantity {
        Quantity::Speed => (
            layout.pumps.iter().any(|pump| pump.id == id),
            "the id of a pump of its layout",
        ),
        Quantity::PpfdUp | Quantity::PpfdScalar => (
            layout.lamps.iter().any(|lamp| lamp.id == id),
            "the id of a lamp of its layout",
        ),
    };
    if !is_there {
        on.error(Fault {
            field: "alone",
            value: id.to_string(),
            limit: limit.to_owned(),
            way_out: "name what ran alone, or leave it out if all ran",
        });
    }
}

pub(super) fn check_animals(scene: &Scene, issues: &mut Vec<Issue>) {
    let item = Subject {
        what: "scene",
        name: scene.name.clone(),
        ..Subject::default()
    };
    let few = Examiner::new(issues, item, String::new()).count(
        "animals",
        scene.animals.len(),
        limits::ANIMALS_MAX,
    );
    let n_looked_at = if few { scene.animals.len() } else { 0 };
    for (idx, animal) in scene.animals.iter().enumerate().take(n_looked_at) {
        let item = Subject {
            what: "animal",
            name: animal.name.clone(),
            ..Subject::default()
        };
        let mut on = Examiner::new(issues, item, format!("animals[{idx}]"));
        on.short("name", &animal.name);
        for (does_idx, behavior) in animal.does.iter().enumerate() {
            match *behavior {
                Behavior::NeedsCave { width_cm } => {
                    on.within(
                        &format!("does[{does_idx}].width_cm"),
                        width_cm,
                        &limits::ANIMAL_ROOM,
                    );
                }
                Behavior::NeedsLane { length_cm } => {
                    on.within(
                        &format!("does[{does_idx}].length_cm"),
                        length_cm,
                        &limits::ANIMAL_ROOM,
                    );
                }
                Behavior::Digs | Behavior::Pushes | Behavior::Hosts | Behavior::Perches => {}
            }
        }
    }
}

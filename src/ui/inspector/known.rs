//! What the keeper knows beside the drawing: readings, and animals by what they do.

use egui::Ui;

use crate::desk::{Action, Change};
use crate::scene::{Animal, Behavior, Drift, Quantity, Reading, aim};
use crate::ui::ask::Ask;
use crate::ui::inspector::coral::line;
use crate::ui::parts::{self, Number, Panel};
use crate::ui::{readings, text};
use crate::units::Measure;

/// The readings, each with its place and value.
pub fn readings(ui: &mut Ui, panel: &mut Panel<'_>) {
    let readings = panel.desk.scene().readings.clone();
    if !readings.is_empty() && parts::link(ui, panel.theme, text::PAGE_READINGS).clicked() {
        panel.ask.push(Ask::Do(Action::Readings));
    }
    let n_before_id = egui::Id::unique("number of readings");
    let n_before = ui.data(|data| data.get_temp::<usize>(n_before_id));
    ui.data_mut(|data| data.insert_temp(n_before_id, readings.len()));
    let is_new = |idx: usize| n_before.is_some_and(|n_before| idx >= n_before);
    for idx in 0..readings.len() {
        let shown = ui.push_id(("reading", idx), |ui| reading(ui, panel, &readings, idx));
        // A reading that was just added is what the keeper wants to fill in.
        if is_new(idx) {
            shown.response.scroll_to_me(Some(egui::Align::Center));
        }
    }
}

fn reading(ui: &mut Ui, panel: &mut Panel<'_>, readings: &[Reading], idx: usize) {
    let theme = panel.theme;
    let reading = &readings[idx];
    let title = text::reading_number(idx + 1);
    parts::heading(ui, &title);
    let measure = readings::measure(reading.quantity);
    if let Some(check) = panel.desk.results().readings.of(idx) {
        let computed = check.computed.map(|value| panel.text(measure, value));
        let measured = panel.text(measure, check.measured);
        let words = text::measured_computed(&measured, computed.as_deref());
        parts::aside(ui, theme, words);
    }
    let with = |change: &dyn Fn(&mut Reading)| {
        let mut readings = readings.to_vec();
        change(&mut readings[idx]);
        Change::Readings(readings)
    };
    of_what(ui, panel, readings, idx);
    let alone = parts::row(ui, theme, text::RAN_ALONE, |ui| {
        readings::ran_alone(ui, panel, reading, idx)
    });
    if let Some(alone) = alone {
        panel.edit(text::SET_READING, alone);
    }
    if reading.quantity == Quantity::Speed {
        drift(ui, panel, readings, idx);
    }
    if reading.drift.is_none() || reading.quantity != Quantity::Speed {
        let number = Number::new(text::VALUE, measure, (0.0, 5000.0));
        let number = number.open_if(reading.value.is_none());
        parts::number_row(ui, panel, &number, reading.measured(), |new| {
            with(&|reading| reading.value = Some(new))
        });
    }
    let number = Number::new(text::GIVE_OR_TAKE, measure, (0.0, 5000.0));
    parts::number_row(ui, panel, &number, reading.spread.unwrap_or(0.0), |new| {
        with(&|reading| reading.spread = (new > 0.0).then_some(new))
    });
    let names = [text::FROM_LEFT, text::FROM_FRONT, text::HEIGHT];
    for (axis, name) in names.into_iter().enumerate() {
        let number = Number::new(name, Measure::Length, (0.0, 600.0));
        parts::number_row(ui, panel, &number, reading.at_cm[axis], |new| {
            with(&|reading| reading.at_cm[axis] = new)
        });
    }
    let when = reading.when.clone().unwrap_or_default();
    if let Some(new) = line(ui, panel, text::WHEN, &when) {
        let when = (!new.is_empty()).then_some(new);
        panel.edit(
            text::SET_READING,
            with(&|reading| reading.when.clone_from(&when)),
        );
    }
    if parts::link(ui, theme, &text::remove_thing(&title)).clicked() {
        let mut readings = readings.to_vec();
        readings.remove(idx);
        panel.edit(text::REMOVE_READING, Change::Readings(readings));
    }
}

/// What was measured; another kind of value lets go of the one that is there.
fn of_what(ui: &mut Ui, panel: &mut Panel<'_>, readings: &[Reading], idx: usize) {
    let reading = &readings[idx];
    let options = [
        (Quantity::PpfdUp, text::LIGHT_UP),
        (Quantity::PpfdScalar, text::LIGHT_ROUND),
        (Quantity::Speed, text::SPEED),
    ];
    let new = parts::row(ui, panel.theme, text::OF_WHAT, |ui| {
        parts::choice(ui, panel.theme, &options, |option| {
            option == reading.quantity
        })
    });
    if let Some(quantity) = new {
        let mut readings = readings.to_vec();
        let reading = &mut readings[idx];
        // A value of light is none of speed.
        let is_light = |quantity| quantity != Quantity::Speed;
        if is_light(quantity) != is_light(reading.quantity) {
            (reading.value, reading.spread, reading.drift) = (None, None, None);
        }
        reading.quantity = quantity;
        panel.edit(text::SET_READING, Change::Readings(readings));
    }
}

/// How a speed was taken: by a meter, or by a particle timed over a way; and
/// where on the jet, if one pump ran alone.
fn drift(ui: &mut Ui, panel: &mut Panel<'_>, readings: &[Reading], idx: usize) {
    let reading = &readings[idx];
    let with = |change: &dyn Fn(&mut Reading)| {
        let mut readings = readings.to_vec();
        change(&mut readings[idx]);
        Change::Readings(readings)
    };
    // Way and tries alone make no value; the time does.
    let set = |drift: Drift| {
        with(&|reading| {
            reading.drift = Some(drift);
            reading.value = reading.value.map(|_| drift.speed_cm_s());
        })
    };
    let timed = |drift: Drift| {
        with(&|reading| {
            reading.drift = Some(drift);
            reading.value = Some(drift.speed_cm_s());
        })
    };
    let options = [(false, text::BY_METER), (true, text::BY_DRIFT)];
    let new = parts::row(ui, panel.theme, text::TAKEN_BY, |ui| {
        let is_drift = reading.drift.is_some();
        parts::choice(ui, panel.theme, &options, |option| option == is_drift)
    });
    match new {
        Some(true) => {
            let way_cm = 10.0;
            let speed_cm_s = reading.value.unwrap_or(1.0).clamp(0.1, 200.0);
            let drift = Drift {
                way_cm,
                time_s: way_cm / speed_cm_s,
                times: 5,
            };
            panel.edit(text::SET_READING, set(drift));
        }
        Some(false) => panel.edit(text::SET_READING, with(&|reading| reading.drift = None)),
        None => {}
    }
    if let Some(drift) = reading.drift {
        let number = Number::new(text::WAY, Measure::Length, (0.5, 300.0));
        parts::number_row(ui, panel, &number, drift.way_cm, |way_cm| {
            set(Drift { way_cm, ..drift })
        });
        let number = Number::new(text::TIME, Measure::Seconds, (0.1, 3600.0));
        let number = number.open_if(reading.value.is_none());
        parts::number_row(ui, panel, &number, drift.time_s, |time_s| {
            timed(Drift { time_s, ..drift })
        });
        let number = Number::new(text::TRIES, Measure::Plain, (1.0, 1000.0));
        parts::number_row(ui, panel, &number, f64::from(drift.times), |times| {
            set(Drift {
                times: times.round() as u32,
                ..drift
            })
        });
    }
    let pumps = &panel.desk.layout().pumps;
    let pump = pumps.iter().find(|pump| Some(pump.id) == reading.alone);
    if let Some(pump) = pump {
        let along = aim(pump.turn_deg, pump.tilt_deg);
        let from_cm = pump.at_cm;
        let way_cm = (reading.at_cm - from_cm).dot(along).max(0.0);
        let number = Number::new(text::ON_AXIS, Measure::Length, (0.0, 400.0));
        parts::number_row(ui, panel, &number, way_cm, |new| {
            with(&|reading| reading.at_cm = from_cm + along * new)
        });
    }
}

/// The animals, each with what it does.
pub fn animals(ui: &mut Ui, panel: &mut Panel<'_>) {
    let animals = panel.desk.scene().animals.clone();
    for idx in 0..animals.len() {
        ui.push_id(("animal", idx), |ui| animal(ui, panel, &animals, idx));
    }
}

fn animal(ui: &mut Ui, panel: &mut Panel<'_>, animals: &[Animal], idx: usize) {
    let theme = panel.theme;
    let animal = &animals[idx];
    parts::heading(ui, &animal.name);
    let with = |change: &dyn Fn(&mut Animal)| {
        let mut animals = animals.to_vec();
        change(&mut animals[idx]);
        Change::Animals(animals)
    };
    if let Some(name) = line(ui, panel, text::NAME, &animal.name)
        && !name.is_empty()
    {
        panel.edit(
            text::SET_ANIMAL,
            with(&|animal| animal.name.clone_from(&name)),
        );
    }
    let options = [
        (Behavior::Digs, text::DIGS),
        (Behavior::Pushes, text::PUSHES),
        (Behavior::Hosts, text::HOSTS),
        (Behavior::Perches, text::PERCHES),
        (Behavior::NeedsCave { width_cm: 10.0 }, text::NEEDS_CAVE),
        (Behavior::NeedsLane { length_cm: 60.0 }, text::NEEDS_LANE),
    ];
    let same = |a: &Behavior, b: &Behavior| std::mem::discriminant(a) == std::mem::discriminant(b);
    ui.horizontal_wrapped(|ui| {
        for (option, word) in options {
            let place = animal.does.iter().position(|does| same(does, &option));
            if parts::word(ui, theme, word, place.is_some()).clicked() {
                let change = with(&|animal| match place {
                    Some(place) => drop(animal.does.remove(place)),
                    None => animal.does.push(option),
                });
                panel.edit(text::SET_ANIMAL, change);
            }
        }
    });
    for (place, does) in animal.does.iter().enumerate() {
        let (name, value) = match does {
            Behavior::NeedsCave { width_cm } => (text::CAVE_WIDTH, *width_cm),
            Behavior::NeedsLane { length_cm } => (text::LANE_LENGTH, *length_cm),
            _ => continue,
        };
        let number = Number::new(name, Measure::Length, (1.0, 500.0));
        parts::number_row(ui, panel, &number, value, |new| {
            with(&|animal| match &mut animal.does[place] {
                Behavior::NeedsCave { width_cm } => *width_cm = new,
                Behavior::NeedsLane { length_cm } => *length_cm = new,
                _ => {}
            })
        });
    }
    if parts::link(ui, theme, &text::remove_thing(&animal.name)).clicked() {
        let mut animals = animals.to_vec();
        animals.remove(idx);
        panel.edit(text::REMOVE_ANIMAL, Change::Animals(animals));
    }
}

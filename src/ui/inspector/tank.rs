//! The tank: shown when nothing is selected.

use egui::{RichText, Ui};

use crate::advice::{drain_down, waves_and_drivers};
use crate::desk::{Action, Change, Command, SearchStatus, Settings};
use crate::improve::outage::{FOLLOWED_S, STILL_M_S};
use crate::scene::{Overflow, Side, SideName, Tank};
use crate::ui::ask::Ask;
use crate::ui::inspector::{finer, known};
use crate::ui::parts::{self, Number, Panel};
use crate::ui::{text, theme};
use crate::units::{M_PER_CM, Measure};

/// Draws it.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let tank = panel.desk.scene().tank.clone();
    ui.label(RichText::new(text::THE_TANK).font(theme::bold(theme::HEADING_SIZE)));
    let water_l = tank.length_cm * tank.width_cm * tank.water_cm / 1000.0;
    let shown = panel.text(Measure::Volume, water_l);
    parts::aside(ui, panel.theme, text::tank_holds(&shown));
    let n_hidden = panel.desk.hidden().len();
    if n_hidden > 0 && parts::link(ui, panel.theme, &text::n_hidden(n_hidden)).clicked() {
        panel.ask.push(Ask::Do(Action::ShowAll));
    }
    size(ui, panel, &tank);
    bed(ui, panel, &tank);
    sides(ui, panel, &tank);
    returns(ui, panel, &tank);
    overflow(ui, panel, &tank);
    distances(ui, panel);
    outage(ui, panel);
    finer::show(ui, panel);
    known::readings(ui, panel);
    known::animals(ui, panel);
    limits(ui, panel);
    next_pump(ui, panel);
}

fn put(tank: Tank) -> Change {
    Change::Tank(Box::new(tank))
}

fn size(ui: &mut Ui, panel: &mut Panel<'_>, tank: &Tank) {
    parts::heading(ui, text::INSIDE);
    let number = Number::new(text::LENGTH, Measure::Length, (10.0, 600.0));
    parts::number_row(ui, panel, &number, tank.length_cm, |new| {
        put(Tank {
            length_cm: new,
            ..tank.clone()
        })
    });
    let number = Number::new(text::DEPTH, Measure::Length, (10.0, 400.0));
    parts::number_row(ui, panel, &number, tank.width_cm, |new| {
        put(Tank {
            width_cm: new,
            ..tank.clone()
        })
    });
    let number = Number::new(text::RISE, Measure::Length, (10.0, 300.0));
    parts::number_row(ui, panel, &number, tank.height_cm, |new| {
        put(Tank {
            height_cm: new,
            water_cm: tank.water_cm.min(new),
            ..tank.clone()
        })
    });
    let number = Number::new(text::WATER_UP_TO, Measure::Length, (5.0, tank.height_cm));
    parts::number_row(ui, panel, &number, tank.water_cm, |new| {
        put(Tank {
            water_cm: new,
            ..tank.clone()
        })
    });
}

fn bed(ui: &mut Ui, panel: &mut Panel<'_>, tank: &Tank) {
    parts::heading(ui, text::SAND_BED);
    let with = |change: &dyn Fn(&mut Tank)| {
        let mut tank = tank.clone();
        change(&mut tank);
        put(tank)
    };
    let number = Number::new(text::SAND_DEPTH, Measure::Length, (0.0, 40.0));
    parts::number_row(ui, panel, &number, tank.sand.depth_cm, |new| {
        with(&|tank| tank.sand.depth_cm = new)
    });
    let number = Number::new(text::GRAIN, Measure::Grain, (0.05, 20.0));
    parts::number_row(ui, panel, &number, tank.sand.grain_mm, |new| {
        with(&|tank| tank.sand.grain_mm = new)
    });
    let number = Number::new(text::SAND_REFLECTS, Measure::Share, (0.0, 1.0));
    parts::number_row(ui, panel, &number, tank.sand.reflectance, |new| {
        with(&|tank| tank.sand.reflectance = new)
    });
    let number = Number::new(text::WATER_TAKES, Measure::Absorption, (0.0, 5.0));
    parts::number_row(ui, panel, &number, tank.water.absorption_per_m, |new| {
        with(&|tank| tank.water.absorption_per_m = new)
    });
}

fn sides(ui: &mut Ui, panel: &mut Panel<'_>, tank: &Tank) {
    parts::heading(ui, text::GLASS);
    let theme = panel.theme;
    for (name, label) in SIDES {
        let side = match name {
            SideName::Left => tank.sides.left,
            SideName::Right => tank.sides.right,
            SideName::Front => tank.sides.front,
            SideName::Back => tank.sides.back,
        };
        let options = [(Side::Clear, text::CLEAR), (Side::Black, text::BLACK)];
        let new = parts::row(ui, theme, label, |ui| {
            parts::choice(ui, theme, &options, |option| option == side)
        });
        if let Some(new) = new {
            let mut tank = tank.clone();
            match name {
                SideName::Left => tank.sides.left = new,
                SideName::Right => tank.sides.right = new,
                SideName::Front => tank.sides.front = new,
                SideName::Back => tank.sides.back = new,
            }
            panel.edit(text::SET_SIDE, put(tank));
        }
    }
}

const SIDES: [(SideName, &str); 4] = [
    (SideName::Left, text::LEFT),
    (SideName::Right, text::RIGHT),
    (SideName::Front, text::FRONT),
    (SideName::Back, text::BACK),
];

fn returns(ui: &mut Ui, panel: &mut Panel<'_>, tank: &Tank) {
    for (idx, nozzle) in tank.returns.iter().enumerate() {
        let title = text::return_number(idx + 1);
        let theme = panel.theme;
        ui.push_id(("return", idx), |ui| {
            parts::heading(ui, &title);
            let rows = [
                (text::FLOW, Measure::Flow, (0.0, 50_000.0), nozzle.flow_lph),
                (text::OUTLET, Measure::Length, (0.3, 30.0), nozzle.outlet_cm),
                (
                    text::FROM_LEFT,
                    Measure::Length,
                    (0.0, tank.length_cm),
                    nozzle.at_cm.x,
                ),
                (
                    text::FROM_FRONT,
                    Measure::Length,
                    (0.0, tank.width_cm),
                    nozzle.at_cm.y,
                ),
                (
                    text::HEIGHT,
                    Measure::Length,
                    (0.0, tank.height_cm),
                    nozzle.at_cm.z,
                ),
                (text::TURN, Measure::Angle, (-360.0, 360.0), nozzle.turn_deg),
                (
                    text::RISE_ANGLE,
                    Measure::Angle,
                    (-90.0, 90.0),
                    nozzle.tilt_deg,
                ),
            ];
            for (field, (name, measure, range, value)) in rows.into_iter().enumerate() {
                let number = Number::new(name, measure, range);
                parts::number_row(ui, panel, &number, value, |new| {
                    let mut tank = tank.clone();
                    let nozzle = &mut tank.returns[idx];
                    match field {
                        0 => nozzle.flow_lph = new,
                        1 => nozzle.outlet_cm = new,
                        2 => nozzle.at_cm.x = new,
                        3 => nozzle.at_cm.y = new,
                        4 => nozzle.at_cm.z = new,
                        5 => nozzle.turn_deg = new,
                        _ => nozzle.tilt_deg = new,
                    }
                    put(tank)
                });
            }
            if parts::link(ui, theme, &text::remove_thing(&title)).clicked() {
                let mut tank = tank.clone();
                tank.returns.remove(idx);
                panel.edit(text::REMOVE_RETURN, put(tank));
            }
        });
    }
}

fn overflow(ui: &mut Ui, panel: &mut Panel<'_>, tank: &Tank) {
    let theme = panel.theme;
    parts::heading(ui, text::OVERFLOW);
    let with = |overflow: Option<Overflow>| {
        put(Tank {
            overflow,
            ..tank.clone()
        })
    };
    let Some(weir) = tank.overflow else {
        if parts::link(ui, theme, text::ADD_OVERFLOW).clicked() {
            let weir = Overflow {
                side: SideName::Back,
                from_cm: tank.length_cm * 0.05,
                to_cm: tank.length_cm * 0.05 + 20.0_f64.min(tank.length_cm * 0.5),
                depth_cm: 4.0,
            };
            panel.edit(text::ADD_OVERFLOW, with(Some(weir)));
        }
        return;
    };
    let new = parts::row(ui, theme, text::IN_PANE, |ui| {
        parts::choice(ui, theme, &SIDES, |side| side == weir.side)
    });
    if let Some(side) = new {
        panel.edit(text::SET_OVERFLOW, with(Some(Overflow { side, ..weir })));
    }
    let number = Number::new(text::WEIR_FROM, Measure::Length, (0.0, weir.to_cm));
    parts::number_row(ui, panel, &number, weir.from_cm, |from_cm| {
        with(Some(Overflow { from_cm, ..weir }))
    });
    let most = tank.length_cm.max(tank.width_cm);
    let number = Number::new(text::WEIR_TO, Measure::Length, (weir.from_cm, most));
    parts::number_row(ui, panel, &number, weir.to_cm, |to_cm| {
        with(Some(Overflow { to_cm, ..weir }))
    });
    let number = Number::new(text::WEIR_DEPTH, Measure::Length, (0.5, tank.water_cm));
    parts::number_row(ui, panel, &number, weir.depth_cm, |depth_cm| {
        with(Some(Overflow { depth_cm, ..weir }))
    });
    if parts::link(ui, theme, text::REMOVE_OVERFLOW).clicked() {
        panel.edit(text::REMOVE_OVERFLOW, with(None));
    }
}

/// What the keeper calls dead, shaded, and how far ahead to look.
fn limits(ui: &mut Ui, panel: &mut Panel<'_>) {
    parts::heading(ui, text::LIMITS);
    let theme = panel.theme;
    let settings = panel.desk.settings().clone();
    let rows = [
        (
            text::DEAD_BELOW,
            Measure::Speed,
            (0.1, 20.0),
            settings.dead_limit_cm_s,
        ),
        (
            text::SHADED_BELOW,
            Measure::Share,
            (0.01, 1.0),
            settings.shade_share,
        ),
    ];
    for (field, (name, measure, range, value)) in rows.into_iter().enumerate() {
        let number = Number::new(name, measure, range);
        let (_, new) = parts::row(ui, theme, name, |ui| {
            number.plain(ui, settings.units, value)
        });
        if let Some(new) = new {
            let mut settings: Settings = settings.clone();
            match field {
                0 => settings.dead_limit_cm_s = new,
                _ => settings.shade_share = new,
            }
            panel.send.push(Command::SetSettings(Box::new(settings)));
        }
    }
}

/// Distances that a builder checks with a ruler and that will not do.
fn distances(ui: &mut Ui, panel: &mut Panel<'_>) {
    let distances = std::sync::Arc::clone(&panel.desk.results().distances);
    if distances.is_empty() {
        return;
    }
    parts::heading(ui, text::DISTANCES);
    let short: Vec<_> = distances.iter().filter(|it| !it.is_good()).collect();
    for distance in &short {
        let said = panel.speaker().distance(distance);
        if let Some(id) = distance.items.first() {
            if ui.link(said).clicked() {
                panel.send.push(Command::Select(vec![*id]));
            }
        } else {
            ui.label(said);
        }
    }
    let n_good = distances.len() - short.len();
    parts::aside(
        ui,
        panel.theme,
        text::good_distances(n_good, distances.len()),
    );
}

/// What the tank does when the power fails, and how its surface sways by itself.
fn outage(ui: &mut Ui, panel: &mut Panel<'_>) {
    let study = panel.desk.study();
    let (drain, waves) = (drain_down(study.scene()), waves_and_drivers(study));
    parts::heading(ui, text::IF_POWER_FAILS);
    let speaker = panel.speaker();
    for words in drain.iter().flat_map(|drain| speaker.drains(drain)) {
        ui.label(words);
    }
    parts::aside(ui, panel.theme, text::STILL_WATER);
    if !study.layout().pumps.is_empty() {
        failures(ui, panel);
    }
    ui.label(text::SWAYS);
    for (wave, driven_by) in &waves {
        ui.label(format!("· {}", speaker.sways(wave, driven_by)));
    }
}

/// Each pump failing in turn, worked out when it is asked for.
fn failures(ui: &mut Ui, panel: &mut Panel<'_>) {
    let status = panel.desk.results().failing.clone();
    let found = panel.desk.results().outage.clone();
    let again = match (&status, &found) {
        (SearchStatus::Running(share), _) => {
            ui.horizontal_wrapped(|ui| {
                ui.label(text::failing(*share));
                if parts::link(ui, panel.theme, text::STOP).clicked() {
                    panel.ask.push(Ask::Do(Action::StopWork));
                }
            });
            return;
        }
        (SearchStatus::Done, Some(_)) => None,
        (SearchStatus::Old, _) => Some(text::FAIL_EACH_AGAIN),
        (SearchStatus::Done | SearchStatus::Idle, _) => Some(text::FAIL_EACH),
    };
    if let Some(words) = again
        && parts::link(ui, panel.theme, words).clicked()
    {
        panel.send.push(Command::TryOutage);
    }
    // Pumps of an earlier state may be gone by now.
    let Some(found) = found.filter(|_| status == SearchStatus::Done) else {
        return;
    };
    let speaker = panel.speaker();
    for failure in &found.pumps {
        let words = speaker.without(failure.pump, &found.before, &failure.after);
        if ui.link(words).clicked() {
            panel.send.push(Command::Select(vec![failure.pump]));
        }
        for spot in failure.dead.iter().take(2) {
            parts::aside(ui, panel.theme, speaker.finding(spot));
        }
    }
    if let Some(still) = found.all_off {
        ui.label(speaker.rests(still.after_s, STILL_M_S / M_PER_CM, FOLLOWED_S));
    }
}

/// The pump that a search for a place is about.
fn next_pump(ui: &mut Ui, panel: &mut Panel<'_>) {
    parts::heading(ui, text::NEXT_PUMP);
    let theme = panel.theme;
    let old = panel.desk.settings();
    let shown = panel.desk.wanted_pump();
    let mut settings = old.clone();
    let number = Number::new(text::NEXT_FLOW, Measure::Flow, (50.0, 100_000.0));
    let (_, flow) = parts::row(ui, theme, text::NEXT_FLOW, |ui| {
        number.plain(ui, old.units, shown.flow_lph)
    });
    let number = Number::new(text::NEXT_OUTLET, Measure::Length, (0.5, 30.0));
    let (_, outlet) = parts::row(ui, theme, text::NEXT_OUTLET, |ui| {
        number.plain(ui, old.units, shown.outlet_cm)
    });
    let options = [(false, text::NEXT_ONE), (true, text::NEXT_OWN)];
    let own = parts::row(ui, theme, text::NEXT_SIZES, |ui| {
        parts::choice(ui, theme, &options, |own| own == old.search_own_sizes)
    });
    settings.wanted_flow_lph = flow.or(old.wanted_flow_lph);
    settings.wanted_outlet_cm = outlet.or(old.wanted_outlet_cm);
    settings.search_own_sizes = own.unwrap_or(old.search_own_sizes);
    if settings != *old {
        panel.send.push(Command::SetSettings(Box::new(settings)));
    }
}

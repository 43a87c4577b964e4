//! Pumps and lamps.

use std::collections::BTreeMap;

use super::issue::{Examiner, Fault};
use super::tank::check_exit_speed;
use super::{Issue, LayoutPlace, limits, place_text, rock_around};
use crate::geometry::Rockwork;
use crate::scene::{Body, Lamp, Output, Programme, Pump, PumpKind, Spread};
use crate::units::exit_speed_m_s;

pub(super) fn check_pumps(place: &LayoutPlace<'_>, rockwork: &Rockwork, issues: &mut Vec<Issue>) {
    for (idx, pump) in place.layout.pumps.iter().enumerate() {
        let item = place.subject("pump", &pump.name, pump.id);
        let mut on = Examiner::new(issues, item, place.path("pumps", idx));
        check_pump(place, pump, rockwork, &mut on);
    }
    check_sets(place, issues);
}

fn check_pump(place: &LayoutPlace<'_>, pump: &Pump, rockwork: &Rockwork, on: &mut Examiner<'_>) {
    let in_water = place.place_in_water(pump.at_cm, "move its outlet into the water", on);
    on.within("turn_deg", pump.turn_deg, &limits::TURN);
    on.within("tilt_deg", pump.tilt_deg, &limits::TILT);
    on.within("throttle", pump.throttle, &limits::SHARE);
    if let Some(power_w) = pump.power_w {
        on.within("power_w", power_w, &limits::POWER);
    }
    let flow = on.within("flow_lph", pump.flow_lph, &limits::FLOW);
    let outlet = on.within("outlet_cm", pump.outlet_cm, &limits::OUTLET);
    if let PumpKind::CrossFlow { length_cm } = pump.kind {
        on.within("kind.length_cm", length_cm, &limits::SLOT_LENGTH);
    } else if flow && outlet {
        check_exit_speed(exit_speed_m_s(pump.flow_lph, pump.outlet_cm), on);
    }
    check_programme(&pump.programme, on);
    check_hours(pump, on);
    if let Some(jet) = &pump.measured {
        on.measure(
            "measured.flow_share",
            &jet.flow_share,
            &limits::MEASURED_SHARE,
        );
        if let Some(offset) = &jet.offset_cm {
            on.measure("measured.offset_cm", offset, &limits::JET_OFFSET);
        }
    }
    if !in_water {
        return;
    }
    if let Some(rock) = rock_around(place.layout, rockwork, pump.at_cm) {
        on.warn(Fault {
            field: "at_cm",
            value: format!("{}, inside {rock}", place_text(pump.at_cm)),
            limit: "in open water".to_owned(),
            way_out: "move the pump or the rock",
        });
    }
    let top_cm = pump.at_cm.z + pump.outlet_cm / 2.0;
    if outlet && place.tank_is_sound && top_cm > place.tank.water_cm {
        on.warn(Fault {
            field: "at_cm",
            value: format!(
                "so high that the outlet's rim is {:.1} cm above the water",
                top_cm - place.tank.water_cm
            ),
            limit: "deep enough to cover the outlet".to_owned(),
            way_out: "lower the pump, or it draws air",
        });
    }
}

fn check_programme(programme: &Programme, on: &mut Examiner<'_>) {
    match *programme {
        Programme::Steady => {}
        Programme::Pulse { period_s, share } => {
            on.within("programme.period_s", period_s, &limits::PERIOD);
            on.within("programme.share", share, &limits::SHARE);
        }
        Programme::Alternate {
            period_s,
            turn,
            of,
            set: _,
        } => {
            on.within("programme.period_s", period_s, &limits::PERIOD);
            if on.within("programme.of", f64::from(of), &limits::SET_MEMBERS) && turn >= of {
                on.error(Fault {
                    field: "programme.turn",
                    value: turn.to_string(),
                    limit: format!("0 to {}", of - 1),
                    way_out: "turns count from 0",
                });
            }
        }
    }
}

/// Shares by the hour stand in the order of their hours.
fn check_hours(pump: &Pump, on: &mut Examiner<'_>) {
    for from in &pump.by_hour {
        on.within("by_hour.hour", from.hour, &limits::SHARE_HOUR);
        on.within("by_hour.share", from.share, &limits::SHARE);
    }
    let pairs = pump.by_hour.windows(2);
    if pairs.into_iter().any(|pair| pair[0].hour >= pair[1].hour) {
        on.error(Fault {
            field: "by_hour",
            value: "hours out of order".to_owned(),
            limit: "each hour later than the one before".to_owned(),
            way_out: "sort them from morning to night, each hour once",
        });
    }
}

/// Members of one alternating set must agree on how many they are and when.
fn check_sets(place: &LayoutPlace<'_>, issues: &mut Vec<Issue>) {
    let mut sets: BTreeMap<u32, (u32, f64)> = BTreeMap::new();
    for (idx, pump) in place.layout.pumps.iter().enumerate() {
        let Programme::Alternate {
            set,
            period_s,
            of,
            turn: _,
        } = pump.programme
        else {
            continue;
        };
        let (first_of, first_period_s) = *sets.entry(set).or_insert((of, period_s));
        if (first_of, first_period_s) != (of, period_s) {
            let item = place.subject("pump", &pump.name, pump.id);
            Examiner::new(issues, item, place.path("pumps", idx)).warn(Fault {
                field: "programme",
                value: format!("set {set} with {of} members every {period_s} s"),
                limit: format!(
                    "{first_of} members every {first_period_s} s, as the set's first pump says"
                ),
                way_out: "give all pumps of a set the same numbers",
            });
        }
    }
}

pub(super) fn check_lamps(place: &LayoutPlace<'_>, issues: &mut Vec<Issue>) {
    for (idx, lamp) in place.layout.lamps.iter().enumerate() {
        let item = place.subject("lamp", &lamp.name, lamp.id);
        let mut on = Examiner::new(issues, item, place.path("lamps", idx));
        check_lamp_place(place, lamp, &mut on);
        check_lamp_body(&lamp.body, &mut on);
        check_output(place, &lamp.output, &mut on);
        on.within("dim", lamp.dim, &limits::SHARE);
        if let Some(found) = &lamp.measured {
            on.measure("measured", found, &limits::MEASURED_SHARE);
        }
        match &lamp.spread {
            Spread::Beam { full_angle_deg } => {
                on.within(
                    "spread.full_angle_deg",
                    *full_angle_deg,
                    &limits::BEAM_ANGLE,
                );
            }
            Spread::Measured { file, sum } => {
                let way_out = "copy the IES file into the scene's folder and give its name alone";
                on.beside("spread.file", file, way_out);
                on.short("spread.sum", sum);
            }
        }
        let hours = on.within("day.hours", lamp.day.hours, &limits::DAY_HOURS);
        let ramp = on.within("day.ramp_hours", lamp.day.ramp_hours, &limits::RAMP_HOURS);
        on.within("day.first_hour", lamp.day.first_hour, &limits::FIRST_HOUR);
        if hours && ramp && lamp.day.ramp_hours * 2.0 > lamp.day.hours {
            on.error(Fault {
                field: "day.ramp_hours",
                value: format!("{} h", lamp.day.ramp_hours),
                limit: format!("at most half of the day's {} h", lamp.day.hours),
                way_out: "shorten the ramp; it rises and falls within the day's hours",
            });
        }
    }
}

fn check_lamp_place(place: &LayoutPlace<'_>, lamp: &Lamp, on: &mut Examiner<'_>) {
    on.within("turn_deg", lamp.turn_deg, &limits::TURN);
    on.within("tilt_deg", lamp.tilt_deg, &limits::LAMP_TILT);
    let (at, tank) = (lamp.at_cm, place.tank);
    let (beyond, above) = (limits::LAMP_BEYOND_MAX_CM, &limits::LAMP_HEIGHT);
    let beside = at.x >= -beyond
        && at.x <= tank.length_cm + beyond
        && at.y >= -beyond
        && at.y <= tank.width_cm + beyond;
    if at.is_finite() && (!place.tank_is_sound || (beside && above.holds(at.z - tank.water_cm))) {
        return;
    }
    let under = at.is_finite() && at.z <= tank.water_cm;
    on.error(Fault {
        field: "at_cm",
        value: format!(
            "{}{}",
            place_text(at),
            if under { ", under water" } else { "" }
        ),
        limit: format!(
            "{} to {} cm above the water at {} cm and within {beyond} cm of the tank's sides",
            above.min, above.max, tank.water_cm
        ),
        way_out: if under {
            "raise the lamp above the water"
        } else {
            "bring the lamp closer"
        },
    });
}

fn check_lamp_body(body: &Body, on: &mut Examiner<'_>) {
    match *body {
        Body::Panel {
            length_cm,
            width_cm,
        } => {
            on.within("body.length_cm", length_cm, &limits::LAMP_SIZE);
            on.within("body.width_cm", width_cm, &limits::LAMP_SIZE);
        }
        Body::Disc { diameter_cm } => {
            on.within("body.diameter_cm", diameter_cm, &limits::LAMP_SIZE);
        }
        Body::Tube { length_cm } => {
            on.within("body.length_cm", length_cm, &limits::LAMP_SIZE);
        }
    }
}

fn check_output(place: &LayoutPlace<'_>, output: &Output, on: &mut Examiner<'_>) {
    match *output {
        Output::Photons { umol_s } => {
            on.within("output.umol_s", umol_s, &limits::PHOTONS);
        }
        Output::Power {
            power_w,
            efficacy_umol_j,
        } => {
            on.within("output.power_w", power_w, &limits::POWER);
            on.within("output.efficacy_umol_j", efficacy_umol_j, &limits::EFFICACY);
        }
        Output::Reading { at_cm, ppfd_umol } => {
            on.within("output.ppfd_umol", ppfd_umol, &limits::LAMP_READING);
            if !at_cm.is_finite() || !place.in_water(at_cm) {
                on.error(Fault {
                    field: "output.at_cm",
                    value: place_text(at_cm),
                    limit: super::water_box_text(place.tank),
                    way_out: "give the place in the water where the reading was taken",
                });
            }
        }
    }
}

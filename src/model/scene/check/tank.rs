//! The tank: measures, sand, water, returns and overflow.

use glam::DVec3;

use super::issue::{Examiner, Fault, Subject};
use super::{Issue, limits, place_text, water_box_text};
use crate::scene::{Overflow, Return, SideName, Tank};
use crate::units::exit_speed_m_s;

/// Checks the tank; returns whether its measures are sound enough to compare
/// places with.
pub(super) fn check(tank: &Tank, issues: &mut Vec<Issue>) -> bool {
    let n_before = issues.len();
    let item = Subject {
        what: "tank",
        ..Subject::default()
    };
    let mut on = Examiner::new(issues, item, "tank".to_owned());
    on.within("length_cm", tank.length_cm, &limits::TANK_SIZE);
    on.within("width_cm", tank.width_cm, &limits::TANK_SIZE);
    on.within("height_cm", tank.height_cm, &limits::TANK_SIZE);
    on.within("sand.depth_cm", tank.sand.depth_cm, &limits::SAND_DEPTH);
    check_water_level(tank, &mut on);
    let is_sound = issues.len() == n_before;
    let item = Subject {
        what: "tank",
        ..Subject::default()
    };
    let mut on = Examiner::new(issues, item, "tank".to_owned());
    on.within("sand.grain_mm", tank.sand.grain_mm, &limits::SAND_GRAIN);
    on.within(
        "sand.reflectance",
        tank.sand.reflectance,
        &limits::REFLECTANCE,
    );
    on.within(
        "water.absorption_per_m",
        tank.water.absorption_per_m,
        &limits::ABSORPTION,
    );
    on.within(
        "panes.returned_share",
        tank.panes.returned_share,
        &limits::RETURNED_SHARE,
    );
    if let Some(found) = &tank.panes.measured {
        on.measure("panes.measured", found, &limits::RETURNED_SHARE);
    }
    if let Some(found) = &tank.water.measured {
        on.measure("water.measured", found, &limits::ABSORPTION);
    }
    on.within(
        "water.refractive_index",
        tank.water.refractive_index,
        &limits::REFRACTIVE_INDEX,
    );
    let few = on.count("returns", tank.returns.len(), limits::RETURNS_MAX);
    if tank.overflow.is_some() && tank.returns.is_empty() {
        on.warn(Fault {
            field: "overflow",
            value: "there without a return".to_owned(),
            limit: "fed by at least one return".to_owned(),
            way_out: "add the return nozzle, or leave the overflow out",
        });
    }
    if let Some(overflow) = &tank.overflow {
        check_overflow(overflow, tank, is_sound, &mut on);
    }
    if few {
        for (idx, nozzle) in tank.returns.iter().enumerate() {
            check_return(nozzle, idx, (tank, is_sound), issues);
        }
    }
    is_sound
}

fn check_water_level(tank: &Tank, on: &mut Examiner<'_>) {
    let low = tank.sand.depth_cm + limits::WATER_MIN_CM;
    if !(tank.water_cm >= low && tank.water_cm <= tank.height_cm) {
        on.error(Fault {
            field: "water_cm",
            value: format!("{} cm", tank.water_cm),
            limit: format!(
                "{low} to {} cm (at least {} cm above the sand, no higher than the rim)",
                tank.height_cm,
                limits::WATER_MIN_CM
            ),
            way_out: "give the water's height above the inner bottom in cm",
        });
    }
}

fn check_overflow(overflow: &Overflow, tank: &Tank, is_sound: bool, on: &mut Examiner<'_>) {
    let Overflow {
        side,
        from_cm,
        to_cm,
        depth_cm,
    } = *overflow;
    on.within("overflow.depth_cm", depth_cm, &limits::OVERFLOW_DEPTH);
    let side_cm = match side {
        SideName::Front | SideName::Back => tank.length_cm,
        SideName::Left | SideName::Right => tank.width_cm,
    };
    let fits = from_cm >= 0.0 && from_cm < to_cm && (to_cm <= side_cm || !is_sound);
    if !fits {
        on.error(Fault {
            field: "overflow.to_cm",
            value: format!("a span from {from_cm} to {to_cm} cm"),
            limit: format!("an ascending span within 0 to {side_cm} cm of that side"),
            way_out: "measure along x for front and back, along y for left and right",
        });
    }
    let room_cm = tank.water_cm - tank.sand.depth_cm;
    if is_sound && limits::OVERFLOW_DEPTH.holds(depth_cm) && depth_cm > room_cm {
        on.error(Fault {
            field: "overflow.depth_cm",
            value: format!("{depth_cm} cm"),
            limit: format!("at most the {room_cm} cm of water above the sand"),
            way_out: "give the depth of the weir below the water surface",
        });
    }
}

fn check_return(nozzle: &Return, idx: usize, tank: (&Tank, bool), issues: &mut Vec<Issue>) {
    let (tank, is_sound) = tank;
    let item = Subject {
        what: "return",
        name: format!("{}", idx + 1),
        ..Subject::default()
    };
    let mut on = Examiner::new(issues, item, format!("tank.returns[{idx}]"));
    let at = nozzle.at_cm;
    let low = DVec3::new(0.0, 0.0, tank.sand.depth_cm);
    let high = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
    let is_inside = at.cmpge(low).all() && at.cmple(high).all();
    if !at.is_finite() || (is_sound && !is_inside) {
        on.error(Fault {
            field: "at_cm",
            value: place_text(at),
            limit: water_box_text(tank),
            way_out: "move the nozzle's outlet into the water",
        });
    }
    on.within("turn_deg", nozzle.turn_deg, &limits::TURN);
    on.within("tilt_deg", nozzle.tilt_deg, &limits::TILT);
    let flow = on.within("flow_lph", nozzle.flow_lph, &limits::FLOW);
    if on.within("outlet_cm", nozzle.outlet_cm, &limits::OUTLET) && flow {
        check_exit_speed(exit_speed_m_s(nozzle.flow_lph, nozzle.outlet_cm), &mut on);
    }
}

/// Flow and outlet may each be possible and yet not belong together.
pub(super) fn check_exit_speed(speed_m_s: f64, on: &mut Examiner<'_>) {
    let fault = |limit: f64| Fault {
        field: "outlet_cm",
        value: format!("so small for the flow that water leaves it at {speed_m_s:.1} m/s"),
        limit: format!("wide enough for at most {limit} m/s"),
        way_out: "check flow_lph and outlet_cm; one of them is in another unit, or misses a digit",
    };
    if speed_m_s > limits::EXIT_SPEED_MAX_M_S {
        on.error(fault(limits::EXIT_SPEED_MAX_M_S));
    } else if speed_m_s > limits::EXIT_SPEED_DOUBTED_M_S {
        on.warn(fault(limits::EXIT_SPEED_DOUBTED_M_S));
    }
}

//! The water card: liters, turnover, mass, power.

use crate::light::full_light_hours;
use crate::mass::bulk;
use crate::scene::{Lamp, Output, Programme, Pump};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Solid rock displaced by a kilogram of dry porous rock, in L: 1/2.8. DERIVED.
const ROCK_SOLID_L_PER_KG: f64 = 1.0 / 2.8;

/// Share of a sand bed that is water.
///
/// **Source** COMMON PRACTICE 0.40 to 0.50.
const SAND_PORES: f64 = 0.45;

/// Mass of dry sand over the volume of its bed, in kg/L.
///
/// **Source** COMMON PRACTICE 1.5 to 1.6.
const SAND_KG_PER_L: f64 = 1.55;

/// Density of seawater, in kg/L.
const WATER_KG_PER_L: f64 = 1.023;

/// How much water, and what it means for dosing, stand and socket.
#[derive(Clone, Debug, PartialEq)]
pub struct WaterCard {
    /// Length × width × water height, in L.
    pub gross_l: f64,
    /// Water displaced by rock, its pores flooded, in L.
    pub rock_l: f64,
    /// Water displaced by sand grains, in L.
    pub sand_l: f64,
    /// Water that is left, in L.
    pub net_l: f64,
    /// Mass of dry rock, in kg.
    pub rock_kg: f64,
    /// Mass of dry sand, in kg.
    pub sand_kg: f64,
    /// Water, rock and sand together, without glass and stand, in kg.
    pub total_kg: f64,
    /// The same over the tank's footprint, in kg/m².
    pub load_kg_m2: f64,
    /// Each pump's name and its turnover, in net volumes an hour.
    pub turnover: Vec<(String, f64)>,
    /// All pumps together, in net volumes an hour.
    pub turnover_per_h: f64,
    /// Returns from a sump, in net volumes an hour.
    pub return_per_h: f64,
    /// Electrical power of pumps whose power is given, in W; nearly all of it
    /// heats the water.
    pub pump_w: f64,
    /// Electrical power of lamps whose power is given, in W.
    pub lamp_w: f64,
    /// Pumps and lamps whose power is not given.
    pub unknown: usize,
    /// Energy of the known ones, in kWh a day.
    pub kwh_per_day: f64,
}

/// The water card of a layout.
///
/// Rock counts by its solid part (dry mass over 2.8 kg/L), as its pores fill;
/// sand by its grains, without what rock takes of the bed. Pumps count with
/// throttle and programme.
pub fn water_card(study: &Study) -> WaterCard {
    let (tank, layout) = (&study.scene().tank, study.layout());
    let Fill {
        gross_l,
        rock_l,
        rock_kg,
        sand_l,
        sand_kg,
    } = fill(study);
    let net_l = (gross_l - rock_l - sand_l).max(0.0);
    let total_kg = net_l * WATER_KG_PER_L + rock_kg + sand_kg;
    let per_h = |flow_lph: f64| flow_lph / net_l.max(1e-9);
    let turnover: Vec<(String, f64)> = layout
        .pumps
        .iter()
        .map(|pump| (pump_name(pump), per_h(mean_flow_lph(pump))))
        .collect();
    let known = |watts: Option<f64>| watts.unwrap_or(0.0);
    let pump_w = layout
        .pumps
        .iter()
        .map(|pump| known(pump.power_w))
        .fold(0.0, |sum, x| sum + x);
    let lamp_w = layout
        .lamps
        .iter()
        .map(|lamp| known(lamp_power_w(lamp)))
        .fold(0.0, |sum, x| sum + x);
    let lamp_wh: f64 = layout
        .lamps
        .iter()
        .map(|lamp| known(lamp_power_w(lamp)) * full_light_hours(&lamp.day))
        .fold(0.0, |sum, x| sum + x);
    let unknown = layout
        .pumps
        .iter()
        .filter(|pump| pump.power_w.is_none())
        .count()
        + layout
            .lamps
            .iter()
            .filter(|lamp| lamp_power_w(lamp).is_none())
            .count();
    WaterCard {
        gross_l,
        rock_l,
        sand_l,
        net_l,
        rock_kg,
        sand_kg,
        total_kg,
        load_kg_m2: total_kg / (tank.length_cm * tank.width_cm * 1e-4).max(1e-9),
        turnover_per_h: turnover
            .iter()
            .map(|(_, per_h)| per_h)
            .fold(0.0, |sum, x| sum + x),
        turnover,
        return_per_h: tank
            .returns
            .iter()
            .map(|nozzle| per_h(nozzle.flow_lph))
            .fold(0.0, |sum, x| sum + x),
        pump_w,
        lamp_w,
        unknown,
        kwh_per_day: (24.0 * pump_w + lamp_wh) / 1000.0,
    }
}

/// What stands in the glass box.
struct Fill {
    gross_l: f64,
    rock_l: f64,
    rock_kg: f64,
    sand_l: f64,
    sand_kg: f64,
}

fn fill(study: &Study) -> Fill {
    let tank = &study.scene().tank;
    let liters = |height_cm: f64| tank.length_cm * tank.width_cm * height_cm / 1000.0;
    let sand_m = tank.sand.depth_cm * M_PER_CM;
    let (mut rock_kg, mut buried_l) = (0.0, 0.0);
    for (rock, solid) in study.rocks() {
        let bulk = bulk(solid, sand_m);
        rock_kg += bulk.volume_m3 * 1000.0 * rock.density_kg_per_l;
        buried_l += bulk.below_m3 * 1000.0;
    }
    let bed_l = (liters(tank.sand.depth_cm) - buried_l).max(0.0);
    Fill {
        gross_l: liters(tank.water_cm),
        rock_l: rock_kg * ROCK_SOLID_L_PER_KG,
        rock_kg,
        sand_l: bed_l * (1.0 - SAND_PORES),
        sand_kg: bed_l * SAND_KG_PER_L,
    }
}

/// Flow of a pump as set, averaged over its programme, in L/h.
pub(crate) fn mean_flow_lph(pump: &Pump) -> f64 {
    let share = match pump.programme {
        Programme::Steady => 1.0,
        Programme::Pulse { share, .. } => share,
        Programme::Alternate { of, .. } => 1.0 / f64::from(of.max(1)),
    };
    pump.flow_lph * pump.throttle * share
}

fn pump_name(pump: &Pump) -> String {
    if pump.name.is_empty() {
        format!("pump {}", pump.id)
    } else {
        pump.name.clone()
    }
}

fn lamp_power_w(lamp: &Lamp) -> Option<f64> {
    match lamp.output {
        Output::Power { power_w, .. } => Some(power_w * lamp.dim),
        Output::Photons { .. } | Output::Reading { .. } => None,
    }
}

//! The water card: liters, turnover, mass, power.

use crate::light::full_light_hours;
use crate::mass::{RockWeight, volumes};
use crate::scene::{ItemId, Lamp, Output, Programme, Pump};
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

/// The tank up to the water line in parts that sum to the whole, in L.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Volumes {
    /// Water around rock and over the sand: where it can flow.
    pub open_l: f64,
    /// Water in the pores of rock.
    pub rock_pores_l: f64,
    /// Solid rock.
    pub rock_solid_l: f64,
    /// Water between the grains of sand.
    pub sand_pores_l: f64,
    /// Grains of sand.
    pub sand_grains_l: f64,
}

impl Volumes {
    /// Water in all, with what pores hold: the figure for dosing, in L.
    pub fn net_l(&self) -> f64 {
        self.open_l + self.rock_pores_l + self.sand_pores_l
    }

    /// All parts together, in L.
    pub fn sum_l(&self) -> f64 {
        self.net_l() + self.rock_solid_l + self.sand_grains_l
    }
}

/// How much water, and what it means for dosing, stand and socket.
#[derive(Clone, Debug, PartialEq)]
pub struct WaterCard {
    /// Length × width × water height, in L.
    pub gross_l: f64,
    /// The same in parts.
    pub volumes: Volumes,
    /// Water in all, its pores included, in L.
    pub net_l: f64,
    /// Mass of dry rock, in kg.
    pub rock_kg: f64,
    /// Mass of dry sand, in kg.
    pub sand_kg: f64,
    /// Water, rock and sand together, without glass and stand, in kg.
    pub total_kg: f64,
    /// The same over the tank's footprint, in kg/m².
    pub load_kg_m2: f64,
    /// Each pump's id and its turnover, in net volumes an hour.
    pub turnover: Vec<(ItemId, f64)>,
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
        volumes,
        rock_kg,
        sand_kg,
    } = fill(study);
    let net_l = volumes.net_l();
    let total_kg = net_l * WATER_KG_PER_L + rock_kg + sand_kg;
    let per_h = |flow_lph: f64| flow_lph / net_l.max(1e-9);
    let turnover: Vec<(ItemId, f64)> = layout
        .pumps
        .iter()
        .map(|pump| (pump.id, per_h(mean_flow_lph(pump))))
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
        volumes,
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
    volumes: Volumes,
    rock_kg: f64,
    sand_kg: f64,
}

fn fill(study: &Study) -> Fill {
    let tank = &study.scene().tank;
    let liters = |height_cm: f64| tank.length_cm * tank.width_cm * height_cm / 1000.0;
    let levels_m = [tank.sand.depth_cm, tank.water_cm].map(|cm| cm * M_PER_CM);
    let (mut rock_kg, mut buried_l, mut under_l, mut solid_l) = (0.0, 0.0, 0.0, 0.0);
    for (rock, solid) in study.rocks() {
        let weight = RockWeight::of(rock);
        // Shares of the rock as it stands; its volume does not depend on that.
        let [in_sand, in_water] = levels_m.map(|level_m| {
            let (whole, below) = volumes(solid, level_m);
            below / whole.max(1e-12)
        });
        rock_kg += weight.dry_kg;
        buried_l += in_sand * weight.volume_l;
        under_l += in_water * weight.volume_l;
        let solid_share = (rock.density_kg_per_l * ROCK_SOLID_L_PER_KG).min(1.0);
        solid_l += in_water * weight.volume_l * solid_share;
    }
    let gross_l = liters(tank.water_cm);
    let bed_l = (liters(tank.sand.depth_cm) - buried_l).max(0.0);
    Fill {
        gross_l,
        volumes: Volumes {
            open_l: (gross_l - bed_l - under_l).max(0.0),
            rock_pores_l: under_l - solid_l,
            rock_solid_l: solid_l,
            sand_pores_l: bed_l * SAND_PORES,
            sand_grains_l: bed_l * (1.0 - SAND_PORES),
        },
        rock_kg,
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
    pump.real_flow_lph() * share
}

fn lamp_power_w(lamp: &Lamp) -> Option<f64> {
    match lamp.output {
        Output::Power { power_w, .. } => Some(power_w * lamp.dim),
        Output::Photons { .. } | Output::Reading { .. } => None,
    }
}

//! What an outage brings beside still water: how much runs down to the sump,
//! and the standing waves that a pulsing pump may drive.

use std::f64::consts::{PI, TAU};

use crate::scene::{ItemId, Programme, Scene, Tank};
use crate::study::Study;
use crate::units::{GRAVITY_M_S2, M_PER_CM, flow_m3_s_from_lph};

/// Nodes of the standing waves that are looked at: beyond two the surface
/// hardly moves.
const NODES_MAX: u32 = 2;

/// How near the period of a pump must come to that of a wave to drive it, as a
/// share. Own choice: such a wave rings for some tens of periods.
const DRIVES_SHARE: f64 = 0.1;

/// Flow over a sharp-crested weir: `Q = 1.84 b h^1.5` in SI units.
///
/// **Source** Francis' formula, textbooks; MEMORY.
const WEIR_M_S: f64 = 1.84;

/// A standing wave of the surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandingWave {
    /// Whether it runs along the tank; else from front to back.
    pub is_along: bool,
    /// How many lines of the surface stay at rest.
    pub nodes: u32,
    /// Its period, in s.
    pub period_s: f64,
}

/// The slowest standing waves along and across a tank, by its water over the
/// sand; rock makes them slower by a few percent, which is not reckoned.
///
/// **Source** small waves on water of depth h: `ω² = g k tanh(k h)` with
/// `k = n π/L`; for shallow water Merian's formula `T = 2 L/(n √(g h))`.
pub fn standing_waves(tank: &Tank) -> Vec<StandingWave> {
    let depth_m = (tank.water_cm - tank.sand.depth_cm) * M_PER_CM;
    let ways = [(true, tank.length_cm), (false, tank.width_cm)];
    let of_way = |(is_along, long_cm): (bool, f64)| {
        (1..=NODES_MAX).map(move |nodes| {
            let wave_per_m = f64::from(nodes) * PI / (long_cm * M_PER_CM);
            let turn_per_s = (GRAVITY_M_S2 * wave_per_m * (wave_per_m * depth_m).tanh()).sqrt();
            StandingWave {
                is_along,
                nodes,
                period_s: TAU / turn_per_s,
            }
        })
    };
    ways.into_iter().flat_map(of_way).collect()
}

/// Pumps whose programme comes near the period of a standing wave: the pump,
/// its period in s, and the wave that it comes nearest to.
pub fn driven_waves(study: &Study) -> Vec<(ItemId, f64, StandingWave)> {
    let waves = standing_waves(&study.scene().tank);
    let pumps = study.layout().pumps.iter();
    let periods = pumps.filter_map(|pump| match pump.programme {
        Programme::Pulse { period_s, .. } | Programme::Alternate { period_s, .. } => {
            Some((pump.id, period_s))
        }
        Programme::Steady => None,
    });
    let driven = periods.filter_map(|(id, period_s)| {
        let off = |wave: &StandingWave| (period_s / wave.period_s - 1.0).abs();
        let nearest = waves.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
        (off(nearest) <= DRIVES_SHARE).then_some((id, period_s, *nearest))
    });
    driven.collect()
}

/// The standing waves of a tank, each with the pumps whose programme comes near
/// it.
pub fn waves_and_drivers(study: &Study) -> Vec<(StandingWave, Vec<ItemId>)> {
    let driven = driven_waves(study);
    let drivers = |wave: &StandingWave| {
        let by = driven.iter().filter(|(_, _, driven)| driven == wave);
        by.map(|(id, _, _)| *id).collect()
    };
    let waves = standing_waves(&study.scene().tank).into_iter();
    waves.map(|wave| (wave, drivers(&wave))).collect()
}

/// What runs down to the sump when the return pump stops.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrainDown {
    /// What stands above the weir's edge while it runs, in L; none without a
    /// weir.
    pub over_weir_l: Option<f64>,
    /// What a return without a check valve or a hole near the surface may
    /// siphon down to its outlet, in L.
    pub siphon_l: f64,
}

/// How much runs down, by the area of the surface; none without returns. Pipes
/// and the overflow's box are not in it.
pub fn drain_down(scene: &Scene) -> Option<DrainDown> {
    let tank = &scene.tank;
    if tank.returns.is_empty() {
        return None;
    }
    let area_m2 = tank.length_cm * tank.width_cm * M_PER_CM * M_PER_CM;
    let litres = |depth_m: f64| depth_m.max(0.0) * area_m2 * 1000.0;
    let flow_m3_s: f64 = tank
        .returns
        .iter()
        .map(|back| flow_m3_s_from_lph(back.flow_lph))
        .sum();
    let over_weir_l = tank.overflow.as_ref().map(|weir| {
        let wide_m = ((weir.to_cm - weir.from_cm).abs() * M_PER_CM).max(1e-3);
        litres((flow_m3_s / (WEIR_M_S * wide_m)).powf(2.0 / 3.0))
    });
    let lowest_cm = tank
        .returns
        .iter()
        .map(|back| back.at_cm.z)
        .fold(f64::INFINITY, f64::min);
    Some(DrainDown {
        over_weir_l,
        siphon_l: litres((tank.water_cm - lowest_cm) * M_PER_CM),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scene(length_cm: f64, water_cm: f64, more: &str) -> Scene {
        let text = format!(
            r#"(format: 1, name: "t", tank: (length_cm: {length_cm:?}, width_cm: 50.0,
                height_cm: {:?}, water_cm: {water_cm:?},
                sand: (depth_cm: 0.0, grain_mm: 1.0, reflectance: 0.5), {more}), layouts: [(name: "one", pumps: [
                (id: 1, at_cm: (5.0, 25.0, 5.0), flow_lph: 2000.0, outlet_cm: 4.0,
                    programme: Pulse(period_s: 1.5, share: 0.5)),
                (id: 2, at_cm: (5.0, 25.0, 5.0), flow_lph: 2000.0, outlet_cm: 4.0,
                    programme: Pulse(period_s: 4.0, share: 0.5)),
            ])])"#,
            water_cm + 5.0
        );
        ron::from_str(&text).unwrap()
    }

    #[test]
    fn shallow_water_sways_as_merian_says_and_deep_water_as_waves_do() {
        // 6 m long and 10 cm deep is shallow: 2 L/√(g h), to a tenth of a percent.
        let shallow = standing_waves(&scene(600.0, 10.0, "").tank)[0].period_s;
        let merian = 2.0 * 6.0 / (9.806_65_f64 * 0.1).sqrt();
        assert!(
            (shallow / merian - 1.0).abs() < 1e-3,
            "{shallow} of {merian}"
        );
        // 50 cm across and 250 cm deep is deep: √(4 π L/g), L the way across.
        let deep = standing_waves(&scene(600.0, 250.0, "").tank)[2].period_s;
        let expected = (4.0 * PI * 0.5 / 9.806_65_f64).sqrt();
        assert!((deep / expected - 1.0).abs() < 1e-6, "{deep} of {expected}");
        // Two nodes sway as one does in half the length.
        let waves = standing_waves(&scene(100.0, 40.0, "").tank);
        let half = standing_waves(&scene(50.0, 40.0, "").tank);
        assert!(
            (waves[1].period_s - half[0].period_s).abs() < 1e-12,
            "halves"
        );
    }

    #[test]
    fn only_a_pump_near_the_period_drives_a_wave() {
        // 120 cm and 45 cm of water: 1.33 s along with one node by the formula
        // above; 1.5 s is off by an eighth, 1.4 s by a twentieth.
        let mut scene = scene(120.0, 45.0, "");
        let study = |scene: &Scene| Study::with_built_in(scene, 0).unwrap();
        let along = standing_waves(&scene.tank)[0];
        scene.layouts[0].pumps[0].programme = Programme::Pulse {
            period_s: along.period_s * 1.05,
            share: 0.5,
        };
        let driven = driven_waves(&study(&scene));
        assert_eq!(driven.len(), 1, "{driven:?}");
        assert_eq!((driven[0].0, driven[0].2), (1, along), "{driven:?}");
        scene.layouts[0].pumps[0].programme = Programme::Pulse {
            period_s: along.period_s * 1.3,
            share: 0.5,
        };
        assert!(driven_waves(&study(&scene)).is_empty(), "far off");
    }

    #[test]
    fn what_runs_down_by_hand() {
        let more = "returns: [(at_cm: (60.0, 45.0, 43.0), flow_lph: 3600.0, outlet_cm: 2.0)],
            overflow: Some((side: Back, from_cm: 10.0, to_cm: 40.0, depth_cm: 3.0))";
        let found = drain_down(&scene(120.0, 45.0, more)).unwrap();
        // 1 L/s over 0.3 m: (0.001/(1.84 × 0.3))^(2/3) = 14.86 mm on 0.6 m².
        let over = found.over_weir_l.unwrap();
        assert!((over - 8.92).abs() < 0.01, "{over}");
        assert!((found.siphon_l - 12.0).abs() < 1e-9, "2 cm on 0.6 m²");
        assert!(drain_down(&scene(120.0, 45.0, "")).is_none(), "no returns");
    }
}

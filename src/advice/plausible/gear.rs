//! Pumps that draw air, are blocked, alternate with nobody or endanger animals;
//! lamps whose figures cannot be.

use std::collections::BTreeMap;

use glam::DVec3;

use super::mistake;
use crate::catalog::{Hazard, Kind as Living};
use crate::driven_waves;
use crate::scene::finding::{Figure, Finding, Note, Severity};
use crate::scene::{Body, ItemId, Lamp, Output, Programme, Pump, Spread, aim};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Clear water before an outlet and behind an intake, in m.
///
/// **Source** COMMON PRACTICE: 3 to 5 cm to anything; the lower end.
const CLEAR_M: f64 = 0.03;

/// Way from an outlet that blows straight at a pane, in m. The upper end.
const PANE_M: f64 = 0.05;

/// Distance from an unguarded intake at which what crawls is told of, in m. Our
/// choice: an anemone walks that far in a night or two.
const CRAWLS_M: f64 = 0.40;

/// Photon flux that no lamp over a reef tank gives, in µmol/s.
///
/// **Source** COMMON PRACTICE: fixtures give 25 to 500; six times the largest.
const LAMP_MAX_UMOL_S: f64 = 3000.0;

/// Photon flux that is too little for a lamp, in µmol/s. As above.
const LAMP_MIN_UMOL_S: f64 = 2.0;

pub(super) fn mistakes(study: &Study) -> Vec<Finding> {
    let layout = study.layout();
    let mut all: Vec<Finding> = layout
        .pumps
        .iter()
        .flat_map(|p| of_pump(study, p))
        .collect();
    all.extend(alone(study));
    all.extend(waves(study));
    all.extend(layout.lamps.iter().filter_map(|lamp| of_lamp(study, lamp)));
    all
}

pub(super) fn missing_files(study: &Study, lamps: &[ItemId]) -> Vec<Finding> {
    let missing = study
        .layout()
        .lamps
        .iter()
        .filter(|lamp| lamps.contains(&lamp.id));
    missing
        .map(|lamp| {
            let place_m = [lamp.at_cm * M_PER_CM, DVec3::splat(0.05)];
            mistake(
                Note::LampFileMissing,
                Severity::Serious,
                &[lamp.id],
                place_m,
            )
        })
        .collect()
}

fn place_of(pump: &Pump) -> [DVec3; 2] {
    [pump.at_cm * M_PER_CM, DVec3::splat(0.03)]
}

fn of_pump(study: &Study, pump: &Pump) -> Vec<Finding> {
    let tank = &study.scene().tank;
    let high_cm = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
    let low_cm = DVec3::new(0.0, 0.0, tank.sand.depth_cm);
    let tell = |note, severity| mistake(note, severity, &[pump.id], place_of(pump));
    let top_cm = pump.at_cm.z + pump.outlet_cm / 2.0;
    let inside = pump.at_cm.cmpge(low_cm).all() && pump.at_cm.cmple(high_cm).all();
    if !inside || top_cm > tank.water_cm + 1e-9 {
        let found = tell(Note::OutletOutOfWater, Severity::Serious);
        return vec![found.with(Figure::Gap, (top_cm - tank.water_cm).max(0.0))];
    }
    let mut all = Vec::new();
    let at_m = pump.at_cm * M_PER_CM;
    let along = aim(pump.turn_deg, pump.tilt_deg);
    let clear = |p: DVec3| {
        study
            .rockwork()
            .nearest(p)
            .map_or(f64::INFINITY, |(d, _)| d)
    };
    let ahead_m = at_m + along * CLEAR_M;
    let pane_m = at_m + along * PANE_M;
    // A jet at the surface is wanted: it ripples.
    let high_m = DVec3::new(high_cm.x, high_cm.y, f64::INFINITY) * M_PER_CM;
    let beyond = pane_m.cmplt(low_cm * M_PER_CM).any() || pane_m.cmpgt(high_m).any();
    if clear(at_m) < 0.0 || clear(ahead_m) < 0.0 || beyond {
        all.push(tell(Note::OutletBlocked, Severity::Warning));
    } else if clear(at_m - along * CLEAR_M) < 0.005 {
        all.push(tell(Note::IntakeBlocked, Severity::Warning));
    }
    all.extend(unguarded(study, pump));
    all
}

/// An anemone, or what else wanders, near an intake without a guard.
fn unguarded(study: &Study, pump: &Pump) -> Option<Finding> {
    if pump.guarded {
        return None;
    }
    let wanders = study.layout().corals.iter().filter(|coral| {
        study.entry_of(coral).is_some_and(|entry| {
            entry.kind == Living::Anemone || entry.hazards.contains(&Hazard::Wanders)
        })
    });
    let near = wanders
        .map(|coral| (coral.id, coral.at_cm.distance(pump.at_cm)))
        .filter(|(_, apart_cm)| *apart_cm * M_PER_CM < CRAWLS_M)
        .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))?;
    let ids = [pump.id, near.0];
    let found = mistake(
        Note::IntakeUnguarded,
        Severity::Serious,
        &ids,
        place_of(pump),
    );
    Some(found.with(Figure::Gap, near.1))
}

/// Alternating sets with fewer pumps than they count.
fn alone(study: &Study) -> Vec<Finding> {
    let mut sets: BTreeMap<u32, (u32, Vec<&Pump>)> = BTreeMap::new();
    for pump in &study.layout().pumps {
        if let Programme::Alternate { set, of, .. } = pump.programme {
            let known = sets.entry(set).or_insert((of, Vec::new()));
            known.0 = known.0.max(of);
            known.1.push(pump);
        }
    }
    let short = sets
        .into_values()
        .filter(|(of, pumps)| pumps.len() < *of as usize);
    short
        .filter_map(|(of, pumps)| {
            let first = pumps.first()?;
            let found = mistake(
                Note::AlternatesAlone,
                Severity::Warning,
                &[first.id],
                place_of(first),
            );
            let found = found.with(Figure::Pumps, pumps.len() as f64);
            Some(found.with(Figure::PumpsWanted, f64::from(of)))
        })
        .collect()
}

/// Pumps that pulse near the period of a standing wave.
fn waves(study: &Study) -> Vec<Finding> {
    let pumps = &study.layout().pumps;
    let driven = driven_waves(study).into_iter();
    let told = driven.filter_map(|(id, period_s, wave)| {
        let pump = pumps.iter().find(|pump| pump.id == id)?;
        let note = if wave.is_along {
            Note::DrivesWaveAlong
        } else {
            Note::DrivesWaveAcross
        };
        let found = mistake(note, Severity::Warning, &[id], place_of(pump));
        let found = found.with(Figure::Period, period_s);
        Some(found.with(Figure::WavePeriod, wave.period_s))
    });
    told.collect()
}

fn of_lamp(study: &Study, lamp: &Lamp) -> Option<Finding> {
    let output = output_umol_s(study, lamp);
    (!(LAMP_MIN_UMOL_S..=LAMP_MAX_UMOL_S).contains(&output)).then(|| {
        let place_m = [lamp.at_cm * M_PER_CM, DVec3::splat(0.05)];
        let found = mistake(Note::LampAbsurd, Severity::Warning, &[lamp.id], place_m);
        found.with(Figure::Photons, output)
    })
}

/// Photon flux that a lamp's figures imply, in µmol/s, to a factor of about
/// two: a reading stands for a point lamp with a cosⁿ lobe over clear water.
///
/// **Source** `I₀ = Φ (n + 1) / 2π`, inverse square, depth over the refractive
/// index. DERIVED.
fn output_umol_s(study: &Study, lamp: &Lamp) -> f64 {
    let (place_cm, ppfd_umol) = match lamp.output {
        Output::Photons { umol_s } => return umol_s,
        Output::Power {
            power_w,
            efficacy_umol_j,
        } => return power_w * efficacy_umol_j,
        Output::Reading { at_cm, ppfd_umol } => (at_cm, ppfd_umol),
    };
    let tank = &study.scene().tank;
    let full_deg = match lamp.spread {
        Spread::Beam { full_angle_deg } => full_angle_deg,
        Spread::Measured { .. } => 120.0,
    };
    let power = 0.5_f64.ln() / (full_deg.to_radians() / 2.0).cos().clamp(1e-6, 0.999).ln();
    let air_m = (lamp.at_cm.z - tank.water_cm).max(0.0) * M_PER_CM;
    let depth_m = (tank.water_cm - place_cm.z).max(0.0) * M_PER_CM;
    let down_m = air_m + depth_m / tank.water.refractive_index;
    // A wide face is near only to its own middle: a reading under any part of
    // it counts as straight below.
    let half_cm = match lamp.body {
        Body::Panel {
            length_cm,
            width_cm,
        } => length_cm.max(width_cm) / 2.0,
        Body::Disc { diameter_cm } => diameter_cm / 2.0,
        Body::Tube { length_cm } => length_cm / 2.0,
    };
    let beside_cm = (place_cm - lamp.at_cm).truncate().length() - half_cm;
    let beside_m = beside_cm.max(0.0) * M_PER_CM;
    let (away_m, wide_m) = (down_m.hypot(beside_m), half_cm * M_PER_CM);
    let cosine = (down_m / away_m.max(1e-6)).clamp(0.05, 1.0);
    let lost = (-tank.water.absorption_per_m * depth_m).exp().max(1e-3);
    let spread_m2 = away_m * away_m + wide_m * wide_m / 2.0;
    let axis = ppfd_umol * spread_m2 / (cosine.powf(power + 1.0) * lost);
    axis * std::f64::consts::TAU / (power + 1.0)
}

//! Readings made to count: what they say of lamps, water, panes and pumps.
//!
//! What is found stands beside what is stated, never over it, and is taken
//! back by leaving it out.

mod fit;
mod jet;
mod light;

use fit::{Fate, Fitting};
use jet::{fit_jet, way_on_axis_m};
use light::LightModel;

use crate::light::{LightError, Measured};
use crate::scene::{ItemId, JetMeasure, Layout, Measure, Pump, Quantity, Reading, Scene};
use crate::study::Study;

pub use jet::axis_speed_m_s;

/// A kind of value that readings can give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sought {
    /// A lamp's output at full setting, in µmol/s.
    LampOutput,
    /// The water's absorption, in 1/m.
    Absorption,
    /// The share that clear panes return.
    ReturnedShare,
    /// A pump's flow at full setting, as its thrust has it, in L/h.
    PumpFlow,
    /// How far before its outlet a jet seems to begin, in cm.
    JetOffset,
}

impl Sought {
    /// The unit of its value; empty for a share.
    pub fn unit(self) -> &'static str {
        match self {
            Self::LampOutput => "µmol/s",
            Self::Absorption => "1/m",
            Self::ReturnedShare => "",
            Self::PumpFlow => "L/h",
            Self::JetOffset => "cm",
        }
    }
}

/// Which value of which item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    /// The kind of value.
    pub what: Sought,
    /// The lamp or pump; none for water and panes.
    pub id: Option<ItemId>,
    /// What the keeper calls it.
    pub name: String,
}

/// A value that readings gave.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// Which value.
    pub target: Target,
    /// As stated, in the unit of its kind.
    pub before: f64,
    /// As the readings have it, with the ends of its 80 % interval.
    pub after: Measure,
    /// The lamp that it moves with, since readings cannot tell them apart.
    pub tied_to: Option<ItemId>,
    /// How many readings it was fitted to.
    pub n_readings: usize,
    /// Error of readings that were left out, before and after.
    pub left_out: Error,
}

/// A value that was left as stated, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Which value.
    pub target: Target,
    /// Why, in a sentence.
    pub why: &'static str,
}

/// Typical error of what is foretold, as a share of what is read (root of the
/// mean square; readings below a tenth of the largest count by that tenth).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Error {
    /// With everything as stated, which no reading has touched.
    pub before: f64,
    /// Each reading foretold from the others alone.
    pub after: f64,
}

/// A reading beside what is foretold for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// Which of the scene's readings.
    pub reading_idx: usize,
    /// What was read, in the reading's unit.
    pub measured: f64,
    /// Its spread.
    pub spread: f64,
    /// Foretold with everything as stated.
    pub before: f64,
    /// Foretold after the fit.
    pub after: f64,
    /// Foretold from the other readings alone.
    pub left_out: f64,
}

/// A reading that took no part, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unused {
    /// Which of the scene's readings.
    pub reading_idx: usize,
    /// Why, in a sentence.
    pub why: &'static str,
}

/// All that readings gave.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Calibration {
    /// Values that they gave.
    pub found: Vec<Found>,
    /// Values that they could not tell.
    pub kept: Vec<Kept>,
    /// Error of light left out; none without readings of light.
    pub light: Option<Error>,
    /// Error of speeds left out; none without readings on a pump's axis.
    pub speed: Option<Error>,
    /// One for each reading that took part.
    pub residuals: Vec<Residual>,
    /// Readings that did not.
    pub unused: Vec<Unused>,
}

const TOLD_TOO_LITTLE: &str = "the readings tell too little of it; it stays as stated";
const NOT_ALONE: &str =
    "taken with all pumps on: it checks the estimate, and no pump is fitted to it";
const OFF_AXIS: &str = "it does not lie on the axis of the pump that ran alone";
const NO_LAMPS: &str = "the layout has no lamps";

/// Standard deviation of a reading, in its unit: as stated; else a tenth and
/// at least 3 µmol/m²/s for light (hobby quantum sensors, COMMON PRACTICE), a
/// tenth for a speed and a fifth for a drifting particle over the root of its
/// tries (the hand on the clock and eddies, COMMON PRACTICE), and at least
/// 0.3 cm/s.
pub fn spread_of(reading: &Reading) -> f64 {
    let stated = reading.spread.filter(|spread| *spread > 0.0);
    stated.unwrap_or_else(|| match reading.quantity {
        Quantity::PpfdUp | Quantity::PpfdScalar => (0.1 * reading.measured()).max(3.0),
        Quantity::Speed => {
            let share = reading
                .drift
                .map_or(0.1, |drift| 0.2 / f64::from(drift.times.max(1)).sqrt());
            (share * reading.measured()).max(0.3)
        }
    })
}

/// What the readings of a layout say.
///
/// Light is fitted together: a share for each lamp, the absorption, the
/// returned share. Jets are fitted one pump at a time, from readings on its
/// axis with the others off. What readings cannot tell is left as stated, and
/// lamps that they cannot tell apart move together.
///
/// # Errors
/// As [`LightSolver::new`](crate::light::LightSolver::new).
pub fn calibrate(study: &Study, measured: &Measured) -> Result<Calibration, LightError> {
    let (scene, layout) = (study.scene(), study.layout());
    let mut calibration = Calibration::default();
    let mut of_light = Vec::new();
    let mut of_jets: Vec<(usize, &Reading)> = Vec::new();
    for (reading_idx, reading) in scene.readings_of(layout) {
        match reading.quantity {
            Quantity::PpfdUp | Quantity::PpfdScalar => of_light.push((reading_idx, reading)),
            Quantity::Speed => of_jets.push((reading_idx, reading)),
        }
    }
    if layout.lamps.is_empty() {
        let unused = of_light.drain(..).map(|(reading_idx, _)| Unused {
            reading_idx,
            why: NO_LAMPS,
        });
        calibration.unused.extend(unused);
    }
    if !of_light.is_empty() {
        fit_light(&mut calibration, study, measured, &of_light)?;
    }
    fit_jets(&mut calibration, layout, &of_jets);
    calibration
        .residuals
        .sort_by_key(|residual| residual.reading_idx);
    calibration.unused.sort_by_key(|unused| unused.reading_idx);
    Ok(calibration)
}

fn fit_light(
    to: &mut Calibration,
    study: &Study,
    measured: &Measured,
    readings: &[(usize, &Reading)],
) -> Result<(), LightError> {
    let taken: Vec<&Reading> = readings.iter().map(|(_, reading)| *reading).collect();
    let model = LightModel::new(study, measured, &taken)?;
    let layout = study.layout();
    let fitting = model.fit();
    let residuals = residuals(readings, &fitting);
    let error = error_of(&residuals);
    let lamps = layout.lamps.iter().map(|lamp| Target {
        what: Sought::LampOutput,
        id: Some(lamp.id),
        name: lamp.name.clone(),
    });
    let of_tank = |what| Target {
        what,
        id: None,
        name: String::new(),
    };
    let water = [of_tank(Sought::Absorption), of_tank(Sought::ReturnedShare)];
    let outputs = model.stated_outputs_umol_s();
    let scales = outputs.into_iter().chain([1.0, 1.0]);
    let tied = |i: usize| {
        let first = fitting.tied_to[i];
        (first != i)
            .then(|| layout.lamps.get(first).map(|lamp| lamp.id))
            .flatten()
    };
    for (i, (target, scale)) in lamps.chain(water).zip(scales).enumerate() {
        let stated = model.unknowns()[i].stated;
        put(to, (target, stated, scale), fitting.fates[i], |found| {
            found.tied_to = tied(i);
            found.n_readings = readings.len();
            found.left_out = error;
        });
    }
    to.light = Some(error);
    to.residuals.extend(residuals);
    Ok(())
}

fn fit_jets(to: &mut Calibration, layout: &Layout, readings: &[(usize, &Reading)]) {
    let mut all = Vec::new();
    for pump in &layout.pumps {
        let own = readings.iter().filter(|(_, r)| r.alone == Some(pump.id));
        let own: Vec<(usize, &Reading, f64)> = own
            .filter_map(|(idx, reading)| Some((*idx, *reading, way_on_axis_m(pump, reading)?)))
            .collect();
        if own.is_empty() {
            continue;
        }
        let on_axis: Vec<(&Reading, f64)> = own.iter().map(|(_, r, way)| (*r, *way)).collect();
        let fitting = fit_jet(pump, &on_axis);
        let taken: Vec<(usize, &Reading)> = own.iter().map(|(idx, r, _)| (*idx, *r)).collect();
        let residuals = residuals(&taken, &fitting);
        let error = error_of(&residuals);
        for (i, (what, scale)) in [(Sought::PumpFlow, pump.flow_lph), (Sought::JetOffset, 1.0)]
            .into_iter()
            .enumerate()
        {
            let target = Target {
                what,
                id: Some(pump.id),
                name: pump.name.clone(),
            };
            let stated = if i == 0 { 1.0 } else { 0.0 };
            put(to, (target, stated, scale), fitting.fates[i], |found| {
                found.n_readings = own.len();
                found.left_out = error;
            });
        }
        all.extend(residuals);
    }
    for (reading_idx, reading) in readings {
        if all
            .iter()
            .all(|residual: &Residual| residual.reading_idx != *reading_idx)
        {
            to.unused.push(Unused {
                reading_idx: *reading_idx,
                why: if reading.alone.is_some() {
                    OFF_AXIS
                } else {
                    NOT_ALONE
                },
            });
        }
    }
    if !all.is_empty() {
        to.speed = Some(error_of(&all));
    }
    to.residuals.extend(all);
}

/// Notes a value as found or as kept, in the unit of its kind: `scale` times
/// what was fitted.
fn put(
    to: &mut Calibration,
    (target, stated, scale): (Target, f64, f64),
    fate: Fate,
    finish: impl FnOnce(&mut Found),
) {
    match fate {
        Fate::Fitted { value, low, high } => {
            let mut found = Found {
                target,
                before: stated * scale,
                after: Measure {
                    value: value * scale,
                    low: low * scale,
                    high: high * scale,
                },
                tied_to: None,
                n_readings: 0,
                left_out: Error::default(),
            };
            finish(&mut found);
            to.found.push(found);
        }
        Fate::Left => to.kept.push(Kept {
            target,
            why: TOLD_TOO_LITTLE,
        }),
    }
}

fn residuals(readings: &[(usize, &Reading)], fitting: &Fitting) -> Vec<Residual> {
    readings
        .iter()
        .enumerate()
        .map(|(i, (reading_idx, reading))| {
            let spread = spread_of(reading);
            let foretold = |residual: f64| reading.measured() + residual * spread;
            Residual {
                reading_idx: *reading_idx,
                measured: reading.measured(),
                spread,
                before: foretold(fitting.before[i]),
                after: foretold(fitting.after[i]),
                left_out: foretold(fitting.left_out[i]),
            }
        })
        .collect()
}

fn error_of(residuals: &[Residual]) -> Error {
    let largest = residuals.iter().map(|r| r.measured).fold(0.0, f64::max);
    let root = |foretold: &dyn Fn(&Residual) -> f64| {
        let squares = residuals.iter().map(|residual| {
            let by = residual.measured.max(0.1 * largest).max(1e-9);
            ((foretold(residual) - residual.measured) / by).powi(2)
        });
        (squares.sum::<f64>() / residuals.len().max(1) as f64).sqrt()
    };
    Error {
        before: root(&|residual| residual.before),
        after: root(&|residual| residual.left_out),
    }
}

impl Calibration {
    /// Puts what was found beside what is stated, in every layout that has the
    /// same lamp or pump; what was kept loses what earlier readings gave.
    pub fn apply(&self, scene: &mut Scene, layout: &str) {
        let Some(from) = scene.layouts.iter().find(|l| l.name == layout).cloned() else {
            return;
        };
        for found in &self.found {
            let share = |stated: f64| {
                let Measure { value, low, high } = found.after;
                let by = |v: f64| if stated > 0.0 { v / stated } else { 1.0 };
                Measure {
                    value: by(value),
                    low: by(low),
                    high: by(high),
                }
            };
            match found.target.what {
                Sought::Absorption => scene.tank.water.measured = Some(found.after),
                Sought::ReturnedShare => scene.tank.panes.measured = Some(found.after),
                Sought::LampOutput => {
                    let measure = share(found.before);
                    for lamp in lamps_like(scene, &from, found.target.id) {
                        lamp.measured = Some(measure);
                    }
                }
                Sought::PumpFlow => {
                    let flow_share = share(found.before);
                    for pump in pumps_like(scene, &from, found.target.id) {
                        pump.measured = Some(JetMeasure {
                            flow_share,
                            offset_cm: None,
                        });
                    }
                }
                Sought::JetOffset => {
                    for pump in pumps_like(scene, &from, found.target.id) {
                        if let Some(jet) = &mut pump.measured {
                            jet.offset_cm = Some(found.after);
                        }
                    }
                }
            }
        }
    }
}

/// Takes back everything that readings gave.
pub fn take_back(scene: &mut Scene) {
    scene.tank.water.measured = None;
    scene.tank.panes.measured = None;
    for layout in &mut scene.layouts {
        layout
            .pumps
            .iter_mut()
            .for_each(|pump| pump.measured = None);
        layout
            .lamps
            .iter_mut()
            .for_each(|lamp| lamp.measured = None);
    }
}

/// Lamps of all layouts with the id and the stated output of one of `from`.
fn lamps_like<'a>(
    scene: &'a mut Scene,
    from: &Layout,
    id: Option<ItemId>,
) -> impl Iterator<Item = &'a mut crate::scene::Lamp> {
    let own = from.lamps.iter().find(|lamp| Some(lamp.id) == id).cloned();
    let lamps = scene
        .layouts
        .iter_mut()
        .flat_map(|layout| &mut layout.lamps);
    lamps.filter(move |lamp| {
        own.as_ref()
            .is_some_and(|own| lamp.id == own.id && lamp.output == own.output)
    })
}

/// Pumps of all layouts with the id and the nameplate of one of `from`.
fn pumps_like<'a>(
    scene: &'a mut Scene,
    from: &Layout,
    id: Option<ItemId>,
) -> impl Iterator<Item = &'a mut Pump> {
    let own = from.pumps.iter().find(|pump| Some(pump.id) == id).cloned();
    let pumps = scene
        .layouts
        .iter_mut()
        .flat_map(|layout| &mut layout.pumps);
    pumps.filter(move |pump| {
        own.as_ref().is_some_and(|own| {
            pump.id == own.id && (pump.flow_lph, pump.outlet_cm) == (own.flow_lph, own.outlet_cm)
        })
    })
}

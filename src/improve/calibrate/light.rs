//! Light: output of each lamp, absorption of the water, share that clear
//! panes return.

use std::cell::RefCell;
use std::sync::Arc;

use super::fit::{Fitting, Prior, Unknown, fit};
use super::spread_of;
use crate::light::{LightError, LightOptions, LightSolver, Measured};
use crate::scene::{Layout, Quantity, Reading, Scene};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Spread of a lamp's real output about the stated one, age included, as a
/// ratio.
///
/// **Source** COMMON PRACTICE: lamps are called worn at 0.7 to 0.8 of their
/// first output; what is printed is often the chips' output, not the lamp's.
const OUTPUT_SPREAD: f64 = 0.3;

/// Spread of the water's absorption about the stated one, as a ratio.
///
/// **Source** 0.05 to 0.6 per meter from clear to yellow water, computed from
/// published spectra of pure water and dissolved matter.
const ABSORPTION_SPREAD: f64 = 0.8;

/// Spread of the returned share.
///
/// **Source** own choice: from a flawless pane to one half overgrown.
const RETURNED_SPREAD: f64 = 0.25;

/// What lamps have in common for the fit: they may be tied.
const LAMPS: u32 = 1;

/// How finely a fit works out light: it asks for changes of a few percent.
fn options() -> LightOptions {
    LightOptions {
        patch_m: 0.04,
        transfer_rays: 48,
        gather_rays: 384,
        ..LightOptions::default()
    }
}

/// The study of a scene that differs in values only.
fn in_scene(study: &Study, scene: Scene) -> Study {
    let same = study.after(Arc::new(scene), study.layout_idx());
    // The layouts are those of the study, so that this cannot fail.
    same.unwrap_or_else(|_| study.clone())
}

/// The layout's light for one water and one returned share, at the readings.
struct Parts {
    absorption_per_m: f64,
    returned_share: f64,
    /// For each reading, PPFD by lamp at its stated output, dimmed.
    each: Vec<Vec<f64>>,
}

/// Readings of light and what foretells them.
pub(super) struct LightModel<'a> {
    study: Study,
    measured: &'a Measured,
    readings: Vec<&'a Reading>,
    outputs_umol_s: Vec<f64>,
    parts: RefCell<Vec<Parts>>,
}

impl<'a> LightModel<'a> {
    /// For the readings of light among those given; the scene as stated, with
    /// nothing that earlier readings gave.
    ///
    /// # Errors
    /// As [`LightSolver::new`].
    pub(super) fn new(
        study: &Study,
        measured: &'a Measured,
        readings: &[&'a Reading],
    ) -> Result<Self, LightError> {
        let mut scene = Scene::clone(study.scene());
        scene.tank.panes.measured = None;
        scene.tank.water.measured = None;
        for lamp in &mut scene.layouts[study.layout_idx()].lamps {
            lamp.measured = None;
        }
        let study = in_scene(study, scene);
        // Errors show here; later looks differ in numbers only.
        let solver = LightSolver::new(&study, measured, &options())?;
        let outputs_umol_s = (0..study.layout().lamps.len()).map(|i| solver.lamp_umol_s(i));
        Ok(Self {
            outputs_umol_s: outputs_umol_s.collect(),
            study,
            measured,
            readings: readings.to_vec(),
            parts: RefCell::new(Vec::new()),
        })
    }

    fn layout(&self) -> &Layout {
        self.study.layout()
    }

    fn stated_water(&self) -> (f64, f64) {
        let tank = &self.study.scene().tank;
        (tank.water.absorption_per_m, tank.panes.returned_share)
    }

    fn work_out(
        &self,
        (absorption_per_m, returned_share): (f64, f64),
    ) -> Result<Parts, LightError> {
        let mut scene = Scene::clone(self.study.scene());
        scene.tank.water.absorption_per_m = absorption_per_m;
        scene.tank.panes.returned_share = returned_share;
        let solver = LightSolver::new(&in_scene(&self.study, scene), self.measured, &options())?;
        let outputs: Vec<f64> = (0..self.layout().lamps.len())
            .map(|i| solver.lamp_umol_s(i) * self.layout().lamps[i].dim)
            .collect();
        let part = |reading: &&Reading| {
            let ones = solver.sample_of_each(reading.at_cm * M_PER_CM, None);
            let lamps = self.layout().lamps.iter().zip(ones).zip(&outputs);
            lamps
                .map(|((lamp, one), output)| {
                    let is_on = reading.alone.is_none_or(|id| id == lamp.id);
                    let one = match reading.quantity {
                        Quantity::PpfdScalar => one.scalar_umol,
                        _ => one.up_umol,
                    };
                    if is_on { one * output } else { 0.0 }
                })
                .collect()
        };
        Ok(Parts {
            absorption_per_m,
            returned_share,
            each: self.readings.iter().map(part).collect(),
        })
    }

    /// PPFD foretold at each reading for shares of the lamps' outputs, an
    /// absorption and a returned share, in this order.
    pub(super) fn foretold_umol(&self, values: &[f64]) -> Vec<f64> {
        const KEPT_MAX: usize = 64;
        let n_lamps = self.layout().lamps.len();
        let (shares, water) = values.split_at(n_lamps);
        let wanted = (water[0], water[1]);
        let is_it = |parts: &&Parts| (parts.absorption_per_m, parts.returned_share) == wanted;
        let sum = |parts: &Parts| -> Vec<f64> {
            let dot = |each: &Vec<f64>| each.iter().zip(shares).map(|(a, b)| a * b).sum();
            parts.each.iter().map(dot).collect()
        };
        if let Some(parts) = self.parts.borrow().iter().find(is_it) {
            return sum(parts);
        }
        let Ok(parts) = self.work_out(wanted) else {
            // Cannot be: the scene was solved, and bounds keep water sound.
            return vec![0.0; self.readings.len()];
        };
        let foretold = sum(&parts);
        let mut kept = self.parts.borrow_mut();
        if kept.len() >= KEPT_MAX {
            kept.remove(0);
        }
        kept.push(parts);
        foretold
    }

    /// Stated outputs of the lamps at full setting, in µmol/s. One that is
    /// fixed by a reading of its own is solved for with the water as stated.
    pub(super) fn stated_outputs_umol_s(&self) -> Vec<f64> {
        self.outputs_umol_s.clone()
    }

    /// What may be fitted: one share a lamp, the absorption, the returned share.
    pub(super) fn unknowns(&self) -> Vec<Unknown> {
        let (absorption_per_m, returned_share) = self.stated_water();
        let lamps = self.layout().lamps.iter().map(|_| Unknown {
            stated: 1.0,
            bounds: [0.2, 2.0],
            prior: Prior::Ratio(OUTPUT_SPREAD),
            kind: Some(LAMPS),
        });
        let water = [
            Unknown {
                stated: absorption_per_m.clamp(0.011, 2.9),
                bounds: [0.01, 3.0],
                prior: Prior::Ratio(ABSORPTION_SPREAD),
                kind: None,
            },
            Unknown {
                stated: returned_share.clamp(0.01, 0.999),
                bounds: [0.0, 1.0],
                prior: Prior::Plain(RETURNED_SPREAD),
                kind: None,
            },
        ];
        lamps.chain(water).collect()
    }

    /// Fits them.
    pub(super) fn fit(&self) -> Fitting {
        let model = |values: &[f64]| {
            let foretold = self.foretold_umol(values);
            let readings = foretold.iter().zip(&self.readings);
            readings
                .map(|(foretold, reading)| (foretold - reading.measured()) / spread_of(reading))
                .collect()
        };
        fit(&self.unknowns(), &model)
    }
}

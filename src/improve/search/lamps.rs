//! Lamps: dimming by bounded least squares, since light adds up lamp by lamp,
//! at each of a few heights.

use bommie_advice::{Site, range_score};
use bommie_light::{LightSolver, Measured};
use glam::DVec3;

use super::tally::with_input;
use super::{ImproveOptions, Lever, Solved};
use crate::catalog::Range;
use crate::scene::{Coral, Layout};
use crate::study::Study;

/// Changes of a lamp's height that are tried, in cm.
const LIFTS_CM: [f64; 5] = [-10.0, 0.0, 10.0, 20.0, 30.0];

/// Nearest that a lamp may come to the water, in cm. COMMON PRACTICE: spray
/// and salt creep.
const CLEAR_CM: f64 = 10.0;

/// Least setting of a lamp: below it few are steady. COMMON PRACTICE.
const DIM_LEAST: f64 = 0.1;

/// Distance above a coral at which its light is taken, as its fit takes it.
const ABOVE_M: f64 = 0.005;

/// What the search over lamps found.
pub(super) struct Lit {
    /// The layout with other lamps; none if nothing is better.
    pub(super) layout: Option<Layout>,
    /// Settings that were weighed.
    pub(super) n_weighed: usize,
}

/// A coral as lamps see it.
struct Target<'a> {
    at_m: DVec3,
    facing: DVec3,
    range: &'a Range,
}

/// The best setting of the lamps for the corals.
pub(super) fn better_lamps(
    (study, measured): (&Study, &Measured),
    now: &Solved,
    options: &ImproveOptions,
) -> Lit {
    let layout = study.layout();
    let targets = with_input(study, now, |input| {
        let target = |coral: &Coral| {
            let entry = study.entry_of(coral)?;
            let site = Site::of_coral(input, coral);
            Some(Target {
                at_m: site.at_m + site.normal * (site.size_m.z + ABOVE_M),
                facing: site.normal,
                range: &entry.light_ppfd_umol,
            })
        };
        layout.corals.iter().filter_map(target).collect::<Vec<_>>()
    });
    let mut search = LampSearch {
        study,
        measured,
        options,
        targets: &targets,
        solver: now.light.clone(),
        n_weighed: 0,
    };
    let before = search.worth(layout);
    let mut best = (before, layout.clone());
    // One lamp's height after the other, twice around, dims fitted each time.
    search.try_dims(&mut best);
    if options.may.contains(&Lever::Height) {
        for _round in 0..2 {
            for lamp_idx in 0..layout.lamps.len() {
                search.try_heights(layout, lamp_idx, &mut best);
            }
        }
    }
    let (worth, found) = best;
    Lit {
        layout: (worth > before + 0.05).then_some(found),
        n_weighed: search.n_weighed,
    }
}

struct LampSearch<'a> {
    study: &'a Study,
    measured: &'a Measured,
    options: &'a ImproveOptions,
    targets: &'a [Target<'a>],
    solver: LightSolver,
    n_weighed: usize,
}

impl LampSearch<'_> {
    fn is_free(&self, layout: &Layout, lamp_idx: usize) -> bool {
        let lamp = &layout.lamps[lamp_idx];
        !lamp.locked && !self.options.fixed.contains(&lamp.id)
    }

    fn try_heights(&mut self, start: &Layout, lamp_idx: usize, best: &mut (f64, Layout)) {
        if !self.is_free(start, lamp_idx) {
            return;
        }
        let from_cm = start.lamps[lamp_idx].at_cm.z;
        for lift_cm in LIFTS_CM {
            let mut lifted = best.1.clone();
            let lamp = &mut lifted.lamps[lamp_idx];
            lamp.at_cm.z = from_cm + lift_cm;
            if lift_cm != 0.0 && lamp.at_cm.z < self.study.scene().tank.water_cm + CLEAR_CM {
                continue;
            }
            let worth = self.worth(&lifted);
            let mut own = (worth, lifted);
            self.try_dims(&mut own);
            // A deed must pay: a lift costs a twentieth of a coral.
            let cost = if lift_cm == 0.0 { 0.0 } else { 0.05 };
            if own.0 - cost > best.0 + 1e-9 {
                *best = own;
            }
        }
    }

    /// Light of each lamp at full setting on each coral, in µmol/m²/s.
    fn parts(&mut self, layout: &Layout) -> Vec<Vec<f64>> {
        if let Ok(again) = self
            .solver
            .again(&self.study.with_layout(layout.clone()), self.measured)
        {
            self.solver = again;
        }
        let solver = &self.solver;
        self.targets
            .iter()
            .map(|target| {
                let ones = solver.sample_of_each(target.at_m, Some(target.facing));
                let each = ones.iter().enumerate();
                each.map(|(i, one)| one.facing_umol * solver.lamp_umol_s(i))
                    .collect()
            })
            .collect()
    }

    /// Corals in their range of light, each counting by how well it lies in it.
    fn worth(&mut self, layout: &Layout) -> f64 {
        let parts = self.parts(layout);
        let dims: Vec<f64> = layout.lamps.iter().map(|lamp| lamp.dim).collect();
        worth_of(self.targets, &parts, &dims)
    }

    fn try_dims(&mut self, best: &mut (f64, Layout)) {
        if !self.options.may.contains(&Lever::Dim) {
            return;
        }
        let layout = best.1.clone();
        let parts = self.parts(&layout);
        let given: Vec<f64> = layout.lamps.iter().map(|lamp| lamp.dim).collect();
        let bounds: Vec<[f64; 2]> = (0..given.len())
            .map(|i| {
                let is_free = self.is_free(&layout, i);
                if is_free {
                    [DIM_LEAST.min(given[i]), 1.0]
                } else {
                    [given[i]; 2]
                }
            })
            .collect();
        // The least squares want the optimum; the count wants the range. Both
        // are tried, and steps of each lamp around the better one.
        let mut tries = vec![fitted_dims(self.targets, &parts, &given, &bounds)];
        tries.push(given.clone());
        let mut found = (f64::NEG_INFINITY, given);
        for start in tries {
            let mut own = (worth_of(self.targets, &parts, &start), start);
            for _round in 0..3 {
                for i in 0..own.1.len() {
                    for step in 1..=20 {
                        let mut dims = own.1.clone();
                        dims[i] = (f64::from(step) * 0.05).clamp(bounds[i][0], bounds[i][1]);
                        let worth = worth_of(self.targets, &parts, &dims);
                        self.n_weighed += 1;
                        if worth > own.0 + 1e-9 {
                            own = (worth, dims);
                        }
                    }
                }
            }
            if own.0 > found.0 {
                found = own;
            }
        }
        let changed = found
            .1
            .iter()
            .zip(&layout.lamps)
            .filter(|(dim, lamp)| **dim != lamp.dim);
        let cost = 0.05 * changed.count() as f64;
        if found.0 - cost > best.0 {
            best.0 = found.0;
            for (lamp, dim) in best.1.lamps.iter_mut().zip(found.1) {
                lamp.dim = (dim * 100.0).round() / 100.0;
            }
        }
    }
}

/// One for each coral well within its range, less towards the edges and out.
fn worth_of(targets: &[Target<'_>], parts: &[Vec<f64>], dims: &[f64]) -> f64 {
    let each = targets.iter().zip(parts).map(|(target, part)| {
        let light: f64 = part.iter().zip(dims).map(|(part, dim)| part * dim).sum();
        worth_in(target.range, light)
    });
    each.sum()
}

/// What a value within a range is worth: 1 with a margin to its edges that the
/// estimate needs, half at the edges.
pub(super) fn worth_in(range: &Range, value: f64) -> f64 {
    const MARGIN_SCORE: f64 = 0.56;
    let score = range_score(value, range.low, range.optimum, range.high);
    if score >= MARGIN_SCORE {
        1.0 + 0.1 * score
    } else if score >= 0.5 {
        0.7 + 0.1 * score
    } else {
        0.5 * score
    }
}

/// Dims that bring the light nearest to the optimum of each coral, the width of
/// its range as the measure: bounded least squares, one lamp at a time; the sum
/// is convex, so that this ends at its minimum.
fn fitted_dims(
    targets: &[Target<'_>],
    parts: &[Vec<f64>],
    given: &[f64],
    bounds: &[[f64; 2]],
) -> Vec<f64> {
    const SWEEPS: usize = 200;
    let mut dims = given.to_vec();
    for _sweep in 0..SWEEPS {
        for i in 0..dims.len() {
            let (mut top, mut bottom) = (0.0, 1e-9);
            for (target, part) in targets.iter().zip(parts) {
                let weight = (target.range.high - target.range.low).max(1.0).powi(-2);
                let all: f64 = part.iter().zip(&dims).map(|(part, dim)| part * dim).sum();
                let others = all - part[i] * dims[i];
                top += weight * part[i] * (target.range.optimum - others);
                bottom += weight * part[i] * part[i];
            }
            dims[i] = (top / bottom).clamp(bounds[i][0], bounds[i][1]);
        }
    }
    dims
}

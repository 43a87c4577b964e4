//! Causes before symptoms: lamps or pumps that are too strong or too weak for
//! most corals are one finding with the setting that would do, and the corals'
//! own findings hang under it.
//!
//! Light is linear in what all lamps give together. At the speeds of a tank a
//! flow keeps its pattern and its speeds go with what all pumps give together,
//! as long as returns bring little. So one factor on the field that is there
//! foretells each coral's value, and the best factor is found exactly.

use std::collections::BTreeSet;

use crate::fit::{Fitter, Site, Strip};
use crate::scene::finding::{Cause, Figure, Gain, Note, Place, Spot};
use crate::scene::{Coral, ItemId};
use crate::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};

/// Fewest corals whose findings become one. Our choice.
const LEAST: usize = 3;

/// Change of setting that is less than an estimate is sure of, as a factor.
/// Our choice: half of the fifth by which a value may miss its range.
const TIE: f64 = 1.1;

/// Share of all flow that returns may bring and still count as nothing.
const RETURN_SHARE: f64 = 0.1;

/// A coral's value against its range.
#[derive(Clone, Copy, Debug)]
struct Sample {
    id: ItemId,
    value: f64,
    low: f64,
    high: f64,
}

impl Sample {
    fn of(coral: &Coral, strip: &Strip) -> Option<Self> {
        let value = strip.value.filter(|value| *value > 0.0)?;
        Some(Self {
            id: coral.id,
            value,
            low: strip.low,
            high: strip.high,
        })
    }

    fn fits(&self, factor: f64) -> bool {
        (self.low..=self.high).contains(&(self.value * factor))
    }
}

/// Puts findings of single corals under the lamps or pumps that bring them
/// about, where one setting would put several more of them right.
pub(crate) fn gather(input: &AdviceInput<'_>, findings: &mut Vec<Finding>) {
    let fitter = Fitter::new(input);
    if let Some(cause) = lamps(input, &fitter, findings) {
        put_under(cause, findings);
    }
    if let Some(cause) = pumps(input, &fitter, findings) {
        put_under(cause, findings);
    }
}

fn put_under(mut cause: Finding, findings: &mut Vec<Finding>) {
    let symptom = match cause.kind {
        Kind::LampLevel => Kind::CoralLight,
        _ => Kind::CoralFlow,
    };
    let belongs = |finding: &Finding| {
        let of_it = finding.item().is_some_and(|id| cause.items.contains(&id));
        finding.kind == symptom && of_it
    };
    let (under, rest) = findings.drain(..).partition(belongs);
    cause.under = under;
    *findings = rest;
    findings.push(cause);
}

fn lamps(input: &AdviceInput<'_>, fitter: &Fitter<'_>, told: &[Finding]) -> Option<Finding> {
    let lit = input.layout.lamps.iter().filter(|lamp| lamp.dim > 0.0);
    let lamps: Vec<_> = lit.collect();
    let first = lamps.first()?;
    let sees = |entry: &_, site: &_| fitter.light_strip(entry, site, None);
    let samples = samples(input, sees);
    let middle_cm = lamps.iter().map(|lamp| lamp.at_cm).sum::<glam::DVec3>() / lamps.len() as f64;
    let spot = match lamps.as_slice() {
        [one] => Spot::Item(one.id),
        _ => Spot::Tank,
    };
    let place = Place::at(spot, middle_cm, glam::DVec3::splat(5.0));
    let ids: Vec<ItemId> = lamps.iter().map(|lamp| lamp.id).collect();
    let most = lamps.iter().map(|lamp| 1.0 / lamp.dim);
    let most = most.fold(1.0 / first.dim, f64::min);
    let mut finding = level((Kind::LampLevel, Kind::CoralLight), &samples, told, place)?;
    let factor = finding.figure(Figure::Setting)?;
    if factor <= most {
        finding.remedies.push(Remedy::Dim {
            lamps: ids.clone(),
            factor,
        });
    }
    let looks = ids.iter().map(|id| Remedy::Select(*id));
    finding.remedies.extend(looks);
    finding.cause = Some(Cause::Lamps(ids));
    Some(finding)
}

fn pumps(input: &AdviceInput<'_>, fitter: &Fitter<'_>, told: &[Finding]) -> Option<Finding> {
    let running = input.layout.pumps.iter().filter(|pump| pump.throttle > 0.0);
    let pumps: Vec<_> = running.collect();
    let given_lph: f64 = pumps.iter().map(|pump| pump.flow_lph * pump.throttle).sum();
    let returned_lph: f64 = input.scene.tank.returns.iter().map(|r| r.flow_lph).sum();
    if returned_lph > RETURN_SHARE * given_lph {
        return None;
    }
    let sees = |entry: &_, site: &_| fitter.flow_strip(entry, site, fitter.flow_over(site));
    let samples = samples(input, sees);
    let spot = match pumps.as_slice() {
        [] => return None,
        [one] => Spot::Item(one.id),
        _ => Spot::Tank,
    };
    let middle_cm = pumps.iter().map(|pump| pump.at_cm).sum::<glam::DVec3>() / pumps.len() as f64;
    let place = Place::at(spot, middle_cm, glam::DVec3::splat(3.0));
    let mut finding = level((Kind::PumpLevel, Kind::CoralFlow), &samples, told, place)?;
    let factor = finding.figure(Figure::Setting)?;
    if pumps.iter().all(|pump| pump.throttle * factor <= 1.0) {
        let set = pumps.iter().map(|pump| Remedy::Throttle {
            pump: pump.id,
            throttle: pump.throttle * factor,
        });
        finding.remedies.extend(set);
    }
    let ids: Vec<ItemId> = pumps.iter().map(|pump| pump.id).collect();
    let looks = ids.iter().map(|id| Remedy::Select(*id));
    finding.remedies.extend(looks);
    finding.cause = Some(Cause::Pumps(ids));
    Some(finding)
}

/// Value and range of each coral, in order of their ids.
fn samples(
    input: &AdviceInput<'_>,
    strip: impl Fn(&crate::catalog::Entry, &Site) -> Strip,
) -> Vec<Sample> {
    let known = input.layout.corals.iter().filter_map(|coral| {
        let entry = input.catalog.entry(&coral.entry)?;
        Sample::of(coral, &strip(entry, &Site::of_coral(input, coral)))
    });
    let mut samples: Vec<Sample> = known.collect();
    samples.sort_by_key(|sample| sample.id);
    samples
}

/// One finding for the corals that a better setting puts right, without cause
/// and remedy; none where that is not worth it, or less than is sure.
fn level(
    (kind, symptom): (Kind, Kind),
    samples: &[Sample],
    told: &[Finding],
    place: Place,
) -> Option<Finding> {
    let faults: Vec<&Finding> = told.iter().filter(|f| f.kind == symptom).collect();
    let ill: BTreeSet<ItemId> = faults.iter().filter_map(|f| f.item()).collect();
    let count = |factor: f64| samples.iter().filter(|s| s.fits(factor)).count();
    let factor = best_factor(samples)?;
    let (before, after) = (count(1.0), count(factor));
    let side = if factor < 1.0 {
        Note::TooMuch
    } else {
        Note::TooLittle
    };
    let put_right = samples.iter().filter(|s| {
        let off = if factor < 1.0 {
            s.value > s.high
        } else {
            s.value < s.low
        };
        off && s.fits(factor) && ill.contains(&s.id)
    });
    let items: Vec<ItemId> = put_right.map(|s| s.id).collect();
    // What misses its range by less than is sure is no reason to act.
    let is_clear = |f: &&&Finding| {
        let of_it = f.item().is_some_and(|id| items.contains(&id));
        of_it && !f.has(Note::WithinDoubt)
    };
    let n_clear = faults.iter().filter(is_clear).count();
    let is_tie = factor.max(1.0 / factor) < TIE;
    if n_clear < LEAST || after < before + LEAST - 1 || is_tie {
        return None;
    }
    let of_them = faults
        .iter()
        .filter(|f| f.item().is_some_and(|id| items.contains(&id)));
    let severity = of_them.clone().map(|f| f.severity).max()?;
    let certainty = of_them.map(|f| f.certainty).max()?.min(Certainty::Likely);
    let mut finding = Finding::new(kind, severity.max(Severity::Note), certainty, place)
        .with(Figure::Setting, factor)
        .with(Figure::Corals, samples.len() as f64)
        .note(side);
    finding.items = items;
    finding.gain = Some(Gain {
        figure: Figure::Corals,
        before: before as f64,
        after: after as f64,
        of: Some(samples.len() as f64),
    });
    Some(finding)
}

/// The factor, in whole percent, at which most values lie in their range; of
/// several the one nearest to no change. How many do changes at the ends of
/// ranges only, so that these and what lies between them are all there is to
/// look at.
fn best_factor(samples: &[Sample]) -> Option<f64> {
    let ends = samples
        .iter()
        .flat_map(|s| [s.low / s.value, s.high / s.value]);
    let mut ends: Vec<f64> = ends.filter(|f| f.is_finite() && *f > 0.0).collect();
    ends.push(1.0);
    ends.sort_by(f64::total_cmp);
    let between = ends.windows(2).map(|pair| (pair[0] * pair[1]).sqrt());
    let whole = |factor: f64| ((factor * 100.0).round() / 100.0).max(0.01);
    let choices = between.chain(std::iter::once(1.0)).map(whole);
    let count = |factor: f64| samples.iter().filter(|s| s.fits(factor)).count();
    choices.max_by(|a, b| {
        let near = |factor: f64| -factor.ln().abs();
        count(*a)
            .cmp(&count(*b))
            .then(near(*a).total_cmp(&near(*b)))
            .then(a.total_cmp(b))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(id: u32, value: f64) -> Sample {
        Sample {
            id,
            value,
            low: 100.0,
            high: 200.0,
        }
    }

    #[test]
    fn the_best_factor_is_that_of_a_fine_scan() {
        // Twelve within a factor of two of each other, two that never join them.
        let mut all: Vec<Sample> = (0..12)
            .map(|i| sample(i, 300.0 + 20.0 * f64::from(i)))
            .collect();
        all.extend([sample(12, 40.0), sample(13, 5000.0)]);
        let count = |factor: f64| all.iter().filter(|s| s.fits(factor)).count();
        let best = best_factor(&all).unwrap();
        let scanned = (1..1000)
            .map(|i| count(f64::from(i) / 100.0))
            .max()
            .unwrap();
        assert_eq!(count(best), scanned, "as many as a scan finds");
        assert_eq!(scanned, 12, "all but the two");
        assert!((0.3334..=0.3847).contains(&best), "{best}");
    }

    #[test]
    fn nothing_is_changed_where_nothing_is_gained() {
        let all = [sample(1, 150.0), sample(2, 5.0)];
        assert_eq!(best_factor(&all), Some(1.0), "one fits now, one at best");
    }
}

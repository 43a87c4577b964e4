//! Least squares with priors and bounds, and what a fit is worth.
//!
//! A value is fitted within its bounds by a logistic transform, so that the
//! solver itself knows none; what is known beforehand enters as one more
//! residual a value. Values that the readings cannot tell are left as they
//! stand, and values that they cannot tell apart move together.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

/// A value counts as told if the readings leave at most this share of the
/// spread that it had beforehand.
///
/// **Source** own choice.
const TOLD_SHARE: f64 = 0.6;

/// Two values of one kind that readings do not tell are tied rather than left
/// if what is known of them is bound together more than this.
const TIED_CORRELATION: f64 = 0.5;

/// Standard deviations to the ends of an 80 % interval of a normal
/// distribution.
const INTERVAL_SDS: f64 = 1.2816;

/// What is known of a value beforehand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Prior {
    /// Normal in its logarithm, with this standard deviation.
    Ratio(f64),
    /// Normal, with this standard deviation.
    Plain(f64),
}

/// A value to be fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Unknown {
    /// As stated; where it stays if the readings say nothing.
    pub(super) stated: f64,
    /// Least and most that it may be.
    pub(super) bounds: [f64; 2],
    /// What is known beforehand, about `stated`.
    pub(super) prior: Prior,
    /// Values of one kind may be tied; none may not.
    pub(super) kind: Option<u32>,
}

impl Unknown {
    /// The value for `q`, which knows no bounds.
    fn value(&self, q: f64) -> f64 {
        let [low, high] = self.bounds;
        low + (high - low) / (1.0 + (-q).exp())
    }

    fn q(&self, value: f64) -> f64 {
        let [low, high] = self.bounds;
        let share = ((value - low) / (high - low)).clamp(1e-6, 1.0 - 1e-6);
        (share / (1.0 - share)).ln()
    }

    /// How many standard deviations of the prior a value lies from `stated`.
    fn off(&self, value: f64) -> f64 {
        match self.prior {
            Prior::Ratio(sd) => (value / self.stated).ln() / sd,
            Prior::Plain(sd) => (value - self.stated) / sd,
        }
    }

    /// The value so many standard deviations of the prior from another.
    fn moved(&self, value: f64, by: f64) -> f64 {
        let moved = match self.prior {
            Prior::Ratio(sd) => value * (by * sd).exp(),
            Prior::Plain(sd) => value + by * sd,
        };
        moved.clamp(self.bounds[0], self.bounds[1])
    }
}

/// Model of the readings: predicted less measured, over the spread, for each,
/// given the values.
pub(super) type Model<'a> = dyn Fn(&[f64]) -> Vec<f64> + 'a;

/// What became of one value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Fate {
    /// Fitted, with the ends of its 80 % interval.
    Fitted { value: f64, low: f64, high: f64 },
    /// Left as stated: the readings say too little of it.
    Left,
}

/// A fit and its worth.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fitting {
    /// One for each unknown.
    pub(super) fates: Vec<Fate>,
    /// Which unknown each moves with; itself if it is not tied.
    pub(super) tied_to: Vec<usize>,
    /// Residuals with the values as stated.
    pub(super) before: Vec<f64>,
    /// Residuals after the fit.
    pub(super) after: Vec<f64>,
    /// Residual of each reading, foretold from the others alone.
    pub(super) left_out: Vec<f64>,
}

/// Which unknowns are free, and which of them move together.
#[derive(Clone)]
struct Groups {
    /// For each unknown its group; none if it is left.
    of: Vec<Option<usize>>,
}

impl Groups {
    fn n(&self) -> usize {
        self.of.iter().flatten().max().map_or(0, |last| last + 1)
    }

    fn members(&self, group: usize) -> impl Iterator<Item = usize> + '_ {
        (0..self.of.len()).filter(move |i| self.of[*i] == Some(group))
    }

    /// Numbers the groups from zero without gaps.
    fn renumber(&mut self) {
        let mut seen: Vec<usize> = Vec::new();
        for group in self.of.iter_mut().flatten() {
            let place = seen.iter().position(|other| other == group);
            *group = place.unwrap_or_else(|| {
                seen.push(*group);
                seen.len() - 1
            });
        }
    }
}

struct Problem<'a> {
    unknowns: &'a [Unknown],
    model: &'a Model<'a>,
    groups: &'a Groups,
    q: DVector<f64>,
}

impl Problem<'_> {
    fn values(&self, q: &DVector<f64>) -> Vec<f64> {
        values_of(self.unknowns, self.groups, q)
    }

    fn all(&self, q: &DVector<f64>) -> DVector<f64> {
        let values = self.values(q);
        let mut all = (self.model)(&values);
        all.extend((0..self.groups.n()).filter_map(|group| {
            let first = self.groups.members(group).next()?;
            Some(self.unknowns[first].off(values[first]))
        }));
        DVector::from_vec(all)
    }
}

/// Tied values move by the same ratio as the first of their group.
fn values_of(unknowns: &[Unknown], groups: &Groups, q: &DVector<f64>) -> Vec<f64> {
    let mut values: Vec<f64> = unknowns.iter().map(|unknown| unknown.stated).collect();
    for group in 0..groups.n() {
        let Some(first) = groups.members(group).next() else {
            continue;
        };
        let value = unknowns[first].value(q[group]);
        for member in groups.members(group) {
            values[member] = unknowns[member].stated * value / unknowns[first].stated;
        }
        values[first] = value;
    }
    values
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, q: &DVector<f64>) {
        self.q.copy_from(q);
    }

    fn params(&self) -> DVector<f64> {
        self.q.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.all(&self.q))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        const STEP: f64 = 0.02;
        let columns: Vec<DVector<f64>> = (0..self.q.len())
            .map(|i| {
                let shifted = |by: f64| {
                    let mut q = self.q.clone();
                    q[i] += by;
                    self.all(&q)
                };
                (shifted(STEP) - shifted(-STEP)) / (2.0 * STEP)
            })
            .collect();
        Some(DMatrix::from_columns(&columns))
    }
}

/// Fits the unknowns to readings.
pub(super) fn fit(unknowns: &[Unknown], model: &Model<'_>) -> Fitting {
    let stated: Vec<f64> = unknowns.iter().map(|unknown| unknown.stated).collect();
    let before = model(&stated);
    let mut groups = Groups {
        of: (0..unknowns.len()).map(Some).collect(),
    };
    while let Some(next) = coarser(unknowns, model, &groups) {
        groups = next;
    }
    let n = groups.n();
    if n == 0 || before.is_empty() {
        return Fitting {
            fates: vec![Fate::Left; unknowns.len()],
            tied_to: (0..unknowns.len()).collect(),
            after: before.clone(),
            left_out: before.clone(),
            before,
        };
    }
    let starts = (0..n).filter_map(|group| {
        let first = groups.members(group).next()?;
        Some(unknowns[first].q(unknowns[first].stated))
    });
    let problem = Problem {
        unknowns,
        model,
        groups: &groups,
        q: DVector::from_iterator(n, starts),
    };
    let (problem, _report) = LevenbergMarquardt::new()
        .with_ftol(1e-6)
        .with_xtol(1e-5)
        .with_patience(12)
        .minimize(problem);
    let values = problem.values(&problem.q);
    let after = model(&values);
    let sensed = sensed(unknowns, model, &groups, &values);
    finished(unknowns, &groups, (values, sensed), (before, after))
}

/// Change of each residual for one standard deviation of the prior of each
/// group, around `values`.
fn sensed(
    unknowns: &[Unknown],
    model: &Model<'_>,
    groups: &Groups,
    values: &[f64],
) -> DMatrix<f64> {
    const STEP: f64 = 0.1;
    let columns: Vec<DVector<f64>> = (0..groups.n())
        .map(|group| {
            let shifted = |by: f64| {
                let mut moved = values.to_vec();
                for member in groups.members(group) {
                    moved[member] = unknowns[member].moved(values[member], by);
                }
                let first = groups.members(group).next().unwrap_or(0);
                let way = unknowns[first].off(moved[first]) - unknowns[first].off(values[first]);
                (DVector::from_vec(model(&moved)), way)
            };
            let ((high, up), (low, down)) = (shifted(STEP), shifted(-STEP));
            (high - low) / (up - down).max(1e-9)
        })
        .collect();
    DMatrix::from_columns(&columns)
}

/// Covariance of the groups in standard deviations of their priors.
fn covariance(sensed: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = sensed.ncols();
    (sensed.transpose() * sensed + DMatrix::identity(n, n)).try_inverse()
}

/// The groups with the one that the readings tell least tied or left; none if
/// all of them are told.
fn coarser(unknowns: &[Unknown], model: &Model<'_>, groups: &Groups) -> Option<Groups> {
    let n = groups.n();
    if n == 0 {
        return None;
    }
    let stated: Vec<f64> = unknowns.iter().map(|unknown| unknown.stated).collect();
    let known = covariance(&sensed(unknowns, model, groups, &stated))?;
    let spread = |group: usize| known[(group, group)].sqrt();
    let worst = (0..n).max_by(|a, b| spread(*a).total_cmp(&spread(*b)))?;
    if spread(worst) <= TOLD_SHARE {
        return None;
    }
    let kind = |group: usize| {
        groups
            .members(group)
            .next()
            .and_then(|first| unknowns[first].kind)
    };
    let partner = (0..n)
        .filter(|other| *other != worst && kind(*other).is_some() && kind(*other) == kind(worst))
        .map(|other| {
            let bound = known[(worst, other)].abs() / (spread(worst) * spread(other));
            (bound, other)
        })
        .filter(|(bound, _)| *bound > TIED_CORRELATION)
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let mut next = groups.clone();
    for group in &mut next.of {
        if *group == Some(worst) {
            *group = partner.map(|(_, other)| other);
        }
    }
    next.renumber();
    Some(next)
}

/// Intervals and residuals foretold.
fn finished(
    unknowns: &[Unknown],
    groups: &Groups,
    (values, sensed): (Vec<f64>, DMatrix<f64>),
    (before, after): (Vec<f64>, Vec<f64>),
) -> Fitting {
    let n = groups.n();
    let known = covariance(&sensed).unwrap_or_else(|| DMatrix::identity(n, n));
    // Readings that scatter more than they say widen what was found.
    let squares: f64 = after.iter().map(|residual| residual * residual).sum();
    let scatter = (squares / (after.len() as f64 - n as f64).max(1.0)).max(1.0);
    let fates = (0..unknowns.len()).map(|i| match groups.of[i] {
        Some(group) => {
            let by = INTERVAL_SDS * (known[(group, group)] * scatter).sqrt();
            Fate::Fitted {
                value: values[i],
                low: unknowns[i].moved(values[i], -by).min(values[i]),
                high: unknowns[i].moved(values[i], by).max(values[i]),
            }
        }
        None => Fate::Left,
    });
    let tied_to = (0..unknowns.len()).map(|i| {
        let first = groups.of[i].and_then(|group| groups.members(group).next());
        first.unwrap_or(i)
    });
    // Leaving one out without fitting again: its residual over one less its
    // leverage (Allen 1974, MEMORY), exact where the model is straight.
    let pull = &sensed * &known;
    let left_out = after.iter().enumerate().map(|(i, residual)| {
        let leverage: f64 = (0..n).map(|j| pull[(i, j)] * sensed[(i, j)]).sum();
        residual / (1.0 - leverage).max(1e-3)
    });
    Fitting {
        fates: fates.collect(),
        tied_to: tied_to.collect(),
        left_out: left_out.collect(),
        before,
        after,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(kind: u32) -> Unknown {
        Unknown {
            stated: 1.0,
            bounds: [0.2, 2.0],
            prior: Prior::Ratio(0.3),
            kind: Some(kind),
        }
    }

    /// Readings that are sums of shares times parts, each with a spread.
    fn sums(
        parts: &'static [[f64; 2]],
        truth: [f64; 2],
        spread: f64,
    ) -> impl Fn(&[f64]) -> Vec<f64> {
        move |values: &[f64]| {
            let sum = |part: &[f64; 2], by: &[f64]| part[0] * by[0] + part[1] * by[1];
            parts
                .iter()
                .map(|part| (sum(part, values) - sum(part, &truth)) / spread)
                .collect()
        }
    }

    #[test]
    fn exact_readings_give_back_the_truth() {
        let model = sums(
            &[[100.0, 10.0], [20.0, 90.0], [50.0, 50.0]],
            [0.7, 1.3],
            0.5,
        );
        let fitting = fit(&[share(1), share(1)], &model);
        for (fate, truth) in fitting.fates.iter().zip([0.7, 1.3]) {
            let Fate::Fitted { value, low, high } = *fate else {
                panic!("told by the readings: {fate:?}");
            };
            // The prior pulls by (spread / part / prior)², below a thousandth.
            assert!((value - truth).abs() < 2e-3, "{value} for {truth}");
            assert!(
                low < truth && truth < high && high - low < 0.1,
                "{low} to {high}"
            );
        }
    }

    #[test]
    fn what_cannot_be_told_apart_moves_together() {
        // Both parts always in the same ratio: only their sum is known.
        let model = sums(&[[60.0, 40.0], [30.0, 20.0]], [0.8, 0.8], 0.5);
        let fitting = fit(&[share(1), share(1)], &model);
        assert_eq!(fitting.tied_to, vec![0, 0], "tied");
        for fate in &fitting.fates {
            let Fate::Fitted { value, .. } = *fate else {
                panic!("the sum is told: {fate:?}");
            };
            assert!((value - 0.8).abs() < 2e-3, "{value}");
        }
    }

    #[test]
    fn what_is_not_seen_is_left() {
        let model = sums(&[[60.0, 0.0], [30.0, 0.0]], [0.8, 0.5], 0.5);
        let fitting = fit(&[share(1), share(2)], &model);
        assert!(
            matches!(fitting.fates[0], Fate::Fitted { .. }),
            "{fitting:?}"
        );
        assert_eq!(fitting.fates[1], Fate::Left, "no reading lies in it");
        let none = fit(&[share(1)], &|_: &[f64]| Vec::new());
        assert_eq!(none.fates, vec![Fate::Left], "nothing read");
    }

    #[test]
    fn a_reading_left_out_is_foretold_as_a_second_fit_does() {
        // One share, three readings, one of them off: by hand. The prior is
        // weak against a spread of 0.5 on parts of 50 and more.
        let measured = [84.0, 40.0, 70.0];
        let parts = [100.0, 50.0, 80.0];
        let residual = |i: usize, value: f64| (parts[i] * value - measured[i]) / 0.5;
        let model = |values: &[f64]| (0..3).map(|i| residual(i, values[0])).collect();
        let fitting = fit(&[share(1)], &model);
        let without = |out: usize| {
            let kept = (0..3).filter(|i| *i != out);
            let (top, bottom) = kept.fold((0.0, 0.0), |(top, bottom), i| {
                (top + parts[i] * measured[i], bottom + parts[i] * parts[i])
            });
            residual(out, top / bottom)
        };
        for out in 0..3 {
            let (found, exact) = (fitting.left_out[out], without(out));
            assert!(
                (found - exact).abs() < 0.02 * exact.abs().max(1.0),
                "{found}, {exact}"
            );
        }
    }
}

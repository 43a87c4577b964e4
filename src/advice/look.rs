//! What charts show: how much of the water moves how fast, how much of the rock
//! is lit how brightly, and where a coral stands once it has grown.

use crate::AdviceInput;
use crate::fit::{Fitter, Site, Strip};
use crate::flow::{CellKind, FlowField};
use crate::growth::{Pace, size_after_cm};
use crate::light::{LightField, SurfaceOwner};
use crate::scene::{Coral, ItemId};
use crate::units::M_PER_CM;

/// Months that the second mark of a coral's chart looks ahead.
pub const AHEAD_MONTHS: f64 = 36.0;

/// A coral's light and flow as it will stand in [`AHEAD_MONTHS`] months.
#[derive(Clone, Debug, PartialEq)]
pub struct Ahead {
    /// The coral.
    pub id: ItemId,
    /// Light on its top by then.
    pub light: Strip,
    /// Flow over it by then.
    pub flow: Strip,
}

/// Where each coral stands once it has grown at its usual pace: its top in
/// today's light and water. What its own and its neighbors' growth does to
/// them is left aside; looking ahead with the months solves that.
pub fn corals_ahead(input: &AdviceInput<'_>) -> Vec<Ahead> {
    let fitter = Fitter::new(input);
    let one = |coral: &Coral| {
        let entry = input.catalog.entry(&coral.entry)?;
        let size_cm = size_after_cm(entry, coral.size_cm, AHEAD_MONTHS, Pace::Usual);
        let site = Site {
            size_m: size_cm * M_PER_CM,
            ..Site::of_coral(input, coral)
        };
        Some(Ahead {
            id: coral.id,
            light: fitter.light_strip(entry, &site, None),
            flow: fitter.flow_strip(entry, &site, fitter.flow_over(&site)),
        })
    };
    input.layout.corals.iter().filter_map(one).collect()
}

/// Shares of the water whose mean speed lies below the first of `limits_m_s`
/// (ascending), between it and the next, and so on, and above the last: one
/// more than there are limits. Empty without water.
pub fn water_shares(field: &FlowField, limits_m_s: &[f64]) -> Vec<f64> {
    let cells = (0..field.kind.len()).filter(|&idx| field.kind[idx] == CellKind::Water);
    shares(
        cells.map(|idx| (f64::from(field.speed_m_s[idx]), 1.0)),
        limits_m_s,
    )
}

/// The same of the rock's surface by the light on it as it faces, in µmol/m²/s.
/// Empty without rock.
pub fn rock_shares(field: &LightField, limits_umol: &[f64]) -> Vec<f64> {
    let patches = field.patches.iter();
    let rock = patches.filter(|patch| matches!(patch.owner, SurfaceOwner::Rock(_)));
    shares(
        rock.map(|patch| (patch.ppfd_umol, patch.area_m2)),
        limits_umol,
    )
}

fn shares(values: impl Iterator<Item = (f64, f64)>, limits: &[f64]) -> Vec<f64> {
    let mut sums = vec![0.0; limits.len() + 1];
    for (value, weight) in values {
        sums[limits.partition_point(|limit| *limit <= value)] += weight;
    }
    let all: f64 = sums.iter().sum();
    if all > 0.0 {
        sums.iter().map(|sum| sum / all).collect()
    } else {
        Vec::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_counted_by_weight_and_sum_to_one() {
        let values = [(0.5, 1.0), (1.0, 2.0), (1.9, 1.0), (7.0, 4.0)];
        let found = shares(values.into_iter(), &[1.0, 2.0, 5.0]);
        // A value at a limit belongs to the class above it.
        assert_eq!(found, [0.125, 0.375, 0.0, 0.5], "by hand");
        assert!(shares(std::iter::empty(), &[1.0]).is_empty(), "of nothing");
    }
}

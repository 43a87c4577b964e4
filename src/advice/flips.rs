//! Where the flow may flip: runs of the same tank that end up apart.

use glam::DVec3;

use crate::dead::{cell_volume_l, connected};
use crate::flow::FlowField;
use crate::place::Surroundings;
use crate::scene::finding::{Figure, Place};
use crate::{AdviceInput, Certainty, Finding, Kind, Severity};

/// Smallest region that is worth a line, as a share of the water; own choice.
const SHARE_MIN: f64 = 0.02;

/// Share of the water from which it is a warning; own choice.
const SHARE_WARNING: f64 = 0.05;

/// Water in which several runs of the tank go different ways, in connected
/// regions, largest first; none for a single run, which cannot know.
pub fn flip_findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    let Some(field) = input.flow.filter(|field| !field.may_flip.is_empty()) else {
        return Vec::new();
    };
    let n_water = field.n_water().max(1) as f64;
    let share = |region: &Vec<usize>| region.len() as f64 / n_water;
    let mut regions = connected(field, &field.may_flip, |_| 0);
    regions.retain(|region| share(region) >= SHARE_MIN);
    regions.sort_by_key(|region| std::cmp::Reverse(region.len()));
    let surroundings = Surroundings::new(input.study);
    let found = regions
        .iter()
        .map(|region| finding(input, field, &surroundings, (region, share(region))));
    found.collect()
}

fn finding(
    input: &AdviceInput<'_>,
    field: &FlowField,
    surroundings: &Surroundings,
    (region, share): (&[usize], f64),
) -> Finding {
    let center = |idx: &usize| field.grid.center_m(field.grid.ijk(*idx));
    let points: Vec<DVec3> = region.iter().map(center).collect();
    let volume_l = region.len() as f64 * cell_volume_l(field, input.options.slice_thickness_m);
    // Where the water changes most.
    let fluctuation = |idx: &usize| field.fluctuation_m_s[*idx];
    let most = region
        .iter()
        .max_by(|a, b| fluctuation(a).total_cmp(&fluctuation(b)).then(b.cmp(a)));
    let worst_m = most.map_or(DVec3::ZERO, center);
    let spot = surroundings.water_spot(&points);
    let place = Place::of_points_m(spot, worst_m, &points, field.grid.cell_m);
    let severity = if share >= SHARE_WARNING {
        Severity::Warning
    } else {
        Severity::Note
    };
    // That runs differ is certain; that the tank does is likely at best.
    let certainty = if field.settling.settled {
        Certainty::Likely
    } else {
        Certainty::Check
    };
    Finding::new(Kind::MayFlip, severity, certainty, place)
        .with(Figure::Volume, volume_l)
        .with(Figure::Runs, field.n_runs as f64)
}

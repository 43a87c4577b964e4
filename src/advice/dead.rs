//! Dead spots: connected water slower than the keeper's limit.

use glam::DVec3;

use crate::flow::{CellKind, Estimate, FlowField, felt};
use crate::place::Surroundings;
use crate::scene::ItemId;
use crate::scene::finding::{Figure, Note, Place};
use crate::units::M_PER_CM;
use crate::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};

/// A region that fills less of its box than this is a skin along something
/// long, and is named in parts.
const FILL_MIN: f64 = 0.35;

/// Share of the tank's length above which such a skin is split.
const LONG_SHARE: f64 = 0.5;

/// Dead spots, largest first.
///
/// A cell is called dead from a chance of [`felt::CALLED`] on that its felt speed
/// is below the limit, so that the spots of a tank hold about as much water as it
/// is said to have dead; how sure a spot is follows from the mean of its cells'
/// chances (see [`crate::flow::felt`]). In a slice, and in a field that no solver made, a
/// cell is dead if its time mean of the speed is below the limit. Cells that
/// share a face belong together. A thin region longer than half the tank is
/// split into its left, middle and right part, so that each can be named. In a
/// slice the volume is its area times [`slice_thickness_m`], and the text says
/// that it is a slice; its certainty is never better than likely.
///
/// [`slice_thickness_m`]: crate::AdviceOptions::slice_thickness_m
pub fn dead_spots(input: &AdviceInput<'_>) -> Vec<Finding> {
    let Some(field) = input.flow else {
        return Vec::new();
    };
    let limit = input.options.dead_limit_m_s;
    let dead: Vec<bool> = (0..field.grid.n_cells())
        .map(|idx| is_called_dead(field, idx, limit))
        .collect();
    let surroundings = Surroundings::new(input.study);
    let length_m = surroundings.size_m().x;
    let mut regions = Vec::new();
    for region in connected(field, &dead, |_| 0) {
        if is_long_skin(field, &region, length_m) {
            let mut part = vec![false; dead.len()];
            for &idx in &region {
                part[idx] = true;
            }
            let third = |idx| third_of_length(field, idx, length_m);
            regions.extend(connected(field, &part, third));
        } else {
            regions.push(region);
        }
    }
    let cell_l = cell_volume_l(field, input.options.slice_thickness_m);
    regions.retain(|region| region.len() as f64 * cell_l >= input.options.dead_min_l);
    regions.sort_by_key(|region| std::cmp::Reverse(region.len()));
    let describe = |region: &Vec<usize>| describe(input, field, &surroundings, region);
    regions.iter().map(describe).collect()
}

fn is_called_dead(field: &FlowField, idx: usize, limit_m_s: f64) -> bool {
    match field.felt().and_then(|felt| felt.cell(idx)) {
        Some(felt) => felt.chance_below(limit_m_s) >= felt::CALLED,
        None => speed_m_s(field, idx).is_some_and(|speed| speed < limit_m_s),
    }
}

/// What the water of a cell is taken to move at: the middle of its felt speed,
/// or the estimate's mean where that is not known.
fn speed_m_s(field: &FlowField, idx: usize) -> Option<f64> {
    if field.kind[idx] != CellKind::Water {
        return None;
    }
    let felt = field.felt().and_then(|felt| felt.cell(idx));
    let plain = || f64::from(field.speed_m_s[idx]);
    Some(felt.map_or_else(plain, |felt| felt.median_m_s()))
}

/// Mean chance of a region to be slower than the limit, if that is known.
fn mean_chance(field: &FlowField, region: &[usize], limit_m_s: f64) -> Option<f64> {
    let felt = field.felt()?;
    let chance = |idx: &usize| felt.cell(*idx).map(|felt| felt.chance_below(limit_m_s));
    let sum: f64 = region.iter().filter_map(chance).sum();
    Some(sum / region.len().max(1) as f64)
}

/// Volume that one cell stands for, in L; a slice has the stated thickness.
pub(crate) fn cell_volume_l(field: &FlowField, slice_thickness_m: f64) -> f64 {
    let cell = field.grid.cell_m;
    match field.estimate {
        Estimate::Tank => cell.powi(3) * 1000.0,
        Estimate::PlanSlice | Estimate::SideSlice => cell * cell * slice_thickness_m * 1000.0,
    }
}

/// Indices of flagged cells that hang together over faces and share a key,
/// in ascending order of their first cell.
pub(crate) fn connected(
    field: &FlowField,
    flag: &[bool],
    key: impl Fn(usize) -> usize,
) -> Vec<Vec<usize>> {
    let grid = &field.grid;
    let strides = [1, grid.n[0], grid.n[0] * grid.n[1]];
    let mut seen = vec![false; flag.len()];
    let mut regions = Vec::new();
    for start in 0..flag.len() {
        if !flag[start] || seen[start] {
            continue;
        }
        seen[start] = true;
        let mut region = vec![start];
        let mut next = 0;
        while next < region.len() {
            let idx = region[next];
            next += 1;
            let ijk = grid.ijk(idx);
            for axis in 0..3 {
                let below = (ijk[axis] > 0).then(|| idx - strides[axis]);
                let above = (ijk[axis] + 1 < grid.n[axis]).then(|| idx + strides[axis]);
                for neighbor in [below, above].into_iter().flatten() {
                    if flag[neighbor] && !seen[neighbor] && key(neighbor) == key(start) {
                        seen[neighbor] = true;
                        region.push(neighbor);
                    }
                }
            }
        }
        regions.push(region);
    }
    regions
}

fn third_of_length(field: &FlowField, idx: usize, length_m: f64) -> usize {
    let x_m = field.grid.center_m(field.grid.ijk(idx)).x;
    (3.0 * x_m / length_m).clamp(0.0, 2.0) as usize
}

fn is_long_skin(field: &FlowField, region: &[usize], length_m: f64) -> bool {
    let (low, high) = region_box(field, region);
    let size = high - low + field.grid.cell_m;
    let cells = (size / field.grid.cell_m).round().element_product();
    size.x > LONG_SHARE * length_m && (region.len() as f64) < FILL_MIN * cells
}

/// Lowest and highest cell centers of a region, in m.
pub(super) fn region_box(field: &FlowField, region: &[usize]) -> (DVec3, DVec3) {
    let center = |idx: &usize| field.grid.center_m(field.grid.ijk(*idx));
    region
        .iter()
        .map(center)
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), at| {
            (low.min(at), high.max(at))
        })
}

fn describe(
    input: &AdviceInput<'_>,
    field: &FlowField,
    surroundings: &Surroundings,
    region: &[usize],
) -> Finding {
    let center = |idx: &usize| field.grid.center_m(field.grid.ijk(*idx));
    let points: Vec<DVec3> = region.iter().map(center).collect();
    let cell_l = cell_volume_l(field, input.options.slice_thickness_m);
    let volume_l = region.len() as f64 * cell_l;
    let speed = |idx: &usize| speed_m_s(field, *idx).unwrap_or_default();
    let mean_speed_m_s = region.iter().map(speed).sum::<f64>() / region.len() as f64;
    let on_floor = region.iter().any(|&idx| floor_below(field, idx));
    let corals = corals_within(input, field, region);
    let share = region.len() as f64 / (field.n_water() as f64).max(1.0);
    let slowest = region.iter().min_by(|a, b| speed(a).total_cmp(&speed(b)));
    let worst_m = slowest.map_or(DVec3::ZERO, center);
    let spot = surroundings.water_spot(&points);
    let place = Place::of_points_m(spot, worst_m, &points, field.grid.cell_m);
    let hurts = if wants_more(input, &corals, mean_speed_m_s) {
        Severity::Serious
    } else {
        Severity::Note
    };
    let limit_m_s = input.options.dead_limit_m_s;
    let severity = severity(share, volume_l, on_floor).max(hurts);
    let certainty = certainty(field, region, limit_m_s);
    let mut finding = Finding::new(Kind::DeadSpot, severity, certainty, place)
        .with(Figure::Volume, volume_l)
        .with(Figure::MeanSpeed, mean_speed_m_s / M_PER_CM)
        .with(Figure::DeadLimit, limit_m_s / M_PER_CM);
    if let Some(chance) = mean_chance(field, region, limit_m_s) {
        finding = finding.with(Figure::Chance, chance);
    }
    if on_floor {
        finding = finding.note(Note::DetritusSettles);
    }
    if field.estimate != Estimate::Tank {
        let thickness_cm = input.options.slice_thickness_m / M_PER_CM;
        finding = finding
            .note(Note::SliceEstimate)
            .with(Figure::Thickness, thickness_cm);
    }
    if may_flip(field, region) {
        finding = finding.note(Note::RunsDiffer);
    } else if !field.settling.settled {
        finding = finding.note(Note::NotSettled);
    }
    finding.items = corals;
    finding.remedies = vec![Remedy::ProposePump];
    finding
}

/// Whether one of these corals wants faster water than that, or is not known.
fn wants_more(input: &AdviceInput<'_>, ids: &[ItemId], speed_m_s: f64) -> bool {
    let corals = input.layout.corals.iter();
    let mut theirs = corals.filter(|coral| ids.contains(&coral.id));
    theirs.any(|coral| {
        let entry = input.catalog.entry(&coral.entry);
        entry.is_none_or(|entry| entry.flow_cm_s.low * M_PER_CM > speed_m_s)
    })
}

/// A spot of more than a twenty-fifth of the water does harm; one on the bed
/// gathers waste.
fn severity(share: f64, volume_l: f64, on_floor: bool) -> Severity {
    if share >= 0.04 {
        Severity::Serious
    } else if on_floor || volume_l >= 2.0 {
        Severity::Warning
    } else {
        Severity::Note
    }
}

/// How sure a dead region is: by the mean chance of its cells, unless the flow
/// may flip there. Where chances are not known, whether its cells stay below the limit at the
/// upper end of their confidence intervals, and whether the run has settled.
/// The interval holds chance only, so "sure" also asks for a mean speed well
/// below the limit.
fn certainty(field: &FlowField, region: &[usize], limit_m_s: f64) -> Certainty {
    if may_flip(field, region) {
        return Certainty::Check;
    }
    if let Some(chance) = mean_chance(field, region, limit_m_s) {
        return felt::certainty(chance);
    }
    let upper = |idx: &&usize| {
        f64::from(field.speed_m_s[**idx]) + f64::from(field.speed_half_width_m_s[**idx]) < limit_m_s
    };
    let firm = region.iter().filter(upper).count() as f64 / region.len() as f64;
    let speed = |idx: &usize| f64::from(field.speed_m_s[*idx]);
    let mean = region.iter().map(speed).sum::<f64>() / region.len() as f64;
    let settled = field.settling.settled;
    if settled && firm >= 0.75 && mean < 0.6 * limit_m_s && field.estimate == Estimate::Tank {
        Certainty::Sure
    } else if settled && firm >= 0.5 {
        Certainty::Likely
    } else {
        Certainty::Check
    }
}

/// Whether runs go different ways in half of a region.
fn may_flip(field: &FlowField, region: &[usize]) -> bool {
    let flips = |idx: &&usize| field.may_flip.get(**idx) == Some(&true);
    2 * region.iter().filter(flips).count() >= region.len()
}

fn floor_below(field: &FlowField, idx: usize) -> bool {
    if field.estimate == Estimate::PlanSlice {
        return false;
    }
    let [i, j, k] = field.grid.ijk(idx);
    k == 0
        || matches!(
            field.kind[field.grid.idx([i, j, k - 1])],
            CellKind::Sand | CellKind::Rock
        )
}

/// Ids of the corals whose tops stand in a region, in ascending order.
fn corals_within(input: &AdviceInput<'_>, field: &FlowField, region: &[usize]) -> Vec<ItemId> {
    let inside = |at_m: DVec3| {
        let near = |idx: &usize| {
            let mut away = (field.grid.center_m(field.grid.ijk(*idx)) - at_m).abs();
            match field.estimate {
                Estimate::Tank => {}
                Estimate::PlanSlice => away.z = 0.0,
                Estimate::SideSlice => away.y = 0.0,
            }
            away.max_element() <= field.grid.cell_m
        };
        region.iter().any(near)
    };
    let corals = input.layout.corals.iter().filter(|coral| {
        let top_cm = coral.at_cm + coral.facing.normalize_or(DVec3::Z) * coral.size_cm.z;
        inside(top_cm * M_PER_CM)
    });
    let mut ids: Vec<ItemId> = corals.map(|coral| coral.id).collect();
    ids.sort_unstable();
    ids
}

//! Where in its place a finding is worst: the slowest water of a dead spot, the
//! darkest surface of a shaded zone. There its mark lies, and nowhere else.

use std::sync::Arc;

use glam::DVec3;

use crate::advice::{Finding, Kind};
use crate::desk::Results;
use crate::flow::{CellKind, FlowField};

use crate::light::LightField;

/// The worst points of the newest findings, kept until they or a field change.
#[derive(Default)]
pub(super) struct WorstPoints {
    findings: Option<Arc<Vec<Finding>>>,
    flow: Option<Arc<FlowField>>,
    light: Option<Arc<LightField>>,
    /// In the order of the findings, in cm.
    at_cm: Vec<DVec3>,
}

impl WorstPoints {
    /// Looks for them anew if anything has changed.
    pub(super) fn refresh(&mut self, results: &Results) {
        let flow = results.best_flow();
        let is_same = |a: &Option<Arc<FlowField>>, b: &Option<Arc<FlowField>>| match (a, b) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        };
        let is_lit_same = match (&self.light, &results.light) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b),
            (None, None) => true,
            _ => false,
        };
        let is_known =
            (self.findings.as_ref()).is_some_and(|known| Arc::ptr_eq(known, &results.findings));
        if is_known && is_same(&self.flow, &flow) && is_lit_same {
            return;
        }
        let worst = |finding: &Finding| {
            let found = match finding.kind {
                Kind::DeadSpot => flow.as_deref().and_then(|it| slowest_m(finding, it)),
                Kind::Shade => {
                    let light = results.light.as_deref();
                    light.and_then(|it| darkest_m(finding, it))
                }
                _ => None,
            };
            found.unwrap_or(finding.place.at_m()) * 100.0
        };
        self.at_cm = results.findings.iter().map(worst).collect();
        self.findings = Some(Arc::clone(&results.findings));
        self.flow = flow;
        self.light.clone_from(&results.light);
    }

    /// Where one of them is worst, in cm.
    pub(super) fn at_cm(&self, idx: usize) -> Option<DVec3> {
        self.at_cm.get(idx).copied()
    }
}

/// Whether a point lies in a finding's box, with a little room, in m.
fn is_within(finding: &Finding, at_m: DVec3, room_m: f64) -> bool {
    let away = (at_m - finding.place.at_m()).abs();
    away.cmple(finding.place.half_size_m() + room_m).all()
}

/// The middle of the slowest water in a finding's box: the mean over a cell and
/// its neighbors counts, so that one slow cell in a jet is not taken for it.
pub(super) fn slowest_m(finding: &Finding, field: &FlowField) -> Option<DVec3> {
    const NEIGHBORS: [[isize; 3]; 6] = [
        [-1, 0, 0],
        [1, 0, 0],
        [0, -1, 0],
        [0, 1, 0],
        [0, 0, -1],
        [0, 0, 1],
    ];
    let grid = &field.grid;
    let speed = |cell: [usize; 3], step: [isize; 3]| {
        let mut other = cell;
        for axis in 0..3 {
            other[axis] = cell[axis].checked_add_signed(step[axis])?;
            if other[axis] >= grid.n[axis] {
                return None;
            }
        }
        let idx = grid.idx(other);
        (field.kind[idx] == CellKind::Water).then(|| f64::from(field.speed_m_s[idx]))
    };
    let around = |cell: [usize; 3]| {
        let own = speed(cell, [0; 3])?;
        let others = NEIGHBORS.iter().filter_map(|step| speed(cell, *step));
        let (sum, n) = others.fold((own, 1.0), |(sum, n), it| (sum + it, n + 1.0));
        Some(sum / n)
    };
    let cells = (0..grid.n_cells()).map(|idx| grid.ijk(idx));
    let inside = cells.filter(|cell| is_within(finding, grid.center_m(*cell), 1e-6));
    let known = inside.filter_map(|cell| Some((around(cell)?, cell)));
    let slowest = known.min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(grid.center_m(slowest.1))
}

/// The darkest surface in a finding's box.
fn darkest_m(finding: &Finding, light: &LightField) -> Option<DVec3> {
    let inside = light
        .patches
        .iter()
        .filter(|patch| is_within(finding, patch.at_m, 0.002));
    let darkest = inside.min_by(|a, b| a.open_share().total_cmp(&b.open_share()))?;
    Some(darkest.at_m)
}

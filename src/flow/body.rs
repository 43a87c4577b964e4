//! Bodies of pumps, which water must go around.

use glam::DVec3;

use crate::CellKind;
use crate::geometry::CellGrid;
use crate::outlet::across;
use crate::scene::{Layout, Pump, PumpKind, aim};
use crate::units::M_PER_CM;

/// How far behind the outlet the body begins and ends, in diameters of the
/// outlet: water is drawn in through the gap.
///
/// **Source** a motor about as wide and as long as the outlet is wide, behind a
/// cage of the same length. COMMON PRACTICE.
const BEHIND: [f64; 2] = [1.0, 2.0];

/// Marks the water that bodies of pumps fill. A cell belongs to one if its
/// middle does; a nozzle on a pipe has none.
pub(crate) fn place(grid: &CellGrid, layout: &Layout, kinds: &mut [CellKind]) {
    for pump in &layout.pumps {
        let Some(body) = Body::of(pump) else {
            continue;
        };
        let inside = |ijk: &[usize; 3]| body.contains(grid.center_m(*ijk));
        for ijk in grid.near(body.outlet_m, body.reach_m()).filter(inside) {
            let kind = &mut kinds[grid.idx(ijk)];
            if *kind == CellKind::Water {
                *kind = CellKind::Blocked;
            }
        }
    }
}

/// A cylinder behind a round outlet, a box behind a slot.
struct Body {
    outlet_m: DVec3,
    aim: DVec3,
    across: [DVec3; 2],
    half_m: [f64; 2],
    span_m: f64,
    is_round: bool,
}

impl Body {
    fn of(pump: &Pump) -> Option<Self> {
        let span_m = pump.outlet_cm * M_PER_CM;
        let (half_m, is_round) = match pump.kind {
            PumpKind::Nozzle => return None,
            PumpKind::Propeller => ([span_m / 2.0; 2], true),
            PumpKind::CrossFlow { length_cm } => {
                ([length_cm * M_PER_CM / 2.0, span_m / 2.0], false)
            }
        };
        let aim = aim(pump.turn_deg, pump.tilt_deg);
        Some(Self {
            outlet_m: pump.at_cm * M_PER_CM,
            aim,
            across: across(aim),
            half_m,
            span_m,
            is_round,
        })
    }

    /// How far from the outlet any of it is at most, in m.
    fn reach_m(&self) -> f64 {
        BEHIND[1] * self.span_m + self.half_m[0].max(self.half_m[1])
    }

    fn contains(&self, at_m: DVec3) -> bool {
        let from_outlet = at_m - self.outlet_m;
        let behind = -from_outlet.dot(self.aim) / self.span_m;
        let [a, b] = [0, 1].map(|k| from_outlet.dot(self.across[k]) / self.half_m[k]);
        let is_beside = if self.is_round {
            a.hypot(b) > 1.0
        } else {
            a.abs().max(b.abs()) > 1.0
        };
        (BEHIND[0]..=BEHIND[1]).contains(&behind) && !is_beside
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Programme;

    fn blocked(kind: PumpKind, turn_deg: f64) -> Vec<[usize; 3]> {
        let grid = CellGrid {
            origin_m: DVec3::ZERO,
            cell_m: 0.02,
            n: [20, 20, 20],
        };
        let pump = Pump {
            id: 1,
            name: String::new(),
            kind,
            at_cm: DVec3::new(20.0, 20.0, 20.0),
            turn_deg,
            tilt_deg: 0.0,
            flow_lph: 3000.0,
            outlet_cm: 4.0,
            throttle: 1.0,
            programme: Programme::Steady,
            power_w: None,
            by_hour: Vec::new(),
            guarded: false,
            measured: None,
            locked: false,
        };
        let layout = Layout {
            pumps: vec![pump],
            ..Layout::default()
        };
        let mut kinds = vec![CellKind::Water; grid.n_cells()];
        place(&grid, &layout, &mut kinds);
        (0..grid.n_cells())
            .filter(|&cell| kinds[cell] == CellKind::Blocked)
            .map(|cell| grid.ijk(cell))
            .collect()
    }

    #[test]
    fn a_body_stands_a_diameter_behind_its_outlet() {
        // Cells 9 and 10 lie beside the axis at 20 cm; 4 to 8 cm behind it are
        // cells 6 and 7, or 12 and 13 for a pump that points the other way.
        for (turn_deg, along) in [(0.0, [6, 7]), (180.0, [12, 13])] {
            let cells = blocked(PumpKind::Propeller, turn_deg);
            let expected: Vec<[usize; 3]> = [9, 10]
                .iter()
                .flat_map(|k| [9, 10].map(|j| (j, *k)))
                .flat_map(|(j, k)| along.map(|i| [i, j, k]))
                .collect();
            assert_eq!(cells, expected, "turned by {turn_deg}");
        }
        assert!(blocked(PumpKind::Nozzle, 0.0).is_empty(), "a pipe");
        let slot = blocked(PumpKind::CrossFlow { length_cm: 20.0 }, 90.0);
        // 20 cm across, two cells high and two deep.
        assert_eq!(slot.len(), 10 * 2 * 2, "{slot:?}");
    }
}

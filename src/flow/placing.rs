//! Pumps, returns, drag and overflow on the cells that they act on.

use glam::DVec3;

use crate::domain::CellForce;
use crate::geometry::CellGrid;
use crate::held::HeldCell;
use crate::outlet::Outlet;
use crate::phases::Turn;
use crate::scene::{Overflow, SideName, Tank};
use crate::setup::Rebuild;
use crate::source::{Source, SourceCell};
use crate::units::M_PER_CM;
use crate::{CellKind, Cut, Scaling};

/// Share of a thrust that suction takes on a wall one cell behind its source;
/// it falls with the distance in cells to the power 1.5.
///
/// **Source** own runs, `METHODS.md`.
const SUCTION_SHARE: f64 = 0.22;

/// Share of a thrust that suction takes on the body of its own pump.
///
/// **Source** own runs, `METHODS.md`.
const BODY_SUCTION: f64 = 0.035;

/// Beyond this many cells a wall behind a source takes less than a percent.
const SUCTION_REACH: f64 = 9.0;

/// Edge of the eddies in the water of an outlet, in m; a cell if that is more.
///
/// **Source** own choice: a quarter to a half of the outlets of pumps.
const PATCH_M: f64 = 0.01;

/// Places sources and sinks on cells.
pub(crate) struct Placing<'a> {
    pub(crate) grid: &'a CellGrid,
    pub(crate) kinds: &'a [CellKind],
    pub(crate) scaling: &'a Scaling,
    pub(crate) cut: Cut,
    pub(crate) water_m: DVec3,
}

impl Placing<'_> {
    /// Pumps and returns that have water at their outlets; in a slice the water
    /// that follows their jets.
    pub(crate) fn jets(&self, rebuild: &Rebuild) -> Vec<Source> {
        if self.cut != Cut::Tank {
            return self.held_jets(rebuild);
        }
        let balanced = rebuild.overflow.is_some();
        (rebuild.outlets.iter())
            .filter_map(|outlet| {
                let cells = self.shares(&outlet.points(self.grid.cell_m));
                let mass_m3_s = if outlet.is_return && balanced {
                    outlet.flow_m3_s
                } else {
                    0.0
                };
                (!cells.is_empty()).then(|| Source {
                    cells,
                    thrust_m4_s2: outlet.thrust_m4_s2(),
                    thrust_lu: self.scaling.thrust_lu(outlet.thrust_m4_s2())
                        * self.against_suction(outlet),
                    mass_lu: self.scaling.flow_lu(mass_m3_s),
                    aim: outlet.aim,
                    pump: outlet.pump,
                    programme: outlet.programme,
                    turn: Turn::Followed,
                    across: outlet.across(),
                    held: Vec::new(),
                })
            })
            .collect()
    }

    /// By how much a thrust must be raised so that its jet keeps what the
    /// suction on the pump's body and on a wall close behind it would take.
    fn against_suction(&self, outlet: &Outlet) -> f64 {
        let step = 0.25 * self.grid.cell_m;
        let (mut way, mut taken) = (step, 0.0);
        while way < SUCTION_REACH * self.grid.cell_m {
            let at_m = outlet.at_m - outlet.aim * way;
            let kind = self
                .grid
                .cell_at(at_m)
                .map(|ijk| self.kinds[self.grid.idx(ijk)]);
            match kind {
                Some(CellKind::Water) => {}
                Some(CellKind::Blocked) => taken = BODY_SUCTION,
                None if at_m.z >= self.water_m.z => {}
                _ => {
                    let cells = (way / self.grid.cell_m).max(1.0);
                    taken += SUCTION_SHARE * cells.powf(-1.5);
                    break;
                }
            }
            way += step;
        }
        1.0 / (1.0 - taken)
    }

    fn held_jets(&self, rebuild: &Rebuild) -> Vec<Source> {
        let force = |held: &HeldCell| {
            let rate = held.rate_per_s * self.scaling.step_s;
            let velocity = held.velocity_m_s * self.scaling.speed_lu(1.0);
            CellForce {
                cell: held.cell,
                force: (velocity * rate).as_vec3().to_array(),
                linear: rate as f32,
                ..CellForce::default()
            }
        };
        (rebuild.outlets.iter().zip(&rebuild.held))
            .map(|(outlet, held)| Source {
                cells: Vec::new(),
                thrust_m4_s2: outlet.thrust_m4_s2(),
                thrust_lu: 0.0,
                mass_lu: 0.0,
                aim: outlet.aim,
                pump: outlet.pump,
                programme: outlet.programme,
                turn: Turn::Followed,
                across: outlet.across(),
                held: held.iter().map(force).collect(),
            })
            .collect()
    }

    /// Cells that hold the points, with their shares; points in solid cells
    /// count for the others.
    fn shares(&self, points: &[DVec3]) -> Vec<SourceCell> {
        let mut cells: Vec<usize> = (points.iter())
            .filter_map(|point| self.grid.cell_at(*point))
            .map(|ijk| self.grid.idx(ijk))
            .filter(|&cell| self.kinds[cell] == CellKind::Water)
            .collect();
        cells.sort_unstable();
        let total = cells.len() as f32;
        (cells.chunk_by(|a, b| a == b))
            .map(|same| SourceCell {
                cell: same[0],
                share: same.len() as f32 / total,
                patch: self.patch_of(same[0]),
            })
            .collect()
    }

    /// Number of the patch that a cell lies in.
    fn patch_of(&self, cell: usize) -> u64 {
        let at_m = self.grid.center_m(self.grid.ijk(cell));
        let [x, y, z] = (at_m / patch_m(self.grid)).to_array().map(|at| at as u64);
        x + (y << 7) + (z << 14)
    }

    /// Drag of corals, then the sink at the overflow.
    pub(crate) fn fixed(&self, rebuild: &Rebuild) -> Vec<CellForce> {
        let mut fixed: Vec<CellForce> = (rebuild.drags.iter())
            .map(|&(cell, quadratic)| CellForce {
                cell,
                quadratic,
                ..CellForce::default()
            })
            .collect();
        let returned: f64 = (rebuild.outlets.iter())
            .filter(|outlet| outlet.is_return)
            .map(|outlet| outlet.flow_m3_s)
            .sum();
        if let Some(overflow) = &rebuild.overflow
            && self.cut == Cut::Tank
            && returned > 0.0
        {
            let cells = self.overflow_cells(overflow, &rebuild.tank);
            let mass = (self.scaling.flow_lu(returned) / cells.len().max(1) as f64) as f32;
            fixed.extend(cells.into_iter().map(|cell| CellForce {
                cell,
                mass: -mass,
                // What leaves takes its momentum along.
                linear: mass,
                ..CellForce::default()
            }));
        }
        fixed
    }

    fn overflow_cells(&self, overflow: &Overflow, tank: &Tank) -> Vec<usize> {
        let [nx, ny, nz] = self.grid.n;
        let along = match overflow.side {
            SideName::Left | SideName::Right => 1,
            SideName::Front | SideName::Back => 0,
        };
        let (fixed_axis, fixed) = match overflow.side {
            SideName::Left => (0, 0),
            SideName::Right => (0, nx - 1),
            SideName::Front => (1, 0),
            SideName::Back => (1, ny - 1),
        };
        let sill_m = (tank.water_cm - overflow.depth_cm) * M_PER_CM;
        (0..self.grid.n_cells())
            .filter(|&cell| {
                let ijk = self.grid.ijk(cell);
                let at = self.grid.center_m(ijk);
                let span = [overflow.from_cm * M_PER_CM, overflow.to_cm * M_PER_CM];
                ijk[fixed_axis] == fixed
                    && (at.z > sill_m || ijk[2] + 1 == nz)
                    && at[along] >= span[0].min(span[1] - self.grid.cell_m)
                    && at[along] <= span[1]
                    && self.kinds[cell] == CellKind::Water
            })
            .collect()
    }
}

/// Edge of the patches of an outlet that are pushed astray alike, in m.
pub(crate) fn patch_m(grid: &CellGrid) -> f64 {
    PATCH_M.max(grid.cell_m)
}

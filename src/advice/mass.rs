//! What a rock encloses: volume and center of mass by summing cells.

use glam::{DVec2, DVec3};

use crate::geometry::{Ray, RockSolid};

/// Cells along the longest side of a rock.
const CELLS_LONG: f64 = 36.0;

/// Finest cell, in m.
const CELL_MIN_M: f64 = 0.003;

/// Volume and its middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bulk {
    /// Volume, in m³.
    pub volume_m3: f64,
    /// Its middle, in m.
    pub center_m: DVec3,
    /// Part of the volume below a level, in m³.
    pub below_m3: f64,
}

/// Sums cells over the box of a rock; a cell that the surface cuts counts by
/// how deep its middle lies. Exact for boxes along the axes; otherwise the
/// error falls with the square of the cell.
pub fn bulk(solid: &RockSolid, level_m: f64) -> Bulk {
    let grid = Columns::over(solid);
    let cell = grid.cell_m;
    let smallest = cell.min_element();
    let mut volume = 0.0;
    let mut moment = DVec3::ZERO;
    let mut below = 0.0;
    for k in 0..grid.n[2] {
        for j in 0..grid.n[1] {
            for i in 0..grid.n[0] {
                let at =
                    grid.low_m + cell * DVec3::new(i as f64 + 0.5, j as f64 + 0.5, k as f64 + 0.5);
                let share = (0.5 - solid.signed_distance(at) / smallest).clamp(0.0, 1.0);
                volume += share;
                moment += at * share;
                let under = ((level_m - at.z) / cell.z + 0.5).clamp(0.0, 1.0);
                below += share * under;
            }
        }
    }
    let cell_m3 = cell.element_product();
    Bulk {
        volume_m3: volume * cell_m3,
        center_m: if volume > 0.0 {
            moment / volume
        } else {
            (solid.bounds().min_m + solid.bounds().max_m) / 2.0
        },
        below_m3: below * cell_m3,
    }
}

/// Upright columns over the box of a rock.
pub(crate) struct Columns {
    low_m: DVec3,
    cell_m: DVec3,
    n: [usize; 3],
}

impl Columns {
    pub(crate) fn over(solid: &RockSolid) -> Self {
        let bounds = solid.bounds();
        let size = (bounds.max_m - bounds.min_m).max(DVec3::splat(1e-4));
        let target = (size.max_element() / CELLS_LONG).max(CELL_MIN_M);
        let n = (size / target).ceil().max(DVec3::ONE);
        Self {
            low_m: bounds.min_m,
            cell_m: size / n,
            n: n.as_usizevec3().to_array(),
        }
    }

    /// Plan area of one column, in m².
    pub(crate) fn area_m2(&self) -> f64 {
        self.cell_m.x * self.cell_m.y
    }

    /// Half of a column's width, in m.
    pub(crate) fn half_m(&self) -> DVec2 {
        self.cell_m.truncate() / 2.0
    }

    /// Lowest point of the solid in every column that meets it, in m.
    pub(crate) fn undersides(&self, solid: &RockSolid) -> Vec<DVec3> {
        const BELOW_M: f64 = 0.01;
        let reach_m = self.cell_m.z * self.n[2] as f64 + 2.0 * BELOW_M;
        let mut points = Vec::new();
        for j in 0..self.n[1] {
            for i in 0..self.n[0] {
                let middle = DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * self.cell_m.truncate();
                let origin_m = (self.low_m.truncate() + middle).extend(self.low_m.z - BELOW_M);
                let ray = Ray {
                    origin_m,
                    direction: DVec3::Z,
                };
                if let Some(distance) = solid.first_hit(&ray, reach_m) {
                    points.push(origin_m + DVec3::Z * distance);
                }
            }
        }
        points
    }
}

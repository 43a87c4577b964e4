//! Equal cubic cells over a box, and how to find one.

use glam::DVec3;
use serde::{Deserialize, Serialize};

/// A block of cubic cells. Cell `[i, j, k]` covers
/// `origin + cell·[i..i+1, j..j+1, k..k+1]`; fields over it are stored with x
/// running fastest: `idx = (k·ny + j)·nx + i`.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize, Serialize)]
pub struct CellGrid {
    /// Lowest corner of the block, in m.
    pub origin_m: DVec3,
    /// Edge of a cell, in m.
    pub cell_m: f64,
    /// Cells along x, y and z.
    pub n: [usize; 3],
}

impl CellGrid {
    /// How many cells there are.
    pub fn n_cells(&self) -> usize {
        self.n.iter().product()
    }

    /// Place of a cell in a field.
    pub fn idx(&self, [i, j, k]: [usize; 3]) -> usize {
        (k * self.n[1] + j) * self.n[0] + i
    }

    /// Cell at a place in a field.
    pub fn ijk(&self, idx: usize) -> [usize; 3] {
        let [nx, ny, _] = self.n;
        [idx % nx, idx / nx % ny, idx / (nx * ny)]
    }

    /// Middle of a cell, in m.
    pub fn center_m(&self, [i, j, k]: [usize; 3]) -> DVec3 {
        self.origin_m + DVec3::new(i as f64 + 0.5, j as f64 + 0.5, k as f64 + 0.5) * self.cell_m
    }

    /// The place itself, or the nearest one in the block, a hair from its edge:
    /// places on a pane lie at the very edge of the cells.
    pub fn within(&self, at_m: DVec3) -> DVec3 {
        let inset = DVec3::splat(self.cell_m * 1e-3);
        let size = DVec3::from_array(self.n.map(|n| n as f64)) * self.cell_m;
        let low = self.origin_m + inset;
        at_m.clamp(low, (self.origin_m + size - inset).max(low))
    }

    /// The cell that holds `at_m`; `None` outside the block.
    pub fn cell_at(&self, at_m: DVec3) -> Option<[usize; 3]> {
        let p = ((at_m - self.origin_m) / self.cell_m).floor();
        let inside = p.cmpge(DVec3::ZERO).all()
            && p.x < self.n[0] as f64
            && p.y < self.n[1] as f64
            && p.z < self.n[2] as f64;
        inside.then_some([p.x as usize, p.y as usize, p.z as usize])
    }

    /// The cells that reach into a cube around `middle_m` of this half width, in
    /// the order of their places.
    pub fn near(&self, middle_m: DVec3, reach_m: f64) -> impl Iterator<Item = [usize; 3]> + use<> {
        let low = (middle_m - reach_m - self.origin_m) / self.cell_m;
        let high = (middle_m + reach_m - self.origin_m) / self.cell_m;
        let [x, y, z] = [0, 1, 2].map(|axis| {
            let end = high[axis].ceil().max(0.0) as usize;
            low[axis].floor().max(0.0) as usize..end.min(self.n[axis])
        });
        z.flat_map(move |k| {
            let x = x.clone();
            (y.clone()).flat_map(move |j| x.clone().map(move |i| [i, j, k]))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_and_indices_agree() {
        let grid = CellGrid {
            origin_m: DVec3::new(0.1, 0.0, 0.0),
            cell_m: 0.02,
            n: [5, 4, 3],
        };
        for idx in 0..grid.n_cells() {
            let ijk = grid.ijk(idx);
            assert_eq!(grid.idx(ijk), idx, "index round trip");
            assert_eq!(
                grid.cell_at(grid.center_m(ijk)),
                Some(ijk),
                "center lies in its cell"
            );
        }
        assert_eq!(
            grid.cell_at(DVec3::new(0.09, 0.01, 0.01)),
            None,
            "left of the block"
        );
    }

    #[test]
    fn cells_near_a_place_are_those_that_reach_there() {
        let grid = CellGrid {
            origin_m: DVec3::ZERO,
            cell_m: 0.02,
            n: [5, 4, 3],
        };
        // 3 cm around a place 1 cm off the corner: up to 4 cm, two cells each way.
        let near: Vec<_> = grid.near(DVec3::splat(0.01), 0.03 - 1e-9).collect();
        assert_eq!(near.len(), 8, "{near:?}");
        assert_eq!((near[0], near[7]), ([0, 0, 0], [1, 1, 1]), "in order");
        assert_eq!(grid.near(DVec3::splat(-1.0), 0.1).count(), 0, "outside");
    }
    #[test]
    fn every_place_has_a_nearest_one_in_some_cell() {
        let grid = CellGrid {
            origin_m: DVec3::new(0.1, 0.0, 0.0),
            cell_m: 0.02,
            n: [5, 4, 3],
        };
        let inside = DVec3::new(0.15, 0.03, 0.01);
        assert_eq!(grid.within(inside), inside, "a place in it stays");
        let far = grid.within(DVec3::new(9.0, 0.03, -1.0));
        assert_eq!(grid.cell_at(far), Some([4, 1, 0]), "at the edge: {far}");
        let on_pane = grid.within(DVec3::new(0.2, 0.08, 0.06));
        assert_eq!(grid.cell_at(on_pane), Some([4, 3, 2]), "on three panes");
    }
}

//! Equal cubic cells over a box, and how to find one.

use glam::DVec3;

/// A block of cubic cells. Cell `[i, j, k]` covers
/// `origin + cell·[i..i+1, j..j+1, k..k+1]`; fields over it are stored with x
/// running fastest: `idx = (k·ny + j)·nx + i`.
#[derive(Clone, Copy, Debug, PartialEq)]
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

    /// The cell that holds `at_m`; `None` outside the block.
    pub fn cell_at(&self, at_m: DVec3) -> Option<[usize; 3]> {
        let p = ((at_m - self.origin_m) / self.cell_m).floor();
        let inside = p.cmpge(DVec3::ZERO).all()
            && p.x < self.n[0] as f64
            && p.y < self.n[1] as f64
            && p.z < self.n[2] as f64;
        inside.then_some([p.x as usize, p.y as usize, p.z as usize])
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
}

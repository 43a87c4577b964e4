//! Means over boxes around every cell, of any edge: what a place has round it,
//! told alike on cells of every size.

use rayon::prelude::*;

use crate::geometry::CellGrid;

/// Sums over the cube of edge `edge_m` around each cell's middle of values that
/// are even within a cell, in cells; what lies outside the grid counts zero.
pub(super) fn sums(grid: &CellGrid, values: &[f32], edge_m: f64) -> Vec<f32> {
    let half = 0.5 * edge_m / grid.cell_m;
    let mut now = values.to_vec();
    for axis in 0..3 {
        now = along(grid.n, &now, axis, half);
    }
    now
}

/// Sums along one axis from `half` cells before the middle to as many behind.
fn along(n: [usize; 3], values: &[f32], axis: usize, half: f64) -> Vec<f32> {
    let stride = [1, n[0], n[0] * n[1]][axis];
    let length = n[axis];
    let [a, b] = [[1, 2], [0, 2], [0, 1]][axis];
    let lines: Vec<(usize, Vec<f32>)> = (0..n[a] * n[b])
        .into_par_iter()
        .map(|line| {
            let mut first = [0; 3];
            (first[a], first[b]) = (line % n[a], line / n[a]);
            let start = (first[2] * n[1] + first[1]) * n[0] + first[0];
            let mut up_to = Vec::with_capacity(length + 1);
            let mut sum = 0.0;
            up_to.push(0.0);
            for k in 0..length {
                sum += f64::from(values[start + k * stride]);
                up_to.push(sum);
            }
            let at = |x: f64| {
                let x = x.clamp(0.0, length as f64);
                let low = (x.floor() as usize).min(length - 1);
                up_to[low] + (x - low as f64) * (up_to[low + 1] - up_to[low])
            };
            let line = (0..length).map(|k| {
                let middle = k as f64 + 0.5;
                (at(middle + half) - at(middle - half)) as f32
            });
            (start, line.collect())
        })
        .collect();
    let mut out = vec![0.0; values.len()];
    for (start, line) in lines {
        for (k, value) in line.into_iter().enumerate() {
            out[start + k * stride] = value;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec3;

    #[test]
    fn a_box_holds_its_own_volume_whatever_the_cells() {
        for cell_m in [0.01, 0.0125, 0.02] {
            let n = [(0.3 / cell_m) as usize; 3];
            let grid = CellGrid {
                origin_m: DVec3::ZERO,
                cell_m,
                n,
            };
            let sums = sums(&grid, &vec![1.0; grid.n_cells()], 0.06);
            let middle = grid.idx([n[0] / 2; 3]);
            let volume_cm3 = f64::from(sums[middle]) * cell_m.powi(3) * 1e6;
            assert!((volume_cm3 - 216.0).abs() < 1e-3, "within: {volume_cm3}");
            // Half a cell from three panes: 3 cm and half a cell each way.
            let corner_cm3 = f64::from(sums[0]) * cell_m.powi(3) * 1e6;
            let want = (3.0 + 50.0 * cell_m).powi(3);
            assert!((corner_cm3 - want).abs() < 1e-3, "corner: {corner_cm3}");
        }
    }
}

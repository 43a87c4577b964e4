//! The same tank with neither rock nor coral: what a place would get in the
//! open. Its bounced part is smooth, so that a coarse block of nodes holds it.

use glam::DVec3;
use rayon::prelude::*;

use super::basin::{Basin, Obstacles};
use super::bounce::{self, Frame, Glow, Transfer};
use super::patches::Patches;

/// Bounced light facing up in the empty tank, at nodes.
#[derive(Clone, Debug, Default)]
pub(super) struct Bare {
    n: [usize; 3],
    step_m: DVec3,
    floor_m: f64,
    n_lamps: usize,
    /// `[z][y][x][lamp]`, for one µmol/s of each lamp, in 1/m².
    up: Vec<f32>,
}

/// Patches and rays of the empty tank: both transfer and nodes, which follow
/// from the box alone.
#[derive(Clone, Debug, Default)]
pub(super) struct BareTransfer {
    pub(super) patches: Patches,
    transfer: Transfer,
}

const PATCH_M: f64 = 0.05;
const NODE_M: f64 = 0.08;
const RAYS: usize = 64;

impl BareTransfer {
    pub(super) fn new(basin: &Basin) -> Self {
        let nothing = Obstacles::default();
        let patches = Patches::new(basin, &nothing, &[], PATCH_M);
        let transfer = Transfer::new(basin, &nothing, &patches, RAYS);
        Self { patches, transfer }
    }
}

impl Bare {
    /// From the direct light on the patches, `[patch][lamp]`.
    pub(super) fn new(basin: &Basin, bare: &BareTransfer, direct: &[f32], n_lamps: usize) -> Self {
        let glow = Glow::settle(&bare.patches, &bare.transfer, direct, n_lamps);
        let size = DVec3::new(
            basin.size_m[0],
            basin.size_m[1],
            basin.surface_m - basin.floor_m,
        );
        let n = [0, 1, 2].map(|axis| (size[axis] / NODE_M).ceil().max(1.0) as usize + 1);
        let step_m = size / DVec3::new(n[0] as f64 - 1.0, n[1] as f64 - 1.0, n[2] as f64 - 1.0);
        let mut nodes = Self {
            n,
            step_m,
            floor_m: basin.floor_m,
            n_lamps,
            up: vec![0.0; n[0] * n[1] * n[2] * n_lamps],
        };
        let origin = DVec3::new(0.0, 0.0, basin.floor_m);
        // Just inside, so that rays meet the panes and the surface from within.
        let inset = DVec3::splat(1e-4);
        let nothing = Obstacles::default();
        nodes
            .up
            .par_chunks_mut(n_lamps.max(1))
            .enumerate()
            .for_each(|(idx, sums)| {
                let at = DVec3::new(
                    (idx % n[0]) as f64,
                    (idx / n[0] % n[1]) as f64,
                    (idx / (n[0] * n[1])) as f64,
                );
                let at_m = (origin + at * step_m).clamp(origin + inset, origin + size - inset);
                let frame = Frame::new(DVec3::Z);
                for k in 0..RAYS {
                    let direction = frame.cosine_spread(k, RAYS, 0.0);
                    let link = bounce::link(basin, &nothing, &bare.patches, at_m, direction, 0.5);
                    let Some(link) = link else { continue };
                    let from = link.patch as usize * n_lamps;
                    for (sum, b) in sums.iter_mut().zip(&glow.exitance[from..from + n_lamps]) {
                        *sum += link.share * b / RAYS as f32;
                    }
                }
            });
        nodes
    }

    /// Bounced PPFD facing up at a place, for the lamps at `output_umol_s`.
    pub(super) fn up_umol(&self, at_m: DVec3, output_umol_s: &[f64]) -> f64 {
        if self.up.is_empty() {
            return 0.0;
        }
        let place = DVec3::new(at_m.x, at_m.y, at_m.z - self.floor_m) / self.step_m;
        let mut sum = 0.0;
        for corner in 0..8_usize {
            let (mut weight, mut cell) = (1.0, [0_usize; 3]);
            for axis in 0..3 {
                let last = self.n[axis] - 1;
                let position = place[axis].clamp(0.0, last as f64);
                let low = (position as usize).min(last.saturating_sub(1));
                let share = position - low as f64;
                let high = corner >> axis & 1;
                weight *= if high == 1 { share } else { 1.0 - share };
                cell[axis] = (low + high).min(last);
            }
            let idx = (cell[2] * self.n[1] + cell[1]) * self.n[0] + cell[0];
            let node = &self.up[idx * self.n_lamps..(idx + 1) * self.n_lamps];
            let lit = node.iter().zip(output_umol_s);
            sum += weight * lit.map(|(up, out)| f64::from(*up) * out).sum::<f64>();
        }
        sum
    }
}

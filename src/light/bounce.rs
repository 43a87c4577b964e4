//! Light that rock, sand and corals throw back: which patch sees which, by
//! rays through all mirrors, and the exitance that settles between them.

use glam::DVec3;
use rayon::prelude::*;

use super::basin::{self, Basin, Obstacles};
use super::patches::Patches;
use crate::geometry::Ray;

/// Turn between successive points of a spiral that fills a disc evenly.
const GOLDEN_TURN: f64 = 2.399_963_229_728_653;

/// Steps of evenly spread draws that share no pattern with the spiral
/// (the plastic number's powers; Roberts 2018, MEMORY).
const DRAW_STEP: f64 = 0.754_877_666_246_693;

/// For each patch, the patches that its rays meet; of the tank and its rocks
/// alone, whatever the lamps do.
#[derive(Clone, Debug, Default)]
pub(super) struct Transfer {
    /// Rays sent from each patch.
    rays: usize,
    /// Where the links of each patch start.
    starts: Vec<u32>,
    links: Vec<Link>,
}

/// A ray's end: a patch, and the share of its light that arrives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Link {
    pub(super) patch: u32,
    pub(super) share: f32,
}

impl Transfer {
    /// Sends `rays` cosine-spread rays from every patch.
    pub(super) fn new(
        basin: &Basin,
        obstacles: &Obstacles,
        patches: &Patches,
        rays: usize,
    ) -> Self {
        let per_patch: Vec<Vec<Link>> = patches
            .all
            .par_iter()
            .enumerate()
            .map(|(idx, patch)| {
                let frame = Frame::new(patch.normal);
                (0..rays)
                    .filter_map(|k| {
                        let direction = frame.cosine_spread(k, rays, idx as f64 * 0.618_034);
                        let draw = draw(k, idx);
                        link(basin, obstacles, patches, patch.at_m, direction, draw)
                    })
                    .collect()
            })
            .collect();
        let mut transfer = Self {
            rays,
            starts: Vec::with_capacity(per_patch.len() + 1),
            links: Vec::new(),
        };
        for links in per_patch {
            transfer.starts.push(transfer.links.len() as u32);
            transfer.links.extend(links);
        }
        transfer.starts.push(transfer.links.len() as u32);
        transfer
    }

    /// Links of one patch.
    fn of(&self, idx: usize) -> &[Link] {
        &self.links[self.starts[idx] as usize..self.starts[idx + 1] as usize]
    }

    /// PPFD on each patch from the others, for exitances `exitance` (one value
    /// a lamp for each patch).
    fn gather(&self, exitance: &[f32], n_lamps: usize) -> Vec<f32> {
        let n_patches = self.starts.len().saturating_sub(1);
        let mut received = vec![0.0; n_patches * n_lamps];
        received
            .par_chunks_mut(n_lamps.max(1))
            .enumerate()
            .for_each(|(idx, sums)| {
                for link in self.of(idx) {
                    let from = link.patch as usize * n_lamps;
                    for (sum, b) in sums.iter_mut().zip(&exitance[from..from + n_lamps]) {
                        *sum += link.share * b;
                    }
                }
                for sum in sums {
                    *sum /= self.rays as f32;
                }
            });
        received
    }
}

/// What the patches throw back, for one µmol/s of each lamp.
#[derive(Clone, Debug, Default)]
pub(super) struct Glow {
    /// Exitance, `[patch][lamp]`, in 1/m².
    pub(super) exitance: Vec<f32>,
    /// PPFD from other patches, `[patch][lamp]`, in 1/m².
    pub(super) received: Vec<f32>,
}

impl Glow {
    /// Settles the exitances for the direct light `direct` (`[patch][lamp]`).
    ///
    /// Each sweep adds one more bounce; a bounce weighs at most the largest
    /// reflectance times the last one, and the loop ends when it no longer
    /// matters.
    pub(super) fn settle(
        patches: &Patches,
        transfer: &Transfer,
        direct: &[f32],
        n_lamps: usize,
    ) -> Self {
        const BOUNCES_MAX: usize = 24;
        const NEAR: f32 = 2e-4;
        let exit = |received: &[f32]| -> Vec<f32> {
            let lit = direct.iter().zip(received).enumerate();
            lit.map(|(i, (d, r))| patches.all[i / n_lamps.max(1)].reflectance as f32 * (d + r))
                .collect()
        };
        let mut received = vec![0.0; direct.len()];
        let mut exitance = exit(&received);
        for _ in 0..BOUNCES_MAX {
            received = transfer.gather(&exitance, n_lamps);
            let next = exit(&received);
            let largest = next.iter().copied().fold(0.0_f32, f32::max);
            let change = next
                .iter()
                .zip(&exitance)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0_f32, f32::max);
            exitance = next;
            if change <= NEAR * largest {
                break;
            }
        }
        Self { exitance, received }
    }
}

/// Follows one ray backwards to the patch whose light it brings.
pub(super) fn link(
    basin: &Basin,
    obstacles: &Obstacles,
    patches: &Patches,
    origin_m: DVec3,
    direction: DVec3,
    draw: f64,
) -> Option<Link> {
    let ray = Ray {
        origin_m,
        direction,
    };
    let met = basin::trace(basin, obstacles, ray, draw)?;
    let patch = patches.find(met.owner, met.at_m, met.direction)?;
    Some(Link {
        patch: patch as u32,
        share: met.share as f32,
    })
}

/// A draw between 0 and 1 for ray `k` of place `idx`, the same in every run.
pub(super) fn draw(k: usize, idx: usize) -> f64 {
    (0.5 + k as f64 * DRAW_STEP + idx as f64 * 0.569_840_290_998_053).fract()
}

/// Two directions at right angles to a normal, and the normal.
pub(super) struct Frame {
    first: DVec3,
    second: DVec3,
    normal: DVec3,
}

impl Frame {
    pub(super) fn new(normal: DVec3) -> Self {
        let (first, second) = normal.any_orthonormal_pair();
        Self {
            first,
            second,
            normal,
        }
    }

    /// Direction `k` of `n` spread evenly in the cosine to the normal: points
    /// of a spiral on the disc, lifted to the half sphere (Malley's method,
    /// MEMORY).
    pub(super) fn cosine_spread(&self, k: usize, n: usize, turn: f64) -> DVec3 {
        let squared = (k as f64 + 0.5) / n as f64;
        let (sine, cosine) = (k as f64 * GOLDEN_TURN + turn * std::f64::consts::TAU).sin_cos();
        let r = squared.sqrt();
        self.first * (r * cosine) + self.second * (r * sine) + self.normal * (1.0 - squared).sqrt()
    }
}

/// Direction `k` of `n` spread evenly over the whole sphere.
pub(super) fn sphere_spread(k: usize, n: usize) -> DVec3 {
    let z = 1.0 - 2.0 * (k as f64 + 0.5) / n as f64;
    let (sine, cosine) = (k as f64 * GOLDEN_TURN).sin_cos();
    let r = (1.0 - z * z).sqrt();
    DVec3::new(r * cosine, r * sine, z)
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::basin::Owner;
    use crate::geometry::solid::{Prism, RockShape};
    use crate::geometry::{Polygon, RockSolid, Rockwork};
    use glam::DVec2;

    fn rect(a: (f64, f64), b: (f64, f64)) -> Prism {
        let corners = [(a.0, a.1), (b.0, a.1), (b.0, b.1), (a.0, b.1)];
        Prism {
            outline: Polygon::new(corners.map(DVec2::from).to_vec()),
            openings: vec![],
        }
    }

    #[test]
    fn what_leaves_sand_for_rock_equals_what_leaves_rock_for_sand() {
        // Reciprocity: A₁ F₁₂ = A₂ F₂₁, mirrors and water included. The rays
        // leave some 1 % of noise in either sum.
        let basin = Basin {
            size_m: [0.5, 0.4],
            surface_m: 0.4,
            floor_m: 0.03,
            returned_share: 0.9,
            clear: [[true, true], [true, false]],
            n: 1.34,
            absorption_per_m: 0.2,
            sand_reflectance: 0.5,
        };
        let block = RockSolid::new(RockShape {
            plan: rect((-0.08, -0.06), (0.08, 0.06)),
            front: rect((-0.08, 0.05), (0.08, 0.2)),
            end: None,
            rounding_m: 0.0,
            tilt_rad: 0.0,
            turn_rad: 0.4,
            at_m: DVec3::new(0.2, 0.2, 0.02),
        });
        let obstacles = Obstacles {
            rockwork: Rockwork {
                rocks: vec![Arc::new(block)],
            },
            corals: Arc::default(),
        };
        let patches = Patches::new(&basin, &obstacles, &[0.25], 0.02);
        let transfer = Transfer::new(&basin, &obstacles, &patches, 256);
        let (mut from_sand, mut from_rock) = (0.0, 0.0);
        for (idx, patch) in patches.all.iter().enumerate() {
            for link in transfer.of(idx) {
                let part = patch.area_m2 * f64::from(link.share) / 256.0;
                match (patch.owner, patches.all[link.patch as usize].owner) {
                    (Owner::Sand, Owner::Rock(_)) => from_sand += part,
                    (Owner::Rock(_), Owner::Sand) => from_rock += part,
                    _ => {}
                }
            }
        }
        let ratio: f64 = from_sand / from_rock;
        assert!(
            from_sand > 0.01 && (ratio - 1.0).abs() < 0.01,
            "sand to rock {from_sand} m², rock to sand {from_rock} m²"
        );
    }
}

//! Light over surfaces and planes, a cell at a time on all cores.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use glam::DVec3;
use rayon::prelude::*;

use super::basin::Owner;
use super::field::{LightField, LightPlane, LightSample, SurfaceOwner, SurfacePatch};
use super::patches;
use super::solver::LightSolver;
use crate::geometry::CellGrid;

/// Where a plane of light is cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PlaneCut {
    /// Level, as the top view shows it.
    Level {
        /// Height above the inner bottom, in m.
        height_m: f64,
    },
    /// Upright along x, as the side view shows it.
    Depth {
        /// Distance from the front glass, in m.
        depth_m: f64,
    },
    /// Upright along y, as the end view shows it.
    Across {
        /// Distance from the left glass, in m.
        x_m: f64,
    },
}

/// A piece of surface before its light is known.
struct Piece {
    at_m: DVec3,
    normal: DVec3,
    area_m2: f64,
    owner: Owner,
}

impl LightSolver {
    /// [`Self::sample`] at many places, in their order.
    pub fn samples(&self, places: &[(DVec3, Option<DVec3>)]) -> Vec<LightSample> {
        places
            .par_iter()
            .map(|(at_m, facing)| self.sample(*at_m, *facing))
            .collect()
    }

    /// Light on rock and sand in patches of about `surface_m`.
    ///
    /// `control` hears the share done and says whether to go on; after a no
    /// the field comes back without patches.
    pub fn field(&self, surface_m: f64, control: &(dyn Fn(f64) -> bool + Sync)) -> LightField {
        let surface_m = surface_m.clamp(2e-3, 1.0);
        let pieces = self.pieces(surface_m);
        let received = self.received_umol();
        let (done, stopped) = (AtomicUsize::new(0), AtomicBool::new(false));
        const CHUNK: usize = 64;
        let patches: Vec<SurfacePatch> = pieces
            .par_chunks(CHUNK)
            .flat_map_iter(|chunk| {
                let mut lit = Vec::with_capacity(chunk.len());
                if !stopped.load(Ordering::Relaxed) {
                    lit.extend(chunk.iter().map(|piece| self.light_on(piece, &received)));
                    let now = done.fetch_add(chunk.len(), Ordering::Relaxed) + chunk.len();
                    if !control(now as f64 / pieces.len() as f64) {
                        stopped.store(true, Ordering::Relaxed);
                    }
                }
                lit
            })
            .collect();
        LightField {
            patches: if stopped.into_inner() {
                Vec::new()
            } else {
                patches
            },
            patch_m: surface_m,
            full: self.options.full,
        }
    }

    fn pieces(&self, surface_m: f64) -> Vec<Piece> {
        let obstacles = &self.surroundings.obstacles;
        let mut pieces = Vec::new();
        for rock_idx in 0..obstacles.rockwork.rocks.len() {
            let skin = patches::rock_skin(&self.basin, obstacles, rock_idx, surface_m);
            pieces.extend(skin.map(|(at_m, normal, area_m2)| Piece {
                at_m,
                normal,
                area_m2,
                owner: Owner::Rock(rock_idx),
            }));
        }
        let (n, cell_m) = patches::sand_cells(&self.basin, surface_m);
        for j in 0..n[1] {
            for i in 0..n[0] {
                let place = patches::sand_place(&self.basin, obstacles, [i, j], cell_m);
                pieces.extend(place.map(|(at_m, share)| Piece {
                    at_m,
                    normal: DVec3::Z,
                    area_m2: cell_m[0] * cell_m[1] * share,
                    owner: Owner::Sand,
                }));
            }
        }
        pieces
    }

    /// Bounced PPFD on each bounce patch with the lamps as set.
    fn received_umol(&self) -> Vec<f64> {
        let n_lamps = self.fixtures.len();
        self.glow
            .received
            .chunks(n_lamps.max(1))
            .map(|each| {
                let lit = each.iter().zip(&self.output_umol_s);
                lit.map(|(one, output)| f64::from(*one) * output).sum()
            })
            .collect()
    }

    fn light_on(&self, piece: &Piece, received: &[f64]) -> SurfacePatch {
        let (mut ppfd_umol, mut open_umol) = (0.0, 0.0);
        for (fixture, output) in self.fixtures.iter().zip(&self.output_umol_s) {
            if *output <= 0.0 {
                continue;
            }
            self.arrivals(fixture, piece.at_m, |arrival| {
                let light = output * arrival.facing_per_m2;
                open_umol += light * arrival.to_light.z.max(0.0);
                let cosine = arrival.to_light.dot(piece.normal);
                if cosine > 0.0 {
                    ppfd_umol += light * cosine * self.open_share(piece.at_m, arrival);
                }
            });
        }
        if self.options.full {
            ppfd_umol += self.bounced_on(piece, received);
            open_umol += self.bare.up_umol(piece.at_m, &self.output_umol_s);
        }
        SurfacePatch {
            at_m: piece.at_m,
            normal: piece.normal,
            area_m2: piece.area_m2,
            owner: match piece.owner {
                Owner::Rock(rock_idx) => SurfaceOwner::Rock(rock_idx),
                Owner::Sand | Owner::Coral(_) => SurfaceOwner::Sand,
            },
            ppfd_umol,
            open_umol,
        }
    }

    /// Bounced PPFD on a piece of surface, between the bounce patches near it.
    fn bounced_on(&self, piece: &Piece, received: &[f64]) -> f64 {
        let reach_m = 1.6 * self.options.patch_m;
        let around = &self.surroundings.patches;
        let (mut sum, mut weights) = (0.0, 0.0);
        let place = (piece.at_m, piece.normal);
        for reach_m in [reach_m, 2.5 * reach_m] {
            around.around(piece.owner, place, reach_m, |idx, weight| {
                if let Some(ppfd) = received.get(idx) {
                    sum += ppfd * weight;
                    weights += weight;
                }
            });
            if weights > 0.0 {
                return sum / weights;
            }
        }
        0.0
    }

    /// PPFD facing up over one plane, in cells of `cell_m`; zero in rock and
    /// under sand.
    pub fn plane(&self, cut: PlaneCut, cell_m: f64) -> LightPlane {
        let grid = self.plane_grid(cut, cell_m.clamp(2e-3, 1.0));
        let up_umol = (0..grid.n_cells())
            .into_par_iter()
            .map(|idx| {
                let at_m = grid.center_m(grid.ijk(idx));
                if self.surroundings.obstacles.rockwork.contains(at_m) {
                    return 0.0;
                }
                self.sample(at_m, None).up_umol as f32
            })
            .collect();
        LightPlane { grid, up_umol }
    }

    fn plane_grid(&self, cut: PlaneCut, cell_m: f64) -> CellGrid {
        let cells = |size_m: f64| (size_m / cell_m).ceil().max(1.0) as usize;
        let [length_m, width_m] = self.basin.size_m;
        let mut n = [cells(length_m), cells(width_m), cells(self.basin.surface_m)];
        let mut origin_m = DVec3::ZERO;
        let (axis, at) = match cut {
            PlaneCut::Level { height_m } => (2, height_m),
            PlaneCut::Depth { depth_m } => (1, depth_m),
            PlaneCut::Across { x_m } => (0, x_m),
        };
        n[axis] = 1;
        origin_m[axis] = at - 0.5 * cell_m;
        CellGrid {
            origin_m,
            cell_m,
            n,
        }
    }
}

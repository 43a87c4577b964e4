//! Light in the whole water, a cell at a time.

use glam::DVec3;

use super::Block;
use crate::light::LightSolver;
use crate::study::{Medium, Study};

/// PPFD in cells that fill the water box.
#[derive(Clone, Debug, PartialEq)]
pub struct WaterLight {
    /// The cells, from the inner bottom to the surface.
    pub block: Block,
    /// On a level sensor facing up at each cell's middle, in µmol/m²/s; zero
    /// where there is no water.
    pub up_umol: Vec<f32>,
    /// On a small sphere, in µmol/m²/s; zero where there is no water.
    pub scalar_umol: Vec<f32>,
    /// 0 water, 1 rock, 2 sand.
    pub filling: Vec<u8>,
}

/// Light in the water of a study in cells of about `cell_m`: so many whole
/// cells along each axis that they fill the box exactly.
pub fn water_light(solver: &LightSolver, study: &Study, cell_m: f64) -> WaterLight {
    let size_m = study.water().size_m;
    let counts = (size_m / cell_m.max(1e-3)).round().max(DVec3::ONE);
    let block = Block {
        origin_m: DVec3::ZERO,
        cell_m: size_m / counts,
        n: counts.to_array().map(|count| count as usize),
    };
    let [nx, ny, nz] = block.n;
    let mut filling = Vec::with_capacity(nx * ny * nz);
    let mut places = Vec::new();
    for k in 0..nz {
        for j in 0..ny {
            for i in 0..nx {
                let cell = DVec3::new(i as f64, j as f64, k as f64) + 0.5;
                let at_m = cell * block.cell_m;
                filling.push(match study.medium_at(at_m) {
                    Medium::Rock => 1,
                    Medium::Sand => 2,
                    Medium::Water | Medium::Outside => {
                        places.push((at_m, None));
                        0
                    }
                });
            }
        }
    }
    let mut samples = solver.samples(&places).into_iter();
    let (mut up_umol, mut scalar_umol) = (Vec::new(), Vec::new());
    for kind in &filling {
        let sample = if *kind == 0 { samples.next() } else { None };
        let sample = sample.unwrap_or_default();
        up_umol.push(sample.up_umol as f32);
        scalar_umol.push(sample.scalar_umol as f32);
    }
    WaterLight {
        block,
        up_umol,
        scalar_umol,
        filling,
    }
}

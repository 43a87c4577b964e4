//! Drag of walls on cells larger than the boundary layer: the logarithmic law.
//!
//! Water slides along flat walls (see `slides`), and each face of a wall takes
//! the stress that the law of the wall gives for the speed half a cell away.

use crate::domain::{Domain, Neighbor, WallDrag};
use crate::lattice::direction;
use crate::units::SEAWATER_VISCOSITY_M2_S;
use crate::{CellKind, Scaling};

/// Von Kármán's constant.
const KARMAN: f64 = 0.4;

/// Roughness length of glass, in m: `ν/(9 u*)` at 5 mm/s of friction speed.
///
/// **Source** smooth wall, Nikuradse 1933, as in Schlichting. MEMORY.
const GLASS_M: f64 = 2e-5;

/// Roughness length of rock, in m: a thirtieth of knobs of 1 cm.
///
/// **Source** Nikuradse 1933; size of the knobs COMMON PRACTICE.
const ROCK_M: f64 = 3.3e-4;

/// Roughness length of sand over its grain: `2.5 d/30`.
///
/// **Source** Soulsby 1997. MEMORY.
const SAND_SHARE: f64 = 1.0 / 12.0;

/// Drag of the walls beside each cell.
pub(crate) fn drag(
    domain: &Domain,
    kinds: &[CellKind],
    scaling: &Scaling,
    grain_mm: f64,
) -> Vec<WallDrag> {
    let half_m = 0.5 * scaling.cell_m;
    // Stress over speed squared at half a cell from the wall.
    let law = |rough_m: f64| {
        let ratio = (half_m / rough_m).max(3.0);
        (KARMAN / ratio.ln()).powi(2)
    };
    let sand_m = GLASS_M + grain_mm * 1e-3 * SAND_SHARE;
    let [glass, rock, sand] = [GLASS_M, ROCK_M, sand_m].map(law);
    let linear = 2.0 * scaling.viscosity_lu(SEAWATER_VISCOSITY_M2_S);
    let at = |cell: usize| {
        let ijk = domain.ijk(cell);
        let mut drag = WallDrag::default();
        for face in (1..=6).map(direction) {
            let quadratic = match domain.neighbor(ijk, face) {
                Neighbor::Water(_) | Neighbor::Lid(_) => continue,
                Neighbor::Wall(None) => glass,
                Neighbor::Wall(Some(wall)) if kinds[wall] == CellKind::Sand => sand,
                Neighbor::Wall(Some(_)) => rock,
            };
            drag.linear += linear as f32;
            drag.quadratic += quadratic as f32;
        }
        drag
    };
    (0..domain.n_cells())
        .map(|cell| {
            if domain.solid[cell] {
                WallDrag::default()
            } else {
                at(cell)
            }
        })
        .collect()
}

//! Corals as the water meets them: solid bodies, or drag where water passes.

use glam::DVec3;

use crate::CellKind;
use crate::catalog::Form;
use crate::geometry::CellGrid;
use crate::scene::Coral;
use crate::scene::solids::lies_flat;
use crate::study::Study;
use crate::units::M_PER_CM;

/// Drag coefficient of bluff bodies and branches.
///
/// **Source** Hoerner 1965, cylinders and cubes 0.8 to 1.2. MEMORY.
const DRAG: f64 = 1.0;

/// Points along each edge of a cell that are tried for being in the coral.
const TRIES: i32 = 3;

/// Frontal area of the branches in a volume, in 1/m.
///
/// **Source** own estimate: branches 1 cm thick every 2 to 3 cm; softer and
/// sparser forms less. COMMON PRACTICE.
fn frontal_per_m(form: Form) -> f64 {
    match form {
        Form::Branching => 20.0,
        Form::Phaceloid | Form::Fan => 15.0,
        _ => 10.0,
    }
}

/// Marks solid corals in `kinds` and returns cells with drag, as the lattice
/// takes it: drag per speed squared.
pub(crate) fn place(grid: &CellGrid, study: &Study, kinds: &mut [CellKind]) -> Vec<(usize, f32)> {
    let mut drags = Vec::new();
    let corals = study.layout().corals.iter();
    for coral in corals.filter(|coral| !lies_flat(coral, study.catalog())) {
        let form = (study.entry_of(coral)).map_or(Form::Massive, |entry| entry.form);
        for (cell, filled) in filled_cells(grid, coral) {
            if kinds[cell] != CellKind::Water {
                continue;
            }
            let frontal = if form.lets_water_through() {
                frontal_per_m(form) * grid.cell_m * filled
            } else if filled >= 0.5 {
                kinds[cell] = CellKind::Blocked;
                continue;
            } else {
                // A body smaller than the cell hides its own area.
                filled.powf(2.0 / 3.0)
            };
            drags.push((cell, (0.5 * DRAG * frontal) as f32));
        }
    }
    drags.sort_by_key(|(cell, _)| *cell);
    drags.retain(|(cell, _)| kinds[*cell] == CellKind::Water);
    drags
}

/// Cells that a coral's ellipsoid reaches, and the share of each that it fills.
fn filled_cells(grid: &CellGrid, coral: &Coral) -> Vec<(usize, f64)> {
    let up = coral.facing.try_normalize().unwrap_or(DVec3::Z);
    let side = up.cross(DVec3::Y).try_normalize().unwrap_or(DVec3::X);
    let other = up.cross(side);
    let half = (coral.size_cm * M_PER_CM * 0.5).max(DVec3::splat(1e-4));
    let middle = coral.at_cm * M_PER_CM + up * half.z;
    let contains = |p: DVec3| {
        let p = p - middle;
        (DVec3::new(p.dot(side), p.dot(other), p.dot(up)) / half).length() < 1.0
    };
    let reach = half.max_element() + grid.cell_m;
    let mut found = Vec::new();
    for ijk in grid.near(middle, reach) {
        let center = grid.center_m(ijk);
        let mut hits = 0;
        for t in 0..TRIES.pow(3) {
            let part = |n: i32| (f64::from(n % TRIES) + 0.5) / f64::from(TRIES) - 0.5;
            let offset = DVec3::new(part(t), part(t / TRIES), part(t / TRIES / TRIES));
            hits += i32::from(contains(center + offset * grid.cell_m));
        }
        if hits > 0 {
            let filled = f64::from(hits) / f64::from(TRIES.pow(3));
            found.push((grid.idx(ijk), filled));
        }
    }
    found
}

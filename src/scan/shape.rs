//! From triangles to distances on a grid: what the surface winds around is
//! inside, so that holes close and pieces that overlap are one.

use crate::geometry::DistanceGrid;
use crate::geometry::distance_grid::PARTS;
use crate::geometry::tetra::{Lattice, surface};
use glam::{DVec3, Vec3};
use rayon::prelude::*;

use super::tree::Tree;
use super::{KeepOn, ScanError};

/// Nodes that are aimed at; fewer than a scene takes.
const NODES_AIM: f64 = 110_000.0;
/// Finest step, in cm: what the estimates of flow and light can tell apart.
const STEP_MIN_CM: f64 = 0.2;
/// Nodes of water around the shape on each side.
const MARGIN: f64 = 2.0;
/// Above this a surface winds around a place.
const INSIDE: f32 = 0.5;
/// Pieces smaller than this share of the largest one are crumbs of the scan.
const CRUMB: f64 = 0.01;

/// Shape and what is known of how well it is.
pub(super) struct Built {
    pub(super) grid: DistanceGrid,
    pub(super) step_cm: f64,
    /// Where the first node lies, in cm.
    pub(super) low_cm: DVec3,
    /// Volume by places that had no part in making the shape, in cm³.
    pub(super) counted_cm3: f64,
    /// Half the difference in volume between holes closed tightly and loosely,
    /// as a share.
    pub(super) doubt: f64,
    /// Pieces left out as crumbs.
    pub(super) n_crumbs: usize,
    /// Pieces left.
    pub(super) n_pieces: usize,
}

/// The shape of triangles in cm, upright.
pub(super) fn build(
    triangles: &[[DVec3; 3]],
    (low_cm, high_cm): (DVec3, DVec3),
    keep_on: KeepOn<'_>,
) -> Result<Built, ScanError> {
    let (lattice, step_cm) = lattice(high_cm - low_cm);
    let low_cm = low_cm - MARGIN * step_cm;
    let in_steps = |p: &DVec3| ((*p - low_cm) / step_cm).as_vec3();
    let small = triangles.iter().map(|t| [0, 1, 2].map(|i| in_steps(&t[i])));
    let tree = Tree::new(small.collect());
    proceed(keep_on, 0.2)?;
    let winding = windings(&tree, lattice);
    proceed(keep_on, 0.5)?;
    let mut inside: Vec<bool> = winding.iter().map(|w| *w > INSIDE).collect();
    let pieces = sweep_crumbs(lattice, &mut inside);
    if pieces.kept == 0 {
        return Err(ScanError::Flat(
            "its triangles lie in one plane or face in no common direction",
        ));
    }
    let skin = Tree::new(skin(&tree, lattice, &inside));
    proceed(keep_on, 0.7)?;
    let parts: Vec<i16> = (0..lattice.len())
        .into_par_iter()
        .map(|idx| {
            let away = f64::from(skin.distance(lattice.place(idx).as_vec3())) * PARTS;
            let away = away.round().min(f64::from(i16::MAX)) as i16;
            // On the skin itself an inner node stays one.
            if inside[idx] { -away.max(1) } else { away }
        })
        .collect();
    proceed(keep_on, 0.95)?;
    let grid = DistanceGrid::new(lattice.0, parts)
        .map_err(|_none| ScanError::Flat("what it encloses is thinner than can be kept"))?;
    Ok(Built {
        counted_cm3: counted(&tree, lattice, &inside) * step_cm.powi(3),
        doubt: doubt(&winding),
        n_crumbs: pieces.crumbs,
        n_pieces: pieces.kept,
        grid,
        step_cm,
        low_cm,
    })
}

fn proceed(keep_on: KeepOn<'_>, share: f64) -> Result<(), ScanError> {
    if keep_on(share) {
        Ok(())
    } else {
        Err(ScanError::Stopped)
    }
}

/// Nodes around a box of this size, and how far apart they are.
fn lattice(size_cm: DVec3) -> (Lattice, f64) {
    let nodes = |step: f64| {
        (size_cm / step)
            .ceil()
            .to_array()
            .map(|n| n as usize + 2 * MARGIN as usize + 1)
    };
    let mut step = STEP_MIN_CM.min(size_cm.min_element().max(1e-3) / 8.0);
    step = step.max((size_cm.x * size_cm.y * size_cm.z / NODES_AIM).cbrt());
    while nodes(step).iter().map(|n| *n as f64).product::<f64>() > NODES_AIM {
        step *= 1.02;
    }
    (Lattice(nodes(step)), step)
}

fn windings(tree: &Tree, lattice: Lattice) -> Vec<f32> {
    (0..lattice.len())
        .into_par_iter()
        .map(|idx| {
            let ijk = lattice.place(idx);
            // The margin is water, whatever a hole makes of it.
            let high = DVec3::from_array(lattice.0.map(|n| (n - 2) as f64));
            if ijk.cmplt(DVec3::ONE).any() || ijk.cmpgt(high).any() {
                0.0
            } else {
                tree.winding(ijk.as_vec3())
            }
        })
        .collect()
}

struct Pieces {
    kept: usize,
    crumbs: usize,
}

/// Takes small pieces that hang on nothing away.
fn sweep_crumbs(lattice: Lattice, inside: &mut [bool]) -> Pieces {
    let n = lattice.0;
    let strides = [1, n[0], n[0] * n[1]];
    let mut piece_of = vec![u32::MAX; inside.len()];
    let mut sizes: Vec<usize> = Vec::new();
    for start in 0..inside.len() {
        if !inside[start] || piece_of[start] != u32::MAX {
            continue;
        }
        let own = sizes.len() as u32;
        let mut open = vec![start];
        piece_of[start] = own;
        let mut size = 0;
        while let Some(idx) = open.pop() {
            size += 1;
            // The border is never inside, so that every neighbor exists.
            for stride in strides {
                for beside in [idx - stride, idx + stride] {
                    if inside[beside] && piece_of[beside] == u32::MAX {
                        piece_of[beside] = own;
                        open.push(beside);
                    }
                }
            }
        }
        sizes.push(size);
    }
    let largest = sizes.iter().copied().max().unwrap_or(0) as f64;
    let is_crumb = |size: usize| (size as f64) < CRUMB * largest;
    for (idx, piece) in piece_of.iter().enumerate() {
        if *piece != u32::MAX && is_crumb(sizes[*piece as usize]) {
            inside[idx] = false;
        }
    }
    let crumbs = sizes.iter().filter(|size| is_crumb(**size)).count();
    Pieces {
        kept: sizes.len() - crumbs,
        crumbs,
    }
}

/// The closed surface between inside and outside, where the winding number
/// passes [`INSIDE`] between nodes.
fn skin(tree: &Tree, lattice: Lattice, inside: &[bool]) -> Vec<[Vec3; 3]> {
    let mut edges: Vec<(u32, u32)> = Vec::new();
    let note = |a: usize, b: usize| {
        edges.push((a as u32, b as u32));
        DVec3::ZERO
    };
    surface(lattice, |idx| inside[idx], note, |_| {});
    edges.sort_unstable();
    edges.dedup();
    let crossings: Vec<DVec3> = edges
        .par_iter()
        .map(|(a, b)| {
            // To 1/64 of a step.
            const ROUNDS: usize = 5;
            let (mut within, mut without) =
                (lattice.place(*a as usize), lattice.place(*b as usize));
            for _ in 0..ROUNDS {
                let middle = (within + without) / 2.0;
                if tree.winding(middle.as_vec3()) > INSIDE {
                    within = middle;
                } else {
                    without = middle;
                }
            }
            (within + without) / 2.0
        })
        .collect();
    let crossing = |a: usize, b: usize| {
        let found = edges.binary_search(&(a as u32, b as u32));
        found.map_or(lattice.place(a), |at| crossings[at])
    };
    let mut skin = Vec::new();
    surface(
        lattice,
        |idx| inside[idx],
        crossing,
        |t| {
            skin.push(t.map(|p| p.as_vec3()));
        },
    );
    skin
}

/// Volume in cubic steps by the middles of the cells: those whose corners
/// agree go with them, the others are asked.
fn counted(tree: &Tree, lattice: Lattice, inside: &[bool]) -> f64 {
    let n = lattice.0;
    let cell = |idx: usize| {
        let ijk = [idx % n[0], idx / n[0] % n[1], idx / (n[0] * n[1])];
        if (0..3).any(|axis| ijk[axis] + 1 >= n[axis]) {
            return 0.0;
        }
        let corner = |c: usize| lattice.idx([0, 1, 2].map(|axis| ijk[axis] + (c >> axis & 1)));
        match (0..8).filter(|c| inside[corner(*c)]).count() {
            0 => 0.0,
            8 => 1.0,
            _ => {
                // Eight places a cell, a quarter of a step from its middle.
                let asked = (0..8).filter(|c| {
                    let offset = [0, 1, 2].map(|axis| 0.25 + 0.5 * (c >> axis & 1) as f64);
                    let place = lattice.place(idx) + DVec3::from_array(offset);
                    tree.winding(place.as_vec3()) > INSIDE
                });
                asked.count() as f64 / 8.0
            }
        }
    };
    let cells: Vec<f64> = (0..lattice.len()).into_par_iter().map(cell).collect();
    cells.iter().sum()
}

/// How much hangs on how holes are closed.
fn doubt(winding: &[f32]) -> f64 {
    const AROUND: f32 = 0.15;
    let above = |level: f32| winding.iter().filter(|w| **w > level).count() as f64;
    let (loose, tight) = (above(INSIDE - AROUND), above(INSIDE + AROUND));
    (loose - tight) / 2.0 / above(INSIDE).max(1.0)
}

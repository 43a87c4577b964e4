//! Scanned meshes as rocks. Reads OBJ, STL, PLY and GLB; asks or guesses the
//! unit and which way is up; finds the foot; closes holes by how the surface
//! winds around each place; and keeps distances on a grid, which is what a
//! scene holds and all estimates ask. It reads no file itself.

mod error;
mod frame;
mod glb;
mod mesh;
mod obj;
mod ply;
#[cfg(test)]
mod samples;
mod shape;
mod stl;
#[cfg(test)]
mod tests;
mod tree;

pub use error::{Rounded, ScanError};
pub use frame::{Unit, Up};
pub use mesh::{BYTES_MAX, ENDINGS, Format, Mesh, TRIANGLES_MAX};

use std::sync::Arc;

use glam::{DVec2, DVec3};

use bommie_model::{geometry, scene};
use scene::shapes::Shape;
use scene::{Layout, Outline, Rock, Scan, Tank};

/// A shape that is off by more than this share is none.
const LOST_MAX: f64 = 0.3;

/// Corner points and triangles.
type Parts = (Vec<DVec3>, Vec<[u32; 3]>);

/// Told how far the work has come, 0 to 1; answers whether to go on.
pub type KeepOn<'a> = &'a (dyn Fn(f64) -> bool + Sync);

/// What the keeper says of a mesh; what is left open is guessed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wishes {
    /// Unit of its lengths.
    pub unit: Option<Unit>,
    /// Which of its axes points up.
    pub up: Option<Up>,
}

/// A mesh made into a shape, and all that there is to say about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Imported {
    /// The shape, its foot at z = 0, its middle above the origin.
    pub scan: Scan,
    /// What it was made from and how well.
    pub report: Report,
}

/// What was read, what was guessed and what it became.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// Format of the file.
    pub format: Format,
    /// Triangles that have an area.
    pub triangles: usize,
    /// Unit of its lengths.
    pub unit: Unit,
    /// Whether the unit is guessed.
    pub unit_is_guessed: bool,
    /// Which of its axes points up.
    pub up: Up,
    /// Whether that is guessed.
    pub up_is_guessed: bool,
    /// Whether it stands on a flat foot that was found, not on its lowest point.
    pub foot_is_flat: bool,
    /// Length, depth and height, in cm.
    pub size_cm: DVec3,
    /// Volume of the shape, in L.
    pub volume_l: f64,
    /// How far that may be off, as a share: what the grid loses, and what hangs
    /// on how holes are closed.
    pub volume_error: f64,
    /// Share of edges with nothing on their other side; zero if it is closed.
    pub open_edges: f64,
    /// How far apart the nodes of the grid are, in cm. What is thinner is lost.
    pub step_cm: f64,
    /// Nodes of the grid.
    pub nodes: usize,
    /// Pieces that do not hang together.
    pub pieces: usize,
    /// Loose crumbs that were left out.
    pub crumbs: usize,
}

/// Makes a rock's shape of a mesh.
///
/// # Errors
///
/// [`ScanError`] if it encloses nothing, is of no size of a rock, or `keep_on`
/// says no.
pub fn import(mesh: &Mesh, wishes: Wishes, keep_on: KeepOn<'_>) -> Result<Imported, ScanError> {
    let (frame, triangles) = frame::stand(mesh, wishes.unit, wishes.up)?;
    let start = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    let box_cm =
        (triangles.iter().flatten()).fold(start, |(low, high), p| (low.min(*p), high.max(*p)));
    let built = shape::build(&triangles, box_cm, keep_on)?;
    let nodes = built.grid.parts().len();
    let mut scan = Scan {
        step_cm: built.step_cm,
        low_cm: built.low_cm,
        grid: Arc::new(built.grid),
    };
    // Crumbs are gone: what is left stands over the origin.
    let (low, high) = scan.bounds_cm();
    let mut middle = (low + high) / 2.0;
    middle.z = if frame.foot_is_flat { 0.0 } else { low.z };
    scan.low_cm -= middle;
    let volume_l = scan.volume_l();
    let lost = (volume_l * 1000.0 / built.counted_cm3.max(1e-9) - 1.0).abs();
    if lost > LOST_MAX {
        return Err(ScanError::Flat(
            "it is a sheet, or thinner than can be kept",
        ));
    }
    Ok(Imported {
        report: Report {
            format: mesh.format,
            triangles: mesh.triangles.len(),
            unit: frame.unit,
            unit_is_guessed: frame.unit_is_guessed,
            up: frame.up,
            up_is_guessed: frame.up_is_guessed,
            foot_is_flat: frame.foot_is_flat,
            size_cm: size(box_cm, (low, high), scan.step_cm),
            volume_l,
            volume_error: lost + built.doubt,
            open_edges: mesh.open_share(),
            step_cm: scan.step_cm,
            nodes,
            pieces: built.n_pieces,
            crumbs: built.n_crumbs,
        },
        scan,
    })
}

/// Size of the mesh itself, whose sharp tips the grid rounds, but for sides
/// where crumbs were left out.
fn size(mesh: (DVec3, DVec3), shape: (DVec3, DVec3), step_cm: f64) -> DVec3 {
    let side = |mesh: DVec3, shape: DVec3| {
        let near = (mesh - shape).abs().cmple(DVec3::splat(2.0 * step_cm));
        DVec3::select(near, mesh, shape)
    };
    side(mesh.1, shape.1) - side(mesh.0, shape.0)
}

/// A rock of this shape, its foot on the sand at the freest place near the
/// middle of the tank, or with its middle at `at_cm` along x and y.
pub fn rock(scan: Scan, (tank, layout): (&Tank, &Layout), at_cm: Option<DVec2>) -> Rock {
    let (low, high) = scan.bounds_cm();
    let half = (high - low).truncate() / 2.0;
    let at = at_cm.unwrap_or_else(|| free_place(half, (tank, layout)));
    let at_cm = (at.extend(tank.sand.depth_cm) * 10.0).round() / 10.0;
    Rock {
        name: "scanned rock".to_owned(),
        scan: Some(scan),
        plan: Outline::default(),
        front: Outline::default(),
        rounding_cm: 0.0,
        ..Shape::Boulder.rock(layout.free_id(), at_cm)
    }
}

/// Middle of a box of this half size in the plan, as clear of other rocks as
/// need be and as near to the middle of the tank as can be.
fn free_place(half: DVec2, (tank, layout): (&Tank, &Layout)) -> DVec2 {
    const STEP_CM: f64 = 2.5;
    const CLEAR_CM: f64 = 2.0;
    let middle = DVec2::new(tank.length_cm, tank.width_cm) / 2.0;
    let room = (middle - half - 1.0).max(DVec2::ZERO);
    let others: Vec<(DVec2, DVec2)> = (layout.rocks.iter())
        .map(|rock| {
            let bounds = scene::solids::rock_solid(rock).bounds();
            let cm = |place: DVec3| place.truncate() * 100.0;
            (cm(bounds.min_m), cm(bounds.max_m))
        })
        .collect();
    let clear = |at: DVec2| {
        let gap = |(low, high): &(DVec2, DVec2)| {
            let apart = (*low - (at + half)).max(at - half - *high);
            apart.max_element()
        };
        others.iter().map(gap).fold(CLEAR_CM, f64::min)
    };
    let n = (room / STEP_CM).floor().as_ivec2();
    let places =
        (-n.y..=n.y).flat_map(|j| (-n.x..=n.x).map(move |i| DVec2::new(i.into(), j.into())));
    let judged = places.map(|step| {
        let at = middle + step * STEP_CM;
        (clear(at), at.distance(middle), at)
    });
    let best = judged.min_by(|a, b| b.0.total_cmp(&a.0).then(a.1.total_cmp(&b.1)));
    best.map_or(middle, |(_, _, at)| at)
}

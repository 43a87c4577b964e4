//! Rock as STL, for printing a model or for other programs.

use glam::Vec3;

use crate::geometry::{Mesh, mesh};
use crate::scene::{Layout, Rock, solids};

/// Millimeters in a meter: STL names no unit, and those who print take it as mm.
const MM_PER_M: f32 = 1000.0;

/// Length of the free text at the start of a file.
const HEADER_BYTES: usize = 80;

/// One rock in its place in the tank, in mm, as a closed surface of triangles
/// of about `cell_m`.
pub fn rock_stl(rock: &Rock, cell_m: f64) -> Vec<u8> {
    binary_stl(&[mesh(&solids::rock_solid(rock), cell_m)])
}

/// All rocks of a layout in one file, in mm, each a closed surface of its own.
pub fn rocks_stl(layout: &Layout, cell_m: f64) -> Vec<u8> {
    let each = layout.rocks.iter().map(solids::rock_solid);
    binary_stl(&each.map(|rock| mesh(&rock, cell_m)).collect::<Vec<_>>())
}

/// **Source** 3D Systems' binary STL: 80 bytes of text that must not begin
/// with "solid", the number of triangles, then normal, three corners
/// counter-clockwise from outside and two spare bytes each, all with the least
/// significant byte first. MEMORY.
fn binary_stl(meshes: &[Mesh]) -> Vec<u8> {
    let n_triangles: usize = meshes.iter().map(|mesh| mesh.triangles.len()).sum();
    let mut file =
        b"Rock in its place in the tank, in mm; origin: inner bottom front left".to_vec();
    file.resize(HEADER_BYTES, b' ');
    file.extend((n_triangles as u32).to_le_bytes());
    for mesh in meshes {
        let corner = |idx: u32| {
            let place_m = mesh.vertices_m.get(idx as usize).copied();
            Vec3::from(place_m.unwrap_or_default()) * MM_PER_M
        };
        for [a, b, c] in &mesh.triangles {
            let [a, b, c] = [*a, *b, *c].map(corner);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            for vector in [normal, a, b, c] {
                file.extend(vector.to_array().iter().flat_map(|x| x.to_le_bytes()));
            }
            file.extend([0, 0]);
        }
    }
    file
}

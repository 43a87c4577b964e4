//! A rock as triangles, for drawing.

use fast_surface_nets::ndshape::{RuntimeShape, Shape as _};
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use glam::DVec3;

use super::solid::RockSolid;

/// Most samples of the distance field along one axis.
const SAMPLES_MAX: u32 = 160;

/// A closed surface of triangles, counter-clockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Corner points in the tank, in m.
    pub vertices_m: Vec<[f32; 3]>,
    /// Outward unit normal at each corner point.
    pub normals: Vec<[f32; 3]>,
    /// Three corner points each.
    pub triangles: Vec<[u32; 3]>,
}

/// The surface of `rock` in triangles of about `cell_m`: surface nets over its
/// distance field, each corner point then moved onto the surface itself.
/// Features thinner than a cell may be lost; a cell too small for the rock's
/// size is enlarged.
///
/// **Source** surface nets: Gibson 1998. MEMORY.
pub fn mesh(rock: &RockSolid, cell_m: f64) -> Mesh {
    let bounds = rock.bounds();
    let size_m = bounds.max_m - bounds.min_m;
    // Two cells of air around, so that the surface closes.
    let room = f64::from(SAMPLES_MAX - 5);
    let cell_m = cell_m.max(size_m.max_element() / room).max(1e-4);
    let n = (size_m / cell_m).ceil().as_uvec3() + 5;
    let origin_m = bounds.min_m - DVec3::splat(2.0 * cell_m);
    let shape = RuntimeShape::<u32, 3>::new(n.to_array());
    let at = |place: DVec3| origin_m + place * cell_m;
    let distances: Vec<f32> = (0..shape.size())
        .map(|idx| {
            let place = shape.delinearize(idx).map(f64::from);
            (rock.signed_distance(at(DVec3::from_array(place))) / cell_m) as f32
        })
        .collect();
    let mut net = SurfaceNetsBuffer::default();
    surface_nets(&distances, &shape, [0; 3], (n - 1).to_array(), &mut net);
    let mut mesh = Mesh {
        triangles: net
            .indices
            .chunks_exact(3)
            .map(|t| [t[0], t[1], t[2]])
            .collect(),
        ..Mesh::default()
    };
    for place in &net.positions {
        let (vertex_m, normal) = settled(rock, at(DVec3::from_array(place.map(f64::from))), cell_m);
        mesh.vertices_m.push(vertex_m.as_vec3().to_array());
        mesh.normals.push(normal.as_vec3().to_array());
    }
    mesh
}

/// A point near the surface moved onto it, and the normal there.
fn settled(rock: &RockSolid, near_m: DVec3, cell_m: f64) -> (DVec3, DVec3) {
    const STEPS: usize = 3;
    let mut at_m = near_m;
    for _ in 0..STEPS {
        // Never farther than a cell: where the distance is a lower bound only,
        // the direction may be that of another face.
        let step_m = rock.signed_distance(at_m).clamp(-cell_m, cell_m);
        at_m -= rock.normal(at_m) * step_m;
    }
    let settled_m = if at_m.distance(near_m) < cell_m {
        at_m
    } else {
        near_m
    };
    (settled_m, rock.normal(settled_m))
}

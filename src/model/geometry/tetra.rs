//! The surface of a solid known at the nodes of a grid, in triangles: each cube
//! of nodes is cut into six tetrahedra (marching tetrahedra), so that the
//! surface closes whatever the signs are.

use glam::DVec3;

/// Nodes along x, y and z, x running fastest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lattice(pub [usize; 3]);

impl Lattice {
    /// How many nodes there are.
    pub fn len(self) -> usize {
        self.0.iter().product()
    }

    /// Whether there is none.
    pub fn is_empty(self) -> bool {
        self.len() == 0
    }

    /// Number of the node at `[i, j, k]`.
    pub fn idx(self, [i, j, k]: [usize; 3]) -> usize {
        (k * self.0[1] + j) * self.0[0] + i
    }

    /// Where node `idx` lies, in steps.
    pub fn place(self, idx: usize) -> DVec3 {
        let [nx, ny, _] = self.0;
        DVec3::new(
            (idx % nx) as f64,
            (idx / nx % ny) as f64,
            (idx / (nx * ny)) as f64,
        )
    }
}

/// The six tetrahedra of a cube around its diagonal, corners by their bits
/// (x, y, z). Cubes side by side cut their shared face alike.
const TETRAHEDRA: [[usize; 4]; 6] = [
    [0, 1, 3, 7],
    [0, 1, 5, 7],
    [0, 2, 3, 7],
    [0, 2, 6, 7],
    [0, 4, 5, 7],
    [0, 4, 6, 7],
];

/// Calls `add` with each triangle of the surface between nodes inside and
/// outside, counter-clockwise seen from outside. `crossing` says where on the
/// way between two nodes, the first of them inside, the surface lies.
pub fn surface(
    lattice: Lattice,
    is_inside: impl Fn(usize) -> bool,
    mut crossing: impl FnMut(usize, usize) -> DVec3,
    mut add: impl FnMut([DVec3; 3]),
) {
    let [nx, ny, nz] = lattice.0;
    for k in 0..nz.saturating_sub(1) {
        for j in 0..ny.saturating_sub(1) {
            for i in 0..nx.saturating_sub(1) {
                let corners: [usize; 8] = std::array::from_fn(|c| {
                    lattice.idx([i + (c & 1), j + (c >> 1 & 1), k + (c >> 2)])
                });
                let inside = corners.map(&is_inside);
                if inside.iter().all(|x| *x) || !inside.iter().any(|x| *x) {
                    continue;
                }
                for tetrahedron in TETRAHEDRA {
                    let nodes = tetrahedron.map(|c| corners[c]);
                    let within = tetrahedron.map(|c| inside[c]);
                    cut(lattice, (nodes, within), &mut crossing, &mut add);
                }
            }
        }
    }
}

/// The one or two triangles that cut a tetrahedron.
fn cut(
    lattice: Lattice,
    (nodes, within): ([usize; 4], [bool; 4]),
    crossing: &mut impl FnMut(usize, usize) -> DVec3,
    add: &mut impl FnMut([DVec3; 3]),
) {
    let of = |wanted: bool| {
        let mut found = [0; 4];
        let mut n = 0;
        for (node, inside) in nodes.iter().zip(within) {
            if inside == wanted {
                found[n] = *node;
                n += 1;
            }
        }
        (found, n)
    };
    let ((ins, n_in), (outs, n_out)) = (of(true), of(false));
    let middle = |found: &[usize]| {
        found.iter().map(|n| lattice.place(*n)).sum::<DVec3>() / found.len().max(1) as f64
    };
    if n_in == 0 || n_out == 0 {
        return;
    }
    let outwards = middle(&outs[..n_out]) - middle(&ins[..n_in]);
    let mut turned = |t: [DVec3; 3]| {
        let normal = (t[1] - t[0]).cross(t[2] - t[0]);
        if normal.dot(outwards) < 0.0 {
            add([t[0], t[2], t[1]]);
        } else {
            add(t);
        }
    };
    if n_in == 2 {
        let [a, b, c, d] = [
            crossing(ins[0], outs[0]),
            crossing(ins[0], outs[1]),
            crossing(ins[1], outs[1]),
            crossing(ins[1], outs[0]),
        ];
        turned([a, b, c]);
        turned([a, c, d]);
    } else if n_in == 1 {
        turned([0, 1, 2].map(|i| crossing(ins[0], outs[i])));
    } else {
        turned([0, 1, 2].map(|i| crossing(ins[i], outs[0])));
    }
}

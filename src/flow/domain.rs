//! What the kernel is given: cells, walls and forces as plain numbers in
//! lattice units. It knows no tank.

use crate::lattice::{SLIDES, direction};

/// Factor between Smagorinsky's constant squared and the term under the root
/// of the relaxation time: `18·√2`.
///
/// **Source** Hou, Sterling, Chen & Doolen 1996, comp-gas/9401004, eq. 26, whose
/// print lacks the `√2/ρ`.
pub(crate) const HOU: f64 = 18.0 * std::f64::consts::SQRT_2;

/// What acts on one cell, in lattice units a step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CellForce {
    /// Index of the cell, x fastest.
    pub cell: usize,
    /// Force.
    pub force: [f32; 3],
    /// Drag per speed.
    pub linear: f32,
    /// Drag per speed squared.
    pub quadratic: f32,
    /// Water that appears here.
    pub mass: f32,
}

/// A solid cell that moves in its own plane, or lets water through at a set speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MovingCell {
    /// Index of the cell, x fastest.
    pub cell: usize,
    /// Speed of its surface, in cells a step.
    pub velocity: [f32; 3],
}

/// Drag of the walls beside a cell, in lattice units.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WallDrag {
    /// Per speed.
    pub linear: f32,
    /// Per speed squared.
    pub quadratic: f32,
}

/// A block of cells for the kernel.
#[derive(Clone, Debug, PartialEq)]
pub struct Domain {
    /// Cells along x, y and z.
    pub n: [usize; 3],
    /// Whether each direction closes on itself; else it ends in a wall.
    pub periodic: [bool; 3],
    /// Whether the top is a free-slip lid instead of a wall.
    pub lid: bool,
    /// Whether each cell is solid, x fastest.
    pub solid: Vec<bool>,
    /// Closure of each cell as [`closure_term`] gives it; empty for none.
    pub closure: Vec<f32>,
    /// Relaxation time without the closure.
    pub tau: f64,
    /// Cells on which something acts, in ascending order.
    pub forces: Vec<CellForce>,
    /// Solid cells that move.
    pub moving: Vec<MovingCell>,
    /// If there is one for each cell, water slides along flat walls against
    /// this drag; if empty, it rests at them.
    pub wall_drag: Vec<WallDrag>,
}

/// The closure's term for Smagorinsky's constant.
pub fn closure_term(constant: f64) -> f32 {
    (HOU * constant * constant) as f32
}

impl Domain {
    /// Water in a box of walls, with no closure and no force.
    pub fn new(n: [usize; 3], tau: f64) -> Self {
        Self {
            n,
            periodic: [false; 3],
            lid: false,
            solid: vec![false; n.iter().product()],
            closure: Vec::new(),
            tau,
            forces: Vec::new(),
            moving: Vec::new(),
            wall_drag: Vec::new(),
        }
    }

    /// Which of [`SLIDES`] act in a cell of water: where the wall is flat there.
    /// In a corner, at an edge and below the lid water rests as at any wall.
    pub(crate) fn slides_at(&self, cell: usize) -> impl Iterator<Item = usize> + '_ {
        let ijk = self.ijk(cell);
        let is_wall = move |c: [i32; 3]| {
            let over_lid = self.lid && c[2] == 1 && ijk[2] + 1 == self.n[2];
            !over_lid && matches!(self.neighbor(ijk, c), Neighbor::Wall(_))
        };
        // Most cells are beside none: six looks tell.
        let is_beside = !self.wall_drag.is_empty() && (1..=6).any(|i| is_wall(direction(i)));
        let all = if is_beside { &SLIDES[..] } else { &[] };
        (all.iter().enumerate()).filter_map(move |(index, slide)| {
            let [a, b] = slide.pair.map(|i| direction(i).map(|x| -x));
            let along: [i32; 3] = std::array::from_fn(|x| a[x] - slide.face[x]);
            let is_flat = is_wall(slide.face) && is_wall(a) && is_wall(b);
            let is_free = !is_wall(along) && !is_wall(along.map(|x| -x));
            (is_flat && is_free).then_some(index)
        })
    }

    /// How many cells there are.
    pub fn n_cells(&self) -> usize {
        self.n.iter().product()
    }

    /// Index of a cell.
    pub fn idx(&self, [i, j, k]: [usize; 3]) -> usize {
        (k * self.n[1] + j) * self.n[0] + i
    }

    /// Cell at an index.
    pub fn ijk(&self, idx: usize) -> [usize; 3] {
        let [nx, ny, _] = self.n;
        [idx % nx, idx / nx % ny, idx / (nx * ny)]
    }

    /// Closure of a cell.
    pub(crate) fn closure_at(&self, cell: usize) -> f32 {
        self.closure.get(cell).copied().unwrap_or(0.0)
    }

    /// Where a step along `c` leads from a cell.
    pub(crate) fn neighbor(&self, cell: [usize; 3], c: [i32; 3]) -> Neighbor {
        let mut to = [0_usize; 3];
        let mut over_lid = false;
        let mut outside = false;
        for axis in 0..3 {
            let n = self.n[axis] as i64;
            let at = cell[axis] as i64 + i64::from(c[axis]);
            if at >= 0 && at < n {
                to[axis] = at as usize;
            } else if self.periodic[axis] {
                to[axis] = at.rem_euclid(n) as usize;
            } else if axis == 2 && at == n && self.lid {
                over_lid = true;
                to[axis] = cell[axis];
            } else {
                outside = true;
            }
        }
        if outside {
            return Neighbor::Wall(None);
        }
        let idx = self.idx(to);
        match (self.solid[idx], over_lid) {
            (true, _) => Neighbor::Wall((!over_lid).then_some(idx)),
            (false, true) => Neighbor::Lid(idx),
            (false, false) => Neighbor::Water(idx),
        }
    }
}

/// What lies in a direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Neighbor {
    /// Water, in this cell.
    Water(usize),
    /// A wall; in this cell, if it is one of the block.
    Wall(Option<usize>),
    /// The lid; what goes up there comes down in this cell.
    Lid(usize),
}

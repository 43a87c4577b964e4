//! What acts on the water, block by block: walls that it slides along, pumps and
//! drag. A step comes by all of it, and to wait for numbers costs it more than to
//! compute with them: walls that look alike are kept once.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::Domain;
use crate::domain::{CellForce, WallDrag};
use crate::lanes::BLOCK;
use crate::slides::BlockSlide;
use crate::store::Layout;

/// Pushes on the cells of a block, as [`CellForce`].
#[derive(Clone, Debug, Default)]
pub(super) struct BlockPush {
    pub(super) force: [[f32; BLOCK]; 3],
    pub(super) linear: [f32; BLOCK],
    pub(super) quadratic: [f32; BLOCK],
    pub(super) mass: [f32; BLOCK],
}

/// What the walls in a block do.
#[derive(Clone, Debug, Default)]
struct BlockWalls {
    slides: Vec<BlockSlide>,
    /// Their drag, and nothing else.
    drag: BlockPush,
}

/// A block in which something acts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Acted {
    block: usize,
    /// Index of what its walls do.
    walls: usize,
    /// Index of what pushes its water, walls included; of none else than walls
    /// where none is given.
    push: Option<usize>,
}

/// Where the force on a cell is kept: index of a push, and lane.
#[derive(Clone, Copy, Debug)]
struct Placed {
    cell: usize,
    push: usize,
    lane: usize,
}

/// All that acts.
#[derive(Clone, Debug)]
pub(super) struct Acting {
    /// In the order of blocks.
    blocks: Vec<Acted>,
    /// No two alike; the first does nothing.
    walls: Vec<BlockWalls>,
    pushes: Vec<BlockPush>,
    /// For each push the walls whose drag it holds.
    beside: Vec<usize>,
    placed: Vec<Placed>,
}

impl BlockWalls {
    /// All that tells it from others.
    fn key(&self) -> Vec<u32> {
        let mut key: Vec<u32> = [self.drag.linear, self.drag.quadratic]
            .into_iter()
            .flatten()
            .map(f32::to_bits)
            .collect();
        for BlockSlide { slide, sign } in &self.slides {
            let lanes = sign.iter().enumerate();
            let mirrored: u32 = lanes.map(|(k, x)| u32::from(*x < 0.0) << k).sum();
            key.extend([*slide as u32, mirrored]);
        }
        key
    }
}

/// The block and lane of a cell.
fn block_of(domain: &Domain, layout: &Layout, cell: usize) -> (usize, usize) {
    let place = layout.place(domain.ijk(cell));
    (place / BLOCK, place % BLOCK)
}

impl Acting {
    /// The walls of a domain, and as yet nothing else.
    pub(super) fn of_walls(domain: &Domain, layout: &Layout) -> Self {
        let mut found: BTreeMap<usize, BlockWalls> = BTreeMap::new();
        for (cell, drag) in domain.wall_drag.iter().enumerate() {
            if domain.solid[cell] {
                continue;
            }
            let slides: Vec<usize> = domain.slides_at(cell).collect();
            if slides.is_empty() && *drag == WallDrag::default() {
                continue;
            }
            let (block, lane) = block_of(domain, layout, cell);
            let walls = found.entry(block).or_default();
            walls.drag.linear[lane] = drag.linear;
            walls.drag.quadratic[lane] = drag.quadratic;
            for slide in slides {
                let known = walls.slides.iter().position(|known| known.slide == slide);
                let index = known.unwrap_or_else(|| {
                    let sign = [1.0; BLOCK];
                    walls.slides.push(BlockSlide { slide, sign });
                    walls.slides.len() - 1
                });
                walls.slides[index].sign[lane] = -1.0;
            }
        }
        let mut acting = Self {
            blocks: Vec::with_capacity(found.len()),
            walls: vec![BlockWalls::default()],
            pushes: Vec::new(),
            beside: Vec::new(),
            placed: Vec::new(),
        };
        let mut known = BTreeMap::new();
        for (block, walls) in found {
            let index = *known.entry(walls.key()).or_insert_with(|| {
                acting.walls.push(walls);
                acting.walls.len() - 1
            });
            acting.blocks.push(Acted {
                block,
                walls: index,
                push: None,
            });
        }
        acting
    }

    /// From now on these forces act besides walls; those in solid cells are left
    /// out.
    pub(super) fn set_forces(&mut self, domain: &Domain, layout: &Layout, forces: &[CellForce]) {
        for (push, walls) in self.pushes.iter_mut().zip(&self.beside) {
            push.clone_from(&self.walls[*walls].drag);
        }
        let wet = || forces.iter().filter(|force| !domain.solid[force.cell]);
        // Mostly they act on the same cells as before.
        let cells = self.placed.iter().map(|placed| placed.cell);
        if !cells.eq(wet().map(|force| force.cell)) {
            self.placed = wet()
                .map(|force| self.place(domain, layout, force.cell))
                .collect();
        }
        for (force, placed) in wet().zip(&self.placed) {
            let &Placed { push, lane, .. } = placed;
            let push = &mut self.pushes[push];
            for (sum, along) in push.force.iter_mut().zip(force.force) {
                sum[lane] += along;
            }
            push.linear[lane] += force.linear;
            push.quadratic[lane] += force.quadratic;
            push.mass[lane] += force.mass;
        }
    }

    /// Where the force on a cell is to be kept; its block gets a push if it has
    /// none.
    fn place(&mut self, domain: &Domain, layout: &Layout, cell: usize) -> Placed {
        let (block, lane) = block_of(domain, layout, cell);
        let found = self.blocks.binary_search_by_key(&block, |b| b.block);
        let at = found.unwrap_or_else(|at| {
            let acted = Acted {
                block,
                walls: 0,
                push: None,
            };
            self.blocks.insert(at, acted);
            at
        });
        let Acted { walls, push, .. } = self.blocks[at];
        let push = push.unwrap_or_else(|| {
            self.pushes.push(self.walls[walls].drag.clone());
            self.beside.push(walls);
            self.pushes.len() - 1
        });
        self.blocks[at].push = Some(push);
        Placed { cell, push, lane }
    }

    /// The blocks in which something acts.
    pub(super) fn blocks(&self) -> impl Iterator<Item = usize> {
        self.blocks.iter().map(|acted| acted.block)
    }

    /// Those among some blocks.
    pub(super) fn among(&self, blocks: Range<usize>) -> &[Acted] {
        let at = |block| self.blocks.partition_point(|acted| acted.block < block);
        &self.blocks[at(blocks.start)..at(blocks.end)]
    }

    /// What mirrors and what pushes the water of a block.
    #[inline]
    pub(super) fn on(&self, acted: Acted) -> (&[BlockSlide], &BlockPush) {
        let walls = &self.walls[acted.walls];
        let push = acted.push.map_or(&walls.drag, |push| &self.pushes[push]);
        (&walls.slides, push)
    }

    /// All that pushes a cell's water, walls included.
    pub(super) fn force_at(&self, domain: &Domain, layout: &Layout, cell: usize) -> CellForce {
        let (block, lane) = block_of(domain, layout, cell);
        let Ok(at) = self.blocks.binary_search_by_key(&block, |b| b.block) else {
            return CellForce::default();
        };
        let (_, push) = self.on(self.blocks[at]);
        CellForce {
            cell,
            force: push.force.map(|along| along[lane]),
            linear: push.linear[lane],
            quadratic: push.quadratic[lane],
            mass: push.mass[lane],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bare tank with drag beside panes and bottom.
    fn tank() -> (Domain, Layout) {
        let mut domain = Domain::new([40, 12, 10], 0.501);
        domain.lid = true;
        let drag = |cell| {
            let [i, j, k] = domain.ijk(cell);
            let is_beside = [0, 39].contains(&i) || [0, 11].contains(&j) || k == 0;
            let linear = if is_beside { 1e-3 } else { 0.0 };
            WallDrag {
                linear,
                quadratic: 0.0,
            }
        };
        domain.wall_drag = (0..domain.n_cells()).map(drag).collect();
        let layout = Layout::new(domain.n);
        (domain, layout)
    }

    #[test]
    fn walls_that_look_alike_are_kept_once() {
        let (domain, layout) = tank();
        let acting = Acting::of_walls(&domain, &layout);
        // A row is three blocks, with its left end, neither and its right end; it
        // lies in front, between or at the back, on the bottom, between or under
        // the lid. In the middle nothing acts, nor does the first kind.
        let most = 3 * 3 * 3;
        assert!(acting.walls.len() <= most, "{} kinds", acting.walls.len());
        assert!(
            acting.blocks.len() > 3 * most,
            "of {} blocks",
            acting.blocks.len()
        );
        for cell in 0..domain.n_cells() {
            let force = acting.force_at(&domain, &layout, cell);
            assert_eq!(force.linear, domain.wall_drag[cell].linear, "cell {cell}");
        }
    }

    #[test]
    fn forces_come_on_top_of_walls_and_go_again() {
        let (domain, layout) = tank();
        let mut acting = Acting::of_walls(&domain, &layout);
        let (beside, open) = (domain.idx([0, 5, 5]), domain.idx([20, 5, 5]));
        let pushed = |cell| CellForce {
            cell,
            force: [0.5, 0.0, 0.0],
            linear: 0.25,
            ..CellForce::default()
        };
        let seen = |acting: &Acting, cell| {
            let force = acting.force_at(&domain, &layout, cell);
            (force.force[0], force.linear)
        };
        for _ in 0..2 {
            acting.set_forces(&domain, &layout, &[pushed(beside), pushed(open)]);
            assert_eq!(
                seen(&acting, beside),
                (0.5, 0.25 + 1e-3),
                "not twice as much"
            );
            assert_eq!(seen(&acting, open), (0.5, 0.25));
        }
        acting.set_forces(&domain, &layout, &[pushed(open)]);
        assert_eq!(seen(&acting, beside), (0.0, 1e-3), "the wall stays");
        assert_eq!(seen(&acting, open), (0.5, 0.25));
    }
}

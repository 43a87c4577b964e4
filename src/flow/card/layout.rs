//! Where cells lie on the card, and what it must know of each.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::CardError;
use crate::Domain;
use crate::domain::{CellForce, WallDrag};
use crate::lattice::PAIRS;

/// First of the bindings that hold populations.
pub(super) const FIRST_POPULATION: u32 = 5;

/// Bit of a cell of water.
const WATER: u32 = 1;

/// Bit of a cell below the lid.
const BELOW_LID: u32 = 2;

/// Bits before the index of what acts on a cell.
const ACTING_SHIFT: u32 = 2;

/// Places of cells: along each axis that a wall ends there is one more, where
/// what leaves is kept until it comes back. Neighbors wrap around, so that one
/// such place serves both ends.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Layout {
    n: [usize; 3],
    m: [usize; 3],
    lid: bool,
    /// Whether each place is water.
    water: Vec<bool>,
}

/// Where a number lies: in which array and at which place of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Slot {
    pub(super) array: usize,
    pub(super) place: usize,
}

impl Layout {
    /// # Errors
    /// A block with walls that move.
    pub(super) fn new(domain: &Domain) -> Result<Self, CardError> {
        if !domain.moving.is_empty() {
            return Err(CardError::Unsupported {
                what: "walls that move",
            });
        }
        let m = std::array::from_fn(|a| domain.n[a] + usize::from(!domain.periodic[a]));
        let mut layout = Self {
            n: domain.n,
            m,
            lid: domain.lid && !domain.periodic[2],
            water: vec![false; m.iter().product()],
        };
        for cell in (0..domain.n_cells()).filter(|&cell| !domain.solid[cell]) {
            let place = layout.place(domain.ijk(cell));
            layout.water[place] = true;
        }
        Ok(layout)
    }

    /// Places along each axis.
    pub(super) fn m(&self) -> [usize; 3] {
        self.m
    }

    /// How many places there are.
    pub(super) fn count(&self) -> usize {
        self.water.len()
    }

    pub(super) fn place(&self, [i, j, k]: [usize; 3]) -> usize {
        (k * self.m[1] + j) * self.m[0] + i
    }

    /// The place next to a cell.
    fn next(&self, ijk: [usize; 3], c: [i32; 3]) -> [usize; 3] {
        std::array::from_fn(|a| {
            let (at, m) = (ijk[a], self.m[a]);
            match c[a] {
                0 => at,
                1 if at + 1 == m => 0,
                1 => at + 1,
                _ if at == 0 => m - 1,
                _ => at - 1,
            }
        })
    }

    /// Where the next step finds the population that moves along `c` in a cell;
    /// `is_even` for the steps 0, 2, 4 and so on.
    pub(super) fn slot(&self, ijk: [usize; 3], c: [i32; 3], is_even: bool) -> Slot {
        let back = c.map(|x| -x);
        let along = |c: [i32; 3]| PAIRS.iter().position(|&p| p == c).map(|p| 1 + 2 * p);
        let (near, far) = if is_even { (1, 0) } else { (0, 1) };
        if let Some(array) = along(c) {
            let place = self.place(ijk);
            return Slot {
                array: array + near,
                place,
            };
        }
        let Some(array) = along(back) else {
            let place = self.place(ijk);
            return Slot { array: 0, place };
        };
        if self.lid && c[2] == -1 && ijk[2] + 1 == self.n[2] {
            let from = self.next(ijk, [-c[0], -c[1], 0]);
            let (at, up) = if self.water[self.place(from)] {
                (from, [c[0], c[1], 1])
            } else {
                (ijk, back)
            };
            let array = along(up).unwrap_or(array) + near;
            let place = self.place(self.next(at, up));
            return Slot { array, place };
        }
        Slot {
            array: array + far,
            place: self.place(self.next(ijk, back)),
        }
    }

    /// What the card knows of each place, but for what acts there.
    pub(super) fn kinds(&self) -> Vec<u32> {
        let top = (self.n[2] - 1) * self.m[0] * self.m[1];
        let kind = |(place, &is_water): (usize, &bool)| {
            let below = self.lid && place >= top;
            let below = if below { BELOW_LID } else { 0 };
            u32::from(is_water) * (WATER | below)
        };
        self.water.iter().enumerate().map(kind).collect()
    }

    /// Closure of each place.
    pub(super) fn closure(&self, domain: &Domain) -> Vec<f32> {
        let mut closure = vec![0.0; self.count()];
        for cell in 0..domain.n_cells() {
            closure[self.place(domain.ijk(cell))] = domain.closure_at(cell);
        }
        closure
    }
}

/// Beside the bits of populations that change places at walls, so that they make
/// a number like any other on the card: some take such small ones for none.
const SLIDES_MARK: u32 = 0x4000_0000;

/// What acts on the water, cell by cell.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Acting {
    given: Vec<Given>,
    /// Which of the forces given push, and the place of that among pushes.
    pushing: Vec<(usize, usize)>,
    entries: Vec<Entry>,
    n_pushes: usize,
}

/// A force as it was given.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Given {
    cell: usize,
    /// Linear and quadratic.
    drag: [f32; 2],
    /// None in a solid cell.
    entry: Option<usize>,
}

/// What acts on a cell.
#[derive(Clone, Debug, PartialEq)]
struct Entry {
    cell: usize,
    /// Linear and quadratic.
    drag: [f32; 2],
    /// Place among pushes.
    push: Option<usize>,
    /// Which populations change places at walls: a bit for each of
    /// [`crate::lattice::SLIDES`].
    slides: u32,
}

impl Acting {
    pub(super) fn new(domain: &Domain, forces: &[CellForce]) -> Self {
        let mut acting = Self {
            entries: at_walls(domain),
            ..Self::default()
        };
        let walls = acting.entries.iter().enumerate();
        let mut entry_of: BTreeMap<usize, usize> =
            walls.map(|(entry, at)| (at.cell, entry)).collect();
        for force in forces {
            acting.given.push(Given {
                cell: force.cell,
                drag: [force.linear, force.quadratic],
                entry: None,
            });
            if domain.solid[force.cell] {
                continue;
            }
            let entry = *entry_of.entry(force.cell).or_insert_with(|| {
                acting.entries.push(Entry {
                    cell: force.cell,
                    drag: [0.0; 2],
                    push: None,
                    slides: 0,
                });
                acting.entries.len() - 1
            });
            let Entry { drag, push, .. } = &mut acting.entries[entry];
            drag[0] += force.linear;
            drag[1] += force.quadratic;
            if !is_drag_alone(force) && push.is_none() {
                *push = Some(acting.n_pushes);
                acting.n_pushes += 1;
            }
            if let Some(given) = acting.given.last_mut() {
                given.entry = Some(entry);
            }
        }
        let pushes = acting.given.iter().map(|given| {
            let entry = given.entry?;
            acting.entries[entry].push
        });
        acting.pushing = (pushes.enumerate())
            .filter_map(|(at, push)| Some((at, push?)))
            .collect();
        acting
    }

    /// Whether these forces differ from those it was made for in nothing but
    /// their pushes, if all from the one at `changed` on are the same.
    pub(super) fn fits(&self, forces: &[CellForce], changed: usize) -> bool {
        let fits = |(given, force): (&Given, &CellForce)| {
            let is_same = given.cell == force.cell && given.drag == [force.linear, force.quadratic];
            let has_push = |entry: usize| self.entries[entry].push.is_some();
            is_same && (is_drag_alone(force) || given.entry.is_none_or(has_push))
        };
        let is_as_many = self.given.len() == forces.len();
        is_as_many && self.given.iter().zip(forces).take(changed).all(fits)
    }

    /// Pushes of one stretch of time.
    pub(super) fn pushes(&self, forces: &[CellForce]) -> Vec<[f32; 4]> {
        let mut pushes = vec![[0.0; 4]; self.n_pushes];
        for &(at, push) in &self.pushing {
            let [x, y, z] = forces[at].force;
            for (sum, part) in pushes[push].iter_mut().zip([x, y, z, forces[at].mass]) {
                *sum += part;
            }
        }
        pushes
    }

    /// For each entry its drags, what changes places at walls, and its place
    /// among pushes, for the card.
    pub(super) fn rows(&self) -> Vec<[f32; 4]> {
        let row = |entry: &Entry| {
            let [linear, quadratic] = entry.drag;
            let slides = f32::from_bits(SLIDES_MARK | entry.slides);
            let push = entry.push.map_or(0.0, |push| (push + 1) as f32);
            [linear, quadratic, slides, push]
        };
        self.entries.iter().map(row).collect()
    }

    /// Notes the entries in the kinds of places.
    pub(super) fn mark(&self, domain: &Domain, layout: &Layout, kinds: &mut [u32]) {
        for (entry, Entry { cell, .. }) in self.entries.iter().enumerate() {
            kinds[layout.place(domain.ijk(*cell))] |= (entry as u32 + 1) << ACTING_SHIFT;
        }
    }

    /// How many pushes a stretch of time has.
    pub(super) fn n_pushes(&self) -> usize {
        self.n_pushes
    }
}

/// Cells beside walls that water slides along.
fn at_walls(domain: &Domain) -> Vec<Entry> {
    let at = |cell: usize| {
        let drag = domain.wall_drag.get(cell).copied().unwrap_or_default();
        let slides = (domain.slides_at(cell)).fold(0, |bits, slide| bits | 1 << slide);
        let is_at_wall = !domain.solid[cell] && (slides != 0 || drag != WallDrag::default());
        is_at_wall.then_some(Entry {
            cell,
            drag: [drag.linear, drag.quadratic],
            push: None,
            slides,
        })
    };
    (0..domain.n_cells())
        .into_par_iter()
        .filter_map(at)
        .collect()
}

/// A drag that never pushes: coral.
fn is_drag_alone(force: &CellForce) -> bool {
    force.force == [0.0; 3] && force.mass == 0.0 && (force.linear != 0.0 || force.quadratic != 0.0)
}

//! The tank's scattering surfaces in patches, and how to find the patch that
//! a ray has met.

use glam::{DVec2, DVec3};

use super::basin::{Basin, LIFT_M, Obstacles, Owner};
use crate::geometry::surface::surface_samples;
use crate::scene::Layout;

/// A piece of surface that scatters light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Patch {
    /// Its middle, kept a little off the surface, in m.
    pub(super) at_m: DVec3,
    pub(super) normal: DVec3,
    pub(super) area_m2: f64,
    pub(super) owner: Owner,
    pub(super) reflectance: f64,
}

/// All patches of a tank.
#[derive(Clone, Debug, Default)]
pub(super) struct Patches {
    pub(super) all: Vec<Patch>,
    rocks: Vec<Buckets>,
    corals: Vec<(usize, usize)>,
    sand: SandGrid,
}

impl Patches {
    /// Patches of about `patch_m` on rock, coral and sand under water.
    pub(super) fn new(
        basin: &Basin,
        obstacles: &Obstacles,
        reflectances: &[f64],
        patch_m: f64,
    ) -> Self {
        let mut patches = Self::default();
        for (rock_idx, reflectance) in reflectances.iter().enumerate() {
            let first = patches.all.len();
            let owner = Owner::Rock(rock_idx);
            let skin = rock_skin(basin, obstacles, rock_idx, patch_m);
            patches
                .all
                .extend(skin.map(|(at_m, normal, area_m2)| Patch {
                    at_m,
                    normal,
                    area_m2,
                    owner,
                    reflectance: *reflectance,
                }));
            patches
                .rocks
                .push(Buckets::new(&patches.all[first..], first, patch_m));
        }
        for (coral_idx, coral) in obstacles.corals.iter().enumerate() {
            let first = patches.all.len();
            for (at_m, normal, area_m2) in coral.skin() {
                patches.all.push(Patch {
                    at_m: at_m + normal * LIFT_M,
                    normal,
                    area_m2,
                    owner: Owner::Coral(coral_idx),
                    reflectance: coral.reflectance,
                });
            }
            patches.corals.push((first, patches.all.len()));
        }
        let (sand, cells) = SandGrid::new(basin, obstacles, patch_m, patches.all.len());
        patches.all.extend(cells);
        patches.sand = sand;
        patches
    }

    /// The patch at a place on `owner` that a ray along `direction` has met.
    pub(super) fn find(&self, owner: Owner, at_m: DVec3, direction: DVec3) -> Option<usize> {
        match owner {
            Owner::Sand => self.sand.find(at_m),
            Owner::Rock(rock_idx) => self
                .rocks
                .get(rock_idx)?
                .nearest(&self.all, at_m, |patch| patch.normal.dot(direction) < 0.0),
            Owner::Coral(coral_idx) => {
                let &(first, last) = self.corals.get(coral_idx)?;
                (first..last).min_by(|&a, &b| {
                    let distance = |i: usize| self.all[i].at_m.distance_squared(at_m);
                    distance(a).total_cmp(&distance(b))
                })
            }
        }
    }

    /// Calls `visit` with patches of the same surface near `at_m` that face
    /// nearly the same way, and with their weight (not normalized).
    pub(super) fn around(
        &self,
        owner: Owner,
        (at_m, normal): (DVec3, DVec3),
        reach_m: f64,
        mut visit: impl FnMut(usize, f64),
    ) {
        let mut weigh = |idx: usize| {
            let patch = &self.all[idx];
            let near = 1.0 - patch.at_m.distance_squared(at_m) / (reach_m * reach_m);
            let alike = patch.normal.dot(normal) - 0.5;
            if near > 0.0 && alike > 0.0 {
                visit(idx, near * near * alike);
            }
        };
        match owner {
            Owner::Sand => self.sand.around(at_m, reach_m, &mut weigh),
            Owner::Rock(rock_idx) => {
                if let Some(buckets) = self.rocks.get(rock_idx) {
                    buckets.around(at_m, reach_m, &mut weigh);
                }
            }
            Owner::Coral(coral_idx) => {
                if let Some(&(first, last)) = self.corals.get(coral_idx) {
                    (first..last).for_each(weigh);
                }
            }
        }
    }
}

/// Reflectances of a layout's rocks, in its order.
pub(super) fn rock_reflectances(layout: &Layout) -> Vec<f64> {
    layout.rocks.iter().map(|rock| rock.reflectance).collect()
}

/// Samples of one rock's skin that light can reach: in the water, above the
/// sand, inside the glass, not buried in another rock. As lifted place, normal
/// and area.
pub(super) fn rock_skin<'a>(
    basin: &'a Basin,
    obstacles: &'a Obstacles,
    rock_idx: usize,
    spacing_m: f64,
) -> impl Iterator<Item = (DVec3, DVec3, f64)> + 'a {
    let rocks = &obstacles.rockwork.rocks;
    surface_samples(&rocks[rock_idx], spacing_m)
        .into_iter()
        .map(|s| (s.at_m + s.normal * LIFT_M, s.normal, s.area_m2))
        .filter(move |(at_m, _, _)| {
            let buried = rocks
                .iter()
                .enumerate()
                .any(|(i, rock)| i != rock_idx && rock.contains(*at_m));
            basin.holds(*at_m) && !buried
        })
}

/// Level cells on the sand as lifted middle and area, those under rock with
/// the part of the cell that is free, if any.
pub(super) fn sand_cells(basin: &Basin, cell_m: f64) -> ([usize; 2], [f64; 2]) {
    let n = basin.size_m.map(|size| (size / cell_m).ceil().max(1.0));
    (
        n.map(|n| n as usize),
        [basin.size_m[0] / n[0], basin.size_m[1] / n[1]],
    )
}

/// Sand patches by cell.
#[derive(Clone, Debug, Default)]
struct SandGrid {
    n: [usize; 2],
    cell_m: [f64; 2],
    patch: Vec<Option<u32>>,
}

impl SandGrid {
    fn new(basin: &Basin, obstacles: &Obstacles, patch_m: f64, first: usize) -> (Self, Vec<Patch>) {
        let (n, cell_m) = sand_cells(basin, patch_m);
        let mut patches = Vec::new();
        let mut patch = Vec::with_capacity(n[0] * n[1]);
        for j in 0..n[1] {
            for i in 0..n[0] {
                let place = sand_place(basin, obstacles, [i, j], cell_m);
                patch.push(place.map(|_| (first + patches.len()) as u32));
                patches.extend(place.map(|(at_m, share)| Patch {
                    at_m,
                    normal: DVec3::Z,
                    area_m2: cell_m[0] * cell_m[1] * share,
                    owner: Owner::Sand,
                    reflectance: basin.sand_reflectance,
                }));
            }
        }
        (Self { n, cell_m, patch }, patches)
    }

    fn find(&self, at_m: DVec3) -> Option<usize> {
        let cell = |axis: usize| {
            let place = (at_m[axis] / self.cell_m[axis]).max(0.0) as usize;
            place.min(self.n[axis].saturating_sub(1))
        };
        let idx = cell(1) * self.n[0] + cell(0);
        self.patch.get(idx).copied().flatten().map(|i| i as usize)
    }

    fn around(&self, at_m: DVec3, reach_m: f64, visit: &mut impl FnMut(usize)) {
        let range = |axis: usize| {
            let place = |at: f64| (at / self.cell_m[axis]).max(0.0) as usize;
            let last = self.n[axis].saturating_sub(1);
            place(at_m[axis] - reach_m).min(last)..=place(at_m[axis] + reach_m).min(last)
        };
        for j in range(1) {
            for i in range(0) {
                if let Some(Some(idx)) = self.patch.get(j * self.n[0] + i) {
                    visit(*idx as usize);
                }
            }
        }
    }
}

/// A point of a sand cell that no rock covers, and the free share of the cell;
/// the middle if it is free.
pub(super) fn sand_place(
    basin: &Basin,
    obstacles: &Obstacles,
    [i, j]: [usize; 2],
    cell_m: [f64; 2],
) -> Option<(DVec3, f64)> {
    let at = |share: DVec2| {
        DVec3::new(
            (i as f64 + share.x) * cell_m[0],
            (j as f64 + share.y) * cell_m[1],
            basin.floor_m + LIFT_M,
        )
    };
    let free = |p: &DVec3| !obstacles.rockwork.contains(*p);
    let quarters = [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)];
    let corners: Vec<_> = quarters
        .into_iter()
        .map(|share| at(DVec2::from(share)))
        .filter(free)
        .collect();
    let middle = at(DVec2::splat(0.5));
    let share = corners.len() as f64 / 4.0;
    if free(&middle) {
        return Some((middle, share.max(0.25)));
    }
    corners.first().map(|at_m| (*at_m, share))
}

/// Patches of one rock, sorted into cubic buckets.
#[derive(Clone, Debug, Default)]
struct Buckets {
    lo: DVec3,
    cell_m: f64,
    n: [usize; 3],
    starts: Vec<u32>,
    patch: Vec<u32>,
}

impl Buckets {
    fn new(patches: &[Patch], first: usize, patch_m: f64) -> Self {
        let Some(start) = patches.first() else {
            return Self::default();
        };
        let (lo, hi) = patches
            .iter()
            .fold((start.at_m, start.at_m), |(lo, hi), p| {
                (lo.min(p.at_m), hi.max(p.at_m))
            });
        let cell_m = patch_m * 1.5;
        let n = ((hi - lo) / cell_m).floor();
        let n = [n.x as usize + 1, n.y as usize + 1, n.z as usize + 1];
        let mut buckets = Self {
            lo,
            cell_m,
            n,
            starts: vec![0; n[0] * n[1] * n[2] + 1],
            patch: vec![0; patches.len()],
        };
        let places: Vec<_> = patches
            .iter()
            .map(|p| buckets.idx(buckets.cell(p.at_m)))
            .collect();
        for idx in &places {
            buckets.starts[idx + 1] += 1;
        }
        for i in 1..buckets.starts.len() {
            buckets.starts[i] += buckets.starts[i - 1];
        }
        let mut next = buckets.starts.clone();
        for (k, idx) in places.iter().enumerate() {
            buckets.patch[next[*idx] as usize] = (first + k) as u32;
            next[*idx] += 1;
        }
        buckets
    }

    fn cell(&self, at_m: DVec3) -> [usize; 3] {
        let p = (at_m - self.lo) / self.cell_m;
        [0, 1, 2].map(|axis| (p[axis].max(0.0) as usize).min(self.n[axis].saturating_sub(1)))
    }

    fn idx(&self, [i, j, k]: [usize; 3]) -> usize {
        (k * self.n[1] + j) * self.n[0] + i
    }

    fn around(&self, at_m: DVec3, reach_m: f64, visit: &mut impl FnMut(usize)) {
        if self.patch.is_empty() {
            return;
        }
        let (lo, hi) = (self.cell(at_m - reach_m), self.cell(at_m + reach_m));
        for k in lo[2]..=hi[2] {
            for j in lo[1]..=hi[1] {
                let from = self.starts[self.idx([lo[0], j, k])] as usize;
                let to = self.starts[self.idx([hi[0], j, k]) + 1] as usize;
                self.patch[from..to]
                    .iter()
                    .for_each(|&idx| visit(idx as usize));
            }
        }
    }

    fn nearest(
        &self,
        all: &[Patch],
        at_m: DVec3,
        accept: impl Fn(&Patch) -> bool,
    ) -> Option<usize> {
        let mut reach_m = self.cell_m * 0.7;
        for _ in 0..4 {
            let mut best: Option<(f64, usize)> = None;
            self.around(at_m, reach_m, &mut |idx| {
                let squared = all[idx].at_m.distance_squared(at_m);
                if best.is_none_or(|(d, _)| squared < d) && accept(&all[idx]) {
                    best = Some((squared, idx));
                }
            });
            if let Some((_, idx)) = best {
                return Some(idx);
            }
            reach_m *= 2.0;
        }
        None
    }
}

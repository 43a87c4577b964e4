//! The light on rock and sand as the drawing asks for it: near a place of a
//! rock's skin that faces a certain way, or over a place of the bed.

use std::sync::Arc;

use glam::{DVec3, Mat3, Vec2, Vec3};

use crate::draw::Skin;
use crate::draw::tank_from_rock;
use crate::light::{LightField, SurfaceOwner};
use crate::scene::{ItemId, Layout, Rock, Scene};
use crate::ui::wash::ColorTable;

/// One light field, sorted by place.
pub(crate) struct Lit {
    /// Another one for every field.
    pub(crate) stamp: u64,
    field: Arc<LightField>,
    /// The scene that the field is about, and which layout of it.
    about: (Arc<Scene>, usize),
    rocks: Vec<Skins>,
    bed: Bed,
}

/// One rock as it stood when its light was worked out.
pub(crate) struct LitRock<'a> {
    skins: &'a Skins,
    turn: Mat3,
    at_cm: Vec3,
}

impl Lit {
    /// Sorts a field that is about this scene.
    pub(crate) fn new(field: &Arc<LightField>, about: &(Arc<Scene>, usize), stamp: u64) -> Self {
        let n_rocks = about.0.layouts.get(about.1).map_or(0, |it| it.rocks.len());
        let patch_cm = (field.patch_m * 100.0) as f32;
        let mut of_rock: Vec<Vec<Spot>> = vec![Vec::new(); n_rocks];
        for patch in &field.patches {
            if let SurfaceOwner::Rock(rock_idx) = patch.owner
                && let Some(spots) = of_rock.get_mut(rock_idx)
            {
                spots.push(Spot {
                    at_cm: (patch.at_m * 100.0).as_vec3(),
                    normal: patch.normal.as_vec3(),
                    ppfd_umol: patch.ppfd_umol as f32,
                });
            }
        }
        Self {
            stamp,
            field: Arc::clone(field),
            about: about.clone(),
            rocks: of_rock
                .into_iter()
                .map(|spots| Skins::new(spots, patch_cm))
                .collect(),
            bed: Bed::new(field, &about.0),
        }
    }

    /// Whether it is of this field.
    pub(crate) fn is_of(&self, field: &Arc<LightField>) -> bool {
        Arc::ptr_eq(&self.field, field)
    }

    /// A rock of the layout that the field is about, by its id.
    pub(crate) fn rock(&self, id: ItemId) -> Option<LitRock<'_>> {
        let layout: &Layout = self.about.0.layouts.get(self.about.1)?;
        let idx = layout.rocks.iter().position(|rock| rock.id == id)?;
        let rock: &Rock = &layout.rocks[idx];
        Some(LitRock {
            skins: self.rocks.get(idx)?,
            turn: tank_from_rock(rock).as_mat3(),
            at_cm: rock.at_cm.as_vec3(),
        })
    }

    /// Length and width of the bed, in cm.
    pub(crate) fn bed_size_cm(&self) -> Vec2 {
        self.bed.cell_cm * Vec2::new(self.bed.n[0] as f32, self.bed.n[1] as f32)
    }

    /// PPFD on the bed, in µmol/m²/s.
    pub(crate) fn on_bed(&self, at_cm: Vec2) -> f32 {
        self.bed.sample(at_cm)
    }
}

impl LitRock<'_> {
    /// PPFD on a place of the rock's skin, on its own facing, in µmol/m²/s;
    /// none where the field knows of no surface nearby (buried, in the sand).
    pub(crate) fn on(&self, skin: &Skin) -> Option<f32> {
        let at_cm = self.turn * skin.at_cm + self.at_cm;
        self.skins.near(at_cm, self.turn * skin.normal)
    }
}

/// The color of light on a surface whose own color is `base`: that of the
/// light wash, with a little of the thing itself left in it.
pub(crate) fn tinted(table: &ColorTable, ppfd_umol: f32, base: [f32; 3]) -> [f32; 3] {
    const OWN: f32 = 0.30;
    // The shade of the drawing lies on it as well, whose middle is below white.
    const LIFT: f32 = 1.25;
    let wash = table.color(ppfd_umol, 0.06 * ppfd_umol.abs() + 0.02);
    [0, 1, 2].map(|k| (wash[k] * LIFT).min(255.0) * (1.0 - OWN) + base[k] * OWN)
}

/// A patch of rock with its light.
#[derive(Clone, Copy, Debug)]
struct Spot {
    at_cm: Vec3,
    normal: Vec3,
    ppfd_umol: f32,
}

/// The patches of one rock, sorted into cubes.
#[derive(Clone, Debug, Default)]
struct Skins {
    lo_cm: Vec3,
    cell_cm: f32,
    n: [usize; 3],
    starts: Vec<u32>,
    spots: Vec<Spot>,
}

impl Skins {
    fn new(spots: Vec<Spot>, patch_cm: f32) -> Self {
        let Some(first) = spots.first() else {
            return Self::default();
        };
        let (lo, hi) = spots
            .iter()
            .fold((first.at_cm, first.at_cm), |(lo, hi), spot| {
                (lo.min(spot.at_cm), hi.max(spot.at_cm))
            });
        let cell_cm = patch_cm.max(0.1) * 1.6;
        let n = ((hi - lo) / cell_cm).floor();
        let mut skins = Self {
            lo_cm: lo,
            cell_cm,
            n: [n.x as usize + 1, n.y as usize + 1, n.z as usize + 1],
            starts: Vec::new(),
            spots,
        };
        let cell_of = |spot: &Spot| skins.idx(skins.cell(spot.at_cm));
        let mut keyed: Vec<(usize, Spot)> = skins
            .spots
            .iter()
            .map(|spot| (cell_of(spot), *spot))
            .collect();
        keyed.sort_by_key(|(cell, _)| *cell);
        let mut starts = vec![0_u32; skins.n.iter().product::<usize>() + 1];
        for (cell, _) in &keyed {
            starts[cell + 1] += 1;
        }
        for idx in 1..starts.len() {
            starts[idx] += starts[idx - 1];
        }
        skins.starts = starts;
        skins.spots = keyed.into_iter().map(|(_, spot)| spot).collect();
        skins
    }

    fn cell(&self, at_cm: Vec3) -> [usize; 3] {
        let place = (at_cm - self.lo_cm) / self.cell_cm;
        [0, 1, 2].map(|axis| (place[axis].max(0.0) as usize).min(self.n[axis].saturating_sub(1)))
    }

    fn idx(&self, [i, j, k]: [usize; 3]) -> usize {
        (k * self.n[1] + j) * self.n[0] + i
    }

    /// Mean of the patches near a place that face about the same way.
    fn near(&self, at_cm: Vec3, normal: Vec3) -> Option<f32> {
        // First those that face alike, then whatever is near.
        for (reach, alike_least) in [(1.0, 0.4), (2.0, 0.0), (3.0, -1.1)] {
            let found = self.mean(at_cm, normal, (reach * self.cell_cm, alike_least));
            if found.is_some() {
                return found;
            }
        }
        None
    }

    fn mean(&self, at_cm: Vec3, normal: Vec3, (reach_cm, alike_least): (f32, f32)) -> Option<f32> {
        if self.spots.is_empty() {
            return None;
        }
        let (lo, hi) = (self.cell(at_cm - reach_cm), self.cell(at_cm + reach_cm));
        let (mut sum, mut weights) = (0.0, 0.0);
        for k in lo[2]..=hi[2] {
            for j in lo[1]..=hi[1] {
                let from = self.starts[self.idx([lo[0], j, k])] as usize;
                let to = self.starts[self.idx([hi[0], j, k]) + 1] as usize;
                for spot in &self.spots[from..to] {
                    let near = 1.0 - spot.at_cm.distance_squared(at_cm) / (reach_cm * reach_cm);
                    let alike = spot.normal.dot(normal) - alike_least;
                    if near > 0.0 && alike > 0.0 {
                        let weight = near * near * alike;
                        sum += spot.ppfd_umol * weight;
                        weights += weight;
                    }
                }
            }
        }
        (weights > 0.0).then(|| sum / weights)
    }
}

/// Light on the bed in cells; those under rock have that of their neighbors.
#[derive(Clone, Debug, Default)]
struct Bed {
    n: [usize; 2],
    cell_cm: Vec2,
    ppfd_umol: Vec<f32>,
}

impl Bed {
    fn new(field: &LightField, scene: &Scene) -> Self {
        let size_cm = Vec2::new(scene.tank.length_cm as f32, scene.tank.width_cm as f32);
        let patch_cm = (field.patch_m * 100.0).max(0.1) as f32;
        let n = (size_cm / patch_cm).ceil().max(Vec2::ONE);
        let mut bed = Self {
            n: [n.x as usize, n.y as usize],
            cell_cm: size_cm / n,
            ppfd_umol: vec![f32::NAN; n.x as usize * n.y as usize],
        };
        for patch in &field.patches {
            if patch.owner == SurfaceOwner::Sand {
                let idx = bed.idx(patch.at_m * 100.0);
                bed.ppfd_umol[idx] = patch.ppfd_umol as f32;
            }
        }
        bed.spread();
        bed
    }

    fn idx(&self, at_cm: DVec3) -> usize {
        let cell = |axis: usize| {
            let place = at_cm[axis] as f32 / self.cell_cm[axis];
            (place.max(0.0) as usize).min(self.n[axis] - 1)
        };
        cell(1) * self.n[0] + cell(0)
    }

    /// Carries values on into cells without one, a ring at a time.
    fn spread(&mut self) {
        let [nx, ny] = self.n;
        while self.ppfd_umol.iter().any(|value| value.is_nan()) {
            let before = self.ppfd_umol.clone();
            for j in 0..ny {
                for i in 0..nx {
                    let idx = j * nx + i;
                    if !before[idx].is_nan() {
                        continue;
                    }
                    let (mut sum, mut n_known) = (0.0, 0.0);
                    for (is_there, other) in [
                        (i > 0, idx.wrapping_sub(1)),
                        (i + 1 < nx, idx + 1),
                        (j > 0, idx.wrapping_sub(nx)),
                        (j + 1 < ny, idx + nx),
                    ] {
                        if is_there && !before[other].is_nan() {
                            sum += before[other];
                            n_known += 1.0;
                        }
                    }
                    if n_known > 0.0 {
                        self.ppfd_umol[idx] = sum / n_known;
                    }
                }
            }
            if before.iter().all(|value| value.is_nan()) {
                self.ppfd_umol.fill(0.0);
            }
        }
    }

    fn sample(&self, at_cm: Vec2) -> f32 {
        let last = Vec2::new((self.n[0] - 1) as f32, (self.n[1] - 1) as f32);
        let place = (at_cm / self.cell_cm - 0.5).clamp(Vec2::ZERO, last);
        let low = place.floor();
        let share = place - low;
        let at = |i: f32, j: f32| {
            let (i, j) = (i.min(last.x) as usize, j.min(last.y) as usize);
            self.ppfd_umol[j * self.n[0] + i]
        };
        let row = |j: f32| {
            let a = at(low.x, j);
            a + (at(low.x + 1.0, j) - a) * share.x
        };
        let a = row(low.y);
        a + (row(low.y + 1.0) - a) * share.y
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::SurfacePatch;
    use crate::scene::shapes::Shape;
    use crate::storage::{demos, parse};

    fn patch(at_cm: DVec3, normal: DVec3, owner: SurfaceOwner, ppfd_umol: f64) -> SurfacePatch {
        SurfacePatch {
            at_m: at_cm / 100.0,
            normal,
            area_m2: 1e-4,
            owner,
            ppfd_umol,
            open_umol: 400.0,
            level_umol: ppfd_umol,
        }
    }

    /// The first demo with a single boulder in it, moved aside.
    fn scene() -> (Arc<Scene>, usize) {
        let demo = demos().first().expect("there is a demo");
        let mut scene = parse(demo.text, demo.file).expect("it reads").scene;
        scene.layouts[0].rocks = vec![Shape::Boulder.rock(7, DVec3::new(50.0, 20.0, 3.0))];
        (Arc::new(scene), 0)
    }

    #[test]
    fn a_place_takes_the_light_of_the_patches_that_face_its_way() {
        let on = |at, normal, ppfd| patch(at, normal, SurfaceOwner::Rock(0), ppfd);
        let field = LightField {
            patches: vec![
                on(DVec3::new(50.0, 20.0, 15.0), DVec3::Z, 300.0),
                on(DVec3::new(50.0, 20.0, 14.0), DVec3::NEG_Y, 60.0),
                on(DVec3::new(50.0, 20.0, 14.5), DVec3::NEG_Z, 5.0),
            ],
            patch_m: 0.02,
            full: true,
        };
        let about = scene();
        let lit = Lit::new(&Arc::new(field), &about, 1);
        let rock = lit.rock(7).expect("the boulder");
        let own = tank_from_rock(&about.0.layouts[0].rocks[0])
            .as_mat3()
            .transpose();
        let at = |normal: Vec3| Skin {
            at_cm: own * Vec3::new(0.0, 0.0, 11.5),
            normal: own * normal,
        };
        for (normal, expected) in [(Vec3::Z, 300.0), (Vec3::NEG_Y, 60.0), (Vec3::NEG_Z, 5.0)] {
            let found = rock.on(&at(normal)).expect("there is a patch");
            // Weights in f32 divide out to a few parts in ten millions.
            assert!(
                (found / expected - 1.0).abs() < 1e-5,
                "{found} facing {normal}"
            );
        }
        let far = Skin {
            at_cm: Vec3::splat(60.0),
            normal: Vec3::Z,
        };
        assert_eq!(rock.on(&far), None, "no patch near it");
        assert!(lit.rock(8).is_none(), "no such rock");
    }

    #[test]
    fn the_bed_is_whole_also_where_rock_stands_on_it() {
        let patches = (0..12)
            .filter(|i| *i != 5)
            .map(|i| {
                let at = DVec3::new(f64::from(i) * 10.0 + 5.0, 5.0, 3.0);
                patch(at, DVec3::Z, SurfaceOwner::Sand, f64::from(i) * 10.0)
            })
            .collect();
        let field = LightField {
            patches,
            patch_m: 0.1,
            full: true,
        };
        let lit = Lit::new(&Arc::new(field), &scene(), 1);
        assert_eq!(lit.on_bed(Vec2::new(25.0, 5.0)), 20.0, "in a cell's middle");
        assert_eq!(lit.on_bed(Vec2::new(30.0, 5.0)), 25.0, "between two");
        assert_eq!(lit.on_bed(Vec2::new(55.0, 5.0)), 50.0, "under the rock");
        assert!(lit.on_bed(Vec2::new(500.0, -3.0)) >= 0.0, "beside the tank");
    }
}

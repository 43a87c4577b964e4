//! The study: one immutable snapshot of what is computed on. An edit makes one;
//! flow, light, advice, plan and the commands read it and build nothing of it
//! again. Shared by `Arc`, it crosses threads as it is.

mod settings;
mod water;

use std::sync::Arc;

use crate::catalog::{Catalog, Entry};
use crate::geometry::{RockSolid, Rockwork};
use crate::scene::solids::{self, CoralBody};
use crate::scene::{Coral, ItemId, Layout, Rock, Scene};

pub use settings::{Limits, StudySettings};
pub use water::{Medium, WaterBox};

/// Why there is no study.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StudyError {
    /// The scene has no such layout.
    #[error("the scene has no layout number {wanted}, it has {known}")]
    NoLayout {
        /// Which one was asked for, counted from 1.
        wanted: usize,
        /// How many there are.
        known: usize,
    },
}

/// One layout of a scene with all that follows from it alone: its solids and
/// its water, the catalog that its corals are looked up in, and the settings
/// that every estimate keeps to.
#[derive(Clone, Debug)]
pub struct Study {
    scene: Arc<Scene>,
    layout_idx: usize,
    catalog: Arc<Catalog>,
    settings: StudySettings,
    water: WaterBox,
    rockwork: Rockwork,
    standing: Arc<[CoralBody]>,
}

impl Study {
    /// The study of a layout of `scene`, its corals looked up in `catalog`.
    ///
    /// # Errors
    /// [`StudyError::NoLayout`] if the scene has no layout of this index.
    pub fn new(
        scene: Arc<Scene>,
        layout_idx: usize,
        catalog: Arc<Catalog>,
        settings: StudySettings,
    ) -> Result<Self, StudyError> {
        Self::made(scene, layout_idx, (catalog, settings), None)
    }

    /// The study of a layout with the catalog that comes with the program and
    /// the usual settings: for examples and tests.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn with_built_in(scene: &Scene, layout_idx: usize) -> Result<Self, StudyError> {
        Self::new(
            Arc::new(scene.clone()),
            layout_idx,
            Catalog::shared(),
            StudySettings::default(),
        )
    }

    /// The study after an edit: solids of rocks that stayed as they are, are
    /// shared with this one.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn after(&self, scene: Arc<Scene>, layout_idx: usize) -> Result<Self, StudyError> {
        let known = (Arc::clone(&self.catalog), self.settings.clone());
        Self::made(scene, layout_idx, known, Some(self))
    }

    /// The same layout under other settings.
    pub fn with_settings(&self, settings: StudySettings) -> Self {
        Self {
            settings,
            ..self.clone()
        }
    }

    /// The same tank with `layout` in place of the one that is studied.
    pub fn with_layout(&self, layout: Layout) -> Self {
        let mut scene = Scene::clone(&self.scene);
        let rockwork = rockwork(&layout, Some(self));
        let standing = solids::standing_corals(&layout, &self.catalog).into();
        scene.layouts[self.layout_idx] = layout;
        Self {
            scene: Arc::new(scene),
            rockwork,
            standing,
            ..self.clone()
        }
    }

    fn made(
        scene: Arc<Scene>,
        layout_idx: usize,
        (catalog, settings): (Arc<Catalog>, StudySettings),
        before: Option<&Self>,
    ) -> Result<Self, StudyError> {
        let layout = scene.layouts.get(layout_idx).ok_or(StudyError::NoLayout {
            wanted: layout_idx + 1,
            known: scene.layouts.len(),
        })?;
        Ok(Self {
            water: WaterBox::of(&scene.tank),
            rockwork: rockwork(layout, before),
            standing: solids::standing_corals(layout, &catalog).into(),
            scene,
            layout_idx,
            catalog,
            settings,
        })
    }

    /// The scene.
    pub fn scene(&self) -> &Arc<Scene> {
        &self.scene
    }

    /// Which layout of it is studied.
    pub fn layout_idx(&self) -> usize {
        self.layout_idx
    }

    /// The layout that is studied.
    pub fn layout(&self) -> &Layout {
        &self.scene.layouts[self.layout_idx]
    }

    /// What is known of corals: the catalog that comes with the program with
    /// the keeper's own entries laid over it.
    pub fn catalog(&self) -> &Arc<Catalog> {
        &self.catalog
    }

    /// What the catalog knows of a coral.
    pub fn entry_of(&self, coral: &Coral) -> Option<&Entry> {
        self.catalog.entry(&coral.entry)
    }

    /// Limits, cells and seed of every estimate.
    pub fn settings(&self) -> &StudySettings {
        &self.settings
    }

    /// Limits that the keeper may change.
    pub fn limits(&self) -> &Limits {
        &self.settings.limits
    }

    /// Whether a pump or a return moves the water at all.
    pub fn moves_water(&self) -> bool {
        !(self.layout().pumps.is_empty() && self.scene.tank.returns.is_empty())
    }

    /// The box of water.
    pub fn water(&self) -> WaterBox {
        self.water
    }

    /// Solids of the rocks, in the layout's order.
    pub fn rockwork(&self) -> &Rockwork {
        &self.rockwork
    }

    /// The rocks with their solids, in the layout's order.
    pub fn rocks(&self) -> impl Iterator<Item = (&Rock, &Arc<RockSolid>)> {
        self.layout().rocks.iter().zip(&self.rockwork.rocks)
    }

    /// The solid of the rock with this id.
    pub fn rock_solid(&self, id: ItemId) -> Option<&Arc<RockSolid>> {
        let found = self.rocks().find(|(rock, _)| rock.id == id);
        found.map(|(_, solid)| solid)
    }

    /// Rooms of the corals that stand in the way of light and water; mats and
    /// crusts do not.
    pub fn standing_corals(&self) -> &Arc<[CoralBody]> {
        &self.standing
    }

    /// What fills a place.
    pub fn medium_at(&self, at_m: glam::DVec3) -> Medium {
        if !self.water.holds(at_m) {
            Medium::Outside
        } else if self.rockwork.contains(at_m) {
            Medium::Rock
        } else if at_m.z < self.water.sand_m {
            Medium::Sand
        } else {
            Medium::Water
        }
    }
}

/// The solids of a layout; those of rocks that have the same shape in the same
/// place in `before` are taken over.
fn rockwork(layout: &Layout, before: Option<&Study>) -> Rockwork {
    let kept = |rock: &Rock| {
        let before = before?;
        let found = (before.rocks())
            .find(|(old, _)| old.id == rock.id && solids::has_same_solid(old, rock));
        found.map(|(_, solid)| Arc::clone(solid))
    };
    let solid = |rock| kept(rock).unwrap_or_else(|| Arc::new(solids::rock_solid(rock)));
    Rockwork {
        rocks: layout.rocks.iter().map(solid).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tank with two rocks and a coral on the first.
    fn scene() -> Scene {
        let text = r#"(
            format: 1, name: "test",
            tank: (length_cm: 100.0, width_cm: 50.0, height_cm: 45.0, water_cm: 40.0,
                sand: (depth_cm: 4.0, grain_mm: 1.0, reflectance: 0.5)),
            layouts: [(
                name: "one",
                rocks: [(
                    id: 1, at_cm: (30.0, 25.0, 0.0),
                    plan: (points_cm: [(-10.0, -10.0), (10.0, -10.0), (10.0, 10.0), (-10.0, 10.0)]),
                    front: (points_cm: [(-10.0, 0.0), (10.0, 0.0), (10.0, 20.0), (-10.0, 20.0)]),
                ), (
                    id: 2, at_cm: (70.0, 25.0, 0.0),
                    plan: (points_cm: [(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)]),
                    front: (points_cm: [(-5.0, 0.0), (5.0, 0.0), (5.0, 10.0), (-5.0, 10.0)]),
                )],
                corals: [(
                    id: 3, entry: "euphyllia_torch", at_cm: (30.0, 25.0, 20.0),
                    size_cm: (6.0, 6.0, 6.0), on: Rock(1),
                )],
            )],
        )"#;
        ron::from_str(text).expect("it reads")
    }

    #[test]
    fn an_edit_shares_the_solids_that_it_left_alone() {
        let first = Study::with_built_in(&scene(), 0).expect("a layout");
        let mut edited = scene();
        edited.layouts[0].rocks[0].at_cm.x += 5.0;
        edited.layouts[0].rocks[1].name = "the small one".to_owned();
        edited.layouts[0].rocks.swap(0, 1);
        let second = first.after(Arc::new(edited), 0).expect("a layout");
        let solid = |study: &Study, id| Arc::clone(study.rock_solid(id).expect("there is one"));
        assert!(
            Arc::ptr_eq(&solid(&first, 2), &solid(&second, 2)),
            "renamed and in another order, but the same rock"
        );
        assert!(
            !Arc::ptr_eq(&solid(&first, 1), &solid(&second, 1)),
            "moved, so it is another solid"
        );
        let anew = Study::with_built_in(second.scene(), 0).expect("a layout");
        assert_eq!(
            anew.rockwork(),
            second.rockwork(),
            "as if made from nothing"
        );
    }

    #[test]
    fn there_is_no_study_of_a_layout_that_is_not_there() {
        let refused = Study::with_built_in(&scene(), 1).map(|_| ());
        let error = StudyError::NoLayout {
            wanted: 2,
            known: 1,
        };
        assert_eq!(refused, Err(error), "one layout only");
    }

    #[test]
    fn each_place_holds_one_medium() {
        let study = Study::with_built_in(&scene(), 0).expect("a layout");
        let at = |x, y, z| study.medium_at(glam::DVec3::new(x, y, z));
        assert_eq!(at(0.30, 0.25, 0.10), Medium::Rock, "in the first rock");
        assert_eq!(at(0.50, 0.25, 0.02), Medium::Sand, "between them, low");
        assert_eq!(at(0.50, 0.25, 0.20), Medium::Water, "between them");
        assert_eq!(at(0.50, 0.25, 0.41), Medium::Outside, "over the water");
        assert_eq!(at(-0.01, 0.25, 0.20), Medium::Outside, "beyond the glass");
    }
}

//! Mats and crusts as they lie over their rocks, for the drawing: worked out
//! again only where a mat or its rock has changed.

use std::sync::Arc;

use egui::{Pos2, Rect, Vec2};

use crate::geometry::RockSolid;
use crate::geometry::drape::{SkinStep, drape};
use crate::scene::solids::lies_flat;
use crate::scene::{Coral, ItemId, Support};
use crate::study::Study;
use crate::ui::sheet::Frame;
use crate::units::M_PER_CM;

/// Ways from the middle of a mat to its rim.
const WAYS: usize = 28;

/// One mat with what it was worked out from.
struct Mat {
    coral: Coral,
    rock: Arc<RockSolid>,
    ways: Vec<Vec<SkinStep>>,
}

/// All mats of the shown layout.
#[derive(Default)]
pub(crate) struct Mats {
    of: Option<Arc<Study>>,
    mats: Vec<Mat>,
}

impl Mats {
    /// Brings the mats up to date with a layout.
    pub(crate) fn tend(&mut self, study: &Arc<Study>) {
        if self.of.as_ref().is_some_and(|old| Arc::ptr_eq(old, study)) {
            return;
        }
        self.of = Some(Arc::clone(study));
        let mut before = std::mem::take(&mut self.mats);
        let floor_m = study.water().sand_m;
        let corals = study.layout().corals.iter();
        for coral in corals.filter(|coral| lies_flat(coral, study.catalog())) {
            let Support::Rock(id) = coral.on else {
                continue;
            };
            let Some(rock) = study.rock_solid(id) else {
                continue;
            };
            let same = |mat: &Mat| mat.coral == *coral && Arc::ptr_eq(&mat.rock, rock);
            if let Some(idx) = before.iter().position(same) {
                self.mats.push(before.swap_remove(idx));
                continue;
            }
            let edge_m = coral.size_cm.x.max(coral.size_cm.y) / 2.0 * M_PER_CM;
            let base_m = coral.at_cm * M_PER_CM;
            self.mats.push(Mat {
                coral: coral.clone(),
                rock: Arc::clone(rock),
                ways: drape(rock, base_m, edge_m, (WAYS, floor_m)),
            });
        }
    }

    /// The ways of a mat over its rock.
    pub(crate) fn ways(&self, id: ItemId) -> Option<&[Vec<SkinStep>]> {
        let mat = self.mats.iter().find(|mat| mat.coral.id == id)?;
        Some(&mat.ways)
    }
}

/// What of a mat shows in a view: the rim of the part that faces the viewer.
pub(crate) struct Shown {
    /// Around the middle, in order.
    pub(crate) rim: Vec<Pos2>,
    /// Middle and half of its extents on the screen.
    pub(crate) middle: Pos2,
    pub(crate) half: Vec2,
    /// How much of its base faces the viewer: 1 from straight ahead.
    pub(crate) facing: f32,
}

/// The part of a mat that a view sees.
pub(crate) fn shown(frame: &Frame, coral: &Coral, ways: &[Vec<SkinStep>]) -> Shown {
    /// A surface seen flatter than this is drawn as not seen.
    const EDGE_ON: f64 = 0.05;
    let towards = frame.view.towards_viewer();
    let base = frame.pos(coral.at_cm);
    let pos = |step: &SkinStep| frame.pos(step.at_m / M_PER_CM);
    let is_seen = |step: &&SkinStep| step.normal.dot(towards) > EDGE_ON;
    let rim: Vec<Pos2> = ways
        .iter()
        .map(|way| way.iter().take_while(is_seen).last().map_or(base, pos))
        .collect();
    let extents = Rect::from_points(&rim);
    Shown {
        middle: extents.center(),
        half: extents.size() / 2.0,
        rim,
        facing: coral.facing.normalize_or_zero().dot(towards) as f32,
    }
}

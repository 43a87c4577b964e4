//! Mats and crusts as they lie over their rocks.

use std::sync::Arc;

use glam::DVec2;

use crate::geometry::RockSolid;
use crate::geometry::drape::{SkinStep, drape};
use crate::scene::solids::lies_flat;
use crate::scene::{Coral, Support};
use crate::study::Study;
use crate::units::M_PER_CM;
use crate::view::View;

/// Ways from the middle of a mat to its rim.
const WAYS: usize = 28;

/// One mat with what it was worked out from.
#[derive(Clone, Debug)]
pub struct Mat {
    /// The coral.
    pub coral: Coral,
    /// The rock that it lies on.
    pub rock: Arc<RockSolid>,
    /// Its ways over the rock.
    pub ways: Vec<Vec<SkinStep>>,
}

/// A coral as it lies over its rock; none for one that stands or lies on the
/// bed. The same coral on the same rock is taken from what there `was`.
pub fn mat(study: &Study, coral: &Coral, was: &mut Vec<Mat>) -> Option<Mat> {
    let Support::Rock(id) = coral.on else {
        return None;
    };
    if !lies_flat(coral, study.catalog()) {
        return None;
    }
    let rock = study.rock_solid(id)?;
    let same = |mat: &Mat| mat.coral == *coral && Arc::ptr_eq(&mat.rock, rock);
    if let Some(idx) = was.iter().position(same) {
        return Some(was.swap_remove(idx));
    }
    let edge_m = coral.size_cm.x.max(coral.size_cm.y) / 2.0 * M_PER_CM;
    let floor_m = study.water().sand_m;
    Some(Mat {
        coral: coral.clone(),
        rock: Arc::clone(rock),
        ways: drape(rock, coral.at_cm * M_PER_CM, edge_m, (WAYS, floor_m)),
    })
}

/// What of a mat shows in a view: the rim of the part that faces the viewer.
pub(crate) struct Shown {
    /// Around the middle, in order.
    pub(crate) rim: Vec<DVec2>,
    /// Middle and half of its extents, in cm.
    pub(crate) middle: DVec2,
    pub(crate) half: DVec2,
    /// How much of its base faces the viewer: 1 from straight ahead.
    pub(crate) facing: f64,
}

/// The part of a mat that a view sees.
pub(crate) fn shown(view: View, coral: &Coral, ways: &[Vec<SkinStep>]) -> Shown {
    /// A surface seen flatter than this is drawn as not seen.
    const EDGE_ON: f64 = 0.05;
    let towards = view.towards_viewer();
    let base = view.flat(coral.at_cm);
    let place = |step: &SkinStep| view.flat(step.at_m / M_PER_CM);
    let is_seen = |step: &&SkinStep| step.normal.dot(towards) > EDGE_ON;
    let rim: Vec<DVec2> = ways
        .iter()
        .map(|way| way.iter().take_while(is_seen).last().map_or(base, place))
        .collect();
    let corners = (DVec2::INFINITY, DVec2::NEG_INFINITY);
    let (low, high) = rim.iter().fold(corners, |(l, h), p| (l.min(*p), h.max(*p)));
    let is_empty = rim.is_empty();
    Shown {
        middle: if is_empty { base } else { low.midpoint(high) },
        half: if is_empty {
            DVec2::ZERO
        } else {
            (high - low) / 2.0
        },
        rim,
        facing: coral.facing.normalize_or_zero().dot(towards),
    }
}

//! Mats and crusts as they lie over their rocks, for the drawing: worked out
//! again only where a mat or its rock has changed.

use std::sync::Arc;

use crate::draw::{Mat, mat};
use crate::geometry::drape::SkinStep;
use crate::scene::ItemId;
use crate::study::Study;

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
        let mut was = std::mem::take(&mut self.mats);
        let corals = study.layout().corals.iter();
        self.mats
            .extend(corals.filter_map(|coral| mat(study, coral, &mut was)));
    }

    /// All of them.
    pub(crate) fn all(&self) -> &[Mat] {
        &self.mats
    }

    /// The ways of a mat over its rock.
    pub(crate) fn ways(&self, id: ItemId) -> Option<&[Vec<SkinStep>]> {
        let mat = self.mats.iter().find(|mat| mat.coral.id == id)?;
        Some(&mat.ways)
    }
}

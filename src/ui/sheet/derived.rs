//! What the drawing is made of: the facts of a study, and each view's list,
//! kept until the study, what is shown of it or the scale changes.

use std::sync::Arc;

use crate::desk::Desk;
use crate::draw::{Facts, List, Past, Source};
use crate::flow::jet::Reach;
use crate::geometry::Rockwork;
use crate::study::Study;
use crate::ui::paint::mats::Mats;
use crate::ui::paint::rocks::RockDrawings;
use crate::ui::sheet::Frame;
use crate::units::UnitSystem;

/// What follows from one study.
pub(super) struct Derived {
    study: Arc<Study>,
    facts: Facts,
}

impl Derived {
    /// Whether it is of this study.
    pub(super) fn is_of(&self, study: &Arc<Study>) -> bool {
        Arc::ptr_eq(&self.study, study)
    }

    /// The solids, in the layout's order.
    pub(super) fn rockwork(&self) -> &Rockwork {
        self.study.rockwork()
    }

    /// How far the pumps' jets are felt, in the layout's order.
    pub(super) fn reaches(&self) -> &[Reach] {
        &self.facts.reaches
    }

    /// What follows from a study; what is the same in `before` is taken over.
    pub(super) fn new(study: &Arc<Study>, before: Option<&Self>) -> Self {
        let before = before.map(|old| Past {
            study: &old.study,
            facts: &old.facts,
        });
        Self {
            study: Arc::clone(study),
            facts: Facts::new(study, before),
        }
    }
}

/// The list of a view with what it was made of.
struct Kept {
    study: Arc<Study>,
    corals: Arc<Study>,
    units: UnitSystem,
    /// What was drawn of the rocks.
    changed: u64,
    list: List,
}

/// Each view's list.
#[derive(Default)]
pub(super) struct Lists {
    kept: [Option<Kept>; 3],
}

impl Lists {
    /// Brings the list of a frame's view up to date.
    pub(super) fn tend(
        &mut self,
        frame: &Frame,
        desk: &Desk,
        (derived, mats, rocks): (&Derived, &Mats, &RockDrawings),
    ) {
        let (study, corals) = (&derived.study, desk.shown_study());
        let units = desk.settings().units;
        let is_same = |kept: &Kept| {
            Arc::ptr_eq(&kept.study, study)
                && Arc::ptr_eq(&kept.corals, corals)
                && kept.units == units
                && kept.list.nibs_per_cm == frame.scale
        };
        let rocks = rocks.drawn();
        let changed = rocks.changed(frame.view);
        let kept = &mut self.kept[frame.view.idx()];
        if let Some(kept) = kept.as_mut().filter(|kept| is_same(kept)) {
            if kept.changed != changed {
                kept.changed = changed;
                kept.list.lay_rocks(study, rocks);
            }
            return;
        }
        let source = Source {
            study,
            corals,
            facts: &derived.facts,
            mats: mats.all(),
            rocks,
            units,
        };
        *kept = Some(Kept {
            study: Arc::clone(study),
            corals: Arc::clone(corals),
            units,
            changed,
            list: List::new(&source, frame.view, frame.scale),
        });
    }

    /// The list of a frame's view.
    pub(super) fn of(&self, frame: &Frame) -> Option<&List> {
        let kept = self.kept[frame.view.idx()].as_ref()?;
        Some(&kept.list)
    }
}

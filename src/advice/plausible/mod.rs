//! Mistakes of a scene, found in one pass from the study alone: what overlaps,
//! floats, sticks through a pane or in rock, pumps that draw air or are
//! blocked. The command, the report and the window all tell of this list.

mod corals;
mod gear;
mod rocks;

use glam::DVec3;

use crate::scene::ItemId;
use crate::scene::finding::{
    Certainty, Finding, Kind, Note, Place, Remedy, Severity, Spot, sort_worst_first,
};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Every mistake of a study, worst first. One item has one mistake at most of
/// each kind, and a coral one at all: what is outside the tank is not told to
/// be off its rock as well. Places lie within the tank.
pub fn mistakes(study: &Study) -> Vec<Finding> {
    let mut all = rocks::mistakes(study);
    all.extend(corals::mistakes(study));
    all.extend(gear::mistakes(study));
    for finding in &mut all {
        finding.place = finding.place.within(&study.scene().tank);
    }
    sort_worst_first(&mut all);
    all
}

/// Lamps whose measured file is not there or does not read, by their ids.
pub fn lamp_file_mistakes(study: &Study, lamps: &[ItemId]) -> Vec<Finding> {
    gear::missing_files(study, lamps)
}

/// A mistake of one item at a place, in m, with half the size of what is
/// meant.
fn mistake(note: Note, severity: Severity, items: &[ItemId], place_m: [DVec3; 2]) -> Finding {
    let spot = items.first().map_or(Spot::Tank, |id| Spot::Item(*id));
    let [at_m, half_m] = place_m;
    let place = Place::at(spot, at_m / M_PER_CM, half_m / M_PER_CM);
    let mut finding = Finding::new(Kind::Setup, severity, Certainty::Sure, place).note(note);
    finding.items = items.to_vec();
    finding.remedies = items.iter().take(1).map(|id| Remedy::Select(*id)).collect();
    finding
}

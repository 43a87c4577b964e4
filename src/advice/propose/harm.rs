//! What a report would find amiss with a proposed pump.

use glam::DVec3;

use crate::scene::finding::{Finding, Kind, Severity};
use crate::scene::{ItemId, Pump};
use crate::study::Study;
use crate::units::M_PER_CM;
use crate::{AdviceInput, findings};

/// Diameter of a pump's body over that of its outlet. COMMON PRACTICE: the
/// cage about the propeller is a quarter to a half wider.
const BODY_OVER_OUTLET: f64 = 1.4;

/// What is amiss in a layout that a pump can bring about, as a report finds it,
/// one by one.
pub fn pump_faults(input: &AdviceInput<'_>) -> Vec<Finding> {
    let is_of_pumps = |finding: &Finding| match finding.kind {
        Kind::Standing
        | Kind::Setup
        | Kind::PumpLevel
        | Kind::CoralFlow
        | Kind::CoralMount
        | Kind::MayFlip
        | Kind::SandMoves => true,
        Kind::LampLevel
        | Kind::CoralLight
        | Kind::CoralRoom
        | Kind::Growth
        | Kind::DeadSpot
        | Kind::Shade
        | Kind::Animal
        | Kind::Caution => false,
    };
    let mut all = Vec::new();
    for mut finding in findings(input) {
        all.append(&mut finding.under);
        all.push(finding);
    }
    all.retain(is_of_pumps);
    all
}

/// Those of `after` that were not there before, or were less grave; notes left
/// out.
pub fn new_faults(before: &[Finding], after: &[Finding]) -> Vec<Finding> {
    let is_known = |now: &&Finding| {
        before.iter().any(|then| {
            let same = then.kind == now.kind && then.items == now.items;
            same && then.severity >= now.severity
        })
    };
    let new = after.iter().filter(|now| !is_known(now));
    let told = new.filter(|finding| finding.severity >= Severity::Warning);
    told.cloned().collect()
}

/// Corals that a pump's body stands before, seen from the middle of a lamp. Its
/// body is taken to be a ball.
pub(super) fn shades(study: &Study, pump: &Pump) -> Vec<ItemId> {
    let (layout, at_m) = (study.layout(), pump.at_cm * M_PER_CM);
    let radius_m = BODY_OVER_OUTLET * pump.outlet_cm * M_PER_CM / 2.0;
    let stands_before = |coral_m: DVec3| {
        layout.lamps.iter().any(|lamp| {
            let away = lamp.at_cm * M_PER_CM - coral_m;
            let along = (at_m - coral_m).dot(away) / away.length_squared().max(1e-12);
            let nearest_m = coral_m + away * along.clamp(0.0, 1.0);
            nearest_m.distance(at_m) < radius_m
        })
    };
    let corals = layout.corals.iter();
    let shaded = corals.filter(|coral| stands_before(coral.at_cm * M_PER_CM));
    shaded.map(|coral| coral.id).collect()
}

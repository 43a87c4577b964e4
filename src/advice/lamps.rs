//! What is odd about the lamps, as findings.

use glam::DVec3;

use super::{Certainty, Finding, Kind, Remedy, Severity};
use crate::light::LampNote;
use crate::scene::finding::{Cause, Note, Place, Spot};
use crate::scene::{Body, Layout};

/// One finding for each of the solver's notes, in their order; the notes name
/// lamps by their index in `layout`.
pub fn lamp_findings(layout: &Layout, notes: &[(usize, LampNote)]) -> Vec<Finding> {
    let finding = |(lamp_idx, note): &(usize, LampNote)| {
        let lamp = layout.lamps.get(*lamp_idx)?;
        let (severity, says) = match note {
            LampNote::UnderWater => (Severity::Serious, Note::UnderWater),
            LampNote::BesideTank => (Severity::Warning, Note::BesideTank),
            LampNote::InRock => (Severity::Serious, Note::InRock),
            LampNote::ReadingDark => (Severity::Serious, Note::ReadingDark),
        };
        let size_cm = match lamp.body {
            Body::Panel { length_cm, .. } | Body::Tube { length_cm } => length_cm,
            Body::Disc { diameter_cm } => diameter_cm,
        };
        let half_cm = DVec3::splat(size_cm / 2.0);
        let place = Place::at(Spot::Item(lamp.id), lamp.at_cm, half_cm);
        let mut finding = Finding::new(Kind::Setup, severity, Certainty::Sure, place).note(says);
        finding.items = vec![lamp.id];
        finding.cause = Some(Cause::Lamps(vec![lamp.id]));
        finding.remedies = vec![Remedy::Select(lamp.id)];
        Some(finding)
    };
    notes.iter().filter_map(finding).collect()
}

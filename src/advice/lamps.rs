//! What is odd about the lamps, as findings.

use glam::DVec3;

use super::{Certainty, Finding, Kind, Remedy, Severity};
use crate::light::LampNote;
use crate::scene::{Body, Layout};
use crate::units::M_PER_CM;

/// One finding for each of the solver's notes, in their order; the notes name
/// lamps by their index in `layout`.
pub fn lamp_findings(layout: &Layout, notes: &[(usize, LampNote)]) -> Vec<Finding> {
    let finding = |(lamp_idx, note): &(usize, LampNote)| {
        let lamp = layout.lamps.get(*lamp_idx)?;
        let name = if lamp.name.is_empty() {
            format!("Lamp {}", lamp.id)
        } else {
            format!("The lamp {}", lamp.name)
        };
        let (severity, says) = match note {
            LampNote::UnderWater => (
                Severity::Serious,
                "reaches under water: that part of it is left out. Hang it higher",
            ),
            LampNote::BesideTank => (
                Severity::Warning,
                "hangs beside the tank's opening: little of its light gets in",
            ),
            LampNote::InRock => (Severity::Serious, "hangs in rock. Move one of them"),
            LampNote::ReadingDark => (
                Severity::Serious,
                "does not reach the place of the reading that fixes its output, so it counts as \
                 dark. Move the reading into its light",
            ),
        };
        let size_cm = match lamp.body {
            Body::Panel { length_cm, .. } | Body::Tube { length_cm } => length_cm,
            Body::Disc { diameter_cm } => diameter_cm,
        };
        Some(Finding {
            kind: Kind::Setup,
            severity,
            certainty: Certainty::Sure,
            text: format!("{name} {says}."),
            at_m: lamp.at_cm * M_PER_CM,
            half_size_m: DVec3::splat(size_cm * M_PER_CM / 2.0),
            item: Some(lamp.id),
            remedies: vec![Remedy::Select(lamp.id)],
        })
    };
    notes.iter().filter_map(finding).collect()
}

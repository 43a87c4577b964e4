//! Mistakes of a scene in words, each with its way out.

use crate::names::Speaker;
use crate::scene::finding::{Figure, Finding, Note};
use crate::units::Measure;

impl Speaker<'_> {
    /// What is wrong and the way out.
    pub(crate) fn mistake(&self, finding: &Finding) -> String {
        let units = self.units;
        let name = |idx: usize| {
            let id = finding.items.get(idx);
            id.map_or_else(String::new, |id| self.name(*id))
        };
        let (it, other) = (name(0), name(1));
        let value = |figure: Figure| finding.figure(figure).unwrap_or(0.0);
        let gap = Measure::Length.text(value(Figure::Gap), units);
        let wanted = Measure::Length.text(value(Figure::GapWanted), units);
        let note = finding.notes.first().copied();
        let text = match note {
            Some(Note::RocksOverlap) => format!(
                "{it} and {other} reach {gap} into each other: move one, or glue them if they are one."
            ),
            Some(Note::Floats) => {
                format!("Nothing is under {it}: lower it until it rests on something.")
            }
            Some(Note::ThroughPane) => {
                format!("{it} reaches {gap} through a pane: move it inward.")
            }
            Some(Note::OpeningTooLarge) => {
                format!("An opening of {it} is as large as its outline: make it smaller.")
            }
            Some(Note::RoundingTooLarge) => format!(
                "The edges of {it} are rounded by {gap}, more than half its width: {wanted} at most."
            ),
            Some(Note::OutsideWater) => {
                format!("{it} lies outside the water: move it into the tank.")
            }
            Some(Note::UnderSand) => format!("{it} lies under the sand: raise it."),
            Some(Note::InsideRock) => format!("{it} lies in rock: move it onto the surface."),
            Some(Note::OutOfWater) => format!("{it} stands {gap} out of the water: move it lower."),
            Some(Note::OffMount) => {
                format!("{it} hangs {gap} off what it sits on: move it onto the surface.")
            }
            Some(Note::InOnePlace) => {
                format!("{it} and {other} are in one place: move one of them.")
            }
            Some(Note::OutletOutOfWater) => {
                format!(
                    "The outlet of {it} is out of the water and draws air: move it into the water."
                )
            }
            Some(Note::OutletBlocked) => {
                format!("The outlet of {it} is blocked: turn it, or clear 3 cm before it.")
                    .replace("3 cm", &Measure::Length.text(3.0, units))
            }
            Some(Note::IntakeBlocked) => {
                format!("The intake of {it} is blocked: move it off the rock.")
            }
            Some(Note::IntakeUnguarded) => format!(
                "{it} has no guard and {other}, which may wander, is {gap} away: put a guard or sponge over the intake."
            ),
            Some(Note::AlternatesAlone) => format!(
                "{it} takes turns in a set of {:.0}, of which {:.0} are there: add the rest, or let it run steadily.",
                value(Figure::PumpsWanted),
                value(Figure::Pumps)
            ),
            Some(Note::DrivesWaveAlong | Note::DrivesWaveAcross) => sways(finding, &it),
            Some(Note::LampAbsurd) => format!(
                "The figures of {it} stand for about {:.0} µmol/s, which no such lamp gives: check reading, place and unit.",
                value(Figure::Photons)
            ),
            Some(Note::LampFileMissing) => format!(
                "The measured file of {it} is not there or does not read: put it beside the scene, or use an angle."
            ),
            _ => String::new(),
        };
        crate::capitalized(&text)
    }
}

/// A pump that drives a standing wave.
fn sways(finding: &Finding, it: &str) -> String {
    let value = |figure| finding.figure(figure).unwrap_or(0.0);
    let way = if finding.has(Note::DrivesWaveAlong) {
        "along the tank"
    } else {
        "from front to back"
    };
    format!(
        "{it} pulses every {:.1} s, near the {:.2} s in which the surface sways {way}: it may slop over the rim. Watch it, or choose another period.",
        value(Figure::Period),
        value(Figure::WavePeriod)
    )
}

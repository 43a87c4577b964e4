//! Corals that do not fit where they are, and what their growth will bring.

use std::collections::BTreeSet;

use glam::DVec3;

use crate::advice::fit::{Aspect, Fitter, Site, Strip, Verdict};
use crate::advice::growth::{Meeting, Pace, coral_name, cylinder, growth_events};
use crate::advice::room;
use crate::advice::standing::capitalized;
use crate::advice::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};
use crate::catalog::{ContactRule, Entry, Hazard, cautions};
use crate::scene::{Coral, ItemId};
use crate::units::M_PER_CM;

/// One finding for each aspect in which a coral does not fit its place, and
/// the cautions that some of them bring for people. Corals that the catalog
/// does not know are passed over.
pub fn coral_findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    let fitter = Fitter::new(input);
    let mut findings = Vec::new();
    let mut told = BTreeSet::new();
    for coral in &input.layout.corals {
        let Some(entry) = input.catalog.entry(&coral.entry) else {
            continue;
        };
        let site = Site::of_coral(input, coral);
        let fit = fitter.fit(entry, &site, None);
        // What is too close to each other is told of once.
        let tight = room::tightest(&fitter, entry, &site).map(|tight| tight.neighbor.coral.id);
        let is_new = tight.is_none_or(|id| told.insert((coral.id.min(id), coral.id.max(id))));
        let faults = fit.strips.iter().filter(|strip| {
            strip.verdict < Verdict::Good && (strip.what != Aspect::Room || is_new)
        });
        findings.extend(faults.map(|strip| fault_finding(coral, entry, strip)));
        findings.extend(caution_finding(coral, entry));
    }
    findings
}

fn fault_finding(coral: &Coral, entry: &Entry, strip: &Strip) -> Finding {
    let value = strip.value.unwrap_or(0.0);
    let kind = match strip.what {
        Aspect::Light => Kind::CoralLight { ppfd_umol: value },
        Aspect::Flow => Kind::CoralFlow {
            speed_m_s: value * M_PER_CM,
        },
        Aspect::Room => Kind::CoralRoom {
            gap_m: value * M_PER_CM,
        },
        Aspect::Mount | Aspect::Stability => Kind::CoralMount,
    };
    let severity = match strip.verdict {
        Verdict::Bad => Severity::Serious,
        Verdict::Poor => Severity::Warning,
        _ => Severity::Note,
    };
    let name = coral_name(coral, entry);
    let mut text = format!("{}: {}", capitalized(&name), strip.text);
    if !strip.remedy.is_empty() {
        text.push(' ');
        text.push_str(&strip.remedy);
    }
    Finding {
        kind,
        severity,
        certainty: strip.certainty,
        text,
        at_m: middle_m(coral),
        half_size_m: coral.size_cm * (M_PER_CM / 2.0),
        item: Some(coral.id),
        remedies: vec![Remedy::ShowBerths(coral.id), Remedy::Select(coral.id)],
    }
}

/// What to know before touching a coral that is dangerous to people.
fn caution_finding(coral: &Coral, entry: &Entry) -> Option<Finding> {
    let name = capitalized(&coral_name(coral, entry));
    let text = if entry.hazards.contains(&Hazard::Palytoxin) {
        let told: Vec<&str> = cautions()
            .iter()
            .filter(|caution| caution.id.starts_with('Z'))
            .map(|caution| caution.text.as_str())
            .collect();
        format!("{name}: {}", told.join(" "))
    } else if entry.hazards.contains(&Hazard::StingsPeople) {
        format!("{name}: it stings people. Wear gloves, and seek medical help for a bad reaction.")
    } else {
        return None;
    };
    Some(Finding {
        kind: Kind::Caution,
        severity: Severity::Note,
        certainty: Certainty::Sure,
        text,
        at_m: middle_m(coral),
        half_size_m: coral.size_cm * (M_PER_CM / 2.0),
        item: Some(coral.id),
        remedies: vec![Remedy::Select(coral.id)],
    })
}

/// What growth brings within the months looked at: a warning where the two
/// must not touch, a note otherwise.
pub fn growth_findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    let entry_of = |id: ItemId| {
        let coral = input.layout.corals.iter().find(|coral| coral.id == id)?;
        Some((coral, input.catalog.entry(&coral.entry)?))
    };
    growth_events(input.layout, input.catalog, input.options.months)
        .into_iter()
        .filter_map(|event| {
            let ((by, by_entry), (to, to_entry)) = (entry_of(event.by)?, entry_of(event.to)?);
            let rule = input.catalog.contact_rule(by_entry, to_entry);
            let harmless = event.what == Meeting::Touch && rule == ContactRule::Fine;
            let soon = event.months.usual.is_some();
            let severity = if harmless || !soon {
                Severity::Note
            } else {
                Severity::Warning
            };
            Some(Finding {
                kind: Kind::CoralRoom {
                    gap_m: cylinder(by, by_entry, 0.0, Pace::Usual).gap_m(&cylinder(
                        to,
                        to_entry,
                        0.0,
                        Pace::Usual,
                    )),
                },
                severity,
                certainty: Certainty::Check,
                text: format!("{} Growth rates vary widely.", event.text),
                at_m: event.at_m,
                half_size_m: (by.at_cm - to.at_cm).abs() * (M_PER_CM / 2.0) + DVec3::splat(0.02),
                item: Some(event.by),
                remedies: vec![Remedy::Select(event.by), Remedy::ShowBerths(event.to)],
            })
        })
        .collect()
}

fn middle_m(coral: &Coral) -> DVec3 {
    (coral.at_cm + coral.facing.normalize_or(DVec3::Z) * (coral.size_cm.z / 2.0)) * M_PER_CM
}

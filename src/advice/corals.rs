//! Corals that do not fit where they are, and what their growth will bring.

use std::collections::BTreeSet;

use glam::DVec3;

use crate::ahead::later_events;
use crate::catalog::{ContactRule, Entry, Hazard, cautions};
use crate::fit::{Aspect, Fitter, Site, Strip, Verdict};
use crate::growth::{GrowthEvent, Meeting, Pace, coral_name, cylinder};
use crate::room;
use crate::scene::{Coral, ItemId};
use crate::standing::capitalized;
use crate::units::M_PER_CM;
use crate::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};

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

/// What growth at the usual pace brings within the months looked at: a warning
/// where it hurts one of the two, a note otherwise. Of contact and sting
/// between the same two only the first is told.
pub fn growth_findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    let mut told = BTreeSet::new();
    let mut is_first = |event: &GrowthEvent| {
        let is_contact = matches!(
            event.what,
            Meeting::Touch | Meeting::Overgrow | Meeting::Sting | Meeting::Spread
        );
        let pair = (event.by.min(event.to), event.by.max(event.to));
        !is_contact || told.insert(pair)
    };
    later_events(input, input.options.months)
        .into_iter()
        .filter(|event| event.months.usual.is_some())
        .filter(|event| is_first(event))
        .filter_map(|event| growth_finding(input, &event))
        .collect()
}

fn growth_finding(input: &AdviceInput<'_>, event: &GrowthEvent) -> Option<Finding> {
    let entry_of = |id: ItemId| {
        let coral = input.layout.corals.iter().find(|coral| coral.id == id)?;
        Some((coral, input.catalog.entry(&coral.entry)?))
    };
    let (by, by_entry) = entry_of(event.by)?;
    let own = cylinder(by, by_entry, 0.0, Pace::Usual);
    let (gap_m, half_size_m, is_fine) = match entry_of(event.to) {
        Some((to, entry)) => (
            own.gap_m(&cylinder(to, entry, 0.0, Pace::Usual)),
            (by.at_cm - to.at_cm).abs() * (M_PER_CM / 2.0),
            input.catalog.contact_rule(by_entry, entry) == ContactRule::Fine,
        ),
        None => (by_entry.gap_cm.value * M_PER_CM, DVec3::ZERO, false),
    };
    let harmless = match event.what {
        Meeting::Touch => is_fine,
        Meeting::Block => true,
        _ => false,
    };
    Some(Finding {
        kind: Kind::CoralRoom { gap_m },
        severity: if harmless {
            Severity::Note
        } else {
            Severity::Warning
        },
        certainty: Certainty::Check,
        text: format!("{} Growth rates vary widely.", event.text),
        at_m: event.at_m,
        half_size_m: half_size_m + DVec3::splat(0.02),
        item: Some(event.by),
        remedies: vec![Remedy::Select(event.by), Remedy::ShowBerths(event.by)],
    })
}

fn middle_m(coral: &Coral) -> DVec3 {
    (coral.at_cm + coral.facing.normalize_or(DVec3::Z) * (coral.size_cm.z / 2.0)) * M_PER_CM
}

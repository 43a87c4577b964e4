//! Corals that do not fit where they are, and what their growth will bring.

use std::collections::BTreeSet;

use glam::DVec3;

use crate::ahead::later_events;
use crate::catalog::{ContactRule, Entry, Hazard};
use crate::fit::{Aspect, Fitter, Site, Strip, Verdict};
use crate::growth::{GrowthEvent, Meeting};
use crate::room;
use crate::scene::finding::{Cause, Figure, Note, Place, Quantity, Spot};
use crate::scene::{Coral, ItemId};
use crate::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};

/// One finding for each aspect in which a coral does not fit its place, and
/// the cautions that some of them bring for people. Corals that the catalog
/// does not know are passed over.
pub fn coral_findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    let fitter = Fitter::new(input);
    let mut findings = Vec::new();
    let mut told = BTreeSet::new();
    // In order of their ids, so that the order of the list is none.
    let mut corals: Vec<&Coral> = input.layout.corals.iter().collect();
    corals.sort_by_key(|coral| coral.id);
    for coral in corals {
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
        findings.extend(faults.map(|strip| fault_finding(coral, strip)));
        findings.extend(caution_finding(coral, entry));
    }
    findings
}

fn fault_finding(coral: &Coral, strip: &Strip) -> Finding {
    let kind = match strip.what {
        Aspect::Light => Kind::CoralLight,
        Aspect::Flow => Kind::CoralFlow,
        Aspect::Room => Kind::CoralRoom,
        Aspect::Mount | Aspect::Stability => Kind::CoralMount,
    };
    let severity = match strip.verdict {
        Verdict::Bad => Severity::Serious,
        Verdict::Poor => Severity::Warning,
        _ => Severity::Note,
    };
    let mut finding = Finding::new(kind, severity, strip.certainty, coral_place(coral));
    finding.items = vec![coral.id];
    finding.items.extend(strip.neighbor);
    finding.cause = strip.neighbor.map(Cause::Coral);
    finding.quantities = strip.quantities();
    finding.notes.clone_from(&strip.notes);
    finding.remedies = vec![Remedy::ShowBerths(coral.id), Remedy::Select(coral.id)];
    finding
}

/// What to know before touching a coral that is dangerous to people.
fn caution_finding(coral: &Coral, entry: &Entry) -> Option<Finding> {
    let note = if entry.hazards.contains(&Hazard::Palytoxin) {
        Note::Palytoxin
    } else if entry.hazards.contains(&Hazard::StingsPeople) {
        Note::StingsPeople
    } else {
        return None;
    };
    let place = coral_place(coral);
    let mut finding =
        Finding::new(Kind::Caution, Severity::Note, Certainty::Sure, place).note(note);
    finding.items = vec![coral.id];
    finding.remedies = vec![Remedy::Select(coral.id)];
    Some(finding)
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
    let is_fine = entry_of(event.to)
        .is_some_and(|(_, entry)| input.catalog.contact_rule(by_entry, entry) == ContactRule::Fine);
    let harmless = match event.what {
        Meeting::Touch => is_fine,
        Meeting::Block => true,
        _ => false,
    };
    let severity = if harmless {
        Severity::Note
    } else {
        Severity::Warning
    };
    let months = Quantity::within(
        Figure::Months,
        event.months.usual?,
        event.months.early,
        event.months.late.unwrap_or(f64::INFINITY),
    );
    let note = match event.what {
        Meeting::Touch => Note::Touch,
        Meeting::Overgrow => Note::Overgrow,
        Meeting::Shade => Note::Shades,
        Meeting::Sting => Note::Sting,
        Meeting::Spread => Note::Spread,
        Meeting::Block => Note::Block,
    };
    let mut finding =
        Finding::new(Kind::Growth, severity, Certainty::Check, coral_place(by)).note(note);
    finding.quantities.push(months);
    finding.items = vec![event.by, event.to];
    finding.cause = Some(Cause::Coral(event.by));
    finding.remedies = vec![Remedy::Select(event.by), Remedy::ShowBerths(event.by)];
    Some(finding)
}

/// Where a coral stands, with the box of its body.
fn coral_place(coral: &Coral) -> Place {
    let up = coral.facing.normalize_or(DVec3::Z);
    let middle_cm = coral.at_cm + up * (coral.size_cm.z / 2.0);
    Place::at(Spot::Item(coral.id), middle_cm, coral.size_cm / 2.0)
}

//! A place and who stands in it are told of once: a coral's own "too little
//! flow" in dead water, and its own "too little light" in a shaded zone, are
//! symptoms of that place and hang under its finding.

use crate::scene::finding::Note;
use crate::{Finding, Kind, Remedy};

/// Puts each such symptom under the gravest place that names its coral. The
/// place becomes as grave as what hangs under it, and offers a better berth
/// for the first of its corals.
pub(crate) fn gather(findings: &mut Vec<Finding>) {
    let (symptoms, mut rest): (Vec<_>, Vec<_>) = findings.drain(..).partition(is_symptom);
    for symptom in symptoms {
        let places = rest.iter_mut().filter(|place| holds(place, &symptom));
        // Of equals the first, which is the largest.
        let gravest = places.reduce(|a, b| if b.severity > a.severity { b } else { a });
        match gravest {
            Some(place) => put_under(place, symptom),
            None => rest.push(symptom),
        }
    }
    *findings = rest;
}

fn put_under(place: &mut Finding, symptom: Finding) {
    place.severity = place.severity.max(symptom.severity);
    let has_berths = place
        .remedies
        .iter()
        .any(|remedy| matches!(remedy, Remedy::ShowBerths(_)));
    if let Some(id) = symptom.item().filter(|_| !has_berths) {
        place.remedies.push(Remedy::ShowBerths(id));
    }
    place.under.push(symptom);
}

fn is_symptom(finding: &Finding) -> bool {
    matches!(finding.kind, Kind::CoralFlow | Kind::CoralLight) && finding.has(Note::TooLittle)
}

fn holds(place: &Finding, symptom: &Finding) -> bool {
    let is_of_kind = matches!(
        (place.kind, symptom.kind),
        (Kind::DeadSpot, Kind::CoralFlow) | (Kind::Shade, Kind::CoralLight)
    );
    is_of_kind && symptom.item().is_some_and(|id| place.items.contains(&id))
}

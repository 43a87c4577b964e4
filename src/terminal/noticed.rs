//! Findings as JSON: stable tags and numbers, with one text for the reader.

use glam::DVec3;
use serde::Serialize;

use crate::scene::ItemId;
use crate::scene::finding::{Cause, Finding, Gain, Part, Place, Quantity, Remedy, Spot};
use crate::words::Speaker;

/// One finding of an answer.
#[derive(Debug, Serialize)]
pub(super) struct FindingPart {
    pub(super) kind: &'static str,
    pub(super) severity: &'static str,
    pub(super) certainty: &'static str,
    pub(super) text: String,
    pub(super) place: PlacePart,
    pub(super) items: Vec<ItemId>,
    pub(super) cause: Option<CausePart>,
    pub(super) quantities: Vec<QuantityPart>,
    pub(super) notes: Vec<&'static str>,
    pub(super) remedy: Option<RemedyPart>,
    pub(super) gain: Option<GainPart>,
    /// A point in it; as `place.at_cm`.
    pub(super) at_cm: [f64; 3],
    pub(super) half_size_cm: [f64; 3],
    /// The first of the items.
    pub(super) item: Option<ItemId>,
    pub(super) figures: std::collections::BTreeMap<String, f64>,
    /// What can be done, in words, best first.
    pub(super) remedies: Vec<String>,
    /// What follows from it and is not told of by itself.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(super) symptoms: Vec<Self>,
}

#[derive(Debug, Serialize)]
pub(super) struct PlacePart {
    /// `rock`, `ledge`, `sand`, `pane`, `water`, `item` or `tank`.
    pub(super) what: &'static str,
    /// The place in words.
    pub(super) text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) rock: Option<ItemId>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) other_rock: Option<ItemId>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) item: Option<ItemId>,
    /// Side of the rock, the pane, or how it lies to the rock.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) side: Option<&'static str>,
    /// Which ledge of the rock, counted from below; 0 where there is but one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) ledge: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) part: Option<PartPart>,
    pub(super) at_cm: [f64; 3],
    pub(super) low_cm: [f64; 3],
    pub(super) high_cm: [f64; 3],
}

/// A part of the tank.
#[derive(Debug, Serialize)]
pub(super) struct PartPart {
    along: &'static str,
    across: &'static str,
    level: &'static str,
}

#[derive(Debug, Serialize)]
pub(super) struct QuantityPart {
    name: &'static str,
    value: f64,
    unit: &'static str,
    /// Ends of the 80 % interval; an end that is not known is null.
    interval: Option<[Option<f64>; 2]>,
}

#[derive(Debug, Serialize)]
pub(super) struct CausePart {
    /// `pump`, `lamp`, `rock`, `coral` or `animal`.
    what: &'static str,
    items: Vec<ItemId>,
}

/// What can be done, as the program would do it.
#[derive(Debug, Default, Serialize)]
pub(super) struct RemedyPart {
    #[serde(rename = "do")]
    what: &'static str,
    text: String,
    items: Vec<ItemId>,
    #[serde(skip_serializing_if = "Option::is_none")]
    factor: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    throttle: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    turn_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tilt_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    by_cm: Option<[f64; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mount: Option<&'static str>,
}

#[derive(Debug, Serialize)]
pub(super) struct GainPart {
    name: &'static str,
    before: f64,
    after: f64,
    of: Option<f64>,
}

/// A finding as an answer holds it.
pub(super) fn finding_part(finding: &Finding, speaker: &Speaker<'_>) -> FindingPart {
    let figure = |quantity: &Quantity| {
        let measure = quantity.figure.measure();
        let suffix = measure.suffix();
        let name = match suffix {
            "" => quantity.figure.tag().to_owned(),
            suffix => format!("{}_{suffix}", quantity.figure.tag()),
        };
        (name, quantity.value)
    };
    let half_cm = (finding.place.high_cm - finding.place.low_cm) / 2.0;
    FindingPart {
        kind: finding.kind.tag(),
        severity: finding.severity.tag(),
        certainty: finding.certainty.tag(),
        text: speaker.finding(finding),
        place: place_part(&finding.place, speaker),
        items: finding.items.clone(),
        cause: finding.cause.as_ref().map(cause_part),
        quantities: finding.quantities.iter().map(quantity_part).collect(),
        notes: finding.notes.iter().map(|note| note.tag()).collect(),
        remedy: finding
            .remedies
            .first()
            .map(|remedy| remedy_part(remedy, speaker)),
        gain: finding.gain.as_ref().map(gain_part),
        at_cm: rounded(finding.place.at_cm),
        half_size_cm: rounded(half_cm),
        item: finding.item(),
        figures: finding.quantities.iter().map(figure).collect(),
        remedies: finding
            .remedies
            .iter()
            .map(|remedy| speaker.remedy(remedy))
            .collect(),
        symptoms: finding
            .under
            .iter()
            .map(|symptom| finding_part(symptom, speaker))
            .collect(),
    }
}

fn quantity_part(quantity: &Quantity) -> QuantityPart {
    let known = |end: f64| end.is_finite().then_some(end);
    QuantityPart {
        name: quantity.figure.tag(),
        value: quantity.value,
        unit: quantity.unit(),
        interval: quantity.interval.map(|ends| ends.map(known)),
    }
}

fn cause_part(cause: &Cause) -> CausePart {
    CausePart {
        what: cause.tag(),
        items: cause.items(),
    }
}

fn gain_part(gain: &Gain) -> GainPart {
    GainPart {
        name: gain.figure.tag(),
        before: gain.before,
        after: gain.after,
        of: gain.of,
    }
}

fn remedy_part(remedy: &Remedy, speaker: &Speaker<'_>) -> RemedyPart {
    let mut part = RemedyPart {
        what: remedy.tag(),
        text: speaker.remedy(remedy),
        items: remedy.item().into_iter().collect(),
        ..RemedyPart::default()
    };
    match remedy {
        Remedy::Dim { lamps, factor } => {
            part.items.clone_from(lamps);
            part.factor = Some(*factor);
        }
        Remedy::Throttle { throttle, .. } => part.throttle = Some(*throttle),
        Remedy::Aim {
            turn_deg, tilt_deg, ..
        } => {
            part.turn_deg = Some(*turn_deg);
            part.tilt_deg = Some(*tilt_deg);
        }
        Remedy::Move { by_cm, .. } => part.by_cm = Some(rounded(*by_cm)),
        Remedy::Remount { mount, .. } => part.mount = Some(mount.tag()),
        Remedy::ProposePump
        | Remedy::AddPump(_)
        | Remedy::Remove(_)
        | Remedy::ShowBerths(_)
        | Remedy::ListCandidates
        | Remedy::Select(_) => {}
    }
    part
}

/// A place as an answer holds it.
pub(super) fn place_part(place: &Place, speaker: &Speaker<'_>) -> PlacePart {
    let mut part = PlacePart {
        what: place.spot.tag(),
        text: speaker.place(place),
        rock: None,
        other_rock: None,
        item: None,
        side: None,
        ledge: None,
        part: None,
        at_cm: rounded(place.at_cm),
        low_cm: rounded(place.low_cm),
        high_cm: rounded(place.high_cm),
    };
    match place.spot {
        Spot::Rock { rock, side } => {
            part.rock = Some(rock);
            part.side = Some(side.tag());
        }
        Spot::Ledge { rock, number } => {
            part.rock = Some(rock);
            part.ledge = Some(number);
        }
        Spot::Sand { near, part: of } => {
            part.rock = near.map(|(_, rock)| rock);
            part.side = near.map(|(bearing, _)| bearing.tag());
            part.part = Some(part_part(of));
        }
        Spot::Water {
            near,
            other,
            part: of,
            ..
        } => {
            part.rock = near.map(|(_, rock)| rock);
            part.other_rock = other;
            part.side = near.map(|(bearing, _)| bearing.tag());
            part.part = Some(part_part(of));
        }
        Spot::Pane(side) => part.side = Some(side.tag()),
        Spot::Item(id) => part.item = Some(id),
        Spot::Tank => {}
    }
    part
}

fn part_part(part: Part) -> PartPart {
    PartPart {
        along: part.along.tag(),
        across: part.across.tag(),
        level: part.level.tag(),
    }
}

/// A place in cm, to a hundredth.
pub(super) fn rounded(at_cm: DVec3) -> [f64; 3] {
    ((at_cm * 100.0).round() / 100.0).to_array()
}

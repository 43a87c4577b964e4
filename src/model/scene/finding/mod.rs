//! One thing that was noticed, as data: what, where, how bad, how sure, from
//! which cause, and what can be done. No sentence is made or read here; only
//! `words` turns a finding into words, in the keeper's units.

mod kind;
mod note;
mod place;
mod quantity;
mod remedy;

pub use kind::{Certainty, Kind, Severity};
pub use note::Note;
pub use place::{Across, Along, Bearing, Level, Part, Place, Side, Spot};
pub use quantity::{Figure, Quantity};
pub use remedy::{Cause, Gain, Remedy};

use super::ItemId;

/// One thing the program noticed.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// What it is about.
    pub kind: Kind,
    /// How bad it is.
    pub severity: Severity,
    /// How sure the estimate is of it.
    pub certainty: Certainty,
    /// Where it is, with a box and a point that lies in it.
    pub place: Place,
    /// The items that it is about, the first one first.
    pub items: Vec<ItemId>,
    /// What brings it about, if that is known.
    pub cause: Option<Cause>,
    /// The values that matter, with their intervals.
    pub quantities: Vec<Quantity>,
    /// What else is true of it, each of which gets a sentence or a clause.
    pub notes: Vec<Note>,
    /// What can be done, best first.
    pub remedies: Vec<Remedy>,
    /// What the first remedy gains, if that is known.
    pub gain: Option<Gain>,
    /// What follows from it and is not told of by itself.
    pub under: Vec<Self>,
}

impl Finding {
    /// A finding without items, values and remedies.
    pub fn new(kind: Kind, severity: Severity, certainty: Certainty, place: Place) -> Self {
        Self {
            kind,
            severity,
            certainty,
            place,
            items: Vec::new(),
            cause: None,
            quantities: Vec::new(),
            notes: Vec::new(),
            remedies: Vec::new(),
            gain: None,
            under: Vec::new(),
        }
    }

    /// The same with a value.
    #[must_use]
    pub fn with(mut self, figure: Figure, value: f64) -> Self {
        self.quantities.push(Quantity::new(figure, value));
        self
    }

    /// The same with a note.
    #[must_use]
    pub fn note(mut self, note: Note) -> Self {
        self.notes.push(note);
        self
    }

    /// The value of a figure, in its stored unit, if the finding has it.
    pub fn figure(&self, figure: Figure) -> Option<f64> {
        let found = self.quantities.iter().find(|q| q.figure == figure)?;
        Some(found.value)
    }

    /// Whether a note is among its notes.
    pub fn has(&self, note: Note) -> bool {
        self.notes.contains(&note)
    }

    /// The item that it is about, if there is one.
    pub fn item(&self) -> Option<ItemId> {
        self.items.first().copied()
    }
}

/// Puts the worst first; among equals the surer, then the larger. The order
/// does not depend on the one before: equals are put in order of their kind,
/// place and items.
pub fn sort_worst_first(findings: &mut [Finding]) {
    let at = |a: &Finding, b: &Finding| {
        let (a, b) = (a.place.at_cm, b.place.at_cm);
        let x = a.x.total_cmp(&b.x);
        x.then(a.y.total_cmp(&b.y)).then(a.z.total_cmp(&b.z))
    };
    findings.sort_by(|a, b| {
        b.severity
            .cmp(&a.severity)
            .then(b.certainty.cmp(&a.certainty))
            .then(b.place.volume_l().total_cmp(&a.place.volume_l()))
            .then(a.kind.cmp(&b.kind))
            .then_with(|| at(a, b))
            .then_with(|| a.items.cmp(&b.items))
    });
}

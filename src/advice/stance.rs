//! Whether a rock may be left standing as it is: safe, to be watched, or not to
//! be built so; with the reason.

use crate::scene::Behavior;
use crate::scene::finding::Note;
use crate::standing::{Standing, standing};
use crate::study::Study;
use crate::units::GRAVITY_M_S2;

/// How a rock stands; what must not be comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stance {
    /// It is not to be built so.
    DoNot,
    /// It stands, with little to spare.
    Watch,
    /// Nothing speaks against it. A rough estimate: it proves nothing safe.
    Safe,
}

impl Stance {
    /// A short stable name, for tables and scripts.
    pub fn tag(self) -> &'static str {
        match self {
            Self::DoNot => "do_not",
            Self::Watch => "watch",
            Self::Safe => "safe",
        }
    }

    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Self::DoNot => "do not",
            Self::Watch => "watch",
            Self::Safe => "safe",
        }
    }
}

/// Share of the support's width that the center lies inside it, at least.
///
/// **Source** COMMON PRACTICE: a fifth.
const INSIDE_SHARE: f64 = 0.2;

/// How a body stands and why, the worst reason first.
///
/// **Source** COMMON PRACTICE: center a fifth of the base inside the support;
/// at most a third of a loose piece, half of a bonded one, past it; no rock tip
/// on bare glass; foundations on the pane, never on sand, least of all where
/// something digs.
pub fn stance(body: &Standing, digs: bool) -> (Stance, Option<Note>) {
    const TIP_N: f64 = 20.0;
    const TIP_M2: f64 = 2e-4;
    let weight_n = (body.wet_kg + body.carried_kg) * GRAVITY_M_S2;
    let most = if body.rocks.len() > 1 { 0.5 } else { 1.0 / 3.0 };
    let on_sand = body.dug_margin_m < 0.0;
    if body.contacts.is_empty() {
        (Stance::DoNot, Some(Note::NothingUnder))
    } else if body.margin_m < 0.0 {
        (Stance::DoNot, Some(Note::TipsOver))
    } else if on_sand && digs {
        (Stance::DoNot, Some(Note::StandsOnSand))
    } else if body.margin_m < INSIDE_SHARE * body.support_width_m() {
        (Stance::Watch, Some(Note::StandsOnLittle))
    } else if body.overhang_share > most {
        (Stance::Watch, Some(Note::Overhangs))
    } else if body.pane_m2 > 0.0 && body.pane_m2 < TIP_M2 && weight_n > TIP_N {
        (Stance::Watch, Some(Note::PointOnGlass))
    } else if on_sand {
        (Stance::Watch, Some(Note::StandsOnSand))
    } else {
        (Stance::Safe, None)
    }
}

/// Whether an animal of the scene digs.
pub(crate) fn something_digs(study: &Study) -> bool {
    let digs = |does: &Behavior| matches!(does, Behavior::Digs);
    study
        .scene()
        .animals
        .iter()
        .any(|animal| animal.does.iter().any(digs))
}

/// How all rocks stand, what must not be first, then what has least to spare.
pub fn stances(study: &Study) -> Vec<(Standing, Stance, Option<Note>)> {
    let digs = something_digs(study);
    let mut all: Vec<_> = standing(study)
        .into_iter()
        .map(|body| {
            let (how, why) = stance(&body, digs);
            (body, how, why)
        })
        .collect();
    all.sort_by(|a, b| a.1.cmp(&b.1).then(a.0.margin_m.total_cmp(&b.0.margin_m)));
    all
}

/// Why, in a few words.
pub fn stance_reason(why: Option<Note>) -> &'static str {
    match why {
        Some(Note::NothingUnder) => "nothing is under it",
        Some(Note::TipsOver) => "its center lies outside its support",
        Some(Note::StandsOnLittle) => "its center lies near the edge of its support",
        Some(Note::Overhangs) => "much of it hangs past its support",
        Some(Note::PointOnGlass) => "it rests on a point of bare glass",
        Some(Note::StandsOnSand) => "it falls once the sand under it is dug away",
        _ => "",
    }
}

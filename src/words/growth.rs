//! What growth brings, and what a change of light asks, in words.

use crate::advice::{Acclimation, GrowthEvent, Meeting, Months};
use crate::agreeing;
use crate::names::Speaker;
use crate::scene::finding::Note;

impl Speaker<'_> {
    /// What is said of a meeting of two that grow.
    pub fn meeting(&self, event: &GrowthEvent) -> String {
        self.meets(event.what, (event.by, event.to), &months(&event.months))
    }

    pub(crate) fn meets(&self, what: Meeting, (by, to): (u32, u32), when: &str) -> String {
        let one = crate::capitalized(&self.name_with_genus(by));
        let two = self.name_with_genus(to);
        // Verbs go with the trade's word, not with the genus beside it.
        let (of_one, of_two) = (self.name(by), self.name(to));
        match what {
            Meeting::Touch => format!("{one} and {two} touch in {when}."),
            Meeting::Overgrow => {
                let reaches = agreeing(&of_one, ["reaches", "reach"]);
                let it = agreeing(&of_two, ["it", "them"]);
                format!("{one} {reaches} {two} in {when} and may overgrow {it}.")
            }
            Meeting::Shade => {
                let shades = agreeing(&of_one, ["shades", "shade"]);
                format!("{one} {shades} {two} from {when}.")
            }
            Meeting::Sting => format!("{one} can sting {two} from {when}."),
            Meeting::Spread => {
                let has = agreeing(&of_one, ["has less than its", "have less than their"]);
                format!("{one} {has} moat to {two} left from {when}.")
            }
            Meeting::Block => {
                let stands = agreeing(&of_one, ["stands", "stand"]);
                format!("{one} {stands} in the flow to {two} from {when}.")
            }
        }
    }

    /// What a change of light asks of a coral.
    pub fn acclimation(&self, plan: &Acclimation) -> String {
        let entry = self.catalog.entry(&plan.entry);
        let name = entry.map_or(plan.entry.as_str(), |entry| &entry.plain_name);
        let [before, after] = plan.ppfd_umol;
        let goes = agreeing(name, ["goes", "go"]);
        let change = format!("The {name} {goes} from {before:.0} to {after:.0} µmol/m²/s");
        if plan.weeks == 0 {
            return format!(
                "{change} and may stretch or turn brown in that shade (common practice)."
            );
        }
        format!(
            "{change} and may bleach: start at {:.0} % of the new light and raise it by {:.0} % \
             a week, {} weeks in all (common practice).",
            plan.start_share * 100.0,
            plan.weekly_rise * 100.0,
            plan.weeks
        )
    }
}

/// When, as in "month 14 (9 to 22)".
pub fn months(months: &Months) -> String {
    let early = months.early.ceil();
    match (months.usual, months.late) {
        (Some(usual), Some(late)) => {
            format!(
                "month {:.0} ({early:.0} to {:.0})",
                usual.ceil(),
                late.ceil()
            )
        }
        (Some(usual), None) => format!("month {:.0} ({early:.0} or later)", usual.ceil()),
        _ => format!("month {early:.0} at the earliest"),
    }
}

/// The meeting that a note stands for.
pub(crate) fn meeting_of(note: Note) -> Option<Meeting> {
    Some(match note {
        Note::Touch => Meeting::Touch,
        Note::Overgrow => Meeting::Overgrow,
        Note::Shades => Meeting::Shade,
        Note::Sting => Meeting::Sting,
        Note::Spread => Meeting::Spread,
        Note::Block => Meeting::Block,
        _ => return None,
    })
}

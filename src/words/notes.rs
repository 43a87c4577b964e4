//! A clause or sentence for each fact without a number.

use crate::scene::finding::Note;

/// The sentence that a note adds to a finding; empty for notes that the
/// finding's own sentence is built on.
pub(crate) fn sentence(note: Note) -> &'static str {
    match note {
        Note::RunsDiffer => "Here the flow may flip.",
        Note::NotSettled => "The estimate has not settled yet.",
        Note::DirectLightOnly => "Direct light only, without bounces.",
        Note::WithinDoubt => "That is less than the estimate is sure of.",
        _ => "",
    }
}

/// What to do about a fault of a coral's seat.
pub(crate) fn seat_remedy(note: Note) -> &'static str {
    match note {
        Note::FleshyOnRock | Note::BelongsOnSand => "Set it on open sand.",
        Note::FleshyRubs => "Choose a smooth seat, upright.",
        Note::BelongsOnRock => "Mount it on rock.",
        Note::RimBuried => "Raise it until its rim is clear of the sand.",
        Note::NothingHoldsIt => "Use putty and tie it until it has set.",
        Note::NeverGlued => "Lay it down or let it take hold by itself.",
        Note::TooSteep | Note::HangsFromNothing => "Choose a more level seat, or another mount.",
        Note::DoesNotHang => "Choose an upright seat.",
        Note::NoSandThere => "Use gel or putty on rock.",
        Note::NoHoldInSand => "Set it into the sand, or on a flat stone.",
        Note::TooHeavy => "Use putty with a seat for it, or gel, putty and gel.",
        Note::UnusualMount => "See its usual mounts.",
        Note::MayTopple | Note::BarelyStands => "Fasten it, or move it in from the edge.",
        _ => "",
    }
}

//! What a change of light asks of a coral: a plan in weekly steps.

use crate::catalog::Entry;

/// How to bring a coral from one light to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Acclimation {
    /// Light after over light before.
    pub ratio: f64,
    /// Share of the new light to start with, 0 to 1.
    pub start_share: f64,
    /// Rise of that share each week.
    pub weekly_rise: f64,
    /// Weeks until full.
    pub weeks: u32,
    /// One or two sentences.
    pub text: String,
}

/// The plan for a move of `entry` from one PPFD to another (µmol/m²/s), if it
/// needs one: up by more than a fifth in weekly steps, or a warning that it
/// will stretch where it gets much darker.
///
/// **Source** COMMON PRACTICE: start at 30 to 50 %, raise 5 to 10 % of the full
/// light a week over four to eight weeks.
pub fn acclimation(entry: &Entry, before_umol: f64, after_umol: f64) -> Option<Acclimation> {
    const WEEKLY_RISE: f64 = 0.1;
    const START_LEAST: f64 = 0.4;
    let ratio = after_umol / before_umol.max(1.0);
    let name = &entry.plain_name;
    if ratio > 1.2 {
        let start_share = (1.0 / ratio).clamp(START_LEAST, 1.0);
        let weeks = ((1.0 - start_share) / WEEKLY_RISE).ceil() as u32;
        let text = format!(
            "The {name} goes from {before_umol:.0} to {after_umol:.0} µmol/m²/s and may bleach: start \
             at {:.0} % of the new light and raise it by 10 % a week, {weeks} weeks in all (common practice).",
            start_share * 100.0
        );
        return Some(Acclimation {
            ratio,
            start_share,
            weekly_rise: WEEKLY_RISE,
            weeks,
            text,
        });
    }
    let darker = ratio < 0.6 && after_umol < entry.light_ppfd_umol.optimum;
    (darker && entry.shade_tolerance <= 2).then(|| Acclimation {
        ratio,
        start_share: 1.0,
        weekly_rise: 0.0,
        weeks: 0,
        text: format!(
            "The {name} goes from {before_umol:.0} to {after_umol:.0} µmol/m²/s and may stretch or turn \
             brown in that shade (common practice)."
        ),
    })
}

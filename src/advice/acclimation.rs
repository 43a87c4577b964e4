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
    /// Catalog entry of the coral.
    pub entry: String,
    /// Light before and after, in µmol/m²/s.
    pub ppfd_umol: [f64; 2],
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
    let plan = |start_share: f64, weekly_rise: f64, weeks: u32| Acclimation {
        ratio,
        start_share,
        weekly_rise,
        weeks,
        entry: entry.id.clone(),
        ppfd_umol: [before_umol, after_umol],
    };
    if ratio > 1.2 {
        let start_share = (1.0 / ratio).clamp(START_LEAST, 1.0);
        let weeks = ((1.0 - start_share) / WEEKLY_RISE).ceil() as u32;
        return Some(plan(start_share, WEEKLY_RISE, weeks));
    }
    let darker = ratio < 0.6 && after_umol < entry.light_ppfd_umol.optimum;
    (darker && entry.shade_tolerance <= 2).then(|| plan(1.0, 0.0, 0))
}

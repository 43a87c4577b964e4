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

/// One week of getting used to new light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeekStep {
    /// Weeks since the change, from 0.
    pub week: u32,
    /// Share of the new light, 0 to 1.
    pub share: f64,
    /// Light at that, in µmol/m²/s.
    pub ppfd_umol: f64,
}

impl Acclimation {
    /// The plan week by week, the last step at full light.
    pub fn steps(&self) -> Vec<WeekStep> {
        let step = |week: u32| {
            let share = (self.start_share + self.weekly_rise * f64::from(week)).min(1.0);
            let share = if week == self.weeks { 1.0 } else { share };
            WeekStep {
                week,
                share,
                ppfd_umol: share * self.ppfd_umol[1],
            }
        };
        (0..=self.weeks).map(step).collect()
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_rise_by_a_tenth_a_week_from_the_old_light_to_the_new() {
        let catalog = crate::Catalog::built_in();
        let entry = catalog.entry("caulastraea").unwrap();
        let plan = acclimation(entry, 100.0, 200.0).unwrap();
        let steps = plan.steps();
        // From a half to the whole by tenths: five weeks.
        assert_eq!(steps.len(), 6, "{steps:?}");
        assert!((steps[0].ppfd_umol - 100.0).abs() < 1e-9, "as before");
        assert_eq!(steps[5].share, 1.0, "the whole light");
        for pair in steps.windows(2) {
            let rise = pair[1].share - pair[0].share;
            assert!((0.0..0.1 + 1e-9).contains(&rise), "{rise} in a week");
        }
    }
}

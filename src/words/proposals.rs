//! Where one more pump helps, and what differs between two layouts, in words.

use crate::advice::{CoralFate, CoralFlow, FateCause, Proposal, Verdict};
use crate::catalog::Entry;
use crate::names::Speaker;
use crate::scene::ItemId;
use crate::units::Measure;

impl Speaker<'_> {
    /// A few sentences with the figures of a proposal.
    pub fn proposal(&self, proposal: &Proposal) -> String {
        let (then, now) = (&proposal.before, &proposal.after);
        let change = |measure: Measure, a: f64, b: f64, decimals: usize| {
            let from = self.number(measure, a, decimals);
            format!("from {from} to {}", self.value(measure, b, decimals))
        };
        let dead = change(Measure::Volume, then.dead_l, now.dead_l, 1);
        let mut clauses = vec![format!("dead water {dead}")];
        let areas = |a: Option<f64>, b: Option<f64>| Some((a? * 1e4, b? * 1e4));
        if let Some((a, b)) = areas(then.detritus_m2, now.detritus_m2) {
            let area = change(Measure::Area, a, b, 0);
            clauses.push(format!("bed where waste stays {area}"));
        }
        if let Some((a, b)) = areas(then.sand_at_risk_m2, now.sand_at_risk_m2)
            && (a > 0.0 || b > 0.0)
        {
            clauses.push(format!("moving sand {}", change(Measure::Area, a, b, 0)));
        }
        let pump = &proposal.pump;
        let mut sentences = vec![format!(
            "A pump of {} at {} ({}), aimed {} (turn {:.0}°, tilt {:.0}°): {}.",
            self.value(Measure::Flow, pump.flow_lph, 0),
            self.at_short(pump.at_cm, 0),
            self.place(&proposal.place),
            aim_words(pump.turn_deg, pump.tilt_deg),
            pump.turn_deg,
            pump.tilt_deg,
            clauses.join(", ")
        )];
        let named = |pick: &dyn Fn(&CoralFlow) -> bool| {
            let ids: Vec<ItemId> = proposal
                .corals
                .iter()
                .filter(|coral| pick(coral))
                .map(|coral| coral.id)
                .collect();
            self.bare_names(&ids)
        };
        let helped = named(&|c| c.before < Verdict::Good && c.after == Verdict::Good);
        let harmed = named(&|c| c.before == Verdict::Good && c.after < Verdict::Good);
        if !helped.is_empty() {
            sentences.push(format!("Brings into range: {helped}."));
        }
        if !harmed.is_empty() {
            sentences.push(format!("Puts out of range: {harmed}."));
        }
        for harm in &proposal.harms {
            sentences.push(format!("But: {}", self.finding(harm)));
        }
        if !proposal.shades.is_empty() {
            let names = self.bare_names(&proposal.shades);
            sentences.push(format!("Its body stands between a lamp and {names}."));
        }
        if proposal.is_tie() {
            sentences.push(
                "A tie with the tank as it stands: the gain lies within what chance allows."
                    .to_owned(),
            );
        }
        sentences.join(" ")
    }

    /// What a proposal gains, in a few words for the drawing.
    pub fn proposal_gain(&self, proposal: &Proposal) -> String {
        let (then, now) = (&proposal.before, &proposal.after);
        let from = self.number(Measure::Volume, then.dead_l, 1);
        let to = self.value(Measure::Volume, now.dead_l, 1);
        let mut clauses = vec![format!("dead water from {from} to {to}")];
        let count = |pick: &dyn Fn(&CoralFlow) -> bool| {
            let n = proposal.corals.iter().filter(|coral| pick(coral)).count();
            (n > 0).then_some(n)
        };
        let helped = count(&|c| c.before < Verdict::Good && c.after == Verdict::Good);
        let harmed = count(&|c| c.before == Verdict::Good && c.after < Verdict::Good);
        let corals = |n: usize| if n == 1 { "coral" } else { "corals" };
        clauses.extend(helped.map(|n| format!("{n} {} more in range", corals(n))));
        clauses.extend(harmed.map(|n| format!("{n} {} out of range", corals(n))));
        if proposal.is_tie() {
            clauses.push("a tie with the tank as it is".to_owned());
        }
        clauses.join(", ")
    }

    /// What changed for a coral between two layouts, one sentence each.
    pub fn fate_causes(&self, fate: &CoralFate) -> Vec<String> {
        let item = self.item(fate.id);
        let entry = item.as_ref().and_then(|item| match item {
            crate::scene::Item::Coral(coral) => self.catalog.entry(&coral.entry),
            _ => None,
        });
        fate.causes
            .iter()
            .map(|cause| self.fate_cause(cause, entry))
            .collect()
    }

    fn fate_cause(&self, cause: &FateCause, entry: Option<&Entry>) -> String {
        let (trend, strip) = match cause {
            FateCause::OnlyFirst => return "It is not in the second layout.".to_owned(),
            FateCause::OnlySecond => return "It is only in the second layout.".to_owned(),
            FateCause::Worse(strip) => ("Worse", strip),
            FateCause::Better(strip) => ("Better", strip),
        };
        entry.map_or_else(String::new, |entry| {
            format!("{trend}: {}", self.strip(strip, entry))
        })
    }
}

/// Where something points, as seen through the front glass.
fn aim_words(turn_deg: f64, tilt_deg: f64) -> String {
    const WAYS: [&str; 8] = [
        "to the right",
        "to the back right",
        "to the back",
        "to the back left",
        "to the left",
        "to the front left",
        "to the front",
        "to the front right",
    ];
    let way = WAYS[(turn_deg / 45.0).round().rem_euclid(8.0) as usize];
    match tilt_deg {
        tilt if tilt > 4.0 => format!("{way} and up"),
        tilt if tilt < -4.0 => format!("{way} and down"),
        _ => way.to_owned(),
    }
}

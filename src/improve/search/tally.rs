//! How a layout's corals fare, by its fields.

use std::collections::BTreeSet;

use bommie_advice::{
    AdviceInput, Aspect, Finding, FlowFigures, Verdict, fit, flow_figures, pump_faults,
};
use glam::DVec3;

use super::Solved;
use crate::scene::{Coral, ItemId};
use crate::study::Study;

/// One coral of a layout.
#[derive(Clone, Debug, PartialEq)]
pub struct CoralState {
    /// The coral.
    pub id: ItemId,
    /// What it is called.
    pub name: String,
    /// Light on it, in µmol/m²/s.
    pub ppfd_umol: Option<f64>,
    /// Speed over it, in cm/s.
    pub speed_cm_s: Option<f64>,
    /// How its light suits it.
    pub light: Verdict,
    /// How its flow suits it.
    pub flow: Verdict,
    /// How its place suits it in all; the weakest of all strips.
    pub verdict: Verdict,
}

impl CoralState {
    /// Whether light and flow lie in their ranges.
    pub fn is_in_range(&self) -> bool {
        self.light == Verdict::Good && self.flow == Verdict::Good
    }
}

/// How a layout fares.
#[derive(Clone, Debug, PartialEq)]
pub struct Tally {
    /// Corals that the catalog knows.
    pub corals: Vec<CoralState>,
    /// Water slower than the limit, in L.
    pub dead_l: f64,
    /// Half width of its 95 % interval by chance, in L.
    pub dead_half_width_l: f64,
    /// All that a report's figures say of the water.
    pub figures: FlowFigures,
    /// What is amiss that pumps can bring about, one by one.
    pub(super) faults: Vec<Finding>,
}

impl Tally {
    /// Corals whose light and flow both lie in their ranges.
    pub fn in_range(&self) -> usize {
        self.corals
            .iter()
            .filter(|coral| coral.is_in_range())
            .count()
    }

    /// Whether two tanks have as much dead water, within what chance allows.
    pub(super) fn is_as_dead(&self, other: &Self) -> bool {
        (self.dead_l - other.dead_l).abs() <= self.dead_half_width_l.hypot(other.dead_half_width_l)
    }

    /// Corals that a report calls good: in range, and well seated with room.
    pub fn good(&self) -> usize {
        let good = |coral: &&CoralState| coral.verdict == Verdict::Good;
        self.corals.iter().filter(good).count()
    }

    /// A coral by its id.
    pub fn coral(&self, id: ItemId) -> Option<&CoralState> {
        self.corals.iter().find(|coral| coral.id == id)
    }

    /// Whether no coral that was in range has fallen below the edge of it, and
    /// none has got a fault of seat or room that it had not.
    pub(super) fn spares(&self, before: &Self) -> bool {
        before.corals.iter().all(|then| {
            self.coral(then.id).is_some_and(|now| {
                let fallen = then.is_in_range() && now.light.min(now.flow) < Verdict::Fair;
                let worse = now.verdict < then.verdict.min(Verdict::Fair);
                !fallen && !worse
            })
        })
    }

    /// Whether quiet corners stay as quiet, to a tenth and half a cm/s.
    pub(super) fn keeps_quiet(&self, before: &Self, quiet: &BTreeSet<ItemId>) -> bool {
        quiet.iter().all(|id| {
            let speed = |tally: &Self| tally.coral(*id).and_then(|coral| coral.speed_cm_s);
            match (speed(before), speed(self)) {
                (Some(then), Some(now)) => now <= 1.1 * then + 0.5,
                _ => true,
            }
        })
    }
}

/// How the corals of a solved layout fare.
pub(super) fn tally(study: &Study, solved: &Solved) -> Tally {
    with_input(study, solved, |input| {
        let corals = study
            .layout()
            .corals
            .iter()
            .filter_map(|coral| state(input, coral));
        let figures = flow_figures(&solved.flow, &study.scene().tank, study.limits());
        Tally {
            corals: corals.collect(),
            dead_l: figures.dead_l,
            dead_half_width_l: figures.dead_share_half_width * figures.water_l,
            faults: pump_faults(input),
            figures,
        }
    })
}

/// Hands `work` what advice looks at, as a report does.
pub(super) fn with_input<T>(
    study: &Study,
    solved: &Solved,
    work: impl FnOnce(&AdviceInput<'_>) -> T,
) -> T {
    let light_at = |at_m: DVec3, facing: DVec3| solved.light.sample(at_m, Some(facing));
    work(&AdviceInput {
        flow: Some(&solved.flow),
        light: Some(&solved.surfaces),
        light_at: Some(&light_at),
        ..AdviceInput::of(study)
    })
}

fn state(input: &AdviceInput<'_>, coral: &Coral) -> Option<CoralState> {
    let entry = input.catalog.entry(&coral.entry)?;
    let fit = fit(input, coral)?;
    let strip = |what: Aspect| fit.strips.iter().find(|strip| strip.what == what);
    let verdict = |what| strip(what).map_or(Verdict::Unknown, |strip| strip.verdict);
    Some(CoralState {
        id: coral.id,
        name: if coral.name.is_empty() {
            entry.plain_name.clone()
        } else {
            coral.name.clone()
        },
        ppfd_umol: strip(Aspect::Light).and_then(|strip| strip.value),
        speed_cm_s: strip(Aspect::Flow).and_then(|strip| strip.value),
        light: verdict(Aspect::Light),
        flow: verdict(Aspect::Flow),
        verdict: fit.verdict,
    })
}

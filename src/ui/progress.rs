//! How far along the estimates are, in the keeper's words: quick look, rough,
//! settled, cross-checked.

use egui::Color32;

use crate::desk::{Desk, FlowStatus, LightStatus, Results, SearchStatus};
use crate::flow::{Device, FlowField};
use crate::ui::text;
use crate::ui::theme::Theme;
use crate::units::{M_PER_CM, Measure};

/// How far along the flow is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stage {
    /// Nothing moves the water.
    Still,
    /// Nothing is known yet.
    Waiting,
    /// Slices only, or the very first of the tank.
    Quick,
    /// The tank, with averages that still change; how far it has come (0 to 1).
    Rough(f64),
    /// It ran its full time and the averages still change.
    StaysRough,
    /// The averages stand.
    Settled,
    /// Several runs were set against each other; the share of the water in which
    /// they differ.
    Checked(f64),
    /// There is no estimate.
    Failed,
}

/// How far along the flow of a desk is, and whether it is of an earlier scene.
pub fn stage(desk: &Desk) -> (Stage, bool) {
    let results = desk.results();
    if !desk.shown_study().moves_water() {
        return (Stage::Still, false);
    }
    let is_quick = results.slices_lead() || results.tank.is_none();
    let is_old = if is_quick {
        results.slices_are_old()
    } else {
        results.tank_is_old()
    };
    (stage_of(results, is_quick), is_old && has_any(results))
}

fn has_any(results: &Results) -> bool {
    results.tank.is_some() || results.plan_slice.is_some()
}

fn stage_of(results: &Results, is_quick: bool) -> Stage {
    if matches!(results.flow_status(), FlowStatus::Failed(_)) {
        return Stage::Failed;
    }
    if !has_any(results) {
        return Stage::Waiting;
    }
    if is_quick {
        return Stage::Quick;
    }
    let field = results.tank.as_ref();
    match &results.flow_status() {
        FlowStatus::Running(share) => Stage::Rough(*share),
        FlowStatus::Unsettled => Stage::StaysRough,
        // What the averages themselves say counts, not that the run is over.
        _ if field.is_some_and(|field| !field.settling.settled) => Stage::StaysRough,
        _ => match field.filter(|field| field.n_runs > 1) {
            Some(field) => Stage::Checked(field.settling.flip_share),
            None => Stage::Settled,
        },
    }
}

impl Stage {
    /// Whether what follows from it may still change much.
    pub fn is_rough(self) -> bool {
        matches!(
            self,
            Self::Waiting | Self::Quick | Self::Rough(_) | Self::StaysRough
        )
    }

    /// Its color.
    pub fn color(self, theme: &Theme) -> Color32 {
        match self {
            Self::Still | Self::Waiting => theme.rule,
            Self::Quick | Self::Rough(_) => theme.glow,
            Self::StaysRough | Self::Failed => theme.accent,
            Self::Settled | Self::Checked(_) => theme.good,
        }
    }

    /// Its words, short enough to be always in sight.
    pub fn words(self) -> String {
        match self {
            Self::Still => text::NO_PUMP.to_owned(),
            Self::Waiting => text::LOOKING.to_owned(),
            Self::Quick => text::QUICK_LOOK.to_owned(),
            Self::Rough(share) => text::rough(share),
            Self::StaysRough => text::STAYS_ROUGH.to_owned(),
            Self::Settled => text::SETTLED.to_owned(),
            Self::Checked(flips) => text::checked(flips),
            Self::Failed => text::NO_ESTIMATE.to_owned(),
        }
    }
}

/// The status line: a color, and words.
pub fn status(desk: &Desk, theme: &Theme) -> (Color32, String) {
    let (stage, is_old) = stage(desk);
    let results = desk.results();
    if let Some(words) = text::paper_status(results.paper) {
        return (theme.glow, words.to_owned());
    }
    if is_old {
        return (theme.glow, text::out_of_date(&stage.words()));
    }
    match (stage, results.further_runs) {
        (Stage::Settled, Some(share)) => (theme.good, text::being_checked(share)),
        _ => (stage.color(theme), stage.words()),
    }
}

/// What computed a field, and why it was not the card that was asked for.
fn computed_on(desk: &Desk, field: &FlowField) -> String {
    let on = &field.computed_on;
    let is_asked = desk.settings().on_card && on.card.is_none() && on.instead.is_none();
    if !is_asked {
        return on.to_string();
    }
    // The job that computed it has looked for the card.
    match Device::known_card() {
        Some(Err(error)) => text::processor_since(&error.to_string()),
        Some(Ok(_)) | None => on.to_string(),
    }
}

/// The same in sentences, for who points at it.
pub fn details(desk: &Desk) -> String {
    let results = desk.results();
    let (stage, is_old) = stage(desk);
    let mut flow = match &results.flow_status() {
        FlowStatus::Failed(why) => format!("{}: {why}", text::NO_ESTIMATE),
        _ => format!("{}: {}", text::WASH_FLOW, stage.words()),
    };
    if is_old {
        flow = text::out_of_date(&flow);
    }
    let averaged =
        (results.tank.as_ref()).filter(|field| !is_old && field.settling.averaged_s > 0.0);
    if let Some(field) = averaged {
        let cell_cm = field.grid.cell_m / M_PER_CM;
        let cell = Measure::Length.rounded_text(cell_cm, 1, desk.settings().units);
        flow = format!(
            "{flow}, {}",
            text::averaged(field.settling.averaged_s, &cell, &computed_on(desk, field))
        );
    }
    let light = match &results.light_status() {
        LightStatus::Idle => text::LIGHT_IDLE.to_owned(),
        LightStatus::Running => text::LIGHT_RUNNING.to_owned(),
        LightStatus::Coarse => text::LIGHT_COARSE.to_owned(),
        LightStatus::Fine => text::LIGHT_FINE.to_owned(),
        LightStatus::Failed(why) => format!("{}: {why}", text::NO_LIGHT),
    };
    let finer = match results.refining {
        SearchStatus::Running(share) => text::refining(share),
        _ => String::new(),
    };
    let paper = text::paper_status(results.paper).unwrap_or_default();
    let lines = [&flow, &finer, &light, paper, text::STAGES];
    let lines: Vec<&str> = lines.into_iter().filter(|line| !line.is_empty()).collect();
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_known_is_said_to_be_so() {
        let results = Results::default();
        assert_eq!(stage_of(&results, true), Stage::Waiting, "at first");
        assert!(Stage::Quick.is_rough() && Stage::StaysRough.is_rough());
        assert!(!Stage::Settled.is_rough() && !Stage::Checked(0.1).is_rough());
    }
}

//! `bommie propose`: what less dead water costs nothing, then where one more
//! circulation pump helps.

use std::path::PathBuf;
use std::time::Instant;

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::answer::{FlowPart, figures_part};
use super::improve::{DeedPart, deed_part};
use super::noticed::{FindingPart, finding_part};
use super::paper::UnitsArgs;
use super::solve::{Case, Progress, WaterArgs};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::advice::{
    CoralFlow, GearPane, Proposal, ProposalOptions, PumpSize, fitting_pump, propose_pumps,
    usual_outlet_cm,
};
use crate::flow::{FlowField, FlowSetup, solve_runs_under};
use crate::improve::search::{Anew, Fresh, FullSolve, Goal, ImproveOptions, Lever, Plan, improve};
use crate::scene::Pump;
use crate::scene::finding::Finding;
use crate::study::{Limits, Study};
use crate::units::{M_PER_CM, Measure};
use crate::words::Speaker;

#[derive(Args, Debug)]
pub(super) struct ProposeArgs {
    /// Scene file
    scene: PathBuf,
    /// How many different proposals
    #[arg(long, default_value_t = 3)]
    count: usize,
    /// Flow of the pump, in L/h; one that fits the tank if left out
    #[arg(long)]
    flow_lph: Option<f64>,
    /// Diameter of its outlet, in cm; by that flow if left out
    #[arg(long)]
    outlet_cm: Option<f64>,
    /// Another pump that is at hand, as FLOW:OUTLET in L/h and cm; may be given
    /// several times
    #[arg(long = "or", value_name = "FLOW:OUTLET", value_parser = size)]
    others: Vec<PumpSize>,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    /// Pane that may carry the pump; may be given several times. All but the
    /// front if left out; the back one only in deep tanks
    #[arg(long = "pane", value_enum)]
    panes: Vec<PaneArg>,
    /// Leave out what the pumps that are there could do
    #[arg(long)]
    only_new: bool,
    #[command(flatten)]
    water: WaterArgs,
    #[command(flatten)]
    units: UnitsArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// A pane that may carry gear.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum PaneArg {
    Left,
    Right,
    Back,
}

impl PaneArg {
    pub(super) fn pane(self) -> GearPane {
        match self {
            Self::Left => GearPane::Left,
            Self::Right => GearPane::Right,
            Self::Back => GearPane::Back,
        }
    }
}

/// The answer of `propose --json`.
#[derive(Debug, Serialize)]
struct Answer {
    file: String,
    layout: String,
    /// What costs nothing: other aims, throttles, places and programmes of the
    /// pumps that are there.
    settings: Vec<SettingPart>,
    proposals: Vec<ProposalPart>,
}

#[derive(Debug, Serialize)]
struct SettingPart {
    deeds: Vec<DeedPart>,
    /// Whether the tank as it stands may be as good, within what chance allows.
    is_tie: bool,
    before: FlowPart,
    after: FlowPart,
    corals_in_range_before: usize,
    corals_in_range_after: usize,
    /// What a report finds amiss that it does not now.
    harms: Vec<FindingPart>,
    cautions: Vec<String>,
}

#[derive(Debug, Serialize)]
struct ProposalPart {
    /// The pump as a scene file holds it.
    pump: PumpPart,
    place: String,
    certainty: &'static str,
    /// Whether the tank as it stands may be as good, within what chance allows.
    is_tie: bool,
    text: String,
    screened: usize,
    before: FlowPart,
    after: FlowPart,
    corals: Vec<CoralFlowPart>,
    /// What a report finds amiss that it does not now.
    harms: Vec<FindingPart>,
    /// Corals that the pump stands before, seen from a lamp.
    shades: Vec<u32>,
}

#[derive(Debug, Serialize)]
struct PumpPart {
    id: u32,
    name: String,
    at_cm: [f64; 3],
    turn_deg: f64,
    tilt_deg: f64,
    flow_lph: f64,
    outlet_cm: f64,
}

#[derive(Debug, Serialize)]
struct CoralFlowPart {
    id: u32,
    name: String,
    before_cm_s: f64,
    after_cm_s: f64,
    before: &'static str,
    after: &'static str,
}

/// A size as `3000:4.5`.
fn size(words: &str) -> Result<PumpSize, String> {
    let sizes = words.split_once(':').and_then(|(flow, outlet)| {
        Some(PumpSize {
            flow_lph: flow.trim().parse().ok()?,
            outlet_cm: outlet.trim().parse().ok()?,
        })
    });
    sizes.ok_or_else(|| "two numbers with a colon between them, such as 3000:4.5".to_owned())
}

pub(super) fn run(args: &ProposeArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    let (flow_options, runs) = args.water.options()?;
    let setup = FlowSetup::new(&case.study, &flow_options)?;
    let setup = args.water.placed(setup, streams)?;
    let flow_lph = (args.flow_lph).unwrap_or_else(|| fitting_pump(&case.study).flow_lph);
    let mut options = ProposalOptions {
        count: args.count,
        sizes: std::iter::once(PumpSize {
            flow_lph,
            outlet_cm: args.outlet_cm.unwrap_or_else(|| usual_outlet_cm(flow_lph)),
        })
        .chain(args.others.iter().copied())
        .collect(),
        cell_m: flow_options.cell_m,
        runs,
        ..ProposalOptions::default()
    };
    if !args.panes.is_empty() {
        options.panes = args.panes.iter().map(|pane| pane.pane()).collect();
    }
    let start = Instant::now();
    let (settings, found) = {
        let progress = Progress::new("search", streams);
        let full = FullSolve {
            flow: flow_options,
            runs,
            device: setup.device().clone(),
        };
        let now = solve_runs_under(&setup, runs, &mut |share| progress.tell(0.1 * share))?;
        let settings = if args.only_new || case.layout().pumps.is_empty() {
            Vec::new()
        } else {
            let tell = &mut |share: f64| progress.tell(0.1 + 0.4 * share);
            settings(&case, (&full, &options.panes), &now, tell)?
        };
        let tell = &mut |share: f64| progress.tell(0.5 + 0.5 * share);
        let found = propose_pumps(&case.study, &options, Some(now), tell)?;
        (settings, found)
    };
    writeln!(
        streams.err,
        "search: {:.1} s",
        start.elapsed().as_secs_f64()
    )?;
    let speaker = case.speaker(args.units.system());
    let answer = Answer {
        file: case.file.clone(),
        layout: case.layout().name.clone(),
        settings: settings
            .iter()
            .map(|plan| setting_part(plan, case.study.limits(), &speaker))
            .collect(),
        proposals: found
            .iter()
            .map(|proposal| proposal_part(proposal, case.study.limits(), &speaker))
            .collect(),
    };
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        write_text(&answer, &speaker, streams)?;
    }
    if answer.proposals.is_empty() && !args.json {
        writeln!(
            streams.out,
            "Nothing better found: no place where one more pump of this size makes the tank better"
        )?;
    }
    Ok(EXIT_GOOD)
}

/// Other aims, throttles, places and programmes of the pumps that are there
/// with less dead water, the best first.
fn settings(
    case: &Case,
    (full, panes): (&FullSolve, &[GearPane]),
    now: &FlowField,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<Vec<Plan>, TerminalError> {
    const KEPT: usize = 2;
    let options = ImproveOptions {
        goal: Goal::Water,
        count: KEPT,
        may: [Lever::Aim, Lever::Throttle, Lever::Hang, Lever::Programme].into(),
        panes: panes.iter().copied().collect(),
        ..ImproveOptions::default()
    };
    let solve = |study: &Study, anew: Anew, _: &mut dyn FnMut(f64) -> bool| {
        // The tank as it stands is known.
        let is_now = study.layout() == case.layout();
        let anew = if is_now { Anew::Light } else { anew };
        let fresh = full.solve((study, &case.measured), anew, &|_| true)?;
        let flow = fresh.flow.or_else(|| is_now.then(|| now.clone()));
        Ok(Fresh { flow, ..fresh })
    };
    let study = (&case.study, &case.measured);
    Ok(improve(study, &options, &solve, control)?.plans)
}

fn setting_part(plan: &Plan, limits: &Limits, speaker: &Speaker<'_>) -> SettingPart {
    SettingPart {
        deeds: plan
            .deeds
            .iter()
            .map(|deed| deed_part(deed, speaker))
            .collect(),
        is_tie: plan.is_tie(),
        before: figures_part(&plan.before.figures, limits),
        after: figures_part(&plan.after.figures, limits),
        corals_in_range_before: plan.before.in_range(),
        corals_in_range_after: plan.after.in_range(),
        harms: parts_of(&plan.harms, speaker),
        cautions: plan.cautions.clone(),
    }
}

fn parts_of(findings: &[Finding], speaker: &Speaker<'_>) -> Vec<FindingPart> {
    let parts = findings
        .iter()
        .map(|finding| finding_part(finding, speaker));
    parts.collect()
}

fn write_text(
    answer: &Answer,
    speaker: &Speaker<'_>,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    let mut number = 0;
    if !answer.settings.is_empty() {
        let name = &answer.layout;
        writeln!(streams.out, "What costs nothing in layout {name:?}:")?;
    }
    for setting in &answer.settings {
        number += 1;
        let deeds: Vec<&str> = setting
            .deeds
            .iter()
            .map(|deed| deed.text.as_str())
            .collect();
        writeln!(streams.out, "\n{number:3}. {}", deeds.join(" "))?;
        write_water((&setting.before, &setting.after), speaker, streams)?;
        write_doubts((setting.is_tie, &setting.harms), streams)?;
        for caution in &setting.cautions {
            writeln!(streams.out, "     ! {caution}")?;
        }
    }
    if !answer.settings.is_empty() {
        writeln!(streams.out)?;
    }
    writeln!(
        streams.out,
        "One more pump in layout {:?}: {} proposals",
        answer.layout,
        answer.proposals.len()
    )?;
    for proposal in &answer.proposals {
        number += 1;
        let pump = &proposal.pump;
        let [x, y, z] = pump.at_cm;
        writeln!(
            streams.out,
            "\n{number:3}. {} ({})",
            proposal.place, proposal.certainty
        )?;
        writeln!(streams.out, "     {}", proposal.text)?;
        write_water((&proposal.before, &proposal.after), speaker, streams)?;
        let speed = |cm_s: f64| speaker.number(Measure::Speed, cm_s, 1);
        let cm_s = speaker.unit(Measure::Speed);
        for coral in &proposal.corals {
            writeln!(
                streams.out,
                "     {} {}: {} -> {} {cm_s}, {} -> {}",
                coral.id,
                coral.name,
                speed(coral.before_cm_s),
                speed(coral.after_cm_s),
                coral.before,
                coral.after
            )?;
        }
        writeln!(
            streams.out,
            "     for the scene file: (id: {}, name: {:?}, at_cm: ({x:?}, {y:?}, {z:?}), turn_deg: {:?}, tilt_deg: {:?}, flow_lph: {:?}, outlet_cm: {:?})",
            pump.id, pump.name, pump.turn_deg, pump.tilt_deg, pump.flow_lph, pump.outlet_cm
        )?;
    }
    Ok(())
}

/// Dead water and speeds, before and after.
fn write_water(
    (before, after): (&FlowPart, &FlowPart),
    speaker: &Speaker<'_>,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    let volume = |l: f64| speaker.number(Measure::Volume, l, 1);
    let speed = |cm_s: f64| speaker.number(Measure::Speed, cm_s, 1);
    let (l, cm_s) = (speaker.unit(Measure::Volume), speaker.unit(Measure::Speed));
    writeln!(
        streams.out,
        "     dead water {} -> {} {l}, mean speed {} -> {} {cm_s}, slowest tenth {} -> {} {cm_s}",
        volume(before.dead_l),
        volume(after.dead_l),
        speed(before.mean_speed_cm_s),
        speed(after.mean_speed_cm_s),
        speed(before.slowest_tenth_cm_s),
        speed(after.slowest_tenth_cm_s)
    )?;
    Ok(())
}

/// Whether it is a tie, and what it brings that is amiss.
fn write_doubts(
    (is_tie, harms): (bool, &[FindingPart]),
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    if is_tie {
        writeln!(
            streams.out,
            "     a tie with the tank as it stands, within what chance allows"
        )?;
    }
    for harm in harms {
        writeln!(streams.out, "     but: {}", harm.text)?;
    }
    Ok(())
}

fn proposal_part(proposal: &Proposal, limits: &Limits, speaker: &Speaker<'_>) -> ProposalPart {
    ProposalPart {
        pump: pump_part(&proposal.pump),
        place: speaker.place(&proposal.place),
        certainty: proposal.certainty.tag(),
        is_tie: proposal.is_tie(),
        text: speaker.proposal(proposal),
        screened: proposal.n_screened,
        before: figures_part(&proposal.before, limits),
        after: figures_part(&proposal.after, limits),
        corals: proposal.corals.iter().map(coral_part).collect(),
        harms: parts_of(&proposal.harms, speaker),
        shades: proposal.shades.clone(),
    }
}

fn pump_part(pump: &Pump) -> PumpPart {
    PumpPart {
        id: pump.id,
        name: pump.name.clone(),
        at_cm: pump.at_cm.to_array(),
        turn_deg: pump.turn_deg,
        tilt_deg: pump.tilt_deg,
        flow_lph: pump.flow_lph,
        outlet_cm: pump.outlet_cm,
    }
}

fn coral_part(coral: &CoralFlow) -> CoralFlowPart {
    CoralFlowPart {
        id: coral.id,
        name: coral.name.clone(),
        before_cm_s: coral.before_m_s / M_PER_CM,
        after_cm_s: coral.after_m_s / M_PER_CM,
        before: coral.before.tag(),
        after: coral.after.tag(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_two_numbers() {
        let read = size("3000:4.5").unwrap();
        assert_eq!((read.flow_lph, read.outlet_cm), (3000.0, 4.5), "as written");
        for words in ["3000", "3000:", "a:4.5"] {
            let refused = size(words).unwrap_err();
            assert!(
                refused.contains("3000:4.5"),
                "{words} is told how: {refused}"
            );
        }
    }
}

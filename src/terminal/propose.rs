//! `bommie propose`: where one more circulation pump helps.

use std::path::PathBuf;
use std::time::Instant;

use clap::Args;
use serde::Serialize;

use super::answer::{FlowPart, figures_part};
use super::paper::UnitsArgs;
use super::solve::{Case, Progress};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::advice::{CoralFlow, Proposal, ProposalOptions, PumpSize, fitting_pump, propose_pumps};
use crate::scene::Pump;
use crate::study::Limits;
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
    /// Edge of the cells on which the best are solved again, in cm
    #[arg(long, default_value_t = 2.0)]
    cell_cm: f64,
    #[command(flatten)]
    units: UnitsArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// The answer of `propose --json`.
#[derive(Debug, Serialize)]
struct Answer {
    file: String,
    layout: String,
    proposals: Vec<ProposalPart>,
}

#[derive(Debug, Serialize)]
struct ProposalPart {
    /// The pump as a scene file holds it.
    pump: PumpPart,
    place: String,
    certainty: &'static str,
    text: String,
    screened: usize,
    before: FlowPart,
    after: FlowPart,
    corals: Vec<CoralFlowPart>,
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
    let fitting = fitting_pump(&case.study);
    let options = ProposalOptions {
        count: args.count,
        sizes: std::iter::once(PumpSize {
            flow_lph: args.flow_lph.unwrap_or(fitting.flow_lph),
            outlet_cm: args.outlet_cm.unwrap_or(fitting.outlet_cm),
        })
        .chain(args.others.iter().copied())
        .collect(),
        cell_m: args.cell_cm * M_PER_CM,
        ..ProposalOptions::default()
    };
    let start = Instant::now();
    let found = {
        let progress = Progress::new("search", streams);
        propose_pumps(&case.study, &options, &mut |share| progress.tell(share))?
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

fn write_text(
    answer: &Answer,
    speaker: &Speaker<'_>,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    writeln!(
        streams.out,
        "One more pump in layout {:?}: {} proposals",
        answer.layout,
        answer.proposals.len()
    )?;
    for (idx, proposal) in answer.proposals.iter().enumerate() {
        let pump = &proposal.pump;
        let [x, y, z] = pump.at_cm;
        let (before, after) = (&proposal.before, &proposal.after);
        writeln!(
            streams.out,
            "\n{:3}. {} ({})",
            idx + 1,
            proposal.place,
            proposal.certainty
        )?;
        writeln!(streams.out, "     {}", proposal.text)?;
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

fn proposal_part(proposal: &Proposal, limits: &Limits, speaker: &Speaker<'_>) -> ProposalPart {
    ProposalPart {
        pump: pump_part(&proposal.pump),
        place: speaker.place(&proposal.place),
        certainty: proposal.certainty.tag(),
        text: speaker.proposal(proposal),
        screened: proposal.n_screened,
        before: figures_part(&proposal.before, limits),
        after: figures_part(&proposal.after, limits),
        corals: proposal.corals.iter().map(coral_part).collect(),
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

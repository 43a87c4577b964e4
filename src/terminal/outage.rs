//! `bommie outage`: what goes still when a pump fails or the power does, how
//! long that takes, and how much runs down to the sump.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::answer::{FlowPart, figures_part};
use super::paper::UnitsArgs;
use super::solve::{Case, Progress, WaterArgs};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::advice::{self, DrainDown, StandingWave};
use crate::flow::FlowSetup;
use crate::improve::outage::{FOLLOWED_S, PumpFailure, STILL_M_S, outage};
use crate::scene::Pump;
use crate::units::{M_PER_CM, Measure};
use crate::words::Speaker;

#[derive(Args, Debug)]
pub(super) struct OutageArgs {
    /// Scene file
    scene: PathBuf,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    #[command(flatten)]
    water: WaterArgs,
    #[command(flatten)]
    units: UnitsArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// The answer of `outage --json`.
#[derive(Debug, Serialize)]
struct Answer {
    answer_format: u32,
    file: String,
    layout: String,
    /// With everything running.
    before: FlowPart,
    pumps: Vec<PumpPart>,
    all_off: Option<StillPart>,
    /// Null without returns.
    drains: Option<DrainPart>,
    waves: Vec<WavePart>,
}

/// What one pump's failure brings.
#[derive(Debug, Serialize)]
struct PumpPart {
    id: u32,
    name: String,
    after: FlowPart,
    /// Where it goes dead, the largest first, in words.
    dead: Vec<String>,
}

#[derive(Debug, Serialize)]
struct StillPart {
    /// When the mean speed falls below `still_cm_s`; null if not while followed.
    still_after_s: Option<f64>,
    still_cm_s: f64,
    followed_s: f64,
}

#[derive(Debug, Serialize)]
struct DrainPart {
    over_weir_l: Option<f64>,
    siphon_l: f64,
}

#[derive(Debug, Serialize)]
struct WavePart {
    direction: &'static str,
    nodes: u32,
    period_s: f64,
    /// Pumps whose programme comes near it.
    driven_by: Vec<u32>,
}

pub(super) fn run(args: &OutageArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    let (options, runs) = args.water.options()?;
    let setup = FlowSetup::new(&case.study, &options)?;
    let setup = args.water.placed(setup, streams)?;
    let speaker = case.speaker(args.units.system());
    let drain = advice::drain_down(case.study.scene());
    let waves = advice::waves_and_drivers(&case.study);
    let found = {
        let progress = Progress::new("outage", streams);
        outage(&case.study, &setup, runs, &mut |share| progress.tell(share))?
    };
    let limits = case.study.limits();
    let part = |(pump, failure): (&Pump, &PumpFailure)| PumpPart {
        id: pump.id,
        name: pump.name.clone(),
        after: figures_part(&failure.after, limits),
        dead: (failure.dead.iter().map(|spot| speaker.finding(spot))).collect(),
    };
    let answer = Answer {
        answer_format: 1,
        file: case.file.clone(),
        layout: case.layout().name.clone(),
        before: figures_part(&found.before, limits),
        pumps: case
            .layout()
            .pumps
            .iter()
            .zip(&found.pumps)
            .map(part)
            .collect(),
        all_off: found.all_off.map(|still| StillPart {
            still_after_s: still.after_s,
            still_cm_s: STILL_M_S / M_PER_CM,
            followed_s: FOLLOWED_S,
        }),
        drains: drain.map(|drain| DrainPart {
            over_weir_l: drain.over_weir_l,
            siphon_l: drain.siphon_l,
        }),
        waves: waves.iter().map(wave_part).collect(),
    };
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        write_text(&answer, (drain.as_ref(), &waves), &speaker, streams)?;
    }
    Ok(EXIT_GOOD)
}

fn wave_part((wave, driven_by): &(StandingWave, Vec<u32>)) -> WavePart {
    WavePart {
        direction: if wave.is_along { "along" } else { "across" },
        nodes: wave.nodes,
        period_s: wave.period_s,
        driven_by: driven_by.clone(),
    }
}

fn write_text(
    answer: &Answer,
    (drain, waves): (Option<&DrainDown>, &[(StandingWave, Vec<u32>)]),
    speaker: &Speaker<'_>,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    let out = &mut streams.out;
    let volume = |l: f64| speaker.value(Measure::Volume, l, 1);
    let dead = |part: &FlowPart| {
        format!(
            "{} dead (+- {})",
            volume(part.dead_l),
            volume(part.dead_share_half_width * part.water_l)
        )
    };
    writeln!(
        out,
        "Layout {:?} with everything running: {}",
        answer.layout,
        dead(&answer.before)
    )?;
    for pump in &answer.pumps {
        let name = speaker.bare_name(pump.id);
        writeln!(out, "\nWithout {name}: {}", dead(&pump.after))?;
        for words in pump.dead.iter().take(3) {
            writeln!(out, "  - {words}")?;
        }
    }
    if let Some(still) = &answer.all_off {
        let words = speaker.rests(still.still_after_s, still.still_cm_s, still.followed_s);
        writeln!(out, "\n{words}")?;
    }
    if let Some(drain) = drain {
        writeln!(out)?;
        for words in speaker.drains(drain) {
            writeln!(out, "{words}")?;
        }
    }
    writeln!(out, "\nThe surface sways by itself in")?;
    for (wave, driven_by) in waves {
        writeln!(out, "  {}", speaker.sways(wave, driven_by))?;
    }
    Ok(())
}

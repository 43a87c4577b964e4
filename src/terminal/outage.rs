//! `bommie outage`: what goes still when a pump fails or the power does, how
//! long that takes, and how much runs down to the sump.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::answer::{FlowPart, figures_part};
use super::paper::UnitsArgs;
use super::solve::{Case, Progress, WaterArgs};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::advice::{self, AdviceInput, DrainDown, StandingWave, flow_figures};
use crate::flow::{FlowField, FlowSetup, FlowSolver, FlowState, solve_runs_under};
use crate::units::{M_PER_CM, Measure};
use crate::words::Speaker;

/// Mean speed of water that has come to rest, in m/s: a quarter of what counts
/// as dead.
const STILL_M_S: f64 = 0.005;

/// Longest that coming to rest is followed, in s.
const FOLLOWED_S: f64 = 600.0;

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
    let n = case.layout().pumps.len() + 2;
    let drain = advice::drain_down(case.study.scene());
    let waves = advice::waves_and_drivers(&case.study);
    let answer = {
        let progress = Progress::new("outage", streams);
        let tell = |part: usize, share: f64| progress.tell((part as f64 + share) / n as f64);
        let now = solve_runs_under(&setup, runs, &mut |share| tell(0, share))?;
        let limits = case.study.limits();
        let figures = |field: &FlowField| {
            let figures = flow_figures(field, &case.study.scene().tank, limits);
            figures_part(&figures, limits)
        };
        let mut pumps = Vec::new();
        for (i, pump) in case.layout().pumps.iter().enumerate() {
            let mut layout = case.layout().clone();
            layout.pumps.retain(|other| other.id != pump.id);
            let study = case.study.with_layout(layout);
            let without = FlowSetup::new(&study, &options)?.on(setup.device().clone());
            let field = solve_runs_under(&without, runs, &mut |share| tell(i + 1, share))?;
            let input = AdviceInput {
                flow: Some(&field),
                ..AdviceInput::of(&study)
            };
            let spots = advice::dead_spots(&input);
            pumps.push(PumpPart {
                id: pump.id,
                name: pump.name.clone(),
                after: figures(&field),
                dead: spots.iter().map(|spot| speaker.finding(spot)).collect(),
            });
        }
        let all_off = stills(&setup, &mut |share| tell(n - 1, share))?;
        Answer {
            answer_format: 1,
            file: case.file.clone(),
            layout: case.layout().name.clone(),
            before: figures(&now),
            pumps,
            all_off,
            drains: drain.map(|drain| DrainPart {
                over_weir_l: drain.over_weir_l,
                siphon_l: drain.siphon_l,
            }),
            waves: waves.iter().map(wave_part).collect(),
        }
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

/// How long the water takes to come to rest with everything off: one run is
/// followed from the moving water. None for a tank in which nothing moves.
fn stills(
    setup: &FlowSetup,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<Option<StillPart>, TerminalError> {
    const SLICE_S: f64 = 2.0;
    let mut running = FlowSolver::new(setup.clone());
    while !running.is_done() {
        running.advance(SLICE_S)?;
        control(0.5 * running.progress());
    }
    let moving = running.state();
    if mean_m_s(&moving) < STILL_M_S {
        return Ok(None);
    }
    let mut off = FlowSolver::new(setup.switched_off()?);
    off.warm_from_state(&moving);
    let (mut time_s, mut still_after_s) = (0.0, None);
    while time_s < FOLLOWED_S && still_after_s.is_none() {
        off.advance(SLICE_S)?;
        time_s += SLICE_S;
        control(0.5 + 0.5 * time_s / FOLLOWED_S);
        if mean_m_s(&off.state()) < STILL_M_S {
            still_after_s = Some(time_s);
        }
    }
    Ok(Some(StillPart {
        still_after_s,
        still_cm_s: STILL_M_S / M_PER_CM,
        followed_s: FOLLOWED_S,
    }))
}

/// Mean speed of the water as it is, in m/s.
fn mean_m_s(state: &FlowState) -> f64 {
    let speeds = state
        .velocity_m_s
        .iter()
        .map(|u| glam::Vec3::from_array(*u).as_dvec3().length())
        .filter(|speed| *speed > 0.0);
    let (sum, n) = speeds.fold((0.0, 0.0_f64), |(sum, n), speed| (sum + speed, n + 1.0));
    sum / n.max(1.0)
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
        let limit = speaker.value(Measure::Speed, still.still_cm_s, 1);
        match still.still_after_s {
            Some(after_s) => writeln!(
                out,
                "\nWith everything off the mean speed falls below {limit} within about {after_s:.0} s \
                 (an estimate, to a factor of two). How long livestock bears that is not computed: \
                 it hangs on oxygen, which this program does not know."
            )?,
            None => writeln!(
                out,
                "\nWith everything off the water still moved by {limit} after {:.0} s.",
                still.followed_s
            )?,
        }
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

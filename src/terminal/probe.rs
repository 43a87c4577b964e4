//! `bommie probe`: flow and light at given places, as CSV.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use glam::DVec3;

use super::kept::KeepArgs;
use super::points::{Points, read_points};
use super::solve::{Case, WaterArgs, felt_at, flow_at, phases_at};
use super::{EXIT_GOOD, Streams, TerminalError, shown};
use crate::flow::felt::{self, FeltSpeed};
use crate::flow::{FlowField, FlowSample, OverPhases};
use crate::light::{LightOptions, LightSample};
use crate::storage::read_text;
use crate::study::Medium;
use crate::units::M_PER_CM;

#[derive(Args, Debug)]
pub(super) struct ProbeArgs {
    /// Scene file
    scene: PathBuf,
    /// CSV file of places
    #[arg(
        long,
        help = "CSV file with the columns x_cm,y_cm,z_cm, and nx,ny,nz for a facing"
    )]
    points: PathBuf,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    #[command(flatten)]
    water: WaterArgs,
    #[command(flatten)]
    keep: KeepArgs,
    /// Flow estimate: a slice at the pumps' height, or the whole tank
    #[arg(long, value_enum, default_value_t = EstimateArg::Tank)]
    estimate: EstimateArg,
    /// Light from the lamps alone, or with mirrors and bounces
    #[arg(long, value_enum, default_value_t = LightArg::Full)]
    light: LightArg,
    /// Leave the flow columns empty
    #[arg(long)]
    no_flow: bool,
    /// Leave the light columns empty
    #[arg(long)]
    no_light: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum EstimateArg {
    Slice,
    Tank,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum LightArg {
    Direct,
    Full,
}

const HEADER: &str = "x_cm,y_cm,z_cm,inside,speed_cm_s,u_cm_s,v_cm_s,w_cm_s,fluctuation_cm_s,ppfd_up_umol,ppfd_scalar_umol";

/// Columns of the felt speed, after all others.
const FELT_HEADER: &str =
    "felt_cm_s,felt_p10_cm_s,felt_p90_cm_s,chance_below_2_cm_s,chance_below_5_cm_s";

/// Columns of what the pumps' programs make of it, last of all.
const PHASE_HEADER: &str = "worst_phase_cm_s,worst_phase,peak_cm_s,peak_phase";

/// Limits that chances are told for, in m/s.
const CHANCE_LIMITS_M_S: [f64; 2] = [0.02, felt::SLOW_M_S];

pub(super) fn run(args: &ProbeArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    streams.guard.keep(&args.points);
    let points =
        read_points(&read_text(&args.points)?).map_err(|source| TerminalError::Points {
            file: shown(&args.points),
            source,
        })?;
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    let media: Vec<Medium> = points
        .rows
        .iter()
        .map(|row| case.study.medium_at(row.at_cm * M_PER_CM))
        .collect();
    let flow = flow_samples(args, &case, (&points, &media), streams)?;
    let light = light_samples(args, &case, (&points, &media), streams)?;
    let facing = if points.has_facing { ",ppfd_umol" } else { "" };
    writeln!(streams.out, "{HEADER}{facing},{FELT_HEADER},{PHASE_HEADER}")?;
    for (idx, row) in points.rows.iter().enumerate() {
        let DVec3 { x, y, z } = row.at_cm;
        write!(streams.out, "{x},{y},{z},{},", medium_word(media[idx]))?;
        match &flow[idx] {
            Some(flow) => write_flow(streams, &flow.sample)?,
            None => write!(streams.out, ",,,,")?,
        }
        match light[idx] {
            Some(LightSample {
                up_umol,
                scalar_umol,
                ..
            }) => {
                write!(streams.out, ",{up_umol:.3},{scalar_umol:.3}")?;
            }
            None => write!(streams.out, ",,")?,
        }
        match (points.has_facing, light[idx]) {
            (true, Some(sample)) => write!(streams.out, ",{:.3}", sample.facing_umol)?,
            (true, None) => write!(streams.out, ",")?,
            (false, _) => {}
        }
        write_felt(streams, flow[idx].as_ref().and_then(|flow| flow.felt))?;
        write_phases(
            streams,
            flow[idx].as_ref().and_then(|flow| flow.phases.as_ref()),
        )?;
    }
    Ok(EXIT_GOOD)
}

fn medium_word(medium: Medium) -> &'static str {
    match medium {
        Medium::Water => "water",
        Medium::Rock => "rock",
        Medium::Sand => "sand",
        Medium::Outside => "outside",
    }
}

fn write_flow(streams: &mut Streams<'_>, sample: &FlowSample) -> std::io::Result<()> {
    let cm_s = |m_s: f64| m_s / M_PER_CM;
    let velocity = sample.velocity_m_s / M_PER_CM;
    write!(
        streams.out,
        "{:.4},{:.4},{:.4},{:.4},{:.4}",
        cm_s(sample.speed_m_s),
        velocity.x,
        velocity.y,
        velocity.z,
        cm_s(sample.fluctuation_m_s)
    )
}

fn write_felt(streams: &mut Streams<'_>, felt: Option<FeltSpeed>) -> std::io::Result<()> {
    let Some(felt) = felt else {
        return write!(streams.out, ",,,,,");
    };
    let [low, high] = felt.interval_m_s().map(|speed| speed / M_PER_CM);
    let [dead, slow] = CHANCE_LIMITS_M_S.map(|limit| felt.chance_below(limit));
    let middle = felt.median_m_s() / M_PER_CM;
    write!(
        streams.out,
        ",{middle:.4},{low:.4},{high:.4},{dead:.4},{slow:.4}"
    )
}

fn write_phases(streams: &mut Streams<'_>, phases: Option<&Phases>) -> std::io::Result<()> {
    let Some(Phases { over, worst, peak }) = phases else {
        return writeln!(streams.out, ",,,,");
    };
    let [low, high] = [over.worst_m_s, over.peak_m_s].map(|speed| speed / M_PER_CM);
    writeln!(streams.out, ",{low:.4},{worst},{high:.4},{peak}")
}

/// What the estimate says of a place, how fast the water there really is, and
/// what the pumps' programs make of it.
#[derive(Clone)]
struct Flow {
    sample: FlowSample,
    felt: Option<FeltSpeed>,
    phases: Option<Phases>,
}

/// Slowest and fastest phase of a place, and which pumps run then.
#[derive(Clone)]
struct Phases {
    over: OverPhases,
    worst: String,
    peak: String,
}

fn flow_samples(
    args: &ProbeArgs,
    case: &Case,
    (points, media): (&Points, &[Medium]),
    streams: &mut Streams<'_>,
) -> Result<Vec<Option<Flow>>, TerminalError> {
    if args.no_flow {
        return Ok(vec![None; media.len()]);
    }
    let is_slice = args.estimate == EstimateArg::Slice;
    let field = case.flow_kept(is_slice, (&args.water, &args.keep), streams)?;
    let sample = |(row, medium): (&super::points::Point, &Medium)| {
        (*medium == Medium::Water).then(|| {
            let at_m = row.at_cm * M_PER_CM;
            let phases = phases_at(&field, at_m).map(|over| Phases {
                over,
                worst: running(&field, over.worst),
                peak: running(&field, over.peak),
            });
            Flow {
                sample: flow_at(&field, at_m),
                felt: felt_at(&field, at_m),
                phases,
            }
        })
    };
    Ok(points.rows.iter().zip(media).map(sample).collect())
}

/// Ids of the pumps with a program that run in a phase, as `1+3`; `none` where
/// all of them rest.
fn running(field: &FlowField, phase: usize) -> String {
    let ids = field.phases[phase].running.iter().map(ToString::to_string);
    let ids: Vec<String> = ids.collect();
    if ids.is_empty() {
        "none".to_owned()
    } else {
        ids.join("+")
    }
}

fn light_samples(
    args: &ProbeArgs,
    case: &Case,
    (points, media): (&Points, &[Medium]),
    streams: &mut Streams<'_>,
) -> Result<Vec<Option<LightSample>>, TerminalError> {
    if args.no_light {
        return Ok(vec![None; media.len()]);
    }
    let options = match args.light {
        LightArg::Direct => LightOptions::direct(),
        LightArg::Full => LightOptions::default(),
    };
    let lit = case.light(&options, None, streams)?;
    let wet = points
        .rows
        .iter()
        .zip(media)
        .filter(|(_, medium)| **medium == Medium::Water);
    let places: Vec<_> = wet
        .map(|(row, _)| (row.at_cm * M_PER_CM, row.facing))
        .collect();
    let mut samples = lit.solver.samples(&places).into_iter();
    let sample = |medium: &Medium| {
        if *medium == Medium::Water {
            samples.next()
        } else {
            None
        }
    };
    Ok(media.iter().map(sample).collect())
}

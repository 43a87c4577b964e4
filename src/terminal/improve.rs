//! `bommie improve`: what to change of what is there, before anything is bought.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use serde::Serialize;

use super::paper::UnitsArgs;
use super::propose::PaneArg;
use super::solve::{Case, Progress, WaterArgs};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::flow::FlowSetup;
use crate::improve::search::{
    Anew, CoralState, Deed, FullSolve, ImproveOptions, Improvement, Lever, Plan, improve,
};
use crate::scene::Scene;
use crate::storage::make_folder;
use crate::study::Study;
use crate::units::Measure;
use crate::words::Speaker;

#[derive(Args, Debug)]
pub(super) struct ImproveArgs {
    /// Scene file
    scene: PathBuf,
    /// Layout to better; the first if left out
    #[arg(long)]
    layout: Option<String>,
    /// How many different plans
    #[arg(long, default_value_t = 3)]
    count: usize,
    /// What may change; may be given several times. Left out: all but `hang`, `programme` and `glued`
    #[arg(long = "may", value_enum)]
    may: Vec<Change>,
    /// Pane that may carry gear; may be given several times. All but the front
    /// if left out; the back one only in deep tanks
    #[arg(long = "pane", value_enum)]
    panes: Vec<PaneArg>,
    /// Id of a pump, lamp or coral that stays as it is; may be given several times
    #[arg(long = "keep", value_name = "ID")]
    keep: Vec<u32>,
    /// Id of a coral whose corner must stay as calm as it is; may be given
    /// several times
    #[arg(long = "calm", value_name = "ID")]
    calm: Vec<u32>,
    /// Most pumps that may be bought; looked at last
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u8).range(0..=3))]
    buy: u8,
    /// Write each plan as a scene into this folder; the plan is its first layout
    #[arg(long, value_name = "FOLDER")]
    out_dir: Option<PathBuf>,
    #[command(flatten)]
    water: WaterArgs,
    #[command(flatten)]
    units: UnitsArgs,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// Something that may change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Change {
    /// Where pumps blow
    Aim,
    /// How strong pumps are set
    Throttle,
    /// Where pumps hang (see `--pane`)
    Hang,
    /// Pumps that run in turn
    Programme,
    /// How bright lamps are set
    Dim,
    /// How high lamps hang
    Height,
    /// Where corals stand that are not glued
    Place,
    /// Where glued corals stand
    Glued,
}

impl Change {
    fn lever(self) -> Lever {
        match self {
            Self::Aim => Lever::Aim,
            Self::Throttle => Lever::Throttle,
            Self::Hang => Lever::Hang,
            Self::Programme => Lever::Programme,
            Self::Dim => Lever::Dim,
            Self::Height => Lever::Height,
            Self::Place => Lever::Place,
            Self::Glued => Lever::Glued,
        }
    }
}

/// The answer of `improve --json`.
#[derive(Debug, Serialize)]
struct Answer {
    answer_format: u32,
    file: String,
    layout: String,
    corals: usize,
    corals_in_range: usize,
    weighed: usize,
    solved: usize,
    plans: Vec<PlanPart>,
}

#[derive(Debug, Serialize)]
struct PlanPart {
    scene: Option<String>,
    layout: String,
    buys: usize,
    deeds: Vec<DeedPart>,
    corals_in_range_before: usize,
    corals_in_range_after: usize,
    corals_good_before: usize,
    corals_good_after: usize,
    dead_l_before: f64,
    dead_l_after: f64,
    dead_half_width_l_before: f64,
    dead_half_width_l_after: f64,
    ties_with: Vec<usize>,
    corals: Vec<CoralPart>,
    /// What a report finds amiss that it does not now, in words.
    harms: Vec<String>,
    cautions: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(super) struct DeedPart {
    kind: &'static str,
    id: u32,
    from: Vec<f64>,
    to: Vec<f64>,
    pub(super) text: String,
}

#[derive(Debug, Serialize)]
struct CoralPart {
    id: u32,
    name: String,
    before: StatePart,
    after: StatePart,
}

#[derive(Debug, Serialize)]
struct StatePart {
    ppfd_umol: Option<f64>,
    speed_cm_s: Option<f64>,
    light: String,
    flow: String,
    verdict: String,
}

/// What to search for, as asked.
fn options(args: &ImproveArgs, count: usize) -> ImproveOptions {
    let mut options = ImproveOptions {
        count,
        fixed: args.keep.iter().copied().collect(),
        quiet: args.calm.iter().copied().collect(),
        buy_max: args.buy.into(),
        ..ImproveOptions::default()
    };
    if !args.may.is_empty() {
        options.may = args.may.iter().map(|change| change.lever()).collect();
    }
    if !args.panes.is_empty() {
        options.panes = args.panes.iter().map(|pane| pane.pane()).collect();
    }
    options
}

pub(super) fn run(args: &ImproveArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    let (flow_options, runs) = args.water.options()?;
    let first = FlowSetup::new(&case.study, &flow_options)?;
    let device = args.water.placed(first, streams)?.device().clone();
    let count = args.count.clamp(1, 12);
    if let Some(folder) = &args.out_dir {
        let names: Vec<String> = (1..=count).map(plan_file).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        streams.guard.check_in(folder, &names)?;
    }
    let options = options(args, count);
    let full = FullSolve {
        flow: flow_options,
        runs,
        device,
    };
    let solve = |study: &Study, anew: Anew, _: &mut dyn FnMut(f64) -> bool| {
        full.solve((study, &case.measured), anew, &|_| true)
    };
    let found = {
        let progress = Progress::new("search", streams);
        improve(
            (&case.study, &case.measured),
            &options,
            &solve,
            &mut |share| progress.tell(share),
        )?
    };
    let speaker = case.speaker(args.units.system());
    let mut answer = answer(&case, &found, &speaker);
    if let Some(folder) = &args.out_dir {
        make_folder(folder)?;
        for (i, plan) in found.plans.iter().enumerate() {
            let path = folder.join(plan_file(i + 1));
            case.write_scene(&path, &scene_of(&case, plan), streams)?;
            answer.plans[i].scene = Some(path.display().to_string());
        }
    }
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        write_text(&answer, &speaker, streams)?;
    }
    if found.plans.is_empty() {
        let n = answer.corals;
        let why = if answer.corals_in_range == n {
            "all of them are in their ranges already"
        } else {
            "no change that was allowed brings more of them into their ranges"
        };
        writeln!(streams.err, "no plan for {n} corals: {why}")?;
        return Ok(EXIT_GOOD);
    }
    Ok(EXIT_GOOD)
}

/// The file of the plan with this number.
fn plan_file(number: usize) -> String {
    format!("plan-{number}.ron")
}

/// The scene with the plan as its first layout, the others behind it.
fn scene_of(case: &Case, plan: &Plan) -> Scene {
    let mut scene = Scene::clone(case.study.scene());
    let first = scene.layouts.first().map(|layout| layout.name.clone());
    // Readings that named no layout were taken in the one that stood first.
    for reading in &mut scene.readings {
        if reading.layout.is_none() {
            reading.layout.clone_from(&first);
        }
    }
    scene.layouts.insert(0, plan.layout.clone());
    scene
}

fn answer(case: &Case, found: &Improvement, speaker: &Speaker<'_>) -> Answer {
    Answer {
        answer_format: 1,
        file: case.file.clone(),
        layout: case.layout().name.clone(),
        corals: found.before.corals.len(),
        corals_in_range: found.before.in_range(),
        weighed: found.n_weighed,
        solved: found.n_solved,
        plans: found
            .plans
            .iter()
            .map(|plan| plan_part(plan, &found.plans, speaker))
            .collect(),
    }
}

fn plan_part(plan: &Plan, all: &[Plan], speaker: &Speaker<'_>) -> PlanPart {
    let (before, after) = (&plan.before, &plan.after);
    let others = all
        .iter()
        .enumerate()
        .filter(|(_, other)| other.layout.name != plan.layout.name);
    let coral = |now: &CoralState| {
        let then = before.coral(now.id)?;
        Some(CoralPart {
            id: now.id,
            name: now.name.clone(),
            before: state_part(then),
            after: state_part(now),
        })
    };
    PlanPart {
        scene: None,
        layout: plan.layout.name.clone(),
        buys: plan.buys.len(),
        deeds: plan
            .deeds
            .iter()
            .map(|deed| deed_part(deed, speaker))
            .collect(),
        corals_in_range_before: before.in_range(),
        corals_in_range_after: after.in_range(),
        corals_good_before: before.good(),
        corals_good_after: after.good(),
        dead_l_before: before.dead_l,
        dead_l_after: after.dead_l,
        dead_half_width_l_before: before.dead_half_width_l,
        dead_half_width_l_after: after.dead_half_width_l,
        ties_with: others
            .filter(|(_, other)| plan.ties_with(other))
            .map(|(i, _)| i + 1)
            .collect(),
        corals: after.corals.iter().filter_map(coral).collect(),
        harms: plan
            .harms
            .iter()
            .map(|harm| speaker.finding(harm))
            .collect(),
        cautions: plan.cautions.clone(),
    }
}

pub(super) fn deed_part(deed: &Deed, speaker: &Speaker<'_>) -> DeedPart {
    DeedPart {
        kind: deed.kind,
        id: deed.id,
        from: deed.from.clone(),
        to: deed.to.clone(),
        text: deed.text(speaker),
    }
}

fn state_part(state: &CoralState) -> StatePart {
    StatePart {
        ppfd_umol: state.ppfd_umol,
        speed_cm_s: state.speed_cm_s,
        light: state.light.tag().to_owned(),
        flow: state.flow.tag().to_owned(),
        verdict: state.verdict.tag().to_owned(),
    }
}

fn write_text(
    answer: &Answer,
    speaker: &Speaker<'_>,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    let out = &mut streams.out;
    let volume = |l: f64| speaker.number(Measure::Volume, l, 1);
    writeln!(
        out,
        "Layout {:?}: {} of {} corals have the light and flow that they want; {} plans",
        answer.layout,
        answer.corals_in_range,
        answer.corals,
        answer.plans.len()
    )?;
    for (i, plan) in answer.plans.iter().enumerate() {
        let buys = match plan.buys {
            0 => "nothing to buy".to_owned(),
            1 => "one pump to buy".to_owned(),
            n => format!("{n} pumps to buy"),
        };
        writeln!(
            out,
            "\n{:3}. {} -> {} corals in range, dead water {} -> {} {} (+- {} by chance), {buys}",
            i + 1,
            plan.corals_in_range_before,
            plan.corals_in_range_after,
            volume(plan.dead_l_before),
            volume(plan.dead_l_after),
            speaker.unit(Measure::Volume),
            volume(plan.dead_half_width_l_after)
        )?;
        for deed in &plan.deeds {
            writeln!(out, "     - {}", deed.text)?;
        }
        for coral in &plan.corals {
            let (then, now) = (&coral.before, &coral.after);
            if (&then.light, &then.flow) != (&now.light, &now.flow) {
                writeln!(
                    out,
                    "     {} {}: light {} -> {}, flow {} -> {}",
                    coral.id, coral.name, then.light, now.light, then.flow, now.flow
                )?;
            }
        }
        for other in &plan.ties_with {
            writeln!(
                out,
                "     a tie with plan {other}, within what chance allows"
            )?;
        }
        for harm in &plan.harms {
            writeln!(out, "     but: {harm}")?;
        }
        for caution in &plan.cautions {
            writeln!(out, "     ! {caution}")?;
        }
        if let Some(scene) = &plan.scene {
            writeln!(out, "     written to {scene}")?;
        }
    }
    Ok(())
}

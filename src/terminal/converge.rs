//! `bommie converge`: the same tank on finer cells, beside the estimate that
//! everything else stands on.

use std::path::{Path, PathBuf};
use std::time::Instant;

use clap::Args;
use serde::Serialize;

use super::answer::{FlowPart, Solved, figures_part};
use super::kept::KeepArgs;
use super::paper::{PaperArgs, UnitsArgs, no_wishes, with_plan};
use super::solve::{Case, WaterArgs, felt_at};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::advice::flow_figures;
use crate::flow::{Agreement, BLOCK_M, FlowField, block_speed_m_s, blocks};
use crate::improve::finer::above_m;
use crate::plan::{Levels, Picture, View, WashKind, picture_scale};
use crate::units::{M_PER_CM, Measure, UnitSystem};
use crate::words::Speaker;

/// Cells of the finer estimate if none are asked for, in cm.
const FINE_CM: f64 = 1.0;

/// Most sizes of cells at once.
const SIZES_MAX: usize = 6;

#[derive(Args, Debug)]
pub(super) struct ConvergeArgs {
    /// Scene file
    scene: PathBuf,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    /// Edges of the finer cells, in cm, such as 1,0.5. Half the edge takes some
    /// sixteen times as long: cells of 0.5 cm are for a graphics card, or a night
    #[arg(long, value_name = "CM,CM", value_delimiter = ',')]
    finer_cm: Vec<f64>,
    #[command(flatten)]
    water: WaterArgs,
    #[command(flatten)]
    keep: KeepArgs,
    #[command(flatten)]
    units: UnitsArgs,
    /// Also write the table and pictures of the water on each size into a folder
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// Answer in JSON
    #[arg(long)]
    json: bool,
}

/// The answer of `converge --json`.
#[derive(Debug, Serialize)]
struct Answer {
    answer_format: u32,
    file: String,
    layout: String,
    /// Edge of the cubes in which places are compared.
    block_cm: f64,
    blocks: usize,
    /// The estimate of a report first, the finest last.
    estimates: Vec<EstimatePart>,
    corals: Vec<CoralPart>,
}

#[derive(Debug, Serialize)]
struct EstimatePart {
    cell_cm: f64,
    settled: bool,
    runs: usize,
    computed_on: String,
    seconds: f64,
    flow: FlowPart,
    /// How it agrees with the finest; not given for that itself.
    against_finest: Option<AgreementPart>,
}

#[derive(Clone, Copy, Debug, Serialize)]
struct AgreementPart {
    rank: f64,
    slowest_overlap: f64,
    ln_ratio: f64,
}

/// What reaches a coral, on each size of cells: just above it.
#[derive(Debug, Serialize)]
struct CoralPart {
    id: u32,
    name: String,
    /// Median of the felt speed.
    felt_cm_s: Vec<Option<f64>>,
    /// Whether the finest has it within the 80 % interval of the first.
    within: Option<bool>,
}

/// One size of cells, solved.
struct Sized {
    field: FlowField,
    seconds: f64,
}

pub(super) fn run(args: &ConvergeArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    let sizes = sizes(args)?;
    if let Some(folder) = &args.out {
        let pictures = sizes
            .iter()
            .enumerate()
            .flat_map(|(k, cm)| picture_names(k, *cm));
        let all: Vec<String> = pictures.chain(["converge.csv".to_owned()]).collect();
        let all: Vec<&str> = all.iter().map(String::as_str).collect();
        streams.guard.check_in(folder, &all)?;
    }
    let mut solved = Vec::new();
    for (k, cell_cm) in sizes.iter().enumerate() {
        let start = Instant::now();
        let water = match cell_cm {
            Some(cell_cm) if k > 0 => args.water.checked_on(*cell_cm),
            _ => args.water,
        };
        let field = case.flow_kept(false, (&water, &args.keep), streams)?;
        solved.push(Sized {
            field,
            seconds: start.elapsed().as_secs_f64(),
        });
    }
    let answer = answer(&case, &solved);
    if let Some(folder) = &args.out {
        crate::storage::make_folder(folder)?;
        let table = folder.join("converge.csv");
        streams.guard.write(&table, csv(&answer).as_bytes())?;
        for ((k, cell_cm), sized) in sizes.iter().enumerate().zip(solved) {
            let names = picture_names(k, *cell_cm);
            write_pictures(&case, sized.field, (folder, &names), streams)?;
        }
    }
    if args.json {
        serde_json::to_writer_pretty(&mut *streams.out, &answer)?;
        writeln!(streams.out)?;
    } else {
        write_text(&answer, &case.speaker(args.units.system()), streams)?;
    }
    Ok(EXIT_GOOD)
}

/// The cells of a report first, then finer ones, the finest last.
fn sizes(args: &ConvergeArgs) -> Result<Vec<Option<f64>>, TerminalError> {
    let bad = |value: f64, limit| TerminalError::BadOption {
        option: "--finer-cm",
        value,
        limit,
    };
    let mut finer = args.finer_cm.clone();
    if finer.is_empty() {
        finer.push(FINE_CM);
    }
    if finer.len() > SIZES_MAX {
        return Err(bad(finer.len() as f64, "six sizes at most"));
    }
    if let Some(value) = finer.iter().find(|cm| !(0.2..=20.0).contains(*cm)) {
        return Err(bad(*value, "0.2 to 20 cm"));
    }
    finer.sort_by(|a, b| b.total_cmp(a));
    finer.dedup();
    Ok(std::iter::once(args.water.cell_cm())
        .chain(finer.into_iter().map(Some))
        .collect())
}

fn answer(case: &Case, solved: &[Sized]) -> Answer {
    let places = blocks(&case.study);
    let speeds: Vec<Vec<Option<f64>>> = (solved.iter())
        .map(|of| (places.iter().map(|at| block_speed_m_s(&of.field, *at))).collect())
        .collect();
    let limits = case.study.limits();
    let last = solved.len().saturating_sub(1);
    let part = |(k, of): (usize, &Sized)| {
        let figures = flow_figures(&of.field, &case.study.scene().tank, limits);
        EstimatePart {
            cell_cm: of.field.grid.cell_m / M_PER_CM,
            settled: of.field.settling.settled,
            runs: of.field.n_runs,
            computed_on: of.field.computed_on.to_string(),
            seconds: of.seconds,
            flow: figures_part(&figures, limits),
            against_finest: (k < last)
                .then(|| against(&speeds[k], &speeds[last]))
                .flatten(),
        }
    };
    Answer {
        answer_format: 1,
        file: case.file.clone(),
        layout: case.layout().name.clone(),
        block_cm: BLOCK_M / M_PER_CM,
        blocks: places.len(),
        estimates: solved.iter().enumerate().map(part).collect(),
        corals: corals(case, solved),
    }
}

/// Agreement where both have water.
fn against(ours: &[Option<f64>], finest: &[Option<f64>]) -> Option<AgreementPart> {
    let of = Agreement::where_known(ours, finest)?;
    Some(AgreementPart {
        rank: of.rank,
        slowest_overlap: of.slowest_overlap,
        ln_ratio: of.ln_ratio,
    })
}

fn corals(case: &Case, solved: &[Sized]) -> Vec<CoralPart> {
    let speaker = case.speaker(UnitSystem::Metric);
    (case.layout().corals.iter())
        .map(|coral| {
            let at_m = above_m(coral);
            let felt: Vec<_> = solved.iter().map(|of| felt_at(&of.field, at_m)).collect();
            let finest = felt.last().copied().flatten();
            let first = felt.first().copied().flatten();
            let within = first.zip(finest).map(|(first, finest)| {
                let [low, high] = first.interval_m_s();
                (low..=high).contains(&finest.median_m_s())
            });
            CoralPart {
                id: coral.id,
                name: speaker.bare_name(coral.id),
                felt_cm_s: (felt.iter())
                    .map(|felt| felt.map(|felt| felt.median_m_s() / M_PER_CM))
                    .collect(),
                within,
            }
        })
        .collect()
}

/// Names of the pictures of one size: seen from above and through the front.
fn picture_names(k: usize, cell_cm: Option<f64>) -> [String; 2] {
    let size = match cell_cm {
        Some(cm) if k > 0 => format!("{cm}cm"),
        _ => "report".to_owned(),
    };
    ["top", "side"].map(|view| format!("flow-{}-{size}-{view}.svg", k + 1))
}

fn write_pictures(
    case: &Case,
    field: FlowField,
    (folder, names): (&Path, &[String; 2]),
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    let solved = Solved {
        flow: Some(field),
        lit: None,
        notes: Vec::new(),
    };
    for (view, name) in [View::Top, View::Side].into_iter().zip(names) {
        let picture = Picture {
            view,
            wash: Some(WashKind::Flow),
            level_cm: Levels::of_layout(case.study.scene(), case.layout()).of(view),
            scale: picture_scale(case.study.scene()),
        };
        let wishes = no_wishes(PaperArgs::default());
        let drawing = with_plan(case, &solved, &wishes, |input| {
            crate::plan::picture(input, &picture)
        });
        let drawing = drawing.ok_or(TerminalError::NoPicture("its field is not there"))?;
        let path = folder.join(name);
        streams.guard.write(&path, drawing.svg().as_bytes())?;
    }
    Ok(())
}

fn csv(answer: &Answer) -> String {
    let head = "cell_cm,runs,settled,computed_on,seconds,mean_speed_cm_s,slowest_tenth_cm_s,dead_l,\
                dead_half_width_l,rank,slowest_overlap,ln_ratio";
    let row = |of: &EstimatePart| {
        let flow = &of.flow;
        let against = of.against_finest.map_or_else(
            || ",,".to_owned(),
            |a| format!("{:.3},{:.3},{:.3}", a.rank, a.slowest_overlap, a.ln_ratio),
        );
        format!(
            "{:.3},{},{},{},{:.1},{:.3},{:.3},{:.3},{:.3},{against}",
            of.cell_cm,
            of.runs,
            of.settled,
            crate::advice::csv_field(&of.computed_on),
            of.seconds,
            flow.mean_speed_cm_s,
            flow.slowest_tenth_cm_s,
            flow.dead_l,
            flow.dead_share_half_width * flow.water_l,
        )
    };
    let rows = std::iter::once(head.to_owned()).chain(answer.estimates.iter().map(row));
    let lines: Vec<String> = rows.chain([String::new()]).collect();
    lines.join("\n")
}

fn write_text(
    answer: &Answer,
    speaker: &Speaker<'_>,
    streams: &mut Streams<'_>,
) -> Result<(), TerminalError> {
    let speed = |cm_s: f64| speaker.value(Measure::Speed, cm_s, 1);
    let volume = |l: f64| speaker.value(Measure::Volume, l, 1);
    let row = |what: &str, cell: &dyn Fn(&EstimatePart) -> String| {
        let cells = answer
            .estimates
            .iter()
            .map(|of| format!("{:>18}", cell(of)));
        format!("{what:<22}{}", cells.collect::<String>())
    };
    let agreement = |pick: fn(&AgreementPart) -> f64| {
        move |of: &EstimatePart| {
            let of = of.against_finest.as_ref();
            of.map_or_else(|| "-".to_owned(), |of| format!("{:.2}", pick(of)))
        }
    };
    let lines = [
        row("cells", &|of| speaker.value(Measure::Length, of.cell_cm, 2)),
        row("took", &|of| format!("{:.0} s", of.seconds)),
        row("settled", &|of| {
            if of.settled { "yes" } else { "no" }.to_owned()
        }),
        row("mean speed", &|of| speed(of.flow.mean_speed_cm_s)),
        row("slowest tenth below", &|of| {
            speed(of.flow.slowest_tenth_cm_s)
        }),
        row("dead water", &|of| volume(of.flow.dead_l)),
        row("  give or take", &|of| {
            volume(of.flow.dead_share_half_width * of.flow.water_l)
        }),
        row("order of places", &agreement(|of| of.rank)),
        row("slowest quarter alike", &agreement(|of| of.slowest_overlap)),
        row("speed, ratio", &agreement(|of| of.ln_ratio.exp())),
    ];
    let out = &mut streams.out;
    writeln!(
        out,
        "Layout {:?} on finer cells; the first column is what a report says\n",
        answer.layout
    )?;
    for line in lines {
        writeln!(out, "{}", line.trim_end())?;
    }
    writeln!(
        out,
        "\nOrder, slowest quarter and ratio are against the finest, in {} cubes of {}. What is \
         dead goes by chances that were fitted on cells of 1 to 2 cm; on finer ones they are \
         stretched.",
        answer.blocks,
        speaker.value(Measure::Length, answer.block_cm, 0)
    )?;
    if !answer.corals.is_empty() {
        writeln!(out, "\nSpeed felt at the corals")?;
    }
    for coral in &answer.corals {
        let told = coral.felt_cm_s.iter().map(|felt| {
            let felt = felt.map_or_else(|| "-".to_owned(), speed);
            format!("{felt:>18}")
        });
        let name: String = coral.name.chars().take(21).collect();
        let outside = match coral.within {
            Some(false) => "  outside the report's range",
            _ => "",
        };
        writeln!(out, "{name:<22}{}{outside}", told.collect::<String>())?;
    }
    Ok(())
}

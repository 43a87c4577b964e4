//! `bommie draw`: one view of a layout as SVG or PNG, to scale.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::answer::Solved;
use super::paper::{PaperArgs, no_wishes, with_plan};
use super::solve::{Case, SURFACE_M, WaterArgs};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::light::LightOptions;
use crate::plan::{Levels, Picture, View, WashKind, picture_scale};

const MM_PER_INCH: f64 = 25.4;

#[derive(Args, Debug)]
pub(super) struct DrawArgs {
    /// Scene file
    scene: PathBuf,
    /// File to write: FILE.svg, or FILE.png
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Dots an inch of a PNG
    #[arg(long, default_value_t = 200.0)]
    dpi: f64,
    /// Layout to look at; the first if left out
    #[arg(long)]
    layout: Option<String>,
    /// Which way to look
    #[arg(long, value_enum, default_value_t = ViewName::Top)]
    view: ViewName,
    /// What colors the view
    #[arg(long, value_enum, default_value_t = WashName::None)]
    wash: WashName,
    /// Where the wash is cut, in cm: height (top), distance from the front
    /// glass (side) or from the left glass (end)
    #[arg(long)]
    level_cm: Option<f64>,
    /// How many times smaller than the tank; chosen by the tank if left out
    #[arg(long)]
    scale: Option<f64>,
    #[command(flatten)]
    water: WaterArgs,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum ViewName {
    Top,
    Side,
    End,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum WashName {
    None,
    Flow,
    Light,
}

pub(super) fn run(args: &DrawArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let case = Case::open(&args.scene, args.layout.as_deref(), streams)?;
    let view = match args.view {
        ViewName::Top => View::Top,
        ViewName::Side => View::Side,
        ViewName::End => View::End,
    };
    let picture = Picture {
        view,
        wash: match args.wash {
            WashName::None => None,
            WashName::Flow => Some(WashKind::Flow),
            WashName::Light => Some(WashKind::Light),
        },
        level_cm: level_cm(args, &case, view)?,
        scale: scale(args, &case)?,
    };
    streams.guard.check(&args.out)?;
    let mut solved = Solved {
        flow: None,
        lit: None,
        notes: Vec::new(),
    };
    match picture.wash {
        Some(WashKind::Flow) => solved.flow = Some(case.flow(false, &args.water, streams)?),
        Some(WashKind::Light) => {
            solved.lit = Some(case.light(&LightOptions::default(), Some(SURFACE_M), streams)?);
        }
        None => {}
    }
    let wishes = no_wishes(PaperArgs::default());
    let drawing = with_plan(&case, &solved, &wishes, |input| {
        crate::plan::picture(input, &picture)
    });
    let drawing = drawing.ok_or(TerminalError::NoPicture("its field is not there"))?;
    let bytes = if is_png(&args.out) {
        drawing.png(args.dpi / MM_PER_INCH)?
    } else {
        drawing.svg().into_bytes()
    };
    streams.guard.write(&args.out, &bytes)?;
    writeln!(
        streams.err,
        "written: {} at 1:{}",
        args.out.display(),
        picture.scale
    )?;
    Ok(EXIT_GOOD)
}

fn is_png(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    ending.is_some_and(|ending| ending.eq_ignore_ascii_case("png"))
}

fn scale(args: &DrawArgs, case: &Case) -> Result<f64, TerminalError> {
    match args.scale {
        None => Ok(picture_scale(case.study.scene())),
        Some(scale) if (1.0..=200.0).contains(&scale) => Ok(scale),
        Some(value) => Err(TerminalError::BadOption {
            option: "--scale",
            value,
            limit: "1 to 200",
        }),
    }
}

fn level_cm(args: &DrawArgs, case: &Case, view: View) -> Result<f64, TerminalError> {
    let tank = &case.study.scene().tank;
    let most_cm = match view {
        View::Top => tank.water_cm,
        View::Side => tank.width_cm,
        View::End => tank.length_cm,
    };
    match args.level_cm {
        None => Ok(Levels::of_layout(case.study.scene(), case.layout()).of(view)),
        Some(level_cm) if (0.0..=most_cm).contains(&level_cm) => Ok(level_cm),
        Some(value) => Err(TerminalError::BadOption {
            option: "--level-cm",
            value,
            limit: "a place within the water",
        }),
    }
}

//! `bommie booklet`: what to do on moving day, step by step, as a PDF to print.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::paper::{FileKind, PaperArgs, UnitsArgs, bytes};
use super::solve::{Case, SURFACE_M};
use super::{EXIT_GOOD, Streams, TerminalError};
use crate::advice;
use crate::light::LightOptions;
use crate::plan::{BookletInput, Document, Held};

#[derive(Args, Debug)]
pub(super) struct BookletArgs {
    /// Scene file
    scene: PathBuf,
    /// Layout that is in the tank now
    from: String,
    /// Layout to be built
    to: String,
    /// File to write: FILE.pdf
    #[arg(long, value_name = "FILE.pdf")]
    out: PathBuf,
    /// How the sheets are held
    #[arg(long, value_enum, default_value_t = HeldName::Upright)]
    held: HeldName,
    #[command(flatten)]
    paper: PaperArgs,
    #[command(flatten)]
    units: UnitsArgs,
    /// Leave out how corals are brought to their new light
    #[arg(long)]
    no_light: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum HeldName {
    /// On the short side
    Upright,
    /// On the long side
    Across,
}

pub(super) fn run(args: &BookletArgs, streams: &mut Streams<'_>) -> Result<u8, TerminalError> {
    let from = Case::open(&args.scene, Some(&args.from), streams)?;
    let to = from.on_layout(&args.to)?;
    streams.guard.check(&args.out)?;
    let mut steps = advice::moves(&from.study, &to.study);
    if !args.no_light {
        steps = with_light(&from, &to, steps, streams)?;
    }
    let document = Document::booklet(&BookletInput {
        scene: from.study.scene(),
        from: from.layout(),
        to: to.layout(),
        steps: &steps,
        paper: args.paper.paper(),
        held: match args.held {
            HeldName::Upright => Held::Upright,
            HeldName::Across => Held::Across,
        },
        units: args.units.system(),
    });
    let bytes = bytes(FileKind::Pdf, &document)?;
    streams.guard.write(&args.out, &bytes)?;
    let (n_steps, path) = (steps.len(), args.out.display());
    writeln!(streams.err, "written: {path}, steps: {n_steps}")?;
    Ok(EXIT_GOOD)
}

/// The steps with what the change of light asks of each coral.
fn with_light(
    from: &Case,
    to: &Case,
    steps: Vec<advice::Move>,
    streams: &mut Streams<'_>,
) -> Result<Vec<advice::Move>, TerminalError> {
    let options = LightOptions::default();
    let mut solved = Vec::new();
    for case in [from, to] {
        solved.push(super::answer::Solved {
            flow: None,
            lit: Some(case.light(&options, Some(SURFACE_M), streams)?),
            notes: Vec::new(),
        });
    }
    let fates = super::answer::with_advice(from, &solved[0], |one| {
        super::answer::with_advice(to, &solved[1], |other| advice::compare(one, other).corals)
    });
    Ok(advice::with_light_steps(steps, &fates))
}

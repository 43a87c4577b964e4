//! Plans and comparisons as files.

use std::path::Path;

use clap::{Args, ValueEnum};

use super::TerminalError;
use super::answer::{Solved, with_advice};
use super::solve::Case;
use crate::advice::{self, Berth, BerthFilters};
use crate::catalog::Entry;
use crate::plan::{BerthList, Document, Paper, PlanInput, Way};
use crate::storage::{WriteGuard, make_folder};
use crate::units::UnitSystem;

/// Places of an entry that a plan names.
const BERTHS: usize = 5;

/// Paper to print on.
#[derive(Args, Clone, Copy, Debug)]
pub(super) struct PaperArgs {
    /// Paper of the plan
    #[arg(long, value_enum, default_value_t = PaperName::A4)]
    paper: PaperName,
    #[command(flatten)]
    pub(super) units: UnitsArgs,
    /// Add the top view at full size in tiles, to lay on the lid (PDF)
    #[arg(long)]
    tiles: bool,
}

/// Units of all values in words, tables and drawings.
#[derive(Args, Clone, Copy, Debug, Default)]
pub(super) struct UnitsArgs {
    /// Units of the words and drawings; JSON numbers are in cm, L and kg always
    #[arg(long, value_enum, default_value_t = UnitsName::Metric)]
    units: UnitsName,
}

impl UnitsArgs {
    /// The units asked for.
    pub(super) fn system(self) -> UnitSystem {
        match self.units {
            UnitsName::Metric => UnitSystem::Metric,
            UnitsName::Imperial => UnitSystem::Us,
        }
    }
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum UnitsName {
    /// cm, L, L/h, cm/s, kg, °C
    #[default]
    Metric,
    /// in, US gallons, gph, in/s, lb, °F
    Imperial,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum PaperName {
    A4,
    Letter,
}

/// What a plan is asked to hold besides the layout.
pub(super) struct Wishes<'a> {
    /// The layout to get to, with the light there.
    pub(super) moves_to: Option<(&'a Case, &'a Solved)>,
    pub(super) entries: Vec<&'a Entry>,
    pub(super) paper: PaperArgs,
}

/// What a document is written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FileKind {
    Pdf,
    Html,
}

/// What a file's name asks for; none for a folder.
pub(super) fn kind_of(path: &Path) -> Option<FileKind> {
    let ending = path.extension()?.to_str()?.to_lowercase();
    match ending.as_str() {
        "pdf" => Some(FileKind::Pdf),
        "html" | "htm" => Some(FileKind::Html),
        _ => None,
    }
}

pub(super) fn bytes(kind: FileKind, document: &Document) -> Result<Vec<u8>, TerminalError> {
    Ok(match kind {
        FileKind::Pdf => document.pdf()?,
        FileKind::Html => document.html().into_bytes(),
    })
}

/// A file to be, by its name in a folder.
pub(super) type NamedFile = (String, Vec<u8>);

/// Whether the answer may go to `path` later: a document, or a folder that
/// will hold `names` among others. Asked before minutes of work.
pub(super) fn check_out(
    guard: &WriteGuard,
    path: &Path,
    names: &[&str],
) -> Result<(), TerminalError> {
    match kind_of(path) {
        Some(_) => guard.check(path)?,
        None => guard.check_in(path, names)?,
    }
    Ok(())
}

/// Writes all `files` into a folder, or none where one may not be written.
pub(super) fn write_all(
    guard: &WriteGuard,
    folder: &Path,
    files: &[NamedFile],
) -> Result<(), TerminalError> {
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    guard.check_in(folder, &names)?;
    make_folder(folder)?;
    for (name, bytes) in files {
        guard.write(&folder.join(name), bytes)?;
    }
    Ok(())
}

/// Hands `use_it` what a plan is made of.
pub(super) fn with_plan<R>(
    case: &Case,
    solved: &Solved,
    wishes: &Wishes<'_>,
    use_it: impl FnOnce(&PlanInput<'_>) -> R,
) -> R {
    with_advice(case, solved, |advice| {
        let findings = super::answer::findings(case, solved, advice);
        let berths: Vec<(&Entry, Vec<Berth>)> = wishes
            .entries
            .iter()
            .map(|entry| {
                let filters = BerthFilters::default();
                (*entry, advice::berths(advice, entry, BERTHS, &filters))
            })
            .collect();
        let lists: Vec<BerthList<'_>> = berths
            .iter()
            .map(|(entry, berths)| BerthList { entry, berths })
            .collect();
        let input = PlanInput {
            advice,
            solver: solved.lit.as_ref().map(|lit| &lit.solver),
            findings: &findings,
            berths: &lists,
            way: None,
            notes: &solved.notes,
            paper: wishes.paper.paper(),
            units: wishes.paper.units.system(),
            with_tiles: wishes.paper.tiles,
            levels: None,
        };
        match wishes.moves_to {
            Some((other, solved)) => with_advice(other, solved, |other| {
                use_it(&PlanInput {
                    way: Some(Way {
                        other,
                        is_from: false,
                    }),
                    ..input
                })
            }),
            None => use_it(&input),
        }
    })
}

/// Nothing besides the layout, on A4.
pub(super) fn no_wishes(paper: PaperArgs) -> Wishes<'static> {
    Wishes {
        moves_to: None,
        entries: Vec::new(),
        paper,
    }
}

impl PaperArgs {
    /// The paper.
    pub(super) fn paper(self) -> Paper {
        match self.paper {
            PaperName::A4 => Paper::A4,
            PaperName::Letter => Paper::Letter,
        }
    }
}

impl Default for PaperArgs {
    fn default() -> Self {
        Self {
            paper: PaperName::A4,
            units: UnitsArgs::default(),
            tiles: false,
        }
    }
}

/// The plan of a layout.
pub(super) fn plan(case: &Case, solved: &Solved, wishes: &Wishes<'_>) -> Document {
    with_plan(case, solved, wishes, Document::new)
}

/// Two layouts side by side.
pub(super) fn comparison(
    [first, second]: [&Case; 2],
    [one, two]: [&Solved; 2],
    paper: PaperArgs,
) -> Document {
    let wishes = no_wishes(paper);
    with_plan(first, one, &wishes, |first| {
        with_plan(second, two, &wishes, |second| {
            Document::comparison(first, second)
        })
    })
}

/// Every view, bare and with each wash that there is, as SVG.
pub(super) fn views(case: &Case, solved: &Solved) -> Vec<NamedFile> {
    let wishes = no_wishes(PaperArgs::default());
    let pictures = with_plan(case, solved, &wishes, crate::plan::pictures);
    pictures
        .into_iter()
        .map(|(name, drawing)| (format!("{name}.svg"), drawing.svg().into_bytes()))
        .collect()
}

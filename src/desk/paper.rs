//! The plan on paper as work on the desk: it waits until the estimates are
//! ready, is made beside the window, and is written whole or not at all.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::advising::Outlook;
use super::{Desk, Notice, NoticeKind, Subject};
use crate::advice::{self, AdviceInput, BerthFilters, Finding};
use crate::job::{Job, JobError, Update};
use crate::plan::{self, BerthList, BookletInput, Document, Held, Levels, Paper, PlanInput, Way};
use crate::storage::{make_folder, write_bytes};
use crate::units::UnitSystem;

/// Berths of an entry that a plan names.
const BERTHS: usize = 5;
/// Of pictures that are files of their own: 150 dots an inch.
const DOTS_PER_MM: f64 = 150.0 / 25.4;

/// What is put on paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PaperKind {
    /// The plan of the shown layout.
    #[default]
    Plan,
    /// The shown layout and the one that it is set against, from that one on.
    Comparison,
    /// Every drawing and table of the plan as a file of its own.
    Parts,
    /// What to do on moving day, from the layout that the tank is in now.
    MovingDay,
}

/// A wish for something on paper.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PaperWish {
    /// What.
    pub kind: PaperKind,
    /// Where to: a file that ends in `.html` or else is a PDF; a folder for
    /// the parts.
    pub path: PathBuf,
    /// Paper to print on.
    pub paper: Paper,
    /// How the sheets of a booklet are held.
    pub held: Held,
    /// Whether tiles at full size are added, to lay on the lid.
    pub with_tiles: bool,
    /// The layout that the tank is in now: the plan leads from there.
    pub from: Option<usize>,
    /// The catalog entry whose best places are named.
    pub berths_for: Option<String>,
}

/// Where something for paper stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PaperStatus {
    /// Nothing is wanted.
    #[default]
    Idle,
    /// It waits for the estimates.
    Waiting,
    /// It is being made.
    Making,
}

/// What is wanted, and the job that makes it.
#[derive(Default)]
pub(super) struct PaperWork {
    /// With the layout that it is about.
    wish: Option<(usize, PaperWish)>,
    job: Option<Job<PathBuf>>,
}

/// All that a job needs.
struct PaperTask {
    wish: PaperWish,
    shown: Outlook,
    other: Option<Outlook>,
    findings: Arc<Vec<Finding>>,
    notes: Vec<String>,
    /// Where the views are cut on the screen.
    levels: Levels,
    units: UnitSystem,
}

impl Desk {
    /// Wants something on paper, in place of an earlier wish that still waits.
    pub(super) fn put_on_paper(&mut self, wish: PaperWish) {
        self.paper.wish = Some((self.layout_idx(), wish));
        self.results.paper = PaperStatus::Waiting;
    }

    /// Forgets what still waits.
    pub(super) fn stop_paper(&mut self) {
        self.paper.wish = None;
    }

    /// Starts what waits once nothing is being estimated, and takes in what
    /// was made. Call when the estimates have been tended.
    pub(super) fn tend_paper(&mut self) {
        if let Some(job) = &mut self.paper.job {
            let updates = job.poll();
            if job.is_over() {
                self.paper.job = None;
            }
            for update in updates {
                match update {
                    Update::Partial(path) => {
                        let text = format!("On paper: {}", path.display());
                        self.tell(Notice::new(NoticeKind::Done, text).about(Subject::Paper));
                    }
                    Update::Failed(reason) => {
                        self.fail(
                            Subject::Paper,
                            "The plan could not be put on paper",
                            reason.to_string(),
                        );
                    }
                    Update::Done => {}
                }
            }
        }
        let shown = self.layout_idx();
        if self
            .paper
            .wish
            .as_ref()
            .is_some_and(|(idx, _)| *idx != shown)
        {
            self.paper.wish = None;
            let text = "The plan that waited was given up, since another layout is shown now";
            self.tell(Notice::new(NoticeKind::Warning, text).about(Subject::Paper));
        }
        let may_start = self.paper.job.is_none() && !self.is_estimating();
        if may_start && let Some((_, wish)) = self.paper.wish.take() {
            let task = self.paper_task(wish);
            let notify = Arc::clone(&self.notify);
            let started = Job::start("paper", notify, move |context| {
                make(&task)?;
                context.publish(task.wish.path);
                Ok(())
            });
            match started {
                Ok(job) => self.paper.job = Some(job),
                Err(error) => self.fail(
                    Subject::Paper,
                    "The plan could not be put on paper",
                    error.to_string(),
                ),
            }
        }
        self.results.paper = match (&self.paper.job, &self.paper.wish) {
            (Some(_), _) => PaperStatus::Making,
            (None, Some(_)) => PaperStatus::Waiting,
            (None, None) => PaperStatus::Idle,
        };
    }

    fn paper_task(&mut self, wish: PaperWish) -> PaperTask {
        let other = match wish.kind {
            PaperKind::Plan | PaperKind::MovingDay => {
                wish.from.filter(|idx| *idx != self.layout_idx())
            }
            PaperKind::Comparison => self.compared(),
            PaperKind::Parts => None,
        };
        let mut shown = self.outlook();
        // A slice, or what is of an earlier scene, is no ground for a plan.
        shown.flow = self
            .results
            .tank
            .clone()
            .filter(|_| !self.results.tank_is_old());
        let mut notes = Vec::new();
        if self.results.light_is_old() {
            (shown.light, shown.solver) = (None, None);
        }
        if let super::FlowStatus::Failed(reason) = self.results.flow_status() {
            notes.push(format!("No flow in this plan: {reason}"));
        }
        if let super::LightStatus::Failed(reason) = self.results.light_status() {
            notes.push(format!("No light in this plan: {reason}"));
        }
        let months = self.settings.months;
        if months > 0.0 {
            notes.push(format!(
                "Corals are as they will have grown in {months:.0} months at the usual pace."
            ));
        }
        PaperTask {
            other: other.map(|idx| self.outlook_on(idx)),
            wish,
            shown,
            findings: Arc::clone(&self.results.findings),
            notes,
            levels: Levels {
                top_cm: self.levels.height_cm,
                side_cm: self.levels.depth_cm,
                end_cm: self.levels.across_cm,
            },
            units: self.settings.units,
        }
    }
}

/// Makes and writes what is wanted.
fn make(task: &PaperTask) -> Result<(), JobError> {
    task.shown.with_input(|shown| match &task.other {
        Some(other) => other.with_input(|other| make_of(task, shown, Some(other))),
        None => make_of(task, shown, None),
    })
}

fn make_of(
    task: &PaperTask,
    shown: &AdviceInput<'_>,
    other: Option<&AdviceInput<'_>>,
) -> Result<(), JobError> {
    let wish = &task.wish;
    let entry = (wish.berths_for.as_ref()).and_then(|id| shown.catalog.entry(id));
    let berths = entry.map(|entry| {
        let found = advice::berths(shown, entry, BERTHS, &BerthFilters::default());
        (entry, found)
    });
    let lists: Vec<BerthList<'_>> = berths
        .iter()
        .map(|(entry, berths)| BerthList { entry, berths })
        .collect();
    let input = PlanInput {
        advice: shown,
        solver: task.shown.solver.as_deref(),
        findings: &task.findings,
        berths: &lists,
        way: None,
        notes: &task.notes,
        paper: wish.paper,
        units: task.units,
        with_tiles: wish.with_tiles,
        levels: Some(task.levels),
    };
    match (wish.kind, other) {
        (PaperKind::Comparison | PaperKind::MovingDay, None) => Err(JobError::NothingToCompare),
        (PaperKind::Comparison, Some(other)) => {
            let solver = task.other.as_ref().and_then(|look| look.solver.as_deref());
            let before = PlanInput {
                advice: other,
                solver,
                findings: &[],
                berths: &[],
                ..input
            };
            write(&wish.path, &Document::comparison(&before, &input))
        }
        (PaperKind::Plan, other) => {
            let way = other.map(|other| Way {
                other,
                is_from: true,
            });
            write(&wish.path, &Document::new(&PlanInput { way, ..input }))
        }

        (PaperKind::MovingDay, Some(other)) => {
            let steps = advice::moves(other.study, shown.study);
            let fates = advice::compare(other, shown).corals;
            let booklet = BookletInput {
                scene: shown.scene,
                from: other.layout,
                to: shown.layout,
                steps: &advice::with_light_steps(steps, &fates),
                paper: wish.paper,
                held: wish.held,
                units: input.units,
            };
            write(&wish.path, &Document::booklet(&booklet))
        }
        (PaperKind::Parts, _) => write_parts(&wish.path, &input),
    }
}

fn write(path: &Path, document: &Document) -> Result<(), JobError> {
    let is_page = path.extension().is_some_and(|ending| {
        ["html", "htm"]
            .iter()
            .any(|web| ending.eq_ignore_ascii_case(web))
    });
    let bytes = if is_page {
        document.html().into_bytes()
    } else {
        document.pdf()?
    };
    Ok(write_bytes(path, &bytes)?)
}

/// Drawings as SVG and PNG, tables as CSV.
fn write_parts(folder: &Path, input: &PlanInput<'_>) -> Result<(), JobError> {
    make_folder(folder)?;
    let put = |name: String, bytes: &[u8]| write_bytes(&folder.join(name), bytes);
    for (name, drawing) in plan::pictures(input) {
        put(format!("{name}.svg"), drawing.svg().as_bytes())?;
        let png = drawing.png(DOTS_PER_MM)?;
        put(format!("{name}.png"), &png)?;
    }
    for (name, table) in Document::new(input).tables() {
        put(format!("{name}.csv"), table.csv().as_bytes())?;
    }
    Ok(())
}

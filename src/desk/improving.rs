//! The search for what to change before anything is bought, as work on the
//! desk. Each plan is a layout that the keeper may add.

use std::sync::Arc;

use super::water::{device_of, kept_to};
use super::{Desk, Notice, NoticeKind, SearchStatus, Subject};
use crate::flow::FlowOptions;
use crate::improve::search::{Anew, FullSolve, ImproveError, ImproveOptions, Improvement, improve};
use crate::job::{Job, Update};
use crate::scene::{Layout, Tank};
use crate::study::Study;

/// The running search, and what the last one was about.
#[derive(Default)]
pub(super) struct Improving {
    job: Option<Job<Improvement>>,
    about: Option<(Tank, Layout)>,
    options: ImproveOptions,
}

impl Desk {
    /// Starts the search in the layout that is shown; a running one is left to
    /// finish.
    pub(super) fn start_improving(&mut self, options: ImproveOptions) {
        if self.improving.job.is_some() {
            return;
        }
        let (study, measured) = (Arc::clone(self.study()), Arc::clone(&self.measured));
        self.improving.options = options.clone();
        let started = Job::start("improve", Arc::clone(&self.notify), move |context| {
            let full = FullSolve {
                flow: kept_to(&study, &FlowOptions::default()),
                device: device_of(&study),
                ..FullSolve::default()
            };
            let solve = |study: &Study, anew: Anew, _: &mut dyn FnMut(f64) -> bool| {
                full.solve((study, &measured), anew, &|_| !context.is_cancelled())
            };
            let go_on = &mut |share| context.progress(share);
            match improve((&study, &measured), &options, &solve, go_on) {
                Ok(found) => context.publish(found),
                Err(ImproveError::Stopped) => {}
                // A full solve that was told to stop has no answer either.
                Err(_) if context.is_cancelled() => {}
                Err(error) => return Err(error.into()),
            }
            Ok(())
        });
        match started {
            Ok(job) => {
                self.improving.job = Some(job);
                self.improving.about = Some((self.scene().tank.clone(), self.layout().clone()));
                self.results.improvement = None;
                self.settle(&Subject::Plans);
                self.results.improving = SearchStatus::Running(0.0);
            }
            Err(error) => self.fail(
                Subject::Plans,
                "The search could not be started",
                error.to_string(),
            ),
        }
    }

    /// Asks the running search to stop.
    pub(super) fn stop_improving(&self) {
        if let Some(job) = &self.improving.job {
            job.cancel();
        }
    }

    /// What was last searched for.
    pub fn improve_options(&self) -> &ImproveOptions {
        &self.improving.options
    }

    /// Takes in what the search found.
    pub(super) fn tend_improving(&mut self) {
        if self.results.improving == SearchStatus::Done && !self.is_improvement_of_now() {
            self.results.improving = SearchStatus::Old;
        }
        let Some(job) = &mut self.improving.job else {
            return;
        };
        let (updates, is_over) = (job.poll(), job.is_over());
        self.results.improving = SearchStatus::Running(job.progress());
        if is_over {
            self.improving.job = None;
            self.results.improving = SearchStatus::Idle;
        }
        for update in updates {
            match update {
                Update::Partial(found) => {
                    self.tell(Notice::new(NoticeKind::Done, summary(&found)).about(Subject::Plans));
                    self.results.improvement = Some(Arc::new(found));
                }
                Update::Failed(reason) => {
                    self.fail(
                        Subject::Plans,
                        "The search found no answer",
                        reason.to_string(),
                    );
                }
                Update::Done => {}
            }
        }
        if is_over && self.results.improvement.is_some() {
            self.results.improving = SearchStatus::Done;
        }
    }

    /// Whether the tank and the layout that were searched are still there.
    fn is_improvement_of_now(&self) -> bool {
        let scene = self.scene();
        let about = self.improving.about.as_ref();
        about.is_some_and(|(tank, layout)| scene.tank == *tank && scene.layouts.contains(layout))
    }
}

/// What came of a search, in a sentence.
fn summary(found: &Improvement) -> String {
    let (n, of) = (found.before.in_range(), found.before.corals.len());
    match found.plans.len() {
        0 if n == of => {
            format!("All {of} corals are in their ranges already; nothing has to change")
        }
        0 => "No change that was allowed brings more corals into their ranges".to_owned(),
        1 => "One plan brings more corals into their ranges".to_owned(),
        plans => format!("{plans} plans bring more corals into their ranges"),
    }
}

//! What goes still when a pump or the power fails, as work on the desk. It is
//! begun when the keeper asks: each pump's failure is a solve of its own.

use std::sync::Arc;

use super::water::{device_of, kept_to};
use super::{Desk, SearchStatus, Subject};
use crate::flow::{FlowError, FlowOptions, FlowSetup, RUNS};
use crate::improve::outage::{Outage, outage};
use crate::job::{Job, Update};
use crate::study::Study;

/// The running work, and what the last one was about.
#[derive(Default)]
pub(super) struct Failing {
    job: Option<Job<Outage>>,
    about: Option<Arc<Study>>,
}

impl Desk {
    /// Begins to work out what failures bring in the layout that is shown; what
    /// is under way is left to finish.
    pub(super) fn start_failing(&mut self) {
        if self.failing.job.is_some() {
            return;
        }
        let study = Arc::clone(self.study());
        self.failing.about = Some(Arc::clone(&study));
        let started = Job::start("outage", Arc::clone(&self.notify), move |context| {
            let options = kept_to(&study, &FlowOptions::default());
            let setup = FlowSetup::new(&study, &options)?.on(device_of(&study));
            match outage(&study, &setup, RUNS, &mut |share| context.progress(share)) {
                Ok(found) => context.publish(found),
                Err(FlowError::Cancelled) => {}
                Err(error) => return Err(error.into()),
            }
            Ok(())
        });
        match started {
            Ok(job) => {
                self.failing.job = Some(job);
                self.results.outage = None;
                self.settle(&Subject::Outage);
                self.results.failing = SearchStatus::Running(0.0);
            }
            Err(error) => self.fail(
                Subject::Outage,
                "What a failure brings could not be worked out",
                error.to_string(),
            ),
        }
    }

    /// Asks it to stop.
    pub(super) fn stop_failing(&self) {
        if let Some(job) = &self.failing.job {
            job.cancel();
        }
    }

    /// Takes in what was found.
    pub(super) fn tend_failing(&mut self) {
        if self.results.failing == SearchStatus::Done && !self.is_outage_of_now() {
            self.results.failing = SearchStatus::Old;
        }
        let Some(job) = &mut self.failing.job else {
            return;
        };
        let (updates, is_over) = (job.poll(), job.is_over());
        self.results.failing = SearchStatus::Running(job.progress());
        if is_over {
            self.failing.job = None;
            self.results.failing = SearchStatus::Idle;
        }
        for update in updates {
            match update {
                Update::Partial(found) => self.results.outage = Some(Arc::new(found)),
                Update::Failed(reason) => self.fail(
                    Subject::Outage,
                    "What a failure brings could not be worked out",
                    reason.to_string(),
                ),
                Update::Done => {}
            }
        }
        if is_over && self.results.outage.is_some() {
            self.results.failing = SearchStatus::Done;
        }
    }

    /// Whether the layout and tank that were looked at are still there.
    fn is_outage_of_now(&self) -> bool {
        let about = self.failing.about.as_ref();
        about.is_some_and(|about| {
            let now = self.scene();
            about.scene().tank == now.tank && now.layouts.contains(about.layout())
        })
    }
}

//! Work that is begun when the keeper asks for it, about the layout that is
//! shown then.

use std::sync::Arc;

use super::SearchStatus;
use crate::job::{Job, JobError, Update};
use crate::scene::Scene;
use crate::study::Study;

/// The running work, and what the last one was about.
pub(super) struct Asked<T> {
    job: Option<Job<T>>,
    about: Option<Arc<Study>>,
}

impl<T> Default for Asked<T> {
    fn default() -> Self {
        Self {
            job: None,
            about: None,
        }
    }
}

/// What has come of it since it was last looked at.
pub(super) struct Come<T> {
    pub(super) found: Option<T>,
    pub(super) failed: Option<JobError>,
    /// How far it is; none once it is over.
    pub(super) share: Option<f64>,
}

impl<T> Asked<T> {
    /// Whether it is under way.
    pub(super) fn is_running(&self) -> bool {
        self.job.is_some()
    }

    /// Notes work that was begun.
    pub(super) fn begun(&mut self, job: Job<T>, about: Arc<Study>) {
        self.job = Some(job);
        self.about = Some(about);
    }

    /// Asks it to stop.
    pub(super) fn stop(&self) {
        if let Some(job) = &self.job {
            job.cancel();
        }
    }

    /// Takes in what has come; none while nothing is under way.
    pub(super) fn poll(&mut self) -> Option<Come<T>> {
        let job = self.job.as_mut()?;
        let (updates, is_over) = (job.poll(), job.is_over());
        let share = (!is_over).then(|| job.progress());
        if is_over {
            self.job = None;
        }
        let mut come = Come {
            found: None,
            failed: None,
            share,
        };
        for update in updates {
            match update {
                Update::Partial(found) => come.found = Some(found),
                Update::Failed(reason) => come.failed = Some(reason),
                Update::Done => {}
            }
        }
        Some(come)
    }

    /// Where it stands after `status`: what is done is old once the layout and
    /// tank that it was about are no longer in the scene.
    pub(super) fn aged(&self, status: SearchStatus, now: &Scene) -> SearchStatus {
        let is_of_now = self.about.as_ref().is_some_and(|about| {
            about.scene().tank == now.tank && now.layouts.contains(about.layout())
        });
        if status == SearchStatus::Done && !is_of_now {
            SearchStatus::Old
        } else {
            status
        }
    }
}

//! Work that is begun when the keeper asks for it, about the layout that is
//! shown then.

use std::sync::Arc;

use super::SearchStatus;
use crate::flow::FlowError;
use crate::job::{Job, JobError, Notify, Update};
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

/// Is told the share that is done, and says whether to go on.
pub(super) type Control<'a> = dyn FnMut(f64) -> bool + 'a;

/// What has come of it since it was last looked at.
pub(super) struct Come<T> {
    pub(super) found: Option<T>,
    pub(super) failed: Option<JobError>,
    /// How far it is; none once it is over.
    pub(super) share: Option<f64>,
}

impl<T: Send + 'static> Asked<T> {
    /// Begins `work` on a study, which hears of a wish to stop where it tells how
    /// far it is.
    ///
    /// # Errors
    /// The system has no thread to give.
    pub(super) fn start(
        &mut self,
        name: &'static str,
        about: &Arc<Study>,
        notify: &Notify,
        work: impl FnOnce(&Study, &mut Control<'_>) -> Result<T, FlowError> + Send + 'static,
    ) -> std::io::Result<()> {
        let study = Arc::clone(about);
        let job = Job::start(name, Arc::clone(notify), move |context| {
            match work(&study, &mut |share| context.progress(share)) {
                Ok(found) => context.publish(found),
                Err(FlowError::Cancelled) => {}
                Err(error) => return Err(error.into()),
            }
            Ok(())
        })?;
        self.job = Some(job);
        self.about = Some(Arc::clone(about));
        Ok(())
    }

    /// Whether it is under way.
    pub(super) fn is_running(&self) -> bool {
        self.job.is_some()
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

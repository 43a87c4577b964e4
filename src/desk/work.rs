//! A job that is always about the newest wish: an edit makes it start over,
//! but not before it has shown something, so that a drag shows the water move.

use std::time::Duration;

use crate::job::{Job, Update};

/// Longest that a job for an outdated wish may run without a first result.
const PATIENCE: Duration = Duration::from_millis(1500);

/// At most one running job, and what it is about.
pub(super) struct Work<K, U> {
    job: Option<Job<U>>,
    key: Option<K>,
    has_shown: bool,
    /// What the newest result is about.
    shown: Option<K>,
}

impl<K, U> Default for Work<K, U> {
    fn default() -> Self {
        Self {
            job: None,
            key: None,
            has_shown: false,
            shown: None,
        }
    }
}

impl<K: PartialEq + Clone, U: Send + 'static> Work<K, U> {
    /// Takes in what arrived; starts a job about `wanted` as soon as the
    /// running one is not about it any more and has shown something.
    pub(super) fn tend(
        &mut self,
        wanted: Option<&K>,
        start: impl FnOnce(K) -> std::io::Result<Job<U>>,
    ) -> Vec<Update<U>> {
        let is_wanted = self.key.as_ref() == wanted;
        let mut updates = Vec::new();
        if let Some(job) = &mut self.job {
            updates = job.poll();
            if updates
                .iter()
                .any(|update| matches!(update, Update::Partial(_)))
            {
                self.has_shown = true;
                self.shown.clone_from(&self.key);
            }
            if !is_wanted && (self.has_shown || job.age() > PATIENCE) {
                job.cancel();
            }
            if job.is_over() {
                self.job = None;
            }
        }
        if self.job.is_none() && !is_wanted {
            self.key = wanted.cloned();
            self.has_shown = false;
            match wanted.cloned().map(start) {
                Some(Ok(job)) => self.job = Some(job),
                Some(Err(error)) => updates.push(Update::Failed(format!(
                    "no thread for the estimate: {error}"
                ))),
                None => {}
            }
        }
        updates
    }

    /// Takes a kept result as the newest one, in place of a running job.
    pub(super) fn recall(&mut self, key: &K) {
        self.job = None;
        self.key = Some(key.clone());
        self.has_shown = true;
        self.shown = Some(key.clone());
    }

    /// Whether the newest result is about `wanted`.
    pub(super) fn shows(&self, wanted: &K) -> bool {
        self.shown.as_ref() == Some(wanted)
    }

    /// What the newest result is about.
    pub(super) fn shown(&self) -> Option<&K> {
        self.shown.as_ref()
    }

    /// Forgets that there was a result, since a better one has come.
    pub(super) fn outshine(&mut self) {
        self.shown = None;
    }

    /// Whether the running job, or the last one, is about `wanted`.
    pub(super) fn is_on(&self, wanted: &K) -> bool {
        self.key.as_ref() == Some(wanted)
    }

    /// Whether there was an answer about `wanted`, be it that there is none.
    pub(super) fn has_answered(&self, wanted: &K) -> bool {
        self.is_on(wanted) && (self.has_shown || self.job.is_none())
    }

    /// Whether a job is running.
    pub(super) fn is_running(&self) -> bool {
        self.job.is_some()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;

    fn count_up(key: u32) -> std::io::Result<Job<u32>> {
        Job::start("count", Arc::new(|| {}), move |context| {
            context.publish(key);
            while context.progress(0.5) {
                std::hint::spin_loop();
            }
            Ok(())
        })
    }

    #[test]
    fn the_newest_wish_wins_and_each_job_shows_something() {
        let mut work = Work::default();
        let mut seen = Vec::new();
        for wish in 1..=3_u32 {
            while seen.last() != Some(&wish) {
                for update in work.tend(Some(&wish), count_up) {
                    if let Update::Partial(n) = update {
                        seen.push(n);
                    }
                }
            }
        }
        assert_eq!(seen, vec![1, 2, 3], "one result for each wish");
    }
}

//! Work longer than a frame: a named thread with progress, cancel and results
//! on the way. It knows no screen: whoever starts a job hands it a `notify`.

mod error;

pub use error::JobError;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::Builder;
use std::time::{Duration, Instant};

/// Name of the thread that asks.
pub fn thread_name() -> String {
    let thread = std::thread::current();
    thread.name().unwrap_or("without a name").to_owned()
}

/// Called from the worker when there is something new to see.
pub type Notify = Arc<dyn Fn() + Send + Sync>;

/// What a job sends.
#[derive(Debug)]
pub enum Update<T> {
    /// A usable result that may still change.
    Partial(T),
    /// It finished, or was cancelled and stopped.
    Done,
    /// It could not go on.
    Failed(JobError),
}

/// A running job.
pub struct Job<T> {
    updates: Receiver<Update<T>>,
    control: Arc<Control>,
    started: Instant,
    is_over: bool,
}

#[derive(Default)]
struct Control {
    cancelled: AtomicBool,
    progress_permille: AtomicU32,
}

/// What the work sees of its job.
pub struct JobContext<T> {
    sender: Sender<Update<T>>,
    control: Arc<Control>,
    notify: Notify,
}

impl<T> JobContext<T> {
    /// Whether to stop as soon as it is convenient.
    pub fn is_cancelled(&self) -> bool {
        self.control.cancelled.load(Ordering::Relaxed)
    }

    /// Says how far it has come, 0 to 1; returns whether to go on.
    pub fn progress(&self, share: f64) -> bool {
        let permille = (share.clamp(0.0, 1.0) * 1000.0) as u32;
        let before = self
            .control
            .progress_permille
            .swap(permille, Ordering::Relaxed);
        if before / 10 != permille / 10 {
            (self.notify)();
        }
        !self.is_cancelled()
    }

    /// Publishes a result.
    pub fn publish(&self, result: T) {
        self.send(Update::Partial(result));
    }

    fn send(&self, update: Update<T>) {
        // The receiver is gone when the job was dropped; then nobody waits for it.
        if self.sender.send(update).is_ok() {
            (self.notify)();
        }
    }
}

impl<T: Send + 'static> Job<T> {
    /// Runs `work` on a thread called `name`. An error that it returns, or its
    /// panic, arrives as [`Update::Failed`].
    ///
    /// # Errors
    /// When the system has no thread to give.
    pub fn start(
        name: &str,
        notify: Notify,
        work: impl FnOnce(&JobContext<T>) -> Result<(), JobError> + Send + 'static,
    ) -> std::io::Result<Self> {
        let (sender, updates) = channel();
        let control = Arc::new(Control::default());
        let context = JobContext {
            sender,
            control: Arc::clone(&control),
            notify,
        };
        let span = tracing::debug_span!("job", name);
        Builder::new().name(name.to_owned()).spawn(move || {
            let _within = span.entered();
            let outcome = catch_unwind(AssertUnwindSafe(|| work(&context)));
            match &outcome {
                Ok(Ok(())) if context.is_cancelled() => tracing::debug!("stopped as asked"),
                Ok(Ok(())) => tracing::debug!("done"),
                Ok(Err(reason)) => tracing::warn!(%reason, "failed"),
                Err(panic) => tracing::error!(reason = panic_text(panic.as_ref()), "panicked"),
            }
            context.send(match outcome {
                Ok(Ok(())) => Update::Done,
                Ok(Err(reason)) => Update::Failed(reason),
                Err(panic) => Update::Failed(JobError::Panic {
                    reason: panic_text(panic.as_ref()),
                }),
            });
        })?;
        Ok(Self {
            updates,
            control,
            started: Instant::now(),
            is_over: false,
        })
    }
}

impl<T> Job<T> {
    /// All that arrived since the last call.
    pub fn poll(&mut self) -> Vec<Update<T>> {
        let updates: Vec<_> = self.updates.try_iter().collect();
        self.is_over |= updates
            .iter()
            .any(|update| !matches!(update, Update::Partial(_)));
        updates
    }

    /// Asks it to stop.
    pub fn cancel(&self) {
        self.control.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether it was asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.control.cancelled.load(Ordering::Relaxed)
    }

    /// Whether its last word was heard.
    pub fn is_over(&self) -> bool {
        self.is_over
    }

    /// How far it has come, 0 to 1.
    pub fn progress(&self) -> f64 {
        f64::from(self.control.progress_permille.load(Ordering::Relaxed)) / 1000.0
    }

    /// How long it has been running.
    pub fn age(&self) -> Duration {
        self.started.elapsed()
    }

    /// Waits for the next update, for tests and the terminal.
    pub fn wait(&mut self, at_most: Duration) -> Option<Update<T>> {
        let update = self.updates.recv_timeout(at_most).ok()?;
        self.is_over |= !matches!(update, Update::Partial(_));
        Some(update)
    }
}

impl<T> Drop for Job<T> {
    fn drop(&mut self) {
        self.cancel();
    }
}

fn panic_text(panic: &(dyn std::any::Any + Send)) -> String {
    let text = panic
        .downcast_ref::<&str>()
        .map(|text| (*text).to_owned())
        .or_else(|| panic.downcast_ref::<String>().cloned());
    text.unwrap_or_else(|| "no reason given".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Only a hang lasts as long, also on a busy machine.
    const PATIENCE: Duration = Duration::from_mins(15);

    fn quiet() -> Notify {
        Arc::new(|| {})
    }

    #[test]
    fn results_arrive_in_order_and_the_end_is_heard() {
        let mut job = Job::start("count", quiet(), |context| {
            (1..=3).for_each(|n| context.publish(n));
            Ok(())
        })
        .expect("a thread");
        let mut seen = Vec::new();
        while let Some(Update::Partial(n)) = job.wait(PATIENCE) {
            seen.push(n);
        }
        assert_eq!(seen, vec![1, 2, 3], "all results in order");
        assert!(job.is_over(), "the end was heard");
    }

    #[test]
    fn a_cancelled_job_stops() {
        let mut job: Job<()> = Job::start("forever", quiet(), |context| {
            while context.progress(0.5) {
                std::hint::spin_loop();
            }
            Ok(())
        })
        .expect("a thread");
        job.cancel();
        assert!(matches!(job.wait(PATIENCE), Some(Update::Done)), "it ended");
    }

    #[test]
    fn a_panic_becomes_a_sentence() {
        let mut job: Job<()> =
            Job::start("broken", quiet(), |_| panic!("no water")).expect("a thread");
        let Some(Update::Failed(reason)) = job.wait(PATIENCE) else {
            panic!("expected a failure")
        };
        assert!(reason.to_string().contains("no water"), "{reason}");
    }
}

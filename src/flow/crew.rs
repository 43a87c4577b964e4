//! Threads that the water has for itself. A worker of the common pool takes
//! new work only when its own is done, so that water which shared it with the
//! light would stand still until the light is finished.

use std::sync::OnceLock;

use rayon::{ThreadPool, ThreadPoolBuilder};

/// Who computes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Crew {
    /// One thread, for slices: so few cells are not worth sharing.
    One,
    /// A thread for each core.
    All,
}

impl Crew {
    /// Runs `work` on the threads of this crew, or on the common ones where the
    /// system has none to give.
    pub fn run<R: Send>(self, work: impl FnOnce() -> R + Send) -> R {
        static ONE: OnceLock<Option<ThreadPool>> = OnceLock::new();
        static ALL: OnceLock<Option<ThreadPool>> = OnceLock::new();
        let (pool, n_threads) = match self {
            Self::One => (&ONE, 1),
            // Zero stands for as many as there are cores.
            Self::All => (&ALL, 0),
        };
        match pool.get_or_init(|| ThreadPoolBuilder::new().num_threads(n_threads).build().ok()) {
            Some(pool) => pool.install(work),
            None => work(),
        }
    }
}

//! Commands and the one place that runs them.

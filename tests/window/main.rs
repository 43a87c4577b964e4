//! The desk and the window, by their commands and labels.

mod desk;
mod filing;

#[cfg(feature = "gui")]
mod arrange;
#[cfg(feature = "gui")]
mod corals;
#[cfg(feature = "gui")]
mod hand;
#[cfg(feature = "gui")]
mod large;
#[cfg(feature = "gui")]
mod light;
#[cfg(feature = "gui")]
mod looking;
#[cfg(feature = "gui")]
mod owned;
#[cfg(feature = "gui")]
mod paper;
#[cfg(feature = "gui")]
mod photo;
#[cfg(feature = "gui")]
mod pictures;
#[cfg(feature = "gui")]
mod room;
#[cfg(feature = "gui")]
mod scans;
#[cfg(feature = "gui")]
mod sheet;
#[cfg(feature = "gui")]
mod shell;
#[cfg(feature = "gui")]
mod soak;
#[cfg(feature = "gui")]
mod telling;

/// Longest wait for an engine before a test gives up: far above what is ever
/// seen, also on a machine that does other work, so that only a hang fails it.
const PATIENCE: std::time::Duration = std::time::Duration::from_mins(15);

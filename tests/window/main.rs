//! The desk and the window, by their commands and labels.

mod desk;

#[cfg(feature = "gui")]
mod arrange;
#[cfg(feature = "gui")]
mod corals;
#[cfg(feature = "gui")]
mod light;
#[cfg(feature = "gui")]
mod sheet;
#[cfg(feature = "gui")]
mod shell;

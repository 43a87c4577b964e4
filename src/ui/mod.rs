//! The window: a sheet to draw on, and the shell of words around it. It reads
//! the desk and sends commands; it changes nothing by itself.

pub mod about;
pub mod adding;
mod again;
pub mod app;
pub mod ask;
pub mod calibration;
pub mod charts;
pub mod choices;
pub mod commands;
pub mod compare;
pub mod coral_picker;
pub mod day;
pub mod deeds;
pub mod dialogs;
pub mod filing;
pub mod findings;
pub mod glimpse;
pub mod growth;
pub mod help;
pub mod history;
pub mod improve;
pub mod inspector;
pub mod keeper;
pub mod legend;
pub mod new_tank;
pub mod notices;
pub mod pace;
pub mod pages;
pub(crate) mod paint;
pub mod paper;
pub mod parts;
pub mod photo;
pub mod progress;
pub mod proposals;
pub mod readings;
pub mod room;
mod scanned;
pub mod scenes;
pub mod sheet;
pub mod shelf;
pub mod shortcuts;
pub mod small_plan;
pub mod status;
pub mod stock;
pub mod text;
pub mod theme;
pub mod time_bar;
pub mod title_strip;
pub mod wash;

use std::path::PathBuf;

use thiserror::Error;

pub use crate::units::Measure;
pub use app::{App, Start};
pub use choices::Choices;
pub use pace::STILL;

use crate::storage::data_folder;

/// Why the window did not open.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum StartError {
    /// There is no display to open a window on.
    #[error("no display: {reason}")]
    NoDisplay {
        /// What the system said.
        reason: String,
    },
    /// There is a display and nothing that can draw on it.
    #[error("no graphics driver: {reason}")]
    NoDriver {
        /// What the system said.
        reason: String,
    },
}

/// Opens the window and comes back when it is closed.
///
/// # Errors
/// [`StartError`] when there is no display or no graphics driver.
pub fn run(path: Option<PathBuf>) -> Result<(), StartError> {
    let start = Start {
        path,
        folder: data_folder(),
        has_dialogs: true,
        is_live: true,
    };
    let options = eframe::NativeOptions {
        viewport: egui::ViewportBuilder::default()
            .with_title(text::PROGRAM)
            .with_app_id("bommie")
            .with_inner_size([1440.0, 900.0])
            .with_min_inner_size([720.0, 480.0])
            .with_drag_and_drop(true),
        ..eframe::NativeOptions::default()
    };
    eframe::run_native(
        text::PROGRAM,
        options,
        Box::new(move |creation| Ok(Box::new(App::new(creation, &start)))),
    )
    .map_err(|error| start_error(&error))
}

fn start_error(error: &eframe::Error) -> StartError {
    let reason = error.to_string();
    match error {
        eframe::Error::Wgpu(_) => StartError::NoDriver { reason },
        _ => StartError::NoDisplay { reason },
    }
}

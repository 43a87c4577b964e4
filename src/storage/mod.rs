//! Files: the only place that touches the disk.
//!
//! A scene is a RON file (`scenes/FORMAT.md`). Reading is strict: what it does
//! not know it names, with line and column. Writing never leaves half a file.

mod autosave;
mod beside;
mod copy;
mod crash;
mod demos;
mod error;
mod guard;
mod locate;
mod log;
mod parse;
mod photos;
mod power;
mod presence;
mod read;
mod recent;
mod settings;
mod stamp;
mod stories;
mod write;

pub use autosave::{Autosave, Leftover, Work, data_folder, forget_leftover, leftovers, write_work};
pub use beside::{Beside, LampFault, bring_along, read_beside, rename_lamp_files, with_sums};
pub use crash::{
    CrashReport, crash_reports, diagnostics, forget_report, note_command, watch_for_crashes,
};
pub use demos::{Demo, demos};
pub use error::{LocatedIssue, Position, StorageError, clipped};
pub use guard::WriteGuard;
pub use log::open_log;
pub use parse::{FILE_BYTES_MAX, NESTING_MAX, parse};
pub use photos::{
    PhotoFault, PhotoFiles, bring_photos, read_photo, read_photos, rename_photos, with_photo_sums,
};
pub use power::{is_on_battery, wants_less_motion};
pub use presence::{Marked, OtherWindow, Presence, mark_open};
pub use read::{load, read_bytes, read_text};
pub use recent::Recent;
pub use settings::{load_choices, save_choices};
pub use stamp::{OnDisk, free_beside, on_disk, sum_of, sum_words};
pub use stories::{Story, stories};
pub use write::{PREVIOUS_SUFFIX, make_folder, save, scene_text, write_bytes};

use crate::scene::Scene;

/// A scene that can be used, and what may surprise in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Loaded {
    /// The scene.
    pub scene: Scene,
    /// Warnings; a scene with errors is not loaded.
    pub issues: Vec<LocatedIssue>,
    /// [`sum_of`] the text.
    pub sum: u64,
}

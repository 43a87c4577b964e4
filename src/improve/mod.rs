//! What the keeper owns: readings that calibrate it, and what to turn,
//! throttle, lower, dim or move before anything is bought, what an outage
//! brings, and what finer cells say.
//!
//! It does no I/O, reads no clock, starts no thread and knows no screen. Each
//! rule is listed with its source and its check in `METHODS.md` beside this
//! file.

pub mod calibrate;
pub mod finer;
pub mod outage;
pub mod protocol;
pub mod search;
mod table;

pub use table::{TableError, readings_from_csv, readings_to_csv};

use bommie_advice as advice;
use bommie_flow as flow;
use bommie_light as light;
use bommie_model::{catalog, scene, study, units};

//! What the program did, for whoever looks for a fault: each job and each file
//! that is read or written is a span with its time. The log goes to a file on
//! this machine, and nowhere else unless the keeper sends it.

use std::path::Path;
use std::sync::Arc;

use tracing::Level;
use tracing_subscriber::fmt::format::FmtSpan;
use tracing_subscriber::fmt::writer::{BoxMakeWriter, MakeWriterExt as _};

use crate::storage::{StorageError, open_log};

/// Starts the log: in `folder`, if there is one, what went wrong; with
/// `is_wordy` also each job and file, and all of it on the error stream too.
/// Called once, before anything else.
///
/// # Errors
/// [`StorageError`] when the file cannot be made; the error stream still has
/// its part.
pub fn start(folder: Option<&Path>, is_wordy: bool) -> Result<(), StorageError> {
    let (file, outcome) = match folder.map(open_log) {
        Some(Ok(file)) => (Some(Arc::new(file)), Ok(())),
        Some(Err(error)) => (None, Err(error)),
        None => (None, Ok(())),
    };
    let writer = match (file, is_wordy) {
        (Some(file), true) => BoxMakeWriter::new(file.and(std::io::stderr)),
        (Some(file), false) => BoxMakeWriter::new(file),
        (None, true) => BoxMakeWriter::new(std::io::stderr),
        (None, false) => return outcome,
    };
    let log = tracing_subscriber::fmt()
        .with_ansi(false)
        .with_target(false)
        .with_max_level(if is_wordy { Level::DEBUG } else { Level::INFO })
        .with_span_events(FmtSpan::CLOSE)
        .with_writer(writer);
    // A log that was started before goes on.
    drop(log.try_init());
    outcome
}

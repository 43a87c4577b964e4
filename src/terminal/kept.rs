//! Runs of a tank that are kept in a folder, so that a night's work can be
//! stopped and gone on with.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::solve::Progress;
use super::{Streams, TerminalError, shown};
use crate::flow::{FlowError, FlowField, FlowSetup, combined, solve_range};
use crate::storage::{StorageError, make_folder, read_bytes, sum_words, write_bytes};

/// Raised whenever the step, or what a run holds, changes: older runs are then
/// left alone and made anew.
const METHOD: u32 = 3;

/// Larger than any run: twelve million cells of some fifty bytes, and phases.
const BYTES_MAX: u64 = 2 << 30;

#[derive(clap::Args, Clone, Debug, Default)]
pub(super) struct KeepArgs {
    /// Keep each run of the tank in this folder once it is done, and take up
    /// those that are there: a long estimate can be stopped and gone on with.
    /// Runs of another scene or of other cells are told apart
    #[arg(long, value_name = "FOLDER")]
    keep: Option<PathBuf>,
}

impl KeepArgs {
    pub(super) fn folder(&self) -> Option<&Path> {
        self.keep.as_deref()
    }
}

/// A run as it lies in its file.
#[derive(Deserialize, Serialize)]
struct Kept {
    /// All that it was made of, word for word.
    made_of: String,
    /// None where it diverged.
    field: Option<FlowField>,
}

/// Runs of one estimate in a folder.
pub(super) struct Runs<'a> {
    folder: &'a Path,
    made_of: String,
    /// Sum over that, which tells estimates apart in the names of their files.
    sum: String,
}

impl<'a> Runs<'a> {
    /// `made_of` is the text of the scene with its layout and what is asked for.
    ///
    /// # Errors
    /// If the folder cannot be made.
    pub(super) fn new(folder: &'a Path, made_of: &str) -> Result<Self, TerminalError> {
        make_folder(folder)?;
        let made_of = format!("method {METHOD}\n{made_of}");
        Ok(Self {
            folder,
            sum: sum_words(made_of.as_bytes()),
            made_of,
        })
    }

    fn path(&self, run: usize) -> PathBuf {
        let name = format!("{}-{}.water", self.sum, run + 1);
        self.folder.join(name)
    }

    /// A run that is there, or why the file is of no use.
    fn read(&self, run: usize, setup: &FlowSetup) -> Result<Option<Kept>, String> {
        let bytes = match read_bytes(&self.path(run), BYTES_MAX) {
            Ok(bytes) => bytes,
            Err(StorageError::Missing { .. }) => return Ok(None),
            Err(error) => return Err(error.to_string()),
        };
        let kept: Kept = postcard::from_bytes(&bytes)
            .map_err(|why| format!("it is damaged or cut short ({why})"))?;
        if kept.made_of != self.made_of {
            return Err("it was made of something else".to_owned());
        }
        let field = match kept.field {
            Some(field) => {
                let own = setup.recalled(field);
                Some(own.ok_or("it stands on other cells")?)
            }
            None => None,
        };
        Ok(Some(Kept { field, ..kept }))
    }

    fn write(&self, run: usize, field: Option<FlowField>) -> Result<Kept, TerminalError> {
        let kept = Kept {
            made_of: self.made_of.clone(),
            field,
        };
        let bytes = postcard::to_stdvec(&kept)?;
        write_bytes(&self.path(run), &bytes)?;
        Ok(kept)
    }

    /// The estimate: runs that are there are taken up, the others made one by
    /// one. As [`crate::flow::solve_runs`] in all else.
    ///
    /// # Errors
    /// As that, or if a run cannot be written.
    pub(super) fn solve(
        &self,
        setup: &FlowSetup,
        n_runs: usize,
        streams: &mut Streams<'_>,
    ) -> Result<FlowField, TerminalError> {
        let mut sound = Vec::new();
        for run in 0..n_runs.max(1) {
            let there = self.read(run, setup).unwrap_or_else(|why| {
                // Only that it is said; the run is made anew.
                drop(writeln!(
                    streams.err,
                    "{}: {why}; this run is made anew",
                    shown(&self.path(run))
                ));
                None
            });
            let kept = if let Some(kept) = there {
                writeln!(streams.err, "flow: run {} of {n_runs} was kept", run + 1)?;
                kept
            } else {
                let field = one(setup, (run, n_runs), streams)?;
                self.write(run, field)?
            };
            if let Some(field) = kept.field {
                sound.push((run, field));
            }
        }
        combined(sound).ok_or(TerminalError::Flow(FlowError::Cancelled))
    }
}

/// One run; none if it diverged and is not the plain one.
fn one(
    setup: &FlowSetup,
    (run, n_runs): (usize, usize),
    streams: &mut Streams<'_>,
) -> Result<Option<FlowField>, TerminalError> {
    let progress = Progress::new("flow", streams);
    let tell = |share: f64| progress.tell((run as f64 + share) / n_runs as f64);
    match solve_range(setup, run..run + 1, &tell).pop() {
        Some(Ok(field)) => Ok(Some(field)),
        Some(Err(FlowError::Diverged { .. })) if run > 0 => Ok(None),
        Some(Err(error)) => Err(error.into()),
        None => Err(FlowError::Cancelled.into()),
    }
}

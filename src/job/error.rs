//! Why a job could not go on.

use std::sync::Arc;

use thiserror::Error;

use crate::advice::ProposalError;
use crate::flow::FlowError;
use crate::improve::TableError;
use crate::improve::search::ImproveError;
use crate::light::LightError;
use crate::photo::PhotoError;
use crate::plan::{PdfError, PngError};
use crate::scan::ScanError;
use crate::storage::StorageError;

/// Why a job could not go on. Shared, so that it can be kept with what failed
/// and shown as often as it is looked at.
#[derive(Clone, Debug, Error)]
#[non_exhaustive]
pub enum JobError {
    /// The flow could not be estimated.
    #[error(transparent)]
    Flow(#[from] FlowError),
    /// The light could not be worked out.
    #[error(transparent)]
    Light(#[from] LightError),
    /// The search for a pump's place found no answer.
    #[error(transparent)]
    Proposal(Arc<ProposalError>),
    /// The search for what to change found no answer.
    #[error(transparent)]
    Improve(Arc<ImproveError>),
    /// A table of readings cannot be used.
    #[error(transparent)]
    Table(Arc<TableError>),
    /// A mesh cannot become a rock.
    #[error(transparent)]
    Scan(#[from] ScanError),
    /// A file is no photo to lay under the drawing.
    #[error("{file}: {source}")]
    Photo {
        /// The file.
        file: String,
        /// Why.
        source: PhotoError,
    },
    /// A file could not be read or written.
    #[error(transparent)]
    Storage(Arc<StorageError>),
    /// A plan could not be put into a PDF file.
    #[error(transparent)]
    Pdf(Arc<PdfError>),
    /// A drawing could not be put into dots.
    #[error(transparent)]
    Png(Arc<PngError>),
    /// A comparison was asked for with nothing to compare with.
    #[error("there is no layout to compare with")]
    NothingToCompare,
    /// The system had no thread to give.
    #[error("no thread for the work: {0}")]
    NoThread(Arc<std::io::Error>),
    /// The work stopped in the middle: a fault of the program.
    #[error("the work stopped unexpectedly: {reason}")]
    Panic {
        /// What it said.
        reason: String,
    },
}

impl PartialEq for JobError {
    /// The same if it says the same.
    fn eq(&self, other: &Self) -> bool {
        std::mem::discriminant(self) == std::mem::discriminant(other)
            && self.to_string() == other.to_string()
    }
}

impl From<ProposalError> for JobError {
    fn from(error: ProposalError) -> Self {
        Self::Proposal(Arc::new(error))
    }
}

impl From<ImproveError> for JobError {
    fn from(error: ImproveError) -> Self {
        Self::Improve(Arc::new(error))
    }
}

impl From<TableError> for JobError {
    fn from(error: TableError) -> Self {
        Self::Table(Arc::new(error))
    }
}

impl From<StorageError> for JobError {
    fn from(error: StorageError) -> Self {
        Self::Storage(Arc::new(error))
    }
}

impl From<PdfError> for JobError {
    fn from(error: PdfError) -> Self {
        Self::Pdf(Arc::new(error))
    }
}

impl From<PngError> for JobError {
    fn from(error: PngError) -> Self {
        Self::Png(Arc::new(error))
    }
}

impl From<std::io::Error> for JobError {
    /// Starting a thread is the one thing that a job asks of the system itself.
    fn from(error: std::io::Error) -> Self {
        Self::NoThread(Arc::new(error))
    }
}

//! Why a command could not answer.

use thiserror::Error;

use crate::storage::StorageError;

/// Why a command could not answer.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TerminalError {
    /// A file could not be read or written, or holds no usable scene.
    #[error(transparent)]
    Storage(#[from] StorageError),
    /// The answer could not be written.
    #[error("cannot write the answer: {0}")]
    Output(#[from] std::io::Error),
    /// The answer could not be put into JSON.
    #[error("cannot write the answer as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

impl TerminalError {
    /// Whether the reader of the answer went away.
    pub fn is_broken_pipe(&self) -> bool {
        let broken = std::io::ErrorKind::BrokenPipe;
        match self {
            Self::Output(source) => source.kind() == broken,
            Self::Json(source) => source.io_error_kind() == Some(broken),
            Self::Storage(_) => false,
        }
    }
}

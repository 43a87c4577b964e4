//! Why a command could not answer.

use thiserror::Error;

use super::points::PointsError;
use super::{EXIT_INPUT, EXIT_INTERNAL, EXIT_USAGE};
use crate::advice::ProposalError;
use crate::flow::FlowError;
use crate::light::{IesError, LightError};
use crate::storage::StorageError;

/// Why a command could not answer.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TerminalError {
    /// A file could not be read or written, or holds no usable scene.
    #[error(transparent)]
    Storage(#[from] StorageError),
    /// The scene has no layout of that name.
    #[error("no layout {wanted:?} in {file}; it has {known}")]
    NoLayout {
        /// The name that was asked for.
        wanted: String,
        /// The scene's file.
        file: String,
        /// The names there are.
        known: String,
    },
    /// The scene has no layout at all.
    #[error(transparent)]
    Study(#[from] crate::study::StudyError),
    /// The catalog has no such entry.
    #[error("no coral {wanted:?} in the catalog; {known}")]
    NoEntry {
        /// What was asked for.
        wanted: String,
        /// What comes close, or how to find out.
        known: String,
    },
    /// The layout has no such rock.
    #[error("no rock {wanted} in layout {layout:?}")]
    NoRock {
        /// The id that was asked for.
        wanted: u32,
        /// The layout's name.
        layout: String,
    },
    /// A number of the command line makes no sense.
    #[error("{option} is {value}, should be {limit}")]
    BadOption {
        /// The option.
        option: &'static str,
        /// Its value.
        value: f64,
        /// What it should be.
        limit: &'static str,
    },
    /// The points file is not one.
    #[error("{file}: {source}")]
    Points {
        /// The file.
        file: String,
        /// What is wrong with it.
        source: PointsError,
    },
    /// The table of readings is not one.
    #[error("{file}: {source}")]
    Readings {
        /// The file.
        file: String,
        /// What is wrong with it.
        source: crate::improve::TableError,
    },
    /// The mesh cannot become a rock.
    #[error("{file}: {source}")]
    Scan {
        /// The mesh's file.
        file: String,
        /// What is wrong with it.
        source: crate::scan::ScanError,
    },
    /// What was handed in beside the scene makes it unsound.
    #[error("{0}")]
    Unsound(String),
    /// The search for what to change could not be done.
    #[error(transparent)]
    Improve(#[from] crate::improve::search::ImproveError),
    /// A measured lamp's file is not an IES file that this program reads.
    #[error(transparent)]
    Ies(#[from] IesError),
    /// The search for a pump's place could not be done.
    #[error(transparent)]
    Proposal(#[from] ProposalError),
    /// The light could not be worked out.
    #[error("the light could not be worked out: {0}")]
    Light(#[from] LightError),
    /// The flow could not be estimated.
    #[error("the flow could not be estimated: {0}")]
    Flow(#[from] FlowError),
    /// A run of water could not be put into bytes to be kept.
    #[error("cannot keep a run of the water: {0}")]
    Kept(#[from] postcard::Error),
    /// The picture could not be encoded.
    #[error("cannot make the picture: {0}")]
    Picture(#[from] image::ImageError),
    /// The plan could not be put into a PDF file.
    #[error("cannot make the PDF: {0}")]
    Pdf(#[from] crate::plan::PdfError),
    /// The drawing could not be put into dots.
    #[error(transparent)]
    Png(#[from] crate::plan::PngError),
    /// A picture was asked for that needs what was left out.
    #[error("no picture: {0}")]
    NoPicture(&'static str),
    /// The answer could not be written.
    #[error("cannot write the answer: {0}")]
    Output(#[from] std::io::Error),
    /// The answer could not be put into JSON.
    #[error("cannot write the answer as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

impl TerminalError {
    /// The code to leave with: whose fault it is.
    pub fn exit_code(&self) -> u8 {
        use StorageError as S;
        match self {
            Self::Storage(
                S::IsInput { .. }
                | S::Taken { .. }
                | S::SeveralTaken { .. }
                | S::NoFolder { .. }
                | S::BadName { .. }
                | S::Protected { .. },
            )
            | Self::NoLayout { .. }
            | Self::NoEntry { .. }
            | Self::NoRock { .. }
            | Self::BadOption { .. } => EXIT_USAGE,
            Self::Storage(S::Write { .. } | S::Unwritable { .. }) => EXIT_INTERNAL,
            Self::Storage(_)
            | Self::Points { .. }
            | Self::Readings { .. }
            | Self::Unsound(_)
            | Self::Scan { .. }
            | Self::Ies(_) => EXIT_INPUT,
            Self::Flow(FlowError::TooManyCells { .. } | FlowError::TooFewCells { .. }) => {
                EXIT_USAGE
            }
            _ => EXIT_INTERNAL,
        }
    }

    /// Whether the reader of the answer went away.
    pub fn is_broken_pipe(&self) -> bool {
        let broken = std::io::ErrorKind::BrokenPipe;
        match self {
            Self::Output(source) => source.kind() == broken,
            Self::Json(source) => source.io_error_kind() == Some(broken),
            _ => false,
        }
    }
}

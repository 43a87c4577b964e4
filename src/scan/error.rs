//! Why a mesh cannot become a rock.

/// What is wrong with a mesh; each says where and the way out. The file is
/// named by whoever read it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ScanError {
    /// Neither name nor first bytes tell the format.
    #[error("not a mesh that can be read: export it as OBJ, STL, PLY or GLB")]
    Format,
    /// The reader of the format stopped.
    #[error("damaged {format} at {place}: {reason}; export the mesh again")]
    Damaged {
        /// Name of the format.
        format: &'static str,
        /// Line, byte or element, as far as is known.
        place: String,
        /// What the reader said.
        reason: String,
    },
    /// It can be read in general, but not this kind of it.
    #[error("{format} with {what}, which is not read; {way_out}")]
    Unsupported {
        /// Name of the format.
        format: &'static str,
        /// What it holds.
        what: String,
        /// What to do about it.
        way_out: &'static str,
    },
    /// More than can be taken in.
    #[error("{n} {what}; at most {most} are read: reduce the mesh in the scanning program")]
    Large {
        /// Counted thing.
        what: &'static str,
        /// How many there are.
        n: u64,
        /// How many are read.
        most: u64,
    },
    /// A corner point is not a number, or beyond all measure.
    #[error("corner point {0} is not a place (NaN, infinite or beyond 1e9): export the mesh again")]
    NotAPlace(usize),
    /// No triangle, or all of them in one plane.
    #[error("{0}, so it encloses nothing: export the whole surface as a mesh of triangles")]
    Flat(&'static str),
    /// The longest side is no size of a rock.
    #[error(
        "longest side {longest_cm:.4} cm, but a rock has {low_cm} to {high_cm} cm: say in which unit the mesh is (mm, cm, m or in)"
    )]
    Size {
        /// Its longest side.
        longest_cm: Rounded,
        /// Least that is taken.
        low_cm: u32,
        /// Most that is taken.
        high_cm: u32,
    },
    /// The caller wished to stop.
    #[error("stopped")]
    Stopped,
}

/// A length that compares and prints.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rounded(pub f64);

impl Eq for Rounded {}

impl std::fmt::Display for Rounded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

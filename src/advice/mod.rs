//! What Bommie notices: pure functions of a scene and its fields.

mod finding;

pub use finding::{Certainty, Finding, Kind, Remedy, Severity};

//! Photos of a tank under its drawing: decoding, and which dot of the picture
//! shows which place in the water.
//!
//! The geometry is that of `geometry::photo`: four corners fix a homography
//! between picture and pane, and beyond the pane the line of sight is bent.
//! No I/O and no screen: bytes come in, dots and places go out.

mod laid;
mod picture;
#[cfg(test)]
mod tests;

pub use laid::{Laid, Net};
pub use picture::{BYTES_MAX, DOTS_MAX, PhotoError, Picture, SIDE_MAX};

pub(crate) use bommie_model::{geometry, scene};

//! Light: photon flux density at any place and facing, from every lamp
//! through the water surface, with shade, mirrors and bounces.
//!
//! It does no I/O, reads no clock and knows no screen; measured lamps reach it
//! as already parsed distributions.

mod field;

pub use field::{LightField, LightPlane, LightSample, SurfaceOwner, SurfacePatch};

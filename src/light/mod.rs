//! Light: photon flux density at any place and facing, from every lamp
//! through the water surface, with shade, mirrors and bounces.
//!
//! It does no I/O, reads no clock and knows no screen; measured lamps reach it
//! as already parsed distributions. `METHODS.md` beside this file pairs each
//! formula with its function, check and source.

use bommie_model::{geometry, scene, study, units};

mod bare;
mod basin;
mod bounce;
mod direct;
mod distribution;
mod dose;
mod field;
mod fixture;
mod ies;
mod map;
pub mod optics;
mod patches;
mod readings;
mod shades;
mod solver;

pub use distribution::{About, Distribution, Symmetry};
pub use dose::{Conversion, LampColor, dli_mol, full_light_hours, ppfd_from_lux};
pub use field::{LightField, LightPlane, LightSample, SurfaceOwner, SurfacePatch};
pub use fixture::lobe_exponent;
pub use ies::{IesError, IesFault, distribution_from_ies};
pub use map::PlaneCut;
pub use readings::{FACTOR_BOUNDS, LampFit, LightResidual, fit_lamps};
pub use solver::{LampNote, LightError, LightOptions, LightSolver, Measured};

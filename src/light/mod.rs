//! Light: photon flux density at any place and facing, from every lamp
//! through the water surface, with shade, mirrors and bounces.
//!
//! It does no I/O, reads no clock and knows no screen; measured lamps reach it
//! as already parsed distributions. `METHODS.md` beside this file pairs each
//! formula with its function, check and source.
//!
//! ```
//! use bommie_light::{LightOptions, LightSolver, Measured};
//! use bommie_model::{scene::Scene, study::Study};
//! use glam::DVec3;
//!
//! let scene = concat!(env!("CARGO_MANIFEST_DIR"), "/../../scenes/window-seat.ron");
//! let scene: Scene = ron::from_str(&std::fs::read_to_string(scene)?)?;
//! let study = Study::with_built_in(&scene, 0)?;
//! let light = LightSolver::new(&study, &Measured::new(), &LightOptions::default())?;
//! // Straight below the lamp it gets darker with depth.
//! let [high, low] = [0.44, 0.38].map(|z_m| light.sample(DVec3::new(0.3, 0.3, z_m), None));
//! assert!(high.up_umol > low.up_umol && low.up_umol > 0.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

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

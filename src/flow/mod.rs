//! Water: one lattice-Boltzmann solver (D3Q19) for the fast slice estimate and
//! the three-dimensional tank estimate.
//!
//! Only `setup` knows a scene; the kernel sees arrays and numbers. It does no
//! I/O, reads no clock and knows no screen. `METHODS.md` beside this file says
//! which equation stands where, how it is checked, and what was measured.

use bommie_model::{catalog, geometry, scene, study, units};

mod average;
mod blocks;
mod body;
mod buffer;
mod collide;
mod coral;
mod crew;
mod domain;
mod ensemble;
mod error;
mod field;
mod held;
mod kernel;
mod lanes;
mod lattice;
mod many;
mod mixing;
mod options;
mod outlet;
mod pass;
mod plain;
mod reaction;
mod sampling;
mod scaling;
mod setup;
mod slides;
mod solver;
mod source;
mod store;
mod walls;

pub use crew::Crew;
pub use domain::{CellForce, Domain, MovingCell, WallDrag, closure_term};
pub use ensemble::{RUNS, combined, solve_range, solve_runs};
pub use error::FlowError;
pub use field::{CellKind, Estimate, FlowField, FlowSample, Settling};
pub use kernel::Kernel;
pub use lanes::Width;
pub use many::solve_many;
pub use options::{Closure, Cut, FlowOptions};
pub use plain::{Macroscopic, PlainStep};
pub use scaling::Scaling;
pub use setup::{CELLS_MAX, FlowSetup};
pub use solver::{FlowSolver, FlowState, solve};

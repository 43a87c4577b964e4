//! Water: one lattice-Boltzmann solver (D3Q27) for the fast slice estimate and
//! the three-dimensional tank estimate.
//!
//! Only `setup` knows a scene; the kernel sees arrays and numbers. It does no
//! I/O, reads no clock and knows no screen. `METHODS.md` beside this file says
//! which equation stands where, how it is checked, and what was measured.
//!
//! ```
//! use bommie_flow::{Cut, FlowOptions, FlowSetup, solve};
//! use bommie_model::{scene::Scene, study::Study};
//!
//! let scene = concat!(env!("CARGO_MANIFEST_DIR"), "/../../scenes/window-seat.ron");
//! let scene: Scene = ron::from_str(&std::fs::read_to_string(scene)?)?;
//! let study = Study::with_built_in(&scene, 0)?;
//! // Coarse cells and a short run: it takes a second.
//! let options = FlowOptions {
//!     cut: Cut::Tank,
//!     cell_m: Some(0.04),
//!     spin_up_s: Some(5.0),
//!     average_s: Some([5.0, 5.0]),
//!     ..FlowOptions::default()
//! };
//! let field = solve(FlowSetup::new(&study, &options)?, &mut |_share_done| true)?;
//! let fastest_m_s = field.speed_m_s.iter().copied().fold(0.0, f32::max);
//! assert!(fastest_m_s > 0.1, "a jet is in it");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

use bommie_model::{catalog, geometry, scene, study, units};

mod acting;
mod agreement;
mod average;
mod blocks;
mod body;
mod buffer;
mod by_phase;
#[cfg(feature = "card")]
mod card;
mod cells;
mod collide;
mod coral;
mod crew;
mod domain;
mod engine;
mod ensemble;
mod error;
pub mod felt;
mod field;
mod held;
pub mod jet;
mod kernel;
mod lanes;
mod lattice;
mod many;
mod mixing;
mod options;
mod outlet;
mod pass;
mod phases;
mod placing;
mod plain;
mod reaction;
mod sampling;
mod scaling;
mod setup;
mod slides;
mod solver;
mod source;
mod store;
mod sums;
mod times;
mod walls;

pub use agreement::{Agreement, BLOCK_M, block_speed_m_s, blocks};
#[cfg(feature = "card")]
pub use card::{Card, CardError, CardKernel};
pub use cells::{CELLS_MAX, fine_cell_m};
pub use crew::Crew;
pub use domain::{CellForce, Domain, MovingCell, WallDrag, closure_term};
pub use engine::{ComputedOn, Device};
pub use ensemble::{RUNS, combined, solve_range, solve_runs, solve_runs_under};
pub use error::FlowError;
pub use field::{CellKind, Estimate, FlowField, FlowSample, OverPhases, PumpPhase, Settling};
pub use kernel::Kernel;
pub use lanes::Width;
pub use many::solve_many;
pub use options::{Closure, Cut, FlowOptions, Walls};
pub use plain::{Macroscopic, PlainStep};
pub use scaling::Scaling;
pub use setup::FlowSetup;
pub use solver::{FlowSolver, FlowState, solve};

//! Water: one lattice-Boltzmann solver (D3Q19) for the fast slice estimate and
//! the three-dimensional tank estimate.
//!
//! Only `setup` knows a scene; the kernel sees arrays and numbers. It does no
//! I/O, reads no clock and knows no screen.

mod field;

pub use field::{CellKind, Estimate, FlowField, FlowSample, Settling};

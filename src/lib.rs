//! Bommie plans the rock, pumps, lamps and corals of a reef tank before
//! anything is glued: a sketch becomes a solid, the solid steers a flow and a
//! light estimate, and pure functions turn both into findings.
//!
//! The modules below stand in reading order; each may use only those above it.

pub mod units;

pub mod geometry;

pub mod catalog;

pub mod scene;

pub mod flow;
pub mod light;

pub mod advice;

pub mod export;
pub mod plan;

pub mod document;
pub mod job;
pub mod storage;

pub mod desk;

pub mod terminal;
#[cfg(feature = "gui")]
pub mod ui;

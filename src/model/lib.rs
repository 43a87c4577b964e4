//! What a keeper drew, and what it is made of: units, shapes, the catalog of
//! corals, the scene, and the study that engines compute on. It knows no engine, no file and no screen.
//!
//! The modules stand in reading order; each may use only those above it.

pub mod units;

pub mod geometry;

pub mod catalog;

pub mod scene;

pub mod study;

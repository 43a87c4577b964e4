//! Bommie plans the rock, pumps, lamps and corals of a reef tank before
//! anything is glued: a sketch becomes a solid, the solid steers a flow and a
//! light estimate, and pure functions turn both into findings.
//!
//! The modules below stand in reading order; each may use only those above it.

pub use bommie_model::{catalog, geometry, scene, study, units};

pub use bommie_flow as flow;
pub use bommie_light as light;
pub use bommie_photo as photo;
pub use bommie_scan as scan;

pub use bommie_advice as advice;
pub use bommie_improve as improve;

pub use bommie_words as words;

pub use bommie_draw as draw;

pub use bommie_export as export;
pub use bommie_plan as plan;

pub mod document;
pub mod job;
pub mod logging;
pub mod storage;

pub mod desk;

pub mod terminal;
#[cfg(feature = "gui")]
pub mod ui;

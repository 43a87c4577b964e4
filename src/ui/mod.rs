//! The window: a sheet to draw on, and the shell of words around it. It reads
//! the desk and sends commands; it changes nothing by itself.

pub(crate) mod paint;
pub mod sheet;
pub mod theme;
pub mod wash;

//! Ink and wash: how things are drawn. Nothing here changes anything.

pub(crate) use crate::geometry::contour;
pub(crate) mod cut;
pub(crate) mod gear;
pub(crate) mod label;
pub(crate) mod list;
pub(crate) mod lit;
pub(crate) mod mats;
pub(crate) mod model;
pub(crate) mod photo;
pub(crate) mod raster;
pub(crate) mod relief;
pub(crate) mod rocks;
pub(crate) mod tank;
pub(crate) mod tracer;

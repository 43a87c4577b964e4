//! Shapes without a story: polygons, the solid of a rock, rays, cells. It
//! knows neither scenes nor engines; lengths are in metres unless a name says
//! otherwise (polygons are plain numbers and take any unit).

pub mod contour;
pub mod distance_grid;
pub mod drape;
mod drawn;
pub mod grid;
pub mod mass;
pub mod mesh;
pub mod near;
pub mod photo;
pub mod polygon;
mod section;
pub mod solid;
pub mod surface;
pub mod tetra;

pub use distance_grid::DistanceGrid;
pub use grid::CellGrid;
pub use mass::{MassProperties, mass};
pub use mesh::{Mesh, mesh};
pub use polygon::Polygon;
pub use solid::{Bounds, Hit, Ray, RockSolid, Rockwork};

//! Fields and rock for other programs: legacy VTK and STL, both open formats.
//!
//! It makes bytes and writes no files; `storage` does that.

use bommie_flow as flow;
use bommie_light as light;
use bommie_model::{geometry, scene, study};

mod stl;
mod vtk;
mod water_light;

pub use stl::{rock_stl, rocks_stl};
pub use vtk::{Block, Part, flow_vtk, light_vtk, vtk};
pub use water_light::{WaterLight, water_light};

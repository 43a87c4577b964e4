//! Values on a regular block of cells as a legacy VTK file.

use glam::DVec3;

use super::WaterLight;
use crate::flow::{CellKind, FlowField};

/// Where the cells of a file lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Block {
    /// Lowest corner, in m.
    pub origin_m: DVec3,
    /// Size of a cell, in m.
    pub cell_m: DVec3,
    /// Cells along x, y and z; x runs fastest.
    pub n: [usize; 3],
}

/// One set of values, one a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// A number.
    Scalar(&'static str, Vec<f32>),
    /// Three numbers.
    Vector(&'static str, Vec<[f32; 3]>),
    /// A small whole number, as a kind of cell.
    Class(&'static str, Vec<u8>),
}

/// Most characters of the title line.
const TITLE_CHARS_MAX: usize = 200;

/// The file: binary legacy VTK, structured points with cell data.
///
/// **Source** Kitware, *VTK File Formats*, simple legacy formats: five parts,
/// title of at most 256 characters, binary data with the most significant byte
/// first. Cells lie between points, hence one point more along each axis.
pub fn vtk(title: &str, block: &Block, parts: &[Part]) -> Vec<u8> {
    let plain = |c: char| if (' '..='~').contains(&c) { c } else { '?' };
    let title: String = title.chars().map(plain).take(TITLE_CHARS_MAX).collect();
    let [nx, ny, nz] = block.n;
    let (o, s) = (block.origin_m, block.cell_m);
    let mut file = format!(
        "# vtk DataFile Version 3.0\n{title}\nBINARY\nDATASET STRUCTURED_POINTS\n\
         DIMENSIONS {} {} {}\nORIGIN {} {} {}\nSPACING {} {} {}\nCELL_DATA {}\n",
        nx + 1,
        ny + 1,
        nz + 1,
        o.x,
        o.y,
        o.z,
        s.x,
        s.y,
        s.z,
        nx * ny * nz
    )
    .into_bytes();
    for part in parts {
        write_part(&mut file, part);
    }
    file
}

fn write_part(file: &mut Vec<u8>, part: &Part) {
    let scalar = |name: &str, of: &str| format!("SCALARS {name} {of} 1\nLOOKUP_TABLE default\n");
    match part {
        Part::Scalar(name, values) => {
            file.extend(scalar(name, "float").bytes());
            file.extend(values.iter().flat_map(|value| value.to_be_bytes()));
        }
        Part::Vector(name, values) => {
            file.extend(format!("VECTORS {name} float\n").bytes());
            let each = values.iter().flatten();
            file.extend(each.flat_map(|value| value.to_be_bytes()));
        }
        Part::Class(name, values) => {
            file.extend(scalar(name, "unsigned_char").bytes());
            file.extend(values);
        }
    }
    file.push(b'\n');
}

/// A flow field: `velocity_m_s` (mean velocity), `speed_m_s` (mean speed),
/// `fluctuation_m_s`, `slow_share`, and `filling`: 0 water, 1 rock, 2 sand,
/// 3 anything else that water cannot pass. A slice is one cell thick.
pub fn flow_vtk(field: &FlowField, title: &str) -> Vec<u8> {
    let block = Block {
        origin_m: field.grid.origin_m,
        cell_m: DVec3::splat(field.grid.cell_m),
        n: field.grid.n,
    };
    let filling = |kind: &CellKind| match kind {
        CellKind::Water => 0,
        CellKind::Rock => 1,
        CellKind::Sand => 2,
        CellKind::Blocked => 3,
    };
    let parts = [
        Part::Vector("velocity_m_s", field.velocity_m_s.clone()),
        Part::Scalar("speed_m_s", field.speed_m_s.clone()),
        Part::Scalar("fluctuation_m_s", field.fluctuation_m_s.clone()),
        Part::Scalar("slow_share", field.slow_share.clone()),
        Part::Class("filling", field.kind.iter().map(filling).collect()),
    ];
    vtk(title, &block, &parts)
}

/// Light in the water: `ppfd_up_umol` on a level sensor facing up,
/// `ppfd_scalar_umol` on a small sphere, both in µmol/m²/s, and `filling` as
/// in [`flow_vtk`].
pub fn light_vtk(light: &WaterLight, title: &str) -> Vec<u8> {
    let parts = [
        Part::Scalar("ppfd_up_umol", light.up_umol.clone()),
        Part::Scalar("ppfd_scalar_umol", light.scalar_umol.clone()),
        Part::Class("filling", light.filling.clone()),
    ];
    vtk(title, &light.block, &parts)
}

//! PLY, as text or in bytes of either order.

use glam::DVec3;
use ply_rs_bw::parser::{Parser, Reader};
use ply_rs_bw::ply::{Property, PropertyAccess, PropertyAccessResult};

use super::mesh::{TRIANGLES_MAX, VERTICES_MAX};
use super::{Parts, ScanError};

/// A corner point or a face; what else a file holds is read over.
#[derive(Default)]
struct Part {
    place: DVec3,
    corners: Vec<i64>,
}

impl PropertyAccess for Part {
    fn new() -> Self {
        Self::default()
    }

    fn set_property(&mut self, name: &str, value: Property) -> PropertyAccessResult {
        let axis = ["x", "y", "z"].iter().position(|axis| *axis == name);
        let number = match value {
            Property::Float(x) => Some(f64::from(x)),
            Property::Double(x) => Some(x),
            Property::Char(x) => Some(x.into()),
            Property::UChar(x) => Some(x.into()),
            Property::Short(x) => Some(x.into()),
            Property::UShort(x) => Some(x.into()),
            Property::Int(x) => Some(x.into()),
            Property::UInt(x) => Some(x.into()),
            list => {
                if matches!(name, "vertex_indices" | "vertex_index") {
                    self.corners = whole(list);
                    return PropertyAccessResult::Set;
                }
                None
            }
        };
        if let (Some(axis), Some(number)) = (axis, number) {
            self.place[axis] = number;
            return PropertyAccessResult::Set;
        }
        PropertyAccessResult::Ignored
    }
}

fn whole(list: Property) -> Vec<i64> {
    fn wide<T: Into<i64>>(list: Vec<T>) -> Vec<i64> {
        list.into_iter().map(Into::into).collect()
    }
    match list {
        Property::ListChar(list) => wide(list),
        Property::ListUChar(list) => wide(list),
        Property::ListShort(list) => wide(list),
        Property::ListUShort(list) => wide(list),
        Property::ListInt(list) => wide(list),
        Property::ListUInt(list) => wide(list),
        _ => Vec::new(),
    }
}

pub(super) fn read(bytes: &[u8]) -> Result<Parts, ScanError> {
    let parser = Parser::<Part>::new();
    let mut reader = Reader::new(bytes);
    let damaged = |place: String, error: ply_rs_bw::parser::ParseError| ScanError::Damaged {
        format: "PLY",
        place: error.line().map_or(place, |line| format!("line {line}")),
        reason: first_line(&error.to_string()),
    };
    let header = (parser.read_header(&mut reader))
        .map_err(|error| damaged("its header".to_owned(), error))?;
    let (mut points, mut triangles) = (Vec::new(), Vec::new());
    for (name, element) in &header.elements {
        // Every element takes a byte at least.
        let most = match name.as_str() {
            "vertex" => VERTICES_MAX,
            _ => TRIANGLES_MAX,
        };
        if element.count > most {
            return Err(ScanError::Large {
                what: "elements of one kind",
                n: element.count as u64,
                most: most as u64,
            });
        }
        if name == "tristrips" {
            return Err(ScanError::Unsupported {
                format: "PLY",
                what: "triangle strips".to_owned(),
                way_out: "export it with single faces",
            });
        }
        let parts = (parser.read_payload_for_element(&mut reader, element, &header))
            .map_err(|error| damaged(format!("its element \"{name}\""), error))?;
        match name.as_str() {
            "vertex" => points = parts.into_iter().map(|part| part.place).collect(),
            "face" => fan(&parts, &mut triangles)?,
            _ => {}
        }
    }
    Ok((points, triangles))
}

/// Faces of any number of corners as triangles around their first one.
fn fan(faces: &[Part], triangles: &mut Vec<[u32; 3]>) -> Result<(), ScanError> {
    for (idx, face) in faces.iter().enumerate() {
        let corners: Option<Vec<u32>> = (face.corners.iter())
            .map(|corner| u32::try_from(*corner).ok())
            .collect();
        let corners = corners.ok_or_else(|| ScanError::Damaged {
            format: "PLY",
            place: format!("face {}", idx + 1),
            reason: "a corner's number is below zero".to_owned(),
        })?;
        if let Some((first, rest)) = corners.split_first() {
            triangles.extend(rest.windows(2).map(|pair| [*first, pair[0], pair[1]]));
        }
        if triangles.len() > TRIANGLES_MAX {
            return Err(ScanError::Large {
                what: "triangles",
                n: triangles.len() as u64,
                most: TRIANGLES_MAX as u64,
            });
        }
    }
    Ok(())
}

fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or_default().trim().to_owned()
}

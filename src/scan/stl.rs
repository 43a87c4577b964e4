//! STL, as text or in bytes.

use std::io::Cursor;

use glam::DVec3;

use super::mesh::TRIANGLES_MAX;
use super::{Parts, ScanError};

/// Bytes before the first triangle: a header and the number of triangles.
const HEAD: usize = 84;
/// Bytes of a triangle.
const EACH: usize = 50;

pub(super) fn read(bytes: &[u8]) -> Result<Parts, ScanError> {
    // Some programs begin the header of the binary form with the word of the
    // text form, too.
    let start = bytes.trim_ascii_start();
    let early = &start[..start.len().min(1000)];
    let has_word = early.windows(5).any(|word| word == b"facet") || early.ends_with(b"endsolid");
    let is_text = start.starts_with(b"solid") && has_word && !has_binary_length(bytes);
    if is_text {
        // The reader wants the word first.
        return gather(bytes.trim_ascii_start());
    }
    if bytes.len() < HEAD {
        return Err(damaged(
            format!("byte {}", bytes.len()),
            "the file ends before its first triangle".to_owned(),
        ));
    }
    let wanted = count(bytes);
    let whole = (bytes.len() - HEAD) / EACH;
    if wanted > whole {
        return Err(damaged(
            format!("triangle {}", whole + 1),
            format!("the file ends there, but promises {wanted} triangles"),
        ));
    }
    if wanted > TRIANGLES_MAX {
        return Err(ScanError::Large {
            what: "triangles",
            n: wanted as u64,
            most: TRIANGLES_MAX as u64,
        });
    }
    let mut plain = bytes.to_vec();
    plain[..5].fill(0);
    gather(&plain)
}

fn count(bytes: &[u8]) -> usize {
    let number: [u8; 4] = std::array::from_fn(|i| bytes.get(80 + i).copied().unwrap_or(0));
    u32::from_le_bytes(number) as usize
}

fn has_binary_length(bytes: &[u8]) -> bool {
    bytes.len() >= HEAD && count(bytes).checked_mul(EACH) == Some(bytes.len() - HEAD)
}

fn gather(bytes: &[u8]) -> Result<Parts, ScanError> {
    let mut cursor = Cursor::new(bytes);
    let broken = |idx: usize, reason: String| damaged(format!("triangle {}", idx + 1), reason);
    let reader =
        stl_io::create_stl_reader(&mut cursor).map_err(|error| broken(0, error.to_string()))?;
    let (mut points, mut triangles) = (Vec::new(), Vec::new());
    for (idx, triangle) in reader.enumerate() {
        let triangle = triangle.map_err(|error| broken(idx, error.to_string()))?;
        let first = points.len() as u32;
        points.extend(triangle.vertices.iter().map(|v| {
            let [x, y, z] = v.0;
            DVec3::new(x.into(), y.into(), z.into())
        }));
        triangles.push([first, first + 1, first + 2]);
        if triangles.len() > TRIANGLES_MAX {
            break;
        }
    }
    Ok((points, triangles))
}

fn damaged(place: String, reason: String) -> ScanError {
    ScanError::Damaged {
        format: "STL",
        place,
        reason,
    }
}

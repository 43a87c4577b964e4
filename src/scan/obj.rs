//! Wavefront OBJ: positions and faces; materials are left aside.

use std::cell::Cell;
use std::io::{BufRead, Read};

use glam::DVec3;

use super::{Parts, ScanError};

/// A text that knows in which line its reader is.
struct Lines<'a> {
    rest: &'a [u8],
    line: &'a Cell<usize>,
}

impl Read for Lines<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let n = self.rest.len().min(into.len());
        into[..n].copy_from_slice(&self.rest[..n]);
        self.consume(n);
        Ok(n)
    }
}

impl BufRead for Lines<'_> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        // A line at a time, so that the count is that of the line being read.
        let end = self.rest.iter().position(|b| *b == b'\n');
        Ok(&self.rest[..end.map_or(self.rest.len(), |at| at + 1)])
    }

    fn consume(&mut self, n: usize) {
        let (taken, rest) = self.rest.split_at(n.min(self.rest.len()));
        let ends = taken.ends_with(b"\n");
        self.line.set(self.line.get() + usize::from(ends));
        self.rest = rest;
    }
}

pub(super) fn read(bytes: &[u8]) -> Result<Parts, ScanError> {
    // Names in comments and groups may be in any encoding.
    let text = corners_only(&String::from_utf8_lossy(bytes));
    let line = Cell::new(0);
    let mut lines = Lines {
        rest: text.as_bytes(),
        line: &line,
    };
    let options = tobj::LoadOptions {
        triangulate: true,
        ignore_points: true,
        ignore_lines: true,
        ..tobj::LoadOptions::default()
    };
    let no_materials = |_: &std::path::Path| Err(tobj::LoadError::OpenFileFailed);
    let (models, _) = tobj::load_obj_buf(&mut lines, &options, no_materials).map_err(|error| {
        ScanError::Damaged {
            format: "OBJ",
            place: format!("line {}", line.get().max(1)),
            reason: error.to_string(),
        }
    })?;
    let (mut points, mut triangles) = (Vec::new(), Vec::new());
    for model in models {
        let first = points.len() as u32;
        let places = model.mesh.positions.chunks_exact(3);
        points.extend(places.map(|p| DVec3::new(p[0].into(), p[1].into(), p[2].into())));
        let corners = model.mesh.indices.chunks_exact(3);
        triangles
            .extend(corners.map(|t| [t[0], t[1], t[2]].map(|corner| corner.saturating_add(first))));
    }
    Ok((points, triangles))
}

/// The text without texture places and normals, line by line: they are not
/// wanted here, and the reader does not bear numbers of them that are too large.
fn corners_only(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let mut words = line.split_whitespace();
        match words.next() {
            Some("vt" | "vn") => plain.push_str(if line.ends_with('\n') { "\n" } else { "" }),
            Some("f") if line.contains('/') => {
                plain.push('f');
                for word in words {
                    plain.push(' ');
                    let corner = word.split('/').next().unwrap_or_default();
                    // None at all is refused by the reader, as number 0 is.
                    plain.push_str(if corner.is_empty() { "0" } else { corner });
                }
                plain.push('\n');
            }
            _ => plain.push_str(line),
        }
    }
    plain
}

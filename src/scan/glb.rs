//! GLB: the triangles of the scene that it shows, in place.

use glam::{DMat4, DVec3, Mat4};
use gltf::accessor::{DataType, Dimensions};
use gltf::mesh::Mode;

use super::mesh::{TRIANGLES_MAX, VERTICES_MAX};
use super::{Parts, ScanError};

/// Most nodes that are looked at, and how deep they may hang in each other.
const NODES_MAX: usize = 10_000;
const DEPTH_MAX: usize = 64;

pub(super) fn read(bytes: &[u8]) -> Result<Parts, ScanError> {
    // Header, and a header and four bytes of the first part.
    const LEAST: usize = 24;
    let promised = bytes.get(8..12).and_then(|b| b.try_into().ok());
    let promised = promised.map_or(0, |b| u32::from_le_bytes(b) as usize);
    if bytes.len() < LEAST || promised < LEAST || promised > bytes.len() {
        return Err(damaged(
            format!("byte {}", bytes.len()),
            format!("the file ends there, but promises {promised} bytes"),
        ));
    }
    check_positions(bytes)?;
    let file = gltf::Gltf::from_slice(bytes)
        .map_err(|error| damaged("its description".to_owned(), error.to_string()))?;
    let needed = file.document.extensions_required().next();
    if let Some(extension) = needed {
        return Err(ScanError::Unsupported {
            format: "GLB",
            what: format!("the extension {extension}"),
            way_out: "export it without compression",
        });
    }
    let blob = file.blob.as_deref().unwrap_or_default();
    let mut gathered = Gathered {
        blob,
        parts: (Vec::new(), Vec::new()),
        n_nodes: 0,
    };
    let scene = (file.document.default_scene()).or_else(|| file.document.scenes().next());
    if let Some(scene) = scene {
        for node in scene.nodes() {
            gathered.add_node(&node, DMat4::IDENTITY, 0)?;
        }
    } else {
        for mesh in file.document.meshes() {
            gathered.add_mesh(&mesh, DMat4::IDENTITY)?;
        }
    }
    Ok(gathered.parts)
}

/// Whether the data of corner points that meshes name are there at all, which
/// the reader's own checks take for granted.
fn check_positions(bytes: &[u8]) -> Result<(), ScanError> {
    let wrong = |error: String| damaged("its description".to_owned(), error);
    let file = gltf::Glb::from_slice(bytes).map_err(|error| wrong(error.to_string()))?;
    let root =
        gltf::json::Root::from_slice(&file.json).map_err(|error| wrong(error.to_string()))?;
    for (idx, mesh) in root.meshes.iter().enumerate() {
        let mut named = mesh.primitives.iter().flat_map(|it| it.attributes.values());
        if named.any(|index| index.value() >= root.accessors.len()) {
            return Err(damaged(
                format!("mesh {idx}"),
                "it names data that are not there".to_owned(),
            ));
        }
    }
    Ok(())
}

struct Gathered<'a> {
    blob: &'a [u8],
    parts: Parts,
    n_nodes: usize,
}

impl Gathered<'_> {
    fn add_node(
        &mut self,
        node: &gltf::Node<'_>,
        above: DMat4,
        depth: usize,
    ) -> Result<(), ScanError> {
        self.n_nodes += 1;
        if self.n_nodes > NODES_MAX || depth > DEPTH_MAX {
            return Err(damaged(
                format!("node {}", node.index()),
                "nodes hang in each other without end".to_owned(),
            ));
        }
        let own = Mat4::from_cols_array_2d(&node.transform().matrix());
        let place = above * own.as_dmat4();
        if let Some(mesh) = node.mesh() {
            self.add_mesh(&mesh, place)?;
        }
        for child in node.children() {
            self.add_node(&child, place, depth + 1)?;
        }
        Ok(())
    }

    fn add_mesh(&mut self, mesh: &gltf::Mesh<'_>, place: DMat4) -> Result<(), ScanError> {
        for primitive in mesh.primitives() {
            self.add_primitive(&primitive, place)
                .map_err(|reason| match reason {
                    Reason::Damaged(reason) => damaged(format!("mesh {}", mesh.index()), reason),
                    Reason::Other(error) => error,
                })?;
        }
        Ok(())
    }

    fn add_primitive(
        &mut self,
        primitive: &gltf::Primitive<'_>,
        place: DMat4,
    ) -> Result<(), Reason> {
        let mode = primitive.mode();
        if !matches!(
            mode,
            Mode::Triangles | Mode::TriangleStrip | Mode::TriangleFan
        ) {
            // Points and lines enclose nothing.
            return Ok(());
        }
        let places = (primitive.get(&gltf::Semantic::Positions))
            .ok_or_else(|| Reason::Damaged("a part without positions".to_owned()))?;
        check_kinds(&places, primitive.indices())?;
        self.fits(&places)?;
        if let Some(indices) = primitive.indices() {
            self.fits(&indices)?;
        }
        let blob = self.blob;
        let reader = primitive.reader(|buffer| {
            let is_within = matches!(buffer.source(), gltf::buffer::Source::Bin);
            is_within.then_some(blob)
        });
        let first = self.parts.0.len() as u32;
        let positions = (reader.read_positions())
            .ok_or_else(|| Reason::Damaged("positions beyond the file's data".to_owned()))?;
        let placed = positions.map(|p| place.transform_point3(glam::Vec3::from(p).as_dvec3()));
        self.parts.0.extend(placed.collect::<Vec<DVec3>>());
        let corners: Vec<u32> = match (primitive.indices().is_some(), reader.read_indices()) {
            (_, Some(indices)) => indices.into_u32().collect(),
            (false, None) => (0..self.parts.0.len() as u32 - first).collect(),
            (true, None) => {
                return Err(Reason::Damaged("corners beyond the file's data".to_owned()));
            }
        };
        let is_mirrored = place.determinant() < 0.0;
        let mut add = |[a, b, c]: [u32; 3]| {
            let t = if is_mirrored { [a, c, b] } else { [a, b, c] };
            let moved = t.map(|corner| corner.saturating_add(first));
            self.parts.1.push(moved);
        };
        match mode {
            Mode::TriangleStrip => {
                for (idx, t) in corners.windows(3).enumerate() {
                    let turned = idx % 2 == 1;
                    add(if turned {
                        [t[1], t[0], t[2]]
                    } else {
                        [t[0], t[1], t[2]]
                    });
                }
            }
            Mode::TriangleFan => {
                for pair in corners.get(1..).unwrap_or_default().windows(2) {
                    add([corners[0], pair[0], pair[1]]);
                }
            }
            _ => corners
                .chunks_exact(3)
                .for_each(|t| add([t[0], t[1], t[2]])),
        }
        if self.parts.0.len() > VERTICES_MAX || self.parts.1.len() > TRIANGLES_MAX {
            return Err(Reason::Other(ScanError::Large {
                what: "triangles",
                n: self.parts.1.len() as u64,
                most: TRIANGLES_MAX as u64,
            }));
        }
        Ok(())
    }

    /// Whether all that an accessor names lies within the file: its reader
    /// takes that for granted.
    fn fits(&self, accessor: &gltf::Accessor<'_>) -> Result<(), Reason> {
        if accessor.sparse().is_some() {
            return Err(Reason::Other(ScanError::Unsupported {
                format: "GLB",
                what: "sparse data".to_owned(),
                way_out: "export it as plain triangles",
            }));
        }
        let view = (accessor.view()).ok_or_else(|| Reason::Damaged("data nowhere".to_owned()))?;
        if !matches!(view.buffer().source(), gltf::buffer::Source::Bin) {
            return Err(Reason::Other(ScanError::Unsupported {
                format: "GLB",
                what: "data in another file".to_owned(),
                way_out: "export it as one GLB file",
            }));
        }
        let (size, count) = (accessor.size(), accessor.count());
        let stride = view.stride().unwrap_or(size);
        let within_view = (count.checked_sub(1))
            .and_then(|n| n.checked_mul(stride))
            .and_then(|n| n.checked_add(size))
            .and_then(|n| n.checked_add(accessor.offset()))
            .is_some_and(|end| end <= view.length());
        let within_file =
            (view.offset().checked_add(view.length())).is_some_and(|end| end <= self.blob.len());
        if within_view && within_file && stride >= size {
            Ok(())
        } else {
            Err(Reason::Damaged(format!(
                "{count} entries of {size} bytes reach beyond the file's data"
            )))
        }
    }
}

/// Whether places and corners are of the numbers that their reader takes for
/// granted.
fn check_kinds(
    places: &gltf::Accessor<'_>,
    corners: Option<gltf::Accessor<'_>>,
) -> Result<(), Reason> {
    if (places.dimensions(), places.data_type()) != (Dimensions::Vec3, DataType::F32) {
        let reason = "positions that are not three numbers of 32 bits each";
        return Err(Reason::Damaged(reason.to_owned()));
    }
    let is_count = |corners: gltf::Accessor<'_>| {
        let kind = corners.data_type();
        let is_whole = matches!(kind, DataType::U8 | DataType::U16 | DataType::U32);
        is_whole && corners.dimensions() == Dimensions::Scalar
    };
    if corners.is_none_or(is_count) {
        Ok(())
    } else {
        let reason = "corners that are not counted by whole numbers";
        Err(Reason::Damaged(reason.to_owned()))
    }
}

enum Reason {
    Damaged(String),
    Other(ScanError),
}

fn damaged(place: String, reason: String) -> ScanError {
    ScanError::Damaged {
        format: "GLB",
        place,
        reason,
    }
}

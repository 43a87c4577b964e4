//! A mesh as it was read: corner points and triangles, checked and bounded.

use glam::DVec3;

use super::ScanError;

/// Most triangles of a mesh.
pub const TRIANGLES_MAX: usize = 2_000_000;
/// Most corner points of a mesh.
pub(super) const VERTICES_MAX: usize = 6_000_000;
/// Largest file of a mesh, in bytes.
pub const BYTES_MAX: u64 = 400 * 1024 * 1024;

/// Endings of the files that are read.
pub const ENDINGS: [&str; 4] = ["obj", "stl", "ply", "glb"];

/// Formats of meshes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Wavefront OBJ, a text.
    Obj,
    /// STL, as text or in bytes.
    Stl,
    /// PLY, as text or in bytes.
    Ply,
    /// glTF 2.0 in one file.
    Glb,
}

impl Format {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Obj => "OBJ",
            Self::Stl => "STL",
            Self::Ply => "PLY",
            Self::Glb => "GLB",
        }
    }

    /// The format that a file name's ending says.
    pub fn of_name(name: &str) -> Option<Self> {
        let (_, ending) = name.rsplit_once('.')?;
        let all = [Self::Obj, Self::Stl, Self::Ply, Self::Glb];
        all.into_iter()
            .find(|format| format.name().eq_ignore_ascii_case(ending))
    }

    /// The format of a file: by its first bytes where these are plain, else by
    /// its name.
    fn of(name: &str, bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(b"glTF") {
            Some(Self::Glb)
        } else if bytes.starts_with(b"ply\n") || bytes.starts_with(b"ply\r") {
            Some(Self::Ply)
        } else {
            Self::of_name(name)
        }
    }
}

/// A mesh in its own axes and unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    /// What it was read from.
    pub format: Format,
    /// Corner points.
    pub points: Vec<DVec3>,
    /// Three corner points each.
    pub triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// The mesh in a file called `name` with these bytes.
    ///
    /// # Errors
    ///
    /// [`ScanError`] for a file that is damaged, of an unknown kind or too large.
    pub fn read(name: &str, bytes: &[u8]) -> Result<Self, ScanError> {
        if bytes.len() as u64 > BYTES_MAX {
            return Err(large("bytes", bytes.len(), BYTES_MAX));
        }
        let format = Format::of(name, bytes).ok_or(ScanError::Format)?;
        let (points, triangles) = match format {
            Format::Obj => super::obj::read(bytes),
            Format::Stl => super::stl::read(bytes),
            Format::Ply => super::ply::read(bytes),
            Format::Glb => super::glb::read(bytes),
        }?;
        Self {
            format,
            points,
            triangles,
        }
        .checked()
    }

    fn checked(mut self) -> Result<Self, ScanError> {
        const FAR: f64 = 1e9;
        if self.triangles.len() > TRIANGLES_MAX {
            let most = TRIANGLES_MAX as u64;
            return Err(large("triangles", self.triangles.len(), most));
        }
        let n = self.points.len();
        if n > VERTICES_MAX {
            return Err(large("corner points", n, VERTICES_MAX as u64));
        }
        let missing = |t: &[u32; 3]| t.iter().any(|corner| *corner as usize >= n);
        if let Some(idx) = self.triangles.iter().position(missing) {
            return Err(ScanError::Damaged {
                format: self.format.name(),
                place: format!("triangle {}", idx + 1),
                reason: format!("it names a corner point beyond the {n} there are"),
            });
        }
        let is_place = |p: &DVec3| p.is_finite() && p.abs().max_element() <= FAR;
        let wrong = (self.triangles.iter().flatten())
            .find(|corner| !is_place(&self.points[**corner as usize]));
        if let Some(corner) = wrong {
            return Err(ScanError::NotAPlace(*corner as usize + 1));
        }
        self.weld();
        if self.triangles.is_empty() {
            return Err(ScanError::Flat("it has no triangles"));
        }
        Ok(self)
    }

    /// Makes points at the same place one, and leaves out triangles that are
    /// none and points that no triangle has.
    fn weld(&mut self) {
        // Adding zero makes -0 and 0 one.
        let key =
            |corner: u32| (self.points[corner as usize].to_array()).map(|x| (x + 0.0).to_bits());
        let mut used: Vec<u32> = self.triangles.iter().flatten().copied().collect();
        used.sort_unstable();
        used.dedup();
        let mut sorted: Vec<([u64; 3], u32)> = used.iter().map(|c| (key(*c), *c)).collect();
        sorted.sort_unstable();
        let mut now = vec![0_u32; self.points.len()];
        let mut points = Vec::new();
        for same in sorted.chunk_by(|a, b| a.0 == b.0) {
            for (_, corner) in same {
                now[*corner as usize] = points.len() as u32;
            }
            points.push(self.points[same[0].1 as usize]);
        }
        self.points = points;
        for t in &mut self.triangles {
            *t = t.map(|corner| now[corner as usize]);
        }
        (self.triangles).retain(|[a, b, c]| a != b && b != c && c != a);
    }

    /// Lowest and highest corner of the box around it.
    pub fn bounds(&self) -> (DVec3, DVec3) {
        let start = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        (self.points.iter()).fold(start, |(low, high), p| (low.min(*p), high.max(*p)))
    }

    /// Share of the edges that have no triangle, or one turned the other way,
    /// on their other side; zero for a closed surface.
    pub fn open_share(&self) -> f64 {
        let mut edges: Vec<(u32, u32, bool)> = Vec::with_capacity(3 * self.triangles.len());
        for [a, b, c] in &self.triangles {
            for (from, to) in [(*a, *b), (*b, *c), (*c, *a)] {
                edges.push((from.min(to), from.max(to), from < to));
            }
        }
        edges.sort_unstable();
        let (mut n_edges, mut n_open) = (0_u64, 0_u64);
        for same in edges.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            let forth = same.iter().filter(|edge| edge.2).count();
            n_edges += 1;
            n_open += u64::from(2 * forth != same.len());
        }
        n_open as f64 / n_edges.max(1) as f64
    }
}

fn large(what: &'static str, n: usize, most: u64) -> ScanError {
    ScanError::Large {
        what,
        n: n as u64,
        most,
    }
}

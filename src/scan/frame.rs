//! What a mesh does not say: its unit, which way is up, and where its foot is.

use glam::{DMat3, DVec3};

use super::ScanError;
use super::error::Rounded;
use super::mesh::{Format, Mesh};

/// Lengths that a rock's longest side may have, in cm.
const LONGEST_CM: (f64, f64) = (1.0, 300.0);
/// Longest side of an ordinary rock, in cm; `COMMON PRACTICE`.
const ORDINARY_CM: f64 = 25.0;

/// Unit of a mesh's lengths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Millimeter.
    Mm,
    /// Centimeter.
    Cm,
    /// Meter.
    M,
    /// Inch.
    In,
}

impl Unit {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Mm, Self::Cm, Self::M, Self::In];

    /// Its symbol.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::In => "in",
        }
    }

    /// Its length in cm.
    pub fn cm(self) -> f64 {
        match self {
            Self::Mm => 0.1,
            Self::Cm => 1.0,
            Self::M => 100.0,
            Self::In => 2.54,
        }
    }

    /// The unit in which the longest side is nearest to that of an ordinary
    /// rock; meters in a GLB, as its standard has it (glTF 2.0, section 3.4),
    /// if that makes a rock at all.
    fn guess(format: Format, longest: f64) -> Self {
        let is_rock = |unit: &Self| {
            let cm = longest * unit.cm();
            cm >= LONGEST_CM.0 && cm <= LONGEST_CM.1
        };
        if format == Format::Glb && is_rock(&Self::M) {
            return Self::M;
        }
        let off = |unit: &Self| (longest * unit.cm() / ORDINARY_CM).ln().abs();
        let metric = [Self::Mm, Self::Cm, Self::M].into_iter();
        (metric.min_by(|a, b| off(a).total_cmp(&off(b)))).unwrap_or(Self::Cm)
    }
}

/// Which of a mesh's axes points up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Up {
    /// Its x axis.
    X,
    /// Its y axis.
    Y,
    /// Its z axis.
    Z,
    /// Against its x axis.
    MinusX,
    /// Against its y axis.
    MinusY,
    /// Against its z axis.
    MinusZ,
}

impl Up {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::X,
        Self::Y,
        Self::Z,
        Self::MinusX,
        Self::MinusY,
        Self::MinusZ,
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::X => "x",
            Self::Y => "y",
            Self::Z => "z",
            Self::MinusX => "-x",
            Self::MinusY => "-y",
            Self::MinusZ => "-z",
        }
    }

    /// What turns the mesh upright.
    fn upright(self) -> DMat3 {
        let quarter = std::f64::consts::FRAC_PI_2;
        match self {
            Self::Z => DMat3::IDENTITY,
            Self::MinusZ => DMat3::from_rotation_x(2.0 * quarter),
            Self::Y => DMat3::from_rotation_x(quarter),
            Self::MinusY => DMat3::from_rotation_x(-quarter),
            Self::X => DMat3::from_rotation_y(-quarter),
            Self::MinusX => DMat3::from_rotation_y(quarter),
        }
    }
}

/// How a mesh becomes a rock that stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    pub(super) unit: Unit,
    pub(super) unit_is_guessed: bool,
    pub(super) up: Up,
    pub(super) up_is_guessed: bool,
    /// Whether its foot is a flat face, and not just its lowest point.
    pub(super) foot_is_flat: bool,
}

/// The triangles of a mesh in cm, upright, with the foot at z = 0 and their
/// middle above the origin.
pub(super) fn stand(
    mesh: &Mesh,
    unit: Option<Unit>,
    up: Option<Up>,
) -> Result<(Frame, Vec<[DVec3; 3]>), ScanError> {
    let (low, high) = mesh.bounds();
    let longest = (high - low).max_element();
    let frame_unit = unit.unwrap_or_else(|| Unit::guess(mesh.format, longest));
    let longest_cm = longest * frame_unit.cm();
    if !(longest_cm >= LONGEST_CM.0 && longest_cm <= LONGEST_CM.1) {
        return Err(ScanError::Size {
            longest_cm: Rounded(longest_cm),
            low_cm: LONGEST_CM.0 as u32,
            high_cm: LONGEST_CM.1 as u32,
        });
    }
    let middle = (low + high) / 2.0;
    let placed = |up: Up| -> Vec<[DVec3; 3]> {
        let turn = up.upright();
        let place = |p: u32| turn * ((mesh.points[p as usize] - middle) * frame_unit.cm());
        (mesh.triangles.iter()).map(|t| t.map(place)).collect()
    };
    let (chosen, mut triangles) = match up {
        Some(up) => (up, placed(up)),
        None => guess_up(mesh.format, placed),
    };
    // A surface turned inside out is turned back.
    let volume: f64 = triangles.iter().map(|[a, b, c]| a.dot(b.cross(*c))).sum();
    if volume < 0.0 {
        for t in &mut triangles {
            t.swap(1, 2);
        }
    }
    let foot = Foot::of(&triangles);
    for p in triangles.iter_mut().flatten() {
        p.z -= foot.height_cm;
    }
    let frame = Frame {
        unit: frame_unit,
        unit_is_guessed: unit.is_none(),
        up: chosen,
        up_is_guessed: up.is_none(),
        foot_is_flat: foot.is_flat,
    };
    Ok((frame, triangles))
}

/// OBJ and GLB have y up (GLB by its standard, OBJ by `COMMON PRACTICE`), STL
/// and PLY z, unless the mesh stands much better the other way.
fn guess_up(format: Format, placed: impl Fn(Up) -> Vec<[DVec3; 3]>) -> (Up, Vec<[DVec3; 3]>) {
    const BETTER: f64 = 4.0;
    const ENOUGH: f64 = 0.2;
    let (usual, other) = match format {
        Format::Obj | Format::Glb => (Up::Y, Up::Z),
        Format::Stl | Format::Ply => (Up::Z, Up::Y),
    };
    let (a, b) = (placed(usual), placed(other));
    let (foot_a, foot_b) = (Foot::of(&a).share, Foot::of(&b).share);
    if foot_b > ENOUGH && foot_b > BETTER * foot_a {
        (other, b)
    } else {
        (usual, a)
    }
}

/// The lowest flat support of an upright mesh.
struct Foot {
    height_cm: f64,
    is_flat: bool,
    /// Its area as a share of what the mesh covers seen from above.
    share: f64,
}

impl Foot {
    fn of(triangles: &[[DVec3; 3]]) -> Self {
        // How level a face has to be: within 26°. A ball has a cap as level, but
        // only 8 % of what it covers lies as low as a foot may be high.
        const LEVEL: f64 = 0.9;
        // A foot lies in this share of the height from the lowest point.
        const LOW: f64 = 0.15;
        const SLICES: usize = 15;
        // Slices that a foot may be high.
        const ROUGH: usize = 2;
        // Share of the covered area that makes a foot.
        const ENOUGH: f64 = 0.2;
        let heights = triangles.iter().flatten().map(|p| p.z);
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| {
            (l.min(z), h.max(z))
        });
        let slice = (high - low).max(1e-9) * LOW / SLICES as f64;
        let mut areas = [(0.0, 0.0); SLICES];
        let mut covered = 0.0;
        for [a, b, c] in triangles {
            let face = (*b - *a).cross(*c - *a) / 2.0;
            covered += face.z.abs() / 2.0;
            // The order of corners may be wrong here and there: a level face
            // near the lowest point looks down.
            let height = (a.z + b.z + c.z) / 3.0;
            let at = ((height - low) / slice) as usize;
            if face.z.abs() >= LEVEL * face.length() && at < SLICES {
                areas[at].0 += face.length();
                areas[at].1 += face.length() * height;
            }
        }
        let sum = |window: &[(f64, f64)]| {
            let add = |s: (f64, f64), x: &(f64, f64)| (s.0 + x.0, s.1 + x.1);
            window.iter().fold((0.0, 0.0), add)
        };
        let windows: Vec<(f64, f64)> = areas.windows(ROUGH).map(sum).collect();
        let found = windows.iter().position(|w| w.0 > ENOUGH * covered);
        // Where the next slices hold more of the same foot, they count too.
        let best = found.map(|at| {
            let near = &windows[at..(at + ROUGH).min(windows.len())];
            let more = |best: (f64, f64), w: &(f64, f64)| if w.0 > best.0 { *w } else { best };
            near.iter().fold(windows[at], more)
        });
        best.map_or(
            Self {
                height_cm: low,
                is_flat: false,
                share: 0.0,
            },
            |(area, moment)| Self {
                height_cm: moment / area,
                is_flat: true,
                share: area / covered.max(1e-9),
            },
        )
    }
}

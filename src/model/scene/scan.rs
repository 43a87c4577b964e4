//! A scanned shape as a scene keeps it: distances on a grid, packed into text.

use std::sync::Arc;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD_NO_PAD;
use glam::DVec3;
use serde::{Deserialize, Serialize};

use crate::geometry::DistanceGrid;
use crate::geometry::distance_grid::NoShape;
use crate::geometry::tetra::Lattice;

/// Most nodes of one scan.
pub const NODES_MAX: usize = 150_000;

/// The shape of a scanned rock in the rock's own frame, whose z = 0 is its foot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Packed", into = "Packed")]
pub struct Scan {
    /// How far apart the nodes are, in cm.
    pub step_cm: f64,
    /// Where the first node lies, in cm.
    pub low_cm: DVec3,
    /// Its distances; shared, so that a copy is cheap.
    pub grid: Arc<DistanceGrid>,
}

impl Scan {
    /// Lowest and highest corner of the box around the shape, in cm.
    pub fn bounds_cm(&self) -> (DVec3, DVec3) {
        let (low, high) = self.grid.bounds();
        (
            self.low_cm + low * self.step_cm,
            self.low_cm + high * self.step_cm,
        )
    }

    /// Volume within the surface, in L.
    pub fn volume_l(&self) -> f64 {
        self.grid.measures().volume * self.step_cm.powi(3) / 1000.0
    }

    /// The mirror image of the shape in its own x.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let last = (self.grid.n()[0] - 1) as f64;
        let mut low_cm = self.low_cm;
        low_cm.x = -(low_cm.x + last * self.step_cm);
        Self {
            step_cm: self.step_cm,
            low_cm,
            grid: Arc::new(self.grid.mirrored()),
        }
    }

    /// The same shape in another size, scaled about the rock's origin.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self {
            step_cm: self.step_cm * factor,
            low_cm: self.low_cm * factor,
            grid: Arc::clone(&self.grid),
        }
    }
}

/// A [`Scan`] as it is written.
#[derive(Clone, Serialize, Deserialize)]
#[serde(rename = "Scan", deny_unknown_fields)]
struct Packed {
    step_cm: f64,
    low_cm: DVec3,
    nodes: (u32, u32, u32),
    distances: String,
}

/// Why the text of a scan cannot be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
enum Unreadable {
    #[error(
        "a scan of {0} nodes; at most {NODES_MAX} are read: import the mesh again with this program"
    )]
    Large(u64),
    #[error(
        "the distances of a scan are damaged ({0}): take the version before from NAME.ron.previous, or import the mesh again"
    )]
    Damaged(String),
    #[error("the distances of a scan are damaged ({0}): import the mesh again")]
    NoShape(#[from] NoShape),
}

impl TryFrom<Packed> for Scan {
    type Error = Unreadable;

    fn try_from(packed: Packed) -> Result<Self, Unreadable> {
        let (nx, ny, nz) = packed.nodes;
        let n = [nx, ny, nz].map(|n| n as usize);
        let count = [nx, ny, nz]
            .iter()
            .fold(1_u64, |all, n| all.saturating_mul(u64::from(*n)));
        if count > NODES_MAX as u64 {
            return Err(Unreadable::Large(count));
        }
        let parts = unpacked(n, &packed.distances)?;
        Ok(Self {
            step_cm: packed.step_cm,
            low_cm: packed.low_cm,
            grid: Arc::new(DistanceGrid::new(n, parts)?),
        })
    }
}

impl From<Scan> for Packed {
    fn from(scan: Scan) -> Self {
        let n = scan.grid.n();
        Self {
            step_cm: scan.step_cm,
            low_cm: scan.low_cm,
            nodes: (n[0] as u32, n[1] as u32, n[2] as u32),
            distances: packed(n, scan.grid.parts()),
        }
    }
}

/// What the seven neighbors before a node lead to expect there: the value of
/// the trilinear function through them. Real distances differ by a few parts
/// only, which packs well. Wraps around, so that any values come back.
///
/// **Source** the predictor of Ibarria et al. 2003, MEMORY.
fn expected(lattice: Lattice, values: &[i16], [i, j, k]: [usize; 3]) -> i16 {
    let mut sum = 0_i16;
    for before in 1..8 {
        let (di, dj, dk) = (before & 1, before >> 1 & 1, before >> 2);
        if di > i || dj > j || dk > k {
            continue;
        }
        let value = values[lattice.idx([i - di, j - dj, k - dk])];
        sum = if (di + dj + dk) % 2 == 1 {
            sum.wrapping_add(value)
        } else {
            sum.wrapping_sub(value)
        };
    }
    sum
}

fn ijk(n: [usize; 3], idx: usize) -> [usize; 3] {
    [idx % n[0], idx / n[0] % n[1], idx / (n[0] * n[1])]
}

/// Distances as text: what is not expected, low bytes before high ones,
/// deflated (RFC 1950), in base 64 (RFC 4648).
fn packed(n: [usize; 3], values: &[i16]) -> String {
    const LEVEL: u8 = 8;
    let lattice = Lattice(n);
    let odd: Vec<u16> = (values.iter().enumerate())
        .map(|(idx, value)| {
            let rest = value.wrapping_sub(expected(lattice, values, ijk(n, idx)));
            // Small either way is a small number.
            ((rest << 1) ^ (rest >> 15)) as u16
        })
        .collect();
    let low = odd.iter().map(|rest| *rest as u8);
    let high = odd.iter().map(|rest| (*rest >> 8) as u8);
    let bytes: Vec<u8> = low.chain(high).collect();
    STANDARD_NO_PAD.encode(miniz_oxide::deflate::compress_to_vec_zlib(&bytes, LEVEL))
}

fn unpacked(n: [usize; 3], text: &str) -> Result<Vec<i16>, Unreadable> {
    let lattice = Lattice(n);
    let count = lattice.len();
    let bytes =
        (STANDARD_NO_PAD.decode(text)).map_err(|error| Unreadable::Damaged(error.to_string()))?;
    let bytes = miniz_oxide::inflate::decompress_to_vec_zlib_with_limit(&bytes, 2 * count)
        .map_err(|error| Unreadable::Damaged(format!("{:?}", error.status)))?;
    if bytes.len() != 2 * count {
        return Err(Unreadable::Damaged("not two bytes a node".to_owned()));
    }
    let mut values = vec![0_i16; count];
    for idx in 0..count {
        let odd = u16::from(bytes[idx]) | u16::from(bytes[count + idx]) << 8;
        let rest = ((odd >> 1) as i16) ^ -((odd & 1) as i16);
        values[idx] = expected(lattice, &values, ijk(n, idx)).wrapping_add(rest);
    }
    Ok(values)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::mass;
    use crate::geometry::solid::Ray;
    use crate::geometry::surface::surface_samples;
    use crate::scene::solids::rock_solid;
    use crate::scene::{Item, Rock};

    /// A ball of 8 cm with a smaller one at its right, as a turned, tilted rock,
    /// and the distance to it in its own frame, in cm.
    fn lump() -> (Rock, impl Fn(DVec3) -> f64) {
        let (n, step_cm, low_cm) = ([60, 48, 48], 0.4, DVec3::new(-9.4, -9.4, -1.4));
        let distance = |p: DVec3| {
            let large = p.distance(DVec3::new(0.0, 0.0, 8.0)) - 8.0;
            large.min(p.distance(DVec3::new(9.0, 1.0, 6.0)) - 5.0)
        };
        let lattice = Lattice(n);
        let parts = (0..lattice.len())
            .map(|idx| (distance(low_cm + lattice.place(idx) * step_cm) / step_cm * 128.0) as i16)
            .collect();
        let grid = Arc::new(DistanceGrid::new(n, parts).expect("a shape"));
        let rock = Rock {
            id: 1,
            name: String::new(),
            at_cm: DVec3::new(40.0, 30.0, 3.0),
            turn_deg: 35.0,
            tilt_deg: 12.0,
            plan: crate::scene::Outline::default(),
            front: crate::scene::Outline::default(),
            end: None,
            scan: Some(Scan {
                step_cm,
                low_cm,
                grid,
            }),
            rounding_cm: 0.0,
            reflectance: 0.25,
            density_kg_per_l: 1.5,
            bonded: None,
            locked: false,
        };
        (rock, distance)
    }

    fn wave(k: u32) -> DVec3 {
        let t = f64::from(k);
        DVec3::new((t * 0.7).sin(), (t * 1.3).cos(), (t * 2.1).sin())
    }

    #[test]
    fn a_scanned_rock_answers_like_its_shape() {
        let (rock, distance_cm) = lump();
        let solid = rock_solid(&rock);
        let exact_m = |p: DVec3| distance_cm(solid.rock_from_tank(p) * 100.0) / 100.0;
        let middle = DVec3::new(0.42, 0.31, 0.1);
        for k in 0..300 {
            let p = middle + wave(k) * 0.12;
            // Linear between nodes: an eighth of the curvature times a step
            // squared, at the seam of the two balls up to a third of a step.
            let gap = solid.signed_distance(p) - exact_m(p);
            assert!(gap < 1.4e-3, "{gap} at {p}");
            // Farther away, beyond the grid, it is a bound from below.
            assert!(gap > -1.4e-3 || exact_m(p) > 0.005, "{gap} at {p}");
            let ray = Ray {
                origin_m: middle + wave(k).normalize() * 0.4,
                direction: -(wave(k) + wave(k + 1) * 0.2).normalize(),
            };
            let hit = solid.first_hit(&ray, 1.0);
            assert_eq!(hit.is_some(), solid.blocks(&ray, 1.0), "ray {k}");
            if let Some(far_m) = hit {
                let off = exact_m(ray.origin_m + ray.direction * far_m);
                assert!(off.abs() < 1.4e-3, "ray {k} ends {off} from the surface");
            }
        }
        let volume = |r: f64| 4.0 / 3.0 * std::f64::consts::PI * r.powi(3);
        let properties = mass(&solid, 0.01);
        assert!(properties.volume_m3 * 1e6 > volume(8.0), "{properties:?}");
        assert!(
            properties.volume_m3 * 1e6 < volume(8.0) + volume(5.0),
            "{properties:?}"
        );
        let samples = surface_samples(&solid, 0.01);
        let area: f64 = samples.iter().map(|s| s.area_m2).sum();
        assert!((area / properties.area_m2 - 1.0).abs() < 1e-6, "{area}");
        for s in samples {
            assert!(exact_m(s.at_m).abs() < 1.5e-3, "{s:?} lies on the surface");
            let along = |way_m: f64| exact_m(s.at_m + s.normal * way_m);
            assert!(along(2e-3) > along(-2e-3), "{s:?} looks outwards");
        }
    }

    #[test]
    fn it_is_mirrored_scaled_and_written_like_any_rock() {
        let (rock, _) = lump();
        let original = rock_solid(&rock);
        let mut item = Item::Rock(rock.clone());
        item.mirror(40.0);
        let Item::Rock(image) = item else {
            unreachable!()
        };
        let image = rock_solid(&image);
        let (rock, scan) = (rock.clone(), rock.scan.expect("a scan"));
        for k in 0..100 {
            let p = DVec3::new(0.42, 0.31, 0.1) + wave(k) * 0.12;
            let q = DVec3::new(0.8 - p.x, p.y, p.z);
            let gap = original.signed_distance(p) - image.signed_distance(q);
            assert!(gap.abs() < 1e-9, "{gap} at {p}");
        }
        let twice = scan.scaled(2.0).volume_l() / scan.volume_l();
        assert!((twice - 8.0).abs() < 1e-9, "{twice}");
        let text = ron::to_string(&rock).expect("written");
        let again: Rock = ron::from_str(&text).expect("read");
        assert_eq!(again, rock);
        let damaged = text.replacen("distances:\"", "distances:\"AAAA", 1);
        let refused = ron::from_str::<Rock>(&damaged).expect_err("damaged");
        assert!(refused.to_string().contains("damaged"), "{refused}");
    }

    #[test]
    fn any_numbers_come_back() {
        let n = [5, 4, 3];
        let values: Vec<i16> = (0..60)
            .map(|k: i32| (k.wrapping_mul(7919) ^ 0x5a5a) as i16)
            .chain([i16::MIN, i16::MAX])
            .take(60)
            .collect();
        assert_eq!(unpacked(n, &packed(n, &values)), Ok(values));
    }

    #[test]
    fn a_ball_packs_into_a_fraction() {
        let n = [50, 50, 50];
        let lattice = Lattice(n);
        let values: Vec<i16> = (0..lattice.len())
            .map(|idx| {
                let d = lattice.place(idx).distance(DVec3::splat(24.5)) - 20.0;
                (d * 128.0).round() as i16
            })
            .collect();
        let text = packed(n, &values);
        // A byte a node at most, from two.
        assert!(text.len() < lattice.len(), "{} letters", text.len());
        assert_eq!(unpacked(n, &text), Ok(values));
    }
}

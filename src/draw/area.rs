//! Shapes of a view that many drawings share: areas between closed curves, and
//! the grains that are strewn over them.

use glam::{DVec2, Vec2};

/// What a closed curve is made of.
pub type Ring = Vec<Vec2>;

/// A filled shape: closed curves, and the triangles between them for who fills
/// nothing else. In cm of the view, from a place that moves with its thing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Area {
    /// Its border; what lies within an odd number of rings belongs to it.
    pub rings: Vec<Ring>,
    /// Corners of the triangles.
    pub corners: Vec<Vec2>,
    /// Three corners a triangle.
    pub triangles: Vec<u32>,
}

impl Area {
    /// The area between rings (even–odd), cut into triangles.
    pub fn filled(rings: Vec<Ring>) -> Self {
        let depths: Vec<usize> = (0..rings.len())
            .map(|own| {
                let around = |other: &usize| *other != own && holds(&rings[*other], rings[own][0]);
                (0..rings.len()).filter(around).count()
            })
            .collect();
        let (mut corners, mut triangles) = (Vec::new(), Vec::new());
        let mut cutter = earcut::Earcut::<f32>::new();
        for outer in (0..rings.len()).filter(|ring| depths[*ring].is_multiple_of(2)) {
            let mut points: Vec<[f32; 2]> = rings[outer].iter().map(|p| p.to_array()).collect();
            let mut hole_starts: Vec<u32> = Vec::new();
            let is_hole = |ring: &usize| {
                depths[*ring] == depths[outer] + 1 && holds(&rings[outer], rings[*ring][0])
            };
            for hole in (0..rings.len()).filter(is_hole) {
                hole_starts.push(points.len() as u32);
                points.extend(rings[hole].iter().map(|p| p.to_array()));
            }
            let mut cut: Vec<u32> = Vec::new();
            cutter.earcut_slice(&points, &hole_starts, &mut cut);
            let base = corners.len() as u32;
            corners.extend(points.into_iter().map(Vec2::from));
            triangles.extend(cut.into_iter().map(|idx| idx + base));
        }
        Self {
            rings,
            corners,
            triangles,
        }
    }

    /// An upright rectangle.
    pub(crate) fn upright(low: Vec2, high: Vec2) -> Self {
        let corners = vec![
            low,
            Vec2::new(high.x, low.y),
            high,
            Vec2::new(low.x, high.y),
        ];
        Self {
            rings: vec![corners.clone()],
            corners,
            triangles: vec![0, 1, 2, 0, 2, 3],
        }
    }

    /// Whether it holds a point.
    pub fn holds(&self, p: Vec2) -> bool {
        let n = self.rings.iter().filter(|ring| holds(ring, p)).count();
        n % 2 == 1
    }

    /// What it measures, in cm².
    pub fn area_cm2(&self) -> f64 {
        self.triangles
            .chunks_exact(3)
            .map(|t| {
                let [a, b, c] = [0, 1, 2].map(|k| self.corners[t[k] as usize].as_dvec2());
                let (u, v): (DVec2, DVec2) = (b - a, c - a);
                (u.perp_dot(v) / 2.0).abs()
            })
            .sum()
    }

    /// Grains at even but not regular places of it, about `apart_cm` from each
    /// other; always the same ones.
    pub(crate) fn strewn(&self, apart_cm: f32) -> Vec<Vec2> {
        const GRAINS_MAX: usize = 6_000;
        /// How far a grain lies from the middle of its cell, as a share of that.
        const ASTRAY: f32 = 0.42;
        let points = || self.rings.iter().flatten();
        let low = points().fold(Vec2::INFINITY, |low, p| low.min(*p));
        let high = points().fold(Vec2::NEG_INFINITY, |high, p| high.max(*p));
        if !(low.cmplt(high).all() && apart_cm > 0.0) {
            return Vec::new();
        }
        let apart = apart_cm.max(((high - low).element_product() / GRAINS_MAX as f32).sqrt());
        let (first, last) = ((low / apart).floor(), (high / apart).floor());
        let mut grains = Vec::new();
        for j in first.y as i32..=last.y as i32 {
            let edges = self.edges_between([j as f32 * apart, (j + 1) as f32 * apart]);
            for i in first.x as i32..=last.x as i32 {
                let astray = Vec2::new(scatter(i, j), scatter(j, i + 77)) * ASTRAY;
                let at = (Vec2::new(i as f32, j as f32) + 0.5 + astray) * apart;
                if is_within(edges.iter().copied(), at) {
                    grains.push(at);
                }
            }
        }
        grains
    }

    /// The edges that come into a level band.
    fn edges_between(&self, [low, high]: [f32; 2]) -> Vec<[Vec2; 2]> {
        let is_there = |[a, b]: &[Vec2; 2]| a.y.min(b.y) <= high && a.y.max(b.y) >= low;
        let all = self.rings.iter().flat_map(|ring| edges(ring));
        all.filter(is_there).collect()
    }
}

fn edges(ring: &[Vec2]) -> impl Iterator<Item = [Vec2; 2]> + '_ {
    (0..ring.len()).map(|k| [ring[k], ring[(k + 1) % ring.len()]])
}

/// Whether a ring holds a point.
fn holds(ring: &[Vec2], p: Vec2) -> bool {
    is_within(edges(ring), p)
}

/// Whether an odd number of edges lies to the right of a point.
fn is_within(edges: impl Iterator<Item = [Vec2; 2]>, p: Vec2) -> bool {
    let crosses = |[a, b]: &[Vec2; 2]| {
        (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    edges.filter(crosses).count() % 2 == 1
}

/// A fixed value from -1 to 1 for a pair of whole numbers.
// Asked for every dot of a picture.
#[inline]
pub fn scatter(i: i32, j: i32) -> f32 {
    let mut bits = (i as u32).wrapping_mul(0x9E37_79B1) ^ (j as u32).wrapping_mul(0x85EB_CA77);
    bits ^= bits >> 15;
    bits = bits.wrapping_mul(0x2C1B_3C6D);
    bits ^= bits >> 12;
    bits = bits.wrapping_mul(0x297A_2D39);
    bits ^= bits >> 15;
    (bits & 0xFFFF) as f32 / 32767.5 - 1.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(half: f32) -> Ring {
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .map(|(x, y): (f32, f32)| Vec2::new(x, y) * half)
            .to_vec()
    }

    #[test]
    fn a_ring_with_a_hole_is_filled_between() {
        let area = Area::filled(vec![square(2.0), square(1.0)]);
        assert!((area.area_cm2() - 12.0).abs() < 1e-5, "16 less 4");
        assert!(!area.holds(Vec2::ZERO), "the hole is none of it");
        assert!(area.holds(Vec2::new(1.5, 0.0)), "what is beside it is");
    }

    #[test]
    fn grains_lie_on_an_area_and_not_in_its_holes() {
        let area = Area::filled(vec![square(20.0), square(8.0)]);
        let grains = area.strewn(0.8);
        // One a cell of 0.64 cm² over 1600 less 256 cm²; those of cells that an
        // edge cuts may lie on either side of it.
        let expected = 1344.0 / 0.64;
        let share = grains.len() as f64 / expected;
        assert!((0.97..1.03).contains(&share), "{} grains", grains.len());
        assert!(grains.iter().all(|p| area.holds(*p)), "all on it");
        let least = grains
            .iter()
            .enumerate()
            .flat_map(|(k, p)| grains[..k].iter().map(|other| other.distance(*p)));
        let least = least.fold(f32::INFINITY, f32::min);
        // In the worst case two neighbors come 0.84 of a cell nearer.
        assert!(least > 0.8 * 0.15, "none lies on another: {least}");
        assert_eq!(grains, area.strewn(0.8), "always the same ones");
    }

    #[test]
    fn a_bare_area_has_no_grains() {
        assert!(Area::default().strewn(1.0).is_empty(), "nothing there");
    }
}

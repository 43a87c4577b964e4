//! Even samples of a rock's surface. Of a scan they are pieces of its skin; of
//! a drawn rock they are taken from its outlines themselves: each
//! edge of an outline sweeps a strip, and the other outlines say where along
//! the sweep that strip is skin. Undersides and the insides of arches come
//! out like any other face.

use glam::{DVec2, DVec3};

use super::distance_grid::Facet;
use super::drawn::Drawn;
use super::polygon::Polygon;
use super::section::{Section, Toggles};
use super::solid::{Form, Prism, RockSolid};

/// A small piece of surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceSample {
    /// A point on the surface, in m.
    pub at_m: DVec3,
    /// Outward unit normal there.
    pub normal: DVec3,
    /// Area that the point stands for, in m².
    pub area_m2: f64,
}

/// The surface of `rock` as samples about `spacing_m` apart; their areas add
/// up to its surface (exactly for flat unrounded faces that meet at right
/// angles, with a small error that vanishes with the spacing for others).
///
/// A face that two outlines share is taken once: from the plan before the
/// front, from the front before the end.
pub fn surface_samples(rock: &RockSolid, spacing_m: f64) -> Vec<SurfaceSample> {
    let spacing_m = spacing_m.max(1e-3);
    match &rock.form {
        Form::Drawn(drawn) => drawn_samples(rock, drawn, spacing_m),
        Form::Scanned(scanned) => {
            let facets = scanned.grid.facets(spacing_m / scanned.step_m);
            let sample = |facet: Facet| SurfaceSample {
                at_m: rock.tank_from_rock(scanned.in_rock(facet.at)),
                normal: rock.tank_from_rock * facet.normal,
                area_m2: facet.area * scanned.step_m.powi(2),
            };
            facets.into_iter().map(sample).collect()
        }
    }
}

fn drawn_samples(rock: &RockSolid, drawn: &Drawn, spacing_m: f64) -> Vec<SurfaceSample> {
    let mut strips = Vec::new();
    for piece in pieces(&drawn.plan, spacing_m) {
        let inner = piece.at - piece.normal * SHARED_M;
        strips.push(Strip {
            from: piece.at.extend(0.0),
            along: DVec3::Z,
            edge: piece.tangent().extend(0.0),
            normal: piece.normal.extend(0.0),
            width_m: piece.length,
            probe: inner.extend(0.0),
        });
    }
    for piece in pieces(&drawn.front, spacing_m) {
        let lift = |v: DVec2| DVec3::new(v.x, 0.0, v.y);
        // Outwards for the plan, which sees x only; inwards for the end, which
        // sees z only.
        let (outer, inner) = (
            piece.at + piece.normal * SHARED_M,
            piece.at - piece.normal * SHARED_M,
        );
        strips.push(Strip {
            from: lift(piece.at),
            along: DVec3::Y,
            edge: lift(piece.tangent()),
            normal: lift(piece.normal),
            width_m: piece.length,
            probe: DVec3::new(outer.x, 0.0, inner.y),
        });
    }
    for piece in drawn.end.iter().flat_map(|end| pieces(end, spacing_m)) {
        let lift = |v: DVec2| DVec3::new(0.0, v.x, v.y);
        strips.push(Strip {
            from: lift(piece.at),
            along: DVec3::X,
            edge: lift(piece.tangent()),
            normal: lift(piece.normal),
            width_m: piece.length,
            probe: lift(piece.at + piece.normal * SHARED_M),
        });
    }
    let mut samples = Vec::new();
    for strip in &strips {
        strip.sample((rock, drawn), spacing_m, &mut samples);
    }
    samples
}

/// Faces of two outlines closer than this are one face.
const SHARED_M: f64 = 1e-5;

/// Turn between two edges above which a piece must not reach round the corner.
const CORNER_COSINE: f64 = 0.866;

/// What a short stretch of an outline sweeps, in the rock's frame.
struct Strip {
    from: DVec3,
    along: DVec3,
    edge: DVec3,
    normal: DVec3,
    width_m: f64,
    /// Where the other outlines are asked, next to `from`.
    probe: DVec3,
}

impl Strip {
    fn sample(&self, rock: (&RockSolid, &Drawn), spacing_m: f64, out: &mut Vec<SurfaceSample>) {
        let sections = &rock.1.sections;
        let mut toggles = Toggles::new();
        let (mut n_right, mut n_curves) = (0, 0);
        let mut ask = |section: &Section, from: DVec2, step: DVec2| {
            if step != DVec2::ZERO {
                n_right += section.cross(from, step, &mut toggles);
                n_curves += section.n_curves();
            }
        };
        let (p, v) = (self.probe, self.along);
        // The outline that swept the strip stands still along the sweep.
        ask(&sections.plan, p.truncate(), v.truncate());
        ask(&sections.front, DVec2::new(p.x, p.z), DVec2::new(v.x, v.z));
        if let Some(end) = &sections.end {
            ask(end, DVec2::new(p.y, p.z), DVec2::new(v.y, v.z));
        }
        toggles.stretches(n_right, n_curves, |a, b| {
            if (b - a).is_finite() {
                self.cut(rock, (a, b), spacing_m, out);
            }
            None::<()>
        });
    }

    fn cut(
        &self,
        (rock, drawn): (&RockSolid, &Drawn),
        (a, b): (f64, f64),
        spacing_m: f64,
        out: &mut Vec<SurfaceSample>,
    ) {
        let n = ((b - a) / spacing_m).round().max(1.0);
        let height_m = (b - a) / n;
        for k in 0..n as usize {
            let at = self.from + self.along * (a + (k as f64 + 0.5) * height_m);
            let (at, normal, share) = self.rounded(drawn, at);
            out.push(SurfaceSample {
                at_m: rock.tank_from_rock(at),
                normal: rock.tank_from_rock * normal,
                area_m2: self.width_m * height_m * share,
            });
        }
    }

    /// A point of the sharp surface moved onto the rounded one: the place, the
    /// normal, and the area left of each unit of sharp area.
    fn rounded(&self, drawn: &Drawn, at: DVec3) -> (DVec3, DVec3, f64) {
        const STEP_M: f64 = 1e-5;
        const ON_SURFACE_M: f64 = 1e-7;
        if drawn.rounding_m <= 0.0 || drawn.distance_and_slope(at).0 < ON_SURFACE_M {
            return (at, self.normal, 1.0);
        }
        let moved = |mut p: DVec3| {
            let mut slope = self.normal;
            for _ in 0..3 {
                let (distance, towards) = drawn.distance_and_slope(p);
                slope = towards;
                p -= towards * distance;
            }
            (p, slope)
        };
        let pair = |axis: DVec3| moved(at + axis * STEP_M).0 - moved(at - axis * STEP_M).0;
        let share = pair(self.edge).cross(pair(self.along)).length() / (4.0 * STEP_M * STEP_M);
        let (place, normal) = moved(at);
        // A fold of the projection at a hollow corner must not make area.
        (place, normal, share.min(1.0))
    }
}

/// A stretch of an outline: its middle, outward normal and length.
struct Piece {
    at: DVec2,
    normal: DVec2,
    length: f64,
}

impl Piece {
    fn tangent(&self) -> DVec2 {
        self.normal.perp()
    }
}

/// All curves of an outline cut into pieces of about `spacing`, none of them
/// round a sharp corner.
fn pieces(prism: &Prism, spacing: f64) -> Vec<Piece> {
    let mut out = Vec::new();
    curve_pieces(&prism.outline, 1.0, spacing, &mut out);
    for hole in &prism.openings {
        curve_pieces(hole, -1.0, spacing, &mut out);
    }
    out
}

fn curve_pieces(curve: &Polygon, side: f64, spacing: f64, out: &mut Vec<Piece>) {
    let edges: Vec<_> = curve.edges().filter(|(a, b)| a != b).collect();
    let n = edges.len();
    // Right of the walk lies outside when the corners run counter-clockwise.
    let side = side * curve.signed_area().signum();
    let direction = |i: usize| (edges[i % n].1 - edges[i % n].0).normalize_or_zero();
    let corner_before = |i: usize| direction(i + n - 1).dot(direction(i)) < CORNER_COSINE;
    let start = (0..n).find(|&i| corner_before(i)).unwrap_or(0);
    let mut run: Vec<(DVec2, DVec2)> = Vec::new();
    for i in start..start + n {
        if i > start && corner_before(i) {
            cut_run(&run, side, spacing, out);
            run.clear();
        }
        run.push(edges[i % n]);
    }
    cut_run(&run, side, spacing, out);
}

/// Cuts edges that follow each other without a corner into equal lengths.
fn cut_run(run: &[(DVec2, DVec2)], side: f64, spacing: f64, out: &mut Vec<Piece>) {
    let total: f64 = run.iter().map(|(a, b)| a.distance(*b)).sum();
    let n = (total / spacing).round().max(1.0);
    let length = total / n;
    let (mut edge_idx, mut passed) = (0, 0.0);
    for k in 0..n as usize {
        let middle = (k as f64 + 0.5) * length;
        while edge_idx + 1 < run.len() && passed + distance(run[edge_idx]) < middle {
            passed += distance(run[edge_idx]);
            edge_idx += 1;
        }
        let Some(&(a, b)) = run.get(edge_idx) else {
            return;
        };
        let along = (b - a).normalize_or_zero();
        out.push(Piece {
            at: a + along * (middle - passed),
            normal: -along.perp() * side,
            length,
        });
    }
}

fn distance((a, b): (DVec2, DVec2)) -> f64 {
    a.distance(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::solid::RockShape;

    fn rect(a: (f64, f64), b: (f64, f64)) -> Polygon {
        Polygon::new(
            [(a.0, a.1), (b.0, a.1), (b.0, b.1), (a.0, b.1)]
                .map(DVec2::from)
                .to_vec(),
        )
    }

    fn solid(plan: Polygon, front: Polygon, hole: Option<Polygon>, rounding_m: f64) -> RockSolid {
        RockSolid::new(RockShape {
            plan: Prism {
                outline: plan,
                openings: vec![],
            },
            front: Prism {
                outline: front,
                openings: hole.into_iter().collect(),
            },
            end: None,
            rounding_m,
            tilt_rad: 0.2,
            turn_rad: 0.5,
            at_m: DVec3::new(0.3, 0.2, 0.1),
        })
    }

    fn area(rock: &RockSolid, spacing_m: f64) -> f64 {
        surface_samples(rock, spacing_m)
            .iter()
            .map(|s| s.area_m2)
            .sum()
    }

    #[test]
    fn a_box_with_an_arch_has_its_area_and_closes() {
        let rock = solid(
            rect((-0.12, -0.08), (0.12, 0.08)),
            rect((-0.12, 0.0), (0.12, 0.2)),
            Some(rect((-0.04, 0.05), (0.04, 0.11))),
            0.0,
        );
        // Box, less the opening's two mouths, plus its four walls.
        let exact = 2.0 * (0.24 * 0.16 + 0.24 * 0.2 + 0.16 * 0.2) - 2.0 * 0.08 * 0.06
            + 2.0 * (0.08 + 0.06) * 0.16;
        let found = area(&rock, 0.013);
        assert!((found - exact).abs() < 1e-9, "area {found}, exact {exact}");
        let samples = surface_samples(&rock, 0.013);
        let sum: DVec3 = samples.iter().map(|s| s.normal * s.area_m2).sum();
        assert!(
            sum.length() < 1e-9,
            "normals of a closed skin cancel: {sum}"
        );
        for s in &samples {
            assert!(
                rock.signed_distance(s.at_m + s.normal * 1e-3) > 9e-4
                    && rock.signed_distance(s.at_m - s.normal * 1e-3) < 0.0,
                "{s:?} does not point outwards"
            );
        }
    }

    #[test]
    fn a_cylinder_converges() {
        let ring: Vec<_> = (0..96)
            .map(|i| DVec2::from_angle(i as f64 * std::f64::consts::TAU / 96.0) * 0.1)
            .collect();
        let circle = Polygon::new(ring);
        let exact = 2.0 * circle.signed_area()
            + 0.2 * circle.edges().map(|(a, b)| a.distance(b)).sum::<f64>();
        let rock = solid(circle, rect((-0.1, 0.0), (0.1, 0.2)), None, 0.0);
        let error = |spacing_m: f64| (area(&rock, spacing_m) / exact - 1.0).abs();
        let (coarse, fine) = (error(0.02), error(0.005));
        assert!(
            fine < 0.002 && fine < 0.5 * coarse,
            "relative errors {coarse} and {fine}"
        );
    }

    #[test]
    fn a_rounded_block_has_the_area_that_its_distance_field_says() {
        // The shell |distance| < h has the volume 2 h A + O(h³): counted on a
        // lattice, which knows nothing of outlines.
        let rock = solid(
            rect((-0.05, -0.04), (0.05, 0.04)),
            rect((-0.05, 0.0), (0.05, 0.06)),
            None,
            0.012,
        );
        let (h, step) = (0.002, 0.0007);
        let bounds = rock.bounds();
        let n = ((bounds.max_m - bounds.min_m + 2.0 * h) / step).ceil();
        let mut count = 0_u32;
        for i in 0..n.x as u32 {
            for j in 0..n.y as u32 {
                for k in 0..n.z as u32 {
                    let p = bounds.min_m - h + DVec3::new(i.into(), j.into(), k.into()) * step;
                    count += u32::from(rock.signed_distance(p).abs() < h);
                }
            }
        }
        let shell = f64::from(count) * step.powi(3) / (2.0 * h);
        let found = area(&rock, 0.004);
        assert!(
            (found / shell - 1.0).abs() < 0.02,
            "area {found}, shell {shell}; 2 % is the lattice's own error"
        );
    }
}

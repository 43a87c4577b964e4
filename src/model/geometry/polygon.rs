//! Closed plane curves: the outlines a keeper draws.

use glam::DVec2;

/// A closed curve as its corner points, in order, the last joined to the first.
#[derive(Clone, Debug, PartialEq)]
pub struct Polygon {
    points: Vec<DVec2>,
}

impl Polygon {
    /// Segments that stand in for one curved span between two outline points.
    pub const SEGMENTS_PER_SPAN: usize = 8;

    /// The polygon through `points`.
    pub fn new(points: Vec<DVec2>) -> Self {
        Self { points }
    }

    /// The smooth closed curve through `points`: a centripetal Catmull–Rom
    /// spline, flattened to eight straight segments a span. Fewer than three
    /// points are returned as they are.
    ///
    /// **Source** Catmull & Rom 1974; the centripetal form (no loops inside a
    /// span) from Yuksel, Schaefer & Keyser 2011. MEMORY.
    pub fn curved(points: &[DVec2]) -> Self {
        let n = points.len();
        if n < 3 {
            return Self::new(points.to_vec());
        }
        let mut smooth = Vec::with_capacity(n * Self::SEGMENTS_PER_SPAN);
        for i in 0..n {
            let span = [
                points[(i + n - 1) % n],
                points[i],
                points[(i + 1) % n],
                points[(i + 2) % n],
            ];
            for k in 0..Self::SEGMENTS_PER_SPAN {
                smooth.push(catmull_rom(
                    &span,
                    k as f64 / Self::SEGMENTS_PER_SPAN as f64,
                ));
            }
        }
        Self::new(smooth)
    }

    /// The corner points.
    pub fn points(&self) -> &[DVec2] {
        &self.points
    }

    /// The straight edges, each as its two ends.
    pub fn edges(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        let n = self.points.len();
        (0..n).map(move |i| (self.points[i], self.points[(i + 1) % n]))
    }

    /// Enclosed area, positive when the points run counter-clockwise.
    pub fn signed_area(&self) -> f64 {
        self.edges().map(|(a, b)| a.perp_dot(b)).sum::<f64>() / 2.0
    }

    /// Smallest and largest coordinates; `None` without points.
    pub fn bounds(&self) -> Option<(DVec2, DVec2)> {
        let first = *self.points.first()?;
        Some(
            self.points
                .iter()
                .fold((first, first), |(lo, hi), p| (lo.min(*p), hi.max(*p))),
        )
    }

    /// Whether `p` lies inside, by the even–odd rule.
    pub fn contains(&self, p: DVec2) -> bool {
        self.edges().fold(false, |inside, (a, b)| {
            inside ^ (crosses(a, b, p.y) && p.x < crossing_x(a, b, p.y))
        })
    }

    /// Distance to the curve, negative inside.
    pub fn signed_distance(&self, p: DVec2) -> f64 {
        self.distance_and_slope(p).0
    }

    /// Distance to the curve, negative inside, and the unit direction in which
    /// it grows fastest (on the curve itself, straight out of its edge).
    pub fn distance_and_slope(&self, p: DVec2) -> (f64, DVec2) {
        const ON_CURVE: f64 = 1e-12;
        let mut inside = false;
        let (mut nearest, mut nearest_edge) = (DVec2::INFINITY, DVec2::ZERO);
        for (a, b) in self.edges() {
            let (along, to_p) = (b - a, p - a);
            let share = (to_p.dot(along) / along.length_squared()).clamp(0.0, 1.0);
            let share = if share.is_nan() { 0.0 } else { share };
            let from_edge = to_p - along * share;
            if from_edge.length_squared() < nearest.length_squared() {
                (nearest, nearest_edge) = (from_edge, along);
            }
            inside ^= crosses(a, b, p.y) && p.x < crossing_x(a, b, p.y);
        }
        let distance = nearest.length();
        if distance < ON_CURVE {
            let outwards = -nearest_edge.perp() * self.signed_area().signum();
            return (0.0, outwards.normalize_or_zero());
        }
        let slope = nearest / distance;
        if inside {
            (-distance, -slope)
        } else {
            (distance, slope)
        }
    }

    /// Where the line `from + t·step` enters and leaves, as `t` in ascending
    /// order, for all real `t`. Pairs of neighbors bound the inside spans. A
    /// line that stands still (`step` zero) gives all or nothing.
    pub fn line_crossings(&self, from: DVec2, step: DVec2, out: &mut Vec<f64>) {
        out.clear();
        if step.length_squared() < 1e-24 {
            if self.contains(from) {
                out.extend([f64::NEG_INFINITY, f64::INFINITY]);
            }
            return;
        }
        for (a, b) in self.edges() {
            // Half-open on the side of the line, so that a shared corner counts once.
            let (side_a, side_b) = (step.perp_dot(a - from), step.perp_dot(b - from));
            if (side_a > 0.0) != (side_b > 0.0) {
                let hit = a + (b - a) * (side_a / (side_a - side_b));
                out.push((hit - from).dot(step) / step.length_squared());
            }
        }
        out.sort_by(f64::total_cmp);
    }

    /// The first pair of edges that cross, as their start indices; `None` for
    /// a simple curve.
    pub fn self_crossing(&self) -> Option<(usize, usize)> {
        let n = self.points.len();
        let edge = |i: usize| (self.points[i], self.points[(i + 1) % n]);
        (0..n).find_map(|i| {
            (i + 1..n)
                .filter(|&j| j != i + 1 && !(i == 0 && j == n - 1))
                .find(|&j| segments_meet(edge(i), edge(j)))
                .map(|j| (i, j))
        })
    }

    /// The same curve with each convex or hollow corner replaced by an arc of
    /// `radius`, or of what the neighboring edges leave room for.
    pub fn filleted(&self, radius: f64) -> Self {
        let n = self.points.len();
        if n < 3 || radius <= 0.0 {
            return self.clone();
        }
        let mut rounded = Vec::with_capacity(n * 4);
        for i in 0..n {
            let corner = self.points[i];
            let (back, ahead) = (
                self.points[(i + n - 1) % n] - corner,
                self.points[(i + 1) % n] - corner,
            );
            fillet(corner, back, ahead, radius, &mut rounded);
        }
        Self::new(rounded)
    }
}

/// Adds the arc that rounds one corner, or the corner where it is nearly flat.
fn fillet(corner: DVec2, back: DVec2, ahead: DVec2, radius: f64, out: &mut Vec<DVec2>) {
    /// One chord for each 18 degrees of turn: a smooth outline keeps about as
    /// many edges as it had.
    const CHORD_RAD: f64 = std::f64::consts::PI / 10.0;
    let (to_back, to_ahead) = (back.normalize_or_zero(), ahead.normalize_or_zero());
    let half_angle = to_back.dot(to_ahead).clamp(-1.0, 1.0).acos() / 2.0;
    if half_angle < 1e-3 || half_angle > std::f64::consts::FRAC_PI_2 - 0.05 {
        out.push(corner);
        return;
    }
    let room = 0.5 * back.length().min(ahead.length());
    let reach = (radius / half_angle.tan()).min(room);
    let radius = reach * half_angle.tan();
    let center = corner + (to_back + to_ahead).normalize_or_zero() * (radius / half_angle.sin());
    let (start, end) = (
        corner + to_back * reach - center,
        corner + to_ahead * reach - center,
    );
    let sweep = start.angle_to(end);
    let n_chords = (sweep.abs() / CHORD_RAD - 1e-6).ceil().max(1.0) as usize;
    for k in 0..=n_chords {
        let turn = DVec2::from_angle(sweep * k as f64 / n_chords as f64);
        out.push(center + turn.rotate(start));
    }
}

fn catmull_rom(p: &[DVec2; 4], share: f64) -> DVec2 {
    let knot = |a: DVec2, b: DVec2| a.distance(b).sqrt().max(1e-9);
    let t1 = knot(p[0], p[1]);
    let t2 = t1 + knot(p[1], p[2]);
    let t3 = t2 + knot(p[2], p[3]);
    let t = t1 + (t2 - t1) * share;
    let mix = |a: DVec2, b: DVec2, from: f64, to: f64| a.lerp(b, (t - from) / (to - from));
    let (a1, a2, a3) = (
        mix(p[0], p[1], 0.0, t1),
        mix(p[1], p[2], t1, t2),
        mix(p[2], p[3], t2, t3),
    );
    let (b1, b2) = (mix(a1, a2, 0.0, t2), mix(a2, a3, t1, t3));
    mix(b1, b2, t1, t2)
}

fn crosses(a: DVec2, b: DVec2, y: f64) -> bool {
    (a.y > y) != (b.y > y)
}

fn crossing_x(a: DVec2, b: DVec2, y: f64) -> f64 {
    a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y)
}

fn segments_meet((a, b): (DVec2, DVec2), (c, d): (DVec2, DVec2)) -> bool {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    let (c_side, d_side) = (side(a, b, c), side(a, b, d));
    let (a_side, b_side) = (side(c, d, a), side(c, d, b));
    let on = |p: DVec2, q: DVec2, r: DVec2, s: f64| {
        s == 0.0 && r.cmpge(p.min(q)).all() && r.cmple(p.max(q)).all()
    };
    (c_side * d_side < 0.0 && a_side * b_side < 0.0)
        || on(a, b, c, c_side)
        || on(a, b, d, d_side)
        || on(c, d, a, a_side)
        || on(c, d, b, b_side)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square() -> Polygon {
        Polygon::new(
            [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]
                .map(DVec2::from)
                .to_vec(),
        )
    }

    #[test]
    fn square_has_its_area_and_distances() {
        let square = square();
        assert_eq!(square.signed_area(), 4.0, "area of a 2 by 2 square");
        assert_eq!(square.signed_distance(DVec2::new(1.0, 1.0)), -1.0, "center");
        assert_eq!(square.signed_distance(DVec2::new(3.0, 1.0)), 1.0, "beside");
        let corner = square.signed_distance(DVec2::new(5.0, 6.0));
        assert!(
            (corner - 5.0).abs() < 1e-12,
            "3-4-5 from the corner: {corner}"
        );
    }

    #[test]
    fn a_line_through_a_corner_enters_once() {
        let mut ts = Vec::new();
        square().line_crossings(DVec2::new(-1.0, -1.0), DVec2::new(1.0, 1.0), &mut ts);
        assert_eq!(ts, vec![1.0, 3.0], "diagonal crosses at both corners");
    }

    #[test]
    fn a_bow_tie_crosses_itself() {
        let tie = Polygon::new(
            [(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)]
                .map(DVec2::from)
                .to_vec(),
        );
        assert_eq!(tie.self_crossing(), Some((0, 2)), "the two diagonals");
        assert_eq!(square().self_crossing(), None, "a square is simple");
    }

    #[test]
    fn a_filleted_square_loses_its_corners_only() {
        // Four corners of radius r lose (4 - pi) r²; five chords an arc leave
        // slightly more than that.
        let lost = 4.0 - square().filleted(0.5).signed_area();
        let exact = (4.0 - std::f64::consts::PI) * 0.25;
        assert!(
            lost > exact && lost < exact * 1.1,
            "lost {lost}, arcs lose {exact}"
        );
    }

    #[test]
    fn a_curved_octagon_comes_close_to_its_circle() {
        let ring: Vec<_> = (0..8)
            .map(|i| DVec2::from_angle(i as f64 * std::f64::consts::FRAC_PI_4))
            .collect();
        let area = Polygon::curved(&ring).signed_area();
        assert!(
            (area - std::f64::consts::PI).abs() < 0.05,
            "area was {area}"
        );
    }
}

//! Support polygons: the convex hull of contacts, and how far inside it a
//! point lies.

use glam::DVec2;

/// Corners of the smallest convex polygon around `points`, counter-clockwise;
/// fewer than three for points on a line.
///
/// **Source** Andrew 1979, the monotone chain. MEMORY.
pub(crate) fn convex_hull(points: &[DVec2]) -> Vec<DVec2> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let half = |points: &mut dyn Iterator<Item = DVec2>| {
        let mut chain: Vec<DVec2> = Vec::new();
        for p in points {
            while let [.., a, b] = chain.as_slice() {
                if (*b - *a).perp_dot(p - *a) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut sorted.iter().copied());
    hull.extend(half(&mut sorted.iter().rev().copied()));
    hull
}

/// Distance from `p` to the edge of a convex polygon, positive inside and
/// negative outside; at most zero on a line or a point, and minus infinity
/// without any point.
pub(crate) fn inside_margin(hull: &[DVec2], p: DVec2) -> f64 {
    let segment_distance = |a: DVec2, b: DVec2| {
        let along = b - a;
        let share = ((p - a).dot(along) / along.length_squared().max(1e-30)).clamp(0.0, 1.0);
        (p - a - along * share).length()
    };
    let edges = || (0..hull.len()).map(|i| (hull[i], hull[(i + 1) % hull.len()]));
    let nearest = edges()
        .map(|(a, b)| segment_distance(a, b))
        .fold(f64::INFINITY, f64::min);
    let inside = hull.len() >= 3 && edges().all(|(a, b)| (b - a).perp_dot(p - a) >= 0.0);
    if inside { nearest } else { -nearest }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hull_of_a_square_with_points_inside_is_the_square() {
        let points = [
            (0.0, 0.0),
            (2.0, 0.0),
            (1.0, 1.0),
            (2.0, 2.0),
            (0.0, 2.0),
            (1.0, 0.0),
        ]
        .map(DVec2::from);
        let hull = convex_hull(&points);
        assert_eq!(hull.len(), 4, "corners: {hull:?}");
        assert_eq!(inside_margin(&hull, DVec2::new(0.5, 1.0)), 0.5, "inside");
        assert_eq!(inside_margin(&hull, DVec2::new(5.0, 6.0)), -5.0, "3-4-5");
    }

    #[test]
    fn a_line_supports_nothing() {
        let hull = convex_hull(&[DVec2::ZERO, DVec2::X, DVec2::X * 2.0]);
        assert!(inside_margin(&hull, DVec2::X) <= 0.0, "on the line");
        assert_eq!(inside_margin(&hull, DVec2::new(1.0, 1.0)), -1.0, "beside");
        assert_eq!(
            inside_margin(&[], DVec2::ZERO),
            f64::NEG_INFINITY,
            "nothing"
        );
    }
}

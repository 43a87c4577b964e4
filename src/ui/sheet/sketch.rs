//! From a stroke of the hand to an outline of few points, and from one outline
//! to a rock with a sensible guess for what was not drawn.

use glam::{DVec2, DVec3};

use crate::geometry::Polygon;
use crate::scene::shapes::Shape;
use crate::scene::{Outline, Rock, Tank};
use crate::ui::sheet::View;
use crate::ui::sheet::outline::tidy;

/// A stroke smaller than this is a slip of the hand, in cm².
const AREA_MIN_CM2: f64 = 4.0;
/// Points that an outline keeps at most.
const POINTS_MAX: usize = 24;

/// The stroke as a closed curve of few points: those that matter to within
/// `tolerance_cm` (more if there are too many). Where it crosses itself, the
/// larger part is kept, so that a slip at the end or a loop on the way costs
/// nothing. `None` if it encloses nothing.
pub(super) fn tidied(stroke: &[DVec2], tolerance_cm: f64, curved: bool) -> Option<Vec<DVec2>> {
    // A smooth curve bulges out between its points as the stroke did, so fewer
    // of them will do.
    const CURVE_GAIN: f64 = 2.2;
    let mut tolerance = if curved {
        tolerance_cm * CURVE_GAIN
    } else {
        tolerance_cm
    };
    // A hand's shake makes no loops at this width.
    let fine = simplified_ring(stroke, tolerance_cm / 4.0);
    let ring = without_loops(fine);
    for _ in 0..12 {
        let mut points: Vec<DVec2> = without_loops(simplified_ring(&ring, tolerance))
            .into_iter()
            .map(tidy)
            .collect();
        points.dedup();
        if points.len() < 3 {
            return None;
        }
        let curve = Polygon::new(points.clone());
        if curve.signed_area().abs() < AREA_MIN_CM2 {
            return None;
        }
        if curve.signed_area() < 0.0 {
            points.reverse();
        }
        let drawn = if curved {
            Polygon::curved(&points)
        } else {
            Polygon::new(points.clone())
        };
        if points.len() <= POINTS_MAX && drawn.self_crossing().is_none() {
            return Some(points);
        }
        tolerance *= 1.4;
    }
    None
}

/// A ring that does not cross itself: at each crossing it falls into two, of
/// which the larger is kept.
fn without_loops(mut ring: Vec<DVec2>) -> Vec<DVec2> {
    /// A scribble with more crossings than this is none of a rock.
    const CROSSINGS_MAX: usize = 400;
    for _ in 0..CROSSINGS_MAX {
        let Some((i, j)) = Polygon::new(ring.clone()).self_crossing() else {
            break;
        };
        let at = crossing(
            [ring[i], ring[i + 1]],
            [ring[j], ring[(j + 1) % ring.len()]],
        );
        let mut inner = ring[i + 1..=j].to_vec();
        inner.push(at);
        let mut outer = ring[..=i].to_vec();
        outer.push(at);
        outer.extend(&ring[j + 1..]);
        let area = |ring: &[DVec2]| Polygon::new(ring.to_vec()).signed_area().abs();
        ring = if area(&inner) > area(&outer) {
            inner
        } else {
            outer
        };
        ring.dedup();
    }
    ring
}

/// Where two lines meet; the middle of the first where they are parallel.
fn crossing([a, b]: [DVec2; 2], [c, d]: [DVec2; 2]) -> DVec2 {
    let (along, other) = (b - a, d - c);
    let turn = along.perp_dot(other);
    let share = if turn.abs() > 1e-12 {
        ((c - a).perp_dot(other) / turn).clamp(0.0, 1.0)
    } else {
        0.5
    };
    a + along * share
}

/// A ring without the points that lie within `tolerance` of the line between
/// those kept.
///
/// **Source** Ramer 1972, Douglas & Peucker 1973. The ring is split at the two
/// points farthest apart from its first.
fn simplified_ring(ring: &[DVec2], tolerance: f64) -> Vec<DVec2> {
    let Some(first) = ring.first() else {
        return Vec::new();
    };
    let far = (0..ring.len())
        .max_by(|a, b| {
            let distance = |k: usize| ring[k].distance_squared(*first);
            distance(*a).total_cmp(&distance(*b))
        })
        .unwrap_or(0);
    let mut back: Vec<DVec2> = ring[far..].to_vec();
    back.push(*first);
    let mut kept = simplified(&ring[..=far], tolerance);
    kept.pop();
    kept.extend(simplified(&back, tolerance));
    kept.pop();
    kept
}

fn simplified(line: &[DVec2], tolerance: f64) -> Vec<DVec2> {
    let (Some(a), Some(b)) = (line.first(), line.last()) else {
        return Vec::new();
    };
    if line.len() < 3 {
        return line.to_vec();
    }
    let off = |p: DVec2| {
        let along = *b - *a;
        let share = ((p - *a).dot(along) / along.length_squared().max(1e-12)).clamp(0.0, 1.0);
        (*a + along * share).distance(p)
    };
    let worst = (1..line.len() - 1)
        .max_by(|i, j| off(line[*i]).total_cmp(&off(line[*j])))
        .unwrap_or(1);
    if off(line[worst]) <= tolerance {
        return vec![*a, *b];
    }
    let mut kept = simplified(&line[..=worst], tolerance);
    kept.pop();
    kept.extend(simplified(&line[worst..], tolerance));
    kept
}

/// A rock whose outline was drawn in a view; `cut_cm` says how deep in the
/// drawing it is to stand. Seen from the end only an existing rock can be drawn.
pub(super) fn rock_from(
    points_cm: &[DVec2],
    view: View,
    tank: &Tank,
    cut_cm: DVec3,
) -> Option<Rock> {
    let (lo, hi) = Polygon::new(points_cm.to_vec()).bounds()?;
    let (size, middle) = (hi - lo, (lo + hi) / 2.0);
    let about =
        |origin: DVec2| -> Vec<DVec2> { points_cm.iter().map(|p| tidy(*p - origin)).collect() };
    let outline = |points_cm: Vec<DVec2>| Outline {
        points_cm,
        curved: true,
        openings: vec![],
    };
    let base = Shape::Boulder.rock(0, DVec3::ZERO);
    let rock = match view {
        View::Top => {
            // A lump somewhat lower than it is narrow, never up to the surface.
            let height = (0.75 * size.x.min(size.y)).clamp(3.0, tank.water_cm * 0.6);
            Rock {
                at_cm: tidy3(middle.extend(0.0)),
                plan: outline(about(middle)),
                front: outline(profile(size.x / 2.0, height)),
                ..base
            }
        }
        View::Side => {
            // Standing on the bottom, or lying on the sand, if it was drawn
            // about there; else where it was drawn.
            let near = |line: f64| (lo.y - line).abs() < 2.0;
            let foot = if near(0.0) || lo.y < tank.sand.depth_cm {
                0.0
            } else if near(tank.sand.depth_cm) {
                tank.sand.depth_cm
            } else {
                lo.y
            };
            let half_depth = (0.38 * size.x).clamp(3.0, tank.width_cm * 0.3);
            let y = cut_cm.y.clamp(half_depth, tank.width_cm - half_depth);
            Rock {
                at_cm: tidy3(DVec3::new(middle.x, y, foot)),
                plan: outline(pebble(size.x / 2.0, half_depth)),
                front: outline(about(DVec2::new(middle.x, lo.y))),
                ..base
            }
        }
        View::End => return None,
    };
    Some(Rock {
        name: "rock".to_owned(),
        rounding_cm: 1.5_f64.min(size.min_element() / 8.0),
        ..rock
    })
}

/// A hill with a flat foot, seen from the side.
fn profile(half_width: f64, height: f64) -> Vec<DVec2> {
    [
        (-0.98, 0.0),
        (-1.04, 0.32),
        (-0.62, 0.84),
        (0.12, 1.0),
        (0.72, 0.74),
        (1.05, 0.26),
        (0.98, 0.0),
    ]
    .map(|(x, z)| tidy(DVec2::new(x * half_width, z * height)))
    .to_vec()
}

/// A rounded, slightly uneven plan.
fn pebble(half_length: f64, half_depth: f64) -> Vec<DVec2> {
    [
        (-1.04, -0.2),
        (-0.45, -0.98),
        (0.5, -0.9),
        (1.04, -0.12),
        (0.7, 0.8),
        (-0.1, 1.0),
        (-0.8, 0.7),
    ]
    .map(|(x, y)| tidy(DVec2::new(x * half_length, y * half_depth)))
    .to_vec()
}

fn tidy3(p: DVec3) -> DVec3 {
    (p * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::solids::rock_solid;
    use crate::scene::{Sand, Sides, Water};

    fn tank() -> Tank {
        Tank {
            length_cm: 120.0,
            width_cm: 60.0,
            height_cm: 55.0,
            water_cm: 50.0,
            sand: Sand::default(),
            sides: Sides::default(),
            panes: crate::scene::Panes::default(),
            water: Water::default(),
            returns: vec![],
            overflow: None,
        }
    }

    /// A shaky hand going once around.
    fn stroke(middle: DVec2, half: DVec2) -> Vec<DVec2> {
        (0..180)
            .map(|k| {
                let angle = f64::from(k) / 180.0 * std::f64::consts::TAU;
                let shake = 1.0 + 0.01 * (angle * 23.0).sin();
                middle + DVec2::from_angle(angle) * half * shake
            })
            .collect()
    }

    #[test]
    fn a_shaky_ellipse_becomes_few_points_of_about_its_area() {
        let half = DVec2::new(14.0, 9.0);
        let points = tidied(&stroke(DVec2::new(40.0, 30.0), half), 0.6, true).expect("an outline");
        assert!(points.len() <= 14, "{} points", points.len());
        let area = Polygon::curved(&points).signed_area();
        let expected = std::f64::consts::PI * half.x * half.y;
        // A tolerance of 0.6 cm on a mean radius of 11 cm: up to 5 % of area.
        assert!(
            (area / expected - 1.0).abs() < 0.06,
            "area {area}, {expected} drawn"
        );
    }

    #[test]
    fn loops_are_cut_off_and_the_larger_part_is_kept() {
        let half = DVec2::new(14.0, 9.0);
        let whole = std::f64::consts::PI * half.x * half.y;
        let area = |stroke: &[DVec2]| {
            let points = tidied(stroke, 0.6, true).expect("an outline");
            let curve = Polygon::curved(&points);
            assert_eq!(curve.self_crossing(), None, "a simple curve");
            curve.signed_area()
        };
        // Past the start, and in over the line again.
        let mut past = stroke(DVec2::ZERO, half);
        past.extend([
            DVec2::new(14.5, 2.0),
            DVec2::new(12.0, 4.0),
            DVec2::new(8.0, 3.0),
        ]);
        assert!((area(&past) / whole - 1.0).abs() < 0.12, "{}", area(&past));
        // Never back to the start: closed by a straight line.
        let open: Vec<DVec2> = stroke(DVec2::ZERO, half)[..165].to_vec();
        assert!((area(&open) / whole - 1.0).abs() < 0.12, "{}", area(&open));
        // A curl on the way.
        let mut curl = stroke(DVec2::ZERO, half);
        let at = curl[60];
        let turn = (0..24).map(|k| {
            let angle = f64::from(k) / 24.0 * std::f64::consts::TAU;
            at + 2.0 * (DVec2::from_angle(angle) - DVec2::X)
        });
        curl.splice(60..60, turn);
        assert!((area(&curl) / whole - 1.0).abs() < 0.12, "{}", area(&curl));
        // Of a figure of eight one half is left.
        let eight: Vec<DVec2> = (0..100)
            .map(|k| {
                let t = f64::from(k) / 100.0 * std::f64::consts::TAU;
                DVec2::new(20.0 * t.sin(), 10.0 * (2.0 * t).sin())
            })
            .collect();
        // Each half has 2/3 of its box of 20 by 20.
        assert!(
            (area(&eight) / (2.0 / 3.0 * 400.0) - 1.0).abs() < 0.12,
            "{}",
            area(&eight)
        );
    }

    #[test]
    fn a_slip_is_no_outline() {
        let slip = stroke(DVec2::ZERO, DVec2::splat(0.5));
        assert_eq!(tidied(&slip, 0.5, true), None, "too small");
        let line: Vec<DVec2> = (0..50).map(|k| DVec2::new(f64::from(k), 0.0)).collect();
        assert_eq!(tidied(&line, 0.5, true), None, "encloses nothing");
    }

    #[test]
    fn a_rock_drawn_in_either_view_is_a_sound_solid_where_it_was_drawn() {
        let cut = DVec3::new(60.0, 20.0, 25.0);
        for (view, middle) in [
            (View::Top, DVec2::new(40.0, 30.0)),
            (View::Side, DVec2::new(40.0, 9.5)),
        ] {
            let drawn = stroke(middle, DVec2::new(14.0, 9.0));
            let points = tidied(&drawn, 0.6, true).expect("an outline");
            let rock = rock_from(&points, view, &tank(), cut).expect("a rock");
            for curve in [rock.plan.curve_cm(), rock.front.standing_curve_cm()] {
                assert_eq!(curve.self_crossing(), None, "{view:?}: simple curves");
            }
            let bounds = rock_solid(&rock).bounds();
            assert!(bounds.min_m.z.abs() < 1e-9, "{view:?} stands on the bottom");
            assert!(
                (bounds.min_m.x - 0.26).abs() < 0.01 && (bounds.max_m.x - 0.54).abs() < 0.01,
                "{view:?} spans what was drawn: {bounds:?}"
            );
        }
    }
}

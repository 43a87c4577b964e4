//! Rocks and their outlines.

use glam::{DVec2, DVec3};

use super::issue::{Examiner, Fault};
use super::{Issue, LayoutPlace, limits, place_text};
use crate::geometry::{Polygon, RockSolid};
use crate::scene::{Outline, Rock, Scan, solids};
use crate::units::M_PER_CM;

/// Points closer than this are one, in cm.
const SAME_POINT_CM: f64 = 1e-6;

/// How many points the outlines of a rock have together.
pub(super) fn n_points(rock: &Rock) -> usize {
    let of = |outline: &Outline| {
        outline.points_cm.len() + outline.openings.iter().map(Vec::len).sum::<usize>()
    };
    of(&rock.plan) + of(&rock.front) + rock.end.as_ref().map_or(0, of)
}

/// How many nodes the scan of a rock has.
pub(super) fn n_nodes(rock: &Rock) -> usize {
    (rock.scan.as_ref()).map_or(0, |scan| scan.grid.parts().len())
}

/// Checks all rocks; returns whether solids can be made of them.
pub(super) fn check(place: &LayoutPlace<'_>, issues: &mut Vec<Issue>) -> bool {
    let mut all_sound = true;
    for (idx, rock) in place.layout.rocks.iter().enumerate() {
        let n_before = issues.len();
        let item = place.subject("rock", &rock.name, rock.id);
        let mut on = Examiner::new(issues, item.clone(), place.path("rocks", idx));
        check_numbers(rock, &mut on);
        if let Some(scan) = &rock.scan {
            check_scan(rock, scan, &mut on);
        } else {
            check_outline("plan", &rock.plan, &mut on);
            check_outline("front", &rock.front, &mut on);
            if let Some(end) = &rock.end {
                check_outline("end", end, &mut on);
            }
        }
        if issues.len() == n_before {
            let mut on = Examiner::new(issues, item, place.path("rocks", idx));
            check_solid(place, rock, &mut on);
        }
        all_sound &= !super::has_errors(&issues[n_before..]);
    }
    all_sound
}

fn check_numbers(rock: &Rock, on: &mut Examiner<'_>) {
    on.within("turn_deg", rock.turn_deg, &limits::TURN);
    on.within("tilt_deg", rock.tilt_deg, &limits::TILT);
    on.within("rounding_cm", rock.rounding_cm, &limits::ROUNDING);
    on.within("reflectance", rock.reflectance, &limits::REFLECTANCE);
    on.within("density_kg_per_l", rock.density_kg_per_l, &limits::DENSITY);
    let far = limits::TANK_SIZE.max;
    if rock.at_cm.abs().max_element() > far || !rock.at_cm.is_finite() {
        on.error(Fault {
            field: "at_cm",
            value: place_text(rock.at_cm),
            limit: format!("within {far} cm of the tank's corner"),
            way_out: "move the rock into the tank",
        });
    }
}

/// Checks a scan's place and size; that it is a shape was seen to when it was read.
fn check_scan(rock: &Rock, scan: &Scan, on: &mut Examiner<'_>) {
    if n_points(rock) > 0 || rock.rounding_cm > 0.0 {
        on.error(Fault {
            field: "scan",
            value: "a scanned shape and outlines or rounding beside it".to_owned(),
            limit: "one or the other".to_owned(),
            way_out: "leave out plan, front, end and rounding_cm, or leave out the scan",
        });
    }
    on.within("scan.step_cm", scan.step_cm, &limits::SCAN_STEP);
    let (low, high) = scan.bounds_cm();
    let holds = |place: DVec3| {
        let coordinates = place.to_array();
        coordinates
            .iter()
            .all(|x| limits::OUTLINE_COORDINATE.holds(*x))
    };
    if !holds(low) || !holds(high) {
        on.error(Fault {
            field: "scan.low_cm",
            value: format!("a shape from {} to {}", place_text(low), place_text(high)),
            limit: format!("{} along each axis", limits::OUTLINE_COORDINATE.text()),
            way_out: "give step and lowest corner in cm, in the rock's own frame",
        });
    }
}

fn check_outline(view: &str, outline: &Outline, on: &mut Examiner<'_>) {
    let field = format!("{view}.points_cm");
    if !check_curve(&field, &outline.points_cm, on) {
        return;
    }
    let curve = match view {
        "plan" => outline.curve_cm(),
        _ => outline.standing_curve_cm(),
    };
    if !check_simple(&field, &curve, outline.curved, on) {
        return;
    }
    for (idx, opening) in outline.openings.iter().enumerate() {
        let field = format!("{view}.openings[{idx}]");
        if !check_curve(&field, opening, on) {
            continue;
        }
        let hole = Polygon::new(opening.clone());
        if check_simple(&field, &hole, false, on) && !overlap(&curve, &hole) {
            on.error(Fault {
                field: &field,
                value: format!(
                    "an opening near ({}, {}) cm, outside its outline",
                    opening[0].x, opening[0].y
                ),
                limit: format!("an opening that cuts the {view} outline"),
                way_out: "move it over the rock, or remove it",
            });
        }
    }
}

/// Checks the number and the values of the points; returns whether both are good.
fn check_curve(field: &str, points_cm: &[DVec2], on: &mut Examiner<'_>) -> bool {
    if !limits::OUTLINE_POINTS.holds(points_cm.len() as f64) {
        on.within(field, points_cm.len() as f64, &limits::OUTLINE_POINTS);
        return false;
    }
    let holds = |value: &f64| limits::OUTLINE_COORDINATE.holds(*value);
    let wrong = points_cm
        .iter()
        .position(|p| !p.to_array().iter().all(holds));
    if let Some(idx) = wrong {
        on.error(Fault {
            field: &format!("{field}[{idx}]"),
            value: format!("({}, {}) cm", points_cm[idx].x, points_cm[idx].y),
            limit: format!("{} in both directions", limits::OUTLINE_COORDINATE.text()),
            way_out: limits::OUTLINE_COORDINATE.way_out,
        });
        return false;
    }
    let n = points_cm.len();
    let repeated =
        (0..n).find(|&idx| points_cm[idx].distance(points_cm[(idx + 1) % n]) < SAME_POINT_CM);
    if let Some(idx) = repeated {
        let (field, next) = (format!("{field}[{idx}]"), (idx + 1) % n + 1);
        on.error(Fault {
            field: &field,
            value: format!("the same point as its neighbor, point {next}"),
            limit: "a point of its own".to_owned(),
            way_out: "leave one of the two out; the last point is joined to the first by itself",
        });
    }
    repeated.is_none()
}

/// Checks that a curve encloses something and does not cross itself.
fn check_simple(field: &str, curve: &Polygon, is_curved: bool, on: &mut Examiner<'_>) -> bool {
    if let Some((a, b)) = curve.self_crossing() {
        let steps = if is_curved {
            Polygon::SEGMENTS_PER_SPAN
        } else {
            1
        };
        let near = curve.points()[a];
        on.error(Fault {
            field,
            value: format!(
                "a curve that crosses itself near ({:.1}, {:.1}) cm, after point {} and after point {}",
                near.x,
                near.y,
                a / steps + 1,
                b / steps + 1
            ),
            limit: "a curve that never meets itself".to_owned(),
            way_out: "move one of these points, or put them in order around the outline",
        });
        return false;
    }
    let area_cm2 = curve.signed_area().abs();
    if area_cm2 < limits::OUTLINE_AREA_MIN_CM2 {
        on.error(Fault {
            field,
            value: format!("a curve around {area_cm2:.3} cm²"),
            limit: format!(
                "a curve around at least {} cm²",
                limits::OUTLINE_AREA_MIN_CM2
            ),
            way_out: "draw it larger; points are in cm",
        });
        return false;
    }
    true
}

/// Whether a hole takes anything from a curve.
fn overlap(curve: &Polygon, hole: &Polygon) -> bool {
    // Shapes meet where a corner of one lies within the other, where the middle
    // of an edge does, or where edges cross; corners on a shared edge alone are no cut.
    let within = |of: &Polygon, p: DVec2| of.signed_distance(p) < -1e-9;
    let middles = |of: &Polygon| of.edges().map(|(a, b)| (a + b) / 2.0).collect::<Vec<_>>();
    hole.points()
        .iter()
        .chain(&middles(hole))
        .any(|p| within(curve, *p))
        || curve
            .points()
            .iter()
            .chain(&middles(curve))
            .any(|p| within(hole, *p))
        || edges_cross(curve, hole)
        || hole.points() == curve.points()
}

fn edges_cross(a: &Polygon, b: &Polygon) -> bool {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    a.edges().any(|(p, q)| {
        b.edges().any(|(r, s)| {
            side(p, q, r) * side(p, q, s) < 0.0 && side(r, s, p) * side(r, s, q) < 0.0
        })
    })
}

/// Checks what the outlines make together, and where it stands.
fn check_solid(place: &LayoutPlace<'_>, rock: &Rock, on: &mut Examiner<'_>) {
    if let Some((field, axis)) = disagreement(rock) {
        on.error(Fault {
            field,
            value: format!("an outline that has no {axis} in common with the others"),
            limit: "outlines that overlap, so that they enclose a rock together".to_owned(),
            way_out: "draw all outlines of a rock around the same origin",
        });
        return;
    }
    if !place.tank_is_sound {
        return;
    }
    let solid = solids::rock_solid(rock);
    let bounds = solid.bounds();
    let size = DVec3::new(
        place.tank.length_cm,
        place.tank.width_cm,
        place.tank.height_cm,
    );
    let (low, high) = (bounds.min_m / M_PER_CM, bounds.max_m / M_PER_CM);
    if high.cmple(DVec3::ZERO).any() || low.cmpge(size).any() {
        on.error(Fault {
            field: "at_cm",
            value: format!(
                "{}, which leaves the whole rock outside the tank",
                place_text(rock.at_cm)
            ),
            limit: format!(
                "inside the tank (x 0 to {}, y 0 to {}, z 0 to {} cm)",
                size.x, size.y, size.z
            ),
            way_out: "move the rock into the tank",
        });
        return;
    }
    for (axis, name) in [
        (0, ["left pane", "right pane"]),
        (1, ["front pane", "back pane"]),
    ] {
        for (beyond_cm, pane) in [(-low[axis], name[0]), (high[axis] - size[axis], name[1])] {
            warn_in_glass(&solid, (axis, pane == name[1], beyond_cm), (pane, size), on);
        }
    }
    warn_in_glass(&solid, (2, false, -low.z), ("bottom pane", size), on);
}

/// Warns where a rock reaches through a pane. The box around a turned rock is
/// larger than the rock, so the rock itself is probed beyond the pane.
fn warn_in_glass(
    solid: &RockSolid,
    (axis, is_far, beyond_cm): (usize, bool, f64),
    (pane, size_cm): (&str, DVec3),
    on: &mut Examiner<'_>,
) {
    // Enough to tell a tenth of the depth, few enough for a scene made to be slow.
    const PROBES_PER_AXIS: usize = 10;
    if beyond_cm <= limits::ROCK_IN_GLASS_DOUBTED_CM {
        return;
    }
    let (mut low, mut high) = (
        solid.bounds().min_m / M_PER_CM,
        solid.bounds().max_m / M_PER_CM,
    );
    if is_far {
        low[axis] = size_cm[axis];
    } else {
        high[axis] = 0.0;
    }
    let mut deepest_cm: f64 = 0.0;
    for idx in 0..PROBES_PER_AXIS.pow(3) {
        let ijk = [
            idx % PROBES_PER_AXIS,
            idx / PROBES_PER_AXIS % PROBES_PER_AXIS,
            idx / PROBES_PER_AXIS.pow(2),
        ];
        let share = DVec3::from_array(ijk.map(|i| (i as f64 + 0.5) / PROBES_PER_AXIS as f64));
        let p_cm = low + (high - low) * share;
        let depth_cm = if is_far {
            p_cm[axis] - size_cm[axis]
        } else {
            -p_cm[axis]
        };
        if depth_cm > deepest_cm && solid.contains(p_cm * M_PER_CM) {
            deepest_cm = depth_cm;
        }
    }
    if deepest_cm > limits::ROCK_IN_GLASS_DOUBTED_CM {
        on.warn(Fault {
            field: "at_cm",
            value: format!("such that the rock reaches {deepest_cm:.1} cm through the {pane}"),
            limit: format!(
                "within the glass, give or take {} cm",
                limits::ROCK_IN_GLASS_DOUBTED_CM
            ),
            way_out: "move or turn the rock; what is beyond the glass is left out",
        });
    }
}

/// The view that shares no range with another one, and the axis of that range.
fn disagreement(rock: &Rock) -> Option<(&'static str, &'static str)> {
    if rock.scan.is_some() {
        return None;
    }
    let bounds = |outline: &Outline| outline.curve_cm().bounds();
    let apart = |a: (f64, f64), b: (f64, f64)| a.0.max(b.0) >= a.1.min(b.1);
    let (plan, front) = (bounds(&rock.plan)?, bounds(&rock.front)?);
    if apart((plan.0.x, plan.1.x), (front.0.x, front.1.x)) {
        return Some(("front.points_cm", "x"));
    }
    let end = bounds(rock.end.as_ref()?)?;
    if apart((plan.0.y, plan.1.y), (end.0.x, end.1.x)) {
        return Some(("end.points_cm", "y"));
    }
    apart((front.0.y, front.1.y), (end.0.y, end.1.y)).then_some(("end.points_cm", "z"))
}

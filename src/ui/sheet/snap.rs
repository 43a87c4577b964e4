//! Where a dragged thing comes to rest: the grid, the clearance to the glass,
//! the bottom and the top of the sand.

use glam::DVec3;

use crate::geometry::Bounds;
use crate::scene::Tank;
use crate::ui::sheet::View;

/// Room to leave between rock and glass, to get a hand or a scraper through.
///
/// **Source** COMMON PRACTICE: 5 cm to viewed panes where there is room; here
/// half of it, as the least that a scraper needs.
pub(super) const CLEARANCE_CM: f64 = 2.5;
/// Step of the grid, in cm.
const GRID_CM: f64 = 0.5;

/// A shift along the axes of a view, and the lines that held it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Snapped {
    /// The shift from where the drag began, in cm.
    pub delta_cm: DVec3,
    /// Axis and place of each line that it came to rest on, in cm.
    pub guides: Vec<(usize, f64)>,
}

/// Snaps the shift `delta_cm` of something that stood at `at_cm`. `bounds` is
/// the box of a rock before the shift, `beside` the boxes of those it may rest
/// on; the last number is how near a line must be, in cm.
pub(super) fn snap(
    view: View,
    tank: &Tank,
    at_cm: DVec3,
    (bounds, beside): (Option<Bounds>, &[Bounds]),
    (delta_cm, reach_cm): (DVec3, f64),
) -> Snapped {
    let (h, v, _) = view.axes();
    let size = [tank.length_cm, tank.width_cm, tank.height_cm];
    let mut snapped = Snapped {
        delta_cm,
        guides: Vec::new(),
    };
    for axis in [h, v] {
        let wished = delta_cm[axis];
        // Candidates: a shift that brings one side of the box onto a line.
        let mut best: Option<(f64, f64)> = None;
        let mut offer = |shift: f64, line: f64| {
            if (shift - wished).abs() < best.map_or(reach_cm, |(s, _)| (s - wished).abs()) {
                best = Some((shift, line));
            }
        };
        if let Some(bounds) = bounds {
            let (lo, hi) = (bounds.min_m[axis] * 100.0, bounds.max_m[axis] * 100.0);
            if axis == 2 {
                for line in [0.0, tank.sand.depth_cm] {
                    offer(line - lo, line);
                }
                for top in beside
                    .iter()
                    .filter(|other| lies_over(&bounds, other, delta_cm))
                {
                    let line = top.max_m.z * 100.0;
                    offer(line - lo, line);
                }
            } else {
                offer(CLEARANCE_CM - lo, CLEARANCE_CM);
                let far = size[axis] - CLEARANCE_CM;
                offer(far - hi, far);
            }
        } else if axis == 2 {
            offer(tank.sand.depth_cm - at_cm[axis], tank.sand.depth_cm);
        }
        if let Some((shift, line)) = best {
            snapped.delta_cm[axis] = shift;
            snapped.guides.push((axis, line));
        } else {
            let place = at_cm[axis] + wished;
            snapped.delta_cm[axis] = (place / GRID_CM).round() * GRID_CM - at_cm[axis];
        }
    }
    snapped
}

/// Whether a box, shifted, lies over part of another as seen from above.
fn lies_over(moved: &Bounds, other: &Bounds, delta_cm: DVec3) -> bool {
    (0..2).all(|axis| {
        let shift_m = delta_cm[axis] / 100.0;
        moved.min_m[axis] + shift_m < other.max_m[axis]
            && moved.max_m[axis] + shift_m > other.min_m[axis]
    })
}

/// The shift, cut short so that what moves stays in the tank (a lamp: above
/// the water and below the ceiling).
pub(super) fn keep_inside(tank: &Tank, box_cm: [DVec3; 2], top_cm: f64, delta_cm: DVec3) -> DVec3 {
    let size = DVec3::new(tank.length_cm, tank.width_cm, top_cm);
    let [lo, hi] = box_cm;
    let mut kept = delta_cm;
    for axis in 0..3 {
        // A thing that is larger than the tank, or outside already, may move
        // inwards only.
        let (least, most) = (-lo[axis], size[axis] - hi[axis]);
        if least <= most {
            kept[axis] = kept[axis].clamp(least.min(0.0), most.max(0.0));
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
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

    fn bounds() -> Bounds {
        Bounds {
            min_m: DVec3::new(0.2, 0.1, 0.1),
            max_m: DVec3::new(0.4, 0.3, 0.3),
        }
    }

    #[test]
    fn a_rock_comes_to_rest_on_sand_and_off_the_glass() {
        let at = DVec3::new(30.0, 20.0, 10.0);
        let wish = DVec3::new(-17.2, 0.0, -6.6);
        let snapped = snap(View::Side, &tank(), at, (Some(bounds()), &[]), (wish, 1.0));
        assert_eq!(snapped.delta_cm, DVec3::new(-17.5, 0.0, -7.0), "both lines");
        assert_eq!(snapped.guides, vec![(0, 2.5), (2, 3.0)], "and shows them");
    }

    #[test]
    fn a_rock_comes_to_rest_on_the_top_of_one_below_it_and_not_of_one_beside() {
        let at = DVec3::new(30.0, 20.0, 10.0);
        let below = Bounds {
            min_m: DVec3::new(0.3, 0.2, 0.03),
            max_m: DVec3::new(0.6, 0.5, 0.152),
        };
        let wish = DVec3::new(0.0, 0.0, 5.6);
        let onto = |other: Bounds| {
            let boxes = (Some(bounds()), &[other][..]);
            snap(View::Side, &tank(), at, boxes, (wish, 1.0))
        };
        let snapped = onto(below);
        assert!((snapped.delta_cm.z - 5.2).abs() < 1e-9, "{snapped:?}");
        assert_eq!(snapped.guides, vec![(2, 15.2)], "the top is shown");
        let beside = Bounds {
            min_m: DVec3::new(0.5, 0.2, 0.03),
            ..below
        };
        assert!(onto(beside).guides.is_empty(), "nothing to rest on");
    }

    #[test]
    fn elsewhere_the_grid_holds_it() {
        let at = DVec3::new(30.1, 20.0, 10.0);
        let wish = DVec3::new(5.1, 3.3, 0.0);
        let snapped = snap(View::Top, &tank(), at, (None, &[]), (wish, 1.0));
        assert!(
            (at.x + snapped.delta_cm.x - 35.0).abs() < 1e-9,
            "{snapped:?}"
        );
        assert!(
            (at.y + snapped.delta_cm.y - 23.5).abs() < 1e-9,
            "{snapped:?}"
        );
    }

    #[test]
    fn nothing_is_dragged_through_the_glass() {
        let kept = keep_inside(
            &tank(),
            [DVec3::splat(10.0), DVec3::splat(20.0)],
            55.0,
            DVec3::new(-30.0, 5.0, 100.0),
        );
        assert_eq!(
            kept,
            DVec3::new(-10.0, 5.0, 35.0),
            "stopped at glass and rim"
        );
    }
}

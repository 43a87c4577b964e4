//! The points of a selected rock's outlines as handles: where they lie on the
//! screen, and how moving one there moves it in its outline.

use egui::Pos2;
use glam::{DMat2, DVec2, DVec3};

use crate::draw::tank_from_rock;
use crate::scene::{ItemId, Outline, Rock};
use crate::ui::sheet::{Frame, View};

/// Which outline of a rock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Which {
    /// Seen from above.
    Plan,
    /// Seen through the front glass.
    Front,
    /// Seen from the right end.
    End,
}

/// One point of an outline, or the edge after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Spot {
    /// The rock.
    pub rock: ItemId,
    /// Its outline.
    pub which: Which,
    /// The opening, or `None` for the outer curve.
    pub opening: Option<usize>,
    /// The point.
    pub point: usize,
}

impl Which {
    /// The outline itself, if it was drawn.
    pub(super) fn of(self, rock: &Rock) -> Option<&Outline> {
        match self {
            Self::Plan => Some(&rock.plan),
            Self::Front => Some(&rock.front),
            Self::End => rock.end.as_ref(),
        }
    }

    /// The outline itself, if it was drawn.
    pub(super) fn of_mut(self, rock: &mut Rock) -> Option<&mut Outline> {
        match self {
            Self::Plan => Some(&mut rock.plan),
            Self::Front => Some(&mut rock.front),
            Self::End => rock.end.as_mut(),
        }
    }

    /// A point of the outline in the rock's own frame.
    fn lift(self, p: DVec2) -> DVec3 {
        match self {
            Self::Plan => DVec3::new(p.x, p.y, 0.0),
            Self::Front => DVec3::new(p.x, 0.0, p.y),
            Self::End => DVec3::new(0.0, p.x, p.y),
        }
    }
}

/// How an outline lies in a view.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lie {
    /// Which outline.
    pub which: Which,
    /// View from outline, without the rock's place.
    view_from_outline: DMat2,
    /// The rock's place in the view, in cm.
    at_cm: DVec2,
}

impl Lie {
    /// The outline that is seen most squarely in `view`, if any is seen well
    /// enough to be worked on.
    pub(super) fn new(rock: &Rock, view: View) -> Option<Self> {
        const LEAST: f64 = 0.35;
        let turn = tank_from_rock(rock);
        let lies = [Which::Plan, Which::Front, Which::End].into_iter();
        let seen = lies.filter(|which| which.of(rock).is_some()).map(|which| {
            let axis = |p: DVec2| view.flat(turn * which.lift(p));
            Self {
                which,
                view_from_outline: DMat2::from_cols(axis(DVec2::X), axis(DVec2::Y)),
                at_cm: view.flat(rock.at_cm),
            }
        });
        let size = |lie: &Self| lie.view_from_outline.determinant().abs();
        seen.filter(|lie| size(lie) > LEAST)
            .max_by(|a, b| size(a).total_cmp(&size(b)))
    }

    /// Where a point of the outline lies in the view, in cm.
    pub(super) fn flat_cm(&self, p: DVec2) -> DVec2 {
        self.at_cm + self.view_from_outline * p
    }

    /// The point of the outline that lies there.
    pub(super) fn outline_cm(&self, flat_cm: DVec2) -> DVec2 {
        self.view_from_outline.inverse() * (flat_cm - self.at_cm)
    }
}

/// All handles of a rock in a view: the spot, its place, and whether the curve
/// through it is smooth.
pub(super) fn handles(rock: &Rock, frame: &Frame) -> Vec<(Spot, Pos2)> {
    let Some(lie) = Lie::new(rock, frame.view) else {
        return Vec::new();
    };
    let Some(outline) = lie.which.of(rock) else {
        return Vec::new();
    };
    let rings = std::iter::once((None, &outline.points_cm)).chain(
        outline
            .openings
            .iter()
            .enumerate()
            .map(|(k, hole)| (Some(k), hole)),
    );
    rings
        .flat_map(|(opening, ring)| {
            ring.iter().enumerate().map(move |(point, p)| {
                let spot = Spot {
                    rock: rock.id,
                    which: lie.which,
                    opening,
                    point,
                };
                (spot, frame.pos_flat(lie.flat_cm(*p)))
            })
        })
        .collect()
}

/// The handle at a screen place.
pub(super) fn point_at(rock: &Rock, frame: &Frame, pos: Pos2, near: f32) -> Option<Spot> {
    handles(rock, frame)
        .into_iter()
        .map(|(spot, at)| (spot, at.distance(pos)))
        .filter(|(_, distance)| *distance < near)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(spot, _)| spot)
}

/// The edge at a screen place, as the point that it starts from. A smooth
/// curve is flattened in equal pieces between its points.
pub(super) fn edge_at(rock: &Rock, frame: &Frame, pos: Pos2, near: f32) -> Option<Spot> {
    let lie = Lie::new(rock, frame.view)?;
    let outline = lie.which.of(rock)?;
    let spot = |opening, point| Spot {
        rock: rock.id,
        which: lie.which,
        opening,
        point,
    };
    let distance = |a: DVec2, b: DVec2| {
        let (a, b) = (
            frame.pos_flat(lie.flat_cm(a)),
            frame.pos_flat(lie.flat_cm(b)),
        );
        let along = b - a;
        let share = ((pos - a).dot(along) / along.length_sq().max(1e-6)).clamp(0.0, 1.0);
        (a + along * share).distance(pos)
    };
    let curve = outline.curve_cm();
    let n_points = outline.points_cm.len().max(1);
    let pieces = (curve.points().len() / n_points).max(1);
    let outer = curve
        .edges()
        .enumerate()
        .map(|(k, (a, b))| (spot(None, (k / pieces).min(n_points - 1)), distance(a, b)));
    let holes = outline.openings.iter().enumerate().flat_map(|(h, hole)| {
        (0..hole.len()).map(move |k| {
            (
                spot(Some(h), k),
                distance(hole[k], hole[(k + 1) % hole.len()]),
            )
        })
    });
    outer
        .chain(holes)
        .filter(|(_, d)| *d < near)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(spot, _)| spot)
}

/// The ring of points that a spot is on.
fn ring_mut(rock: &mut Rock, spot: Spot) -> Option<&mut Vec<DVec2>> {
    let outline = spot.which.of_mut(rock)?;
    match spot.opening {
        None => Some(&mut outline.points_cm),
        Some(k) => outline.openings.get_mut(k),
    }
}

/// The rock with a point moved to a place of the view; `None` if that would
/// make the outline cross itself.
pub(super) fn with_point_at(rock: &Rock, view: View, spot: Spot, flat_cm: DVec2) -> Option<Rock> {
    let lie = Lie::new(rock, view).filter(|lie| lie.which == spot.which)?;
    let mut rock = rock.clone();
    let ring = ring_mut(&mut rock, spot)?;
    *ring.get_mut(spot.point)? = tidy(lie.outline_cm(flat_cm));
    is_sound(&rock, spot.which).then_some(rock)
}

/// The rock with a point added after a spot, at a place of the view.
pub(super) fn with_point_added(
    rock: &Rock,
    view: View,
    spot: Spot,
    flat_cm: DVec2,
) -> Option<Rock> {
    let lie = Lie::new(rock, view).filter(|lie| lie.which == spot.which)?;
    let mut rock = rock.clone();
    let ring = ring_mut(&mut rock, spot)?;
    ring.insert(
        (spot.point + 1).min(ring.len()),
        tidy(lie.outline_cm(flat_cm)),
    );
    is_sound(&rock, spot.which).then_some(rock)
}

/// The rock without a point; a ring keeps at least three, and an opening that
/// would have fewer goes as a whole.
pub(super) fn with_point_removed(rock: &Rock, spot: Spot) -> Option<Rock> {
    let mut rock = rock.clone();
    let ring = ring_mut(&mut rock, spot)?;
    if ring.len() > 3 {
        if spot.point < ring.len() {
            ring.remove(spot.point);
        }
    } else {
        let hole = spot.opening?;
        spot.which.of_mut(&mut rock)?.openings.remove(hole);
    }
    is_sound(&rock, spot.which).then_some(rock)
}

/// The rock with the outline of a spot smooth instead of cornered, or back.
pub(super) fn with_curve_switched(rock: &Rock, spot: Spot) -> Option<Rock> {
    if spot.opening.is_some() {
        return None;
    }
    let mut rock = rock.clone();
    let outline = spot.which.of_mut(&mut rock)?;
    outline.curved = !outline.curved;
    is_sound(&rock, spot.which).then_some(rock)
}

/// Whether an outline is a simple curve of some size.
pub(super) fn is_sound(rock: &Rock, which: Which) -> bool {
    const AREA_MIN_CM2: f64 = 1.0;
    which.of(rock).is_some_and(|outline| {
        let curve = outline.curve_cm();
        curve.self_crossing().is_none() && curve.signed_area().abs() > AREA_MIN_CM2
    })
}

/// Rounded to a tenth of a millimetre, so that files stay readable.
pub(super) fn tidy(p: DVec2) -> DVec2 {
    (p * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shapes::Shape;
    use egui::{Rect, pos2, vec2};

    fn frame(view: View) -> Frame {
        Frame {
            view,
            rect: Rect::from_min_size(pos2(0.0, 0.0), vec2(600.0, 400.0)),
            scale: 5.0,
            center_cm: DVec2::new(60.0, 30.0),
            focus: pos2(300.0, 200.0),
            fold_cm: None,
        }
    }

    fn boulder(turn_deg: f64) -> Rock {
        Rock {
            turn_deg,
            ..Shape::Boulder.rock(4, DVec3::new(50.0, 30.0, 3.0))
        }
    }

    #[test]
    fn a_point_moved_on_a_turned_rock_lands_under_the_pointer() {
        for (view, turn_deg) in [(View::Top, 70.0), (View::Side, 30.0), (View::End, 80.0)] {
            let rock = boulder(turn_deg);
            let frame = frame(view);
            let (spot, at) = handles(&rock, &frame)[2];
            let to = frame.flat_cm(at) + DVec2::new(0.8, 0.6);
            let moved = with_point_at(&rock, view, spot, to).expect("still a simple curve");
            let back = frame.flat_cm(handles(&moved, &frame)[2].1);
            // Points are kept to a tenth of a millimetre, seen up to 3 times larger.
            assert!((back - to).length() < 0.03, "{view:?}: {back} is not {to}");
        }
    }

    #[test]
    fn points_are_added_on_the_edge_that_was_hit_and_taken_away() {
        let rock = boulder(0.0);
        let frame = frame(View::Top);
        let curve = rock.plan.curve_cm();
        let lie = Lie::new(&rock, View::Top).expect("the plan is seen from above");
        let on_edge = curve.points()[3 * 8 + 4];
        let pos = frame.pos_flat(lie.flat_cm(on_edge));
        let spot = edge_at(&rock, &frame, pos, 5.0).expect("on the curve");
        assert_eq!(spot.point, 3, "the fourth span");
        let more = with_point_added(&rock, View::Top, spot, frame.flat_cm(pos)).expect("simple");
        assert_eq!(more.plan.points_cm.len(), 8, "one more");
        let added = Spot { point: 4, ..spot };
        let same = with_point_removed(&more, added).expect("simple");
        assert_eq!(same.plan, rock.plan, "as it was");
    }

    #[test]
    fn an_outline_that_would_cross_itself_is_refused() {
        let rock = boulder(0.0);
        let spot = Spot {
            rock: 4,
            which: Which::Plan,
            opening: None,
            point: 0,
        };
        let across = DVec2::new(75.0, 30.0);
        assert!(
            with_point_at(&rock, View::Top, spot, across).is_none(),
            "refused"
        );
    }
}

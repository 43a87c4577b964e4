//! Putting things in line: align, distribute, scale, bond. Rocks that are
//! bonded move as one, corals ride along, locked things stay.

use glam::DVec3;

use crate::scene::solids::rock_solid;
use crate::scene::{Item, ItemId, Layout, Outline, Rock, Support};

/// Which sides come into line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Left sides, at the leftmost.
    Left,
    /// Middles from left to right, at their common middle.
    Middle,
    /// Right sides, at the rightmost.
    Right,
    /// Front sides, at the foremost.
    Front,
    /// Back sides, at the hindmost.
    Back,
    /// Tops, at the highest.
    Top,
    /// Bottoms, at the lowest.
    Bottom,
}

/// Things that move as one, and the box around them in cm.
struct Body {
    ids: Vec<ItemId>,
    lo_cm: DVec3,
    hi_cm: DVec3,
}

/// Brings sides into line.
pub(super) fn align(layout: &mut Layout, ids: &[ItemId], edge: Edge) {
    let bodies = bodies(layout, ids);
    let axis = match edge {
        Edge::Left | Edge::Middle | Edge::Right => 0,
        Edge::Front | Edge::Back => 1,
        Edge::Top | Edge::Bottom => 2,
    };
    let least = bodies
        .iter()
        .map(|it| it.lo_cm[axis])
        .fold(f64::MAX, f64::min);
    let most = bodies
        .iter()
        .map(|it| it.hi_cm[axis])
        .fold(f64::MIN, f64::max);
    for body in &bodies {
        let step = match edge {
            Edge::Left | Edge::Front | Edge::Bottom => least - body.lo_cm[axis],
            Edge::Right | Edge::Back | Edge::Top => most - body.hi_cm[axis],
            Edge::Middle => (least + most - body.lo_cm[axis] - body.hi_cm[axis]) / 2.0,
        };
        shift(layout, body, axis, step);
    }
}

/// Leaves equal gaps between three things or more along x (0) or y (1); the
/// outer two stay.
pub(super) fn distribute(layout: &mut Layout, ids: &[ItemId], axis: usize) {
    let mut bodies = bodies(layout, ids);
    if bodies.len() < 3 {
        return;
    }
    let middle = |body: &Body| body.lo_cm[axis] + body.hi_cm[axis];
    bodies.sort_by(|a, b| middle(a).total_cmp(&middle(b)));
    let size = |body: &Body| body.hi_cm[axis] - body.lo_cm[axis];
    let (first, last) = (&bodies[0], &bodies[bodies.len() - 1]);
    let span = last.hi_cm[axis] - first.lo_cm[axis];
    let gap = (span - bodies.iter().map(size).sum::<f64>()) / (bodies.len() - 1) as f64;
    let mut at = first.lo_cm[axis];
    for body in &bodies {
        shift(layout, body, axis, at - body.lo_cm[axis]);
        at += size(body) + gap;
    }
}

/// Makes rocks larger or smaller about the middle of their base; the corals on
/// them keep their size and stay on the same spot of the surface. Corals that
/// are named themselves change their size.
pub(super) fn scale(layout: &mut Layout, ids: &[ItemId], factor: f64) {
    let free = |id: &ItemId| layout.item(*id).filter(|item| !item.locked());
    for item in ids.iter().filter_map(free).collect::<Vec<_>>() {
        match item {
            Item::Rock(rock) => {
                for coral in &mut layout.corals {
                    if coral.on == Support::Rock(rock.id) && !coral.locked {
                        coral.at_cm = tidy(rock.at_cm + (coral.at_cm - rock.at_cm) * factor);
                    }
                }
                layout.put(Item::Rock(scaled(rock, factor)));
            }
            Item::Coral(mut coral) => {
                coral.size_cm = tidy(coral.size_cm * factor).max(DVec3::splat(0.1));
                layout.put(Item::Coral(coral));
            }
            Item::Pump(_) | Item::Lamp(_) => {}
        }
    }
}

/// Bonds the rocks among `ids`, or frees them if all of them are one bond.
pub(super) fn toggle_bond(layout: &mut Layout, ids: &[ItemId]) {
    let is_named = |rock: &&mut Rock| ids.contains(&rock.id);
    let bonds: Vec<Option<u32>> = layout
        .rocks
        .iter()
        .filter(|rock| ids.contains(&rock.id))
        .map(|rock| rock.bonded)
        .collect();
    let is_one =
        bonds.first().is_some_and(Option::is_some) && bonds.iter().all(|bond| *bond == bonds[0]);
    let bond = if is_one {
        None
    } else if bonds.len() < 2 {
        return;
    } else {
        let taken = layout.rocks.iter().filter_map(|rock| rock.bonded);
        Some(taken.max().unwrap_or(0) + 1)
    };
    for rock in layout.rocks.iter_mut().filter(is_named) {
        rock.bonded = bond;
    }
}

fn scaled(mut rock: Rock, factor: f64) -> Rock {
    let grow = |outline: &mut Outline| {
        let openings = outline.openings.iter_mut().flatten();
        for point in outline.points_cm.iter_mut().chain(openings) {
            *point = (*point * factor * 100.0).round() / 100.0;
        }
    };
    grow(&mut rock.plan);
    grow(&mut rock.front);
    if let Some(end) = &mut rock.end {
        grow(end);
    }
    rock.scan = rock.scan.map(|scan| scan.scaled(factor));
    rock.rounding_cm = (rock.rounding_cm * factor * 100.0).round() / 100.0;
    rock
}

fn tidy(at_cm: DVec3) -> DVec3 {
    (at_cm * 100.0).round() / 100.0
}

fn shift(layout: &mut Layout, body: &Body, axis: usize, step_cm: f64) {
    let mut delta_cm = DVec3::ZERO;
    delta_cm[axis] = (step_cm * 100.0).round() / 100.0;
    layout.shift(&body.ids, delta_cm);
}

/// The named things that are not locked, bonded rocks together; corals that
/// ride on a named rock move with it and are no thing of their own.
fn bodies(layout: &Layout, ids: &[ItemId]) -> Vec<Body> {
    let mut all: Vec<Body> = Vec::new();
    for id in ids {
        let Some(item) = layout.item(*id).filter(|item| !item.locked()) else {
            continue;
        };
        if all.iter().any(|body| body.ids.contains(id)) {
            continue;
        }
        let group = match &item {
            Item::Coral(coral) if matches!(coral.on, Support::Rock(rock) if ids.contains(&rock)) => {
                continue;
            }
            Item::Rock(rock) if rock.bonded.is_some() => layout
                .rocks
                .iter()
                .filter(|other| other.bonded == rock.bonded)
                .map(|other| other.id)
                .collect(),
            _ => vec![*id],
        };
        let boxes = group
            .iter()
            .filter_map(|id| layout.item(*id))
            .map(|it| box_cm(&it));
        let (lo_cm, hi_cm) = boxes.fold((DVec3::MAX, DVec3::MIN), |(lo, hi), (a, b)| {
            (lo.min(a), hi.max(b))
        });
        all.push(Body {
            ids: group,
            lo_cm,
            hi_cm,
        });
    }
    all
}

fn box_cm(item: &Item) -> (DVec3, DVec3) {
    let at = item.at_cm();
    match item {
        Item::Rock(rock) => {
            let bounds = rock_solid(rock).bounds();
            (bounds.min_m * 100.0, bounds.max_m * 100.0)
        }
        Item::Coral(coral) => {
            let half = DVec3::new(coral.size_cm.x / 2.0, coral.size_cm.y / 2.0, 0.0);
            (at - half, at + half + DVec3::Z * coral.size_cm.z)
        }
        Item::Pump(_) | Item::Lamp(_) => (at, at),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shapes::Shape;

    fn layout() -> Layout {
        let at = [(20.0, 10.0), (47.0, 20.0), (95.0, 33.0)];
        Layout {
            rocks: at
                .iter()
                .zip(1..)
                .map(|((x, y), id)| Shape::Boulder.rock(id, DVec3::new(*x, *y, 3.0)))
                .collect(),
            ..Layout::default()
        }
    }

    fn box_of(layout: &Layout, id: ItemId) -> (DVec3, DVec3) {
        box_cm(&layout.item(id).expect("it is there"))
    }

    #[test]
    fn sides_come_into_line_and_bonded_rocks_keep_their_gap() {
        let mut it = layout();
        align(&mut it, &[1, 2, 3], Edge::Front);
        for id in 2..=3 {
            let off = box_of(&it, id).0.y - box_of(&it, 1).0.y;
            // Places are kept to a hundredth of a cm.
            assert!(off.abs() < 0.011, "rock {id} is {off} cm behind");
        }
        let mut it = layout();
        it.rocks[1].at_cm.z = 20.0;
        align(&mut it, &[1, 2], Edge::Bottom);
        assert!(
            (it.rocks[1].at_cm.z - 3.0).abs() < 0.011,
            "down to the lowest"
        );
        let mut it = layout();
        toggle_bond(&mut it, &[2, 3]);
        let gap = |it: &Layout| it.rocks[2].at_cm - it.rocks[1].at_cm;
        let before = gap(&it);
        align(&mut it, &[1, 2, 3], Edge::Left);
        assert_eq!(gap(&it), before, "the bonded two stay as they are");
        assert!((it.rocks[1].at_cm.x - 20.0).abs() < 0.011, "and move left");
    }

    #[test]
    fn gaps_become_equal_and_the_outer_two_stay() {
        let mut it = layout();
        distribute(&mut it, &[3, 1, 2], 0);
        assert_eq!(it.rocks[0].at_cm.x, 20.0, "the left one");
        assert_eq!(it.rocks[2].at_cm.x, 95.0, "the right one");
        assert!((it.rocks[1].at_cm.x - 57.5).abs() < 0.011, "half way");
    }

    #[test]
    fn a_bond_is_made_and_undone() {
        let mut it = layout();
        toggle_bond(&mut it, &[1]);
        assert_eq!(it.rocks[0].bonded, None, "one rock is no bond");
        toggle_bond(&mut it, &[1, 2]);
        assert!(it.rocks[0].bonded.is_some() && it.rocks[0].bonded == it.rocks[1].bonded);
        toggle_bond(&mut it, &[1, 2, 3]);
        assert_eq!(it.rocks[2].bonded, it.rocks[0].bonded, "three now");
        toggle_bond(&mut it, &[3, 2, 1]);
        assert!(it.rocks.iter().all(|rock| rock.bonded.is_none()), "free");
    }

    #[test]
    fn a_rock_twice_as_large_has_eight_times_its_volume_and_keeps_its_base() {
        let mut it = layout();
        let (lo, hi) = box_of(&it, 1);
        scale(&mut it, &[1], 2.0);
        let (lo2, hi2) = box_of(&it, 1);
        let ratio = (hi2 - lo2) / (hi - lo);
        // Points are kept to a hundredth of a cm.
        assert!((ratio - 2.0).abs().max_element() < 0.01, "{ratio}");
        assert!((lo2.z - lo.z).abs() < 0.02, "it stands where it stood");
    }
}

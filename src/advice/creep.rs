//! How far it is from coral to coral along the rock that both sit on: mats and
//! crusts grow over the surface, not through the water.

use std::collections::BTreeMap;
use std::sync::Arc;

use glam::DVec3;
use petgraph::algo::dijkstra;
use petgraph::graph::{NodeIndex, UnGraph};

use crate::catalog::Entry;
use crate::geometry::RockSolid;
use crate::geometry::near::Near;
use crate::geometry::surface::surface_samples;
use crate::scene::{Coral, ItemId, Rock, Support};
use crate::units::M_PER_CM;

/// Between samples of the surface, in m.
const SPACING_M: f64 = 0.01;
/// Samples are one step apart up to this many spacings: enough directions that
/// a way of steps is at most about 3 % longer than the way itself.
const STEP_SPACINGS: f64 = 2.3;
/// Middle of a step off the surface, in spacings; a step through a thin plate
/// has its middle deeper in the rock.
const OFF_SPACINGS: f64 = 0.3;

/// Ways over the rocks of a layout between corals of which one creeps.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ways {
    along_m: BTreeMap<(ItemId, ItemId), f64>,
}

impl Ways {
    /// The ways between these corals.
    pub(crate) fn new<'r>(
        rocks: impl Iterator<Item = (&'r Rock, &'r Arc<RockSolid>)>,
        corals: &[(&Coral, &Entry)],
    ) -> Self {
        let mut ways = Self::default();
        for (rock, solid) in rocks {
            let on_it = |coral: &Coral| coral.on == Support::Rock(rock.id);
            let here: Vec<_> = corals.iter().filter(|(coral, _)| on_it(coral)).collect();
            if here.len() < 2 || !here.iter().any(|(_, entry)| entry.form.creeps()) {
                continue;
            }
            let bases_m: Vec<DVec3> = here.iter().map(|it| it.0.at_cm * M_PER_CM).collect();
            let surface = Surface::new(solid, &bases_m);
            for (from, (coral, entry)) in here.iter().enumerate() {
                if !entry.form.creeps() {
                    continue;
                }
                let lengths_m = surface.lengths_from(from);
                for (to, (other, _)) in here.iter().enumerate().filter(|(to, _)| *to != from) {
                    let ends_m = [bases_m[from], bases_m[to]];
                    let straight_m = ends_m[0].distance(ends_m[1]);
                    let way_m = if lies_on(solid, ends_m) {
                        Some(straight_m)
                    } else {
                        lengths_m(to).map(|way_m| way_m.max(straight_m))
                    };
                    if let Some(way_m) = way_m {
                        let key = (coral.id.min(other.id), coral.id.max(other.id));
                        ways.along_m.insert(key, way_m);
                    }
                }
            }
        }
        ways
    }

    /// Length of the way between two corals on one rock, in m, if one of them
    /// creeps.
    pub(crate) fn along_m(&self, one: ItemId, other: ItemId) -> Option<f64> {
        self.along_m.get(&(one.min(other), one.max(other))).copied()
    }
}

/// Whether the straight way between two places lies on the rock's skin.
fn lies_on(rock: &RockSolid, [from_m, to_m]: [DVec3; 2]) -> bool {
    const ON_SKIN_M: f64 = 2e-3;
    const PARTS: i32 = 8;
    (0..=PARTS).all(|k| {
        let at_m = from_m.lerp(to_m, f64::from(k) / f64::from(PARTS));
        rock.signed_distance(at_m).abs() <= ON_SKIN_M
    })
}

/// Places on the skin of a rock, and steps between those that are near.
struct Surface {
    steps: UnGraph<(), f64>,
}

impl Surface {
    /// The skin in samples, after these places on it.
    fn new(rock: &RockSolid, bases_m: &[DVec3]) -> Self {
        let samples = surface_samples(rock, SPACING_M).into_iter();
        let places_m: Vec<DVec3> = (bases_m.iter().copied())
            .chain(samples.map(|sample| sample.at_m))
            .collect();
        let mut steps = UnGraph::with_capacity(places_m.len(), places_m.len() * 8);
        let reach_m = STEP_SPACINGS * SPACING_M;
        let mut near = Near::new(reach_m);
        for (idx, &to_m) in places_m.iter().enumerate() {
            steps.add_node(());
            for other in near.around(to_m) {
                let from_m = places_m[other];
                let length_m = from_m.distance(to_m);
                let off_m = || rock.signed_distance(from_m.midpoint(to_m)).abs();
                if length_m <= reach_m && off_m() <= OFF_SPACINGS * SPACING_M {
                    let ends = [other, idx].map(NodeIndex::new);
                    steps.add_edge(ends[0], ends[1], length_m);
                }
            }
            near.add(to_m, idx);
        }
        Self { steps }
    }

    /// Lengths of the ways from one place to any other, by their indices.
    fn lengths_from(&self, place: usize) -> impl Fn(usize) -> Option<f64> + use<> {
        let start = NodeIndex::new(place);
        let lengths_m = dijkstra(&self.steps, start, None, |step| *step.weight());
        move |other| lengths_m.get(&NodeIndex::new(other)).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::Catalog;
    use crate::scene::solids::rockwork;
    use crate::scene::{Layout, Mount, Outline};
    use glam::DVec2;

    /// A box of 40 × 20 × 3 cm on the ground.
    fn plate() -> Rock {
        let outline = |a: f64, low: f64, high: f64| Outline {
            points_cm: [(-a, low), (a, low), (a, high), (-a, high)]
                .map(DVec2::from)
                .to_vec(),
            curved: false,
            openings: Vec::new(),
        };
        let text = "(id: 1, name: \"plate\", at_cm: (50.0, 25.0, 10.0), turn_deg: 0.0, \
             plan: (curved: false, points_cm: [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]), \
             front: (curved: false, points_cm: [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]), rounding_cm: 0.0)";
        let mut rock: Rock = ron::from_str(text).expect("reads");
        rock.plan = outline(20.0, -10.0, 10.0);
        rock.front = outline(20.0, 0.0, 3.0);
        rock
    }

    fn coral(id: ItemId, at_cm: (f64, f64, f64), facing: DVec3) -> Coral {
        Coral {
            id,
            entry: "zoanthus".to_owned(),
            name: String::new(),
            at_cm: DVec3::from(at_cm),
            facing,
            size_cm: DVec3::splat(3.0),
            mount: Mount::Gel,
            on: Support::Rock(1),
            since: None,
            note: String::new(),
            locked: false,
        }
    }

    #[test]
    fn ways_bend_around_edges_and_never_lead_through_the_rock() {
        let layout = Layout {
            rocks: vec![plate()],
            ..Layout::default()
        };
        let solids = rockwork(&layout);
        let entry = Catalog::built_in().entry("zoanthus").expect("a mat");
        let corals = [
            coral(11, (40.0, 25.0, 13.0), DVec3::Z),
            // On the same face, 15 and 8 cm aside: 17 cm.
            coral(12, (55.0, 33.0, 13.0), DVec3::Z),
            // Under the first: over the near long edge, 10 + 3 + 10 cm.
            coral(13, (40.0, 25.0, 10.0), DVec3::NEG_Z),
        ];
        let known: Vec<(&Coral, &Entry)> = corals.iter().map(|coral| (coral, entry)).collect();
        let ways = Ways::new(layout.rocks.iter().zip(&solids.rocks), &known);
        // 3 % for ways of steps, one spacing for the samples at both ends.
        let is_near = |found: f64, known: f64| (found - known).abs() < 0.03 * known + SPACING_M;
        let flat = ways.along_m(12, 11).expect("a way");
        assert!((flat - 0.17).abs() < 1e-9, "on one face: {flat}");
        let bases_m = [&corals[0], &corals[1]].map(|coral| coral.at_cm * M_PER_CM);
        let surface = Surface::new(&solids.rocks[0], &bases_m);
        let steps = surface.lengths_from(0)(1).expect("a way of steps");
        assert!(is_near(steps, 0.17), "in steps: {steps}");
        let around = ways.along_m(11, 13).expect("a way");
        assert!(is_near(around, 0.23), "around the edge: {around}");
        assert_eq!(ways.along_m(11, 99), None, "no such coral");
    }
}

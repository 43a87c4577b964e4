//! What a drawing needs beyond a study: the reach of its jets, which corals
//! stand behind rock. Brought on from the state before, since a hand that drags
//! changes one thing at a time.

use std::collections::BTreeMap;
use std::sync::Arc;

use glam::DVec3;

use crate::flow::jet::{Reach, reach};
use crate::geometry::{Ray, RockSolid};
use crate::scene::{Coral, ItemId, Rock};
use crate::study::Study;
use crate::units::M_PER_CM;
use crate::view::View;

/// How far a rock can stand before a coral, in m.
const FAR_M: f64 = 5.0;

/// What follows from one study.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// How far the pumps' jets are felt, in the layout's order.
    pub reaches: Vec<Reach>,
    /// Corals that stand behind rock, for each view by [`View::idx`].
    pub hidden: [Vec<ItemId>; 3],
    /// The rock before each coral, in the layout's order, for each view.
    screens: [Vec<Option<ItemId>>; 3],
}

/// A study with what followed from it.
#[derive(Clone, Copy)]
pub struct Past<'a> {
    /// The study.
    pub study: &'a Study,
    /// Its facts.
    pub facts: &'a Facts,
}

impl Facts {
    /// What follows from a study; what is the same as before is taken over.
    pub fn new(study: &Study, before: Option<Past<'_>>) -> Self {
        let layout = study.layout();
        let is_kept = kept_rocks(study, before.map(|old| old.study));
        let screens = View::ALL.map(|view| {
            let old = before.map_or((&[][..], &[][..]), |old| {
                let corals = old.study.layout().corals.as_slice();
                (corals, old.facts.screens[view.idx()].as_slice())
            });
            screens_of(view, study, &is_kept, old)
        });
        let hidden = View::ALL.map(|view| {
            let corals = layout.corals.iter().zip(&screens[view.idx()]);
            corals
                .filter(|(_, screen)| screen.is_some())
                .map(|(coral, _)| coral.id)
                .collect()
        });
        let (tank, rockwork) = (&study.scene().tank, study.rockwork());
        let pumps = layout.pumps.iter();
        Self {
            reaches: pumps.map(|pump| reach(pump, tank, rockwork)).collect(),
            hidden,
            screens,
        }
    }
}

/// For each rock whether it is one of the old ones.
fn kept_rocks(study: &Study, before: Option<&Study>) -> Vec<bool> {
    let is_kept = |(rock, solid): (&Rock, &Arc<RockSolid>)| {
        let old = before.and_then(|before| before.rock_solid(rock.id));
        old.is_some_and(|old| Arc::ptr_eq(old, solid))
    };
    study.rocks().map(is_kept).collect()
}

/// For each coral a rock between it and the viewer, if there is one.
///
/// What stood before a coral in its place still does, unless it is another rock
/// now; where none did, only a new or changed rock can.
fn screens_of(
    view: View,
    study: &Study,
    is_kept: &[bool],
    (old_corals, old_screens): (&[Coral], &[Option<ItemId>]),
) -> Vec<Option<ItemId>> {
    let old = old_corals.iter().zip(old_screens);
    let old: BTreeMap<ItemId, _> = old.map(|pair| (pair.0.id, pair)).collect();
    let rocks = || study.rocks().zip(is_kept);
    let is_kept_rock = |id: ItemId| rocks().any(|((rock, _), kept)| *kept && rock.id == id);
    let screen = |coral: &Coral| {
        let ray = sight(coral, view);
        let first = |only_new: bool| {
            rocks()
                .filter(|(_, kept)| !(only_new && **kept))
                .find(|((_, solid), _)| solid.blocks(&ray, FAR_M))
                .map(|((rock, _), _)| rock.id)
        };
        match old.get(&coral.id) {
            Some((before, screen)) if *before == coral => match screen {
                Some(id) if is_kept_rock(*id) => Some(*id),
                Some(_) => first(false),
                None => first(true),
            },
            _ => first(false),
        }
    };
    study.layout().corals.iter().map(screen).collect()
}

/// The line of sight from a coral's top towards the viewer.
fn sight(coral: &Coral, view: View) -> Ray {
    const LIFT_CM: f64 = 0.7;
    let top: DVec3 = coral.at_cm + coral.facing * (coral.size_cm.z + LIFT_CM);
    Ray {
        origin_m: top * M_PER_CM,
        direction: view.towards_viewer(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Scene;

    #[test]
    fn what_is_brought_on_is_what_is_found_anew() {
        let mut scene: Scene = ron::from_str(crate::tests::HARBOR).expect("it reads");
        let mut study = Study::with_built_in(&scene, 0).expect("a layout");
        let mut facts = Facts::new(&study, None);
        let mut n_hidden = Vec::new();
        for step in 0..40_usize {
            let layout = &mut scene.layouts[0];
            let (n_rocks, n_corals) = (layout.rocks.len(), layout.corals.len());
            match step % 8 {
                0 => layout.rocks[step % n_rocks].at_cm.x += 9.0,
                1 => layout.rocks[step % n_rocks].turn_deg += 40.0,
                2 => layout.corals[step % n_corals].at_cm.y += 6.0,
                3 => layout.corals[(step + 3) % n_corals].at_cm.z -= 5.0,
                4 => layout.rocks.swap(0, n_rocks - 1),
                5 => {
                    let mut rock = layout.rocks[step % n_rocks].clone();
                    rock.id = 900 + step as ItemId;
                    rock.at_cm.y -= 12.0;
                    layout.rocks.push(rock);
                }
                6 => drop(layout.corals.pop().filter(|_| step > 30)),
                _ => drop(layout.rocks.remove(step % n_rocks)),
            }
            let next = study.after(Arc::new(scene.clone()), 0).expect("a layout");
            let past = Past {
                study: &study,
                facts: &facts,
            };
            facts = Facts::new(&next, Some(past));
            study = next;
            let fresh = Study::with_built_in(&scene, 0).expect("a layout");
            let anew = Facts::new(&fresh, None);
            assert_eq!(facts.hidden, anew.hidden, "hidden after step {step}");
            assert_eq!(facts.reaches, anew.reaches, "reaches after step {step}");
            n_hidden.push(anew.hidden.iter().map(Vec::len).sum::<usize>());
        }
        let is_varied = n_hidden.iter().any(|n| *n != n_hidden[0]);
        assert!(is_varied, "corals come out from behind rock: {n_hidden:?}");
    }
}

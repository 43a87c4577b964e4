//! The rocks of a layout as drawn: outlines, lines of height, and what a view's
//! cut goes through, made of the study's solids. Kept until a rock changes its
//! shape or turn or a level moves, and brought up to date a piece at a time, so
//! that no frame has to wait for all of it.

use std::collections::BTreeMap;
use std::sync::Arc;

use glam::Vec2;

use crate::area::Area;
use crate::geometry::RockSolid;
use crate::levels::Levels;
use crate::relief::{Relief, section};
use crate::scene::{ItemId, Rock};
use crate::study::Study;
use crate::view::View;
use crate::volume::{Detail, Sampling, ShapeKey, Volume, tank_from_rock};

/// From one line of height to the next, in cm.
const CONTOUR_CM: f64 = 2.5;
/// From one grain of a cut to the next, in nibs.
const GRAIN: f64 = 9.0;

/// What drawings of rocks are to show.
#[derive(Clone, Copy, Debug)]
pub struct RockWish {
    /// Where the views are cut.
    pub levels: Levels,
    /// Nibs a centimeter.
    pub nibs_per_cm: f64,
}

/// All rocks of a layout as drawn.
#[derive(Clone, Debug, Default)]
pub struct Rocks {
    rocks: BTreeMap<ItemId, DrawnRock>,
    n_stamps: u64,
    n_changes: u64,
    /// The last change of each view.
    changed: [u64; 3],
}

/// One rock as drawn.
#[derive(Clone, Debug)]
pub struct DrawnRock {
    key: ShapeKey,
    /// Another one whenever the shape is.
    pub stamp: u64,
    /// Its solid, sampled.
    pub volume: Arc<Volume>,
    finer: Option<Sampling>,
    seen: [Option<Seen>; 3],
    cuts: [Option<Cut>; 3],
}

/// How a rock is turned, and how finely it is sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Pose {
    turn_deg: f64,
    tilt_deg: f64,
    detail: Detail,
}

/// A rock as one view sees it.
#[derive(Clone, Debug)]
struct Seen {
    pose: Pose,
    /// Another one for each relief.
    stamp: u64,
    relief: Arc<Relief>,
    /// Lines of height and what they are counted from.
    heights: Option<(f64, Arc<Vec<Vec<Vec2>>>)>,
}

/// The part of a rock that a view's cut goes through.
#[derive(Clone, Debug)]
struct Cut {
    pose: Pose,
    depth_cm: f64,
    area: Arc<Area>,
    /// Grains on it and the scale that they were strewn for.
    grains: Option<(f64, Arc<Vec<Vec2>>)>,
}

/// What is drawn of a rock in one view; places are in cm of the view, from the
/// rock's place there.
pub(crate) struct Pieces<'a> {
    pub(crate) outline: &'a Arc<Area>,
    pub(crate) heights: Option<&'a Arc<Vec<Vec<Vec2>>>>,
    pub(crate) cut: Option<&'a Arc<Area>>,
    pub(crate) grains: Option<&'a Arc<Vec<Vec2>>>,
}

impl Rocks {
    /// All of a study at once.
    pub fn whole(study: &Study, wish: &RockWish) -> Self {
        let mut rocks = Self::default();
        rocks.complete(study, wish);
        rocks
    }

    /// Brings everything up to date, however long that takes; new shapes are
    /// sampled finely at once.
    pub fn complete(&mut self, study: &Study, wish: &RockWish) {
        let never = || false;
        for (rock, solid) in study.rocks() {
            if self.is_new(rock) {
                self.renew((rock, solid), Detail::Fine);
            }
        }
        self.draw_shapes(study, &never);
        self.cut(study, wish, &never);
    }

    /// Brings shapes and outlines up to date until it `is_late`; whether all are.
    pub fn draw_shapes(&mut self, study: &Study, is_late: &impl Fn() -> bool) -> bool {
        let layout = study.layout();
        self.rocks
            .retain(|id, _| layout.rocks.iter().any(|rock| rock.id == *id));
        for (rock, solid) in study.rocks() {
            if self.is_new(rock) {
                if is_late() {
                    return false;
                }
                self.renew((rock, solid), Detail::Coarse);
            }
            let Some(drawn) = self.rocks.get_mut(&rock.id) else {
                continue;
            };
            for view in View::ALL {
                if drawn.is_behind(rock, view) {
                    if is_late() {
                        return false;
                    }
                    self.n_changes += 1;
                    self.changed[view.idx()] = self.n_changes;
                    drawn.draw((rock, view), self.n_changes);
                }
            }
        }
        true
    }

    /// Cuts the rocks where the levels are and counts their heights, until it
    /// `is_late`; whether all is done.
    pub fn cut(&mut self, study: &Study, wish: &RockWish, is_late: &impl Fn() -> bool) -> bool {
        for (rock, _) in study.rocks() {
            let Some(drawn) = self.rocks.get_mut(&rock.id) else {
                continue;
            };
            for view in View::ALL {
                let depth_cm = wish.levels.of(view) - view.depth(rock.at_cm);
                if drawn.is_cut_elsewhere(rock, view, depth_cm) {
                    if is_late() {
                        return false;
                    }
                    self.n_changes += 1;
                    self.changed[view.idx()] = self.n_changes;
                    drawn.cut(rock, view, depth_cm);
                }
                if drawn.is_strewn_otherwise(view, wish.nibs_per_cm) {
                    if is_late() {
                        return false;
                    }
                    self.n_changes += 1;
                    self.changed[view.idx()] = self.n_changes;
                    drawn.strew(view, wish.nibs_per_cm);
                }
                // Heights from above are those in the tank. From the side there
                // is nothing to count from but the rock, and it may be dragged.
                let datum_cm = match view {
                    View::Top => rock.at_cm.z,
                    View::Side | View::End => 0.0,
                };
                if drawn.is_counted_otherwise(view, datum_cm) {
                    if is_late() {
                        return false;
                    }
                    self.n_changes += 1;
                    self.changed[view.idx()] = self.n_changes;
                    drawn.count_heights(view, datum_cm);
                }
            }
        }
        true
    }

    /// Samples the rocks finely, a layer at a time, until it `is_late`; whether
    /// all were fine already. The finer shapes are drawn the next time.
    pub fn refine(&mut self, study: &Study, is_late: &impl Fn() -> bool) -> bool {
        let mut is_done = true;
        for (rock, solid) in study.rocks() {
            while let Some(drawn) = self.rocks.get_mut(&rock.id)
                && drawn.volume.detail == Detail::Coarse
            {
                if is_late() {
                    return false;
                }
                self.n_stamps += drawn.refine(solid, self.n_stamps + 1);
                is_done = false;
            }
        }
        is_done
    }

    /// A rock as drawn.
    pub fn rock(&self, id: ItemId) -> Option<&DrawnRock> {
        self.rocks.get(&id)
    }

    /// Changes with any rock's shape (not its place or turn).
    pub fn stamp(&self) -> u64 {
        self.n_stamps
    }

    /// Changes with anything that is drawn of them in a view, but where they
    /// stand.
    pub fn changed(&self, view: View) -> u64 {
        self.changed[view.idx()]
    }

    fn is_new(&self, rock: &Rock) -> bool {
        let is_other = |old: &DrawnRock| !old.key.is_of(rock);
        self.rocks.get(&rock.id).is_none_or(is_other)
    }

    fn renew(&mut self, (rock, solid): (&Rock, &Arc<RockSolid>), detail: Detail) {
        self.n_stamps += 1;
        let fresh = DrawnRock {
            key: ShapeKey::of(rock),
            stamp: self.n_stamps,
            volume: Arc::new(Volume::new(solid, detail)),
            finer: None,
            seen: [None, None, None],
            cuts: [None, None, None],
        };
        self.rocks.insert(rock.id, fresh);
    }
}

impl DrawnRock {
    /// How it looks in a view, and a number that is another one for each look.
    pub fn seen(&self, view: View) -> Option<(&Relief, u64)> {
        let seen = self.seen[view.idx()].as_ref()?;
        Some((&seen.relief, seen.stamp))
    }

    /// Whether a point of the view lies on the rock, or within `near_cm` of it.
    pub fn covers(&self, rock: &Rock, (view, flat_cm): (View, glam::DVec2), near_cm: f64) -> bool {
        let from_rock = flat_cm - view.flat(rock.at_cm);
        self.seen(view)
            .is_some_and(|(relief, _)| relief.covers(from_rock.as_vec2(), near_cm as f32))
    }

    /// What is drawn of it in a view.
    pub(crate) fn pieces(&self, view: View) -> Option<Pieces<'_>> {
        let seen = self.seen[view.idx()].as_ref()?;
        let cut = self.cuts[view.idx()].as_ref();
        Some(Pieces {
            outline: &seen.relief.area,
            heights: seen.heights.as_ref().map(|(_, lines)| lines),
            cut: cut
                .map(|cut| &cut.area)
                .filter(|area| !area.rings.is_empty()),
            grains: cut.and_then(|cut| cut.grains.as_ref().map(|(_, grains)| grains)),
        })
    }

    fn pose(&self, rock: &Rock) -> Pose {
        Pose {
            turn_deg: rock.turn_deg,
            tilt_deg: rock.tilt_deg,
            detail: self.volume.detail,
        }
    }

    /// One layer more of the fine volume; 1 when it was the last.
    fn refine(&mut self, solid: &Arc<RockSolid>, stamp: u64) -> u64 {
        let finer = self
            .finer
            .get_or_insert_with(|| Sampling::start(solid, Detail::Fine));
        if !finer.advance() {
            return 0;
        }
        if let Some(finer) = self.finer.take() {
            self.volume = Arc::new(finer.into_volume());
            self.stamp = stamp;
        }
        1
    }

    fn is_behind(&self, rock: &Rock, view: View) -> bool {
        let pose = self.pose(rock);
        let seen = self.seen[view.idx()].as_ref();
        seen.is_none_or(|seen| seen.pose != pose)
    }

    fn draw(&mut self, (rock, view): (&Rock, View), stamp: u64) {
        let relief = Relief::new(&self.volume, tank_from_rock(rock), view);
        self.seen[view.idx()] = Some(Seen {
            pose: self.pose(rock),
            stamp,
            relief: Arc::new(relief),
            heights: None,
        });
    }

    fn is_cut_elsewhere(&self, rock: &Rock, view: View, depth_cm: f64) -> bool {
        let pose = self.pose(rock);
        let cut = self.cuts[view.idx()].as_ref();
        cut.is_none_or(|cut| cut.pose != pose || cut.depth_cm != depth_cm)
    }

    fn cut(&mut self, rock: &Rock, view: View, depth_cm: f64) {
        let turn = tank_from_rock(rock);
        self.cuts[view.idx()] = Some(Cut {
            pose: self.pose(rock),
            depth_cm,
            area: Arc::new(section(&self.volume, turn, view, depth_cm as f32)),
            grains: None,
        });
    }

    fn is_strewn_otherwise(&self, view: View, nibs_per_cm: f64) -> bool {
        let cut = self.cuts[view.idx()].as_ref();
        let is_strewn = |(scale, _): &(f64, _)| *scale == nibs_per_cm;
        cut.is_some_and(|cut| !cut.grains.as_ref().is_some_and(is_strewn))
    }

    fn strew(&mut self, view: View, nibs_per_cm: f64) {
        if let Some(cut) = &mut self.cuts[view.idx()] {
            let grains = cut.area.strewn((GRAIN / nibs_per_cm) as f32);
            cut.grains = Some((nibs_per_cm, Arc::new(grains)));
        }
    }

    fn is_counted_otherwise(&self, view: View, datum_cm: f64) -> bool {
        let seen = self.seen[view.idx()].as_ref();
        let is_counted = |(datum, _): &(f64, _)| *datum == datum_cm;
        seen.is_some_and(|seen| !seen.heights.as_ref().is_some_and(is_counted))
    }

    fn count_heights(&mut self, view: View, datum_cm: f64) {
        if let Some(seen) = &mut self.seen[view.idx()] {
            let lines = seen.relief.contours(CONTOUR_CM, datum_cm);
            seen.heights = Some((datum_cm, Arc::new(lines)));
        }
    }
}

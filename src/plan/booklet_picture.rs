//! The little picture beside a step: the tank from above, what is moved in
//! bold, and how far it stands from two panes.

use glam::{DVec2, DVec3};

use super::booklet::BookletInput;
use super::ink::{Drawing, Mark, Pen, Wash};
use super::listed::{Listed, Made};
use super::palette::{ACCENT, INK, WATER};
use super::rocks::{self, Look};
use super::view::{Frame, View};
use crate::advice::{Move, MoveKind};
use crate::draw::Levels;
use crate::scene::{ItemId, Layout, Rock, Scene, solids};
use crate::study::Study;
use crate::units::{M_PER_CM, UnitSystem};

/// Pictures of one booklet: both layouts are drawn once.
pub(super) struct Pictures<'a> {
    input: &'a BookletInput<'a>,
    frame: Frame,
    before: Drawing,
    after: Drawing,
}

impl<'a> Pictures<'a> {
    pub(super) fn new(input: &'a BookletInput<'a>, size_mm: DVec2) -> Self {
        let tank = &input.scene.tank;
        let room_mm = size_mm - 2.0;
        let mm_per_cm = (room_mm.x / tank.length_cm).min(room_mm.y / tank.width_cm);
        let high_mm = tank.width_cm * mm_per_cm;
        let frame = Frame {
            view: View::Top,
            mm_per_cm,
            corner_mm: DVec2::new(size_mm.x - 1.0 - tank.length_cm * mm_per_cm, 1.0 + high_mm),
            units: UnitSystem::Metric,
        };
        let drawn = |layout| drawn(&frame, input.scene, layout, size_mm);
        Self {
            input,
            frame,
            before: drawn(input.from),
            after: drawn(input.to),
        }
    }

    /// The picture of a step.
    pub(super) fn of(&self, step: &Move) -> Drawing {
        let (layout, base) = if is_before(step.kind) {
            (self.input.from, &self.before)
        } else {
            (self.input.to, &self.after)
        };
        let mut to = base.clone();
        to.alt = format!(
            "The tank from above, layout {}: what the step is about is framed, with arrows to the two panes named beside it.",
            layout.name
        );
        for id in &step.items {
            if let Some((low_cm, high_cm)) = extent_of(layout, *id) {
                self.mark(&mut to, low_cm, high_cm);
            }
        }
        to
    }

    /// A bold frame around a piece, and lines to the two panes that a tape
    /// reaches first.
    fn mark(&self, to: &mut Drawing, low_cm: DVec3, high_cm: DVec3) {
        let tank = &self.input.scene.tank;
        let at = |x: f64, y: f64| self.frame.on_paper(DVec2::new(x, y));
        let bold = Pen::new(0.9, ACCENT);
        let (a, b) = (at(low_cm.x, high_cm.y), at(high_cm.x, low_cm.y));
        to.rect(a - 0.7, b + 0.7, None, Some(bold));
        let middle = (low_cm + high_cm) / 2.0;
        let thin = Pen::new(0.45, ACCENT);
        let across = if low_cm.x <= tank.length_cm - high_cm.x {
            (at(low_cm.x, middle.y), at(0.0, middle.y))
        } else {
            (at(high_cm.x, middle.y), at(tank.length_cm, middle.y))
        };
        let along = if low_cm.y <= tank.width_cm - high_cm.y {
            (at(middle.x, low_cm.y), at(middle.x, 0.0))
        } else {
            (at(middle.x, high_cm.y), at(middle.x, tank.width_cm))
        };
        for (from, end) in [across, along] {
            to.arrow(from, end, 1.8, thin);
        }
    }
}

/// Whether a step is done on the layout that is there before.
pub(super) fn is_before(kind: MoveKind) -> bool {
    matches!(kind, MoveKind::TakeOff | MoveKind::Unmount | MoveKind::Lift)
}

/// Low and high corner of a thing, in cm.
pub(super) fn extent_of(layout: &Layout, id: ItemId) -> Option<(DVec3, DVec3)> {
    let rock = layout.rocks.iter().find(|rock| rock.id == id);
    if let Some(rock) = rock {
        return Some(rock_extent(rock));
    }
    let coral = layout.corals.iter().find(|coral| coral.id == id);
    if let Some(coral) = coral {
        let half = coral.size_cm.with_z(0.0) / 2.0;
        return Some((coral.at_cm - half, coral.at_cm + half));
    }
    let pump = layout.pumps.iter().find(|pump| pump.id == id);
    let lamp = layout.lamps.iter().find(|lamp| lamp.id == id);
    let at_cm = pump.map(|it| it.at_cm).or(lamp.map(|it| it.at_cm))?;
    let half = DVec3::new(2.0, 2.0, 0.0);
    Some((at_cm - half, at_cm + half))
}

fn rock_extent(rock: &Rock) -> (DVec3, DVec3) {
    let bounds = solids::rock_solid(rock).bounds();
    (bounds.min_m / M_PER_CM, bounds.max_m / M_PER_CM)
}

/// A layout from above without a word.
fn drawn(frame: &Frame, scene: &Scene, layout: &Layout, size_mm: DVec2) -> Drawing {
    let tank = &scene.tank;
    let mut to = Drawing::new(size_mm, "the tank from above");
    let at = |x: f64, y: f64| frame.on_paper(DVec2::new(x, y));
    let water = Some(Wash::full(WATER));
    to.rect(at(0.0, 0.0), at(tank.length_cm, tank.width_cm), water, None);
    // A layout of the scene, as are those that a plan draws.
    if let Ok(study) = Study::with_built_in(scene, 0) {
        let study = study.with_layout(layout.clone());
        let made = Made::new(&study, Levels::of_layout(scene, layout));
        let listed = Listed::new(frame, &made);
        let look = Look {
            with_tone: false,
            with_cut: false,
        };
        rocks::draw(&mut to, &listed, look);
        listed.lay_things(&mut to, false);
    }
    // The front glass, where the keeper stands, is the thick one.
    to.line(at(0.0, 0.0), at(tank.length_cm, 0.0), Pen::new(1.2, INK));
    // Letters would be too small for wet hands: the words stand beside it.
    to.marks.retain(|mark| matches!(mark, Mark::Shape { .. }));
    to
}

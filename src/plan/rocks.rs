//! Rocks as ink: the marks of the list, with tone where they turn from the
//! light; and the cut through them over a wash.

use glam::{DVec2, Vec2};

use super::ink::{Drawing, Pen, Wash};
use super::listed::{Listed, Made};
use super::palette::{ACCENT, INK, ROCK_SHADE};
use super::view::Frame;
use crate::draw::{Layer, Ring, Subject};
use crate::scene::{ItemId, Rock};

/// Below these shares of full light on the surface, tone is laid on.
const TONES: [f32; 3] = [0.72, 0.5, 0.28];

/// Which marks of rocks are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Look {
    /// Tone where they turn from the light.
    pub(super) with_tone: bool,
    /// What the cut goes through.
    pub(super) with_cut: bool,
}

/// Draws the rocks as they are seen, the farther ones first.
pub(super) fn draw(to: &mut Drawing, listed: &Listed<'_>, look: Look) {
    for mark in listed.marks(Layer::Rocks) {
        if look.with_cut || !matches!(mark.of, Subject::Section(_)) {
            listed.lay_mark(to, mark);
        }
        if let (Subject::Rock(id), Some(_)) = (mark.of, mark.fill)
            && look.with_tone
        {
            draw_tone(to, listed, id);
        }
    }
}

/// Lays tone on a rock where it turns from the light.
fn draw_tone(to: &mut Drawing, listed: &Listed<'_>, id: ItemId) {
    let (frame, made) = (&listed.frame, listed.made);
    let rocks = &made.study.layout().rocks;
    let Some(rock) = rocks.iter().find(|rock| rock.id == id) else {
        return;
    };
    let Some((relief, _)) = made.rocks.rock(id).and_then(|it| it.seen(frame.view)) else {
        return;
    };
    let on_paper = |ring: &Ring| ring_on_paper(frame, rock, ring);
    for tone in TONES {
        // Rings around the dark; those at the rock's edge close just outside.
        let dark = relief.darker(tone).iter().map(on_paper).collect();
        let wash = Wash {
            color: ROCK_SHADE,
            opacity: 0.14,
        };
        to.area(dark, Some(wash), None);
    }
}

fn ring_on_paper(frame: &Frame, rock: &Rock, ring: &[Vec2]) -> Vec<DVec2> {
    let at_cm = frame.view.flat(rock.at_cm);
    let place = |p: &Vec2| frame.on_paper(at_cm + p.as_dvec2());
    ring.iter().map(place).collect()
}

/// The outlines of those rocks that are wanted.
fn draw_outlines(
    to: &mut Drawing,
    (frame, made): (&Frame, &Made<'_>),
    is_wanted: impl Fn(&Rock) -> bool,
    pen: Pen,
) {
    for rock in made.study.layout().rocks.iter().filter(|it| is_wanted(it)) {
        let seen = made.rocks.rock(rock.id).and_then(|it| it.seen(frame.view));
        let Some((relief, _)) = seen else { continue };
        let rings = relief.area.rings.iter();
        let rings = rings.map(|ring| ring_on_paper(frame, rock, ring));
        to.area(rings.collect(), None, Some(pen));
    }
}

/// Rocks that are not there any more, in red dashes.
pub(super) fn draw_ghosts(
    to: &mut Drawing,
    before: (&Frame, &Made<'_>),
    is_gone: impl Fn(&Rock) -> bool,
) {
    let pen = Pen::new(0.25, ACCENT).dashed(1.6, 1.0);
    draw_outlines(to, before, is_gone, pen);
}

/// Draws what the cut goes through, and the outlines of the rocks behind it in
/// dashes: nothing else lies on the wash.
pub(super) fn draw_cut(to: &mut Drawing, listed: &Listed<'_>) {
    let behind = Pen::new(0.14, INK).dashed(0.9, 0.7);
    draw_outlines(to, (&listed.frame, listed.made), |_| true, behind);
    for mark in listed.marks(Layer::Rocks) {
        if matches!(mark.of, Subject::Section(_)) {
            listed.lay_mark(to, mark);
        }
    }
}

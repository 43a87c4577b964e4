//! The glass box as ink: panes, bed, water line, rulers and dimensions.

use glam::DVec2;

use super::ink::{Drawing, Face, Hand, Pen, Wash};
use super::listed::NIB_MM;
use super::palette::{ACCENT, ASIDE, INK, PAPER, WATER};
use super::view::{Frame, View};
use crate::draw::{self, Tick};
use crate::scene::Tank;
use crate::units::UnitSystem;

/// Water behind everything else, where no sand is.
pub(super) fn draw_back(to: &mut Drawing, frame: &Frame, tank: &Tank) {
    let size = super::wash::water_size_cm(frame.view, tank);
    let (low, high) = (frame.on_paper(DVec2::ZERO), frame.on_paper(size));
    to.rect(low, high, Some(Wash::full(WATER)), None);
}

/// The ticks of a view's rulers.
pub(super) fn ticks(frame: &Frame, tank: &Tank) -> Vec<Tick> {
    let size = frame.view.size_cm(tank).truncate();
    let nibs_per_cm = frame.mm_per_cm / NIB_MM;
    draw::ticks([DVec2::ZERO, size], nibs_per_cm, frame.units)
}

/// Rulers below and left of a view.
pub(super) fn draw_rulers(to: &mut Drawing, frame: &Frame, tank: &Tank) {
    let hand = Hand::new(Face::Regular, 2.5, ASIDE);
    let pen = Pen::new(0.18, ASIDE);
    for tick in ticks(frame, tank) {
        let long_mm = draw::TICKS[usize::from(tick.text.is_none())] * NIB_MM;
        let (at, out, hand) = if tick.axis == 0 {
            let at = frame.on_paper(DVec2::new(tick.at_cm, 0.0));
            (at, DVec2::Y, hand.centered())
        } else {
            let at = frame.on_paper(DVec2::new(0.0, tick.at_cm));
            (at, DVec2::NEG_X, hand.ending())
        };
        to.line(at, at + out * long_mm, pen);
        if let Some(number) = tick.text {
            let beside = if tick.axis == 0 {
                DVec2::new(0.0, 4.0)
            } else {
                DVec2::new(-1.8, 0.9)
            };
            to.text(at + beside, number, hand);
        }
    }
}

/// A dimension between two places of a view (in cm), `off_mm` beside it: to
/// the right of an upright one, above a level one.
pub(super) fn draw_dimension(
    to: &mut Drawing,
    frame: &Frame,
    (from_cm, to_cm): (DVec2, DVec2),
    off_mm: f64,
    text: &str,
) {
    let (a, b) = (frame.on_paper(from_cm), frame.on_paper(to_cm));
    let is_upright = (a.x - b.x).abs() < (a.y - b.y).abs();
    let off = if is_upright {
        DVec2::new(off_mm, 0.0)
    } else {
        DVec2::new(0.0, -off_mm)
    };
    let (c, d) = (a + off, b + off);
    let thin = Pen::new(0.15, ASIDE);
    for (from, end) in [(a, c), (b, d)] {
        let along = off.normalize_or_zero();
        to.line(from + along, end + along, thin);
    }
    let middle = (c + d) / 2.0;
    if c.distance(d) > 6.0 {
        to.arrow(middle, c, 1.6, thin);
        to.arrow(middle, d, 1.6, thin);
    } else {
        to.line(c, d, thin);
    }
    let hand = Hand::new(Face::Regular, 2.7, INK).centered();
    let wide = super::face::width(text, Face::Regular, 2.7) / 2.0 + 0.5;
    if is_upright {
        let half = DVec2::new(1.3, wide);
        to.rect(middle - half, middle + half, Some(Wash::full(PAPER)), None);
        let turned = Hand {
            turn_deg: 90.0,
            ..hand
        };
        to.text(middle + DVec2::new(0.9, 0.0), text, turned);
    } else {
        let half = DVec2::new(wide, 1.3);
        to.rect(middle - half, middle + half, Some(Wash::full(PAPER)), None);
        to.text(middle + DVec2::new(0.0, 0.9), text, hand);
    }
}

/// The plane of another view's cut as a dashed line, its level at the end.
pub(super) fn draw_level(to: &mut Drawing, frame: &Frame, tank: &Tank, cut: View, level_cm: f64) {
    let size = frame.view.size_cm(tank).truncate();
    let pen = Pen::new(0.22, ACCENT).dashed(2.2, 1.2);
    let hand = Hand::new(Face::Italic, 2.5, ACCENT);
    let word = cut.word();
    let is_level = match (frame.view, cut) {
        (View::Top, View::Side) | (View::Side | View::End, View::Top) => true,
        (View::Top | View::Side, View::End) | (View::End, View::Side) => false,
        _ => return,
    };
    if is_level {
        let a = frame.on_paper(DVec2::new(0.0, level_cm)) - DVec2::new(1.5, 0.0);
        let b = frame.on_paper(DVec2::new(size.x, level_cm)) + DVec2::new(1.5, 0.0);
        to.line(a, b, pen);
        to.text(b + DVec2::new(0.6, -0.1), word, hand);
        to.text(b + DVec2::new(0.6, 2.6), "cut", hand);
    } else {
        let a = frame.on_paper(DVec2::new(level_cm, 0.0)) + DVec2::new(0.0, 1.5);
        let b = frame.on_paper(DVec2::new(level_cm, size.y)) - DVec2::new(0.0, 1.5);
        to.line(a, b, pen);
        let above = b - DVec2::new(0.0, 0.8);
        to.text(above, format!("{word} cut"), hand.centered());
    }
}

/// A scale bar with its length in words.
pub(super) fn draw_scale_bar(to: &mut Drawing, at_mm: DVec2, (scale, units): (f64, UnitSystem)) {
    let mm_per_cm = 10.0 / scale;
    let bar = draw::scale_bar(mm_per_cm / NIB_MM, units);
    let long_mm = bar.length_cm * mm_per_cm;
    let part = DVec2::new(long_mm / 4.0, 0.0);
    for k in 0..4 {
        let a = at_mm + part * f64::from(k);
        let fill = (k % 2 == 0).then_some(Wash::full(INK));
        to.rect(
            a,
            a + part + DVec2::new(0.0, 1.2),
            fill,
            Some(Pen::new(0.2, INK)),
        );
    }
    let hand = Hand::new(Face::Regular, 2.7, INK);
    let text = format!("{} at 1:{scale}", bar.text);
    to.text(at_mm + DVec2::new(long_mm + 1.8, 1.4), text, hand);
}

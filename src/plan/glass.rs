//! The glass box as ink: panes, bed, water line, rulers and dimensions.

use glam::DVec2;

use super::ink::{Drawing, Face, Hand, Pen, Wash};
use super::palette::{ACCENT, ASIDE, INK, PAPER, SAND, WATER};
use super::view::{Frame, View};
use crate::scene::Tank;
use crate::units::{Measure, UnitSystem};

/// Bed and water behind everything else.
pub(super) fn draw_back(to: &mut Drawing, frame: &Frame, tank: &Tank) {
    let size = frame.view.size_cm(tank).truncate();
    let at = |x: f64, y: f64| frame.on_paper(DVec2::new(x, y));
    match frame.view {
        View::Top => {
            let bed = if tank.sand.depth_cm > 0.0 {
                SAND
            } else {
                WATER
            };
            to.rect(
                at(0.0, 0.0),
                at(size.x, size.y),
                Some(Wash::full(bed)),
                None,
            );
            if tank.sand.depth_cm > 0.0 {
                stipple(to, frame, size);
            }
        }
        View::Side | View::End => {
            let water = at(size.x, tank.water_cm);
            to.rect(at(0.0, 0.0), water, Some(Wash::full(WATER)), None);
        }
    }
}

/// The bed in front of what is dug into it, in views from the side.
pub(super) fn draw_bed(to: &mut Drawing, frame: &Frame, tank: &Tank) {
    if frame.view == View::Top || tank.sand.depth_cm <= 0.0 {
        return;
    }
    let size = DVec2::new(frame.view.size_cm(tank).x, tank.sand.depth_cm);
    let (a, b) = (frame.on_paper(DVec2::ZERO), frame.on_paper(size));
    let bed = Wash {
        color: SAND,
        opacity: 0.86,
    };
    to.rect(a, b, Some(bed), None);
    stipple(to, frame, size);
}

/// Grains at even but not regular places.
fn stipple(to: &mut Drawing, frame: &Frame, size_cm: DVec2) {
    const APART_MM: f64 = 2.3;
    const GRAINS_MAX: usize = 4_000;
    let n = (size_cm * frame.mm_per_cm / APART_MM)
        .ceil()
        .max(DVec2::ONE);
    let columns = n.x as usize;
    let count = ((n.x * n.y) as usize).min(GRAINS_MAX);
    let mut strokes = Vec::with_capacity(count);
    for k in 0..count {
        let cell = DVec2::new((k % columns) as f64, (k / columns) as f64);
        let share = (cell + 0.1 + 0.8 * DVec2::new(chance(2 * k), chance(2 * k + 1))) / n;
        let at = frame.on_paper(share * size_cm);
        strokes.push(super::ink::Stroke {
            points_mm: vec![at, at + DVec2::new(0.12, 0.04)],
            is_closed: false,
        });
    }
    to.shape(strokes, None, Some(Pen::new(0.2, ASIDE)));
}

/// A number from 0 to 1 that looks drawn by lot and is always the same.
///
/// **Source** the finalizer of `SplitMix64`, Steele, Lea & Flood 2014. MEMORY.
fn chance(k: usize) -> f64 {
    let mut bits = (k as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    (bits >> 40) as f64 / (1_u64 << 24) as f64
}

/// Ticks every 10 cm or 5 in (fewer on small scales) below and left of a view.
pub(super) fn draw_rulers(to: &mut Drawing, frame: &Frame, tank: &Tank) {
    let size = frame.view.size_cm(tank).truncate();
    let hand = Hand::new(Face::Regular, 2.5, ASIDE);
    // In the units of what is written.
    let cm = 1.0 / Measure::Length.shown(frame.units).factor;
    let step = ruler_step(frame.mm_per_cm * cm);
    let pen = Pen::new(0.18, ASIDE);
    let mut x = 0.0;
    while x * cm <= size.x + 1e-6 {
        let at = frame.on_paper(DVec2::new(x * cm, 0.0));
        to.line(at, at + DVec2::new(0.0, 1.2), pen);
        to.text(at + DVec2::new(0.0, 4.0), format!("{x}"), hand.centered());
        x += step;
    }
    let mut y = 0.0;
    while y * cm <= size.y + 1e-6 {
        let at = frame.on_paper(DVec2::new(0.0, y * cm));
        to.line(at, at - DVec2::new(1.2, 0.0), pen);
        to.text(at + DVec2::new(-1.8, 0.9), format!("{y}"), hand.ending());
        y += step;
    }
}

/// Units between two ticks, if one takes so many mm of paper.
fn ruler_step(mm_per_unit: f64) -> f64 {
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
    let wide = |step: &&f64| **step * mm_per_unit >= 8.0;
    steps.iter().find(wide).copied().unwrap_or(100.0)
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
    let shown = Measure::Length.shown(units);
    let mm = 10.0 / scale / shown.factor;
    let lengths = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
    let fits = |length: &&f64| **length * mm >= 14.0;
    let long = lengths.iter().find(fits).copied().unwrap_or(100.0);
    let long_mm = long * mm;
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
    let text = format!("{long} {} at 1:{scale}", shown.unit);
    to.text(at_mm + DVec2::new(long_mm + 1.8, 1.4), text, hand);
}

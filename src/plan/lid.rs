//! The top view to lay on the tank's lid: at a stated scale, or in tiles at
//! full size.

use glam::DVec2;

use super::ink::{Drawing, Face, Hand, Mark, Pen, Wash};
use super::labels::Labels;
use super::listed::{Listed, Made, NIB_MM};
use super::pages::EDGE_MM;
use super::palette::{ACCENT, ASIDE, INK, PAPER, RULE};
use super::rocks::{self, Look};
use super::view::{Frame, View, scale_for};
use super::{PlanInput, coral_name, glass};
use crate::draw::{Layer, NUMBERS_APART, Spot, Subject, round_cm};
use crate::scene::Coral;
use crate::units::{Measure, UnitSystem};

/// Length to measure, in mm.
const TEST_MM: f64 = 100.0;
const MM_PER_IN: f64 = 25.4;
/// Paper millimeters a centimeter of the tank at full size.
const FULL_SIZE: f64 = 10.0;
/// How far tiles overlap, in mm.
const OVERLAP_MM: f64 = 10.0;
/// Most tiles; larger tanks get the scaled sheet only.
const TILES_MAX: usize = 80;

/// The lid at the largest usual scale that fits.
pub(super) fn scaled(input: &PlanInput<'_>, made: &Made<'_>, room_mm: DVec2) -> Drawing {
    let tank = &input.advice.scene.tank;
    let size_cm = DVec2::new(tank.length_cm, tank.width_cm);
    let head_mm = 24.0;
    let scale = scale_for(size_cm, room_mm - DVec2::new(18.0, head_mm + 12.0));
    let mm_per_cm = 10.0 / scale;
    let frame = Frame {
        view: View::Top,
        mm_per_cm,
        corner_mm: DVec2::new(9.0, head_mm + tank.width_cm * mm_per_cm),
        units: input.units,
    };
    let mut to = Drawing::new(room_mm, "the lid from above");
    let name = &input.advice.layout.name;
    let long = |cm: f64| Measure::Length.text(cm, input.units);
    let words = if scale == 1.0 {
        format!("To be built: “{name}”. At full size: lay it on the lid, front glass toward you.")
    } else {
        format!(
            "To be built: “{name}”. At 1:{scale}: what is {} here is {} in the tank. Lines every {}.",
            long(1.0),
            long(scale),
            long(grid_cm(&frame))
        )
    };
    to.text(
        DVec2::new(0.0, 7.0),
        words,
        Hand::new(Face::Regular, 3.6, INK),
    );
    draw_test(&mut to, DVec2::new(0.0, 13.0), input.units);
    draw_plan(&mut to, &frame, (input, made));
    glass::draw_rulers(&mut to, &frame, tank);
    to
}

/// A line that must measure what it says once printed.
fn draw_test(to: &mut Drawing, at_mm: DVec2, units: UnitSystem) {
    let (long_mm, long) = match units {
        UnitSystem::Metric => (TEST_MM, "100 mm"),
        UnitSystem::Us => (4.0 * MM_PER_IN, "4 in"),
    };
    let end = at_mm + DVec2::new(long_mm, 0.0);
    let pen = Pen::new(0.3, INK);
    to.line(at_mm, end, pen);
    for place in [at_mm, end] {
        to.line(
            place - DVec2::new(0.0, 1.5),
            place + DVec2::new(0.0, 1.5),
            pen,
        );
    }
    let words = format!(
        "Measure this line first: it is {long} long, or the sheet was not printed at “actual size, 100 %”."
    );
    let hand = Hand::new(Face::Italic, 3.1, ASIDE);
    to.text(end + DVec2::new(3.0, 1.0), words, hand);
}

/// From one line of the grid to the next, in cm: where the rulers have their
/// numbers, or as far apart as a hand is wide.
fn grid_cm(frame: &Frame) -> f64 {
    /// A hand's width, in nibs.
    const HAND: f64 = 200.0;
    let least = if frame.mm_per_cm < FULL_SIZE {
        NUMBERS_APART
    } else {
        HAND
    };
    round_cm(least, frame.mm_per_cm / NIB_MM, frame.units)
}

/// Rocks, corals and pumps from above over a grid.
fn draw_plan(to: &mut Drawing, frame: &Frame, (input, made): (&PlanInput<'_>, &Made<'_>)) {
    let tank = &input.advice.scene.tank;
    let size = View::Top.size_cm(tank).truncate();
    let at = |x: f64, y: f64| frame.on_paper(DVec2::new(x, y));
    let thin = Pen::new(0.12, RULE);
    let grid_cm = grid_cm(frame);
    for k in 1..(size.x / grid_cm).ceil() as usize {
        let x = k as f64 * grid_cm;
        to.line(at(x, 0.0), at(x, size.y), thin);
    }
    for k in 1..(size.y / grid_cm).ceil() as usize {
        let y = k as f64 * grid_cm;
        to.line(at(0.0, y), at(size.x, y), thin);
    }
    // At full size tone would only waste ink.
    let with_tone = frame.mm_per_cm < 5.0;
    let listed = Listed::new(frame, made);
    let look = Look {
        with_tone,
        with_cut: false,
    };
    rocks::draw(to, &listed, look);
    let is_wanted = |of: Subject| !matches!(of, Subject::Lamp(_));
    let layers = [Layer::Glass, Layer::Corals, Layer::Fixed, Layer::Gear];
    listed.lay(to, &layers, is_wanted);
    if frame.mm_per_cm >= FULL_SIZE {
        listed.draw_outlets(to);
    }
    let mut labels = Labels::new(true);
    let name_of = |coral: &Coral| coral_name(input.advice.catalog, coral);
    listed.label(&mut labels, &name_of, false);
    listed.label_rocks(&mut labels);
    let panel = Spot {
        low: at(0.0, size.y) + 0.4,
        high: at(size.x, 0.0) - 0.4,
    };
    labels.draw(to, panel);
    let front = at(size.x / 2.0, 0.0) - DVec2::new(0.0, 1.5);
    let hand = Hand::new(Face::Italic, 3.0, ASIDE).centered();
    to.text(front, "front glass", hand);
}

/// Whole pages at full size that overlap by a centimeter.
pub(super) fn tiles(input: &PlanInput<'_>, made: &Made<'_>) -> Vec<Drawing> {
    let tank = &input.advice.scene.tank;
    let page = input.paper.size_mm();
    let room = page - 2.0 * EDGE_MM;
    // A little more than the tank, so that its edge is on a tile.
    let border_mm = 5.0;
    let size_mm = DVec2::new(tank.length_cm, tank.width_cm) * 10.0 + 2.0 * border_mm;
    let step = room - OVERLAP_MM;
    let n = ((size_mm - OVERLAP_MM) / step).ceil().max(DVec2::ONE);
    let (columns, rows) = (n.x as usize, n.y as usize);
    if columns * rows > TILES_MAX {
        return Vec::new();
    }
    let frame = Frame {
        view: View::Top,
        mm_per_cm: 10.0,
        corner_mm: DVec2::new(border_mm, border_mm + tank.width_cm * 10.0),
        units: input.units,
    };
    let mut whole = Drawing::new(size_mm, "the lid at full size");
    draw_plan(&mut whole, &frame, (input, made));
    let mut pages = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let corner = DVec2::new(column as f64, row as f64) * step;
            let mut tile = part_of(&whole, corner, page);
            let name = format!(
                "row {} of {rows}, column {} of {columns}",
                row + 1,
                column + 1
            );
            let beside = (column > 0, row > 0);
            finish_tile(&mut tile, (&name, input.units), beside);
            pages.push(tile);
        }
    }
    pages
}

/// The part of a drawing whose upper left corner comes to lie at a page's edge.
fn part_of(whole: &Drawing, corner_mm: DVec2, page_mm: DVec2) -> Drawing {
    let room = page_mm - 2.0 * EDGE_MM;
    let mut part = Drawing::new(page_mm, "tile at full size");
    "A part of the tank from above at full size, to lay on the lid.".clone_into(&mut part.alt);
    let (low, high) = (corner_mm, corner_mm + room);
    let touches = |mark: &&Mark| {
        let (a, b) = match mark {
            Mark::Shape { strokes, .. } => extent(strokes.iter().flat_map(|s| &s.points_mm)),
            // A name may be as long as a hand.
            Mark::Text { at_mm, .. } => (*at_mm - 60.0, *at_mm + 60.0),
        };
        a.cmple(high).all() && b.cmpge(low).all()
    };
    let mut kept = Drawing::new(whole.size_mm, "");
    kept.marks = whole.marks.iter().filter(touches).cloned().collect();
    part.lay(kept, DVec2::splat(EDGE_MM) - corner_mm);
    part
}

fn extent<'a>(points: impl Iterator<Item = &'a DVec2>) -> (DVec2, DVec2) {
    points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| {
        (low.min(*p), high.max(*p))
    })
}

/// Clears the edge of a tile and puts marks and words there.
fn finish_tile(
    to: &mut Drawing,
    (name, units): (&str, UnitSystem),
    (has_left, has_upper): (bool, bool),
) {
    let page = to.size_mm;
    let (low, high) = (DVec2::splat(EDGE_MM), page - EDGE_MM);
    let white = Some(Wash::full(PAPER));
    to.rect(DVec2::ZERO, DVec2::new(page.x, low.y), white, None);
    to.rect(DVec2::new(0.0, high.y), page, white, None);
    to.rect(DVec2::ZERO, DVec2::new(low.x, page.y), white, None);
    to.rect(DVec2::new(high.x, 0.0), page, white, None);
    to.rect(low, high, None, Some(Pen::new(0.15, RULE)));
    let pen = Pen::new(0.2, ACCENT).dashed(2.0, 2.0);
    if has_left {
        let x = low.x + OVERLAP_MM;
        to.line(DVec2::new(x, low.y), DVec2::new(x, high.y), pen);
    }
    if has_upper {
        let y = low.y + OVERLAP_MM;
        to.line(DVec2::new(low.x, y), DVec2::new(high.x, y), pen);
    }
    let hand = Hand::new(Face::Regular, 3.1, INK);
    let words = if has_left || has_upper {
        format!("At full size, {name}. Lay the dashed lines on the edge of the tile beside it.")
    } else {
        format!("At full size, {name}. Lay it on the lid, front glass toward you.")
    };
    to.text(DVec2::new(low.x, low.y - 4.0), words, hand);
    draw_test(to, DVec2::new(low.x, page.y - 5.5), units);
}

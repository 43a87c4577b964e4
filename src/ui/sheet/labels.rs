//! The number that matters of the worst findings, on their spots: a few words
//! with a line to the place, small rings for the rest.

use egui::{Align2, Painter, Pos2, Rect, Stroke, StrokeKind, Vec2, vec2};
use glam::DVec3;

use crate::advice::{Finding, Kind};
use crate::scene::Pump;
use crate::ui::paint::gear::Reach;
use crate::ui::paint::{gear, label};
use crate::ui::sheet::outline;
use crate::ui::sheet::{Frame, SheetContext, View, Wash, shown_readings, washes, words};
use crate::ui::theme::Theme;

/// Findings that have words in a view at most; the rest have rings.
const WORDS_MAX: usize = 3;
/// Rings in a view at most.
const RINGS_MAX: usize = 12;
/// How far beside the cut a finding is still shown, in cm.
const NEAR_CUT_CM: f64 = 6.0;
/// Spots closer than this share one label, in points.
const SAME_SPOT: f32 = 24.0;
/// A pointer this close to a ring brings its words, in points.
const POINTED_AT: f32 = 11.0;

/// A finding's place on the screen and its words.
struct Spot {
    pos: Pos2,
    text: String,
    /// Findings at nearly the same place, itself not counted.
    n_more: usize,
}

/// Labels the findings that belong to the wash: dead water with the flow wash,
/// shade with the light wash, both without a wash. One that is pointed at or
/// was flown to always has its words.
pub(super) fn paint(
    painter: &Painter,
    frame: &Frame,
    wash: Wash,
    context: &SheetContext<'_>,
    ((pointer, flown_to), mut words): ((Option<Pos2>, Option<Pos2>), Vec<Rect>),
) {
    let theme = context.theme;
    let spots = spots(frame, wash, context);
    let is_called = |spot: &Spot| {
        let near = |at: Option<Pos2>, reach: f32| at.is_some_and(|p| p.distance(spot.pos) < reach);
        near(pointer, POINTED_AT) || near(flown_to, POINTED_AT)
    };
    let mut things = things(frame, context);
    things.extend(
        spots
            .iter()
            .map(|spot| Rect::from_center_size(spot.pos, Vec2::splat(7.0))),
    );
    let mut plates = Vec::new();
    for (k, spot) in spots.iter().enumerate() {
        let mut plate = None;
        if k < WORDS_MAX || is_called(spot) {
            let text = match spot.n_more {
                0 => spot.text.clone(),
                n => words::and_more(&spot.text, n),
            };
            let about = (spot.pos, text, is_called(spot));
            plate = Plate::new(painter, frame, about, (&things, &words));
        }
        if let Some(plate) = plate {
            words.push(plate.rect);
            plates.push(plate);
        } else {
            let stroke = Stroke::new(1.2, theme.ink);
            painter.circle(spot.pos, 3.2, theme.sheet, stroke);
        }
    }
    // No line runs over words.
    for plate in &plates {
        plate.point(painter, theme);
    }
    for plate in &plates {
        plate.write(painter, theme);
    }
}

/// A cross at each of the keeper's readings with what was measured there and
/// what the estimate says.
pub(super) fn readings(painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
    let (desk, theme) = (context.desk, context.theme);
    for (idx, at_cm) in shown_readings(desk) {
        gear::reading(painter, frame, at_cm, theme);
        let Some(reading) = desk.scene().readings.get(idx) else {
            continue;
        };
        let computed = desk.results().readings.of(idx).and_then(|it| it.computed);
        let text = words::reading(reading, computed, desk.settings().units);
        let at = frame.pos(at_cm) + vec2(8.0, -9.0);
        let inks = [theme.ink, theme.sheet.gamma_multiply(0.86)];
        label::rimmed(painter, at, Align2::LEFT_CENTER, &text, inks);
    }
}

fn spots(frame: &Frame, wash: Wash, context: &SheetContext<'_>) -> Vec<Spot> {
    let desk = context.desk;
    let units = desk.settings().units;
    let cut_cm = frame.view.depth(washes::cut_at_cm(desk));
    let fits_wash = |kind: &Kind| match wash {
        Wash::Flow => matches!(kind, Kind::DeadSpot { .. }),
        Wash::Light => matches!(kind, Kind::Shade { .. }),
        Wash::None => true,
        Wash::Fit | Wash::FlowChange | Wash::LightChange | Wash::FitChange => false,
    };
    // Upright views show a slice of the tank: what is far from it is not there.
    let is_near = |finding: &Finding| {
        let off_cm = (frame.view.depth(finding.at_m) * 100.0 - cut_cm).abs();
        let half_cm = frame.view.depth(finding.half_size_m) * 100.0;
        frame.view == View::Top || off_cm < half_cm + NEAR_CUT_CM
    };
    let mut spots: Vec<Spot> = Vec::new();
    for finding in desk.results().findings.iter() {
        if !fits_wash(&finding.kind) || !is_near(finding) {
            continue;
        }
        let pos = frame.pos(finding.at_m * 100.0);
        let Some(text) = words::finding(finding, units).filter(|_| frame.rect.contains(pos)) else {
            continue;
        };
        // Worst first: the one that was there gives the words.
        if let Some(near) = spots.iter_mut().find(|s| s.pos.distance(pos) < SAME_SPOT) {
            near.n_more += 1;
        } else if spots.len() < RINGS_MAX {
            let n_more = 0;
            spots.push(Spot { pos, text, n_more });
        }
    }
    spots
}

/// What words should not cover if there is room elsewhere: pumps and corals.
fn things(frame: &Frame, context: &SheetContext<'_>) -> Vec<Rect> {
    let layout = context.desk.layout();
    let around = |at_cm, size: f32| Rect::from_center_size(frame.pos(at_cm), Vec2::splat(size));
    let pumps = layout.pumps.iter().map(|pump| around(pump.at_cm, 18.0));
    let corals = layout.corals.iter().map(|coral| {
        let size = frame.points(coral.size_cm.max_element());
        around(coral.at_cm, size.clamp(8.0, 30.0))
    });
    let mut all: Vec<Rect> = pumps.chain(corals).collect();
    // Handles of the selected rock are to be seen and taken hold of.
    if let [id] = context.desk.selection()
        && let Some(rock) = layout.rocks.iter().find(|rock| rock.id == *id)
    {
        let handles = outline::handles(rock, frame).into_iter();
        all.extend(handles.map(|(_, at)| Rect::from_center_size(at, Vec2::splat(9.0))));
    }
    all
}

/// Words on a small piece of paper beside their spot.
struct Plate {
    at: Pos2,
    rect: Rect,
    text: String,
}

impl Plate {
    /// Finds the place where they cover least.
    fn new(
        painter: &Painter,
        frame: &Frame,
        (at, text, is_called): (Pos2, String, bool),
        (things, words): (&[Rect], &[Rect]),
    ) -> Option<Self> {
        let galley = painter.layout_no_wrap(text.clone(), label::font(), egui::Color32::BLACK);
        let size = galley.size() + vec2(12.0, 5.0);
        let room = frame.rect.shrink(3.0);
        let clear = least_covering(at, size, room, (things, words));
        // Words that are called for lie over others rather than not at all.
        let anyhow = || least_covering(at, size, room, (words, &[]));
        let rect = clear.or_else(|| anyhow().filter(|_| is_called))?;
        Some(Self { at, rect, text })
    }

    /// Draws the spot and the line to it.
    fn point(&self, painter: &Painter, theme: &Theme) {
        let end = self.rect.clamp(self.at);
        if end.distance(self.at) > 3.0 {
            let rim = Stroke::new(3.0, theme.sheet.gamma_multiply(0.7));
            painter.line_segment([self.at, end], rim);
            painter.line_segment([self.at, end], Stroke::new(1.0, theme.ink));
        }
        painter.circle(self.at, 2.6, theme.ink, Stroke::new(1.0, theme.sheet));
    }

    /// Draws the words.
    fn write(&self, painter: &Painter, theme: &Theme) {
        let paper = theme.sheet.gamma_multiply(0.94);
        let rim = Stroke::new(0.8, theme.ink);
        painter.rect(self.rect, 2.0, paper, rim, StrokeKind::Inside);
        let middle = self.rect.center();
        let text = self.text.clone();
        painter.text(
            middle,
            Align2::CENTER_CENTER,
            text,
            label::font(),
            theme.ink,
        );
    }
}

/// Words at the tips of the arrows of pumps, as far as they have room: how
/// fast the water is there. Gives the places that they take.
pub(super) fn reaches(
    painter: &Painter,
    frame: &Frame,
    pumps: &[(&Pump, &Reach, bool)],
    context: &SheetContext<'_>,
) -> Vec<Rect> {
    let theme = context.theme;
    let units = context.desk.settings().units;
    let ring = |at_cm| Rect::from_center_size(frame.pos(at_cm), Vec2::splat(2.0 * gear::RING));
    let mut things: Vec<Rect> = pumps.iter().map(|(pump, ..)| ring(pump.at_cm)).collect();
    things.push(level_strip(frame, washes::cut_at_cm(context.desk)));
    let mut taken: Vec<Rect> = Vec::new();
    for (pump, reach, is_lit) in pumps {
        let (from, tip) = (frame.pos(pump.at_cm), frame.pos(reach.tip_cm));
        let is_told = frame.view != View::End || *is_lit;
        if !is_told || from.distance(tip) <= gear::ARROW_FROM || !frame.rect.contains(tip) {
            continue;
        }
        let text = words::reach(reach.speed_cm_s, reach.distance_cm, units);
        let galley = painter.layout_no_wrap(text, label::font(), theme.accent);
        let size = galley.size() + vec2(6.0, 0.0);
        let room = frame.rect.shrink(2.0);
        let Some(rect) = beside_tip((from, tip), size, room, (&things, &taken)) else {
            continue;
        };
        painter.rect_filled(rect, 2.0, theme.sheet.gamma_multiply(0.72));
        painter.galley(rect.min + vec2(3.0, 0.0), galley, theme.accent);
        taken.push(rect);
    }
    taken
}

/// The dashed line of a level that lies across the view, a few points thick.
fn level_strip(frame: &Frame, cut_at_cm: DVec3) -> Rect {
    let y = frame.pos_flat(frame.view.flat(cut_at_cm)).y;
    Rect::from_x_y_ranges(frame.rect.x_range(), y - 2.0..=y + 2.0)
}

/// A place for words above or below the tip of an arrow, rather ahead of it
/// than beside it, within the room and clear of other words; best where it
/// covers no pump.
fn beside_tip(
    (from, tip): (Pos2, Pos2),
    size: Vec2,
    room: Rect,
    (things, words): (&[Rect], &[Rect]),
) -> Option<Rect> {
    const AWAY: f32 = 9.0;
    let ahead = if tip.x >= from.x { 1.0 } else { -1.0 };
    let sides = [ahead, -ahead].map(|side| side * (size.x / 2.0 + 5.0));
    let places = [-1.0, 1.0].into_iter().flat_map(|up| {
        let y = up * (size.y / 2.0 + AWAY);
        sides.map(|x| tip + vec2(x, y))
    });
    let inside = |middle: Pos2| {
        let rect = Rect::from_center_size(middle, size);
        // Pushed back into the view from its sides.
        let dx = (room.left() - rect.left()).max(0.0) - (rect.right() - room.right()).max(0.0);
        rect.translate(vec2(dx, 0.0))
    };
    let covered = |rect: &Rect| covered_area(*rect, things);
    places
        .map(inside)
        .filter(|rect| room.contains_rect(*rect))
        .filter(|rect| !words.iter().any(|other| other.intersects(*rect)))
        .min_by(|a, b| covered(a).total_cmp(&covered(b)))
}

/// How much of some things a plate would cover, in square points.
fn covered_area(rect: Rect, things: &[Rect]) -> f32 {
    let areas = things.iter().map(|other| {
        let both = other.expand(2.0).intersect(rect);
        if both.is_positive() { both.area() } else { 0.0 }
    });
    areas.sum()
}

/// The place for a plate near `at` that covers no other words and the least of
/// the things there.
fn least_covering(
    at: Pos2,
    size: Vec2,
    room: Rect,
    (things, words): (&[Rect], &[Rect]),
) -> Option<Rect> {
    const SIDES: [Vec2; 8] = [
        vec2(0.0, -1.0),
        vec2(0.0, 1.0),
        vec2(1.0, -1.0),
        vec2(-1.0, -1.0),
        vec2(1.0, 1.0),
        vec2(-1.0, 1.0),
        vec2(1.0, 0.0),
        vec2(-1.0, 0.0),
    ];
    let candidates = [9.0_f32, 24.0, 44.0, 70.0].into_iter().flat_map(|away| {
        SIDES.into_iter().map(move |side| {
            let reach = size / 2.0 + Vec2::splat(away);
            (away, Rect::from_center_size(at + side * reach, size))
        })
    });
    // A little overlap is worse than the longest line.
    let cost = |(away, rect): &(f32, Rect)| 10.0 * covered_area(*rect, things) + away;
    candidates
        .filter(|(_, rect)| room.contains_rect(*rect))
        .filter(|(_, rect)| !words.iter().any(|other| other.intersects(*rect)))
        .min_by(|a, b| cost(a).total_cmp(&cost(b)))
        .map(|(_, rect)| rect)
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::pos2;

    #[test]
    fn plates_of_neighbors_do_not_cover_each_other() {
        let room = Rect::from_min_size(pos2(0.0, 0.0), vec2(480.0, 240.0));
        let size = vec2(110.0, 20.0);
        let mut taken = Vec::new();
        // As many as have words, and one that is pointed at.
        for k in 0..=WORDS_MAX as u8 {
            let at = pos2(200.0 + 14.0 * f32::from(k), 120.0 + 9.0 * f32::from(k % 3));
            let rect = least_covering(at, size, room, (&[], &taken)).expect("there is room");
            let is_clear = taken.iter().all(|other: &Rect| !other.intersects(rect));
            assert!(is_clear, "plate {k} covers another");
            taken.push(rect);
        }
    }

    #[test]
    fn a_view_too_small_for_the_words_stays_without() {
        let room = Rect::from_min_size(pos2(0.0, 0.0), vec2(60.0, 30.0));
        let place = least_covering(pos2(30.0, 15.0), vec2(110.0, 20.0), room, (&[], &[]));
        assert_eq!(place, None, "no place");
    }
}

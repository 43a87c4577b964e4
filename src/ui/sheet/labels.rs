//! The number that matters of the worst findings, on their spots: a few words
//! with a line to the place, small rings for the rest.

use egui::{Align2, Color32, Painter, Pos2, Rect, Stroke, StrokeKind, Vec2, vec2};
use glam::DVec3;

use crate::advice::Kind;
use crate::scene::Pump;
use crate::ui::paint::gear::Reach;
use crate::ui::paint::{gear, label};
use crate::ui::progress;
use crate::ui::sheet::{Frame, SheetContext, View, Wash, shown_readings, washes, words};
use crate::ui::sheet::{ghosts, outline, pick};
use crate::ui::theme::Theme;
use crate::words::Speaker;

/// Findings that have words in a view at most; the rest have rings.
const WORDS_MAX: usize = 3;
/// Rings in a view at most.
const RINGS_MAX: usize = 12;
/// A cut this close to where a finding is worst goes through it, in cm: about a
/// cell of the estimate.
const NEAR_CUT_CM: f64 = 2.5;
/// Spots closer than this share one label, in points.
const SAME_SPOT: f32 = 24.0;
/// A pointer this close to a ring brings its words, in points.
const POINTED_AT: f32 = 11.0;

/// A finding's place on the screen and its words.
struct Spot {
    /// Which finding.
    idx: usize,
    pos: Pos2,
    at_cm: DVec3,
    text: String,
    /// How far off the cut it lies, in words; nothing if the cut goes through it.
    off: Option<String>,
    /// Findings at nearly the same place, itself not counted.
    n_more: usize,
}

/// A mark that was drawn: where it can be pointed at.
pub(super) struct Mark {
    /// Which finding.
    pub(super) idx: usize,
    /// Its words or ring on the screen.
    pub(super) rect: Rect,
    /// Where it is worst, in cm.
    pub(super) at_cm: DVec3,
    /// Whether the view's cut misses it.
    pub(super) is_off: bool,
    /// What it says.
    pub(super) words: String,
}

/// What pointed or flew to a mark, and places that are taken by other words.
pub(super) struct Around {
    /// Where the pointer is.
    pub(super) pointer: Option<Pos2>,
    /// The place that was flown to.
    pub(super) flown_to: Option<Pos2>,
    /// Words that are there already.
    pub(super) words: Vec<Rect>,
    /// Ends of the arrows of pumps.
    pub(super) tips: Vec<Pos2>,
}

/// Labels the findings that belong to the wash: dead water with the flow wash,
/// shade with the light wash, both without a wash. One that is pointed at or
/// was flown to always has its words. One that the cut misses is faint and says
/// where it lies.
pub(super) fn paint(
    painter: &Painter,
    frame: &Frame,
    wash: Wash,
    context: &SheetContext<'_>,
    around: Around,
) -> Vec<Mark> {
    let theme = context.theme;
    let spots = spots(frame, wash, context);
    let is_called = |spot: &Spot| {
        let near = |at: Option<Pos2>, reach: f32| at.is_some_and(|p| p.distance(spot.pos) < reach);
        near(around.pointer, POINTED_AT) || near(around.flown_to, POINTED_AT)
    };
    let mut things = things(frame, context);
    let tips = around.tips.iter();
    things.extend(tips.map(|tip| Rect::from_center_size(*tip, Vec2::splat(11.0))));
    things.extend(
        spots
            .iter()
            .map(|spot| Rect::from_center_size(spot.pos, Vec2::splat(7.0))),
    );
    let mut words = around.words;
    let mut plates = Vec::new();
    let mut marks = Vec::new();
    for (k, spot) in spots.iter().enumerate() {
        let said = spot.words();
        let mut plate = None;
        if k < WORDS_MAX || is_called(spot) {
            let about = (spot.pos, said.clone(), is_called(spot));
            plate = Plate::new(painter, frame, about, (&things, &words));
        }
        let ring = Rect::from_center_size(spot.pos, Vec2::splat(12.0));
        let mut mark = Mark {
            idx: spot.idx,
            rect: ring,
            at_cm: spot.at_cm,
            is_off: spot.off.is_some(),
            words: said,
        };
        if let Some(plate) = plate {
            words.push(plate.rect);
            mark.rect = plate.rect;
            plates.push((plate, spot.off.is_some()));
        } else {
            let ink = faint(theme, spot.off.is_some());
            painter.circle(
                spot.pos,
                3.2,
                theme.sheet.gamma_multiply(0.7),
                Stroke::new(1.2, ink),
            );
        }
        marks.push(mark);
    }
    // No line runs over words.
    for (plate, is_off) in &plates {
        plate.point(painter, (theme, *is_off));
    }
    for (plate, is_off) in &plates {
        plate.write(painter, (theme, *is_off));
    }
    marks
}

/// Ink, or a lighter one for what the cut misses.
fn faint(theme: &Theme, is_off: bool) -> Color32 {
    if is_off { theme.aside } else { theme.ink }
}

impl Spot {
    fn words(&self) -> String {
        let text = match self.n_more {
            0 => self.text.clone(),
            n => words::and_more(&self.text, n),
        };
        match &self.off {
            Some(off) => format!("{text}, {off}"),
            None => text,
        }
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
    let speaker = Speaker::new(desk.scene(), desk.layout(), desk.settings().units);
    let cut_cm = frame.view.depth(washes::cut_at_cm(desk));
    let is_rough = progress::stage(desk).0.is_rough();
    let fits_wash = |kind: &Kind| match wash {
        Wash::Flow => matches!(kind, Kind::DeadSpot),
        Wash::Light => matches!(kind, Kind::Shade),
        Wash::None => true,
        Wash::Fit | Wash::FlowChange | Wash::LightChange | Wash::FitChange => false,
    };
    let mut spots: Vec<Spot> = Vec::new();
    for (idx, finding) in desk.results().findings.iter().enumerate() {
        if !fits_wash(&finding.kind) {
            continue;
        }
        let at_cm = finding.place.at_cm;
        let pos = frame.pos(at_cm);
        let Some(mut text) = speaker
            .spot_label(finding)
            .filter(|_| frame.rect.contains(pos))
        else {
            continue;
        };
        if is_rough && matches!(finding.kind, Kind::DeadSpot) {
            text = words::roughly(&text);
        }
        let off_cm = frame.view.depth(at_cm) - cut_cm;
        let is_cut = off_cm.abs() < NEAR_CUT_CM;
        let off = (!is_cut).then(|| words::off_cut(frame.view, off_cm, desk.settings().units));
        // Worst first: the one that was there gives the words.
        if let Some(near) = spots.iter_mut().find(|s| s.pos.distance(pos) < SAME_SPOT) {
            near.n_more += 1;
        } else if spots.len() < RINGS_MAX {
            let n_more = 0;
            spots.push(Spot {
                idx,
                pos,
                at_cm,
                text,
                off,
                n_more,
            });
        }
    }
    // What the cut goes through has its words first.
    spots.sort_by_key(|spot| spot.off.is_some());
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
    let returns = context.desk.scene().tank.returns.iter();
    let returns = returns.map(|nozzle| around(nozzle.at_cm, 14.0));
    let mut all: Vec<Rect> = pumps.chain(corals).chain(returns).collect();
    all.extend(ghosts::places(frame, context.desk));
    // The mark that lets the view fill the sheet.
    all.push(Rect::from_center_size(
        frame.rect.right_top() + vec2(-12.0, 12.0),
        Vec2::splat(22.0),
    ));
    // Handles of the selected rock are to be seen and taken hold of.
    if let [id] = context.desk.selection()
        && let Some(rock) = layout.rocks.iter().find(|rock| rock.id == *id)
    {
        let turn = pick::turn_handle(layout, *id, frame);
        all.extend(turn.map(|at| Rect::from_center_size(at, Vec2::splat(12.0))));
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
        let galley = painter.layout_no_wrap(text.clone(), label::font(), Color32::BLACK);
        let size = galley.size() + vec2(12.0, 5.0);
        let room = frame.rect.shrink(3.0);
        let clear = least_covering(at, size, room, (things, words));
        // Words that are called for lie over others rather than not at all.
        let anyhow = || least_covering(at, size, room, (&[], words));
        let rect = clear.or_else(|| anyhow().filter(|_| is_called))?;
        Some(Self { at, rect, text })
    }

    /// Draws the spot and the line to it.
    fn point(&self, painter: &Painter, (theme, is_off): (&Theme, bool)) {
        let end = self.rect.clamp(self.at);
        let stroke = Stroke::new(1.0, faint(theme, is_off));
        if end.distance(self.at) > 3.0 {
            let rim = Stroke::new(3.0, theme.sheet.gamma_multiply(0.7));
            painter.line_segment([self.at, end], rim);
            if is_off {
                label::dashed(painter, &[self.at, end], stroke, 3.0, 3.0);
            } else {
                painter.line_segment([self.at, end], stroke);
            }
        }
        if is_off {
            painter.circle(self.at, 3.2, theme.sheet.gamma_multiply(0.6), stroke);
        } else {
            painter.circle(self.at, 2.6, theme.ink, Stroke::new(1.0, theme.sheet));
        }
    }

    /// Draws the words.
    fn write(&self, painter: &Painter, (theme, is_off): (&Theme, bool)) {
        let strength = if is_off { 0.78 } else { 0.94 };
        let paper = theme.sheet.gamma_multiply(strength);
        let ink = faint(theme, is_off);
        let rim = Stroke::new(0.8, ink.gamma_multiply(if is_off { 0.6 } else { 1.0 }));
        painter.rect(self.rect, 2.0, paper, rim, StrokeKind::Inside);
        let middle = self.rect.center();
        let text = self.text.clone();
        painter.text(middle, Align2::CENTER_CENTER, text, label::font(), ink);
    }
}

/// Words at the tips of the arrows of pumps, as far as they have room: how
/// fast the water is there. None lies on the place that is `kept`. Gives the
/// places that are taken, that one first.
pub(super) fn reaches(
    painter: &Painter,
    frame: &Frame,
    (pumps, kept): (&[(&Pump, &Reach, bool)], Option<Rect>),
    context: &SheetContext<'_>,
) -> Vec<Rect> {
    let theme = context.theme;
    let units = context.desk.settings().units;
    let ring = |at_cm| Rect::from_center_size(frame.pos(at_cm), Vec2::splat(2.0 * gear::RING));
    let mut things: Vec<Rect> = pumps.iter().map(|(pump, ..)| ring(pump.at_cm)).collect();
    things.push(level_strip(frame, washes::cut_at_cm(context.desk)));
    let mut taken: Vec<Rect> = kept.into_iter().collect();
    for (pump, reach, is_lit) in pumps {
        let (from, tip) = (frame.pos(pump.at_cm), frame.pos(reach.tip_cm));
        let is_told = frame.view != View::End || *is_lit;
        if !is_told || from.distance(tip) <= gear::ARROW_FROM || !frame.rect.contains(tip) {
            continue;
        }
        let text = words::reach(reach, &context.desk.scene().tank, units);
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

/// How high above the water each lamp hangs, beside it in the folded air, as
/// far as there is room.
pub(super) fn lamp_heights(painter: &Painter, frame: &Frame, context: &SheetContext<'_>) {
    let (desk, theme) = (context.desk, context.theme);
    let water_cm = desk.scene().tank.water_cm;
    let Some(fold_y) = frame.fold_y() else { return };
    let lamps = desk.layout().lamps.iter();
    let lamps: Vec<_> = lamps.filter(|lamp| !desk.is_hidden(lamp.id)).collect();
    let body = |lamp: &crate::scene::Lamp| {
        let corners = gear::face_cm(lamp).into_iter().map(|p| frame.pos(p));
        let rect = corners.fold(Rect::NOTHING, |rect, p| rect.union(Rect::from_pos(p)));
        rect.expand2(vec2(3.0, 8.0))
    };
    let mut taken: Vec<Rect> = lamps.iter().map(|lamp| body(lamp)).collect();
    for lamp in &lamps {
        let up_cm = lamp.at_cm.z - water_cm;
        if up_cm <= 0.0 {
            continue;
        }
        let text = words::above_water(up_cm, desk.settings().units);
        let galley = painter.layout_no_wrap(text, label::font(), theme.aside);
        let size = galley.size();
        let beside = body(lamp);
        let y = frame.rect.top() + 1.0 + size.y / 2.0;
        let places = [
            beside.right() + 4.0 + size.x / 2.0,
            beside.left() - 4.0 - size.x / 2.0,
        ];
        let room = Rect::from_min_max(frame.rect.min, Pos2::new(frame.rect.right() - 24.0, fold_y));
        let place = places
            .map(|x| Rect::from_center_size(Pos2::new(x, y), size))
            .into_iter()
            .find(|rect| {
                room.contains_rect(*rect) && !taken.iter().any(|other| other.intersects(*rect))
            });
        if let Some(rect) = place {
            painter.galley(rect.min, galley, theme.aside);
            taken.push(rect);
        }
    }
}

/// The dashed line of a level that lies across the view, a few points thick.
fn level_strip(frame: &Frame, cut_at_cm: DVec3) -> Rect {
    let y = frame.pos_flat(frame.view.flat(cut_at_cm)).y;
    Rect::from_x_y_ranges(frame.rect.x_range(), y - 2.0..=y + 2.0)
}

/// A place for words above or below the tip of an arrow, rather ahead of it
/// than beside it, within the room, clear of other words and of pumps.
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
        .find(|rect| covered(rect) == 0.0)
}

/// How much of some things a plate would cover, in square points.
fn covered_area(rect: Rect, things: &[Rect]) -> f32 {
    let areas = things.iter().map(|other| {
        let both = other.expand(2.0).intersect(rect);
        if both.is_positive() { both.area() } else { 0.0 }
    });
    areas.sum()
}

/// The place for a plate near `at` that covers no other words and none of the
/// things there.
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
    let candidates = [9.0_f32, 24.0, 44.0, 70.0, 104.0]
        .into_iter()
        .flat_map(|away| {
            SIDES.into_iter().map(move |side| {
                let reach = size / 2.0 + Vec2::splat(away);
                (away, Rect::from_center_size(at + side * reach, size))
            })
        });
    // Words cover no handle and no gear: rather a longer line, or none.
    let cost = |(away, _): &(f32, Rect)| *away;
    candidates
        .filter(|(_, rect)| covered_area(*rect, things) == 0.0)
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

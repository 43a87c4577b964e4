//! The number that matters of the worst findings, on their spots: a few words
//! with a line to the place, small rings for the rest.

use std::sync::Arc;

use egui::{Align2, Color32, Galley, Painter, Pos2, Rect, Stroke, StrokeKind, Vec2, vec2};
use glam::{DVec2, DVec3};

use crate::advice::Kind;
use crate::draw::{self, About, Label, List, Near, Subject, Taken, Wanted};
use crate::ui::paint::{gear, label};
use crate::ui::progress;
use crate::ui::sheet::{Frame, SheetContext, Wash, shown_readings, washes, words};
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
    around: &Around,
) -> Vec<Mark> {
    let theme = context.theme;
    let spots = spots(frame, wash, context);
    let places = places(painter, frame, (&spots, context), around);
    let mut plates = Vec::new();
    let mut marks = Vec::new();
    for (spot, place) in spots.iter().zip(places) {
        let is_off = spot.off.is_some();
        let said = spot.words();
        if let Some(rect) = place {
            let plate = Plate {
                at: spot.pos,
                rect,
                text: said.clone(),
            };
            plates.push((plate, is_off));
        } else {
            let paper = theme.sheet.gamma_multiply(0.7);
            let ring = Stroke::new(1.2, faint(theme, is_off));
            painter.circle(spot.pos, 3.2, paper, ring);
        }
        marks.push(Mark {
            idx: spot.idx,
            rect: place.unwrap_or_else(|| Rect::from_center_size(spot.pos, Vec2::splat(12.0))),
            at_cm: spot.at_cm,
            is_off,
            words: said,
        });
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

/// Where the words of findings lie, for those that have any.
fn places(
    painter: &Painter,
    frame: &Frame,
    (spots, context): (&[Spot], &SheetContext<'_>),
    around: &Around,
) -> Vec<Option<Rect>> {
    let is_called = |spot: &Spot| {
        let near = |at: Option<Pos2>, reach: f32| at.is_some_and(|p| p.distance(spot.pos) < reach);
        near(around.pointer, POINTED_AT) || near(around.flown_to, POINTED_AT)
    };
    let small = |at: Pos2, size: f32| spot(Rect::from_center_size(at, Vec2::splat(size)));
    let things = things(frame, context).into_iter().map(spot);
    let tips = around.tips.iter().map(|tip| small(*tip, 11.0));
    let marks = spots.iter().map(|spot| small(spot.pos, 7.0));
    let things: Vec<draw::Spot> = things.chain(tips).chain(marks).collect();
    let words: Vec<draw::Spot> = around.words.iter().map(|rect| spot(*rect)).collect();
    let is_told = |(k, spot): &(usize, &Spot)| *k < WORDS_MAX || is_called(spot);
    let told: Vec<(usize, &Spot)> = spots.iter().enumerate().filter(is_told).collect();
    let wanted: Vec<Wanted> = told
        .iter()
        .map(|(_, spot)| Plate::wanted(painter, spot.pos, &spot.words(), is_called(spot)))
        .collect();
    let taken = Taken {
        panel: spot(frame.rect.shrink(3.0)),
        words: &words,
        things: &things,
        apart: 2.0,
    };
    let mut places = vec![None; spots.len()];
    for ((k, _), found) in told.into_iter().zip(draw::place(&wanted, taken)) {
        places[k] = found.map(|found| rect(&found.spot));
    }
    places
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

/// Room around the words of a plate on its paper, both sides together.
const PLATE_ROOM: Vec2 = vec2(12.0, 5.0);

/// How far plates lie from their spots, in points: words cover no handle and no
/// gear, but have a longer line.
const PLATES_AWAY: [f64; 5] = [9.0, 24.0, 44.0, 70.0, 104.0];

/// Where they lie, the better liked first.
const PLATES_SIDES: [DVec2; 8] = [
    DVec2::new(0.0, -1.0),
    DVec2::new(0.0, 1.0),
    DVec2::new(1.0, -1.0),
    DVec2::new(-1.0, -1.0),
    DVec2::new(1.0, 1.0),
    DVec2::new(-1.0, 1.0),
    DVec2::new(1.0, 0.0),
    DVec2::new(-1.0, 0.0),
];

impl Plate {
    /// What a plate wants; one that is called for lies over things rather than
    /// not at all.
    fn wanted(painter: &Painter, at: Pos2, text: &str, is_called: bool) -> Wanted {
        let galley = painter.layout_no_wrap(text.to_owned(), label::font(), Color32::BLACK);
        Wanted {
            sizes: vec![dvec((galley.size() + PLATE_ROOM).to_pos2())],
            near: Near::Around {
                at: dvec(at),
                away: PLATES_AWAY.to_vec(),
                sides: PLATES_SIDES.to_vec(),
            },
            rank: 0,
            may_cover: is_called,
        }
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

/// Words that wait for a place.
struct Saying {
    galley: Arc<Galley>,
    /// Room around them within their paper.
    room: Vec2,
    ink: Color32,
    paper: Color32,
}

impl Saying {
    fn new(painter: &Painter, text: String, (ink, paper, room): (Color32, Color32, Vec2)) -> Self {
        Self {
            galley: painter.layout_no_wrap(text, label::font(), ink),
            room,
            ink,
            paper,
        }
    }

    fn size(&self) -> DVec2 {
        let size = self.galley.size() + 2.0 * self.room;
        dvec(size.to_pos2())
    }

    fn write(self, painter: &Painter, rect: Rect) {
        painter.rect_filled(rect, 2.0, self.paper);
        painter.galley(rect.min + self.room, self.galley, self.ink);
    }
}

/// Writes what a list says, and what the keeper's readings say: how fast the
/// water is at the tips of arrows, how high lamps hang. Those pointed at have
/// their place first; what finds none is left out. None lies on a place that
/// is `kept`. Gives the places that are taken, those first.
pub(super) fn said(
    painter: &Painter,
    frame: &Frame,
    (list, kept): (&List, Vec<Rect>),
    (context, is_lit): (&SheetContext<'_>, &dyn Fn(Subject) -> bool),
) -> Vec<Rect> {
    let (desk, theme) = (context.desk, context.theme);
    let mut taken = kept;
    let (mut sayings, mut wanted) = readings(painter, frame, context);
    let is_shown = |label: &&Label| match label.of {
        Subject::Pump(id) => !desk.is_hidden(id) && (!label.is_quiet || is_lit(label.of)),
        Subject::Lamp(_) => false,
        _ => true,
    };
    for label in list.labels.iter().filter(is_shown) {
        let About::Jet { from_cm } = label.about else {
            continue;
        };
        let (from, tip) = (frame.pos_flat(from_cm), frame.pos_flat(label.at_cm));
        if !frame.rect.contains(tip) {
            continue;
        }
        let paper = theme.sheet.gamma_multiply(0.72);
        let look = (theme.accent, paper, vec2(3.0, 0.0));
        let saying = Saying::new(painter, label.text.clone(), look);
        wanted.push(Wanted {
            sizes: vec![saying.size()],
            near: Near::Tip {
                from: dvec(from),
                tip: dvec(tip),
                away: DVec2::new(5.0, 9.0),
            },
            rank: i32::from(is_lit(label.of)),
            may_cover: false,
        });
        sayings.push(saying);
    }
    let pumps = desk.layout().pumps.iter();
    let pumps = pumps.filter(|pump| !desk.is_hidden(pump.id));
    let ring = |at_cm| Rect::from_center_size(frame.pos(at_cm), Vec2::splat(2.0 * gear::RING));
    let mut things: Vec<draw::Spot> = pumps.map(|pump| spot(ring(pump.at_cm))).collect();
    things.push(spot(level_strip(frame, washes::cut_at_cm(desk))));
    let words: Vec<draw::Spot> = taken.iter().map(|rect| spot(*rect)).collect();
    let around = Taken {
        panel: spot(frame.rect.shrink(2.0)),
        words: &words,
        things: &things,
        apart: 2.0,
    };
    for (saying, found) in sayings.into_iter().zip(draw::place(&wanted, around)) {
        if let Some(found) = found {
            let rect = rect(&found.spot);
            saying.write(painter, rect);
            taken.push(rect);
        }
    }
    lamp_heights(painter, frame, (list, &mut taken), context);
    taken
}

/// A cross at each of the keeper's readings, and words for what was measured
/// there and what the estimate says. They are the keeper's own: they come first.
fn readings(
    painter: &Painter,
    frame: &Frame,
    context: &SheetContext<'_>,
) -> (Vec<Saying>, Vec<Wanted>) {
    const RANK: i32 = 2;
    let (desk, theme) = (context.desk, context.theme);
    let (mut sayings, mut wanted) = (Vec::new(), Vec::new());
    for (idx, at_cm) in shown_readings(desk) {
        gear::reading(painter, frame, at_cm, theme);
        let Some(reading) = desk.scene().readings.get(idx) else {
            continue;
        };
        let computed = desk.results().readings.of(idx).and_then(|it| it.computed);
        let text = words::reading(reading, computed, desk.settings().units);
        let paper = theme.sheet.gamma_multiply(0.86);
        let saying = Saying::new(painter, text, (theme.ink, paper, vec2(3.0, 0.0)));
        let size = saying.size();
        let at = dvec(frame.pos(at_cm));
        let beside = [(1.0, -1.0), (1.0, 1.0), (-1.0, -1.0), (-1.0, 1.0)];
        let places = [1.0, 3.0].into_iter().flat_map(|far| {
            beside.map(|(right, down)| {
                at + DVec2::new(right * (5.0 + size.x / 2.0), far * 9.0 * down)
            })
        });
        wanted.push(Wanted {
            sizes: vec![size],
            near: Near::At(places.collect()),
            rank: RANK,
            may_cover: true,
        });
        sayings.push(saying);
    }
    (sayings, wanted)
}

/// How high above the water each lamp hangs, beside it in the folded air, as
/// far as there is room.
fn lamp_heights(
    painter: &Painter,
    frame: &Frame,
    (list, taken): (&List, &mut Vec<Rect>),
    context: &SheetContext<'_>,
) {
    let (desk, theme) = (context.desk, context.theme);
    let Some(fold_y) = frame.fold_y() else { return };
    let body = |lamp: &crate::scene::Lamp| {
        let corners = lamp.face_cm().into_iter().map(|p| frame.pos(p));
        let rect = corners.fold(Rect::NOTHING, |rect, p| rect.union(Rect::from_pos(p)));
        rect.expand2(vec2(3.0, 8.0))
    };
    let lamps = desk.layout().lamps.iter();
    let lamps = lamps.filter(|lamp| !desk.is_hidden(lamp.id));
    let bodies: Vec<(Subject, Rect)> = lamps
        .map(|lamp| (Subject::Lamp(lamp.id), body(lamp)))
        .collect();
    let (mut sayings, mut wanted) = (Vec::new(), Vec::new());
    for label in &list.labels {
        let beside = bodies.iter().find(|(of, _)| *of == label.of);
        let (Some((_, beside)), About::Height) = (beside, label.about) else {
            continue;
        };
        let look = (theme.aside, Color32::TRANSPARENT, Vec2::ZERO);
        let saying = Saying::new(painter, label.text.clone(), look);
        let size = saying.size();
        let y = f64::from(frame.rect.top()) + 1.0 + size.y / 2.0;
        let right = f64::from(beside.right()) + 4.0 + size.x / 2.0;
        let left = f64::from(beside.left()) - 4.0 - size.x / 2.0;
        wanted.push(Wanted {
            sizes: vec![size],
            near: Near::At(vec![DVec2::new(right, y), DVec2::new(left, y)]),
            rank: 0,
            may_cover: false,
        });
        sayings.push(saying);
    }
    let room = Rect::from_min_max(frame.rect.min, Pos2::new(frame.rect.right() - 24.0, fold_y));
    let words: Vec<draw::Spot> = taken.iter().map(|rect| spot(*rect)).collect();
    let things: Vec<draw::Spot> = bodies.iter().map(|(_, rect)| spot(*rect)).collect();
    let around = Taken {
        panel: spot(room),
        words: &words,
        things: &things,
        apart: 0.0,
    };
    for (saying, found) in sayings.into_iter().zip(draw::place(&wanted, around)) {
        if let Some(found) = found {
            let rect = rect(&found.spot);
            saying.write(painter, rect);
            taken.push(rect);
        }
    }
}

/// The dashed line of a level that lies across the view, a few points thick.
fn level_strip(frame: &Frame, cut_at_cm: DVec3) -> Rect {
    let y = frame.pos_flat(frame.view.flat(cut_at_cm)).y;
    Rect::from_x_y_ranges(frame.rect.x_range(), y - 2.0..=y + 2.0)
}

/// A place of the screen as one of a drawing.
pub(super) fn dvec(pos: Pos2) -> DVec2 {
    DVec2::new(pos.x.into(), pos.y.into())
}

/// A part of the screen as one of a drawing, and back.
pub(super) fn spot(rect: Rect) -> draw::Spot {
    draw::Spot {
        low: dvec(rect.min),
        high: dvec(rect.max),
    }
}

pub(super) fn rect(spot: &draw::Spot) -> Rect {
    let pos = |at: DVec2| Pos2::new(at.x as f32, at.y as f32);
    Rect::from_min_max(pos(spot.low), pos(spot.high))
}

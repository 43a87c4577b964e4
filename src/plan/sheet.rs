//! One sheet: top, side and end view at one scale, as on the window's sheet,
//! and something in the fourth quarter.

use glam::DVec2;

use super::ink::{Drawing, Face, Hand, Pen, Wash};
use super::labels::Labels;
use super::listed::{Listed, Made};
use super::listing::tenth;
use super::palette::{ACCENT, ASIDE, PAPER};
use super::rocks::Look;
use super::view::{Frame, View, scale_for};
use super::wash::{Sheet, WashKind, draw_legend, draw_streaks};
use super::{PlanInput, glass, rocks, solid};
use crate::advice::{AdviceInput, Finding, Kind};
use crate::draw::{Layer, Spot, Taken, rings};
use crate::scene::{Coral, Rock, Tank};
use crate::units::{M_PER_CM, Measure};

/// Room beside the views, in mm: left, between, right; above, between, below.
const BESIDE_MM: [f64; 3] = [9.0, 24.0, 14.0];
const ABOVE_MM: [f64; 3] = [8.0, 16.0, 9.0];
/// Radius of a zone's number ring, in mm.
const ZONE_MM: f64 = 2.4;

/// A view on its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Picture {
    /// Which view.
    pub view: View,
    /// Which wash lies on it, if any.
    pub wash: Option<WashKind>,
    /// Where wash and rock are cut, in cm: height, depth or distance from the left.
    pub level_cm: f64,
    /// How many times smaller than the tank it is.
    pub scale: f64,
}

/// Three frames on a sheet, and the fourth quarter.
struct Frames {
    scale: f64,
    frames: [Frame; 3],
    quarter_mm: (DVec2, DVec2),
}

fn frames(input: &PlanInput<'_>, room_mm: DVec2) -> Frames {
    let tank = &input.advice.scene.tank;
    let above_cm = above_cm(input);
    let need_cm = DVec2::new(
        tank.length_cm + tank.width_cm,
        tank.width_cm + tank.height_cm + above_cm,
    );
    let margins = DVec2::new(BESIDE_MM.iter().sum(), ABOVE_MM.iter().sum());
    let scale = scale_for(need_cm, room_mm - margins);
    let mm_per_cm = 10.0 / scale;
    let top_low = ABOVE_MM[0] + tank.width_cm * mm_per_cm;
    let side_low = top_low + ABOVE_MM[1] + (above_cm + tank.height_cm) * mm_per_cm;
    let end_left = BESIDE_MM[0] + tank.length_cm * mm_per_cm + BESIDE_MM[1];
    let frame = |view, x: f64, y: f64| Frame {
        view,
        mm_per_cm,
        corner_mm: DVec2::new(x, y),
        units: input.units,
    };
    Frames {
        scale,
        frames: [
            frame(View::Top, BESIDE_MM[0], top_low),
            frame(View::Side, BESIDE_MM[0], side_low),
            frame(View::End, end_left, side_low),
        ],
        quarter_mm: (
            DVec2::new(end_left, 0.0),
            DVec2::new(room_mm.x, top_low + 4.0),
        ),
    }
}

/// How far the highest lamp reaches above the tank, in cm.
fn above_cm(input: &PlanInput<'_>) -> f64 {
    let tops = input
        .advice
        .layout
        .lamps
        .iter()
        .map(|lamp| lamp.at_cm.z + 3.0);
    let highest = tops.fold(input.advice.scene.tank.height_cm, f64::max);
    (highest - input.advice.scene.tank.height_cm).min(80.0)
}

/// The main drawing: three views with dimensions, and the tank in the round.
pub(super) fn plan_sheet(input: &PlanInput<'_>, made: &Made<'_>, room_mm: DVec2) -> Drawing {
    let set = frames(input, room_mm);
    let tank = &input.advice.scene.tank;
    let title = format!(
        "{}, {}: top, side, end",
        input.advice.scene.name, input.advice.layout.name
    );
    let mut to = Drawing::new(room_mm, title);
    for frame in &set.frames {
        draw_ink(&mut to, frame, (input, made), true);
        dimensions(&mut to, frame, tank);
        caption(
            &mut to,
            frame,
            &seen_words(frame, made.levels.of(frame.view)),
        );
    }
    let (low, high) = set.quarter_mm;
    let inset = DVec2::new(2.0, 8.0);
    solid::draw(&mut to, (low + inset, high - inset), input.advice.study);
    let under = DVec2::new(low.x + 2.0, high.y);
    to.text(
        under,
        "in the round, not to scale",
        Hand::new(Face::Italic, 2.9, ASIDE),
    );
    glass::draw_scale_bar(
        &mut to,
        under + DVec2::new(42.0, -1.6),
        (set.scale, input.units),
    );
    to
}

/// How it stands once all is moved: the rocks where they were in dashes.
pub(super) fn target_sheet(
    input: &PlanInput<'_>,
    [before, target]: [&Made<'_>; 2],
    room_mm: DVec2,
) -> Drawing {
    let advice = AdviceInput::of(target.study);
    let then = PlanInput {
        advice: &advice,
        solver: None,
        findings: &[],
        berths: &[],
        ..*input
    };
    let mut to = plan_sheet(&then, target, room_mm);
    let is_gone = |rock: &Rock| !target.study.layout().rocks.contains(rock);
    for frame in &frames(&then, room_mm).frames {
        rocks::draw_ghosts(&mut to, (frame, before), is_gone);
    }
    to
}

/// A wash in all three views, with legend and words in the fourth quarter.
pub(super) fn wash_sheet(
    input: &PlanInput<'_>,
    made: &Made<'_>,
    kind: WashKind,
    words: &[String],
    room_mm: DVec2,
) -> Option<Drawing> {
    let set = frames(input, room_mm);
    let title = match kind {
        WashKind::Flow => "flow: mean speed of the water",
        WashKind::Light => "light: PPFD facing up",
    };
    let mut to = Drawing::new(room_mm, format!("{}, {title}", input.advice.layout.name));
    for frame in &set.frames {
        let level_cm = made.levels.of(frame.view);
        draw_washed(&mut to, frame, (input, made), kind)?;
        for cut in View::ALL {
            glass::draw_level(
                &mut to,
                frame,
                &input.advice.scene.tank,
                cut,
                made.levels.of(cut),
            );
        }
        caption(&mut to, frame, &cut_words(frame, level_cm));
    }
    let at = set.quarter_mm.0 + DVec2::new(2.0, 10.0);
    draw_legend(&mut to, at, (kind, input.units));
    let hand = Hand::new(Face::Regular, 3.1, super::palette::INK);
    let wide = set.quarter_mm.1.x - at.x;
    let mut line_mm = at + DVec2::new(0.0, 26.0);
    for text in words {
        for line in super::face::wrapped(text, hand.face, hand.size_mm, wide) {
            to.text(line_mm, line, hand);
            line_mm.y += 4.0;
        }
    }
    let under = DVec2::new(at.x, set.quarter_mm.1.y - 1.6);
    glass::draw_scale_bar(&mut to, under, (set.scale, input.units));
    Some(to)
}

/// Two layouts beside each other in top and side view, at one scale and cut at
/// the same levels; none where a wash lacks its field in either.
pub(super) fn pair_sheet(
    both: [(&PlanInput<'_>, &Made<'_>); 2],
    kind: Option<WashKind>,
    room_mm: DVec2,
) -> Option<Drawing> {
    let units = both[0].0.units;
    let tank = &both[0].0.advice.scene.tank;
    let above = both
        .map(|(input, _)| above_cm(input))
        .into_iter()
        .fold(0.0, f64::max);
    let need_cm = DVec2::new(2.0 * tank.length_cm, tank.width_cm + tank.height_cm + above);
    // No dimensions beside the views, but a legend below them.
    const BETWEEN_MM: f64 = 13.0;
    let margins = DVec2::new(
        BESIDE_MM[0] + BETWEEN_MM + 4.0,
        ABOVE_MM.iter().sum::<f64>() + 28.0,
    );
    let scale = scale_for(need_cm, room_mm - margins);
    let mm_per_cm = 10.0 / scale;
    let mut to = Drawing::new(room_mm, "two layouts");
    for (idx, (input, made)) in both.into_iter().enumerate() {
        let left = BESIDE_MM[0] + idx as f64 * (tank.length_cm * mm_per_cm + BETWEEN_MM);
        let top_low = ABOVE_MM[0] + 8.0 + tank.width_cm * mm_per_cm;
        let side_low = top_low + ABOVE_MM[1] + (above + tank.height_cm) * mm_per_cm;
        let name = format!("{}: {}", ["A", "B"][idx], input.advice.layout.name);
        let hand = Hand::new(Face::Bold, 4.2, super::palette::INK);
        let room = tank.length_cm * mm_per_cm;
        let name = super::face::shortened(&name, hand.face, hand.size_mm, room);
        to.text(DVec2::new(left, 10.0), name, hand);
        for (view, low) in [(View::Top, top_low), (View::Side, side_low)] {
            let frame = Frame {
                view,
                mm_per_cm,
                corner_mm: DVec2::new(left, low),
                units: input.units,
            };
            let level_cm = made.levels.of(view);
            if let Some(kind) = kind {
                draw_washed(&mut to, &frame, (input, made), kind)?;
                caption(&mut to, &frame, &cut_words(&frame, level_cm));
            } else {
                draw_ink(&mut to, &frame, (input, made), false);
                caption(&mut to, &frame, &seen_words(&frame, level_cm));
            }
        }
    }
    let under = room_mm.y - 20.0;
    if let Some(kind) = kind {
        draw_legend(&mut to, DVec2::new(BESIDE_MM[0], under), (kind, units));
    }
    let bar = DVec2::new(BESIDE_MM[0] + 130.0, under + 4.0);
    glass::draw_scale_bar(&mut to, bar, (scale, units));
    Some(to)
}

/// Where to look from and where rock is cut, in words.
fn seen_words(frame: &Frame, level_cm: f64) -> String {
    let from = match frame.view {
        View::Top => "top, front glass below",
        View::Side => "side, through the front glass",
        View::End => "end, front glass left",
    };
    let level = Measure::Length.rounded_text(level_cm, 0, frame.units);
    format!("{from}; dotted: cut at {level}")
}

fn cut_words(frame: &Frame, level_cm: f64) -> String {
    let level = Measure::Length.rounded_text(level_cm, 0, frame.units);
    match frame.view {
        View::Top => format!("top, cut {level} above the inner bottom"),
        View::Side => format!("side, cut {level} behind the front glass"),
        View::End => format!("end, cut {level} right of the left glass"),
    }
}

fn caption(to: &mut Drawing, frame: &Frame, text: &str) {
    let at = frame.corner_mm + DVec2::new(0.0, 8.2);
    to.text(at, text, Hand::new(Face::Italic, 2.9, ASIDE));
}

/// The box around a view in which labels may lie.
fn label_room(frame: &Frame, input: &PlanInput<'_>) -> Spot {
    let tank = &input.advice.scene.tank;
    let mut size = frame.view.size_cm(tank).truncate();
    if frame.view != View::Top {
        size.y += above_cm(input);
    }
    let whole = Spot::between(frame.on_paper(DVec2::ZERO), frame.on_paper(size));
    Spot {
        low: whole.low + 0.4,
        high: whole.high - 0.4,
    }
}

fn draw_ink(
    to: &mut Drawing,
    frame: &Frame,
    (input, made): (&PlanInput<'_>, &Made<'_>),
    with_names: bool,
) {
    let tank = &input.advice.scene.tank;
    let listed = Listed::new(frame, made);
    let look = Look {
        with_tone: true,
        with_cut: true,
    };
    glass::draw_back(to, frame, tank);
    listed.lay(to, &[Layer::Floor, Layer::Bed], |_| true);
    rocks::draw(to, &listed, look);
    glass::draw_rulers(to, frame, tank);
    listed.lay_things(to, true);
    // Names once, where there is most room; elsewhere the key numbers.
    let mut labels = Labels::new(with_names && frame.view == View::Top);
    let name_of = |coral: &Coral| super::coral_name(input.advice.catalog, coral);
    listed.label(&mut labels, &name_of, true);
    listed.label_rocks(&mut labels);
    labels.draw(to, label_room(frame, input));
}

/// A view with a wash; none where its field is not there.
fn draw_washed(
    to: &mut Drawing,
    frame: &Frame,
    (input, made): (&PlanInput<'_>, &Made<'_>),
    kind: WashKind,
) -> Option<()> {
    let tank = &input.advice.scene.tank;
    let (view, level_cm) = (frame.view, made.levels.of(frame.view));
    let sheet = match kind {
        WashKind::Flow => Sheet::flow(view, tank, level_cm, input.advice.flow?),
        WashKind::Light => Sheet::light(view, tank, level_cm, input.solver?),
    };
    sheet.draw(to, frame, kind);
    if let (WashKind::Flow, Some(field)) = (kind, input.advice.flow) {
        draw_streaks(to, frame, tank, level_cm, field);
    }
    let listed = Listed::new(frame, made);
    listed.lay(to, &[Layer::Bed], |_| true);
    rocks::draw_cut(to, &listed);
    glass::draw_rulers(to, frame, tank);
    let with_lamps = kind == WashKind::Light;
    listed.lay_things(to, with_lamps);
    let mut labels = Labels::new(false);
    listed.label(&mut labels, &|_| String::new(), with_lamps);
    let panel = label_room(frame, input);
    let zones = zones((frame, level_cm, panel), input.findings, kind);
    for (_, at_mm) in &zones {
        labels.avoid(*at_mm, ZONE_MM);
    }
    labels.draw(to, panel);
    draw_zones(to, &zones);
    Some(())
}

/// The zones that were found in a wash, where the cut meets them, as number
/// and place on paper; the top view shows all of them.
fn zones(
    (frame, level_cm, panel): (&Frame, f64, Spot),
    findings: &[Finding],
    kind: WashKind,
) -> Vec<(usize, DVec2)> {
    let (mut numbers, mut places) = (Vec::new(), Vec::new());
    for (idx, finding) in findings.iter().enumerate() {
        let belongs = match finding.kind {
            Kind::DeadSpot | Kind::SandMoves | Kind::MayFlip => kind == WashKind::Flow,
            Kind::Shade => kind == WashKind::Light,
            _ => false,
        };
        // Distance of the cut from its middle, and how far it reaches.
        let view = frame.view;
        let cut = view.lift(DVec2::ZERO, level_cm) * M_PER_CM;
        let off_m = (view.seen(finding.place.middle_m()).z - view.seen(cut).z).abs();
        let reach_m = view.seen(finding.place.half_size_m()).z.abs() + 0.02;
        if !belongs || (view != View::Top && off_m > reach_m) {
            continue;
        }
        numbers.push(idx + 1);
        places.push(frame.at(finding.place.at_cm));
    }
    let taken = Taken {
        panel,
        words: &[],
        things: &[],
        apart: 0.0,
    };
    // A hair of paper between two of them.
    let places = rings(&places, ZONE_MM + 0.1, taken);
    numbers.into_iter().zip(places).collect()
}

fn draw_zones(to: &mut Drawing, zones: &[(usize, DVec2)]) {
    for (number, at) in zones {
        let ring = Some(Pen::new(0.35, ACCENT));
        to.circle(*at, ZONE_MM, Some(Wash::full(PAPER)), ring);
        let hand = Hand::new(Face::Bold, 2.9, ACCENT).centered();
        to.text(*at + DVec2::new(0.0, 1.0), number.to_string(), hand);
    }
}

fn dimensions(to: &mut Drawing, frame: &Frame, tank: &Tank) {
    let size = frame.view.size_cm(tank).truncate();
    let number = |cm: f64| tenth(Measure::Length.shown(frame.units).factor * cm);
    let mut dim = |from: DVec2, end: DVec2, off_mm: f64, length: f64| {
        glass::draw_dimension(to, frame, (from, end), off_mm, &number(length));
    };
    let corner = size;
    match frame.view {
        View::Top => {
            dim(DVec2::new(0.0, size.y), corner, 4.5, size.x);
            dim(DVec2::new(size.x, 0.0), corner, 5.0, size.y);
        }
        View::Side => {
            let right = |y: f64| DVec2::new(size.x, y);
            dim(right(0.0), right(size.y), 10.0, size.y);
            dim(right(0.0), right(tank.water_cm), 5.0, tank.water_cm);
        }
        View::End => {
            let right = |y: f64| DVec2::new(size.x, y);
            if tank.sand.depth_cm > 0.0 {
                dim(
                    right(0.0),
                    right(tank.sand.depth_cm),
                    5.0,
                    tank.sand.depth_cm,
                );
            }
            dim(DVec2::new(0.0, size.y), corner, 4.5, size.x);
        }
    }
}

/// One view on its own, to scale.
pub(super) fn picture(
    input: &PlanInput<'_>,
    made: &Made<'_>,
    picture: &Picture,
) -> Option<Drawing> {
    let tank = &input.advice.scene.tank;
    let view = picture.view;
    let mm_per_cm = 10.0 / picture.scale;
    // Lamps hang over views from the side, unless the water alone is shown.
    let above = if view == View::Top || picture.wash == Some(WashKind::Flow) {
        0.0
    } else {
        above_cm(input)
    };
    let size_mm = (view.size_cm(tank).truncate() + DVec2::new(0.0, above)) * mm_per_cm;
    let legend_mm = if picture.wash.is_some() { 24.0 } else { 0.0 };
    let room_mm = DVec2::new((size_mm.x + 26.0).max(110.0), size_mm.y + 30.0 + legend_mm);
    let title = format!(
        "{}, {}: {}",
        input.advice.scene.name,
        input.advice.layout.name,
        view.word()
    );
    let mut to = Drawing::new(room_mm, title);
    to.rect(DVec2::ZERO, room_mm, Some(Wash::full(PAPER)), None);
    let frame = Frame {
        view,
        mm_per_cm,
        corner_mm: DVec2::new(11.0, 10.0 + size_mm.y),
        units: input.units,
    };
    let words = if let Some(kind) = picture.wash {
        draw_washed(&mut to, &frame, (input, made), kind)?;
        draw_legend(
            &mut to,
            DVec2::new(11.0, frame.corner_mm.y + 19.0),
            (kind, input.units),
        );
        cut_words(&frame, picture.level_cm)
    } else {
        draw_ink(&mut to, &frame, (input, made), true);
        dimensions(&mut to, &frame, tank);
        seen_words(&frame, picture.level_cm)
    };
    caption(&mut to, &frame, &words);
    glass::draw_scale_bar(
        &mut to,
        frame.corner_mm + DVec2::new(0.0, 12.0),
        (picture.scale, input.units),
    );
    Some(to)
}

//! The plan on paper and the window show the same drawing. Method: what the
//! window painted and what the paper holds are both taken back into cm, from
//! points and from mm, and compared thing by thing; words as they are written.
//! Rocks are drawn ones and a scanned one, cut where the window cuts them.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::sync::Arc;
use std::time::Instant;

use bommie::advice::AdviceInput;
use bommie::desk::{Action, Desk};
use bommie::document::Document;
use bommie::draw::ticks;
use bommie::plan::palette::{CORAL, INK, PAPER, WATER_LINE};
use bommie::plan::{Drawing, Mark, Paper, Picture, PlanInput, View, picture};
use bommie::scan::{Mesh, Unit, Wishes, import, rock};
use bommie::scene::Scene;
use bommie::storage::{demos, parse};
use bommie::ui::sheet::{Sheet, SheetContext};
use bommie::ui::theme::Theme;
use bommie::units::UnitSystem;
use egui::epaint::ColorMode;
use egui::{Shape, vec2};
use egui_kittest::Harness;
use glam::DVec2;

use crate::PATIENCE;

/// How many times smaller than the tank the paper is.
const SCALE: f64 = 5.0;
/// Lower left corner of a picture's view, from the left and from the foot of
/// the highest lamp or the tank, in mm.
const LEFT_MM: f64 = 11.0;
/// How far two of the same thing may lie apart, in cm: screen places are
/// rounded to a few millionths of a thousand points.
const SAME_CM: f64 = 0.02;

/// A drawing taken back into cm of the view.
#[derive(Default)]
struct Seen {
    /// Lines, each with what it is drawn or filled with.
    lines: Vec<(Look, Vec<DVec2>)>,
    /// Middles of circles.
    circles: Vec<DVec2>,
    words: Vec<String>,
}

/// What tells lines apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Look {
    /// The outline of a coral that nothing hides.
    Coral,
    /// The surface of the water.
    Surface,
    /// The outline of a rock.
    Rock,
    /// What the view's cut goes through of one.
    Section,
    Other,
}

/// Widths of the pens of rocks and their sections, in nibs.
const ROCK_PENS: [(f64, Look); 2] = [(1.5, Look::Rock), (2.0, Look::Section)];
/// A nib on paper, in mm.
const NIB_MM: f64 = 0.22;

/// What is drawn with a pen of this width, in nibs, and not filled.
fn rock_look(width: f64) -> Option<Look> {
    let mut pens = ROCK_PENS.into_iter();
    pens.find(|(wide, _)| (wide - width).abs() < 1e-6)
        .map(|(_, look)| look)
}

struct Open {
    desk: Desk,
    sheet: Sheet,
    theme: Theme,
}

impl Open {
    fn context(&self) -> SheetContext<'_> {
        SheetContext {
            desk: &self.desk,
            theme: &self.theme,
            motion: bommie::ui::STILL,
        }
    }
}

/// A demo with a scanned rock beside the drawn ones, turned and tilted.
fn demo() -> Scene {
    let demo = demos().first().expect("there is a demo");
    let mut scene = parse(demo.text, demo.file).expect("it reads").scene;
    let mesh = Mesh::read("wedge.stl", include_bytes!("../fuzz/corpus/wedge.stl"));
    let wishes = Wishes {
        unit: Some(Unit::In),
        ..Wishes::default()
    };
    let scan = import(&mesh.expect("a mesh"), wishes, &|_| true).expect("a shape");
    let mut rock = rock(scan.scan, (&scene.tank, &scene.layouts[0]), None);
    (rock.turn_deg, rock.tilt_deg) = (35.0, 12.0);
    // The levels through the middle of the tank go through it.
    let middle = DVec2::new(scene.tank.length_cm, scene.tank.width_cm) / 2.0;
    rock.at_cm = middle.extend(scene.layouts[0].pumps[0].at_cm.z - 2.0);
    scene.layouts[0].rocks.push(rock);
    scene
}

fn window(fill: Action) -> Harness<'static, Open> {
    let mut open = Open {
        desk: Desk::new(Document::new(demo(), None), Arc::new(|| {})),
        sheet: Sheet::new(),
        theme: Theme::day(),
    };
    for action in [Action::WashNone, fill] {
        let mut send = Vec::new();
        let mut sheet = std::mem::take(&mut open.sheet);
        sheet.act(action, &open.context(), &mut send);
        open.sheet = sheet;
        for command in send {
            open.desk.run(command);
        }
    }
    let look = open.theme.clone();
    let mut harness = Harness::builder()
        .with_size(vec2(1100.0, 800.0))
        .with_pixels_per_point(1.0)
        .with_context_setup(move |ctx| look.install(ctx))
        .build_ui_state(
            |ui, open: &mut Open| {
                let mut sheet = std::mem::take(&mut open.sheet);
                sheet.show(ui, &open.context(), &mut Vec::new());
                open.sheet = sheet;
            },
            open,
        );
    harness.run_steps(3);
    // Rocks are drawn coarsely at first, and finer a few ms a frame.
    let began = Instant::now();
    while harness.run_ok().is_none() {
        assert!(began.elapsed() < PATIENCE, "it is never all drawn");
    }
    harness
}

fn add_shape(seen: &mut Seen, shape: &Shape, to_cm: &dyn Fn(egui::Pos2) -> DVec2) {
    let theme = Theme::day();
    match shape {
        Shape::Vec(shapes) => shapes.iter().for_each(|it| add_shape(seen, it, to_cm)),
        Shape::Circle(circle) => seen.circles.push(to_cm(circle.center)),
        Shape::Path(path) => {
            let has = |color| path.stroke.color == ColorMode::Solid(color);
            let look = if has(theme.water_line) {
                Look::Surface
            } else if path.closed && has(theme.ink) && path.stroke.width == 1.1 {
                Look::Coral
            } else if path.closed
                && has(theme.ink)
                && let Some(look) = rock_look(path.stroke.width.into())
            {
                look
            } else {
                Look::Other
            };
            let points = path.points.iter().map(|p| to_cm(*p)).collect();
            seen.lines.push((look, points));
        }
        Shape::Text(text) => seen.words.push(text.galley.text().to_owned()),
        _ => {}
    }
}

/// What the window painted of a view.
fn on_screen(harness: &Harness<'_, Open>, view: View) -> Seen {
    let frame = harness.state().sheet.frame(view).expect("it is shown");
    let mut seen = Seen::default();
    for clipped in &harness.output().shapes {
        add_shape(&mut seen, &clipped.shape, &|pos| frame.flat_cm(pos));
    }
    seen
}

/// What the paper holds of a view.
fn on_paper(drawing: &Drawing, foot_mm: f64) -> Seen {
    let corner = DVec2::new(LEFT_MM, foot_mm);
    let to_cm = |at: &DVec2| (*at - corner) * DVec2::new(1.0, -1.0) * SCALE / 10.0;
    let mut seen = Seen::default();
    for mark in &drawing.marks {
        match mark {
            Mark::Text { text, .. } => seen.words.push(text.clone()),
            Mark::Shape { strokes, fill, pen } => {
                let look = if fill.is_some_and(|fill| fill.color == CORAL) {
                    Look::Coral
                } else if pen.is_some_and(|pen| pen.color == WATER_LINE) {
                    Look::Surface
                } else {
                    Look::Other
                };
                for stroke in strokes {
                    let width = pen.filter(|pen| pen.color == INK && fill.is_none());
                    let width = width.filter(|_| stroke.is_closed && stroke.points_mm.len() > 4);
                    let rock = width.and_then(|pen| rock_look(pen.width_mm / NIB_MM));
                    let look = rock.unwrap_or(look);
                    let points: Vec<DVec2> = stroke.points_mm.iter().map(to_cm).collect();
                    let middle = points.iter().sum::<DVec2>() / points.len() as f64;
                    let radius = points[0].distance(middle);
                    let is_round = |p: &DVec2| (p.distance(middle) - radius).abs() < 1e-6;
                    if points.len() > 8 && points.iter().all(is_round) {
                        seen.circles.push(middle);
                    }
                    seen.lines.push((look, points));
                }
            }
        }
    }
    seen
}

/// The same layout as a picture on paper, and where its foot lies.
fn plan(desk: &Desk, view: View) -> (Drawing, f64) {
    let study = desk.study();
    let advice = AdviceInput::of(study);
    let input = PlanInput {
        advice: &advice,
        solver: None,
        findings: &[],
        berths: &[],
        way: None,
        notes: &[],
        paper: Paper::A4,
        units: UnitSystem::Metric,
        with_tiles: false,
        levels: None,
    };
    let levels = desk.levels();
    let wanted = Picture {
        view,
        wash: None,
        level_cm: match view {
            View::Top => levels.height_cm,
            View::Side => levels.depth_cm,
            View::End => levels.across_cm,
        },
        scale: SCALE,
    };
    let drawing = picture(&input, &wanted).expect("ink needs no field");
    // Ten above the view, twenty below it.
    let foot_mm = drawing.size_mm.y - 20.0;
    (drawing, foot_mm)
}

fn is_same(a: &[DVec2], b: &[DVec2]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.distance(*b) < SAME_CM)
}

/// What must be on both: places where a circle is, lines by their number of
/// points, and words.
fn check(fill: Action, view: View) {
    let harness = window(fill);
    let desk = &harness.state().desk;
    let screen = on_screen(&harness, view);
    let (drawing, foot_mm) = plan(desk, view);
    let paper = on_paper(&drawing, foot_mm);
    let layout = desk.layout();
    let tank = &desk.scene().tank;

    // Pumps, and the tips of their arrows, which their law gives.
    let rockwork = desk.study().rockwork();
    for pump in &layout.pumps {
        let reach = bommie::flow::jet::reach(pump, tank, rockwork);
        for at_cm in [pump.at_cm, reach.tip_cm()] {
            let at = view.flat(at_cm);
            for (seen, name) in [(&screen, "screen"), (&paper, "paper")] {
                let has = seen.circles.iter().any(|c| c.distance(at) < SAME_CM);
                let is_short = view.flat(reach.tip_cm() - pump.at_cm).length() < 8.0;
                assert!(has || is_short, "{at} of pump {} on {name}", pump.id);
            }
        }
    }

    // Corals, rocks, their sections and the surface, point by point: none is on
    // one alone.
    for look in [Look::Coral, Look::Surface, Look::Rock, Look::Section] {
        let of = |seen: &Seen| {
            let lines = seen.lines.iter().filter(|(its, _)| *its == look);
            lines.map(|(_, line)| line.clone()).collect::<Vec<_>>()
        };
        let (screen, paper) = (of(&screen), of(&paper));
        assert_eq!(screen.len(), paper.len(), "{look:?} lines in {view:?}");
        let is_there = view != View::Top || look != Look::Surface;
        assert_eq!(!screen.is_empty(), is_there, "{look:?} in {view:?}");
        for (screen, paper) in screen.iter().zip(&paper) {
            assert!(is_same(screen, paper), "{look:?} in {view:?}: {screen:?}");
        }
    }

    // Each rock has its outline, and the level goes through the scanned one.
    let n_of = |look: Look| paper.lines.iter().filter(|(its, _)| *its == look).count();
    assert!(n_of(Look::Rock) >= layout.rocks.len(), "rocks in {view:?}");
    assert!(n_of(Look::Section) > 1, "sections in {view:?}");

    // Rulers count as one function says for the scale of each.
    let screen_scale = harness
        .state()
        .sheet
        .frame(view)
        .expect("it is shown")
        .scale;
    let scales = [(&screen, screen_scale), (&paper, 10.0 / SCALE / NIB_MM)];
    let size = view
        .size_cm(tank)
        .truncate()
        .with_y(tank.water_cm.min(tank.width_cm));
    for (seen, nibs_per_cm) in scales {
        let ticks = ticks([DVec2::ZERO, size], nibs_per_cm, UnitSystem::Metric);
        let mut numbers = ticks.into_iter().filter_map(|tick| tick.text);
        assert!(numbers.all(|it| seen.words.contains(&it)), "in {view:?}");
    }

    // What is said of jets and lamps.
    let is_said = |word: &&String| word.contains("cm/s") || word.contains("above the water");
    let said: Vec<&String> = screen.words.iter().filter(is_said).collect();
    for word in &said {
        assert!(paper.words.contains(word), "paper does not say {word:?}");
    }
    assert!(
        view == View::End || !said.is_empty(),
        "the screen says something"
    );
}

#[test]
fn the_top_view_is_on_paper_as_on_the_screen() {
    check(Action::FillTop, View::Top);
}

#[test]
fn the_side_view_is_on_paper_as_on_the_screen() {
    check(Action::FillSide, View::Side);
}

#[test]
fn the_end_view_is_on_paper_as_on_the_screen() {
    check(Action::FillEnd, View::End);
}

/// A view is cut at the same place, unless the keeper moves the cut.
#[test]
fn a_plan_is_cut_where_the_window_is() {
    for demo in demos() {
        let scene = parse(demo.text, demo.file).expect("it reads").scene;
        let paper = bommie::plan::Levels::of_layout(&scene, &scene.layouts[0]);
        let desk = Desk::new(Document::new(scene, None), Arc::new(|| {}));
        let screen = desk.levels();
        assert_eq!(
            [paper.top_cm, paper.side_cm, paper.end_cm],
            [screen.height_cm, screen.depth_cm, screen.across_cm],
            "{}",
            demo.file
        );
    }
}

/// Words stand on plates of thin paper: no two of a drawing share any of it,
/// and none is cut off.
#[test]
fn no_words_on_paper_lie_on_others() {
    for demo in demos() {
        let scene = parse(demo.text, demo.file).expect("it reads").scene;
        let desk = Desk::new(Document::new(scene, None), Arc::new(|| {}));
        for view in View::ALL {
            let (drawing, _) = plan(&desk, view);
            let plates: Vec<[DVec2; 2]> = drawing.marks.iter().filter_map(plate).collect();
            assert!(plates.len() > 4, "{} has words in {view:?}", demo.file);
            for (idx, [low, high]) in plates.iter().enumerate() {
                let is_whole = low.min_element() >= 0.0 && high.cmple(drawing.size_mm).all();
                assert!(is_whole, "{} {view:?}: {low} to {high}", demo.file);
                for [other_low, other_high] in &plates[..idx] {
                    let both = high.min(*other_high) - low.max(*other_low);
                    let is_apart = both.min_element() < 1e-9;
                    assert!(is_apart, "{} {view:?} at {low}", demo.file);
                }
            }
        }
    }
}

/// The low and high corner of a plate under words, in mm.
fn plate(mark: &Mark) -> Option<[DVec2; 2]> {
    let Mark::Shape { strokes, fill, .. } = mark else {
        return None;
    };
    let is_thin = fill.is_some_and(|fill| fill.color == PAPER && fill.opacity == 0.82);
    let [stroke] = strokes.as_slice() else {
        return None;
    };
    let points = &stroke.points_mm;
    let low = points.iter().fold(DVec2::INFINITY, |low, p| low.min(*p));
    let high = points.iter().fold(DVec2::NEG_INFINITY, |h, p| h.max(*p));
    (is_thin && points.len() == 4).then_some([low, high])
}

//! The booklet for moving day: letters, boxes and steps as wet hands need
//! them, places as a tape measures them, and a file that can be read aloud.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use bommie::advice;
use bommie::plan::{BookletInput, Document, Drawing, Held, Mark, Paper};
use bommie::scene::Scene;
use bommie::storage::{demos, parse};
use bommie::study::Study;
use bommie::units::UnitSystem;

use crate::answers::{IMPERIAL, METRIC, strangers};

/// The long wall, which comes in two layouts.
pub(crate) fn scene() -> Scene {
    let demo = demos().iter().find(|demo| demo.file == "long-wall.ron");
    let demo = demo.expect("the long wall");
    let scene = parse(demo.text, demo.file).expect("it reads").scene;
    assert!(scene.layouts.len() >= 2, "two layouts");
    scene
}

fn steps(scene: &Scene) -> Vec<advice::Move> {
    let study = |idx| Study::with_built_in(scene, idx).expect("there is a layout");
    advice::moves(&study(0), &study(1))
}

pub(crate) fn booklet(scene: &Scene, held: Held) -> Document {
    in_units(scene, held, UnitSystem::Metric)
}

fn in_units(scene: &Scene, held: Held, units: UnitSystem) -> Document {
    Document::booklet(&BookletInput {
        scene,
        from: &scene.layouts[0],
        to: &scene.layouts[1],
        steps: &steps(scene),
        paper: Paper::A4,
        held,
        units,
    })
}

fn words(page: &Drawing) -> Vec<(&str, f64)> {
    page.marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Text { text, hand, .. } => Some((text.as_str(), hand.size_mm)),
            Mark::Shape { .. } => None,
        })
        .collect()
}

/// Boxes to tick: squares of 6 mm drawn as closed outlines.
fn n_boxes(page: &Drawing) -> usize {
    let is_box = |mark: &&Mark| {
        let Mark::Shape {
            strokes,
            fill: None,
            pen: Some(_),
        } = mark
        else {
            return false;
        };
        let points = strokes.iter().flat_map(|stroke| &stroke.points_mm);
        let (low, high) = points.fold(
            (glam::DVec2::INFINITY, glam::DVec2::NEG_INFINITY),
            |(low, high), point| (low.min(*point), high.max(*point)),
        );
        (high - low - 6.0).abs().max_element() < 1e-9
    };
    page.marks.iter().filter(is_box).count()
}

#[test]
fn sheets_can_be_read_and_ticked_with_wet_hands() {
    let scene = scene();
    let n_steps = steps(&scene).len();
    assert!(n_steps > 4, "{n_steps} steps");
    for (held, size) in [
        (Held::Upright, [210.0, 297.0]),
        (Held::Across, [297.0, 210.0]),
    ] {
        let pages = booklet(&scene, held).pages();
        let first: Vec<&str> = words(&pages[0]).iter().map(|word| word.0).collect();
        assert_eq!(first[0], "Safety first", "before anything else");
        let mut n_seen = 0;
        for page in &pages {
            assert_eq!(page.size_mm.to_array(), size, "{held:?}");
            for (text, size_mm) in words(page) {
                // 14 points of 25.4/72 mm.
                assert!(size_mm >= 14.0 * 25.4 / 72.0, "{size_mm} mm: {text}");
            }
            for mark in &page.marks {
                let Mark::Shape { strokes, .. } = mark else {
                    continue;
                };
                let mut points = strokes.iter().flat_map(|stroke| &stroke.points_mm);
                let inside = points
                    .all(|it| it.cmpge(glam::DVec2::ZERO).all() && it.cmple(page.size_mm).all());
                assert!(inside, "nothing is drawn beside the sheet");
            }
            let title = words(page)[0].0.to_owned();
            if title.starts_with("From “") {
                let here = n_boxes(page);
                assert!((1..=8).contains(&here), "{here} steps on a sheet");
                assert_eq!(page.figures.len(), here, "each step has a picture");
                for figure in &page.figures {
                    assert!(figure.alt.len() > 20, "with words: {figure:?}");
                    assert!(figure.marks.len() > 5, "and lines: {figure:?}");
                }
                n_seen += here;
            }
        }
        assert_eq!(n_seen, n_steps, "each step has its box, {held:?}");
    }
}

#[test]
fn each_step_says_what_from_and_to_as_a_tape_measures_it() {
    let scene = scene();
    let pages = booklet(&scene, Held::Upright).pages();
    let all: Vec<String> = pages
        .iter()
        .flat_map(|page| {
            words(page)
                .into_iter()
                .map(|word| word.0.to_owned())
                .collect::<Vec<_>>()
        })
        .collect();
    let all = all.join(" ");
    for step in steps(&scene) {
        let rock = step.items.first().and_then(|id| {
            let rocks = scene.layouts.iter().flat_map(|layout| &layout.rocks);
            rocks.into_iter().find(|rock| rock.id == *id)
        });
        if let Some(rock) = rock.filter(|rock| !rock.name.is_empty()) {
            assert!(all.contains(&rock.name), "{} is named", rock.name);
        }
    }
    for part in [
        "From: ",
        "To: ",
        "pane",
        "above the sand",
        "kg in water",
        "residual-current device",
        "Common practice",
        "need: ",
        "there already",
        "Plug in",
        "at most 10 minutes in air",
        "Into the rock tub, wet",
    ] {
        assert!(all.contains(part), "no {part:?} in {all}");
    }
    assert!(!all.contains("-0"), "no sign before nothing");
}

#[test]
fn the_file_can_be_searched_and_read_aloud() {
    let scene = scene();
    let pdf = booklet(&scene, Held::Upright).pdf().expect("a PDF");
    let document = lopdf::Document::load_mem(&pdf).expect("it is read by another");
    let text: String = document
        .get_pages()
        .keys()
        .map(|page| document.extract_text(&[*page]).expect("text"))
        .collect();
    assert!(text.contains("Safety first"), "{text}");
    let catalog = document.catalog().expect("a catalog");
    assert!(
        catalog.get(b"StructTreeRoot").is_ok(),
        "it has a reading order"
    );
    assert!(catalog.get(b"Lang").is_ok(), "and says its language");
    let mut n_figures = 0;
    let mut headings = Vec::new();
    for object in document.objects.values() {
        let Ok(about) = object.as_dict() else {
            continue;
        };
        let kind = about
            .get(b"S")
            .and_then(lopdf::Object::as_name)
            .unwrap_or_default();
        if kind == b"Figure" {
            let alt = about.get(b"Alt").and_then(lopdf::Object::as_str);
            assert!(!alt.expect("words for those who do not see").is_empty());
            n_figures += 1;
        }
        if kind == b"H2" {
            let title = about.get(b"T").and_then(lopdf::Object::as_str);
            headings.push(String::from_utf8_lossy(title.unwrap_or_default()).into_owned());
        }
    }
    assert_eq!(n_figures, steps(&scene).len(), "a picture for each step");
    assert!(headings.len() > 4, "{headings:?}");
    let is_caution = |title: &&String| title.starts_with("Two people");
    assert_eq!(headings.iter().find(is_caution), None, "no heading");
    assert_eq!(
        pdf,
        booklet(&scene, Held::Upright).pdf().expect("a PDF"),
        "no clock"
    );
}

/// The same words in the order of the pages, lines joined.
fn all_words(document: &Document) -> String {
    let pages = document.pages();
    let each = pages.iter().flat_map(words).map(|word| word.0);
    each.collect::<Vec<_>>().join(" ")
}

/// Each step says where the water stands: 10 cm below full at first, lower by
/// what a rock took up once it is out, and back where it was when the same
/// rocks are in again.
#[test]
fn the_water_sinks_with_each_rock_that_is_lifted_and_rises_again() {
    let scene = scene();
    let said = all_words(&booklet(&scene, Held::Upright));
    let levels: Vec<f64> = said
        .split("Water: about ")
        .skip(1)
        .map(|rest| rest.split(' ').next().unwrap_or_default())
        .map(|number| number.parse().expect("a number"))
        .collect();
    assert_eq!(levels.len(), steps(&scene).len(), "each step says it");
    let start = scene.tank.water_cm - 10.0;
    assert_eq!(levels[0], start, "let down before the first step");
    let lowest = levels.iter().copied().fold(f64::INFINITY, f64::min);
    assert!(
        lowest < start,
        "rock that is out leaves its room: {levels:?}"
    );
    assert!(
        levels.iter().all(|level| *level <= scene.tank.water_cm),
        "and it never runs over: {levels:?}"
    );
}

/// A coral just below the surface stands in air once water is let down, and
/// the sheet says so before anything is done.
#[test]
fn corals_that_stand_out_of_the_water_are_named() {
    let mut scene = scene();
    let level_cm = scene.tank.water_cm - 10.0;
    let corals = scene.layouts.iter_mut().flat_map(|it| &mut it.corals);
    corals.for_each(|coral| coral.at_cm.z = 5.0);
    let said = all_words(&booklet(&scene, Held::Upright));
    assert!(!said.contains("Above that water stand"), "{said}");
    let coral = &mut scene.layouts[0].corals[0];
    coral.at_cm.z = level_cm - 1.0;
    "the tall one".clone_into(&mut coral.name);
    let said = all_words(&booklet(&scene, Held::Upright));
    assert!(
        said.contains("Above that water stand: the tall one."),
        "{said}"
    );
}

/// Moving day in the units of the tape at hand: new rock and pumps, weights,
/// levels, places, glue.
#[test]
fn a_booklet_speaks_the_units_of_the_keeper_alone() {
    let mut scene = scene();
    // A rock, a pump and a coral to be had first, so that their lines stand there.
    scene.layouts[0].rocks.remove(0);
    scene.layouts[0].pumps.remove(0);
    scene.layouts[0].corals.remove(0);
    for (units, strange) in [(UnitSystem::Us, METRIC), (UnitSystem::Metric, IMPERIAL)] {
        let said = all_words(&in_units(&scene, Held::Across, units));
        let found = strangers(&said.replace(". ", ".\n"), strange);
        assert!(found.is_empty(), "{units:?}: {found:#?}");
    }
    // 10 cm are 3.94 in, read on a tape as 4.
    let said = all_words(&in_units(&scene, Held::Across, UnitSystem::Us));
    assert!(said.contains("Let the water down by 4 in"), "{said}");
}

//! The booklet for moving day: letters, boxes and steps as wet hands need
//! them, places as a tape measures them, and a file that can be read aloud.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use bommie::advice;
use bommie::plan::{BookletInput, Document, Drawing, Held, Mark, Paper};
use bommie::scene::Scene;
use bommie::storage::{demos, parse};
use bommie::study::Study;

/// The long wall, which comes in two layouts.
fn scene() -> Scene {
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

fn booklet(scene: &Scene, held: Held) -> Document {
    Document::booklet(&BookletInput {
        scene,
        from: &scene.layouts[0],
        to: &scene.layouts[1],
        steps: &steps(scene),
        paper: Paper::A4,
        held,
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
                assert!(!page.alt.is_empty(), "pictures have words");
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
        "10 minutes",
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
    let mut n_headings = 0;
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
        n_headings += usize::from(kind == b"H2");
    }
    assert!(
        n_figures > 0 && n_headings > 4,
        "{n_figures} figures, {n_headings} headings"
    );
    assert_eq!(
        pdf,
        booklet(&scene, Held::Upright).pdf().expect("a PDF"),
        "no clock"
    );
}

//! The plan on paper as others read it. Method: an SVG, an HTML and a PDF
//! reader of other authors (roxmltree, lopdf) on plans of small scenes with
//! hand-made fields.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::sync::LazyLock;

use bommie::advice::{self, AdviceInput, BerthFilters, Finding};
use bommie::catalog::{Catalog, cautions};
use bommie::flow::{CellKind, ComputedOn, Estimate, FlowField, Settling};
use bommie::geometry::CellGrid;
use bommie::light::{LightOptions, LightSolver, Measured};
use bommie::plan::{
    BerthList, Block, Document, Drawing, Levels, Mark, Paper, Picture, PlanInput, View, WashKind,
    Way, picture,
};
use bommie::scene::{Layout, Outline, Quantity, Reading, Rock, Scene, solids};
use bommie::storage::parse;
use bommie::study::Study;
use bommie::units::UnitSystem;
use bommie::words::Speaker;
use glam::{DVec2, DVec3};

/// A study of a layout.
fn study(scene: &Scene, idx: usize) -> Study {
    Study::with_built_in(scene, idx).expect("there is a layout")
}

fn scene() -> Scene {
    let text = include_str!("../../scenes/harbour-office.ron");
    let mut scene = parse(text, "harbour-office.ron").expect("a demo").scene;
    let mut other = scene.layouts[0].clone();
    "moved".clone_into(&mut other.name);
    other.shift(&[1], DVec3::new(4.0, 0.0, 0.0));
    scene.layouts.push(other);
    scene
}

/// Water at 8 cm/s to the right, still in the right third.
fn flow(scene: &Scene, layout: &Layout) -> FlowField {
    let grid = CellGrid {
        origin_m: DVec3::ZERO,
        cell_m: 0.05,
        n: [24, 12, 10],
    };
    let rockwork = solids::rockwork(layout);
    let n = grid.n_cells();
    let centers = (0..n).map(|idx| grid.center_m(grid.ijk(idx)));
    let kind: Vec<CellKind> = centers
        .clone()
        .map(|at_m| match rockwork.contains(at_m) {
            true => CellKind::Rock,
            false if at_m.z < scene.tank.sand.depth_cm / 100.0 => CellKind::Sand,
            false => CellKind::Water,
        })
        .collect();
    let speed = |at_m: DVec3| if at_m.x > 0.8 { 0.005 } else { 0.08 };
    let speeds: Vec<f32> = centers
        .zip(&kind)
        .map(|(at_m, kind)| {
            if *kind == CellKind::Water {
                speed(at_m)
            } else {
                0.0
            }
        })
        .collect();
    FlowField {
        grid,
        estimate: Estimate::Tank,
        velocity_m_s: speeds.iter().map(|s| [*s, 0.0, 0.0]).collect(),
        fluctuation_m_s: vec![0.01; n],
        slow_share: vec![0.0; n],
        speed_half_width_m_s: vec![0.001; n],
        speed_m_s: speeds,
        kind,
        slow_limit_m_s: 0.02,
        settling: Settling {
            settled: true,
            averaged_s: 60.0,
            mean_speed_m_s: 0.06,
            mean_speed_half_width_m_s: 0.002,
            dead_share: 0.3,
            dead_share_half_width: 0.01,
            flip_share: 0.0,
        },
        computed_on: ComputedOn::default(),
        n_runs: 1,
        may_flip: Vec::new(),
        phases: Vec::new(),
        felt: bommie::flow::felt::FeltSource::default(),
    }
}

/// Hands `use_it` everything for a plan of a layout, with light from the lamps
/// alone.
fn with_plan<R>(scene: &Scene, idx: usize, use_it: impl FnOnce(&PlanInput<'_>) -> R) -> R {
    let study = study(scene, idx);
    let options = LightOptions {
        full: false,
        ..LightOptions::default()
    };
    let solver = LightSolver::new(&study, &Measured::new(), &options).expect("the lamps are sound");
    let field = flow(scene, study.layout());
    let light = solver.field(0.03, &|_| true);
    let light_at = |at_m: DVec3, facing: DVec3| solver.sample(at_m, Some(facing));
    let input = AdviceInput {
        flow: Some(&field),
        light: Some(&light),
        light_at: Some(&light_at),
        ..AdviceInput::of(&study)
    };
    let findings = advice::findings(&input);
    let entry = Catalog::built_in()
        .entry("caulastraea")
        .expect("in the catalog");
    let berths = advice::berths(&input, entry, 3, &BerthFilters::default());
    let list = [BerthList {
        entry,
        berths: &berths,
    }];
    let other = Study::with_built_in(scene, 1).ok();
    let other = other.as_ref().map(AdviceInput::of);
    use_it(&PlanInput {
        advice: &input,
        solver: Some(&solver),
        findings: &findings,
        berths: &list,
        way: other.as_ref().map(|other| Way {
            other,
            is_from: false,
        }),
        notes: &[],
        paper: Paper::A4,
        units: UnitSystem::Metric,
        with_tiles: false,
        levels: None,
    })
}

/// Text of a PDF's pages as a reader finds it, without its line breaks.
fn pdf_text(pdf: &[u8]) -> (Vec<String>, Vec<[f64; 2]>) {
    let document = lopdf::Document::load_mem(pdf).expect("a PDF file");
    let pages = document.get_pages();
    let sizes = pages.values().map(|id| {
        let page = document.get_dictionary(*id).expect("a page");
        let media = page.get(b"MediaBox").and_then(lopdf::Object::as_array);
        let side = |k: usize| {
            media.as_ref().expect("a size")[k]
                .as_float()
                .expect("a number")
        };
        [2, 3].map(|k| f64::from(side(k)) * 25.4 / 72.0)
    });
    let text = pages.keys().map(|number| {
        let text = document.extract_text(&[*number]).expect("text");
        text.replace('\n', " ")
    });
    (text.collect(), sizes.collect())
}

/// Letters alone: how lines and words are broken does not count.
fn letters(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).collect()
}

/// The demo's plan, drawn once for all that read it.
static DEMO: LazyLock<(Document, Vec<Finding>)> = LazyLock::new(|| plan_of(&scene()));

/// The same for other files of these tests.
pub(crate) fn demo() -> &'static Document {
    &DEMO.0
}

fn plan_of(scene: &Scene) -> (Document, Vec<Finding>) {
    with_plan(scene, 0, |input| {
        (Document::new(input), input.findings.to_vec())
    })
}

#[test]
fn every_finding_coral_and_caution_is_in_pdf_and_html() {
    let scene = scene();
    let (document, findings) = &*DEMO;
    let (pages, sizes) = pdf_text(&document.pdf().expect("a PDF"));
    let (pdf, html) = (letters(&pages.concat()), document.html());
    let parsed = letters(&html_text(&html));
    assert!(findings.len() > 5, "{} findings", findings.len());
    let coral_names = advice::stock_list(&study(&scene, 0));
    let speaker = Speaker::new(&scene, &scene.layouts[0], UnitSystem::Metric);
    let wanted = findings
        .iter()
        .map(|finding| speaker.finding(finding))
        .chain(coral_names.into_iter().map(|row| row.name))
        .chain(scene.layouts[0].rocks.iter().map(|rock| rock.name.clone()))
        .chain(cautions().iter().map(|caution| caution.text.clone()))
        .chain([
            "proves nothing safe".to_owned(),
            "How sure this is".to_owned(),
        ]);
    for text in wanted {
        assert!(pdf.contains(&letters(&text)), "not in the PDF: {text}");
        assert!(parsed.contains(&letters(&text)), "not in the HTML: {text}");
    }
    for size in sizes {
        // Points are rounded to single precision.
        assert!(
            (size[0] - 297.0).abs() < 0.01 && (size[1] - 210.0).abs() < 0.01,
            "{size:?}"
        );
    }
    let last = format!("sheet {0} of {0}", pages.len());
    assert!(
        letters(&pages[pages.len() - 1]).contains(&letters(&last)),
        "numbered"
    );
}

#[test]
fn steps_stand_in_the_order_in_which_they_are_done() {
    let scene = scene();
    let (document, _) = &*DEMO;
    let steps = advice::moves(&study(&scene, 0), &study(&scene, 1));
    assert!(steps.len() > 4, "{} steps", steps.len());
    let table = document.blocks.iter().find_map(|block| match block {
        Block::Table(table) if table.columns[0].title == "step" => Some(table),
        _ => None,
    });
    let rows = &table.expect("a table of steps").rows;
    let written: Vec<&str> = rows.iter().map(|row| row[3].text.as_str()).collect();
    let speaker =
        Speaker::new(&scene, &scene.layouts[1], UnitSystem::Metric).knowing(&scene.layouts[0]);
    let wanted: Vec<String> = steps.iter().map(|step| speaker.step(step)).collect();
    assert_eq!(written, wanted, "all, in order");
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let scene = scene();
    let (one, two) = (&DEMO.0, &plan_of(&scene).0);
    assert_eq!(one.html(), two.html(), "HTML");
    let pdf = |document: &Document| document.pdf().expect("a PDF");
    assert!(pdf(one) == pdf(two), "PDF");
    let mut changed = scene.clone();
    changed.layouts[0].rocks[0].at_cm.x += 0.1;
    let other = plan_of(&changed).0;
    assert_ne!(one.stamp, other.stamp, "another scene has another number");
}

/// A layout with one box of 10 × 20 × 8 cm in a bare tank.
fn boxed() -> Scene {
    let mut scene = scene();
    let square = |x: f64, y0: f64, y1: f64| Outline {
        points_cm: [(-x, y0), (x, y0), (x, y1), (-x, y1)]
            .map(DVec2::from)
            .to_vec(),
        ..Outline::default()
    };
    let rock = Rock {
        plan: square(5.0, -10.0, 10.0),
        front: square(5.0, 0.0, 8.0),
        end: None,
        scan: None,
        at_cm: DVec3::new(40.0, 30.0, 3.0),
        turn_deg: 0.0,
        rounding_cm: 0.0,
        bonded: None,
        ..scene.layouts[0].rocks[0].clone()
    };
    scene.layouts.truncate(1);
    scene.layouts[0].rocks = vec![rock];
    scene.layouts[0].corals.clear();
    scene.layouts[0].pumps.clear();
    scene.layouts[0].lamps.clear();
    scene
}

/// Size on paper of the rock in a view, in mm: of the one area in the rock's
/// color.
fn rock_size_mm(svg: &str) -> DVec2 {
    let document = roxmltree::Document::parse(svg).expect("XML");
    let rock = document
        .descendants()
        .find(|node| node.attribute("fill") == Some("#dbd1bd"))
        .expect("a rock");
    let path = rock.attribute("d").expect("a path");
    let numbers: Vec<f64> = path
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter(|part| !part.is_empty())
        .map(|part| part.parse().expect("a number"))
        .collect();
    let points = numbers.chunks_exact(2).map(|p| DVec2::new(p[0], p[1]));
    let (low, high) = points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| {
        (l.min(p), h.max(p))
    });
    high - low
}

#[test]
fn a_box_is_as_large_on_paper_as_the_scale_says() {
    let scene = boxed();
    with_plan(&scene, 0, |input| {
        for scale in [1.0, 5.0, 10.0, 20.0] {
            for (view, size_cm) in [
                (View::Top, DVec2::new(10.0, 20.0)),
                (View::Side, DVec2::new(10.0, 8.0)),
                (View::End, DVec2::new(20.0, 8.0)),
            ] {
                let drawing = picture(
                    input,
                    &Picture {
                        view,
                        wash: None,
                        level_cm: 10.0,
                        scale,
                    },
                );
                let svg = drawing.expect("no field is needed").svg();
                let found = rock_size_mm(&svg);
                // The outline is found on nodes half a millimeter of paper or a
                // 160th of the rock apart, and sharp corners are cut between them.
                let error = (found - size_cm * 10.0 / scale).abs().max_element();
                let node = 0.5_f64.max(200.0 / scale / 160.0);
                assert!(error < 0.5 * node, "{view:?} at 1:{scale}: {found} mm");
                assert_paper_size(&svg);
            }
        }
    });
}

/// The width and height in mm are those of the view box: one unit is one mm.
fn assert_paper_size(svg: &str) {
    let document = roxmltree::Document::parse(svg).expect("XML");
    let root = document.root_element();
    let side = |name: &str| {
        let text = root.attribute(name).expect("a size");
        text.strip_suffix("mm").expect("in mm").to_owned()
    };
    let expected = format!("0 0 {} {}", side("width"), side("height"));
    assert_eq!(root.attribute("viewBox"), Some(expected.as_str()), "units");
}

#[test]
fn washes_are_drawn_in_every_view_with_their_limits() {
    let scene = scene();
    with_plan(&scene, 0, |input| {
        let levels = Levels::of_layout(input.advice.scene, input.advice.layout);
        for (wash, limits) in [
            (WashKind::Flow, ["2", "26", "mean speed, cm/s"]),
            (WashKind::Light, ["15", "600", "PPFD facing up, µmol/m²/s"]),
        ] {
            for view in View::ALL {
                let drawing = picture(
                    input,
                    &Picture {
                        view,
                        wash: Some(wash),
                        level_cm: levels.of(view),
                        scale: 10.0,
                    },
                );
                let svg = drawing.expect("the field is there").svg();
                let document = roxmltree::Document::parse(&svg).expect("XML");
                let texts: Vec<&str> = document
                    .descendants()
                    .filter(|node| node.has_tag_name("text"))
                    .filter_map(|node| node.text())
                    .collect();
                for limit in limits {
                    assert!(texts.contains(&limit), "{limit} in {wash:?} {view:?}");
                }
            }
        }
    });
}

/// Where the water stands still, and only there, the flow wash has the color of
/// still water.
#[test]
fn still_water_lies_where_the_field_says() {
    let mut scene = boxed();
    scene.layouts[0].rocks.clear();
    with_plan(&scene, 0, |input| {
        let drawing = picture(
            input,
            &Picture {
                view: View::Top,
                wash: Some(WashKind::Flow),
                level_cm: 25.0,
                scale: 10.0,
            },
        );
        let drawing = drawing.expect("the field is there");
        // The second class covers what moves: up to x = 80 cm, within the 5 cm
        // over which the field changes.
        let color = bommie::plan::palette::FLOW[1].color;
        let moving = drawing.marks.iter().find_map(|mark| match mark {
            Mark::Shape {
                strokes,
                fill: Some(wash),
                ..
            } if wash.color == color => Some(strokes),
            _ => None,
        });
        let right_mm = moving
            .expect("something moves")
            .iter()
            .flat_map(|stroke| &stroke.points_mm)
            .map(|p| p.x)
            .fold(0.0, f64::max);
        let at_cm = right_mm - 11.0;
        assert!((at_cm - 80.0).abs() < 5.0, "moves up to {at_cm} cm");
    });
}

/// Dots of a picture, by an independent decoder.
fn dots(png: &[u8]) -> image::RgbImage {
    image::load_from_memory(png).expect("a PNG").to_rgb8()
}

#[test]
fn a_picture_in_dots_shows_what_the_drawing_says() {
    use bommie::plan::palette::{ACCENT, INK, Rgb};
    use bommie::plan::{Face, Hand, Pen, Wash};
    let mut drawing = Drawing::new(DVec2::new(40.0, 20.0), "test");
    let (a, b) = (DVec2::new(5.0, 5.0), DVec2::new(15.0, 12.0));
    drawing.rect(a, b, Some(Wash::full(ACCENT)), None);
    drawing.line(
        DVec2::new(20.0, 4.0),
        DVec2::new(20.0, 16.0),
        Pen::new(1.0, INK),
    );
    drawing.text(
        DVec2::new(30.0, 12.0),
        "H",
        Hand::new(Face::Bold, 10.0, INK).centered(),
    );
    let picture = dots(&drawing.png(10.0).expect("dots"));
    assert_eq!(picture.dimensions(), (400, 200), "10 dots a mm");
    let count = |Rgb(r, g, b): Rgb| {
        let is = |dot: &&image::Rgb<u8>| dot.0 == [r, g, b];
        picture.pixels().filter(is).count()
    };
    assert_eq!(count(ACCENT), 100 * 70, "10 × 7 mm");
    // The line of 12 mm with round ends, and an H: two stems and a bar.
    let n_ink = count(INK);
    let line = 10.0 * (120.0 + 10.0 * std::f64::consts::FRAC_PI_4);
    assert!(n_ink as f64 > line * 0.9 + 800.0, "{n_ink} dots of ink");
    assert!((n_ink as f64) < line + 3_000.0, "{n_ink} dots of ink");
    let middle = picture.get_pixel(300, 90);
    assert_eq!(
        middle.0,
        [INK.0, INK.1, INK.2],
        "the bar of the H is centered"
    );
    assert!(drawing.png(1e4).is_err(), "too many dots");
    assert!(drawing.png(0.0).is_err(), "no dots");
}

#[test]
fn hostile_names_do_no_harm_and_are_not_lost() {
    let mut scene = scene();
    let long = "ü".repeat(3_000);
    scene.name = "<script>alert('x')</script> & \"Ko\"".to_owned();
    scene.layouts[0].name = "]]> --> \u{0} \u{7} \n\r".to_owned();
    scene.layouts[0].corals[0].name = "珊瑚 <b> Коралл مرجان 🐠".to_owned();
    scene.layouts[0].corals[1].name.clone_from(&long);
    scene.layouts[0].rocks[0].name = "</svg><svg onload=x>".to_owned();
    scene.layouts[0].pumps[0].name = "&amp;".to_owned();
    let (document, _) = plan_of(&scene);
    let html = document.html();
    assert!(!html.contains("<script"), "a script came through");
    assert!(
        !html.contains("<b>") && !html.contains("<svg onload"),
        "markup came through"
    );
    let text = html_text(&html);
    for name in [
        "<script>alert('x')</script>",
        "珊瑚 <b> Коралл",
        "&amp;",
        &long,
    ] {
        assert!(text.contains(name), "lost: {name:.40}");
    }
    assert!(
        text.contains("letters that the typeface on paper lacks"),
        "said so"
    );
    let (pages, _) = pdf_text(&document.pdf().expect("a PDF"));
    let pdf = letters(&pages.concat());
    assert!(pdf.contains("Коралл"), "Cyrillic is in the typeface");
    // It is broken into lines, and by the foot of a page where it does not fit.
    let n_kept = pdf.chars().filter(|letter| *letter == 'ü').count();
    assert!(n_kept >= 3_000, "the long name kept {n_kept} letters");
    for page in document.pages() {
        assert_texts_on_paper(&page);
    }
}

/// Every text starts on its page.
fn assert_texts_on_paper(page: &Drawing) {
    for mark in &page.marks {
        if let Mark::Text { at_mm, text, .. } = mark {
            let is_on = at_mm.cmpge(DVec2::ZERO).all() && at_mm.cmple(page.size_mm).all();
            assert!(is_on, "{text:.30} stands at {at_mm}");
        }
    }
}

/// Text of the page's elements, as a strict XML reader finds it.
fn html_text(html: &str) -> String {
    // What HTML allows and XML does not: the declaration and void elements.
    let xml = html
        .replace("<!DOCTYPE html>", "")
        .replace("<meta charset=\"utf-8\">", "")
        .replace(
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">",
            "",
        );
    let document = roxmltree::Document::parse(&xml).expect("well formed");
    let texts = document.descendants().filter(|node| node.is_text());
    texts.filter_map(|node| node.text()).collect()
}

#[test]
fn tiles_cover_the_lid_at_full_size_and_overlap() {
    let scene = boxed();
    let pages = with_plan(&scene, 0, |input| {
        let with_tiles = PlanInput {
            with_tiles: true,
            levels: None,
            paper: Paper::Letter,
            ..*input
        };
        let document = Document::new(&with_tiles);
        let is_page = |block: &&Block| matches!(block, Block::Page(_));
        let n = document.blocks.iter().filter(is_page).count();
        let pages = document.pages();
        pages[pages.len() - n..].to_vec()
    });
    // 121 × 61 cm in steps of 279.4 − 20 − 10 = 249.4 and 185.9 mm.
    assert_eq!(pages.len(), 5 * 4, "tiles");
    let black = bommie::plan::palette::ROCK;
    let mut x_mm = Vec::new();
    for (idx, page) in pages.iter().enumerate() {
        assert_eq!(page.size_mm, Paper::Letter.size_mm(), "paper");
        for mark in &page.marks {
            if let Mark::Shape {
                strokes,
                fill: Some(wash),
                ..
            } = mark
                && wash.color == black
            {
                let points = strokes.iter().flat_map(|s| &s.points_mm);
                let column = (idx % 5) as f64;
                x_mm.extend(points.map(|p| p.x - 10.0 + 249.4 * column - 5.0));
            }
        }
    }
    let (low, high) = x_mm
        .into_iter()
        .fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(x), h.max(x)));
    // The box from 35 to 45 cm, outlined on nodes 1.25 mm apart.
    assert!(
        (low - 350.0).abs() < 0.7 && (high - 450.0).abs() < 0.7,
        "{low} to {high} mm"
    );
}

#[test]
fn a_comparison_says_who_is_better_and_what_to_do() {
    let scene = scene();
    let document = with_plan(&scene, 0, |first| {
        with_plan(&scene, 1, |second| Document::comparison(first, second))
    });
    let (pages, _) = pdf_text(&document.pdf().expect("a PDF"));
    let text = letters(&pages.concat());
    for wanted in [
        "A: as built",
        "B: moved",
        "dead water",
        "a tie",
        "Step by step from “as built” to “moved”",
    ] {
        assert!(text.contains(&letters(wanted)), "{wanted}");
    }
    let copy = with_plan(&scene, 0, |one| Document::comparison(one, one));
    let text = letters(&html_text(&copy.html()));
    assert!(text.contains("Nothinghastobemoved"), "a layout and itself");
}

#[test]
fn a_plan_without_fields_says_what_is_missing() {
    let scene = scene();
    let study = study(&scene, 0);
    let input = AdviceInput::of(&study);
    let notes = ["no flow in this report: it diverged".to_owned()];
    let document = Document::new(&PlanInput {
        advice: &input,
        solver: None,
        findings: &[],
        berths: &[],
        way: None,
        notes: &notes,
        paper: Paper::A4,
        units: UnitSystem::Metric,
        with_tiles: false,
        levels: None,
    });
    let text = html_text(&document.html());
    for wanted in [
        "The flow was not estimated",
        "The light was not estimated",
        "it diverged",
    ] {
        assert!(text.contains(wanted), "{wanted}");
    }
    document.pdf().expect("a PDF");
}

#[test]
fn readings_stand_on_paper_with_what_the_estimate_has_there() {
    let mut scene = scene();
    let reading = |at_cm: DVec3, quantity, value, alone| Reading {
        layout: None,
        at_cm,
        quantity,
        value: Some(value),
        spread: None,
        alone,
        drift: None,
        when: None,
    };
    let open_cm = DVec3::new(8.0, 8.0, scene.tank.water_cm - 6.0);
    let lamp = scene.layouts[0].lamps[0].id;
    let pump = scene.layouts[0].pumps[0].id;
    let (computed_umol, of_lamp_umol, computed_cm_s) = with_plan(&scene, 0, |input| {
        let solver = input.solver.expect("lit");
        let flow = input.advice.flow.expect("solved");
        let sample = flow.sample(open_cm * 0.01).expect("in the water");
        let of_each = solver.sample_of_each(open_cm * 0.01, None);
        (
            solver.sample(open_cm * 0.01, None).up_umol,
            of_each[0].up_umol * solver.outputs_umol_s()[0],
            sample.speed_m_s * 100.0,
        )
    });
    scene.readings = vec![
        // A fifth less than the estimate has, and twice of it.
        reading(open_cm, Quantity::PpfdUp, computed_umol / 1.25, None),
        reading(open_cm, Quantity::Speed, computed_cm_s * 2.0, None),
        // One lamp alone is known from its own light; one pump alone is not
        // estimated.
        reading(open_cm, Quantity::PpfdUp, of_lamp_umol, Some(lamp)),
        reading(open_cm, Quantity::Speed, 9.0, Some(pump)),
    ];
    let document = with_plan(&scene, 0, Document::new);
    let tables = document.tables();
    let find = |name: &str| {
        let table = tables.iter().find(|(other, _)| other == name);
        table.unwrap_or_else(|| panic!("no {name}")).1
    };
    let taken = find("readings-and-the-estimate");
    let off: Vec<&str> = taken.rows.iter().map(|row| row[6].text.as_str()).collect();
    assert_eq!(off, ["+25 %", "-50 %", "+0 %", ""], "estimate over reading");
    let marked: Vec<bool> = taken.rows.iter().map(|row| row[6].is_accent).collect();
    assert_eq!(marked, [true, true, false, false], "two spreads of a tenth");
    assert_eq!(taken.rows[3][5].text, "not known", "of one pump alone");
    assert!(find("to-fill-in").rows.len() >= 10, "lines for a pen");
    let text = html_text(&document.html());
    for wanted in ["How to take readings", "Sensor level", "Each pump alone"] {
        assert!(text.contains(wanted), "{wanted}");
    }
}

/// Plan and comparison are cut where the window is cut, in every view.
#[test]
fn every_drawing_is_cut_where_the_window_is() {
    let scene = scene();
    let at = Levels {
        top_cm: 17.0,
        side_cm: 23.0,
        end_cm: 31.0,
    };
    let documents = with_plan(&scene, 0, |first| {
        with_plan(&scene, 1, |second| {
            let [first, second] = [first, second].map(|input| PlanInput {
                levels: Some(at),
                ..*input
            });
            [Document::new(&first), Document::comparison(&first, &second)]
        })
    });
    for document in documents {
        let pages = document.pages();
        let marks = pages.iter().flat_map(|page| &page.marks);
        let words: Vec<&str> = marks
            .filter_map(|mark| match mark {
                Mark::Text { text, .. } => Some(text.as_str()),
                Mark::Shape { .. } => None,
            })
            .collect();
        for (view, level) in [("top, cut ", "17 cm"), ("side, cut ", "23 cm")] {
            let cuts = words.iter().filter_map(|words| words.strip_prefix(view));
            let cuts: Vec<&str> = cuts.collect();
            assert!(cuts.len() > 1, "{view}: {cuts:?}");
            let is_there = |words: &&str| words.starts_with(level);
            assert!(cuts.iter().all(is_there), "{view}: {cuts:?}");
        }
    }
}

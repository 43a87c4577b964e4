//! A photo of the tank under the drawing, by the page's labels: chosen, its
//! corners dragged, seen on the sheet where its tank has it, kept with the
//! scene, undone; a damaged one refused.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::path::Path;

use bommie::desk::Action;
use bommie::scene::{PhotoView, Underlay};
use bommie::storage::load;
use bommie::ui::sheet::View;
use bommie::ui::{App, text};
use egui::{Event, Key, Modifiers, PointerButton, Pos2, Role};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use glam::DVec2;
use image::{Rgb, RgbImage};

use crate::hand::{
    Window, click, desk, enter, press, run_by_words, scene, start, wait_for, window,
};

const SIZE: [u32; 2] = [400, 300];
/// The pane in the picture: left, right, upper and lower edge.
const PANE: [f64; 4] = [60.0, 340.0, 30.0, 250.0];
/// A red spot, as shares of the pane from its lower left corner.
const SPOT: DVec2 = DVec2::new(0.45, 0.8);

/// A photo taken straight on: gray, with a red spot on the pane.
fn photo(path: &Path) {
    let at = DVec2::new(
        PANE[0] + SPOT.x * (PANE[1] - PANE[0]),
        PANE[3] - SPOT.y * (PANE[3] - PANE[2]),
    );
    let picture = RgbImage::from_fn(SIZE[0], SIZE[1], |x, y| {
        let far = DVec2::new(f64::from(x), f64::from(y)).distance(at);
        Rgb(if far < 6.0 {
            [250, 10, 10]
        } else {
            [120, 130, 140]
        })
    });
    picture.save(path).expect("written");
}

fn choose(window: &mut Window, path: &Path) {
    run_by_words(window, Action::Photo);
    click(window, Role::Button, text::PHOTO_CHOOSE);
    let typed = path.display().to_string();
    enter(window, Role::TextInput, text::PATH_NAME, &typed);
    wait_for(window, "the photo", |window| !desk(window).reads_photos());
    window.run_steps(3);
}

fn underlay(window: &Window) -> Underlay {
    let scene = scene(window);
    scene.underlay(PhotoView::Front).expect("a photo").clone()
}

fn pointer(window: &mut Window, pos: Pos2, pressed: Option<bool>) {
    window.event(Event::PointerMoved(pos));
    if let Some(pressed) = pressed {
        window.event(Event::PointerButton {
            pos,
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        });
    }
    window.run_steps(2);
}

/// Drags the mark of a corner to a share of the picture.
fn drag_corner(window: &mut Window, k: usize, to: DVec2) {
    let mark = |window: &Window, k: usize| {
        let label = text::PHOTO_CORNERS[k];
        let node = window.get_by_role_and_label(Role::Slider, label);
        node.rect().center()
    };
    // Two marks and where they are say where the picture lies on the screen.
    let (now, corners) = ([mark(window, 0), mark(window, 2)], underlay(window).corners);
    let scale = (now[1] - now[0])
        / egui::vec2(
            (corners[2].x - corners[0].x) as f32,
            (corners[2].y - corners[0].y) as f32,
        );
    let way = to - corners[k];
    let from = mark(window, k);
    let end = from + egui::vec2(way.x as f32, way.y as f32) * scale;
    pointer(window, from, None);
    pointer(window, from, Some(true));
    pointer(window, from + (end - from) * 0.5, None);
    pointer(window, end, None);
    pointer(window, end, Some(false));
}

fn pane_corners() -> [DVec2; 4] {
    let [left, right, top, foot] = PANE;
    [(left, foot), (right, foot), (right, top), (left, top)]
        .map(|(x, y)| DVec2::new(x / f64::from(SIZE[0]), y / f64::from(SIZE[1])))
}

#[test]
fn a_photo_is_laid_under_the_side_view_and_goes_with_the_scene() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("tank.png");
    photo(&path);
    let mut window = window(start(false));
    let before = scene(&window);
    choose(&mut window, &path);
    assert_eq!(underlay(&window).file, "tank.png", "laid");
    for (k, to) in pane_corners().into_iter().enumerate() {
        drag_corner(&mut window, k, to);
        let off = (underlay(&window).corners[k] - to) * DVec2::new(400.0, 300.0);
        assert!(off.length() < 0.7, "corner {k} is {off} dots off");
    }
    // A dot to the right by key, and back by a step.
    let name = text::PHOTO_CORNERS[0];
    window.get_by_role_and_label(Role::Slider, name).focus();
    window.run_steps(2);
    let x = underlay(&window).corners[0].x;
    press(&mut window, Modifiers::NONE, Key::ArrowRight);
    assert!(underlay(&window).corners[0].x > x, "by key");
    click(&mut window, Role::CheckBox, text::PHOTO_LOCK);
    assert!(underlay(&window).locked, "locked");
    let held = underlay(&window).corners;
    drag_corner(&mut window, 1, DVec2::splat(0.5));
    assert_eq!(
        underlay(&window).corners,
        held,
        "the pointer leaves it alone"
    );
    click(&mut window, Role::Button, text::PHOTO_DONE);

    let home = tempfile::tempdir().expect("a folder");
    let saved = home.path().join("reef.ron");
    press(&mut window, Modifiers::COMMAND | Modifiers::SHIFT, Key::S);
    let typed = saved.display().to_string();
    enter(&mut window, Role::TextInput, text::PATH_NAME, &typed);
    let there = std::fs::read(home.path().join("tank.png")).expect("the photo went along");
    assert_eq!(there, std::fs::read(&path).expect("reads"), "as it was");
    let loaded = load(&saved).expect("it opens again").scene;
    let kept = loaded.underlay(PhotoView::Front).expect("with its photo");
    assert!(!kept.sum.is_empty(), "by its sum");
    assert_eq!(kept.corners, held, "and its corners");
    // One corner a step, the photo itself one step.
    for _ in 0..7 {
        press(&mut window, Modifiers::COMMAND, Key::Z);
    }
    assert_eq!(scene(&window).underlays, before.underlays, "all undone");
}

#[test]
fn the_sheet_shows_the_photo_where_its_tank_has_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("tank.png");
    photo(&path);
    let start = start(false);
    let mut window: Window = Harness::builder()
        .with_size([1440.0, 900.0])
        .wgpu()
        .build_eframe(move |creation| App::new(creation, &start));
    window.run_steps(4);
    choose(&mut window, &path);
    let mut laid = underlay(&window);
    // Things on the pane itself are seen without any bend, whatever the lens.
    (laid.corners, laid.plane_cm, laid.opacity) = (pane_corners(), 0.0, 1.0);
    let change = bommie::desk::Change::Underlay(PhotoView::Front, Some(Box::new(laid)));
    let edit = bommie::desk::Command::Edit("photo".to_owned(), change);
    window.state_mut().send(edit);
    click(&mut window, Role::Button, text::PHOTO_DONE);
    press(&mut window, Modifiers::NONE, Key::Num0);
    window.run_steps(6);
    let picture = window.render().expect("a picture");
    let tank = scene(&window).tank.clone();
    let frame = window.state().sheet().frame(View::Side).expect("shown");
    let at = |share: DVec2| {
        let pos = frame.pos_flat(share * DVec2::new(tank.length_cm, tank.height_cm));
        let pixel = picture.get_pixel(pos.x.round() as u32, pos.y.round() as u32);
        [0, 1, 2].map(|k| i32::from(pixel.0[k]))
    };
    let [r, g, b] = at(SPOT);
    assert!(r > g + 120 && r > b + 120, "the spot is red: {r} {g} {b}");
    // Two centimeters beside it is the gray of the rest.
    let [r, g, b] = at(SPOT + DVec2::new(0.045, 0.0));
    assert!(
        (r - 120).abs() < 12 && (g - 130).abs() < 12 && (b - 140).abs() < 12,
        "{r} {g} {b}"
    );
    press(&mut window, Modifiers::NONE, Key::Num8);
    let picture = window.render().expect("a picture");
    let pos = frame.pos_flat(SPOT * DVec2::new(tank.length_cm, tank.height_cm));
    let hidden = picture.get_pixel(pos.x.round() as u32, pos.y.round() as u32);
    assert!(i32::from(hidden.0[1]) > 200, "key 8 hides it: {hidden:?}");
}

#[test]
fn a_damaged_photo_is_named_with_the_way_out_and_changes_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("half.png");
    photo(&path);
    let whole = std::fs::read(&path).expect("reads");
    std::fs::write(&path, &whole[..60]).expect("written");
    let mut window = window(start(false));
    let before = scene(&window);
    choose(&mut window, &path);
    let said = desk(&window).photo_fault().expect("a word").to_owned();
    assert!(
        said.contains("half.png") && said.contains("again"),
        "{said}"
    );
    let shown = window.query_all_by_label_contains("half.png").next();
    assert!(shown.is_some(), "and on the page");
    assert_eq!(scene(&window), before, "nothing changed");
}

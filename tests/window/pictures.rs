//! A few pictures of the drawing itself, in ink only: what no label tells.
//! After a wanted change write them anew with `UPDATE_SNAPSHOTS=1 cargo test
//! --test window pictures::`, look at each, and say in the commit what changed.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::sync::Arc;
use std::time::Instant;

use bommie::desk::{Action, Desk};
use bommie::document::Document;
use bommie::scene::Scene;
use bommie::storage::parse;
use bommie::ui::sheet::{Sheet, SheetContext};
use bommie::ui::small_plan;
use bommie::ui::theme::Theme;
use bommie::ui::{App, Start};
use egui::{Key, Modifiers, Role, Vec2};
use egui_kittest::kittest::Queryable as _;
use egui_kittest::wgpu::WgpuTestRenderer;
use egui_kittest::{Harness, SnapshotOptions};

use crate::PATIENCE;

/// Size of a picture, in points and pixels.
const SIZE: [f32; 2] = [400.0, 280.0];
/// Frames until words have come and gone; rocks and washes take what they take.
const FRAMES: usize = 90;
/// How far a pixel may be off, as a squared distance of colors in which one step
/// of gray in 256 is 0.5. On one driver pictures are the same to the bit; the
/// software drivers by Vulkan and by OpenGL round some 15 pixels differently,
/// by one or two steps, which is up to 2.0. A drawing that is one pixel off has
/// thousands of pixels above 10.
const THRESHOLD: f32 = 2.5;
/// Pixels that may be farther off: none, since a lost dot is a lost dot.
const MAX_FAILED_PIXELS: usize = 0;

fn scene() -> Scene {
    let text = include_str!("../data/picture.ron");
    let loaded = parse(text, "picture.ron");
    loaded.expect("the scene of the pictures reads").scene
}

/// What draws the pictures.
///
/// # Panics
/// Without any graphics driver: a picture that was not drawn is not right.
fn renderer() -> WgpuTestRenderer {
    std::panic::catch_unwind(WgpuTestRenderer::new).unwrap_or_else(|_| {
        panic!(
            "no graphics driver, so no pictures to compare: install one that draws \
             in software (Debian: mesa-vulkan-drivers), as tests/all.sh does"
        )
    })
}

fn compare<State>(mut harness: Harness<'_, State>, name: &str) {
    harness.run_steps(FRAMES);
    let began = Instant::now();
    while harness.run_ok().is_none() {
        assert!(began.elapsed() < PATIENCE, "{name}: it is never all drawn");
    }
    let options = SnapshotOptions::new()
        .threshold(THRESHOLD)
        .max_failed_pixels(MAX_FAILED_PIXELS)
        .output_path("tests/data");
    if let Err(error) = harness.try_snapshot_options(name, &options) {
        panic!("{name}: the drawing is not as it was: {error}");
    }
}

/// One view alone, without wash, tracers or light.
fn check_view(name: &str, fill: Action, theme: Theme) {
    let mut desk = Desk::new(Document::new(scene(), None), Arc::new(|| {}));
    let mut sheet = Sheet::new();
    for action in [Action::WashNone, fill] {
        let context = SheetContext {
            desk: &desk,
            theme: &theme,
            motion: bommie::ui::STILL,
        };
        let mut send = Vec::new();
        sheet.act(action, &context, &mut send);
        for command in send {
            desk.run(command);
        }
    }
    let look = theme.clone();
    let harness = Harness::builder()
        .with_size(SIZE)
        .with_pixels_per_point(1.0)
        .with_context_setup(move |ctx| look.install(ctx))
        .renderer(renderer())
        .build_ui(move |ui| {
            ui.painter().rect_filled(ui.max_rect(), 0.0, theme.paper);
            let context = SheetContext {
                desk: &desk,
                theme: &theme,
                motion: bommie::ui::STILL,
            };
            sheet.show(ui, &context, &mut Vec::new());
        });
    compare(harness, name);
}

#[test]
fn the_top_view_by_day_is_as_it_was() {
    check_view("picture_top", Action::FillTop, Theme::day());
}

#[test]
fn the_side_view_by_night_is_as_it_was() {
    check_view("picture_side", Action::FillSide, Theme::night());
}

#[test]
fn the_small_plan_of_a_scene_is_as_it_was() {
    let theme = Theme::day();
    let scene = scene();
    let harness = Harness::builder()
        .with_size([150.0, 110.0])
        .with_pixels_per_point(1.0)
        .renderer(renderer())
        .build_ui(move |ui| {
            ui.painter().rect_filled(ui.max_rect(), 0.0, theme.paper);
            small_plan::show(ui, &theme, &scene, Vec2::new(120.0, 80.0));
        });
    compare(harness, "picture_plan");
}

/// The whole window at half its size, on one view alone: the turning view comes
/// from a job of its own, whenever that is done.
fn check_window(name: &str, size: [f32; 2], keys: &[Key]) {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/picture.ron");
    let start = Start {
        path: Some(path.into()),
        folder: None,
        has_dialogs: false,
        is_live: false,
    };
    let mut harness = Harness::builder()
        .with_size(size)
        .with_pixels_per_point(0.5)
        .renderer(renderer())
        .build_eframe(move |creation| App::new(creation, &start));
    harness.run_steps(4);
    for key in keys {
        harness.key_press_modifiers(Modifiers::NONE, *key);
        harness.run_steps(4);
    }
    // What the scene was opened with is a word about this machine's folders.
    harness
        .get_by_role_and_label(Role::Link, bommie::ui::text::CLOSE)
        .click();
    harness.run_steps(4);
    // Where that word stood hangs on the length of the path, and with it the
    // pointer, which is drawn too.
    harness.event(egui::Event::PointerGone);
    compare(harness, name);
}

#[test]
fn the_window_at_a_common_size_is_as_it_was() {
    check_window("window_common", [1440.0, 900.0], &[Key::F6]);
}

#[test]
fn a_smaller_window_in_inches_is_as_it_was() {
    check_window("window_inches", [1100.0, 700.0], &[Key::F5, Key::U]);
}

/// Words twice their size leave half the points of a common screen.
#[test]
fn the_window_at_the_largest_text_is_as_it_was() {
    check_window("window_largest", [720.0, 450.0], &[Key::F6]);
}

//! How much of the window the drawing has, measured from where it lies.

use bommie::desk::Action;
use bommie::ui::sheet::View;
use egui::{Key, Modifiers, Rect, Role};
use egui_kittest::kittest::Queryable as _;
use glam::DVec2;

use crate::hand::{self, Window, press, run_by_words, scene, sized_window};

/// The tank on the screen in a view, in points; nothing where the view is not
/// shown.
fn tank_rect(window: &Window, view: View) -> Rect {
    let tank = scene(window).tank.clone();
    let Some(frame) = window.state().sheet().frame(view) else {
        return Rect::ZERO;
    };
    let high_cm = match view {
        View::Top => DVec2::new(tank.length_cm, tank.width_cm),
        View::Side => DVec2::new(tank.length_cm, tank.height_cm),
        View::End => DVec2::new(tank.width_cm, tank.height_cm),
    };
    let rect = frame.rect_between(DVec2::ZERO, high_cm);
    rect.intersect(frame.rect)
}

/// Share of the window that the tank covers in top and side view together.
fn share(window: &Window, [width, height]: [f32; 2]) -> f32 {
    let areas = [View::Top, View::Side].map(|view| tank_rect(window, view).area());
    (areas[0] + areas[1]) / (width * height)
}

fn window(size: [f32; 2]) -> Window {
    sized_window(hand::start(false), size)
}

#[test]
fn the_tank_has_a_third_of_the_window_and_more_than_half_when_panels_are_folded() {
    let common = [1440.0, 900.0];
    let mut shown = window(common);
    let open = share(&shown, common);
    assert!(open >= 0.30, "{:.1} % with every panel", open * 100.0);
    press(&mut shown, Modifiers::NONE, Key::F9);
    let folded = share(&shown, common);
    assert!(folded >= 0.55, "{:.1} % when folded", folded * 100.0);
    press(&mut shown, Modifiers::NONE, Key::F9);
    assert_eq!(share(&shown, common), open, "and back");

    let large = [1920.0, 1080.0];
    let larger = share(&window(large), large);
    assert!(larger > open, "{:.1} % at 1920×1080", larger * 100.0);
    let small = [1100.0, 700.0];
    let smaller = share(&window(small), small);
    assert!(smaller > 0.25, "{:.1} % at 1100×700", smaller * 100.0);
}

/// A cube is as deep as it is long: its views stand beside each other.
#[test]
fn a_cube_has_a_third_of_the_window_as_well() {
    let size = [1440.0, 900.0];
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/scenes/window-seat.ron");
    let start = bommie::ui::Start {
        path: Some(path.into()),
        ..hand::start(false)
    };
    let mut shown = sized_window(start, size);
    let tank = scene(&shown).tank.clone();
    assert_eq!(tank.length_cm, tank.width_cm, "as deep as it is long");
    let open = share(&shown, size);
    assert!(open >= 0.30, "{:.1} % with every panel", open * 100.0);
    press(&mut shown, Modifiers::NONE, Key::F9);
    let folded = share(&shown, size);
    assert!(folded > open, "{:.1} % when folded", folded * 100.0);
}

#[test]
fn at_the_largest_text_there_is_still_a_drawing_with_status_and_undo() {
    let mut shown = window([1440.0, 900.0]);
    for _ in 0..8 {
        run_by_words(&mut shown, Action::LargerText);
    }
    let scale = shown.state().choices().text_scale;
    assert_eq!(scale, 2.0, "twice");
    let wide = tank_rect(&shown, View::Top).width() * scale;
    assert!(wide >= 600.0, "{wide} pixels wide");
    let in_sight = Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(720.0, 450.0));
    let undo = shown.get_by_role_and_label(Role::Button, "undo").rect();
    let status = shown
        .get_by_role_and_label(Role::Label, bommie::ui::text::LOOKING)
        .rect();
    for (name, rect) in [("undo", undo), ("status", status)] {
        assert!(in_sight.contains_rect(rect), "{name} at {rect}");
    }
    assert!(!undo.intersects(status), "{undo} and {status}");
    press(&mut shown, Modifiers::COMMAND, Key::Num0);
    assert_eq!(shown.state().choices().text_scale, 1.0, "back to the usual");
}

#[test]
fn a_lamp_and_its_height_rescale_nothing() {
    let mut shown = window([1440.0, 900.0]);
    let before = View::ALL.map(|view| tank_rect(&shown, view));
    run_by_words(&mut shown, Action::AddPendant);
    hand::enter(
        &mut shown,
        Role::SpinButton,
        bommie::ui::text::HEIGHT,
        "140 cm",
    );
    let after = View::ALL.map(|view| tank_rect(&shown, view));
    assert_eq!(before, after, "the drawing stays where it is");
}

#[test]
fn any_view_fills_the_sheet_by_its_mark_and_goes_back() {
    let mut shown = window([1440.0, 900.0]);
    let usual = tank_rect(&shown, View::Side);
    hand::click(&mut shown, Role::Button, Action::FillSide.label());
    let alone = tank_rect(&shown, View::Side);
    assert!(alone.area() > 1.3 * usual.area(), "{alone} after {usual}");
    assert_eq!(
        tank_rect(&shown, View::Top),
        Rect::ZERO,
        "the others are gone"
    );
    hand::click(&mut shown, Role::Button, Action::AllViews.label());
    assert_eq!(tank_rect(&shown, View::Side), usual, "as before");
}

#[test]
fn borders_move_by_keys_and_are_remembered() {
    let mut shown = window([1440.0, 900.0]);
    let before = tank_rect(&shown, View::Top);
    let border = bommie::ui::text::FINDINGS_BORDER;
    shown.get_by_role_and_label(Role::Slider, border).focus();
    shown.run_steps(2);
    for _ in 0..5 {
        press(&mut shown, Modifiers::NONE, Key::ArrowDown);
    }
    let sizes = shown.state().choices().panels;
    assert!(sizes.findings.is_some(), "kept with the choices: {sizes:?}");
    let after = tank_rect(&shown, View::Top);
    assert!(after.height() >= before.height(), "{after} after {before}");
    let text = ron::to_string(shown.state().choices()).expect("writes");
    let read: bommie::ui::Choices = ron::from_str(&text).expect("reads");
    assert_eq!(read.panels, sizes, "and read back");
}

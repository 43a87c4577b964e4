//! Light in the window, by its labels: readings against the estimate, measured
//! lamps, the wash on surfaces.

use std::path::PathBuf;
use std::sync::Arc;

use bommie::desk::{Action, NoticeKind};
use bommie::scene::{Item, Lamp, Output, Scene, Spread};
use bommie::ui::sheet::Wash;
use bommie::ui::text;
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

use crate::hand::{
    Window, click_until, enter, press, run_by_words, scene, select, start, wait_for, window,
};

fn selected_lamp(window: &Window) -> Lamp {
    match window.state().desk().selected_item() {
        Some(Item::Lamp(lamp)) => lamp,
        other => panic!("a lamp is selected, not {other:?}"),
    }
}

/// Gives a measured lamp file by hand.
fn give_lamp_file(window: &mut Window, path: &str) {
    run_by_words(window, Action::MeasuredLamp);
    let field = window.get_by_role_and_label(Role::TextInput, text::PATH_NAME);
    field.focus();
    window.run_steps(3);
    press(window, Modifiers::COMMAND, Key::A);
    window.event(egui::Event::Text(path.to_owned()));
    window.run_steps(2);
    press(window, Modifiers::NONE, Key::Enter);
}

fn data(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(file)
}

#[test]
fn readings_stand_beside_the_estimate_and_a_lamp_takes_their_factor() {
    let mut window = window(start(true));
    press(&mut window, Modifiers::NONE, Key::Escape);
    window
        .get_by_role_and_label(Role::Button, "reading")
        .click();
    window.run_steps(4);
    // A place alone counts for nothing: what was read there is the keeper's to say.
    run_by_words(&mut window, Action::Readings);
    let value = text::of_reading(text::VALUE, 1);
    enter(&mut window, Role::SpinButton, &value, "185");
    press(&mut window, Modifiers::NONE, Key::Escape);
    let has_check = |window: &Window| {
        let readings = &window.state().desk().results().readings;
        readings.of(0).is_some_and(|check| check.computed.is_some()) && !readings.lamps.is_empty()
    };
    wait_for(&mut window, "the reading's estimate", |window| {
        has_check(window)
    });
    let before = scene(&window);
    press(&mut window, Modifiers::COMMAND, Key::R);
    let checks = Arc::clone(&window.state().desk().results().readings);
    let seen = checks.lamps.iter().find(|lamp| lamp.is_seen);
    let factor = *seen.expect("a lamp shines on the middle of the tank");
    let Some(Item::Lamp(lamp)) = window.state().desk().layout().item(factor.id) else {
        panic!("the factor is of a lamp");
    };
    let link = text::take_factor(&lamp.name);
    click_until(&mut window, (Role::Link, &link), |window| {
        scene(window) != before
    });
    let umol_s = |scene: &Scene| {
        let lamps = &scene.layouts[0].lamps;
        let lamp = lamps.iter().find(|lamp| lamp.id == factor.id);
        match lamp.expect("it is still there").output {
            Output::Photons { umol_s } => umol_s,
            other => panic!("the demo's lamps give photons, not {other:?}"),
        }
    };
    let after = scene(&window);
    let ratio = umol_s(&after) / umol_s(&before);
    // The factor may have been refined by the fine map in between.
    assert!((ratio / factor.factor - 1.0).abs() < 0.05, "{ratio}");
    assert_eq!(after.readings, before.readings, "raw readings stay");
    press(&mut window, Modifiers::NONE, Key::Escape);
    press(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(scene(&window), before, "one step back");
}

#[test]
fn a_measured_lamp_file_goes_to_the_selected_lamp_and_a_bad_one_changes_nothing() {
    let mut window = window(start(false));
    let untouched = scene(&window);
    give_lamp_file(&mut window, &data("light_cos80.ies").display().to_string());
    let told = window.state().desk().notices().last().cloned();
    let told = told.expect("a word about which lamp is meant");
    assert_eq!(told.kind, NoticeKind::Warning, "two lamps, none selected");
    assert_eq!(scene(&window), untouched, "nothing changed");
    select(&mut window, "right panel");
    give_lamp_file(&mut window, &data("light_cos80.ies").display().to_string());
    let measured = Spread::measured("light_cos80.ies".to_owned());
    assert_eq!(selected_lamp(&window).spread, measured, "taken over");
    let good = scene(&window);

    let folder = tempfile::tempdir().expect("a folder");
    let broken = folder.path().join("broken.ies");
    let whole = std::fs::read_to_string(data("light_cos80.ies")).expect("reads");
    std::fs::write(&broken, &whole[..whole.len() / 2]).expect("written");
    give_lamp_file(&mut window, &broken.display().to_string());
    let told = window.state().desk().notices().last().cloned();
    let told = told.expect("the fault is told");
    assert_eq!(told.kind, NoticeKind::Error, "{told:?}");
    assert!(told.details.contains("line"), "with its line: {told:?}");
    assert_eq!(scene(&window), good, "nothing changed");
    press(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(scene(&window), untouched, "one step back");
}

#[test]
fn the_light_can_be_shown_on_surfaces_only() {
    let mut window = window(start(false));
    run_by_words(&mut window, Action::LightOnSurfaces);
    assert!(window.state().sheet().is_surface_light(), "on surfaces");
    assert_eq!(window.state().sheet().wash(), Wash::Light, "by light");
    window
        .get_by_role_and_label(Role::Button, text::LIT_WATER)
        .click();
    window.run_steps(3);
    assert!(!window.state().sheet().is_surface_light(), "in the water");
}

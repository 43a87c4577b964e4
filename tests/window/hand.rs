//! The window in a keeper's hands, for all tests of it: opening one, pressing,
//! clicking, typing.

use std::sync::Arc;
use std::time::{Duration, Instant};

use bommie::desk::{Action, Desk};
use bommie::scene::Scene;
use bommie::ui::{App, Start};
use egui::{Event, Key, Modifiers, Role, Vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;

use crate::PATIENCE;

pub(crate) type Window = Harness<'static, App>;

/// A start on the first demo that keeps nothing and asks by hand for paths.
pub(crate) fn start(is_live: bool) -> Start {
    Start {
        path: None,
        folder: None,
        has_dialogs: false,
        is_live,
    }
}

/// A window of a common size.
pub(crate) fn window(start: Start) -> Window {
    sized_window(start, [1440.0, 900.0])
}

/// A window of this size, in points.
pub(crate) fn sized_window(start: Start, size: impl Into<Vec2>) -> Window {
    let mut window = Harness::builder()
        .with_size(size)
        .build_eframe(move |creation| App::new(creation, &start));
    window.run_steps(4);
    window
}

pub(crate) fn desk(window: &Window) -> &Desk {
    window.state().desk()
}

pub(crate) fn scene(window: &Window) -> Arc<Scene> {
    Arc::clone(desk(window).scene())
}

pub(crate) fn press(window: &mut Window, modifiers: Modifiers, key: Key) {
    window.key_press_modifiers(modifiers, key);
    window.run_steps(4);
}

pub(crate) fn click(window: &mut Window, role: Role, label: &str) {
    window.get_by_role_and_label(role, label).click();
    window.run_steps(4);
}

/// Types into the named field in place of what stands there, and enters it.
pub(crate) fn enter(window: &mut Window, role: Role, label: &str, typed: &str) {
    window.get_by_role_and_label(role, label).focus();
    window.run_steps(3);
    press(window, Modifiers::COMMAND, Key::A);
    window.event(Event::Text(typed.to_owned()));
    window.run_steps(2);
    press(window, Modifiers::NONE, Key::Enter);
}

/// Runs a command from the searchable list, by its words.
pub(crate) fn run_by_words(window: &mut Window, action: Action) {
    press(window, Modifiers::COMMAND, Key::K);
    window.event(Event::Text(action.label().to_owned()));
    window.run_steps(2);
    press(window, Modifiers::NONE, Key::Enter);
}

/// Selects a thing by its name in the stock list.
pub(crate) fn select(window: &mut Window, name: &str) {
    run_by_words(window, Action::Stocklist);
    click(window, Role::Link, name);
}

/// Steps a window until it asks for no further frame at once: rocks and washes
/// are drawn a few a frame, as time allows, so frames alone say nothing. Only
/// for a window that solves nothing.
pub(crate) fn come_to_rest(window: &mut Window) {
    wait_for(window, "all to be drawn", |window| {
        window.run_ok().is_some()
    });
}

/// Clicks until what it is for has come about: in a window that solves, a newer
/// answer may move the thing away while the mouse is on its way.
pub(crate) fn click_until(
    window: &mut Window,
    (role, label): (Role, &str),
    mut is_done: impl FnMut(&Window) -> bool,
) {
    wait_for(window, label, |window| {
        if !is_done(window) {
            if let Some(node) = window.query_all_by_role_and_label(role, label).next() {
                node.click();
            }
            window.run_steps(4);
        }
        is_done(window)
    });
}

/// Steps a window until something is there, or what is tried succeeds.
pub(crate) fn wait_for(
    window: &mut Window,
    what: &str,
    mut is_there: impl FnMut(&mut Window) -> bool,
) {
    let began = Instant::now();
    while !is_there(window) {
        assert!(began.elapsed() < PATIENCE, "waited in vain for {what}");
        window.step();
        std::thread::sleep(Duration::from_millis(20));
    }
}

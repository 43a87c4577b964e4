//! The window by its labels, as a screen reader sees it: no GPU and no display.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::path::{Path, PathBuf};

use bommie::advice::Finding;
use bommie::desk::{Action, NoticeKind, UnitSystem};
use bommie::scene::{Item, Scene};
use bommie::storage;
use bommie::ui::{Choices, Start, text};
use bommie::words::Speaker;
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

use crate::hand::{self, Window, click, enter, press, run_by_words, scene, select, wait_for};

/// A window on the first demo that keeps nothing and solves nothing.
fn still_window() -> Window {
    hand::window(hand::start(false))
}

fn start(path: Option<PathBuf>, folder: Option<&Path>) -> Start {
    Start {
        path,
        folder: folder.map(Path::to_owned),
        ..hand::start(false)
    }
}

fn n_items(scene: &Scene) -> usize {
    let layout = &scene.layouts[0];
    layout.ids().count() + scene.tank.returns.len() + scene.readings.len() + scene.animals.len()
}

fn selected(window: &Window) -> Item {
    window
        .state()
        .desk()
        .selected_item()
        .expect("one thing is selected")
}

#[test]
fn every_shelf_thing_adds_one_thing_and_undo_takes_it_back_exactly() {
    let mut window = still_window();
    let before = scene(&window);
    let things = [
        "boulder", "slab", "pillar", "arch", "ledge", "rubble", "pump", "return", "panel",
        "pendant", "tube", "bar", "animal", "reading",
    ];
    for (n, thing) in things.iter().enumerate() {
        // With nothing selected only the shelf has these words.
        press(&mut window, Modifiers::NONE, Key::Escape);
        click(&mut window, Role::Button, thing);
        assert_eq!(
            n_items(&scene(&window)),
            n_items(&before) + n + 1,
            "{thing} was added"
        );
    }
    let all = scene(&window);
    let text = storage::scene_text(&all).expect("writes");
    storage::parse(&text, "added.ron").expect("all that was added is sound");
    for _ in things {
        press(&mut window, Modifiers::COMMAND, Key::Z);
    }
    assert_eq!(scene(&window), before, "all taken back");
    for _ in things {
        press(&mut window, Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    }
    assert_eq!(scene(&window), all, "all done again");
}

#[test]
fn every_command_can_be_found_by_its_words_and_run() {
    let mut window = still_window();
    // Quit closes the window.
    for action in Action::all().filter(|action| ![Action::Quit, Action::Commands].contains(action))
    {
        press(&mut window, Modifiers::NONE, Key::Escape);
        press(&mut window, Modifiers::NONE, Key::Escape);
        run_by_words(&mut window, action);
        assert!(
            window.query_by_label(text::NO_COMMAND).is_none(),
            "{} was not found",
            action.label()
        );
    }
    let text = storage::scene_text(&scene(&window)).expect("writes");
    storage::parse(&text, "after.ron").expect("the scene is still sound");
}

#[test]
fn pages_come_with_their_key_or_word_and_go_with_escape() {
    let mut window = still_window();
    let pages = [
        (Action::Help, text::BEGIN_LINES[5].to_owned()),
        (Action::About, text::CAUTION_FIRST.to_owned()),
        (Action::NewTank, text::COMMON_SIZES.to_owned()),
        (Action::History, text::HISTORY_WORDS.to_owned()),
        (Action::OpenDemo, text::DEMOS.to_owned()),
        (Action::OnPaper, text::PAPER_WAITS.to_owned()),
    ];
    for (action, words) in pages {
        run_by_words(&mut window, action);
        let found = window.query_all_by_label_contains(&words).count();
        assert!(found > 0, "{} shows {words:?}", action.label());
        press(&mut window, Modifiers::NONE, Key::Escape);
        let found = window.query_all_by_label_contains(&words).count();
        assert_eq!(found, 0, "{} goes away", action.label());
    }
}

#[test]
fn a_number_takes_other_units_and_arithmetic_as_one_step_each() {
    let mut window = still_window();
    click(&mut window, Role::Button, "pump");
    let flow = |window: &Window| match selected(window) {
        Item::Pump(pump) => pump.flow_lph,
        other => panic!("a pump was added, not {other:?}"),
    };
    enter(&mut window, Role::SpinButton, "flow", "1000 gph");
    assert!(
        (flow(&window) - 3_785.411_784).abs() < 1e-6,
        "{}",
        flow(&window)
    );
    enter(&mut window, Role::SpinButton, "flow", "2*900+200");
    assert_eq!(flow(&window), 2000.0, "arithmetic");
    enter(&mut window, Role::SpinButton, "flow", "much");
    assert_eq!(flow(&window), 2000.0, "nonsense changes nothing");
    let history = window.state().desk().document().history();
    assert_eq!(
        history.past_labels(),
        ["add pump", "set flow", "set flow"],
        "one labelled step each"
    );
    press(&mut window, Modifiers::COMMAND, Key::Z);
    assert!((flow(&window) - 3_785.411_784).abs() < 1e-6, "undone");
}

#[test]
fn dragging_a_number_is_one_step() {
    let mut window = still_window();
    click(&mut window, Role::Button, "boulder");
    let before = selected(&window).at_cm();
    let at = window
        .get_by_role_and_label(Role::SpinButton, "from left")
        .rect()
        .center();
    window.drag_at(at);
    window.run_steps(2);
    for n in 1..=8 {
        window.hover_at(at + egui::vec2(6.0 * n as f32, 0.0));
        window.run_steps(1);
    }
    window.drop_at(at + egui::vec2(48.0, 0.0));
    window.run_steps(3);
    let after = selected(&window).at_cm();
    assert!(after.x > before.x + 1.0, "moved from {before} to {after}");
    let history = window.state().desk().document().history();
    assert_eq!(
        history.past_labels(),
        ["add boulder", "set from left"],
        "one step for the drag"
    );
}

#[test]
fn units_switch_everywhere_at_once_and_the_scene_stays() {
    let mut window = still_window();
    let before = scene(&window);
    let value = |window: &Window| {
        let field = window.get_by_role_and_label(Role::SpinButton, "length");
        field.accesskit_node().value().unwrap_or_default()
    };
    assert_eq!(value(&window), "120 cm", "metric at first");
    press(&mut window, Modifiers::NONE, Key::U);
    assert_eq!(
        window.state().desk().settings().units,
        UnitSystem::Us,
        "switched"
    );
    assert_eq!(value(&window), "47.24 in", "shown in inches");
    assert!(
        window.query_by_label_contains("flow wash, in/s").is_some(),
        "the legend too"
    );
    assert_eq!(scene(&window), before, "the scene is untouched");
}

#[test]
fn a_scene_saved_by_hand_is_read_back_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine");
    let mut window = still_window();
    click(&mut window, Role::Button, "arch");
    press(&mut window, Modifiers::COMMAND, Key::S);
    enter(
        &mut window,
        Role::TextInput,
        text::PATH_NAME,
        &path.display().to_string(),
    );
    let path = path.with_extension("ron");
    let saved = storage::load(&path).expect("the file reads").scene;
    assert_eq!(saved, *scene(&window), "whole");
    assert!(
        !window.state().desk().document().is_unsaved(),
        "and counts as saved"
    );

    click(&mut window, Role::Button, "slab");
    press(&mut window, Modifiers::COMMAND, Key::S);
    assert_eq!(
        storage::load(&path).expect("reads").scene,
        *scene(&window),
        "saved again without a question"
    );

    let mut other = still_window();
    press(&mut other, Modifiers::COMMAND, Key::O);
    enter(
        &mut other,
        Role::TextInput,
        text::PATH_NAME,
        &path.display().to_string(),
    );
    assert_eq!(scene(&other), scene(&window), "opened in another window");
}

#[test]
fn the_plan_goes_on_paper_from_its_page() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("plan");
    let mut window = still_window();
    press(&mut window, Modifiers::COMMAND, Key::L);
    let keys = Modifiers::COMMAND | Modifiers::SHIFT;
    press(&mut window, keys, Key::P);
    click(&mut window, Role::Button, text::SAVE_PDF);
    let path_words = path.display().to_string();
    enter(&mut window, Role::TextInput, text::PATH_NAME, &path_words);
    let path = path.with_extension("pdf");
    wait_for(&mut window, "the plan", |_| path.exists());
    let bytes = std::fs::read(&path).expect("it was made");
    assert!(bytes.starts_with(b"%PDF-"), "a PDF file");

    // The pages of single drawings and of a comparison offer what they need.
    press(&mut window, keys, Key::P);
    click(&mut window, Role::Button, "a comparison");
    window.get_by_role_and_label(Role::ComboBox, text::PAPER_AGAINST);
    let n_buttons = window.query_all_by_label(text::SAVE_PDF).count();
    assert_eq!(n_buttons, 0, "not before a layout is chosen");
    click(&mut window, Role::Button, "single drawings and tables");
    window.get_by_role_and_label(Role::Button, text::CHOOSE_FOLDER);
}

#[test]
fn a_broken_file_is_told_of_and_the_open_scene_stays() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("broken.ron");
    std::fs::write(&path, "(format: 1, name: \"x\", tank: (length_cm: NaN").expect("written");
    let mut window = still_window();
    let before = scene(&window);
    press(&mut window, Modifiers::COMMAND, Key::O);
    enter(
        &mut window,
        Role::TextInput,
        text::PATH_NAME,
        &path.display().to_string(),
    );
    assert_eq!(scene(&window), before, "as it was");
    let notices = window.state().desk().notices();
    assert!(
        notices
            .iter()
            .any(|notice| notice.kind == NoticeKind::Error),
        "an error is told: {notices:?}"
    );
    press(&mut window, Modifiers::NONE, Key::Escape);
    click(&mut window, Role::Link, text::PUT_AWAY);
    assert!(
        window.state().desk().notices().is_empty(),
        "put away with a click"
    );
}

#[test]
fn unsaved_work_is_asked_about_before_another_scene_comes() {
    let mut window = still_window();
    click(&mut window, Role::Button, "boulder");
    let work = scene(&window);
    press(&mut window, Modifiers::COMMAND, Key::N);
    click(&mut window, Role::Button, text::START_TANK);
    assert_eq!(scene(&window), work, "not yet");
    click(&mut window, Role::Button, text::STAY);
    assert_eq!(scene(&window), work, "stayed");
}

#[test]
fn an_empty_tank_is_three_steps_away() {
    let mut window = still_window();
    press(&mut window, Modifiers::COMMAND, Key::N);
    click(&mut window, Role::Button, "60 × 60 × 60 cm");
    click(&mut window, Role::Button, text::START_TANK);
    let scene = scene(&window);
    assert_eq!(scene.tank.length_cm, 60.0, "of that size");
    assert_eq!(n_items(&scene), 0, "empty");
    assert!(
        window.query_by_label_contains("An empty tank").is_some(),
        "and the list below says what to do next"
    );
}

#[test]
fn a_coral_is_found_by_a_word_and_placed_on_rock() {
    let mut window = still_window();
    let before = scene(&window).layouts[0].corals.len();
    press(&mut window, Modifiers::NONE, Key::C);
    window.event(egui::Event::Text("caulastraea".to_owned()));
    window.run_steps(2);
    press(&mut window, Modifiers::NONE, Key::Enter);
    assert_eq!(scene(&window).layouts[0].corals.len(), before + 1, "placed");
    let Item::Coral(coral) = selected(&window) else {
        panic!("it is selected")
    };
    assert_eq!(coral.entry, "caulastraea", "the right one");
    assert!(
        matches!(coral.on, bommie::scene::Support::Rock(_)),
        "on rock, not {:?}",
        coral.on
    );
}

#[test]
fn layouts_are_copied_shown_and_renamed() {
    let mut window = still_window();
    click(&mut window, Role::Button, text::PLUS_LAYOUT);
    assert_eq!(scene(&window).layouts.len(), 2, "copied");
    assert_eq!(window.state().desk().layout_idx(), 1, "and shown");
    run_by_words(&mut window, Action::RenameLayout);
    enter(
        &mut window,
        Role::TextInput,
        text::LAYOUT_NAME,
        "island moved",
    );
    assert_eq!(scene(&window).layouts[1].name, "island moved", "renamed");
    let first = scene(&window).layouts[0].name.clone();
    click(&mut window, Role::Button, &first);
    assert_eq!(window.state().desk().layout_idx(), 0, "back to the first");
}

#[test]
fn the_list_of_steps_jumps_both_ways() {
    let mut window = still_window();
    let before = scene(&window);
    for thing in ["boulder", "slab", "arch"] {
        click(&mut window, Role::Button, thing);
    }
    let after = scene(&window);
    press(&mut window, Modifiers::COMMAND, Key::H);
    click(&mut window, Role::Button, text::THE_START);
    assert_eq!(scene(&window), before, "at the start");
    click(&mut window, Role::Button, "3  add arch");
    assert_eq!(scene(&window), after, "at the end");
}

#[test]
fn a_thing_is_renamed_in_the_inspector() {
    let mut window = still_window();
    click(&mut window, Role::Button, "boulder");
    press(&mut window, Modifiers::NONE, Key::F2);
    enter(&mut window, Role::TextInput, text::NAME, "north head");
    assert_eq!(selected(&window).name(), "north head", "renamed");
    press(&mut window, Modifiers::NONE, Key::Escape);
    select(&mut window, "north head");
    assert_eq!(
        selected(&window).name(),
        "north head",
        "found in the stock list"
    );
}

#[test]
fn work_of_a_program_that_died_is_offered_and_opened() {
    let folder = tempfile::tempdir().expect("a folder");
    let work = {
        let mut window = hand::window(start(None, Some(folder.path())));
        click(&mut window, Role::Button, "boulder");
        click(&mut window, Role::Button, "pump");
        let work = scene(&window);
        wait_for(&mut window, "the whole work on disk", |_| {
            kept(folder.path()).is_some_and(|kept| kept == *work)
        });
        work
        // Dropped without its last words, as by a kill.
    };
    let mut window = hand::window(start(None, Some(folder.path())));
    assert_ne!(scene(&window), work, "not opened unasked");
    assert!(
        window.query_by_label(text::UNSAVED_FOUND).is_some(),
        "but offered"
    );
    click(&mut window, Role::Button, text::RECOVER);
    assert_eq!(scene(&window), work, "whole");
    assert!(
        window.state().desk().document().is_unsaved(),
        "and still unsaved"
    );
    assert!(
        window.query_by_label(text::UNSAVED_FOUND).is_none(),
        "offered once"
    );
}

/// The unsaved work in a folder, as far as it is there yet.
fn kept(folder: &Path) -> Option<Scene> {
    let files = std::fs::read_dir(folder).expect("the folder is there");
    let mut paths = files.flatten().map(|file| file.path());
    let path = paths.find(|path| {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        name.starts_with("work-") && name.ends_with(".ron")
    })?;
    Some(storage::load(&path).expect("it is whole").scene)
}

#[test]
fn choices_last_from_one_start_to_the_next() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut window = hand::window(start(None, Some(folder.path())));
    press(&mut window, Modifiers::NONE, Key::U);
    run_by_words(&mut window, Action::NightSheet);
    let chosen = window.state().choices().clone();
    assert!(chosen.is_night, "it is night");
    // The first choice alone may be on disk already.
    wait_for(&mut window, "both choices on disk", |_| {
        storage::load_choices::<Choices>(folder.path()) == chosen
    });
    drop(window);
    let window = hand::window(start(None, Some(folder.path())));
    assert!(window.state().choices().is_night, "still night");
    assert_eq!(
        window.state().desk().settings().units,
        UnitSystem::Us,
        "still inches"
    );
}

#[test]
fn text_at_twice_its_size_keeps_everything_in_reach() {
    let mut window = still_window();
    for _ in 0..8 {
        run_by_words(&mut window, Action::LargerText);
    }
    assert_eq!(window.state().choices().text_scale, 2.0, "twice");
    for label in ["boulder", "menu", "flow"] {
        let node = window.get_by_role_and_label(Role::Button, label);
        let rect = node.rect();
        assert!(rect.min.x >= 0.0 && rect.min.y >= 0.0, "{label} at {rect}");
        assert!(
            rect.max.x <= 720.0 && rect.max.y <= 450.0,
            "{label} at {rect}"
        );
    }
    // The inspector keeps to its own strip at the right, whatever it shows.
    for (thing, field) in [("boulder", "length"), ("pump", "flow")] {
        click(&mut window, Role::Button, thing);
        let field = window.get_by_role_and_label(Role::SpinButton, field);
        let rect = field.rect();
        assert!(
            rect.min.x >= 490.0 && rect.max.x <= 720.0,
            "field at {rect}"
        );
        press(&mut window, Modifiers::NONE, Key::Escape);
    }
}

#[test]
fn findings_arrive_and_a_click_goes_there_and_selects() {
    let mut start = start(None, None);
    start.is_live = true;
    let mut window = hand::window(start);
    // Newer results may sort the list anew or take a line away, so it is what the
    // keeper stands on that counts, and no place in the list.
    wait_for(
        &mut window,
        "N to stand on a finding about a thing",
        |window| {
            let is_there = |window: &Window| stood_on(window).is_some_and(|it| it.item().is_some());
            if !is_there(window) {
                window.key_press(Key::N);
                window.run_steps(3);
            }
            is_there(window)
        },
    );
    let ids = window.state().desk().selection().to_vec();
    assert_eq!(
        Some(ids),
        stood_on(&window)
            .and_then(|it| it.item())
            .map(|id| vec![id]),
        "and selects what it is about"
    );
    // A click goes to another line. Newer results may take that line away or
    // put it into other words while the mouse is on its way: then once more.
    wait_for(
        &mut window,
        "a click to stand on its line",
        click_another_line,
    );
}

/// The finding that the keeper stands on.
fn stood_on(window: &Window) -> Option<Finding> {
    let findings = &window.state().desk().results().findings;
    let idx = window.state().finding()?;
    findings.get(idx).cloned()
}

/// Clicks a line on which the keeper does not stand yet; whether they do after.
fn click_another_line(window: &mut Window) -> bool {
    let desk = window.state().desk();
    let findings = &desk.results().findings;
    let here = window.state().finding();
    let Some(idx) = (0..findings.len()).find(|&idx| Some(idx) != here) else {
        return false;
    };
    let wanted = findings[idx].clone();
    let speaker = Speaker::new(desk.scene(), desk.layout(), desk.settings().units);
    let words = speaker.finding(&wanted);
    // The list has scrolled to where N had led: another line may lie outside
    // of what is seen of it, where a click would meet something else.
    for node in window.query_all_by_label(&words).take(1) {
        node.scroll_to_me();
    }
    window.run_steps(3);
    for node in window.query_all_by_label(&words).take(1) {
        node.click();
    }
    window.run_steps(3);
    stood_on(window).is_some_and(|it| it.kind == wanted.kind && it.item() == wanted.item())
}

//! What the window says, by its labels: messages in their quiet place, readings
//! that nobody has read yet, names of new things.

use bommie::desk::{Action, NoticeKind};
use bommie::ui::sheet::View;
use bommie::ui::text;
use egui::{Key, Modifiers, Rect, Role};
use egui_kittest::kittest::Queryable as _;

use crate::hand::{Window, click, desk, enter, press, run_by_words, scene, start, window};

/// Opens a file of these words by its path.
fn open(window: &mut Window, path: &std::path::Path) {
    press(window, Modifiers::COMMAND, Key::O);
    let path = path.display().to_string();
    enter(window, Role::TextInput, text::PATH_NAME, &path);
    press(window, Modifiers::NONE, Key::Escape);
    window.run_steps(4);
}

fn drawings(window: &Window) -> Vec<Rect> {
    let sheet = window.state().sheet();
    let frames = View::ALL.map(|view| sheet.frame(view).map(|frame| frame.rect));
    frames.into_iter().flatten().collect()
}

#[test]
fn messages_cover_nothing_are_collected_and_close_when_they_are_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str, words: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, words).expect("it is written");
        path
    };
    let notes = file("notes.txt", "Dear diary, today I moved the left rock.");
    let tables = ["one.csv", "two.csv"].map(|name| file(name, "no table at all"));
    let mut window = window(start(false));
    open(&mut window, &notes);
    let told = desk(&window).notices().to_vec();
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].details.contains("this is no scene"), "{told:?}");
    for is_folded in [false, true] {
        if is_folded {
            run_by_words(&mut window, Action::FoldPanels);
            window.run_steps(6);
        }
        let close = window
            .get_by_role_and_label(Role::Link, text::PUT_AWAY)
            .rect();
        let card = close.union(window.get_by_label(&told[0].summary).rect());
        for drawing in drawings(&window) {
            let covers = drawing.intersects(card);
            assert!(!covers, "folded {is_folded}: {card:?} over {drawing:?}");
        }
    }
    run_by_words(&mut window, Action::FoldPanels);

    // Two of a kind are one card; what they are of stands in it.
    for table in &tables {
        run_by_words(&mut window, Action::ReadReadings);
        let path = table.display().to_string();
        enter(&mut window, Role::TextInput, text::PATH_NAME, &path);
        press(&mut window, Modifiers::NONE, Key::Escape);
    }
    window.run_steps(4);
    let summary = &desk(&window).notices()[1].summary;
    let heading = text::notice_heading(summary, 2);
    assert!(window.query_by_label(&heading).is_some(), "{heading}");
    for name in ["one.csv", "two.csv"] {
        let found = window.query_all_by_label_contains(name).count();
        assert_eq!(found, 1, "{name} is told of once");
    }

    // The file that could not be opened is moot once one has been.
    let good = folder.path().join("good.ron");
    std::fs::write(
        &good,
        bommie::storage::scene_text(&scene(&window)).expect("writes"),
    )
    .expect("it is written");
    open(&mut window, &good);
    let errors = desk(&window).notices().iter();
    let errors = errors.filter(|notice| notice.kind == NoticeKind::Error);
    assert_eq!(errors.count(), 0, "{:?}", desk(&window).notices());
}

#[test]
fn a_caution_is_whole_and_goes_with_the_coral_that_it_is_about() {
    let mut window = window(start(false));
    // No coral of the demo brings one of its own.
    press(&mut window, Modifiers::COMMAND, Key::N);
    click(&mut window, Role::Button, text::START_TANK);
    for _ in 0..2 {
        press(&mut window, Modifiers::NONE, Key::C);
        window.event(egui::Event::Text("zoanthus".to_owned()));
        window.run_steps(2);
        press(&mut window, Modifiers::NONE, Key::Enter);
        window.run_steps(6);
    }
    assert_eq!(desk(&window).notices().len(), 1, "said once");
    let end = "say palytoxin";
    let caution = window
        .query_all_by_label_contains(end)
        .find(|node| node.rect().height() > 40.0)
        .expect("the whole of it is there");
    let (caution, close) = (
        caution.rect(),
        window
            .get_by_role_and_label(Role::Link, text::PUT_AWAY)
            .rect(),
    );
    assert!(close.top() >= caution.bottom() - 1.0, "below its last line");
    assert!(close.bottom() < 900.0, "in sight");
    for _ in 0..2 {
        assert_eq!(desk(&window).notices().len(), 1, "while one is there");
        press(&mut window, Modifiers::COMMAND, Key::Z);
    }
    assert!(desk(&window).notices().is_empty(), "nothing left to handle");
}

#[test]
fn a_reading_has_no_value_before_the_keeper_gives_it() {
    let mut window = window(start(false));
    let n_before = scene(&window).readings.len();
    press(&mut window, Modifiers::NONE, Key::Escape);
    click(&mut window, Role::Button, "reading");
    let read = |window: &Window| scene(window).readings[n_before].value;
    assert_eq!(read(&window), None, "a place, no value");
    let listed = scene(&window);
    let counted = listed.readings_of(&listed.layouts[0]).count();
    let marked = listed.marked_of(&listed.layouts[0]).count();
    assert_eq!(marked, counted + 1, "it counts for nothing");
    let written = bommie::storage::scene_text(&listed).expect("writes");
    let back = bommie::storage::parse(&written, "marked.ron").expect("reads");
    assert_eq!(back.scene, *listed, "kept as it is");
    run_by_words(&mut window, Action::Readings);
    let name = text::of_reading(text::VALUE, n_before + 1);
    enter(&mut window, Role::SpinButton, &name, "0");
    assert_eq!(read(&window), Some(0.0), "dark is a value too");
    enter(&mut window, Role::SpinButton, &name, "185");
    assert_eq!(read(&window), Some(185.0), "as the meter said");
}

#[test]
fn new_things_have_names_of_their_own() {
    let mut window = window(start(false));
    for _ in 0..3 {
        press(&mut window, Modifiers::NONE, Key::Escape);
        click(&mut window, Role::Button, "boulder");
    }
    press(&mut window, Modifiers::COMMAND, Key::D);
    let layout = scene(&window).layouts[0].clone();
    let mut names: Vec<&str> = layout.rocks.iter().map(|rock| rock.name.as_str()).collect();
    let n = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), n, "{names:?}");
}

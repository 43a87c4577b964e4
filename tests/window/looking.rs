//! Looking instead of reading, and small manners: charts with their table, the
//! legend of the selected coral, menu and list by key, the layout that was
//! shown last.

use std::path::Path;

use bommie::desk::Action;
use bommie::scene::Item;
use bommie::ui::{Start, text};
use egui::{Event, Key, Modifiers, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

use crate::hand::{
    self, click, desk, enter, press, run_by_words, scene, select, start, wait_for, window,
};

#[test]
fn escape_closes_the_menu_and_keys_do_not_act_behind_it() {
    let mut window = window(start(false));
    let rock = scene(&window).layouts[0].rocks[0].name.clone();
    select(&mut window, &rock);
    let (before, held) = (scene(&window), desk(&window).selection().to_vec());
    assert_eq!(held.len(), 1, "a rock is selected");
    click(&mut window, Role::Button, text::MENU);
    let is_open = |window: &hand::Window| egui::Popup::is_any_open(&window.ctx);
    assert!(is_open(&window), "the menu is open");
    for key in [Key::Delete, Key::R, Key::D] {
        press(&mut window, Modifiers::NONE, key);
        assert_eq!(scene(&window), before, "{key:?} does nothing behind it");
    }
    assert!(window.state().sheet().hint().is_none(), "no tool was taken");
    press(&mut window, Modifiers::NONE, Key::Escape);
    assert!(!is_open(&window), "Escape closes it");
    assert_eq!(desk(&window).selection(), held, "and nothing else");
    press(&mut window, Modifiers::NONE, Key::Delete);
    assert_ne!(scene(&window), before, "then keys act again");
}

#[test]
fn a_filtered_list_keeps_its_place() {
    let mut window = window(start(false));
    press(&mut window, Modifiers::COMMAND, Key::K);
    window.event(Event::Text("view".to_owned()));
    window.run_steps(2);
    for _ in 0..3 {
        press(&mut window, Modifiers::NONE, Key::ArrowDown);
    }
    let chosen = |window: &hand::Window| {
        let rows = window.get_all_by_role(Role::Button);
        let on = Some(egui::accesskit::Toggled::True);
        let mut labels = rows
            .filter(|row| row.accesskit_node().toggled() == on)
            .filter_map(|row| row.accesskit_node().label());
        let found = bommie::ui::commands::found("view");
        labels.find(|it| found.iter().any(|action| it.starts_with(action.label())))
    };
    let wanted = bommie::ui::commands::found("view")[3].label();
    let is_wanted = |label: Option<String>| label.is_some_and(|it| it.starts_with(wanted));
    assert!(
        is_wanted(chosen(&window)),
        "{:?}, not {wanted}",
        chosen(&window)
    );
    window.run_steps(30);
    assert!(is_wanted(chosen(&window)), "still there after a while");
    press(&mut window, Modifiers::NONE, Key::ArrowUp);
    let above = bommie::ui::commands::found("view")[2].label();
    assert!(
        chosen(&window).is_some_and(|it| it.starts_with(above)),
        "one up"
    );
}

#[test]
fn the_layout_shown_last_reopens() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("reef.ron");
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenes/long-wall.ron");
    std::fs::copy(demo, &path).expect("copied");
    let from = |path: Option<&Path>| Start {
        path: path.map(Path::to_owned),
        folder: Some(folder.path().to_owned()),
        has_dialogs: false,
        is_live: false,
    };
    let mut window = window(from(Some(&path)));
    let last = scene(&window).layouts.len() - 1;
    assert!(last > 0, "it has several layouts");
    for _ in 0..last {
        press(&mut window, Modifiers::COMMAND, Key::Tab);
    }
    let shown = desk(&window).layout().name.clone();
    assert_eq!(desk(&window).layout_idx(), last, "the last one");
    let name = |choices: &str| choices.contains(&shown);
    let file = folder.path().join("choices.ron");
    wait_for(&mut window, "the choices", |_| {
        std::fs::read_to_string(&file).is_ok_and(|text| name(&text))
    });
    drop(window);
    let window = hand::window(from(None));
    assert_eq!(desk(&window).layout().name, shown, "it reopens");
}

#[test]
fn charts_show_shares_and_the_coral_in_three_years_and_are_saved_as_a_table() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut window = window(start(true));
    let coral = scene(&window).layouts[0].corals[0].clone();
    let name = bommie::ui::findings::item_words(&Item::Coral(coral.clone()));
    select(&mut window, &name);
    assert_eq!(desk(&window).selection(), [coral.id], "{name} is selected");
    wait_for(&mut window, "water, light and advice", |window| {
        let results = desk(window).results();
        let ahead = results.ahead_of(coral.id);
        let is_known = ahead.is_some_and(|it| it.light.value.is_some() && it.flow.value.is_some());
        results.tank.is_some() && results.light.is_some() && is_known
    });
    window.run_steps(3);
    let later = window.query_all_by_label_contains("in 3 years").count();
    assert_eq!(later, 2, "light and flow in the details");
    let likes = window.query_all_by_label_contains(" likes ").next();
    assert!(likes.is_some(), "the legend says what it likes");
    run_by_words(&mut window, Action::Charts);
    let water = window.query_by_role_and_label(Role::Image, text::CHART_DAY);
    assert!(water.is_some(), "its water over the day");
    let said = format!("{}: ", text::CHART_WATER);
    let bars = window.query_all_by_label_contains(&said);
    assert_eq!(bars.count(), 1, "shares of the water in words");
    // The page moves while finer estimates arrive, and a click may miss.
    wait_for(&mut window, "the line for a path", |window| {
        let asks = |window: &hand::Window| {
            let line = window.query_by_role_and_label(Role::TextInput, text::PATH_NAME);
            line.is_some()
        };
        if !asks(window)
            && let Some(button) = window.query_by_role_and_label(Role::Button, text::CHART_SAVE)
        {
            button.click();
            window.run_steps(4);
        }
        asks(window)
    });
    let path = folder.path().join("charts.csv");
    let typed = path.display().to_string();
    enter(&mut window, Role::TextInput, text::PATH_NAME, &typed);
    let table = std::fs::read_to_string(&path).expect("saved");
    for what in ["water by speed", "rock by light"] {
        let rows = table.lines().filter(|line| line.starts_with(what));
        let shares = rows.filter_map(|row| row.split(',').nth(3)?.parse::<f64>().ok());
        let sum: f64 = shares.sum();
        assert!((sum - 1.0).abs() < 1e-3, "{what} sums to {sum}: {table}");
    }
    assert!(table.contains("in 3 years"), "{table}");
    assert_eq!(
        table.lines().filter(|it| it.contains("by hour")).count(),
        24,
        "{table}"
    );
}

/// The first minute: a tank of three rocks, two pumps, a lamp and three corals
/// from nothing, by keys and labels, in at most 27 actions; what is typed into
/// one field is one.
#[test]
fn an_own_tank_is_there_in_few_actions() {
    let mut window = window(start(false));
    let mut n_actions = 0;
    let mut key = |window: &mut hand::Window, modifiers: Modifiers, key: Key| {
        n_actions += 1;
        press(window, modifiers, key);
    };
    key(&mut window, Modifiers::COMMAND, Key::N);
    click(&mut window, Role::Button, "60 × 60 × 60 cm");
    click(&mut window, Role::Button, text::START_TANK);
    for shape in [
        Action::AddBoulder,
        Action::AddSlab,
        Action::AddArch,
        Action::AddPanel,
    ] {
        click(&mut window, Role::Button, shape.label());
    }
    for _ in 0..2 {
        key(&mut window, Modifiers::NONE, Key::P);
    }
    for entry in ["caulastraea", "zoanthus", "euphyllia"] {
        key(&mut window, Modifiers::NONE, Key::C);
        window.event(Event::Text(entry.to_owned()));
        window.run_steps(2);
        key(&mut window, Modifiers::NONE, Key::Enter);
    }
    // Clicks and typed words are counted by hand.
    let n_actions = n_actions + 6 + 3;
    assert!(n_actions <= 27, "{n_actions} actions");
    let layout = scene(&window).layouts[0].clone();
    let counts = [
        layout.rocks.len(),
        layout.pumps.len(),
        layout.lamps.len(),
        layout.corals.len(),
    ];
    assert_eq!(counts, [3, 2, 1, 3], "all of it is there");
    let issues = bommie::scene::check(&scene(&window));
    assert!(!bommie::scene::has_errors(&issues), "{issues:?}");
}

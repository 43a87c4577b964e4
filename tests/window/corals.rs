//! Growth, berths, inhabitants and the comparison of layouts by their labels:
//! goal, that a keeper can do each of them from the screen alone.

use std::sync::Arc;
use std::time::{Duration, Instant};

use bommie::advice::Outcome;
use bommie::desk::{Action, Desk, FlowStatus, LightStatus};
use bommie::scene::Mount;
use bommie::ui::text;
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;

use crate::PATIENCE;
use crate::hand::{Window, click, click_until, desk, press, run_by_words, scene, start, window};

fn wait(window: &mut Window, what: &str, is_reached: impl Fn(&Desk) -> bool) {
    let start = Instant::now();
    while !is_reached(desk(window)) {
        window.run_steps(1);
        assert!(start.elapsed() < PATIENCE, "waited for {what}");
        std::thread::sleep(Duration::from_millis(10));
    }
    window.run_steps(3);
}

fn is_solved(desk: &Desk) -> bool {
    let results = desk.results();
    let has_settled = matches!(
        results.flow_status(),
        FlowStatus::Settled | FlowStatus::Unsettled
    );
    has_settled && results.light_status() == LightStatus::Fine && !desk.is_busy()
}

#[test]
fn months_are_looked_ahead_without_a_change_of_the_scene() {
    let mut window = window(start(false));
    let before = scene(&window);
    let width = |window: &Window| desk(window).shown_layout().corals[0].size_cm.x;
    let today = width(&window);
    window.get_by_role_and_label(Role::Slider, text::MONTHS);
    press(&mut window, Modifiers::NONE, Key::Period);
    press(&mut window, Modifiers::NONE, Key::Period);
    assert_eq!(desk(&window).settings().months, 12.0, "two steps of six");
    assert!(width(&window) > today, "its corals have grown");
    assert!(Arc::ptr_eq(&scene(&window), &before), "not the scene");
    // The bar itself takes arrow keys; they do not move what is selected.
    window
        .get_by_role_and_label(Role::Slider, text::MONTHS)
        .focus();
    window.run_steps(2);
    press(&mut window, Modifiers::NONE, Key::ArrowRight);
    assert_eq!(desk(&window).settings().months, 13.0, "one month");
    click(&mut window, Role::Link, text::TODAY);
    assert_eq!(desk(&window).settings().months, 0.0, "back");
    assert_eq!(width(&window), today, "as they are");
    assert!(Arc::ptr_eq(&scene(&window), &before), "still the scene");
}

#[test]
fn layouts_are_moved_in_the_strip_and_back() {
    let mut window = window(start(false));
    run_by_words(&mut window, Action::CopyLayout);
    let names = |window: &Window| -> Vec<String> {
        let layouts = &desk(window).scene().layouts;
        layouts.iter().map(|layout| layout.name.clone()).collect()
    };
    let before = names(&window);
    assert_eq!(desk(&window).layout_idx(), 1, "the copy is shown");
    run_by_words(&mut window, Action::LayoutLeft);
    assert_eq!(desk(&window).layout_idx(), 0, "it is still shown");
    assert_eq!(
        names(&window),
        [before[1].clone(), before[0].clone()],
        "moved"
    );
    run_by_words(&mut window, Action::LayoutLeft);
    assert_eq!(desk(&window).layout_idx(), 0, "no further");
    press(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(names(&window), before, "taken back");
}

fn n_corals(window: &Window) -> usize {
    desk(window).layout().corals.len()
}

#[test]
fn a_coral_is_planted_from_its_berths_and_from_a_place() {
    let mut window = window(start(true));
    wait(&mut window, "the estimates", is_solved);
    let before = n_corals(&window);

    // From the catalog to the best berth, with a filter on the way.
    run_by_words(&mut window, Action::AddCoral);
    window.event(egui::Event::Text("button".to_owned()));
    window.run_steps(4);
    let link = text::berths_of("button polyps");
    click_until(&mut window, (Role::Link, &link), |window| {
        desk(window).chosen_entry().is_some()
    });
    wait(&mut window, "berths", |desk| {
        !desk.results().berths.is_empty() && !desk.results().berths_are_old()
    });
    let asks = |window: &Window| desk(window).berth_filters().plug_only;
    click_until(&mut window, (Role::Button, text::PLUG_ONLY), asks);
    // No place in this tank is level enough for a plug: none is offered.
    wait(&mut window, "berths for plugs", |desk| {
        !desk.results().berths_are_old()
    });
    assert!(
        desk(&window)
            .results()
            .berths
            .iter()
            .all(|berth| berth.mount == Mount::Plug),
        "nothing but plugs"
    );
    click_until(&mut window, (Role::Button, text::PLUG_ONLY), |window| {
        !asks(window)
    });
    wait(&mut window, "all berths again", |desk| {
        !desk.results().berths.is_empty() && !desk.results().berths_are_old()
    });
    let mut best = Vec::new();
    click_until(&mut window, (Role::Link, &text::plant_at(1)), |window| {
        // Newer answers may know a better one while the mouse is on its way.
        best.extend(
            desk(window)
                .results()
                .berths
                .first()
                .map(|it| it.at_m * 100.0),
        );
        n_corals(window) > before
    });
    assert_eq!(n_corals(&window), before + 1, "planted");
    let coral = desk(&window).selected_item().expect("it is selected");
    assert!(
        best.iter().any(|it| coral.at_cm().distance(*it) < 1e-9),
        "at the berth"
    );
    press(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(n_corals(&window), before, "one step");

    plant_in_a_shaded_zone(&mut window, before);
}

/// From a shaded zone to what lives in it.
fn plant_in_a_shaded_zone(window: &mut Window, before: usize) {
    wait(window, "the estimates", is_solved);
    let remedy = bommie::words::remedy_link(&bommie::scene::finding::Remedy::ListCandidates);
    click_until(window, (Role::Link, remedy), |window| {
        desk(window).place().is_some()
    });
    wait(window, "candidates", |desk| {
        !desk.results().berths_are_old()
    });
    assert!(
        window.query_by_label(text::LIVES_HERE).is_some(),
        "its list is shown"
    );
    let first = desk(window).results().candidates.first().cloned();
    match first {
        Some(candidate) => {
            let catalog = bommie::catalog::Catalog::built_in();
            let Some(entry) = catalog.entry(&candidate.entry) else {
                panic!("{} is known", candidate.entry);
            };
            let link = text::plant(&entry.plain_name);
            click_until(window, (Role::Link, &link), |window| {
                n_corals(window) > before
            });
            assert_eq!(n_corals(window), before + 1, "planted there");
        }
        None => {
            window.get_by_label(text::NOTHING_LIVES_HERE);
        }
    }
}

/// Shows a difference, whose legend has these words.
fn show(window: &mut Window, action: Action, legend: &str) {
    click_until(window, (Role::Link, action.label()), |window| {
        window.query_all_by_label_contains(legend).next().is_some()
    });
}

/// Shows how the fit differs from that of the compared layout, which has the same
/// things in the same places.
fn a_copy_fits_as_well(window: &mut Window) {
    show(window, Action::WashFitChange, text::LEGEND_FIT_CHANGE_WORDS);
    wait(window, "the difference of fit", |desk| {
        let compared = desk.results().compared.as_ref();
        compared.is_some_and(|compared| compared.fit_change.is_some())
    });
    let compared = desk(window).results().compared.clone();
    let change = compared.and_then(|compared| compared.fit_change.clone());
    let change = change.map(|(_, change)| change).unwrap_or_default();
    let n_same = change.iter().filter(|change| **change == 0.0).count();
    assert!(
        n_same > 1000 && n_same == change.len(),
        "the copy is as good"
    );
}

fn take_lamps_away(window: &mut Window) {
    let lamps: Vec<u32> = desk(window)
        .layout()
        .lamps
        .iter()
        .map(|lamp| lamp.id)
        .collect();
    for name in ["left panel", "right panel"] {
        run_by_words(window, Action::Stocklist);
        click(window, Role::Link, name);
        press(window, Modifiers::NONE, Key::Delete);
    }
    assert!(desk(window).layout().lamps.is_empty(), "{lamps:?} are gone");
}

#[test]
fn a_layout_is_set_against_its_copy_and_then_against_a_change() {
    let mut window = window(start(true));
    wait(&mut window, "the estimates", is_solved);
    run_by_words(&mut window, Action::CopyLayout);
    run_by_words(&mut window, Action::Compare);
    assert_eq!(desk(&window).compared(), Some(0), "against the original");
    wait(&mut window, "the comparison", |desk| {
        desk.results().compared.is_some()
    });
    let compared = desk(&window)
        .results()
        .compared
        .clone()
        .expect("it is there");
    assert!(
        compared
            .comparison
            .rows
            .iter()
            .all(|row| row.outcome == Outcome::Tie),
        "a copy is all ties: {:?}",
        compared.comparison.rows
    );
    window.get_by_label(text::NO_MOVES);
    window.get_by_label(text::NO_FATES);
    click_until(&mut window, (Role::Button, text::SWIPE_LINE), |window| {
        let line = window.query_by_role_and_label(Role::Slider, text::SWIPE_LINE);
        line.is_some()
    });
    for action in [Action::WashFlowChange, Action::WashLightChange] {
        show(&mut window, action, text::LEGEND_CHANGE_WORDS);
    }
    a_copy_fits_as_well(&mut window);

    // Without its lamps the copy is darker for every coral.
    take_lamps_away(&mut window);
    wait(&mut window, "the new comparison", |desk| {
        let compared = desk.results().compared.as_ref();
        compared.is_some_and(|compared| compared.moves.len() == 2) && !desk.is_busy()
    });
    let compared = desk(&window)
        .results()
        .compared
        .clone()
        .expect("it is there");
    for fate in &compared.comparison.corals {
        assert!(fate.after <= fate.before, "none fares better: {fate:?}");
        let light = fate.light_umol.expect("both are known");
        assert_eq!(light[1], 0.0, "it is dark: {fate:?}");
    }
    let mut fates = compared.comparison.corals.iter();
    assert!(
        fates.any(|fate| fate.after < fate.before),
        "some fare worse"
    );
    // Shown again, the original has its results at once.
    click_until(&mut window, (Role::Link, text::SWAP_LAYOUTS), |window| {
        desk(window).layout_idx() == 0
    });
    assert_eq!(desk(&window).compared(), Some(1), "against the copy");
    let results = desk(&window).results();
    assert!(!results.tank_is_old() && !results.light_is_old(), "at once");
}

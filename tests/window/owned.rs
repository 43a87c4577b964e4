//! What the keeper owns, in the window by its labels: readings and what they
//! fix, what to change before anything is bought, a day and a week.

use bommie::desk::{Action, SearchStatus};
use bommie::light::{LightOptions, LightSolver, Measured};
use bommie::scene::Quantity;
use bommie::ui::sheet::View;
use bommie::ui::text;
use egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable as _;
use glam::{DVec2, DVec3};

use crate::hand::{
    Window, click, click_until, desk, enter, press, run_by_words, scene, start, wait_for, window,
};

/// A table of light as a meter would read it if every lamp gave this share of
/// what is printed on it.
fn table(window: &Window, share: f64) -> String {
    let study = desk(window).study();
    let options = LightOptions::default();
    let Ok(solver) = LightSolver::new(study, &Measured::default(), &options) else {
        panic!("the demo is lit");
    };
    let tank = &study.scene().tank;
    let row = |i: i32| {
        let x = tank.length_cm * (0.1 + 0.8 * f64::from(i % 4) / 3.0);
        let y = tank.width_cm * (0.15 + 0.3 * f64::from(i / 4));
        let z = if i % 2 == 0 { 0.5 } else { 0.85 } * tank.water_cm;
        let at_m = DVec3::new(x, y, z) / 100.0;
        let read = share * solver.sample(at_m, None).up_umol;
        format!("ppfd_up,{x},{y},{z},{read}\n")
    };
    let rows: Vec<String> = (0..12).map(row).collect();
    format!("kind,x_cm,y_cm,z_cm,value\n{}", rows.concat())
}

#[test]
fn a_table_of_readings_fixes_the_lamps_and_one_click_takes_it_back() {
    let mut window = window(start(false));
    let folder = tempfile::tempdir().expect("a folder for the table");
    let path = folder.path().join("read.csv");
    std::fs::write(&path, table(&window, 0.8)).expect("it is written");
    run_by_words(&mut window, Action::ReadReadings);
    enter(
        &mut window,
        Role::TextInput,
        text::PATH_NAME,
        &path.display().to_string(),
    );
    assert_eq!(scene(&window).readings.len(), 12, "all were taken in");
    click(&mut window, Role::Link, text::CALIBRATE);
    wait_for(&mut window, "what they fix", |window| {
        desk(window).results().calibration.is_some()
    });
    window.run_steps(4);
    let lamps = |window: &Window| scene(window).layouts[0].lamps.clone();
    assert!(
        lamps(&window).iter().all(|lamp| lamp.measured.is_none()),
        "nothing is taken over before the keeper says so"
    );
    assert!(
        window.query_by_label(text::CAL_PRINTED).is_some(),
        "before stands beside after"
    );
    click(&mut window, Role::Link, text::CAL_TAKE_OVER);
    let shares: Vec<f64> = lamps(&window)
        .iter()
        .filter_map(|lamp| lamp.measured.map(|found| found.value))
        .collect();
    // Exact readings, a prior of 30 % that pulls a little towards one.
    assert!(
        !shares.is_empty() && shares.iter().all(|share| (share - 0.8).abs() < 0.08),
        "{shares:?}"
    );
    click(&mut window, Role::Link, text::TAKE_BACK);
    assert!(
        lamps(&window).iter().all(|lamp| lamp.measured.is_none()),
        "as before"
    );
}

#[test]
fn a_reading_is_noted_where_it_is_clicked() {
    let mut window = window(start(false));
    let n_before = scene(&window).readings.len();
    run_by_words(&mut window, Action::PlaceReading);
    let frame = window.state().sheet().frame(View::Top).expect("it shows");
    let tank = scene(&window).tank.clone();
    for share in [0.45, 0.55] {
        let pos = frame.pos_flat(DVec2::new(share * tank.length_cm, 0.5 * tank.width_cm));
        window.event(egui::Event::PointerMoved(pos));
        window.run_steps(2);
        for pressed in [true, false] {
            window.event(egui::Event::PointerButton {
                pos,
                button: egui::PointerButton::Primary,
                pressed,
                modifiers: Modifiers::NONE,
            });
            window.run_steps(2);
        }
        // Not a double click.
        window.run_steps(40);
    }
    let readings = scene(&window).readings.clone();
    assert_eq!(readings.len(), n_before + 2, "one a click");
    let [one, two] = [&readings[n_before], &readings[n_before + 1]];
    for (reading, share) in [(one, 0.45), (two, 0.55)] {
        let off_cm = (reading.at_cm.x - share * tank.length_cm).abs();
        assert!(off_cm < 1.0, "{off_cm} cm off where it was clicked");
    }
    assert_eq!(
        one.quantity,
        Quantity::PpfdUp,
        "light unless told otherwise"
    );
    press(&mut window, Modifiers::NONE, Key::Escape);
}

#[test]
fn the_day_shows_doses_hours_and_weeks() {
    let mut window = window(start(true));
    wait_for(&mut window, "light", |window| {
        let results = desk(window).results();
        results.light_solver.is_some() && !results.light_is_old()
    });
    press(&mut window, Modifiers::COMMAND, Key::J);
    window.run_steps(4);
    let n = window.query_all_by_label_contains(text::DAY_DOSE).count();
    let corals = scene(&window).layouts[0].corals.len();
    // One line a coral, and the words on what a dose is.
    assert!(n >= corals, "{n} doses of {corals} corals");
    assert!(
        window
            .query_by_label_contains("times the tank's water")
            .is_some(),
        "what pumps move"
    );
    assert!(
        window
            .query_all_by_label_contains(text::OF_NEW_LIGHT)
            .count()
            >= 2,
        "weeks of getting used to a new lamp"
    );
    assert!(
        window.query_by_label_contains("oxygen at night").is_some(),
        "what is not computed is said"
    );
}

#[test]
fn what_may_change_and_what_must_hold_are_ticks_of_one_search() {
    let mut window = window(start(false));
    press(&mut window, Modifiers::COMMAND, Key::I);
    window.run_steps(4);
    let pump = scene(&window).layouts[0].pumps[0].clone();
    let keep = text::keep(&format!("{} ({})", pump.name, pump.id));
    click(&mut window, Role::CheckBox, &keep);
    click(&mut window, Role::Button, text::LOOK_FOR_PLANS);
    let options = desk(&window).improve_options().clone();
    assert!(options.fixed.contains(&pump.id), "{:?}", options.fixed);
    assert_eq!(options.buy_max, 0, "nothing is bought unless asked for");
    click(&mut window, Role::Link, text::STOP);
    wait_for(&mut window, "the stop", |window| {
        desk(window).results().improving == SearchStatus::Idle
    });
}

#[test]
fn each_pump_failing_is_worked_out_when_asked_for_and_can_be_stopped() {
    let mut window = window(start(false));
    // It stands further down than the panel shows.
    window
        .get_by_role_and_label(Role::Link, text::FAIL_EACH)
        .scroll_to_me();
    window.run_steps(4);
    click_until(&mut window, (Role::Link, text::FAIL_EACH), |window| {
        matches!(desk(window).results().failing, SearchStatus::Running(_))
    });
    click_until(&mut window, (Role::Link, text::STOP), |window| {
        desk(window).results().failing == SearchStatus::Idle
    });
    assert!(
        desk(&window).results().outage.is_none(),
        "nothing half done"
    );
    window.run_steps(2);
    window.get_by_role_and_label(Role::Link, text::FAIL_EACH);
}

#[test]
fn finer_cells_are_looked_at_when_asked_for_and_can_be_stopped() {
    let mut window = window(start(true));
    wait_for(&mut window, "an estimate", |window| {
        let results = desk(window).results();
        results.tank.is_some() && !results.tank_is_old()
    });
    window.run_steps(2);
    // It stands further down than the panel shows.
    window
        .get_by_role_and_label(Role::Link, text::LOOK_FINER)
        .scroll_to_me();
    window.run_steps(4);
    click_until(&mut window, (Role::Link, text::LOOK_FINER), |window| {
        matches!(desk(window).results().refining, SearchStatus::Running(_))
    });
    click_until(&mut window, (Role::Link, text::STOP), |window| {
        desk(window).results().refining == SearchStatus::Idle
    });
    assert!(desk(&window).results().finer.is_none(), "nothing half done");
}

//! The desk without a window: goal, that what a keeper does leads to results
//! about the newest scene. Method: run commands, tend until the workers rest.
#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::sync::Arc;
use std::time::{Duration, Instant};

use bommie::advice::Kind;
use bommie::desk::{
    Action, Change, Command, Desk, FlowStatus, LightStatus, NoticeKind, PaperKind, PaperStatus,
    PaperWish, SearchStatus,
};
use bommie::document::Document;
use bommie::scene::{Item, Scene};
use bommie::storage;
use glam::DVec3;

use crate::PATIENCE;

fn demo() -> Scene {
    let demo = &storage::demos()[0];
    storage::parse(demo.text, demo.file)
        .expect("the demo is sound")
        .scene
}

fn desk() -> Desk {
    Desk::new(Document::new(demo(), None), Arc::new(|| {}))
}

/// The same with coarse cells, for what has to come and not to be fine.
fn coarse() -> Desk {
    desk().with_cells(0.04)
}

fn tend_until(desk: &mut Desk, is_reached: impl Fn(&Desk) -> bool) {
    let start = Instant::now();
    while !is_reached(desk) {
        desk.tend();
        assert!(start.elapsed() < PATIENCE, "the workers did not get there");
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Two pumps that blow at each other through the middle of an empty tank.
fn opposed() -> Scene {
    let mut scene = demo();
    let layout = &mut scene.layouts[0];
    let mut pump = layout.pumps[0].clone();
    layout.rocks.clear();
    layout.corals.clear();
    layout.pumps.clear();
    (pump.flow_lph, pump.outlet_cm, pump.tilt_deg) = (4000.0, 4.0, 0.0);
    for (id, x_cm, turn_deg) in [(901, 5.0, 0.0), (902, 115.0, 180.0)] {
        (pump.id, pump.turn_deg) = (id, turn_deg);
        pump.at_cm = DVec3::new(x_cm, 30.0, 30.0);
        layout.pumps.push(pump.clone());
    }
    scene.tank.returns.clear();
    scene
}

#[test]
fn further_runs_tell_that_the_flow_may_flip_and_give_way_to_an_edit() {
    let mut desk = Desk::new(Document::new(opposed(), None), Arc::new(|| {})).with_cells(0.03);
    let tells = |desk: &Desk| {
        let mut kinds = desk.results().findings.iter().map(|found| found.kind);
        kinds.any(|kind| matches!(kind, Kind::MayFlip))
    };
    tend_until(&mut desk, |desk| desk.results().further_runs.is_some());
    let plain = desk.results().tank.clone().expect("a plain estimate first");
    assert_eq!(plain.n_runs, 1, "it stands before further runs begin");
    assert!(!tells(&desk), "one run cannot know");
    tend_until(&mut desk, |desk| {
        desk.results().further_runs.is_none() && tells(desk)
    });
    let whole = desk.results().tank.clone().expect("an estimate");
    assert!(whole.n_runs > 1, "{} runs", whole.n_runs);
    // An edit during further runs ends them at once.
    let shift = DVec3::new(0.0, 4.0, 0.0);
    desk.run(Command::Edit(
        "move a pump".to_owned(),
        Change::Shift(vec![901], shift),
    ));
    tend_until(&mut desk, |desk| desk.results().further_runs.is_some());
    desk.run(Command::Edit(
        "move a pump".to_owned(),
        Change::Shift(vec![901], -shift),
    ));
    desk.tend();
    assert_eq!(desk.results().further_runs, None, "given up");
    let tank = desk.results().tank.clone().expect("kept from before");
    assert!(
        Arc::ptr_eq(&tank, &whole),
        "what was known is shown again at once"
    );
}

#[test]
fn light_and_advice_arrive_and_follow_an_edit() {
    let mut desk = coarse();
    tend_until(&mut desk, |desk| {
        desk.results().light_status() == LightStatus::Fine && !desk.is_busy()
    });
    let n_patches = desk
        .results()
        .light
        .as_ref()
        .map_or(0, |light| light.patches.len());
    assert!(
        n_patches > 500,
        "{n_patches} patches of rock and sand are lit"
    );
    let n_corals = desk.layout().corals.len();
    assert_eq!(
        desk.results().fits.len(),
        n_corals,
        "every coral of the demo has its fit"
    );

    let lamp = desk.layout().lamps[0].id;
    let up = Change::Shift(vec![lamp], DVec3::new(0.0, 0.0, 20.0));
    desk.run(Command::Edit("raise the lamp".to_owned(), up));
    desk.tend();
    assert!(
        desk.results().light_is_old(),
        "an edit makes the light old at once"
    );
    tend_until(&mut desk, |desk| {
        !desk.results().light_is_old() && !desk.is_busy()
    });
}

#[test]
fn of_water_that_nothing_moves_there_is_no_advice_until_there_is_a_pump() {
    let mut scene = demo();
    scene.tank.returns.clear();
    let pumps = std::mem::take(&mut scene.layouts[0].pumps);
    let document = Document::new(scene, None);
    let mut desk = Desk::new(document, Arc::new(|| {})).with_cells(0.04);
    let n_dead = |desk: &Desk| {
        let findings = desk.results().findings.iter();
        findings.filter(|it| it.kind == Kind::DeadSpot).count()
    };
    let has_rested = |desk: &Desk| {
        let light = desk.results().light_status() == LightStatus::Fine;
        light && !desk.is_busy() && !desk.results().findings.is_empty()
    };
    tend_until(&mut desk, has_rested);
    assert_eq!(n_dead(&desk), 0, "no pump, no dead spot");
    // A tank that is stirred from one side alone has some.
    let pump = Change::Add(Box::new(Item::Pump(pumps[0].clone())));
    desk.run(Command::Edit("add a pump".to_owned(), pump));
    desk.tend();
    tend_until(&mut desk, |desk| n_dead(desk) > 0);
}

#[test]
fn water_comes_as_slices_first_and_then_as_the_tank_estimate() {
    let mut desk = desk();
    tend_until(&mut desk, |desk| desk.results().plan_slice.is_some());
    assert!(
        desk.results().tank_is_old(),
        "the tank estimate takes longer"
    );
    tend_until(&mut desk, |desk| {
        matches!(
            desk.results().flow_status(),
            FlowStatus::Settled | FlowStatus::Unsettled
        )
    });
    assert!(
        !desk.results().tank_is_old(),
        "it is about the scene as it stands"
    );
    let tank = desk.results().tank.clone().expect("a field");
    assert!(
        tank.settling.mean_speed_m_s > 0.005,
        "three pumps move the water: {:?}",
        tank.settling
    );

    let pump = desk.layout().pumps[2].id;
    desk.run(Command::Edit(
        "drop a pump".to_owned(),
        Change::Remove(vec![pump]),
    ));
    desk.tend();
    assert!(
        desk.results().tank_is_old(),
        "an edit makes the field old at once"
    );
    tend_until(&mut desk, |desk| !desk.results().tank_is_old());
}

#[test]
fn choosing_an_entry_brings_berths_and_its_wash() {
    let mut desk = coarse();
    let entry = desk.layout().corals[0].entry.clone();
    desk.run(Command::ChooseEntry(Some(entry)));
    tend_until(&mut desk, |desk| {
        !desk.results().fit_wash.is_empty() && !desk.is_busy()
    });
    let results = desk.results();
    let n_patches = results
        .light
        .as_ref()
        .map_or(0, |light| light.patches.len());
    assert_eq!(results.fit_wash.len(), n_patches, "one value a patch");
}

#[test]
fn removing_a_rock_and_undo_bring_everything_back() {
    let mut desk = desk();
    let before = desk.scene().clone();
    let rock = desk.layout().rocks[0].id;
    desk.run(Command::Select(vec![rock]));
    desk.run(Command::Action(Action::Remove));
    assert!(desk.layout().item(rock).is_none(), "the rock is gone");
    assert!(
        desk.selection().is_empty(),
        "nothing that is gone stays selected"
    );
    desk.run(Command::Action(Action::Undo));
    assert_eq!(
        *desk.scene(),
        before,
        "undo brings back the very same scene"
    );
}

#[test]
fn a_file_that_cannot_be_read_leaves_the_scene_as_it_was() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("broken.ron");
    std::fs::write(&path, "(format: 1, name: ").expect("written");
    let mut desk = desk();
    let before = desk.scene().clone();
    desk.run(Command::Open(path));
    assert_eq!(*desk.scene(), before, "the open scene is unchanged");
    let said = &desk.notices().last().expect("a notice").details;
    assert!(
        said.contains("broken.ron"),
        "the notice names the file: {said}"
    );
}

#[test]
fn layouts_are_copied_changed_and_removed_alone() {
    let mut desk = desk();
    desk.run(Command::Action(Action::CopyLayout));
    assert_eq!(
        (desk.scene().layouts.len(), desk.layout_idx()),
        (2, 1),
        "the copy is shown"
    );
    let rock = desk.layout().rocks[0].id;
    desk.run(Command::Edit(
        "move".to_owned(),
        Change::Shift(vec![rock], DVec3::X),
    ));
    let x = |desk: &Desk, layout: usize| desk.scene().layouts[layout].rocks[0].at_cm.x;
    assert_eq!(x(&desk, 1) - x(&desk, 0), 1.0, "only the copy changed");
    desk.run(Command::Action(Action::RemoveLayout));
    desk.run(Command::Action(Action::RemoveLayout));
    assert_eq!(desk.scene().layouts.len(), 1, "the last layout stays");
}

#[test]
fn a_gesture_that_no_file_could_hold_is_put_back_and_said() {
    let mut desk = desk();
    let before = desk.scene().clone();
    let pump = desk.layout().pumps[0].id;
    let away = Change::Shift(vec![pump], DVec3::new(0.0, 0.0, 50_000.0));
    desk.run(Command::Edit("move".to_owned(), away));
    assert_eq!(*desk.scene(), before, "the pump is back in the water");
    assert!(
        desk.document().history().past_labels().is_empty(),
        "no step was kept"
    );
    assert_eq!(desk.notices().len(), 1, "the keeper is told once");
    let text = storage::scene_text(desk.scene()).expect("writes");
    storage::parse(&text, "saved.ron").expect("what is on the desk opens again");
}

#[test]
fn looking_ahead_and_back_restores_everything_and_changes_nothing() {
    let mut desk = coarse();
    let is_done = |desk: &Desk| {
        let results = desk.results();
        let has_settled = matches!(
            results.flow_status(),
            FlowStatus::Settled | FlowStatus::Unsettled
        );
        has_settled && results.light_status() == LightStatus::Fine && !desk.is_busy()
    };
    tend_until(&mut desk, is_done);
    let before = desk.results().clone();
    let scene = Arc::clone(desk.scene());
    let ahead = |desk: &mut Desk, months: f64| {
        let mut settings = desk.settings().clone();
        settings.months = months;
        desk.run(Command::SetSettings(Box::new(settings)));
    };
    ahead(&mut desk, 24.0);
    let pairs = desk.shown_layout().corals.iter().zip(&desk.layout().corals);
    for (later, today) in pairs {
        assert!(later.size_cm.x > today.size_cm.x, "{} has grown", today.id);
    }
    assert!(Arc::ptr_eq(desk.scene(), &scene), "the scene is as it was");
    assert!(
        desk.document().history().past_labels().is_empty(),
        "no step to undo"
    );
    tend_until(&mut desk, |desk| {
        let light = desk.results().light.as_ref();
        light.is_some_and(|light| !Arc::ptr_eq(light, before.light.as_ref().expect("lit")))
            && !desk.results().light_is_old()
    });
    // The rest need not be waited for: today's results are kept.
    ahead(&mut desk, 0.0);
    desk.tend();
    assert!(Arc::ptr_eq(desk.shown_scene(), &scene), "today's scene");
    let after = desk.results();
    let same = |a: &Option<_>, b: &Option<_>| match (a, b) {
        (Some(a), Some(b)) => Arc::ptr_eq(a, b),
        _ => false,
    };
    assert!(same(&after.tank, &before.tank), "the same water at once");
    assert!(!after.tank_is_old(), "and not old");
    assert_eq!(
        after.flow_status(),
        before.flow_status(),
        "as settled as it was"
    );
    let lights = (after.light.as_ref(), before.light.as_ref());
    assert!(
        matches!(lights, (Some(a), Some(b)) if Arc::ptr_eq(a, b)),
        "the same light"
    );
    assert_eq!(after.findings, before.findings, "the same findings");
    assert_eq!(after.fits, before.fits, "the same fits");
    assert_eq!(after.growth, before.growth, "the same growth");
}

/// Waits until what is wanted is on paper, and says where.
fn put_on_paper(desk: &mut Desk, wish: PaperWish) -> String {
    let n_notices = desk.notices().len();
    desk.run(Command::PutOnPaper(Box::new(wish)));
    assert_eq!(desk.results().paper, PaperStatus::Waiting, "it waits");
    tend_until(desk, |desk| desk.results().paper == PaperStatus::Idle);
    let notice = desk.notices().get(n_notices).expect("it is told");
    assert_eq!(notice.kind, NoticeKind::Done, "{notice:?}");
    notice.summary.clone()
}

#[test]
fn a_moved_island_goes_on_paper_with_the_way_there_once_all_is_estimated() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut desk = coarse();
    desk.run(Command::Action(Action::CopyLayout));
    let mut rock = desk.layout().rocks[0].clone();
    rock.at_cm.x += 4.0;
    let change = Change::Put(Box::new(Item::Rock(rock)));
    desk.run(Command::Edit("move".to_owned(), change));

    let path = folder.path().join("plan.html");
    let wish = PaperWish {
        path: path.clone(),
        from: Some(0),
        ..PaperWish::default()
    };
    let told = put_on_paper(&mut desk, wish);
    assert!(told.contains("plan.html"), "{told}");
    assert!(
        matches!(desk.results().flow_status(), FlowStatus::Settled),
        "it waited for the water"
    );
    let text = std::fs::read_to_string(&path).expect("it is there");
    let names = [0, 1].map(|idx| desk.scene().layouts[idx].name.clone());
    let heading = format!("Step by step from “{}” to “{}”", names[0], names[1]);
    for wanted in [heading.as_str(), "the averages have settled", "Lift out"] {
        assert!(text.contains(wanted), "{wanted} is in the plan");
    }

    let parts = PaperWish {
        kind: PaperKind::Parts,
        path: folder.path().join("parts"),
        ..PaperWish::default()
    };
    put_on_paper(&mut desk, parts);
    for name in [
        "plan-top.svg",
        "flow-side.png",
        "light-end.svg",
        "rocks.csv",
    ] {
        let file = folder.path().join("parts").join(name);
        assert!(file.metadata().is_ok_and(|it| it.len() > 100), "{name}");
    }

    desk.run(Command::CompareWith(Some(0)));
    let comparison = PaperWish {
        kind: PaperKind::Comparison,
        path: folder.path().join("both.pdf"),
        ..PaperWish::default()
    };
    put_on_paper(&mut desk, comparison);
    let bytes = std::fs::read(folder.path().join("both.pdf")).expect("it is there");
    assert!(bytes.starts_with(b"%PDF-"), "a PDF file");
    assert!(desk.results().compared.is_some(), "it waited for both");
}

#[test]
fn finer_cells_begin_with_the_quick_answer_and_go_on_from_it() {
    // Finer than the engine's own by more than a fifth, and no dearer than that.
    let mut desk = desk().with_cells(0.0155);
    let cell_m = |desk: &Desk| desk.results().tank.as_ref().map(|tank| tank.grid.cell_m);
    tend_until(&mut desk, |desk| cell_m(desk).is_some());
    let first_m = cell_m(&desk).expect("an answer");
    assert!(first_m > 0.018, "the engine's own first: {first_m} m");
    let is_rough = matches!(desk.results().flow_status(), FlowStatus::Running(_));
    assert!(is_rough, "and it is not called settled");
    let is_fine = |desk: &Desk| cell_m(desk).is_some_and(|cell_m| cell_m < 0.016);
    tend_until(&mut desk, is_fine);
    assert!(!desk.results().tank_is_old(), "of what is looked at");
}

#[test]
fn finer_cells_are_asked_for_and_let_go_as_one_likes() {
    let mut desk = desk();
    let cell_m = |desk: &Desk| desk.study().settings().cell_m;
    assert_eq!(cell_m(&desk), None, "the engine chooses");
    desk.run(Command::Action(Action::FinerCells));
    assert_eq!(cell_m(&desk), Some(0.01), "four across an outlet of 4 cm");
    desk.run(Command::Action(Action::FinerCells));
    assert_eq!(cell_m(&desk), None, "as before");

    let mut small = demo();
    small.tank.length_cm = 30.0;
    small.tank.width_cm = 30.0;
    small.tank.height_cm = 32.0;
    small.tank.water_cm = 30.0;
    let mut desk = Desk::new(Document::new(small, None), Arc::new(|| {}));
    desk.run(Command::Action(Action::FinerCells));
    assert_eq!(cell_m(&desk), None, "its cells are fine as they are");
}

/// The switch holds on any machine: what computed the water is told, and on one
/// without a card the processor does it and it is said why.
#[test]
fn the_card_is_asked_for_and_told_of_by_name() {
    let mut desk = desk();
    desk.run(Command::Action(Action::OnCard));
    assert!(desk.study().settings().on_card, "it is asked for");
    tend_until(&mut desk, |desk| {
        let tank = desk.results().tank.as_ref();
        tank.is_some_and(|field| field.settling.averaged_s > 0.0)
    });
    let told = bommie::ui::progress::details(&desk);
    assert!(told.contains("graphics card"), "{told}");
    desk.run(Command::Action(Action::OnCard));
    assert!(!desk.study().settings().on_card, "as before");
}

#[test]
fn a_plan_that_cannot_be_written_says_why_and_one_that_waits_can_be_stopped() {
    let mut desk = coarse();
    let mut settings = desk.settings().clone();
    settings.is_live = false;
    desk.run(Command::SetSettings(Box::new(settings)));
    let wish = PaperWish {
        path: "/dev/null/plan.pdf".into(),
        ..PaperWish::default()
    };
    desk.run(Command::PutOnPaper(Box::new(wish.clone())));
    tend_until(&mut desk, |desk| desk.results().paper == PaperStatus::Idle);
    let notice = desk.notices().last().expect("it is told");
    assert_eq!(notice.kind, NoticeKind::Error, "{notice:?}");

    desk.run(Command::PutOnPaper(Box::new(wish)));
    desk.run(Command::Action(Action::StopWork));
    desk.tend();
    assert_eq!(desk.results().paper, PaperStatus::Idle, "stopped");
    assert_eq!(desk.notices().len(), 1, "and nothing was made");
}

#[test]
fn a_plan_that_waits_is_of_the_layout_and_scene_that_were_shown() {
    let folder = tempfile::tempdir().expect("a folder");
    let wish = PaperWish {
        path: folder.path().join("plan.pdf"),
        ..PaperWish::default()
    };
    let mut desk = coarse();
    desk.run(Command::Action(Action::CopyLayout));
    desk.run(Command::PutOnPaper(Box::new(wish.clone())));
    desk.run(Command::ShowLayout(0));
    desk.tend();
    assert_eq!(desk.results().paper, PaperStatus::Idle, "given up");
    let told = desk.notices().last().expect("it is told");
    assert_eq!(told.kind, NoticeKind::Warning, "{told:?}");

    desk.run(Command::PutOnPaper(Box::new(wish)));
    desk.run(Command::OpenScene(Box::new(demo())));
    desk.tend();
    assert_eq!(desk.results().paper, PaperStatus::Idle, "another scene");
    assert!(!folder.path().join("plan.pdf").exists(), "nothing was made");
}

#[test]
fn finer_cells_are_set_beside_the_estimate_and_are_old_after_an_edit() {
    let mut desk = coarse();
    tend_until(&mut desk, |desk| {
        desk.results().tank.is_some() && !desk.results().tank_is_old()
    });
    desk.run(Command::TryFiner);
    tend_until(&mut desk, |desk| {
        desk.results().refining == SearchStatus::Done
    });
    let found = desk.results().finer.clone().expect("an answer");
    let [known_m, finer_m] = found.cells_m;
    assert!(finer_m < 0.8 * known_m, "{finer_m} m for {known_m}");
    let agreement = found.agreement.expect("the water moves");
    // Far coarser than a keeper's, so no more than alike.
    assert!(agreement.rank > 0.3, "{agreement:?}");
    assert!(
        agreement.rank < 1.0,
        "two estimates, not one: {agreement:?}"
    );
    let own = desk.results().tank.clone().expect("an estimate");
    assert!(
        (own.grid.cell_m - known_m).abs() < 1e-9,
        "the estimate stays what it was"
    );

    let pump = desk.layout().pumps[0].id;
    desk.run(Command::Select(vec![pump]));
    desk.run(Command::Action(Action::Remove));
    desk.tend();
    assert_eq!(
        desk.results().refining,
        SearchStatus::Old,
        "of another layout"
    );
}

#[test]
fn a_layout_left_alone_is_looked_at_on_finer_cells_by_itself() {
    let is_looking = |desk: &Desk| matches!(desk.results().refining, SearchStatus::Running(_));
    let is_checked = |desk: &Desk| {
        let tank = desk.results().tank.as_ref();
        tank.is_some_and(|tank| tank.n_runs > 1) && !desk.results().tank_is_old()
    };
    let mut desk = coarse();
    tend_until(&mut desk, is_looking);
    assert!(is_checked(&desk), "only what stands is looked at");
    assert!(!desk.is_busy(), "and nobody waits for it");

    // An edit ends it.
    let pump = desk.layout().pumps[0].id;
    let shift = DVec3::new(0.0, 2.0, 0.0);
    desk.run(Command::Edit(
        "move a pump".to_owned(),
        Change::Shift(vec![pump], shift),
    ));
    tend_until(&mut desk, |desk| !is_looking(desk));
    assert!(desk.results().finer.is_none(), "nothing half done");
    tend_until(&mut desk, |desk| {
        desk.results().refining == SearchStatus::Done
    });
    assert!(is_checked(&desk), "of the layout as it is now");

    desk.run(Command::Action(Action::LooksFiner));
    desk.run(Command::Edit(
        "move a pump".to_owned(),
        Change::Shift(vec![pump], -shift),
    ));
    tend_until(&mut desk, |desk| is_checked(desk) && !desk.is_busy());
    for _ in 0..20 {
        desk.tend();
        assert!(!is_looking(&desk), "only when it is asked for");
    }
}

#[test]
fn each_pump_failing_leaves_more_dead_and_is_old_after_an_edit() {
    let mut desk = coarse();
    desk.run(Command::TryOutage);
    tend_until(&mut desk, |desk| {
        desk.results().failing == SearchStatus::Done
    });
    let found = desk.results().outage.clone().expect("an answer");
    let pumps: Vec<_> = (desk.layout().pumps.iter()).map(|pump| pump.id).collect();
    assert_eq!(found.pumps.len(), pumps.len(), "each pump has its turn");
    for failure in &found.pumps {
        let (now, then) = (found.before.mean_speed_m_s, failure.after.mean_speed_m_s);
        assert!(then < now, "without {}: {then} m/s for {now}", failure.pump);
    }
    let still = found.all_off.expect("the water moved");
    assert!(still.after_s.is_some_and(|s| s > 2.0), "{still:?}");

    desk.run(Command::Select(vec![pumps[0]]));
    desk.run(Command::Action(Action::Remove));
    desk.tend();
    assert_eq!(
        desk.results().failing,
        SearchStatus::Old,
        "of another layout"
    );
    desk.run(Command::Action(Action::Undo));
    desk.run(Command::TryOutage);
    desk.tend();
    assert!(
        matches!(desk.results().failing, SearchStatus::Running(_)),
        "asked for again"
    );
    desk.run(Command::Action(Action::StopWork));
    tend_until(&mut desk, |desk| {
        desk.results().failing == SearchStatus::Idle
    });
}

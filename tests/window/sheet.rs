//! The sheet by hand and key: every gesture does what it says, is one step of
//! undo, and leaves a sound scene.

use std::sync::Arc;

use bommie::desk::{Action, Change, Command, Desk};
use bommie::document::Document;
use bommie::scene::shapes::Shape;
use bommie::scene::{
    Coral, FORMAT, Item, Layout, Mount, Programme, Pump, PumpKind, Reading, Rock, Sand, Scene,
    Sides, Support, Tank, Water, check, has_errors,
};
use bommie::study::Medium;
use bommie::ui::sheet::{Sheet, SheetContext, View, Wash};
use bommie::ui::theme::Theme;
use egui::{Event, Key, Modifiers, PointerButton, Pos2, Role};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use glam::{DVec2, DVec3};

const ROCK: u32 = 1;
const PUMP: u32 = 2;
const CORAL: u32 = 3;

struct State {
    desk: Desk,
    sheet: Sheet,
    theme: Theme,
}

fn scene() -> Scene {
    let mut rock = Shape::Boulder.rock(ROCK, DVec3::new(40.0, 30.0, 3.0));
    "left island".clone_into(&mut rock.name);
    let pump = Pump {
        id: PUMP,
        name: "left pump".to_owned(),
        kind: PumpKind::Propeller,
        at_cm: DVec3::new(5.0, 50.0, 38.0),
        turn_deg: 0.0,
        tilt_deg: 0.0,
        flow_lph: 500.0,
        outlet_cm: 2.0,
        throttle: 1.0,
        programme: Programme::Steady,
        power_w: None,
        by_hour: Vec::new(),
        guarded: false,
        measured: None,
        locked: false,
    };
    let coral = Coral {
        id: CORAL,
        entry: "caulastraea".to_owned(),
        name: String::new(),
        at_cm: DVec3::new(80.0, 15.0, 3.0),
        facing: DVec3::Z,
        size_cm: DVec3::new(5.0, 5.0, 4.0),
        mount: Mount::Sand,
        on: Support::Sand,
        since: None,
        note: String::new(),
        locked: false,
    };
    Scene {
        format: FORMAT,
        name: "by hand".to_owned(),
        tank: Tank {
            length_cm: 120.0,
            width_cm: 60.0,
            height_cm: 55.0,
            water_cm: 50.0,
            sand: Sand::default(),
            sides: Sides::default(),
            panes: bommie::scene::Panes::default(),
            water: Water::default(),
            returns: vec![],
            overflow: None,
        },
        layouts: vec![Layout {
            name: "as built".to_owned(),
            rocks: vec![rock],
            pumps: vec![pump],
            corals: vec![coral],
            ..Layout::default()
        }],
        readings: Vec::<Reading>::new(),
        animals: vec![],
        underlays: vec![],
    }
}

fn harness() -> Harness<'static, State> {
    let state = State {
        desk: Desk::new(Document::new(scene(), None), Arc::new(|| {})),
        sheet: Sheet::new(),
        theme: Theme::day(),
    };
    let mut is_dressed = false;
    let mut harness = Harness::builder()
        .with_size([1100.0, 760.0])
        .with_max_steps(400)
        .with_step_dt(1.0 / 60.0)
        .build_ui_state(
            move |ui, state: &mut State| {
                if !is_dressed {
                    state.theme.install(ui.ctx());
                    is_dressed = true;
                    return;
                }
                let mut send = Vec::new();
                let context = SheetContext {
                    desk: &state.desk,
                    theme: &state.theme,
                    motion: bommie::ui::STILL,
                };
                state.sheet.show(ui, &context, &mut send);
                for command in send {
                    state.desk.run(command);
                }
            },
            state,
        );
    harness.run_steps(6);
    // Until the rock is drawn, however many frames that takes here.
    harness.run();
    harness
}

fn act(harness: &mut Harness<'_, State>, action: Action) -> bool {
    let state = harness.state_mut();
    let mut send = Vec::new();
    let context = SheetContext {
        desk: &state.desk,
        theme: &state.theme,
        motion: bommie::ui::STILL,
    };
    let did = state.sheet.act(action, &context, &mut send);
    for command in send {
        state.desk.run(command);
    }
    if !did {
        state.desk.run(Command::Action(action));
    }
    harness.run_steps(2);
    did
}

fn pos(harness: &Harness<'_, State>, view: View, flat_cm: (f64, f64)) -> Pos2 {
    let frame = harness.state().sheet.frame(view);
    frame.map_or(Pos2::ZERO, |frame| frame.pos_flat(DVec2::from(flat_cm)))
}

fn button(harness: &mut Harness<'_, State>, pos: Pos2, pressed: bool, modifiers: Modifiers) {
    harness.event(Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed,
        modifiers,
    });
    harness.step();
}

fn hover(harness: &mut Harness<'_, State>, pos: Pos2) {
    harness.event(Event::PointerMoved(pos));
    harness.step();
}

/// Presses at the first place, goes along the others, lets go at the last.
fn drag_with(harness: &mut Harness<'_, State>, path: &[Pos2], modifiers: Modifiers) {
    hover(harness, path[0]);
    button(harness, path[0], true, modifiers);
    for at in &path[1..] {
        hover(harness, *at);
    }
    button(harness, path[path.len() - 1], false, modifiers);
    harness.step();
}

fn drag(harness: &mut Harness<'_, State>, view: View, from: (f64, f64), to: (f64, f64)) {
    let (a, b) = (pos(harness, view, from), pos(harness, view, to));
    let path: Vec<Pos2> = (0..=8).map(|k| a + (b - a) * (k as f32 / 8.0)).collect();
    drag_with(harness, &path, Modifiers::NONE);
}

fn click(harness: &mut Harness<'_, State>, view: View, at: (f64, f64)) {
    let at = pos(harness, view, at);
    hover(harness, at);
    button(harness, at, true, Modifiers::NONE);
    button(harness, at, false, Modifiers::NONE);
    // Two clicks in short order would be a double click.
    harness.run_steps(24);
}

fn rock(harness: &Harness<'_, State>) -> Rock {
    match harness.state().desk.layout().item(ROCK) {
        Some(Item::Rock(rock)) => rock,
        other => panic!("the rock is gone: {other:?}"),
    }
}

fn steps(harness: &Harness<'_, State>) -> Vec<String> {
    let history = harness.state().desk.document().history();
    history
        .past_labels()
        .iter()
        .map(|label| (*label).to_owned())
        .collect()
}

fn undo(harness: &mut Harness<'_, State>) {
    harness.state_mut().desk.run(Command::Action(Action::Undo));
    harness.step();
}

#[test]
fn every_view_and_every_item_has_a_name_for_screen_readers() {
    let harness = harness();
    for label in [
        "Top view",
        "Side view",
        "End view",
        "Solid view",
        "rock 1, left island",
        "pump 2, left pump",
        "coral 3, trumpet / candy cane (Caulastraea)",
    ] {
        harness.get_by_label(label);
    }
}

#[test]
fn a_rock_dragged_from_above_moves_along_x_and_y_in_one_step() {
    let mut harness = harness();
    drag(&mut harness, View::Top, (40.0, 33.0), (62.0, 38.0));
    assert_eq!(rock(&harness).at_cm, DVec3::new(62.0, 35.0, 3.0), "moved");
    assert_eq!(steps(&harness), ["move left island"], "one step");
    assert_eq!(harness.state().desk.selection(), [ROCK], "and selected");
    undo(&mut harness);
    assert_eq!(**harness.state().desk.scene(), scene(), "as before");
}

#[test]
fn a_rock_dragged_from_the_side_moves_along_x_and_z_and_settles_on_the_bottom() {
    let mut harness = harness();
    drag(&mut harness, View::Side, (42.0, 12.0), (52.0, 22.0));
    assert_eq!(rock(&harness).at_cm, DVec3::new(50.0, 30.0, 13.0), "lifted");
    drag(&mut harness, View::Side, (52.0, 22.0), (52.0, 9.6));
    // Off by 0.6 cm from the bottom: it snaps.
    assert!(
        rock(&harness).at_cm.z.abs() < 1e-9,
        "down on the glass: {}",
        rock(&harness).at_cm
    );
}

#[test]
fn escape_puts_a_dragged_thing_back() {
    let mut harness = harness();
    let (a, b) = (
        pos(&harness, View::Top, (40.0, 33.0)),
        pos(&harness, View::Top, (70.0, 20.0)),
    );
    hover(&mut harness, a);
    button(&mut harness, a, true, Modifiers::NONE);
    for k in 1..=6 {
        hover(&mut harness, a + (b - a) * (k as f32 / 6.0));
    }
    assert!(rock(&harness).at_cm.x > 60.0, "under way");
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    button(&mut harness, b, false, Modifiers::NONE);
    harness.run_steps(2);
    assert_eq!(
        rock(&harness).at_cm,
        DVec3::new(40.0, 30.0, 3.0),
        "put back"
    );
    assert!(steps(&harness).is_empty(), "no step: {:?}", steps(&harness));
}

#[test]
fn a_point_of_an_outline_follows_the_hand_and_is_added_and_removed() {
    let mut harness = harness();
    click(&mut harness, View::Top, (40.0, 33.0));
    // The fourth plan point of the boulder is at (11, -1) from its place.
    drag(&mut harness, View::Top, (51.0, 29.0), (54.0, 28.0));
    assert_eq!(
        rock(&harness).plan.points_cm[3],
        DVec2::new(14.0, -2.0),
        "reshaped"
    );
    assert_eq!(steps(&harness), ["reshape left island"], "one step");
    assert_eq!(
        rock(&harness).at_cm,
        DVec3::new(40.0, 30.0, 3.0),
        "not moved"
    );

    let on_edge = rock(&harness).plan.curve_cm().points()[8 + 4] + DVec2::new(40.0, 30.0);
    let at = pos(&harness, View::Top, on_edge.into());
    hover(&mut harness, at);
    for _ in 0..2 {
        button(&mut harness, at, true, Modifiers::NONE);
        button(&mut harness, at, false, Modifiers::NONE);
    }
    harness.run_steps(24);
    assert_eq!(rock(&harness).plan.points_cm.len(), 8, "a point more");
    assert!(
        act(&mut harness, Action::Remove),
        "Delete takes the chosen point"
    );
    assert_eq!(rock(&harness).plan.points_cm.len(), 7, "and away again");
    assert_eq!(
        steps(&harness),
        ["reshape left island", "add a point", "remove a point"],
        "each a step"
    );
}

/// A hand going around an ellipse in a view.
fn loop_around(harness: &Harness<'_, State>, view: View, middle: DVec2, half: DVec2) -> Vec<Pos2> {
    (0..=48)
        .map(|k| {
            let angle = f64::from(k) / 48.5 * std::f64::consts::TAU;
            pos(
                harness,
                view,
                (middle + DVec2::from_angle(angle) * half).into(),
            )
        })
        .collect()
}

#[test]
fn a_rock_is_drawn_freehand_in_the_top_and_in_the_side_view() {
    let mut harness = harness();
    for (n, view, middle) in [
        (2, View::Top, DVec2::new(90.0, 40.0)),
        (3, View::Side, DVec2::new(90.0, 10.0)),
    ] {
        assert!(act(&mut harness, Action::DrawRock), "the pen is in hand");
        let path = loop_around(&harness, view, middle, DVec2::new(12.0, 9.0));
        drag_with(&mut harness, &path, Modifiers::NONE);
        let layout = harness.state().desk.layout();
        assert_eq!(layout.rocks.len(), n, "{view:?}: a rock more");
        let drawn = &layout.rocks[n - 1];
        assert!(
            (drawn.at_cm.x - 90.0).abs() < 1.0,
            "{view:?}: at {}",
            drawn.at_cm
        );
        let outline = if view == View::Top {
            &drawn.plan
        } else {
            &drawn.front
        };
        assert!(
            (6..=16).contains(&outline.points_cm.len()),
            "{view:?}: {} points",
            outline.points_cm.len()
        );
    }
    assert_eq!(
        steps(&harness),
        ["draw a rock", "draw a rock"],
        "a step each"
    );
    assert!(
        !has_errors(&check(harness.state().desk.scene())),
        "a sound scene"
    );
}

#[test]
fn what_was_not_drawn_of_a_rock_is_a_guess_that_can_be_changed_and_kept() {
    let top_of = |rock: &Rock| {
        let heights = rock.front.points_cm.iter().map(|p| p.y);
        heights.fold(0.0, f64::max)
    };
    let offered = |harness: &Harness<'_, State>, label: &str| {
        let found = harness.query_all_by_role_and_label(Role::Link, label);
        found.count()
    };
    let answer = |harness: &mut Harness<'_, State>, label: &str| {
        harness.get_by_role_and_label(Role::Link, label).click();
        harness.run_steps(6);
    };
    let mut harness = harness();
    assert_eq!(offered(&harness, "keep the guess"), 0, "nothing is guessed");
    act(&mut harness, Action::DrawRock);
    let (middle, half) = (DVec2::new(90.0, 40.0), DVec2::new(12.0, 9.0));
    let path = loop_around(&harness, View::Top, middle, half);
    drag_with(&mut harness, &path, Modifiers::NONE);
    harness.run_steps(6);
    let rock = |harness: &Harness<'_, State>| harness.state().desk.layout().rocks[1].clone();
    let guessed = top_of(&rock(&harness));
    answer(&mut harness, "higher");
    let ratio = top_of(&rock(&harness)) / guessed;
    assert!((ratio - 1.25).abs() < 0.01, "a quarter higher, not {ratio}");
    answer(&mut harness, "lower");
    assert!(
        (top_of(&rock(&harness)) - guessed).abs() < 0.02,
        "and back again"
    );
    assert_eq!(
        steps(&harness),
        ["draw a rock", "change the guess", "change the guess"]
    );
    // However often it is asked for, no higher than the water.
    (0..12).for_each(|_| answer(&mut harness, "higher"));
    assert!(top_of(&rock(&harness)) <= 50.01, "within the water");
    assert!(!has_errors(&check(harness.state().desk.scene())), "sound");
    answer(&mut harness, "keep the guess");
    assert_eq!(offered(&harness, "keep the guess"), 0, "kept");

    // From the side its depth is the guess; drawn by hand it is none any more.
    act(&mut harness, Action::DrawRock);
    let (middle, half) = (DVec2::new(20.0, 12.0), DVec2::new(9.0, 9.0));
    let path = loop_around(&harness, View::Side, middle, half);
    drag_with(&mut harness, &path, Modifiers::NONE);
    harness.run_steps(6);
    assert_eq!(offered(&harness, "deeper"), 1, "its depth is offered");
    let mut drawn = harness.state().desk.layout().rocks[2].clone();
    drawn.plan.points_cm[0].x -= 1.0;
    let change = Change::Put(Box::new(Item::Rock(drawn)));
    let edit = Command::Edit("reshape".to_owned(), change);
    harness.state_mut().desk.run(edit);
    harness.run_steps(6);
    assert_eq!(offered(&harness, "deeper"), 0, "a point was moved by hand");
}

#[test]
fn a_rock_is_drawn_point_by_point_and_an_opening_cut_into_it() {
    let mut harness = harness();
    act(&mut harness, Action::DrawRock);
    for at in [
        (80.0, 3.0),
        (106.0, 3.0),
        (104.0, 24.0),
        (82.0, 24.0),
        (80.0, 3.0),
    ] {
        click(&mut harness, View::Side, at);
    }
    let layout = harness.state().desk.layout();
    assert_eq!(layout.rocks.len(), 2, "closed at its first point");
    let id = layout.rocks[1].id;
    assert_eq!(harness.state().desk.selection(), [id], "and selected");
    act(&mut harness, Action::CutOpening);
    let path = loop_around(
        &harness,
        View::Side,
        DVec2::new(93.0, 10.0),
        DVec2::new(5.0, 5.0),
    );
    drag_with(&mut harness, &path, Modifiers::NONE);
    let layout = harness.state().desk.layout();
    assert_eq!(layout.rocks[1].front.openings.len(), 1, "a hole");
    let solids = bommie::scene::solids::rockwork(layout);
    let middle = DVec3::new(0.93, layout.rocks[1].at_cm.y / 100.0, 0.10);
    assert!(!solids.contains(middle), "one can swim through");
}

#[test]
fn the_level_lines_and_the_pump_arrow_are_dragged() {
    let mut harness = harness();
    drag(&mut harness, View::Side, (100.0, 38.0), (100.0, 24.0));
    assert_eq!(
        harness.state().desk.levels().height_cm,
        24.0,
        "the cut went down"
    );
    assert!(steps(&harness).is_empty(), "looking is no step");
    // 500 L/h through 2 cm reach 52.2 cm.
    drag(&mut harness, View::Top, (57.2, 50.0), (40.0, 15.0));
    let Some(Item::Pump(pump)) = harness.state().desk.layout().item(PUMP) else {
        panic!("the pump is gone");
    };
    // Towards (35, -35) from the pump.
    assert_eq!(pump.turn_deg, -45.0, "aimed");
    assert_eq!(steps(&harness), ["aim left pump"], "one step");
}

#[test]
fn a_coral_dragged_over_a_rock_sits_on_it_and_rides_along() {
    let mut harness = harness();
    drag(&mut harness, View::Top, (80.0, 15.0), (40.0, 30.0));
    let coral = |harness: &Harness<'_, State>| match harness.state().desk.layout().item(CORAL) {
        Some(Item::Coral(coral)) => coral,
        other => panic!("the coral is gone: {other:?}"),
    };
    assert_eq!(coral(&harness).on, Support::Rock(ROCK), "on the rock");
    // The boulder is about 16 cm high and stands at 3 cm.
    assert!(
        (16.0..20.0).contains(&coral(&harness).at_cm.z),
        "on top of it"
    );
    let before = coral(&harness).at_cm;
    drag(&mut harness, View::Top, (45.0, 26.0), (65.0, 26.0));
    let moved = coral(&harness).at_cm - before;
    assert!(
        (moved - DVec3::X * 20.0).length() < 1e-9,
        "rode along: {moved}"
    );
}

#[test]
fn the_marquee_and_the_arrow_keys_work_on_several_things() {
    let mut harness = harness();
    drag(&mut harness, View::Top, (20.0, 6.0), (115.0, 47.0));
    assert_eq!(
        harness.state().desk.selection(),
        [ROCK, CORAL],
        "both inside"
    );
    let before = rock(&harness).at_cm;
    for _ in 0..3 {
        harness.key_down(Key::ArrowRight);
        harness.step();
        harness.key_up(Key::ArrowRight);
    }
    harness.run_steps(2);
    assert_eq!(
        rock(&harness).at_cm - before,
        DVec3::X * 3.0,
        "three centimetres"
    );
    let n_steps = steps(&harness).len();
    (0..n_steps).for_each(|_| undo(&mut harness));
    assert_eq!(**harness.state().desk.scene(), scene(), "all undone");
}

#[test]
fn turning_a_rock_carries_its_corals() {
    let mut harness = harness();
    drag(&mut harness, View::Top, (80.0, 15.0), (46.0, 30.0));
    click(&mut harness, View::Top, (36.0, 33.0));
    for _ in 0..18 {
        act(&mut harness, Action::TurnLeft);
    }
    assert_eq!(rock(&harness).turn_deg, 90.0, "a quarter turn");
    let Some(Item::Coral(coral)) = harness.state().desk.layout().item(CORAL) else {
        panic!("the coral is gone");
    };
    // Kept to a tenth of a millimetre, eighteen times.
    let gap = coral.at_cm.truncate() - DVec2::new(40.0, 36.0);
    assert!(gap.length() < 0.1, "at {}", coral.at_cm);
}

#[test]
fn views_fill_the_sheet_and_come_back_and_the_wash_changes() {
    let mut harness = harness();
    assert!(act(&mut harness, Action::FillSide), "the sheet's own");
    assert!(harness.state().sheet.frame(View::Top).is_none(), "alone");
    let scale = harness
        .state()
        .sheet
        .frame(View::Side)
        .map(|frame| frame.scale);
    act(&mut harness, Action::ZoomIn);
    let closer = harness
        .state()
        .sheet
        .frame(View::Side)
        .map(|frame| frame.scale);
    assert!(closer > scale, "closer");
    act(&mut harness, Action::AllViews);
    assert!(
        harness.state().sheet.frame(View::Top).is_some(),
        "all again"
    );
    act(&mut harness, Action::WashLight);
    assert_eq!(harness.state().sheet.wash(), Wash::Light, "light");
    assert!(
        !act(&mut harness, Action::Save),
        "saving is not the sheet's"
    );
}

#[test]
fn the_read_out_names_what_is_under_the_pointer() {
    let mut harness = harness();
    let mut place = |view, at| {
        let at = pos(&harness, view, at);
        hover(&mut harness, at);
        harness
            .state()
            .sheet
            .cursor_readout()
            .map(|read| read.place)
    };
    assert_eq!(place(View::Side, (42.0, 10.0)), Some(Medium::Rock), "rock");
    assert_eq!(
        place(View::Side, (80.0, 30.0)),
        Some(Medium::Water),
        "water"
    );
    assert_eq!(place(View::Side, (80.0, 1.0)), Some(Medium::Sand), "sand");
    assert_eq!(
        place(View::Side, (80.0, 53.0)),
        Some(Medium::Outside),
        "air"
    );
}

/// A repeatable stream of numbers from 0 to 1.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        // Knuth's MMIX constants, MEMORY; any odd mixer would do.
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / f64::from(1_u32 << 31)
    }
}

#[test]
fn any_row_of_gestures_leaves_a_sound_scene_and_is_undone_and_redone_exactly() {
    let mut harness = harness();
    let mut dice = Dice(7);
    // The drawing is larger than it was, so that handles cover less of it.
    for _ in 0..280 {
        let view = View::ALL[(dice.roll() * 3.0) as usize];
        let size = if view == View::Top {
            (120.0, 60.0)
        } else {
            (120.0, 50.0)
        };
        let width = if view == View::End { 60.0 } else { size.0 };
        let from = (dice.roll() * width, dice.roll() * size.1);
        let to = (dice.roll() * width, dice.roll() * size.1);
        match (dice.roll() * 10.0) as usize {
            0 => {
                act(&mut harness, Action::DrawRock);
                let half = DVec2::new(4.0 + 8.0 * dice.roll(), 4.0 + 6.0 * dice.roll());
                let path = loop_around(&harness, view, DVec2::from(from), half);
                drag_with(&mut harness, &path, Modifiers::NONE);
                act(&mut harness, Action::SelectNone);
            }
            1 => {
                act(&mut harness, Action::TurnLeft);
            }
            2 => click(&mut harness, view, from),
            _ => drag(&mut harness, view, from, to),
        }
    }
    let desk = &harness.state().desk;
    let last = Arc::clone(desk.scene());
    let issues = check(&last);
    assert!(!has_errors(&issues), "{issues:#?}");
    let n_steps = steps(&harness).len();
    assert!(n_steps > 40, "only {n_steps} gestures did something");
    (0..n_steps).for_each(|_| undo(&mut harness));
    assert_eq!(
        **harness.state().desk.scene(),
        scene(),
        "undone to the first"
    );
    for _ in 0..n_steps {
        harness.state_mut().desk.run(Command::Action(Action::Redo));
    }
    assert_eq!(**harness.state().desk.scene(), *last, "redone to the last");
}

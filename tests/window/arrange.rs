//! Putting things in line, by the window's labels and its pointer.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::time::{Duration, Instant};

use bommie::desk::Action;
use bommie::scene::solids;
use bommie::ui::sheet::View;
use egui::{Event, Key, Modifiers, PointerButton, Pos2, Role};
use egui_kittest::kittest::Queryable as _;
use glam::{DVec2, DVec3};

use crate::PATIENCE;
use crate::hand::{Window, come_to_rest, press, run_by_words, scene, start};

/// A window in which every rock is drawn.
fn window() -> Window {
    let mut window = crate::hand::window(start(false));
    come_to_rest(&mut window);
    window
}

fn button(window: &mut Window, pos: Pos2, pressed: bool) {
    window.event(Event::PointerButton {
        pos,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    });
    window.run_steps(2);
}

/// Drags in a view from one place of it to another, in cm.
fn drag(window: &mut Window, view: View, from_cm: DVec2, to_cm: DVec2) {
    let frame = window.state().sheet().frame(view).expect("the view shows");
    drag_on_screen(window, frame.pos_flat(from_cm), frame.pos_flat(to_cm));
}

/// Drags a thing from the shelf to a place of a view, in cm.
fn drag_from_shelf(window: &mut Window, thing: &str, view: View, to_cm: DVec2) {
    let from = window.get_by_role_and_label(Role::Button, thing).rect();
    let frame = window.state().sheet().frame(view).expect("the view shows");
    drag_on_screen(window, from.center(), frame.pos_flat(to_cm));
    window.run_steps(3);
}

fn drag_on_screen(window: &mut Window, from: Pos2, to: Pos2) {
    window.event(Event::PointerMoved(from));
    window.run_steps(2);
    button(window, from, true);
    for k in 1..=8_u8 {
        let share = f32::from(k) / 8.0;
        window.event(Event::PointerMoved(from + (to - from) * share));
        window.run_steps(1);
    }
    button(window, to, false);
}

#[test]
fn each_way_to_arrange_is_one_step_and_undone_exactly() {
    let mut window = window();
    // Rocks and their corals alone: nothing else goes up to where lamps hang.
    // (Bottoms are left to the unit tests: corals would be put into rock.)
    let layout = scene(&window).layouts[0].clone();
    let pumps = layout.pumps.iter().map(|pump| pump.name.clone());
    let lamps = layout.lamps.iter().map(|lamp| lamp.name.clone());
    for name in pumps.chain(lamps) {
        run_by_words(&mut window, Action::Stocklist);
        window.get_by_role_and_label(Role::Link, &name).click();
        window.run_steps(4);
        run_by_words(&mut window, Action::Remove);
    }
    let before = scene(&window);
    for action in [
        Action::AlignLeft,
        Action::AlignMiddle,
        Action::AlignRight,
        Action::AlignFront,
        Action::AlignBack,
        Action::AlignTops,
        Action::DistributeAcross,
        Action::DistributeDepth,
        Action::ScaleUp,
        Action::ScaleDown,
        Action::Bond,
    ] {
        run_by_words(&mut window, Action::SelectAll);
        run_by_words(&mut window, action);
        let after = scene(&window);
        assert_ne!(
            after.layouts,
            before.layouts,
            "{} did nothing",
            action.label()
        );
        press(&mut window, Modifiers::COMMAND, Key::Z);
        assert_eq!(scene(&window), before, "{} is undone", action.label());
    }
}

#[test]
fn hidden_things_are_neither_drawn_nor_picked_and_come_back() {
    let mut window = window();
    let before = scene(&window);
    run_by_words(&mut window, Action::SelectAll);
    run_by_words(&mut window, Action::Hide);
    assert_eq!(scene(&window), before, "the scene stays as it is");
    assert!(window.state().desk().selection().is_empty(), "let go");
    let frame = window.state().sheet().frame(View::Top).expect("it shows");
    let on_rock = frame.pos(before.layouts[0].rocks[0].at_cm);
    window.event(Event::PointerMoved(on_rock));
    button(&mut window, on_rock, true);
    button(&mut window, on_rock, false);
    assert!(window.state().desk().selection().is_empty(), "not picked");
    let n = before.layouts[0].ids().count();
    let link = bommie::ui::text::n_hidden(n);
    window.get_by_role_and_label(Role::Link, &link).click();
    window.run_steps(3);
    assert!(window.state().desk().hidden().is_empty(), "back again");
}

#[test]
fn a_rock_lifted_over_another_comes_to_rest_on_its_top() {
    let mut window = window();
    let rocks = &scene(&window).layouts[0].rocks;
    let bounds = |idx: usize| solids::rock_solid(&rocks[idx]).bounds();
    // Any two rocks, one over the other as seen from above.
    let over = |a: usize, b: usize| {
        let (a, b) = (bounds(a), bounds(b));
        (0..2).all(|axis| a.min_m[axis] < b.max_m[axis] && a.max_m[axis] > b.min_m[axis])
    };
    let n = rocks.len();
    let pair = (0..n)
        .flat_map(|a| (0..n).map(move |b| (a, b)))
        .find(|(a, b)| a != b && over(*a, *b) && rocks[*a].bonded.is_none());
    let (upper, lower) = pair.expect("the demo has a rock on a rock");
    let (top_m, base_m) = (bounds(lower).max_m.z, bounds(upper).min_m.z);
    let id = rocks[upper].id;
    let near_cm = (top_m - base_m) * 100.0 + 0.2;
    let at = View::Side.flat(rocks[upper].at_cm + DVec3::new(2.5, 0.0, 2.0));
    drag(&mut window, View::Side, at, at + DVec2::new(0.0, near_cm));
    let after = scene(&window);
    let moved = after.layouts[0].rocks.iter().find(|rock| rock.id == id);
    let base = solids::rock_solid(moved.expect("it is there"))
        .bounds()
        .min_m
        .z;
    let notices = window.state().desk().notices().to_vec();
    let selection = window.state().desk().selection().to_vec();
    assert_eq!(selection, vec![id], "the upper rock, {notices:?}");
    let is_held = after.layouts[0].rocks != *rocks;
    assert!(is_held, "it was taken hold of");
    assert!(
        (base - top_m).abs() < 1e-6,
        "rests at {base}, top at {top_m}"
    );
}

#[test]
fn the_overflow_is_dragged_along_its_side() {
    let mut window = window();
    let before = scene(&window).tank.overflow.expect("the demo has one");
    let tank = scene(&window).tank.clone();
    let middle = f64::midpoint(before.from_cm, before.to_cm);
    let at = DVec2::new(middle, tank.water_cm - before.depth_cm / 2.0);
    drag(&mut window, View::Side, at, at + DVec2::new(12.0, 0.0));
    let after = scene(&window).tank.overflow.expect("still there");
    assert!(
        (after.from_cm - before.from_cm - 12.0).abs() < 0.51,
        "{after:?}"
    );
    let width = |it: bommie::scene::Overflow| it.to_cm - it.from_cm;
    assert_eq!(width(after), width(before), "as wide as it was");
    press(&mut window, Modifiers::COMMAND, Key::Z);
    assert_eq!(scene(&window).tank.overflow, Some(before), "one step back");
}

#[test]
fn a_click_in_the_solid_view_selects_what_is_seen_there() {
    let mut window = window();
    let began = Instant::now();
    loop {
        let node = window.get_by_role_and_label(Role::Canvas, "Solid view");
        let rect = node.rect();
        // The middle of the tank is full of rock in the demo.
        for share in [0.42, 0.5, 0.58, 0.35, 0.65] {
            let pos = rect.min + rect.size() * egui::vec2(share, 0.62);
            window.event(Event::PointerMoved(pos));
            button(&mut window, pos, true);
            button(&mut window, pos, false);
            if window.state().desk().selected_item().is_some() {
                return;
            }
        }
        assert!(began.elapsed() < PATIENCE, "nothing was selected");
        std::thread::sleep(Duration::from_millis(50));
        window.run_steps(2);
    }
}

#[test]
fn what_is_dragged_from_the_shelf_lands_where_it_is_let_go() {
    let mut window = window();
    let before = scene(&window);
    let n = |window: &Window| scene(window).layouts[0].clone();
    let near = |at: f64, wanted: f64| (at - wanted).abs() < 0.5;

    drag_from_shelf(&mut window, "boulder", View::Top, DVec2::new(30.0, 20.0));
    let layout = n(&window);
    assert_eq!(layout.rocks.len(), before.layouts[0].rocks.len() + 1);
    let rock = layout.rocks.last().expect("a rock");
    assert!(near(rock.at_cm.x, 30.0) && near(rock.at_cm.y, 20.0));
    assert!(near(rock.at_cm.z, before.tank.sand.depth_cm), "on the sand");

    // A pump in the side view keeps its depth, and looks into the tank.
    drag_from_shelf(&mut window, "pump", View::Side, DVec2::new(119.0, 20.0));
    let pump = n(&window).pumps.last().cloned().expect("a pump");
    assert!(near(pump.at_cm.x, 117.0), "off the pane: {}", pump.at_cm);
    assert!(near(pump.at_cm.z, 20.0), "{}", pump.at_cm);
    let ahead = pump.turn_deg.to_radians().cos();
    assert!(ahead < -0.5, "into the tank: {}", pump.turn_deg);

    drag_from_shelf(&mut window, "panel", View::Top, DVec2::new(80.0, 30.0));
    let lamp = n(&window).lamps.last().cloned().expect("a lamp");
    assert!(near(lamp.at_cm.x, 80.0) && lamp.at_cm.z > before.tank.water_cm);

    // Of a coral it is asked which; it sits where it was let go.
    drag_from_shelf(&mut window, "coral", View::Top, DVec2::new(60.0, 6.0));
    press(&mut window, Modifiers::NONE, Key::Enter);
    let coral = n(&window).corals.last().cloned().expect("a coral");
    assert!(near(coral.at_cm.x, 60.0) && near(coral.at_cm.y, 6.0));

    // Let go beside the drawing nothing is added, and each was one step.
    let after = scene(&window);
    let shelf = window.get_by_role_and_label(Role::Button, "slab").rect();
    drag_on_screen(&mut window, shelf.center(), Pos2::new(700.0, 5.0));
    assert_eq!(scene(&window), after, "nowhere to put it");
    (0..4).for_each(|_| press(&mut window, Modifiers::COMMAND, Key::Z));
    assert_eq!(scene(&window), before, "one step each");
}

//! The window with words twice their size: as many points as are left of a
//! common screen then. Nothing may be pushed out of its place.

use crate::hand::{Window, press, sized_window, start};
use bommie::desk::Action;
use bommie::ui::{legend, text};
use egui::{Key, Modifiers, Rect, Role};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

/// Points of a 1440 × 900 and a 1280 × 800 screen at 200 %.
const SIZES: [[f32; 2]; 2] = [[720.0, 450.0], [640.0, 400.0]];
/// A border between two parts may take this much, in points.
const LINE: f32 = 2.0;

fn rect(window: &Window, role: Role, label: &str) -> Rect {
    window.get_by_role_and_label(role, label).rect()
}

#[test]
fn the_heads_of_the_lists_stay_below_the_bar_of_months() {
    for size in SIZES {
        let mut window = sized_window(start(false), size);
        press(&mut window, Modifiers::COMMAND, Key::L);
        for key in [None, Some(Key::G), Some(Key::K)] {
            if let Some(key) = key {
                press(&mut window, Modifiers::NONE, key);
            }
            let bar = rect(&window, Role::Slider, text::MONTHS);
            for head in [text::NOTICED, text::GROWTH, text::COMPARE] {
                let head_rect = rect(&window, Role::Button, head);
                assert!(
                    head_rect.top() >= bar.bottom() - LINE,
                    "{size:?}, after {key:?}: {head} at {head_rect:?} under the bar {bar:?}"
                );
            }
        }
    }
}

#[test]
fn every_word_of_the_compare_list_is_left_of_the_inspector() {
    for size in SIZES {
        let mut window = sized_window(start(false), size);
        press(&mut window, Modifiers::COMMAND, Key::L);
        press(&mut window, Modifiers::NONE, Key::K);
        let edge = size[0] - 216.0;
        let words = [
            (Role::Link, Action::WashFlowChange.label()),
            (Role::Link, Action::WashLightChange.label()),
            (Role::Link, text::SWAP_LAYOUTS),
            (Role::Link, text::END_COMPARING),
        ];
        for (role, label) in words {
            let found = rect(&window, role, label);
            assert!(
                found.right() <= edge,
                "{size:?}: {label} ends at {}, the inspector begins at {edge}",
                found.right()
            );
        }
    }
}

#[test]
fn nothing_below_the_bar_runs_under_the_inspector() {
    for size in SIZES {
        let mut window = sized_window(start(false), size);
        press(&mut window, Modifiers::COMMAND, Key::L);
        let edge = size[0] - 216.0;
        for key in [None, Some(Key::G), Some(Key::K)] {
            if let Some(key) = key {
                press(&mut window, Modifiers::NONE, key);
            }
            let bar = rect(&window, Role::Slider, text::MONTHS);
            let mut n = 0;
            for role in [Role::Button, Role::Link] {
                for node in window.query_all_by_role(role) {
                    let place = node.rect();
                    if place.top() < bar.bottom() - LINE || place.left() > edge {
                        continue;
                    }
                    n += 1;
                    assert!(
                        place.right() <= edge,
                        "{size:?}, after {key:?}: {:?} at {place:?}, the edge at {edge}",
                        node.accesskit_node().label()
                    );
                }
            }
            assert!(n >= 3, "the names of the lists are there");
        }
    }
}

#[test]
fn the_legend_keeps_to_its_place_with_every_wash() {
    for size in SIZES {
        let mut window = sized_window(start(false), size);
        let cases = [
            (Key::Num1, text::LEGEND_FLOW),
            (Key::Num2, text::LEGEND_LIGHT),
            (Key::Num3, text::LEGEND_FIT),
            (Key::Num0, text::LEGEND_NONE),
        ];
        for (key, title) in cases {
            press(&mut window, Modifiers::NONE, key);
            let found = window
                .get_all_by_role(Role::Label)
                .map(|node| (node.rect(), node.value().unwrap_or_default()))
                .find(|(_, words)| words.starts_with(title));
            let Some((rect, _)) = found else {
                panic!("{size:?}: {title} is there");
            };
            // Its panel and the margins of both panels.
            let top = size[1] - legend::height(216.0) - 24.0;
            assert!(
                rect.top() >= top && rect.bottom() <= size[1],
                "{size:?}: {title} at {rect:?}, its place begins at {top}"
            );
        }
    }
}

//! The window with words twice their size: as many points as are left of a
//! common screen then. Nothing may be pushed out of its place.

use crate::hand::{Window, press, sized_window, start};
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

/// Opens the lists where they stand in a small window: beside the details.
fn window_with_lists(size: [f32; 2], key: Option<Key>) -> Window {
    let mut window = sized_window(start(false), size);
    press(&mut window, Modifiers::COMMAND, Key::L);
    let lists = window.get_all_by_role(Role::Button).find(|node| {
        node.accesskit_node()
            .label()
            .is_some_and(|it| it.starts_with("noticed"))
    });
    if let Some(lists) = lists {
        lists.click();
    }
    window.run_steps(4);
    if let Some(key) = key {
        press(&mut window, Modifiers::NONE, key);
    }
    window
}

#[test]
fn the_lists_keep_to_the_panel_at_the_right_in_a_small_window() {
    for size in SIZES {
        for key in [None, Some(Key::G), Some(Key::K)] {
            let window = window_with_lists(size, key);
            let left = size[0] - 216.0;
            let legend_top = size[1] - legend::height(216.0, true) - 24.0;
            for head in [text::NOTICED, text::GROWTH, text::COMPARE] {
                let found = rect(&window, Role::Button, head);
                assert!(
                    found.left() >= left - LINE && found.bottom() <= legend_top,
                    "{size:?}, after {key:?}: {head} at {found:?}"
                );
            }
            let mut n = 0;
            for role in [Role::Button, Role::Link] {
                for node in window.query_all_by_role(role) {
                    let place = node.rect();
                    if place.center().x < left || place.top() < 32.0 {
                        continue;
                    }
                    n += 1;
                    assert!(
                        place.right() <= size[0],
                        "{size:?}, after {key:?}: {:?} at {place:?}",
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
            let top = size[1] - legend::height(216.0, true) - 24.0;
            assert!(
                rect.top() >= top && rect.bottom() <= size[1],
                "{size:?}: {title} at {rect:?}, its place begins at {top}"
            );
        }
    }
}

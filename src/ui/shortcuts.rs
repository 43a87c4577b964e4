//! Keys: the words of the action table as key presses.

use egui::{Context, Event, Key, KeyboardShortcut, Modifiers};

use crate::desk::Action;

/// A key text of the table, such as `Ctrl+Shift+Z`, as a shortcut.
pub fn shortcut(text: &str) -> Option<KeyboardShortcut> {
    let mut modifiers = Modifiers::NONE;
    let mut rest = text;
    loop {
        let (modifier, length) = if rest.starts_with("Ctrl+") {
            (Modifiers::COMMAND, 5)
        } else if rest.starts_with("Shift+") {
            (Modifiers::SHIFT, 6)
        } else if rest.starts_with("Alt+") {
            (Modifiers::ALT, 4)
        } else {
            return Key::from_name(rest).map(|key| KeyboardShortcut::new(modifiers, key));
        };
        modifiers |= modifier;
        rest = &rest[length..];
    }
}

/// Actions whose keys were pressed, in the order of the table. While text is
/// being typed only keys that no text field uses count.
pub fn pressed(ctx: &Context) -> Vec<Action> {
    let is_typing = ctx.text_edit_focused();
    let mut rows: Vec<(Action, KeyboardShortcut)> = Action::all()
        .filter_map(|action| Some((action, shortcut(action.key())?)))
        .collect();
    // The most specific first: Ctrl+Z must not swallow Ctrl+Shift+Z.
    rows.sort_by_key(|(_, keys)| {
        std::cmp::Reverse(u8::from(keys.modifiers.shift) + u8::from(keys.modifiers.command))
    });
    let mut found: Vec<Action> = Vec::new();
    ctx.input_mut(|input| {
        for (action, keys) in rows {
            if is_typing && belongs_to_text(keys) {
                continue;
            }
            let is_bare_key = keys.modifiers.is_none();
            let held = input.modifiers;
            if is_bare_key && (held.command || held.alt || held.ctrl) {
                continue;
            }
            if input.consume_shortcut(&keys) {
                found.push(action);
            }
        }
        // The platform turns these keys into events of their own.
        if !is_typing {
            input.events.retain(|event| match event {
                Event::Copy => {
                    found.push(Action::Copy);
                    false
                }
                // With a picture on the clipboard too: what is pasted are things.
                Event::Paste(_) | Event::PasteImage(_) => {
                    found.push(Action::Paste);
                    false
                }
                _ => true,
            });
        }
    });
    found
}

/// Whether a text field needs these keys for itself.
fn belongs_to_text(keys: KeyboardShortcut) -> bool {
    let edits = [
        Key::A,
        Key::C,
        Key::V,
        Key::X,
        Key::Z,
        Key::Y,
        Key::D,
        Key::H,
    ];
    if keys.modifiers.command {
        return edits.contains(&keys.logical_key);
    }
    // Function keys mean nothing to a text field.
    !keys.logical_key.name().starts_with('F') || keys.logical_key == Key::F
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_of_the_table_is_a_key() {
        for action in Action::all().filter(|action| !action.key().is_empty()) {
            let found = shortcut(action.key());
            assert!(
                found.is_some(),
                "{} has key {}",
                action.label(),
                action.key()
            );
        }
        assert_eq!(
            shortcut("Ctrl+Shift+Z"),
            Some(KeyboardShortcut::new(
                Modifiers::COMMAND | Modifiers::SHIFT,
                Key::Z
            )),
            "with its modifiers"
        );
        assert_eq!(shortcut("Ctrl+Nonsense"), None, "not a key");
    }
}

//! Finds things in the text of a scene: where a field stands, and what item
//! stands around a place. It reads as much of a broken file as there is.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::Position;

/// Lists whose members are items with a name, and what one of them is called.
const ITEM_LISTS: &[(&str, &str)] = &[
    ("layouts", "layout"),
    ("rocks", "rock"),
    ("pumps", "pump"),
    ("lamps", "lamp"),
    ("corals", "coral"),
    ("returns", "return"),
    ("readings", "reading"),
    ("animals", "animal"),
];

/// Where each of `paths` (as `layouts[0].pumps[1].flow_lph`) stands, or else
/// the innermost thing around it that the text holds.
pub(super) fn positions(text: &str, paths: &[&str]) -> Vec<Option<Position>> {
    let mut offsets: BTreeMap<&str, usize> = BTreeMap::new();
    let wanted: BTreeSet<&str> = paths.iter().flat_map(|path| ancestors(path)).collect();
    Walk::over(text, text.len(), |path, offset| {
        if let Some(known) = wanted.get(path) {
            offsets.entry(known).or_insert(offset);
        }
    });
    let found: Vec<_> = paths
        .iter()
        .map(|path| ancestors(path).find_map(|path| offsets.get(path).copied()))
        .collect();
    positions_of(text, &found)
}

/// The innermost item around `offset`, as ` in pump 2 "left pump"`, empty if there is none.
pub(super) fn item_around(text: &str, offset: usize) -> String {
    let frames = Walk::over(text, offset, |_, _| {});
    let mut list_key = "";
    let mut found = String::new();
    for pair in frames.windows(2) {
        if let Some(key) = pair[0].key {
            list_key = key;
        }
        let what = ITEM_LISTS.iter().find(|(list, _)| *list == list_key);
        if let (true, Some((_, what))) = (pair[0].is_list, what) {
            found = format!(" in {what} {}", pair[0].index + 1);
            if let Some(name) = pair[1].name.filter(|name| !name.is_empty()) {
                // Writing to a String cannot fail.
                let _written = write!(found, " \"{name}\"");
            }
        }
    }
    found
}

/// Byte offset of a place in the text.
pub(super) fn offset_of(text: &str, at: Position) -> usize {
    let line_start: usize = text
        .split_inclusive('\n')
        .take(at.line.saturating_sub(1))
        .map(str::len)
        .sum();
    let line = text.get(line_start..).unwrap_or("");
    line_start
        + line
            .chars()
            .take(at.column.saturating_sub(1))
            .map(char::len_utf8)
            .sum::<usize>()
}

/// Line and column of a byte offset.
pub(super) fn position_of(text: &str, offset: usize) -> Position {
    let before = text.get(..offset).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    Position {
        line: before.matches('\n').count() + 1,
        column: before[line_start..].chars().count() + 1,
    }
}

/// The same for many offsets, with one pass over the text.
fn positions_of(text: &str, offsets: &[Option<usize>]) -> Vec<Option<Position>> {
    let line_starts: Vec<usize> = std::iter::once(0)
        .chain(text.match_indices('\n').map(|(at, _)| at + 1))
        .collect();
    let find = |offset: usize| {
        let line = line_starts.partition_point(|&start| start <= offset);
        let start = line_starts[line - 1];
        Position {
            line,
            column: text[start..offset].chars().count() + 1,
        }
    };
    offsets.iter().map(|offset| offset.map(find)).collect()
}

/// `a[0].b.c` itself, then `a[0].b`, `a[0]`, `a`.
fn ancestors(path: &str) -> impl Iterator<Item = &str> {
    std::iter::successors(Some(path), |path| {
        path.rfind(['.', '[', ' ']).map(|at| &path[..at])
    })
    .filter(|path| !path.is_empty())
}

/// An open bracket of the text.
struct Frame<'a> {
    is_list: bool,
    /// Member of a list that is being read.
    index: usize,
    /// Field of a struct that is being read.
    key: Option<&'a str>,
    /// What its `name` field holds.
    name: Option<&'a str>,
    /// Whether the next value starts a new member.
    is_fresh: bool,
    /// Length of the path to this bracket.
    path_len: usize,
}

/// A walk over RON text that follows brackets, field names and list members.
struct Walk<'a, F> {
    text: &'a str,
    at: usize,
    frames: Vec<Frame<'a>>,
    path: String,
    visit: F,
}

impl<'a, F: FnMut(&str, usize)> Walk<'a, F> {
    /// Visits each field and list member up to `end`, with its path and
    /// offset; returns the brackets that are open there.
    fn over(text: &'a str, end: usize, visit: F) -> Vec<Frame<'a>> {
        let mut walk = Self {
            text,
            at: 0,
            frames: Vec::new(),
            path: String::new(),
            visit,
        };
        while walk.at < end.min(text.len()) {
            walk.step();
        }
        walk.frames
    }

    fn step(&mut self) {
        let rest = &self.text[self.at..];
        let Some(first) = rest.chars().next() else {
            return;
        };
        match first {
            _ if rest.starts_with("//") => self.at += rest.find('\n').unwrap_or(rest.len()),
            _ if rest.starts_with("/*") => {
                self.at += rest.find("*/").map_or(rest.len(), |at| at + 2);
            }
            '"' => self.string(rest),
            'r' if rest.starts_with("r\"") || rest.starts_with("r#\"") => {
                self.start_value();
                let close = if rest.starts_with("r#") { "\"#" } else { "\"" };
                let body = 1 + close.len();
                self.at += rest[body..]
                    .find(close)
                    .map_or(rest.len(), |at| body + at + close.len());
            }
            '(' | '[' | '{' => {
                self.start_value();
                self.frames.push(Frame {
                    is_list: first == '[',
                    index: 0,
                    key: None,
                    name: None,
                    is_fresh: true,
                    path_len: self.path.len(),
                });
                self.at += 1;
            }
            ')' | ']' | '}' => {
                self.frames.pop();
                if let Some(frame) = self.frames.last() {
                    // Back to the path of the field or member that held the bracket.
                    let keep = frame.path_len;
                    self.rebuild_path(keep);
                }
                self.at += 1;
            }
            ',' => {
                if let Some(frame) = self.frames.last_mut() {
                    frame.index += 1;
                    frame.key = None;
                    frame.is_fresh = true;
                    self.path.truncate(frame.path_len);
                }
                self.at += 1;
            }
            c if c.is_alphanumeric() || c == '_' => self.word(rest),
            c => self.at += c.len_utf8(),
        }
    }

    fn string(&mut self, rest: &'a str) {
        self.start_value();
        let mut is_escaped = false;
        let close = rest.char_indices().skip(1).find(|(_, c)| {
            let ends = *c == '"' && !is_escaped;
            is_escaped = *c == '\\' && !is_escaped;
            ends
        });
        let close = close.map_or(rest.len(), |(at, _)| at);
        if let Some(frame) = self
            .frames
            .last_mut()
            .filter(|frame| frame.key == Some("name"))
        {
            frame.name = rest.get(1..close);
        }
        self.at += (close + 1).min(rest.len());
    }

    /// A field name if a colon follows, else a value.
    fn word(&mut self, rest: &'a str) {
        let len = rest
            .find(|c: char| !(c.is_alphanumeric() || matches!(c, '_' | '.' | '-' | '+')))
            .unwrap_or(rest.len());
        let is_field = rest[len..].trim_start().starts_with(':');
        match self.frames.last_mut() {
            Some(frame) if is_field && !frame.is_list => {
                frame.key = Some(&rest[..len]);
                let keep = frame.path_len;
                self.rebuild_path(keep);
                (self.visit)(&self.path, self.at);
            }
            _ => self.start_value(),
        }
        self.at += len;
    }

    fn start_value(&mut self) {
        let Some(frame) = self.frames.last_mut() else {
            return;
        };
        if frame.is_list && frame.is_fresh {
            frame.is_fresh = false;
            let keep = frame.path_len;
            self.rebuild_path(keep);
            (self.visit)(&self.path, self.at);
        }
    }

    /// Sets the path to that of the current field or member of the innermost bracket.
    fn rebuild_path(&mut self, keep: usize) {
        self.path.truncate(keep);
        let Some(frame) = self.frames.last() else {
            return;
        };
        // Writing to a String cannot fail.
        let _written = match (frame.is_list, frame.key) {
            (true, _) => write!(self.path, "[{}]", frame.index),
            (false, Some(key)) if keep > 0 => write!(self.path, ".{key}"),
            (false, Some(key)) => write!(self.path, "{key}"),
            (false, None) => Ok(()),
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"// a comment with ( and "
(
    name: "a \" b, (",
    tank: (returns: [(at_cm: (1.0, 2.0, 3.0), flow_lph: 5.0)], overflow: Some((side: Back, from_cm: 1.0))),
    layouts: [
        (name: "x", rocks: [(id: 1), (id: 2, plan: (points_cm: [(1.0, 2.0), (-3e-1, 4.0)]))],
         pumps: [(id: 3, name: "left", kind: CrossFlow(length_cm: 3.0))]),
    ],
)"#;

    #[test]
    fn fields_are_found_by_their_path() {
        let cases = [
            ("name", "name: \"a"),
            ("tank.returns[0].flow_lph", "flow_lph"),
            ("tank.overflow.from_cm", "from_cm"),
            ("layouts[0].rocks[1].plan.points_cm[1]", "(-3e-1"),
            ("layouts[0].rocks[1].id", "id: 2"),
            ("layouts[0].pumps[0].kind.length_cm", "length_cm: 3.0"),
            // Left out in the file: the item that lacks it.
            ("layouts[0].pumps[0].throttle", "(id: 3"),
        ];
        for (path, there) in cases {
            let expected = position_of(TEXT, TEXT.find(there).expect("the text holds it"));
            assert_eq!(positions(TEXT, &[path]), vec![Some(expected)], "{path}");
        }
    }

    #[test]
    fn a_place_knows_the_item_around_it() {
        let inside = |there: &str| item_around(TEXT, TEXT.find(there).expect("the text holds it"));
        assert_eq!(inside("kind:"), " in pump 1 \"left\"", "a named item");
        assert_eq!(inside("-3e-1"), " in rock 2", "an item without a name");
        assert_eq!(inside("tank:"), "", "no item around the tank");
    }

    #[test]
    fn offsets_and_positions_undo_each_other() {
        for (offset, _) in TEXT.char_indices() {
            assert_eq!(
                offset_of(TEXT, position_of(TEXT, offset)),
                offset,
                "at {offset}"
            );
        }
    }
}

//! From text to a scene, strictly.

use serde::Deserialize;

use super::locate::{item_around, offset_of, positions};
use super::{Loaded, LocatedIssue, Position, StorageError};
use crate::scene::{FORMAT, Scene, check, has_errors};

/// Largest file that is read, in bytes. The largest scene that the limits
/// allow takes about a quarter of this.
pub const FILE_BYTES_MAX: u64 = 8 * 1024 * 1024;

/// How deep brackets may nest; a scene needs 14 levels. Without a bound, a
/// file of nothing but brackets would exhaust the stack.
pub const NESTING_MAX: usize = 40;

/// The scene in `text`; `file` names it in messages.
///
/// # Errors
/// [`StorageError`] says what is wrong and where: the format number first, then
/// what the parser met first, then all faults of the scene at once.
pub fn parse(text: &str, file: &str) -> Result<Loaded, StorageError> {
    let bytes = text.len() as u64;
    if bytes > FILE_BYTES_MAX {
        return Err(StorageError::TooLarge {
            file: file.to_owned(),
            bytes,
            limit: FILE_BYTES_MAX,
        });
    }
    let sum = super::sum_of(text.as_bytes());
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    check_nesting(text, file)?;
    check_format(text, file)?;
    let scene: Scene = options()
        .from_str(text)
        .map_err(|error| syntax(&error, text, file))?;
    let found = check(&scene);
    let is_unsound = has_errors(&found);
    let paths: Vec<&str> = found.iter().map(|issue| issue.path.as_str()).collect();
    let places = positions(text, &paths);
    let issues = found
        .into_iter()
        .zip(places)
        .map(|(issue, at)| LocatedIssue {
            file: file.to_owned(),
            at,
            issue,
        })
        .collect();
    if is_unsound {
        return Err(StorageError::Unsound {
            file: file.to_owned(),
            issues,
        });
    }
    Ok(Loaded { scene, issues, sum })
}

fn options() -> ron::Options {
    // The parser takes several steps a bracket; brackets are counted beforehand.
    ron::Options::default().with_recursion_limit(NESTING_MAX * 4)
}

/// Refuses text that nests deeper than any scene.
fn check_nesting(text: &str, file: &str) -> Result<(), StorageError> {
    let mut depth = 0_usize;
    for (offset, c) in text.char_indices() {
        match c {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth = depth.saturating_sub(1),
            // Brackets in strings and comments rarely pair badly, and never by the dozen.
            _ => continue,
        }
        if depth > NESTING_MAX {
            return Err(StorageError::Syntax {
                file: file.to_owned(),
                at: super::locate::position_of(text, offset),
                problem: format!("brackets nest deeper than {NESTING_MAX} levels"),
                place: String::new(),
                way_out: "no scene needs that; the file is damaged or not a scene".to_owned(),
            });
        }
    }
    Ok(())
}

/// Reads the format number alone, so that a file from another time is told
/// from a broken one.
fn check_format(text: &str, file: &str) -> Result<(), StorageError> {
    #[derive(Deserialize)]
    struct Header {
        format: i64,
    }
    let Ok(Header { format }) = options().from_str::<Header>(text) else {
        return Ok(());
    };
    let way_out = match format {
        _ if format == i64::from(FORMAT) => return Ok(()),
        _ if format > i64::from(FORMAT) => {
            "it was written by a newer version; update this program to open it"
        }
        _ => "no version ever wrote this number; files of this program start at 1",
    };
    Err(StorageError::Format {
        file: file.to_owned(),
        found: format,
        newest: FORMAT,
        way_out,
    })
}

fn syntax(error: &ron::error::SpannedError, text: &str, file: &str) -> StorageError {
    let start = &error.span.start;
    let at = Position {
        line: start.line,
        column: start.col,
    };
    let stop = Position {
        line: error.span.end.line,
        column: error.span.end.col,
    };
    let rest = text.get(offset_of(text, stop)..).unwrap_or("");
    // A parser that ran out of text complains about what it was in the middle of.
    let is_last_word = rest.len() < 40 && !rest.trim().contains([',', ')', ']', '\n']);
    let other_file = "pick another file, or start from one of the demos".to_owned();
    let (problem, way_out) = if text.trim().is_empty() {
        ("the file is empty".to_owned(), other_file)
    } else if !opens_as_scene(text) {
        ("this is no scene".to_owned(), other_file)
    } else if is_last_word {
        explain(&ron::Error::Eof)
    } else {
        explain(&error.code)
    };
    StorageError::Syntax {
        file: file.to_owned(),
        at,
        problem,
        place: item_around(text, offset_of(text, at)),
        way_out,
    }
}

/// Whether a text begins as scenes do: with a bracket, and within it, if
/// anything, the name of a field. Notes, tables and data of other programs do
/// not, however they go on.
fn opens_as_scene(text: &str) -> bool {
    let body = after_comments(text);
    let body = body.strip_prefix("Scene").unwrap_or(body);
    let Some(inside) = after_comments(body).strip_prefix('(') else {
        return false;
    };
    let inside = after_comments(inside);
    let is_of_name = |c: char| c.is_alphanumeric() || c == '_';
    let rest = inside.trim_start_matches(is_of_name);
    let rest = after_comments(rest);
    rest.is_empty() || rest.starts_with([':', ')'])
}

/// What stands behind blanks, comments and attributes.
fn after_comments(text: &str) -> &str {
    let mut rest = text.trim_start();
    loop {
        let next = if let Some(line) = rest.strip_prefix("//").or(rest.strip_prefix("#!")) {
            line.split_once('\n').map_or("", |(_, next)| next)
        } else if let Some(block) = rest.strip_prefix("/*") {
            block.split_once("*/").map_or("", |(_, next)| next)
        } else {
            return rest;
        };
        rest = next.trim_start();
    }
}

/// A parser's complaint in a keeper's words, and what to do about it.
fn explain(code: &ron::Error) -> (String, String) {
    use ron::Error as E;
    match code {
        E::NoSuchStructField {
            expected, found, ..
        } => unknown_name("field", found, expected),
        E::NoSuchEnumVariant {
            expected, found, ..
        } => unknown_name("choice", found, expected),
        E::MissingStructField { field, .. } => (
            format!("the field {field:?} is missing"),
            "add it; see scenes/FORMAT.md".to_owned(),
        ),
        E::DuplicateStructField { field, .. } => (
            format!("the field {field:?} is given twice"),
            "remove one of the two".to_owned(),
        ),
        E::InvalidValueForType { expected, found } => (
            format!("found {found}, wanted {expected}"),
            "give a value of that kind".to_owned(),
        ),
        E::ExpectedDifferentLength { expected, found } => (
            format!("found {found} values, wanted {expected}"),
            "a place has three numbers (x, y, z), a point of an outline two".to_owned(),
        ),
        E::Eof | E::ExpectedStringEnd | E::UnclosedBlockComment => (
            "the file ends in the middle".to_owned(),
            format!(
                "it is cut short; its previous version may lie beside it as NAME{}",
                super::PREVIOUS_SUFFIX
            ),
        ),
        other => {
            let (problem, way_out) = explain_bracket(other);
            (problem, way_out.to_owned())
        }
    }
}

/// The same for complaints about single characters.
fn explain_bracket(code: &ron::Error) -> (String, &'static str) {
    use ron::Error as E;
    let (problem, way_out) = match code {
        E::ExceededRecursionLimit => (
            "brackets nest too deep",
            "no scene needs that; the file is damaged or not a scene",
        ),
        E::TrailingCharacters => (
            "there is more after the end of the scene",
            "remove it, or the bracket before it",
        ),
        E::ExpectedComma => ("a comma is missing before this place", "add it"),
        E::ExpectedOption => (
            "wanted Some(value) or None",
            "write Some( and ) around the value",
        ),
        E::ExpectedFloat | E::ExpectedInteger | E::UnderscoreAtBeginning | E::FloatUnderscore => (
            "wanted a number",
            "write it as 12.5, with a point and without a unit",
        ),
        E::ExpectedStructLike | E::ExpectedNamedStructLike(_) => (
            "wanted an opening bracket ( and fields",
            "see scenes/FORMAT.md",
        ),
        other => {
            let text = other.to_string();
            let mut chars = text.chars();
            let lower = chars
                .next()
                .map(|c| c.to_lowercase().chain(chars).collect());
            return (lower.unwrap_or_default(), "see scenes/FORMAT.md");
        }
    };
    (problem.to_owned(), way_out)
}

fn unknown_name(what: &str, found: &str, expected: &[&str]) -> (String, String) {
    let near = closest(found, expected)
        .map_or_else(String::new, |name| format!("perhaps {name} was meant; "));
    // A hostile name may be as long as the file.
    let shown: String = found.chars().take(60).collect();
    (
        format!("unknown {what} {shown:?}"),
        format!("{near}known here: {}", expected.join(", ")),
    )
}

/// The known name that a misspelt one most likely stood for.
fn closest<'a>(found: &str, known: &[&'a str]) -> Option<&'a str> {
    let best = known
        .iter()
        .map(|name| (edit_distance(found, name), *name))
        .min()?;
    (best.0 <= 1 + found.len() / 4).then_some(best.1)
}

/// Levenshtein's distance between two short names.
fn edit_distance(a: &str, b: &str) -> usize {
    // A hostile name may be as long as the file.
    if a.len() > 64 {
        return usize::MAX;
    }
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(from != *to);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_begins_as_a_scene_is_cut_short() {
        let said = |text: &str| match parse(text, "x") {
            Err(StorageError::Syntax { problem, .. }) => problem,
            other => panic!("no scene: {other:?}"),
        };
        for note in [
            "Dear diary (again",
            "{\"a\": 1}",
            "name,x\n1,2",
            "hello, tank: (",
            "(see page 4)",
        ] {
            assert_eq!(said(note), "this is no scene", "{note}");
        }
        let cut = [
            "(format: 1, name: \"x\", tank: (length_cm: 12",
            "// mine\n(",
            "(form",
        ];
        for cut in cut {
            assert_eq!(said(cut), "the file ends in the middle", "{cut}");
        }
        assert_eq!(said(" \n"), "the file is empty");
    }

    #[test]
    fn misspelt_fields_find_their_neighbor() {
        let known = ["flow_lph", "outlet_cm", "throttle"];
        assert_eq!(
            closest("flow_lhp", &known),
            Some("flow_lph"),
            "letters swapped"
        );
        assert_eq!(
            closest("throtle", &known),
            Some("throttle"),
            "letter left out"
        );
        assert_eq!(closest("color", &known), None, "nothing alike");
        assert_eq!(edit_distance("kitten", "sitting"), 3, "the textbook pair");
    }
}

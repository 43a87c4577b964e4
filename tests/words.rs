//! What the program says to a keeper, as it stands in the sources: one
//! spelling, and none of the words that keepers did not understand.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::fs;
use std::path::{Path, PathBuf};

/// Beginnings and middles of words that are spelled otherwise in American
/// English, which the program speaks.
const BRITISH: &[&str] = &[
    "colour",
    "neighbour",
    "favour",
    "behaviour",
    "harbour",
    "vapour",
    "odour",
    "flavour",
    "centre",
    "metre",
    "litre",
    "fibre",
    "catalogue",
    "programme",
    "licence",
    "judgement",
    "labelled",
    "modelled",
    "cancelled",
    "travelled",
    "paediatric",
    "analyse",
    "organise",
    "recognise",
    "optimise",
    "minimise",
    "sensitise",
    "realise",
    "aluminium",
    "sulph",
    "plough",
];

/// Words that are British as a whole; longer ones that hold them are not.
const BRITISH_WORDS: &[&str] = &[
    "grey",
    "greyscale",
    "towards",
    "upwards",
    "downwards",
    "inwards",
    "outwards",
    "afterwards",
    "whilst",
    "learnt",
    "mould",
    "in hospital",
];

/// What was said once and is said better now.
const MENDED: &[&str] = &[
    "do anything",
    "put away",
    "let it down",
    "bond or part",
    "part its bonds",
    "water takes",
    "the next pump",
    "add pump {",
    "found before the last change",
    "fare otherwise",
    "growth brings",
    "its light suits",
    "its flow suits",
    "no neighbor is near",
    "stands in it",
    "stand in it",
    "between the rock and the rock",
    "reckon with",
];

fn files(dir: &Path, endings: &[&str], out: &mut Vec<PathBuf>) {
    let entries = fs::read_dir(dir).expect("the folder is there");
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        if path.is_dir() {
            // Tools and tests speak to nobody.
            if !["examples", "tests", "target", "xtask"].contains(&name.as_str()) {
                files(&path, endings, out);
            }
        } else if endings.iter().any(|ending| name.ends_with(ending)) && name != "tests.rs" {
            out.push(path);
        }
    }
    out.sort();
}

/// Texts in quotes of a source or data file, each with its line; comments and
/// tests left out.
fn texts(source: &str) -> Vec<(usize, String)> {
    let body = source.split("#[cfg(test)]").next().unwrap_or(source);
    let letters: Vec<char> = body.chars().collect();
    let (mut at, mut line) = (0, 1);
    let mut found = Vec::new();
    while at < letters.len() {
        match letters[at] {
            '\n' => line += 1,
            '/' if letters.get(at + 1) == Some(&'/') => {
                while at < letters.len() && letters[at] != '\n' {
                    at += 1;
                }
                continue;
            }
            // A quote as a letter begins no text.
            '\'' if letters.get(at + 1) == Some(&'\\') => at += 3,
            '\'' if letters.get(at + 2) == Some(&'\'') => at += 2,
            '"' => {
                let (text, next, n_lines) = text_from(&letters, at + 1);
                found.push((line, text));
                line += n_lines;
                at = next;
            }
            _ => {}
        }
        at += 1;
    }
    found
}

/// The text that begins there, where its closing quote is, and its line breaks.
fn text_from(letters: &[char], from: usize) -> (String, usize, usize) {
    let (mut text, mut at, mut n_lines) = (String::new(), from, 0);
    while at < letters.len() && letters[at] != '"' {
        if letters[at] == '\\' {
            at += 1;
            if letters.get(at) == Some(&'\n') {
                // The text goes on at the next line's first word.
                n_lines += 1;
                while letters.get(at + 1).is_some_and(|c| c.is_whitespace()) {
                    at += 1;
                    n_lines += usize::from(letters[at] == '\n');
                }
            }
        } else {
            n_lines += usize::from(letters[at] == '\n');
            text.push(letters[at]);
        }
        at += 1;
    }
    (text, at, n_lines)
}

/// Names of files and of fields in them, which keep their spelling.
fn without_names(text: &str) -> String {
    let names = ["harbour-office", "programme.", "`programme`", "programme:"];
    let text = names
        .iter()
        .fold(text.to_lowercase(), |text, name| text.replace(name, ""));
    if text == "programme" {
        String::new()
    } else {
        text
    }
}

/// What is wrong with a text.
fn faults(text: &str) -> Vec<String> {
    let text = without_names(text);
    let is_word = |word: &str| {
        text.match_indices(word).any(|(at, _)| {
            let before = text[..at].chars().next_back();
            let after = text[at + word.len()..].chars().next();
            ![before, after]
                .iter()
                .flatten()
                .any(|c| c.is_alphanumeric())
        })
    };
    let british = BRITISH.iter().filter(|part| text.contains(**part));
    let whole = BRITISH_WORDS.iter().filter(|word| is_word(word));
    let mended = MENDED.iter().filter(|phrase| text.contains(**phrase));
    british
        .chain(whole)
        .chain(mended)
        .map(|fault| (*fault).to_owned())
        .collect()
}

#[test]
fn what_the_program_says_is_in_one_spelling_and_in_the_keepers_words() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut sources = Vec::new();
    for folder in ["src", "assets", "scenes"] {
        files(&root.join(folder), &[".rs", ".ron"], &mut sources);
    }
    let mut n_texts = 0;
    let mut wrong = Vec::new();
    for path in &sources {
        let source = fs::read_to_string(path).expect("the file reads");
        for (line, text) in texts(&source) {
            n_texts += 1;
            for fault in faults(&text) {
                wrong.push(format!("{}:{line}: “{fault}” in “{text}”", path.display()));
            }
        }
    }
    assert!(n_texts > 3000, "{n_texts} texts were found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_keepers_read_beside_the_program_is_in_the_same_spelling() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut pages = Vec::new();
    for folder in ["scenes", "src"] {
        files(&root.join(folder), &[".md"], &mut pages);
    }
    pages.extend(["README.md", "CHANGELOG.md", "DEVELOPERS.md"].map(|name| root.join(name)));
    let mut wrong = Vec::new();
    for path in &pages {
        let page = fs::read_to_string(path).expect("the page reads");
        let mut is_code = false;
        for (idx, line) in page.lines().enumerate() {
            is_code ^= line.starts_with("```");
            // Names stand in backticks.
            let words: Vec<&str> = line.split('`').step_by(2).collect();
            let words = words.join(" ");
            let found = faults(&words).into_iter();
            let british = found.filter(|fault| !MENDED.contains(&fault.as_str()) && !is_code);
            wrong.extend(british.map(|fault| format!("{}:{}: {fault}", path.display(), idx + 1)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_reader_finds_texts_and_their_faults() {
    let source = r#"
        // "a colour in a comment"
        const QUOTE: char = '"';
        let one = "two \"words\"";
        let long = "goes on \
            here";
        let field = "programme.period_s";
        #[cfg(test)]
        mod tests { const BAD: &str = "neighbour"; }
    "#;
    let found: Vec<String> = texts(source).into_iter().map(|(_, text)| text).collect();
    assert_eq!(found, ["two words", "goes on here", "programme.period_s"]);
    assert_eq!(texts(source)[1].0, 5, "the line that it begins in");
    assert!(
        found.iter().all(|text| faults(text).is_empty()),
        "{found:?}"
    );
    assert_eq!(faults("The Neighbours"), ["neighbour"]);
    assert_eq!(faults("turned towards it, counter-clockwise"), ["towards"]);
    assert_eq!(faults("What growth brings"), ["growth brings"]);
}

//! The document's typeface: which letters it has, and how wide they are.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use skrifa::instance::{LocationRef, Size};
use skrifa::{FontRef, MetadataProvider as _};

use super::ink::Face;

/// One letter of a text: its glyph, its width as a share of the size, and how
/// many bytes of the text it stands for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Letter {
    /// Number in the font; zero, an empty box, for letters that it lacks.
    pub(super) glyph: u32,
    /// Width over the size.
    pub(super) advance: f64,
    /// Bytes of the text.
    pub(super) n_bytes: usize,
}

struct Metrics {
    letters: BTreeMap<char, (u32, f64)>,
    missing: f64,
}

static REGULAR: LazyLock<Metrics> = LazyLock::new(|| metrics(Face::Regular));
static ITALIC: LazyLock<Metrics> = LazyLock::new(|| metrics(Face::Italic));
static BOLD: LazyLock<Metrics> = LazyLock::new(|| metrics(Face::Bold));

/// The font file of a face (SIL Open Font License, see `assets/fonts`).
pub(super) fn font_file(face: Face) -> &'static [u8] {
    match face {
        Face::Regular => include_bytes!("../../assets/fonts/AlegreyaSans-Regular.ttf"),
        Face::Italic => include_bytes!("../../assets/fonts/AlegreyaSans-Italic.ttf"),
        Face::Bold => include_bytes!("../../assets/fonts/AlegreyaSans-Bold.ttf"),
    }
}

fn metrics(face: Face) -> Metrics {
    let mut letters = BTreeMap::new();
    let mut missing = 0.5;
    // A broken font, which a test rules out, leaves boxes for all letters.
    if let Ok(font) = FontRef::new(font_file(face)) {
        let widths = font.glyph_metrics(Size::new(1.0), LocationRef::default());
        let advance = |glyph| f64::from(widths.advance_width(glyph).unwrap_or(0.5));
        missing = advance(skrifa::GlyphId::new(0));
        for (letter, glyph) in font.charmap().mappings() {
            if let Some(letter) = char::from_u32(letter) {
                letters.insert(letter, (glyph.to_u32(), advance(glyph)));
            }
        }
    }
    Metrics { letters, missing }
}

fn metrics_of(face: Face) -> &'static Metrics {
    match face {
        Face::Regular => &REGULAR,
        Face::Italic => &ITALIC,
        Face::Bold => &BOLD,
    }
}

/// The letters of a text in a face, one after the other, without kerning.
pub(super) fn letters(text: &str, face: Face) -> Vec<Letter> {
    let metrics = metrics_of(face);
    text.chars()
        .map(|c| {
            let found = metrics.letters.get(&c).copied();
            let (glyph, advance) = found.unwrap_or((0, metrics.missing));
            Letter {
                glyph,
                advance,
                n_bytes: c.len_utf8(),
            }
        })
        .collect()
}

/// Width of a text, in the unit of `size`.
pub(super) fn width(text: &str, face: Face, size: f64) -> f64 {
    let metrics = metrics_of(face);
    let of = |c: char| metrics.letters.get(&c).map_or(metrics.missing, |l| l.1);
    text.chars().map(of).fold(0.0, |sum, x| sum + x) * size
}

/// Whether the face has every letter of a text.
pub(super) fn can_show(text: &str) -> bool {
    let metrics = metrics_of(Face::Regular);
    text.chars().all(|c| metrics.letters.contains_key(&c))
}

/// A text in lines no wider than `room`; words that are too long by themselves
/// are broken.
pub(super) fn wrapped(text: &str, face: Face, size: f64, room: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let joined = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if width(&joined, face, size) <= room {
            line = joined;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if width(&line, face, size) > room && line.chars().count() > 1 {
                line.pop();
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// A text on one line no wider than `room`, its end replaced by "…" if needed.
pub(super) fn shortened(text: &str, face: Face, size: f64, room: f64) -> String {
    if width(text, face, size) <= room {
        return text.to_owned();
    }
    let mut short: String = text.to_owned();
    while short.pop().is_some() {
        let with_dots = format!("{}…", short.trim_end());
        if width(&with_dots, face, size) <= room {
            return with_dots;
        }
    }
    "…".to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fonts_are_whole_and_have_what_plans_write() {
        for face in [Face::Regular, Face::Italic, Face::Bold] {
            let letters = letters("Plan 1:10, 74 µmol/m²/s ± 2 °C → ≥ – · …", face);
            assert!(letters.iter().all(|l| l.glyph > 0), "{face:?} lacks some");
            assert!(letters.iter().all(|l| l.advance > 0.05), "{face:?} widths");
        }
        assert!(!can_show("珊瑚"), "no Chinese");
    }

    #[test]
    fn lines_keep_within_their_room_and_lose_no_letter() {
        let text = "The quick brown fox, and averyveryverylongwordthatdoesnotfit, rest";
        let lines = wrapped(text, Face::Regular, 3.0, 20.0);
        for line in &lines {
            assert!(width(line, Face::Regular, 3.0) <= 20.0, "{line:?} is wide");
        }
        let letters = |s: &str| s.replace(' ', "");
        assert_eq!(letters(&lines.concat()), letters(text), "letters");
        assert!(width(&shortened(text, Face::Bold, 3.0, 15.0), Face::Bold, 3.0) <= 15.0);
    }
}

//! Numbers without a sign before nothing: what rounds to −0 is written as 0,
//! so that texts can be compared and nobody wonders.

use std::io::{Result, Write};

/// The text with `-0`, `-0.0`, `-0.00` … as `0`, `0.0`, `0.00`, where they
/// stand alone.
pub(super) fn unsigned(text: &str) -> String {
    let mut done = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("-0") {
        let (before, found) = rest.split_at(at);
        done.push_str(before);
        let digits = found[1..].find(|c: char| c != '0' && c != '.');
        let end = digits.map_or(found.len(), |n| n + 1);
        let (number, after) = found.split_at(end);
        let starts = done
            .chars()
            .next_back()
            .is_none_or(|c| c.is_whitespace() || ",([{:±=\"".contains(c));
        let ends = after
            .chars()
            .next()
            .is_none_or(|c| c.is_whitespace() || ",;)]}%°\"".contains(c));
        let number = match (starts && ends, done.ends_with("  ")) {
            (false, _) => number.to_owned(),
            // A column stays one.
            (true, true) => number.replacen('-', " ", 1),
            (true, false) => number.replacen('-', "", 1),
        };
        done.push_str(&number);
        rest = after;
    }
    done.push_str(rest);
    done
}

/// Hands lines on as [`unsigned`] ones.
pub(super) struct UnsignedLines<'a> {
    to: &'a mut dyn Write,
    line: Vec<u8>,
}

impl<'a> UnsignedLines<'a> {
    pub(super) fn new(to: &'a mut dyn Write) -> Self {
        let line = Vec::new();
        Self { to, line }
    }

    fn hand_on(&mut self) -> Result<()> {
        let line = std::mem::take(&mut self.line);
        match std::str::from_utf8(&line) {
            Ok(text) => self.to.write_all(unsigned(text).as_bytes()),
            Err(_) => self.to.write_all(&line),
        }
    }
}

impl Write for UnsignedLines<'_> {
    fn write(&mut self, bytes: &[u8]) -> Result<usize> {
        for part in bytes.split_inclusive(|byte| *byte == b'\n') {
            self.line.extend_from_slice(part);
            if part.ends_with(b"\n") {
                self.hand_on()?;
            }
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> Result<()> {
        self.hand_on()?;
        self.to.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_nothing_loses_its_sign() {
        for (text, wanted) in [
            ("-0", "0"),
            ("a,-0.000,-0.001,-0.0", "a,0.000,-0.001,0.0"),
            ("speed -0.0 cm/s (-0.00)", "speed 0.0 cm/s (0.00)"),
            ("x     -0.0 |", "x      0.0 |"),
            ("  \"w_cm_s\": -0.0,", "  \"w_cm_s\": 0.0,"),
            (
                "-0.5 -05 x-0.0 -0.0e -0.0.ron",
                "-0.5 -05 x-0.0 -0.0e -0.0.ron",
            ),
            ("2026-01-02, -10.0, 0.0", "2026-01-02, -10.0, 0.0"),
        ] {
            assert_eq!(unsigned(text), wanted, "{text:?}");
        }
    }

    #[test]
    fn lines_go_through_whole_whatever_the_pieces() {
        let mut out = Vec::new();
        let mut lines = UnsignedLines::new(&mut out);
        for piece in ["a,-", "0", ".0\nb µ", "\n-0"] {
            lines.write_all(piece.as_bytes()).expect("written");
        }
        lines.flush().expect("flushed");
        let text = String::from_utf8(out).expect("text");
        assert_eq!(text, "a,0.0\nb µ\n0", "in one piece");
    }
}

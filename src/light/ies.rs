//! Reads IES LM-63 files (1986, 1991, 1995, 2002 and 2019 headers), type C.
//!
//! The format is text: keyword lines, a TILT line, then one stream of numbers
//! whose line breaks mean nothing.
//!
//! **Source** I. Ashdown, "Parsing the IESNA LM-63 photometric data file",
//! 1998; ANSI/IESNA LM-63-02; the keywords of the 2019 header.

use thiserror::Error;

use super::distribution::{About, Distribution, Symmetry};

/// Longest file that is read, in bytes; real ones stay below 1 MB.
const BYTES_MAX: usize = 32 * 1024 * 1024;

/// Most intensities that a file may hold.
const VALUES_MAX: usize = 1_000_000;

/// Largest intensity that a lamp can have, in cd (a lighthouse has less).
const CANDELA_MAX: f64 = 1e9;

/// A fault in an IES file, with the line where it shows.
#[derive(Clone, Debug, Error, PartialEq)]
#[error("{file}, line {line}: {fault}")]
pub struct IesError {
    /// The file's name.
    pub file: String,
    /// Line, from 1; the last one for a file that ends too early.
    pub line: usize,
    /// What is wrong there.
    pub fault: IesFault,
}

/// What can be wrong in an IES file.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum IesFault {
    /// Longer than any real one.
    #[error("the file has {bytes} bytes, the limit is {BYTES_MAX}")]
    TooLong {
        /// Its length.
        bytes: usize,
    },
    /// No TILT line.
    #[error("there is no TILT line: this is no IES LM-63 file, or it was cut off")]
    NoTilt,
    /// A TILT that names another file.
    #[error("TILT={0} names another file; only NONE and INCLUDE are read")]
    TiltFile(String),
    /// The numbers end too early.
    #[error("the file ends before {what}; it is cut off or promises too much")]
    Ends {
        /// What was to come.
        what: &'static str,
    },
    /// Something that is no number.
    #[error("\"{text}\" is no number, and {what} must be one")]
    NoNumber {
        /// As it stands in the file.
        text: String,
        /// What it was to be.
        what: &'static str,
    },
    /// A number out of range.
    #[error("{what} is {value}, limits are {low} to {high}")]
    Range {
        /// Which number.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Lowest value that makes sense.
        low: f64,
        /// Highest value that makes sense.
        high: f64,
    },
    /// Photometry of type A or B.
    #[error("the photometry is of type {0}; only type C (lamps that shine down) is read")]
    Type(char),
    /// Angles that do not rise.
    #[error("{what} angles must rise, and {after} follows {before}")]
    Order {
        /// Vertical or horizontal.
        what: &'static str,
        /// The angle before.
        before: f64,
        /// The angle that follows.
        after: f64,
    },
    /// Horizontal angles that cover no known part of the circle.
    #[error(
        "horizontal angles run from {first} to {last}; known are 0 alone, \
         0–90, 0–180, 90–270 and 0–360"
    )]
    Symmetry {
        /// First angle.
        first: f64,
        /// Last angle.
        last: f64,
    },
    /// No light at all.
    #[error("all intensities are zero")]
    Dark,
    /// Numbers after the end.
    #[error("\"{0}\" follows the last intensity; the counts in the file do not fit its numbers")]
    Surplus(String),
}

/// The distribution in an IES LM-63 file; `name` is used in messages.
///
/// TILT factors (for lamps that dim when leaned) are read over: a lamp over a
/// tank is measured as it hangs.
///
/// # Errors
/// The first fault, with its line.
pub fn distribution_from_ies(text: &str, name: &str) -> Result<Distribution, IesError> {
    read(text).map_err(|(line, fault)| IesError {
        file: name.to_owned(),
        line,
        fault,
    })
}

type Fault = (usize, IesFault);

fn read(text: &str) -> Result<Distribution, Fault> {
    if text.len() > BYTES_MAX {
        let bytes = text.len();
        return Err((1, IesFault::TooLong { bytes }));
    }
    let lines: Vec<&str> = text.lines().collect();
    let is_tilt = |line: &&str| line.trim_start().starts_with("TILT=");
    let Some(tilt_idx) = lines.iter().position(is_tilt) else {
        return Err((lines.len().max(1), IesFault::NoTilt));
    };
    let tilt = lines[tilt_idx].trim().trim_start_matches("TILT=").trim();
    let mut numbers = Numbers::new(&lines, tilt_idx + 1);
    match tilt {
        "NONE" => {}
        "INCLUDE" => numbers.pass_tilt()?,
        other => return Err((tilt_idx + 1, IesFault::TiltFile(other.to_owned()))),
    }
    // Headers before 1995 give a ballast-lamp factor where later ones reserve
    // a number.
    let header = lines.first().map_or("", |line| line.trim());
    let old = !(header.starts_with("IESNA:") || header.starts_with("IES:"));
    let head = Head::read(&mut numbers, old)?;
    let mut about = head.about(lines[..tilt_idx].iter().copied());
    about.keywords.truncate(256);
    body(&mut numbers, &head, about)
}

/// The thirteen numbers before the angles.
struct Head {
    n_lamps: f64,
    lumens: f64,
    scale: f64,
    n_vertical: usize,
    n_horizontal: usize,
    metres_per_unit: f64,
    width: f64,
    length: f64,
    input_w: f64,
}

impl Head {
    fn read(numbers: &mut Numbers<'_>, old: bool) -> Result<Self, Fault> {
        let n_lamps = numbers.within("the number of lamps", 1.0, 1e4)?;
        let lumens = numbers.within("the lumens of a lamp", -1.0, 1e9)?;
        let multiplier = numbers.within("the candela multiplier", 1e-9, 1e9)?;
        let n_vertical = numbers.count("the number of vertical angles", 2.0)?;
        let n_horizontal = numbers.count("the number of horizontal angles", 1.0)?;
        if n_vertical.saturating_mul(n_horizontal) > VALUES_MAX {
            let fault = IesFault::Range {
                what: "the number of intensities",
                value: n_vertical as f64 * n_horizontal as f64,
                low: 2.0,
                high: VALUES_MAX as f64,
            };
            return Err((numbers.line, fault));
        }
        let kind = numbers.within("the photometric type", 1.0, 3.0)?;
        if kind != 1.0 {
            let letter = if kind < 2.5 { 'B' } else { 'A' };
            return Err((numbers.line, IesFault::Type(letter)));
        }
        let units = numbers.within("the unit of length (1 feet, 2 meters)", 1.0, 2.0)?;
        let width = numbers.within("the width of the opening", -1e4, 1e4)?;
        let length = numbers.within("the length of the opening", -1e4, 1e4)?;
        numbers.within("the height of the opening", -1e4, 1e4)?;
        let ballast = numbers.within("the ballast factor", 1e-9, 1e3)?;
        let second = numbers.within("the ballast-lamp factor", -1e9, 1e9)?;
        let input_w = numbers.within("the input power", 0.0, 1e7)?;
        let ballast_lamp = if old && second > 0.0 { second } else { 1.0 };
        Ok(Self {
            n_lamps,
            lumens,
            scale: multiplier * ballast * ballast_lamp,
            n_vertical,
            n_horizontal,
            metres_per_unit: if units < 1.5 { 0.3048 } else { 1.0 },
            width,
            length,
            input_w,
        })
    }

    fn about<'a>(&self, lines: impl Iterator<Item = &'a str>) -> About {
        // A negative width marks a round opening of that diameter.
        let round = self.width < 0.0;
        let width_m = self.width.abs() * self.metres_per_unit;
        About {
            rated_lm: (self.lumens >= 0.0).then_some(self.lumens * self.n_lamps),
            input_w: self.input_w,
            length_m: if round {
                width_m
            } else {
                self.length.abs() * self.metres_per_unit
            },
            width_m,
            round,
            keywords: keywords(lines),
        }
    }
}

fn keywords<'a>(lines: impl Iterator<Item = &'a str>) -> Vec<(String, String)> {
    let mut keywords: Vec<(String, String)> = Vec::new();
    for line in lines {
        let Some((key, text)) = line
            .trim()
            .strip_prefix('[')
            .and_then(|rest| rest.split_once(']'))
        else {
            continue;
        };
        match keywords.last_mut() {
            Some((_, before)) if key == "MORE" => {
                before.push(' ');
                before.push_str(text.trim());
            }
            _ => keywords.push((key.to_owned(), text.trim().to_owned())),
        }
    }
    keywords
}

fn body(numbers: &mut Numbers<'_>, head: &Head, about: About) -> Result<Distribution, Fault> {
    let vertical = numbers.angles("vertical", head.n_vertical, 180.0)?;
    let horizontal = numbers.angles("horizontal", head.n_horizontal, 360.0)?;
    let symmetry = symmetry(&horizontal).map_err(|fault| (numbers.line, fault))?;
    let mut candela = Vec::with_capacity(head.n_vertical * head.n_horizontal);
    for _ in 0..head.n_vertical * head.n_horizontal {
        // Photometers read a little below zero in the dark.
        let raw = numbers.within("an intensity", -1e-3, CANDELA_MAX)?;
        candela.push(raw.max(0.0) * head.scale);
    }
    if let Some((line, text)) = numbers.next_text() {
        return Err((line, IesFault::Surplus(text.to_owned())));
    }
    let found = Distribution::new(vertical, horizontal, candela, symmetry, about);
    if found.flux_lm() > 0.0 && found.flux_lm().is_finite() {
        Ok(found)
    } else {
        Err((numbers.line, IesFault::Dark))
    }
}

fn symmetry(horizontal: &[f64]) -> Result<Symmetry, IesFault> {
    let first = horizontal.first().copied().unwrap_or(0.0);
    let last = horizontal.last().copied().unwrap_or(0.0);
    let spans = |a: f64, b: f64| (first - a).abs() < 1e-6 && (last - b).abs() < 1e-6;
    if horizontal.len() == 1 {
        Ok(Symmetry::Axial)
    } else if spans(0.0, 90.0) {
        Ok(Symmetry::Quadrant)
    } else if spans(0.0, 180.0) {
        Ok(Symmetry::Bilateral)
    } else if spans(90.0, 270.0) {
        Ok(Symmetry::BilateralAcross)
    } else if spans(0.0, 360.0) {
        Ok(Symmetry::Full)
    } else {
        Err(IesFault::Symmetry { first, last })
    }
}

/// The stream of numbers after the TILT line.
struct Numbers<'a> {
    lines: std::iter::Enumerate<std::iter::Skip<std::slice::Iter<'a, &'a str>>>,
    first_line: usize,
    words: Vec<&'a str>,
    /// Line of the last number, from 1.
    line: usize,
}

impl<'a> Numbers<'a> {
    fn new(lines: &'a [&'a str], skip: usize) -> Self {
        Self {
            lines: lines.iter().skip(skip).enumerate(),
            first_line: skip + 1,
            words: Vec::new(),
            line: skip.max(1),
        }
    }

    fn next_text(&mut self) -> Option<(usize, &'a str)> {
        while self.words.is_empty() {
            let (idx, line) = self.lines.next()?;
            self.words = line
                .split(|c: char| c.is_whitespace() || c == ',')
                .filter(|word| !word.is_empty())
                .rev()
                .collect();
            if !self.words.is_empty() {
                self.line = self.first_line + idx;
            }
        }
        self.words.pop().map(|word| (self.line, word))
    }

    fn next(&mut self, what: &'static str) -> Result<f64, Fault> {
        let Some((line, text)) = self.next_text() else {
            return Err((self.line, IesFault::Ends { what }));
        };
        match text.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(value),
            _ => {
                let text = text.chars().take(40).collect();
                Err((line, IesFault::NoNumber { text, what }))
            }
        }
    }

    fn within(&mut self, what: &'static str, low: f64, high: f64) -> Result<f64, Fault> {
        let value = self.next(what)?;
        if value >= low && value <= high {
            Ok(value)
        } else {
            let fault = IesFault::Range {
                what,
                value,
                low,
                high,
            };
            Err((self.line, fault))
        }
    }

    fn count(&mut self, what: &'static str, low: f64) -> Result<usize, Fault> {
        let value = self.within(what, low, VALUES_MAX as f64)?;
        Ok(value as usize)
    }

    fn angles(&mut self, what: &'static str, n: usize, high: f64) -> Result<Vec<f64>, Fault> {
        let mut angles: Vec<f64> = Vec::with_capacity(n);
        for _ in 0..n {
            let after = self.within("an angle", -0.01, high + 0.01)?;
            if let Some(&before) = angles.last()
                && after <= before
            {
                let fault = IesFault::Order {
                    what,
                    before,
                    after,
                };
                return Err((self.line, fault));
            }
            angles.push(after);
        }
        Ok(angles)
    }

    fn pass_tilt(&mut self) -> Result<(), Fault> {
        self.within("the lamp's position in TILT", 1.0, 3.0)?;
        let n = self.count("the number of TILT angles", 1.0)?;
        for _ in 0..2 * n {
            self.next("a TILT angle or factor")?;
        }
        Ok(())
    }
}

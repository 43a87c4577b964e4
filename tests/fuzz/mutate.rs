//! Changes to files: of single bytes, and of the numbers, words and brackets
//! that the files are made of.

/// Numbers in a fixed order without a pattern: `SplitMix64` (Steele, Lea and
/// Flood 2014).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Below `n`, which is at least 1.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    pub(crate) fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }
}

/// What files break on.
const WORDS: &[&str] = &[
    "0",
    "-0.0",
    "-1",
    "1e308",
    "-1e308",
    "1e-320",
    "NaN",
    "inf",
    "9223372036854775808",
    "4294967296",
    "0.1",
    "100000",
    "Some(",
    "None",
    "()",
    "[]",
    "((((((",
    "))))",
    "\"\"",
    "\"\\u{0}\"",
    "\u{feff}",
    "\u{202e}",
    "//",
    "/*",
    "\n",
    ",",
    ",,",
    "TILT=NONE",
    "TILT=INCLUDE",
    "\r\n",
    "\t",
    "x_cm,y_cm,z_cm",
    "format: 2",
    "solid x",
    "facet normal",
];

/// A few changes of single bytes and stretches of them.
pub(crate) fn bytes(seed: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..=dice.below(6) {
        let at = dice.below(bytes.len());
        let to = (at + dice.below(40)).min(bytes.len());
        match dice.below(7) {
            0 if !bytes.is_empty() => bytes[at] ^= 1 << dice.below(8),
            1 if !bytes.is_empty() => bytes[at] = dice.next() as u8,
            2 => drop(bytes.drain(at.min(to)..to)),
            3 => bytes.truncate(at),
            4 => {
                let copy = bytes[at.min(to)..to].to_vec();
                let place = dice.below(bytes.len() + 1);
                drop(bytes.splice(place..place, copy));
            }
            _ => {
                let word = dice.pick(WORDS).bytes();
                drop(bytes.splice(at..at, word));
            }
        }
    }
    bytes
}

/// A few changes of whole numbers and words: what stays is well formed more
/// often than not.
pub(crate) fn tokens(seed: &[u8], dice: &mut Dice) -> Vec<u8> {
    let text = String::from_utf8_lossy(seed);
    let mut parts = split(&text);
    let numbers: Vec<usize> = (0..parts.len())
        .filter(|k| parts[*k].parse::<f64>().is_ok())
        .collect();
    for _ in 0..=dice.below(4) {
        if numbers.is_empty() || parts.is_empty() {
            break;
        }
        let at = *dice.pick(&numbers);
        let number: f64 = parts[at].parse().unwrap_or(0.0);
        parts[at] = match dice.below(8) {
            0 => (*dice.pick(WORDS)).to_owned(),
            1 => format!("{:?}", number * 2.0),
            2 => format!("{:?}", number * 0.5),
            3 => format!("{:?}", -number),
            4 => format!("{:?}", number + 1.0),
            5 => parts[*dice.pick(&numbers)].clone(),
            6 => format!("{:?}", number * (0.9 + 0.02 * dice.below(10) as f64)),
            _ => format!("{:?}", dice.below(200) as f64),
        };
    }
    parts.concat().into_bytes()
}

/// Text in numbers, words, and single other characters.
fn split(text: &str) -> Vec<String> {
    let is_word = |c: char| c.is_alphanumeric() || "_.+-".contains(c);
    let mut parts: Vec<String> = Vec::new();
    let mut was_word = false;
    for c in text.chars() {
        match parts.last_mut() {
            Some(last) if is_word(c) && was_word => last.push(c),
            _ => parts.push(c.to_string()),
        }
        was_word = is_word(c);
    }
    parts
}

#[test]
fn what_is_split_is_whole_again() {
    let text = "(a: -1.5e3, b: [\"x y\", 2]) // ü";
    assert_eq!(split(text).concat(), text, "nothing is lost");
    assert!(
        split(text).contains(&"-1.5e3".to_owned()),
        "a number is one part"
    );
}

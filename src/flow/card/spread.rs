//! How populations and sums are spread over buffers, since a card may offer no
//! more than 128 MiB in one piece, and where a population lies in them.

use crate::lattice::PAIRS;

/// How many sums over time a cell has: velocity, speed, its square, slow.
pub(super) const SUMS: usize = 6;

/// Number of a direction among the populations and moments of a cell in the
/// shader: by x, y and z, each −1, 0, 1 (or order 0, 1, 2).
pub(super) fn number(c: [i32; 3]) -> usize {
    ((c[0] + 1) * 9 + (c[1] + 1) * 3 + c[2] + 1) as usize
}

/// Arrays of equal length over as few buffers as will do. Units are kept
/// together: the two arrays of a pair.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Spread {
    /// For each array its buffer and its place there.
    at: Vec<(usize, usize)>,
    /// Arrays in each buffer.
    in_buffer: Vec<usize>,
}

impl Spread {
    /// `units` of arrays, at most `most` arrays in a buffer; `None` if a unit
    /// alone is too large.
    pub(super) fn new(units: &[usize], most: usize) -> Option<Self> {
        let (mut at, mut in_buffer) = (Vec::new(), vec![0]);
        for &unit in units {
            if unit > most {
                return None;
            }
            if in_buffer.last().is_some_and(|n| n + unit > most) {
                in_buffer.push(0);
            }
            let buffer = in_buffer.len() - 1;
            for _ in 0..unit {
                at.push((buffer, in_buffer[buffer]));
                in_buffer[buffer] += 1;
            }
        }
        Some(Self { at, in_buffer })
    }

    /// For populations: the one at rest, then the pairs.
    pub(super) fn of_populations(most: usize) -> Option<Self> {
        let mut units = [2; 1 + PAIRS.len()];
        units[0] = 1;
        Self::new(&units, most)
    }

    /// For sums over time.
    pub(super) fn of_sums(most: usize) -> Option<Self> {
        Self::new(&[1; SUMS], most)
    }

    /// Buffer of an array and its place there.
    pub(super) fn at(&self, array: usize) -> (usize, usize) {
        self.at[array]
    }

    /// How many buffers there are.
    pub(super) fn buffers(&self) -> usize {
        self.in_buffer.len()
    }

    /// Arrays in a buffer.
    pub(super) fn arrays_in(&self, buffer: usize) -> usize {
        self.in_buffer[buffer]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lattice::Q;

    #[test]
    fn pairs_stay_together_and_no_buffer_is_too_large() {
        for most in 2..=27 {
            let spread = Spread::of_populations(most).expect("a pair fits");
            let total: usize = (0..spread.buffers()).map(|b| spread.arrays_in(b)).sum();
            assert_eq!(total, Q, "all arrays, {most} in a buffer");
            assert!(
                (0..spread.buffers()).all(|b| spread.arrays_in(b) <= most),
                "{spread:?} for {most}"
            );
            for pair in 0..PAIRS.len() {
                let (one, other) = (spread.at(1 + 2 * pair), spread.at(2 + 2 * pair));
                assert_eq!((one.0, one.1 + 1), other, "pair {pair}, {most}");
            }
        }
        assert_eq!(Spread::of_populations(1), None, "a pair needs two arrays");
        let all = Spread::of_populations(27).expect("all fit");
        assert_eq!(all.buffers(), 1, "one buffer will do");
    }
}

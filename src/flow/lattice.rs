//! The D3Q27 lattice: directions, weights and their order in memory.
//!
//! **Source** Qian, d'Humières & Lallemand 1992, Europhys. Lett. 17:479. MEMORY.

/// How many pairs of opposite directions there are.
pub(crate) const N_PAIRS: usize = 13;

/// Thirteen directions, one of each opposite pair, chosen so that the neighbor lies
/// further on in memory (z, then y, then x positive).
pub(crate) const PAIRS: [[i32; 3]; N_PAIRS] = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
    [1, 1, 0],
    [-1, 1, 0],
    [1, 0, 1],
    [-1, 0, 1],
    [0, 1, 1],
    [0, -1, 1],
    [1, 1, 1],
    [-1, 1, 1],
    [1, -1, 1],
    [-1, -1, 1],
];

/// Weight of the rest population.
pub(crate) const WEIGHT_REST: f64 = 8.0 / 27.0;

/// Weight of both directions of each pair.
pub(crate) const WEIGHTS: [f64; N_PAIRS] = [
    2.0 / 27.0,
    2.0 / 27.0,
    2.0 / 27.0,
    1.0 / 54.0,
    1.0 / 54.0,
    1.0 / 54.0,
    1.0 / 54.0,
    1.0 / 54.0,
    1.0 / 54.0,
    1.0 / 216.0,
    1.0 / 216.0,
    1.0 / 216.0,
    1.0 / 216.0,
];

/// How many populations a cell has.
pub(crate) const Q: usize = 1 + 2 * N_PAIRS;

/// Direction of population `i`: 0 rests, `1 + 2p` moves along pair `p`,
/// `2 + 2p` against it.
pub(crate) fn direction(i: usize) -> [i32; 3] {
    if i == 0 {
        return [0; 3];
    }
    let c = PAIRS[(i - 1) / 2];
    if i % 2 == 1 { c } else { c.map(|x| -x) }
}

/// Weight of population `i`.
pub(crate) fn weight(i: usize) -> f64 {
    if i == 0 {
        WEIGHT_REST
    } else {
        WEIGHTS[(i - 1) / 2]
    }
}

/// The population that moves against `i`.
pub(crate) fn opposite(i: usize) -> usize {
    match i {
        0 => 0,
        _ if i % 2 == 1 => i + 1,
        _ => i - 1,
    }
}

/// The population with direction `c`, if the lattice has one.
pub(crate) fn population(c: [i32; 3]) -> Option<usize> {
    (0..Q).find(|&i| direction(i) == c)
}

/// Two populations that come from a wall at a flat face and run along it in
/// opposite ways. Changing places they turn the rest at the wall (each comes
/// back the way it went) into a slide along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Slide {
    /// Direction into the wall.
    pub(crate) face: [i32; 3],
    /// The two populations.
    pub(crate) pair: [usize; 2],
}

/// All of them: four for each of the six faces.
pub(crate) const SLIDES: [Slide; 24] = [
    slide([0, 0, -1], [11, 13]),
    slide([0, 0, -1], [15, 17]),
    slide([0, 0, -1], [19, 25]),
    slide([0, 0, -1], [23, 21]),
    slide([0, 0, 1], [14, 12]),
    slide([0, 0, 1], [18, 16]),
    slide([0, 0, 1], [26, 20]),
    slide([0, 0, 1], [22, 24]),
    slide([0, -1, 0], [7, 9]),
    slide([0, -1, 0], [15, 18]),
    slide([0, -1, 0], [19, 24]),
    slide([0, -1, 0], [26, 21]),
    slide([0, 1, 0], [10, 8]),
    slide([0, 1, 0], [17, 16]),
    slide([0, 1, 0], [23, 20]),
    slide([0, 1, 0], [22, 25]),
    slide([-1, 0, 0], [7, 10]),
    slide([-1, 0, 0], [11, 14]),
    slide([-1, 0, 0], [19, 22]),
    slide([-1, 0, 0], [26, 23]),
    slide([1, 0, 0], [9, 8]),
    slide([1, 0, 0], [13, 12]),
    slide([1, 0, 0], [21, 20]),
    slide([1, 0, 0], [24, 25]),
];

const fn slide(face: [i32; 3], pair: [usize; 2]) -> Slide {
    Slide { face, pair }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slides_leave_the_wall_and_run_along_it_both_ways() {
        for Slide { face, pair } in SLIDES {
            let [a, b] = pair.map(direction);
            let along: [i32; 3] = std::array::from_fn(|x| a[x] + face[x]);
            let against: [i32; 3] = std::array::from_fn(|x| b[x] + face[x]);
            assert_eq!(along, against.map(|x| -x), "{pair:?} at {face:?}");
            let dot: i32 = (0..3).map(|x| along[x] * face[x]).sum();
            assert_eq!(dot, 0, "{pair:?} runs along the wall at {face:?}");
        }
    }

    fn moment(power: [i32; 3]) -> f64 {
        (0..Q)
            .map(|i| {
                let c = direction(i);
                let term: f64 = (0..3).map(|a| f64::from(c[a]).powi(power[a])).product();
                weight(i) * term
            })
            .sum()
    }

    #[test]
    fn weights_give_the_isotropic_moments() {
        let cases = [
            ([0, 0, 0], 1.0),
            ([1, 0, 0], 0.0),
            ([2, 0, 0], 1.0 / 3.0),
            ([0, 0, 2], 1.0 / 3.0),
            ([1, 1, 0], 0.0),
            ([2, 2, 0], 1.0 / 9.0),
            ([2, 2, 2], 1.0 / 27.0),
            ([4, 0, 0], 1.0 / 3.0),
        ];
        for (power, expected) in cases {
            let found = moment(power);
            assert!(
                (found - expected).abs() < 1e-14,
                "moment {power:?} is {found}, not {expected}"
            );
        }
    }

    #[test]
    fn each_population_has_its_opposite() {
        for i in 0..Q {
            let back = direction(opposite(i)).map(|x| -x);
            assert_eq!(back, direction(i), "population {i}");
            assert_eq!(population(direction(i)), Some(i), "lookup of {i}");
        }
    }
}

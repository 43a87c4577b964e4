//! The D3Q19 lattice: directions, weights and their order in memory.
//!
//! **Source** Qian, d'Humières & Lallemand 1992, Europhys. Lett. 17:479. MEMORY.

/// Nine directions, one of each opposite pair, chosen so that the neighbor lies
/// further on in memory (z, then y, then x positive).
pub(crate) const PAIRS: [[i32; 3]; 9] = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
    [1, 1, 0],
    [-1, 1, 0],
    [1, 0, 1],
    [-1, 0, 1],
    [0, 1, 1],
    [0, -1, 1],
];

/// Weight of the rest population.
pub(crate) const WEIGHT_REST: f64 = 1.0 / 3.0;

/// Weight of both directions of each pair.
pub(crate) const WEIGHTS: [f64; 9] = [
    1.0 / 18.0,
    1.0 / 18.0,
    1.0 / 18.0,
    1.0 / 36.0,
    1.0 / 36.0,
    1.0 / 36.0,
    1.0 / 36.0,
    1.0 / 36.0,
    1.0 / 36.0,
];

/// How many populations a cell has.
pub(crate) const Q: usize = 19;

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

/// All of them: two for each of the six faces.
pub(crate) const SLIDES: [Slide; 12] = [
    slide([0, 0, -1], [11, 13]),
    slide([0, 0, -1], [15, 17]),
    slide([0, 0, 1], [12, 14]),
    slide([0, 0, 1], [16, 18]),
    slide([0, -1, 0], [7, 9]),
    slide([0, -1, 0], [15, 18]),
    slide([0, 1, 0], [8, 10]),
    slide([0, 1, 0], [16, 17]),
    slide([-1, 0, 0], [7, 10]),
    slide([-1, 0, 0], [11, 14]),
    slide([1, 0, 0], [8, 9]),
    slide([1, 0, 0], [12, 13]),
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

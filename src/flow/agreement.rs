//! How well two estimates of one tank agree, place by place.

use glam::DVec3;

use crate::FlowField;
use crate::cells::water_m;
use crate::study::{Medium, Study};

/// Edge of the cubes in which estimates are set against each other, in m, as
/// resolved tanks are stored.
pub const BLOCK_M: f64 = 0.02;

/// Agreement of two lists of speeds at the same places.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// Correlation of the ranks: 1 for the same order of places.
    ///
    /// **Source** Spearman 1904, without a share of ranks for ties.
    pub rank: f64,
    /// Of the places that either calls the slowest quarter, the share that both do.
    pub slowest_overlap: f64,
    /// Logarithm of the ratio of the means, the first over the second.
    pub ln_ratio: f64,
}

impl Agreement {
    /// The same where both have water.
    pub fn where_known(ours_m_s: &[Option<f64>], theirs_m_s: &[Option<f64>]) -> Option<Self> {
        let both = ours_m_s.iter().zip(theirs_m_s);
        let (ours, theirs): (Vec<f64>, Vec<f64>) =
            both.filter_map(|(a, b)| Some(((*a)?, (*b)?))).unzip();
        Self::of(&ours, &theirs)
    }

    /// Of speeds in m/s at the same places; `None` for fewer than four, for
    /// lists of different length, and where nothing moves.
    pub fn of(ours_m_s: &[f64], theirs_m_s: &[f64]) -> Option<Self> {
        let n = ours_m_s.len();
        let sums = [ours_m_s, theirs_m_s].map(|speeds| speeds.iter().sum::<f64>());
        let is_sound = n >= 4 && n == theirs_m_s.len() && sums.iter().all(|sum| *sum > 0.0);
        if !is_sound {
            return None;
        }
        let (a, b) = (ranks(ours_m_s), ranks(theirs_m_s));
        let square: f64 = a.iter().zip(&b).map(|(a, b)| (a - b).powi(2)).sum();
        let n = n as f64;
        let quarter = n / 4.0;
        let slow = a.iter().zip(&b).map(|(a, b)| (*a < quarter, *b < quarter));
        let (both, either) = slow.fold((0.0, 0.0), |(both, either), (a, b)| {
            (both + f64::from(a && b), either + f64::from(a || b))
        });
        Some(Self {
            rank: 1.0 - 6.0 * square / (n * (n * n - 1.0)),
            slowest_overlap: both / either,
            ln_ratio: (sums[0] / sums[1]).ln(),
        })
    }
}

/// The place of each value in their order, from 0.
fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut ranks = vec![0.0; values.len()];
    for (rank, at) in order.into_iter().enumerate() {
        ranks[at] = rank as f64;
    }
    ranks
}

/// Middles of the blocks of a tank that lie wholly in open water, in m.
pub fn blocks(study: &Study) -> Vec<DVec3> {
    let n = (water_m(&study.scene().tank) / BLOCK_M + 1e-6)
        .floor()
        .as_uvec3();
    let all = (0..n.x * n.y * n.z).map(|k| {
        let ijk = DVec3::new(
            f64::from(k % n.x),
            f64::from(k / n.x % n.y),
            f64::from(k / (n.x * n.y)),
        );
        (ijk + 0.5) * BLOCK_M
    });
    all.filter(|at_m| corners(*at_m).all(|corner| study.medium_at(corner) == Medium::Water))
        .collect()
}

fn corners(middle_m: DVec3) -> impl Iterator<Item = DVec3> {
    (0..8_u8).map(move |corner| {
        // A hair within, so that corners on a pane are in the water.
        let side = |bit: u8| if corner & bit == 0 { -0.499 } else { 0.499 };
        middle_m + DVec3::new(side(1), side(2), side(4)) * BLOCK_M
    })
}

/// The felt speed of a block around a place, in m/s: the root of the mean
/// square speed over it, as the estimate has it, before any calibration. `None`
/// where the estimate has no water.
pub fn block_speed_m_s(field: &FlowField, middle_m: DVec3) -> Option<f64> {
    let n = (BLOCK_M / field.grid.cell_m).ceil().clamp(2.0, 8.0);
    let place = |k: u32| (f64::from(k) + 0.5) / n - 0.5;
    let n = n as u32;
    let (mut sum, mut n_found) = (0.0, 0.0);
    for k in 0..n * n * n {
        let ijk = DVec3::new(place(k % n), place(k / n % n), place(k / (n * n)));
        if let Some(sample) = field.sample(middle_m + ijk * BLOCK_M) {
            sum += sample.velocity_m_s.length_squared() + sample.fluctuation_m_s.powi(2);
            n_found += 1.0;
        }
    }
    (n_found > 0.0).then(|| f64::sqrt(sum / n_found))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_agrees_wholly_with_itself_and_not_at_all_with_its_reverse() {
        let speeds: Vec<f64> = (1..=40).map(f64::from).collect();
        let whole = Agreement::of(&speeds, &speeds).expect("enough places");
        assert!((whole.rank - 1.0).abs() < 1e-12 && whole.ln_ratio.abs() < 1e-12);
        assert!((whole.slowest_overlap - 1.0).abs() < 1e-12);
        let back: Vec<f64> = speeds.iter().rev().copied().collect();
        let none = Agreement::of(&speeds, &back).expect("enough places");
        assert!((none.rank + 1.0).abs() < 1e-12, "{none:?}");
        assert!(none.slowest_overlap.abs() < 1e-12, "{none:?}");
        let twice: Vec<f64> = speeds.iter().map(|speed| 2.0 * speed).collect();
        let twice = Agreement::of(&twice, &speeds).expect("enough places");
        assert!((twice.ln_ratio - 2.0_f64.ln()).abs() < 1e-12, "{twice:?}");
    }

    #[test]
    fn two_pairs_of_neighbors_exchanged_are_worked_out_by_hand() {
        // Each of four ranks is off by one: 1 − 6·4/(4·15) = 0.6; the slowest
        // quarter is one place, another in each list.
        let of = Agreement::of(&[1.0, 2.0, 3.0, 4.0], &[2.0, 1.0, 4.0, 3.0]);
        let of = of.expect("enough places");
        assert!((of.rank - 0.6).abs() < 1e-12, "{of:?}");
        assert!(of.slowest_overlap.abs() < 1e-12, "{of:?}");
    }

    #[test]
    fn too_little_to_compare_is_no_agreement() {
        assert_eq!(Agreement::of(&[1.0; 3], &[1.0; 3]), None, "too few");
        assert_eq!(Agreement::of(&[1.0; 5], &[1.0; 4]), None, "not the same");
        assert_eq!(Agreement::of(&[0.0; 5], &[1.0; 5]), None, "still water");
    }
}

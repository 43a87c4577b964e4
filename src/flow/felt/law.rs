//! How fast water at a place really is, from what the estimate says there: a
//! distribution of the logarithm of its felt speed, fitted on resolved tanks.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::features::{Features, N_FEATURES, SPEED_FEATURES};

/// Edges of the cells for which the two sets of coefficients hold, in m;
/// between them they blend. Finer and coarser cells were not fitted.
const CELLS_M: [f64; 2] = [0.01, 0.02];

/// Whether chances on cells of this edge, in m, go by a law that was fitted on
/// clearly coarser ones.
pub fn is_finer_than_fitted(cell_m: f64) -> bool {
    /// Cells of a whole number a tank are a little off what was asked for.
    const NEARLY: f64 = 0.9;
    cell_m < NEARLY * CELLS_M[0]
}

/// Coefficients, with where they come from. `assets/felt.ron` holds those of
/// the program.
#[derive(Clone, Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FeltLaw {
    /// Tanks, cells, runs, method and date of the fit.
    pub provenance: String,
    /// Names of the features, in their order.
    pub features: Vec<String>,
    /// Lowest and highest value of each feature that the fit saw; what lies
    /// outside is taken as at the end.
    pub seen: Vec<[f64; 2]>,
    /// Middle of the logarithm of the felt speed in m/s: a factor a feature on
    /// cells of 1 and of 2 cm. Those of speeds are never negative.
    pub middle: [Vec<f64>; 2],
    /// Logarithm of its scale, the same.
    pub scale: [Vec<f64>; 2],
    /// Distances from the middle in scales and the share of places below them,
    /// both rising.
    pub shape: Vec<[f64; 2]>,
    /// By how much the middle of a whole tank may lie off, in the logarithm,
    /// at cells of 1 and of 2 cm, so that in eight of ten tanks the water below
    /// a speed is what is said.
    pub together: [f64; 2],
    /// Shares of a tank's water are not known better than to this, however
    /// little of it is slow.
    pub least: f64,
}

static LAW: LazyLock<Option<FeltLaw>> = LazyLock::new(|| {
    let law: FeltLaw = ron::from_str(include_str!("../../../assets/felt.ron")).ok()?;
    law.is_sound().then_some(law)
});

/// The program's own law; none only if the built-in table is broken, which a
/// test rules out.
pub(super) fn built_in() -> Option<&'static FeltLaw> {
    LAW.as_ref()
}

/// Largest scale. The scale falls with the speed; above this faster water would
/// get a lower upper end.
const SCALE_MAX: f64 = 0.46;

impl FeltLaw {
    /// Whether lengths are right, tables rise and no speed slows its own place.
    pub fn is_sound(&self) -> bool {
        let lists = self.middle.iter().chain(&self.scale);
        let rises = |a: &[f64; 2], b: &[f64; 2]| a[0] < b[0] && a[1] < b[1];
        lists.clone().all(|list| list.len() == N_FEATURES)
            && lists.flatten().all(|x| x.is_finite())
            && self.seen.len() == N_FEATURES
            && self.seen.iter().all(|[low, high]| low <= high)
            && (self.middle.iter()).all(|list| list[SPEED_FEATURES].iter().all(|x| *x >= 0.0))
            && self.shape.len() >= 3
            && self.shape.windows(2).all(|pair| rises(&pair[0], &pair[1]))
            && (self.shape.iter()).all(|[_, share]| *share > 0.0 && *share < 1.0)
            && self.together.iter().all(|x| *x >= 0.0)
            && self.least >= 0.0
    }

    /// How far cells lie between those of 1 and of 2 cm, by the square of their
    /// edge, with which what a step of second order misses grows; beyond as at
    /// the end.
    pub fn blend(cell_m: f64) -> f64 {
        let [fine, coarse] = CELLS_M.map(|edge_m| edge_m * edge_m);
        ((cell_m * cell_m - fine) / (coarse - fine)).clamp(0.0, 1.0)
    }

    /// A feature within what the fit saw.
    pub fn held(&self, feature: usize, value: f32) -> f64 {
        let [low, high] = self.seen[feature];
        f64::from(value).clamp(low, high)
    }

    /// Middle and scale at a place on cells of `cell_m`.
    pub fn at(&self, features: &Features, cell_m: f64) -> [f64; 2] {
        let blend = Self::blend(cell_m);
        let of = |lists: &[Vec<f64>; 2]| -> f64 {
            (0..N_FEATURES)
                .map(|k| {
                    let factor = lists[0][k] + blend * (lists[1][k] - lists[0][k]);
                    factor * self.held(k, features[k])
                })
                .sum()
        };
        [of(&self.middle), of(&self.scale).exp().min(SCALE_MAX)]
    }

    /// By how much a whole tank may lie off.
    pub fn together(&self, cell_m: f64) -> f64 {
        let [fine, coarse] = self.together;
        fine + Self::blend(cell_m) * (coarse - fine)
    }

    /// Share of places less than `distance` scales above their middle.
    pub fn share_below(&self, distance: f64) -> f64 {
        let n = self.shape.len();
        let after = self.shape.partition_point(|[z, _]| *z < distance);
        let low = after.clamp(1, n - 1) - 1;
        let [[z0, p0], [z1, p1]] = [self.shape[low], self.shape[low + 1]];
        if distance < z0 {
            return p0 * ((distance - z0) * (p1 - p0) / (z1 - z0) / p0).exp();
        }
        if distance > z1 {
            let left = 1.0 - p1;
            return 1.0 - left * (-(distance - z1) * (p1 - p0) / (z1 - z0) / left).exp();
        }
        p0 + (distance - z0) / (z1 - z0) * (p1 - p0)
    }

    /// Distance in scales below which a share of places lies; the inverse of
    /// [`Self::share_below`].
    pub fn distance(&self, share: f64) -> f64 {
        let n = self.shape.len();
        let after = self.shape.partition_point(|[_, p]| *p < share);
        let low = after.clamp(1, n - 1) - 1;
        let [[z0, p0], [z1, p1]] = [self.shape[low], self.shape[low + 1]];
        let slope = (z1 - z0) / (p1 - p0);
        if share < p0 {
            z0 + slope * p0 * (share.max(1e-12) / p0).ln()
        } else if share > p1 {
            z1 - slope * (1.0 - p1) * ((1.0 - share).max(1e-12) / (1.0 - p1)).ln()
        } else {
            z0 + (share - p0) * slope
        }
    }
}

//! The words for how far along the estimates are.

use super::count;

/// The averages of the tank still change; how far it has come.
pub fn rough(share: f64) -> String {
    format!("rough, {:.0} %", share * 100.0)
}

/// Of the scene before the last change.
pub fn out_of_date(words: &str) -> String {
    format!("{words}, out of date")
}

/// Further runs are set against the first one; how far they have come.
pub fn being_checked(share: f64) -> String {
    format!("settled, checking {:.0} %", share * 100.0)
}

/// Several runs agree, but for this share of the water.
pub fn checked(flip_share: f64) -> String {
    if flip_share < 0.02 {
        "cross-checked".to_owned()
    } else {
        format!("cross-checked, {:.0} % may flip", flip_share * 100.0)
    }
}

/// How many findings stand, and how many are of a rough estimate.
pub fn noticed(n_firm: usize, n_rough: usize) -> String {
    match (n_firm, n_rough) {
        (n, 0) => count(n),
        (0, n) => format!("{n} that may change"),
        (firm, n) => format!("{}; {n} more may change", count(firm)),
    }
}

//! What the patches that throw light back already know of shade, so that a fine
//! map need not ask again where all patches around a place agree.
//!
//! The paths from one lamp to a place fall into groups by the panes that they
//! are mirrored in. For each group a patch knows whether some paths are open
//! and whether some are blocked.

use super::direct::Arrival;

/// Mirrored more often than this along an axis, a path has no group.
const ORDER_MAX: i32 = 3;
/// Lamps beyond these have no groups.
const LAMPS_MAX: usize = 8;

/// What is known of the paths of one lamp, a bit a group.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Shade {
    open: u64,
    blocked: u64,
}

/// Whether a path is open, as far as it is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Known {
    Open,
    Blocked,
    Not,
}

fn bit(arrival: &Arrival) -> u64 {
    let [i, j] = arrival.order;
    if i.abs() > ORDER_MAX || j.abs() > ORDER_MAX {
        return 0;
    }
    1 << ((i + ORDER_MAX) * (2 * ORDER_MAX + 1) + j + ORDER_MAX)
}

impl Shade {
    /// Notes the share of a path that nothing stops.
    pub(super) fn note(&mut self, arrival: &Arrival, share: f64) {
        let bit = bit(arrival);
        if share > 0.0 {
            self.open |= bit;
        }
        if share < 1.0 {
            self.blocked |= bit;
        }
    }
}

/// What all patches around a place say together.
#[derive(Clone, Copy, Debug)]
pub(super) struct Agreed {
    each: [Shade; LAMPS_MAX],
    /// Groups that every patch knows of.
    known: [u64; LAMPS_MAX],
    n_patches: usize,
}

impl Agreed {
    /// Nothing heard yet.
    pub(super) fn new() -> Self {
        Self {
            each: [Shade::default(); LAMPS_MAX],
            known: [u64::MAX; LAMPS_MAX],
            n_patches: 0,
        }
    }

    /// Hears one patch, with one shade a lamp.
    pub(super) fn hear(&mut self, shades: &[Shade]) {
        self.n_patches += 1;
        for ((sum, known), shade) in self.each.iter_mut().zip(&mut self.known).zip(shades) {
            sum.open |= shade.open;
            sum.blocked |= shade.blocked;
            *known &= shade.open | shade.blocked;
        }
    }

    /// What they agree on for a path from a lamp. Three patches at least must
    /// surround the place.
    pub(super) fn on(&self, lamp_idx: usize, arrival: &Arrival) -> Known {
        const LEAST: usize = 3;
        let bit = bit(arrival);
        let (Some(shade), Some(known)) = (self.each.get(lamp_idx), self.known.get(lamp_idx)) else {
            return Known::Not;
        };
        if self.n_patches < LEAST || known & bit == 0 {
            return Known::Not;
        }
        match (shade.open & bit != 0, shade.blocked & bit != 0) {
            (true, false) => Known::Open,
            (false, true) => Known::Blocked,
            _ => Known::Not,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use glam::DVec3;

    fn path(order: [i32; 2]) -> Arrival {
        Arrival {
            order,
            to_light: DVec3::Z,
            facing_per_m2: 1.0,
            entry_m: DVec3::ZERO,
            emitter_m: DVec3::ZERO,
        }
    }

    fn shade(paths: &[([i32; 2], f64)]) -> Shade {
        let mut shade = Shade::default();
        for (order, share) in paths {
            shade.note(&path(*order), *share);
        }
        shade
    }

    #[test]
    fn only_what_every_patch_knows_alike_is_agreed() {
        let mut agreed = Agreed::new();
        let (direct, left, front) = ([0, 0], [-1, 0], [0, -1]);
        let each = [
            shade(&[(direct, 1.0), (left, 0.0), (front, 1.0)]),
            shade(&[(direct, 1.0), (left, 0.0), (front, 0.4)]),
            shade(&[(direct, 1.0), (left, 0.0)]),
        ];
        for shade in &each[..2] {
            agreed.hear(&[*shade]);
        }
        assert_eq!(agreed.on(0, &path(direct)), Known::Not, "two are too few");
        agreed.hear(&each[2..]);
        assert_eq!(agreed.on(0, &path(direct)), Known::Open, "open to all");
        assert_eq!(agreed.on(0, &path(left)), Known::Blocked, "to none");
        assert_eq!(agreed.on(0, &path(front)), Known::Not, "to some");
        assert_eq!(agreed.on(0, &path([2, 2])), Known::Not, "never looked at");
        assert_eq!(agreed.on(0, &path([9, 0])), Known::Not, "has no group");
        assert_eq!(agreed.on(99, &path(direct)), Known::Not, "no such lamp");
    }
}

//! Ways to hold a coral: when each is right, what it bears, how steep it may be.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::{Basis, Entry, Form, Kind, Seat, Sourced};

/// One way to hold a coral.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MountMethod {
    /// Which way it is.
    pub seat: Seat,
    /// What it is called, in lower case.
    pub name: String,
    /// For which corals it is right.
    pub right_when: String,
    /// How it is done.
    pub how: String,
    /// What speaks against it.
    pub mind: String,
    /// Slopes of the seat that it bears.
    pub slope_deg: Slopes,
    /// Mass that it holds, in g, if that is limited.
    pub holds_g: Option<Sourced>,
}

/// A span of slopes in degrees from level: 90 is a wall, 180 a roof.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slopes {
    /// Least.
    pub low: f64,
    /// Most.
    pub high: f64,
    /// Where it comes from.
    pub basis: Basis,
}

impl Slopes {
    /// Whether a slope lies within, ends included.
    pub fn hold(&self, slope_deg: f64) -> bool {
        (self.low..=self.high).contains(&slope_deg)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MountFile {
    methods: Vec<MountMethod>,
}

static METHODS: LazyLock<Vec<MountMethod>> = LazyLock::new(|| {
    ron::from_str(include_str!("../../../assets/mounts.ron"))
        .map(|file: MountFile| file.methods)
        .unwrap_or_default()
});

/// All ways to hold a coral. It is empty only if the built-in table is broken,
/// which a test rules out.
pub fn mount_methods() -> &'static [MountMethod] {
    &METHODS
}

/// What is known of one way; `None` only if the built-in table is broken.
pub fn mount_method(seat: Seat) -> Option<&'static MountMethod> {
    mount_methods().iter().find(|method| method.seat == seat)
}

impl Seat {
    /// Every way there is.
    pub const ALL: [Self; 12] = [
        Self::Plug,
        Self::Gel,
        Self::Putty,
        Self::GelAndPutty,
        Self::Wedge,
        Self::Thread,
        Self::Rod,
        Self::Hang,
        Self::Sand,
        Self::Rubble,
        Self::Loose,
        Self::Itself,
    ];

    /// Whether it fixes a coral to rock for good, by glue, putty or a hole.
    pub fn glues(self) -> bool {
        matches!(
            self,
            Self::Plug | Self::Gel | Self::Putty | Self::GelAndPutty | Self::Rod | Self::Hang
        )
    }
}

impl Entry {
    /// Whether it must never be glued: free-living corals, clams and anemones
    /// move, hold on by themselves, or tear.
    ///
    /// **Source** COMMON PRACTICE.
    pub fn never_glued(&self) -> bool {
        self.form == Form::FreeLiving || matches!(self.kind, Kind::Clam | Kind::Anemone)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalog::Catalog;

    #[test]
    fn every_way_is_described_with_its_source() {
        assert_eq!(mount_methods().len(), Seat::ALL.len(), "one row each");
        for seat in Seat::ALL {
            let method = mount_method(seat).expect("in the table");
            assert!(!method.right_when.is_empty(), "{seat:?} says when");
            assert!(method.slope_deg.low < method.slope_deg.high, "{seat:?}");
            let sources = &method.slope_deg.basis.sources;
            let held = method.holds_g.iter().flat_map(|held| &held.basis.sources);
            for source in sources.iter().chain(held) {
                assert!(Catalog::built_in().source(source).is_some(), "{source}");
            }
        }
    }

    #[test]
    fn no_entry_that_moves_lists_glue() {
        for entry in Catalog::built_in().entries() {
            let glued = entry.seats.iter().any(|seat| seat.glues());
            assert!(!(entry.never_glued() && glued), "{} is glued", entry.id);
        }
    }
}

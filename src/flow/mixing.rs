//! How jets mix. The eddies of a jet are smaller than cells of a few centimetres
//! for most of its way: left to the closure for eddies of one cell, a jet stays
//! narrow until it breaks up at a place that depends on the cell. So on such
//! cells, and on them alone (half of it would only keep a jet narrow), the water
//! in the core of each jet mixes as a jet does, with a mixing length that grows
//! with the way from where its own core has ended, as far as that way is free and
//! no wall lies beside it: along a wall such a length takes far too much of the
//! water's momentum, and eddies of a few cells spread the jet more as a real one.

use glam::DVec3;
use rayon::prelude::*;

use crate::CellKind;
use crate::domain::{Domain, closure_term};
use crate::held::JetWater;
use crate::outlet::Outlet;

/// Mixing length of a round jet over the way from its outlet.
///
/// **Source** 0.018: 0.075 of the width to a hundredth of the centerline's speed
/// (Launder, Morse, Rodi & Spalding 1972, MEMORY) for a Gaussian with a half
/// width of 0.094 of the way; 0.025 gives the decay and the growth of a free
/// jet on these cells, see `METHODS.md`.
const MIXING_PER_M: f64 = 0.025;

/// Way from the outlet, in its diameters (of a slot: heights), from which on that
/// length grows: until then the water in the middle of a jet is as it came. On
/// cells as wide as an outlet it mixes more than enough by itself.
///
/// **Source** four to five diameters: Rajaratnam 1976 (MEMORY), Shinneeb, Bugg &
/// Balachandar 2002 (5); three brings the axis nearest to the law of a free jet
/// from 10 to 30 diameters, see `EXPERIMENTS.md`.
const MIXES_FROM: f64 = 3.0;

/// Half widths of the jet in which it mixes so; own choice, it holds 94 % of a
/// Gaussian jet's flow.
const CORE_HALF_WIDTHS: f64 = 2.0;

/// Part of the free way at which the jet begins to be left to its own eddies,
/// and from which on it is: near its end it turns. Own choice, from trials.
const LEFT_ALONE: [f64; 2] = [0.5, 0.8];

/// Least mixing length in cells over the square of the cells across an outlet:
/// without it runs with a wide one diverge. Own trials.
const LEAST_A_SQUARE: f64 = 0.015;

/// Bounds of that least mixing length, in cells. Own trials.
const LEAST: [f64; 2] = [0.055, 0.4];

/// A cell in the core of a jet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct CoreCell {
    pub(crate) cell: usize,
    /// Mixing length there, in cells.
    pub(crate) length_cells: f64,
    /// How much of it counts, 0 to 1; the closure of other water makes the rest.
    pub(crate) share: f64,
}

impl JetWater<'_> {
    /// The cells in the core of an outlet's jet: of no share on cells up to the
    /// first of `fade`, of full share from the second on, in m.
    pub(crate) fn core_of(&self, outlet: &Outlet, fade: [f64; 2]) -> Vec<CoreCell> {
        let carried =
            ((fade[1] - self.grid.cell_m) / (fade[1] - fade[0]).max(1e-9)).clamp(0.0, 1.0);
        if carried >= 1.0 {
            return Vec::new();
        }
        (0..self.grid.n_cells())
            .into_par_iter()
            .filter(|&cell| self.kinds[cell] == CellKind::Water)
            .filter_map(|cell| self.core_cell(outlet, cell))
            .map(|core| CoreCell {
                share: core.share * (1.0 - carried),
                ..core
            })
            .collect()
    }

    fn core_cell(&self, outlet: &Outlet, cell: usize) -> Option<CoreCell> {
        let cell_m = self.grid.cell_m;
        let at_m = self.grid.center_m(self.grid.ijk(cell));
        let place = outlet.place_in_jet(at_m, cell_m)?;
        if place.half_widths > CORE_HALF_WIDTHS {
            return None;
        }
        // Where its core meets a wall it is no free jet any more.
        let axis_m = outlet.at_m + outlet.aim * place.way_m;
        if self.way_to_wall(axis_m, outlet.aim) < CORE_HALF_WIDTHS * place.half_width_m {
            return None;
        }
        let [wide_m, high_m] = outlet.span_m();
        let narrow_m = wide_m.min(high_m);
        let across = narrow_m / cell_m;
        let grown_m = (place.way_m - MIXES_FROM * narrow_m).max(0.0);
        let least = (LEAST_A_SQUARE * across * across).clamp(LEAST[0], LEAST[1]);
        let share = self.hold(outlet.at_m, at_m, LEFT_ALONE);
        (share > 0.0).then_some(CoreCell {
            cell,
            length_cells: (MIXING_PER_M * grown_m / cell_m).max(least),
            share,
        })
    }

    /// Way across an aim from a place to the nearest pane or the bed; the surface
    /// takes no momentum along it.
    fn way_to_wall(&self, at_m: DVec3, aim: DVec3) -> f64 {
        let [low, high] = self.bounds_m;
        let (below, above) = (at_m - low, high - at_m);
        let gaps = DVec3::new(below.x.min(above.x), below.y.min(above.y), below.z);
        // What a jet goes straight at, or comes from, is not beside it.
        let across = (1.0 - aim * aim).max(DVec3::splat(1e-6));
        (gaps / across.powf(0.5)).min_element()
    }
}

/// Sets how the cores of jets mix; where two cross, by the one that mixes more.
pub(crate) fn mix(domain: &mut Domain, constant: f64, cores: &[CoreCell]) {
    let mut seen = vec![false; domain.n_cells()];
    for core in cores {
        let length = constant + (core.length_cells - constant) * core.share;
        let term = &mut domain.closure[core.cell];
        *term = if std::mem::replace(&mut seen[core.cell], true) {
            term.max(closure_term(length))
        } else {
            closure_term(length)
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Cut;
    use crate::geometry::{CellGrid, Rockwork};

    /// Mixing lengths, in cells, of bare water of 110×60×60 cm beside a jet of
    /// 4 cm along x at this height, at ways from its outlet and distances from
    /// its axis.
    fn lengths(up_cm: f64, places_cm: &[[f64; 2]]) -> Vec<f64> {
        let up_m = up_cm / 100.0;
        let outlet = Outlet::round(DVec3::new(0.10, 0.31, up_m), DVec3::X, 0.04);
        let grid = CellGrid {
            origin_m: DVec3::ZERO,
            cell_m: 0.02,
            n: [55, 30, 30],
        };
        let kinds = vec![CellKind::Water; grid.n_cells()];
        let water = JetWater {
            grid: &grid,
            kinds: &kinds,
            rockwork: &Rockwork::default(),
            cut: Cut::Tank,
            bounds_m: [DVec3::ZERO, DVec3::new(1.1, 0.6, 0.6)],
        };
        let mut domain = Domain::new(grid.n, 0.5);
        domain.closure = vec![closure_term(0.16); grid.n_cells()];
        mix(&mut domain, 0.16, &water.core_of(&outlet, [0.016, 0.018]));
        let at = |[way_cm, beside_cm]: &[f64; 2]| {
            let at_m = DVec3::new(10.0 + way_cm, 31.0 + beside_cm, up_cm) / 100.0;
            let cell = grid.idx(grid.cell_at(at_m).expect("in the water"));
            (f64::from(domain.closure[cell]) / f64::from(closure_term(1.0))).sqrt()
        };
        places_cm.iter().map(at).collect()
    }

    #[test]
    fn a_core_mixes_with_the_way_until_it_is_left_alone() {
        // The free way is 100 cm: all of it up to 50, half at 65, none from 80.
        let found = lengths(
            31.0,
            &[1.0, 21.0, 41.0, 65.0, 81.0].map(|way_cm| [way_cm, 0.0]),
        );
        // It begins after three diameters, 12 cm.
        let full = |way_cm: f64| MIXING_PER_M * (way_cm - 12.0) / 2.0;
        let half = 0.5 * (full(65.0) + 0.16);
        // Four centimetres across are two cells: the least is 0.015·2² = 0.06.
        let expected = [0.06, full(21.0), full(41.0), half, 0.16];
        for (found, expected) in found.iter().zip(expected) {
            assert!((found - expected).abs() < 1e-4, "{found} for {expected}");
        }
        // 41 cm on, two half widths are 7.7 cm.
        let across = lengths(31.0, &[[41.0, 6.0], [41.0, 8.0]]);
        assert!(
            (across[0] - full(41.0)).abs() < 1e-4,
            "{across:?} in the core"
        );
        assert!((across[1] - 0.16).abs() < 1e-6, "{across:?} beside it");
    }

    #[test]
    fn a_core_that_meets_a_wall_is_left_to_its_eddies() {
        // Two half widths are 4 cm until 21 cm on, 6 cm 32 cm on.
        let near = lengths(3.0, &[[1.0, 0.0], [21.0, 0.0]]);
        assert!(
            near.iter().all(|found| (found - 0.16).abs() < 1e-6),
            "{near:?}"
        );
        let later = lengths(5.0, &[[21.0, 0.0], [41.0, 0.0]]);
        assert!(
            (later[0] - MIXING_PER_M * 9.0 / 2.0).abs() < 1e-4,
            "{later:?} at first"
        );
        assert!(
            (later[1] - 0.16).abs() < 1e-6,
            "{later:?} once it meets the bed"
        );
        // The surface is no wall.
        let high = lengths(57.0, &[[21.0, 0.0]]);
        assert!(
            (high[0] - MIXING_PER_M * 9.0 / 2.0).abs() < 1e-4,
            "{high:?}"
        );
    }
}

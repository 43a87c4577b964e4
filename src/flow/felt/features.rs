//! What is known of a place that bears on how fast its water really is.

use rayon::prelude::*;

use super::boxes::sums;
use crate::jet::ROUND_DECAY;
use crate::outlet::Outlet;
use crate::{CellKind, FlowField};

/// How many features a place has.
pub const N_FEATURES: usize = 16;

/// Features at one place, in the order of [`FEATURE_NAMES`].
pub type Features = [f32; N_FEATURES];

/// Their names. Logarithms are of speeds in m/s; a box is a cube around the
/// place of the edge named.
pub const FEATURE_NAMES: [&str; N_FEATURES] = [
    "one",
    "ln_felt_2cm",
    "ln_felt_6cm",
    "ln_felt_14cm",
    "ln_felt_tank",
    "ln_jet",
    "ln_thrust",
    "fluctuation_share",
    "solid_3cm",
    "solid_6cm",
    "solid_14cm",
    "rock_14cm",
    "jet_seen",
    "near_surface",
    "unsettled",
    "ln_jets",
];

/// Those that are logarithms of speeds.
pub const SPEED_FEATURES: std::ops::Range<usize> = 1..7;

/// Speeds are not told apart below this one, in m/s; own choice.
const SPEED_MIN_M_S: f32 = 0.002;

/// Way below the surface in which it is felt, in m; own choice.
const SURFACE_M: f64 = 0.03;

fn ln_speed(square: f32) -> f32 {
    0.5 * (square + SPEED_MIN_M_S * SPEED_MIN_M_S).ln()
}

/// Sums over the water of a field, by cell.
struct Parts {
    water: Vec<f32>,
    rock: Vec<f32>,
    felt_square: Vec<f32>,
    fluctuation_square: Vec<f32>,
}

impl Parts {
    fn new(field: &FlowField) -> Self {
        let is = |kind: CellKind| {
            let flags = field.kind.iter().map(|of| f32::from(*of == kind));
            flags.collect::<Vec<f32>>()
        };
        let fluctuation_square: Vec<f32> = (field.fluctuation_m_s.iter()).map(|x| x * x).collect();
        let felt_square = (field.velocity_m_s.iter().zip(&fluctuation_square))
            .map(|(u, square)| u.iter().map(|x| x * x).sum::<f32>() + square)
            .collect();
        Self {
            water: is(CellKind::Water),
            rock: is(CellKind::Rock),
            felt_square,
            fluctuation_square,
        }
    }
}

/// Features of every cell of a tank estimate; zeros where there is no water.
pub(crate) fn features(field: &FlowField, outlets: &[Outlet]) -> Vec<Features> {
    let grid = &field.grid;
    let parts = Parts::new(field);
    let [water_2, water_3, water_6, water_14] =
        [0.02, 0.03, 0.06, 0.14].map(|edge_m| sums(grid, &parts.water, edge_m));
    let [felt_2, felt_6, felt_14] =
        [0.02, 0.06, 0.14].map(|edge_m| sums(grid, &parts.felt_square, edge_m));
    let fluctuation_2 = sums(grid, &parts.fluctuation_square, 0.02);
    let rock_14 = sums(grid, &parts.rock, 0.14);
    let n_water: f32 = parts.water.iter().sum();
    let ln_tank = ln_speed(parts.felt_square.iter().sum::<f32>() / n_water.max(1.0));
    let volume_m3 = f64::from(n_water) * grid.cell_m.powi(3);
    let thrust_m4_s2: f64 = outlets.iter().map(Outlet::thrust_m4_s2).sum();
    let ln_thrust = ln_speed((thrust_m4_s2 / volume_m3.max(1e-6).powf(2.0 / 3.0)) as f32);
    let ln_jets = ln_jets(outlets);
    (0..grid.n_cells())
        .into_par_iter()
        .map(|idx| {
            if field.kind[idx] != CellKind::Water {
                return [0.0; N_FEATURES];
            }
            let ijk = grid.ijk(idx);
            let depth_m = (grid.n[2] as f64 - ijk[2] as f64 - 0.5) * grid.cell_m;
            let solid = |water: f32, edge_m: f64| {
                // Above the surface nothing is in the way.
                let high_m = 0.5 * edge_m + depth_m.min(0.5 * edge_m);
                let cells = edge_m * edge_m * high_m / grid.cell_m.powi(3);
                (1.0 - f64::from(water) / cells).clamp(0.0, 1.0) as f32
            };
            let speed = |felt: f32, water: f32| ln_speed(felt / water.max(1e-6));
            let (ln_jet, seen) = jets(field, outlets, ijk);
            let half_width = field.speed_half_width_m_s[idx] / field.speed_m_s[idx].max(1e-4);
            [
                1.0,
                speed(felt_2[idx], water_2[idx]),
                speed(felt_6[idx], water_6[idx]),
                speed(felt_14[idx], water_14[idx]),
                ln_tank,
                ln_jet,
                ln_thrust,
                fluctuation_2[idx] / felt_2[idx].max(1e-10),
                solid(water_3[idx], 0.03),
                solid(water_6[idx], 0.06),
                solid(water_14[idx], 0.14),
                (f64::from(rock_14[idx]) * (grid.cell_m / 0.14).powi(3)) as f32,
                seen,
                (-depth_m / SURFACE_M).exp() as f32,
                half_width.min(1.0),
                ln_jets,
            ]
        })
        .collect()
}

/// Logarithm of how many jets of like thrust would share it as these do: on
/// coarse cells one jet alone stirs a tank less well than it should, several do
/// better.
fn ln_jets(outlets: &[Outlet]) -> f32 {
    let thrusts = || outlets.iter().map(Outlet::thrust_m4_s2);
    let (sum, squares) = (
        thrusts().sum::<f64>(),
        thrusts().map(|x| x * x).sum::<f64>(),
    );
    if squares > 0.0 {
        (sum * sum / squares).ln() as f32
    } else {
        0.0
    }
}

/// What the jets would bring to a cell were they free, with a far wider skirt
/// than a jet's, since they sway: the logarithm of their speeds in quadrature,
/// and the share of it whose outlets are in sight.
fn jets(field: &FlowField, outlets: &[Outlet], ijk: [usize; 3]) -> (f32, f32) {
    let at_m = field.grid.center_m(ijk);
    let (mut all, mut seen) = (0.0, 0.0);
    for outlet in outlets {
        let Some(place) = outlet.place_in_jet(at_m, field.grid.cell_m) else {
            continue;
        };
        let axis = (ROUND_DECAY * outlet.diameter_m() / place.way_m.max(1e-3)).min(1.0);
        let skirt = 1.0 + place.half_widths * place.half_widths;
        let square = (outlet.speed_m_s() * axis / skirt).powi(2);
        all += square;
        if in_sight(field, outlet, ijk) {
            seen += square;
        }
    }
    let share = if all > 0.0 { seen / all } else { 0.0 };
    (ln_speed(all as f32), share as f32)
}

/// Whether no rock lies on the straight way from an outlet to a cell.
fn in_sight(field: &FlowField, outlet: &Outlet, ijk: [usize; 3]) -> bool {
    let (from_m, to_m) = (outlet.at_m, field.grid.center_m(ijk));
    let way_m = from_m.distance(to_m);
    let n_steps = (way_m / field.grid.cell_m).ceil().max(1.0);
    (1..n_steps as usize).all(|step| {
        let at_m = from_m.lerp(to_m, step as f64 / n_steps);
        (field.grid.cell_at(at_m))
            .is_none_or(|cell| field.kind[field.grid.idx(cell)] != CellKind::Rock)
    })
}

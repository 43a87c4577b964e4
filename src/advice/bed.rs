//! What the water does to the bed: where waste stays, and where sand moves.

use glam::DVec3;

use crate::dead;
use crate::flow::{CellKind, Estimate, FlowField};
use crate::place::Surroundings;
use crate::scene::finding::{Cause, Figure, Place};
use crate::scene::{ItemId, Tank};
use crate::units::{GRAVITY_M_S2, M_PER_CM, SEAWATER_DENSITY_KG_M3, SEAWATER_VISCOSITY_M2_S};
use crate::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};

/// Bed stress below which fresh fish waste stays where it fell, in Pa.
///
/// **Source** Cromey et al. 2002, Estuaries 25:916: best fit to a field tracer.
/// PUBLISHED (abstract).
pub(crate) const WASTE_STAYS_PA: f64 = 0.018;

/// Density of aragonite grains with their pores, in kg/m³.
///
/// **Source** middle of 2000 to 2800 kg/m³, as grains are porous. COMMON PRACTICE.
const GRAIN_DENSITY_KG_M3: f64 = 2400.0;

/// Share of the speed at which single grains move that planning allows, since
/// a jet's gusts exceed its mean.
///
/// **Source** COMMON PRACTICE.
const PLANNING_SHARE: f64 = 0.7;

const KARMAN: f64 = 0.41;

/// One piece of open bed and what the water does to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BedCell {
    /// Cell of water right above it.
    pub idx: usize,
    /// Its middle on the bed, in m.
    pub at_m: DVec3,
    /// Time mean of the speed in that cell, in m/s.
    pub speed_m_s: f64,
    /// Height of that cell's middle above the bed, in m.
    pub height_m: f64,
    /// Time mean of the stress on the bed, in Pa: that of the root mean square
    /// of the speed, since stress grows with its square.
    pub stress_pa: f64,
}

/// Open bed under a tank estimate, with the stress from the log law at the
/// first cell of water; empty for a slice, which has no bed.
///
/// The law is `u/u* = ln(z/z0)/0.41` with
/// `z0 = k/30·(1 − exp(−u*k/27ν)) + ν/(9u*)` and `k` two and a half grains
/// (zero on a bare pane), which spans smooth to rough.
///
/// **Source** Christoffersen & Jonsson 1985 as given by Soulsby 1997, eq. 23. MEMORY.
pub fn bed_cells(field: &FlowField, tank: &Tank) -> Vec<BedCell> {
    if field.estimate != Estimate::Tank {
        return Vec::new();
    }
    let [nx, ny, nz] = field.grid.n;
    let sand_m = tank.sand.depth_cm * M_PER_CM;
    let roughness_m = if sand_m > 0.0 {
        2.5e-3 * tank.sand.grain_mm
    } else {
        0.0
    };
    let mut cells = Vec::new();
    for j in 0..ny {
        for i in 0..nx {
            let kind = |k: usize| field.kind[field.grid.idx([i, j, k])];
            let Some(k) = (0..nz).find(|&k| kind(k) != CellKind::Sand) else {
                continue;
            };
            if kind(k) != CellKind::Water {
                continue;
            }
            let idx = field.grid.idx([i, j, k]);
            let center = field.grid.center_m([i, j, k]);
            let height_m = (center.z - sand_m).max(field.grid.cell_m / 4.0);
            let speed_m_s = f64::from(field.speed_m_s[idx]);
            let [u, v, w] = field.velocity_m_s[idx].map(f64::from);
            let mean_m_s = DVec3::new(u, v, w).length();
            let root_m_s = mean_m_s.hypot(field.fluctuation_m_s[idx].into());
            cells.push(BedCell {
                idx,
                at_m: center.with_z(sand_m),
                speed_m_s,
                height_m,
                stress_pa: settling_stress_pa(root_m_s.max(speed_m_s), height_m, roughness_m),
            });
        }
    }
    cells
}

/// Bed stress in Pa from the speed (m/s) at a height (m) above a bed of the
/// given roughness (m); see [`bed_cells`].
pub fn settling_stress_pa(speed_m_s: f64, height_m: f64, roughness_m: f64) -> f64 {
    const ROUNDS: usize = 40;
    if speed_m_s <= 0.0 {
        return 0.0;
    }
    let nu = SEAWATER_VISCOSITY_M2_S;
    let mut friction = 0.05 * speed_m_s;
    for _ in 0..ROUNDS {
        let rough = roughness_m / 30.0 * (1.0 - (-friction * roughness_m / (27.0 * nu)).exp());
        let z0 = rough + nu / (9.0 * friction);
        // Below about one wall unit the law ends; the layer is viscous there.
        let log = (height_m / z0).ln().max(1.0);
        friction = 0.5 * (friction + KARMAN * speed_m_s / log);
    }
    let viscous = (nu * speed_m_s / height_m).sqrt();
    let friction = friction.max(viscous);
    SEAWATER_DENSITY_KG_M3 * friction * friction
}

/// Stress at which single grains of a size (mm) start to move, in Pa:
/// `θ = 0.30/(1 + 1.2 D) + 0.055 (1 − exp(−0.020 D))`,
/// `D = d (g (s − 1)/ν²)^⅓`.
///
/// **Source** Soulsby 1997, eq. 77. PUBLISHED (second-hand).
pub(crate) fn grain_moves_pa(grain_mm: f64, grain_density_kg_m3: f64) -> f64 {
    let size_m = grain_mm * 1e-3;
    let excess = grain_density_kg_m3 / SEAWATER_DENSITY_KG_M3 - 1.0;
    let nu = SEAWATER_VISCOSITY_M2_S;
    let d = size_m * (GRAVITY_M_S2 * excess / (nu * nu)).cbrt();
    let theta = 0.30 / (1.0 + 1.2 * d) + 0.055 * (1.0 - (-0.020 * d).exp());
    theta * GRAVITY_M_S2 * excess * SEAWATER_DENSITY_KG_M3 * size_m
}

/// Stress above which planning counts sand as moving, in Pa; none without sand.
pub(crate) fn sand_limit_pa(tank: &Tank) -> Option<f64> {
    (tank.sand.depth_cm > 0.0).then(|| {
        grain_moves_pa(tank.sand.grain_mm, GRAIN_DENSITY_KG_M3) * PLANNING_SHARE * PLANNING_SHARE
    })
}

/// Connected areas of bed where the flow may move the sand, largest first.
/// A slice has no bed and gives none.
pub fn sand_findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    let (Some(field), Some(limit_pa)) = (input.flow, sand_limit_pa(&input.scene.tank)) else {
        return Vec::new();
    };
    let cells = bed_cells(field, &input.scene.tank);
    let mut moving = vec![false; field.grid.n_cells()];
    for cell in cells.iter().filter(|cell| cell.stress_pa > limit_pa) {
        moving[cell.idx] = true;
    }
    let surroundings = Surroundings::new(input.study);
    let mut regions = dead::connected(field, &moving, |_| 0);
    let cell_m2 = field.grid.cell_m * field.grid.cell_m;
    regions.retain(|region| region.len() as f64 * cell_m2 >= input.options.sand_min_m2);
    regions.sort_by_key(|region| std::cmp::Reverse(region.len()));
    let found = regions.iter().map(|region| {
        let here: Vec<BedCell> = cells
            .iter()
            .filter(|cell| region.contains(&cell.idx))
            .copied()
            .collect();
        sand_finding(input, field, &surroundings, &here)
    });
    found.collect()
}

fn sand_finding(
    input: &AdviceInput<'_>,
    field: &FlowField,
    surroundings: &Surroundings,
    here: &[BedCell],
) -> Finding {
    let area_m2 = here.len() as f64 * field.grid.cell_m * field.grid.cell_m;
    let points: Vec<DVec3> = here.iter().map(|cell| cell.at_m).collect();
    let fastest = here
        .iter()
        .max_by(|a, b| a.speed_m_s.total_cmp(&b.speed_m_s).then(b.idx.cmp(&a.idx)));
    let worst_m = fastest.map_or(DVec3::ZERO, |cell| cell.at_m);
    let spot = surroundings.water_spot(&points);
    let place = Place::of_points_m(spot, worst_m, &points, field.grid.cell_m);
    let severity = if area_m2 >= 0.03 {
        Severity::Serious
    } else {
        Severity::Warning
    };
    let certainty = if field.settling.settled {
        Certainty::Likely
    } else {
        Certainty::Check
    };
    let (speed_m_s, height_m) = fastest.map_or((0.0, 0.0), |cell| (cell.speed_m_s, cell.height_m));
    let mut finding = Finding::new(Kind::SandMoves, severity, certainty, place)
        .with(Figure::Area, area_m2 * 1e4)
        .with(Figure::FastestSpeed, speed_m_s / M_PER_CM)
        .with(Figure::AboveBed, height_m / M_PER_CM)
        .with(Figure::Grain, input.scene.tank.sand.grain_mm);
    if let Some(pump) = only_pump(input) {
        finding.items.push(pump);
        finding.cause = Some(Cause::Pump(pump));
        finding.remedies.push(Remedy::Select(pump));
    }
    finding
}

/// The only pump, if there is but one: the one to re-aim.
fn only_pump(input: &AdviceInput<'_>) -> Option<ItemId> {
    match input.layout.pumps.as_slice() {
        [only] => Some(only.id),
        _ => None,
    }
}

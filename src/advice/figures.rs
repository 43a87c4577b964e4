//! The handful of numbers that tell two flow fields apart.

use crate::AdviceOptions;
use crate::bed::{WASTE_STAYS_PA, bed_cells, sand_limit_pa};
use crate::dead::cell_volume_l;
use crate::flow::{CellKind, Estimate, FlowField};
use crate::scene::Tank;

/// What one flow field comes down to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowFigures {
    /// Which estimate it is.
    pub estimate: Estimate,
    /// Water that the field covers, in L (a slice at its stated thickness).
    pub water_l: f64,
    /// Water slower than the limit, in L: of a solved tank each place by its
    /// chance (see [`crate::flow::felt`]).
    pub dead_l: f64,
    /// The same as a share of the water.
    pub dead_share: f64,
    /// Half width of its 80 % interval; where chances are not known, of the
    /// 95 % interval of the average alone.
    pub dead_share_half_width: f64,
    /// Mean over the water of the time mean of the speed, in m/s.
    pub mean_speed_m_s: f64,
    /// Half width of its 95 % confidence interval, in m/s.
    pub mean_speed_half_width_m_s: f64,
    /// Speed that a tenth of the water does not reach, in m/s.
    pub slowest_tenth_m_s: f64,
    /// Open bed, in m²; none for a slice.
    pub bed_m2: Option<f64>,
    /// Bed on which fresh waste stays, in m²; none for a slice.
    pub detritus_m2: Option<f64>,
    /// Sand that the flow may move, in m²; none for a slice.
    pub sand_at_risk_m2: Option<f64>,
}

/// The figures of a flow field. Without water all are zero.
pub fn flow_figures(field: &FlowField, tank: &Tank, options: &AdviceOptions) -> FlowFigures {
    let mut speeds: Vec<f32> = (0..field.grid.n_cells())
        .filter(|&idx| field.kind[idx] == CellKind::Water)
        .map(|idx| field.speed_m_s[idx])
        .collect();
    speeds.sort_by(f32::total_cmp);
    let n = speeds.len();
    let mean = |sum: f64| if n == 0 { 0.0 } else { sum / n as f64 };
    let dead = speeds.partition_point(|&speed| f64::from(speed) < options.dead_limit_m_s);
    let cell_l = cell_volume_l(field, options.slice_thickness_m);
    let slow = field
        .felt()
        .map(|felt| felt.slow_share(options.dead_limit_m_s));
    let (dead_share, dead_share_half_width) = match slow {
        Some(slow) => (slow.share, slow.half_width),
        None => (mean(dead as f64), field.settling.dead_share_half_width),
    };
    let bed = bed_cells(field, tank);
    let cell_m2 = field.grid.cell_m * field.grid.cell_m;
    let area = |count: usize| (field.estimate == Estimate::Tank).then_some(count as f64 * cell_m2);
    let limit_pa = sand_limit_pa(tank).unwrap_or(f64::INFINITY);
    FlowFigures {
        estimate: field.estimate,
        water_l: n as f64 * cell_l,
        dead_l: dead_share * n as f64 * cell_l,
        dead_share,
        dead_share_half_width,
        mean_speed_m_s: mean(speeds.iter().map(|&speed| f64::from(speed)).sum()),
        mean_speed_half_width_m_s: field.settling.mean_speed_half_width_m_s,
        slowest_tenth_m_s: speeds.get(n / 10).map_or(0.0, |&speed| f64::from(speed)),
        bed_m2: area(bed.len()),
        detritus_m2: area(
            bed.iter()
                .filter(|cell| cell.stress_pa < WASTE_STAYS_PA)
                .count(),
        ),
        sand_at_risk_m2: area(bed.iter().filter(|cell| cell.stress_pa > limit_pa).count()),
    }
}

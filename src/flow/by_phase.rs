//! Slow pumps phase by phase: what was found of each phase, put together by
//! its share of the time.

use rayon::prelude::*;

use crate::{CellKind, FlowField, Settling};

/// Averages over a longer time from those of two parts of it, each with its
/// share of the time, on the same cells.
pub(crate) fn merged((a_share, a): (f64, FlowField), (b_share, b): (f64, FlowField)) -> FlowField {
    let all = a_share + b_share;
    let shares = [a_share / all, b_share / all];
    let cells: Vec<Merged> = (0..a.kind.len())
        .into_par_iter()
        .map(|cell| Merged::new(shares, [&a, &b], cell))
        .collect();
    let settling = settling(shares, [&a.settling, &b.settling]);
    let mut whole = a;
    whole.felt = whole.felt.anew();
    whole.settling = settling;
    for (cell, of) in cells.into_iter().enumerate() {
        whole.velocity_m_s[cell] = of.velocity_m_s;
        whole.speed_m_s[cell] = of.speed_m_s;
        whole.fluctuation_m_s[cell] = of.fluctuation_m_s;
        whole.slow_share[cell] = of.slow_share;
        whole.speed_half_width_m_s[cell] = of.speed_half_width_m_s;
    }
    let mut phases = std::mem::take(&mut whole.phases);
    for phase in &mut phases {
        phase.share *= shares[0];
    }
    for mut phase in b.phases {
        phase.share *= shares[1];
        phases.push(phase);
    }
    whole.phases = phases;
    let n_water = whole.n_water().max(1);
    whole.settling.dead_share = n_slow(&whole) as f64 / n_water as f64;
    whole
}

fn n_slow(field: &FlowField) -> usize {
    let cells = field.kind.iter().zip(&field.speed_m_s);
    cells
        .filter(|(kind, speed)| {
            **kind == CellKind::Water && f64::from(**speed) < field.slow_limit_m_s
        })
        .count()
}

fn settling(shares: [f64; 2], parts: [&Settling; 2]) -> Settling {
    let [a, b] = parts;
    let weighed = |of: fn(&Settling) -> f64| shares[0] * of(a) + shares[1] * of(b);
    let wide = |of: fn(&Settling) -> f64| (shares[0] * of(a)).hypot(shares[1] * of(b));
    Settling {
        settled: a.settled && b.settled,
        averaged_s: a.averaged_s + b.averaged_s,
        mean_speed_m_s: weighed(|of| of.mean_speed_m_s),
        mean_speed_half_width_m_s: wide(|of| of.mean_speed_half_width_m_s),
        dead_share: weighed(|of| of.dead_share),
        // The same places are doubtful in both.
        dead_share_half_width: weighed(|of| of.dead_share_half_width),
        flip_share: 0.0,
    }
}

/// A cell of both.
#[derive(Clone, Copy, Default)]
struct Merged {
    velocity_m_s: [f32; 3],
    speed_m_s: f32,
    fluctuation_m_s: f32,
    slow_share: f32,
    speed_half_width_m_s: f32,
}

impl Merged {
    fn new(shares: [f64; 2], fields: [&FlowField; 2], cell: usize) -> Self {
        if fields[0].kind[cell] != CellKind::Water {
            return Self::default();
        }
        let [p, q] = shares.map(|share| share as f32);
        let weighed = |of: &dyn Fn(&FlowField) -> f32| p * of(fields[0]) + q * of(fields[1]);
        let velocity_m_s: [f32; 3] =
            std::array::from_fn(|axis| weighed(&|field| field.velocity_m_s[cell][axis]));
        let square = weighed(&|field| {
            let apart = field.velocity_m_s[cell].iter().zip(velocity_m_s);
            let between: f32 = apart.map(|(u, mean)| (u - mean).powi(2)).sum();
            between + field.fluctuation_m_s[cell].powi(2)
        });
        let [a, b] = fields.map(|field| field.speed_half_width_m_s[cell]);
        Self {
            velocity_m_s,
            speed_m_s: weighed(&|field| field.speed_m_s[cell]),
            fluctuation_m_s: square.sqrt(),
            slow_share: weighed(&|field| field.slow_share[cell]),
            speed_half_width_m_s: (p * a).hypot(q * b),
        }
    }
}

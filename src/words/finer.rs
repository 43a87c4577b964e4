//! What finer cells change, in words.

use crate::advice::FlowFigures;
use crate::names::Speaker;
use crate::scene::ItemId;
use crate::units::{M_PER_CM, Measure};

impl Speaker<'_> {
    /// What the estimate and finer cells say of the water, a line each. `cells_m`
    /// are the edges of their cells, `runs` how many runs they rest on.
    pub fn on_finer_cells(
        &self,
        cells_m: [f64; 2],
        runs: [usize; 2],
        figures: [&FlowFigures; 2],
    ) -> Vec<String> {
        let cells = cells_m.map(|m| self.value(Measure::Length, m / M_PER_CM, 2));
        let runs = runs.map(|n| match n {
            1 => "one run".to_owned(),
            n => format!("{n} runs"),
        });
        let speeds = figures.map(|of| self.value(Measure::Speed, of.mean_speed_m_s / M_PER_CM, 1));
        let dead = figures.map(|of| {
            let half = of.dead_share_half_width * of.water_l;
            let [dead, half] = [of.dead_l, half].map(|l| self.value(Measure::Volume, l, 1));
            format!("{dead} (± {half})")
        });
        vec![
            format!(
                "Cells of {} ({}), then of {} ({}).",
                cells[0], runs[0], cells[1], runs[1]
            ),
            format!("Mean speed: {}, then {}.", speeds[0], speeds[1]),
            format!("Dead: {}, then {}.", dead[0], dead[1]),
        ]
    }

    /// A coral whose water the finer cells have outside of what was said.
    pub fn feels_otherwise(&self, coral: ItemId, felt_m_s: [f64; 2]) -> String {
        let [said, finer] = felt_m_s.map(|speed| self.value(Measure::Speed, speed / M_PER_CM, 1));
        format!(
            "{}: {said} as estimated, {finer} on the finer cells, which is outside of the range that was said.",
            self.bare_name(coral)
        )
    }
}

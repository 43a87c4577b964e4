//! How long a tank is run: until the water is up to speed, and until averages
//! can have settled. Both go by the time in which its jets stir it once.

use glam::DVec3;

use crate::{Cut, FlowOptions};

/// Times in which the jets stir the whole tank once that the water of a tank
/// needs to come up to speed, and that its averages take at least and at most.
///
/// **Source** own choice on resolved tanks, `EXPERIMENTS.md`.
const TANK_TURNS: [f64; 3] = [2.0, 4.0, 12.0];

/// Least and most of each of them, in s: 20 to 120 s from rest in all.
const TANK_S: [[f64; 2]; 3] = [[8.0, 40.0], [12.0, 60.0], [24.0, 80.0]];

/// Batches in the shortest average.
const BATCHES: f64 = 20.0;

/// Cycles that the longest average over changing pumps covers at least, so that
/// they tell how sure it is.
const CYCLES: f64 = 6.0;

/// The same of a slice, which is held to its jets and steady.
const SLICE_TURNS: [f64; 3] = [1.0, 0.5, 1.0];

/// How long a run takes, in s of tank time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Times {
    pub(crate) spin_up_s: f64,
    pub(crate) shortest_s: f64,
    pub(crate) longest_s: f64,
    pub(crate) batch_s: f64,
}

/// The time in which jets of this thrust stir the whole of the water once, about.
pub(crate) fn turn_s(water_m: DVec3, thrust_m4_s2: f64) -> f64 {
    let volume_m3 = water_m.element_product();
    (volume_m3.powf(2.0 / 3.0) / thrust_m4_s2.sqrt().max(1e-6)).clamp(2.0, 30.0)
}

impl Times {
    /// Those of a run in water that is stirred once in `turn_s`. Averages over
    /// pumps that change cover whole cycles.
    pub(crate) fn new(turn_s: f64, cycle_s: Option<f64>, options: &FlowOptions) -> Self {
        let turns: [f64; 3] = match options.cut {
            Cut::Tank => std::array::from_fn(|k| {
                let [least, most] = TANK_S[k];
                (TANK_TURNS[k] * turn_s).clamp(least, most)
            }),
            Cut::Plan { .. } | Cut::Side { .. } => SLICE_TURNS.map(|turns| turns * turn_s),
        };
        let [spin_up, shortest, longest] = turns;
        let whole = |time_s: f64| match cycle_s {
            Some(cycle) => (time_s / cycle).ceil().max(1.0) * cycle,
            None => time_s,
        };
        let enough_s = match (options.cut, cycle_s) {
            (Cut::Tank, Some(cycle_s)) => CYCLES * cycle_s,
            _ => 0.0,
        };
        let [shortest_s, longest_s] =
            (options.average_s).unwrap_or([shortest, longest.max(enough_s)]);
        Self {
            spin_up_s: whole(options.spin_up_s.unwrap_or(spin_up)),
            shortest_s: whole(shortest_s),
            longest_s: whole(longest_s.max(shortest_s)),
            batch_s: cycle_s.unwrap_or(shortest_s / BATCHES),
        }
    }

    /// Of several phases each is averaged for a shorter time at most.
    pub(crate) fn share_among(&mut self, n_phases: usize) {
        let batches = self.longest_s / self.batch_s / n_phases.div_ceil(2).max(1) as f64;
        self.longest_s = (batches.round() * self.batch_s).max(self.shortest_s);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slow_tanks_are_run_longer_than_fast_ones_within_bounds() {
        let of = |turn_s| Times::new(turn_s, None, &FlowOptions::default());
        let (small, middle, slow) = (of(2.0), of(8.0), of(30.0));
        assert!(
            small.spin_up_s + small.shortest_s >= 20.0,
            "from rest at least 20 s: {small:?}"
        );
        assert!(
            small.spin_up_s < middle.spin_up_s && middle.spin_up_s < slow.spin_up_s,
            "{small:?}, {middle:?}, {slow:?}"
        );
        assert!(
            slow.spin_up_s + slow.longest_s <= 120.0,
            "and at most 120 s: {slow:?}"
        );
    }

    #[test]
    fn averages_over_changing_pumps_cover_whole_cycles() {
        let times = Times::new(5.0, Some(7.0), &FlowOptions::default());
        for time_s in [times.spin_up_s, times.shortest_s, times.longest_s] {
            let cycles = time_s / 7.0;
            assert!((cycles - cycles.round()).abs() < 1e-9, "{times:?}");
        }
        assert_eq!(times.batch_s, 7.0, "a batch is a cycle");
    }
}

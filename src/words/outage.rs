//! What an outage brings, in words.

use crate::advice::{DrainDown, FlowFigures, StandingWave};
use crate::names::Speaker;
use crate::scene::ItemId;
use crate::units::Measure;

impl Speaker<'_> {
    /// How much runs down to the sump when the return stops.
    pub fn drains(&self, drain: &DrainDown) -> Vec<String> {
        let volume = |l: f64| self.value(Measure::Volume, l, 1);
        let over = drain.over_weir_l.map(|over_l| {
            format!(
                "When the return stops, about {} over the edge of the overflow run down to the sump.",
                volume(over_l)
            )
        });
        let siphon = format!(
            "A return without a hole near the surface may siphon the tank down to its outlet, {} in all. Pipes and boxes are not in it: leave the sump room for all of it, and try it with the plug pulled.",
            volume(drain.siphon_l)
        );
        over.into_iter().chain([siphon]).collect()
    }

    /// What a pump's failure does to the dead water.
    pub fn without(&self, pump: ItemId, before: &FlowFigures, after: &FlowFigures) -> String {
        let volume = |l: f64| self.value(Measure::Volume, l, 1);
        format!(
            "Without {}: {} dead (± {}), of {} in all; {} with everything running.",
            self.bare_name(pump),
            volume(after.dead_l),
            volume(after.dead_share_half_width * after.water_l),
            volume(after.water_l),
            volume(before.dead_l)
        )
    }

    /// When the water comes to rest with everything off: `after_s` in s, none if
    /// not within `followed_s`; at rest is slower than `still_cm_s` in the mean.
    pub fn rests(&self, after_s: Option<f64>, still_cm_s: f64, followed_s: f64) -> String {
        let limit = self.value(Measure::Speed, still_cm_s, 1);
        match after_s {
            Some(after_s) => format!(
                "With everything off the mean speed falls below {limit} within about {after_s:.0} s \
                 (an estimate, to a factor of two). How long livestock bears that is not computed: \
                 it hangs on oxygen, which this program does not know."
            ),
            None => format!(
                "With everything off the water still moved by {limit} after {followed_s:.0} s."
            ),
        }
    }

    /// A period in which the surface sways by itself, and whose pulse comes
    /// near it.
    pub fn sways(&self, wave: &StandingWave, driven_by: &[ItemId]) -> String {
        let way = if wave.is_along {
            "along the tank"
        } else {
            "from front to back"
        };
        let nodes = if wave.nodes == 1 {
            "one node"
        } else {
            "two nodes"
        };
        let near = if driven_by.is_empty() {
            String::new()
        } else {
            format!(": near the pulse of {}", self.bare_names(driven_by))
        };
        format!("{:.2} s {way}, {nodes}{near}", wave.period_s)
    }
}

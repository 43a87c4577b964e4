//! What an outage brings, in words.

use crate::advice::{DrainDown, StandingWave};
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

//! Pumps that run in turn: two jets that meet stop each other, and what lies
//! between them gets neither; one after the other they reach it.

use super::{ImproveOptions, Lever};
use crate::scene::{Layout, Programme, Pump, aim};

/// Length of a cycle, in s: long enough for a jet to cross a tank, short enough
/// that an estimate averages over several.
const PERIOD_S: f64 = 20.0;

/// The layout with the two steady pumps that blow most against each other
/// running in turn; none if that may not change or no two are free to.
pub(super) fn in_turn(layout: &Layout, options: &ImproveOptions) -> Option<Layout> {
    if !options.may.contains(&Lever::Programme) {
        return None;
    }
    let is_free = |pump: &Pump| {
        pump.programme == Programme::Steady && !pump.locked && !options.fixed.contains(&pump.id)
    };
    let free: Vec<usize> = (0..layout.pumps.len())
        .filter(|idx| is_free(&layout.pumps[*idx]))
        .collect();
    let along = |idx: usize| aim(layout.pumps[idx].turn_deg, layout.pumps[idx].tilt_deg);
    let pairs = free
        .iter()
        .flat_map(|a| free.iter().map(move |b| (*a, *b)))
        .filter(|(a, b)| a < b);
    let against = |(a, b): &(usize, usize)| along(*a).dot(along(*b));
    let (a, b) = pairs.min_by(|x, y| against(x).total_cmp(&against(y)))?;
    let mut layout = layout.clone();
    let set = free_set(&layout);
    for (turn, idx) in [a, b].into_iter().enumerate() {
        layout.pumps[idx].programme = Programme::Alternate {
            set,
            period_s: PERIOD_S,
            turn: turn as u32,
            of: 2,
        };
    }
    Some(layout)
}

/// A number that no set of the layout has.
fn free_set(layout: &Layout) -> u32 {
    let sets = layout.pumps.iter().filter_map(|pump| match pump.programme {
        Programme::Alternate { set, .. } => Some(set),
        Programme::Steady | Programme::Pulse { .. } => None,
    });
    sets.max().map_or(1, |last| last + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Scene;

    fn layout() -> Layout {
        let text = include_str!("../../../scenes/harbour-office.ron");
        let mut scene: Scene = ron::from_str(text).expect("the demo reads");
        let mut layout = scene.layouts.remove(0);
        layout.pumps.truncate(2);
        let third = layout.pumps[0].clone();
        layout.pumps.push(third);
        for (pump, (id, turn_deg)) in
            layout
                .pumps
                .iter_mut()
                .zip([(901, 10.0), (902, 80.0), (903, 195.0)])
        {
            pump.id = id;
            pump.turn_deg = turn_deg;
            pump.tilt_deg = 0.0;
            pump.programme = Programme::Steady;
            pump.locked = false;
        }
        layout
    }

    fn options() -> ImproveOptions {
        ImproveOptions {
            may: [Lever::Programme].into(),
            ..ImproveOptions::default()
        }
    }

    fn running_in_turn(layout: &Layout) -> Vec<(u32, u32)> {
        let turns = layout.pumps.iter().filter_map(|pump| match pump.programme {
            Programme::Alternate { turn, .. } => Some((pump.id, turn)),
            Programme::Steady | Programme::Pulse { .. } => None,
        });
        turns.collect()
    }

    #[test]
    fn the_two_that_blow_most_against_each_other_run_in_turn() {
        let found = in_turn(&layout(), &options()).expect("two are free");
        assert_eq!(running_in_turn(&found), [(901, 0), (903, 1)]);
        let shares = found.pumps.iter().map(Pump::running_share);
        assert_eq!(shares.collect::<Vec<_>>(), [0.5, 1.0, 0.5]);
    }

    #[test]
    fn what_is_locked_or_kept_goes_on_as_it_did() {
        let mut own = layout();
        own.pumps[2].locked = true;
        let found = in_turn(&own, &options()).expect("two are free");
        assert_eq!(running_in_turn(&found), [(901, 0), (902, 1)]);
        let kept = ImproveOptions {
            fixed: [901].into(),
            ..options()
        };
        assert_eq!(in_turn(&own, &kept), None, "one alone has no turn");
        assert_eq!(in_turn(&own, &ImproveOptions::default()), None, "unasked");
    }
}

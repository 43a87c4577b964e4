//! Corals that may be moved, to the places that suit them.

use bommie_advice::{Aspect, Berth, BerthFilters, Verdict, berths};

use super::tally::{tally, with_input};
use super::{ImproveOptions, Lever, Solved};
use crate::scene::{Coral, Layout, Mount};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Places that are looked at for one coral.
const PLACES: usize = 8;

/// The layout with each coral that is out of range and may be moved in a place
/// that suits it; none if no such place is found.
pub(super) fn moved(study: &Study, solved: &Solved, options: &ImproveOptions) -> Option<Layout> {
    let layout = study.layout();
    let tally = tally(study, solved);
    let mut changed = layout.clone();
    let mut n_moved = 0;
    for idx in 0..layout.corals.len() {
        let coral = &layout.corals[idx];
        let state = tally.coral(coral.id);
        if state.is_none_or(super::CoralState::is_in_range) || !may_move(coral, options) {
            continue;
        }
        if let Some(berth) = berth_for(&study.with_layout(changed.clone()), solved, coral) {
            let coral = &mut changed.corals[idx];
            coral.at_cm = rounded(berth.at_m / M_PER_CM);
            coral.facing = berth.normal;
            coral.on = berth.on;
            coral.mount = berth.mount;
            n_moved += 1;
        }
    }
    (n_moved > 0).then_some(changed)
}

fn may_move(coral: &Coral, options: &ImproveOptions) -> bool {
    let lever = match coral.mount {
        Mount::Plug | Mount::Sand | Mount::Rubble | Mount::Loose => Lever::Place,
        Mount::Gel
        | Mount::Putty
        | Mount::GelAndPutty
        | Mount::Wedge
        | Mount::Thread
        | Mount::Rod
        | Mount::Hang
        | Mount::Foot => Lever::Glued,
    };
    let may = options.may.contains(&lever) || options.may.contains(&Lever::Glued);
    may && !coral.locked && !options.fixed.contains(&coral.id)
}

/// The best place where all of it suits, light and flow with a margin.
fn berth_for(study: &Study, solved: &Solved, coral: &Coral) -> Option<Berth> {
    const MARGIN_SCORE: f64 = 0.55;
    let entry = study.entry_of(coral)?;
    let filters = BerthFilters {
        size_m: Some(coral.size_cm * M_PER_CM),
        own: Some(coral.id),
        ..BerthFilters::default()
    };
    let found = with_input(study, solved, |input| {
        berths(input, entry, PLACES, &filters)
    });
    let suits = |berth: &Berth| {
        let of_water = |what: Aspect| {
            let strip = berth.fit.strips.iter().find(|strip| strip.what == what);
            strip.is_some_and(|strip| strip.score >= MARGIN_SCORE)
        };
        berth.fit.verdict == Verdict::Good && of_water(Aspect::Light) && of_water(Aspect::Flow)
    };
    found.into_iter().find(suits)
}

/// To a millimeter, as a keeper can place it.
fn rounded(at_cm: glam::DVec3) -> glam::DVec3 {
    (at_cm * 10.0).round() / 10.0
}

//! Rocks that overlap, float, stick through a pane, or are drawn so that their
//! outline makes no rock.

use glam::{DVec2, DVec3};

use super::mistake;
use crate::geometry::RockSolid;
use crate::scene::finding::{Figure, Finding, Note, Severity};
use crate::scene::{Outline, Rock};
use crate::standing::standing;
use crate::study::Study;
use crate::units::M_PER_CM;

/// How deep two rocks may reach into each other, in m: a sketch fits rocks
/// together no better. Our choice.
const OVERLAP_M: f64 = 0.02;

/// How far a rock may reach through a pane, in m; sketches are no finer.
const THROUGH_PANE_M: f64 = 0.005;

pub(super) fn mistakes(study: &Study) -> Vec<Finding> {
    let mut all = overlaps(study);
    for body in standing(study) {
        let half_m = DVec3::splat((body.volume_m3.cbrt() / 2.0).max(0.02));
        let place_m = [body.center_m, half_m];
        if body.contacts.is_empty() {
            all.push(mistake(
                Note::Floats,
                Severity::Serious,
                &body.rocks,
                place_m,
            ));
        }
        let out_m = body
            .clear_m
            .iter()
            .fold(0.0_f64, |out, clear| out.max(-clear));
        if out_m > THROUGH_PANE_M {
            let found = mistake(Note::ThroughPane, Severity::Warning, &body.rocks, place_m);
            all.push(found.with(Figure::Gap, out_m / M_PER_CM));
        }
    }
    for (rock, solid) in study.rocks() {
        all.extend(outline_mistakes(rock, solid));
    }
    all
}

fn middle(solid: &RockSolid) -> [DVec3; 2] {
    let bounds = solid.bounds();
    [
        (bounds.min_m + bounds.max_m) / 2.0,
        (bounds.max_m - bounds.min_m) / 2.0,
    ]
}

/// Pairs of rocks that are not bonded and reach into each other.
fn overlaps(study: &Study) -> Vec<Finding> {
    let rocks: Vec<(&Rock, &RockSolid)> = study.rocks().map(|(r, s)| (r, s.as_ref())).collect();
    let mut all = Vec::new();
    for (i, (a, first)) in rocks.iter().enumerate() {
        for (b, second) in &rocks[i + 1..] {
            if a.bonded.is_some() && a.bonded == b.bonded {
                continue;
            }
            let Some((depth_m, at_m)) = deepest(first, second) else {
                continue;
            };
            if depth_m > OVERLAP_M {
                let (ids, place_m) = ([a.id, b.id], [at_m, DVec3::splat(depth_m)]);
                let found = mistake(Note::RocksOverlap, Severity::Warning, &ids, place_m);
                all.push(found.with(Figure::Gap, depth_m / M_PER_CM));
            }
        }
    }
    all
}

/// The place that lies deepest in both of two rocks, and how deep.
fn deepest(a: &RockSolid, b: &RockSolid) -> Option<(f64, DVec3)> {
    const STEPS: usize = 14;
    let low = a.bounds().min_m.max(b.bounds().min_m);
    let high = a.bounds().max_m.min(b.bounds().max_m);
    if low.cmpge(high).any() {
        return None;
    }
    let share = |i: usize| (i as f64 + 0.5) / STEPS as f64;
    (0..STEPS.pow(3))
        .map(|idx| {
            let ijk = [idx % STEPS, idx / STEPS % STEPS, idx / (STEPS * STEPS)];
            let at_m = low + (high - low) * DVec3::from_array(ijk.map(share));
            (-a.signed_distance(at_m).max(b.signed_distance(at_m)), at_m)
        })
        .max_by(|x, y| x.0.total_cmp(&y.0))
}

/// An opening as wide or as high as its outline leaves no rock around it; edges
/// rounded by more than half the width leave no flat.
fn outline_mistakes(rock: &Rock, solid: &RockSolid) -> Vec<Finding> {
    let mut all = Vec::new();
    let outlines = [Some(&rock.plan), Some(&rock.front), rock.end.as_ref()];
    let outlines: Vec<&Outline> = outlines.into_iter().flatten().collect();
    if outlines.iter().any(|outline| opening_is_too_large(outline)) {
        let ids = [rock.id];
        all.push(mistake(
            Note::OpeningTooLarge,
            Severity::Warning,
            &ids,
            middle(solid),
        ));
    }
    let narrowest_cm = outlines
        .iter()
        .filter_map(|outline| outline.curve_cm().bounds())
        .map(|(low, high)| (high - low).min_element())
        .fold(f64::INFINITY, f64::min);
    if rock.rounding_cm > narrowest_cm / 2.0 {
        let found = mistake(
            Note::RoundingTooLarge,
            Severity::Warning,
            &[rock.id],
            middle(solid),
        );
        let found = found.with(Figure::Gap, rock.rounding_cm);
        all.push(found.with(Figure::GapWanted, narrowest_cm / 2.0));
    }
    all
}

fn opening_is_too_large(outline: &Outline) -> bool {
    let Some((low, high)) = outline.curve_cm().bounds() else {
        return false;
    };
    outline.openings.iter().any(|opening| {
        let (from, to) = opening
            .iter()
            .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(from, to), p| {
                (from.min(*p), to.max(*p))
            });
        let whole_x = from.x <= low.x && to.x >= high.x;
        let whole_y = from.y <= low.y && to.y >= high.y;
        whole_x || whole_y
    })
}

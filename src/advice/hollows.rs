//! Room for animals: the longest open lane and the widest cave, from the rock
//! itself; and what animals will do to a layout.

use glam::DVec3;

use crate::geometry::{Ray, Rockwork};
use crate::scene::finding::{Cause, Figure, Note, Place};
use crate::scene::{Behavior, Mount, Scene};
use crate::standing::standing;
use crate::study::Study;
use crate::units::M_PER_CM;
use crate::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};

/// Step of the search, in m.
const STEP_M: f64 = 0.03;

/// Half width of a lane, in m.
const LANE_HALF_M: f64 = 0.04;

/// Longest straight level lane of open water 8 cm wide, along or across the
/// tank, in m.
pub fn open_lane_m(study: &Study) -> f64 {
    let rockwork = study.rockwork();
    let (low, high) = water_box(study.scene());
    let mut longest = 0.0_f64;
    for axis in [0, 1] {
        let across = 1 - axis;
        let mut side = low[across] + LANE_HALF_M;
        while side < high[across] {
            let mut z = low.z + LANE_HALF_M;
            while z < high.z - 0.02 {
                let mut start = DVec3::new(0.0, 0.0, z);
                start[across] = side;
                longest = longest.max(longest_run(rockwork, start, axis, high[axis]));
                z += STEP_M;
            }
            side += STEP_M;
        }
    }
    longest
}

fn longest_run(rockwork: &Rockwork, start: DVec3, axis: usize, length_m: f64) -> f64 {
    let (mut run_from, mut longest, mut along) = (0.0, 0.0_f64, 0.0);
    while along < length_m {
        let mut at = start;
        at[axis] = along;
        let clear = rockwork.nearest(at).map_or(f64::INFINITY, |(d, _)| d);
        if clear < LANE_HALF_M {
            longest = longest.max(along - run_from);
            along += STEP_M / 3.0;
            run_from = along;
        } else {
            // Nothing is nearer than `clear`, so the lane is free that far less its half width.
            along += (clear - LANE_HALF_M).max(STEP_M / 3.0);
        }
    }
    longest.max(length_m - run_from)
}

/// Inner width of the widest hollow, in m: the largest ball that fits at a
/// place with a roof over it and rock or glass within 15 cm on most sides; zero
/// without one.
pub fn widest_cave_m(study: &Study) -> f64 {
    const SIDES: usize = 8;
    const SIDES_CLOSED: usize = 4;
    const NEAR_M: f64 = 0.15;
    let rockwork = study.rockwork();
    let (low, high) = water_box(study.scene());
    let n = ((high - low) / (STEP_M / 2.0)).as_usizevec3();
    let mut widest = 0.0_f64;
    for k in 0..n.z {
        for j in 0..n.y {
            for i in 0..n.x {
                let at = low + DVec3::new(i as f64, j as f64, k as f64) * (STEP_M / 2.0);
                let Some((clear, _)) = rockwork.nearest(at) else {
                    return 0.0;
                };
                let width = 2.0 * clear.min(at.z - low.z + 0.01);
                if width <= widest || clear > NEAR_M {
                    continue;
                }
                let looks = |direction: DVec3, reach_m: f64| {
                    rockwork.blocks(
                        &Ray {
                            origin_m: at,
                            direction,
                        },
                        reach_m,
                    )
                };
                let closed = (0..SIDES)
                    .filter(|side| {
                        let turn = *side as f64 / SIDES as f64 * std::f64::consts::TAU;
                        looks(DVec3::new(turn.cos(), turn.sin(), 0.0), NEAR_M)
                    })
                    .count();
                if looks(DVec3::Z, high.z) && closed >= SIDES_CLOSED {
                    widest = width;
                }
            }
        }
    }
    widest
}

fn water_box(scene: &Scene) -> (DVec3, DVec3) {
    let tank = &scene.tank;
    (
        DVec3::new(0.0, 0.0, tank.sand.depth_cm) * M_PER_CM,
        DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm) * M_PER_CM,
    )
}

/// What each animal will do to the layout, and what it will miss in it.
pub fn animal_findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (idx, animal) in input.scene.animals.iter().enumerate() {
        for does in &animal.does {
            findings.extend(animal_finding(input, idx, does));
        }
    }
    findings
}

fn animal_finding(input: &AdviceInput<'_>, idx: usize, does: &Behavior) -> Option<Finding> {
    let (scene, layout) = (input.scene, input.layout);
    let mut finding = Finding::new(
        Kind::Animal,
        Severity::Warning,
        Certainty::Likely,
        Place::tank(&scene.tank),
    );
    finding.cause = Some(Cause::Animal(idx));
    match *does {
        Behavior::Digs => {
            let bodies = standing(input.study);
            let loose = bodies.iter().filter(|body| body.dug_margin_m < 0.0);
            finding.items = loose.flat_map(|body| body.rocks.iter().copied()).collect();
            finding.notes.push(Note::Digs);
        }
        Behavior::Pushes | Behavior::Hosts | Behavior::Perches => {
            let loose = layout.corals.iter().filter(|c| c.mount == Mount::Loose);
            finding.items = loose.map(|coral| coral.id).collect();
            finding.notes.push(match does {
                Behavior::Hosts => Note::Hosts,
                Behavior::Perches => Note::Perches,
                _ => Note::Pushes,
            });
        }
        Behavior::NeedsCave { width_cm } => {
            let widest_cm = widest_cave_m(input.study) / M_PER_CM;
            let found = finding
                .note(Note::NeedsCave)
                .with(Figure::Cave, widest_cm)
                .with(Figure::CaveWanted, width_cm);
            return (widest_cm < width_cm).then_some(found);
        }
        Behavior::NeedsLane { length_cm } => {
            let lane_cm = open_lane_m(input.study) / M_PER_CM;
            let found = finding
                .note(Note::NeedsLane)
                .with(Figure::Lane, lane_cm)
                .with(Figure::LaneWanted, length_cm);
            return (lane_cm < length_cm).then_some(found);
        }
    }
    finding.items.sort_unstable();
    let first = finding.item()?;
    finding.remedies.push(Remedy::Select(first));
    Some(finding)
}

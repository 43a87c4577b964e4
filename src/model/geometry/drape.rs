//! Ways over the skin of a rock from one place in all directions, as a mat or a
//! crust spreads: they bend with the rock instead of leaving it.

use glam::{DQuat, DVec3};

use super::solid::RockSolid;

/// A place on a way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SkinStep {
    /// Where, in m.
    pub at_m: DVec3,
    /// Outward unit normal of the rock there.
    pub normal: DVec3,
}

/// Steps in each way.
const STEPS: usize = 6;

/// `n` ways of `length_m` over the skin of `rock` from the place of the skin
/// nearest to `from_m`, turned evenly about its normal. Each starts with its
/// first step from there and ends early at the height `floor_m`. Lengths are
/// right to a few percent where the skin bends little within a step.
pub fn drape(
    rock: &RockSolid,
    from_m: DVec3,
    length_m: f64,
    (n, floor_m): (usize, f64),
) -> Vec<Vec<SkinStep>> {
    let base = on_skin(rock, from_m);
    let first = base.normal.any_orthonormal_vector();
    (0..n)
        .map(|k| {
            let turn = k as f64 / n as f64 * std::f64::consts::TAU;
            let heading = DQuat::from_axis_angle(base.normal, turn) * first;
            way(rock, base, heading, (length_m, floor_m))
        })
        .collect()
}

fn way(
    rock: &RockSolid,
    base: SkinStep,
    heading: DVec3,
    (length_m, floor_m): (f64, f64),
) -> Vec<SkinStep> {
    let step_m = length_m / STEPS as f64;
    let (mut here, mut heading, mut gone_m) = (base, heading, 0.0);
    let mut way = Vec::with_capacity(STEPS + 2);
    while gone_m < length_m - 0.1 * step_m && way.len() < 2 * STEPS {
        let wanted_m = step_m.min(length_m - gone_m);
        let Some(next) = step(rock, here, heading, wanted_m) else {
            break;
        };
        let moved = next.at_m - here.at_m;
        if next.at_m.z < floor_m {
            break;
        }
        gone_m += moved.length();
        // The heading stays in the plane of the skin.
        let ahead = moved - next.normal * moved.dot(next.normal);
        heading = ahead.try_normalize().unwrap_or(heading);
        here = next;
        way.push(here);
    }
    way
}

/// One step; over a sharp edge, where straight on leads into the open and back
/// to the edge, it turns down until it gets on.
fn step(rock: &RockSolid, here: SkinStep, heading: DVec3, length_m: f64) -> Option<SkinStep> {
    const GETS_ON: f64 = 0.5;
    let axis = here.normal.cross(heading).try_normalize()?;
    [0.0, 50.0, 95.0, 140.0]
        .into_iter()
        .find_map(|down_deg: f64| {
            let towards = DQuat::from_axis_angle(axis, down_deg.to_radians()) * heading;
            let next = on_skin(rock, here.at_m + towards * length_m);
            let moved_m = next.at_m.distance(here.at_m);
            (moved_m >= GETS_ON * length_m).then_some(next)
        })
}

/// The place of the skin nearest to a place beside it.
fn on_skin(rock: &RockSolid, near_m: DVec3) -> SkinStep {
    const ROUNDS: usize = 3;
    let mut at_m = near_m;
    let mut normal = rock.normal(at_m);
    for _ in 0..ROUNDS {
        at_m -= normal * rock.signed_distance(at_m);
        normal = rock.normal(at_m);
    }
    SkinStep { at_m, normal }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Polygon;
    use crate::geometry::solid::{Prism, RockShape};
    use glam::DVec2;

    /// A box of 40 × 40 × 20 cm whose base is the origin, with round edges.
    fn block(rounding_m: f64) -> RockSolid {
        let rectangle = |half_m: f64, low_m: f64, high_m: f64| Prism {
            outline: Polygon::new(
                [
                    (-half_m, low_m),
                    (half_m, low_m),
                    (half_m, high_m),
                    (-half_m, high_m),
                ]
                .map(DVec2::from)
                .to_vec(),
            ),
            openings: Vec::new(),
        };
        RockSolid::new(RockShape {
            plan: rectangle(0.2, -0.2, 0.2),
            front: rectangle(0.2, 0.0, 0.2),
            end: None,
            rounding_m,
            tilt_rad: 0.0,
            turn_rad: 0.0,
            at_m: DVec3::ZERO,
        })
    }

    #[test]
    fn on_a_flat_top_it_is_a_disc() {
        let ways = drape(&block(0.0), DVec3::new(0.0, 0.0, 0.2), 0.08, (16, 0.0));
        for way in &ways {
            let end = way.last().expect("it has steps");
            let away_m = end.at_m.truncate().length();
            assert!((away_m - 0.08).abs() < 1e-6, "{away_m}");
            assert!((end.at_m.z - 0.2).abs() < 1e-6, "on the top: {end:?}");
            assert!(end.normal.distance(DVec3::Z) < 1e-6, "{end:?}");
        }
    }

    #[test]
    fn over_an_edge_it_hangs_down_the_side_as_far_as_is_left() {
        for rounding_m in [0.0, 0.01] {
            // 4 cm from the edge at +x, 10 cm wide: about 6 cm hang down.
            let base = DVec3::new(0.16, 0.0, 0.2);
            let ways = drape(&block(rounding_m), base, 0.10, (32, 0.0));
            let lowest = ways
                .iter()
                .filter_map(|way| way.last())
                .min_by(|a, b| a.at_m.z.total_cmp(&b.at_m.z))
                .expect("there are ways");
            assert!(
                (lowest.at_m.x - 0.2).abs() < 1e-4,
                "on the side: {lowest:?}"
            );
            let hangs_m = 0.2 - lowest.at_m.z;
            // A step that cuts the corner saves up to a third of it.
            assert!((hangs_m - 0.06).abs() < 0.012, "{hangs_m} at {rounding_m}");
            assert!(lowest.normal.x > 0.99, "it faces aside: {lowest:?}");
        }
    }

    #[test]
    fn it_ends_at_the_sand() {
        let base = DVec3::new(0.2, 0.0, 0.05);
        let ways = drape(&block(0.0), base, 0.08, (16, 0.03));
        let lowest = (ways.iter().flatten())
            .map(|step| step.at_m.z)
            .fold(f64::INFINITY, f64::min);
        assert!(lowest >= 0.03, "not below it: {lowest}");
    }
}

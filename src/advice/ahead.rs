//! What growth takes from neighbors: room, light, flow, and who comes within
//! reach of whose sting. Every event is dated, with its early and late month.

use std::collections::BTreeSet;

use glam::{DVec2, DVec3};

use crate::AdviceInput;
use crate::catalog::{ContactRule, Entry};
use crate::creep::Ways;
use crate::fit::{Fitter, Site};
use crate::geometry::Ray;
use crate::growth::{
    Cylinder, GrowthEvent, Meeting, Months, Pace, cylinder, event, first_months, gap_m,
    shape_events, size_after_cm,
};
use crate::light::{lobe_exponent, optics};
use crate::room::reach_m;
use crate::scene::solids::coral_body;
use crate::scene::{Body, Coral, Lamp, Output, Spread, Support};
use crate::units::M_PER_CM;

/// Share of its direct light that a coral must lose to a neighbor before it
/// counts as shaded by it. Ours: about what a keeper's meter and the light
/// map tell apart for sure.
const SHADE_LOSS: f64 = 0.3;

/// How far behind a colony its wake still starves what stands there, in
/// widths of the colony. Ours: the wake of a bluff body closes after one to
/// three widths (MEMORY) and slowly refills beyond.
const WAKE_WIDTHS: f64 = 3.0;

/// Water slower than this has no lee side worth the name, in m/s.
const STILL_M_S: f64 = 0.01;

/// Corals farther apart than this at full size have nothing to do with each
/// other, beyond their widths, in m.
const FAR_M: f64 = 0.6;

type Known<'a> = (&'a Coral, &'a Entry);

/// Everything that growth brings about within `months`, earliest first: what
/// [`growth_events`](crate::growth_events) finds from the shapes, and
/// with lamps and flow also who takes whose light (as far as no rock does) and
/// water, whose sting reaches whom (lee side included) and which mat leaves its
/// moat.
///
/// Light and water are those of today: a colony that grows is set into them,
/// not solved again for each month.
pub fn later_events(input: &AdviceInput<'_>, months: f64) -> Vec<GrowthEvent> {
    let fitter = Fitter::new(input);
    let known: Vec<Known<'_>> = input
        .layout
        .corals
        .iter()
        .filter_map(|coral| Some((coral, input.catalog.entry(&coral.entry)?)))
        .collect();
    let has_lamps = !input.layout.lamps.is_empty();
    let ways = Ways::new(input.study.rocks(), &known);
    let mut events = shape_events(&known, input.catalog, &ways, months);
    events.retain(|event| !has_lamps || event.what != Meeting::Shade);
    let flows: Vec<DVec3> = known
        .iter()
        .map(|(coral, _)| {
            let over = fitter.flow_over(&Site::of_coral(input, coral));
            over.map_or(DVec3::ZERO, |over| over.velocity_m_s)
        })
        .collect();
    for (j, &to) in known.iter().enumerate() {
        let beams = direct_beams(input, &fitter, to.0);
        for (i, &by) in known.iter().enumerate() {
            if i == j || is_far(by, to, months) {
                continue;
            }
            let found = [
                (Meeting::Shade, shade_months(by, &beams, months)),
                (Meeting::Block, block_months(by, to, flows[j], months)),
                (
                    Meeting::Sting,
                    sting_months(input, by, to, flows[i], months),
                ),
                (Meeting::Spread, moat_months(by, to, &ways, months)),
            ];
            let dated = found
                .into_iter()
                .filter_map(|(what, when)| Some((what, when?)));
            events.extend(dated.map(|(what, when)| event(what, by, to, when)));
        }
    }
    for &mat in known.iter().filter(|(_, entry)| wants_moat(entry)) {
        events.extend(island_events(input, mat, months));
    }
    events.sort_by(|a, b| a.months.early.total_cmp(&b.months.early));
    // Who stings whom first is told; that the other stings back is not.
    let mut stung = BTreeSet::new();
    let pair = |event: &GrowthEvent| (event.by.min(event.to), event.by.max(event.to));
    events.retain(|event| event.what != Meeting::Sting || stung.insert(pair(event)));
    events
}

fn is_far(a: Known<'_>, b: Known<'_>, months: f64) -> bool {
    let width = |(coral, entry): Known<'_>| {
        size_after_cm(entry, coral.size_cm, months, Pace::Fast).x * M_PER_CM
    };
    let apart_m = a.0.at_cm.distance(b.0.at_cm) * M_PER_CM;
    apart_m > FAR_M + f64::midpoint(width(a), width(b))
}

/// A ray from a coral's top to a point of a lamp, as it runs in the water, and
/// the light that comes along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Beam {
    ray: Ray,
    length_m: f64,
    weight: f64,
}

/// The direct light of all lamps on the top of a coral, without what rock
/// keeps from it.
fn direct_beams(input: &AdviceInput<'_>, fitter: &Fitter<'_>, coral: &Coral) -> Vec<Beam> {
    const ABOVE_M: f64 = 0.005;
    let facing = coral.facing.normalize_or(DVec3::Z);
    let top_m = coral.at_cm * M_PER_CM + facing * (coral.size_cm.z * M_PER_CM + ABOVE_M);
    let tank = &input.scene.tank;
    let (surface_m, n) = (tank.water_cm * M_PER_CM, tank.water.refractive_index);
    let beams = input.layout.lamps.iter().flat_map(|lamp| {
        face_points(lamp)
            .into_iter()
            .filter_map(move |at_m| beam(lamp, at_m, top_m, (surface_m, n)))
    });
    beams
        .filter(|beam| !fitter.rockwork.blocks(&beam.ray, beam.length_m))
        .collect()
}

/// Points spread over a lamp's face, in m.
fn face_points(lamp: &Lamp) -> Vec<DVec3> {
    let (length_cm, width_cm) = match lamp.body {
        Body::Panel {
            length_cm,
            width_cm,
        } => (length_cm, width_cm),
        // A square of the same second moment.
        Body::Disc { diameter_cm } => (0.87 * diameter_cm, 0.87 * diameter_cm),
        Body::Tube { length_cm } => (length_cm, 0.0),
    };
    let along = DVec2::from_angle(lamp.turn_deg.to_radians());
    let steps = |n: i32| (0..n).map(move |k| (f64::from(k) + 0.5) / f64::from(n) - 0.5);
    steps(5)
        .flat_map(|x| steps(3).map(move |y| (x * length_cm, y * width_cm)))
        .map(|(x_cm, y_cm)| {
            let aside = along * x_cm + along.perp() * y_cm;
            (lamp.at_cm + aside.extend(0.0)) * M_PER_CM
        })
        .collect()
}

fn beam(lamp: &Lamp, from_m: DVec3, to_m: DVec3, water: (f64, f64)) -> Option<Beam> {
    let (surface_m, n) = water;
    let (height_m, depth_m) = (from_m.z - surface_m, surface_m - to_m.z);
    if height_m <= 0.0 || depth_m <= 0.0 {
        return None;
    }
    let aside = to_m.truncate() - from_m.truncate();
    let path = optics::refract(height_m, depth_m, aside.length(), n);
    let entry_m =
        (from_m.truncate() + aside.normalize_or_zero() * path.air_run_m).extend(surface_m);
    let (sin, cos) = lamp.tilt_deg.to_radians().sin_cos();
    let turn = DVec2::from_angle(lamp.turn_deg.to_radians());
    let axis = (turn * sin).extend(-cos);
    let cosine = (entry_m - from_m).normalize_or(DVec3::NEG_Z).dot(axis);
    let full_angle_deg = match lamp.spread {
        Spread::Beam { full_angle_deg } => full_angle_deg,
        Spread::Measured { .. } => 120.0,
    };
    if cosine <= 0.0 {
        return None;
    }
    let exponent = lobe_exponent(full_angle_deg);
    let umol_s = match lamp.output {
        Output::Photons { umol_s } => umol_s,
        Output::Power {
            power_w,
            efficacy_umol_j,
        } => power_w * efficacy_umol_j,
        // Fixed by a reading: only its share against other lamps is guessed.
        Output::Reading { .. } => 100.0,
    };
    let intensity = umol_s * lamp.dim * (exponent + 1.0) * cosine.powf(exponent);
    let weight = intensity * path.spread_per_m2 * optics::air_to_water(path.cos_air, n);
    let way = entry_m - to_m;
    Some(Beam {
        ray: Ray {
            origin_m: to_m,
            direction: way.normalize_or(DVec3::Z),
        },
        length_m: way.length(),
        weight,
    })
}

/// When a colony takes [`SHADE_LOSS`] of this light, by the solid that the
/// light engine uses for it.
fn shade_months(by: Known<'_>, beams: &[Beam], months: f64) -> Option<Months> {
    let total: f64 = beams.iter().map(|beam| beam.weight).sum();
    if total <= 0.0 {
        return None;
    }
    first_months(months, |month, pace| {
        let mut coral = by.0.clone();
        coral.size_cm = size_after_cm(by.1, coral.size_cm, month, pace);
        let body = coral_body(&coral, Some(by.1.form));
        let hit = |beam: &&Beam| body.first_hit(&beam.ray, beam.length_m).is_some();
        let lost: f64 = beams.iter().filter(hit).map(|beam| beam.weight).sum();
        body.opacity * lost >= SHADE_LOSS * total
    })
}

/// When a colony stands between a coral and the water that flows to it.
fn block_months(by: Known<'_>, to: Known<'_>, flow_m_s: DVec3, months: f64) -> Option<Months> {
    let level = flow_m_s.truncate();
    if level.length() < STILL_M_S {
        return None;
    }
    let downstream = level.normalize();
    first_months(months, |month, pace| {
        let (front, behind) = (
            cylinder(by.0, by.1, month, pace),
            cylinder(to.0, to.1, month, pace),
        );
        stands_before(&front, &behind, downstream)
    })
}

/// Whether one cylinder lies in the wake of another.
fn stands_before(front: &Cylinder, behind: &Cylinder, downstream: DVec2) -> bool {
    let way = behind.middle_m.truncate() - front.middle_m.truncate();
    let along_m = way.dot(downstream);
    let aside_m = way.perp_dot(downstream).abs();
    let gap_m = along_m - front.radius_m - behind.radius_m;
    let covers_height = front.low_m <= behind.middle_m.z && front.high_m >= behind.middle_m.z;
    along_m > 0.0
        && aside_m < front.radius_m
        && gap_m < WAKE_WIDTHS * 2.0 * front.radius_m
        && covers_height
}

/// When the edge of a stinging colony, with its reach in this water, comes to
/// a coral that it may not touch.
fn sting_months(
    input: &AdviceInput<'_>,
    by: Known<'_>,
    to: Known<'_>,
    flow_m_s: DVec3,
    months: f64,
) -> Option<Months> {
    let rule = input.catalog.contact_rule(by.1, to.1);
    if by.1.reach_cm.value <= 0.0 || rule == ContactRule::Fine {
        return None;
    }
    first_months(months, |month, pace| {
        let (own, other) = (
            cylinder(by.0, by.1, month, pace),
            cylinder(to.0, to.1, month, pace),
        );
        let towards = other.middle_m - own.middle_m;
        own.gap_m(&other) <= reach_m(by.1, flow_m_s, towards)
    })
}

/// Whether an entry is a mat that wants bare sand around its island.
fn wants_moat(entry: &Entry) -> bool {
    entry.place.own_island && entry.form.creeps()
}

/// When a mat comes nearer to a coral of another kind than its moat is wide.
fn moat_months(by: Known<'_>, to: Known<'_>, ways: &Ways, months: f64) -> Option<Months> {
    if !wants_moat(by.1) || by.1.id == to.1.id {
        return None;
    }
    let moat_m = by.1.gap_cm.value * M_PER_CM;
    first_months(months, |month, pace| {
        gap_m(by, to, ways, (month, pace)) < moat_m
    })
}

/// When a mat comes nearer than its moat to rocks that are not its own.
fn island_events(input: &AdviceInput<'_>, mat: Known<'_>, months: f64) -> Vec<GrowthEvent> {
    let (coral, entry) = mat;
    let at_m = coral.at_cm * M_PER_CM;
    let moat_m = entry.gap_cm.value * M_PER_CM;
    let others = (input.study.rocks()).filter(|(rock, _)| coral.on != Support::Rock(rock.id));
    others
        .filter_map(|(rock, solid)| {
            let away_m = solid.signed_distance(at_m);
            let months = first_months(months, |month, pace| {
                away_m - cylinder(coral, entry, month, pace).radius_m < moat_m
            })?;
            Some(GrowthEvent {
                what: Meeting::Spread,
                by: coral.id,
                to: rock.id,
                months,
                at_m,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn post(x_m: f64, y_m: f64, radius_m: f64, high_m: f64) -> Cylinder {
        Cylinder {
            middle_m: DVec3::new(x_m, y_m, high_m / 2.0),
            radius_m,
            low_m: 0.0,
            high_m,
        }
    }

    #[test]
    fn the_wake_lies_downstream_three_widths_long() {
        let front = post(0.0, 0.0, 0.05, 0.20);
        let lies =
            |x_m: f64, y_m: f64| stands_before(&front, &post(x_m, y_m, 0.02, 0.10), DVec2::X);
        // From edge to edge: 0.05 + 0.30 + 0.02 m between the middles.
        assert!(lies(0.36, 0.0), "just within three widths");
        assert!(!lies(0.38, 0.0), "just beyond them");
        assert!(!lies(-0.20, 0.0), "upstream of it");
        assert!(lies(0.20, 0.049), "at its edge");
        assert!(!lies(0.20, 0.051), "beside it");
        let tall = post(0.20, 0.0, 0.02, 0.42);
        assert!(!stands_before(&front, &tall, DVec2::X), "rises out of it");
    }

    #[test]
    fn light_from_straight_above_comes_straight_down() {
        let lamp: Lamp = ron::from_str(
            "(id: 1, name: \"\", body: Disc(diameter_cm: 1.0), at_cm: (50.0, 25.0, 60.0), \
             output: Photons(umol_s: 100.0), spread: Beam(full_angle_deg: 120.0), \
             day: (hours: 10.0, ramp_hours: 1.0))",
        )
        .expect("reads");
        let beam = beam(
            &lamp,
            lamp.at_cm * M_PER_CM,
            DVec3::new(0.5, 0.25, 0.1),
            (0.4, 1.34),
        )
        .expect("arrives");
        assert!(beam.ray.direction.distance(DVec3::Z) < 1e-12, "upright");
        assert!((beam.length_m - 0.3).abs() < 1e-12, "as deep as it is");
        // 20 cm aside at the same depth it comes in by Snell's law.
        let slant = super::beam(
            &lamp,
            lamp.at_cm * M_PER_CM,
            DVec3::new(0.7, 0.25, 0.1),
            (0.4, 1.34),
        )
        .expect("arrives");
        let sin_water = slant.ray.direction.truncate().length();
        let run_m = slant.ray.direction.x.abs() * slant.length_m;
        let air_run_m = 0.2 - run_m;
        let sin_air = air_run_m / air_run_m.hypot(0.2);
        assert!(
            (sin_air / sin_water - 1.34).abs() < 1e-6,
            "bends as water does"
        );
        assert!(slant.weight < beam.weight, "and is weaker");
    }
}

//! Shaded zones: rock and sand that get a small share of open light.

use std::collections::BTreeMap;

use glam::DVec3;

use crate::fit::{Fitter, Site};
use crate::light::{LightField, SurfaceOwner, SurfacePatch};
use crate::place::{Surroundings, side_of};
use crate::scene::ItemId;
use crate::scene::finding::{Bearing, Cause, Figure, Note, Place, Side, Spot};
use crate::units::M_PER_CM;
use crate::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};

/// Patches closer than this many patch edges hang together.
const REACH_PATCHES: f64 = 1.6;

/// A roofed zone this large is worth a change, in m²; backs are always dark.
const LARGE_M2: f64 = 0.04;

/// Shaded zones, largest first: patches of one rock, or of the sand, whose
/// light is below [`shade_share`] of the open light there and that hang
/// together without a sharp turn of the surface.
///
/// [`shade_share`]: crate::AdviceOptions::shade_share
pub fn shaded_zones(input: &AdviceInput<'_>) -> Vec<Finding> {
    let Some(light) = input.light else {
        return Vec::new();
    };
    let dark = |patch: &&SurfacePatch| {
        patch.open_umol > 0.0 && patch.open_share() < input.options.shade_share
    };
    let patches: Vec<SurfacePatch> = light.patches.iter().filter(dark).copied().collect();
    let surroundings = Surroundings::new(input.study);
    let mut zones: Vec<Zone> = groups(&patches, light.patch_m * REACH_PATCHES)
        .into_iter()
        .map(|group| {
            let members: Vec<SurfacePatch> = group.iter().map(|&i| patches[i]).collect();
            Zone {
                spot: zone_spot(input, &surroundings, &members),
                members,
            }
        })
        .collect();
    zones.retain(|zone| zone.area_m2() >= input.options.shade_min_m2);
    number_ledges(&mut zones);
    zones.sort_by(|a, b| b.area_m2().total_cmp(&a.area_m2()));
    let fitter = Fitter::new(input);
    let starved = starved_corals(&fitter, light, &zones);
    let told = zones.iter().zip(starved);
    told.map(|(zone, starved)| describe(&fitter, light, (zone, starved)))
        .collect()
}

/// Patches that hang together. Zones that would go by the same words stay two.
struct Zone {
    spot: Spot,
    members: Vec<SurfacePatch>,
}

impl Zone {
    fn area_m2(&self) -> f64 {
        self.members.iter().map(|patch| patch.area_m2).sum()
    }

    fn height_m(&self) -> f64 {
        let lowest = self.members.iter().map(|patch| patch.at_m.z);
        lowest.fold(f64::INFINITY, f64::min)
    }
}

/// Counts the ledges of each rock that has several, from below.
fn number_ledges(zones: &mut [Zone]) {
    let mut ledges: BTreeMap<ItemId, Vec<usize>> = BTreeMap::new();
    for (idx, zone) in zones.iter().enumerate() {
        if let Spot::Ledge { rock, .. } = zone.spot {
            ledges.entry(rock).or_default().push(idx);
        }
    }
    for (rock, mut own) in ledges.into_iter().filter(|(_, own)| own.len() > 1) {
        let corner = |idx: &usize| {
            let members = zones[*idx].members.iter();
            members.fold(DVec3::INFINITY, |low, patch| low.min(patch.at_m))
        };
        own.sort_by(|a, b| {
            let (p, q) = (corner(a), corner(b));
            let by_height = zones[*a].height_m().total_cmp(&zones[*b].height_m());
            by_height
                .then(p.x.total_cmp(&q.x))
                .then(p.y.total_cmp(&q.y))
        });
        for (n, idx) in own.into_iter().enumerate() {
            zones[idx].spot = Spot::Ledge {
                rock,
                number: n as u32 + 1,
            };
        }
    }
}

/// Indices of patches that hang together, in ascending order of their first.
fn groups(patches: &[SurfacePatch], reach_m: f64) -> Vec<Vec<usize>> {
    let reach_m = reach_m.max(1e-6);
    let bin = |at: DVec3| (at / reach_m).floor().as_i64vec3().to_array();
    let mut bins: BTreeMap<[i64; 3], Vec<usize>> = BTreeMap::new();
    for (i, patch) in patches.iter().enumerate() {
        bins.entry(bin(patch.at_m)).or_default().push(i);
    }
    let hang_together = |a: &SurfacePatch, b: &SurfacePatch| {
        a.owner == b.owner
            && a.at_m.distance(b.at_m) < reach_m
            && facing_class(a.normal) == facing_class(b.normal)
    };
    let mut seen = vec![false; patches.len()];
    let mut groups = Vec::new();
    for start in 0..patches.len() {
        if seen[start] {
            continue;
        }
        seen[start] = true;
        let mut group = vec![start];
        let mut next = 0;
        while next < group.len() {
            let here = &patches[group[next]];
            next += 1;
            let [x, y, z] = bin(here.at_m);
            for offset in 0..27 {
                let key = [
                    x + offset % 3 - 1,
                    y + offset / 3 % 3 - 1,
                    z + offset / 9 - 1,
                ];
                for &i in bins.get(&key).into_iter().flatten() {
                    if !seen[i] && hang_together(here, &patches[i]) {
                        seen[i] = true;
                        group.push(i);
                    }
                }
            }
        }
        groups.push(group);
    }
    groups
}

/// Undersides, flanks and tops are told apart.
fn facing_class(normal: DVec3) -> i8 {
    match normal.z {
        z if z < -0.35 => -1,
        z if z > 0.5 => 1,
        _ => 0,
    }
}

fn describe(
    fitter: &Fitter<'_>,
    light: &LightField,
    (zone, starved): (&Zone, Vec<ItemId>),
) -> Finding {
    let area_m2 = zone.area_m2();
    let members = zone.members.as_slice();
    let mean = |value: fn(&SurfacePatch) -> f64| {
        let sum: f64 = members.iter().map(|p| value(p) * p.area_m2).sum();
        sum / area_m2
    };
    let open_share = mean(SurfacePatch::open_share);
    let severity = if !starved.is_empty() {
        Severity::Serious
    } else if area_m2 >= LARGE_M2 && has_roof(&zone.spot) {
        Severity::Warning
    } else {
        Severity::Note
    };
    let points: Vec<DVec3> = members.iter().map(|patch| patch.at_m).collect();
    let darkest = members.iter().min_by(|a, b| {
        let by_light = a.open_share().total_cmp(&b.open_share());
        by_light.then_with(|| {
            let (p, q) = (a.at_m, b.at_m);
            let x = p.x.total_cmp(&q.x);
            x.then(p.y.total_cmp(&q.y)).then(p.z.total_cmp(&q.z))
        })
    });
    let worst_m = darkest.map_or(DVec3::ZERO, |patch| patch.at_m);
    let place = Place::of_points_m(zone.spot, worst_m, &points, light.patch_m);
    let certainty = certainty(light, open_share, fitter.input.options.shade_share);
    let mut finding = Finding::new(Kind::Shade, severity, certainty, place)
        .with(Figure::Area, area_m2 * 1e4)
        .with(Figure::OpenShare, open_share)
        .with(Figure::Light, mean(|patch| patch.ppfd_umol));
    if !light.full {
        finding = finding.note(Note::DirectLightOnly);
    }
    finding.cause = match zone.spot {
        Spot::Rock { rock, .. } | Spot::Ledge { rock, .. } => Some(Cause::Rock(rock)),
        Spot::Sand { near, .. } => near.map(|(_, rock)| Cause::Rock(rock)),
        _ => None,
    };
    finding.remedies = starved.iter().map(|id| Remedy::ShowBerths(*id)).collect();
    finding.remedies.truncate(1);
    finding.remedies.push(Remedy::ListCandidates);
    finding.items = starved;
    finding
}

/// Whether something roofs the zone: only then is it worth a change by itself,
/// as backs are always dark.
fn has_roof(spot: &Spot) -> bool {
    match spot {
        Spot::Ledge { .. } => true,
        Spot::Sand { near, .. } => matches!(near, Some((Bearing::Under, _))),
        _ => false,
    }
}

/// Bounces fill shade: without them, or near the limit, it is only likely.
fn certainty(light: &LightField, open_share: f64, limit: f64) -> Certainty {
    match (light.full, open_share < 0.6 * limit) {
        (true, true) => Certainty::Sure,
        (true, false) | (false, true) => Certainty::Likely,
        (false, false) => Certainty::Check,
    }
}

fn zone_spot(input: &AdviceInput<'_>, surroundings: &Surroundings, zone: &[SurfacePatch]) -> Spot {
    let count = zone.len().max(1) as f64;
    let middle = zone.iter().map(|p| p.at_m).sum::<DVec3>() / count;
    let normal = zone.iter().map(|p| p.normal).sum::<DVec3>() / count;
    let mut roofs: BTreeMap<ItemId, usize> = BTreeMap::new();
    for patch in zone {
        let lifted = patch.at_m + patch.normal * 0.004;
        let roof = surroundings.roof(lifted);
        if let Some(id) = roof.and_then(|idx| surroundings.rock_id(idx)) {
            *roofs.entry(id).or_default() += 1;
        }
    }
    let roof = roofs
        .into_iter()
        .max_by_key(|(_, hits)| *hits)
        .filter(|(_, hits)| *hits as f64 >= 0.5 * count);
    let own = match zone.first().map(|patch| patch.owner) {
        Some(SurfaceOwner::Rock(idx)) => surroundings.rock_id(idx),
        _ => None,
    };
    let part = surroundings.part_of(middle);
    match (own, roof) {
        (Some(rock), _) if normal.z < -0.35 => Spot::Ledge { rock, number: 0 },
        (Some(_), Some((rock, _))) => Spot::Ledge { rock, number: 0 },
        (Some(rock), None) if normal.z > 0.5 => Spot::Rock {
            rock,
            side: Side::Top,
        },
        (Some(rock), None) => Spot::Rock {
            rock,
            side: flank(zone),
        },
        (None, Some((rock, _))) => Spot::Sand {
            near: Some((Bearing::Under, rock)),
            part,
        },
        (None, None) => Spot::Sand {
            near: nearest_rock_side(input, middle),
            part,
        },
    }
}

/// The side on which most of a flank lies.
fn flank(zone: &[SurfacePatch]) -> Side {
    const SIDES: [Side; 4] = [Side::Right, Side::Back, Side::Left, Side::Front];
    let mut areas = [0.0; 4];
    for patch in zone {
        let quarter = patch.normal.y.atan2(patch.normal.x) / std::f64::consts::FRAC_PI_2;
        areas[(quarter.round() as i64).rem_euclid(4) as usize] += patch.area_m2;
    }
    let total: f64 = areas.iter().sum();
    let largest = (0..4).max_by(|&a, &b| areas[a].total_cmp(&areas[b]));
    match largest {
        Some(side) if areas[side] >= 0.5 * total => SIDES[side],
        _ => Side::Flanks,
    }
}

fn nearest_rock_side(input: &AdviceInput<'_>, at_m: DVec3) -> Option<(Bearing, ItemId)> {
    const NEAR_M: f64 = 0.15;
    let rockwork = input.study.rockwork();
    let (distance, idx) = rockwork.nearest(at_m)?;
    let rock = input.layout.rocks.get(idx).filter(|_| distance < NEAR_M)?;
    let solid = &rockwork.rocks[idx];
    let bounds = solid.bounds();
    let level = at_m.with_z(f64::midpoint(bounds.min_m.z, bounds.max_m.z));
    Some((side_of(solid, level), rock.id))
}

/// Ids of the corals that sit in each zone and get less than they want, by the
/// light that their own fit is judged by, in ascending order. One that sits
/// where zones meet belongs to the nearest of them alone.
fn starved_corals(fitter: &Fitter<'_>, light: &LightField, zones: &[Zone]) -> Vec<Vec<ItemId>> {
    let input = fitter.input;
    let reach_m = 1.2 * light.patch_m.max(0.01);
    let mut starved = vec![Vec::new(); zones.len()];
    for coral in &input.layout.corals {
        let Some(entry) = input.catalog.entry(&coral.entry) else {
            continue;
        };
        let at_m = coral.at_cm * M_PER_CM;
        let away = |zone: &Zone| {
            let distances = zone.members.iter().map(|p| p.at_m.distance(at_m));
            distances.fold(f64::INFINITY, f64::min)
        };
        let zones = zones.iter().map(away).enumerate();
        let nearest = zones.min_by(|a, b| a.1.total_cmp(&b.1));
        let gets = || fitter.light_on(&Site::of_coral(input, coral));
        if let Some((idx, _)) = nearest.filter(|(_, away_m)| *away_m < reach_m)
            && gets().is_some_and(|umol| umol < entry.light_ppfd_umol.low)
        {
            starved[idx].push(coral.id);
        }
    }
    for ids in &mut starved {
        ids.sort_unstable();
    }
    starved
}

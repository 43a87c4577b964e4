//! Shaded zones: rock and sand that get a small share of open light.

use std::collections::BTreeMap;

use glam::DVec3;

use crate::light::{LightField, SurfaceOwner, SurfacePatch};
use crate::place::{Surroundings, side_of};
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
                place: zone_place(input, &surroundings, &members),
                members,
            }
        })
        .collect();
    zones = joined_by_place(zones);
    zones.retain(|zone| zone.area_m2() >= input.options.shade_min_m2);
    zones.sort_by(|a, b| b.area_m2().total_cmp(&a.area_m2()));
    zones
        .iter()
        .map(|zone| describe(input, light, &surroundings, zone))
        .collect()
}

/// Patches that are told of together.
struct Zone {
    place: String,
    members: Vec<SurfacePatch>,
}

impl Zone {
    fn area_m2(&self) -> f64 {
        self.members.iter().map(|patch| patch.area_m2).sum()
    }
}

/// Pieces that go by the same words become one zone.
fn joined_by_place(pieces: Vec<Zone>) -> Vec<Zone> {
    let mut zones: Vec<Zone> = Vec::new();
    for piece in pieces {
        match zones.iter_mut().find(|zone| zone.place == piece.place) {
            Some(zone) => zone.members.extend(piece.members),
            None => zones.push(piece),
        }
    }
    zones
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
    input: &AdviceInput<'_>,
    light: &LightField,
    surroundings: &Surroundings,
    zone: &Zone,
) -> Finding {
    let (place, area_m2) = (&zone.place, zone.area_m2());
    let zone = zone.members.as_slice();
    let ppfd_umol = zone.iter().map(|p| p.ppfd_umol * p.area_m2).sum::<f64>() / area_m2;
    let open_share = zone.iter().map(|p| p.open_share() * p.area_m2).sum::<f64>() / area_m2;
    let (low, high) = zone
        .iter()
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| {
            (low.min(p.at_m), high.max(p.at_m))
        });
    let starved = starved_corals(input, light, zone);
    let severity = if !starved.is_empty() {
        Severity::Serious
    } else if area_m2 >= LARGE_M2 && !place.starts_with("on the") {
        Severity::Warning
    } else {
        Severity::Note
    };
    let hungry = if starved.is_empty() {
        String::new()
    } else {
        format!(" Too dark for: {}.", starved.join(", "))
    };
    let owner = match zone.first().map(|p| p.owner) {
        Some(SurfaceOwner::Rock(idx)) => surroundings.rock_id(idx),
        _ => None,
    };
    let direct = if light.full {
        ""
    } else {
        " Direct light only, without bounces."
    };
    Finding {
        kind: Kind::Shade {
            area_m2,
            open_share,
            ppfd_umol,
        },
        severity,
        certainty: certainty(light, open_share, input.options.shade_share),
        text: format!(
            "Shade {place}: {:.0} cm² get {:.0} % of open light, {ppfd_umol:.0} µmol/m²/s.{hungry}{direct}",
            area_m2 * 1e4,
            open_share * 100.0,
        ),
        at_m: (low + high) / 2.0,
        half_size_m: (high - low + light.patch_m) / 2.0,
        item: owner,
        remedies: vec![Remedy::ListCandidates],
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

fn zone_place(
    input: &AdviceInput<'_>,
    surroundings: &Surroundings,
    zone: &[SurfacePatch],
) -> String {
    let count = zone.len().max(1) as f64;
    let middle = zone.iter().map(|p| p.at_m).sum::<DVec3>() / count;
    let normal = zone.iter().map(|p| p.normal).sum::<DVec3>() / count;
    let mut roofs: BTreeMap<usize, usize> = BTreeMap::new();
    for patch in zone {
        let lifted = patch.at_m + patch.normal * 0.004;
        if let Some(idx) = surroundings.roof(lifted) {
            *roofs.entry(idx).or_default() += 1;
        }
    }
    let roof = roofs
        .into_iter()
        .max_by_key(|(_, hits)| *hits)
        .filter(|(_, hits)| *hits as f64 >= 0.5 * count);
    let ledge = |idx: usize| {
        let name = surroundings.rock_name(idx);
        if name.contains("ledge") || name.contains("overhang") || name.contains("slab") {
            format!("under {name}")
        } else {
            format!("under the ledge of {name}")
        }
    };
    match zone.first().map(|p| p.owner) {
        Some(SurfaceOwner::Rock(own)) => {
            let name = surroundings.rock_name(own);
            match roof {
                _ if normal.z < -0.35 => ledge(own),
                Some((above, _)) => ledge(above),
                None if normal.z > 0.5 => format!("on top of {name}"),
                None => format!("on the {} of {name}", flank(zone)),
            }
        }
        _ => match roof {
            Some((above, _)) => format!("on the sand {}", ledge(above)),
            None => format!(
                "on the sand, {}",
                nearest_rock_side(input, surroundings, middle)
            ),
        },
    }
}

/// The side on which most of a flank lies.
fn flank(zone: &[SurfacePatch]) -> &'static str {
    const SIDES: [&str; 4] = ["right side", "back", "left side", "front"];
    let mut areas = [0.0; 4];
    for patch in zone {
        let quarter = patch.normal.y.atan2(patch.normal.x) / std::f64::consts::FRAC_PI_2;
        areas[(quarter.round() as i64).rem_euclid(4) as usize] += patch.area_m2;
    }
    let total: f64 = areas.iter().sum();
    let largest = (0..4).max_by(|&a, &b| areas[a].total_cmp(&areas[b]));
    match largest {
        Some(side) if areas[side] >= 0.5 * total => SIDES[side],
        _ => "flanks",
    }
}

fn nearest_rock_side(input: &AdviceInput<'_>, surroundings: &Surroundings, at_m: DVec3) -> String {
    const NEAR_M: f64 = 0.15;
    let rockwork = input.study.rockwork();
    match rockwork.nearest(at_m) {
        Some((distance, idx)) if distance < NEAR_M => {
            let solid = &rockwork.rocks[idx];
            let level = at_m.with_z(f64::midpoint(
                solid.bounds().min_m.z,
                solid.bounds().max_m.z,
            ));
            format!("{} {}", side_of(solid, level), surroundings.rock_name(idx))
        }
        _ => surroundings.point_place(at_m),
    }
}

/// Corals that sit in the zone and want more than it has.
fn starved_corals(
    input: &AdviceInput<'_>,
    light: &LightField,
    zone: &[SurfacePatch],
) -> Vec<String> {
    let hungry = input.layout.corals.iter().filter_map(|coral| {
        let entry = input.catalog.entry(&coral.entry)?;
        let at_m = coral.at_cm * M_PER_CM;
        let (distance, patch) = zone
            .iter()
            .map(|p| (p.at_m.distance(at_m), p))
            .min_by(|a, b| a.0.total_cmp(&b.0))?;
        let inside = distance < 1.2 * light.patch_m.max(0.01);
        (inside && patch.ppfd_umol < entry.light_ppfd_umol.low).then(|| {
            if coral.name.is_empty() {
                entry.plain_name.clone()
            } else {
                coral.name.clone()
            }
        })
    });
    hungry.collect()
}

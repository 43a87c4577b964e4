//! Where a coral could go: surface colored by fit, the best places far apart,
//! and what could live at a given place.

use std::collections::BTreeMap;

use glam::DVec3;

use crate::AdviceInput;
use crate::acclimation::{Acclimation, acclimation};
use crate::body::Body;
use crate::catalog::{Entry, Form, Height, mount_method};
use crate::fit::{Aspect, Fit, Fitter, Site, Verdict, fit, range_score};
use crate::growth::{Cylinder, Pace, cylinder, size_after_cm};
use crate::light::{SurfaceOwner, SurfacePatch};
use crate::objection::{Measures, measures, objections, seat_of};
use crate::place::Surroundings;
use crate::scene::finding::Place;
use crate::scene::{Coral, ItemId, Mount, Support};
use crate::units::M_PER_CM;
use crate::{room, seat};

/// How far apart berths are from each other, at least, in m.
const APART_M: f64 = 0.10;

/// Which places are asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BerthFilters {
    /// Only places level enough for a plug in a hole.
    pub plug_only: bool,
    /// Only this rock.
    pub only_rock: Option<ItemId>,
    /// Size of the coral (across x, across y, height), in m; that of a cutting
    /// if left out.
    pub size_m: Option<DVec3>,
    /// The coral that would move there: it is no neighbor of itself.
    pub own: Option<ItemId>,
}

/// One place for a coral.
#[derive(Clone, Debug, PartialEq)]
pub struct Berth {
    /// Middle of the base, in m.
    pub at_m: DVec3,
    /// Outward normal of the surface.
    pub normal: DVec3,
    /// What it would sit on.
    pub on: Support,
    /// How it would be held.
    pub mount: Mount,
    /// Size that was assumed, in m.
    pub size_m: DVec3,
    /// How well it fits.
    pub fit: Fit,
    /// Where that is.
    pub place: Place,
    /// What else speaks for or against it.
    pub notes: Vec<String>,
    /// What a keeper measures of it.
    pub measures: Measures,
}

/// Places that a search looked at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sought {
    /// The best, best first.
    pub berths: Vec<Berth>,
    /// Places with light and flow for the entry that were looked at closely.
    pub looked_at: usize,
    /// How many of them were turned away, by the tag of the first objection.
    pub turned_away: BTreeMap<&'static str, usize>,
}

/// An entry that could live at a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Catalog entry.
    pub entry: String,
    /// How it would be held.
    pub mount: Mount,
    /// How well it fits.
    pub fit: Fit,
}

/// Size of a cutting as it is bought (across x, across y, height), in m: a
/// fifth of the grown width, 3 to 12 cm. COMMON PRACTICE.
pub fn cutting_size_m(entry: &Entry) -> DVec3 {
    let width = (0.2 * entry.spread_cm.value).clamp(3.0, 12.0);
    let tall = match entry.form {
        Form::Encrusting | Form::Mat => 0.3,
        Form::Disc | Form::FreeLiving => 0.4,
        Form::Table | Form::Plating => 0.5,
        Form::Massive | Form::Clam => 0.8,
        Form::Phaceloid | Form::Branching => 1.2,
        Form::Tree | Form::Fan => 2.0,
    };
    DVec3::new(width, width, width * tall) * M_PER_CM
}

/// How well an entry fits on each patch of the light field, 0 to 1, in its
/// order; empty without light. For coloring: light, flow, room and kind of
/// seat, without the finer rules of [`berths`].
pub fn fit_wash(input: &AdviceInput<'_>, entry: &Entry, filters: &BerthFilters) -> Vec<f32> {
    let fitter = Fitter::new(input);
    let size_m = filters.size_m.unwrap_or_else(|| cutting_size_m(entry));
    let score = |patch| quick_score(&fitter, entry, (size_m, filters.own), patch) as f32;
    input
        .light
        .map_or_else(Vec::new, |light| light.patches.iter().map(score).collect())
}

/// The best places for an entry, best first and at least 10 cm (or its gap)
/// apart; fewer if there are not as many. Places that a keeper would not accept
/// (`Objection`) are left out, as are those where it would not live. Needs
/// the light field; without flow only light counts.
pub fn berths(
    input: &AdviceInput<'_>,
    entry: &Entry,
    count: usize,
    filters: &BerthFilters,
) -> Vec<Berth> {
    seek_berths(input, entry, count, filters).berths
}

/// [`berths`], with what was looked at and why it was turned away.
pub fn seek_berths(
    input: &AdviceInput<'_>,
    entry: &Entry,
    count: usize,
    filters: &BerthFilters,
) -> Sought {
    let Some(light) = input.light else {
        return Sought::default();
    };
    let fitter = Fitter::new(input);
    let size_m = filters.size_m.unwrap_or_else(|| cutting_size_m(entry));
    let mut ranked: Vec<(f64, &SurfacePatch)> = light
        .patches
        .iter()
        .filter(|patch| passes(input, filters, patch))
        .map(|patch| {
            let liking = quick_score(&fitter, entry, (size_m, filters.own), patch);
            (
                liking + 0.05 * height_bonus(input, entry, patch.at_m),
                patch,
            )
        })
        .filter(|(score, _)| *score > 0.1)
        .collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    let surroundings = Surroundings::new(input.study);
    let apart_m = APART_M.max(entry.gap_cm.value * M_PER_CM / 2.0);
    let mut sought = Sought::default();
    for (_, patch) in ranked {
        if sought.berths.len() == count {
            break;
        }
        let near = |berth: &Berth| berth.at_m.distance(patch.at_m) < apart_m;
        if sought.berths.iter().any(near) {
            continue;
        }
        sought.looked_at += 1;
        match berth_at(&fitter, &surroundings, entry, (size_m, filters), patch) {
            Ok(berth) => sought.berths.push(berth),
            Err(tag) => *sought.turned_away.entry(tag).or_default() += 1,
        }
    }
    sought.berths.sort_by(|a, b| {
        let by_verdict = b.fit.verdict.cmp(&a.fit.verdict);
        by_verdict.then(b.fit.score.total_cmp(&a.fit.score))
    });
    sought
}

/// What the move of a placed coral to each berth asks of it, by its light here
/// and there; nothing for a new cutting, whose light so far is not known.
pub fn berth_steps(
    input: &AdviceInput<'_>,
    coral: Option<&Coral>,
    berths: &[Berth],
) -> Vec<Option<Acclimation>> {
    let known = coral.and_then(|coral| {
        let now = light_of(&fit(input, coral)?)?;
        Some((input.catalog.entry(&coral.entry)?, now))
    });
    let step = |berth: &Berth| {
        let (entry, now) = known?;
        acclimation(entry, now, light_of(&berth.fit)?)
    };
    berths.iter().map(step).collect()
}

fn light_of(fit: &Fit) -> Option<f64> {
    let strip = fit
        .strips
        .iter()
        .find(|strip| strip.what == Aspect::Light)?;
    strip.value
}

/// The entries that fit best at a place, best first.
pub fn candidates(
    input: &AdviceInput<'_>,
    at_m: DVec3,
    normal: DVec3,
    on: SurfaceOwner,
    count: usize,
) -> Vec<Candidate> {
    let fitter = Fitter::new(input);
    let mut all: Vec<Candidate> = input
        .catalog
        .entries()
        .iter()
        .filter_map(|entry| {
            let site = site_on(entry, (at_m, normal, on), (cutting_size_m(entry), None))?;
            if !objections(&fitter, entry, &site).is_empty() {
                return None;
            }
            Some(Candidate {
                entry: entry.id.clone(),
                mount: site.mount,
                fit: fitter.fit(entry, &site, None),
            })
        })
        .filter(|candidate| candidate.fit.verdict >= Verdict::Fair)
        .collect();
    all.sort_by(|a, b| b.fit.score.total_cmp(&a.fit.score));
    all.truncate(count);
    all
}

fn passes(input: &AdviceInput<'_>, filters: &BerthFilters, patch: &SurfacePatch) -> bool {
    let owner = match patch.owner {
        SurfaceOwner::Rock(idx) => input.layout.rocks.get(idx).map(|rock| rock.id),
        SurfaceOwner::Sand => None,
    };
    filters.only_rock.is_none() || owner == filters.only_rock
}

/// The weakest of light, flow, room and seat at a patch, without words.
fn quick_score(
    fitter: &Fitter<'_>,
    entry: &Entry,
    moved: (DVec3, Option<ItemId>),
    patch: &SurfacePatch,
) -> f64 {
    let rock = matches!(patch.owner, SurfaceOwner::Rock(_));
    let suits = if rock {
        entry.place.rock
    } else {
        entry.place.sand
    };
    let range = &entry.light_ppfd_umol;
    let mut score = range_score(patch.ppfd_umol, range.low, range.optimum, range.high);
    if !suits || score <= 0.0 {
        return 0.0;
    }
    let place = (patch.at_m, patch.normal, patch.owner);
    let Some(site) = site_on(entry, place, moved) else {
        return 0.0;
    };
    if !is_open(fitter, &site) {
        return 0.0;
    }
    if let Some(over) = fitter.flow_over(&site) {
        let range = &entry.flow_cm_s;
        let speed_cm_s = over.speed_m_s / M_PER_CM;
        score = score.min(range_score(
            speed_cm_s,
            range.low,
            range.optimum,
            range.high,
        ));
    }
    match room::tightest(fitter, entry, &site) {
        Some(tight) if tight.required_m > 0.0 => {
            score.min((0.5 * tight.gap_m / tight.required_m).clamp(0.0, 1.0))
        }
        _ => score,
    }
}

/// Whether the coral would stand in open water: below the surface, inside the
/// glass and not in another rock.
fn is_open(fitter: &Fitter<'_>, site: &Site) -> bool {
    let tank = &fitter.input.scene.tank;
    let size_m = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm) * M_PER_CM;
    let top_m = site.at_m + site.normal * (site.size_m.z + 0.01);
    let inside = top_m.cmpgt(DVec3::ZERO).all() && top_m.cmplt(size_m).all();
    let middle_m = site.at_m + site.normal * (0.6 * site.size_m.z + 0.005);
    inside && !fitter.rockwork.contains(top_m) && !fitter.rockwork.contains(middle_m)
}

/// How an entry of this size would sit there; `None` if nothing holds it.
fn site_on(
    entry: &Entry,
    (at_m, normal, on): (DVec3, DVec3, SurfaceOwner),
    (size_m, own): (DVec3, Option<ItemId>),
) -> Option<Site> {
    let mass_g = Body::of(entry, size_m).mass_kg * 1000.0;
    Some(Site {
        at_m,
        normal,
        on,
        size_m,
        mount: seat::mount_for(entry, on, normal, mass_g)?,
        own,
    })
}

/// 1 where the height is one that the entry is usually put at.
fn height_bonus(input: &AdviceInput<'_>, entry: &Entry, at_m: DVec3) -> f64 {
    let tank = &input.scene.tank;
    let column_m = ((tank.water_cm - tank.sand.depth_cm) * M_PER_CM).max(1e-9);
    let height = match (at_m.z - tank.sand.depth_cm * M_PER_CM) / column_m {
        share if share < 1.0 / 3.0 => Height::Low,
        share if share < 2.0 / 3.0 => Height::Middle,
        _ => Height::High,
    };
    if entry.place.heights.contains(&height) {
        1.0
    } else {
        0.0
    }
}

/// The berth at a patch, or the tag of what a keeper would have against it.
fn berth_at(
    fitter: &Fitter<'_>,
    surroundings: &Surroundings,
    entry: &Entry,
    (size_m, filters): (DVec3, &BerthFilters),
    patch: &SurfacePatch,
) -> Result<Berth, &'static str> {
    let place = (patch.at_m, patch.normal, patch.owner);
    let site = site_on(entry, place, (size_m, filters.own)).ok_or("no_mount")?;
    if filters.plug_only && site.mount != Mount::Plug {
        return Err("no_plug");
    }
    if let Some(objection) = objections(fitter, entry, &site).first() {
        return Err(objection.tag());
    }
    let fit = fitter.fit(entry, &site, Some(patch.ppfd_umol));
    if fit.verdict <= Verdict::Bad {
        return Err("no_fit");
    }
    let on = match patch.owner {
        SurfaceOwner::Rock(idx) => surroundings
            .rock_id(idx)
            .map_or(Support::Sand, Support::Rock),
        SurfaceOwner::Sand => Support::Sand,
    };
    Ok(Berth {
        at_m: patch.at_m,
        normal: patch.normal,
        on,
        mount: site.mount,
        size_m,
        fit,
        place: surroundings.point_place(patch.at_m),
        notes: notes(fitter, entry, &site),
        measures: measures(fitter.input.scene, entry, &site),
    })
}

/// What speaks for or against a place beyond its strips.
fn notes(fitter: &Fitter<'_>, entry: &Entry, site: &Site) -> Vec<String> {
    let mut notes = vec![format!(
        "Usual place: {} (common practice).",
        entry.place.text
    )];
    let months = fitter.input.options.months;
    let size_cm = size_after_cm(entry, site.size_m / M_PER_CM, months, Pace::Usual);
    let own = Cylinder::of(entry.form, site.at_m, site.normal, size_cm * M_PER_CM);
    let others = fitter.neighbors.iter();
    let mut others = others.filter(|neighbor| Some(neighbor.coral.id) != site.own);
    let met = others.find(|neighbor| {
        let later = cylinder(neighbor.coral, neighbor.entry, months, Pace::Usual);
        own.gap_m(&later) <= 0.0
    });
    notes.push(match met {
        Some(neighbor) => format!(
            "At the usual growth it meets the {} within {months:.0} months.",
            neighbor.entry.plain_name
        ),
        None => format!("It has room to grow for {months:.0} months."),
    });
    if let Some(method) = mount_method(seat_of(site.mount)) {
        notes.push(format!(
            "Held {}: right for {}; {}. Mind: {} (common practice).",
            method.name, method.right_when, method.how, method.mind
        ));
    }
    notes.extend(
        entry
            .hazards
            .iter()
            .map(|hazard| hazard.sentence().to_owned()),
    );
    notes
}

//! How a coral is held: which mount suits it and its seat, and whether a loose
//! one stays.

use glam::{DVec2, DVec3};

use crate::Certainty;
use crate::body::{Body, Push, Tipping, tipping};
use crate::catalog::{Entry, Seat, mount_method};
use crate::fit::{Aspect, Fitter, FlowOver, Site, Strip, Verdict, verdict_of};
use crate::hull::{convex_hull, inside_margin};
use crate::light::SurfaceOwner;
use crate::objection::{seat_of, slope_deg};
use crate::scene::Mount;
use crate::scene::finding::{Figure, Note, Quantity};
use crate::units::M_PER_CM;

/// A seat that points further down than this is an overhang.
const OVERHANG_Z: f64 = -0.2;

/// A fleshy coral keeps this far from rock, in m. COMMON PRACTICE.
const FLESH_CLEAR_M: f64 = 0.05;

/// Mass that a mount holds, in g; infinite if it has no such limit.
fn capacity_g(mount: Mount) -> f64 {
    mount_method(seat_of(mount))
        .and_then(|method| method.holds_g.as_ref())
        .map_or(f64::INFINITY, |held| held.value)
}

/// The mount of the scene that a way of holding stands for.
fn mount_of(seat: Seat) -> Mount {
    match seat {
        Seat::Plug => Mount::Plug,
        Seat::Gel => Mount::Gel,
        Seat::Putty => Mount::Putty,
        Seat::GelAndPutty => Mount::GelAndPutty,
        Seat::Wedge => Mount::Wedge,
        Seat::Thread => Mount::Thread,
        Seat::Rod => Mount::Rod,
        Seat::Hang => Mount::Hang,
        Seat::Sand => Mount::Sand,
        Seat::Rubble => Mount::Rubble,
        Seat::Loose => Mount::Loose,
        Seat::Itself => Mount::Foot,
    }
}

/// Whether a way of holding can be used on such ground at all.
fn works_on(seat: Seat, on: SurfaceOwner) -> bool {
    match on {
        SurfaceOwner::Sand => {
            matches!(seat, Seat::Sand | Seat::Loose | Seat::Rubble | Seat::Itself)
        }
        SurfaceOwner::Rock(_) => !matches!(seat, Seat::Sand | Seat::Loose),
    }
}

/// The first of an entry's ways of holding that a seat of this slope bears, for
/// a body of this mass; where putty or gel is among them but will not do, both
/// together. `None` if nothing holds it there.
pub(crate) fn mount_for(
    entry: &Entry,
    on: SurfaceOwner,
    normal: DVec3,
    mass_g: f64,
) -> Option<Mount> {
    let slope_deg = slope_deg(normal);
    let holds = |seat: &Seat| {
        works_on(*seat, on)
            && mount_method(*seat).is_some_and(|method| {
                let bears = method
                    .holds_g
                    .as_ref()
                    .is_none_or(|held| mass_g <= held.value);
                method.slope_deg.hold(slope_deg) && bears
            })
    };
    let sticks = |seat: &&Seat| matches!(seat, Seat::Gel | Seat::Putty);
    let both = entry.seats.iter().find(sticks).map(|_| Seat::GelAndPutty);
    entry
        .seats
        .iter()
        .copied()
        .chain(both)
        .find(holds)
        .map(mount_of)
}

/// The mount that suits an entry of this size (in m) best on such a seat; its
/// usual one where none will do.
pub fn usual_mount(entry: &Entry, on: SurfaceOwner, normal: DVec3, size_m: DVec3) -> Mount {
    let mass_g = Body::of(entry, size_m).mass_kg * 1000.0;
    let usual = || entry.seats.first().copied().map(mount_of);
    mount_for(entry, on, normal, mass_g)
        .or_else(usual)
        .unwrap_or_default()
}

/// One fault of a seat: how bad, and what it is.
type Fault = (f64, Note);

/// The strip for the mount: the coral's mass against what its mount holds, in
/// g, and every rule that its seat breaks, the gravest first.
pub(crate) fn mount_strip(fitter: &Fitter<'_>, entry: &Entry, site: &Site, body: &Body) -> Strip {
    let capacity = capacity_g(site.mount);
    let mass_g = body.mass_kg * 1000.0;
    let mut faults = place_faults(fitter, entry, site);
    faults.extend(mount_faults(entry, site, mass_g, capacity));
    faults.sort_by(|a, b| a.0.total_cmp(&b.0));
    let score = faults.first().map_or(1.0, |(score, _)| *score);
    Strip {
        what: Aspect::Mount,
        value: Some(mass_g),
        low: 0.0,
        optimum: 0.0,
        high: capacity,
        figure: Figure::Mass,
        certainty: Certainty::Check,
        basis: "common practice".to_owned(),
        verdict: verdict_of(score),
        score,
        notes: faults.into_iter().map(|(_, note)| note).collect(),
        others: slope_of(site),
        neighbor: None,
        mount: site.mount,
    }
}

/// Slope of a seat, and the steepest on which its mount holds.
fn slope_of(site: &Site) -> Vec<Quantity> {
    let own = Quantity::new(Figure::Slope, slope_deg(site.normal));
    let most = mount_method(seat_of(site.mount))
        .map(|method| Quantity::new(Figure::SlopeHeld, method.slope_deg.high));
    std::iter::once(own).chain(most).collect()
}

/// Scores of faults: it cannot work, it will go wrong, it is not ideal.
const BAD: f64 = 0.0;
const POOR: f64 = 0.2;
const FAIR: f64 = 0.4;

fn place_faults(fitter: &Fitter<'_>, entry: &Entry, site: &Site) -> Vec<Fault> {
    let mut faults = Vec::new();
    match site.on {
        SurfaceOwner::Rock(_) if entry.fleshy && !entry.place.rock => {
            faults.push((BAD, Note::FleshyOnRock));
        }
        SurfaceOwner::Rock(_) if !entry.place.rock => faults.push((POOR, Note::BelongsOnSand)),
        SurfaceOwner::Rock(_) if entry.fleshy => faults.push((FAIR, Note::FleshyRubs)),
        SurfaceOwner::Sand if !entry.place.sand => faults.push((POOR, Note::BelongsOnRock)),
        _ => {}
    }
    let clear_m = site.at_m + DVec3::Z * (site.size_m.z / 2.0);
    let rim_m = site.size_m.x.max(site.size_m.y) / 2.0;
    let to_rock = fitter.rockwork.nearest(clear_m).map(|(d, _)| d - rim_m);
    if site.on == SurfaceOwner::Sand && entry.fleshy && to_rock.is_some_and(|d| d < FLESH_CLEAR_M) {
        faults.push((FAIR, Note::CloseToRock));
    }
    if site.on == SurfaceOwner::Sand && site.mount == Mount::Sand {
        let rim_over_sand_m =
            site.at_m.z + site.size_m.z - fitter.input.scene.tank.sand.depth_cm * M_PER_CM;
        if rim_over_sand_m < 0.01 {
            faults.push((POOR, Note::RimBuried));
        }
    }
    faults
}

fn mount_faults(entry: &Entry, site: &Site, mass_g: f64, capacity_g: f64) -> Vec<Fault> {
    let mut faults = Vec::new();
    let on_rock = matches!(site.on, SurfaceOwner::Rock(_));
    let seat = seat_of(site.mount);
    let overhang = site.normal.z < OVERHANG_Z;
    if entry.never_glued() && seat.glues() {
        faults.push((BAD, Note::NeverGlued));
    }
    if overhang && matches!(site.mount, Mount::Sand | Mount::Loose | Mount::Rubble) {
        faults.push((BAD, Note::NothingHoldsIt));
    } else if overhang && !entry.place.under_ledge && !entry.seats.contains(&Seat::Hang) {
        faults.push((POOR, Note::DoesNotHang));
    }
    if on_rock && site.mount == Mount::Sand {
        faults.push((BAD, Note::NoSandThere));
    } else if !on_rock && !works_on(seat, SurfaceOwner::Sand) {
        faults.push((FAIR, Note::NoHoldInSand));
    }
    if mass_g > capacity_g {
        faults.push((POOR, Note::TooHeavy));
    }
    faults.extend(slope_fault(site, overhang));
    let is_usual = entry.seats.contains(&seat) || seat == Seat::GelAndPutty;
    if faults.is_empty() && !is_usual {
        faults.push((FAIR, Note::UnusualMount));
    }
    faults
}

/// A seat too steep for its mount; what lies under an overhang is told of
/// before.
fn slope_fault(site: &Site, overhang: bool) -> Option<Fault> {
    let slope = slope_deg(site.normal);
    let method = mount_method(seat_of(site.mount))?;
    if overhang || method.slope_deg.hold(slope) {
        return None;
    }
    let note = if slope > method.slope_deg.high {
        Note::TooSteep
    } else {
        Note::HangsFromNothing
    };
    Some((POOR, note))
}

/// The strip for stability of a coral that is not fastened, as the margin
/// between what keeps it and what tips it; none for fastened ones.
pub(crate) fn stability_strip(
    fitter: &Fitter<'_>,
    entry: &Entry,
    site: &Site,
    over: Option<FlowOver>,
) -> Option<Strip> {
    // What holds on by itself is loose for its first days only.
    let holds_on = site.mount == Mount::Loose && entry.seats.contains(&Seat::Itself);
    if holds_on || !matches!(site.mount, Mount::Loose | Mount::Sand | Mount::Rubble) {
        return None;
    }
    let mut body = Body::of(entry, site.size_m);
    let on_stone = site.mount == Mount::Loose && entry.seats.contains(&Seat::Rubble);
    if on_stone || site.mount == Mount::Rubble {
        body = body.on_stone();
    }
    let speed_m_s = over.map_or(0.0, |over| over.speed_m_s + 2.0 * over.fluctuation_m_s);
    // In or on sand, a nudge moves a coral without harm; water can carry it off.
    let nudge_n = match site.on {
        SurfaceOwner::Sand => 0.0,
        SurfaceOwner::Rock(_) => fitter.nudge_n,
    };
    let push = Push {
        slope_rad: site.normal.z.clamp(-1.0, 1.0).acos(),
        support_m: support_m(fitter, site, body.base_half_m),
        speed_m_s,
        nudge_n,
    };
    let held = tipping(&body, &push);
    Some(tipping_strip(&held, site.mount))
}

fn tipping_strip(held: &Tipping, mount: Mount) -> Strip {
    const LOW: f64 = 1.5;
    const BEST: f64 = 3.0;
    // Sliding counts like tipping: a slide of 1 is a margin of 1.
    let margin = held.margin.min(1.0 / held.slide.max(1e-9));
    let score = if margin < 1.0 {
        BAD
    } else {
        ((margin - 1.0) / (LOW - 1.0) * 0.5).min(0.5)
            + ((margin - LOW) / (BEST - LOW) * 0.5).clamp(0.0, 0.5)
    };
    let verdict = if margin < 1.0 {
        Verdict::Bad
    } else {
        verdict_of(score.max(1e-3))
    };
    let notes = if margin < 1.0 {
        vec![Note::MayTopple]
    } else if margin < LOW {
        vec![Note::BarelyStands]
    } else {
        Vec::new()
    };
    Strip {
        what: Aspect::Stability,
        value: Some(margin),
        low: LOW,
        optimum: BEST,
        high: f64::INFINITY,
        figure: Figure::Stability,
        certainty: Certainty::Check,
        basis: "statics; margin of 1.5 common practice".to_owned(),
        verdict,
        score,
        notes,
        others: Vec::new(),
        neighbor: None,
        mount,
    }
}

/// How far the seat really reaches under a base: distance from its middle to
/// the edge of what supports it, in m. Half the base on sand.
fn support_m(fitter: &Fitter<'_>, site: &Site, base_half_m: f64) -> f64 {
    const RING: usize = 16;
    const CLOSE_M: f64 = 0.006;
    let SurfaceOwner::Rock(idx) = site.on else {
        return base_half_m;
    };
    let Some(rock) = fitter.rockwork.rocks.get(idx) else {
        return base_half_m;
    };
    let (u, v) = site.normal.normalize_or(DVec3::Z).any_orthonormal_pair();
    let mut supported = Vec::new();
    for step in 0..RING {
        let turn = DVec2::from_angle(step as f64 / RING as f64 * std::f64::consts::TAU);
        for share in [0.25, 0.5, 0.75, 1.0] {
            let offset = turn * base_half_m * share;
            let below_m = site.at_m + u * offset.x + v * offset.y - site.normal * CLOSE_M;
            if rock.signed_distance(below_m) <= 0.0 {
                supported.push(offset);
            }
        }
    }
    inside_margin(&convex_hull(&supported), DVec2::ZERO).max(-base_half_m)
}

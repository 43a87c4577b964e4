//! Whether rocks stand: mass, center, contacts, support and tipping margin. A
//! rough statics estimate that proves nothing safe.

use std::collections::BTreeMap;
use std::sync::Arc;

use glam::{DVec2, DVec3};

use crate::geometry::RockSolid;
use crate::hull::{convex_hull, inside_margin};
use crate::mass::{Columns, RockWeight, center_m};
use crate::scene::finding::{Cause, Figure, Note, Place, Side, Spot};
use crate::scene::{Behavior, ItemId, Layout, Rock, Scene};
use crate::study::Study;
use crate::units::{GRAVITY_M_S2, M_PER_CM};
use crate::{AdviceInput, Certainty, Finding, Kind, Remedy, Severity};

/// A surface this close to what is below rests on it, in m.
const TOUCH_M: f64 = 0.003;

/// Weight in water over weight in air, pores flooded: 1 − 1.025/2.85. DERIVED.
pub(crate) const SUBMERGED_SHARE: f64 = 0.64;

/// Share of its support's width by which a center should lie inside.
///
/// **Source** COMMON PRACTICE.
const WANTED_SHARE: f64 = 0.2;

/// What a rock rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ground {
    /// The bottom pane.
    Pane,
    /// The sand.
    Sand,
    /// The rock with this id.
    Rock(ItemId),
}

/// One place where a rock rests on something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contact {
    /// Where, in m.
    pub at_m: DVec3,
    /// On what.
    pub on: Ground,
    /// Area that this place stands for, in m².
    pub area_m2: f64,
}

/// How one rock, or rocks that are bonded into one, stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Ids of its rocks.
    pub rocks: Vec<ItemId>,
    /// Outer volume, in m³.
    pub volume_m3: f64,
    /// Mass when dry, in kg.
    pub dry_kg: f64,
    /// Weight in water as a mass, in kg.
    pub wet_kg: f64,
    /// Weight in water of what stands on it, as a mass, in kg.
    pub carried_kg: f64,
    /// Center of mass with what stands on it, in m.
    pub center_m: DVec3,
    /// Where it rests.
    pub contacts: Vec<Contact>,
    /// Corners of its support in plan, in m.
    pub support_m: Vec<DVec2>,
    /// Distance of its center from the edge of that support, in m; negative
    /// outside, minus infinity with nothing under it.
    pub margin_m: f64,
    /// How far it can be tilted before it tips, in degrees; zero if it tips by
    /// itself.
    pub tipping_deg: f64,
    /// The margin once the sand around it is dug away, in m.
    pub dug_margin_m: f64,
    /// Share of its longest plan size that hangs out past its support.
    pub overhang_share: f64,
    /// Narrowest clear distance to the glass at each side (left, right, front,
    /// back), in m.
    pub clear_m: [f64; 4],
    /// Area on which it rests on the bare pane, in m².
    pub pane_m2: f64,
}

impl Standing {
    /// Narrowest width of its support, in m.
    pub fn support_width_m(&self) -> f64 {
        let (low, high) = self
            .support_m
            .iter()
            .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| {
                (low.min(*p), high.max(*p))
            });
        if self.support_m.is_empty() {
            0.0
        } else {
            (high - low).min_element()
        }
    }
}

/// How all rocks of a layout stand, bonded ones as one, in its order.
///
/// Volume and center come from summed cells; a column whose underside is within
/// 3 mm of the pane, the sand or another rock is a contact; the support is the
/// convex hull of the contacts. What stands on one rock loads it below its center
/// of mass; on two, at the middles of their contacts by the lever rule.
pub fn standing(study: &Study) -> Vec<Standing> {
    let (scene, layout) = (study.scene(), study.layout());
    let pieces: Vec<Piece> = study.rocks().map(piece).collect();
    let mut bodies: Vec<Body> = Vec::new();
    for (idx, rock) in layout.rocks.iter().enumerate() {
        let mate = rock.bonded.and_then(|group| {
            let same = |body: &&mut Body| layout.rocks[body.members[0]].bonded == Some(group);
            bodies.iter_mut().find(same)
        });
        match mate {
            Some(body) => body.members.push(idx),
            None => bodies.push(Body {
                members: vec![idx],
                ..Body::default()
            }),
        }
    }
    for body in &mut bodies {
        body.weigh(&pieces);
        body.contacts = contacts(scene, layout, &pieces, &body.members);
    }
    load(layout, &mut bodies);
    bodies
        .iter()
        .map(|body| body.standing(scene, layout, &pieces))
        .collect()
}

/// One rock, measured.
struct Piece {
    solid: Arc<RockSolid>,
    weight: RockWeight,
    center_m: DVec3,
    undersides: Vec<DVec3>,
    column_m2: f64,
    half_m: DVec2,
}

fn piece((rock, solid): (&Rock, &Arc<RockSolid>)) -> Piece {
    let columns = Columns::over(solid);
    Piece {
        weight: RockWeight::of(rock),
        center_m: center_m(solid),
        undersides: columns.undersides(solid),
        column_m2: columns.area_m2(),
        half_m: columns.half_m(),
        solid: Arc::clone(solid),
    }
}

/// Rocks that move as one.
#[derive(Default)]
struct Body {
    members: Vec<usize>,
    volume_m3: f64,
    dry_kg: f64,
    center_m: DVec3,
    carried_kg: f64,
    loaded_center_m: DVec3,
    contacts: Vec<Contact>,
}

impl Body {
    fn weigh(&mut self, pieces: &[Piece]) {
        let mut moment = DVec3::ZERO;
        for &idx in &self.members {
            let piece = &pieces[idx];
            self.volume_m3 += piece.weight.volume_l / 1000.0;
            self.dry_kg += piece.weight.dry_kg;
            moment += piece.center_m * piece.weight.dry_kg;
        }
        self.center_m = moment / self.dry_kg.max(1e-12);
        self.loaded_center_m = self.center_m;
    }

    fn wet_kg(&self) -> f64 {
        self.dry_kg * SUBMERGED_SHARE
    }

    fn standing(&self, scene: &Scene, layout: &Layout, pieces: &[Piece]) -> Standing {
        let plan = |contacts: &mut dyn Iterator<Item = &Contact>| {
            let points: Vec<DVec2> = contacts.map(|c| c.at_m.truncate()).collect();
            convex_hull(&points)
        };
        let support_m = plan(&mut self.contacts.iter());
        let firm = plan(&mut self.contacts.iter().filter(|c| c.on != Ground::Sand));
        let middle = self.loaded_center_m.truncate();
        let margin_m = inside_margin(&support_m, middle);
        let count = self.contacts.len().max(1) as f64;
        let foot_m = self.contacts.iter().map(|c| c.at_m.z).sum::<f64>() / count;
        let lift_m = (self.loaded_center_m.z - foot_m).max(1e-6);
        let on_pane = self.contacts.iter().filter(|c| c.on == Ground::Pane);
        Standing {
            rocks: self.members.iter().map(|&i| layout.rocks[i].id).collect(),
            volume_m3: self.volume_m3,
            dry_kg: self.dry_kg,
            wet_kg: self.wet_kg(),
            carried_kg: self.carried_kg,
            center_m: self.loaded_center_m,
            tipping_deg: margin_m.max(0.0).atan2(lift_m).to_degrees(),
            dug_margin_m: inside_margin(&firm, middle),
            overhang_share: overhang_share(pieces, &self.members, &support_m),
            clear_m: clearance_m(scene, pieces, &self.members),
            pane_m2: on_pane.fold(0.0, |sum, c| sum + c.area_m2),
            contacts: self.contacts.clone(),
            support_m,
            margin_m,
        }
    }
}

fn contacts(scene: &Scene, layout: &Layout, pieces: &[Piece], members: &[usize]) -> Vec<Contact> {
    let sand_m = scene.tank.sand.depth_cm * M_PER_CM;
    let mut contacts = Vec::new();
    for &idx in members {
        let piece = &pieces[idx];
        for &at_m in &piece.undersides {
            let below_m = at_m - DVec3::Z * (TOUCH_M / 2.0);
            let rock_under = || {
                (0..pieces.len())
                    .filter(|other| !members.contains(other))
                    .find(|&other| {
                        let solid = &pieces[other].solid;
                        solid.bounds().distance(below_m) < TOUCH_M
                            && solid.signed_distance(below_m) < TOUCH_M / 2.0
                    })
            };
            let on = if at_m.z <= TOUCH_M {
                Some(Ground::Pane)
            } else if let Some(other) = rock_under() {
                Some(Ground::Rock(layout.rocks[other].id))
            } else if at_m.z <= sand_m + TOUCH_M / 2.0 {
                Some(Ground::Sand)
            } else {
                None
            };
            contacts.extend(on.map(|on| Contact {
                at_m,
                on,
                area_m2: piece.column_m2,
            }));
        }
    }
    contacts
}

/// Passes weight down, highest center first.
fn load(layout: &Layout, bodies: &mut [Body]) {
    let mut order: Vec<usize> = (0..bodies.len()).collect();
    order.sort_by(|&a, &b| bodies[b].center_m.z.total_cmp(&bodies[a].center_m.z));
    for (rank, &upper) in order.iter().enumerate() {
        let total_kg = bodies[upper].wet_kg() + bodies[upper].carried_kg;
        let lower = &order[rank + 1..];
        for (on, at_m, share) in bearings(layout, bodies, upper) {
            let Some(idx) = on.filter(|idx| lower.contains(idx)) else {
                continue;
            };
            let body = &mut bodies[idx];
            let (own_kg, load_kg) = (body.wet_kg() + body.carried_kg, total_kg * share);
            body.loaded_center_m =
                (body.loaded_center_m * own_kg + at_m * load_kg) / (own_kg + load_kg).max(1e-12);
            body.carried_kg += load_kg;
        }
    }
}

/// On what a body bears (another body, or the ground), where, and with which
/// share of its weight. On one support the load acts below its center of mass;
/// two share it by the lever rule at the middles of their contacts, more than
/// two by their contacts, as statics alone cannot tell.
fn bearings(layout: &Layout, bodies: &[Body], upper: usize) -> Vec<(Option<usize>, DVec3, f64)> {
    let owner = |on: Ground| match on {
        Ground::Rock(id) => bodies
            .iter()
            .position(|body| body.members.iter().any(|&i| layout.rocks[i].id == id)),
        Ground::Pane | Ground::Sand => None,
    };
    let body = &bodies[upper];
    let mut groups: BTreeMap<Option<usize>, (DVec3, f64)> = BTreeMap::new();
    for contact in &body.contacts {
        let (sum, count) = groups.entry(owner(contact.on)).or_default();
        *sum += contact.at_m;
        *count += 1.0;
    }
    let n_contacts = body.contacts.len() as f64;
    let mut all: Vec<(Option<usize>, DVec3, f64)> = groups
        .into_iter()
        .map(|(on, (sum, count))| (on, sum / count, count / n_contacts))
        .collect();
    let center = body.loaded_center_m.truncate();
    match all.as_mut_slice() {
        [(_, at_m, _)] => *at_m = center.extend(at_m.z),
        [(_, a, first), (_, b, second)] => {
            let arm = (*b - *a).truncate();
            let along = (center - a.truncate()).dot(arm) / arm.length_squared().max(1e-12);
            *second = along.clamp(0.0, 1.0);
            *first = 1.0 - *second;
        }
        _ => {}
    }
    all
}

fn overhang_share(pieces: &[Piece], members: &[usize], support_m: &[DVec2]) -> f64 {
    let plan: Vec<DVec2> = members
        .iter()
        .flat_map(|&idx| pieces[idx].undersides.iter().map(|p| p.truncate()))
        .collect();
    let (low, high) = plan
        .iter()
        .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| {
            (low.min(*p), high.max(*p))
        });
    let longest = (high - low).max_element();
    let farthest = plan
        .iter()
        .map(|p| -inside_margin(support_m, *p))
        .fold(0.0, f64::max);
    (farthest / longest.max(1e-9)).min(1.0)
}

fn clearance_m(scene: &Scene, pieces: &[Piece], members: &[usize]) -> [f64; 4] {
    let size_m = DVec2::new(scene.tank.length_cm, scene.tank.width_cm) * M_PER_CM;
    let (mut low, mut high) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
    for &idx in members {
        for p in &pieces[idx].undersides {
            low = low.min(p.truncate() - pieces[idx].half_m);
            high = high.max(p.truncate() + pieces[idx].half_m);
        }
    }
    [low.x, size_m.x - high.x, low.y, size_m.y - high.y]
}

/// Rocks that may not stand, worst first within the list of findings.
///
/// **Source** COMMON PRACTICE: center at least a fifth of the base's width
/// inside the support; at most a third of a loose piece, half of a bonded one,
/// past its support; no rock tip on bare glass; foundations on the pane, never
/// on sand.
pub fn standing_findings(input: &AdviceInput<'_>) -> Vec<Finding> {
    let digs = input.scene.animals.iter().any(|animal| {
        animal
            .does
            .iter()
            .any(|does| matches!(does, Behavior::Digs))
    });
    let bodies = standing(input.study);
    let findings = bodies.iter().filter_map(|body| {
        let (severity, note) = judgement(body, digs)?;
        let place = body_place(input, body);
        let mut finding =
            Finding::new(Kind::Standing, severity, Certainty::Check, place).note(note);
        if body.margin_m.is_finite() {
            let wanted_m = WANTED_SHARE * body.support_width_m();
            finding = finding
                .with(Figure::Margin, body.margin_m / M_PER_CM)
                .with(Figure::MarginWanted, wanted_m / M_PER_CM);
        }
        finding = finding.with(Figure::Overhang, body.overhang_share);
        finding.items.clone_from(&body.rocks);
        finding.items.sort_unstable();
        let first = finding.item();
        finding.cause = first.map(Cause::Rock);
        finding.remedies = first.map(Remedy::Select).into_iter().collect();
        Some(finding)
    });
    findings.collect()
}

/// Where a body of rock is; its point is the contact nearest to its center of
/// mass, or the nearest of its skin to that.
fn body_place(input: &AdviceInput<'_>, body: &Standing) -> Place {
    let rocks = input.study.rocks();
    let own = rocks.filter(|(rock, _)| body.rocks.contains(&rock.id));
    let (low, high) = own.map(|(_, solid)| solid.bounds()).fold(
        (DVec3::INFINITY, DVec3::NEG_INFINITY),
        |(low, high), bounds| (low.min(bounds.min_m), high.max(bounds.max_m)),
    );
    let middle = body.center_m.truncate();
    let away = |contact: &&Contact| contact.at_m.truncate().distance(middle);
    let contact = body
        .contacts
        .iter()
        .min_by(|a, b| away(a).total_cmp(&away(b)));
    let at_m = contact.map_or_else(|| body.center_m.clamp(low, high), |contact| contact.at_m);
    Place {
        spot: Spot::Rock {
            rock: body.rocks.iter().copied().min().unwrap_or(0),
            side: Side::Whole,
        },
        at_cm: at_m / M_PER_CM,
        low_cm: low / M_PER_CM,
        high_cm: high / M_PER_CM,
    }
}

fn judgement(body: &Standing, digs: bool) -> Option<(Severity, Note)> {
    const TIP_N: f64 = 20.0;
    const TIP_M2: f64 = 2e-4;
    let weight_n = (body.wet_kg + body.carried_kg) * GRAVITY_M_S2;
    let overhang_limit = if body.rocks.len() > 1 { 0.5 } else { 1.0 / 3.0 };
    if body.contacts.is_empty() {
        Some((Severity::Serious, Note::NothingUnder))
    } else if body.margin_m < 0.0 {
        Some((Severity::Serious, Note::TipsOver))
    } else if body.margin_m < WANTED_SHARE * body.support_width_m() {
        Some((Severity::Warning, Note::StandsOnLittle))
    } else if body.overhang_share > overhang_limit {
        Some((Severity::Warning, Note::Overhangs))
    } else if body.pane_m2 > 0.0 && body.pane_m2 < TIP_M2 && weight_n > TIP_N {
        Some((Severity::Warning, Note::PointOnGlass))
    } else if body.dug_margin_m < 0.0 && digs {
        Some((Severity::Serious, Note::StandsOnSand))
    } else if body.dug_margin_m < 0.0 {
        Some((Severity::Note, Note::StandsOnSand))
    } else {
        None
    }
}

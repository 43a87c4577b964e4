//! Corals that lie outside the water, under the sand, in rock or in each other.

use glam::DVec3;

use super::mistake;
use crate::catalog::Form;
use crate::scene::finding::{Figure, Finding, Note, Severity};
use crate::scene::solids::{CoralBody, coral_body, form_of};
use crate::scene::{Coral, Support};
use crate::study::Study;
use crate::units::M_PER_CM;

/// How far a base may lie off its mount or in it, in m.
const OFF_MOUNT_M: f64 = 0.015;

/// How far a body may reach through a pane or the surface, in m.
const THROUGH_M: f64 = 0.005;

/// How deep in rock a part of a body counts, in m.
const IN_ROCK_M: f64 = 0.005;

/// Share of a body in rock from which on it is told of. Our choice.
const IN_ROCK_SHARE: f64 = 0.4;

pub(super) fn mistakes(study: &Study) -> Vec<Finding> {
    let corals = &study.layout().corals;
    let mut all: Vec<Finding> = Vec::new();
    let mut sound = Vec::new();
    for coral in corals {
        match one(study, coral) {
            Some(found) => all.push(found),
            None => sound.push(coral),
        }
    }
    for (i, a) in sound.iter().enumerate() {
        for b in &sound[i + 1..] {
            all.extend(in_one_place(a, b));
        }
    }
    all
}

/// The worst that is wrong with one coral.
fn one(study: &Study, coral: &Coral) -> Option<Finding> {
    let tank = &study.scene().tank;
    let high_m = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm) * M_PER_CM;
    let sand_m = tank.sand.depth_cm * M_PER_CM;
    let form = form_of(coral, study.catalog());
    let body = coral_body(coral, form);
    let middle_m = at(&body, DVec3::Z * 0.5);
    let half_m = coral.size_cm * (M_PER_CM / 2.0);
    let tell = |note, severity| mistake(note, severity, &[coral.id], [middle_m, half_m]);
    let mut points_m = points(&body);
    points_m.push(at(&body, DVec3::Z));
    let out_m = |p: &DVec3| {
        let sideways = (-p.truncate()).max((*p - high_m).truncate());
        sideways.max_element()
    };
    if out_m(&middle_m) > 0.0 || middle_m.z > high_m.z {
        return Some(tell(Note::OutsideWater, Severity::Serious));
    }
    if middle_m.z < sand_m {
        return Some(tell(Note::UnderSand, Severity::Serious));
    }
    if is_in_rock(study, coral, form, &points_m) {
        return Some(tell(Note::InsideRock, Severity::Serious));
    }
    let through_m = points_m.iter().map(out_m).fold(0.0, f64::max);
    if through_m > THROUGH_M {
        let found = tell(Note::ThroughPane, Severity::Warning);
        return Some(found.with(Figure::Gap, through_m / M_PER_CM));
    }
    let above_m = points_m.iter().map(|p| p.z - high_m.z).fold(0.0, f64::max);
    if above_m > THROUGH_M {
        let found = tell(Note::OutOfWater, Severity::Warning);
        return Some(found.with(Figure::Gap, above_m / M_PER_CM));
    }
    let off_m = off_mount_m(study, coral)?;
    (off_m > OFF_MOUNT_M).then(|| {
        let found = tell(Note::OffMount, Severity::Warning);
        found.with(Figure::Gap, off_m / M_PER_CM)
    })
}

/// How far its base hangs above what it sits on, in m; negative inside.
fn off_mount_m(study: &Study, coral: &Coral) -> Option<f64> {
    match coral.on {
        Support::Sand => Some((coral.at_cm.z - study.scene().tank.sand.depth_cm) * M_PER_CM),
        Support::Rock(id) => {
            let solid = study.rock_solid(id)?;
            Some(solid.signed_distance(coral.at_cm * M_PER_CM))
        }
    }
}

fn is_in_rock(study: &Study, coral: &Coral, form: Option<Form>, points_m: &[DVec3]) -> bool {
    let rockwork = study.rockwork();
    let sunk = off_mount_m(study, coral).is_some_and(|off_m| off_m < -OFF_MOUNT_M);
    let on_rock = matches!(coral.on, Support::Rock(_));
    let deep = |p: &&DVec3| rockwork.nearest(**p).is_some_and(|(d, _)| d < -IN_ROCK_M);
    let share = points_m.iter().filter(deep).count() as f64 / points_m.len() as f64;
    // Mats and crusts lie on rock: only their base counts.
    let lies_flat = form.is_some_and(Form::creeps);
    (on_rock && sunk) || (!lies_flat && share > IN_ROCK_SHARE)
}

/// A place in a body, by its own axes from its base, 1 at its edge.
fn at(body: &CoralBody, own: DVec3) -> DVec3 {
    body.base_m + body.tank_from_coral * (own * body.reach_m)
}

/// Points over the half ellipsoid of a body.
fn points(body: &CoralBody) -> Vec<DVec3> {
    const AROUND: usize = 8;
    let rings = [0.3_f64, 0.6, 0.85].into_iter().flat_map(|up| {
        let wide = (1.0 - up * up).sqrt();
        (0..AROUND).map(move |step| {
            let turn = step as f64 / AROUND as f64 * std::f64::consts::TAU;
            DVec3::new(wide * turn.cos(), wide * turn.sin(), up)
        })
    });
    rings.map(|own| at(body, own)).collect()
}

/// Two corals whose middles lie within a quarter of their widths together.
fn in_one_place(a: &Coral, b: &Coral) -> Option<Finding> {
    let middle = |c: &Coral| c.at_cm + c.facing.normalize_or(DVec3::Z) * (c.size_cm.z / 2.0);
    let width = |c: &Coral| c.size_cm.x.max(c.size_cm.y);
    let apart_cm = middle(a).distance(middle(b));
    (apart_cm < (width(a) + width(b)) / 4.0).then(|| {
        let at_m = (middle(a) + middle(b)) / 2.0 * M_PER_CM;
        let half_m = DVec3::splat(width(a).max(width(b)) / 2.0 * M_PER_CM);
        let ids = [a.id, b.id];
        let found = mistake(Note::InOnePlace, Severity::Warning, &ids, [at_m, half_m]);
        found.with(Figure::Gap, apart_cm)
    })
}

//! What each engine's result depends on: when none of it changes, the result
//! stays, whatever else is edited.

use std::sync::Arc;

use super::berthing::Place;
use crate::advice::BerthFilters;
use crate::scene::{Coral, ItemId, Lamp, Layout, Pump, Rock, Scene};
use crate::study::Study;

/// One layout of a scene as an engine sees it.
///
/// Keys are made several times a frame: this holds the scene itself, and looks
/// into it only when it is another one.
#[derive(Clone, Debug)]
struct Subject {
    scene: Arc<Scene>,
    layout_idx: usize,
}

impl Subject {
    fn new(study: &Study) -> Self {
        Self {
            scene: Arc::clone(study.scene()),
            layout_idx: study.layout_idx(),
        }
    }

    fn layout(&self) -> Option<&Layout> {
        self.scene.layouts.get(self.layout_idx)
    }

    /// Whether tank and layout are the same, as far as `is_same` looks at the
    /// layouts.
    fn is_like(&self, other: &Self, is_same: fn(&Layout, &Layout) -> bool) -> bool {
        if Arc::ptr_eq(&self.scene, &other.scene) && self.layout_idx == other.layout_idx {
            return true;
        }
        match (self.layout(), other.layout()) {
            (Some(a), Some(b)) => is_same(a, b) && self.scene.tank == other.scene.tank,
            _ => false,
        }
    }
}

/// All that the flow estimate depends on.
#[derive(Clone, Debug)]
pub(super) struct WaterKey {
    about: Subject,
    limit_m_s: f64,
}

impl WaterKey {
    pub(super) fn new(study: &Study) -> Self {
        Self {
            about: Subject::new(study),
            limit_m_s: study.limits().dead_limit_m_s,
        }
    }
}

impl PartialEq for WaterKey {
    fn eq(&self, other: &Self) -> bool {
        self.limit_m_s == other.limit_m_s
            && self.about.is_like(&other.about, |a, b| {
                all_same(&a.pumps, &b.pumps, is_same_pump) && has_same_solids(a, b)
            })
    }
}

/// All that the light depends on.
#[derive(Clone, Debug)]
pub(super) struct LightKey {
    about: Subject,
    measured_version: u64,
}

impl LightKey {
    pub(super) fn new(study: &Study, measured_version: u64) -> Self {
        Self {
            about: Subject::new(study),
            measured_version,
        }
    }
}

impl PartialEq for LightKey {
    fn eq(&self, other: &Self) -> bool {
        self.measured_version == other.measured_version
            && self.about.is_like(&other.about, |a, b| {
                all_same(&a.lamps, &b.lamps, is_same_lamp) && has_same_solids(a, b)
            })
    }
}

/// Whether rocks and corals are the same to water and light.
fn has_same_solids(a: &Layout, b: &Layout) -> bool {
    all_same(&a.rocks, &b.rocks, is_same_rock) && all_same(&a.corals, &b.corals, is_same_coral)
}

fn all_same<T>(a: &[T], b: &[T], is_same: fn(&T, &T) -> bool) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| is_same(a, b))
}

// Below every field is named, so that a new one is thought of here: a name or
// a note is nothing to water and light.

fn is_same_pump(a: &Pump, b: &Pump) -> bool {
    let Pump {
        id,
        kind,
        at_cm,
        turn_deg,
        tilt_deg,
        flow_lph,
        outlet_cm,
        throttle,
        programme,
        name: _,
        power_w: _,
        locked: _,
    } = a;
    (id, kind, at_cm, programme) == (&b.id, &b.kind, &b.at_cm, &b.programme)
        && (turn_deg, tilt_deg) == (&b.turn_deg, &b.tilt_deg)
        && (flow_lph, outlet_cm, throttle) == (&b.flow_lph, &b.outlet_cm, &b.throttle)
}

fn is_same_lamp(a: &Lamp, b: &Lamp) -> bool {
    let Lamp {
        id,
        body,
        at_cm,
        turn_deg,
        tilt_deg,
        output,
        spread,
        dim,
        day,
        name: _,
        locked: _,
    } = a;
    (id, body, at_cm) == (&b.id, &b.body, &b.at_cm)
        && (turn_deg, tilt_deg) == (&b.turn_deg, &b.tilt_deg)
        && (output, spread, dim, day) == (&b.output, &b.spread, &b.dim, &b.day)
}

fn is_same_rock(a: &Rock, b: &Rock) -> bool {
    let Rock {
        id,
        at_cm,
        turn_deg,
        tilt_deg,
        plan,
        front,
        end,
        rounding_cm,
        reflectance,
        name: _,
        density_kg_per_l: _,
        bonded: _,
        locked: _,
    } = a;
    (id, at_cm) == (&b.id, &b.at_cm)
        && (turn_deg, tilt_deg) == (&b.turn_deg, &b.tilt_deg)
        && (plan, front, end) == (&b.plan, &b.front, &b.end)
        && (rounding_cm, reflectance) == (&b.rounding_cm, &b.reflectance)
}

fn is_same_coral(a: &Coral, b: &Coral) -> bool {
    let Coral {
        id,
        entry,
        at_cm,
        facing,
        size_cm,
        mount,
        on,
        name: _,
        since: _,
        note: _,
        locked: _,
    } = a;
    (id, entry) == (&b.id, &b.entry)
        && (at_cm, facing, size_cm) == (&b.at_cm, &b.facing, &b.size_cm)
        && (mount, on) == (&b.mount, &b.on)
}

/// All that the findings depend on beside the fields.
///
/// It is made several times a frame: it holds the scene itself, and looks into
/// it only when it is another one.
#[derive(Clone, Debug)]
pub(super) struct AdviceKey {
    pub(super) scene: Arc<Scene>,
    pub(super) layout_idx: usize,
    pub(super) limit_cm_s: f64,
    pub(super) shade_share: f64,
    pub(super) months: f64,
    pub(super) water_version: u64,
    pub(super) light_version: u64,
}

impl AdviceKey {
    /// Whether the parts of the scene that advice looks at are the same.
    fn is_about_the_same(&self, other: &Self) -> bool {
        if Arc::ptr_eq(&self.scene, &other.scene) {
            return self.layout_idx == other.layout_idx;
        }
        let (a, b) = (&self.scene, &other.scene);
        a.layouts.get(self.layout_idx) == b.layouts.get(other.layout_idx)
            && a.tank == b.tank
            && a.readings == b.readings
            && a.animals == b.animals
    }
}

impl PartialEq for AdviceKey {
    fn eq(&self, other: &Self) -> bool {
        let figures = |key: &Self| (key.limit_cm_s, key.shade_share, key.months);
        let versions = |key: &Self| (key.water_version, key.light_version);
        figures(self) == figures(other)
            && versions(self) == versions(other)
            && self.is_about_the_same(other)
    }
}

/// All that berths and candidates depend on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct BerthKey {
    pub(super) advice: AdviceKey,
    pub(super) chosen: Option<String>,
    pub(super) own: Option<ItemId>,
    pub(super) filters: BerthFilters,
    pub(super) place: Option<Place>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::{demos, parse};

    fn demo() -> Scene {
        let demo = demos().first().expect("there is a demo");
        parse(demo.text, demo.file).expect("it reads").scene
    }

    fn keys(scene: &Scene, layout_idx: usize) -> (WaterKey, LightKey) {
        let study = Study::with_built_in(scene, layout_idx).expect("a layout");
        (WaterKey::new(&study), LightKey::new(&study, 0))
    }

    /// Whether the water and the light stay after a change of the demo.
    fn stays(change: impl FnOnce(&mut Layout)) -> (bool, bool) {
        let mut scene = demo();
        let before = keys(&scene, 0);
        change(&mut scene.layouts[0]);
        let after = keys(&scene, 0);
        (before.0 == after.0, before.1 == after.1)
    }

    #[test]
    fn each_engine_starts_over_for_what_concerns_it_alone() {
        let cases = [
            ("nothing", stays(|_| {}), (true, true)),
            (
                "names, notes and locks",
                stays(|it| {
                    it.name.push('x');
                    it.rocks[0].name.push('x');
                    it.rocks[0].density_kg_per_l += 0.1;
                    it.pumps[0].locked = true;
                    it.lamps[0].name.push('x');
                    it.corals[0].note.push('x');
                }),
                (true, true),
            ),
            (
                "a pump turned",
                stays(|it| it.pumps[0].turn_deg += 1.0),
                (false, true),
            ),
            (
                "a lamp dimmed",
                stays(|it| it.lamps[0].dim *= 0.5),
                (true, false),
            ),
            (
                "a rock moved",
                stays(|it| it.rocks[0].at_cm.x += 1.0),
                (false, false),
            ),
            (
                "a coral grown",
                stays(|it| it.corals[0].size_cm *= 1.1),
                (false, false),
            ),
            (
                "a coral removed",
                stays(|it| drop(it.corals.pop())),
                (false, false),
            ),
        ];
        for (what, found, expected) in cases {
            assert_eq!(found, expected, "{what}: whether water and light stay");
        }
    }

    #[test]
    fn layouts_are_told_apart_by_what_is_in_them() {
        let mut scene = demo();
        let mut copy = scene.layouts[0].clone();
        copy.name.push('2');
        scene.layouts.push(copy.clone());
        copy.pumps.clear();
        scene.layouts.push(copy);
        let first = keys(&scene, 0);
        assert!(
            first == keys(&scene, 1),
            "a copy has the same water and light"
        );
        let third = keys(&scene, 2);
        assert!(first.0 != third.0, "no pumps, other water");
        assert!(first.1 == third.1, "no pumps, same light");
    }
}

//! What can be asked of the engines. A query holds what it is computed from,
//! and two are the same if the parts of the study that they read are: a name or
//! a note is nothing to water and light. Whether a result is old follows from
//! that and is kept nowhere.

use std::sync::{Arc, Weak};

use super::Levels;
use super::advising::AdviceNews;
use super::berthing::{BerthNews, Place};
use super::comparing::Compared;
use super::lighting::LightNews;
use super::water::{SliceNews, TankNews};
use crate::advice::BerthFilters;
use crate::flow::FlowField;
use crate::light::{LightField, LightPlane, LightSolver, Measured};
use crate::scene::{Coral, ItemId, Lamp, Pump, Rock};
use crate::study::Study;

/// A question to the engines with all that its answer depends on.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Query {
    /// Flow at the levels of the views.
    Slices(FlowKey, Levels),
    /// Flow in the whole tank.
    Tank(FlowKey),
    /// Further runs of a tank whose plain estimate is known.
    Ensemble(FlowKey, Same<FlowField>),
    /// Light on rock and sand.
    Light(LightKey),
    /// Light at the levels of the views.
    Planes(Same<LightSolver>, Levels),
    /// What is to be noticed.
    Advice(Box<AdviceKey>),
    /// Where a coral could go, what could live at a place.
    Berths(Box<BerthKey>),
    /// Two layouts set against each other.
    Compare(Box<CompareKey>),
}

/// Queries that are answered one after the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lane {
    Slices,
    Flow,
    Light,
    Planes,
    Advice,
    Berths,
    Compare,
}

impl Query {
    pub(super) fn lane(&self) -> Lane {
        match self {
            Self::Slices(..) => Lane::Slices,
            Self::Tank(_) | Self::Ensemble(..) => Lane::Flow,
            Self::Light(_) => Lane::Light,
            Self::Planes(..) => Lane::Planes,
            Self::Advice(_) => Lane::Advice,
            Self::Berths(_) => Lane::Berths,
            Self::Compare(_) => Lane::Compare,
        }
    }

    /// Whether nobody waits to see it move.
    pub(super) fn gives_way_at_once(&self) -> bool {
        matches!(self, Self::Ensemble(..))
    }
}

/// What the engines answer, as far as it is known.
pub(super) enum Answer {
    Slice(SliceNews),
    Tank(TankNews),
    Ensemble(Arc<FlowField>),
    Light(LightNews),
    Planes([Arc<LightPlane>; 3]),
    Advice(AdviceNews),
    Berths(BerthNews),
    Compare(Arc<Compared>),
}

/// Tells one shared value from another, and keeps none alive.
#[derive(Debug)]
pub(super) struct Same<T>(Weak<T>);

impl<T> Same<T> {
    pub(super) fn of(value: &Arc<T>) -> Self {
        Self(Arc::downgrade(value))
    }
}

impl<T> Clone for Same<T> {
    fn clone(&self) -> Self {
        Self(Weak::clone(&self.0))
    }
}

impl<T> PartialEq for Same<T> {
    fn eq(&self, other: &Self) -> bool {
        Weak::ptr_eq(&self.0, &other.0)
    }
}

/// All that the flow estimate depends on.
#[derive(Clone, Debug)]
pub(super) struct FlowKey {
    pub(super) study: Arc<Study>,
    /// Grows with every edit; it tells which of two is the later one, and is
    /// no part of what is computed.
    pub(super) edit: u64,
}

impl FlowKey {
    pub(super) fn new(study: &Arc<Study>, edit: u64) -> Self {
        Self {
            study: Arc::clone(study),
            edit,
        }
    }
}

impl PartialEq for FlowKey {
    fn eq(&self, other: &Self) -> bool {
        let (a, b) = (&self.study, &other.study);
        let read = |study: &Study| {
            let settings = study.settings();
            (
                settings.limits.dead_limit_m_s,
                settings.cell_m,
                settings.seed,
                settings.on_card,
            )
        };
        Arc::ptr_eq(a, b)
            || (read(a) == read(b)
                && all_same(&a.layout().pumps, &b.layout().pumps, is_same_pump)
                && has_same_obstacles(a, b))
    }
}

/// All that the light depends on.
#[derive(Clone, Debug)]
pub(super) struct LightKey {
    pub(super) study: Arc<Study>,
    pub(super) measured: Arc<Measured>,
}

impl LightKey {
    pub(super) fn new(study: &Arc<Study>, measured: &Arc<Measured>) -> Self {
        Self {
            study: Arc::clone(study),
            measured: Arc::clone(measured),
        }
    }
}

impl PartialEq for LightKey {
    fn eq(&self, other: &Self) -> bool {
        let (a, b) = (&self.study, &other.study);
        Arc::ptr_eq(&self.measured, &other.measured)
            && (Arc::ptr_eq(a, b)
                || (all_same(&a.layout().lamps, &b.layout().lamps, is_same_lamp)
                    && has_same_obstacles(a, b)))
    }
}

/// Whether tank, rocks and corals are the same to water and light.
fn has_same_obstacles(a: &Study, b: &Study) -> bool {
    let (one, other) = (a.layout(), b.layout());
    all_same(&one.rocks, &other.rocks, is_same_rock)
        && all_same(&one.corals, &other.corals, is_same_coral)
        && a.scene().tank == b.scene().tank
        && Arc::ptr_eq(a.catalog(), b.catalog())
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
        measured,
        name: _,
        power_w: _,
        guarded: _,
        by_hour: _,
        locked: _,
    } = a;
    (id, kind, at_cm, programme) == (&b.id, &b.kind, &b.at_cm, &b.programme)
        && measured == &b.measured
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
        measured,
        name: _,
        locked: _,
    } = a;
    (id, body, at_cm, measured) == (&b.id, &b.body, &b.at_cm, &b.measured)
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
        scan,
        rounding_cm,
        reflectance,
        name: _,
        density_kg_per_l: _,
        bonded: _,
        locked: _,
    } = a;
    (id, at_cm) == (&b.id, &b.at_cm)
        && (turn_deg, tilt_deg) == (&b.turn_deg, &b.tilt_deg)
        && (plan, front, end, scan) == (&b.plan, &b.front, &b.end, &b.scan)
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

/// All that the findings depend on.
#[derive(Clone, Debug)]
pub(super) struct AdviceKey {
    /// The layout as it is looked at.
    pub(super) shown: Arc<Study>,
    /// The layout of today, from which growth is dated.
    pub(super) today: Arc<Study>,
    pub(super) fields: Fields,
    /// The water of today.
    pub(super) flow_today: Option<Same<FlowField>>,
}

/// Which flow and light of a layout are known.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fields {
    pub(super) flow: Option<Same<FlowField>>,
    pub(super) light: Option<Same<LightField>>,
}

impl PartialEq for AdviceKey {
    fn eq(&self, other: &Self) -> bool {
        self.fields == other.fields
            && self.flow_today == other.flow_today
            && is_same_to_advice(&self.shown, &other.shown)
            && is_same_to_advice(&self.today, &other.today)
    }
}

/// Whether the parts of a study that advice looks at are the same.
fn is_same_to_advice(a: &Arc<Study>, b: &Arc<Study>) -> bool {
    let (one, other) = (a.scene(), b.scene());
    Arc::ptr_eq(a, b)
        || (a.settings() == b.settings()
            && a.layout() == b.layout()
            && one.tank == other.tank
            && one.readings == other.readings
            && one.animals == other.animals
            && Arc::ptr_eq(a.catalog(), b.catalog()))
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

/// All that a comparison depends on.
#[derive(Clone, Debug)]
pub(super) struct CompareKey {
    /// All layouts as they are looked at, with what is known of each.
    pub(super) layouts: Vec<(Arc<Study>, Fields)>,
    /// The other layout and the shown one, of today.
    pub(super) today: [Arc<Study>; 2],
    pub(super) other_idx: usize,
    pub(super) chosen: Option<String>,
    pub(super) filters: BerthFilters,
}

impl PartialEq for CompareKey {
    fn eq(&self, other: &Self) -> bool {
        let is_same = |(a, one): &(Arc<Study>, Fields), (b, two): &(Arc<Study>, Fields)| {
            one == two && is_same_to_advice(a, b)
        };
        let layouts = self.layouts.iter().zip(&other.layouts);
        let today = self.today.iter().zip(&other.today);
        self.layouts.len() == other.layouts.len()
            && layouts.into_iter().all(|(a, b)| is_same(a, b))
            && today.into_iter().all(|(a, b)| is_same_to_advice(a, b))
            && self.other_idx == other.other_idx
            && (&self.chosen, self.filters) == (&other.chosen, other.filters)
    }
}

#[cfg(test)]
mod tests {
    use std::sync::LazyLock;

    use super::*;
    use crate::scene::{Layout, Scene};
    use crate::storage::{demos, parse};

    static MEASURED: LazyLock<Arc<Measured>> = LazyLock::new(Arc::default);

    fn demo() -> Scene {
        let demo = demos().first().expect("there is a demo");
        parse(demo.text, demo.file).expect("it reads").scene
    }

    fn keys(scene: &Scene, layout_idx: usize) -> (FlowKey, LightKey) {
        let study = Study::with_built_in(scene, layout_idx).expect("a layout");
        let study = Arc::new(study);
        (
            FlowKey::new(&study, 1),
            LightKey::new(&study, &Arc::clone(&MEASURED)),
        )
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

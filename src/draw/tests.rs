//! The list of a whole tank: it is the same at any scale, and holds what it
//! should.

use std::sync::Arc;

use glam::{DVec2, DVec3};

use super::*;
use crate::geometry::distance_grid::PARTS;
use crate::geometry::{DistanceGrid, RockSolid};
use crate::scene::shapes::Shape as RockShape;
use crate::scene::{Rock, Scan, Scene};
use crate::study::Study;
use crate::units::{M_PER_CM, UnitSystem};

/// A tank with everything in it.
pub(crate) const HARBOR: &str = include_str!("../../scenes/harbour-office.ron");

fn study() -> Study {
    let scene: Scene = ron::from_str(HARBOR).expect("it reads");
    Study::with_built_in(&scene, 0).expect("a layout")
}

/// Every view cut where a plan of it is.
fn wish(study: &Study, nibs_per_cm: f64) -> RockWish {
    RockWish {
        levels: Levels::of_layout(study.scene(), study.layout()),
        nibs_per_cm,
    }
}

fn list(study: &Study, view: View, nibs_per_cm: f64) -> List {
    let rocks = Rocks::whole(study, &wish(study, nibs_per_cm));
    let facts = Facts::new(study, None);
    let corals = study.layout().corals.iter();
    let mut was = Vec::new();
    let mats: Vec<Mat> = corals
        .filter_map(|coral| mat(study, coral, &mut was))
        .collect();
    let source = Source {
        study,
        corals: study,
        facts: &facts,
        mats: &mats,
        rocks: &rocks,
        units: UnitSystem::Metric,
    };
    List::new(&source, view, nibs_per_cm)
}

/// Box around a mark's places, in cm.
fn extent_cm(mark: &Mark) -> [DVec2; 2] {
    let points = match &mark.shape {
        Shape::Path { points, .. } => points.iter().map(|p| p.at_cm).collect(),
        Shape::Circle { at, radius_cm, .. } => vec![at.at_cm - *radius_cm, at.at_cm + *radius_cm],
        Shape::Area { at_cm, area } => {
            let points = area.rings.iter().flatten();
            points.map(|p| *at_cm + p.as_dvec2()).collect()
        }
        // As many as the scale has room for.
        Shape::Lines { .. } | Shape::Dots { .. } => Vec::new(),
    };
    let none = [DVec2::INFINITY, DVec2::NEG_INFINITY];
    points
        .iter()
        .fold(none, |[low, high], p| [low.min(*p), high.max(*p)])
}

#[test]
fn everything_of_a_tank_is_on_its_list() {
    let study = study();
    let layout = study.layout();
    for view in View::ALL {
        let list = list(&study, view, 6.0);
        let has = |of: Subject| list.marks().any(|mark| mark.of == of);
        for pump in &layout.pumps {
            assert!(has(Subject::Pump(pump.id)), "pump {} in {view:?}", pump.id);
        }
        for lamp in &layout.lamps {
            assert!(has(Subject::Lamp(lamp.id)), "lamp {} in {view:?}", lamp.id);
        }
        for coral in &layout.corals {
            let id = coral.id;
            assert!(has(Subject::Coral(id)), "coral {id} in {view:?}");
        }
        for rock in &layout.rocks {
            assert!(has(Subject::Rock(rock.id)), "rock {} in {view:?}", rock.id);
        }
        let is_cut = |mark: &Mark| matches!(mark.of, Subject::Section(_));
        assert!(list.marks().any(is_cut), "a cut rock in {view:?}");
        for idx in 0..study.scene().tank.returns.len() {
            assert!(has(Subject::Return(idx)), "return {idx} in {view:?}");
        }
        assert!(has(Subject::Tank), "panes in {view:?}");
        assert!(
            list.marks().is_sorted_by_key(|mark| mark.layer),
            "by layers"
        );
    }
}

#[test]
fn places_are_the_same_at_any_scale() {
    let study = study();
    for view in View::ALL {
        let (far, near) = (list(&study, view, 6.0), list(&study, view, 30.0));
        // Only what is too small to be seen is drawn larger, and dots on
        // crusts are fewer: outlines of large things stay as they are.
        let outlines = |list: &List| {
            let marks = list.marks().filter(|mark| {
                let [low, high] = extent_cm(mark);
                mark.fill.is_some() && (high - low).min_element() > 2.0
            });
            marks.cloned().collect::<Vec<Mark>>()
        };
        let (far, near) = (outlines(&far), outlines(&near));
        assert!(far.len() > 4, "some are that large in {view:?}");
        assert_eq!(far, near, "in {view:?}");
    }
}

#[test]
fn corals_are_drawn_at_their_size() {
    let study = study();
    let list = list(&study, View::Top, 12.0);
    let mut n_met = 0;
    for coral in &study.layout().corals {
        let of = Subject::Coral(coral.id);
        let is_outline = |mark: &&Mark| mark.of == of && mark.fill.is_some();
        let Some(mark) = list.marks().find(is_outline) else {
            continue;
        };
        let [low, high] = extent_cm(mark);
        // Lobes may end short of the size: by a third at most.
        let share = (high - low).max_element() / coral.size_cm.truncate().max_element();
        assert!((0.6..1.05).contains(&share), "coral {}: {share}", coral.id);
        n_met += 1;
    }
    assert!(n_met > 2, "some lie open from above");
}

#[test]
fn each_jet_ends_where_its_law_says_and_says_so() {
    let study = study();
    let facts = Facts::new(&study, None);
    let list = list(&study, View::Top, 6.0);
    let mut n_said = 0;
    for (pump, reach) in study.layout().pumps.iter().zip(&facts.reaches) {
        let of = Subject::Pump(pump.id);
        let Some(said) = list.labels.iter().find(|label| label.of == of) else {
            continue;
        };
        n_said += 1;
        let tip = View::Top.flat(reach.tip_cm());
        assert!((said.at_cm - tip).length() < 1e-9, "at its tip");
        let speed = format!("{:.0} cm/s", reach.speed_m_s * 100.0);
        assert!(said.text.starts_with(&speed), "{} of {speed}", said.text);
        let is_tip = |mark: &&Mark| match mark.shape {
            Shape::Circle { at, .. } => mark.of == of && (at.at_cm - tip).length() < 1e-9,
            _ => false,
        };
        assert!(list.marks().any(|mark| is_tip(&mark)), "a ring there");
    }
    assert!(n_said > 0, "a pump blows along the view");
}

#[test]
fn a_lit_pen_is_wider_and_a_steady_one_as_before() {
    let pen = Pen::new(1.2, Ink::Line).faint(0.4);
    assert_eq!(pen.lit().ink, Ink::Accent);
    assert!(pen.lit().width > pen.width && pen.lit().strength > pen.strength);
    assert_eq!(pen.steady().lit(), pen.steady());
}

/// How near a line of sight comes to a rock, in cm: negative through it. Looked
/// for with the solid itself, in steps of half a millimeter.
fn nearest_cm(solid: &RockSolid, view: View, flat_cm: DVec2) -> f64 {
    const STEP_CM: f64 = 0.05;
    let bounds = solid.bounds();
    let ends = [bounds.min_m, bounds.max_m].map(|end| view.depth(end) / M_PER_CM);
    let n = ((ends[1] - ends[0]) / STEP_CM).ceil() as usize;
    let at = |k: usize| view.lift(flat_cm, ends[0] + k as f64 * STEP_CM) * M_PER_CM;
    let all = (0..=n).map(|k| solid.signed_distance(at(k)) / M_PER_CM);
    all.fold(f64::INFINITY, f64::min)
}

/// A scan of 31 × 25 × 19 cm, whose surface waves.
fn scanned() -> Rock {
    let distance = |p: DVec3| {
        let half = DVec3::new(15.0, 12.0, 9.0);
        let wave = 0.4 * (0.5 * p.x).sin() * (0.45 * p.y).cos();
        ((p / half).length() - 1.0) * 7.0 + wave
    };
    let n = [37, 31, 25];
    let middle = DVec3::new(18.0, 15.0, 12.0);
    let mut parts = Vec::new();
    for k in 0..n[2] {
        for j in 0..n[1] {
            for i in 0..n[0] {
                let p = DVec3::new(i as f64, j as f64, k as f64) - middle;
                let part = distance(p) * PARTS;
                parts.push(part.round().clamp(-32_000.0, 32_000.0) as i16);
            }
        }
    }
    let grid = DistanceGrid::new(n, parts).expect("a shape");
    Rock {
        scan: Some(Scan {
            step_cm: 1.0,
            low_cm: -middle + DVec3::Z * 10.0,
            grid: Arc::new(grid),
        }),
        turn_deg: 25.0,
        tilt_deg: 12.0,
        ..RockShape::Boulder.rock(77, DVec3::new(60.0, 30.0, 5.0))
    }
}

/// What is drawn of a rock against the solid itself, point by point.
#[test]
fn outlines_and_cuts_lie_on_the_solid() {
    let mut scene: Scene = ron::from_str(HARBOR).expect("it reads");
    scene.layouts[0].rocks.push(scanned());
    let study = Study::with_built_in(&scene, 0).expect("a layout");
    let wish = wish(&study, 6.0);
    let rocks = Rocks::whole(&study, &wish);
    let mut n_cut = 0;
    for (rock, solid) in study.rocks() {
        let drawn = rocks.rock(rock.id).expect("it is drawn");
        let mut off_cm = Vec::new();
        for view in View::ALL {
            let at_cm = view.flat(rock.at_cm);
            let pieces = drawn.pieces(view).expect("it is seen");
            for p in pieces.outline.rings.iter().flatten() {
                off_cm.push(nearest_cm(solid, view, at_cm + p.as_dvec2()).abs());
            }
            for p in pieces.cut.iter().flat_map(|cut| cut.rings.iter().flatten()) {
                let at = view.lift(at_cm + p.as_dvec2(), wish.levels.of(view));
                off_cm.push((solid.signed_distance(at * M_PER_CM) / M_PER_CM).abs());
                n_cut += 1;
            }
        }
        assert!(off_cm.len() > 200, "rock {} has points", rock.id);
        let square: f64 = off_cm.iter().map(|off| off * off).sum();
        let usual = (square / off_cm.len() as f64).sqrt();
        // The width of a line on paper as large as the tank.
        assert!(usual < 0.05, "rock {} is off by {usual} cm", rock.id);
        // A sharp edge lies between nodes and is cut off there: by less than
        // half of what lies between them.
        let most = off_cm.iter().copied().fold(0.0, f64::max);
        let half_cm = f64::from(drawn.volume.step_cm) / 2.0;
        assert!(most < half_cm, "rock {} by {most} cm somewhere", rock.id);
    }
    assert!(n_cut > 500, "cuts go through rocks: {n_cut} points");
}

#[test]
fn rocks_brought_on_a_piece_at_a_time_are_those_made_at_once() {
    let mut scene: Scene = ron::from_str(HARBOR).expect("it reads");
    let mut study = Study::with_built_in(&scene, 0).expect("a layout");
    let mut rocks = Rocks::default();
    for step in 0..4_usize {
        let rock = &mut scene.layouts[0].rocks[step];
        match step {
            0 => rock.at_cm.z += 3.0,
            1 => rock.turn_deg += 30.0,
            2 => rock.rounding_cm += 0.5,
            _ => rock.at_cm.y -= 2.0,
        }
        study = study
            .after(Arc::new(scene.clone()), 0)
            .expect("still a layout");
        let wish = wish(&study, 6.0 + step as f64);
        // Late after the first thing that is done, again and again.
        let mut n_rounds = 0;
        loop {
            let asked = std::cell::Cell::new(0);
            let is_late = || asked.replace(asked.get() + 1) > 0;
            let is_done = rocks.draw_shapes(&study, &is_late)
                && rocks.cut(&study, &wish, &is_late)
                && rocks.refine(&study, &is_late);
            n_rounds += 1;
            if is_done {
                break;
            }
        }
        assert!(n_rounds > 2, "it took rounds");
        let at_once = Rocks::whole(&study, &wish);
        for view in View::ALL {
            let marks = rock::marks(view, &study, &rocks);
            let anew = rock::marks(view, &study, &at_once);
            assert_eq!(marks, anew, "after step {step} in {view:?}");
        }
    }
}

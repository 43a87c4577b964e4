//! The list of a whole tank: it is the same at any scale, and holds what it
//! should.

use super::*;
use crate::scene::Scene;
use crate::study::Study;
use crate::units::UnitSystem;

/// A tank with everything in it.
pub(crate) const HARBOR: &str = include_str!("../../scenes/harbour-office.ron");

fn study() -> Study {
    let scene: Scene = ron::from_str(HARBOR).expect("it reads");
    Study::with_built_in(&scene, 0).expect("a layout")
}

fn list(study: &Study, view: View, nibs_per_cm: f64) -> List {
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
        units: UnitSystem::Metric,
    };
    List::new(&source, view, nibs_per_cm)
}

/// Box around a mark's places, in cm.
fn extent_cm(mark: &Mark) -> [glam::DVec2; 2] {
    let points = match &mark.shape {
        Shape::Path { points, .. } => points.iter().map(|p| p.at_cm).collect(),
        Shape::Circle { at, radius_cm, .. } => vec![at.at_cm - *radius_cm, at.at_cm + *radius_cm],
    };
    let none = [glam::DVec2::INFINITY, glam::DVec2::NEG_INFINITY];
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
        let has = |of: Subject| list.marks.iter().any(|mark| mark.of == of);
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
        for idx in 0..study.scene().tank.returns.len() {
            assert!(has(Subject::Return(idx)), "return {idx} in {view:?}");
        }
        assert!(has(Subject::Tank), "panes in {view:?}");
        assert!(list.marks.is_sorted_by_key(|mark| mark.layer), "by layers");
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
            let marks = list.marks.iter().filter(|mark| {
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
        let Some(mark) = list.marks.iter().find(is_outline) else {
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
            Shape::Path { .. } => false,
        };
        assert!(list.marks.iter().any(|mark| is_tip(&mark)), "a ring there");
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

//! Small scenes and fields with known contents.

use bommie::advice::{AdviceInput, AdviceOptions, Finding};
use bommie::flow::{CellKind, ComputedOn, Estimate, FlowField, Settling};
use bommie::geometry::CellGrid;
use bommie::light::LightField;
use bommie::scene::{Layout, Outline, Rock, Scene};
use bommie::study::{Study, StudySettings};
use bommie::units::UnitSystem;
use bommie::words::Speaker;
use glam::{DVec2, DVec3};

/// A 100 × 50 × 45 cm tank filled to 40 cm over 4 cm of 1 mm sand, with the
/// given layout in it.
pub(crate) fn scene(layout: Layout) -> Scene {
    let text = r#"(
        format: 1, name: "hand",
        tank: (length_cm: 100.0, width_cm: 50.0, height_cm: 45.0, water_cm: 40.0,
            sand: (depth_cm: 4.0, grain_mm: 1.0, reflectance: 0.5)),
        layouts: [],
    )"#;
    let mut scene: Scene = ron::from_str(text).expect("the scene reads");
    scene.layouts.push(layout);
    scene
}

/// Who says things about a scene's first layout, in metric units.
pub(crate) fn speaker(scene: &Scene) -> Speaker<'_> {
    Speaker::new(scene, &scene.layouts[0], UnitSystem::Metric)
}

/// A finding in words.
pub(crate) fn say(scene: &Scene, finding: &Finding) -> String {
    speaker(scene).finding(finding)
}

/// A block of rock: its base's middle at `at_cm`, its whole size in cm.
pub(crate) fn block(id: u32, name: &str, at_cm: (f64, f64, f64), size_cm: (f64, f64, f64)) -> Rock {
    let rectangle = |low: (f64, f64), high: (f64, f64)| Outline {
        points_cm: [
            (low.0, low.1),
            (high.0, low.1),
            (high.0, high.1),
            (low.0, high.1),
        ]
        .map(DVec2::from)
        .to_vec(),
        curved: false,
        openings: vec![],
    };
    let (x, y, z) = (size_cm.0 / 2.0, size_cm.1 / 2.0, size_cm.2);
    Rock {
        id,
        name: name.to_owned(),
        at_cm: DVec3::from(at_cm),
        turn_deg: 0.0,
        tilt_deg: 0.0,
        plan: rectangle((-x, -y), (x, y)),
        front: rectangle((-x, 0.0), (x, z)),
        end: None,
        scan: None,
        rounding_cm: 0.0,
        reflectance: 0.25,
        density_kg_per_l: 1.5,
        bonded: None,
        locked: false,
    }
}

/// A settled tank estimate of [`scene`]'s tank in 2 cm cells: sand below 4 cm,
/// water above, everywhere at `speed_m_s` along x.
pub(crate) fn even_flow(speed_m_s: f32) -> FlowField {
    let grid = CellGrid {
        origin_m: DVec3::ZERO,
        cell_m: 0.02,
        n: [50, 25, 20],
    };
    let n = grid.n_cells();
    let kind: Vec<CellKind> = (0..n)
        .map(|idx| {
            if grid.ijk(idx)[2] < 2 {
                CellKind::Sand
            } else {
                CellKind::Water
            }
        })
        .collect();
    let speed: Vec<f32> = kind
        .iter()
        .map(|kind| {
            if *kind == CellKind::Water {
                speed_m_s
            } else {
                0.0
            }
        })
        .collect();
    FlowField {
        grid,
        estimate: Estimate::Tank,
        kind,
        velocity_m_s: speed.iter().map(|&u| [u, 0.0, 0.0]).collect(),
        fluctuation_m_s: vec![0.0; n],
        slow_share: vec![0.0; n],
        speed_half_width_m_s: vec![0.0; n],
        slow_limit_m_s: 0.02,
        settling: Settling {
            settled: true,
            averaged_s: 60.0,
            mean_speed_m_s: speed_m_s.into(),
            mean_speed_half_width_m_s: 0.0,
            dead_share: 0.0,
            dead_share_half_width: 0.0,
            flip_share: 0.0,
        },
        computed_on: ComputedOn::default(),
        n_runs: 1,
        may_flip: Vec::new(),
        phases: Vec::new(),
        felt: bommie::flow::felt::FeltSource::default(),
        speed_m_s: speed,
    }
}

/// Sets the speed of all water cells whose middle lies in a box (in m).
pub(crate) fn set_speed(field: &mut FlowField, low_m: DVec3, high_m: DVec3, speed_m_s: f32) {
    for idx in 0..field.grid.n_cells() {
        let at = field.grid.center_m(field.grid.ijk(idx));
        let inside = at.cmpge(low_m).all() && at.cmple(high_m).all();
        if inside && field.kind[idx] == CellKind::Water {
            field.speed_m_s[idx] = speed_m_s;
            field.velocity_m_s[idx] = [speed_m_s, 0.0, 0.0];
        }
    }
}

/// Advice input with the built-in catalogue.
pub(crate) fn input<'a>(
    scene: &Scene,
    flow: Option<&'a FlowField>,
    light: Option<&'a LightField>,
    options: &AdviceOptions,
) -> AdviceInput<'a> {
    let settings = StudySettings {
        limits: options.clone(),
        ..StudySettings::default()
    };
    let study = Study::with_built_in(scene, 0).expect("there is a layout");
    // It lives as long as the test, whose name and fields it outlives.
    let study = Box::leak(Box::new(study.with_settings(settings)));
    AdviceInput {
        flow,
        light,
        ..AdviceInput::of(study)
    }
}

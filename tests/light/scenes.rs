//! Small tanks for the light tests.
#![allow(
    dead_code,
    unreachable_pub,
    clippy::allow_attributes,
    reason = "each test file uses some of these"
)]

use bommie::scene::{
    Body, Day, Lamp, Layout, Outline, Output, Rock, Sand, Scene, Sides, Spread, Tank, Water,
};
use glam::{DVec2, DVec3};

/// A tank with water to 5 cm below its rim and nothing in it.
pub fn tank_of(length_cm: f64, width_cm: f64, water_cm: f64) -> Scene {
    Scene {
        format: 1,
        name: "test".to_owned(),
        tank: Tank {
            length_cm,
            width_cm,
            height_cm: water_cm + 5.0,
            water_cm,
            sand: Sand::default(),
            sides: Sides::default(),
            panes: bommie::scene::Panes::default(),
            water: Water::default(),
            returns: vec![],
            overflow: None,
        },
        layouts: vec![Layout::default()],
        readings: vec![],
        animals: vec![],
        underlays: vec![],
    }
}

/// A 30 × 20 cm panel of matt light.
pub fn lamp(x_cm: f64, y_cm: f64, z_cm: f64, umol_s: f64) -> Lamp {
    Lamp {
        id: 3,
        name: "panel".to_owned(),
        body: Body::Panel {
            length_cm: 30.0,
            width_cm: 20.0,
        },
        at_cm: DVec3::new(x_cm, y_cm, z_cm),
        turn_deg: 0.0,
        tilt_deg: 0.0,
        output: Output::Photons { umol_s },
        spread: Spread::default(),
        dim: 1.0,
        day: Day::default(),
        measured: None,
        locked: false,
    }
}

/// Hangs `lamps` over the first layout.
pub fn with_lamps(scene: &mut Scene, lamps: Vec<Lamp>) {
    scene.layouts[0].lamps = lamps;
}

/// An outline of straight edges.
pub fn outline(points_cm: &[(f64, f64)], openings: &[&[(f64, f64)]]) -> Outline {
    let curve = |points: &[(f64, f64)]| points.iter().map(|p| DVec2::from(*p)).collect();
    Outline {
        points_cm: curve(points_cm),
        curved: false,
        openings: openings.iter().map(|hole| curve(hole)).collect(),
    }
}

/// A rock from two outlines.
pub fn rock(id: u32, at_cm: (f64, f64, f64), plan: Outline, front: Outline) -> Rock {
    Rock {
        id,
        name: format!("rock {id}"),
        at_cm: DVec3::from(at_cm),
        turn_deg: 0.0,
        tilt_deg: 0.0,
        plan,
        front,
        end: None,
        scan: None,
        rounding_cm: 0.0,
        reflectance: 0.25,
        density_kg_per_l: 1.5,
        bonded: None,
        locked: false,
    }
}

/// A rectangle.
pub fn rect(a: (f64, f64), b: (f64, f64)) -> Vec<(f64, f64)> {
    vec![(a.0, a.1), (b.0, a.1), (b.0, b.1), (a.0, b.1)]
}

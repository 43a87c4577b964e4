//! Light against closed forms and tables.
//!
//! Goal: each factor of the direct term (spreading, cosine, Fresnel,
//! absorption, shape of the lamp) is right by itself. Method: scenes so small
//! that one factor remains, compared with a formula or a table that this
//! program did not make.

#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::allow_attributes,
    reason = "prints the figures of the methods page; a broken test scene must stop it"
)]

use std::f64::consts::PI;

use super::scenes::{lamp, tank_of, with_lamps};
use bommie::light::{LightOptions, LightSolver, Measured, optics};
use bommie::scene::{Body, Lamp, Output, Scene, Spread};
use bommie::study::Study;
use glam::DVec3;

/// A study of the first layout.
fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

fn direct(scene: &Scene) -> LightSolver {
    let options = LightOptions {
        lamp_points: 3.0,
        ..LightOptions::direct()
    };
    LightSolver::new(&study(scene), &Measured::new(), &options).expect("scene solves")
}

fn table(text: &str) -> Vec<Vec<f64>> {
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| {
            line.split(',')
                .map(|cell| cell.parse().expect("number"))
                .collect()
        })
        .collect()
}

#[test]
fn fresnel_agrees_with_the_table() {
    // The table holds five digits. Its pane column adds the two faces with
    // reflectances averaged over polarization first, which is up to 0.0014
    // more than adding each polarization by itself, as is done here.
    for row in table(include_str!("../data/light_fresnel_n134.csv")) {
        let cos = row[0].to_radians().cos();
        let pairs = [
            (1.1e-5, optics::air_to_water(cos, 1.34), row[1]),
            (1.1e-5, optics::surface_from_below(cos, 1.34), row[3]),
            (1.4e-3, optics::clear_pane(cos, 1.34), row[4]),
        ];
        for (tolerance, found, tabled) in pairs {
            assert!(
                (found - tabled).abs() < tolerance,
                "at {}°: {found}, table {tabled}",
                row[0]
            );
        }
    }
}

#[test]
fn a_black_pane_returns_what_its_face_does() {
    // Straight on ((1.52 − 1.34) / (1.52 + 1.34))² by hand; at 70° by hand from
    // Fresnel's equations: sine 0.8284 and cosine 0.5601 in the glass.
    let straight = optics::black_pane(1.0, 1.34);
    assert!((straight - 0.003_961).abs() < 1e-6, "{straight}");
    let steep = optics::black_pane(70.0_f64.to_radians().cos(), 1.34);
    assert!((steep - 0.0615).abs() < 5e-4, "{steep}");
    let grazing = optics::black_pane(1e-6, 1.34);
    assert!(grazing > 0.999, "{grazing}");
}

#[test]
fn a_corner_of_poorer_panes_is_darker_and_a_black_one_is_not_dead() {
    let lit = |share: f64, sides: bommie::scene::Side| {
        let mut scene = tank_of(60.0, 45.0, 40.0);
        scene.tank.panes.returned_share = share;
        scene.tank.sides.left = sides;
        with_lamps(&mut scene, vec![lamp(30.0, 22.0, 60.0, 120.0)]);
        let options = LightOptions::default();
        let solver =
            LightSolver::new(&study(&scene), &Measured::new(), &options).expect("scene solves");
        solver.sample(DVec3::new(0.02, 0.22, 0.05), None).up_umol
    };
    use bommie::scene::Side::{Black, Clear};
    let (flawless, real, black) = (lit(1.0, Clear), lit(0.6, Clear), lit(1.0, Black));
    assert!(real < flawless, "{real} of {flawless}");
    assert!(black < real, "a black pane takes more: {black} of {real}");
    // Beside a pane the mirror image of a wide lamp brings about as much as the
    // lamp itself, at angles of 60 to 80° from the pane's normal.
    let extra = (flawless - real) / flawless;
    assert!(extra > 0.1 && extra < 0.3, "{extra} of it came by panes");
}

#[test]
fn refraction_agrees_with_the_table() {
    // The radius is given to 0.1 mm: up to 0.02 % of the far values.
    for row in table(include_str!("../data/light_refraction_spreading.csv")) {
        let path = optics::refract(0.25, 0.40, row[0], 1.34);
        let error = path.spread_per_m2 / row[2] - 1.0;
        assert!(error.abs() < 1.5e-3, "at {} m: {error:.2e}", row[0]);
        let angle = path.cos_air.acos().to_degrees();
        assert!(
            (angle - row[1]).abs() < 0.02,
            "angle {angle}, table {}",
            row[1]
        );
        // Snell, from the geometry alone.
        let water_run = row[0] - path.air_run_m;
        let sin_water = water_run / water_run.hypot(0.40);
        assert!(
            (sin_water * 1.34 - angle.to_radians().sin()).abs() < 1e-9,
            "Snell"
        );
    }
}

#[test]
fn a_small_lamp_in_air_obeys_inverse_square_and_cosine() {
    let mut scene = tank_of(200.0, 200.0, 20.0);
    let mut small = lamp(100.0, 100.0, 120.0, 100.0);
    small.body = Body::Disc { diameter_cm: 0.01 };
    with_lamps(&mut scene, vec![small]);
    let solver = direct(&scene);
    let peak = 100.0 / PI;
    for (x, z) in [(1.0, 0.7), (1.0, 0.2), (1.5, 0.7), (1.9, 0.3)] {
        let way = DVec3::new(1.0 - x, 0.0, 1.2 - z);
        let cosine = way.z / way.length();
        let exact = peak * cosine / way.length_squared();
        let found = solver.sample(DVec3::new(x, 1.0, z), None);
        assert!(
            (found.up_umol / (exact * cosine) - 1.0).abs() < 1e-6,
            "level at {x}, {z}: {} for {}",
            found.up_umol,
            exact * cosine
        );
        assert!(
            (found.scalar_umol / exact - 1.0).abs() < 1e-6,
            "sphere at {x}, {z}"
        );
    }
}

/// Form factor from a small parallel plane under the corner of a rectangle.
///
/// **Source** configuration factor of a parallel rectangle, BR 187 / Howell's
/// catalog of radiation configuration factors.
fn corner(a: f64, b: f64, c: f64) -> f64 {
    let (x, y) = (a / c, b / c);
    let leg = |x: f64, y: f64| x / (1.0 + x * x).sqrt() * (y / (1.0 + x * x).sqrt()).atan();
    (leg(x, y) + leg(y, x)) / (2.0 * PI)
}

#[test]
fn a_panel_in_air_has_its_rectangle_form_factor() {
    let mut scene = tank_of(200.0, 200.0, 20.0);
    let mut panel = lamp(100.0, 100.0, 80.0, 100.0);
    panel.body = Body::Panel {
        length_cm: 60.0,
        width_cm: 20.0,
    };
    with_lamps(&mut scene, vec![panel]);
    let solver = direct(&scene);
    // Exitance: 100 µmol/s through 0.12 m².
    let exitance = 100.0 / 0.12;
    for (x, y) in [(0.0, 0.0), (0.3, 0.1), (0.5, 0.3), (0.1, 0.05)] {
        let (left, right) = (0.3 + x, 0.3 - x);
        let (near, far) = (0.1 + y, 0.1 - y);
        let exact = exitance
            * (corner(left, near, 0.4)
                + corner(right, near, 0.4)
                + corner(left, far, 0.4)
                + corner(right, far, 0.4));
        let found = solver
            .sample(DVec3::new(1.0 + x, 1.0 + y, 0.4), None)
            .up_umol;
        assert!(
            (found / exact - 1.0).abs() < 1e-3,
            "at {x}, {y}: {found}, exact {exact}"
        );
    }
}

#[test]
fn a_disc_on_its_axis_has_its_form_factor() {
    let mut scene = tank_of(200.0, 200.0, 20.0);
    let mut disc = lamp(100.0, 100.0, 80.0, 50.0);
    disc.body = Body::Disc { diameter_cm: 30.0 };
    with_lamps(&mut scene, vec![disc]);
    let solver = direct(&scene);
    for height_m in [0.3, 0.5] {
        // F = R² / (R² + h²), textbook.
        let exact = 50.0 / (PI * 0.15 * 0.15) * 0.0225 / (0.0225 + height_m * height_m);
        let at = DVec3::new(1.0, 1.0, 0.8 - height_m);
        let found = solver.sample(at, None).up_umol;
        assert!(
            (found / exact - 1.0).abs() < 1e-3,
            "{height_m} m below: {found}, exact {exact}"
        );
    }
}

#[test]
fn water_takes_its_share_by_the_path() {
    let clear = |absorption: f64| {
        let mut scene = tank_of(100.0, 100.0, 60.0);
        scene.tank.water.absorption_per_m = absorption;
        let mut small = lamp(50.0, 50.0, 80.0, 100.0);
        small.body = Body::Disc { diameter_cm: 0.01 };
        with_lamps(&mut scene, vec![small]);
        direct(&scene)
    };
    let (none, some) = (clear(0.0), clear(0.8));
    // On the axis the path is the depth; aside it is the slant of Snell's ray.
    for (x, depth) in [(0.5, 0.4), (0.8, 0.4), (0.9, 0.2)] {
        let at = DVec3::new(x, 0.5, 0.6 - depth);
        let path = optics::refract(0.2, depth, x - 0.5, 1.34);
        let slant = (x - 0.5 - path.air_run_m).hypot(depth);
        let ratio = some.sample(at, None).up_umol / none.sample(at, None).up_umol;
        assert!(
            (ratio / (-0.8 * slant).exp() - 1.0).abs() < 1e-9,
            "ratio {ratio} over {slant} m"
        );
    }
}

#[test]
fn photons_through_the_surface_are_all_found_on_a_wide_floor() {
    // A lamp so low over so wide a tank that all its photons enter: the floor
    // receives them less the Fresnel loss, 0.9325 of a matt face's light
    // (1 − the diffuse reflectance of the surface, `light_fresnel_n134.csv`
    // integrated), and no place gets light twice.
    let mut scene = tank_of(400.0, 400.0, 20.0);
    scene.tank.water.absorption_per_m = 0.0;
    scene.tank.sand.depth_cm = 0.0;
    let mut panel = lamp(200.0, 200.0, 21.0, 100.0);
    panel.body = Body::Panel {
        length_cm: 10.0,
        width_cm: 10.0,
    };
    with_lamps(&mut scene, vec![panel]);
    let solver = direct(&scene);
    let field = solver.field(0.02, &|_| true);
    let sum: f64 = field.patches.iter().map(|p| p.ppfd_umol * p.area_m2).sum();
    assert!(
        (sum / 93.25 - 1.0).abs() < 2e-3,
        "floor received {sum} µmol/s"
    );
}

#[test]
fn lamps_add_up_and_mirror() {
    let mut scene = tank_of(120.0, 60.0, 50.0);
    let mut a = lamp(30.0, 25.0, 70.0, 150.0);
    a.tilt_deg = 10.0;
    a.turn_deg = 30.0;
    let mut b = lamp(80.0, 30.0, 65.0, 90.0);
    b.spread = Spread::Beam {
        full_angle_deg: 80.0,
    };
    b.id = 4;
    let mut mirrored = a.clone();
    mirrored.at_cm.x = 120.0 - a.at_cm.x;
    mirrored.turn_deg = 180.0 - a.turn_deg;
    let mut solve = |lamps: &[&Lamp], options: LightOptions| {
        with_lamps(
            &mut scene,
            lamps.iter().map(|lamp| (*lamp).clone()).collect(),
        );
        LightSolver::new(&study(&scene), &Measured::new(), &options).expect("scene solves")
    };
    for options in [LightOptions::direct(), LightOptions::default()] {
        // Bounces stop at 2e-4 of the brightest patch, for each run by itself;
        // the rays of a mirrored tank are not the mirrored rays.
        let (sum_error, mirror_error) = if options.full {
            (1e-3, 0.02)
        } else {
            (1e-12, 1e-9)
        };
        let both = solve(&[&a, &b], options.clone());
        let (first, second) = (solve(&[&a], options.clone()), solve(&[&b], options.clone()));
        let mirror = solve(&[&mirrored], options);
        for at in [(0.2, 0.2, 0.1), (0.7, 0.5, 0.3), (1.15, 0.05, 0.04)] {
            let at = DVec3::from(at);
            let up = |solver: &LightSolver, at: DVec3| solver.sample(at, None).up_umol;
            let (found, sum) = (up(&both, at), up(&first, at) + up(&second, at));
            assert!(
                (found / sum - 1.0).abs() < sum_error,
                "{found} for {sum} at {at}"
            );
            let there = up(&mirror, DVec3::new(1.2 - at.x, at.y, at.z));
            let here = up(&first, at);
            assert!(
                (there / here - 1.0).abs() < mirror_error,
                "{there} mirrors {here} at {at}"
            );
        }
    }
}

#[test]
fn a_reading_fixes_the_output() {
    let mut scene = tank_of(120.0, 60.0, 50.0);
    let mut known = lamp(50.0, 25.0, 70.0, 150.0);
    known.dim = 0.5;
    with_lamps(&mut scene, vec![known.clone()]);
    let measured = Measured::new();
    let at_cm = DVec3::new(40.0, 30.0, 20.0);
    let first = LightSolver::new(&study(&scene), &measured, &LightOptions::default())
        .expect("scene solves");
    // The reading is of the lamp at full setting.
    let ppfd_umol = 2.0 * first.sample(at_cm * 0.01, None).up_umol;
    known.output = Output::Reading { at_cm, ppfd_umol };
    with_lamps(&mut scene, vec![known]);
    let found = LightSolver::new(&study(&scene), &measured, &LightOptions::default())
        .expect("scene solves")
        .lamp_umol_s(0);
    assert!((found - 150.0).abs() < 1e-6, "solved for {found} µmol/s");
}

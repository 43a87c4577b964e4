//! Measured lamps: reading IES LM-63 files, and light from them.
//!
//! Goal: known files give their known flux, broken ones a clear error with its
//! line, and a measured cosine lamp lights a tank as the formula does.

#![allow(
    clippy::too_many_lines,
    clippy::allow_attributes,
    reason = "one test lists all the ways in which a file can be broken"
)]

use std::collections::BTreeMap;

use super::scenes::{lamp, tank_of, with_lamps};
use bommie::light::{
    IesFault, LightError, LightOptions, LightSolver, Measured, Symmetry, distribution_from_ies,
};
use bommie::scene::{Output, Spread};
use bommie::study::Study;
use glam::DVec3;

/// A study of the first layout.
#[expect(clippy::expect_used, reason = "a broken premise fails the test")]
fn study(scene: &bommie::scene::Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

const COS80: &str = include_str!("../data/light_cos80.ies");
const COS120: &str = include_str!("../data/light_cos120.ies");
const BATWING: &str = include_str!("../data/light_batwing_quadrant.ies");
const TILT: &str = include_str!("../data/light_tilt_include.ies");

#[test]
fn samples_have_their_flux() {
    let texts = BTreeMap::from([
        ("light_cos80.ies", COS80),
        ("light_cos120.ies", COS120),
        ("light_batwing_quadrant.ies", BATWING),
        ("light_tilt_include.ies", TILT),
    ]);
    let rows = include_str!("../data/light_ies_flux.csv").lines().skip(2);
    let mut count = 0;
    for row in rows {
        let (name, flux) = row.split_once(',').expect("two columns");
        let flux: f64 = flux.parse().expect("number");
        let found = distribution_from_ies(texts[name], name)
            .expect("sample reads")
            .flux_lm();
        // Goal 0.1 %; the same interpolation must do far better.
        assert!((found / flux - 1.0).abs() < 1e-4, "{name}: {found}, {flux}");
        count += 1;
    }
    assert_eq!(count, 4, "all samples were compared");
}

#[test]
fn headers_units_and_symmetries_are_understood() {
    let batwing = distribution_from_ies(BATWING, "b").expect("reads");
    assert_eq!(batwing.symmetry(), Symmetry::Quadrant, "0 to 90");
    assert!((batwing.about().length_m - 0.6).abs() < 1e-12, "length");
    // Multiplier 0.5: the file's 1200 are 600 cd; planes repeat by quadrants.
    assert!(
        (batwing.intensity_cd(0.0, 0.0) - 600.0).abs() < 1e-9,
        "axis"
    );
    for turn in [30.0, 150.0, 210.0, 330.0, -30.0] {
        let here = batwing.intensity_cd(40.0, turn);
        let there = batwing.intensity_cd(40.0, 30.0);
        assert!((here - there).abs() < 1e-9, "{turn}°: {here}, {there}");
    }
    assert_eq!(batwing.intensity_cd(120.0, 0.0), 0.0, "above the horizon");
    let tilt = distribution_from_ies(TILT, "t").expect("reads");
    assert!(
        (tilt.about().width_m - 0.1524).abs() < 1e-9,
        "feet: {:?}",
        tilt.about()
    );
    let round = distribution_from_ies(COS80, "c").expect("reads");
    assert!(round.about().round, "a negative width is a round opening");
    let more = &batwing.about().keywords;
    assert!(
        more.iter()
            .any(|(key, text)| key == "LUMINAIRE" && text.ends_with("public domain")),
        "[MORE] continues: {more:?}"
    );
}

/// A small file: `n` planes of three angles.
fn small(header: &str, planes: &str, horizontal: &str, candela: &str) -> String {
    format!(
        "{header}[TEST] none\nTILT=NONE\n1 -1 1 3 {planes} 1 2 0.1 0.2 0\n1 1 10\n0 45 90\n{horizontal}\n{candela}\n"
    )
}

#[test]
fn all_headers_and_horizontal_ranges_are_read() {
    for header in [
        "",
        "IESNA91\n",
        "IESNA:LM-63-1995\n",
        "IESNA:LM-63-2002\n",
        "IES:LM-63-2019\n",
    ] {
        let text = small(header, "1", "0", "100 70 0");
        assert!(distribution_from_ies(&text, "x").is_ok(), "{header:?}");
    }
    let three = "100 70 0 100 70 0 100 70 0";
    for (horizontal, symmetry) in [
        ("0 45 90", Symmetry::Quadrant),
        ("0 90 180", Symmetry::Bilateral),
        ("90 180 270", Symmetry::BilateralAcross),
        ("0 180 360", Symmetry::Full),
    ] {
        let text = small("IESNA91\n", "3", horizontal, three);
        let found = distribution_from_ies(&text, "x").expect("reads");
        assert_eq!(found.symmetry(), symmetry, "{horizontal}");
        // All planes alike: the flux is that of the one-plane file.
        let one = small("IESNA91\n", "1", "0", "100 70 0");
        let one = distribution_from_ies(&one, "x").expect("reads");
        assert!(
            (found.flux_lm() / one.flux_lm() - 1.0).abs() < 1e-12,
            "flux"
        );
        for turn in [0.0, 77.0, 135.0, 200.0, 300.0, 359.9] {
            assert!(
                (found.intensity_cd(45.0, turn) - 70.0).abs() < 1e-9,
                "{turn}"
            );
        }
    }
}

#[test]
fn broken_files_are_refused_with_line_and_reason() {
    let good = small("IESNA91\n", "1", "0", "100 70 0");
    let fault = |text: &str| {
        let error = distribution_from_ies(text, "lamp.ies").expect_err("must be refused");
        assert!(error.to_string().starts_with("lamp.ies, line "), "{error}");
        (error.line, error.fault)
    };
    let swap = |a: &str, b: &str| good.replace(a, b);
    assert_eq!(fault("").1, IesFault::NoTilt, "empty");
    assert_eq!(fault("just some text\n").1, IesFault::NoTilt, "no file");
    assert!(
        matches!(
            fault(&swap("100 70 0\n", "100 70\n")),
            (8, IesFault::Ends { .. })
        ),
        "truncated: {:?}",
        fault(&swap("100 70 0\n", "100 70\n"))
    );
    assert!(
        matches!(
            fault(&swap("0 45 90", "0 90 45")),
            (6, IesFault::Order { .. })
        ),
        "angles that fall"
    );
    assert!(
        matches!(
            fault(&swap("100 70 0", "100 -70 0")),
            (8, IesFault::Range { .. })
        ),
        "negative light"
    );
    assert!(
        matches!(
            fault(&swap("100 70 0", "100 1e99 0")),
            (8, IesFault::Range { .. })
        ),
        "a lighthouse"
    );
    assert!(
        matches!(
            fault(&swap("100 70 0", "100 NaN 0")),
            (8, IesFault::NoNumber { .. })
        ),
        "not a number"
    );
    assert!(
        matches!(
            fault(&swap("1 1 2 0.1", "1 2 2 0.1")),
            (4, IesFault::Type('B'))
        ),
        "type B: {:?}",
        fault(&swap("1 1 2 0.1", "1 2 2 0.1"))
    );
    assert!(
        matches!(
            fault(&swap("1 1 2 0.1", "1 3 2 0.1")),
            (4, IesFault::Type('A'))
        ),
        "type A"
    );
    assert!(
        matches!(
            fault(&swap("1 3 1 1 2", "1 1 1 1 2")),
            (4, IesFault::Range { .. })
        ),
        "one vertical angle"
    );
    assert!(
        matches!(
            fault(&swap("1 3 1 1 2", "1 999999 999 1 2")),
            (4, IesFault::Range { .. })
        ),
        "huge"
    );
    assert!(
        matches!(
            fault(&swap("TILT=NONE", "TILT=lamp.tlt")),
            (3, IesFault::TiltFile(_))
        ),
        "tilt file"
    );
    assert!(
        matches!(fault(&swap("100 70 0", "0 0 0")).1, IesFault::Dark),
        "no light"
    );
    assert!(
        matches!(fault(&format!("{good}7\n")), (9, IesFault::Surplus(_))),
        "too many numbers"
    );
    let three = small("IESNA91\n", "3", "0 45 120", "1 1 1 1 1 1 1 1 1");
    assert!(
        matches!(fault(&three).1, IesFault::Symmetry { .. }),
        "range"
    );
}

#[test]
fn cutting_a_file_anywhere_never_panics() {
    for text in [COS120, BATWING, TILT] {
        for end in (0..text.len()).step_by(7) {
            if text.is_char_boundary(end) && text[end..].trim().len() > 4 {
                let cut = distribution_from_ies(&text[..end], "cut");
                assert!(cut.is_err(), "cut at {end} was taken for whole");
            }
        }
    }
}

#[test]
fn a_measured_cosine_lights_like_the_formula() {
    let mut scene = tank_of(80.0, 50.0, 45.0);
    let by_formula = lamp(40.0, 25.0, 65.0, 100.0);
    let mut by_file = by_formula.clone();
    by_file.spread = Spread::measured("cos120.ies".to_owned());
    by_file.output = Output::Power {
        power_w: 50.0,
        efficacy_umol_j: 2.0,
    };
    let mut measured = Measured::new();
    let solve = |scene: &bommie::scene::Scene, measured: &Measured| {
        LightSolver::new(&study(scene), measured, &LightOptions::default())
    };
    with_lamps(&mut scene, vec![by_formula]);
    let formula = solve(&scene, &measured).expect("solves");
    with_lamps(&mut scene, vec![by_file]);
    let missing = solve(&scene, &measured);
    assert!(
        matches!(&missing, Err(LightError::NoDistribution { file, .. }) if file == "cos120.ies"),
        "the file is not at hand"
    );
    let cos120 = distribution_from_ies(COS120, "cos120.ies").expect("reads");
    measured.insert("cos120.ies".to_owned(), cos120);
    let file = solve(&scene, &measured).expect("solves");
    for at in [(0.4, 0.25, 0.1), (0.1, 0.1, 0.3), (0.7, 0.45, 0.04)] {
        let (a, b) = (
            file.sample(DVec3::from(at), None).up_umol,
            formula.sample(DVec3::from(at), None).up_umol,
        );
        // Chords of the cosine over 2.5° lie up to 0.03 % low.
        assert!((a / b - 1.0).abs() < 1e-3, "{a} and {b} at {at:?}");
    }
}

//! Scenes, lamp files, places and own catalogs as nobody should write them.

use std::ffi::OsString;

use bommie::light::distribution_from_ies;
use bommie::scene::{check, has_errors};
use bommie::storage::{clipped, parse, scene_text};
use bommie::terminal::{Outcome, run};

use crate::mutate::{Dice, bytes, tokens};
use crate::{corpus, for_a_while};

/// Longest message that a reader may give, in bytes of its clipped form.
const WORDS_MAX: usize = 60_000;

/// Feeds mutated seeds to a reader; says which input broke it.
fn feed(ending: &str, read: impl Fn(&str) -> Option<usize> + std::panic::RefUnwindSafe) {
    let seeds = corpus(ending);
    assert!(!seeds.is_empty(), "there are seeds that end in {ending}");
    for seed in &seeds {
        let _words = read(&String::from_utf8_lossy(seed));
    }
    let mut n_accepted = 0;
    let n = for_a_while(1, |n| {
        let mut dice = Dice::new(n);
        let seed = dice.pick(&seeds).clone();
        let input = match dice.below(2) {
            0 => bytes(&seed, &mut dice),
            _ => tokens(&seed, &mut dice),
        };
        let input = String::from_utf8_lossy(&input).into_owned();
        match std::panic::catch_unwind(|| read(&input)) {
            Ok(None) => n_accepted += 1,
            Ok(Some(n_bytes)) => assert!(n_bytes < WORDS_MAX, "{n_bytes} bytes for {input}"),
            Err(panic) => panic!("input {n} broke the reader ({panic:?}):\n{input}"),
        }
        n >= 20 && n_accepted > 0
    });
    assert!(n > 20, "only {n} inputs were tried");
    assert!(
        n_accepted > 0,
        "of {n} inputs none was good: nothing was tested"
    );
}

#[test]
fn scenes_are_refused_or_sound() {
    feed("ron", |text| match parse(text, "fuzzed.ron") {
        Ok(loaded) => {
            assert!(!has_errors(&check(&loaded.scene)), "accepted and unsound");
            let written = scene_text(&loaded.scene).expect("it can be written");
            let again = parse(&written, "again.ron").expect("and read again");
            assert_eq!(again.scene, loaded.scene, "and is the same");
            None
        }
        Err(error) => Some(clipped(&error.to_string()).len()),
    });
}

#[test]
fn lamp_files_are_refused_or_shine() {
    feed("ies", |text| {
        match distribution_from_ies(text, "fuzzed.ies") {
            Ok(distribution) => {
                for angle in 0..=18 {
                    let intensity_cd = distribution.intensity_cd(f64::from(angle) * 10.0, 30.0);
                    assert!(
                        intensity_cd.is_finite() && intensity_cd >= 0.0,
                        "{intensity_cd} cd at {angle} tens of degrees"
                    );
                }
                None
            }
            Err(error) => Some(clipped(&error.to_string()).len()),
        }
    });
}

#[test]
fn places_are_refused_or_answered() {
    let folder = tempfile::tempdir().expect("a folder");
    let scene = folder.path().join("scene.ron");
    std::fs::write(&scene, include_str!("../data/example.ron")).expect("written");
    let places = folder.path().join("places.csv");
    feed("csv", |text| {
        std::fs::write(&places, text).expect("written");
        let words = ["bommie", "probe", "--no-flow", "--no-light", "--points"];
        let words = words.iter().map(OsString::from);
        let files = [OsString::from(&places), OsString::from(&scene)];
        let (mut out, mut err) = (Vec::new(), Vec::new());
        match run(words.chain(files), &mut out, &mut err) {
            Outcome::Exit(0) => {
                let said = String::from_utf8_lossy(&out);
                let odd = said.lines().skip(1).flat_map(|line| line.split(','));
                let odd = odd.filter(|cell| ["NaN", "inf", "-inf"].contains(cell));
                assert_eq!(odd.count(), 0, "{said}");
                None
            }
            Outcome::Exit(3) => Some(out.len() + err.len()),
            other => panic!("{other:?}: {}", String::from_utf8_lossy(&err)),
        }
    });
}

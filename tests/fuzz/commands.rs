//! Scenes that nobody drew, through every command.

use std::ffi::OsString;

use bommie::scene::Scene;
use bommie::storage::{parse, scene_text};
use bommie::terminal::{Outcome, run};

use crate::mutate::{Dice, tokens};
use crate::{corpus, for_a_while};

/// A scene that is accepted, as far from the demos as some mutations take it.
/// Tanks that would take long are not wanted here.
fn scene(dice: &mut Dice, seeds: &[Vec<u8>]) -> Option<Scene> {
    let mut text = dice.pick(seeds).clone();
    for _ in 0..12 {
        let next = tokens(&text, dice);
        let read = String::from_utf8(next).ok();
        if let Some(next) = read.filter(|it| parse(it, "next.ron").is_ok()) {
            text = next.into_bytes();
        }
    }
    let scene = parse(&String::from_utf8(text).ok()?, "last.ron")
        .ok()?
        .scene;
    let tank = &scene.tank;
    let litres = tank.length_cm * tank.width_cm * tank.height_cm / 1000.0;
    let n_items: usize = scene.layouts.iter().map(|it| it.ids().count()).sum();
    (litres < 1500.0 && n_items < 120).then_some(scene)
}

/// What every command is asked, with the scene's path for `S` and a fresh
/// folder's for `D`.
const ASKED: &[&[&str]] = &[
    &["check", "S"],
    &["check", "S", "--json"],
    &["draw", "S", "--out", "D/a.svg"],
    &[
        "draw", "S", "--view", "side", "--out", "D/b.png", "--dpi", "30",
    ],
    &["export", "S", "--rock", "D/r.stl", "--triangle-cm", "5"],
    &[
        "probe",
        "S",
        "--points",
        "D/p.csv",
        "--no-flow",
        "--light",
        "direct",
    ],
    &[
        "probe",
        "S",
        "--points",
        "D/p.csv",
        "--no-light",
        "--estimate",
        "slice",
        "--cell-cm",
        "8",
    ],
    &[
        "report",
        "S",
        "--no-flow",
        "--no-light",
        "--out",
        "D/plan.pdf",
    ],
    &["report", "S", "--no-flow", "--no-light", "--json"],
    &[
        "berths",
        "S",
        "--coral",
        "caulastraea",
        "--count",
        "2",
        "--no-flow",
    ],
];

#[test]
fn whatever_is_accepted_goes_through_every_command() {
    let seeds = corpus("ron");
    let good = |seed: &Vec<u8>| {
        std::str::from_utf8(seed).is_ok_and(|text| parse(text, "seed.ron").is_ok())
    };
    let seeds: Vec<Vec<u8>> = seeds.into_iter().filter(good).collect();
    let mut n_asked = 0;
    for_a_while(1, |n| {
        let mut dice = Dice::new(0x5eed + n / ASKED.len() as u64);
        let Some(scene) = scene(&mut dice, &seeds) else {
            return false;
        };
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("scene.ron");
        let text = scene_text(&scene).expect("writes");
        std::fs::write(&path, &text).expect("written");
        std::fs::write(folder.path().join("p.csv"), "30,20,10\n5,5,5\n").expect("written");
        let asked = ASKED[n as usize % ASKED.len()];
        let own = |word: &&str| {
            let place = folder.path().display().to_string();
            match *word {
                "S" => OsString::from(&path),
                word => OsString::from(word.replace("D/", &format!("{place}/"))),
            }
        };
        let words = std::iter::once(OsString::from("bommie")).chain(asked.iter().map(own));
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let outcome = run(words, &mut out, &mut err);
        n_asked += 1;
        // A layout without rock has no berth, a tank without lamps no light:
        // those are answers. Not to be able to answer is not.
        let said = String::from_utf8_lossy(&err);
        // `check` answers 1 where a layout holds a grave mistake.
        let is_check = asked.contains(&"check");
        let is_good =
            matches!(outcome, Outcome::Exit(0 | 2)) || is_check && outcome == Outcome::Exit(1);
        assert!(is_good, "{asked:?} gave {outcome:?}: {said}\n{text}");
        let words = String::from_utf8_lossy(&out);
        let numbers = words.split(|c: char| c.is_whitespace() || ",:".contains(c));
        let odd: Vec<&str> = numbers
            .filter(|it| ["NaN", "inf", "-inf"].contains(it))
            .collect();
        assert!(odd.is_empty(), "{asked:?} says {odd:?}\n{text}");
        let kept = std::fs::read_to_string(&path).expect("reads");
        assert_eq!(kept, text, "the scene is as it was");
        true
    });
    assert!(n_asked > 0, "no command was asked");
}

/// A scene moved as a whole, mirrored names aside, weighs what it weighed; more
/// layouts do not change the first; saving twice is saving once.
#[test]
fn what_does_not_matter_does_not_matter() {
    let seeds: Vec<Vec<u8>> = corpus("ron")
        .into_iter()
        .filter(|seed| std::str::from_utf8(seed).is_ok_and(|text| parse(text, "seed.ron").is_ok()))
        .collect();
    for_a_while(1, |n| {
        let mut dice = Dice::new(0xace + n);
        let Some(scene) = scene(&mut dice, &seeds) else {
            return false;
        };
        let report = |scene: &Scene, more: &[&str]| {
            let folder = tempfile::tempdir().expect("a folder");
            let path = folder.path().join("scene.ron");
            std::fs::write(&path, scene_text(scene).expect("writes")).expect("written");
            let mut words = vec![OsString::from("bommie"), OsString::from("report")];
            words.push(OsString::from(&path));
            words.extend(more.iter().map(OsString::from));
            let (mut out, mut err) = (Vec::new(), Vec::new());
            let outcome = run(words, &mut out, &mut err);
            (outcome, String::from_utf8_lossy(&out).into_owned())
        };
        let still = ["--no-flow", "--no-light"];
        let first = report(&scene, &still);
        assert_eq!(report(&scene, &still), first, "the same again");
        let mut more = scene.clone();
        let mut copy = more.layouts[0].clone();
        copy.name = format!("{} again", copy.name);
        more.layouts.push(copy);
        let text = scene_text(&more).expect("writes");
        if parse(&text, "more.ron").is_ok() {
            assert_eq!(report(&more, &still), first, "one more layout");
        }
        let mut renamed = scene.clone();
        renamed.readings.clear();
        renamed.layouts.truncate(1);
        assert_eq!(
            report(&renamed, &still).0,
            first.0,
            "one layout, no readings"
        );
        true
    });
}

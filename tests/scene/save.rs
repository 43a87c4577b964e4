//! Saving keeps what is there: load after save gives the same scene, the
//! previous version stays beside it, and a failed save changes nothing.
//! Method: scenes of random content through text and disk.

#![expect(clippy::expect_used, reason = "a helper that fails ends its test")]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use bommie::scene::{
    Animal, Behavior, Body, Coral, Day, FromHour, Lamp, Layout, Mount, Outline, Output, Overflow,
    PhotoView, Programme, Pump, PumpKind, Quantity, Reading, Return, Rock, Scene, SideName, Spread,
    Support, Underlay,
};
use bommie::storage::{
    bring_along, bring_photos, demos, load, parse, read_beside, read_photos, save, scene_text,
    with_photo_sums, with_sums,
};
use glam::{DVec2, DVec3};
use proptest::prelude::*;

const SOUND: &str = include_str!("../data/example.ron");

fn sound() -> Scene {
    parse(SOUND, "example.ron")
        .expect("the sound scene loads")
        .scene
}

/// Any finite number a file may hold, also tiny, huge and negative zero.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -1e4..1e4_f64,
        1 => any::<f64>().prop_filter("finite", |x| x.is_finite()),
        1 => Just(-0.0),
    ]
}

fn point() -> impl Strategy<Value = DVec2> {
    (number(), number()).prop_map(|(x, y)| DVec2::new(x, y))
}

fn place() -> impl Strategy<Value = DVec3> {
    (number(), number(), number()).prop_map(|(x, y, z)| DVec3::new(x, y, z))
}

/// Names with quotes, brackets, line breaks and letters beyond ASCII.
fn name() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        "[a-zé\"\\\\()\\[\\]{},:\n\t\u{1F420}/*#r ]{0,12}"
    ]
}

fn outline() -> impl Strategy<Value = Outline> {
    let points = || prop::collection::vec(point(), 0..9);
    (
        points(),
        any::<bool>(),
        prop::collection::vec(points(), 0..3),
    )
        .prop_map(|(points_cm, curved, openings)| Outline {
            points_cm,
            curved,
            openings,
        })
}

fn rock() -> impl Strategy<Value = Rock> {
    (
        any::<u32>(),
        name(),
        place(),
        outline(),
        outline(),
        prop::option::of(outline()),
        number(),
        prop::option::of(any::<u32>()),
    )
        .prop_map(|(id, name, at_cm, plan, front, end, x, bonded)| Rock {
            id,
            name,
            at_cm,
            turn_deg: x,
            tilt_deg: -x,
            plan,
            front,
            end,
            scan: None,
            rounding_cm: x,
            reflectance: x,
            density_kg_per_l: x,
            bonded,
            locked: id % 2 == 0,
        })
}

fn pump() -> impl Strategy<Value = Pump> {
    let kind = prop_oneof![
        Just(PumpKind::Propeller),
        Just(PumpKind::Nozzle),
        number().prop_map(|length_cm| PumpKind::CrossFlow { length_cm }),
    ];
    let programme = prop_oneof![
        Just(Programme::Steady),
        (number(), number()).prop_map(|(period_s, share)| Programme::Pulse { period_s, share }),
        (any::<u32>(), number(), any::<u32>(), any::<u32>()).prop_map(
            |(set, period_s, turn, of)| Programme::Alternate {
                set,
                period_s,
                turn,
                of
            }
        ),
    ];
    (
        any::<u32>(),
        name(),
        kind,
        place(),
        number(),
        programme,
        prop::option::of(number()),
    )
        .prop_map(|(id, name, kind, at_cm, x, programme, power_w)| Pump {
            id,
            name,
            kind,
            at_cm,
            turn_deg: x,
            tilt_deg: x,
            flow_lph: x,
            outlet_cm: x,
            throttle: x,
            programme,
            power_w,
            by_hour: vec![FromHour { hour: x, share: x }],
            guarded: id % 2 == 0,
            measured: None,
            locked: false,
        })
}

fn lamp() -> impl Strategy<Value = Lamp> {
    let body = prop_oneof![
        (number(), number()).prop_map(|(length_cm, width_cm)| Body::Panel {
            length_cm,
            width_cm
        }),
        number().prop_map(|diameter_cm| Body::Disc { diameter_cm }),
        number().prop_map(|length_cm| Body::Tube { length_cm }),
    ];
    let output = prop_oneof![
        number().prop_map(|umol_s| Output::Photons { umol_s }),
        (number(), number()).prop_map(|(power_w, efficacy_umol_j)| Output::Power {
            power_w,
            efficacy_umol_j
        }),
        (place(), number()).prop_map(|(at_cm, ppfd_umol)| Output::Reading { at_cm, ppfd_umol }),
    ];
    let spread = prop_oneof![
        number().prop_map(|full_angle_deg| Spread::Beam { full_angle_deg }),
        (name(), name()).prop_map(|(file, sum)| Spread::Measured { file, sum }),
    ];
    (
        any::<u32>(),
        name(),
        body,
        place(),
        output,
        spread,
        number(),
    )
        .prop_map(|(id, name, body, at_cm, output, spread, x)| Lamp {
            id,
            name,
            body,
            at_cm,
            turn_deg: x,
            tilt_deg: x,
            output,
            spread,
            dim: x,
            day: Day {
                hours: x,
                ramp_hours: -x,
                first_hour: x,
            },
            measured: None,
            locked: true,
        })
}

fn coral() -> impl Strategy<Value = Coral> {
    let mount = prop_oneof![
        Just(Mount::Plug),
        Just(Mount::Gel),
        Just(Mount::Putty),
        Just(Mount::Sand),
        Just(Mount::Loose)
    ];
    let on = prop_oneof![Just(Support::Sand), any::<u32>().prop_map(Support::Rock)];
    (
        any::<u32>(),
        name(),
        place(),
        place(),
        mount,
        on,
        prop::option::of(name()),
        name(),
    )
        .prop_map(
            |(id, entry, at_cm, size_cm, mount, on, since, note)| Coral {
                id,
                entry,
                name: String::new(),
                at_cm,
                facing: size_cm,
                size_cm,
                mount,
                on,
                since,
                note,
                locked: false,
            },
        )
}

fn layout() -> impl Strategy<Value = Layout> {
    let list = 0..3_usize;
    (
        name(),
        prop::collection::vec(rock(), list.clone()),
        prop::collection::vec(pump(), list.clone()),
        prop::collection::vec(lamp(), list.clone()),
        prop::collection::vec(coral(), list),
    )
        .prop_map(|(name, rocks, pumps, lamps, corals)| Layout {
            name,
            rocks,
            pumps,
            lamps,
            corals,
        })
}

fn scene() -> impl Strategy<Value = Scene> {
    let reading = (
        prop::option::of(name()),
        place(),
        prop::option::of(number()),
        prop::option::of(number()),
    )
        .prop_map(|(layout, at_cm, value, spread)| Reading {
            layout,
            at_cm,
            quantity: Quantity::Speed,
            value,
            spread,
            alone: None,
            drift: None,
            when: None,
        });
    let animal = (name(), number()).prop_map(|(name, width_cm)| Animal {
        name,
        does: vec![Behavior::Digs, Behavior::NeedsCave { width_cm }],
    });
    let nozzle = (place(), number()).prop_map(|(at_cm, x)| Return {
        at_cm,
        turn_deg: x,
        tilt_deg: x,
        flow_lph: x,
        outlet_cm: x,
    });
    (
        name(),
        number(),
        prop::collection::vec(nozzle, 0..2),
        prop::collection::vec(layout(), 0..3),
        prop::collection::vec(reading, 0..2),
        prop::collection::vec(animal, 0..2),
    )
        .prop_map(|(name, x, returns, layouts, readings, animals)| {
            let mut scene = sound();
            scene.name = name;
            scene.tank.water_cm = x;
            scene.tank.returns = returns;
            scene.tank.overflow = Some(Overflow {
                side: SideName::Left,
                from_cm: x,
                to_cm: x,
                depth_cm: x,
            });
            (scene.layouts, scene.readings, scene.animals) = (layouts, readings, animals);
            scene
        })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn text_and_back_is_the_same_scene(scene in scene()) {
        let text = scene_text(&scene).expect("it is written");
        let back: Scene = ron::from_str(&text).map_err(|error| TestCaseError::fail(format!("{error}:\n{text}")))?;
        prop_assert_eq!(back, scene);
    }
}

#[test]
fn demos_survive_the_disk() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    for demo in demos() {
        let scene = parse(demo.text, demo.file).expect("the demo loads").scene;
        let path = folder.path().join(demo.file);
        save(&path, &scene).expect("it is saved");
        let loaded = load(&path).expect("it loads again");
        assert_eq!(loaded.scene, scene, "{}", demo.name);
        let text = fs::read_to_string(&path).expect("it is text");
        let longest = text.lines().map(|line| line.chars().count()).max();
        assert!(
            longest <= Some(140),
            "lines can be read: {longest:?} characters in {}",
            demo.file
        );
    }
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(folder)
        .expect("the folder is there")
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    names
}

#[test]
fn the_previous_version_stays_beside_the_new_one() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let path = folder.path().join("mine.ron");
    let mut scene = sound();
    save(&path, &scene).expect("first save");
    assert_eq!(files(folder.path()), ["mine.ron"], "nothing but the file");
    let first = fs::read(&path).expect("the first version");
    scene.name = "second".to_owned();
    save(&path, &scene).expect("second save");
    assert_eq!(
        files(folder.path()),
        ["mine.ron", "mine.ron.previous"],
        "and no part is left"
    );
    let previous = fs::read(folder.path().join("mine.ron.previous")).expect("the previous version");
    assert_eq!(previous, first, "the previous version is the first one");
    assert_eq!(
        load(&path).expect("it loads").scene.name,
        "second",
        "the file is the new one"
    );
}

#[test]
fn a_save_into_nowhere_says_so() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let path = folder.path().join("gone").join("mine.ron");
    let error = save(&path, &sound())
        .expect_err("there is no such folder")
        .to_string();
    assert!(
        error.contains("folder does not exist") && error.contains("mine.ron"),
        "{error}"
    );
    let error = save(folder.path(), &sound())
        .expect_err("it is a folder")
        .to_string();
    assert!(error.contains("this is a folder"), "{error}");
    assert_eq!(
        files(folder.path()),
        Vec::<String>::new(),
        "nothing was written"
    );
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link_and_rights_stay() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let folder = tempfile::tempdir().expect("a folder to write in");
    let (real, link) = (
        folder.path().join("real.ron"),
        folder.path().join("link.ron"),
    );
    save(&real, &sound()).expect("first save");
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).expect("rights are set");
    symlink(&real, &link).expect("a link is made");
    save(&link, &sound()).expect("second save");
    assert!(link.is_symlink(), "the link is still one");
    let mode = fs::metadata(&real)
        .expect("the file is there")
        .permissions()
        .mode()
        & 0o777;
    assert_eq!(mode, 0o640, "its rights are as they were");
}

#[test]
fn measured_lamps_are_read_beside_the_scene() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let mut scene = sound();
    scene.layouts[0].lamps[0].spread = Spread::measured("panel.ies".to_owned());
    let beside = read_beside(&scene, folder.path());
    let fault = beside.faults.first().expect("the file is missing");
    assert_eq!(
        (fault.lamp.as_str(), fault.file.as_str()),
        ("panel", "panel.ies")
    );
    assert!(fault.problem.contains("no such file"), "{fault:?}");
    fs::write(folder.path().join("panel.ies"), "IESNA:LM-63-2002\n").expect("the file is written");
    let beside = read_beside(&scene, folder.path());
    assert_eq!(beside.texts["panel.ies"], "IESNA:LM-63-2002\n", "its text");
    assert!(beside.faults.is_empty(), "{beside:?}");
    // Saved with its sum, another file of that name is noticed.
    let saved = with_sums(&scene, &beside.texts);
    fs::write(folder.path().join("panel.ies"), "IESNA:LM-63-1995\n").expect("the file is written");
    let fault = read_beside(&saved, folder.path()).faults.pop();
    let fault = fault.expect("another file");
    assert!(fault.problem.contains("another file"), "{fault:?}");
    let unsummed = read_beside(&scene, folder.path());
    assert!(
        unsummed.faults.is_empty(),
        "a scene by hand need not say it"
    );
}

/// Two files of one name, in two folders: neither is lost, neither is taken
/// for the other.
#[test]
fn lamp_files_go_along_and_never_over_another() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let mut scene = sound();
    scene.layouts[0].lamps[0].spread = Spread::measured("panel.ies".to_owned());
    let texts = BTreeMap::from([("panel.ies".to_owned(), "ours".to_owned())]);
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).expect("reads");
    let away = (folder.path(), false);
    let renamed = bring_along(&scene, away, &texts, &[]).expect("written");
    assert_eq!(
        (renamed, read("panel.ies")),
        (vec![], "ours".to_owned()),
        "brought"
    );
    let renamed = bring_along(&scene, away, &texts, &[]).expect("written");
    assert_eq!(renamed, vec![], "there already");
    fs::write(folder.path().join("panel.ies"), "theirs").expect("written");
    let home = (folder.path(), true);
    let renamed = bring_along(&scene, home, &texts, &[]).expect("written");
    assert_eq!(
        (renamed, read("panel.ies")),
        (vec![], "theirs".to_owned()),
        "at home"
    );
    for (place, new) in [(away, vec![]), (home, vec!["panel.ies".to_owned()])] {
        let renamed = bring_along(&scene, place, &texts, &new).expect("written");
        let (before, now) = renamed.first().expect("another name").clone();
        assert_eq!(before, "panel.ies", "ours");
        assert_eq!(
            (read(&now), read("panel.ies")),
            ("ours".into(), "theirs".into())
        );
    }
}

/// Photos lie beside the scene as lamp files do.
#[test]
fn photos_go_along_and_another_picture_is_noticed() {
    let home = tempfile::tempdir().expect("a folder to write in");
    let away = tempfile::tempdir().expect("a folder to write in");
    let mut scene = sound();
    let photo = Underlay::new("tank.jpg".to_owned(), PhotoView::Front, 20.0);
    scene.underlays.push(photo);
    let (files, faults) = read_photos(&scene, home.path());
    assert!(files.is_empty() && faults.len() == 1, "missing: {faults:?}");
    assert!(faults[0].problem.contains("no such file"), "{faults:?}");
    fs::write(home.path().join("tank.jpg"), [1, 2, 3]).expect("written");
    let (files, faults) = read_photos(&scene, home.path());
    assert!(faults.is_empty(), "{faults:?}");
    fs::write(away.path().join("tank.jpg"), "theirs").expect("written");
    let renamed = bring_photos(&scene, (away.path(), false), &files, &[]).expect("written");
    let (_, now) = renamed.first().expect("under another name");
    let brought = fs::read(away.path().join(now)).expect("reads");
    assert_eq!(brought, [1, 2, 3], "ours");
    let theirs = fs::read_to_string(away.path().join("tank.jpg")).expect("reads");
    assert_eq!(theirs, "theirs", "as it was");
    let saved = with_photo_sums(scene, &files);
    fs::write(home.path().join("tank.jpg"), [3, 2, 1]).expect("written");
    let (_, faults) = read_photos(&saved, home.path());
    assert!(faults[0].problem.contains("another picture"), "{faults:?}");
    let text = scene_text(&saved).expect("written");
    assert_eq!(parse(&text, "s.ron").expect("reads").scene, saved, "whole");
}

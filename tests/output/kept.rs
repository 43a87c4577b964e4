//! Runs of a tank that are kept in a folder, so that a long estimate can be
//! stopped and gone on with. Goal: what is taken up gives the same answer to
//! the last digit, and nothing but a run of the very same water is taken up.

use std::path::{Path, PathBuf};

use crate::owned::SCENE;
use crate::program::{json, run, words};

const WATER: [&str; 5] = ["--cell-cm", "5", "--runs", "2", "--keep"];

/// How many runs were taken up.
fn taken_up(err: &str) -> usize {
    err.matches("was kept").count()
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut paths: Vec<_> = entries.map(|entry| entry.path()).collect();
    paths.sort();
    paths
}

#[test]
fn a_kept_run_gives_the_same_answer_again() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("scene.ron"), SCENE).expect("written");
    std::fs::write(at("points.csv"), "x_cm,y_cm,z_cm\n30,20,10\n").expect("written");
    let ask = |command: &str, further: &[&str]| {
        let args = [&[command, "scene.ron"], &WATER[..], &["runs"], further].concat();
        run(folder.path(), &args)
    };
    let plain = run(
        folder.path(),
        &[
            "report",
            "scene.ron",
            "--json",
            "--cell-cm",
            "5",
            "--runs",
            "2",
        ],
    );
    let first = ask("report", &["--json"]);
    assert_eq!(json(&first), json(&plain), "keeping changes nothing");
    assert_eq!(files(&at("runs")).len(), 2, "a file each");
    let again = ask("report", &["--json"]);
    let (out, err) = words(&again);
    assert_eq!(out, words(&first).0, "to the last digit, chances too");
    assert_eq!(taken_up(&err), 2, "{err}");
    let probe = ask("probe", &["--points", "points.csv"]);
    assert_eq!(taken_up(&words(&probe).1), 2, "of the same water");
    assert_eq!(probe.status.code(), Some(0), "there is an answer");
}

#[test]
fn a_stopped_comparison_goes_on_where_it_was() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("scene.ron"), SCENE).expect("written");
    let ask = |cells: &str| {
        let args = ["converge", "scene.ron", "--finer-cm", cells, "--json"];
        run(folder.path(), &[&args, &WATER[..], &["runs"]].concat())
    };
    // As if it had been stopped after cells of 4 cm, and in the second run of 3.
    let whole = ask("4,3");
    let all = files(&at("runs"));
    assert_eq!(all.len(), 6, "three sizes of two runs");
    let of_three = |path: &&PathBuf| {
        // The most cells, so the largest.
        path.metadata().expect("it is there").len()
    };
    let largest = all.iter().max_by_key(of_three).expect("some");
    std::fs::remove_file(largest).expect("removed");
    let again = ask("4,3");
    assert_eq!(taken_up(&words(&again).1), 5, "all that are there");
    let figures = |answer: &std::process::Output| {
        let answer = json(answer);
        let estimates = answer["estimates"].as_array().expect("a list").clone();
        let of = estimates.iter().map(|of| of["flow"].clone());
        of.collect::<Vec<_>>()
    };
    assert_eq!(figures(&again), figures(&whole), "the same figures");
}

#[test]
fn a_run_of_other_water_or_a_damaged_one_is_not_taken_up() {
    let folder = tempfile::tempdir().expect("a folder to write in");
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("scene.ron"), SCENE).expect("written");
    let other = SCENE.replace("1800.0", "1500.0");
    std::fs::write(at("other.ron"), other).expect("written");
    let ask = |scene: &str| {
        let args = [&["report", scene], &WATER[..], &["runs", "--json"]].concat();
        run(folder.path(), &args)
    };
    let first = ask("scene.ron");
    assert_eq!(taken_up(&words(&ask("other.ron")).1), 0, "a weaker pump");
    assert_eq!(files(&at("runs")).len(), 4, "nothing is written over");
    for path in files(&at("runs")) {
        let bytes = std::fs::read(&path).expect("it is there");
        std::fs::write(&path, &bytes[..bytes.len() / 2]).expect("cut short");
    }
    let (out, err) = words(&ask("scene.ron"));
    assert_eq!(out, words(&first).0, "made anew");
    assert_eq!(taken_up(&err), 0, "{err}");
    assert!(
        err.contains(".water: it is damaged or cut short") && err.contains("made anew"),
        "{err}"
    );
    let file = run(
        folder.path(),
        &[
            "report",
            "scene.ron",
            "--cell-cm",
            "5",
            "--runs",
            "1",
            "--keep",
            "scene.ron",
            "--json",
        ],
    );
    assert_ne!(file.status.code(), Some(0), "a file is no folder");
    let notes = json(&file)["notes"].to_string();
    assert!(
        notes.contains("no flow in this report") && notes.contains("scene.ron"),
        "{notes}"
    );
}

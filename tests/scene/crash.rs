//! A program that fails leaves a report that says where, and nothing personal.
//!
//! The child is this test program itself, told by the environment to fail.

use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::Arc;

use bommie::desk::{Change, Desk};
use bommie::document::Document;
use bommie::storage::{crash_reports, demos, parse, watch_for_crashes};

/// Names the folder for the report, in the child.
const FOLDER_KEY: &str = "BOMMIE_TEST_CRASH_IN";
const SECRET: &str = "the reef in the living room";

/// Fails after two commands; does nothing unless it is the child.
#[test]
fn child_that_fails() {
    let Some(folder) = std::env::var_os(FOLDER_KEY) else {
        return;
    };
    watch_for_crashes(PathBuf::from(folder), bommie::job::thread_name);
    let demo = demos().first().expect("there is a demo");
    let mut scene = parse(demo.text, demo.file).expect("it reads").scene;
    SECRET.clone_into(&mut scene.name);
    let mut desk = Desk::new(Document::new(scene, None), Arc::new(|| {}));
    for name in ["a private name", "another"] {
        let change = Change::Name(name.to_owned());
        desk.run(bommie::desk::Command::Edit(SECRET.to_owned(), change));
    }
    desk.run(bommie::desk::Command::Select(Vec::new()));
    let home = std::env::var("HOME").unwrap_or_default();
    panic!("a thing went wrong in {home}/private/reef.ron");
}

#[test]
fn a_failure_leaves_a_report_without_anything_personal() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let home = folder.path().join("home-of-somebody");
    let status = Command::new(std::env::current_exe().expect("this program"))
        .args(["--exact", "crash::child_that_fails", "--nocapture"])
        .env(FOLDER_KEY, &data)
        .env("HOME", &home)
        .env("USER", "somebody")
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .expect("the child starts");
    assert!(!status.success(), "it failed");
    let reports = crash_reports(&data);
    assert_eq!(reports.len(), 1, "one report");
    let text = &reports[0].text;
    for part in [
        concat!("Bommie ", env!("CARGO_PKG_VERSION")),
        "scene: sum ",
        "rocks ",
        "last commands: edit (2 times), select",
        "complaint: a thing went wrong in ~/private",
        "at: tests/scene/crash.rs",
        "child_that_fails",
    ] {
        assert!(text.contains(part), "no {part:?} in {text}");
    }
    for word in [SECRET, "private name", "somebody"] {
        assert!(!text.contains(word), "{word:?} in {text}");
    }
}

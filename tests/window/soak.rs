//! A long day of work: thousands of edits, steps back, opened scenes, pages and
//! views, after which the program holds no more memory than after the first.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;

use bommie::desk::Action;
use egui::{DroppedFile, Key, Modifiers};

use crate::hand::{Window, desk, press, run_by_words, scene, start, window};

/// Rounds until caches, pools and fonts have what they keep: each demo once.
const WARM_UP: usize = 3;
/// Rounds in all, unless `BOMMIE_SOAK_ROUNDS` says how many.
const ROUNDS: usize = 9;
/// Edits of a round, each taken back.
const EDITS: usize = 24;

/// Memory of this process that is its own, in MiB.
fn own_mib() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("a status");
    let line = status.lines().find(|line| line.starts_with("RssAnon:"));
    let kib = line.and_then(|line| line.split_whitespace().nth(1));
    let kib: f64 = kib.and_then(|kib| kib.parse().ok()).expect("a number");
    kib / 1024.0
}

/// A scene file that is dropped on the window.
#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        std::fs::read(&self.0).map_err(|error| error.to_string())
    }
}

/// Drops a scene file on the window, which opens it.
fn open(window: &mut Window, name: &str) {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(name);
    window
        .input_mut()
        .dropped_files
        .push(Arc::new(Dropped(path.clone())));
    window.step();
    window.input_mut().dropped_files.clear();
    window.run_steps(4);
    let opened = desk(window).document().path.clone();
    assert_eq!(opened, Some(path), "it is opened");
}

/// Presses a key without waiting for what is drawn.
fn tap(window: &mut Window, modifiers: Modifiers, key: Key) {
    window.key_press_modifiers(modifiers, key);
    window.run_steps(2);
}

fn round(window: &mut Window, n: usize) {
    let demos = [
        "scenes/window-seat.ron",
        "scenes/harbour-office.ron",
        "scenes/long-wall.ron",
    ];
    open(window, demos[n % demos.len()]);
    let before = scene(window);
    // By its words once a round: the list is opened and closed.
    run_by_words(window, Action::AddBoulder);
    for k in 0..EDITS {
        let (modifiers, key) = match k % 4 {
            0 => (Modifiers::NONE, Key::P),
            1 => (Modifiers::NONE, Key::OpenBracket),
            2 => (Modifiers::COMMAND, Key::D),
            _ => (Modifiers::NONE, Key::Delete),
        };
        tap(window, modifiers, key);
    }
    let n_steps = 2 * EDITS;
    for _ in 0..n_steps {
        if desk(window).document().is_unsaved() {
            tap(window, Modifiers::COMMAND, Key::Z);
        }
    }
    assert_eq!(scene(window), before, "round {n}: all is taken back");
    for action in [
        Action::Help,
        Action::Charts,
        Action::History,
        Action::Stocklist,
        Action::FillSolid,
        Action::AllViews,
        Action::WashLight,
        Action::WashFlow,
        Action::NightSheet,
        Action::NightSheet,
    ] {
        run_by_words(window, action);
        press(window, Modifiers::NONE, Key::Escape);
    }
}

#[test]
#[ignore = "measures its own process; the test below starts it in one of its own"]
fn rounds_of_work() {
    let asked = std::env::var("BOMMIE_SOAK_ROUNDS").ok();
    let rounds = asked.map_or(ROUNDS, |text| text.parse().expect("a number of rounds"));
    let mut window = window(start(false));
    let mut held = Vec::new();
    for n in 0..rounds {
        round(&mut window, n);
        held.push(own_mib());
    }
    let most = |part: &[f64]| part.iter().copied().fold(0.0, f64::max);
    let (warm, after) = (most(&held[..WARM_UP]), most(&held[WARM_UP..]));
    // Pages that the allocator has not given back are within this.
    assert!(
        after < 1.05 * warm,
        "{warm:.1} MiB warm, {after:.1} MiB at the end: {held:.0?}"
    );
}

#[cfg(target_os = "linux")]
#[test]
fn a_long_day_of_work_holds_no_more_memory_than_its_morning() {
    let program = std::env::current_exe().expect("this test");
    let output = Command::new(program)
        .args([
            "soak::rounds_of_work",
            "--exact",
            "--ignored",
            "--nocapture",
        ])
        // Large pieces that are let go of go back to the system at once, as they
        // do not by default once the first of them was: only what is held counts.
        .env("MALLOC_MMAP_THRESHOLD_", "131072")
        .env("MALLOC_TRIM_THRESHOLD_", "131072")
        .output()
        .expect("it starts");
    let said = String::from_utf8_lossy(&output.stdout);
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}\n{told}");
    assert!(said.contains("1 passed"), "it ran: {said}");
}

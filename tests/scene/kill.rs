//! A program killed while it saves leaves the old file or the new one, whole.
//!
//! A child process saves two scenes in turn to one path as fast as it can; it
//! is killed at odd moments, and what it left behind is read. The child is this
//! test program itself, told by the environment what to do.
#![expect(
    clippy::print_stderr,
    reason = "the child tells its parent that it is ready"
)]
#![cfg(unix)]
#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use bommie::scene::Scene;
use bommie::storage::{demos, load, parse, save, scene_text};

/// Names the path to save to, in the child.
const PATH_KEY: &str = "BOMMIE_TEST_SAVE_TO";
/// Says which of the two scenes comes first, in the child.
const FIRST_KEY: &str = "BOMMIE_TEST_SAVE_FIRST";
/// How often the child is killed.
const KILLS: u32 = 200;

/// Said by the child when it begins to save.
const READY: &str = "saving";

/// The two scenes that take turns: of different length, so that a file of one
/// with the rest of the other would show.
fn scenes() -> [Scene; 2] {
    let demo = demos().first().expect("there is a demo");
    let small = parse(demo.text, demo.file).expect("it reads").scene;
    let mut large = small.clone();
    large.name = "much longer ".repeat(10);
    for k in 2..12 {
        let mut copy = small.layouts[0].clone();
        copy.name = format!("copy {k}");
        large.layouts.push(copy);
    }
    [small, large]
}

/// Saves for ever; does nothing unless it is the child.
#[test]
fn child_that_saves_until_it_is_killed() {
    let Some(path) = std::env::var_os(PATH_KEY) else {
        return;
    };
    let scenes = scenes();
    let first = usize::from(std::env::var_os(FIRST_KEY).is_some());
    // Whoever kills it waits for this word.
    eprintln!("{READY}");
    for scene in scenes.iter().cycle().skip(first) {
        save(Path::new(&path), scene).expect("the folder can be written");
    }
}

#[test]
fn a_kill_while_saving_leaves_the_old_file_or_the_new_one_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    kill_while_saving(&folder.path().join("reef.ron"), KILLS);
}

/// Such a file keeps its other name, so it cannot be replaced in one move: what
/// is half written is finished by whoever opens it next.
#[test]
fn a_kill_while_saving_a_file_of_two_names_leaves_one_that_opens_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    let [path, twin] = ["reef.ron", "twin.ron"].map(|name| folder.path().join(name));
    std::fs::write(&path, "").expect("made");
    std::fs::hard_link(&path, &twin).expect("linked");
    kill_while_saving(&path, KILLS / 2);
    let [one, other] = [&path, &twin].map(|path| std::fs::read(path).expect("reads"));
    assert!(one == other, "both names are still of one file");
}

/// Kills a child that saves to `path` at least `n_kills` times, until saves were
/// interrupted and both scenes were met.
fn kill_while_saving(path: &Path, n_kills: u32) {
    let folder = path.parent().expect("in a folder");
    let [small, large] = scenes();
    let texts = [&small, &large].map(|scene| scene_text(scene).expect("writes"));
    save(path, &small).expect("a first save");
    // Moments are spread over a few saves, however long one takes here; a disk
    // that stalled just then is no measure.
    let start = Instant::now();
    save(path, &large).expect("a second save");
    let span_s = (4.0 * start.elapsed().as_secs_f64()).clamp(0.030, 0.200);
    save(path, &small).expect("a third save");
    let program = std::env::current_exe().expect("this program");
    let (mut seen, mut n_interrupted) = ([0, 0], 0);
    // The kills are to hit saves under way and both scenes, else nothing was
    // tried; on a machine that is slow just now that may take some more.
    for kill in 0..KILLS * 10 {
        if kill >= n_kills && n_interrupted > 0 && seen[0] > 0 && seen[1] > 0 {
            break;
        }
        let mut command = Command::new(&program);
        command
            .arg("--exact")
            .arg("kill::child_that_saves_until_it_is_killed")
            .arg("--nocapture")
            .env(PATH_KEY, path)
            .stdout(Stdio::null())
            .stderr(Stdio::piped());
        if kill % 2 == 1 {
            command.env(FIRST_KEY, "1");
        }
        let mut child = command.spawn().expect("the child starts");
        let said = BufReader::new(child.stderr.take().expect("it is heard"));
        let mut lines = said.lines().map_while(Result::ok);
        assert!(lines.any(|line| line == READY), "it began to save");
        // Moments spread evenly over that span, in an order without a pattern.
        let share = (f64::from(kill) * 0.618_034).fract();
        std::thread::sleep(Duration::from_secs_f64(span_s * share));
        child.kill().expect("it was still saving");
        child.wait().expect("it is gone");
        load(path).expect("it opens");
        let left = std::fs::read_to_string(path).expect("there is a file");
        let which = texts.iter().position(|text| *text == left);
        let which = which.expect("the file is one of the two, whole");
        seen[which] += 1;
        n_interrupted += take_parts(folder);
    }
    assert!(n_interrupted > 0, "no save was interrupted");
    assert!(seen[0] > 0 && seen[1] > 0, "both were met: {seen:?}");
}

/// Takes away what interrupted saves have left; how many there were.
fn take_parts(folder: &Path) -> usize {
    let entries = std::fs::read_dir(folder).expect("the folder");
    let is_part = |path: &Path| path.extension().is_some_and(|ending| ending == "part");
    let parts = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| is_part(path));
    parts
        .filter(|path| std::fs::remove_file(path).is_ok())
        .count()
}

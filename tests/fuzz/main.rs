//! Readers under hostile input, and commands under scenes that nobody drew.
//!
//! Method: seeds (the demos and the corpus beside this file) are mutated, by
//! bytes and by structure, from a fixed seed, for a bounded time. What holds
//! for every input: nothing panics, words stay short, and what is accepted is
//! sound and comes back from disk as it was. `BOMMIE_FUZZ_S` sets the seconds
//! of each run; a failing input is printed, and belongs into the corpus.

#![expect(clippy::expect_used, reason = "a broken premise fails the test")]

mod commands;
mod meshes;
mod mutate;
mod readers;

use std::time::{Duration, Instant};

/// Seconds of each run where nothing else is asked for.
const RUN_S: f64 = 2.0;
/// Runs `once` with growing numbers until the time is over and it has done what
/// it is for `least` times, however slow the machine is just now; how often it
/// ran.
fn for_a_while(least: u64, once: impl FnMut(u64) -> bool) -> u64 {
    let asked = std::env::var("BOMMIE_FUZZ_S").ok();
    let run_s = asked.and_then(|it| it.parse().ok()).unwrap_or(RUN_S);
    let end = Instant::now() + Duration::from_secs_f64(run_s);
    let mut once = once;
    let (mut n, mut n_done) = (0, 0);
    while n_done < least || Instant::now() < end {
        n_done += u64::from(once(n));
        n += 1;
    }
    n
}

/// Files of the corpus with this ending, in order.
fn corpus(ending: &str) -> Vec<Vec<u8>> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut paths = Vec::new();
    for folder in ["tests/fuzz/corpus", "tests/data", "scenes"] {
        let entries = std::fs::read_dir(root.join(folder)).expect("the folder is there");
        paths.extend(entries.flatten().map(|entry| entry.path()));
    }
    paths.retain(|path| path.extension().is_some_and(|it| it == ending));
    paths.sort();
    let read = |path: std::path::PathBuf| std::fs::read(path).expect("reads");
    paths.into_iter().map(read).collect()
}

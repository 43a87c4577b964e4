//! How fast the water follows the hand: from a change of the scene to the first
//! slice, to the first tank field, and until each rests. Wall time on whatever
//! else the machine does; prints the median and the slowest of several edits.

#![expect(clippy::print_stdout, reason = "a bench reports on standard output")]
#![expect(clippy::expect_used, reason = "a broken demo is to stop the bench")]

use std::sync::Arc;
use std::time::{Duration, Instant};

use bommie::desk::{Change, Command, Desk};
use bommie::document::Document;
use bommie::scene::Item;
use bommie::storage::{demos, parse};

/// Longest wait for a result.
const PATIENCE: Duration = Duration::from_mins(1);

/// Edits that are timed.
const N_EDITS: usize = 12;

fn main() {
    let demo = &demos()[0];
    let scene = parse(demo.text, demo.file).expect("the demo loads").scene;
    let mut desk = Desk::new(Document::new(scene, None), Arc::new(|| {}));
    let start = Instant::now();
    wait(&mut desk, |desk| desk.results().plan_slice.is_some());
    println!("cold: first slice after {} ms", start.elapsed().as_millis());
    wait(&mut desk, |desk| desk.results().tank.is_some());
    println!(
        "cold: first tank field after {} ms",
        start.elapsed().as_millis()
    );
    wait(&mut desk, |desk| !desk.is_busy());
    println!("cold: at rest after {} ms", start.elapsed().as_millis());
    let rock = desk.layout().rocks[0].id;
    for (name, is_rock) in [("pump", false), ("rock", true)] {
        let mut times: [Vec<Duration>; 4] = Default::default();
        for k in 0..N_EDITS {
            // Never the same twice: results of known scenes are kept.
            let size = 1.0 + 0.1 * k as f64;
            let sign = if k % 2 == 0 { size } else { -size };
            let change = if is_rock {
                Change::Shift(vec![rock], glam::DVec3::new(1.5 * sign, 0.0, 0.0))
            } else {
                let mut pump = desk.layout().pumps[0].clone();
                pump.turn_deg += 4.0 * sign;
                Change::Put(Box::new(Item::Pump(pump)))
            };
            let start = Instant::now();
            desk.run(Command::Edit("try".to_owned(), change));
            let goals: [fn(&Desk) -> bool; 4] = [
                |desk| desk.results().slices_lead() || !desk.results().tank_is_old(),
                |desk| !desk.results().tank_is_old(),
                |desk| !desk.is_busy_with_water(),
                |desk| !desk.is_busy(),
            ];
            for (times, goal) in times.iter_mut().zip(goals) {
                wait(&mut desk, goal);
                times.push(start.elapsed());
            }
        }
        let what = [
            "first slice",
            "first tank field",
            "water at rest",
            "all at rest",
        ];
        for (times, what) in times.iter_mut().zip(what) {
            times.sort();
            let (median, slowest) = (times[times.len() / 2], times[times.len() - 1]);
            println!("{name}: {what} median {median:.0?}, slowest {slowest:.0?}");
        }
    }
    drag(&mut desk);
}

/// A pump turned by a little each 16 ms for three seconds: how often the water
/// is drawn anew, and how far behind it is.
fn drag(desk: &mut Desk) {
    desk.run(Command::Begin("turn".to_owned()));
    let start = Instant::now();
    let (mut shown, mut gaps) = (Instant::now(), Vec::new());
    let mut last = desk.results().plan_slice.clone();
    while start.elapsed() < Duration::from_secs(3) {
        let frame = Instant::now();
        let mut pump = desk.layout().pumps[0].clone();
        pump.turn_deg += 0.2;
        desk.run(Command::Change(Change::Put(Box::new(Item::Pump(pump)))));
        desk.tend();
        let now = desk.results().plan_slice.clone();
        let is_new = match (&last, &now) {
            (Some(a), Some(b)) => !Arc::ptr_eq(a, b),
            _ => now.is_some(),
        };
        if is_new && desk.results().slices_lead() {
            gaps.push(shown.elapsed());
            shown = Instant::now();
            last = now;
        }
        std::thread::sleep(Duration::from_millis(16).saturating_sub(frame.elapsed()));
    }
    desk.run(Command::End);
    gaps.sort();
    let n = gaps.len();
    println!(
        "drag: {n} new slices in 3 s, median gap {:.0?}, longest {:.0?}",
        gaps.get(n / 2),
        gaps.last()
    );
}

fn wait(desk: &mut Desk, goal: impl Fn(&Desk) -> bool) {
    let start = Instant::now();
    loop {
        desk.tend();
        if goal(desk) {
            return;
        }
        assert!(start.elapsed() < PATIENCE, "nothing arrives");
        std::thread::sleep(Duration::from_millis(1));
    }
}

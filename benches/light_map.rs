//! How long light takes: while a hand drags, and when it rests.
//!
//! Goals on two cores for the 120 cm demo: 50 ms from a drag to an updated map
//! at 2.5 to 5 cm, half a second to the full map at 1 cm.
#![expect(clippy::expect_used, reason = "a bench without its scene is no bench")]

use std::hint::black_box;

use bommie::light::{LightOptions, LightSolver, Measured, PlaneCut};
use bommie::scene::Scene;
use bommie::storage::parse;
use bommie::study::Study;
use criterion::{Criterion, criterion_group, criterion_main};
use glam::DVec3;

/// A study of the first layout.
fn study(scene: &Scene) -> Study {
    Study::with_built_in(scene, 0).expect("there is a layout")
}

fn demo() -> Scene {
    parse(
        include_str!("../scenes/harbour-office.ron"),
        "harbour-office.ron",
    )
    .expect("demo reads")
    .scene
}

fn solver(scene: &Scene, options: &LightOptions) -> LightSolver {
    LightSolver::new(&study(scene), &Measured::new(), options).expect("demo solves")
}

fn map(c: &mut Criterion) {
    let mut scene = demo();
    let (live, full) = (LightOptions::live(), LightOptions::default());
    let go_on = |_: f64| true;

    let start = solver(&scene, &live);
    scene.layouts[0].lamps[0].at_cm.x += 1.0;
    c.bench_function("drag a lamp, 5 cm map", |b| {
        b.iter(|| {
            let moved = start.again(&study(&scene), &Measured::new());
            black_box(moved.expect("demo solves").field(0.05, &go_on))
        });
    });
    c.bench_function("drag a rock, 5 cm map", |b| {
        b.iter(|| black_box(solver(&scene, &live).field(0.05, &go_on)));
    });
    c.bench_function("drag a rock, 5 cm level plane", |b| {
        b.iter(|| black_box(solver(&scene, &live).plane(PlaneCut::Level { height_m: 0.2 }, 0.05)));
    });
    c.bench_function("set up, full", |b| {
        b.iter(|| black_box(solver(&scene, &full)));
    });
    let ready = solver(&scene, &full);
    c.bench_function("1 cm map, set up already", |b| {
        b.iter(|| black_box(ready.field(0.01, &go_on)));
    });
    c.bench_function("2.5 cm level plane, set up already", |b| {
        b.iter(|| black_box(ready.plane(PlaneCut::Level { height_m: 0.2 }, 0.025)));
    });
    c.bench_function("set up and 1 cm map, full", |b| {
        b.iter(|| black_box(solver(&scene, &full).field(0.01, &go_on)));
    });
    c.bench_function("one place, full", |b| {
        b.iter(|| black_box(ready.sample(DVec3::new(0.85, 0.25, 0.08), None)));
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10).measurement_time(std::time::Duration::from_secs(2)).warm_up_time(std::time::Duration::from_millis(300));
    targets = map
}
criterion_main!(benches);

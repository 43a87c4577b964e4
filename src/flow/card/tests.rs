//! The shader against the plain step and closed forms, on a software driver
//! where there is no card.

use std::f64::consts::TAU;
use std::sync::OnceLock;

use rayon::prelude::*;

use super::verify::verify;
use super::{Card, CardError, CardKernel};
use crate::domain::{CellForce, closure_term};
use crate::lanes::BLOCK;
use crate::sampling::BlockSums;
use crate::scene::Scene;
use crate::study::Study;
use crate::{
    Device, Domain, FlowError, FlowOptions, FlowSetup, Kernel, Macroscopic, PlainStep, WallDrag,
    solve,
};

fn open() -> Result<Card, CardError> {
    Card::software().or_else(|_| Card::find())
}

/// A driver to check the shader on; says so where there is none.
fn card(test: &str) -> Option<Card> {
    // One for all, so that the shader is compiled once.
    static SHARED: OnceLock<Result<Card, CardError>> = OnceLock::new();
    match SHARED.get_or_init(open) {
        Ok(card) => Some(card.clone()),
        Err(error) => {
            let line = format!("SKIPPED {test}: {error}\n");
            // Past the test's own capture: nobody shall take it for passed.
            drop(std::io::Write::write_all(
                &mut std::io::stderr(),
                line.as_bytes(),
            ));
            None
        }
    }
}

/// A box with a step of rock, a lid, a push, a drag and a source and sink.
fn busy_box() -> Domain {
    let mut domain = Domain::new([9, 8, 7], 0.503);
    domain.lid = true;
    for k in 0..3 {
        for j in 2..6 {
            let cell = domain.idx([5, j, k]);
            domain.solid[cell] = true;
        }
    }
    let high = domain.idx([7, 4, 6]);
    domain.solid[high] = true;
    domain.closure = (0..domain.n_cells())
        .map(|cell| closure_term(0.05 + 0.1 * (cell % 3) as f64))
        .collect();
    let mut force = |ijk: [usize; 3], force: CellForce| {
        let cell = domain.idx(ijk);
        domain.forces.push(CellForce { cell, ..force });
    };
    let push = CellForce {
        force: [0.02, -0.004, 0.003],
        ..CellForce::default()
    };
    force([2, 3, 5], push);
    force([2, 4, 5], push);
    let drag = CellForce {
        linear: 0.01,
        quadratic: 0.4,
        ..CellForce::default()
    };
    force([3, 3, 5], drag);
    force([2, 4, 5], drag);
    let water = CellForce {
        mass: 1e-4,
        ..CellForce::default()
    };
    force([0, 0, 6], water);
    let drain = CellForce {
        mass: -1e-4,
        linear: 1e-4,
        ..CellForce::default()
    };
    force([8, 7, 6], drain);
    domain
}

fn swirl(domain: &Domain, cell: usize) -> Macroscopic {
    let [x, y, z] = domain.ijk(cell).map(|i| i as f64);
    Macroscopic {
        density: 0.004 * (x + 2.0 * z).sin(),
        velocity: [
            0.10 * (0.7 * y + 0.3 * z).sin(),
            0.07 * (0.9 * x - 0.2).cos(),
            0.05 * (0.5 * x + 0.8 * y).sin(),
        ],
    }
}

fn seen(kernel: &mut CardKernel) -> Vec<Macroscopic> {
    kernel.flush().expect("the driver works");
    kernel.macroscopic().expect("the driver works")
}

fn farthest(kernel: &mut CardKernel, reference: &PlainStep, domain: &Domain) -> f64 {
    let found = seen(kernel);
    let water = (0..found.len()).filter(|&cell| !domain.solid[cell]);
    water
        .map(|cell| {
            let (here, there) = (found[cell], reference.macroscopic(cell));
            (here.velocity.iter().zip(there.velocity))
                .map(|(a, b)| (a - b).abs())
                .fold((here.density - there.density).abs(), f64::max)
        })
        .fold(0.0, f64::max)
}

#[test]
fn the_card_s_step_equals_the_plain_one() {
    let Some(card) = card("the card's step equals the plain one") else {
        return;
    };
    for periodic in [[false; 3], [true, false, false], [true, true, true]] {
        for slides in [false, true] {
            equals_the_plain_step(&card, periodic, slides);
        }
    }
}

#[test]
fn populations_may_lie_in_several_buffers() {
    let test = "populations may lie in several buffers";
    if card(test).is_none() {
        return;
    }
    // Seven arrays of 10 x 9 x 8 places in a piece.
    let card = open().expect("found before").within(7 * 4 * 720);
    let (populations, sums) = card.spreads(720).expect("a small block");
    // The one at rest and three pairs, then three pairs each.
    assert_eq!((populations.buffers(), sums.buffers()), (5, 1), "{test}");
    equals_the_plain_step(&card, [false; 3], true);
}

fn equals_the_plain_step(card: &Card, periodic: [bool; 3], slides: bool) {
    let mut domain = busy_box();
    if slides {
        let drag = |cell: usize| WallDrag {
            linear: 1e-3,
            quadratic: 0.004 * (1 + cell % 2) as f32,
        };
        domain.wall_drag = (0..domain.n_cells()).map(drag).collect();
    }
    domain.periodic = periodic;
    domain.lid = !periodic[2];
    let mut kernel = CardKernel::new(card, &domain).expect("a small block");
    let mut reference = PlainStep::new(domain.clone());
    for cell in 0..domain.n_cells() {
        kernel.set(cell, swirl(&domain, cell));
        reference.set(cell, swirl(&domain, cell));
    }
    for step in 0..=9 {
        // Single precision: about 1e-7 of 1 a step, more where they add up.
        let off = farthest(&mut kernel, &reference, &domain);
        assert!(
            off < 3e-6,
            "off by {off:e} after {step} steps, {periodic:?}, walls slide: {slides}"
        );
        kernel.advance(1).expect("the driver works");
        reference.step();
    }
    kernel.advance(90).expect("the driver works");
    for _ in 0..90 {
        reference.step();
    }
    let off = farthest(&mut kernel, &reference, &domain);
    assert!(off < 1e-5, "off by {off:e} after 100 steps, {periodic:?}");
    assert!(kernel.is_sound().expect("the driver works"), "sound");
}

#[test]
fn forces_change_within_a_batch() {
    let Some(card) = card("forces change within a batch") else {
        return;
    };
    let domain = busy_box();
    let mut kernel = CardKernel::new(&card, &domain).expect("a small block");
    let mut reference = PlainStep::new(domain.clone());
    for beat in 0..40_u32 {
        let share = (f64::from(beat) * 0.7).sin() as f32;
        let mut forces = domain.forces.clone();
        for force in &mut forces {
            force.force = force.force.map(|along| along * share);
        }
        // Now and then something else acts as well.
        if beat % 16 > 10 {
            let force = [0.0, 0.001, 0.0];
            forces.push(CellForce {
                cell: 4,
                force,
                ..CellForce::default()
            });
        }
        kernel.set_forces(&forces).expect("the driver works");
        kernel.advance(3).expect("the driver works");
        reference.set_forces(&forces);
        for _ in 0..3 {
            reference.step();
        }
    }
    let off = farthest(&mut kernel, &reference, &domain);
    assert!(off < 1e-5, "off by {off:e} after 120 steps");
}

/// Runs of one tank share a card, each in a thread of its own: whoever waits for
/// it is told of the others' work too.
#[test]
fn several_runs_at_once_do_not_disturb_each_other() {
    let Some(card) = card("several runs at once do not disturb each other") else {
        return;
    };
    let domain = busy_box();
    let run = || -> Result<Vec<Macroscopic>, CardError> {
        let mut kernel = CardKernel::new(&card, &domain)?;
        for _ in 0..40 {
            kernel.advance(2)?;
            kernel.flush()?;
            kernel.macroscopic()?;
        }
        kernel.macroscopic()
    };
    let alone = run().expect("the driver works");
    let together: Vec<_> = (0..8).into_par_iter().map(|_| run()).collect();
    for one in together {
        assert_eq!(one.expect("the driver works"), alone, "the same to the bit");
    }
}

#[test]
fn mass_is_kept_on_the_card() {
    let Some(card) = card("mass is kept on the card") else {
        return;
    };
    let domain = busy_box();
    let mut kernel = CardKernel::new(&card, &domain).expect("a small block");
    kernel.advance(3_000).expect("the driver works");
    let all = seen(&mut kernel);
    let water = domain.solid.iter().filter(|solid| !**solid).count() as f64;
    // What rests in walls comes and goes: with the water at its last speed that
    // is far less than the tolerance, which is single precision's over the run.
    let excess = all.iter().map(|state| state.density).sum::<f64>() / water;
    assert!(excess.abs() < 2e-4, "mean density is off by {excess:e}");
}

#[test]
fn a_vortex_decays_by_viscosity_alone() {
    let Some(card) = card("a vortex decays by viscosity alone") else {
        return;
    };
    let errors = [12, 24].map(|n| vortex_error(&card, n));
    let order = (errors[0] / errors[1]).log2();
    assert!(
        order > 1.9 && errors[1] < 0.015,
        "{errors:?}, order {order}"
    );
}

/// Taylor & Green's vortex on `n` cells a wave, whose speed falls as
/// `exp(−2 ν k² t)`: how far off it is when a quarter is left.
fn vortex_error(card: &Card, n: usize) -> f64 {
    let (tau, u0) = (0.56, 0.48 / n as f64);
    let mut domain = Domain::new([n, n, 1], tau);
    domain.periodic = [true; 3];
    let mut kernel = CardKernel::new(card, &domain).expect("a small block");
    let wave = TAU / n as f64;
    let angles = |cell: usize| domain.ijk(cell).map(|i| (i as f64 + 0.5) * wave);
    let at = |cell: usize| {
        let [i, j, _] = angles(cell);
        [u0 * i.cos() * j.sin(), -u0 * i.sin() * j.cos(), 0.0]
    };
    for cell in 0..domain.n_cells() {
        let [i, j, _] = angles(cell);
        let density = -0.75 * u0 * u0 * ((2.0 * i).cos() + (2.0 * j).cos());
        let velocity = at(cell);
        kernel.set(cell, Macroscopic { density, velocity });
    }
    let steps = (n * n) as u64 * 7 / 8;
    kernel.advance(steps).expect("the driver works");
    let left = (-2.0 * (tau - 0.5) / 3.0 * wave * wave * steps as f64).exp();
    let (mut off, mut size) = (0.0, 0.0);
    for (cell, state) in seen(&mut kernel).iter().enumerate() {
        for (found, start) in state.velocity.iter().zip(at(cell)) {
            off += (found - start * left).powi(2);
            size += (start * left).powi(2);
        }
    }
    (off / size).sqrt()
}

#[test]
fn samples_are_those_of_the_processor() {
    let Some(card) = card("samples are those of the processor") else {
        return;
    };
    let domain = busy_box();
    let mut kernel = CardKernel::new(&card, &domain).expect("a small block");
    let mut processor = Kernel::new(domain.clone());
    let slow = 0.004;
    let mut expected = vec![BlockSums::default(); processor.n_blocks()];
    for _ in 0..5 {
        kernel.advance(7).expect("the driver works");
        kernel.sample(slow).expect("the driver works");
        processor.advance(7);
        processor.sample(&mut expected, slow);
    }
    let mut sums = vec![BlockSums::default(); kernel.n_blocks()];
    kernel.take_sums(&mut sums).expect("the driver works");
    let at = |sums: &[BlockSums], place: usize| {
        let (block, lane) = (&sums[place / BLOCK], place % BLOCK);
        let [u, v, w] = block.velocity.map(|along| along[lane]);
        [
            u,
            v,
            w,
            block.speed[lane],
            block.square[lane],
            block.slow[lane],
        ]
    };
    for cell in (0..domain.n_cells()).filter(|&cell| !domain.solid[cell]) {
        let found = at(&sums, cell);
        let expected = at(&expected, processor.place_of(cell));
        for (found, expected) in found.iter().zip(expected) {
            let off = (found - expected).abs();
            assert!(off < 1e-5, "cell {cell}: {found} instead of {expected}");
        }
    }
    let mut again = vec![BlockSums::default(); sums.len()];
    kernel.take_sums(&mut again).expect("the driver works");
    let left = (again.iter()).any(|block| block.speed.iter().any(|x| *x != 0.0));
    assert!(!left, "sums begin anew once they are taken");
}

#[test]
fn a_card_that_computes_rightly_passes_its_question() {
    let Some(card) = card("a card that computes rightly passes its question") else {
        return;
    };
    assert_eq!(verify(&card), Ok(()), "the driver computes rightly");
}

/// A small box with one outlet, which blows past a rock.
fn box_with_an_outlet() -> FlowSetup {
    let text = r#"(
        format: 1, name: "box",
        tank: (length_cm: 30.0, width_cm: 18.0, height_cm: 18.0, water_cm: 15.0,
            sand: (depth_cm: 0.0, grain_mm: 1.0, reflectance: 0.5)),
        layouts: [(
            name: "one",
            rocks: [(
                id: 1, at_cm: (20.0, 11.0, 0.0),
                plan: (points_cm: [(-3.0, -3.0), (3.0, -3.0), (3.0, 3.0), (-3.0, 3.0)]),
                front: (points_cm: [(-3.0, 0.0), (3.0, 0.0), (3.0, 7.0), (-3.0, 7.0)]),
            )],
            pumps: [(
                id: 2, kind: Nozzle, at_cm: (4.0, 8.0, 9.0), turn_deg: 5.0, tilt_deg: -4.0,
                flow_lph: 400.0, outlet_cm: 2.5,
            )],
        )],
    )"#;
    let scene: Scene = ron::from_str(text).expect("a scene");
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let options = FlowOptions {
        cell_m: Some(0.015),
        spin_up_s: Some(4.0),
        average_s: Some([20.0, 20.0]),
        ..FlowOptions::default()
    };
    FlowSetup::new(&study, &options).expect("it can be set up")
}

#[test]
fn a_tank_is_as_the_processor_has_it() {
    let Some(card) = card("a tank is as the processor has it") else {
        return;
    };
    let setup = box_with_an_outlet();
    let here = solve(setup.clone(), &mut |_| true).expect("the processor does it");
    let there = solve(setup.on(Device::Card(card.clone())), &mut |_| true).expect("so does a card");
    assert_eq!(
        there.computed_on.card.as_deref(),
        Some(card.name()),
        "who did it"
    );
    let means = [here, there].map(|field| field.settling.mean_speed_m_s);
    let off = (means[1] / means[0] - 1.0).abs();
    // Rounding grows as in any turbulent water; the means over time stay.
    assert!(off < 0.01, "means {means:?} differ by {off:.4}");
    assert!(means[0] > 0.005, "the outlet moves the water: {means:?}");
}

#[test]
fn a_lost_card_leaves_the_tank_to_the_processor() {
    if card("a lost card leaves the tank to the processor").is_none() {
        return;
    }
    let card = open().expect("found before");
    let setup = box_with_an_outlet().on(Device::Card(card.clone()));
    let mut asked = 0;
    let field = solve(setup, &mut |_| {
        asked += 1;
        if asked == 3 {
            card.lose();
        }
        true
    });
    let on = field.expect("the processor does it").computed_on;
    assert_eq!(on.card, None, "not the card");
    assert!(
        on.instead
            .as_deref()
            .is_some_and(|why| why.contains(card.name())),
        "says why: {on}"
    );
    let stopped = solve(
        box_with_an_outlet().on(Device::Card(open().expect("found before"))),
        &mut |_| false,
    );
    assert!(matches!(stopped, Err(FlowError::Cancelled)), "{stopped:?}");
}

#[test]
fn a_card_that_is_gone_says_so() {
    if card("a card that is gone says so").is_none() {
        return;
    }
    // One of its own, which is taken away.
    let card = open().expect("found before");
    let mut kernel = CardKernel::new(&card, &busy_box()).expect("a small block");
    kernel.advance(3).expect("the driver works");
    card.lose();
    let result = kernel.advance(2_000);
    assert!(matches!(result, Err(CardError::Lost { .. })), "{result:?}");
}

#[test]
fn what_the_card_cannot_do_is_said() {
    let Some(card) = card("what the card cannot do is said") else {
        return;
    };
    let mut domain = busy_box();
    domain.moving.push(crate::MovingCell {
        cell: 0,
        velocity: [0.01, 0.0, 0.0],
    });
    let refused = CardKernel::new(&card, &domain).err();
    assert!(
        matches!(refused, Some(CardError::Unsupported { .. })),
        "{refused:?}"
    );
}

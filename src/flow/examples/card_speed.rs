//! How fast the graphics card is, and how near to the processor.
//!
//! ```text
//! cargo run --release -p bommie-flow --features card --example card_speed -- [SCENE.ron CELL_CM ...] [--processor CELL_CM] [--from-rest]
//! ```
//! Without a scene: cell updates a second of the blocks that the bench `flow_step` times, walls, lid, heap and jet
//! included. With one: each tank estimate's time and mean speed on the card, and on the processor for cells of
//! `--processor`; `--from-rest` lets fine cells begin at rest. `--software` takes a software driver, `--name` says which card it is and stops.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool that prints figures and may stop"
)]

use std::path::Path;
use std::time::Instant;

use bommie_flow::{
    Card, CardKernel, CellForce, Device, Domain, FlowOptions, FlowSetup, closure_term, solve,
};
use bommie_model::scene::Scene;
use bommie_model::study::Study;

/// Blocks that are timed: the 120 cm tank at 2 cm, 1 cm and 0.5 cm, and a medium one.
const SIZES: [[usize; 3]; 4] = [[60, 30, 25], [128, 64, 64], [120, 60, 50], [240, 120, 100]];

/// Steps between two changes of forces, about as in a run.
const STEPS: u64 = 4;

fn tank(n: [usize; 3]) -> Domain {
    let mut domain = Domain::new(n, 0.5005);
    domain.lid = true;
    domain.closure = vec![closure_term(0.05); domain.n_cells()];
    for cell in 0..domain.n_cells() {
        let [i, j, k] = domain.ijk(cell);
        domain.solid[cell] = 3 * i > n[0] && 2 * i < n[0] && 3 * j > n[1] && 3 * k < n[2];
    }
    domain.forces.push(CellForce {
        cell: domain.idx([3, n[1] / 2, n[2] / 2]),
        force: [0.01, 0.0, 0.0],
        ..CellForce::default()
    });
    domain
}

fn speed(card: &Card) {
    println!("| cells | steps | million cell updates a second |\n|---|---|---|");
    for n in SIZES {
        let domain = tank(n);
        let start = Instant::now();
        let mut kernel = CardKernel::new(card, &domain).expect("the card takes it");
        let mut forces = domain.forces.clone();
        let mut run = |beats: u64| {
            let start = Instant::now();
            for beat in 0..beats {
                forces[0].force[1] = if beat % 2 == 0 { 1e-3 } else { -1e-3 };
                kernel.set_forces(&forces).expect("the card works");
                kernel.advance(STEPS).expect("the card works");
            }
            let sound = kernel.is_sound().expect("the card works");
            (start.elapsed().as_secs_f64(), sound)
        };
        let (warm_s, _) = run(50);
        let setup_s = start.elapsed().as_secs_f64() - warm_s;
        // About two seconds.
        let beats = ((2.0 / warm_s * 50.0) as u64).clamp(10, 100_000);
        let (seconds, sound) = run(beats);
        let updates = (beats * STEPS) as f64 * domain.n_cells() as f64;
        println!(
            "| {}x{}x{} | {} | {:.0} | set up in {setup_s:.2} s, sound: {sound}",
            n[0],
            n[1],
            n[2],
            beats * STEPS,
            updates / seconds * 1e-6
        );
    }
}

fn estimate(scene: &Scene, cell_cm: f64, device: &Device, begins_at_rest: bool) {
    let study = Study::with_built_in(scene, 0).expect("there is a layout");
    let mut options = FlowOptions {
        cell_m: Some(cell_cm / 100.0),
        ..FlowOptions::default()
    };
    if begins_at_rest {
        options.head_start = None;
    }
    let start = Instant::now();
    let setup = FlowSetup::new(&study, &options)
        .expect("it can be set up")
        .on(device.clone());
    let updates = setup.cell_updates_max();
    let field = solve(setup, &mut |_| true).expect("it is solved");
    let (seconds, settling) = (start.elapsed().as_secs_f64(), field.settling);
    println!(
        "{cell_cm} cm on {}: {seconds:.1} s, mean {:.5} ± {:.5} m/s, dead {:.4} ± {:.4}, averaged {:.0} s, settled {}, at most {updates:.2e} updates",
        field.computed_on,
        settling.mean_speed_m_s,
        settling.mean_speed_half_width_m_s,
        settling.dead_share,
        settling.dead_share_half_width,
        settling.averaged_s,
        settling.settled
    );
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let is_software = args.iter().any(|arg| arg == "--software");
    let card = if is_software {
        Card::software()
    } else {
        Card::find()
    };
    let card = card.expect("a card");
    println!("{}", card.name());
    if args.iter().any(|arg| arg == "--name") {
        return;
    }
    let begins_at_rest = args.iter().any(|arg| arg == "--from-rest");
    let mut device = Device::Card(card.clone());
    let mut scene = None;
    for arg in args {
        if Path::new(&arg).extension().is_some_and(|end| end == "ron") {
            let text = std::fs::read_to_string(&arg).expect("the scene can be read");
            println!("{arg}");
            let read = ron::Options::default()
                .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
                .from_str::<Scene>(&text);
            (scene, device) = (Some(read.expect("a scene")), Device::Card(card.clone()));
        } else if arg == "--processor" {
            device = Device::Processor;
        } else if let (Some(scene), Ok(cell_cm)) = (&scene, arg.parse()) {
            estimate(scene, cell_cm, &device, begins_at_rest);
        }
    }
    if scene.is_none() {
        speed(&card);
    }
}

//! The engine against published measurements, at sizes that no test has the time
//! for.
//!
//! ```text
//! cargo run --release -p bommie-flow --example published -- [cube] [room] [vertical] [wall] [free]
//!     [--cube 8,12,16] [--length 14] [--room 1,2,3] [--slice] [--times 80,200] [--narrow] [--cells 2,1] [--on card]
//! ```
//! Without a name all of them; sources stand in the file of each.
//! - `cube`: a cube on the floor of a channel, `--cube` cells an edge, in a channel of `--length` edges.
//! - `room`: a room with a slot under its ceiling, `--room` cells a slot; with `--slice` a third as wide and without side
//!   walls, which turns over otherwise.
//! - `vertical`, `wall`, `free`: a jet up through a tank, one along the bottom, and one far from all walls, on cells of
//!   `--cells` cm; with `--narrow` the one along the bottom in the tank of its test.
//!
//! `--times`: what is left out and what is averaged, of cube and room in edges or heights over the speed. Prints tables
//! for the methods page. With a build of the feature `card`, `--on card` solves on a graphics card.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool that prints figures and may stop"
)]

mod block;
mod cube;
mod free;
mod jets;
mod room;
mod vertical;
mod wall;

use std::time::Instant;

use bommie_flow::Device;

/// Numbers after an option, or these.
fn numbers(args: &[String], name: &str, default: &[f64]) -> Vec<f64> {
    let at = args.iter().position(|arg| arg == name);
    let text = at.and_then(|at| args.get(at + 1));
    text.map_or(default.to_vec(), |text| {
        let parts = text.split(',');
        parts.map(|x| x.parse().expect("numbers")).collect()
    })
}

/// Times that are left out and averaged, if others than these are asked for.
fn times(args: &[String], default: [f64; 2]) -> [f64; 2] {
    let given = numbers(args, "--times", &default);
    [given[0], given[1]]
}

/// Prints one row with the time that it took.
fn row(name: &str, solve: impl FnOnce() -> String) {
    let start = Instant::now();
    let text = solve();
    println!(
        "| {name} | {text} | {:.0} s |",
        start.elapsed().as_secs_f64()
    );
}

fn print_cube(args: &[String], device: &Device) {
    println!(
        "\nCube in a channel: behind it {:.2} and before it {:.2} edges measured; profiles: root mean square and mean off \
         the measured ones at {:?}, over the mean speed",
        cube::BEHIND,
        cube::BEFORE,
        cube::PLACES
    );
    println!("| cells an edge | behind, before | profiles | |\n| --- | --- | --- | --- |");
    let length = numbers(args, "--length", &[cube::LENGTH as f64])[0];
    for h in numbers(args, "--cube", &[8.0, 12.0, 16.0]) {
        row(&h.to_string(), || {
            let found = cube::solved(
                (h as usize, length as usize),
                times(args, [80.0, 200.0]),
                device,
            );
            let off: Vec<String> = (found.off.iter())
                .map(|[rms, mean]| format!("{rms:.3}, {mean:+.3}"))
                .collect();
            let (behind, before) = (found.behind, found.before);
            format!("{behind:.2}, {before:.2} | {}", off.join("; "))
        });
    }
}

fn print_room(args: &[String], device: &Device) {
    let slice = args.iter().any(|arg| arg == "--slice");
    println!(
        "\nRoom with a slot: forth {:.2?}, back {:.2?}, turns at {}, fastest at {} measured",
        room::FORTH,
        room::BACK,
        room::TURNS,
        room::FASTEST
    );
    println!(
        "| cells a slot | forth at one and two heights | back | turns | fastest | most | most back | |\n| --- | --- | --- | --- | --- | --- | --- | --- |"
    );
    for slot in numbers(args, "--room", &[1.0, 2.0, 3.0]) {
        row(&slot.to_string(), || {
            let f = room::solved((slot as usize, slice), times(args, [400.0, 800.0]), device);
            format!(
                "{:.2?} | {:.2?} | {:.2} | {:.3} | {:.2?} | {:.2}",
                f.forth, f.back, f.turns, f.fastest, f.most, f.most_back
            )
        });
    }
}

fn print_vertical(cells_cm: &[f64], device: &Device) {
    println!(
        "\nJet up to the surface: felt from {} diameters below it",
        vertical::FELT
    );
    println!(
        "| cells | over the law at 10, 20, 30, 40, 50 | B | felt | sinks | |\n| --- | --- | --- | --- | --- | --- |"
    );
    for cell_cm in cells_cm {
        row(&format!("{cell_cm} cm"), || {
            let f = vertical::solved(cell_cm / 100.0, device);
            format!(
                "{:.2?} | {:.2} | {:.1?} | {:.3}",
                f.over_law, f.decay, f.felt, f.sinks
            )
        });
    }
}

fn print_wall(args: &[String], cells_cm: &[f64], device: &Device) {
    let is_narrow = args.iter().any(|arg| arg == "--narrow");
    let tank_cm = if is_narrow {
        wall::NARROW_CM
    } else {
        wall::WIDE_CM
    };
    println!(
        "\nJet along the bottom: growth {} off it, {} along it",
        wall::OFF_WALL,
        wall::ALONG_WALL
    );
    println!(
        "| cells | growth off, along | half height, width at 12 and 30 diameters | most over the outlet's at 10, 20, 30 | |\n| --- | --- | --- | --- | --- |"
    );
    for cell_cm in cells_cm {
        row(&format!("{cell_cm} cm"), || {
            let f = wall::solved(tank_cm, cell_cm / 100.0, device);
            let ends = [f.halves.first(), f.halves.last()];
            format!("{:.3?} | {ends:.3?} | {:.3?}", f.growth, f.most)
        });
    }
}

fn print_free(cells_cm: &[f64], device: &Device) {
    println!("\nFree jet: B {}, growth {}", free::DECAY, free::GROWTH);
    println!(
        "| cells | B, growth | over the law at 6, 10, 20, 30, 40 | widths | |\n| --- | --- | --- | --- | --- |"
    );
    for cell_cm in cells_cm {
        row(&format!("{cell_cm} cm"), || {
            let f = free::solved(cell_cm / 100.0, [20.0, 30.0], device);
            format!(
                "{:.2}, {:.3} | {:.2?} | {:.2?}",
                f.decay, f.growth, f.over_law, f.widths
            )
        });
    }
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let device = if args.windows(2).any(|pair| pair == ["--on", "card"]) {
        Device::kept_card().expect("a card, and a build with the feature card")
    } else {
        Device::Processor
    };
    let cases = ["cube", "room", "vertical", "wall", "free"];
    let none = !args.iter().any(|arg| cases.contains(&arg.as_str()));
    let is_asked = |case: &str| none || args.iter().any(|arg| arg == case);
    let cells_cm = numbers(&args, "--cells", &[2.0, 1.0]);
    if is_asked("cube") {
        print_cube(&args, &device);
    }
    if is_asked("room") {
        print_room(&args, &device);
    }
    if is_asked("vertical") {
        print_vertical(&cells_cm, &device);
    }
    if is_asked("wall") {
        print_wall(&args, &cells_cm, &device);
    }
    if is_asked("free") {
        print_free(&cells_cm, &device);
    }
}

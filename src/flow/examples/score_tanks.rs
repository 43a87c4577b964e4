//! Scores the tank estimate against resolved tanks.
//!
//! ```text
//! cargo run --release -p bommie-flow --example score_tanks -- DIR [--cells 2,1.25] [--tanks a,b] [--runs 1]
//!     [--constant 0.16] [--noise 0.1] [--fade 1.6,1.8] [--speed 0.3] [--window 40,120] [--seed 1] [--walls rest]
//!     [--fields OUT] [--on card] [--head-start 1,0.4]
//! ```
//! `DIR` holds a folder a tank with `tank.json` (metres; boxes of rock, outlets) and either `felt_mm_s.txt.gz` (as in
//! `tests/data/resolved`, whose README says what it is) or `resolved.csv` (blocks of 2 cm: centre, share of water, mean velocity, fluctuation, felt speed of two halves in mm/s, share of time below 2 cm/s).
//! Tanks `a` to `g` and `aa` to `ar` are those that settings may be fitted on; the others are only for checking.
//! Printed for each cell size: rank correlation of the felt speed over blocks wholly in water, overlap of the slowest
//! quarter, ratio of the means, of the water called slower than 2 and 5 cm/s how much is (right) and how much of the
//! truly slow is found, its share said and true, and the time taken.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool that prints figures and may stop"
)]

use std::fmt::Write as _;
use std::path::Path;
use std::time::Instant;

#[path = "felt/tank.rs"]
mod tank;

use bommie_flow::{
    Agreement, Closure, Device, FlowField, FlowOptions, FlowSetup, block_speed_m_s, solve_runs,
};
use bommie_model::study::Study;
use serde_json::Value;
use tank::{Block, blocks, is_fit, scene, tanks_in, vector};

struct Score {
    rank: f64,
    overlap: f64,
    ratio: f64,
    right_found: [[f64; 2]; 2],
    said_true: [f64; 2],
    seconds: f64,
    settled: bool,
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn score(ours: &[f64], theirs: &[f64]) -> Score {
    let agreement = Agreement::of(ours, theirs).expect("places in moving water");
    let count = |test: &dyn Fn(usize) -> bool| (0..ours.len()).filter(|&k| test(k)).count() as f64;
    let right_found = [0.02, 0.05].map(|limit| {
        let hit = count(&|k| ours[k] < limit && theirs[k] < limit);
        [
            hit / count(&|k| ours[k] < limit),
            hit / count(&|k| theirs[k] < limit),
        ]
    });
    let n = ours.len() as f64;
    Score {
        rank: agreement.rank,
        overlap: agreement.slowest_overlap,
        ratio: agreement.ln_ratio.exp(),
        right_found,
        said_true: [
            count(&|k| ours[k] < 0.02) / n,
            count(&|k| theirs[k] < 0.02) / n,
        ],
        seconds: 0.0,
        settled: false,
    }
}

fn option<'a>(args: &'a [String], name: &str) -> Option<&'a str> {
    let at = args.iter().position(|arg| arg == name)?;
    args.get(at + 1).map(String::as_str)
}

fn print(name: &str, s: &Score) {
    let [[right2, found2], [right5, found5]] = s.right_found;
    println!(
        "| {name} | {:.3} | {:.3} | {:.3} | {right2:.2}, {found2:.2} | {right5:.2}, {found5:.2} | {:.3} / {:.3} | {:.1}{} |",
        s.rank,
        s.overlap,
        s.ratio,
        s.said_true[0],
        s.said_true[1],
        s.seconds,
        if s.settled { "" } else { ", unsettled" }
    );
}

/// Means over some tanks; a share of nothing does not count.
fn summary(name: &str, scores: &[&Score]) {
    let of = |pick: &dyn Fn(&Score) -> f64| {
        let values: Vec<f64> = scores
            .iter()
            .map(|s| pick(s))
            .filter(|x| x.is_finite())
            .collect();
        mean(&values)
    };
    println!(
        "| **{name}, {}** | {:.3} | {:.3} | abs ln {:.3} | {:.2}, {:.2} | {:.2}, {:.2} | {:.3} / {:.3} | {:.1} |",
        scores.len(),
        of(&|s| s.rank),
        of(&|s| s.overlap),
        of(&|s| s.ratio.ln().abs()),
        of(&|s| s.right_found[0][0]),
        of(&|s| s.right_found[0][1]),
        of(&|s| s.right_found[1][0]),
        of(&|s| s.right_found[1][1]),
        of(&|s| s.said_true[0]),
        of(&|s| s.said_true[1]),
        of(&|s| s.seconds)
    );
}

/// What the estimate says of each block, as a table to fit on.
fn write_fields(field: &FlowField, resolved: &[Block], out: &Path) {
    let mut text =
        "x_cm,y_cm,z_cm,felt_m_s,u_m_s,v_m_s,w_m_s,speed_m_s,fluctuation_m_s\n".to_owned();
    for block in resolved {
        let Some(felt) = block_speed_m_s(field, block.at_m) else {
            continue;
        };
        let at = block.at_m * 100.0;
        let sample = field.sample(block.at_m).unwrap_or_default();
        let [u, v, w] = sample.velocity_m_s.to_array();
        let (speed, fluctuation) = (sample.speed_m_s, sample.fluctuation_m_s);
        let row = format!(
            "{},{},{},{felt:.5},{u:.5},{v:.5},{w:.5},{speed:.5},{fluctuation:.5}",
            at.x, at.y, at.z
        );
        writeln!(text, "{row}").expect("a string takes all");
    }
    std::fs::write(out, text).expect("the table can be written");
}

/// Solves one tank and scores it; the blocks go to a table if `out` is given.
fn solved(
    tank: &Path,
    options: &FlowOptions,
    (n_runs, device): (usize, &Device),
    out: Option<&Path>,
) -> Score {
    let text = std::fs::read_to_string(tank.join("tank.json")).expect("tank.json");
    let tank_json: Value = serde_json::from_str(&text).expect("JSON");
    let resolved = blocks(tank, vector(&tank_json["tank"]));
    let scene = scene(&tank_json);
    let start = Instant::now();
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let setup = FlowSetup::new(&study, options).expect("it can be set up");
    let setup = setup.on(device.clone());
    let field = solve_runs(&setup, n_runs, &|_| true).expect("it is solved");
    let seconds = start.elapsed().as_secs_f64();
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for block in &resolved {
        if let Some(felt) = block_speed_m_s(&field, block.at_m) {
            ours.push(felt);
            theirs.push(block.felt_m_s);
        }
    }
    if let Some(out) = out {
        write_fields(&field, &resolved, out);
    }
    let settled = field.settling.settled;
    Score {
        seconds,
        settled,
        ..score(&ours, &theirs)
    }
}

/// Where the tanks are to be solved.
fn device(args: &[String]) -> Device {
    match option(args, "--on") {
        Some("card") => Device::kept_card().expect("a card, and a build with the feature card"),
        _ => Device::Processor,
    }
}

fn number(args: &[String], name: &str, default: f64) -> f64 {
    option(args, name).map_or(default, |x| x.parse().expect("a number"))
}

/// What the estimate of a table is asked for.
fn options(args: &[String], cell_cm: f64) -> FlowOptions {
    let window = option(args, "--window").map(|text| {
        let [from, to] = [0, 1].map(|at| text.split(',').nth(at).and_then(|x| x.parse().ok()));
        [from, to].map(|x: Option<f64>| x.expect("two times in s"))
    });
    let fade = option(args, "--fade").map(|text| {
        let [from, to] = [0, 1].map(|at| text.split(',').nth(at).and_then(|x| x.parse().ok()));
        [from, to].map(|x: Option<f64>| x.expect("two sizes in cm") / 100.0)
    });
    FlowOptions {
        cell_m: Some(cell_cm / 100.0),
        closure: Closure::Smagorinsky {
            constant: number(args, "--constant", 0.05),
        },
        outlet_noise: number(args, "--noise", 0.1),
        walls: option(args, "--walls").map_or(FlowOptions::default().walls, |text| {
            text.parse().expect("rest or slide")
        }),
        core_mixing_m: fade.unwrap_or(FlowOptions::default().core_mixing_m),
        head_start: match option(args, "--head-start") {
            Some("none") => None,
            Some(text) => {
                let share = |at| text.split(',').nth(at).and_then(|x| x.parse().ok());
                Some([0, 1].map(|at| share(at).expect("two shares of the spin-up")))
            }
            None => FlowOptions::default().head_start,
        },
        speed_lu: number(args, "--speed", 0.3),
        seed: number(args, "--seed", 1.0) as u64,
        spin_up_s: window.map(|window| window[0]),
        average_s: window.map(|window| [window[1] - window[0]; 2]),
        ..FlowOptions::default()
    }
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let dir = args.first().expect("a folder of tanks");
    let cells_cm: Vec<f64> = (option(&args, "--cells").unwrap_or("2").split(','))
        .map(|x| x.parse().expect("cells in cm"))
        .collect();
    let chosen: Option<Vec<&str>> = option(&args, "--tanks").map(|list| list.split(',').collect());
    let tanks = tanks_in(Path::new(dir));
    for cell_cm in cells_cm {
        let options = options(&args, cell_cm);
        println!(
            "cells of {cell_cm} cm\n| tank | rank | overlap | ratio | < 2 cm/s right, found | < 5 cm/s right, found | share < 2 said / true | s |\n|---|---|---|---|---|---|---|---|"
        );
        let mut scores = Vec::new();
        for tank in &tanks {
            let name = tank
                .file_name()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            if chosen
                .as_ref()
                .is_some_and(|list| !list.iter().any(|start| name.starts_with(start)))
            {
                continue;
            }
            let out = option(&args, "--fields")
                .map(|dir| Path::new(dir).join(format!("{name}_{cell_cm}.csv")));
            let score = solved(
                tank,
                &options,
                (number(&args, "--runs", 1.0) as usize, &device(&args)),
                out.as_deref(),
            );
            print(&name, &score);
            scores.push((name, score));
        }
        let half = |fit: bool| -> Vec<&Score> {
            let of_half = scores.iter().filter(|(name, _)| fit == is_fit(name));
            of_half.map(|(_, score)| score).collect()
        };
        for (name, half) in [("fit", half(true)), ("check", half(false))] {
            if !half.is_empty() {
                summary(name, &half);
            }
        }
    }
}

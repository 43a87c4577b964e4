//! Scores the tank estimate against resolved tanks.
//!
//! ```text
//! cargo run --release -p bommie-flow --example score_tanks -- DIR [--cells 2,1.25] [--tanks a,b] [--runs 1]
//!     [--constant 0.16] [--gusts 0.035] [--speed 0.3] [--window 40,120] [--fields OUT]
//! ```
//! `DIR` holds a folder a tank with `tank.json` (metres; boxes of rock, outlets) and either `felt_mm_s.txt.gz` (as in
//! `tests/data/resolved`, whose README says what it is) or `resolved.csv` (blocks of 2 cm: centre, share of water, mean velocity, fluctuation, felt speed of two halves in mm/s, share of time below 2 cm/s).
//! Tanks whose name begins with `a` to `g` are those that settings may be fitted on; the others are only for checking.
//! Printed for each cell size: rank correlation of the felt speed over blocks wholly in water, overlap of the slowest
//! quarter, ratio of the means, of the water called slower than 2 and 5 cm/s how much is (right) and how much of the
//! truly slow is found, its share said and true, and the time taken.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool that prints figures and may stop"
)]

use std::fmt::Write as _;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::time::Instant;

use bommie_flow::{Closure, FlowField, FlowOptions, FlowSetup, solve_runs};
use bommie_model::scene::Scene;
use bommie_model::study::Study;
use glam::DVec3;
use serde_json::Value;

/// Edge of a block, in m.
const BLOCK_M: f64 = 0.02;

/// One block of a resolved field.
struct Block {
    at_m: DVec3,
    felt_m_s: f64,
}

struct Score {
    rank: f64,
    overlap: f64,
    ratio: f64,
    right_found: [[f64; 2]; 2],
    said_true: [f64; 2],
    seconds: f64,
    settled: bool,
}

fn numbers(value: &Value) -> Vec<f64> {
    let list = value.as_array().expect("a list of numbers");
    list.iter().map(|x| x.as_f64().expect("a number")).collect()
}

fn vector(value: &Value) -> DVec3 {
    DVec3::from_slice(&numbers(value))
}

/// The tank as a scene; its pumps are nozzles, since the references have thrust at outlets and no bodies.
fn scene(tank: &Value) -> Scene {
    let size = vector(&tank["tank"]) * 100.0;
    let (mut rocks, mut pumps) = (String::new(), String::new());
    for (k, block) in tank["boxes"].as_array().expect("boxes").iter().enumerate() {
        let (low, high) = (vector(&block["min"]) * 100.0, vector(&block["max"]) * 100.0);
        let (half, at, height) = ((high - low) / 2.0, (low + high) / 2.0, high.z - low.z);
        let outline = |a: f64, low: f64, high: f64| {
            format!(
                "(curved: false, points_cm: [({:?}, {low:?}), ({a:?}, {low:?}), ({a:?}, {high:?}), ({:?}, {high:?})])",
                -a, -a
            )
        };
        let (plan, front) = (
            outline(half.x, -half.y, half.y),
            outline(half.x, 0.0, height),
        );
        let (id, x, y, z) = (100 + k, at.x, at.y, low.z);
        write!(rocks, "(id: {id}, name: \"box\", at_cm: ({x:?}, {y:?}, {z:?}), turn_deg: 0.0, plan: {plan}, front: {front}, rounding_cm: 0.0),")
            .expect("a string takes all");
    }
    for (k, pump) in tank["pumps"].as_array().expect("pumps").iter().enumerate() {
        let (at, aim) = (vector(&pump["pos"]) * 100.0, vector(&pump["dir"]));
        let (id, x, y, z) = (1 + k, at.x, at.y, at.z);
        let turn = aim.y.atan2(aim.x).to_degrees();
        let tilt = aim.z.atan2(aim.x.hypot(aim.y)).to_degrees();
        let outlet_cm = pump["diameter"].as_f64().expect("a diameter") * 100.0;
        let flow_lph = pump["flow_lph"].as_f64().expect("a flow");
        write!(pumps, "(id: {id}, name: \"pump\", kind: Nozzle, at_cm: ({x:?}, {y:?}, {z:?}), turn_deg: {turn:?}, tilt_deg: {tilt:?}, flow_lph: {flow_lph:?}, outlet_cm: {outlet_cm:?}, programme: Steady),")
            .expect("a string takes all");
    }
    let (length, width, water, height) = (size.x, size.y, size.z, size.z + 5.0);
    let text = format!(
        "(format: 1, name: \"tank\", tank: (length_cm: {length:?}, width_cm: {width:?}, height_cm: {height:?}, water_cm: {water:?},
        sand: (depth_cm: 0.0, grain_mm: 1.0, reflectance: 0.4),
        sides: (left: Clear, right: Clear, front: Clear, back: Clear),
        water: (absorption_per_m: 0.2, refractive_index: 1.34)),
        layouts: [(name: \"one\", rocks: [{rocks}], pumps: [{pumps}], lamps: [], corals: [])])"
    );
    ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .from_str(&text)
        .expect("a scene")
}

/// Blocks wholly in water, from `felt_mm_s.txt.gz` or from `resolved.csv`.
fn blocks(tank: &Path, size_m: DVec3) -> Vec<Block> {
    let packed = tank.join("felt_mm_s.txt.gz");
    if packed.exists() {
        return felt_blocks(&packed, size_m);
    }
    let text = std::fs::read_to_string(tank.join("resolved.csv")).expect("resolved.csv, unpacked");
    let rows = text.lines().skip(1).map(|line| {
        let row: Vec<f64> = (line.split(',').map(|x| x.parse().expect("a number"))).collect();
        row
    });
    rows.filter(|row| row[3] >= 99.5)
        .map(|row| Block {
            at_m: DVec3::new(row[0], row[1], row[2]) / 100.0,
            felt_m_s: row[4..8].iter().map(|x| x * x).sum::<f64>().sqrt() / 1000.0,
        })
        .collect()
}

/// Rows along x, in the order of y within that of z, from the corner at the origin.
fn felt_blocks(packed: &Path, size_m: DVec3) -> Vec<Block> {
    let mut text = String::new();
    let file = std::fs::File::open(packed).expect("the file opens");
    flate2::read::GzDecoder::new(file)
        .read_to_string(&mut text)
        .expect("packed text");
    let n_y = (size_m.y / BLOCK_M + 1e-6).floor() as usize;
    let mut blocks = Vec::new();
    for (row, line) in text.lines().enumerate() {
        for (i, word) in line.split(' ').enumerate().filter(|(_, word)| *word != "-") {
            let ijk = DVec3::new(i as f64, (row % n_y) as f64, (row / n_y) as f64);
            let felt_mm_s: f64 = word.parse().expect("a number");
            blocks.push(Block {
                at_m: (ijk + 0.5) * BLOCK_M,
                felt_m_s: felt_mm_s / 1000.0,
            });
        }
    }
    blocks
}

/// Root mean square of the felt speed over the eight eighths of a block of 2 cm.
fn felt_m_s(field: &FlowField, at_m: DVec3) -> Option<f64> {
    let mut sum = 0.0;
    let mut n = 0.0;
    for corner in 0..8_u8 {
        let side = |bit: u8| if corner & bit == 0 { -0.005 } else { 0.005 };
        if let Some(sample) = field.sample(at_m + DVec3::new(side(1), side(2), side(4))) {
            sum += sample.velocity_m_s.length_squared() + sample.fluctuation_m_s.powi(2);
            n += 1.0;
        }
    }
    (n > 0.0).then(|| f64::sqrt(sum / n))
}

fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut ranks = vec![0.0; values.len()];
    for (rank, at) in order.into_iter().enumerate() {
        ranks[at] = rank as f64;
    }
    ranks
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let (mean_a, mean_b) = (mean(a), mean(b));
    let product = |x: &[f64], mx: f64, y: &[f64], my: f64| -> f64 {
        x.iter().zip(y).map(|(x, y)| (x - mx) * (y - my)).sum()
    };
    product(a, mean_a, b, mean_b)
        / (product(a, mean_a, a, mean_a) * product(b, mean_b, b, mean_b)).sqrt()
}

fn score(ours: &[f64], theirs: &[f64]) -> Score {
    let (rank_ours, rank_theirs) = (ranks(ours), ranks(theirs));
    let quarter = ours.len() as f64 / 4.0;
    let count = |test: &dyn Fn(usize) -> bool| (0..ours.len()).filter(|&k| test(k)).count() as f64;
    let both = count(&|k| rank_ours[k] < quarter && rank_theirs[k] < quarter);
    let either = count(&|k| rank_ours[k] < quarter || rank_theirs[k] < quarter);
    let right_found = [0.02, 0.05].map(|limit| {
        let hit = count(&|k| ours[k] < limit && theirs[k] < limit);
        [
            hit / count(&|k| ours[k] < limit),
            hit / count(&|k| theirs[k] < limit),
        ]
    });
    let n = ours.len() as f64;
    Score {
        rank: correlation(&rank_ours, &rank_theirs),
        overlap: both / either,
        ratio: mean(ours) / mean(theirs),
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
        let Some(felt) = felt_m_s(field, block.at_m) else {
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
fn solved(tank: &Path, options: &FlowOptions, n_runs: usize, out: Option<&Path>) -> Score {
    let text = std::fs::read_to_string(tank.join("tank.json")).expect("tank.json");
    let tank_json: Value = serde_json::from_str(&text).expect("JSON");
    let resolved = blocks(tank, vector(&tank_json["tank"]));
    let scene = scene(&tank_json);
    let start = Instant::now();
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let setup = FlowSetup::new(&study, options).expect("it can be set up");
    let field = solve_runs(&setup, n_runs, &|_| true).expect("it is solved");
    let seconds = start.elapsed().as_secs_f64();
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for block in &resolved {
        if let Some(felt) = felt_m_s(&field, block.at_m) {
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

/// The tanks of a folder, by name.
fn tanks_in(dir: &Path) -> Vec<PathBuf> {
    let mut tanks: Vec<PathBuf> = (std::fs::read_dir(dir).expect("the folder").flatten())
        .map(|entry| entry.path())
        .filter(|path| {
            path.join("tank.json").exists()
                && (path.join("resolved.csv").exists() || path.join("felt_mm_s.txt.gz").exists())
        })
        .collect();
    tanks.sort();
    tanks
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let dir = args.first().expect("a folder of tanks");
    let number = |name: &str, default: f64| {
        option(&args, name).map_or(default, |x| x.parse().expect("a number"))
    };
    let cells_cm: Vec<f64> = (option(&args, "--cells").unwrap_or("2").split(','))
        .map(|x| x.parse().expect("cells in cm"))
        .collect();
    let window = option(&args, "--window").map(|text| {
        let [from, to] = [0, 1].map(|at| text.split(',').nth(at).and_then(|x| x.parse().ok()));
        [from, to].map(|x: Option<f64>| x.expect("two times in s"))
    });
    let chosen: Option<Vec<&str>> = option(&args, "--tanks").map(|list| list.split(',').collect());
    let tanks = tanks_in(Path::new(dir));
    for cell_cm in cells_cm {
        let options = FlowOptions {
            cell_m: Some(cell_cm / 100.0),
            closure: Closure::Smagorinsky {
                constant: number("--constant", 0.16),
            },
            gust_share: number("--gusts", 0.035),
            speed_lu: number("--speed", 0.3),
            spin_up_s: window.map(|window| window[0]),
            average_s: window.map(|window| [window[1] - window[0]; 2]),
            ..FlowOptions::default()
        };
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
                number("--runs", 1.0) as usize,
                out.as_deref(),
            );
            print(&name, &score);
            scores.push((name, score));
        }
        let half = |fit: bool| -> Vec<&Score> {
            let of_half = scores
                .iter()
                .filter(|(name, _)| fit == matches!(name.as_bytes()[0], b'a'..=b'g'));
            of_half.map(|(_, score)| score).collect()
        };
        for (name, half) in [("fit", half(true)), ("check", half(false))] {
            if !half.is_empty() {
                summary(name, &half);
            }
        }
    }
}

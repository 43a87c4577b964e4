//! First step: features beside the truth, tank by tank.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::time::Instant;

use bommie_flow::felt::{FEATURE_NAMES, between, cell_features};
use bommie_flow::{Device, FlowField, FlowOptions, FlowSetup, combined, solve_range};
use bommie_model::study::Study;
use rayon::prelude::*;
use serde_json::Value;

use crate::option;
use crate::tank::{blocks, scene, tanks_in, vector};

/// Solves all tanks on all cells, as many side by side as there are threads.
pub(crate) fn features(dir: &Path, out: &Path, args: &[String]) {
    let first = option(args, "--first").map(Path::new);
    for folder in [Some(out), first].into_iter().flatten() {
        std::fs::create_dir_all(folder).expect("the folder can be made");
    }
    let list = |name: &str, default: &str| -> Vec<String> {
        let words = option(args, name).unwrap_or(default).split(',');
        words.map(str::to_owned).collect()
    };
    let runs: usize = list("--runs", "3")[0].parse().expect("a number of runs");
    let chosen = list("--tanks", "");
    let window = option(args, "--window").map(|text| {
        let times: Vec<f64> = (text.split(','))
            .map(|x| x.parse().expect("a time in s"))
            .collect();
        [times[0], times[1]]
    });
    let mut jobs: Vec<(f64, PathBuf, f64)> = Vec::new();
    for tank in tanks_in(dir) {
        if !chosen.iter().any(|start| name_of(&tank).starts_with(start)) {
            continue;
        }
        let size = vector(&json(&tank)["tank"]);
        for cell in list("--cells", "1,1.25,1.5,2") {
            let cell_cm: f64 = cell.parse().expect("cells in cm");
            let work = size.element_product() / cell_cm.powi(4);
            // What an earlier run has written stays: a long run can be resumed.
            if !out.join(table_name(&tank, cell_cm)).exists() {
                jobs.push((work, tank.clone(), cell_cm));
            }
        }
    }
    // The longest first, so that none is left for the end.
    jobs.sort_by(|a, b| b.0.total_cmp(&a.0));
    let device = match option(args, "--on") {
        Some("card") => Device::kept_card().expect("a card, and a build with the feature card"),
        _ => Device::Processor,
    };
    let one = |(_, tank, cell_cm): &(f64, PathBuf, f64)| {
        let start = Instant::now();
        let options = FlowOptions {
            cell_m: Some(cell_cm / 100.0),
            spin_up_s: window.map(|[from, _]| from),
            average_s: window.map(|[from, to]| [to - from; 2]),
            walls: option(args, "--walls").map_or(FlowOptions::default().walls, |text| {
                text.parse().expect("rest or slide")
            }),
            ..FlowOptions::default()
        };
        let fields = solved(tank, &options, (runs, &device));
        let name = table_name(tank, *cell_cm);
        if let Some(first) = first {
            put(first, &name, &table(tank, &fields[0]));
        }
        let mean = combined(fields.into_iter().enumerate().collect()).expect("there are runs");
        put(out, &name, &table(tank, &mean));
        println!("{name}: {:.1} s", start.elapsed().as_secs_f64());
    };
    // A card works on one at a time.
    if matches!(device, Device::Processor) {
        jobs.par_iter().for_each(one);
    } else {
        jobs.iter().for_each(one);
    }
}

fn name_of(tank: &Path) -> String {
    let name = tank.file_name().expect("a name");
    name.to_string_lossy().into_owned()
}

fn table_name(tank: &Path, cell_cm: f64) -> String {
    format!("{}_{cell_cm}.csv", name_of(tank))
}

fn json(tank: &Path) -> Value {
    let text = std::fs::read_to_string(tank.join("tank.json")).expect("tank.json");
    serde_json::from_str(&text).expect("JSON")
}

/// Writes a table, under its own name only once it is whole.
fn put(folder: &Path, name: &str, text: &str) {
    let half = folder.join(format!("{name}.part"));
    std::fs::write(&half, text).expect("the table can be written");
    std::fs::rename(&half, folder.join(name)).expect("the table can be named");
}

fn solved(tank: &Path, options: &FlowOptions, (runs, device): (usize, &Device)) -> Vec<FlowField> {
    let scene = scene(&json(tank));
    let study = Study::with_built_in(&scene, 0).expect("there is a layout");
    let setup = FlowSetup::new(&study, options).expect("it can be set up");
    let setup = setup.on(device.clone());
    let fields = solve_range(&setup, 0..runs, &|_| true);
    (fields.into_iter().map(|field| field.expect("it is solved"))).collect()
}

/// What is known of the blocks of a tank, beside the truth.
fn table(tank: &Path, field: &FlowField) -> String {
    let features = cell_features(field);
    let mut text = format!("x_cm,y_cm,z_cm,true_m_s,{}\n", FEATURE_NAMES.join(","));
    for block in blocks(tank, vector(&json(tank)["tank"])) {
        let value = |idx: usize| Some(features[idx]).filter(|of| of[0] > 0.0);
        let Some(features) = between(&field.grid, block.at_m, value) else {
            continue;
        };
        let at = block.at_m * 100.0;
        write!(text, "{},{},{},{}", at.x, at.y, at.z, block.felt_m_s).expect("a string takes all");
        for value in features {
            write!(text, ",{value:.4}").expect("a string takes all");
        }
        text.push('\n');
    }
    text
}

//! A round jet in a wide box against the law of a free one, on cells of several sizes.
//!
//! ```text
//! cargo run --release -p bommie-flow --example free_jet -- [--cells 2,1] [--box 240,120,120] [--outlet 4] [--flow 3000]
//!     [--constant 0.05] [--noise 0.1] [--fade 1.6,1.8] [--speed 0.3] [--window 20,50] [--on card]
//! ```
//! The jet begins 20 cm from the left pane, in the middle of it, and points along the box. Printed for each cell size:
//! speed on the axis and half width over the law's (5.9 U₀ d/x, 0.094 x) at 6, 10, 20, 30 and 40 diameters, the decay B
//! and the growth of the half width fitted from 10 to 26 diameters, fluctuation over speed on the axis at 20 diameters
//! (0.25 measured, Hussein, Capp & George 1994), and the time taken.

#![expect(
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a tool that prints figures and may stop"
)]

use std::f64::consts::{FRAC_PI_4, TAU};
use std::time::Instant;

#[expect(dead_code, reason = "it needs the scene of a tank alone")]
#[path = "felt/tank.rs"]
mod tank;

use bommie_flow::{Closure, Device, FlowField, FlowOptions, FlowSetup, solve};
use bommie_model::study::Study;
use glam::DVec3;
use serde_json::json;

/// Growth of a free round jet's half width.
///
/// **Source** Hussein, Capp & George 1994, J. Fluid Mech. 258:31.
const GROWTH: f64 = 0.094;
/// Decay of its speed on the axis. **Source** the same.
const DECAY: f64 = 5.9;
/// Way from the left pane to the outlet, in m.
const START_M: f64 = 0.20;

fn option<'a>(args: &'a [String], name: &str) -> Option<&'a str> {
    let at = args.iter().position(|arg| arg == name)?;
    args.get(at + 1).map(String::as_str)
}

fn numbers(args: &[String], name: &str, default: &str) -> Vec<f64> {
    let text = option(args, name).unwrap_or(default).split(',');
    text.map(|x| x.parse().expect("a number")).collect()
}

/// Mean speed along the jet over a ring round its axis.
fn ring(field: &FlowField, start: DVec3, x_m: f64, radius_m: f64) -> f64 {
    let speeds = (0..24).map(|k| {
        let (sin, cos) = (f64::from(k) * TAU / 24.0).sin_cos();
        let at_m = start + DVec3::new(x_m, radius_m * cos, radius_m * sin);
        (field.sample(at_m)).map_or(0.0, |sample| sample.velocity_m_s.x)
    });
    speeds.sum::<f64>() / 24.0
}

/// Speed on the axis and half width, `x_m` from the outlet.
fn section(field: &FlowField, start: DVec3, x_m: f64) -> [f64; 2] {
    let axis = ring(field, start, x_m, 0.0);
    let radii = (1..800).map(|mm| f64::from(mm) * 1e-3);
    let half = radii.take_while(|radius_m| ring(field, start, x_m, *radius_m) > 0.5 * axis);
    [axis, half.last().unwrap_or(0.0)]
}

fn slope(points: &[[f64; 2]]) -> f64 {
    let n = points.len() as f64;
    let mx = points.iter().map(|[x, _]| x).sum::<f64>() / n;
    let my = points.iter().map(|[_, y]| y).sum::<f64>() / n;
    let over: f64 = points.iter().map(|[x, y]| (x - mx) * (y - my)).sum();
    over / points.iter().map(|[x, _]| (x - mx).powi(2)).sum::<f64>()
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let number = |name: &str, default: &str| numbers(&args, name, default)[0];
    let size_m = DVec3::from_slice(&numbers(&args, "--box", "240,120,120")) / 100.0;
    let (outlet_m, flow_lph) = (number("--outlet", "4") / 100.0, number("--flow", "3000"));
    let start = DVec3::new(START_M, 0.5 * size_m.y, 0.5 * size_m.z);
    let exit_m_s = flow_lph / 3.6e6 / (FRAC_PI_4 * outlet_m * outlet_m);
    let device = match option(&args, "--on") {
        Some("card") => Device::kept_card().expect("a card, and a build with the feature card"),
        _ => Device::Processor,
    };
    let json = json!({
        "tank": size_m.to_array(), "boxes": [],
        "pumps": [{"pos": start.to_array(), "dir": [1, 0, 0], "diameter": outlet_m, "flow_lph": flow_lph}],
    });
    let study = Study::with_built_in(&tank::scene(&json), 0).expect("there is a layout");
    let window = numbers(&args, "--window", "20,50");
    let fade = numbers(&args, "--fade", "1.6,1.8");
    println!(
        "| cells, cm | axis over the law's at 6, 10, 20, 30, 40 diameters | half width over the law's there | B | growth | fluctuation at 20 | s |\n|---|---|---|---|---|---|---|"
    );
    for cell_cm in numbers(&args, "--cells", "2,1") {
        let options = FlowOptions {
            cell_m: Some(cell_cm / 100.0),
            closure: Closure::Smagorinsky {
                constant: number("--constant", "0.05"),
            },
            outlet_noise: number("--noise", "0.1"),
            core_mixing_m: [fade[0] / 100.0, fade[1] / 100.0],
            speed_lu: number("--speed", "0.3"),
            spin_up_s: Some(window[0]),
            average_s: Some([window[1] - window[0]; 2]),
            ..FlowOptions::default()
        };
        let begun = Instant::now();
        let setup = FlowSetup::new(&study, &options).expect("it can be set up");
        let field = solve(setup.on(device.clone()), &mut |_| true).expect("it is solved");
        let at = |diameters: f64| section(&field, start, diameters * outlet_m);
        let over = [6.0, 10.0, 20.0, 30.0, 40.0].map(|x| {
            let [speed, half] = at(x);
            [
                speed * x / (DECAY * exit_m_s),
                half / (GROWTH * x * outlet_m),
            ]
        });
        let fitted: Vec<[f64; 3]> = (10..=26)
            .map(|x| {
                let [speed, half] = at(f64::from(x));
                [f64::from(x), exit_m_s / speed, half / outlet_m]
            })
            .collect();
        let decay = 1.0 / slope(&fitted.iter().map(|[x, y, _]| [*x, *y]).collect::<Vec<_>>());
        let growth = slope(&fitted.iter().map(|[x, _, y]| [*x, *y]).collect::<Vec<_>>());
        let there = field
            .sample(start + DVec3::X * 20.0 * outlet_m)
            .unwrap_or_default();
        println!(
            "| {cell_cm} | {:.2?} | {:.2?} | {decay:.2} | {growth:.3} | {:.2} | {:.0} |",
            over.map(|[speed, _]| speed),
            over.map(|[_, half]| half),
            there.fluctuation_m_s / there.speed_m_s / 3f64.sqrt(),
            begun.elapsed().as_secs_f64()
        );
    }
}

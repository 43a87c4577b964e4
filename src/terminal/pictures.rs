//! Pictures of a report: flow and light washes in plan and in side view.

use glam::DVec3;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder as _};

use super::TerminalError;
use super::answer::Solved;
use super::solve::{Case, flow_at};
use crate::light::{LightPlane, LightSolver, PlaneCut};
use crate::study::Medium;
use crate::units::M_PER_CM;

/// Pixels a centimetre.
const PIXELS_PER_CM: f64 = 5.0;
/// Most pixels along one side, for tanks of any size.
const PIXELS_MAX: f64 = 2_000.0;
/// Cell of the light wash, in m.
const LIGHT_CELL_M: f64 = 0.02;
/// Speed at the bright end of the flow wash, in cm/s: three quarters of what
/// corals of high flow are given at most.
const SPEED_TOP_CM_S: f64 = 20.0;
/// PPFD at the bright end of the light wash, in µmol/m²/s.
const PPFD_TOP_UMOL: f64 = 400.0;

/// Ten colors from dark to bright, even to the eye and for the color-blind:
/// the map "viridis" (Smith & van der Walt 2015, public domain). MEMORY.
const RAMP: [[u8; 3]; 10] = [
    [68, 1, 84],
    [72, 40, 120],
    [62, 74, 137],
    [49, 104, 142],
    [38, 130, 142],
    [31, 158, 137],
    [53, 183, 121],
    [109, 205, 89],
    [180, 222, 44],
    [253, 231, 37],
];

/// Which way a picture looks.
#[derive(Clone, Copy)]
enum View {
    /// From above, cut at this height in cm.
    Plan(f64),
    /// Through the front glass, cut at this depth in cm.
    Side(f64),
}

/// All pictures that can be made of what was solved: file name and PNG.
pub(super) fn all(
    case: &Case,
    solved: &Solved,
) -> Result<Vec<(&'static str, Vec<u8>)>, TerminalError> {
    let tank = &case.study.scene().tank;
    let n_pumps = case.layout().pumps.len().max(1) as f64;
    let pump_cm = case
        .layout()
        .pumps
        .iter()
        .map(|pump| pump.at_cm.z)
        .sum::<f64>()
        / n_pumps;
    let low_cm = tank.sand.depth_cm + 0.1 * (tank.water_cm - tank.sand.depth_cm);
    let views = [
        ("at-pumps", View::Plan(pump_cm)),
        ("low", View::Plan(low_cm)),
        ("side", View::Side(tank.width_cm / 2.0)),
    ];
    let mut pictures = Vec::new();
    for (idx, (_, view)) in views.iter().enumerate() {
        if let Some(field) = &solved.flow {
            let shade = |at_cm: DVec3| {
                flow_at(field, at_cm * M_PER_CM).speed_m_s / M_PER_CM / SPEED_TOP_CM_S
            };
            let name = ["flow-at-pumps.png", "flow-low.png", "flow-side.png"][idx];
            pictures.push((name, picture(case, *view, &shade)?));
        }
        if let Some(lit) = &solved.lit {
            let grid = light_grid(&lit.solver, *view);
            let shade = |at_cm: DVec3| grid.at(at_cm) / PPFD_TOP_UMOL;
            let name = ["light-at-pumps.png", "light-low.png", "light-side.png"][idx];
            pictures.push((name, picture(case, *view, &shade)?));
        }
    }
    Ok(pictures)
}

/// PPFD over a view, a coarse cell at a time.
struct LightGrid {
    plane: LightPlane,
}

impl LightGrid {
    /// PPFD at a place, between the middles of the cells around it. Cells in
    /// rock are dark by definition and take no part.
    fn at(&self, at_cm: DVec3) -> f64 {
        let grid = &self.plane.grid;
        let place = (at_cm * M_PER_CM - grid.origin_m) / grid.cell_m - 0.5;
        let (mut sum, mut weights) = (0.0, 0.0);
        for corner in 0..8_usize {
            let (mut weight, mut cell) = (1.0, [0; 3]);
            for axis in 0..3 {
                let last = grid.n[axis] - 1;
                let position = place[axis].clamp(0.0, last as f64);
                let low = (position.floor() as usize).min(last);
                let (share, high) = (position - low as f64, corner >> axis & 1);
                weight *= if high == 1 { share } else { 1.0 - share };
                cell[axis] = (low + high).min(last);
            }
            let ppfd = f64::from(self.plane.up_umol[grid.idx(cell)]);
            if ppfd > 0.0 {
                sum += weight * ppfd;
                weights += weight;
            }
        }
        if weights > 0.0 { sum / weights } else { 0.0 }
    }
}

fn light_grid(solver: &LightSolver, view: View) -> LightGrid {
    let cut = match view {
        View::Plan(height_cm) => PlaneCut::Level {
            height_m: height_cm * M_PER_CM,
        },
        View::Side(depth_cm) => PlaneCut::Depth {
            depth_m: depth_cm * M_PER_CM,
        },
    };
    LightGrid {
        plane: solver.plane(cut, LIGHT_CELL_M),
    }
}

/// One view colored by `shade` (0 dark to 1 bright), rock and sand in grays.
fn picture(
    case: &Case,
    view: View,
    shade: &dyn Fn(DVec3) -> f64,
) -> Result<Vec<u8>, TerminalError> {
    let tank = &case.study.scene().tank;
    let tall_cm = match view {
        View::Plan(_) => tank.width_cm,
        View::Side(_) => tank.water_cm,
    };
    let per_cm = PIXELS_PER_CM.min(PIXELS_MAX / tank.length_cm.max(tall_cm));
    let (width, height) = (
        (tank.length_cm * per_cm).ceil() as u32,
        (tall_cm * per_cm).ceil() as u32,
    );
    let mut pixels = Vec::with_capacity((width * height * 3) as usize);
    for row in 0..height {
        // Upwards in the picture is away from the front glass, or up.
        let up_cm = tall_cm - (f64::from(row) + 0.5) / per_cm;
        for column in 0..width {
            let x_cm = (f64::from(column) + 0.5) / per_cm;
            let at_cm = match view {
                View::Plan(height_cm) => DVec3::new(x_cm, up_cm, height_cm),
                View::Side(depth_cm) => DVec3::new(x_cm, depth_cm, up_cm),
            };
            pixels.extend(match case.study.medium_at(at_cm * M_PER_CM) {
                Medium::Water => color(shade(at_cm)),
                Medium::Rock => [120, 112, 104],
                Medium::Sand => [214, 204, 184],
                Medium::Outside => [255, 255, 255],
            });
        }
    }
    let mut png = Vec::new();
    PngEncoder::new(&mut png).write_image(&pixels, width, height, ExtendedColorType::Rgb8)?;
    Ok(png)
}

/// A color of the ramp, 0 dark to 1 bright.
fn color(share: f64) -> [u8; 3] {
    let place = share.clamp(0.0, 1.0) * (RAMP.len() - 1) as f64;
    let low = (place.floor() as usize).min(RAMP.len() - 2);
    let part = place - low as f64;
    let mix = |channel: usize| {
        let (from, to) = (
            f64::from(RAMP[low][channel]),
            f64::from(RAMP[low + 1][channel]),
        );
        (from + (to - from) * part).round() as u8
    };
    [mix(0), mix(1), mix(2)]
}

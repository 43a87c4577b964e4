//! Which cells a tank is put on.

use glam::DVec3;

use crate::geometry::CellGrid;
use crate::scene::Tank;
use crate::units::M_PER_CM;
use crate::{Cut, FlowError, FlowOptions};

/// Most cells of a run; 10⁷ take 1.65 GB, and 1.9 GB with their result.
pub const CELLS_MAX: u64 = 12_000_000;

/// Smallest and largest cell that is chosen unasked, in m.
const CELL_CHOICE_M: [f64; 2] = [0.005, 0.03];

/// Edge of cells that carry the jets of most pumps themselves, in m, for who
/// wants a truer answer and can wait: 1 cm, coarser in tanks beyond 1,000 L;
/// none where the cells that are chosen unasked are about as fine.
pub fn fine_cell_m(tank: &Tank) -> Option<f64> {
    const FINE_M: f64 = 0.01;
    const CELLS: f64 = 1e6;
    const WORTH: f64 = 1.3;
    let volume_m3 = water_m(tank).element_product();
    let unasked_m = (volume_m3 / FlowOptions::default().cells_wanted as f64).cbrt();
    let fine_m = FINE_M.max((volume_m3 / CELLS).cbrt());
    (unasked_m.min(CELL_CHOICE_M[1]) >= WORTH * fine_m).then_some(fine_m)
}

/// Inner measures of the water, in m.
pub(crate) fn water_m(tank: &Tank) -> DVec3 {
    DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm) * M_PER_CM
}

/// The cells that the options ask for.
pub(crate) fn grid_of(tank: &Tank, options: &FlowOptions) -> Result<CellGrid, FlowError> {
    let water = water_m(tank);
    let (flat, at_m) = match options.cut {
        Cut::Plan { height_m } => (Some(2), height_m),
        Cut::Side { depth_m } => (Some(1), depth_m),
        Cut::Tank => (None, 0.0),
    };
    if let Some(axis) = flat
        && !(at_m > 0.0 && at_m < water[axis])
    {
        let limit_m = water[axis];
        return Err(FlowError::CutOutside { at_m, limit_m });
    }
    let wanted = options.cells_wanted.max(1) as f64;
    let cell_m = options.cell_m.unwrap_or_else(|| {
        let chosen = match flat {
            None => (water.element_product() / wanted).cbrt(),
            Some(axis) => (water.element_product() / water[axis] / wanted).sqrt(),
        };
        // Whole and half millimetres read better.
        ((chosen * 2000.0).round() / 2000.0).clamp(CELL_CHOICE_M[0], CELL_CHOICE_M[1])
    });
    if !(cell_m.is_finite() && cell_m > 0.0) {
        return Err(FlowError::BadNumber {
            what: "the cell size in m",
            value: cell_m,
            must: "positive",
        });
    }
    let along: [f64; 3] = std::array::from_fn(|axis| {
        if Some(axis) == flat {
            1.0
        } else {
            (water[axis] / cell_m).round()
        }
    });
    let needed = along.iter().product::<f64>();
    if needed > CELLS_MAX as f64 {
        let (needed, limit) = (needed as u64, CELLS_MAX);
        return Err(FlowError::TooManyCells { needed, limit });
    }
    let shortest = (0..3)
        .filter(|&axis| Some(axis) != flat)
        .map(|axis| along[axis] as usize)
        .min();
    if let Some(cells) = shortest.filter(|&cells| cells < 4) {
        return Err(FlowError::TooFewCells { cell_m, cells });
    }
    let mut origin_m = DVec3::ZERO;
    if let Some(axis) = flat {
        origin_m[axis] = at_m - 0.5 * cell_m;
    }
    Ok(CellGrid {
        origin_m,
        cell_m,
        n: along.map(|n| n as usize),
    })
}

//! What can go wrong with a flow run.

use thiserror::Error;

/// Why there is no flow.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum FlowError {
    /// More cells than memory and time allow.
    #[error("grid needs {needed} cells, the limit is {limit}; choose larger cells")]
    TooManyCells {
        /// Cells that the wish needs.
        needed: u64,
        /// The limit.
        limit: u64,
    },
    /// Cells too large to say anything about this tank.
    #[error("a cell of {cell_m} m leaves {cells} cells across the tank, at least 4 are needed")]
    TooFewCells {
        /// Edge of a cell, in m.
        cell_m: f64,
        /// Cells along the shortest side.
        cells: usize,
    },
    /// The cut lies outside the water.
    #[error("the cut at {at_m} m lies outside the water (0 to {limit_m} m)")]
    CutOutside {
        /// Where it was wanted, in m.
        at_m: f64,
        /// The far side of the water, in m.
        limit_m: f64,
    },
    /// Rock and sand leave no water.
    #[error("no water is left on this cut")]
    NoWater,
    /// A number that makes no sense.
    #[error("{what} is {value}, it must be {must}")]
    BadNumber {
        /// Which number.
        what: &'static str,
        /// Its value.
        value: f64,
        /// What it must be.
        must: &'static str,
    },
    /// Time step and cell do not go together.
    #[error("lattice speed {speed_lu:.3} is above {limit_lu}; take a shorter time step")]
    TooFast {
        /// Largest expected speed in cells a step.
        speed_lu: f64,
        /// The limit.
        limit_lu: f64,
    },
    /// The run left the range in which it means anything.
    #[error(
        "the flow diverged after {after_s:.2} s of tank time; larger cells or gentler pumps help"
    )]
    Diverged {
        /// Tank time until then, in s.
        after_s: f64,
    },
    /// The graphics card does not do it, or stopped while it did.
    #[error("{why}")]
    Card {
        /// What it says.
        why: String,
    },
    /// No way that water meets a wall.
    #[error("walls are `rest` or `slide`, not `{text}`")]
    BadWalls {
        /// What was asked for.
        text: String,
    },
    /// Someone asked it to stop.
    #[error("the flow estimate was stopped")]
    Cancelled,
}

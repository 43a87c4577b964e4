//! What a flow run is asked for.

use std::str::FromStr;

use crate::FlowError;

/// Which part of the tank is solved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cut {
    /// A level slice at this height.
    Plan {
        /// Height above the inner bottom, in m.
        height_m: f64,
    },
    /// An upright slice along x at this depth.
    Side {
        /// Distance from the front glass, in m.
        depth_m: f64,
    },
    /// The whole tank.
    Tank,
}

/// How turbulence smaller than a cell is stood in for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Closure {
    /// Smagorinsky's.
    Smagorinsky {
        /// His constant.
        constant: f64,
    },
    /// One eddy viscosity everywhere, `share` times the root of the largest
    /// kinematic thrust: a steady jet, no eddies.
    ConstantJet {
        /// The factor; 0.0178 fits the free round jet.
        share: f64,
    },
}

/// What water does at flat walls of a tank; in a slice it slides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Walls {
    /// It rests there, half a cell off the last center of water.
    Rest,
    /// It slides along them against the stress of the law of the wall.
    Slide,
}

impl FromStr for Walls {
    type Err = FlowError;

    fn from_str(text: &str) -> Result<Self, FlowError> {
        match text {
            "rest" => Ok(Self::Rest),
            "slide" => Ok(Self::Slide),
            _ => Err(FlowError::BadWalls {
                text: text.to_owned(),
            }),
        }
    }
}

/// What to solve and how long. The default is the tank estimate.
#[derive(Clone, Debug, PartialEq)]
pub struct FlowOptions {
    /// Which part of the tank.
    pub cut: Cut,
    /// Edge of a cell, in m; chosen from `cells_wanted` if `None`.
    pub cell_m: Option<f64>,
    /// How many cells to aim for where `cell_m` is left open.
    pub cells_wanted: usize,
    /// Speed below which water counts as slow, in m/s.
    pub slow_limit_m_s: f64,
    /// Seed of the noise at each outlet.
    pub seed: u64,
    /// Which of several runs: zero is the plain one, each further one has noise
    /// of its own, and of five the last two begin with their jets bent.
    pub run: usize,
    /// Tank time before averages count, in s; chosen from the tank if `None`.
    pub spin_up_s: Option<f64>,
    /// Shortest and longest tank time that the averages cover, in s; chosen
    /// from the tank if `None`. The run stops in between once settled.
    pub average_s: Option<[f64; 2]>,
    /// Half width of the 95 % interval of the mean speed, as a share of it,
    /// and of the dead share, below which the averages count as settled.
    pub settle_tolerance: f64,
    /// Speed of the fastest outlet, in cells a step.
    pub speed_lu: f64,
    /// Turbulence closure of the tank estimate.
    pub closure: Closure,
    /// Edges of cells, in m, up to which jets are left to their own eddies, and
    /// from which on the core of each mixes by its way.
    pub core_mixing_m: [f64; 2],
    /// Largest share of its thrust by which each patch of an outlet is pushed
    /// astray along each direction: the water of a pump is turbulent.
    pub outlet_noise: f64,
    /// What the water of a tank does at its walls.
    pub walls: Walls,
    /// How much of the spin-up a tank on cells of about 1 cm passes on cells twice
    /// as large, and how much on its own after that; from rest if `None`.
    pub head_start: Option<[f64; 2]>,
}

impl Default for FlowOptions {
    fn default() -> Self {
        Self {
            cut: Cut::Tank,
            cell_m: None,
            cells_wanted: 50_000,
            slow_limit_m_s: 0.02,
            seed: 1,
            run: 0,
            spin_up_s: None,
            average_s: None,
            settle_tolerance: 0.05,
            speed_lu: 0.3,
            closure: Closure::Smagorinsky { constant: 0.05 },
            core_mixing_m: [0.016, 0.018],
            outlet_noise: 0.1,
            walls: Walls::Slide,
            head_start: Some([2.0, 0.4]),
        }
    }
}

impl FlowOptions {
    /// A level slice at `height_m`.
    pub fn plan(height_m: f64) -> Self {
        Self {
            cut: Cut::Plan { height_m },
            cells_wanted: 7_500,
            ..Self::default()
        }
    }

    /// An upright slice along x at `depth_m`.
    pub fn side(depth_m: f64) -> Self {
        Self {
            cut: Cut::Side { depth_m },
            cells_wanted: 7_500,
            ..Self::default()
        }
    }
}

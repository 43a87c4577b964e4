//! A layout solved in full, as a report solves it.

use bommie_flow::{Device, FlowError, FlowOptions, FlowSetup, RUNS, solve_runs};
use bommie_light::{LightError, LightOptions, LightSolver, Measured};

use super::{Anew, Fresh};
use crate::study::Study;

/// Edge of the patches that light is worked out on, in m; as in a report.
const SURFACE_M: f64 = 0.015;

/// Why a layout could not be solved in full.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SolveError {
    /// The water.
    #[error(transparent)]
    Flow(#[from] FlowError),
    /// The light.
    #[error(transparent)]
    Light(#[from] LightError),
    /// The water was asked for anew and is not in the answer.
    #[error("no water came back")]
    NoWater,
}

/// How the water of a full solve is computed.
#[derive(Clone, Debug)]
pub struct FullSolve {
    /// Cells and times.
    pub flow: FlowOptions,
    /// Runs of the tank.
    pub runs: usize,
    /// What computes it.
    pub device: Device,
}

impl Default for FullSolve {
    fn default() -> Self {
        Self {
            flow: FlowOptions::default(),
            runs: RUNS,
            device: Device::Processor,
        }
    }
}

impl FullSolve {
    /// What a report would find of a layout; `tell` hears how far the water
    /// has come, from any thread, and stops it with a no.
    ///
    /// # Errors
    /// [`SolveError`]: what the engine says that cannot solve it.
    pub fn solve(
        &self,
        (study, measured): (&Study, &Measured),
        anew: Anew,
        tell: &(dyn Fn(f64) -> bool + Sync),
    ) -> Result<Fresh, SolveError> {
        let light = LightSolver::new(study, measured, &LightOptions::default())?;
        let surfaces = light.field(SURFACE_M, &|_| true);
        let flow = match anew {
            Anew::All | Anew::Once => {
                let runs = if anew == Anew::All { self.runs } else { 1 };
                let setup = FlowSetup::new(study, &self.flow)?.on(self.device.clone());
                Some(solve_runs(&setup, runs, tell)?)
            }
            Anew::Light => None,
        };
        Ok(Fresh {
            flow,
            light,
            surfaces,
        })
    }
}

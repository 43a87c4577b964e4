//! A layout solved in full, as a report solves it.

use bommie_flow::{Device, FlowOptions, FlowSetup, RUNS, solve_runs};
use bommie_light::{LightOptions, LightSolver, Measured};

use super::{Anew, Fresh};
use crate::study::Study;

/// Edge of the patches that light is worked out on, in m; as in a report.
const SURFACE_M: f64 = 0.015;

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
    /// What the engine says that cannot solve it.
    pub fn solve(
        &self,
        (study, measured): (&Study, &Measured),
        anew: Anew,
        tell: &(dyn Fn(f64) -> bool + Sync),
    ) -> Result<Fresh, String> {
        let light = LightSolver::new(study, measured, &LightOptions::default());
        let light = light.map_err(|error| error.to_string())?;
        let surfaces = light.field(SURFACE_M, &|_| true);
        let flow = match anew {
            Anew::All | Anew::Once => {
                let runs = if anew == Anew::All { self.runs } else { 1 };
                let setup = FlowSetup::new(study, &self.flow).map_err(|error| error.to_string())?;
                let setup = setup.on(self.device.clone());
                let field = solve_runs(&setup, runs, tell);
                Some(field.map_err(|error| error.to_string())?)
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

//! Many small runs at once: one thread each, instead of one run on all.

use rayon::prelude::*;

use crate::{FlowError, FlowField, FlowSetup, FlowSolver, FlowState};

/// Tank time between two looks at whether to go on, in s.
const SLICE_S: f64 = 0.5;

/// Solves several setups side by side, in their order, each as [`solve`] does
/// but from the water of an earlier run if one is given, and without the
/// second try. For runs that are too small to share among threads. The result
/// does not depend on the number of threads.
///
/// `go_on` is asked now and then from any thread; after a no the runs that are
/// not over give [`FlowError::Cancelled`].
///
/// [`solve`]: crate::solve
pub fn solve_many(
    setups: Vec<FlowSetup>,
    warm: Option<&FlowState>,
    go_on: &(dyn Fn() -> bool + Sync),
) -> Vec<Result<FlowField, FlowError>> {
    setups
        .into_par_iter()
        .map(|setup| {
            let mut solver = FlowSolver::new(setup).unwatched();
            if let Some(state) = warm {
                solver.warm_from_state(state);
            }
            while !solver.is_done() {
                if !go_on() {
                    return Err(FlowError::Cancelled);
                }
                solver.advance(SLICE_S)?;
            }
            Ok(solver.snapshot())
        })
        .collect()
}

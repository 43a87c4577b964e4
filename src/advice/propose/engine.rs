//! The flow engine as the search uses it.

use std::cell::RefCell;

use super::{Grade, ProposalOptions};
use crate::flow::{
    Cut, FlowError, FlowField, FlowOptions, FlowSetup, FlowSolver, FlowState, solve_many,
    solve_runs_under,
};
use crate::study::Study;

/// Tank time of a screening run, in s: until the jet has crossed the tank, and
/// over which it is averaged. Short, since it only ranks.
const SCREEN_SPIN_UP_S: f64 = 20.0;
const SCREEN_AVERAGE_S: [f64; 2] = [15.0, 15.0];

/// Tank time between two looks at whether to go on, in s.
const SLICE_S: f64 = 1.0;

/// The engine, with the water of the tank as it stands to start others from.
pub(super) struct Engine<'a> {
    study: &'a Study,
    options: &'a ProposalOptions,
    still: RefCell<Option<FlowState>>,
}

impl<'a> Engine<'a> {
    pub(super) fn new(study: &'a Study, options: &'a ProposalOptions) -> Self {
        Self {
            study,
            options,
            still: RefCell::new(None),
        }
    }

    /// Fields of the layouts, in their order. The first coarse run is taken to
    /// be the tank as it stands; later coarse ones start from its water. Fine
    /// runs start from rest, as any other estimate of the same layout does, so
    /// that their figures can be had again.
    pub(super) fn solve(
        &self,
        studies: &[Study],
        grade: Grade,
        control: &mut dyn FnMut(f64) -> bool,
    ) -> Vec<Result<FlowField, FlowError>> {
        match grade {
            Grade::Verify => self.fine_runs(studies, 1, control),
            Grade::Confirm => self.fine_runs(studies, self.options.runs, control),
            Grade::Screen => self.screen(studies, control),
        }
    }

    fn fine_runs(
        &self,
        studies: &[Study],
        runs: usize,
        control: &mut dyn FnMut(f64) -> bool,
    ) -> Vec<Result<FlowField, FlowError>> {
        let solved = |study| {
            let setup = FlowSetup::new(study, &self.fine())?;
            solve_runs_under(&setup, runs, control)
        };
        studies.iter().map(solved).collect()
    }

    fn screen(
        &self,
        studies: &[Study],
        control: &mut dyn FnMut(f64) -> bool,
    ) -> Vec<Result<FlowField, FlowError>> {
        if self.still.borrow().is_none() {
            return studies
                .iter()
                .map(|study| self.first(study, control))
                .collect();
        }
        if !control(0.0) {
            return Vec::new();
        }
        let setups: Vec<Result<FlowSetup, FlowError>> = studies
            .iter()
            .map(|study| FlowSetup::new(study, &self.coarse()))
            .collect();
        let sound: Vec<FlowSetup> = setups
            .iter()
            .filter_map(|s| s.as_ref().ok().cloned())
            .collect();
        let still = self.still.borrow();
        let mut fields = solve_many(sound, still.as_ref(), &|| true).into_iter();
        setups
            .into_iter()
            .map(|setup| {
                setup?;
                fields.next().unwrap_or(Err(FlowError::Cancelled))
            })
            .collect()
    }

    fn first(
        &self,
        study: &Study,
        control: &mut dyn FnMut(f64) -> bool,
    ) -> Result<FlowField, FlowError> {
        let setup = FlowSetup::new(study, &self.coarse())?;
        let mut solver = FlowSolver::new(setup);
        while !solver.is_done() {
            if !control(solver.progress()) {
                return Err(FlowError::Cancelled);
            }
            solver.advance(SLICE_S)?;
        }
        *self.still.borrow_mut() = Some(solver.state());
        Ok(solver.snapshot())
    }

    fn coarse(&self) -> FlowOptions {
        FlowOptions {
            cut: Cut::Tank,
            cell_m: Some(self.options.screen_cell_m),
            slow_limit_m_s: self.study.limits().dead_limit_m_s,
            spin_up_s: Some(SCREEN_SPIN_UP_S),
            average_s: Some(SCREEN_AVERAGE_S),
            ..FlowOptions::default()
        }
    }

    fn fine(&self) -> FlowOptions {
        FlowOptions {
            cut: Cut::Tank,
            cell_m: self.options.cell_m,
            slow_limit_m_s: self.study.limits().dead_limit_m_s,
            ..FlowOptions::default()
        }
    }
}

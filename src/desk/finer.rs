//! The shown layout on finer cells, beside what is known of it, as work on the
//! desk. It is begun when the keeper asks, and by itself once nothing else is to
//! be done: on two cores it takes minutes.

use std::sync::Arc;

use super::query::FlowKey;
use super::water::{device_of, kept_to};
use super::{Desk, SearchStatus, Subject};
use crate::flow::{Device, FlowOptions, FlowSetup, fine_cell_m};
use crate::improve::finer::finer_look;

/// What is said where it comes to nothing.
const FAILED: &str = "Finer cells could not be looked at";

/// Edge of the cells on a graphics card over that on the processor: half the
/// edge asks for sixteen times as many updates, and a card that was measured
/// makes them forty times as quickly (flow's `METHODS.md`). Own choice.
const ON_CARD: f64 = 0.5;

/// Least and largest edge of the finer cells over that of the estimate's own.
/// Own choice.
const FINER: [f64; 2] = [0.5, 0.7];

/// The look that is begun by itself.
#[derive(Default)]
pub(super) struct Unasked {
    /// What it was last begun for; none where it had to make room.
    of: Option<FlowKey>,
    is_under_way: bool,
}

impl Unasked {
    /// Whether what runs was not asked for.
    pub(super) fn is_under_way(&self) -> bool {
        self.is_under_way
    }
}

impl Desk {
    /// Begins to look by itself at a layout that is cross-checked and left alone,
    /// once for each, and makes room as soon as anything else is to be done.
    pub(super) fn look_finer_unasked(&mut self) {
        self.finer_unasked.is_under_way &= self.finer.is_running();
        let key = self.flow_key();
        let is_wanted = self.settings.is_live && self.settings.looks_finer;
        if self.finer_unasked.is_under_way {
            let is_of_now = self.finer_unasked.of.as_ref() == Some(&key);
            if !(is_wanted && is_of_now && self.is_at_rest()) {
                self.finer.stop();
                self.finer_unasked.of = None;
            }
            return;
        }
        let is_known = self.results.refining == SearchStatus::Done;
        let is_new = self.finer_unasked.of.as_ref() != Some(&key) && !is_known;
        if is_wanted && is_new && !self.finer.is_running() && self.is_at_rest() {
            self.start_finer();
            self.finer_unasked = Unasked {
                of: Some(key),
                is_under_way: self.finer.is_running(),
            };
        }
    }

    /// Whether the shown layout is cross-checked, on cells that finer ones may
    /// still tell something about, and nothing but that look is under way.
    fn is_at_rest(&self) -> bool {
        let is_checked = self.results.tank.as_ref().is_some_and(|field| {
            !self.settings.fine_cells && field.n_runs > 1 && !self.results.tank_is_old()
        });
        is_checked && !self.is_busy() && !self.engines.scheduler.is_any(|_| true)
    }

    /// Begins to look at the layout that is shown on finer cells; what is under
    /// way is left to finish. Without an estimate of it nothing is begun.
    pub(super) fn start_finer(&mut self) {
        let known = self.results.tank.clone();
        let Some(known) = known.filter(|_| !self.results.tank_is_old()) else {
            return;
        };
        if self.finer.is_running() {
            return;
        }
        let study = Arc::clone(self.study());
        let begun = (self.finer).start("finer cells", &study, &self.notify, move |study, tell| {
            let device = device_of(study);
            let [least_m, most_m] = FINER.map(|share| share * known.grid.cell_m);
            let fine_m = fine_cell_m(&study.scene().tank).unwrap_or(most_m);
            let mut cell_m = fine_m.clamp(least_m, most_m);
            if !matches!(device, Device::Processor) {
                cell_m *= ON_CARD;
            }
            let options = FlowOptions {
                cell_m: Some(cell_m),
                ..kept_to(study, &FlowOptions::default())
            };
            let setup = FlowSetup::new(study, &options)?.on(device);
            finer_look(study, &known, &setup, tell)
        });
        match begun {
            Ok(()) => {
                self.results.finer = None;
                self.settle(&Subject::Finer);
                self.results.refining = SearchStatus::Running(0.0);
            }
            Err(error) => self.fail(Subject::Finer, FAILED, error.to_string()),
        }
    }

    /// Takes in what was found.
    pub(super) fn tend_finer(&mut self) {
        if let Some(come) = self.finer.poll() {
            if let Some(found) = come.found {
                self.results.finer = Some(Arc::new(found));
            }
            if let Some(reason) = come.failed {
                self.fail(Subject::Finer, FAILED, reason.to_string());
            }
            self.results.refining = SearchStatus::after(come.share, self.results.finer.is_some());
        }
        let status = self.results.refining.clone();
        self.results.refining = self.finer.aged(status, self.scene());
    }
}

//! What goes still when a pump or the power fails, as work on the desk. It is
//! begun when the keeper asks: each pump's failure is a solve of its own.

use std::sync::Arc;

use super::water::{device_of, kept_to};
use super::{Desk, SearchStatus, Subject};
use crate::flow::{FlowOptions, FlowSetup, RUNS};
use crate::improve::outage::outage;

/// What is said where it comes to nothing.
const FAILED: &str = "What a failure brings could not be worked out";

impl Desk {
    /// Begins to work out what failures bring in the layout that is shown; what
    /// is under way is left to finish.
    pub(super) fn start_failing(&mut self) {
        if self.failing.is_running() {
            return;
        }
        let study = Arc::clone(self.study());
        let begun = (self.failing).start("outage", &study, &self.notify, |study, tell| {
            let options = kept_to(study, &FlowOptions::default());
            let setup = FlowSetup::new(study, &options)?.on(device_of(study));
            outage(study, &setup, RUNS, tell)
        });
        match begun {
            Ok(()) => {
                self.results.outage = None;
                self.settle(&Subject::Outage);
                self.results.failing = SearchStatus::Running(0.0);
            }
            Err(error) => self.fail(Subject::Outage, FAILED, error.to_string()),
        }
    }

    /// Takes in what was found.
    pub(super) fn tend_failing(&mut self) {
        if let Some(come) = self.failing.poll() {
            if let Some(found) = come.found {
                self.results.outage = Some(Arc::new(found));
            }
            if let Some(reason) = come.failed {
                self.fail(Subject::Outage, FAILED, reason.to_string());
            }
            self.results.failing = SearchStatus::after(come.share, self.results.outage.is_some());
        }
        let status = self.results.failing.clone();
        self.results.failing = self.failing.aged(status, self.scene());
    }
}

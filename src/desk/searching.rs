//! The search for one more pump as work on the desk.

use std::sync::Arc;

use super::{Desk, Notice, NoticeKind};
use crate::advice::{self, Proposal, ProposalError, ProposalOptions, PumpSize};
use crate::job::{Job, Update};

/// Where the search for one more pump stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum SearchStatus {
    /// Nothing asked for yet.
    #[default]
    Idle,
    /// Under way, with how far it has come (0 to 1).
    Running(f64),
    /// Over; there may be no proposal.
    Done,
    /// The scene was changed since.
    Old,
}

/// The running search and the revision that it is about.
#[derive(Default)]
pub(super) struct Search {
    job: Option<Job<Vec<Proposal>>>,
    revision: u64,
}

impl Desk {
    /// Starts the search in the layout that is shown; a running one is left to
    /// finish.
    pub(super) fn start_search(&mut self) {
        if self.search.job.is_some() {
            return;
        }
        let study = Arc::clone(self.study());
        let options = ProposalOptions {
            sizes: self.search_sizes(),
            ..ProposalOptions::default()
        };
        let started = Job::start("pump search", Arc::clone(&self.notify), move |context| {
            let go_on = &mut |share| context.progress(share);
            match advice::propose_pumps(&study, &options, go_on) {
                Ok(found) => context.publish(found),
                Err(ProposalError::Stopped) => {}
                Err(error) => return Err(error.into()),
            }
            Ok(())
        });
        match started {
            Ok(job) => {
                self.search = Search {
                    job: Some(job),
                    revision: self.document.revision(),
                };
                self.results.proposals = Arc::default();
                self.results.search = SearchStatus::Running(0.0);
            }
            Err(error) => self.fail("The search could not be started", error.to_string()),
        }
    }

    /// The pump that was asked for, and those in the tank if they count too.
    fn search_sizes(&self) -> Vec<PumpSize> {
        /// More would leave too few candidates for each.
        const SIZES_MAX: usize = 4;
        let mut sizes = vec![PumpSize {
            flow_lph: self.settings.search_flow_lph,
            outlet_cm: self.settings.search_outlet_cm,
        }];
        let own = self.layout().pumps.iter().map(|pump| PumpSize {
            flow_lph: pump.flow_lph,
            outlet_cm: pump.outlet_cm,
        });
        for size in own.filter(|_| self.settings.search_own_sizes) {
            if !sizes.contains(&size) && sizes.len() < SIZES_MAX {
                sizes.push(size);
            }
        }
        sizes
    }

    /// Asks the running search to stop.
    pub(super) fn stop_search(&self) {
        if let Some(job) = &self.search.job {
            job.cancel();
        }
    }

    /// Takes in what the search found.
    pub(super) fn tend_search(&mut self) {
        if self.search.revision != self.document.revision()
            && self.results.search == SearchStatus::Done
        {
            self.results.search = SearchStatus::Old;
        }
        let Some(job) = &mut self.search.job else {
            return;
        };
        let (updates, is_over) = (job.poll(), job.is_over());
        self.results.search = SearchStatus::Running(job.progress());
        if is_over {
            self.search.job = None;
            self.results.search = SearchStatus::Idle;
        }
        for update in updates {
            match update {
                Update::Partial(found) => {
                    if found.is_empty() {
                        let text =
                            "No place was found where a pump of this size makes the tank better";
                        self.tell(Notice::new(NoticeKind::Warning, text));
                    }
                    self.results.proposals = Arc::new(found);
                }
                Update::Failed(reason) => {
                    self.fail("The search found no answer", reason.to_string());
                }
                Update::Done => {}
            }
        }
        if is_over && !self.results.proposals.is_empty() {
            self.results.search = SearchStatus::Done;
        }
    }
}

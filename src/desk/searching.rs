//! The search for one more pump as work on the desk.

use std::cell::Cell;
use std::sync::Arc;

use super::{Desk, Notice, NoticeKind, Subject};
use crate::advice::{self, Proposal, ProposalError, ProposalOptions, PumpSize};
use crate::job::{Job, Update};
use crate::scene::Scene;
use crate::study::Study;

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

impl SearchStatus {
    /// Of work that is done by this share, none if it is over, and has found
    /// something.
    pub(super) fn after(share: Option<f64>, has_found: bool) -> Self {
        match share {
            Some(share) => Self::Running(share),
            None if has_found => Self::Done,
            None => Self::Idle,
        }
    }
}

/// The running search and what it is about.
#[derive(Default)]
pub(super) struct Search {
    job: Option<Job<Vec<Proposal>>>,
    /// The scene and which of its layouts.
    about: Option<(Arc<Scene>, usize)>,
    /// The flow that fits a study's tank, in L/h.
    fitting: Cell<Option<(Arc<Study>, f64)>>,
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
            cell_m: study.settings().cell_m,
            ..ProposalOptions::default()
        };
        // The search runs on the processor: a field from a card would set two
        // ways to compute against each other.
        let known = self.results.cross_checked_tank();
        let known = known.filter(|field| field.computed_on.card.is_none());
        let started = Job::start("pump search", Arc::clone(&self.notify), move |context| {
            let go_on = &mut |share| context.progress(share);
            match advice::propose_pumps(&study, &options, known, go_on) {
                Ok(found) => context.publish(found),
                Err(ProposalError::Stopped) => {}
                Err(error) => return Err(error.into()),
            }
            Ok(())
        });
        match started {
            Ok(job) => {
                self.search.job = Some(job);
                self.search.about = Some((Arc::clone(self.scene()), self.layout_idx()));
                self.results.proposals = Arc::default();
                self.settle(&Subject::Search);
                self.results.search = SearchStatus::Running(0.0);
            }
            Err(error) => self.fail(
                Subject::Search,
                "The search could not be started",
                error.to_string(),
            ),
        }
    }

    /// The pump that was asked for, and those in the tank if they count too.
    fn search_sizes(&self) -> Vec<PumpSize> {
        /// More would leave too few candidates for each.
        const SIZES_MAX: usize = 4;
        let mut sizes = vec![self.wanted_pump()];
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

    /// Shows proposals about the shown layout as if a search had found them.
    #[cfg(all(test, feature = "gui"))]
    pub(crate) fn show_proposals(&mut self, found: Vec<Proposal>) {
        self.search.about = Some((Arc::clone(self.scene()), self.layout_idx()));
        self.results.proposals = Arc::new(found);
        self.results.search = SearchStatus::Done;
    }

    /// Flow of the pump that fits the tank, in L/h: reckoned once a study, since
    /// it weighs every rock and the inspector asks in each frame.
    fn fitting_flow_lph(&self) -> f64 {
        let known = self.search.fitting.take();
        let (of, flow_lph) = match known {
            Some((of, flow_lph)) if Arc::ptr_eq(&of, self.study()) => (of, flow_lph),
            _ => {
                let flow_lph = advice::fitting_pump(self.study()).flow_lph;
                (Arc::clone(self.study()), flow_lph)
            }
        };
        self.search.fitting.set(Some((of, flow_lph)));
        flow_lph
    }

    /// The pump that a search is about: as chosen, else one that fits the tank.
    pub fn wanted_pump(&self) -> PumpSize {
        let settings = &self.settings;
        let flow_lph = settings
            .wanted_flow_lph
            .unwrap_or_else(|| self.fitting_flow_lph());
        PumpSize {
            flow_lph,
            outlet_cm: settings
                .wanted_outlet_cm
                .unwrap_or_else(|| advice::usual_outlet_cm(flow_lph)),
        }
    }

    /// Whether the search was about the tank and layout as they are now.
    fn is_search_about_this(&self) -> bool {
        let Some((scene, layout_idx)) = &self.search.about else {
            return false;
        };
        if *layout_idx == self.layout_idx() && Arc::ptr_eq(scene, self.scene()) {
            return true;
        }
        scene.tank == self.scene().tank && scene.layouts.get(*layout_idx) == Some(self.layout())
    }

    /// Asks the running search to stop.
    pub(super) fn stop_search(&self) {
        if let Some(job) = &self.search.job {
            job.cancel();
        }
    }

    /// Takes in what the search found.
    pub(super) fn tend_search(&mut self) {
        // Old is what is not about the tank and layout that are looked at: a step
        // taken back makes it new again.
        if matches!(self.results.search, SearchStatus::Done | SearchStatus::Old) {
            self.results.search = if self.is_search_about_this() {
                SearchStatus::Done
            } else {
                SearchStatus::Old
            };
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
                        self.tell(Notice::new(NoticeKind::Warning, text).about(Subject::Search));
                    }
                    self.results.proposals = Arc::new(found);
                }
                Update::Failed(reason) => {
                    self.fail(
                        Subject::Search,
                        "The search found no answer",
                        reason.to_string(),
                    );
                }
                Update::Done => {}
            }
        }
        if is_over && !self.results.proposals.is_empty() {
            self.results.search = SearchStatus::Done;
        }
    }
}

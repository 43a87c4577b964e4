//! Further runs of the tank, once its estimate stands and nothing else is to be
//! done: their mean is surer than one run, and where they go different ways the
//! flow may flip.

use std::sync::Arc;

use super::Desk;
use super::kept::{KeptWater, field_bytes};
use super::keys::WaterKey;
use super::results::FlowStatus;
use super::searching::SearchStatus;
use super::water;
use crate::flow::FlowField;
use crate::job::{Job, Update};

/// The running job, and the water for which further runs have been made.
#[derive(Default)]
pub(super) struct Further {
    job: Option<Job<Arc<FlowField>>>,
    about: Option<WaterKey>,
}

impl Desk {
    /// Takes in further runs, starts them where they are due, and gives them up
    /// as soon as the keeper's hand asks for anything else.
    pub(super) fn tend_further(&mut self) {
        let key = &WaterKey::new(self.shown_study());
        let is_on = self.engines.further.about.as_ref() == Some(key);
        if !is_on || self.is_hand_waiting() {
            if self.engines.further.job.take().is_some() || !is_on {
                self.engines.further.about = None;
            }
            self.results.further_runs = None;
        }
        if let Some(job) = &mut self.engines.further.job {
            let (updates, is_over) = (job.poll(), job.is_over());
            self.results.further_runs = (!is_over).then(|| job.progress());
            if is_over {
                self.engines.further.job = None;
            }
            for update in updates {
                if let Update::Partial(field) = update {
                    self.take_further(key, field);
                }
            }
        } else if self.engines.further.about.is_none() && self.may_run_further(key) {
            self.start_further(key);
        }
    }

    /// Whether something runs that the keeper waits for and that further runs
    /// would slow down.
    fn is_hand_waiting(&self) -> bool {
        self.is_busy_with_water()
            || self.engines.light.is_running()
            || self.engines.others.is_running()
            || matches!(self.results.search, SearchStatus::Running(_))
    }

    fn may_run_further(&self, key: &WaterKey) -> bool {
        let status = &self.results.flow_status;
        let stands = matches!(status, FlowStatus::Settled | FlowStatus::Unsettled);
        let is_plain = (self.results.tank.as_ref())
            .is_some_and(|tank| tank.n_runs == 1 && tank.settling.mean_speed_m_s > 0.0);
        stands
            && is_plain
            && self.engines.tank.shows(key)
            && !self.is_estimating()
            && !self.is_hand_waiting()
    }

    fn start_further(&mut self, key: &WaterKey) {
        let Some(plain) = self.results.tank.clone() else {
            return;
        };
        let started = water::start_further(self.water_task(), plain, Arc::clone(&self.notify));
        // Without a thread to give the plain estimate stands as it is.
        self.engines.further.job = started.ok();
        self.engines.further.about = Some(key.clone());
    }

    fn take_further(&mut self, key: &WaterKey, field: Arc<FlowField>) {
        let version = self.engines.fresh_version();
        self.engines.water_version = version;
        let weight = field_bytes(&field);
        let kept = KeptWater {
            field: Arc::clone(&field),
            status: self.results.flow_status.clone(),
            version,
        };
        self.engines.kept.water.put(key.clone(), kept, weight);
        self.results.tank = Some(field);
    }
}

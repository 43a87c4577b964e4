//! Keeping the results about the newest study: what is wanted, most urgent
//! first; what runs; and where an answer goes. What a result was computed from
//! says whether it is old.

use std::sync::{Arc, Mutex};

use super::cache::{Cache, KeptTank};
use super::lighting::{LightNews, LightSolvers, LightTask};
use super::paper::PaperStatus;
use super::query::{Answer, FlowKey, Lane, LightKey, Query, Same};
use super::scheduler::{Scheduler, Wish};
use super::searching::SearchStatus;
use super::water::{FlowMemory, FlowTask};
use super::{Desk, Subject};
use super::{FlowStatus, advising, berthing, comparing, lighting, water};
use crate::flow::FlowField;
use crate::job::{JobError, Update};

/// The jobs of a desk and what they have found.
#[derive(Default)]
pub(super) struct Engines {
    pub(super) scheduler: Scheduler,
    pub(super) cache: Cache,
    /// Where the next run starts from: of the shown layout, and of others.
    flow_memory: [Arc<Mutex<FlowMemory>>; 2],
    light_solvers: LightSolvers,
    /// The last ensemble that came to its end.
    ensembled: Option<Query>,
}

impl Desk {
    /// Takes in what the workers have finished and starts what is due. Call
    /// once a frame, also while hidden.
    pub fn tend(&mut self) {
        self.follow_scene();
        self.tend_search();
        self.tend_calibrating();
        self.tend_improving();
        self.tend_failing();
        self.tend_finer();
        self.tend_scanning();
        self.tend_photos();
        if self.settings.is_live {
            self.recall();
            for (wish, update) in self.engines.scheduler.poll() {
                self.take(&wish, update);
            }
            let wanted = self.wanted();
            self.engines.scheduler.give_way(&wanted);
            for wish in self.engines.scheduler.due(&wanted) {
                self.begin(wish);
            }
            self.results.further_runs = self.ensemble_share();
        } else {
            self.engines.scheduler.give_way(&[]);
            drop(self.engines.scheduler.poll());
        }
        self.tend_paper();
        self.look_finer_unasked();
    }

    /// Whether any worker is busy. What is done unasked while nothing else is to
    /// be done does not count.
    pub fn is_busy(&self) -> bool {
        let is_searching = matches!(self.results.search, SearchStatus::Running(_));
        is_searching
            || matches!(self.results.improving, SearchStatus::Running(_))
            || matches!(self.results.failing, SearchStatus::Running(_))
            || (self.finer.is_running() && !self.finer_unasked.is_under_way())
            || self.is_calibrating()
            || self.scan().is_running
            || self.results.paper != PaperStatus::Idle
            || self.is_estimating()
    }

    /// Whether a worker looks at flow, light or what follows from them. An
    /// ensemble does not count: it runs while nothing else is to be done.
    pub fn is_estimating(&self) -> bool {
        let counts = |wish: &Wish| !wish.query.gives_way_at_once();
        self.engines.scheduler.is_any(counts)
    }

    /// Whether the water of the shown layout is being estimated.
    pub fn is_busy_with_water(&self) -> bool {
        self.engines.scheduler.is_any(|wish| {
            wish.is_shown && matches!(wish.query, Query::Slices(..) | Query::Tank(_))
        })
    }

    pub(super) fn flow_key(&self) -> FlowKey {
        FlowKey::new(self.shown_study(), self.n_edits())
    }

    pub(super) fn light_key(&self) -> LightKey {
        LightKey::new(self.shown_study(), &self.measured)
    }

    /// Shows what is known already of what is looked at, be it that it failed.
    fn recall(&mut self) {
        let (flow, light) = (self.flow_key(), self.light_key());
        let cache = &mut self.engines.cache;
        if !self.results.shows_tank(&flow) {
            if let Some(kept) = cache.tanks.find(&flow) {
                self.results.show_tank(flow, kept.field, kept.status);
            } else if let Some(error) = cache.faults.find(&Query::Tank(flow.clone())) {
                self.results.fail_flow(flow, error);
            }
        }
        if !self.results.shows_light(&light) {
            if let Some(news) = cache.lights.find(&light) {
                self.results.show_light(light, news);
            } else if let Some(error) = cache.faults.find(&Query::Light(light.clone())) {
                self.results.fail_light(light, error);
            }
        }
        let advice = self.advice_key();
        if !self.results.shows_advice(&advice)
            && let Some(news) = self.engines.cache.advice.find(&advice)
        {
            self.results.show_advice(advice, news);
        }
    }

    /// What is wanted, most urgent first: what is looked at before what follows
    /// from it, other layouts after that, and what nobody waits for last.
    fn wanted(&mut self) -> Vec<Wish> {
        let mut wanted = Vec::new();
        let mut want = |query| {
            wanted.push(Wish {
                query,
                is_shown: true,
            });
        };
        self.want_flow(&mut want);
        self.want_light(&mut want);
        let advice = self.advice_key();
        if !self.results.shows_advice(&advice) {
            want(Query::Advice(Box::new(advice)));
        }
        if let Some(berths) = self.berth_key()
            && !self.results.shows_berths(&berths)
        {
            want(Query::Berths(Box::new(berths)));
        }
        self.want_comparison(&mut wanted);
        self.want_ensemble(&mut wanted);
        wanted.retain(|wish| self.engines.cache.faults.find(&wish.query).is_none());
        wanted
    }

    /// Slices answer while there is no tank estimate of what is looked at, and
    /// make room once they have answered and it has begun; it starts after
    /// them, so that they are not slowed down by it.
    fn want_flow(&mut self, want: &mut impl FnMut(Query)) {
        let key = self.flow_key();
        let (slices, tank) = (
            Query::Slices(key.clone(), self.levels),
            Query::Tank(key.clone()),
        );
        let runs = |query: &Query| self.engines.scheduler.is_any(|wish| wish.query == *query);
        let has_sliced = self.results.shows_slices(&key, self.levels);
        let (is_shown, is_running) = (self.results.shows_tank(&key), runs(&tank));
        let makes_room = is_shown || (is_running && has_sliced);
        let is_slicing = runs(&slices);
        if !makes_room && (!has_sliced || is_slicing) {
            want(slices.clone());
        }
        let has_answered = has_sliced || self.engines.cache.faults.find(&slices).is_some();
        let is_final = is_shown && self.results.tank_is_final();
        if !is_final && (is_running || is_shown || has_answered) {
            want(tank);
        }
    }

    fn want_light(&self, want: &mut impl FnMut(Query)) {
        let key = self.light_key();
        if !(self.results.shows_light(&key) && self.results.light_is_fine()) {
            want(Query::Light(key));
        }
        if let Some(solver) = &self.results.light_solver {
            let of = Same::of(solver);
            if !self.results.shows_planes(&of, self.levels) {
                want(Query::Planes(of, self.levels));
            }
        }
    }

    /// Further runs of the tank once its estimate stands: their mean is surer
    /// than one run, and where they go different ways the flow may flip. They
    /// begin when nothing else is to be done, and end as soon as the keeper
    /// waits for something that they would slow down.
    fn want_ensemble(&self, wanted: &mut Vec<Wish>) {
        let Some(query) = self.ensemble_query() else {
            return;
        };
        let scheduler = &self.engines.scheduler;
        let is_running = scheduler.is_any(|wish| wish.query == query);
        let is_heavy = |wish: &Wish| {
            let lane = wish.query.lane();
            !wish.is_shown || matches!(lane, Lane::Slices | Lane::Flow | Lane::Light)
        };
        let is_free = if is_running {
            !wanted.iter().any(is_heavy)
        } else {
            wanted.is_empty() && !self.is_estimating()
        };
        let is_searching = matches!(self.results.search, SearchStatus::Running(_));
        if is_free && !is_searching && self.engines.ensembled.as_ref() != Some(&query) {
            wanted.push(Wish {
                query,
                is_shown: true,
            });
        }
    }

    /// Further runs of the tank estimate that is shown, if it can have any.
    fn ensemble_query(&self) -> Option<Query> {
        let (key, tank) = (self.flow_key(), self.results.tank.as_ref()?);
        let stands = self.results.shows_tank(&key) && self.results.tank_is_final();
        let is_plain = tank.n_runs == 1 && tank.settling.mean_speed_m_s > 0.0;
        (stands && is_plain).then(|| Query::Ensemble(key, Same::of(tank)))
    }

    fn ensemble_share(&self) -> Option<f64> {
        self.engines.scheduler.progress(&self.ensemble_query()?)
    }

    /// Starts the job for a wish.
    fn begin(&mut self, wish: Wish) {
        let notify = Arc::clone(&self.notify);
        let started = match &wish.query {
            Query::Slices(key, _) => {
                water::start_slices(self.flow_task(key, wish.is_shown), notify)
            }
            Query::Tank(key) => water::start_tank(self.flow_task(key, wish.is_shown), notify),
            Query::Ensemble(key, _) => match &self.results.tank {
                Some(tank) => {
                    let task = self.flow_task(key, true);
                    water::start_ensemble(task, Arc::clone(tank), notify)
                }
                None => return,
            },
            Query::Light(key) => lighting::start(self.light_task(key, wish.is_shown), notify),
            Query::Planes(of, levels) => match self.solver_of(of) {
                Some(solver) => lighting::start_planes(solver, *levels, notify),
                None => return,
            },
            Query::Advice(key) => advising::start(self.advice_task(key), notify),
            Query::Berths(key) => berthing::start(self.outlook(), (**key).clone(), notify),
            Query::Compare(key) => comparing::start(self.compare_task(key), notify),
        };
        match started {
            Ok(job) => self.engines.scheduler.begin(wish, job),
            Err(error) => self.take(&wish, Update::Failed(JobError::from(error))),
        }
    }

    fn flow_task(&self, key: &FlowKey, is_shown: bool) -> FlowTask {
        FlowTask {
            study: Arc::clone(&key.study),
            levels: self.levels,
            memory: Arc::clone(&self.engines.flow_memory[usize::from(!is_shown)]),
        }
    }

    fn light_task(&self, key: &LightKey, is_shown: bool) -> LightTask {
        LightTask {
            study: Arc::clone(&key.study),
            levels: self.levels,
            measured: Arc::clone(&key.measured),
            before: if is_shown {
                self.engines.light_solvers.clone()
            } else {
                LightSolvers::default()
            },
        }
    }

    /// Takes in an answer, or that there is none.
    fn take(&mut self, wish: &Wish, update: Update<Answer>) {
        match update {
            Update::Partial(answer) => self.take_answer(wish, answer),
            Update::Failed(error) => self.take_fault(wish, error),
            Update::Done => {
                if wish.query.gives_way_at_once() {
                    self.engines.ensembled = Some(wish.query.clone());
                }
            }
        }
    }

    fn take_answer(&mut self, wish: &Wish, answer: Answer) {
        match (&wish.query, answer) {
            (Query::Slices(key, levels), Answer::Slice(slice)) => {
                let (wanted, at) = (self.flow_key(), self.levels);
                let is_known = self.results.shows_slices(&wanted, at);
                if !is_known || (*key == wanted && *levels == at) {
                    self.results.show_slice(key.clone(), *levels, slice);
                }
            }
            (Query::Tank(key), Answer::Tank((field, status))) => {
                self.take_tank((key, wish.is_shown), field, status);
            }
            (Query::Ensemble(key, _), Answer::Ensemble(field)) => {
                let plain = self.engines.cache.tanks.find(key);
                let status = plain.map_or(FlowStatus::Unsettled, |kept| kept.status);
                self.take_tank((key, false), field, status);
            }
            (Query::Light(key), Answer::Light(news)) => {
                self.take_light((key, wish.is_shown), news);
            }
            (Query::Planes(of, levels), Answer::Planes(planes)) => {
                if wish.is_shown {
                    self.results.show_planes(of.clone(), *levels, planes);
                } else {
                    self.results.other.show_planes(of.clone(), *levels, planes);
                }
            }
            (Query::Advice(key), Answer::Advice(news)) => {
                let kept = (**key).clone();
                self.engines.cache.advice.put(kept.clone(), news.clone(), 1);
                let wanted = self.advice_key();
                if kept == wanted || !self.results.shows_advice(&wanted) {
                    self.results.show_advice(kept, news);
                }
            }
            (Query::Berths(key), Answer::Berths(news)) => {
                self.results.show_berths((**key).clone(), news);
            }
            (Query::Compare(key), Answer::Compare(compared)) => {
                self.results.show_compared((**key).clone(), compared);
            }
            // Each job answers its own kind of query.
            (_, _) => {}
        }
    }

    /// Keeps a tank estimate that is finished, and shows it: a late one about
    /// something else only while there is none of what is looked at.
    fn take_tank(
        &mut self,
        (key, is_shown): (&FlowKey, bool),
        field: Arc<FlowField>,
        status: FlowStatus,
    ) {
        if !matches!(status, FlowStatus::Running(_)) {
            self.keep_tank(key.clone(), &field, status.clone());
        }
        let wanted = self.flow_key();
        if *key == wanted || (is_shown && !self.results.shows_tank(&wanted)) {
            self.results.show_tank(key.clone(), field, status);
        } else if self.other_keys().is_some_and(|(other, _)| other == *key) {
            self.results.other.tank = Some(field);
            self.results.other.status = status;
        }
    }

    /// The same for light.
    fn take_light(&mut self, (key, is_shown): (&LightKey, bool), news: LightNews) {
        if news.is_final {
            self.engines.cache.lights.put(key.clone(), news.clone(), 1);
        }
        let wanted = self.light_key();
        if *key == wanted || (is_shown && !self.results.shows_light(&wanted)) {
            self.engines.light_solvers.keep(&news);
            self.results.show_light(key.clone(), news);
        }
    }

    /// The one place where a finished tank estimate is kept.
    fn keep_tank(&mut self, key: FlowKey, field: &Arc<FlowField>, status: FlowStatus) {
        let kept = KeptTank {
            field: Arc::clone(field),
            status,
        };
        let weight = kept.bytes();
        self.engines.cache.tanks.put(key, kept, weight);
    }

    /// Remembers that a query failed, so that it is not asked again in vain,
    /// and says so where the keeper should know.
    fn take_fault(&mut self, wish: &Wish, error: JobError) {
        let reason = error.to_string();
        match &wish.query {
            Query::Tank(key) if *key == self.flow_key() => {
                self.results.fail_flow(key.clone(), error.clone());
            }
            Query::Tank(key) => {
                if self.other_keys().is_some_and(|(other, _)| other == *key) {
                    self.results.other.status = FlowStatus::Failed(error.clone());
                }
            }
            Query::Light(key) if *key == self.light_key() => {
                self.results.fail_light(key.clone(), error.clone());
            }
            Query::Advice(_) => self.fail(
                Subject::Estimate,
                "Some advice could not be worked out",
                reason,
            ),
            Query::Berths(_) => {
                self.fail(Subject::Estimate, "Berths could not be worked out", reason);
            }
            Query::Compare(_) => self.fail(
                Subject::Estimate,
                "The layouts could not be compared",
                reason,
            ),
            // A cut outside the water has no slice; without further runs the
            // plain estimate stands; the light elsewhere says its own fault.
            Query::Slices(..) | Query::Ensemble(..) | Query::Light(_) | Query::Planes(..) => {}
        }
        self.engines.cache.faults.put(wish.query.clone(), error, 1);
    }
}

//! Keeping the results about the newest scene.

use std::sync::{Arc, Mutex};

use super::advising::AdviceNews;
use super::berthing::BerthNews;
use super::comparing::Others;
use super::further::Further;
use super::kept::{Kept, KeptLight, KeptWater, field_bytes};
use super::keys::{AdviceKey, BerthKey, LightKey, WaterKey};
use super::lighting::{self, LightNews, LightSolvers, LightTask};
use super::paper::PaperStatus;
use super::results::{FlowStatus, LightStatus};
use super::searching::SearchStatus;
use super::water::{self, SliceNews, TankNews, WaterMemory, WaterTask};
use super::work::Work;
use super::{Desk, Levels};
use crate::job::Update;
use crate::light::LightPlane;

/// The jobs of a desk and what they are about.
#[derive(Default)]
pub(super) struct Engines {
    slices: Work<(WaterKey, Levels), SliceNews>,
    pub(super) tank: Work<WaterKey, TankNews>,
    water_memory: Arc<Mutex<WaterMemory>>,
    pub(super) light: Work<LightKey, LightNews>,
    light_solvers: LightSolvers,
    planes: Work<(u64, Levels), [Arc<LightPlane>; 3]>,
    pub(super) advice: Work<AdviceKey, AdviceNews>,
    pub(super) berths: Work<BerthKey, BerthNews>,
    pub(super) kept: Kept,
    pub(super) others: Others,
    pub(super) further: Further,
    /// Another one for every flow field.
    pub(super) water_version: u64,
    /// Another one for every light field.
    pub(super) light_version: u64,
    newest_version: u64,
}

impl Engines {
    /// A number that no field has had.
    pub(super) fn fresh_version(&mut self) -> u64 {
        self.newest_version += 1;
        self.newest_version
    }
}

impl Desk {
    /// Takes in what the workers have finished and starts what is due. Call
    /// once a frame, also while hidden.
    pub fn tend(&mut self) {
        self.follow_scene();
        self.tend_search();
        if self.settings.is_live {
            self.tend_water();
            self.tend_light();
            self.tend_planes();
            self.tend_advice();
            self.tend_berths();
            self.tend_comparing();
            self.tend_further();
        }
        self.tend_paper();
    }

    /// Whether any worker is busy.
    pub fn is_busy(&self) -> bool {
        let is_searching = matches!(self.results.search, SearchStatus::Running(_));
        is_searching || self.results.paper != PaperStatus::Idle || self.is_estimating()
    }

    /// Whether a worker looks at flow, light or what follows from them.
    pub(super) fn is_estimating(&self) -> bool {
        let engines = &self.engines;
        engines.slices.is_running()
            || engines.tank.is_running()
            || engines.light.is_running()
            || engines.planes.is_running()
            || engines.advice.is_running()
            || engines.berths.is_running()
            || engines.others.is_running()
    }

    fn tend_water(&mut self) {
        let key = WaterKey::new(self.shown_study());
        self.recall_water(&key);
        self.tend_slices(&key);
        self.tend_tank(&key);
        let sliced = self.engines.slices.shown().map(|(key, _)| key);
        self.results.slices_lead = sliced.is_some() && sliced != self.engines.tank.shown();
    }

    /// Shows a kept tank estimate of this water, if there is one.
    fn recall_water(&mut self, key: &WaterKey) {
        if self.engines.tank.is_on(key) {
            return;
        }
        if let Some(kept) = self.engines.kept.water.find(key) {
            self.engines.tank.recall(key);
            self.engines.slices.outshine();
            self.engines.water_version = kept.version;
            self.results.tank = Some(kept.field);
            self.results.flow_status = kept.status;
        }
    }

    /// Slices answer while the tank estimate is about an earlier scene, and make
    /// room once both have answered and it has begun.
    fn tend_slices(&mut self, key: &WaterKey) {
        let wish = (key.clone(), self.levels);
        let tank = &self.engines.tank;
        let is_known = tank.shows(key) || (tank.is_on(key) && self.engines.slices.shows(&wish));
        let wanted = (!is_known).then_some(&wish);
        let (task, notify) = (self.water_task(), Arc::clone(&self.notify));
        let updates = self
            .engines
            .slices
            .tend(wanted, |_| water::start_slices(task, notify));
        for update in updates {
            match update {
                Update::Partial(SliceNews::Plan(field)) => self.results.plan_slice = field,
                Update::Partial(SliceNews::Side(field)) => self.results.side_slice = field,
                // A cut outside the water has no slice; the tank estimate says the rest.
                Update::Failed(_) | Update::Done => continue,
            }
            // Advice looks at a slice only while there is no tank estimate.
            if self.results.tank.is_none() {
                self.engines.water_version = self.engines.fresh_version();
            }
        }
        self.results.slices_are_old = !self.engines.slices.shows(&wish);
    }

    /// The tank estimate starts once the slices have answered, so that they
    /// are not slowed down by it.
    fn tend_tank(&mut self, key: &WaterKey) {
        let wish = (key.clone(), self.levels);
        let may_run = self.engines.tank.is_on(key) || self.engines.slices.has_answered(&wish);
        let (task, notify) = (self.water_task(), Arc::clone(&self.notify));
        let updates = self
            .engines
            .tank
            .tend(may_run.then_some(key), |_| water::start_tank(task, notify));
        for update in updates {
            match update {
                Update::Partial(news) => {
                    self.engines.slices.outshine();
                    self.take_tank(news);
                }
                Update::Failed(reason) => {
                    // A field that diverged means nothing: show no colors.
                    self.results.tank = None;
                    self.results.flow_status = FlowStatus::Failed(reason);
                    self.engines.water_version = self.engines.fresh_version();
                }
                Update::Done => {}
            }
        }
        self.results.tank_is_old = !self.engines.tank.shows(key);
        if self.results.tank_is_old && self.is_busy_with_water() {
            self.results.flow_status = FlowStatus::Running(0.0);
        }
    }

    /// Whether the water is being estimated.
    pub fn is_busy_with_water(&self) -> bool {
        self.engines.slices.is_running() || self.engines.tank.is_running()
    }

    pub(super) fn water_task(&self) -> WaterTask {
        WaterTask {
            study: Arc::clone(self.shown_study()),
            levels: self.levels,
            memory: Arc::clone(&self.engines.water_memory),
        }
    }

    /// Advice looks again at the first field, at each quarter, and at the end.
    fn take_tank(&mut self, (field, status): TankNews) {
        let quarter = |status: &FlowStatus| match status {
            FlowStatus::Running(share) => (share * 4.0) as i32,
            _ => -1,
        };
        let is_first = self.results.tank.is_none() || self.results.tank_is_old;
        if is_first
            || quarter(&status) < 0
            || quarter(&status) != quarter(&self.results.flow_status)
        {
            self.engines.water_version = self.engines.fresh_version();
        }
        let is_done = matches!(status, FlowStatus::Settled | FlowStatus::Unsettled);
        if is_done && let Some(key) = self.engines.tank.shown().cloned() {
            let weight = field_bytes(&field);
            let kept = KeptWater {
                field: Arc::clone(&field),
                status: status.clone(),
                version: self.engines.water_version,
            };
            self.engines.kept.water.put(key, kept, weight);
        }
        self.results.tank = Some(field);
        self.results.flow_status = status;
    }

    fn tend_light(&mut self) {
        let wish = LightKey::new(self.shown_study(), self.measured_version);
        self.recall_light(&wish);
        let task = LightTask {
            study: Arc::clone(self.shown_study()),
            levels: self.levels,
            measured: Arc::clone(&self.measured),
            before: self.engines.light_solvers.clone(),
        };
        let notify = Arc::clone(&self.notify);
        let updates = self
            .engines
            .light
            .tend(Some(&wish), |_| lighting::start(task, notify));
        let is_current = self.engines.light.shows(&wish);
        for update in updates {
            match update {
                Update::Partial(news) => self.take_light(news),
                Update::Failed(reason) => self.results.light_status = LightStatus::Failed(reason),
                Update::Done => {}
            }
        }
        self.results.light_is_old = !is_current;
        if self.engines.light.is_running() && self.results.light.is_none() {
            self.results.light_status = LightStatus::Running;
        }
    }

    /// Shows a kept light answer of this scene, if there is one.
    fn recall_light(&mut self, key: &LightKey) {
        if self.engines.light.is_on(key) {
            return;
        }
        if let Some(kept) = self.engines.kept.light.find(key) {
            self.engines.light.recall(key);
            self.show_light(kept.news, kept.version);
        }
    }

    fn take_light(&mut self, news: LightNews) {
        self.engines.light_solvers.keep(&news);
        let version = self.engines.fresh_version();
        if news.is_final
            && let Some(key) = self.engines.light.shown().cloned()
        {
            let kept = KeptLight {
                news: news.clone(),
                version,
            };
            self.engines.kept.light.put(key, kept, 1);
        }
        self.show_light(news, version);
    }

    fn show_light(&mut self, news: LightNews, version: u64) {
        self.results.light_status = if news.is_final {
            LightStatus::Fine
        } else {
            LightStatus::Coarse
        };
        self.results.light_solver = Some(news.solver);
        self.results.light = Some(news.field);
        self.results.light_about = Some(news.about);
        self.engines.light_version = version;
        self.take_planes(news.planes);
    }

    /// Cuts the light elsewhere when a level line was dragged.
    fn tend_planes(&mut self) {
        let Some(solver) = self.results.light_solver.clone() else {
            return;
        };
        let wish = (self.engines.light_version, self.levels);
        let (levels, notify) = (self.levels, Arc::clone(&self.notify));
        let updates = self.engines.planes.tend(Some(&wish), |_| {
            lighting::start_planes(solver, levels, notify)
        });
        for update in updates {
            if let Update::Partial(planes) = update {
                self.take_planes(planes);
            }
        }
    }

    fn take_planes(&mut self, [plan, side, end]: [Arc<LightPlane>; 3]) {
        self.results.light_plan = Some(plan);
        self.results.light_side = Some(side);
        self.results.light_end = Some(end);
    }
}

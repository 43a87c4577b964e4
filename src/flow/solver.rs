//! A run: spin-up, averages, and when it is done.

use glam::DVec3;

use crate::average::{Averages, CellMeans, Limits};
use crate::by_phase::merged;
use crate::domain::{CellForce, Domain};
use crate::engine::Engine;
use crate::geometry::CellGrid;
use crate::phases::PhaseMean;
use crate::times::Times;
use crate::{
    CellKind, ComputedOn, Cut, Device, FlowError, FlowField, FlowSetup, Macroscopic, PumpPhase,
    Settling,
};

/// Tank time between samples, in s.
const SAMPLE_S: f64 = 0.05;

/// Share of the spin-up that is left when the run starts from an earlier flow.
const WARM_SHARE: f64 = 0.4;

/// Tank time between two looks at the progress in [`solve`], in s.
const SLICE_S: f64 = 0.5;

/// How much shorter the step of the second try is.
const SECOND_TRY: f64 = 0.5;

/// The water of a run at one moment, to start another from.
#[derive(Clone, Debug, PartialEq)]
pub struct FlowState {
    /// The cells.
    pub grid: CellGrid,
    /// Velocity in each, in m/s; zero where there is no water.
    pub velocity_m_s: Vec<[f32; 3]>,
}

/// A run in progress.
#[derive(Debug)]
pub struct FlowSolver {
    setup: FlowSetup,
    kernel: Engine,
    computed_on: ComputedOn,
    averages: Averages,
    /// Cells of water, and where the averages keep them, as short as they can be.
    water: Vec<u32>,
    places: Vec<u32>,
    forces: Vec<CellForce>,
    spin_up_s: f64,
    next_force_s: f64,
    restarts: u32,
    settling: Settling,
    batches_seen: u64,
    /// Which phase of slow pumps is solved, and since when.
    phase: usize,
    since_s: f64,
    /// The phases that are over, with their share of the time.
    over: Option<(f64, FlowField)>,
    /// Whether averages are kept while the water comes up to speed.
    keeps_early: bool,
}

impl FlowSolver {
    /// Water at rest, but for the jets of a slice, which are known. Fine cells
    /// that are to begin with coarser ones do so with [`Self::begun`] alone.
    pub fn new(mut setup: FlowSetup) -> Self {
        // The kernel keeps what it is given: one copy will do.
        let empty = Domain::new([0; 3], setup.domain.tau);
        let domain = std::mem::replace(&mut setup.domain, empty);
        let processor = Device::Processor;
        let is_tank = setup.options.cut == Cut::Tank;
        let device = if is_tank { &setup.device } else { &processor };
        let (mut kernel, computed_on) = Engine::new(domain, device);
        for held in setup.sources.jets.iter().flat_map(|jet| &jet.held) {
            let state = Macroscopic {
                density: 0.0,
                velocity: held.force.map(|force| f64::from(force / held.linear)),
            };
            kernel.set(held.cell, state);
        }
        let is_water = |cell: &u32| setup.kinds[*cell as usize] == CellKind::Water;
        let water: Vec<u32> = (0..setup.kinds.len() as u32).filter(is_water).collect();
        let place = |cell: &u32| kernel.place_of(*cell as usize) as u32;
        let places = water.iter().map(place).collect();
        let times = setup.phases[0].1;
        Self {
            averages: Averages::new(kernel.n_blocks(), samples_per_batch(&setup, &times)),
            water,
            places,
            forces: Vec::new(),
            spin_up_s: times.spin_up_s,
            next_force_s: 0.0,
            restarts: 0,
            settling: unsettled(),
            batches_seen: 0,
            phase: 0,
            since_s: 0.0,
            over: None,
            keeps_early: true,
            kernel,
            computed_on,
            setup,
        }
    }

    /// Water as [`solve`] begins with: that of cells twice as large once it
    /// moves, where the setup asks for it, else at rest. `control`, told no
    /// progress yet, may say no.
    ///
    /// # Errors
    /// [`FlowError::Cancelled`], or as [`Self::advance`].
    pub fn begun(
        mut setup: FlowSetup,
        control: &mut dyn FnMut(f64) -> bool,
    ) -> Result<Self, FlowError> {
        let Some(coarse) = setup.coarse.take() else {
            return Ok(Self::new(setup));
        };
        let mut coarse = Self::begun(*coarse, control)?.unwatched();
        while coarse.time_s() < coarse.spin_up_s {
            if !control(0.0) {
                return Err(FlowError::Cancelled);
            }
            coarse.advance(SLICE_S)?;
        }
        let mut solver = Self::new(setup);
        solver.warm_from(&coarse);
        if let Some([_, share]) = solver.setup.options.head_start {
            solver.spin_up_s = solver.times().spin_up_s * share;
        }
        Ok(solver)
    }

    /// Nobody looks before the water is up to speed: what averages would tell
    /// until then is not kept, and nothing else changes, but that a card whose
    /// numbers mean nothing any more says so only when averages begin.
    pub(crate) fn unwatched(mut self) -> Self {
        self.keeps_early = false;
        self
    }

    /// What this run is computed on.
    pub fn computed_on(&self) -> &ComputedOn {
        &self.computed_on
    }

    /// Starts from an earlier run's water, on the same or other cells.
    pub fn warm_from(&mut self, earlier: &Self) {
        self.warm_from_state(&earlier.state());
    }

    /// Starts from water as it was at some moment.
    pub fn warm_from_state(&mut self, earlier: &FlowState) {
        let (grid, factor) = (self.setup.grid, self.setup.scaling.speed_lu(1.0));
        let state = |cell: usize| Macroscopic {
            density: 0.0,
            velocity: (earlier.velocity_at(grid.center_m(grid.ijk(cell))) * factor).to_array(),
        };
        self.kernel.set_all(&self.water, &state);
        self.spin_up_s = self.times().spin_up_s * WARM_SHARE;
    }

    /// The water as it is now.
    pub fn state(&self) -> FlowState {
        let mut velocity_m_s = vec![[0.0; 3]; self.setup.kinds.len()];
        let factor = self.setup.scaling.speed_m_s(1.0);
        // A card that is gone leaves water at rest; the next step says so.
        let seen = self.kernel.velocities(&self.water).unwrap_or_default();
        for (&cell, velocity) in self.water.iter().zip(seen) {
            velocity_m_s[cell as usize] = velocity.map(|u| (u * factor) as f32);
        }
        FlowState {
            grid: self.setup.grid,
            velocity_m_s,
        }
    }

    /// What is being solved. Its cells and walls are with this solver: a setup
    /// for another one comes from [`FlowSetup::for_run`].
    pub fn setup(&self) -> &FlowSetup {
        &self.setup
    }

    /// Tank time since the start, in s.
    pub fn time_s(&self) -> f64 {
        self.kernel.steps() as f64 * self.setup.scaling.step_s
    }

    /// Lets `tank_time_s` pass.
    ///
    /// # Errors
    /// [`FlowError::Diverged`], or [`FlowError::Card`] if the card is lost.
    pub fn advance(&mut self, tank_time_s: f64) -> Result<(), FlowError> {
        let every = sample_steps(&self.setup);
        let end = self.kernel.steps() + self.setup.scaling.steps(tank_time_s);
        let slow_lu = self
            .setup
            .scaling
            .speed_lu(self.setup.options.slow_limit_m_s) as f32;
        while self.kernel.steps() < end {
            let now_s = self.time_s();
            if now_s >= self.next_force_s {
                self.setup.sources.forces(now_s, &mut self.forces);
                // Those of a slice seldom change.
                if self.kernel.domain().forces != self.forces {
                    self.kernel.set_forces(&self.forces)?;
                }
                self.next_force_s = now_s + self.setup.sources.interval_s();
            }
            self.kernel.advance(self.steps_ahead(end, every))?;
            if self.kernel.steps().is_multiple_of(every) {
                self.restart_averages_if_due()?;
                if self.keeps_early || self.restarts >= 2 {
                    self.sample(slow_lu)?;
                }
                if self.phase_is_over() {
                    self.begin_next_phase()?;
                }
            }
        }
        if self.kernel.is_sound()? {
            Ok(())
        } else {
            Err(self.diverged())
        }
    }

    fn sample(&mut self, slow_lu: f32) -> Result<(), FlowError> {
        if self.setup.options.cut == Cut::Tank && self.setup.sources.change() {
            let running = self.setup.sources.running(self.time_s());
            self.averages.run_with(&mut self.kernel, running)?;
        }
        let n_water = self.water.len();
        (self.averages).sample(&mut self.kernel, slow_lu, n_water)?;
        if self.averages.batches() != self.batches_seen {
            self.batches_seen = self.averages.batches();
            self.judge()?;
        }
        Ok(())
    }

    /// How many steps may be made until forces change, a sample is due or the
    /// end is reached.
    fn steps_ahead(&self, end: u64, every: u64) -> u64 {
        let done = self.kernel.steps();
        let step_s = self.setup.scaling.step_s;
        let to_forces = ((self.next_force_s - self.time_s()) / step_s).ceil() as u64;
        let to_sample = every - done % every;
        to_forces.min(to_sample).min(end - done).max(1)
    }

    fn diverged(&self) -> FlowError {
        let after_s = self.time_s();
        FlowError::Diverged { after_s }
    }

    /// Averages begin anew when half and all of the spin-up is over.
    fn restart_averages_if_due(&mut self) -> Result<(), FlowError> {
        let share = self.in_phase_s() / self.spin_up_s.max(1e-9);
        let due = if share >= 1.0 {
            2
        } else {
            u32::from(share >= 0.5)
        };
        if due > self.restarts {
            self.restarts = due;
            self.averages.restart(&mut self.kernel)?;
            self.batches_seen = 0;
            self.settling = unsettled();
        }
        Ok(())
    }

    fn judge(&mut self) -> Result<(), FlowError> {
        let mut settling = self.averages.settling(&self.places, &self.limits());
        if !settling.mean_speed_m_s.is_finite() {
            return Err(self.diverged());
        }
        settling.settled &= self.restarts >= 2;
        self.settling = settling;
        Ok(())
    }

    fn limits(&self) -> Limits {
        let scaling = &self.setup.scaling;
        Limits {
            slow_lu: scaling.speed_lu(self.setup.options.slow_limit_m_s),
            sample_s: sample_steps(&self.setup) as f64 * scaling.step_s,
            shortest_s: self.times().shortest_s,
            tolerance: self.setup.options.settle_tolerance,
            speed_m_s: scaling.speed_m_s(1.0),
        }
    }

    /// Times of the phase that is solved.
    fn times(&self) -> Times {
        self.setup.phases[self.phase].1
    }

    fn in_phase_s(&self) -> f64 {
        self.time_s() - self.since_s
    }

    fn phase_is_over(&self) -> bool {
        self.settling.settled || self.in_phase_s() >= self.spin_up_s + self.times().longest_s
    }

    fn is_last_phase(&self) -> bool {
        self.phase + 1 == self.setup.phases.len()
    }

    /// Other pumps take over, if there is a further phase.
    fn begin_next_phase(&mut self) -> Result<(), FlowError> {
        if self.is_last_phase() {
            return Ok(());
        }
        let share = self.over.as_ref().map_or(0.0, |(share, _)| *share);
        let share = share + self.setup.phases[self.phase].0.share;
        self.over = Some((share, self.so_far()));
        self.phase += 1;
        let (phase, times) = &self.setup.phases[self.phase];
        self.setup.sources.begin(phase);
        let per_batch = samples_per_batch(&self.setup, times);
        self.averages = Averages::new(self.kernel.n_blocks(), per_batch);
        self.spin_up_s = times.spin_up_s;
        self.since_s = self.time_s();
        self.next_force_s = self.since_s;
        self.restarts = 0;
        self.settling = unsettled();
        self.batches_seen = 0;
        self.kernel.forget_samples()
    }

    /// How settled the averages are; those of slow pumps once all phases are.
    pub fn settling(&self) -> Settling {
        match &self.over {
            Some((_, over)) => Settling {
                settled: self.settling.settled && over.settling.settled && self.is_last_phase(),
                ..self.settling
            },
            None => self.settling,
        }
    }

    /// Share of the longest run that is over, 0 to 1; 1 when done.
    pub fn progress(&self) -> f64 {
        if self.is_done() {
            return 1.0;
        }
        let here = self.in_phase_s() / (self.spin_up_s + self.times().longest_s);
        let phases = self.setup.phases.len() as f64;
        ((self.phase as f64 + here.clamp(0.0, 1.0)) / phases).clamp(0.0, 1.0)
    }

    /// Whether the averages have settled, or the longest run is over.
    pub fn is_done(&self) -> bool {
        self.is_last_phase() && self.phase_is_over()
    }

    /// The averages so far; before the spin-up is over, of what there is.
    pub fn snapshot(&self) -> FlowField {
        let mut field = self.so_far();
        field.settling.settled &= self.is_last_phase();
        if field.phases.len() < 2 {
            field.phases.clear();
        }
        field
    }

    /// The averages of this phase and all before it.
    fn so_far(&self) -> FlowField {
        let field = self.of_phase();
        let share = self.setup.phases[self.phase].0.share;
        match &self.over {
            // Nothing is known of a phase that has just begun.
            Some((_, over)) if self.averages.samples() == 0 => over.clone(),
            Some(over) => merged(over.clone(), (share, field)),
            None => field,
        }
    }

    fn of_phase(&self) -> FlowField {
        let mut settling = self.averages.settling(&self.places, &self.limits());
        settling.settled &= self.restarts >= 2;
        let n = self.setup.kinds.len();
        let factor = self.setup.scaling.speed_m_s(1.0);
        let mut field = FlowField {
            grid: self.setup.grid,
            estimate: self.setup.estimate,
            kind: self.setup.kinds.clone(),
            velocity_m_s: vec![[0.0; 3]; n],
            speed_m_s: vec![0.0; n],
            fluctuation_m_s: vec![0.0; n],
            slow_share: vec![0.0; n],
            speed_half_width_m_s: vec![0.0; n],
            slow_limit_m_s: self.setup.options.slow_limit_m_s,
            settling,
            computed_on: self.computed_on.clone(),
            n_runs: 1,
            may_flip: Vec::new(),
            phases: self.phases(factor),
            felt: self.setup.felt_source(),
        };
        let widening = self.averages.widening();
        for (&cell, &place) in self.water.iter().zip(&self.places) {
            let means = self.averages.cell(place, widening);
            put(&mut field, cell as usize, &means, factor);
        }
        field
    }

    fn phases(&self, factor: f64) -> Vec<PumpPhase> {
        let of = |mean: PhaseMean| {
            let mut speed_m_s = vec![0.0; self.setup.kinds.len()];
            for (&cell, &place) in self.water.iter().zip(&self.places) {
                speed_m_s[cell as usize] = mean.speed[place as usize] * factor as f32;
            }
            PumpPhase {
                running: mean.running,
                share: mean.share,
                speed_m_s,
            }
        };
        self.averages.phases().into_iter().map(of).collect()
    }
}

fn put(field: &mut FlowField, cell: usize, means: &CellMeans, speed_m_s: f64) {
    field.velocity_m_s[cell] = means.velocity.map(|u| (u * speed_m_s) as f32);
    field.speed_m_s[cell] = (means.speed * speed_m_s) as f32;
    field.fluctuation_m_s[cell] = (means.fluctuation * speed_m_s) as f32;
    field.slow_share[cell] = means.slow_share as f32;
    field.speed_half_width_m_s[cell] = (means.speed_half_width * speed_m_s) as f32;
}

fn sample_steps(setup: &FlowSetup) -> u64 {
    setup.scaling.steps(SAMPLE_S)
}

fn samples_per_batch(setup: &FlowSetup, times: &Times) -> u64 {
    let sample_s = sample_steps(setup) as f64 * setup.scaling.step_s;
    (times.batch_s / sample_s).round().max(1.0) as u64
}

fn unsettled() -> Settling {
    Settling {
        settled: false,
        averaged_s: 0.0,
        mean_speed_m_s: 0.0,
        mean_speed_half_width_m_s: 0.0,
        dead_share: 0.0,
        dead_share_half_width: 1.0,
        flip_share: 0.0,
    }
}

impl FlowState {
    /// Velocity in the cell at a place, in m/s; zero outside. Cells of a slice
    /// stand for any depth.
    fn velocity_at(&self, at_m: DVec3) -> DVec3 {
        let mut at_m = at_m;
        for axis in (0..3).filter(|&axis| self.grid.n[axis] == 1) {
            at_m[axis] = self.grid.origin_m[axis] + 0.5 * self.grid.cell_m;
        }
        let Some(ijk) = self.grid.cell_at(at_m) else {
            return DVec3::ZERO;
        };
        let [u, v, w] = self.velocity_m_s[self.grid.idx(ijk)].map(f64::from);
        DVec3::new(u, v, w)
    }
}

/// Runs until the averages settle or `control`, told the progress, says no.
/// If the run diverges it is tried once more with a shorter step. If the
/// graphics card is lost the run is made anew on the processor, and the result
/// says so.
///
/// # Errors
/// [`FlowError::Cancelled`], or [`FlowError::Diverged`] twice.
pub fn solve(
    setup: FlowSetup,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<FlowField, FlowError> {
    let recipe = setup.recipe();
    match solve_here(setup, &recipe, control) {
        Err(FlowError::Card { why }) => {
            let recipe = recipe.on(Device::Processor);
            let mut field = solve_here(recipe.anew()?, &recipe, control)?;
            field.computed_on.instead = Some(why);
            Ok(field)
        }
        other => other,
    }
}

fn solve_here(
    setup: FlowSetup,
    recipe: &FlowSetup,
    control: &mut dyn FnMut(f64) -> bool,
) -> Result<FlowField, FlowError> {
    match run(setup, control) {
        Err(FlowError::Diverged { .. }) => run(recipe.with_shorter_step(SECOND_TRY)?, control),
        other => other,
    }
}

fn run(setup: FlowSetup, control: &mut dyn FnMut(f64) -> bool) -> Result<FlowField, FlowError> {
    let mut solver = FlowSolver::begun(setup, control)?.unwatched();
    while !solver.is_done() {
        if !control(solver.progress()) {
            return Err(FlowError::Cancelled);
        }
        solver.advance(SLICE_S)?;
    }
    Ok(solver.snapshot())
}

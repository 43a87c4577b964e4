//! From a scene to cells, walls and forces: with `placing` the only file of this
//! module that knows a scene.

use glam::DVec3;
use rayon::prelude::*;

use crate::cells::{grid_of, water_m};
use crate::domain::{Domain, closure_term};
use crate::felt::FeltSource;
use crate::geometry::{CellGrid, Rockwork};
use crate::held::{HeldCell, JetWater};
use crate::mixing::CoreCell;
use crate::outlet::{Outlet, outlets};
use crate::phases::{LongPhase, Turn, long_phases};
use crate::placing::{Placing, patch_m};
use crate::scene::{Overflow, Tank};
use crate::source::Sources;
use crate::study::Study;
use crate::times::{Times, turn_s};
use crate::units::{M_PER_CM, SEAWATER_VISCOSITY_M2_S};
use crate::walls;
use crate::{
    CellKind, Closure, Cut, Device, Estimate, FlowError, FlowField, FlowOptions, Scaling, Walls,
    body, coral, mixing,
};

/// Speed that steps are made for where no outlet is faster, in m/s.
const SLOWEST_M_S: f64 = 0.02;

/// Eddy viscosity of a slice over the root of the largest kinematic thrust:
/// fits decay and width of a free round jet, and keeps a slice steady.
///
/// **Source** derived from a constant-viscosity jet (Schlichting) with
/// B = 5.94, S = 0.094 (Hussein, Capp & George 1994).
const SLICE_VISCOSITY_SHARE: f64 = 0.0178;

/// Cells of a slice for each that a jet holds, at most, if the slice is to say
/// anything; own choice.
const SLICE_CELLS_A_HELD_ONE: usize = 50;

/// Least and largest cells that begin with the water of cells twice as large, in
/// m. Jets on coarser ones are too poor to begin with; finer ones are what others
/// are judged by, and water that has two ways to go keeps to the one it began on.
///
/// **Source** own runs, `EXPERIMENTS.md`.
const HEAD_START_M: [f64; 2] = [0.009, 0.0127];

/// Share of the spin-up in which the jets of a further run are bent.
const BENT_SHARE: f64 = 0.5;

/// A run, ready to start.
#[derive(Clone, Debug)]
pub struct FlowSetup {
    pub(crate) domain: Domain,
    pub(crate) kinds: Vec<CellKind>,
    pub(crate) grid: CellGrid,
    pub(crate) scaling: Scaling,
    pub(crate) sources: Sources,
    pub(crate) estimate: Estimate,
    pub(crate) options: FlowOptions,
    /// What is solved one after the other, and for how long each.
    pub(crate) phases: Vec<(LongPhase, Times)>,
    pub(crate) device: Device,
    /// The same run on cells twice as large, whose water it begins with.
    pub(crate) coarse: Option<Box<Self>>,
    rebuild: Box<Rebuild>,
}

/// What is needed to set the same run up with another step.
#[derive(Clone, Debug)]
pub(crate) struct Rebuild {
    pub(crate) outlets: Vec<Outlet>,
    /// For a slice, the water that follows each outlet's jet.
    pub(crate) held: Vec<Vec<HeldCell>>,
    /// For a tank, the water in the core of any jet.
    pub(crate) cores: Vec<CoreCell>,
    pub(crate) overflow: Option<Overflow>,
    pub(crate) tank: Tank,
    pub(crate) drags: Vec<(usize, f32)>,
}

impl FlowSetup {
    /// Cells, walls and pumps of a study.
    ///
    /// # Errors
    /// Cells too many or too few, a cut outside the water, or no water on it.
    pub fn new(study: &Study, options: &FlowOptions) -> Result<Self, FlowError> {
        let (tank, layout, rockwork) = (&study.scene().tank, study.layout(), study.rockwork());
        let grid = grid_of(tank, options)?;
        let mut kinds = kinds_of(&grid, tank, rockwork, options.cut);
        let drags = coral::place(&grid, study, &mut kinds);
        if options.cut == Cut::Tank {
            body::place(&grid, layout, &mut kinds);
        }
        if !kinds.contains(&CellKind::Water) {
            return Err(FlowError::NoWater);
        }
        let outlets = outlets(tank, layout);
        let water = JetWater {
            grid: &grid,
            kinds: &kinds,
            rockwork,
            cut: options.cut,
            bounds_m: [DVec3::Z * tank.sand.depth_cm * M_PER_CM, water_m(tank)],
        };
        let rebuild = Rebuild {
            held: outlets.iter().map(|outlet| water.held_by(outlet)).collect(),
            cores: match options.cut {
                Cut::Tank => (outlets.iter())
                    .flat_map(|outlet| water.core_of(outlet, options.core_mixing_m))
                    .collect(),
                Cut::Plan { .. } | Cut::Side { .. } => Vec::new(),
            },
            outlets,
            overflow: tank.overflow,
            tank: tank.clone(),
            drags,
        };
        let mut setup = Self::build(grid, kinds, Box::new(rebuild), options)?;
        if let Some([share, _]) = options.head_start
            && options.cut == Cut::Tank
            && (HEAD_START_M[0]..=HEAD_START_M[1]).contains(&grid.cell_m)
        {
            let coarse = FlowOptions {
                cell_m: Some(2.0 * grid.cell_m),
                spin_up_s: Some(share * setup.spin_up_s()),
                ..options.clone()
            };
            // A tank without room for cells so large begins at rest.
            setup.begin_with(Self::new(study, &coarse).ok());
        }
        Ok(setup)
    }

    /// Lets it begin with the water of another one instead of at rest.
    fn begin_with(&mut self, coarse: Option<Self>) {
        if let Some(coarse) = coarse {
            // Its jets have been bent there, if they are to be at all.
            self.sources.bent_s = 0.0;
            self.coarse = Some(Box::new(coarse));
        }
    }

    fn build(
        grid: CellGrid,
        kinds: Vec<CellKind>,
        rebuild: Box<Rebuild>,
        options: &FlowOptions,
    ) -> Result<Self, FlowError> {
        let fastest = (rebuild.outlets.iter())
            .map(|outlet| outlet.cell_speed_m_s(grid.cell_m))
            .fold(SLOWEST_M_S, f64::max);
        let scaling = Scaling::with_speed(grid.cell_m, fastest, options.speed_lu)?;
        let mut domain = domain_of(&grid, &kinds, options.cut);
        set_closure(&mut domain, &scaling, &rebuild, options);
        if options.cut != Cut::Tank || options.walls == Walls::Slide {
            let grain_mm = rebuild.tank.sand.grain_mm;
            domain.wall_drag = walls::drag(&domain, &kinds, &scaling, grain_mm);
        }
        let placing = Placing {
            grid: &grid,
            kinds: &kinds,
            scaling: &scaling,
            cut: options.cut,
            water_m: water_m(&rebuild.tank),
        };
        let mut sources = Sources {
            jets: placing.jets(&rebuild),
            fixed: placing.fixed(&rebuild),
            noise_share: options.outlet_noise,
            patch_s: patch_m(&grid) / fastest,
            seed: options.seed + options.run as u64,
            ramp_s: 300.0 * scaling.step_s,
            run: options.run,
            bent_s: 0.0,
        };
        if options.cut != Cut::Tank {
            sources.noise_share = 0.0;
        }
        let phases = phases_of(&mut sources, &rebuild, options);
        sources.bent_s = BENT_SHARE * phases[0].1.spin_up_s;
        sources.forces(0.0, &mut domain.forces);
        let estimate = match options.cut {
            Cut::Plan { .. } => Estimate::PlanSlice,
            Cut::Side { .. } => Estimate::SideSlice,
            Cut::Tank => Estimate::Tank,
        };
        Ok(Self {
            domain,
            kinds,
            grid,
            scaling,
            sources,
            estimate,
            options: options.clone(),
            phases,
            device: Device::Processor,
            coarse: None,
            rebuild,
        })
    }

    /// Where it is to be computed.
    pub fn device(&self) -> &Device {
        &self.device
    }

    /// The same run computed somewhere else.
    pub fn on(mut self, device: Device) -> Self {
        self.coarse = (self.coarse).map(|coarse| Box::new(coarse.on(device.clone())));
        self.device = device;
        self
    }

    /// The same run with a step shorter by this factor.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn with_shorter_step(&self, factor: f64) -> Result<Self, FlowError> {
        let mut options = self.options.clone();
        options.speed_lu *= factor;
        self.with(&options)
    }

    /// What it takes to set this run up again, without its cells' walls and
    /// forces.
    pub(crate) fn recipe(&self) -> Self {
        Self {
            domain: Domain::new([0; 3], self.domain.tau),
            kinds: self.kinds.clone(),
            grid: self.grid,
            scaling: self.scaling,
            sources: self.sources.clone(),
            estimate: self.estimate,
            options: self.options.clone(),
            phases: self.phases.clone(),
            device: self.device.clone(),
            coarse: (self.coarse.as_ref()).map(|coarse| Box::new(coarse.recipe())),
            rebuild: self.rebuild.clone(),
        }
    }

    /// The same run set up anew.
    pub(crate) fn anew(&self) -> Result<Self, FlowError> {
        self.with(&self.options)
    }

    /// Another of several runs of the same tank; see [`FlowOptions::run`].
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn for_run(&self, run: usize) -> Result<Self, FlowError> {
        let options = FlowOptions {
            run,
            ..self.options.clone()
        };
        self.with(&options)
    }

    /// A field of this setup that has been stored and read again; none if it
    /// stands on other cells or lacks some.
    pub fn recalled(&self, mut field: FlowField) -> Option<FlowField> {
        let is_own = field.grid == self.grid && field.kind == self.kinds && field.is_whole();
        field.felt = self.felt_source();
        is_own.then_some(field)
    }

    /// The same tank with all pumps and returns off, in the same steps, to
    /// follow how moving water comes to rest.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn switched_off(&self) -> Result<Self, FlowError> {
        let mut rebuild = self.rebuild.clone();
        rebuild.outlets.clear();
        rebuild.overflow = None;
        let options = FlowOptions {
            // Steps go by the fastest outlet, which is gone.
            speed_lu: self.scaling.speed_lu(SLOWEST_M_S),
            ..self.options.clone()
        };
        let setup = Self::build(self.grid, self.kinds.clone(), rebuild, &options)?;
        Ok(setup.on(self.device.clone()))
    }

    fn with(&self, options: &FlowOptions) -> Result<Self, FlowError> {
        let (kinds, rebuild) = (self.kinds.clone(), self.rebuild.clone());
        let mut setup = Self::build(self.grid, kinds, rebuild, options)?;
        if let Some(coarse) = &self.coarse {
            let options = FlowOptions {
                cell_m: coarse.options.cell_m,
                spin_up_s: coarse.options.spin_up_s,
                ..options.clone()
            };
            setup.begin_with(Some(coarse.with(&options)?));
        }
        Ok(setup.on(self.device.clone()))
    }

    /// Whether it begins with the water of cells twice as large, not at rest.
    pub fn begins_with_coarser_cells(&self) -> bool {
        self.coarse.is_some()
    }

    /// Tank time that is not averaged when the water starts from rest, in s.
    pub fn spin_up_s(&self) -> f64 {
        self.phases[0].1.spin_up_s
    }

    /// Whether enough of a jet lies in the water that is solved: a slice that
    /// no jet runs in stands still and says nothing of the tank.
    pub fn has_jet(&self) -> bool {
        let n_water = (self.kinds.iter())
            .filter(|kind| **kind == CellKind::Water)
            .count();
        let n_held: usize = self.sources.jets.iter().map(|jet| jet.held.len()).sum();
        self.options.cut == Cut::Tank || n_held * SLICE_CELLS_A_HELD_ONE >= n_water
    }

    /// What a field of this run tells its felt speeds by.
    pub(crate) fn felt_source(&self) -> FeltSource {
        FeltSource::new(&self.rebuild.outlets)
    }

    /// What was asked for.
    pub fn options(&self) -> &FlowOptions {
        &self.options
    }

    /// The cells.
    pub fn grid(&self) -> CellGrid {
        self.grid
    }

    /// What fills each cell.
    pub fn kinds(&self) -> &[CellKind] {
        &self.kinds
    }

    /// Cell and step.
    pub fn scaling(&self) -> Scaling {
        self.scaling
    }

    /// Cell updates of the longest run, for a guess of how long it will take.
    pub fn cell_updates_max(&self) -> f64 {
        let times = self.phases.iter().map(|(_, times)| times);
        let time_s = times.map(|of| of.spin_up_s + of.longest_s).sum();
        self.updates(time_s)
            + self
                .coarse
                .as_ref()
                .map_or(0.0, |coarse| coarse.updates_ahead())
    }

    /// Cell updates in so much tank time.
    fn updates(&self, time_s: f64) -> f64 {
        self.scaling.steps(time_s) as f64 * self.grid.n_cells() as f64
    }

    /// Cell updates before finer cells begin with its water.
    fn updates_ahead(&self) -> f64 {
        let ahead = self
            .coarse
            .as_ref()
            .map_or(0.0, |coarse| coarse.updates_ahead());
        ahead + self.updates(self.spin_up_s())
    }
}

/// What is solved one after the other; the sources take up the first of it.
fn phases_of(
    sources: &mut Sources,
    rebuild: &Rebuild,
    options: &FlowOptions,
) -> Vec<(LongPhase, Times)> {
    let programmes: Vec<_> = sources.jets.iter().map(|jet| jet.programme).collect();
    let phases = long_phases(&programmes);
    let n_phases = phases.len();
    let timed: Vec<_> = (phases.into_iter())
        .map(|phase| {
            sources.begin(&phase);
            let thrust_m4_s2 = (sources.jets.iter())
                .filter(|jet| jet.turn != Turn::Resting)
                .map(|jet| jet.thrust_m4_s2)
                .sum();
            let turn_s = turn_s(water_m(&rebuild.tank), thrust_m4_s2);
            let mut times = Times::new(turn_s, sources.cycle_s(), options);
            times.share_among(n_phases);
            (phase, times)
        })
        .collect();
    sources.begin(&timed[0].0);
    timed
}

/// A cell is rock where at least half of eight points in it are.
fn kinds_of(grid: &CellGrid, tank: &Tank, rockwork: &Rockwork, cut: Cut) -> Vec<CellKind> {
    let sand_m = tank.sand.depth_cm * M_PER_CM;
    let quarter = 0.25 * grid.cell_m;
    let offsets: Vec<DVec3> = (0..8)
        .map(|corner| {
            let sign = |axis: usize| {
                if corner >> axis & 1 == 1 {
                    quarter
                } else {
                    -quarter
                }
            };
            match cut {
                Cut::Plan { .. } => DVec3::new(sign(0), sign(1), 0.0),
                Cut::Side { .. } => DVec3::new(sign(0), 0.0, sign(2)),
                Cut::Tank => DVec3::new(sign(0), sign(1), sign(2)),
            }
        })
        .collect();
    let bounds: Vec<_> = rockwork.rocks.iter().map(|rock| rock.bounds()).collect();
    (0..grid.n_cells())
        .into_par_iter()
        .map(|cell| {
            let at = grid.center_m(grid.ijk(cell));
            let inside = |p: DVec3| {
                (rockwork.rocks.iter().zip(&bounds))
                    .any(|(rock, bounds)| bounds.distance(p) == 0.0 && rock.contains(p))
            };
            let near = bounds
                .iter()
                .any(|bounds| bounds.distance(at) < grid.cell_m);
            if near
                && offsets
                    .iter()
                    .filter(|offset| inside(at + **offset))
                    .count()
                    >= 4
            {
                CellKind::Rock
            } else if at.z < sand_m {
                CellKind::Sand
            } else {
                CellKind::Water
            }
        })
        .collect()
}

fn domain_of(grid: &CellGrid, kinds: &[CellKind], cut: Cut) -> Domain {
    let mut domain = Domain::new(grid.n, 0.5);
    domain.solid = kinds.iter().map(|kind| *kind != CellKind::Water).collect();
    match cut {
        Cut::Plan { .. } => domain.periodic[2] = true,
        Cut::Side { .. } => {
            domain.periodic[1] = true;
            domain.lid = true;
        }
        Cut::Tank => domain.lid = true,
    }
    domain
}

fn set_closure(domain: &mut Domain, scaling: &Scaling, rebuild: &Rebuild, options: &FlowOptions) {
    let mut viscosity_m2_s = SEAWATER_VISCOSITY_M2_S;
    let closure = if options.cut == Cut::Tank {
        options.closure
    } else {
        Closure::ConstantJet {
            share: SLICE_VISCOSITY_SHARE,
        }
    };
    let constant = match closure {
        Closure::Smagorinsky { constant } => constant,
        Closure::ConstantJet { share } => {
            let thrusts = rebuild.outlets.iter().map(Outlet::thrust_m4_s2);
            let largest_m4_s2 = thrusts.fold(0.0, f64::max);
            viscosity_m2_s = viscosity_m2_s.max(share * largest_m4_s2.sqrt());
            0.1
        }
    };
    domain.tau = scaling.tau(viscosity_m2_s);
    domain.closure = vec![closure_term(constant); domain.n_cells()];
    if let Closure::Smagorinsky { constant } = closure {
        mixing::mix(domain, constant, &rebuild.cores);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Scene;

    /// A bare box with one outlet, on cells of 1.25 cm.
    fn setup(run: usize) -> FlowSetup {
        let text = r#"(
            format: 1, name: "box",
            tank: (length_cm: 40.0, width_cm: 30.0, height_cm: 30.0, water_cm: 25.0,
                sand: (depth_cm: 0.0, grain_mm: 1.0, reflectance: 0.5)),
            layouts: [(
                name: "one",
                pumps: [(
                    id: 2, kind: Nozzle, at_cm: (4.0, 8.0, 9.0), turn_deg: 5.0, tilt_deg: -4.0,
                    flow_lph: 600.0, outlet_cm: 3.0,
                )],
            )],
        )"#;
        let scene: Scene = ron::from_str(text).expect("a scene");
        let study = Study::with_built_in(&scene, 0).expect("there is a layout");
        let options = FlowOptions {
            cell_m: Some(0.0125),
            run,
            ..FlowOptions::default()
        };
        FlowSetup::new(&study, &options).expect("it can be set up")
    }

    #[test]
    fn jets_are_bent_on_the_cells_that_a_run_begins_on() {
        let plain = setup(0);
        for setup in [setup(3), plain.for_run(3).expect("it can be set up")] {
            let coarse = setup.coarse.as_ref().expect("it begins with coarser cells");
            assert_eq!((coarse.options.run, coarse.sources.run), (3, 3));
            assert!(coarse.sources.bent_s > 0.0, "bent there");
            assert_eq!(setup.sources.bent_s, 0.0, "and let go after it");
            assert_eq!(coarse.grid.n.map(|n| 2 * n), setup.grid.n);
            let spin_ups = [coarse, &setup].map(|of| of.spin_up_s());
            assert!(
                (spin_ups[0] / spin_ups[1] - 2.0).abs() < 1e-9,
                "{spin_ups:?}"
            );
        }
    }

    #[test]
    fn a_recipe_makes_the_same_run_anew() {
        let setup = setup(1);
        let anew = setup.recipe().anew().expect("it can be set up");
        assert_eq!(anew.domain, setup.domain);
        assert_eq!(anew.sources, setup.sources);
        assert_eq!(
            anew.coarse.map(|coarse| coarse.domain),
            setup.coarse.map(|coarse| coarse.domain)
        );
    }
}

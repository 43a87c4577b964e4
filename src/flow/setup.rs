//! From a scene to cells, walls and forces: the only file of this module that
//! knows a scene.

use glam::DVec3;
use rayon::prelude::*;

use crate::cells::{grid_of, water_m};
use crate::domain::{CellForce, Domain, closure_term};
use crate::felt::FeltSource;
use crate::geometry::{CellGrid, Rockwork};
use crate::held::{HeldCell, JetWater};
use crate::mixing::CoreCell;
use crate::outlet::{Outlet, outlets};
use crate::phases::{LongPhase, Turn, long_phases};
use crate::scene::{Overflow, SideName, Tank};
use crate::source::{Source, SourceCell, Sources};
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

/// Share of a thrust that suction takes on a wall one cell behind its source;
/// it falls with the distance in cells to the power 1.5.
///
/// **Source** own runs, `METHODS.md`.
const SUCTION_SHARE: f64 = 0.22;

/// Share of a thrust that suction takes on the body of its own pump.
///
/// **Source** own runs, `METHODS.md`.
const BODY_SUCTION: f64 = 0.035;

/// Beyond this many cells a wall behind a source takes less than a percent.
const SUCTION_REACH: f64 = 9.0;

/// Edge of the eddies in the water of an outlet, in m; a cell if that is more.
///
/// **Source** own choice: a quarter to a half of the outlets of pumps.
const PATCH_M: f64 = 0.01;

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
    rebuild: Box<Rebuild>,
}

/// What is needed to set the same run up with another step.
#[derive(Clone, Debug)]
struct Rebuild {
    outlets: Vec<Outlet>,
    /// For a slice, the water that follows each outlet's jet.
    held: Vec<Vec<HeldCell>>,
    /// For a tank, the water in the core of any jet.
    cores: Vec<CoreCell>,
    overflow: Option<Overflow>,
    tank: Tank,
    drags: Vec<(usize, f32)>,
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
        Self::build(grid, kinds, Box::new(rebuild), options)
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
            rebuild,
        })
    }

    /// Where it is to be computed.
    pub fn device(&self) -> &Device {
        &self.device
    }

    /// The same run computed somewhere else.
    pub fn on(mut self, device: Device) -> Self {
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
        let setup = Self::build(self.grid, kinds, rebuild, options)?;
        Ok(setup.on(self.device.clone()))
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
        self.scaling.steps(time_s) as f64 * self.grid.n_cells() as f64
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

/// Edge of the patches of an outlet that are pushed astray alike, in m.
fn patch_m(grid: &CellGrid) -> f64 {
    PATCH_M.max(grid.cell_m)
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

/// Places sources and sinks on cells.
struct Placing<'a> {
    grid: &'a CellGrid,
    kinds: &'a [CellKind],
    scaling: &'a Scaling,
    cut: Cut,
    water_m: DVec3,
}

impl Placing<'_> {
    fn jets(&self, rebuild: &Rebuild) -> Vec<Source> {
        if self.cut != Cut::Tank {
            return self.held_jets(rebuild);
        }
        let balanced = rebuild.overflow.is_some();
        (rebuild.outlets.iter())
            .filter_map(|outlet| {
                let cells = self.shares(&outlet.points(self.grid.cell_m));
                let mass_m3_s = if outlet.is_return && balanced {
                    outlet.flow_m3_s
                } else {
                    0.0
                };
                (!cells.is_empty()).then(|| Source {
                    cells,
                    thrust_m4_s2: outlet.thrust_m4_s2(),
                    thrust_lu: self.scaling.thrust_lu(outlet.thrust_m4_s2())
                        * self.against_suction(outlet),
                    mass_lu: self.scaling.flow_lu(mass_m3_s),
                    aim: outlet.aim,
                    pump: outlet.pump,
                    programme: outlet.programme,
                    turn: Turn::Followed,
                    across: outlet.across(),
                    held: Vec::new(),
                })
            })
            .collect()
    }

    /// By how much a thrust must be raised so that its jet keeps what the
    /// suction on the pump's body and on a wall close behind it would take.
    fn against_suction(&self, outlet: &Outlet) -> f64 {
        let step = 0.25 * self.grid.cell_m;
        let (mut way, mut taken) = (step, 0.0);
        while way < SUCTION_REACH * self.grid.cell_m {
            let at_m = outlet.at_m - outlet.aim * way;
            let kind = self
                .grid
                .cell_at(at_m)
                .map(|ijk| self.kinds[self.grid.idx(ijk)]);
            match kind {
                Some(CellKind::Water) => {}
                Some(CellKind::Blocked) => taken = BODY_SUCTION,
                None if at_m.z >= self.water_m.z => {}
                _ => {
                    let cells = (way / self.grid.cell_m).max(1.0);
                    taken += SUCTION_SHARE * cells.powf(-1.5);
                    break;
                }
            }
            way += step;
        }
        1.0 / (1.0 - taken)
    }

    fn held_jets(&self, rebuild: &Rebuild) -> Vec<Source> {
        let force = |held: &HeldCell| {
            let rate = held.rate_per_s * self.scaling.step_s;
            let velocity = held.velocity_m_s * self.scaling.speed_lu(1.0);
            CellForce {
                cell: held.cell,
                force: (velocity * rate).as_vec3().to_array(),
                linear: rate as f32,
                ..CellForce::default()
            }
        };
        (rebuild.outlets.iter().zip(&rebuild.held))
            .map(|(outlet, held)| Source {
                cells: Vec::new(),
                thrust_m4_s2: outlet.thrust_m4_s2(),
                thrust_lu: 0.0,
                mass_lu: 0.0,
                aim: outlet.aim,
                pump: outlet.pump,
                programme: outlet.programme,
                turn: Turn::Followed,
                across: outlet.across(),
                held: held.iter().map(force).collect(),
            })
            .collect()
    }

    /// Cells that hold the points, with their shares; points in solid cells
    /// count for the others.
    fn shares(&self, points: &[DVec3]) -> Vec<SourceCell> {
        let mut cells: Vec<usize> = (points.iter())
            .filter_map(|point| self.grid.cell_at(*point))
            .map(|ijk| self.grid.idx(ijk))
            .filter(|&cell| self.kinds[cell] == CellKind::Water)
            .collect();
        cells.sort_unstable();
        let total = cells.len() as f32;
        (cells.chunk_by(|a, b| a == b))
            .map(|same| SourceCell {
                cell: same[0],
                share: same.len() as f32 / total,
                patch: self.patch_of(same[0]),
            })
            .collect()
    }

    /// Number of the patch that a cell lies in.
    fn patch_of(&self, cell: usize) -> u64 {
        let at_m = self.grid.center_m(self.grid.ijk(cell));
        let [x, y, z] = (at_m / patch_m(self.grid)).to_array().map(|at| at as u64);
        x + (y << 7) + (z << 14)
    }

    fn fixed(&self, rebuild: &Rebuild) -> Vec<CellForce> {
        let mut fixed: Vec<CellForce> = (rebuild.drags.iter())
            .map(|&(cell, quadratic)| CellForce {
                cell,
                quadratic,
                ..CellForce::default()
            })
            .collect();
        let returned: f64 = (rebuild.outlets.iter())
            .filter(|outlet| outlet.is_return)
            .map(|outlet| outlet.flow_m3_s)
            .sum();
        if let Some(overflow) = &rebuild.overflow
            && self.cut == Cut::Tank
            && returned > 0.0
        {
            let cells = self.overflow_cells(overflow, &rebuild.tank);
            let mass = (self.scaling.flow_lu(returned) / cells.len().max(1) as f64) as f32;
            fixed.extend(cells.into_iter().map(|cell| CellForce {
                cell,
                mass: -mass,
                // What leaves takes its momentum along.
                linear: mass,
                ..CellForce::default()
            }));
        }
        fixed
    }

    fn overflow_cells(&self, overflow: &Overflow, tank: &Tank) -> Vec<usize> {
        let [nx, ny, nz] = self.grid.n;
        let along = match overflow.side {
            SideName::Left | SideName::Right => 1,
            SideName::Front | SideName::Back => 0,
        };
        let (fixed_axis, fixed) = match overflow.side {
            SideName::Left => (0, 0),
            SideName::Right => (0, nx - 1),
            SideName::Front => (1, 0),
            SideName::Back => (1, ny - 1),
        };
        let sill_m = (tank.water_cm - overflow.depth_cm) * M_PER_CM;
        (0..self.grid.n_cells())
            .filter(|&cell| {
                let ijk = self.grid.ijk(cell);
                let at = self.grid.center_m(ijk);
                let span = [overflow.from_cm * M_PER_CM, overflow.to_cm * M_PER_CM];
                ijk[fixed_axis] == fixed
                    && (at.z > sill_m || ijk[2] + 1 == nz)
                    && at[along] >= span[0].min(span[1] - self.grid.cell_m)
                    && at[along] <= span[1]
                    && self.kinds[cell] == CellKind::Water
            })
            .collect()
    }
}

//! Opens a scene and runs the engines on it, with progress.

use std::path::Path;
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Instant;

use glam::DVec3;

use super::{Streams, TerminalError, shown};
use crate::catalog::Catalog;
use crate::flow::{FlowField, FlowOptions, FlowSample, FlowSetup, FlowSolver, RUNS, solve_runs};
use crate::light::{LightField, LightOptions, LightSolver, Measured, distribution_from_ies};
use crate::scene::{Layout, Scene};
use crate::storage::{LampFault, Loaded, StorageError, clipped, load, read_beside};
use crate::study::{Study, StudySettings};
use crate::units::{M_PER_CM, UnitSystem};
use crate::words::Speaker;

/// Edge of the surface patches of a report, in m.
pub(super) const SURFACE_M: f64 = 0.015;

/// Smallest and largest flow cell that may be asked for, in cm.
const CELL_CM: [f64; 2] = [0.2, 20.0];

/// How the flow is to be estimated.
#[derive(clap::Args, Clone, Copy, Debug)]
pub(super) struct WaterArgs {
    /// Edge of the flow cells, in cm; chosen by the tank if left out
    #[arg(long)]
    cell_cm: Option<f64>,
    /// Runs of the tank: of five, three begin straight and are averaged, two
    /// begin with their jets bent; where any go different ways the flow may flip
    #[arg(long, default_value_t = RUNS as u8, value_parser = clap::value_parser!(u8).range(1..=50))]
    runs: u8,
}

impl Default for WaterArgs {
    fn default() -> Self {
        Self {
            cell_cm: None,
            runs: RUNS as u8,
        }
    }
}

/// A scene, one layout of it, and what lies beside its file.
#[derive(Clone)]
pub(super) struct Case {
    pub(super) file: String,
    pub(super) study: Study,
    pub(super) measured: Measured,
}

impl Case {
    /// Who says things about it.
    pub(super) fn speaker(&self, units: UnitSystem) -> Speaker<'_> {
        Speaker::new(self.study.scene(), self.layout(), units)
    }

    /// Reads a scene; warnings go to `err`.
    pub(super) fn open(
        path: &Path,
        layout: Option<&str>,
        streams: &mut Streams<'_>,
    ) -> Result<Self, TerminalError> {
        let loaded = load(path)?;
        streams.guard.keep(path);
        let folder = path.parent().unwrap_or(Path::new(""));
        let beside = read_beside(&loaded.scene, folder);
        for fault in &beside.faults {
            let LampFault { lamp, file, .. } = fault;
            if !fault.is_there {
                return Err(TerminalError::Storage(StorageError::Measured {
                    lamp: lamp.clone(),
                    file: file.clone(),
                    problem: fault.problem.clone(),
                }));
            }
            writeln!(
                streams.err,
                "warning: lamp {lamp:?}, file {file:?}: {}",
                fault.problem
            )?;
        }
        let mut measured = Measured::new();
        for (file, text) in beside.texts {
            streams.guard.keep(&folder.join(&file));
            let distribution = distribution_from_ies(&text, &file)?;
            measured.insert(file, distribution);
        }
        Self::of(loaded, shown(path), layout, streams).map(|case| Self { measured, ..case })
    }

    /// A scene that is read already.
    pub(super) fn of(
        loaded: Loaded,
        file: String,
        layout: Option<&str>,
        streams: &mut Streams<'_>,
    ) -> Result<Self, TerminalError> {
        for issue in &loaded.issues {
            writeln!(streams.err, "{}", clipped(&issue.to_string()))?;
        }
        let layout_idx = find_layout(&loaded.scene, layout, &file)?;
        Ok(Self {
            file,
            study: Study::new(
                Arc::new(loaded.scene),
                layout_idx,
                Catalog::shared(),
                StudySettings::default(),
            )?,
            measured: Measured::new(),
        })
    }

    /// The same scene with another layout.
    pub(super) fn on_layout(&self, name: &str) -> Result<Self, TerminalError> {
        let layout_idx = find_layout(self.study.scene(), Some(name), &self.file)?;
        Ok(Self {
            study: self
                .study
                .after(Arc::clone(self.study.scene()), layout_idx)?,
            ..self.clone()
        })
    }

    pub(super) fn layout(&self) -> &Layout {
        self.study.layout()
    }

    /// The flow: a level slice at the pumps' height, or the whole tank.
    pub(super) fn flow(
        &self,
        is_slice: bool,
        water: &WaterArgs,
        streams: &mut Streams<'_>,
    ) -> Result<FlowField, TerminalError> {
        let WaterArgs { cell_cm, runs } = *water;
        if let Some(value) = cell_cm
            && !(value >= CELL_CM[0] && value <= CELL_CM[1])
        {
            return Err(TerminalError::BadOption {
                option: "--cell-cm",
                value,
                limit: "0.2 to 20 cm",
            });
        }
        // The jets of a slice are held: all its runs would be alike.
        let runs = if is_slice { 1 } else { runs };
        let cut = if is_slice {
            FlowOptions::plan(self.pump_height_m())
        } else {
            FlowOptions::default()
        };
        let options = FlowOptions {
            cell_m: cell_cm.map(|cell_cm| cell_cm * M_PER_CM),
            ..cut
        };
        let start = Instant::now();
        let setup = FlowSetup::new(&self.study, &options)?;
        let grid = setup.grid();
        let (n_cells, cell_cm) = (grid.n_cells(), grid.cell_m / M_PER_CM);
        let at_most = words_of_s(seconds_at_most(&setup) * f64::from(runs));
        writeln!(
            streams.err,
            "flow: {n_cells} cells of {cell_cm:.2} cm, runs: {runs}, at most about {at_most}"
        )?;
        let field = {
            let progress = Progress::new("flow", streams);
            solve_runs(&setup, runs.into(), &|share| progress.tell(share))?
        };
        let settled = if field.settling.settled {
            "settled"
        } else {
            "not settled"
        };
        let seconds = start.elapsed().as_secs_f64();
        writeln!(streams.err, "flow: {settled}, {seconds:.1} s")?;
        Ok(field)
    }

    /// Mean height of the pumps, the stronger the weightier; half of the water
    /// without any.
    fn pump_height_m(&self) -> f64 {
        let tank = &self.study.scene().tank;
        let pumps = self.layout().pumps.iter();
        let flows = pumps.map(|pump| (pump.at_cm.z, pump.flow_lph * pump.throttle));
        let (sum, weight) = flows.fold((0.0, 0.0), |(sum, weight), (z_cm, flow)| {
            (sum + z_cm * flow, weight + flow)
        });
        let height_cm = if weight > 0.0 {
            sum / weight
        } else {
            f64::midpoint(tank.sand.depth_cm, tank.water_cm)
        };
        height_cm * M_PER_CM
    }

    /// The light, and the light on rock and sand in patches of `surface_m` if given.
    pub(super) fn light(
        &self,
        options: &LightOptions,
        surface_m: Option<f64>,
        streams: &mut Streams<'_>,
    ) -> Result<Lit, TerminalError> {
        let start = Instant::now();
        let solver = LightSolver::new(&self.study, &self.measured, options)?;
        let field = surface_m.map(|surface_m| {
            let progress = Progress::new("light", streams);
            solver.field(surface_m, &|share| progress.tell(share))
        });
        let (n_lamps, seconds) = (self.layout().lamps.len(), start.elapsed().as_secs_f64());
        writeln!(streams.err, "light: {n_lamps} lamps, {seconds:.1} s")?;
        Ok(Lit { solver, field })
    }
}

/// How long a run takes here if it does not settle before its end, in s: a few
/// of its steps are timed.
fn seconds_at_most(setup: &FlowSetup) -> f64 {
    const STEPS: f64 = 8.0;
    let steps_s = STEPS * setup.scaling().step_s;
    let mut solver = FlowSolver::new(setup.clone());
    // The first steps also fetch the memory. One that diverges so soon will
    // say so when it is run.
    let is_warm = solver.advance(steps_s).is_ok();
    let start = Instant::now();
    let is_timed = is_warm && solver.advance(steps_s).is_ok();
    let updates = STEPS * setup.grid().n_cells() as f64;
    if is_timed {
        setup.cell_updates_max() / updates * start.elapsed().as_secs_f64()
    } else {
        0.0
    }
}

/// A time in words, rounded as a guess is.
fn words_of_s(seconds: f64) -> String {
    if seconds < 90.0 {
        format!("{:.0} s", seconds.max(1.0))
    } else {
        format!("{:.0} min", seconds / 60.0)
    }
}

/// Place of the layout called `name`; the first one without a name.
fn find_layout(scene: &Scene, name: Option<&str>, file: &str) -> Result<usize, TerminalError> {
    let Some(wanted) = name else { return Ok(0) };
    let found = scene
        .layouts
        .iter()
        .position(|layout| layout.name == wanted);
    found.ok_or_else(|| {
        let names = scene
            .layouts
            .iter()
            .map(|layout| format!("{:?}", layout.name));
        TerminalError::NoLayout {
            wanted: wanted.to_owned(),
            file: file.to_owned(),
            known: names.collect::<Vec<_>>().join(", "),
        }
    })
}

/// The light of a layout.
pub(super) struct Lit {
    pub(super) solver: LightSolver,
    pub(super) field: Option<LightField>,
}

/// Says in place on `err` how far a run has come, if someone watches.
pub(super) struct Progress<'a> {
    what: &'static str,
    is_live: bool,
    told: AtomicU32,
    err: Mutex<&'a mut (dyn std::io::Write + Send)>,
}

impl<'a> Progress<'a> {
    pub(super) fn new(what: &'static str, streams: &'a mut Streams<'_>) -> Self {
        Self {
            what,
            is_live: streams.is_live,
            told: AtomicU32::new(0),
            err: Mutex::new(&mut *streams.err),
        }
    }

    /// Tells the share done, 0 to 1; always says to go on.
    pub(super) fn tell(&self, share: f64) -> bool {
        if !self.is_live {
            return true;
        }
        let percent = (share.clamp(0.0, 1.0) * 100.0) as u32;
        if self.told.fetch_max(percent, Ordering::Relaxed) < percent
            && let Ok(mut err) = self.err.lock()
        {
            // Progress that cannot be told is no reason to stop.
            drop(match percent {
                100 => write!(err, "\r{:20}\r", ""),
                _ => write!(err, "\r{}: {percent} %", self.what).and_then(|()| err.flush()),
            });
        }
        true
    }
}

/// The averages at a place in the water. In a gap narrower than a cell, where
/// no cell near is water, the water stands still as far as the estimate knows.
pub(super) fn flow_at(field: &FlowField, at_m: DVec3) -> FlowSample {
    // Places on a pane lie at the very edge of the cells.
    let grid = &field.grid;
    let inset = DVec3::splat(grid.cell_m * 1e-3);
    let size = DVec3::new(grid.n[0] as f64, grid.n[1] as f64, grid.n[2] as f64) * grid.cell_m;
    let low = grid.origin_m + inset;
    let inside_m = at_m.clamp(low, (grid.origin_m + size - inset).max(low));
    field.sample(inside_m).unwrap_or_default()
}

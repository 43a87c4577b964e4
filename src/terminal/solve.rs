//! Opens a scene and runs the engines on it, with progress.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Instant;

use clap::ValueEnum;
use glam::DVec3;

use super::kept::{KeepArgs, Runs};
use super::{Streams, TerminalError, shown};
use crate::catalog::Catalog;
use crate::flow::felt::FeltSpeed;
use crate::flow::{
    Device, FlowField, FlowOptions, FlowSample, FlowSetup, FlowSolver, OverPhases, RUNS, solve_runs,
};
use crate::light::{LightField, LightOptions, LightSolver, Measured, distribution_from_ies};
use crate::scene::{ItemId, Layout, Scene, Spread};
use crate::storage::{
    LampFault, Loaded, StorageError, bring_along, bring_photos, clipped, load, read_beside,
    read_photos, rename_lamp_files, rename_photos, scene_text,
};
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
    /// Where the tank is computed: on the processor, which gives the same bytes
    /// every time, on the graphics card, or wherever it is faster
    #[arg(long, value_enum, default_value_t = OnArg::Processor)]
    on: OnArg,
    /// Whether the water begins at rest whatever the cells.
    #[arg(skip)]
    begins_at_rest: bool,
}

/// Where a tank is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum OnArg {
    Auto,
    Card,
    Processor,
}

impl WaterArgs {
    /// Edge of the cells that was asked for, in cm.
    pub(super) fn cell_cm(&self) -> Option<f64> {
        self.cell_cm
    }

    /// The same on finer cells that are to check it: they owe its own nothing and
    /// begin at rest.
    pub(super) fn checked_on(self, cell_cm: f64) -> Self {
        Self {
            cell_cm: Some(cell_cm),
            begins_at_rest: true,
            ..self
        }
    }

    /// What fine cells begin with.
    fn head_start(&self) -> Option<[f64; 2]> {
        let usual = FlowOptions::default().head_start;
        usual.filter(|_| !self.begins_at_rest)
    }

    /// The same for the tank estimate, and how many runs of it.
    pub(super) fn options(&self) -> Result<(FlowOptions, usize), TerminalError> {
        if let Some(value) = self.cell_cm
            && !(value >= CELL_CM[0] && value <= CELL_CM[1])
        {
            return Err(TerminalError::BadOption {
                option: "--cell-cm",
                value,
                limit: "0.2 to 20 cm",
            });
        }
        let options = FlowOptions {
            cell_m: self.cell_cm.map(|cell_cm| cell_cm * M_PER_CM),
            head_start: self.head_start(),
            ..FlowOptions::default()
        };
        Ok((options, self.runs.into()))
    }

    /// The same setup where it is to be computed; says on `err` why that is not
    /// the card that is there.
    pub(super) fn placed(
        &self,
        setup: FlowSetup,
        streams: &mut Streams<'_>,
    ) -> Result<FlowSetup, TerminalError> {
        match self.on {
            OnArg::Processor => Ok(setup),
            OnArg::Card => Ok(setup.on(Device::card()?)),
            OnArg::Auto => match Device::best() {
                Ok(card) if card.card_name().is_some() => faster(setup, card, streams),
                Ok(_) => Ok(setup),
                Err(error) => {
                    writeln!(streams.err, "flow: on the processor, since {error}")?;
                    Ok(setup)
                }
            },
        }
    }
}

/// The setup on the card if that is faster than the processor: a few steps are
/// timed on both.
fn faster(
    setup: FlowSetup,
    card: Device,
    streams: &mut Streams<'_>,
) -> Result<FlowSetup, TerminalError> {
    let name = card.card_name().unwrap_or_default().to_owned();
    let on_card = setup.clone().on(card);
    if seconds_at_most(&on_card) <= seconds_at_most(&setup) {
        return Ok(on_card);
    }
    let faster = "which is faster here";
    writeln!(
        streams.err,
        "flow: on the processor, {faster} than the graphics card {name}"
    )?;
    Ok(setup)
}

impl Default for WaterArgs {
    fn default() -> Self {
        Self {
            cell_cm: None,
            runs: RUNS as u8,
            on: OnArg::Processor,
            begins_at_rest: false,
        }
    }
}

/// A scene, one layout of it, and what lies beside its file.
#[derive(Clone)]
pub(super) struct Case {
    pub(super) file: String,
    pub(super) study: Study,
    pub(super) measured: Measured,
    /// Where the scene's file lies.
    folder: PathBuf,
    /// Texts of the lamp files beside it, by their names in the scene.
    lamp_files: BTreeMap<String, String>,
    /// Measured lamps whose file is not there.
    missing: Vec<LampFault>,
}

impl Case {
    /// Who says things about it.
    pub(super) fn speaker(&self, units: UnitSystem) -> Speaker<'_> {
        Speaker::new(self.study.scene(), self.layout(), units)
    }

    /// Reads a scene with all its lamp files; warnings go to `err`.
    pub(super) fn open(
        path: &Path,
        layout: Option<&str>,
        streams: &mut Streams<'_>,
    ) -> Result<Self, TerminalError> {
        let case = Self::open_in_part(path, layout, streams)?;
        case.all_lamps()?;
        Ok(case)
    }

    /// That no lamp file is missing, or which one is.
    pub(super) fn all_lamps(&self) -> Result<(), TerminalError> {
        self.missing.first().map_or(Ok(()), |fault| {
            Err(TerminalError::Storage(StorageError::Measured {
                lamp: fault.lamp.clone(),
                file: fault.file.clone(),
                problem: fault.problem.clone(),
            }))
        })
    }

    /// Lamps of the layout whose measured file is not there.
    pub(super) fn lamps_without_file(&self) -> Vec<ItemId> {
        let lamps = self.layout().lamps.iter();
        let lamps = lamps.filter(|lamp| match &lamp.spread {
            Spread::Measured { file, .. } => !self.measured.contains_key(file),
            Spread::Beam { .. } => false,
        });
        lamps.map(|lamp| lamp.id).collect()
    }

    /// Reads a scene and those of its lamp files that are there.
    pub(super) fn open_in_part(
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
            writeln!(
                streams.err,
                "warning: lamp {lamp:?}, file {file:?}: {}",
                fault.problem
            )?;
        }
        let mut measured = Measured::new();
        for (file, text) in &beside.texts {
            streams.guard.keep(&folder.join(file));
            let distribution = distribution_from_ies(text, file)?;
            measured.insert(file.clone(), distribution);
        }
        for photo in &loaded.scene.underlays {
            streams.guard.keep(&folder.join(&photo.file));
        }
        let case = Self::of(loaded, shown(path), layout, streams)?;
        let faults = beside.faults.into_iter();
        Ok(Self {
            missing: faults.filter(|fault| !fault.is_there).collect(),
            measured,
            folder: folder.to_owned(),
            lamp_files: beside.texts,
            ..case
        })
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
            folder: PathBuf::new(),
            lamp_files: BTreeMap::new(),
            missing: Vec::new(),
        })
    }

    /// Writes a scene that was made of this one, with its lamp files beside it.
    pub(super) fn write_scene(
        &self,
        path: &Path,
        scene: &Scene,
        streams: &mut Streams<'_>,
    ) -> Result<(), TerminalError> {
        streams.guard.check(path)?;
        let to = path.parent().unwrap_or(Path::new(""));
        let is_home = to == self.folder;
        let renamed = bring_along(scene, (to, is_home), &self.lamp_files, &[])?;
        let mut scene = scene.clone();
        rename_lamp_files(&mut scene, &renamed);
        let (photos, _) = read_photos(&scene, &self.folder);
        let renamed = bring_photos(&scene, (to, is_home), &photos, &[])?;
        rename_photos(&mut scene, &renamed);
        streams.guard.write(path, scene_text(&scene)?.as_bytes())?;
        writeln!(streams.err, "written to {}", shown(path))?;
        Ok(())
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
        self.flow_kept(is_slice, (water, &KeepArgs::default()), streams)
    }

    /// The same, its runs kept in a folder if one is given.
    pub(super) fn flow_kept(
        &self,
        is_slice: bool,
        (water, keep): (&WaterArgs, &KeepArgs),
        streams: &mut Streams<'_>,
    ) -> Result<FlowField, TerminalError> {
        let WaterArgs { cell_cm, runs, .. } = *water;
        let _sound = water.options()?;
        // The jets of a slice are held: all its runs would be alike.
        let runs = if is_slice { 1 } else { runs };
        let cut = if is_slice {
            FlowOptions::plan(self.pump_height_m())
        } else {
            FlowOptions::default()
        };
        let options = FlowOptions {
            cell_m: cell_cm.map(|cell_cm| cell_cm * M_PER_CM),
            head_start: water.head_start(),
            ..cut
        };
        let start = Instant::now();
        let mut setup = FlowSetup::new(&self.study, &options)?;
        if !is_slice {
            setup = water.placed(setup, streams)?;
        }
        let grid = setup.grid();
        let (n_cells, cell_cm) = (grid.n_cells(), grid.cell_m / M_PER_CM);
        let at_most = words_of_s(seconds_at_most(&setup) * f64::from(runs));
        writeln!(
            streams.err,
            "flow: {n_cells} cells of {cell_cm:.2} cm, runs: {runs}, at most about {at_most}"
        )?;
        let field = if let Some(folder) = keep.folder() {
            let made_of = self.made_of(&options, &setup)?;
            Runs::new(folder, &made_of)?.solve(&setup, runs.into(), streams)?
        } else {
            let progress = Progress::new("flow", streams);
            solve_runs(&setup, runs.into(), &|share| progress.tell(share))?
        };
        let settled = if field.settling.settled {
            "settled"
        } else {
            "not settled"
        };
        let seconds = start.elapsed().as_secs_f64();
        let on = &field.computed_on;
        writeln!(streams.err, "flow: {settled}, {seconds:.1} s, on the {on}")?;
        Ok(field)
    }

    /// All that a run of water is made of, in words.
    fn made_of(&self, options: &FlowOptions, setup: &FlowSetup) -> Result<String, TerminalError> {
        let scene = scene_text(self.study.scene())?;
        let layout = &self.layout().name;
        let on = setup.device().card_name().unwrap_or("processor");
        Ok(format!("{scene}\n{layout}\n{options:?}\n{on}"))
    }

    /// Mean height of the pumps, the stronger the weightier; half of the water
    /// without any.
    fn pump_height_m(&self) -> f64 {
        let tank = &self.study.scene().tank;
        let pumps = self.layout().pumps.iter();
        let flows = pumps.map(|pump| (pump.at_cm.z, pump.real_flow_lph()));
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
    // A card must be asked for more than the way to it takes.
    let is_card = setup.device().card_name().is_some();
    let steps = if is_card { 64.0 } else { 8.0 };
    let steps_s = steps * setup.scaling().step_s;
    let mut solver = FlowSolver::new(setup.clone());
    // The first steps also fetch the memory. One that diverges so soon will
    // say so when it is run.
    let is_warm = solver.advance(steps_s).is_ok();
    let start = Instant::now();
    let is_timed = is_warm && solver.advance(steps_s).is_ok();
    let updates = steps * setup.grid().n_cells() as f64;
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
    field.sample(field.grid.within(at_m)).unwrap_or_default()
}

/// The felt speed at a place, if it is known there.
pub(super) fn felt_at(field: &FlowField, at_m: DVec3) -> Option<FeltSpeed> {
    field.felt()?.at(field.grid.within(at_m))
}

/// What the pumps' programs make of the speed at a place.
pub(super) fn phases_at(field: &FlowField, at_m: DVec3) -> Option<OverPhases> {
    field.over_phases(field.grid.within(at_m))
}

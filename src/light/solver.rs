//! The light over one layout: set up once, asked at any place.

use std::collections::BTreeMap;
use std::sync::Arc;

use glam::DVec3;
use rayon::prelude::*;
use thiserror::Error;

use super::bare::{Bare, BareTransfer};
use super::basin::{Basin, LIFT_M, Obstacles};
use super::bounce::{self, Glow, Transfer};
use super::direct::{self, Arrival};
use super::distribution::Distribution;
use super::field::LightSample;
use super::fixture::Fixture;
use super::patches::{self, Patch, Patches};
use super::shades::Shade;
use crate::scene::{Body, Lamp, Layout, Output, Scene, Spread};
use crate::study::Study;
use crate::units::M_PER_CM;

/// Measured distributions by the file name that the scene gives.
pub type Measured = BTreeMap<String, Distribution>;

/// How finely light is worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct LightOptions {
    /// Mirrors and bounces; without them only the direct part.
    pub full: bool,
    /// Edge of the patches that throw light back, in m.
    pub patch_m: f64,
    /// Rays from each patch to find what it sees.
    pub transfer_rays: usize,
    /// Rays over the whole sphere at a place that is asked for.
    pub gather_rays: usize,
    /// Scales the number of points on a lamp's face; 1 is the usual.
    pub lamp_points: f64,
}

impl Default for LightOptions {
    /// The full answer.
    fn default() -> Self {
        Self {
            full: true,
            patch_m: 0.025,
            transfer_rays: 64,
            gather_rays: 1024,
            lamp_points: 1.0,
        }
    }
}

impl LightOptions {
    /// What follows a hand that drags: coarser, within a few percent.
    pub fn live() -> Self {
        Self {
            full: true,
            patch_m: 0.05,
            transfer_rays: 24,
            gather_rays: 96,
            lamp_points: 0.5,
        }
    }

    /// The direct part alone.
    pub fn direct() -> Self {
        Self {
            full: false,
            ..Self::default()
        }
    }
}

/// Why light cannot be worked out.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum LightError {
    /// The scene names a distribution that was not handed in.
    #[error("lamp \"{lamp}\" needs the measured distribution \"{file}\", which is not at hand")]
    NoDistribution {
        /// The lamp's name.
        lamp: String,
        /// The file that it names.
        file: String,
    },
    /// An option outside its limits.
    #[error("{option} is {value}, limits are {low} to {high}")]
    Option {
        /// Which one.
        option: &'static str,
        /// What it was set to.
        value: f64,
        /// Lowest value that works.
        low: f64,
        /// Highest value that works.
        high: f64,
    },
    /// The tank is not a box of water.
    #[error("the tank's {what} is {value}, which is no length of water")]
    Tank {
        /// Which measure.
        what: &'static str,
        /// Its value, in m.
        value: f64,
    },
}

/// Something about a lamp that the keeper should know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LampNote {
    /// Part of its face is at or below the water surface, where it is left out.
    UnderWater,
    /// It hangs beside the tank's opening.
    BesideTank,
    /// It hangs in rock.
    InRock,
    /// No light of it reaches the place of the reading that should fix its
    /// output; it counts as dark.
    ReadingDark,
}

/// Light over one layout.
#[derive(Clone, Debug)]
pub struct LightSolver {
    pub(super) options: LightOptions,
    pub(super) basin: Basin,
    pub(super) surroundings: Arc<Surroundings>,
    pub(super) fixtures: Vec<Fixture>,
    /// Output of each lamp at full setting, in µmol/s.
    full_umol_s: Vec<f64>,
    /// Output of each lamp as set, in µmol/s.
    pub(super) output_umol_s: Vec<f64>,
    pub(super) glow: Glow,
    /// What each patch knows of shade, `[patch][lamp]`.
    pub(super) shades: Vec<Shade>,
    pub(super) bare: Bare,
    notes: Vec<(usize, LampNote)>,
}

/// What does not change when only lamps move: solids, patches and which patch
/// sees which.
#[derive(Debug)]
pub(super) struct Surroundings {
    pub(super) obstacles: Obstacles,
    reflectances: Vec<f64>,
    pub(super) above: bool,
    pub(super) patches: Patches,
    transfer: Transfer,
    bare: BareTransfer,
}

impl LightSolver {
    /// Sets up lamps, patches and bounces.
    ///
    /// # Errors
    /// A distribution that is named but missing, an option out of range, a
    /// tank without water.
    pub fn new(
        study: &Study,
        measured: &Measured,
        options: &LightOptions,
    ) -> Result<Self, LightError> {
        check(options)?;
        let (basin, layout) = (checked_basin(study.scene())?, study.layout());
        let obstacles = Obstacles::of(study);
        let reflectances = patches::rock_reflectances(layout);
        let surroundings = Arc::new(Surroundings::new(&basin, obstacles, reflectances, options));
        Self::lit(basin, surroundings, layout, measured, options)
    }

    /// The same for another study; reuses what still holds, so that moving
    /// lamps alone costs no new search for which patch sees which.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn again(&self, study: &Study, measured: &Measured) -> Result<Self, LightError> {
        let (basin, layout) = (checked_basin(study.scene())?, study.layout());
        let obstacles = Obstacles::of(study);
        let kept = &self.surroundings;
        let same = basin == self.basin
            && obstacles == kept.obstacles
            && patches::rock_reflectances(layout) == kept.reflectances;
        if same {
            Self::lit(basin, Arc::clone(kept), layout, measured, &self.options)
        } else {
            Self::new(study, measured, &self.options)
        }
    }

    fn lit(
        basin: Basin,
        surroundings: Arc<Surroundings>,
        layout: &Layout,
        measured: &Measured,
        options: &LightOptions,
    ) -> Result<Self, LightError> {
        let mut fixtures = Vec::with_capacity(layout.lamps.len());
        let mut notes = Vec::new();
        for (lamp_idx, lamp) in layout.lamps.iter().enumerate() {
            let distribution = distribution_of(lamp, measured)?;
            let fixture = Fixture::new(lamp, distribution, basin.surface_m, options.lamp_points);
            let found = lamp_notes(&basin, &surroundings.obstacles, lamp, &fixture);
            notes.extend(found.into_iter().map(|note| (lamp_idx, note)));
            fixtures.push(fixture);
        }
        let n_lamps = fixtures.len();
        let mut solver = Self {
            options: options.clone(),
            basin,
            surroundings,
            fixtures,
            full_umol_s: vec![0.0; n_lamps],
            output_umol_s: vec![0.0; n_lamps],
            glow: Glow::default(),
            shades: Vec::new(),
            bare: Bare::default(),
            notes,
        };
        if options.full && n_lamps > 0 {
            solver.bounce();
        }
        solver.set_outputs(layout);
        Ok(solver)
    }

    fn bounce(&mut self) {
        let around = Arc::clone(&self.surroundings);
        let n_lamps = self.fixtures.len();
        let (direct, shades) = self.direct_on(&around.patches.all, &around.obstacles, around.above);
        self.shades = shades;
        self.glow = Glow::settle(&around.patches, &around.transfer, &direct, n_lamps);
        let nothing = Obstacles::default();
        let (direct, _) = self.direct_on(&around.bare.patches.all, &nothing, false);
        self.bare = Bare::new(&self.basin, &around.bare, &direct, n_lamps);
    }

    /// Direct PPFD on patches for one µmol/s of each lamp, and what they know of
    /// shade; both `[patch][lamp]`.
    fn direct_on(
        &self,
        patches: &[Patch],
        obstacles: &Obstacles,
        above: bool,
    ) -> (Vec<f32>, Vec<Shade>) {
        let n = patches.len() * self.fixtures.len();
        let (mut direct, mut shades) = (vec![0.0; n], vec![Shade::default(); n]);
        let n_lamps = self.fixtures.len().max(1);
        (direct.par_chunks_mut(n_lamps))
            .zip(shades.par_chunks_mut(n_lamps))
            .zip(patches)
            .for_each(|((sums, shades), patch)| {
                for ((sum, shade), fixture) in sums.iter_mut().zip(shades).zip(&self.fixtures) {
                    let mut ppfd = 0.0;
                    self.arrivals(fixture, patch.at_m, |arrival| {
                        let cosine = arrival.to_light.dot(patch.normal);
                        if cosine > 0.0 {
                            let at_m = patch.at_m;
                            let share =
                                direct::open_share(&self.basin, obstacles, above, at_m, arrival);
                            shade.note(arrival, share);
                            ppfd += cosine * arrival.facing_per_m2 * share;
                        }
                    });
                    *sum = ppfd as f32;
                }
            });
        (direct, shades)
    }

    /// Every path from `fixture` to a place, shade left out.
    pub(super) fn arrivals(&self, fixture: &Fixture, at_m: DVec3, visit: impl FnMut(&Arrival)) {
        direct::arrivals(&self.basin, fixture, at_m, self.options.full, visit);
    }

    /// Share of an arrival at `at_m` that nothing stops.
    pub(super) fn open_share(&self, at_m: DVec3, arrival: &Arrival) -> f64 {
        let around = &self.surroundings;
        direct::open_share(&self.basin, &around.obstacles, around.above, at_m, arrival)
    }

    fn set_outputs(&mut self, layout: &Layout) {
        for (lamp_idx, lamp) in layout.lamps.iter().enumerate() {
            let full_umol_s = match lamp.output {
                Output::Photons { umol_s } => umol_s,
                Output::Power {
                    power_w,
                    efficacy_umol_j,
                } => power_w * efficacy_umol_j,
                Output::Reading { at_cm, ppfd_umol } => {
                    let one = self.sample_of_each(at_cm * M_PER_CM, None)[lamp_idx];
                    // Less than this would ask for an absurd lamp.
                    const DARK_PER_M2: f64 = 1e-4;
                    if one.up_umol > DARK_PER_M2 {
                        ppfd_umol / one.up_umol
                    } else {
                        self.notes.push((lamp_idx, LampNote::ReadingDark));
                        0.0
                    }
                }
            };
            let full_umol_s = full_umol_s * lamp.real_share();
            self.full_umol_s[lamp_idx] = full_umol_s;
            self.output_umol_s[lamp_idx] = full_umol_s * lamp.dim;
        }
    }

    /// PPFD at any place: level, spherical, and on `facing` if given.
    ///
    /// A place within two millimetres under a rock's skin or the sand's top
    /// counts as lying on it; deeper inside there is no light. Above the water
    /// only the lamps' own light is counted.
    pub fn sample(&self, at_m: DVec3, facing: Option<DVec3>) -> LightSample {
        let mut sum = LightSample::default();
        for (one, output) in self
            .sample_of_each(at_m, facing)
            .iter()
            .zip(&self.output_umol_s)
        {
            sum.up_umol += one.up_umol * output;
            sum.scalar_umol += one.scalar_umol * output;
            sum.facing_umol += one.facing_umol * output;
        }
        sum
    }

    /// The same for one µmol/s of each lamp by itself, in 1/m².
    pub fn sample_of_each(&self, at_m: DVec3, facing: Option<DVec3>) -> Vec<LightSample> {
        let mut samples = vec![LightSample::default(); self.fixtures.len()];
        let Some(at_m) = self.clear_place(at_m) else {
            return samples;
        };
        let facing = facing.map_or(DVec3::Z, |f| f.normalize_or(DVec3::Z));
        for (sample, fixture) in samples.iter_mut().zip(&self.fixtures) {
            self.arrivals(fixture, at_m, |arrival| {
                let light = arrival.facing_per_m2 * self.open_share(at_m, arrival);
                add(sample, light, arrival.to_light, facing);
            });
        }
        if self.options.full && at_m.z < self.basin.surface_m {
            self.gather(at_m, facing, &mut samples);
        }
        samples
    }

    /// Adds the bounced light at a place.
    fn gather(&self, at_m: DVec3, facing: DVec3, samples: &mut [LightSample]) {
        let around = &self.surroundings;
        let (n_rays, n_lamps) = (self.options.gather_rays, self.fixtures.len());
        for k in 0..n_rays {
            let direction = bounce::sphere_spread(k, n_rays);
            let link = bounce::link(
                &self.basin,
                &around.obstacles,
                &around.patches,
                at_m,
                direction,
                bounce::draw(k, 0),
            );
            let Some(link) = link else { continue };
            let from = link.patch as usize * n_lamps;
            let exitance = &self.glow.exitance[from..from + n_lamps];
            for (sample, b) in samples.iter_mut().zip(exitance) {
                // Radiance is exitance over pi; a ray stands for 4 pi / n sr.
                let light = 4.0 / n_rays as f64 * f64::from(link.share * b);
                add(sample, light, direction, facing);
            }
        }
    }

    /// PPFD at a place on a level sensor with neither rock nor coral.
    pub fn open_up_umol(&self, at_m: DVec3) -> f64 {
        let mut sum = 0.0;
        for (fixture, output) in self.fixtures.iter().zip(&self.output_umol_s) {
            self.arrivals(fixture, at_m, |arrival| {
                sum += output * arrival.facing_per_m2 * arrival.to_light.z.max(0.0);
            });
        }
        if at_m.z < self.basin.surface_m {
            sum += self.bare.up_umol(at_m, &self.output_umol_s);
        }
        sum
    }

    /// Output of a lamp at full setting, in µmol/s, after solving for a
    /// reading; zero for an index that no lamp has.
    pub fn lamp_umol_s(&self, lamp_idx: usize) -> f64 {
        self.full_umol_s.get(lamp_idx).copied().unwrap_or(0.0)
    }

    /// Outputs of all lamps as they are set (dimmed), in µmol/s.
    pub fn outputs_umol_s(&self) -> &[f64] {
        &self.output_umol_s
    }

    /// What is odd about the lamps, by their index in the layout.
    pub fn notes(&self) -> &[(usize, LampNote)] {
        &self.notes
    }

    /// The place itself, moved off a skin that it lies on; `None` inside.
    pub(super) fn clear_place(&self, at_m: DVec3) -> Option<DVec3> {
        const ON_SKIN_M: f64 = 2e-3;
        let mut at_m = at_m;
        let floor = self.basin.floor_m;
        if at_m.z < floor + LIFT_M {
            if at_m.z < floor - ON_SKIN_M {
                return None;
            }
            at_m.z = floor + LIFT_M;
        }
        let rocks = &self.surroundings.obstacles.rockwork;
        match rocks.nearest(at_m) {
            Some((distance, _)) if distance < -ON_SKIN_M => None,
            Some((distance, rock_idx)) if distance < LIFT_M => {
                let normal = rocks.rocks[rock_idx].normal(at_m);
                Some(at_m + normal * (LIFT_M - distance))
            }
            _ => Some(at_m),
        }
    }
}

impl Surroundings {
    fn new(
        basin: &Basin,
        obstacles: Obstacles,
        reflectances: Vec<f64>,
        options: &LightOptions,
    ) -> Self {
        let above = obstacles.stand_above(basin.surface_m);
        if !options.full {
            return Self {
                obstacles,
                reflectances,
                above,
                patches: Patches::default(),
                transfer: Transfer::default(),
                bare: BareTransfer::default(),
            };
        }
        let patches = Patches::new(basin, &obstacles, &reflectances, options.patch_m);
        let transfer = Transfer::new(basin, &obstacles, &patches, options.transfer_rays);
        Self {
            obstacles,
            reflectances,
            above,
            patches,
            transfer,
            bare: BareTransfer::new(basin),
        }
    }
}

fn add(sample: &mut LightSample, light: f64, to_light: DVec3, facing: DVec3) {
    sample.up_umol += light * to_light.z.max(0.0);
    sample.scalar_umol += light;
    sample.facing_umol += light * to_light.dot(facing).max(0.0);
}

fn distribution_of<'a>(
    lamp: &Lamp,
    measured: &'a Measured,
) -> Result<Option<&'a Distribution>, LightError> {
    let Spread::Measured { file, .. } = &lamp.spread else {
        return Ok(None);
    };
    measured
        .get(file)
        .map(Some)
        .ok_or_else(|| LightError::NoDistribution {
            lamp: lamp.name.clone(),
            file: file.clone(),
        })
}

fn lamp_notes(
    basin: &Basin,
    obstacles: &Obstacles,
    lamp: &Lamp,
    fixture: &Fixture,
) -> Vec<LampNote> {
    let mut notes = Vec::new();
    let at_m = lamp.at_cm * M_PER_CM;
    if fixture
        .emitters
        .iter()
        .any(|emitter| emitter.at_m.z <= basin.surface_m)
    {
        notes.push(LampNote::UnderWater);
    }
    let size_cm = match lamp.body {
        Body::Panel { length_cm, .. } | Body::Tube { length_cm } => length_cm,
        Body::Disc { diameter_cm } => diameter_cm,
    };
    let slack_m = size_cm * M_PER_CM / 2.0;
    if (0..2).any(|axis| at_m[axis] < -slack_m || at_m[axis] > basin.size_m[axis] + slack_m) {
        notes.push(LampNote::BesideTank);
    }
    if obstacles.rockwork.contains(at_m) {
        notes.push(LampNote::InRock);
    }
    notes
}

fn check(options: &LightOptions) -> Result<(), LightError> {
    let limits = [
        ("patch_m", options.patch_m, 0.005, 0.5),
        ("transfer_rays", options.transfer_rays as f64, 1.0, 4096.0),
        ("gather_rays", options.gather_rays as f64, 8.0, 65_536.0),
        ("lamp_points", options.lamp_points, 0.1, 16.0),
    ];
    for (option, value, low, high) in limits {
        if !(value >= low && value <= high) {
            return Err(LightError::Option {
                option,
                value,
                low,
                high,
            });
        }
    }
    Ok(())
}

fn checked_basin(scene: &Scene) -> Result<Basin, LightError> {
    let basin = Basin::new(&scene.tank);
    let lengths = [
        ("length", basin.size_m[0]),
        ("width", basin.size_m[1]),
        ("water height", basin.surface_m),
        ("refractive index less one", basin.n - 1.0),
    ];
    for (what, value) in lengths {
        if !(value > 0.0 && value < 100.0) {
            return Err(LightError::Tank { what, value });
        }
    }
    Ok(basin)
}

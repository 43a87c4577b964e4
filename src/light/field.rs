//! The result of a light run: patches on rock and sand, and planes in the water.

use glam::DVec3;

use crate::geometry::CellGrid;

/// Photosynthetic photon flux density at one place, in µmol/m²/s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LightSample {
    /// On a level sensor facing up.
    pub up_umol: f64,
    /// On a small sphere, per cross-section (what a scalar sensor reads).
    pub scalar_umol: f64,
    /// On the facing that was asked for; the level one if none was.
    pub facing_umol: f64,
}

/// Which surface a patch is part of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SurfaceOwner {
    /// The rock with this index in the layout.
    Rock(usize),
    /// The bed or bare bottom.
    Sand,
}

/// A small piece of rock or sand surface and the light on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfacePatch {
    /// Its middle, in m.
    pub at_m: DVec3,
    /// Outward unit normal.
    pub normal: DVec3,
    /// Area, in m².
    pub area_m2: f64,
    /// What it is part of.
    pub owner: SurfaceOwner,
    /// PPFD on the patch's own facing, in µmol/m²/s.
    pub ppfd_umol: f64,
    /// PPFD at the same place on a level sensor with no rock or coral in the tank.
    pub open_umol: f64,
    /// PPFD at the same place on a level sensor with everything in the tank:
    /// the direct part exactly, the bounced part as on the patch's own facing.
    pub level_umol: f64,
}

impl SurfacePatch {
    /// Share of the open light that arrives here, however the surface is
    /// turned: a flank in the open is not shaded, it only looks sideways. Zero
    /// where there is no open light.
    pub fn open_share(&self) -> f64 {
        if self.open_umol > 0.0 {
            self.ppfd_umol.max(self.level_umol) / self.open_umol
        } else {
            0.0
        }
    }
}

/// PPFD over one level plane of water, one value a cell.
#[derive(Clone, Debug)]
pub struct LightPlane {
    /// The cells: one thick in the direction that is not resolved.
    pub grid: CellGrid,
    /// PPFD facing up at each cell's middle; zero in rock, in µmol/m²/s.
    pub up_umol: Vec<f32>,
}

/// Light over a layout.
#[derive(Clone, Debug, Default)]
pub struct LightField {
    /// Pieces of rock and sand surface.
    pub patches: Vec<SurfacePatch>,
    /// Edge of the patches, in m.
    pub patch_m: f64,
    /// Whether mirrors and bounces are in (the full answer) or only the direct part.
    pub full: bool,
}

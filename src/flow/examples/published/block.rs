//! A block of cells that is advanced on the processor or on a graphics card.

#[cfg(feature = "card")]
use bommie_flow::CardKernel;
use bommie_flow::{CellForce, Device, Domain, Kernel, Macroscopic};
use rayon::prelude::*;

/// Water of a channel or a room, in lattice units.
pub(crate) enum Block {
    Processor(Box<Kernel>),
    #[cfg(feature = "card")]
    Card(Box<CardKernel>),
}

impl Block {
    /// Water at rest.
    pub(crate) fn new(domain: Domain, device: &Device) -> Self {
        match device {
            Device::Processor => Self::Processor(Box::new(Kernel::new(domain))),
            #[cfg(feature = "card")]
            Device::Card(card) => {
                let kernel = CardKernel::new(card, &domain).expect("the card takes it");
                Self::Card(Box::new(kernel))
            }
        }
    }

    /// Sets a cell's velocity, before the first step.
    pub(crate) fn set(&mut self, cell: usize, velocity: [f64; 3]) {
        let state = Macroscopic {
            density: 0.0,
            velocity,
        };
        match self {
            Self::Processor(kernel) => kernel.set(cell, state),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.set(cell, state),
        }
    }

    /// Several steps under these forces.
    pub(crate) fn advance(&mut self, n_steps: u64, forces: &[CellForce]) {
        match self {
            Self::Processor(kernel) => {
                kernel.set_forces(forces);
                kernel.advance(n_steps);
            }
            #[cfg(feature = "card")]
            Self::Card(kernel) => {
                kernel.set_forces(forces).expect("the card works");
                kernel.advance(n_steps).expect("the card works");
            }
        }
    }

    /// Velocities of some cells now.
    pub(crate) fn velocities(&mut self, cells: &[usize]) -> Vec<[f64; 3]> {
        match self {
            Self::Processor(kernel) => (cells.par_iter())
                .map(|cell| kernel.macroscopic(*cell).velocity)
                .collect(),
            #[cfg(feature = "card")]
            Self::Card(kernel) => {
                kernel.flush().expect("the card works");
                let all = kernel.macroscopic().expect("the card works");
                cells.iter().map(|cell| all[*cell].velocity).collect()
            }
        }
    }
}

/// Numbers that look random and are the same in every run, from −1 to 1.
pub(crate) struct Noise(u64);

impl Noise {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next one.
    ///
    /// **Source** multiplier and addend of Knuth's MMIX. MEMORY.
    pub(crate) fn next(&mut self) -> f64 {
        let step = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = step.wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}

/// Value at a place between numbers that stand for the middles of cells.
pub(crate) fn between(values: &[f64], at_cells: f64) -> f64 {
    let place = (at_cells - 0.5).clamp(0.0, values.len() as f64 - 1.0);
    let low = (place as usize).min(values.len() - 2);
    let share = place - low as f64;
    values[low] * (1.0 - share) + values[low + 1] * share
}

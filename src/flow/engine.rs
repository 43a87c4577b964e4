//! Where a run is computed: on the processor or on a graphics card. The run
//! gives both the same orders.

#![cfg_attr(
    not(feature = "card"),
    expect(clippy::unnecessary_wraps, reason = "a card can fail at any order")
)]

use std::fmt;
use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use crate::domain::CellForce;
use crate::sampling::BlockSums;
use crate::{Domain, FlowError, Kernel, Macroscopic};

#[cfg(feature = "card")]
use crate::card::{Card, CardError, CardKernel};

/// Where a tank is to be computed. Slices are always left to the processor.
#[derive(Clone, Debug, Default)]
pub enum Device {
    /// On the processor.
    #[default]
    Processor,
    /// On this graphics card; on the processor if the card fails.
    #[cfg(feature = "card")]
    Card(Card),
}

/// What was found when a card was first looked for.
static CARD: OnceLock<Result<Device, FlowError>> = OnceLock::new();

impl Device {
    /// The graphics card of this machine.
    ///
    /// # Errors
    /// [`FlowError::Card`] if there is none but software, it cannot compute, or
    /// this build knows no cards.
    pub fn card() -> Result<Self, FlowError> {
        #[cfg(feature = "card")]
        return Ok(Self::Card(Card::find()?));
        #[cfg(not(feature = "card"))]
        return Err(FlowError::Card {
            why: "this build does not compute on graphics cards".to_owned(),
        });
    }

    /// The same, looked for once: what was found, or why there is none, holds
    /// until the program ends.
    ///
    /// # Errors
    /// As [`Self::card`].
    pub fn kept_card() -> Result<Self, FlowError> {
        CARD.get_or_init(Self::card).clone()
    }

    /// What [`Self::kept_card`] found, if it was asked already: for who may not
    /// wait for a card.
    pub fn known_card() -> Option<Result<Self, FlowError>> {
        CARD.get().cloned()
    }

    /// The graphics card where there is one, else the processor.
    ///
    /// # Errors
    /// [`FlowError::Card`] if there is a card that cannot be used.
    pub fn best() -> Result<Self, FlowError> {
        #[cfg(feature = "card")]
        return match Card::find() {
            Ok(card) => Ok(Self::Card(card)),
            Err(CardError::NoCard) => Ok(Self::Processor),
            Err(error) => Err(error.into()),
        };
        #[cfg(not(feature = "card"))]
        return Ok(Self::Processor);
    }

    /// Name of the graphics card, if it is one.
    pub fn card_name(&self) -> Option<&str> {
        match self {
            Self::Processor => None,
            #[cfg(feature = "card")]
            Self::Card(card) => Some(card.name()),
        }
    }
}

/// What a run was computed on.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize, Serialize)]
pub struct ComputedOn {
    /// Name of the graphics card; `None` for the processor.
    pub card: Option<String>,
    /// Why the card that was asked for did not do it.
    pub instead: Option<String>,
}

impl fmt::Display for ComputedOn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.card, &self.instead) {
            (Some(name), _) => write!(f, "graphics card {name}"),
            (None, Some(why)) => write!(f, "processor ({why})"),
            (None, None) => write!(f, "processor"),
        }
    }
}

/// A block of water that is being advanced.
#[derive(Debug)]
pub(crate) enum Engine {
    Processor(Box<Kernel>),
    #[cfg(feature = "card")]
    Card(Box<CardKernel>),
}

#[cfg(feature = "card")]
impl From<CardError> for FlowError {
    fn from(error: CardError) -> Self {
        Self::Card {
            why: error.to_string(),
        }
    }
}

impl Engine {
    /// Water at rest, and what it is computed on: the processor where the card
    /// does not take it.
    pub(crate) fn new(domain: Domain, device: &Device) -> (Self, ComputedOn) {
        let instead = match device {
            Device::Processor => None,
            #[cfg(feature = "card")]
            Device::Card(card) => match CardKernel::new(card, &domain) {
                Ok(kernel) => {
                    let on = ComputedOn {
                        card: Some(card.name().to_owned()),
                        instead: None,
                    };
                    return (Self::Card(Box::new(kernel)), on);
                }
                Err(error) => Some(error.to_string()),
            },
        };
        let kernel = Self::Processor(Box::new(Kernel::new(domain)));
        (
            kernel,
            ComputedOn {
                card: None,
                instead,
            },
        )
    }

    pub(crate) fn domain(&self) -> &Domain {
        match self {
            Self::Processor(kernel) => kernel.domain(),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.domain(),
        }
    }

    pub(crate) fn steps(&self) -> u64 {
        match self {
            Self::Processor(kernel) => kernel.steps(),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.steps(),
        }
    }

    /// Sets a cell of water to equilibrium, before the first step.
    pub(crate) fn set(&mut self, cell: usize, state: Macroscopic) {
        match self {
            Self::Processor(kernel) => kernel.set(cell, state),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.set(cell, state),
        }
    }

    /// Sets some cells of water to equilibrium, before the first step.
    pub(crate) fn set_all(&mut self, cells: &[u32], state: &(dyn Fn(usize) -> Macroscopic + Sync)) {
        match self {
            Self::Processor(kernel) => kernel.set_all(cells, state),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.set_all(cells, state),
        }
    }

    pub(crate) fn set_forces(&mut self, forces: &[CellForce]) -> Result<(), FlowError> {
        match self {
            Self::Processor(kernel) => kernel.set_forces(forces),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.set_forces(forces)?,
        }
        Ok(())
    }

    pub(crate) fn advance(&mut self, n_steps: u64) -> Result<(), FlowError> {
        match self {
            Self::Processor(kernel) => kernel.advance(n_steps),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.advance(n_steps)?,
        }
        Ok(())
    }

    /// Whether the numbers still mean something; a card says whether they did
    /// when this was last asked, so that it need not wait.
    pub(crate) fn is_sound(&mut self) -> Result<bool, FlowError> {
        match self {
            Self::Processor(kernel) => Ok(kernel.is_sound()),
            #[cfg(feature = "card")]
            Self::Card(kernel) => Ok(kernel.was_sound()?),
        }
    }

    /// Velocity of some cells, between two calls of [`Self::is_sound`].
    pub(crate) fn velocities(&self, cells: &[u32]) -> Result<Vec<[f64; 3]>, FlowError> {
        match self {
            Self::Processor(kernel) => {
                let of = |&cell: &u32| kernel.macroscopic(cell as usize).velocity;
                Ok(cells.iter().map(of).collect())
            }
            #[cfg(feature = "card")]
            Self::Card(kernel) => {
                let all = kernel.macroscopic()?;
                let of = |&cell: &u32| all[cell as usize].velocity;
                Ok(cells.iter().map(of).collect())
            }
        }
    }

    /// Blocks of cells of which averages are kept.
    pub(crate) fn n_blocks(&self) -> usize {
        match self {
            Self::Processor(kernel) => kernel.n_blocks(),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.n_blocks(),
        }
    }

    /// Where a cell lies among those of all blocks.
    pub(crate) fn place_of(&self, cell: usize) -> usize {
        match self {
            Self::Processor(kernel) => kernel.place_of(cell),
            #[cfg(feature = "card")]
            Self::Card(_) => cell,
        }
    }

    /// Takes a sample of what is seen now. The processor's goes into `sums` at
    /// once; the card's when it is collected.
    pub(crate) fn sample(&mut self, sums: &mut [BlockSums], slow_lu: f32) -> Result<(), FlowError> {
        match self {
            Self::Processor(kernel) => kernel.sample(sums, slow_lu),
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.sample(slow_lu)?,
        }
        Ok(())
    }

    /// Whether samples must be collected to be seen.
    pub(crate) fn keeps_samples(&self) -> bool {
        match self {
            Self::Processor(_) => false,
            #[cfg(feature = "card")]
            Self::Card(_) => true,
        }
    }

    /// Adds the samples that the card has kept to `sums`.
    #[cfg_attr(not(feature = "card"), expect(unused_variables, reason = "for cards"))]
    pub(crate) fn collect(&mut self, sums: &mut [BlockSums]) -> Result<(), FlowError> {
        match self {
            Self::Processor(_) => {}
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.take_sums(sums)?,
        }
        Ok(())
    }

    /// Forgets the samples that the card has kept.
    pub(crate) fn forget_samples(&mut self) -> Result<(), FlowError> {
        match self {
            Self::Processor(_) => {}
            #[cfg(feature = "card")]
            Self::Card(kernel) => kernel.clear_sums()?,
        }
        Ok(())
    }
}

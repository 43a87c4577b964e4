//! The tank estimate on a graphics card: the same method, cells, forces and
//! averages as the processor's, in single precision.

mod device;
mod kernel;
mod layout;
mod memory;
mod shader;
mod spread;
#[cfg(test)]
mod tests;
mod verify;

pub use device::{Card, CardError};
pub use kernel::CardKernel;

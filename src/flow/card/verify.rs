//! A card is asked something whose answer is known before it is trusted:
//! drivers may be wrong, and nobody would see it in a picture of water.

use super::{Card, CardError, CardKernel};
use crate::domain::{CellForce, WallDrag, closure_term};
use crate::{Domain, Macroscopic, PlainStep};

/// Steps of the question.
const STEPS: u64 = 12;

/// How far off an answer may be; single precision leaves about 1e-6.
const TOLERANCE: f64 = 3e-5;

/// Lets the card compute a small box and compares it with the plain step.
///
/// # Errors
/// [`CardError::Refused`] if it computes something else.
pub(super) fn verify(card: &Card) -> Result<(), CardError> {
    let domain = question();
    let mut kernel = CardKernel::new(card, &domain)?;
    let mut plain = PlainStep::new(domain.clone());
    let water: Vec<usize> = (0..domain.n_cells())
        .filter(|&cell| !domain.solid[cell])
        .collect();
    for &cell in &water {
        let [x, y, z] = domain.ijk(cell).map(|i| i as f64);
        let velocity = [0.05 * y.sin(), 0.04 * (x + z).cos(), 0.03 * (x - y).sin()];
        let density = 0.002 * (x + z).sin();
        let state = Macroscopic { density, velocity };
        kernel.set(cell, state);
        plain.set(cell, state);
    }
    kernel.advance(STEPS)?;
    for _ in 0..STEPS {
        plain.step();
    }
    kernel.flush()?;
    let found = kernel.macroscopic()?;
    let is_near = |&cell: &usize| {
        let (here, there) = (found[cell], plain.macroscopic(cell));
        let mut pairs = here.velocity.into_iter().zip(there.velocity);
        (here.density - there.density).abs() < TOLERANCE
            && pairs.all(|(a, b)| (a - b).abs() < TOLERANCE)
    };
    if water.iter().all(is_near) {
        Ok(())
    } else {
        Err(card.refused(&"it gave wrong answers to a question with a known one"))
    }
}

/// A box with a lid, a rock, a push and a drag; water slides along its walls.
fn question() -> Domain {
    let mut domain = Domain::new([7, 6, 5], 0.502);
    domain.lid = true;
    domain.closure = vec![closure_term(0.05); domain.n_cells()];
    let rock = domain.idx([4, 2, 4]);
    domain.solid[rock] = true;
    let wall = WallDrag {
        linear: 1e-3,
        quadratic: 0.004,
    };
    domain.wall_drag = vec![wall; domain.n_cells()];
    domain.forces = vec![
        CellForce {
            cell: domain.idx([1, 3, 2]),
            force: [0.01, -0.002, 0.001],
            ..CellForce::default()
        },
        CellForce {
            cell: domain.idx([5, 4, 1]),
            quadratic: 0.3,
            ..CellForce::default()
        },
    ];
    domain
}

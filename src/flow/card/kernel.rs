//! A block of water on the graphics card: the same orders as the processor's
//! kernel takes, written down and sent in batches.

use std::fmt;
use std::sync::Arc;

use rayon::prelude::*;

use super::device::{Card, CardError, Program};
use super::layout::{Acting, Layout};
use super::memory::{Asked, Buffers};
use super::spread::{SUMS, Spread};
use crate::domain::CellForce;
use crate::lanes::BLOCK;
use crate::lattice::{Q, direction};
use crate::plain::{seen, set_all, slide};
use crate::sampling::BlockSums;
use crate::{Domain, Macroscopic};

/// Bytes of one order's numbers.
pub(super) const ORDER_BYTES: usize = 32;

/// Cells in a group of the shader.
const GROUP: usize = 128;

/// Cell updates in a batch, so that a slow card is not taken for a hung one (a
/// system may reset it after 2 s) and a cancelled run ends soon. Own choice.
const BATCH_UPDATES: usize = 64_000_000;

/// Orders in a batch, at least and at most.
pub(super) const BATCH_ORDERS: [usize; 2] = [4, 512];

/// Pushes that a batch may hold, as far as one set is not more.
pub(super) const PUSHES: usize = 65_536;

/// What the card is told to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Deed {
    Step,
    Sample,
}

/// A block of water on a card.
pub struct CardKernel {
    card: Card,
    domain: Domain,
    layout: Layout,
    populations: Spread,
    sums: Spread,
    program: Arc<Program>,
    buffers: Buffers,
    groups: [wgpu::BindGroup; 2],
    acting: Acting,
    orders: Vec<(Deed, [u32; ORDER_BYTES / 4])>,
    /// Sets of pushes of this batch, and the one that acts now.
    pushes: Vec<[f32; 4]>,
    set: Vec<[f32; 4]>,
    first_push: u32,
    /// Populations to begin with, until they are sent.
    start: Option<Vec<Vec<f32>>>,
    steps: u64,
    sent: Option<wgpu::SubmissionIndex>,
    /// Whether all was sound when it was last asked, and memory to ask again.
    asked: Option<Asked>,
    spare: Option<wgpu::Buffer>,
    collected: Collected,
}

/// Sums that have come from the card, and memory for the next ones: new memory
/// costs more than what it is filled with.
#[derive(Default)]
struct Collected {
    sums: [Vec<f32>; SUMS],
    here: Vec<Option<wgpu::Buffer>>,
}

impl fmt::Debug for CardKernel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "CardKernel({:?}, {} steps)", self.card, self.steps)
    }
}

impl CardKernel {
    /// Water at rest.
    ///
    /// # Errors
    /// A block that the card cannot take.
    pub fn new(card: &Card, domain: &Domain) -> Result<Self, CardError> {
        let layout = Layout::new(domain)?;
        let (populations, sums) = card.spreads(layout.count())?;
        let program = card.program(&populations, &sums);
        let acting = Acting::new(domain, &domain.forces);
        let buffers = Buffers::new(card, domain, &layout, &populations, &sums, &acting);
        let groups = buffers.groups(card, &program);
        let set = acting.pushes(&domain.forces);
        let kernel = Self {
            card: card.clone(),
            layout,
            populations,
            sums,
            program,
            buffers,
            groups,
            acting,
            orders: Vec::new(),
            pushes: set.clone(),
            set,
            first_push: 0,
            start: None,
            steps: 0,
            sent: None,
            asked: None,
            spare: None,
            collected: Collected::default(),
            domain: domain.clone(),
        };
        kernel.card.wait(None)?;
        Ok(kernel)
    }

    /// The cells and what acts on them.
    pub fn domain(&self) -> &Domain {
        &self.domain
    }

    /// Blocks of cells, in their order, that sums are given for.
    pub(crate) fn n_blocks(&self) -> usize {
        self.domain.n_cells().div_ceil(BLOCK)
    }

    /// How many steps were made.
    pub fn steps(&self) -> u64 {
        self.steps
    }

    /// Sets a cell of water to equilibrium, before the first step.
    pub fn set(&mut self, cell: usize, state: Macroscopic) {
        if !self.domain.solid[cell] {
            self.set_all(&[cell as u32], &|_| state);
        }
    }

    /// Sets some cells of water to equilibrium, before the first step.
    pub(crate) fn set_all(&mut self, cells: &[u32], state: &(dyn Fn(usize) -> Macroscopic + Sync)) {
        if self.steps > 0 {
            return;
        }
        let (domain, layout) = (&self.domain, &self.layout);
        let rest = || vec![vec![0.0; layout.count()]; Q];
        let start = self.start.get_or_insert_with(rest);
        set_all(domain, cells, state, |cell, f| {
            let ijk = domain.ijk(cell);
            for (i, f) in f.iter().enumerate() {
                let slot = layout.slot(ijk, direction(i), true);
                start[slot.array][slot.place] = *f as f32;
            }
        });
    }

    /// Changes what acts on cells.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub fn set_forces(&mut self, forces: &[CellForce]) -> Result<(), CardError> {
        // Drags come last and stay as they are.
        let mut pairs = self.domain.forces.iter().zip(forces);
        let changed = pairs.rposition(|(a, b)| a != b).map_or(0, |last| last + 1);
        if self.acting.fits(forces, changed) {
            self.domain.forces[..changed].copy_from_slice(&forces[..changed]);
        } else {
            self.domain.forces = forces.to_vec();
            self.flush()?;
            self.acting = Acting::new(&self.domain, forces);
            let (domain, layout) = (&self.domain, &self.layout);
            (self.buffers).place_acting(&self.card, domain, layout, &self.acting);
            self.groups = self.buffers.groups(&self.card, &self.program);
            self.set.clear();
            self.pushes.clear();
        }
        let set = self.acting.pushes(forces);
        if set == self.set && !self.pushes.is_empty() {
            return Ok(());
        }
        if self.pushes.len() + set.len() > PUSHES.max(set.len()) {
            self.flush()?;
            self.pushes.clear();
        }
        self.first_push = self.pushes.len() as u32;
        self.pushes.extend_from_slice(&set);
        self.set = set;
        Ok(())
    }

    /// Several steps with the same forces.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub fn advance(&mut self, n_steps: u64) -> Result<(), CardError> {
        for _ in 0..n_steps {
            self.order(Deed::Step, 0.0)?;
            self.steps += 1;
        }
        Ok(())
    }

    /// Adds what is seen now to the sums on the card; `slow_lu` is the speed
    /// below which water counts as slow.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub fn sample(&mut self, slow_lu: f32) -> Result<(), CardError> {
        self.order(Deed::Sample, slow_lu)
    }

    fn order(&mut self, deed: Deed, slow_lu: f32) -> Result<(), CardError> {
        let [x, y, z] = self.layout.m().map(|m| m as u32);
        let count = self.layout.count();
        let near = if self.steps.is_multiple_of(2) {
            count as u32
        } else {
            0
        };
        let tau = (self.domain.tau as f32).to_bits();
        let numbers = [
            x,
            y,
            z,
            count as u32,
            near,
            self.first_push,
            tau,
            slow_lu.to_bits(),
        ];
        self.orders.push((deed, numbers));
        let [least, most] = BATCH_ORDERS;
        let batch = (BATCH_UPDATES / count).clamp(least, most);
        if self.orders.len() < batch {
            return Ok(());
        }
        self.flush()
    }

    /// Sends what is written down, and waits for the batch before it.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub fn flush(&mut self) -> Result<(), CardError> {
        self.card.check()?;
        let queue = &self.card.inner.queue;
        if let Some(start) = self.start.take() {
            for (array, numbers) in start.iter().enumerate() {
                let (buffer, at) = self.populations.at(array);
                let offset = (at * self.layout.count() * 4) as u64;
                let to = &self.buffers.populations[buffer];
                queue.write_buffer(to, offset, bytemuck::cast_slice(numbers));
            }
        }
        if self.orders.is_empty() {
            return Ok(());
        }
        let stride = self.card.order_stride();
        let mut bytes = vec![0; self.orders.len() * stride];
        for (chunk, (_, numbers)) in bytes.chunks_exact_mut(stride).zip(&self.orders) {
            chunk[..ORDER_BYTES].copy_from_slice(bytemuck::cast_slice(numbers));
        }
        queue.write_buffer(&self.buffers.orders, 0, &bytes);
        if !self.pushes.is_empty() {
            queue.write_buffer(&self.buffers.pushes, 0, bytemuck::cast_slice(&self.pushes));
        }
        let mut encoder = self.card.encoder();
        self.encode(&mut encoder, stride as u32);
        let sent = queue.submit([encoder.finish()]);
        self.orders.clear();
        self.pushes.clone_from(&self.set);
        self.first_push = 0;
        if let Some(before) = self.sent.replace(sent) {
            self.card.wait(Some(before))?;
        }
        Ok(())
    }

    fn encode(&self, encoder: &mut wgpu::CommandEncoder, stride: u32) {
        let mut pass = encoder.begin_compute_pass(&wgpu::ComputePassDescriptor::default());
        let [x, y] = groups_for(self.layout.count());
        pass.set_bind_group(1, &self.groups[1], &[]);
        let mut before = None;
        for (at, (deed, _)) in self.orders.iter().enumerate() {
            if before != Some(*deed) {
                pass.set_pipeline(match deed {
                    Deed::Step => &self.program.step,
                    Deed::Sample => &self.program.sample,
                });
                if *deed == Deed::Sample {
                    pass.set_bind_group(1, &self.groups[1], &[]);
                }
                before = Some(*deed);
            }
            pass.set_bind_group(0, &self.groups[0], &[at as u32 * stride]);
            pass.dispatch_workgroups(x, y, 1);
        }
    }

    /// Whether no sample has found numbers that mean nothing.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub fn is_sound(&mut self) -> Result<bool, CardError> {
        self.flush()?;
        let mut found = 0.0;
        self.card
            .read(&self.buffers.unsound, |numbers| found = numbers[0])?;
        Ok(found.to_bits() == 0)
    }

    /// What [`Self::is_sound`] would have said when this was last asked; yes at
    /// first. The card goes on with its work meanwhile.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub(crate) fn was_sound(&mut self) -> Result<bool, CardError> {
        self.flush()?;
        let asked = self.card.ask(&self.buffers.unsound, self.spare.take());
        let Some(before) = self.asked.replace(asked) else {
            return Ok(true);
        };
        let mut found = 0.0;
        self.spare = Some(self.card.answer(before, |numbers| found = numbers[0])?);
        Ok(found.to_bits() == 0)
    }

    /// Takes the sums over time from the card: one entry for each block of
    /// cells in their order. They begin anew.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub(crate) fn take_sums(&mut self, out: &mut [BlockSums]) -> Result<(), CardError> {
        self.flush()?;
        let count = self.layout.count();
        let Collected { sums: all, here } = &mut self.collected;
        here.resize(self.buffers.sums.len(), None);
        for (index, (buffer, here)) in self.buffers.sums.iter().zip(here).enumerate() {
            let asked = self.card.ask(buffer, here.take());
            let read = self.card.answer(asked, |numbers| {
                let mut arrays = numbers.chunks_exact(count);
                for (sum, to) in all.iter_mut().enumerate() {
                    if self.sums.at(sum).0 == index
                        && let Some(array) = arrays.next()
                    {
                        to.clear();
                        to.extend_from_slice(array);
                    }
                }
            });
            *here = Some(read?);
        }
        self.clear_sums()?;
        let all = &self.collected.sums;
        let (domain, layout) = (&self.domain, &self.layout);
        out.par_iter_mut().enumerate().for_each(|(block, sums)| {
            let first = block * BLOCK;
            for lane in 0..BLOCK.min(domain.n_cells().saturating_sub(first)) {
                let place = layout.place(domain.ijk(first + lane));
                for (a, along) in sums.velocity.iter_mut().enumerate() {
                    along[lane] += all[a][place];
                }
                sums.speed[lane] += all[3][place];
                sums.square[lane] += all[4][place];
                sums.slow[lane] += all[5][place];
            }
        });
        Ok(())
    }

    /// Lets the sums over time begin anew.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub fn clear_sums(&mut self) -> Result<(), CardError> {
        self.flush()?;
        let mut encoder = self.card.encoder();
        for buffer in &self.buffers.sums {
            encoder.clear_buffer(buffer, 0, None);
        }
        self.card.inner.queue.submit([encoder.finish()]);
        self.card.check()
    }

    /// Density and velocity of all cells as of the last [`Self::is_sound`] or
    /// [`Self::flush`]; none where there is no water.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub fn macroscopic(&self) -> Result<Vec<Macroscopic>, CardError> {
        let all = self.populations()?;
        let mut force_at = vec![CellForce::default(); self.domain.n_cells()];
        for force in &self.domain.forces {
            let sum = &mut force_at[force.cell];
            for (sum, part) in sum.force.iter_mut().zip(force.force) {
                *sum += part;
            }
            sum.linear += force.linear;
            sum.quadratic += force.quadratic;
        }
        for (sum, drag) in force_at.iter_mut().zip(&self.domain.wall_drag) {
            sum.linear += drag.linear;
            sum.quadratic += drag.quadratic;
        }
        let is_even = self.steps.is_multiple_of(2);
        let (domain, layout) = (&self.domain, &self.layout);
        let of = |(cell, force): (usize, &CellForce)| {
            if domain.solid[cell] {
                return Macroscopic::default();
            }
            let ijk = domain.ijk(cell);
            let mut f: [f64; Q] = std::array::from_fn(|i| {
                let slot = layout.slot(ijk, direction(i), is_even);
                f64::from(all[slot.array][slot.place])
            });
            slide(domain, cell, &mut f);
            seen(&f, force)
        };
        Ok(force_at.par_iter().enumerate().map(of).collect())
    }

    /// All populations, array by array.
    fn populations(&self) -> Result<Vec<Vec<f32>>, CardError> {
        debug_assert!(
            self.orders.is_empty() && self.start.is_none(),
            "all was sent"
        );
        let count = self.layout.count();
        let mut all = Vec::with_capacity(Q);
        for buffer in &self.buffers.populations {
            self.card.read(buffer, |numbers| {
                all.extend(numbers.chunks_exact(count).map(<[f32]>::to_vec));
            })?;
        }
        Ok(all)
    }
}

/// Groups of the shader along x and y that hold so many places.
fn groups_for(count: usize) -> [u32; 2] {
    // No more than this along an axis on any card.
    const MOST: usize = 65_535;
    let groups = count.div_ceil(GROUP);
    let rows = groups.div_ceil(MOST);
    [groups.div_ceil(rows) as u32, rows as u32]
}

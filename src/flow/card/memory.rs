//! What lies on the card, and how it gets there and back.

use std::sync::mpsc;
use std::time::Duration;

use super::device::{Card, CardError, Program};
use super::kernel::{BATCH_ORDERS, ORDER_BYTES, PUSHES};
use super::layout::{Acting, FIRST_POPULATION, Layout};
use super::spread::Spread;
use crate::Domain;

/// How long another thread may take to tell that a buffer can be read: far
/// longer than it ever does, so that only a driver that has hung is given up.
const TOLD_WITHIN: Duration = Duration::from_secs(30);

/// A question to the card that may not be answered yet.
pub(super) struct Asked {
    here: wgpu::Buffer,
    told: mpsc::Receiver<Result<(), wgpu::BufferAsyncError>>,
    sent: wgpu::SubmissionIndex,
}

/// What lies on the card.
pub(super) struct Buffers {
    pub(super) orders: wgpu::Buffer,
    pub(super) kinds: wgpu::Buffer,
    pub(super) closure: wgpu::Buffer,
    pub(super) acting: wgpu::Buffer,
    pub(super) pushes: wgpu::Buffer,
    pub(super) populations: Vec<wgpu::Buffer>,
    pub(super) unsound: wgpu::Buffer,
    pub(super) sums: Vec<wgpu::Buffer>,
}

impl Card {
    /// Waits until a batch, or all, is done.
    pub(super) fn wait(&self, batch: Option<wgpu::SubmissionIndex>) -> Result<(), CardError> {
        let wait = wgpu::PollType::Wait {
            submission_index: batch,
            timeout: None,
        };
        let polled = self.inner.device.poll(wait);
        self.check()?;
        polled.map(drop).map_err(|error| self.lost(&error))
    }

    /// Lets `look` see what lies in a buffer on the card.
    pub(super) fn read(
        &self,
        buffer: &wgpu::Buffer,
        look: impl FnOnce(&[f32]),
    ) -> Result<(), CardError> {
        self.answer(self.ask(buffer, None), look).map(drop)
    }

    /// Asks what lies in a buffer on the card once all that was sent is done;
    /// `here` is memory for it from an earlier answer.
    pub(super) fn ask(&self, buffer: &wgpu::Buffer, here: Option<wgpu::Buffer>) -> Asked {
        let usage = wgpu::BufferUsages::MAP_READ | wgpu::BufferUsages::COPY_DST;
        let here = here.unwrap_or_else(|| self.buffer(buffer.size() as usize, usage));
        let mut encoder = self.encoder();
        encoder.copy_buffer_to_buffer(buffer, 0, &here, 0, buffer.size());
        let sent = self.inner.queue.submit([encoder.finish()]);
        let (tell, told) = mpsc::channel();
        here.map_async(wgpu::MapMode::Read, .., move |mapped| {
            // Nobody listens any more only if the wait below has failed.
            drop(tell.send(mapped));
        });
        Asked { here, told, sent }
    }

    /// Waits for an answer, lets `look` see it, and gives its memory back.
    pub(super) fn answer(
        &self,
        asked: Asked,
        look: impl FnOnce(&[f32]),
    ) -> Result<wgpu::Buffer, CardError> {
        let Asked { here, told, sent } = asked;
        self.wait(Some(sent))?;
        // Where several runs share the card, the one that waited at the same
        // time may be the one that tells, and a moment later than the wait.
        match told.recv_timeout(TOLD_WITHIN) {
            Ok(Ok(())) => {}
            Ok(Err(error)) => return Err(self.lost(&error)),
            Err(_) => return Err(self.lost(&"its memory cannot be read")),
        }
        let view = (here.slice(..).get_mapped_range()).map_err(|error| self.lost(&error))?;
        look(bytemuck::cast_slice(&view));
        drop(view);
        here.unmap();
        Ok(here)
    }

    fn buffer(&self, bytes: usize, usage: wgpu::BufferUsages) -> wgpu::Buffer {
        self.inner.device.create_buffer(&wgpu::BufferDescriptor {
            label: Some("flow"),
            size: bytes as u64,
            usage,
            mapped_at_creation: false,
        })
    }

    pub(super) fn encoder(&self) -> wgpu::CommandEncoder {
        let wanted = wgpu::CommandEncoderDescriptor::default();
        self.inner.device.create_command_encoder(&wanted)
    }

    /// Way from one order to the next in bytes.
    pub(super) fn order_stride(&self) -> usize {
        let limits = self.inner.device.limits();
        ORDER_BYTES.next_multiple_of(limits.min_uniform_buffer_offset_alignment as usize)
    }

    /// A buffer that holds this.
    fn filled(&self, bytes: &[u8], at_least: usize) -> wgpu::Buffer {
        let usage = wgpu::BufferUsages::STORAGE | wgpu::BufferUsages::COPY_DST;
        let buffer = self.buffer(bytes.len().max(at_least), usage);
        self.inner.queue.write_buffer(&buffer, 0, bytes);
        buffer
    }
}

impl Buffers {
    pub(super) fn new(
        card: &Card,
        domain: &Domain,
        layout: &Layout,
        populations: &Spread,
        sums: &Spread,
        acting: &Acting,
    ) -> Self {
        let storage = wgpu::BufferUsages::STORAGE
            | wgpu::BufferUsages::COPY_SRC
            | wgpu::BufferUsages::COPY_DST;
        let uniform = wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST;
        let arrays = |spread: &Spread| -> Vec<wgpu::Buffer> {
            (0..spread.buffers())
                .map(|b| card.buffer(spread.arrays_in(b) * layout.count() * 4, storage))
                .collect()
        };
        let closure = layout.closure(domain);
        let mut buffers = Self {
            orders: card.buffer(BATCH_ORDERS[1] * card.order_stride(), uniform),
            kinds: card.buffer(layout.count() * 4, storage),
            closure: card.filled(bytemuck::cast_slice(&closure), 4),
            acting: card.buffer(16, storage),
            pushes: card.buffer(16, storage),
            populations: arrays(populations),
            unsound: card.buffer(4, storage),
            sums: arrays(sums),
        };
        buffers.place_acting(card, domain, layout, acting);
        buffers
    }

    /// Puts down which cells something acts on.
    pub(super) fn place_acting(
        &mut self,
        card: &Card,
        domain: &Domain,
        layout: &Layout,
        acting: &Acting,
    ) {
        const ROW: usize = 16;
        let mut kinds = layout.kinds();
        acting.mark(domain, layout, &mut kinds);
        let queue = &card.inner.queue;
        queue.write_buffer(&self.kinds, 0, bytemuck::cast_slice(&kinds));
        self.acting = card.filled(bytemuck::cast_slice(&acting.rows()), ROW);
        self.pushes = card.filled(&[], PUSHES.max(acting.n_pushes()) * ROW);
    }

    pub(super) fn groups(&self, card: &Card, program: &Program) -> [wgpu::BindGroup; 2] {
        let orders = wgpu::BindingResource::Buffer(wgpu::BufferBinding {
            buffer: &self.orders,
            offset: 0,
            size: wgpu::BufferSize::new(ORDER_BYTES as u64),
        });
        let mut water = vec![orders];
        let read = [&self.kinds, &self.closure, &self.acting, &self.pushes];
        water.extend(read.map(wgpu::Buffer::as_entire_binding));
        debug_assert_eq!(water.len() as u32, FIRST_POPULATION, "bindings in order");
        water.extend(self.populations.iter().map(wgpu::Buffer::as_entire_binding));
        let mut sums = vec![self.unsound.as_entire_binding()];
        sums.extend(self.sums.iter().map(wgpu::Buffer::as_entire_binding));
        let group = |layout: &wgpu::BindGroupLayout, bound: Vec<wgpu::BindingResource<'_>>| {
            let entries: Vec<wgpu::BindGroupEntry<'_>> = (bound.into_iter().enumerate())
                .map(|(binding, resource)| wgpu::BindGroupEntry {
                    binding: binding as u32,
                    resource,
                })
                .collect();
            (card.inner.device).create_bind_group(&wgpu::BindGroupDescriptor {
                label: Some("flow"),
                layout,
                entries: &entries,
            })
        };
        [group(&program.water, water), group(&program.sums, sums)]
    }
}

//! The graphics card: which one, what it offers, and what went wrong with it.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::{Arc, Mutex, PoisonError};

use thiserror::Error;

use super::layout::FIRST_POPULATION;
use super::shader;
use super::spread::Spread;
use super::verify::verify;

/// Why the graphics card does not do it.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum CardError {
    /// No card, or none but software.
    #[error("no graphics card that can compute was found")]
    NoCard,
    /// The card is there, but cannot be used.
    #[error("the graphics card {name} cannot be used: {why}")]
    Refused {
        /// Its name.
        name: String,
        /// What the driver says.
        why: String,
    },
    /// More than the card takes.
    #[error("{needed} cells are more than the graphics card {name} takes")]
    TooLarge {
        /// Its name.
        name: String,
        /// Cells with their walls.
        needed: usize,
    },
    /// Something that only the processor does.
    #[error("{what} are not done on the graphics card")]
    Unsupported {
        /// What that is.
        what: &'static str,
    },
    /// It stopped while it worked.
    #[error("the graphics card {name} stopped: {why}")]
    Lost {
        /// Its name.
        name: String,
        /// What the driver says.
        why: String,
    },
}

/// A graphics card, ready to compute. Clones share it.
#[derive(Clone)]
pub struct Card {
    pub(super) inner: Arc<Inner>,
}

pub(super) struct Inner {
    pub(super) device: wgpu::Device,
    pub(super) queue: wgpu::Queue,
    limits: wgpu::Limits,
    name: String,
    is_software: bool,
    /// The first thing that went wrong.
    fault: Arc<Mutex<Option<String>>>,
    programs: Mutex<BTreeMap<(Spread, Spread), Arc<Program>>>,
}

/// The compiled shader for one way to spread the arrays.
pub(super) struct Program {
    pub(super) water: wgpu::BindGroupLayout,
    pub(super) sums: wgpu::BindGroupLayout,
    pub(super) step: wgpu::ComputePipeline,
    pub(super) sample: wgpu::ComputePipeline,
}

impl fmt::Debug for Card {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Card({})", self.inner.name)
    }
}

impl Card {
    /// The best real card of this machine, once it has answered a question with
    /// a known answer; software drivers do not count.
    ///
    /// # Errors
    /// [`CardError::NoCard`] or [`CardError::Refused`].
    pub fn find() -> Result<Self, CardError> {
        let card = Self::best(|kind| kind != wgpu::DeviceType::Cpu)?;
        verify(&card)?;
        Ok(card)
    }

    /// A software driver, for checks of the shader on machines without a card.
    ///
    /// # Errors
    /// As [`Self::find`].
    pub fn software() -> Result<Self, CardError> {
        Self::best(|kind| kind == wgpu::DeviceType::Cpu)
    }

    /// The same card as if it offered no more than so many bytes in a piece.
    #[cfg(test)]
    pub(super) fn within(self, bytes: u64) -> Self {
        let mut inner = Arc::into_inner(self.inner).expect("nobody else has it");
        inner.limits.max_storage_buffer_binding_size = bytes;
        Self {
            inner: Arc::new(inner),
        }
    }

    fn best(counts: impl Fn(wgpu::DeviceType) -> bool) -> Result<Self, CardError> {
        let backends = wgpu::Backends::VULKAN | wgpu::Backends::METAL | wgpu::Backends::DX12;
        let instance = wgpu::Instance::new(wgpu::InstanceDescriptor {
            backends,
            flags: wgpu::InstanceFlags::empty(),
            ..wgpu::InstanceDescriptor::new_without_display_handle()
        });
        let found = pollster::block_on(instance.enumerate_adapters(backends));
        let rank = |adapter: &wgpu::Adapter| match adapter.get_info().device_type {
            wgpu::DeviceType::DiscreteGpu => 0,
            wgpu::DeviceType::VirtualGpu => 1,
            wgpu::DeviceType::IntegratedGpu => 2,
            wgpu::DeviceType::Other => 3,
            wgpu::DeviceType::Cpu => 4,
        };
        let mut fit: Vec<wgpu::Adapter> = (found.into_iter())
            .filter(|adapter| counts(adapter.get_info().device_type))
            .filter(|adapter| {
                let can = adapter.get_downlevel_capabilities().flags;
                can.contains(wgpu::DownlevelFlags::COMPUTE_SHADERS)
            })
            .collect();
        fit.sort_by_key(rank);
        let adapter = fit.into_iter().next().ok_or(CardError::NoCard)?;
        Self::open(&adapter)
    }

    fn open(adapter: &wgpu::Adapter) -> Result<Self, CardError> {
        let info = adapter.get_info();
        let limits = adapter.limits();
        let wanted = wgpu::DeviceDescriptor {
            label: Some("flow"),
            required_limits: limits.clone(),
            memory_hints: wgpu::MemoryHints::MemoryUsage,
            ..wgpu::DeviceDescriptor::default()
        };
        let name = info.name.trim().to_owned();
        let (device, queue) =
            pollster::block_on(adapter.request_device(&wanted)).map_err(|error| {
                CardError::Refused {
                    name: name.clone(),
                    why: error.to_string(),
                }
            })?;
        let fault = Arc::new(Mutex::new(None));
        let noted = Arc::clone(&fault);
        device.on_uncaptured_error(Arc::new(move |error: wgpu::Error| {
            note(&noted, error.to_string());
        }));
        let noted = Arc::clone(&fault);
        device.set_device_lost_callback(move |reason, why| {
            if reason != wgpu::DeviceLostReason::Destroyed {
                note(&noted, format!("it was lost, {why}"));
            }
        });
        let inner = Inner {
            device,
            queue,
            limits,
            name,
            is_software: info.device_type == wgpu::DeviceType::Cpu,
            fault,
            programs: Mutex::default(),
        };
        Ok(Self {
            inner: Arc::new(inner),
        })
    }

    /// What its driver calls it.
    pub fn name(&self) -> &str {
        &self.inner.name
    }

    /// Whether it is a driver that computes on the processor.
    pub fn is_software(&self) -> bool {
        self.inner.is_software
    }

    /// What went wrong, if anything did.
    ///
    /// # Errors
    /// [`CardError::Lost`].
    pub(super) fn check(&self) -> Result<(), CardError> {
        let fault = self
            .inner
            .fault
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        match fault.as_ref() {
            None => Ok(()),
            Some(why) => Err(self.lost(&why)),
        }
    }

    pub(super) fn refused(&self, why: &dyn fmt::Display) -> CardError {
        CardError::Refused {
            name: self.inner.name.clone(),
            why: why.to_string(),
        }
    }

    pub(super) fn lost(&self, why: &dyn fmt::Display) -> CardError {
        CardError::Lost {
            name: self.inner.name.clone(),
            why: why.to_string(),
        }
    }

    /// Lets the card work no more, as if it were lost.
    #[cfg(test)]
    pub(super) fn lose(&self) {
        self.inner.device.destroy();
        note(&self.inner.fault, "it was taken away".to_owned());
    }

    /// How populations and sums of `count` places are spread over its buffers.
    ///
    /// # Errors
    /// [`CardError::TooLarge`].
    pub(super) fn spreads(&self, count: usize) -> Result<(Spread, Spread), CardError> {
        let limits = &self.inner.limits;
        let bytes = (limits.max_storage_buffer_binding_size).min(limits.max_buffer_size);
        spread_within(count, bytes, limits.max_storage_buffers_per_shader_stage).ok_or_else(|| {
            CardError::TooLarge {
                name: self.inner.name.clone(),
                needed: count,
            }
        })
    }

    /// The shader for these spreads, compiled once.
    pub(super) fn program(&self, populations: &Spread, sums: &Spread) -> Arc<Program> {
        let mut programs = (self.inner.programs.lock()).unwrap_or_else(PoisonError::into_inner);
        let key = (populations.clone(), sums.clone());
        let make = || Arc::new(Program::new(&self.inner.device, populations, sums));
        Arc::clone(programs.entry(key).or_insert_with(make))
    }
}

/// Spreads of populations and sums over buffers of at most `bytes` each, and no
/// more of them than a shader may have at a time.
fn spread_within(count: usize, bytes: u64, buffers: u32) -> Option<(Spread, Spread)> {
    // Places are 32-bit numbers on the card.
    let bytes = bytes.min(u64::from(u32::MAX));
    let most = (bytes / (4 * count.max(1) as u64)) as usize;
    let populations = Spread::of_populations(most)?;
    let sums = Spread::of_sums(most)?;
    // Four more say what the water is and what acts on it, one whether it is sound.
    let needed = 5 + populations.buffers() + sums.buffers();
    (needed <= buffers as usize).then_some((populations, sums))
}

fn note(fault: &Mutex<Option<String>>, why: String) {
    let mut fault = fault.lock().unwrap_or_else(PoisonError::into_inner);
    fault.get_or_insert(why);
}

impl Program {
    fn new(device: &wgpu::Device, populations: &Spread, sums: &Spread) -> Self {
        let text = shader::text(populations, sums);
        let module = device.create_shader_module(wgpu::ShaderModuleDescriptor {
            label: Some("flow"),
            source: wgpu::ShaderSource::Wgsl(text.into()),
        });
        let mut entries = vec![entry(
            0,
            wgpu::BufferBindingType::Uniform,
            wgpu::BufferSize::new(super::kernel::ORDER_BYTES as u64),
        )];
        let read = wgpu::BufferBindingType::Storage { read_only: true };
        let write = wgpu::BufferBindingType::Storage { read_only: false };
        entries.extend((1..FIRST_POPULATION).map(|binding| entry(binding, read, None)));
        let last = FIRST_POPULATION + populations.buffers() as u32;
        entries.extend((FIRST_POPULATION..last).map(|binding| entry(binding, write, None)));
        let water = group_layout(device, &entries);
        let all: Vec<_> = (0..=sums.buffers() as u32)
            .map(|binding| entry(binding, write, None))
            .collect();
        let sums = group_layout(device, &all);
        let pipeline = |name: &str, groups: &[Option<&wgpu::BindGroupLayout>]| {
            let layout = device.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
                label: Some(name),
                bind_group_layouts: groups,
                immediate_size: 0,
            });
            device.create_compute_pipeline(&wgpu::ComputePipelineDescriptor {
                label: Some(name),
                layout: Some(&layout),
                module: &module,
                entry_point: Some(name),
                compilation_options: wgpu::PipelineCompilationOptions {
                    zero_initialize_workgroup_memory: false,
                    ..wgpu::PipelineCompilationOptions::default()
                },
                cache: None,
            })
        };
        Self {
            step: pipeline("step", &[Some(&water)]),
            sample: pipeline("sample", &[Some(&water), Some(&sums)]),
            water,
            sums,
        }
    }
}

fn entry(
    binding: u32,
    ty: wgpu::BufferBindingType,
    size: Option<wgpu::BufferSize>,
) -> wgpu::BindGroupLayoutEntry {
    wgpu::BindGroupLayoutEntry {
        binding,
        visibility: wgpu::ShaderStages::COMPUTE,
        ty: wgpu::BindingType::Buffer {
            ty,
            has_dynamic_offset: ty == wgpu::BufferBindingType::Uniform,
            min_binding_size: size,
        },
        count: None,
    }
}

fn group_layout(
    device: &wgpu::Device,
    entries: &[wgpu::BindGroupLayoutEntry],
) -> wgpu::BindGroupLayout {
    device.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
        label: Some("flow"),
        entries,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn buffers_stay_within_what_a_card_offers() {
        let mib_128 = 128 << 20;
        let (populations, sums) = spread_within(241 * 121 * 101, mib_128, 16).expect("fits");
        // Eleven arrays of 11.8 MB in a buffer, pairs together.
        assert_eq!(
            (populations.buffers(), sums.buffers()),
            (3, 1),
            "11 in each"
        );
        assert_eq!(
            spread_within(241 * 121 * 101, mib_128, 8),
            None,
            "nine at a time"
        );
        let (populations, _) = spread_within(200_000, mib_128, 8).expect("small fits");
        assert_eq!(populations.buffers(), 1, "all in one");
        assert_eq!(
            spread_within(40 << 20, mib_128, 64),
            None,
            "a pair alone is too large"
        );
    }
}

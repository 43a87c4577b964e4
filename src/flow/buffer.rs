//! Memory for populations: in huge pages where the system gives them.
//!
//! A step walks through twenty-seven arrays at once. In pages of 4 KiB each walk
//! must look up a new page every thousand cells, which on a busy machine takes
//! a third of the speed at millions of cells.

use std::ops::{Deref, DerefMut};

use memmap2::MmapMut;
use pulp::bytemuck::{cast_slice, cast_slice_mut};

/// Size of a huge page on most systems, in bytes.
const HUGE: usize = 2 << 20;

/// Numbers that are zero at first.
#[derive(Debug)]
pub(crate) enum Buffer {
    /// Pages of our own; the numbers begin so many bytes into them.
    Mapped {
        pages: MmapMut,
        from: usize,
        len: usize,
    },
    /// For few numbers, or where the system gives no pages.
    Plain(Vec<f32>),
}

impl Buffer {
    pub(crate) fn zeros(len: usize) -> Self {
        let bytes = len * size_of::<f32>();
        if bytes < 2 * HUGE {
            return Self::Plain(vec![0.0; len]);
        }
        match MmapMut::map_anon(bytes + HUGE) {
            Ok(pages) => {
                // Older systems do not begin a mapping where a huge page does.
                let from = pages.as_ptr().align_offset(HUGE).min(HUGE);
                // Without them it is only slower.
                #[cfg(target_os = "linux")]
                let _asked = pages.advise(memmap2::Advice::HugePage);
                Self::Mapped { pages, from, len }
            }
            Err(_) => Self::Plain(vec![0.0; len]),
        }
    }
}

impl Deref for Buffer {
    type Target = [f32];
    fn deref(&self) -> &[f32] {
        match self {
            Self::Mapped { pages, from, len } => {
                cast_slice(&pages[*from..*from + *len * size_of::<f32>()])
            }
            Self::Plain(values) => values,
        }
    }
}

impl DerefMut for Buffer {
    fn deref_mut(&mut self) -> &mut [f32] {
        match self {
            Self::Mapped { pages, from, len } => {
                cast_slice_mut(&mut pages[*from..*from + *len * size_of::<f32>()])
            }
            Self::Plain(values) => values,
        }
    }
}

impl Clone for Buffer {
    fn clone(&self) -> Self {
        let mut copy = Self::zeros(self.len());
        copy.copy_from_slice(self);
        copy
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_and_large_buffers_begin_at_zero_and_keep_what_is_written() {
        for len in [10, 3 * HUGE / 4 + 5] {
            let mut buffer = Buffer::zeros(len);
            assert!(buffer.len() == len && buffer.iter().all(|x| *x == 0.0));
            buffer[len - 1] = 7.0;
            let copy = buffer.clone();
            buffer[len - 1] = 8.0;
            assert_eq!((copy[len - 1], buffer[len - 1]), (7.0, 8.0), "of {len}");
        }
    }
}

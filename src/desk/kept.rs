//! Finished results by what they depend on, so that a layout, a month or a
//! scene that was solved before is shown again at once.

use std::sync::Arc;

use super::advising::AdviceNews;
use super::keys::{AdviceKey, LightKey, WaterKey};
use super::lighting::LightNews;
use super::results::FlowStatus;
use crate::flow::FlowField;

/// Most memory that kept flow fields take, in bytes.
const WATER_BYTES: usize = 192 << 20;
/// Most light answers that are kept; each takes some megabytes.
const LIGHTS: usize = 16;
/// Most lists of advice that are kept.
const ADVICE: usize = 24;

/// A finished tank estimate.
#[derive(Clone)]
pub(super) struct KeptWater {
    pub(super) field: Arc<FlowField>,
    pub(super) status: FlowStatus,
    pub(super) version: u64,
}

/// A finished light answer.
#[derive(Clone)]
pub(super) struct KeptLight {
    pub(super) news: LightNews,
    pub(super) version: u64,
}

/// What is kept, each kind bounded.
pub(super) struct Kept {
    pub(super) water: Shelf<WaterKey, KeptWater>,
    pub(super) light: Shelf<LightKey, KeptLight>,
    pub(super) advice: Shelf<AdviceKey, AdviceNews>,
}

impl Default for Kept {
    fn default() -> Self {
        Self {
            water: Shelf::new(WATER_BYTES),
            light: Shelf::new(LIGHTS),
            advice: Shelf::new(ADVICE),
        }
    }
}

/// Bytes that a flow field holds.
pub(super) fn field_bytes(field: &FlowField) -> usize {
    // Kind, whether it may flip, velocity and four values a cell.
    field.grid.n_cells() * (2 + 12 + 16)
}

/// Values by key, the one used last in front; the last ones fall off when all
/// together weigh too much.
pub(super) struct Shelf<K, V> {
    limit: usize,
    entries: Vec<(K, V, usize)>,
}

impl<K: PartialEq, V: Clone> Shelf<K, V> {
    pub(super) fn new(limit: usize) -> Self {
        Self {
            limit,
            entries: Vec::new(),
        }
    }

    /// The value of a key.
    pub(super) fn find(&mut self, key: &K) -> Option<V> {
        let idx = self.entries.iter().position(|(own, _, _)| own == key)?;
        let entry = self.entries.remove(idx);
        let value = entry.1.clone();
        self.entries.insert(0, entry);
        Some(value)
    }

    /// Keeps a value of some weight in front.
    pub(super) fn put(&mut self, key: K, value: V, weight: usize) {
        self.entries.retain(|(own, _, _)| *own != key);
        self.entries.insert(0, (key, value, weight));
        let weight = |entries: &[(K, V, usize)]| entries.iter().map(|entry| entry.2).sum::<usize>();
        while self.entries.len() > 1 && weight(&self.entries) > self.limit {
            self.entries.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_not_used_falls_off_first() {
        let mut shelf = Shelf::new(3);
        for key in 1..=3 {
            shelf.put(key, key * 10, 1);
        }
        assert_eq!(shelf.find(&1), Some(10), "kept");
        shelf.put(4, 40, 1);
        assert_eq!(shelf.find(&2), None, "used longest ago");
        assert_eq!(shelf.find(&1), Some(10), "used since");
        shelf.put(5, 50, 9);
        assert_eq!(shelf.find(&5), Some(50), "the newest stays, however heavy");
        assert_eq!(shelf.find(&4), None, "the rest had to go");
    }
}

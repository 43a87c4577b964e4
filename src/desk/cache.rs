//! Finished results by the query that they answer, so that a layout, a month or
//! a scene that was solved before is shown again at once; and queries that
//! failed, so that they are not asked again in vain.

use std::sync::Arc;

use super::advising::AdviceNews;
use super::lighting::LightNews;
use super::query::{AdviceKey, FlowKey, LightKey, Query};
use super::results::FlowStatus;
use crate::flow::FlowField;
use crate::job::JobError;

/// Most memory that kept flow fields take, in bytes.
const FLOW_BYTES: usize = 192 << 20;
/// Most light answers that are kept; each takes some megabytes.
const LIGHTS: usize = 16;
/// Most lists of advice that are kept.
const ADVICE: usize = 24;
/// Most failures that are remembered.
const FAULTS: usize = 64;

/// A finished tank estimate.
#[derive(Clone)]
pub(super) struct KeptTank {
    pub(super) field: Arc<FlowField>,
    pub(super) status: FlowStatus,
}

impl KeptTank {
    /// Bytes that its field holds.
    pub(super) fn bytes(&self) -> usize {
        // Kind, whether it may flip, velocity, four values and those of the
        // pumps' phases a cell.
        self.field.grid.n_cells() * (2 + 12 + 16 + 4 * self.field.phases.len())
    }
}

/// What is kept, each kind bounded.
pub(super) struct Cache {
    pub(super) tanks: Shelf<FlowKey, KeptTank>,
    pub(super) lights: Shelf<LightKey, LightNews>,
    pub(super) advice: Shelf<AdviceKey, AdviceNews>,
    pub(super) faults: Shelf<Query, JobError>,
}

impl Default for Cache {
    fn default() -> Self {
        Self {
            tanks: Shelf::new(FLOW_BYTES),
            lights: Shelf::new(LIGHTS),
            advice: Shelf::new(ADVICE),
            faults: Shelf::new(FAULTS),
        }
    }
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

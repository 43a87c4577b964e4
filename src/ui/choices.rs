//! The keeper's choices for this window, as they are kept on disk.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use crate::desk::Settings;
use crate::storage::Recent;
use crate::ui::room::PanelSizes;

/// Steps of the text scale.
const SCALES: [f32; 8] = [0.8, 0.9, 1.0, 1.15, 1.3, 1.5, 1.75, 2.0];

/// All that is kept.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Choices {
    /// Units, limits, months.
    pub settings: Settings,
    /// Chalk on slate instead of ink on paper.
    pub is_night: bool,
    /// Size of text and drawing against the normal one.
    pub text_scale: f32,
    /// Whether nothing should move by itself.
    pub reduced_motion: bool,
    /// What the panels were given.
    pub panels: PanelSizes,
    /// File and layout that were shown last.
    pub last_layout: Option<(PathBuf, String)>,
    /// Files opened lately.
    pub recent: Recent,
}

impl Default for Choices {
    fn default() -> Self {
        Self {
            settings: Settings::default(),
            is_night: false,
            text_scale: 1.0,
            reduced_motion: false,
            panels: PanelSizes::default(),
            last_layout: None,
            recent: Recent::default(),
        }
    }
}

impl Choices {
    /// The next larger (or smaller) text scale.
    pub fn scale_step(&mut self, step: isize) {
        let distance = |scale: f32| (scale - self.text_scale).abs();
        let now = (0..SCALES.len())
            .min_by(|a, b| distance(SCALES[*a]).total_cmp(&distance(SCALES[*b])))
            .unwrap_or(2);
        let next = now.saturating_add_signed(step).min(SCALES.len() - 1);
        self.text_scale = SCALES[next];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_grows_to_twice_its_size_and_no_further() {
        let mut choices = Choices::default();
        (0..20).for_each(|_| choices.scale_step(1));
        assert_eq!(choices.text_scale, 2.0, "twice");
        choices.scale_step(-1);
        assert_eq!(choices.text_scale, 1.75, "one step back");
    }
}

//! The scene as it is looked at: today's, or grown by some months. It is no
//! change of the scene and no step to undo.

use std::sync::Arc;

use super::Desk;
use crate::advice::{Pace, grown};
use crate::catalog::Catalog;
use crate::scene::{Layout, Scene};

/// Most months that can be looked ahead.
pub const MONTHS_MAX: f64 = 60.0;

/// A scene with all of its corals grown, and what it was grown from.
pub(super) struct Later {
    today: Arc<Scene>,
    months: f64,
    scene: Arc<Scene>,
}

impl Desk {
    /// The scene as it is looked at: with every coral grown at the usual pace
    /// by the months of the settings. At no months it is the scene itself.
    pub fn shown_scene(&self) -> &Arc<Scene> {
        match &self.later {
            Some(later) if self.settings.months > 0.0 => &later.scene,
            _ => self.scene(),
        }
    }

    /// The shown layout as it is looked at.
    pub fn shown_layout(&self) -> &Layout {
        let layouts = &self.shown_scene().layouts;
        layouts
            .get(self.layout_idx())
            .unwrap_or_else(|| self.layout())
    }

    /// Brings the grown scene up to date with the scene and the months.
    pub(super) fn look_ahead(&mut self) {
        let months = self.settings.months.clamp(0.0, MONTHS_MAX);
        self.settings.months = months;
        if months <= 0.0 {
            self.later = None;
            return;
        }
        let today = self.document.scene();
        let is_current = |later: &Later| Arc::ptr_eq(&later.today, today) && later.months == months;
        if self.later.as_ref().is_some_and(is_current) {
            return;
        }
        let mut scene = (**today).clone();
        for layout in &mut scene.layouts {
            *layout = grown(layout, Catalog::built_in(), months, Pace::Usual);
        }
        self.later = Some(Later {
            today: Arc::clone(today),
            months,
            scene: Arc::new(scene),
        });
    }
}

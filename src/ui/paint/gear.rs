//! Sizes of gear on the screen, and the cross of a reading.

use egui::{Painter, Stroke, vec2};
use glam::DVec3;

use crate::draw;
use crate::ui::sheet::Frame;
use crate::ui::theme::Theme;

/// Radius of a pump's ring on the screen, in points.
pub(crate) const RING: f32 = draw::RING as f32;

/// A reading: a small cross.
pub(crate) fn reading(painter: &Painter, frame: &Frame, at_cm: DVec3, theme: &Theme) {
    let at = frame.pos(at_cm);
    for d in [vec2(4.5, 4.5), vec2(4.5, -4.5)] {
        painter.line_segment([at - d, at + d], Stroke::new(3.4, theme.sheet));
        painter.line_segment([at - d, at + d], Stroke::new(1.5, theme.ink));
    }
}

//! How the window is shared out: what the panels take by default, what the
//! keeper gave them, and the borders to drag.

use egui::{CursorIcon, Key, Rect, Sense, Stroke, Ui, Vec2, WidgetInfo, pos2};
use serde::{Deserialize, Serialize};

use crate::ui::ask::Below;
use crate::ui::theme::Theme;

/// What the keeper gave the panels, as it is remembered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PanelSizes {
    /// Width of the inspector, in points.
    pub inspector: Option<f32>,
    /// Height of the list of findings, in points.
    pub findings: Option<f32>,
    /// Share of the sheet that the right column of views has.
    pub column: Option<f32>,
    /// Whether the drawing has the whole window.
    pub are_folded: bool,
}

/// A window narrower or lower than this, in points, has the findings beside the
/// inspector instead of below the sheet.
const COMPACT_BELOW: Vec2 = Vec2::new(1000.0, 600.0);
/// Least and most width of the inspector.
const INSPECTOR: (f32, f32) = (200.0, 460.0);
/// Least height of the list below, and what is left for the sheet at least.
const FINDINGS: (f32, f32) = (64.0, 240.0);
/// Width of the shelf.
pub const SHELF: f32 = 66.0;
/// Height of the title strip.
pub const TITLE: f32 = 32.0;

/// How this window is shared out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Whether the drawing has it all.
    pub are_folded: bool,
    /// Whether the findings stand beside the inspector.
    pub is_compact: bool,
    /// Width of the right panel, in points.
    pub inspector: f32,
    /// Height of the list below, in points.
    pub findings: f32,
}

impl Room {
    /// Shares out a window of this size.
    pub fn new(window: Vec2, sizes: &PanelSizes, below: Below) -> Self {
        let is_compact = window.x < COMPACT_BELOW.x || window.y < COMPACT_BELOW.y;
        let usual = (window.x * 0.19).clamp(216.0, 300.0);
        let most = INSPECTOR.1.min(window.x * 0.4).max(INSPECTOR.0);
        let usual_low = match below {
            Below::Compare => (window.y * 0.3).clamp(140.0, 300.0),
            _ => (window.y * 0.155).clamp(106.0, 140.0),
        };
        let most_low = (window.y - FINDINGS.1).max(FINDINGS.0);
        Self {
            are_folded: sizes.are_folded,
            is_compact,
            inspector: sizes.inspector.unwrap_or(usual).clamp(INSPECTOR.0, most),
            findings: sizes
                .findings
                .unwrap_or(usual_low)
                .clamp(FINDINGS.0, most_low),
        }
    }
}

/// What a hand did to a border.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Moved {
    /// It was dragged to this place, along the axis that it moves on.
    To(f32),
    /// It was moved by so many steps of an arrow key.
    By(f32),
    /// It is to go back to where it was at first.
    Back,
}

/// A border between two parts of the window: a thin strip to drag, to move by
/// arrow keys, or to double-click.
pub fn border(ui: &Ui, strip: Rect, name: &str, value: f32, theme: &Theme) -> Option<Moved> {
    let is_upright = strip.height() > strip.width();
    let id = ui.scope_id().with(("border", name));
    let response = ui.interact(strip, id, Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::slider(true, f64::from(value), name));
    let is_lit = response.hovered() || response.dragged() || response.has_focus();
    if is_lit {
        let icon = if is_upright {
            CursorIcon::ResizeHorizontal
        } else {
            CursorIcon::ResizeVertical
        };
        ui.ctx().set_cursor_icon(icon);
    }
    let color = if is_lit { theme.accent } else { theme.rule };
    let stroke = Stroke::new(if is_lit { 2.0 } else { 1.0 }, color);
    let middle = strip.center();
    let ends = if is_upright {
        [pos2(middle.x, strip.top()), pos2(middle.x, strip.bottom())]
    } else {
        [pos2(strip.left(), middle.y), pos2(strip.right(), middle.y)]
    };
    ui.painter().line_segment(ends, stroke);
    if response.double_clicked() {
        return Some(Moved::Back);
    }
    if response.dragged() {
        let pos = response.interact_pointer_pos()?;
        return Some(Moved::To(if is_upright { pos.x } else { pos.y }));
    }
    if !response.has_focus() {
        return None;
    }
    let (less, more) = if is_upright {
        (Key::ArrowLeft, Key::ArrowRight)
    } else {
        (Key::ArrowUp, Key::ArrowDown)
    };
    ui.input_mut(|input| {
        let mut pressed = |key| input.consume_key(egui::Modifiers::NONE, key);
        if pressed(less) {
            Some(Moved::By(-1.0))
        } else {
            pressed(more).then_some(Moved::By(1.0))
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_remembered_size_gives_way_in_a_small_window() {
        let sizes = PanelSizes {
            inspector: Some(450.0),
            findings: Some(500.0),
            ..PanelSizes::default()
        };
        let large = Room::new(Vec2::new(1920.0, 1080.0), &sizes, Below::Findings);
        assert_eq!((large.inspector, large.findings), (450.0, 500.0), "kept");
        let small = Room::new(Vec2::new(720.0, 450.0), &sizes, Below::Findings);
        assert!(
            small.inspector <= 288.0 && small.findings <= 210.0,
            "{small:?}"
        );
        assert!(small.is_compact && !large.is_compact, "{small:?}");
    }
}

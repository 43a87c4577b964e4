//! The turning view: the tank in perspective.

use egui::{Align2, Rect, Sense, Stroke, StrokeKind, Ui, WidgetInfo, pos2, vec2};
use glam::DVec3;

use crate::ui::paint::label;
use crate::ui::paint::rocks::RockDrawings;
use crate::ui::sheet::{SheetContext, words};

/// Where the eye is.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Eye {
    turn_deg: f64,
    tilt_deg: f64,
    zoom: f64,
    shift: egui::Vec2,
}

/// State of the turning view.
pub(super) struct SolidView {
    eye: Eye,
}

impl Default for SolidView {
    fn default() -> Self {
        Self {
            eye: Eye {
                turn_deg: -28.0,
                tilt_deg: 24.0,
                zoom: 1.0,
                shift: egui::Vec2::ZERO,
            },
        }
    }
}

impl SolidView {
    /// Looks closer by a factor.
    pub(super) fn zoom(&mut self, factor: f64) {
        self.eye.zoom = (self.eye.zoom * factor).clamp(0.4, 8.0);
    }

    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        rect: Rect,
        context: &SheetContext<'_>,
        _rocks: &RockDrawings,
        _stamp: u64,
    ) {
        let theme = context.theme;
        let response = ui.interact(rect, ui.scope_id().with("solid"), Sense::click_and_drag());
        response.widget_info(|| WidgetInfo::labeled(egui::Role::Canvas, true, words::SOLID_NAME));
        if response.dragged() {
            let d = response.drag_delta();
            self.eye.turn_deg += f64::from(d.x) * 0.5;
            self.eye.tilt_deg = (self.eye.tilt_deg + f64::from(d.y) * 0.4).clamp(-10.0, 89.0);
        }
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, 0.0, theme.sheet);
        let tank = &context.desk.scene().tank;
        let size = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm);
        let scale = f64::from(rect.width().min(rect.height())) / size.length() * self.eye.zoom;
        let (sin, cos) = self.eye.turn_deg.to_radians().sin_cos();
        let (sin_tilt, cos_tilt) = self.eye.tilt_deg.to_radians().sin_cos();
        let project = |p: DVec3| {
            let p = p - size / 2.0;
            let (x, y) = (p.x * cos - p.y * sin, p.x * sin + p.y * cos);
            let up = p.z * cos_tilt + y * sin_tilt;
            rect.center() + vec2((x * scale) as f32, (-up * scale) as f32)
        };
        for axis in 0..3 {
            for corner in 0..4 {
                let mut a = DVec3::ZERO;
                a[(axis + 1) % 3] = size[(axis + 1) % 3] * f64::from(corner & 1);
                a[(axis + 2) % 3] = size[(axis + 2) % 3] * f64::from(corner >> 1);
                let mut b = a;
                b[axis] = size[axis];
                painter.line_segment([project(a), project(b)], Stroke::new(1.2, theme.ink));
            }
        }
        ui.painter().rect_stroke(
            rect,
            0.0,
            Stroke::new(1.0, theme.ink.gamma_multiply(0.55)),
            StrokeKind::Outside,
        );
        let at = pos2(rect.left(), rect.bottom() + 3.0);
        label::caption(
            ui.painter(),
            at,
            Align2::LEFT_TOP,
            words::SOLID_CAPTION,
            theme,
        );
    }
}

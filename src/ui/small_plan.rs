//! A scene in a few lines, seen from above, to tell one from another.

use egui::{Pos2, Rect, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2};
use glam::DVec2;

use crate::scene::Scene;
use crate::ui::text;
use crate::ui::theme::Theme;

/// Draws the first layout into a box of this size.
pub fn show(ui: &mut Ui, theme: &Theme, scene: &Scene, size: Vec2) {
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, text::picture_of(&scene.name)));
    let tank = &scene.tank;
    let per_cm = (rect.width() / tank.length_cm as f32).min(rect.height() / tank.width_cm as f32);
    let glass = Rect::from_center_size(
        rect.center(),
        Vec2::new(tank.length_cm as f32, tank.width_cm as f32) * per_cm,
    );
    let at = |place: DVec2| -> Pos2 {
        pos2(
            glass.left() + place.x as f32 * per_cm,
            glass.bottom() - place.y as f32 * per_cm,
        )
    };
    let painter = ui.painter_at(rect);
    let line = Stroke::new(1.0, theme.ink);
    painter.rect(glass, 0.0, theme.sheet, line, egui::StrokeKind::Inside);
    let Some(layout) = scene.layouts.first() else {
        return;
    };
    for rock in &layout.rocks {
        let turn = DVec2::from_angle(rock.turn_deg.to_radians());
        let points = rock.plan_cm();
        let points = points.points().iter();
        let outline = points
            .map(|point| at(rock.at_cm.truncate() + turn.rotate(*point)))
            .collect();
        painter.add(Shape::closed_line(outline, line));
    }
    for coral in &layout.corals {
        let radius = (coral.size_cm.x as f32 * per_cm / 2.0).max(1.0);
        painter.circle_filled(at(coral.at_cm.truncate()), radius, theme.coral);
    }
    for pump in &layout.pumps {
        let from = at(pump.at_cm.truncate());
        let aim = DVec2::from_angle(pump.turn_deg.to_radians());
        let to = at(pump.at_cm.truncate() + aim * 10.0);
        painter.circle_stroke(from, 2.5, Stroke::new(1.0, theme.accent));
        painter.line_segment([from, to], Stroke::new(1.0, theme.accent));
    }
}

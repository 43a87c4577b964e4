//! The glass box as drawn: sheet, grid, rulers, sand, water line, overflow,
//! captions and the scale bar.

use egui::{Align2, Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, pos2, vec2};
use glam::{DVec2, DVec3};

use crate::desk::UnitSystem;
use crate::draw::scatter;
use crate::scene::Tank;
use crate::ui::paint::label;
use crate::ui::paint::lit::Lit;
use crate::ui::sheet::words;
use crate::ui::sheet::{Frame, View};
use crate::ui::theme::Theme;
use crate::ui::wash::{Class, ColorTable};

/// Centimetres in an inch.
const CM_PER_IN: f64 = 2.54;

/// What lies inside the glass in a view, as two corners in cm.
pub(crate) fn inside_cm(tank: &Tank, view: View) -> [DVec2; 2] {
    let size = DVec3::new(tank.length_cm, tank.width_cm, tank.height_cm);
    [DVec2::ZERO, view.flat(size)]
}

/// The water in a view, as a screen rectangle.
pub(crate) fn water_rect(frame: &Frame, tank: &Tank) -> Rect {
    let size = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
    frame.rect_between(DVec2::ZERO, frame.view.flat(size))
}

/// Paper and a faint grid.
pub(crate) fn ground(painter: &Painter, frame: &Frame, units: UnitSystem, theme: &Theme) {
    painter.rect_filled(frame.rect, 0.0, theme.sheet);
    let color = theme.ink.gamma_multiply(0.07);
    let step = tick_step(frame.scale, units);
    for (axis, at) in ticks(frame, step) {
        let line = if axis == 0 {
            [pos2(at, frame.rect.top()), pos2(at, frame.rect.bottom())]
        } else {
            [pos2(frame.rect.left(), at), pos2(frame.rect.right(), at)]
        };
        painter.line_segment(line, Stroke::new(1.0, color));
    }
}

/// Distance between numbered ticks: a round one at least this far apart on the
/// screen, in cm.
fn tick_step(scale: f64, units: UnitSystem) -> f64 {
    const APART_POINTS: f64 = 62.0;
    let (steps, unit_cm): (&[f64], f64) = match units {
        UnitSystem::Metric => (&[1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0], 1.0),
        UnitSystem::Us => (&[0.5, 1.0, 2.0, 4.0, 6.0, 12.0, 24.0, 48.0], CM_PER_IN),
    };
    let fits = |step: &&f64| **step * unit_cm * scale >= APART_POINTS;
    steps.iter().find(fits).copied().unwrap_or(100.0) * unit_cm
}

/// Ticks within the frame: axis (0 across, 1 upwards) and screen place.
fn ticks(frame: &Frame, step_cm: f64) -> impl Iterator<Item = (usize, f32)> + use<> {
    const TICKS_MAX: i64 = 400;
    let lo = frame.flat_cm(frame.rect.left_bottom());
    let hi = frame.flat_cm(frame.rect.right_top());
    let frame = *frame;
    (0..2_usize).flat_map(move |axis| {
        let first = (lo[axis] / step_cm - 1e-9).ceil() as i64;
        let last = ((hi[axis] / step_cm + 1e-9).floor() as i64).min(first + TICKS_MAX);
        (first..=last).map(move |k| {
            let mut flat = DVec2::ZERO;
            flat[axis] = k as f64 * step_cm;
            let pos = frame.pos_flat(flat);
            (axis, if axis == 0 { pos.x } else { pos.y })
        })
    })
}

/// Where a view has its rulers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Rulers {
    /// Above and at the left, of a view that stands alone.
    AboveAndLeft,
    /// Below, for the view beneath as well, and at the left.
    BelowAndLeft,
    /// At the left.
    Left,
    /// Above.
    Above,
}

/// Ticks and numbers along the edges of a view. Folded air has none.
pub(crate) fn rulers(
    painter: &Painter,
    frame: &Frame,
    which: Rulers,
    (units, theme): (UnitSystem, &Theme),
) {
    let step = tick_step(frame.scale, units);
    let unit_cm = match units {
        UnitSystem::Metric => 1.0,
        UnitSystem::Us => CM_PER_IN,
    };
    let stroke = Stroke::new(1.0, theme.ink.gamma_multiply(0.8));
    let rect = frame.rect;
    let loft_y = frame.fold_y().unwrap_or(rect.top());
    let is_wanted = |axis: usize, at: f32| match (axis, which) {
        (0, Rulers::Left) | (1, Rulers::Above) => false,
        (0, _) => true,
        _ => at >= loft_y,
    };
    for (axis, at) in ticks(frame, step / 2.0) {
        if !is_wanted(axis, at) {
            continue;
        }
        let flat = frame.flat_cm(pos2(at, at))[axis];
        let is_numbered = (flat / step - (flat / step).round()).abs() < 1e-3;
        let length = if is_numbered { 6.0 } else { 3.0 };
        let (line, place, align) = if axis == 0 && which == Rulers::BelowAndLeft {
            let bottom = rect.bottom();
            let line = [pos2(at, bottom), pos2(at, bottom + length)];
            (line, pos2(at, bottom + 5.0), Align2::CENTER_TOP)
        } else if axis == 0 {
            let top = rect.top();
            let line = [pos2(at, top - length), pos2(at, top)];
            (line, pos2(at, top - 6.0), Align2::CENTER_BOTTOM)
        } else {
            let left = rect.left();
            let line = [pos2(left - length, at), pos2(left, at)];
            (line, pos2(left - 7.0, at), Align2::RIGHT_CENTER)
        };
        painter.line_segment(line, stroke);
        if is_numbered {
            let value = (flat / unit_cm * 10.0).round() / 10.0;
            // No minus before a zero.
            let text = format!("{}", value + 0.0);
            painter.text(place, align, text, label::font(), theme.aside);
        }
    }
}

/// The frame of a view, once everything in it is drawn.
pub(crate) fn border(painter: &Painter, frame: &Frame, theme: &Theme) {
    let stroke = Stroke::new(1.0, theme.ink.gamma_multiply(0.55));
    painter.rect_stroke(frame.rect, 0.0, stroke, StrokeKind::Outside);
}

/// Sand: a stippled bed in the upright views, a stippled floor from above.
pub(crate) fn sand(painter: &Painter, frame: &Frame, tank: &Tank, theme: &Theme, bare: bool) {
    let depth_cm = tank.sand.depth_cm;
    if depth_cm <= 0.0 {
        return;
    }
    let [lo, hi] = inside_cm(tank, frame.view);
    let (top, spacing) = match frame.view {
        View::Top if !bare => return,
        View::Top => (hi.y, 2.4),
        View::Side | View::End => (depth_cm, 1.0),
    };
    let rect = frame.rect_between(lo, DVec2::new(hi.x, top));
    painter.rect_filled(rect, 0.0, theme.sand);
    let visible = rect.intersect(frame.rect);
    let spacing = spacing * (5.0 / frame.scale).clamp(0.5, 3.0);
    let n = (
        ((hi.x - lo.x) / spacing) as i32,
        ((top - lo.y) / spacing) as i32,
    );
    let dots = (0..=n.1).flat_map(|j| {
        (0..n.0).map(move |i| {
            let jitter = DVec2::new(f64::from(scatter(i, j)), f64::from(scatter(j, i + 77)));
            DVec2::new(f64::from(i) + 0.5, f64::from(j) + 0.4) + jitter * 0.45
        })
    });
    let dots = dots
        .map(|p| frame.pos_flat(p * spacing))
        .filter(|pos| visible.shrink(1.0).contains(*pos));
    let grain = theme
        .ink
        .gamma_multiply(if theme.is_night { 0.5 } else { 0.38 });
    painter.add(label::dots_mesh(dots, 0.65, grain));
}

/// The light on the bed where an upright view cuts it: a band of color along
/// its top.
pub(crate) fn lit_bed(
    painter: &Painter,
    frame: &Frame,
    tank: &Tank,
    (lit, cut_cm): (&Lit, f64),
    (theme, classes): (&Theme, &[Class]),
) {
    const STEP_CM: f64 = 1.0;
    const BAND_POINTS: f32 = 5.0;
    let [lo, hi] = inside_cm(tank, frame.view);
    let top_cm = tank.sand.depth_cm;
    let table = ColorTable::new(classes);
    let n = ((hi.x - lo.x) / STEP_CM).ceil().max(1.0);
    let mut mesh = egui::epaint::Mesh::default();
    for k in 0..=n as u32 {
        let along = lo.x + (hi.x - lo.x) * f64::from(k) / n;
        let at = frame.view.lift(DVec2::new(along, top_cm), cut_cm);
        let ppfd_umol = lit.on_bed(at.truncate().as_vec2());
        let [r, g, b] = table.color(ppfd_umol, 0.04 * ppfd_umol + 0.02);
        let color = Color32::from_rgb(r as u8, g as u8, b as u8);
        let pos = frame.pos_flat(DVec2::new(along, top_cm));
        mesh.colored_vertex(pos, color);
        mesh.colored_vertex(pos + vec2(0.0, BAND_POINTS), color);
        if k > 0 {
            let last = 2 * k;
            mesh.add_triangle(last - 2, last - 1, last);
            mesh.add_triangle(last - 1, last, last + 1);
        }
    }
    painter.add(Shape::mesh(mesh));
    let line = [lo.x, hi.x].map(|along| frame.pos_flat(DVec2::new(along, top_cm)));
    let ink = Stroke::new(1.0, theme.ink.gamma_multiply(0.7));
    painter.line_segment(line, ink);
}

/// Where the air above the water is folded: a thin line with two breaks.
pub(crate) fn break_line(painter: &Painter, frame: &Frame, theme: &Theme) {
    const ABOVE: f32 = 3.0;
    let Some(y) = frame.fold_y() else { return };
    let rect = frame.rect;
    let y = y - ABOVE;
    let mut points = vec![pos2(rect.left(), y)];
    for share in [0.06, 0.94] {
        let x = rect.left() + rect.width() * share;
        let zigzag = [(-5.0, 0.0), (-2.0, -5.0), (2.0, 5.0), (5.0, 0.0)];
        points.extend(zigzag.map(|(dx, dy)| pos2(x + dx, y + dy)));
    }
    points.push(pos2(rect.right(), y));
    let stroke = Stroke::new(0.8, theme.aside.gamma_multiply(0.8));
    painter.add(Shape::line(points, stroke));
}

/// A bar of a round length in the lower right corner of the view's margin.
pub(crate) fn scale_bar(painter: &Painter, frame: &Frame, units: UnitSystem, theme: &Theme) {
    let step_cm = tick_step(frame.scale, units);
    let length = frame.points(step_cm);
    if frame.rect.width() < 3.0 * length {
        // In a small view it would be in the way; the rulers say the same.
        return;
    }
    let right = frame.rect.right_bottom() + vec2(-12.0, -12.0);
    let left = right - vec2(length, 0.0);
    let stroke = Stroke::new(1.2, theme.ink);
    painter.line_segment([left, right], stroke);
    for end in [left, right] {
        painter.line_segment([end - vec2(0.0, 3.0), end + vec2(0.0, 3.0)], stroke);
    }
    let middle = left - vec2(6.0, 0.0);
    let text = words::length(step_cm, units);
    painter.text(
        middle,
        Align2::RIGHT_CENTER,
        text,
        label::font(),
        theme.aside,
    );
}

/// Where the other views are cut: dashed lines in the accent color with a tab
/// at the edge to drag.
pub(crate) fn level_line(
    painter: &Painter,
    frame: &Frame,
    axis: usize,
    at_cm: f64,
    style: (Color32, f32),
) {
    let (color, width) = style;
    let (h, _, _) = frame.view.axes();
    let mut flat = DVec2::ZERO;
    let is_upright = axis == h;
    flat[usize::from(!is_upright)] = at_cm;
    let pos = frame.pos_flat(flat);
    let rect = frame.rect;
    let line = if is_upright {
        [pos2(pos.x, rect.top()), pos2(pos.x, rect.bottom())]
    } else {
        [pos2(rect.left(), pos.y), pos2(rect.right(), pos.y)]
    };
    label::dashed(painter, &line, Stroke::new(width, color), 8.0, 4.0);
    let tab = |tip: Pos2, along: egui::Vec2| {
        let side = along.rot90() * 0.6;
        let corners = vec![tip, tip - along + side, tip - along - side];
        painter.add(Shape::convex_polygon(corners, color, Stroke::NONE));
    };
    if is_upright {
        tab(line[1], vec2(0.0, -8.0));
        tab(line[0], vec2(0.0, 8.0));
    } else {
        tab(line[0], vec2(-8.0, 0.0));
        tab(line[1], vec2(8.0, 0.0));
    }
}

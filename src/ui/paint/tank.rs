//! The sheet under and around a view: grid, rulers, the scale bar, levels, and
//! the light on the bed.

use egui::{Align2, Color32, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, pos2, vec2};
use glam::{DVec2, DVec3};

use crate::desk::UnitSystem;
use crate::draw::{self, Tick};
use crate::scene::Tank;
use crate::ui::paint::label;
use crate::ui::paint::lit::Lit;
use crate::ui::sheet::{Frame, View};
use crate::ui::theme::Theme;
use crate::ui::wash::{Class, ColorTable};

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
    for (tick, at) in ticks(frame, units).filter(|(tick, _)| tick.text.is_some()) {
        let line = if tick.axis == 0 {
            [pos2(at, frame.rect.top()), pos2(at, frame.rect.bottom())]
        } else {
            [pos2(frame.rect.left(), at), pos2(frame.rect.right(), at)]
        };
        painter.line_segment(line, Stroke::new(1.0, color));
    }
}

/// The ticks that a view shows, each with its place on the screen. Folded air
/// has none.
fn ticks(frame: &Frame, units: UnitSystem) -> impl Iterator<Item = (Tick, f32)> + use<> {
    let rect = frame.rect;
    let shown = [rect.left_bottom(), rect.right_top()].map(|corner| frame.flat_cm(corner));
    let loft_y = frame.fold_y().unwrap_or(rect.top());
    let frame = *frame;
    let place = move |tick: Tick| {
        let mut flat = DVec2::ZERO;
        flat[tick.axis] = tick.at_cm;
        let pos = frame.pos_flat(flat);
        let at = if tick.axis == 0 { pos.x } else { pos.y };
        (tick.axis == 0 || at >= loft_y).then_some((tick, at))
    };
    let ticks = draw::ticks(shown, frame.scale, units);
    ticks.into_iter().filter_map(place)
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

/// Ticks and numbers along the edges of a view.
pub(crate) fn rulers(
    painter: &Painter,
    frame: &Frame,
    which: Rulers,
    (units, theme): (UnitSystem, &Theme),
) {
    let stroke = Stroke::new(1.0, theme.ink.gamma_multiply(0.8));
    let rect = frame.rect;
    let is_wanted = |(tick, _): &(Tick, f32)| {
        !matches!((tick.axis, which), (0, Rulers::Left) | (1, Rulers::Above))
    };
    for (tick, at) in ticks(frame, units).filter(is_wanted) {
        let length = draw::TICKS[usize::from(tick.text.is_none())] as f32;
        let (line, place, align) = if tick.axis == 0 && which == Rulers::BelowAndLeft {
            let bottom = rect.bottom();
            let line = [pos2(at, bottom), pos2(at, bottom + length)];
            (line, pos2(at, bottom + 5.0), Align2::CENTER_TOP)
        } else if tick.axis == 0 {
            let top = rect.top();
            let line = [pos2(at, top - length), pos2(at, top)];
            (line, pos2(at, top - 6.0), Align2::CENTER_BOTTOM)
        } else {
            let left = rect.left();
            let line = [pos2(left - length, at), pos2(left, at)];
            (line, pos2(left - 7.0, at), Align2::RIGHT_CENTER)
        };
        painter.line_segment(line, stroke);
        if let Some(number) = tick.text {
            painter.text(place, align, number, label::font(), theme.aside);
        }
    }
}

/// The frame of a view, once everything in it is drawn.
pub(crate) fn border(painter: &Painter, frame: &Frame, theme: &Theme) {
    let stroke = Stroke::new(1.0, theme.ink.gamma_multiply(0.55));
    painter.rect_stroke(frame.rect, 0.0, stroke, StrokeKind::Outside);
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

/// A bar of a round length with its length, ready to be put on a drawing.
pub(crate) struct Bar {
    /// What it covers with its words.
    pub(crate) rect: Rect,
    ends: [Pos2; 2],
    words: Pos2,
    galley: std::sync::Arc<egui::Galley>,
}

/// A bar for the lower right corner of a view; none in a small one or where it
/// would lie on words that are there: the rulers say the same.
pub(crate) fn scale_bar(
    painter: &Painter,
    frame: &Frame,
    (units, theme): (UnitSystem, &Theme),
    there: &[Rect],
) -> Option<Bar> {
    let bar = draw::scale_bar(frame.scale, units);
    let length = frame.points(bar.length_cm);
    if frame.rect.width() < 3.0 * length {
        return None;
    }
    let right = frame.rect.right_bottom() + vec2(-12.0, -12.0);
    let left = right - vec2(length, 0.0);
    let galley = painter.layout_no_wrap(bar.text, label::font(), theme.aside);
    let words = Align2::RIGHT_CENTER.anchor_size(left - vec2(6.0, 0.0), galley.size());
    let rect = words.union(Rect::from_two_pos(left, right).expand(3.0));
    let is_free = !there.iter().any(|other| other.intersects(rect));
    is_free.then_some(Bar {
        rect,
        ends: [left, right],
        words: words.min,
        galley,
    })
}

impl Bar {
    /// Draws it.
    pub(crate) fn paint(self, painter: &Painter, theme: &Theme) {
        let stroke = Stroke::new(1.2, theme.ink);
        painter.line_segment(self.ends, stroke);
        for end in self.ends {
            painter.line_segment([end - vec2(0.0, 3.0), end + vec2(0.0, 3.0)], stroke);
        }
        painter.galley(self.words, self.galley, theme.aside);
    }
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

//! Pumps with their aim and reach, returns, and lamps with their light cones.

use egui::{Color32, Painter, Pos2, Shape, Stroke, vec2};
use glam::{DVec2, DVec3};

use crate::geometry::{Bounds, Ray, Rockwork};
use crate::scene::{Body, Lamp, Pump, PumpKind, Return, Spread, Tank, aim};
use crate::ui::paint::label;
use crate::ui::sheet::{Frame, View};
use crate::ui::theme::Theme;
use crate::units::{M_PER_CM, flow_m3_s_from_lph};

/// Speed whose place an arrow's tip marks, in cm/s.
const REACH_SPEED_CM_S: f64 = 10.0;
/// Radius of a pump's ring on the screen, in points.
pub(crate) const RING: f32 = 8.0;
/// Length from which a pump has an arrow on the screen, in points.
pub(crate) const ARROW_FROM: f32 = RING + 6.0;

/// Turn and tilt, in degrees, of a direction.
pub(crate) fn angles_deg(direction: DVec3) -> (f64, f64) {
    let flat = direction.truncate().length();
    let turn = direction.y.atan2(direction.x).to_degrees();
    let tilt = direction.z.atan2(flat).to_degrees();
    (turn, tilt)
}

/// How far a jet is felt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Reach {
    /// Place of the arrow's tip, in cm.
    pub(crate) tip_cm: DVec3,
    /// Its distance from the outlet, in cm.
    pub(crate) distance_cm: f64,
    /// Speed on the jet's axis there, in cm/s.
    pub(crate) speed_cm_s: f64,
}

/// Speed and diameter of a round outlet with the same flow and momentum, in
/// m/s and m.
fn round_outlet(pump: &Pump) -> (f64, f64) {
    let height_m = pump.outlet_cm * M_PER_CM;
    let area_m2 = match pump.kind {
        PumpKind::Propeller | PumpKind::Nozzle => std::f64::consts::PI * height_m * height_m / 4.0,
        PumpKind::CrossFlow { length_cm } => height_m * length_cm * M_PER_CM,
    };
    let flow_m3_s = flow_m3_s_from_lph(pump.real_flow_lph());
    let diameter_m = (4.0 * area_m2 / std::f64::consts::PI).sqrt();
    (flow_m3_s / area_m2.max(1e-8), diameter_m)
}

/// Where the speed on the axis of a pump's jet has fallen to 10 cm/s, or
/// where the jet meets glass or rock before that.
///
/// **Formula** `u/U0 = 5.9 d/x`, at most 1. **Source** Rajaratnam 1976 for a
/// free round jet, as quoted by Fischer et al. 1979. MEMORY. A slot counts as
/// the round outlet of its area.
pub(crate) fn reach(pump: &Pump, tank: &Tank, rocks: &Rockwork) -> Reach {
    let (exit_m_s, diameter_m) = round_outlet(pump);
    let direction = aim(pump.turn_deg, pump.tilt_deg);
    let wanted_m = 5.9 * exit_m_s * diameter_m / (REACH_SPEED_CM_S * 0.01);
    let ray = Ray {
        origin_m: pump.at_cm * M_PER_CM,
        direction,
    };
    let water = Bounds {
        min_m: DVec3::ZERO,
        max_m: DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm) * M_PER_CM,
    };
    let glass_m = water.span(&ray).map_or(wanted_m, |(_, out)| out.max(0.0));
    let free_m = wanted_m.min(glass_m).max(0.04);
    let rock_m = rocks.first_hit(&ray, free_m).map(|hit| hit.distance_m);
    let distance_m = rock_m.filter(|m| *m > 0.01).unwrap_or(free_m);
    let speed_m_s = (5.9 * exit_m_s * diameter_m / distance_m).min(exit_m_s);
    Reach {
        tip_cm: pump.at_cm + direction * (distance_m / M_PER_CM),
        distance_cm: distance_m / M_PER_CM,
        speed_cm_s: speed_m_s / 0.01,
    }
}

/// A pump: a ring, and an arrow to where its jet reaches.
pub(crate) fn pump(painter: &Painter, frame: &Frame, pump: &Pump, reach: &Reach, look: &Look<'_>) {
    let theme = look.theme;
    let (from, tip) = (frame.pos(pump.at_cm), frame.pos(reach.tip_cm));
    let along = tip - from;
    let length = along.length();
    if length > ARROW_FROM {
        let unit = along / length;
        let start = from + unit * RING;
        let width = if look.is_lit { 4.6 } else { 3.6 };
        taper(painter, [start, tip - unit * 4.5], width, theme.accent);
        let stroke = Stroke::new(if look.is_lit { 2.2 } else { 1.5 }, theme.accent);
        painter.circle(tip, 4.5, theme.sheet, stroke);
    }
    if let PumpKind::CrossFlow { length_cm } = pump.kind {
        let half = DVec3::Z * (length_cm / 2.0);
        let ends = [frame.pos(pump.at_cm - half), frame.pos(pump.at_cm + half)];
        painter.line_segment(ends, Stroke::new(9.0, theme.ink));
        painter.line_segment(ends, Stroke::new(6.0, theme.sheet));
    }
    let ring = Stroke::new(2.0, if look.is_lit { theme.accent } else { theme.ink });
    painter.circle(from, RING, theme.sheet, ring);
    // Three blades, so that a pump is not taken for a coral.
    for k in 0..3 {
        let angle = (k as f32 + 0.25) / 3.0 * std::f32::consts::TAU;
        let blade = egui::Vec2::angled(angle) * (RING - 2.5);
        painter.line_segment([from, from + blade], Stroke::new(1.4, theme.ink));
    }
}

/// A stroke that grows thin, as a jet grows slow.
fn taper(painter: &Painter, [from, to]: [Pos2; 2], width: f32, color: Color32) {
    const THIN: f32 = 1.0;
    let side = (to - from).normalized().rot90() / 2.0;
    let corners = [
        from + side * width,
        to + side * THIN,
        to - side * THIN,
        from - side * width,
    ];
    painter.add(Shape::convex_polygon(corners.to_vec(), color, Stroke::NONE));
}

/// How a thing is drawn.
#[derive(Clone, Copy)]
pub(crate) struct Look<'a> {
    /// Colors.
    pub(crate) theme: &'a Theme,
    /// Whether it is selected or pointed at.
    pub(crate) is_lit: bool,
}

/// A return nozzle: a small elbow with a short arrow.
pub(crate) fn nozzle(painter: &Painter, frame: &Frame, nozzle: &Return, theme: &Theme) {
    let from = frame.pos(nozzle.at_cm);
    let direction = aim(nozzle.turn_deg, nozzle.tilt_deg);
    let to = frame.pos(nozzle.at_cm + direction * 7.0);
    painter.arrow(from, to - from, Stroke::new(1.5, theme.accent));
    let size = 5.0;
    let diamond = [
        vec2(0.0, -size),
        vec2(size, 0.0),
        vec2(0.0, size),
        vec2(-size, 0.0),
    ];
    let corners = diamond.map(|d| from + d).to_vec();
    painter.add(Shape::convex_polygon(
        corners,
        theme.sheet,
        Stroke::new(1.6, theme.ink),
    ));
}

/// Corners of a lamp's glowing face, in cm.
pub(crate) fn face_cm(lamp: &Lamp) -> Vec<DVec3> {
    let (sin, cos) = lamp.turn_deg.to_radians().sin_cos();
    let axis = lamp_axis(lamp);
    let across = DVec3::new(-sin, cos, 0.0);
    let along = across.cross(axis).normalize_or(DVec3::X);
    let (half_along, half_across) = match lamp.body {
        Body::Panel {
            length_cm,
            width_cm,
        } => (length_cm / 2.0, width_cm / 2.0),
        Body::Tube { length_cm } => (length_cm / 2.0, 1.3),
        Body::Disc { diameter_cm } => {
            let n = 28;
            return (0..n)
                .map(|k| {
                    let (s, c) = (f64::from(k) / f64::from(n) * std::f64::consts::TAU).sin_cos();
                    lamp.at_cm + (along * c + across * s) * (diameter_cm / 2.0)
                })
                .collect();
        }
    };
    [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        .map(|(a, b)| lamp.at_cm + along * (a * half_along) + across * (b * half_across))
        .to_vec()
}

/// Direction in which a lamp shines.
pub(crate) fn lamp_axis(lamp: &Lamp) -> DVec3 {
    let (sin_tilt, cos_tilt) = lamp.tilt_deg.to_radians().sin_cos();
    let (sin_turn, cos_turn) = lamp.turn_deg.to_radians().sin_cos();
    DVec3::new(sin_tilt * cos_turn, sin_tilt * sin_turn, -cos_tilt)
}

/// A lamp: its face from above, its body and dotted light cone from the side.
pub(crate) fn lamp(painter: &Painter, frame: &Frame, lamp: &Lamp, tank: &Tank, look: &Look<'_>) {
    /// Height of its body, in points: in folded air nothing is to scale.
    const BODY: f32 = 6.0;
    let theme = look.theme;
    let line = if look.is_lit { theme.accent } else { theme.ink };
    let face = face_cm(lamp);
    if frame.view == View::Top {
        let mut corners: Vec<Pos2> = face.iter().map(|p| frame.pos(*p)).collect();
        if let Some(first) = corners.first().copied() {
            corners.push(first);
        }
        let width = if look.is_lit { 1.8 } else { 1.2 };
        label::dashed(painter, &corners, Stroke::new(width, line), 5.0, 3.0);
        let fill = theme.glow.gamma_multiply(0.10);
        painter.add(Shape::convex_polygon(corners, fill, Stroke::NONE));
        return;
    }
    let flats: Vec<DVec2> = face.iter().map(|p| frame.view.flat(*p)).collect();
    let ends = flats.iter().fold((flats[0], flats[0]), |(lo, hi), p| {
        (
            if p.x < lo.x { *p } else { lo },
            if p.x > hi.x { *p } else { hi },
        )
    });
    let up = frame.vector(-lamp_axis(lamp)).normalized() * BODY;
    let [from, to] = [ends.0, ends.1].map(|p| frame.pos_flat(p));
    let corners = [from, to, to + up, from + up];
    let stroke = Stroke::new(if look.is_lit { 2.2 } else { 1.6 }, line);
    painter.add(Shape::convex_polygon(corners.to_vec(), theme.sheet, stroke));
    painter.line_segment([corners[0], corners[1]], Stroke::new(2.6, theme.glow));
    if let Spread::Beam { full_angle_deg } = lamp.spread {
        let half_rad = (full_angle_deg / 2.0).to_radians();
        for (end, sign) in [(ends.0, -1.0), (ends.1, 1.0)] {
            let path = cone_edge(lamp, frame.view, tank, end, sign * half_rad);
            let points: Vec<Pos2> = path.iter().map(|p| frame.pos_flat(*p)).collect();
            label::dotted(painter, &points, cone_color(theme), 5.0);
        }
    }
}

fn cone_color(theme: &Theme) -> Color32 {
    if theme.is_night {
        theme.glow
    } else {
        // Darker than the glow itself, to be seen on paper and on the wash.
        Color32::from_rgb(0xA8, 0x78, 0x10)
    }
}

/// The edge of a light cone in an upright view: straight to the water, bent
/// there by Snell's law, straight to the bottom.
fn cone_edge(lamp: &Lamp, view: View, tank: &Tank, from: DVec2, angle_rad: f64) -> Vec<DVec2> {
    let axis = view.flat(lamp_axis(lamp));
    let lean = axis.x.atan2(-axis.y);
    let air = (lean + angle_rad).clamp(-1.45, 1.45);
    let mut path = vec![from];
    let mut at = from;
    if at.y > tank.water_cm {
        at = DVec2::new(at.x + (at.y - tank.water_cm) * air.tan(), tank.water_cm);
        path.push(at);
    }
    let water = (air.sin() / tank.water.refractive_index.max(1.0)).asin();
    let [lo, hi] = crate::ui::paint::tank::inside_cm(tank, view);
    if at.x < lo.x || at.x > hi.x {
        return path;
    }
    let floor_x = at.x + at.y * water.tan();
    let wall_x = floor_x.clamp(lo.x, hi.x);
    let drop = if water.tan().abs() > 1e-9 {
        ((wall_x - at.x) / water.tan()).abs().min(at.y)
    } else {
        at.y
    };
    path.push(DVec2::new(wall_x, at.y - drop));
    path
}

/// A reading: a small cross.
pub(crate) fn reading(painter: &Painter, frame: &Frame, at_cm: DVec3, theme: &Theme) {
    let at = frame.pos(at_cm);
    for d in [vec2(4.5, 4.5), vec2(4.5, -4.5)] {
        painter.line_segment([at - d, at + d], Stroke::new(3.4, theme.sheet));
        painter.line_segment([at - d, at + d], Stroke::new(1.5, theme.ink));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::{Programme, Sand, Sides, Water};

    fn tank() -> Tank {
        Tank {
            length_cm: 120.0,
            width_cm: 60.0,
            height_cm: 55.0,
            water_cm: 50.0,
            sand: Sand::default(),
            sides: Sides::default(),
            panes: crate::scene::Panes::default(),
            water: Water::default(),
            returns: vec![],
            overflow: None,
        }
    }

    fn small_pump(flow_lph: f64) -> Pump {
        Pump {
            id: 1,
            name: String::new(),
            kind: PumpKind::Propeller,
            at_cm: DVec3::new(3.0, 30.0, 30.0),
            turn_deg: 0.0,
            tilt_deg: 0.0,
            flow_lph,
            outlet_cm: 2.0,
            throttle: 1.0,
            programme: Programme::Steady,
            power_w: None,
            by_hour: Vec::new(),
            guarded: false,
            measured: None,
            locked: false,
        }
    }

    #[test]
    fn a_small_jet_ends_where_the_law_says_and_a_large_one_at_the_glass() {
        // 500 L/h through 2 cm is 0.4421 m/s: 5.9 · 0.4421 · 2 / 0.1 = 52.2 cm.
        let near = reach(&small_pump(500.0), &tank(), &Rockwork::default());
        assert!((near.distance_cm - 52.17).abs() < 0.05, "{near:?}");
        assert!((near.speed_cm_s - 10.0).abs() < 1e-9, "{near:?}");
        let far = reach(&small_pump(5000.0), &tank(), &Rockwork::default());
        assert!((far.tip_cm.x - 120.0).abs() < 1e-9, "at the glass: {far:?}");
        assert!(far.speed_cm_s > 10.0, "still fast there: {far:?}");
    }

    #[test]
    fn aim_and_angles_undo_each_other() {
        for (turn, tilt) in [(0.0, 0.0), (135.0, -20.0), (-70.0, 45.0)] {
            let back = angles_deg(aim(turn, tilt));
            assert!(
                (back.0 - turn).abs() < 1e-9 && (back.1 - tilt).abs() < 1e-9,
                "{turn}, {tilt} came back as {back:?}"
            );
        }
    }

    #[test]
    fn a_light_cone_bends_at_the_surface_and_stops_at_glass_or_bottom() {
        let lamp = Lamp {
            id: 1,
            name: String::new(),
            body: Body::Disc { diameter_cm: 10.0 },
            at_cm: DVec3::new(60.0, 30.0, 60.0),
            turn_deg: 0.0,
            tilt_deg: 0.0,
            output: crate::scene::Output::Photons { umol_s: 100.0 },
            spread: Spread::default(),
            dim: 1.0,
            day: crate::scene::Day::default(),
            measured: None,
            locked: false,
        };
        let path = cone_edge(&lamp, View::Side, &tank(), DVec2::new(60.0, 60.0), 0.5);
        // tan 0.5 · 10 cm of air; sin 0.5 / 1.34 = 0.3578, tan of it 0.3831.
        assert!((path[1].x - 65.463).abs() < 1e-3, "enters at {}", path[1]);
        assert!(
            (path[2].x - 65.463 - 50.0 * 0.38314).abs() < 2e-3,
            "{}",
            path[2]
        );
        assert!(path[2].y.abs() < 1e-9, "on the bottom");
    }
}

//! Pumps, returns, overflow, lamps and corals as ink.

use glam::{DMat3, DVec2, DVec3};

use super::ink::{Drawing, Pen, Wash, ellipse};
use super::labels::Labels;
use super::palette::{ACCENT, CORAL, GLOW, INK, PAPER, WATER_LINE};
use super::view::{Frame, View};
use crate::scene::{
    Body, Coral, Lamp, Layout, Overflow, Pump, Return, SideName, Spread, Tank, aim, solids,
};
use crate::units::M_PER_CM;

/// Length of an aim's arrow, in cm.
const AIM_CM: f64 = 14.0;

/// Draws the lamps of a layout.
pub(super) fn draw_lamps(
    to: &mut Drawing,
    frame: &Frame,
    (tank, layout): (&Tank, &Layout),
    labels: &mut Labels,
) {
    for lamp in &layout.lamps {
        let (low, high) = draw_lamp(to, frame, tank, lamp);
        // From above at a corner, where rock seldom is; else below its body.
        let at = match frame.view {
            View::Top => DVec2::new(low.x + 4.0, high.y),
            View::Side | View::End => DVec2::new(low.midpoint(high).x, high.y + 2.0),
        };
        let reach_mm = 0.3;
        labels.add(at, reach_mm, lamp.id, &lamp.name);
    }
}

/// Draws the pumps of a layout and the tank's own gear.
pub(super) fn draw(
    to: &mut Drawing,
    frame: &Frame,
    (tank, layout): (&Tank, &Layout),
    labels: &mut Labels,
) {
    if let Some(overflow) = &tank.overflow {
        draw_overflow(to, frame, tank, overflow);
    }
    for nozzle in &tank.returns {
        draw_return(to, frame, nozzle);
    }
    for pump in &layout.pumps {
        let (at, end) = draw_pump(to, frame, pump);
        for share in [0.3, 0.5, 0.7, 0.9] {
            labels.avoid(at.lerp(end, share), 0.7);
        }
        labels.add(frame.at(pump.at_cm), 2.2, pump.id, &pump.name);
    }
}

/// A ring and the arrow of its aim; where the arrow starts and ends.
fn draw_pump(to: &mut Drawing, frame: &Frame, pump: &Pump) -> (DVec2, DVec2) {
    let radius_mm = (pump.outlet_cm / 2.0 * frame.mm_per_cm).max(1.3);
    let (at, along) = (frame.at(pump.at_cm), aim(pump.turn_deg, pump.tilt_deg));
    let end = frame.at(pump.at_cm + along * AIM_CM);
    let away = end - at;
    if away.length() > radius_mm + 1.0 {
        let from = at + away.normalize_or_zero() * radius_mm;
        to.arrow(from, end, 2.4, Pen::new(0.4, ACCENT));
    }
    to.circle(
        at,
        radius_mm,
        Some(Wash::full(PAPER)),
        Some(Pen::new(0.4, INK)),
    );
    to.circle(at, 0.4, Some(Wash::full(INK)), None);
    (at, end)
}

fn draw_return(to: &mut Drawing, frame: &Frame, nozzle: &Return) {
    let radius_mm = (nozzle.outlet_cm / 2.0 * frame.mm_per_cm).max(0.9);
    let at = frame.at(nozzle.at_cm);
    let along = aim(nozzle.turn_deg, nozzle.tilt_deg);
    let end = frame.at(nozzle.at_cm + along * (AIM_CM / 2.0));
    let way = end - at;
    if way.length() > radius_mm + 1.0 {
        let from = at + way.normalize_or_zero() * radius_mm;
        to.arrow(from, end, 1.8, Pen::new(0.3, INK));
    }
    let half = DVec2::splat(radius_mm);
    to.rect(
        at - half,
        at + half,
        Some(Wash::full(PAPER)),
        Some(Pen::new(0.35, INK)),
    );
}

/// A comb along its side.
fn draw_overflow(to: &mut Drawing, frame: &Frame, tank: &Tank, weir: &Overflow) {
    let at = |along_cm: f64, z_cm: f64| match weir.side {
        SideName::Left => DVec3::new(0.0, along_cm, z_cm),
        SideName::Right => DVec3::new(tank.length_cm, along_cm, z_cm),
        SideName::Front => DVec3::new(along_cm, 0.0, z_cm),
        SideName::Back => DVec3::new(along_cm, tank.width_cm, z_cm),
    };
    let inwards = match weir.side {
        SideName::Left => DVec3::X,
        SideName::Right => DVec3::NEG_X,
        SideName::Front => DVec3::Y,
        SideName::Back => DVec3::NEG_Y,
    };
    let (high, low) = (tank.water_cm, tank.water_cm - weir.depth_cm);
    let pen = Pen::new(0.3, WATER_LINE);
    let ends = [weir.from_cm, weir.to_cm];
    for z_cm in [high, low] {
        to.line(
            frame.at(at(ends[0], z_cm)),
            frame.at(at(ends[1], z_cm)),
            pen,
        );
    }
    let n = ((weir.to_cm - weir.from_cm) / 2.0).ceil().clamp(1.0, 60.0) as usize;
    for k in 0..=n {
        let along_cm = ends[0] + (ends[1] - ends[0]) * k as f64 / n as f64;
        let top = at(along_cm, high);
        let end = if frame.view == View::Top {
            top + inwards * 1.2
        } else {
            at(along_cm, low)
        };
        to.line(frame.at(top), frame.at(end), pen);
    }
}

/// The lamp's glowing face as it is seen, and where its beam goes; the box
/// that it takes on paper.
fn draw_lamp(to: &mut Drawing, frame: &Frame, tank: &Tank, lamp: &Lamp) -> (DVec2, DVec2) {
    let turn = DMat3::from_rotation_z(lamp.turn_deg.to_radians());
    let lean = DMat3::from_rotation_y(-lamp.tilt_deg.to_radians());
    let tank_from_lamp = turn * lean;
    let face: Vec<DVec3> = match lamp.body {
        Body::Panel {
            length_cm,
            width_cm,
        } => corners(length_cm, width_cm),
        Body::Tube { length_cm } => corners(length_cm, 1.6),
        Body::Disc { diameter_cm } => ellipse(DVec2::ZERO, DVec2::splat(diameter_cm / 2.0))
            .into_iter()
            .map(|p| p.extend(0.0))
            .collect(),
    };
    // A body of 2 cm above the face, so that it shows from the side.
    let place =
        |p: &DVec3, up_cm: f64| frame.at(lamp.at_cm + tank_from_lamp * (*p + DVec3::Z * up_cm));
    let under: Vec<DVec2> = face.iter().map(|p| place(p, 0.0)).collect();
    let over: Vec<DVec2> = face.iter().map(|p| place(p, 2.0)).collect();
    if frame.view == View::Top {
        to.area(
            vec![under.clone()],
            None,
            Some(Pen::new(0.3, GLOW).dashed(2.0, 1.2)),
        );
        return extent(under.iter());
    }
    let (low, high) = extent(under.iter().chain(&over));
    to.rect(
        low,
        high,
        Some(Wash::full(PAPER)),
        Some(Pen::new(0.35, INK)),
    );
    if let Spread::Beam { full_angle_deg } = lamp.spread {
        draw_beam(to, frame, tank, (lamp, &tank_from_lamp), full_angle_deg);
    }
    (low, high)
}

/// The two edges of a beam at half intensity, down to the water and, bent,
/// to the bed.
fn draw_beam(
    to: &mut Drawing,
    frame: &Frame,
    tank: &Tank,
    (lamp, tank_from_lamp): (&Lamp, &DMat3),
    full_angle_deg: f64,
) {
    let half = (full_angle_deg / 2.0).min(80.0).to_radians();
    let across = frame.view.place(DVec3::X);
    let reach = match lamp.body {
        Body::Panel { length_cm, .. } | Body::Tube { length_cm } if frame.view == View::Side => {
            length_cm / 2.0
        }
        Body::Panel { width_cm, .. } => width_cm / 2.0,
        Body::Disc { diameter_cm } => diameter_cm / 2.0,
        Body::Tube { .. } => 0.8,
    };
    for side in [-1.0, 1.0] {
        let down = (DVec3::NEG_Z * half.cos() + across * side * half.sin()).normalize();
        let down = if lamp.tilt_deg == 0.0 {
            down
        } else {
            *tank_from_lamp * down
        };
        let from = lamp.at_cm + across * side * reach;
        if down.z > -0.05 {
            continue;
        }
        let water = from + down * ((from.z - tank.water_cm) / -down.z);
        // Snell: the part along the surface shrinks by the index.
        let flat = DVec3::new(down.x, down.y, 0.0) / tank.water.refractive_index.max(1.0);
        let bent = DVec3::new(
            flat.x,
            flat.y,
            -(1.0 - flat.length_squared()).max(0.0).sqrt(),
        );
        let bed_cm = tank.sand.depth_cm;
        let bed = water + bent * ((water.z - bed_cm) / -bent.z);
        let seen = [from, water, bed].map(|p| frame.view.seen(p).truncate());
        let width_cm = frame.view.size_cm(tank).x;
        let kept = clipped(&seen, width_cm);
        to.path(
            kept.into_iter().map(|p| frame.on_paper(p)).collect(),
            Pen::new(0.22, GLOW).dashed(0.5, 1.1),
        );
    }
}

/// A line as far as it stays within the tank's width.
fn clipped(points: &[DVec2; 3], width_cm: f64) -> Vec<DVec2> {
    let mut kept = vec![points[0]];
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if b.x >= 0.0 && b.x <= width_cm {
            kept.push(b);
            continue;
        }
        let wall = if b.x < 0.0 { 0.0 } else { width_cm };
        let share = (wall - a.x) / (b.x - a.x);
        if share > 0.0 && share < 1.0 {
            kept.push(a.lerp(b, share));
        }
        break;
    }
    kept
}

fn corners(length_cm: f64, width_cm: f64) -> Vec<DVec3> {
    let (x, y) = (length_cm / 2.0, width_cm / 2.0);
    vec![
        DVec3::new(-x, -y, 0.0),
        DVec3::new(x, -y, 0.0),
        DVec3::new(x, y, 0.0),
        DVec3::new(-x, y, 0.0),
    ]
}

fn extent<'a>(points: impl Iterator<Item = &'a DVec2>) -> (DVec2, DVec2) {
    points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), p| {
        (low.min(*p), high.max(*p))
    })
}

/// Draws corals, the farther ones first, and notes their labels.
pub(super) fn draw_corals(
    to: &mut Drawing,
    frame: &Frame,
    layout: &Layout,
    labels: &mut Labels,
    name_of: &dyn Fn(&Coral) -> String,
) {
    let mut order: Vec<&Coral> = layout.corals.iter().collect();
    order.sort_by(|a, b| {
        let towards = |coral: &Coral| frame.view.seen(coral.at_cm).z;
        towards(a).total_cmp(&towards(b))
    });
    for coral in order {
        let (middle, outline) = coral_outline(coral, &|p| frame.at(p));
        to.area(
            vec![outline],
            Some(Wash::full(CORAL)),
            Some(Pen::new(0.25, INK)),
        );
        let reach_mm = coral.size_cm.x.max(coral.size_cm.y) / 2.0 * frame.mm_per_cm;
        labels.add(middle, reach_mm + 0.4, coral.id, &name_of(coral));
    }
}

/// The outline of a coral's half ellipsoid as it is seen: the convex hull of
/// points on it.
pub(super) fn coral_outline(coral: &Coral, place: &dyn Fn(DVec3) -> DVec2) -> (DVec2, Vec<DVec2>) {
    let body = solids::coral_body(coral, None);
    let mut points = Vec::new();
    for ring in 0..=6 {
        let up = f64::from(ring) / 6.0 * std::f64::consts::FRAC_PI_2;
        for k in 0..60 {
            let turn = f64::from(k) / 60.0 * std::f64::consts::TAU;
            let unit = DVec3::new(turn.cos() * up.cos(), turn.sin() * up.cos(), up.sin());
            let at_m = body.base_m + body.tank_from_coral * (unit * body.reach_m);
            points.push(place(at_m / M_PER_CM));
        }
    }
    let middle_m = body.base_m + body.tank_from_coral * (DVec3::Z * body.reach_m.z * 0.4);
    (place(middle_m / M_PER_CM), hull(points))
}

/// Convex hull (Andrew's monotone chain).
fn hull(points: Vec<DVec2>) -> Vec<DVec2> {
    let mut points = points;
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = DVec2>| {
        let mut chain: Vec<DVec2> = Vec::new();
        for p in points {
            while let [.., a, b] = chain.as_slice()
                && (*b - *a).perp_dot(p - *b) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut outline = half(&mut points.iter().copied());
    outline.extend(half(&mut points.iter().rev().copied()));
    outline
}

//! Pumps with their jets, returns, the overflow, and lamps with their light
//! cones.

use glam::{DVec2, DVec3};

use crate::flow::jet::Reach;
use crate::list::{Fill, Ink, Layer, Line, List, Pen, Shape, Source, Subject, Vertex};
use crate::scene::{Lamp, Pump, PumpKind, Return, SideName, Spread, Tank, aim};
use crate::view::View;

/// Radius of a pump's ring, in nibs.
pub const RING: f64 = 8.0;
/// Length from which a pump has an arrow, in nibs.
pub const ARROW_FROM: f64 = RING + 6.0;
/// Radius of the ring at the tip of an arrow, in nibs.
const TIP: f64 = 4.5;

/// Draws overflow, returns, lamps and pumps.
pub(crate) fn draw(list: &mut List, source: &Source<'_>) {
    let tank = &source.study.scene().tank;
    overflow(list, tank);
    for (idx, nozzle) in tank.returns.iter().enumerate() {
        back(list, idx, nozzle);
    }
    let layout = source.study.layout();
    for each in &layout.lamps {
        lamp(list, each, tank);
    }
    for (each, reach) in layout.pumps.iter().zip(&source.facts.reaches) {
        pump(list, each, reach);
    }
}

/// Where a jet's arrow ends in a view, if it is long enough to be drawn.
pub(crate) fn arrow(
    (view, nibs_per_cm): (View, f64),
    pump: &Pump,
    reach: &Reach,
) -> Option<[DVec2; 2]> {
    let (from, tip) = (view.flat(pump.at_cm), view.flat(reach.tip_cm()));
    (from.distance(tip) * nibs_per_cm > ARROW_FROM).then_some([from, tip])
}

/// A pump: a ring, and an arrow to where its jet is felt.
fn pump(list: &mut List, pump: &Pump, reach: &Reach) {
    let place = (Subject::Pump(pump.id), Layer::Gear);
    let from = list.view.flat(pump.at_cm);
    if let Some([from, tip]) = arrow((list.view, list.nibs_per_cm), pump, reach) {
        let along = (tip - from).normalize();
        let jet = taper(
            [
                Vertex::at(from).off(along * RING),
                Vertex::at(tip).off(-along * TIP),
            ],
            (along, 3.6),
        );
        // Without a line of its own; a lit one has the pen's.
        let pen = Pen::new(0.0, Ink::Accent);
        list.add(place, jet, Some(Fill::full(Ink::Accent)), Some(pen));
        let ring = Shape::dot(tip, TIP);
        let pen = Pen::new(1.5, Ink::Accent);
        list.add(place, ring, Some(Fill::full(Ink::Paper)), Some(pen));
    }
    if let PumpKind::CrossFlow { length_cm } = pump.kind {
        let half = DVec3::Z * (length_cm / 2.0);
        let ends = [pump.at_cm - half, pump.at_cm + half].map(|end| list.view.flat(end));
        for (width, ink) in [(9.0, Ink::Line), (6.0, Ink::Paper)] {
            let pen = Pen::new(width, ink).steady();
            list.add(place, Shape::line(ends), None, Some(pen));
        }
    }
    let pen = Pen::new(2.0, Ink::Line);
    let paper = Some(Fill::full(Ink::Paper));
    list.add(place, Shape::dot(from, RING), paper, Some(pen));
    // Three blades, so that a pump is not taken for a coral.
    for k in 0..3 {
        let angle = (f64::from(k) + 0.25) / 3.0 * std::f64::consts::TAU;
        let blade = DVec2::new(angle.cos(), -angle.sin()) * (RING - 2.5);
        let line = [Vertex::at(from), Vertex::at(from).off(blade)];
        let pen = Pen::new(1.4, Ink::Line).steady();
        list.add(place, Shape::path(line), None, Some(pen));
    }
}

/// A stroke that grows thin, as a jet grows slow.
fn taper([from, to]: [Vertex; 2], (along, width): (DVec2, f64)) -> Shape {
    const THIN: f64 = 1.0;
    let side = -along.perp() / 2.0;
    let beside = |vertex: Vertex, width: f64| vertex.off(vertex.off + side * width);
    Shape::convex([
        beside(from, width),
        beside(to, THIN),
        beside(to, -THIN),
        beside(from, -width),
    ])
}

/// A return nozzle: a small elbow with a short arrow.
fn back(list: &mut List, idx: usize, nozzle: &Return) {
    /// Length of the arrow, in cm.
    const ARROW_CM: f64 = 7.0;
    const SIZE: f64 = 5.0;
    let place = (Subject::Return(idx), Layer::Fixed);
    let direction = aim(nozzle.turn_deg, nozzle.tilt_deg);
    let from = list.view.flat(nozzle.at_cm);
    let tip = list.view.flat(nozzle.at_cm + direction * ARROW_CM);
    let pen = Pen::new(1.5, Ink::Accent);
    list.add(place, Shape::line([from, tip]), None, Some(pen));
    let barb = (from - tip) / 4.0;
    for turn in [-1.0, 1.0] {
        let turned = DVec2::from_angle(turn * std::f64::consts::TAU / 10.0).rotate(barb);
        list.add(place, Shape::line([tip, tip + turned]), None, Some(pen));
    }
    let corners = [DVec2::Y, DVec2::X, DVec2::NEG_Y, DVec2::NEG_X];
    let diamond = Shape::convex(corners.map(|to| Vertex::at(from).off(to * SIZE)));
    let pen = Pen::new(1.6, Ink::Line);
    list.add(place, diamond, Some(Fill::full(Ink::Paper)), Some(pen));
}

/// The overflow: a comb in the upper edge of its side.
fn overflow(list: &mut List, tank: &Tank) {
    /// Length of a tooth from above, in nibs.
    const TOOTH: f64 = 5.0;
    /// From tooth to tooth, in cm.
    const APART_CM: f64 = 1.2;
    let (Some(corners), Some(weir)) = (tank.overflow_cm(), tank.overflow) else {
        return;
    };
    let (view, place) = (list.view, (Subject::Overflow, Layer::Fixed));
    let (high, low) = (corners[0].z, corners[2].z);
    let box_ = Shape::convex(corners.map(|corner| Vertex::at(view.flat(corner))));
    let fill = Fill {
        ink: Ink::Paper,
        strength: 0.6,
    };
    list.add(place, box_, Some(fill), Some(Pen::new(1.3, Ink::Line)));
    let long_cm = weir.to_cm - weir.from_cm;
    let n_teeth = (long_cm / APART_CM).clamp(3.0, 60.0) as usize;
    let inwards = match weir.side {
        SideName::Left => DVec2::X,
        SideName::Right => DVec2::NEG_X,
        SideName::Front => DVec2::Y,
        SideName::Back => DVec2::NEG_Y,
    };
    for k in 1..n_teeth {
        let along = weir.from_cm + long_cm * k as f64 / n_teeth as f64;
        let at = |z_cm: f64| Vertex::at(view.flat(tank.on_side(weir.side, along, z_cm)));
        let end = if view == View::Top {
            at(high).off(inwards * TOOTH)
        } else {
            at(low)
        };
        let pen = Pen::new(0.9, Ink::Line).faint(0.8).steady();
        list.add(place, Shape::path([at(high), end]), None, Some(pen));
    }
}

/// A lamp: its face from above, its body and dotted light cone from the side.
fn lamp(list: &mut List, lamp: &Lamp, tank: &Tank) {
    /// Height of its body, in nibs: air may be folded, and not to scale.
    const BODY: f64 = 6.0;
    let (view, place) = (list.view, (Subject::Lamp(lamp.id), Layer::Gear));
    let face: Vec<DVec2> = lamp.face_cm().iter().map(|p| view.flat(*p)).collect();
    if view == View::Top {
        let glow = Fill {
            ink: Ink::Glow,
            strength: 0.10,
        };
        let pen = Pen::new(1.2, Ink::Line).run(Line::Dashed([5.0, 3.0]));
        let shape = Shape::convex(face.into_iter().map(Vertex::at));
        list.add(place, shape, Some(glow), Some(pen));
        return;
    }
    let ends = ends_of(&face);
    let up = view.flat(-lamp.axis()).normalize_or(DVec2::Y) * BODY;
    let [from, to] = ends.map(Vertex::at);
    let body = Shape::convex([from, to, to.off(up), from.off(up)]);
    let pen = Pen::new(1.6, Ink::Line);
    list.add(place, body, Some(Fill::full(Ink::Paper)), Some(pen));
    let pen = Pen::new(2.6, Ink::Glow).steady();
    list.add(place, Shape::path([from, to]), None, Some(pen));
    if let Spread::Beam { full_angle_deg } = lamp.spread {
        let half_rad = (full_angle_deg / 2.0).to_radians();
        for (end, sign) in ends.into_iter().zip([-1.0, 1.0]) {
            let path = cone_edge(lamp, view, tank, (end, sign * half_rad));
            let pen = Pen::new(1.8, Ink::Beam).run(Line::Dotted(5.0)).steady();
            list.add(place, Shape::line(path), None, Some(pen));
        }
    }
}

/// The leftmost and the rightmost of some places.
fn ends_of(places: &[DVec2]) -> [DVec2; 2] {
    let first = places.first().copied().unwrap_or_default();
    places.iter().fold([first; 2], |[low, high], p| {
        [
            if p.x < low.x { *p } else { low },
            if p.x > high.x { *p } else { high },
        ]
    })
}

/// The edge of a light cone in an upright view: straight to the water, bent
/// there, straight to the bottom or the pane.
fn cone_edge(lamp: &Lamp, view: View, tank: &Tank, (from, angle_rad): (DVec2, f64)) -> Vec<DVec2> {
    /// Flatter than this no edge is drawn, in rad.
    const FLAT_RAD: f64 = 1.45;
    let axis = view.flat(lamp.axis());
    let lean = axis.x.atan2(-axis.y);
    let air = (lean + angle_rad).clamp(-FLAT_RAD, FLAT_RAD);
    let mut path = vec![from];
    let mut at = from;
    if at.y > tank.water_cm {
        at = DVec2::new(at.x + (at.y - tank.water_cm) * air.tan(), tank.water_cm);
        path.push(at);
    }
    let water = tank.water.bent_rad(air);
    let wide = view.size_cm(tank).x;
    if at.x < 0.0 || at.x > wide {
        return path;
    }
    let floor_x = at.x + at.y * water.tan();
    let wall_x = floor_x.clamp(0.0, wide);
    let drop = if water.tan().abs() > 1e-9 {
        ((wall_x - at.x) / water.tan()).abs().min(at.y)
    } else {
        at.y
    };
    path.push(DVec2::new(wall_x, at.y - drop));
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Scene;

    #[test]
    fn a_light_cone_bends_at_the_surface_and_stops_at_glass_or_bottom() {
        let scene: Scene = ron::from_str(crate::tests::HARBOR).expect("it reads");
        let (tank, lamp) = (scene.tank, &scene.layouts[0].lamps[0]);
        assert_eq!(
            (tank.length_cm, tank.water_cm),
            (120.0, 50.0),
            "as reckoned with"
        );
        assert_eq!(lamp.tilt_deg, 0.0, "it hangs level");
        let path = cone_edge(lamp, View::Side, &tank, (DVec2::new(60.0, 60.0), 0.5));
        // tan 0.5 · 10 cm of air; sin 0.5 / 1.34 = 0.3578, tan of it 0.3831.
        assert!((path[1].x - 65.463).abs() < 1e-3, "enters at {}", path[1]);
        let foot = 65.463 + 50.0 * 0.38314;
        assert!((path[2].x - foot).abs() < 2e-3, "ends at {}", path[2]);
        assert!(path[2].y.abs() < 1e-9, "on the bottom");
        let aside = cone_edge(lamp, View::Side, &tank, (DVec2::new(118.0, 51.0), 0.5));
        assert!((aside[2].x - 120.0).abs() < 1e-9, "at the pane: {aside:?}");
        assert!(aside[2].y > 40.0, "not far below the surface: {aside:?}");
    }
}

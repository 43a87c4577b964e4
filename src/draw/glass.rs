//! The glass box: panes, the surface of the water and the top of the bed.

use std::sync::Arc;

use glam::DVec2;

use crate::area::Area;
use crate::list::{Fill, Ink, Layer, List, Pen, Shape, Source, Subject, Vertex};
use crate::scene::Tank;
use crate::view::View;

/// How a line that should be level is drawn: swing and length of its waves, in
/// cm. A hand-drawn line, not a ruled one.
const BED_WAVE_CM: [f64; 2] = [0.12, 3.7];
/// The same of the surface: a quiet wave.
const SURFACE_WAVE_CM: [f64; 2] = [0.22, 17.0];

/// Draws panes, surface and bed.
pub(crate) fn draw(list: &mut List, source: &Source<'_>) {
    let tank = &source.study.scene().tank;
    if tank.sand.depth_cm > 0.0 {
        sand(list, tank);
    }
    if list.view != View::Top {
        levels(list, tank);
    }
    panes(list, tank);
}

/// Sand with its grains: a floor from above, a bed from the side.
fn sand(list: &mut List, tank: &Tank) {
    /// From one grain to the next, in nibs: fewer where sand is all one sees.
    const APART: [f64; 2] = [11.5, 7.0];
    const RADIUS: f64 = 0.65;
    let size = list.view.size_cm(tank).truncate();
    let (layer, high, apart) = match list.view {
        View::Top => (Layer::Floor, size.y, APART[0]),
        View::Side | View::End => (Layer::Bed, tank.sand.depth_cm, APART[1]),
    };
    let area = Area::upright(glam::Vec2::ZERO, DVec2::new(size.x, high).as_vec2());
    let grains = Shape::Dots {
        at_cm: DVec2::ZERO,
        dots: Arc::new(area.strewn(list.cm(apart) as f32)),
        radius: RADIUS,
    };
    let ground = Shape::Area {
        at_cm: DVec2::ZERO,
        area: Arc::new(area),
    };
    let grain = Fill {
        ink: Ink::Line,
        strength: 0.42,
    };
    let place = (Subject::Tank, layer);
    list.add(place, ground, Some(Fill::full(Ink::Sand)), None);
    list.add(place, grains, Some(grain), None);
}

/// The top of the bed and the surface of the water.
fn levels(list: &mut List, tank: &Tank) {
    let wide = list.view.size_cm(tank).x;
    if tank.sand.depth_cm > 0.0 {
        let line = wavy(wide, tank.sand.depth_cm, BED_WAVE_CM);
        let pen = Pen::new(1.0, Ink::Line).faint(0.7).steady();
        let place = (Subject::Tank, Layer::Bed);
        list.add(place, Shape::line(line), None, Some(pen));
    }
    let line = wavy(wide, tank.water_cm, SURFACE_WAVE_CM);
    let pen = Pen::new(1.8, Ink::Water).steady();
    let place = (Subject::Tank, Layer::Glass);
    list.add(place, Shape::line(line), None, Some(pen));
}

fn panes(list: &mut List, tank: &Tank) {
    const WIDTH: f64 = 2.0;
    let size = list.view.size_cm(tank).truncate();
    let pen = Some(Pen::new(WIDTH, Ink::Line).steady());
    let place = (Subject::Tank, Layer::Glass);
    let corners = [
        DVec2::new(0.0, size.y),
        DVec2::ZERO,
        DVec2::new(size.x, 0.0),
        size,
    ];
    let shape = if list.view == View::Top {
        // Around the water, not on it.
        let out = |corner: DVec2| (corner - size / 2.0).signum() * (WIDTH / 2.0);
        Shape::convex(corners.map(|corner| Vertex::at(corner).off(out(corner))))
    } else {
        Shape::line(corners)
    };
    list.add(place, shape, None, pen);
}

/// A level line with a slow swing.
fn wavy(wide_cm: f64, height_cm: f64, [swing_cm, wave_cm]: [f64; 2]) -> Vec<DVec2> {
    let n = (wide_cm / wave_cm * 10.0).ceil().clamp(8.0, 600.0) as usize;
    (0..=n)
        .map(|k| {
            let x = wide_cm * k as f64 / n as f64;
            let phase = x / wave_cm * std::f64::consts::TAU;
            let swing = phase.sin() + 0.4 * (phase * 0.37 + 1.0).sin();
            DVec2::new(x, height_cm + swing_cm * swing)
        })
        .collect()
}

//! How to take readings that count: what to run, where, how often, and what it
//! is worth.

use std::fmt::Write as _;

use crate::scene::{Layout, Pump, PumpKind, Scene, aim};
use crate::units::{Measure, UnitSystem};

/// One part of the protocol.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// Its heading.
    pub heading: &'static str,
    /// What to do, one step each.
    pub steps: Vec<String>,
    /// What it is worth.
    pub worth: &'static str,
}

/// The protocol for a layout: light, then each pump alone, then drifts.
pub fn parts(scene: &Scene, layout: &Layout, units: UnitSystem) -> Vec<Part> {
    let mut parts = Vec::new();
    if !layout.lamps.is_empty() {
        parts.push(light(scene, layout, units));
    }
    if !layout.pumps.is_empty() {
        parts.push(jets(scene, layout, units));
        parts.push(drifts(scene, units));
    }
    parts
}

/// The same as plain text.
pub fn text(scene: &Scene, layout: &Layout, units: UnitSystem) -> String {
    let mut text = String::new();
    for part in parts(scene, layout, units) {
        // Writing to a String cannot fail.
        let _written = writeln!(text, "{}", part.heading);
        for (i, step) in part.steps.iter().enumerate() {
            let _written = writeln!(text, "  {}. {step}", i + 1);
        }
        let _written = writeln!(text, "  What it is worth: {}\n", part.worth);
    }
    text
}

fn light(scene: &Scene, layout: &Layout, units: UnitSystem) -> Part {
    let long = |cm: f64| long(cm, units);
    let tank = &scene.tank;
    let (length, width) = (tank.length_cm, tank.width_cm);
    let (low, high) = (tank.sand.depth_cm + 2.0, tank.water_cm - 8.0);
    let mut steps = vec![
        "All lamps at full setting for ten minutes, pumps off, the surface calm.".to_owned(),
        format!(
            "Sensor level, facing up, yourself out of the light. Near the bottom (z {}) in the middle \
             (x {}, y {}), then {} from each pane.",
            long(low),
            long(length / 2.0),
            long(width / 2.0),
            long(3.0)
        ),
        format!(
            "The same near the top (z {}): two heights tell the water's absorption from the lamps' output.",
            long(high)
        ),
        "Each place twice; write down both, and half of their difference as the spread.".to_owned(),
    ];
    if layout.lamps.len() > 1 {
        steps.push(format!(
            "With each of the {} lamps alone (the others off) one reading below it: only so can they be told apart.",
            layout.lamps.len()
        ));
    }
    Part {
        heading: "Light",
        steps,
        worth: "a hobby sensor is good to a tenth; ten readings find the lamps' output to about 5 %, \
                the share that panes return to about 0.1. Readings close to a clear pane are what \
                tells that share.",
    }
}

fn jets(scene: &Scene, layout: &Layout, units: UnitSystem) -> Part {
    let long = |cm: f64| long(cm, units);
    let mut steps = vec![
        "One pump on at a time, all others and the return off; wait two minutes.".to_owned(),
        format!(
            "Measure the speed on the axis of its jet at two distances, with a current meter or by a drift: \
             a few grains of soaked food let go on the axis, timed over {} around the place, five tries.",
            long(10.0)
        ),
    ];
    for pump in &layout.pumps {
        let [near, far] = distances_cm(scene, pump);
        let name = if pump.name.is_empty() {
            format!("pump {}", pump.id)
        } else {
            format!("{:?}", pump.name)
        };
        steps.push(format!(
            "{name}: at {} and at {} from its outlet.",
            long(near),
            long(far)
        ));
    }
    steps.push(
        "Never reach into the water with pumps plugged in: let the grains go from a tube, and read \
         the way against marks on the front glass."
            .to_owned(),
    );
    Part {
        heading: "Each pump alone",
        steps,
        worth: "five drifts are good to a tenth; two distances find a pump's thrust to about 15 % and \
                where its jet seems to begin. One distance finds the thrust alone.",
    }
}

fn drifts(scene: &Scene, units: UnitSystem) -> Part {
    let long = |cm: f64| long(cm, units);
    let tank = &scene.tank;
    Part {
        heading: "Drifts with everything on",
        steps: vec![
            "All pumps as they always run; wait five minutes.".to_owned(),
            format!(
                "Let grains go at six places or more, some of them behind rock; time each over {} to {}, five tries.",
                long(10.0),
                long((tank.length_cm / 5.0).max(15.0))
            ),
            "Note where the middle of the way lies, the way, and the mean of the times.".to_owned(),
        ],
        worth: "no pump is fitted to these, since at one point the estimate of a whole tank is too \
                uncertain; they tell how far to trust it.",
    }
}

/// A length as it is read off a tape.
fn long(cm: f64, units: UnitSystem) -> String {
    Measure::Length.rounded_text(cm, 0, units)
}

/// Two distances on a pump's axis, in cm: beyond its core, and as far as the
/// way is free or 20 outlets.
fn distances_cm(scene: &Scene, pump: &Pump) -> [f64; 2] {
    let tank = &scene.tank;
    let along = aim(pump.turn_deg, pump.tilt_deg);
    let high = [tank.length_cm, tank.width_cm, tank.water_cm];
    let low = [0.0, 0.0, tank.sand.depth_cm];
    let free = (0..3).map(|axis| {
        let step = along[axis];
        let end = if step > 0.0 { high[axis] } else { low[axis] };
        if step.abs() < 1e-6 {
            f64::INFINITY
        } else {
            (end - pump.at_cm[axis]) / step
        }
    });
    let free_cm = free.fold(f64::INFINITY, f64::min).max(0.0);
    let wide_cm = match pump.kind {
        PumpKind::CrossFlow { length_cm } => (pump.outlet_cm * length_cm).sqrt(),
        PumpKind::Propeller | PumpKind::Nozzle => pump.outlet_cm,
    };
    let far = (20.0 * wide_cm).min(0.7 * free_cm).max(2.0);
    let near = (8.0 * wide_cm).min(0.5 * far);
    [near, far]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_lie_on_the_free_way() {
        let text = r#"(
            format: 1, name: "t",
            tank: (length_cm: 100.0, width_cm: 50.0, height_cm: 50.0, water_cm: 45.0),
            layouts: [(name: "one", pumps: [
                (id: 2, name: "left", at_cm: (5.0, 25.0, 30.0), flow_lph: 3000.0, outlet_cm: 4.0),
            ])],
        )"#;
        let scene: Scene = ron::from_str(text).unwrap();
        let layout = &scene.layouts[0];
        let [near, far] = distances_cm(&scene, &layout.pumps[0]);
        // 95 cm are free: 20 outlets are 80 cm, more than 0.7 of them.
        assert!(
            (far - 66.5).abs() < 1e-9 && (near - 32.0).abs() < 1e-9,
            "{near}, {far}"
        );
        let said = super::text(&scene, layout, UnitSystem::Metric);
        assert!(
            said.contains("at 32 cm and at 66 cm") || said.contains("at 32 cm and at 67 cm"),
            "{said}"
        );
        // 32 and 66.5 over 2.54.
        let said_in = super::text(&scene, layout, UnitSystem::Us);
        assert!(
            said_in.contains("at 12.6 in and at 26.2 in") && !said_in.contains(" cm"),
            "{said_in}"
        );
        assert!(!said.contains("Light"), "no lamps, no light");
    }
}

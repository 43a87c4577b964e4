//! Places as a tape measures them: from the panes, the sand and the water.

use glam::DVec3;

use crate::scene::{ItemId, Layout, Pump, Tank, aim};

/// Where the line of a pump's aim meets glass, sand or surface, as a tape
/// measures it.
pub(super) fn aimed_at(tank: &Tank, pump: &Pump) -> String {
    let along = aim(pump.turn_deg, pump.tilt_deg);
    let sand_cm = tank.sand.depth_cm;
    let low = DVec3::new(0.0, 0.0, sand_cm);
    let high = DVec3::new(tank.length_cm, tank.width_cm, tank.water_cm);
    // How far it is to the wall ahead, along each axis; none where it runs beside.
    let far = |axis: usize| {
        let wall = if along[axis] > 0.0 { high } else { low };
        let way_cm = (wall[axis] - pump.at_cm[axis]) / along[axis];
        (along[axis].abs() > 1e-9).then_some((way_cm.max(0.0), axis))
    };
    let nearest = (0..3).filter_map(far).min_by(|a, b| a.0.total_cmp(&b.0));
    let (way_cm, axis) = nearest.unwrap_or_default();
    let at = pump.at_cm + along * way_cm;
    let (across, deep) = (|| across(tank, at.x, at.x), || deep(tank, at.y, at.y));
    let up = || format!("{} above the sand", cm(at.z - sand_cm));
    match (axis, along[axis] > 0.0) {
        (0, true) => format!("the right pane, {}, {}", deep(), up()),
        (0, false) => format!("the left pane, {}, {}", deep(), up()),
        (1, true) => format!("the back, {}, {}", across(), up()),
        (1, false) => format!("the front, {}, {}", across(), up()),
        (_, true) => format!("the surface, {}, {}", across(), deep()),
        (_, false) => format!("the sand, {}, {}", across(), deep()),
    }
}

/// Where gear is: to the middle of a pump's mouth, or of a lamp's face.
pub(super) fn gear_place(tank: &Tank, layout: &Layout, items: &[ItemId]) -> Option<String> {
    let pump = layout.pumps.iter().find(|it| items.contains(&it.id));
    if let Some(pump) = pump {
        return Some(format!(
            "its mouth {}",
            tape(tank, (pump.at_cm, pump.at_cm))
        ));
    }
    let lamp = layout.lamps.iter().find(|it| items.contains(&it.id))?;
    let above = format!("{} above the full water", cm(lamp.at_cm.z - tank.water_cm));
    let flat = flat_tape(tank, (lamp.at_cm, lamp.at_cm));
    Some(format!("its middle {flat}, {above}"))
}

/// Where something is, as a tape measures it: to the two nearest panes and to
/// the sand.
pub(super) fn tape(tank: &Tank, (low, high): (DVec3, DVec3)) -> String {
    let flat = flat_tape(tank, (low, high));
    let above = low.z - tank.sand.depth_cm;
    let top = high.z - tank.sand.depth_cm;
    if (high.z - low.z).abs() < 0.1 {
        format!("{flat}, {} above the sand", cm(above))
    } else {
        format!("{flat}, its top {} above the sand", cm(top))
    }
}

/// How far something is from the two nearest panes.
fn flat_tape(tank: &Tank, (low, high): (DVec3, DVec3)) -> String {
    let side = across(tank, low.x, high.x);
    format!("{side}, {}", deep(tank, low.y, high.y))
}

/// The way to the nearer end pane, of what reaches from `low` to `high`.
fn across(tank: &Tank, low: f64, high: f64) -> String {
    let right = tank.length_cm - high;
    if low <= right {
        format!("{} from the left pane", cm(low))
    } else {
        format!("{} from the right pane", cm(right))
    }
}

/// The way to the nearer of front and back.
fn deep(tank: &Tank, low: f64, high: f64) -> String {
    let back = tank.width_cm - high;
    if low <= back {
        format!("{} from the front", cm(low))
    } else {
        format!("{} from the back", cm(back))
    }
}

/// A length as a tape is read: to half a centimeter.
fn cm(length_cm: f64) -> String {
    let half = (length_cm * 2.0).round() / 2.0 + 0.0;
    format!("{half} cm")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Scene;

    /// A tank of 120 × 60 cm with 50 cm of water over 3 cm of sand.
    fn scene() -> Scene {
        ron::from_str(include_str!("../../tests/data/example.ron")).expect("it reads")
    }

    #[test]
    fn an_aim_is_where_its_line_ends() {
        let scene = scene();
        let tank = &scene.tank;
        let mut pump = scene.layouts[0].pumps[0].clone();
        let mut aimed = |at: [f64; 3], turn_deg: f64, tilt_deg: f64| {
            pump.at_cm = DVec3::from(at);
            (pump.turn_deg, pump.tilt_deg) = (turn_deg, tilt_deg);
            aimed_at(tank, &pump)
        };
        for (at, turn, tilt, words) in [
            // Straight along the tank.
            (
                [3.0, 10.0, 33.0],
                0.0,
                0.0,
                "the right pane, 10 cm from the front, 30 cm above the sand",
            ),
            // 45° to the back wall, 50 cm ahead.
            (
                [3.0, 10.0, 33.0],
                45.0,
                0.0,
                "the back, 53 cm from the left pane, 30 cm above the sand",
            ),
            // Down by 45°: 30 cm ahead on the sand.
            (
                [100.0, 10.0, 33.0],
                180.0,
                -45.0,
                "the sand, 50 cm from the right pane, 10 cm from the front",
            ),
            // Up by 45°: 17 cm ahead at the surface.
            (
                [3.0, 50.0, 33.0],
                0.0,
                45.0,
                "the surface, 20 cm from the left pane, 10 cm from the back",
            ),
        ] {
            assert_eq!(aimed(at, turn, tilt), words, "turn {turn}°, tilt {tilt}°");
        }
    }

    #[test]
    fn places_are_told_from_the_nearer_panes() {
        let scene = scene();
        let low = DVec3::new(80.0, 40.0, 3.0);
        let told = tape(&scene.tank, (low, low + DVec3::new(20.0, 10.0, 15.0)));
        assert_eq!(
            told,
            "20 cm from the right pane, 10 cm from the back, its top 15 cm above the sand"
        );
    }
}

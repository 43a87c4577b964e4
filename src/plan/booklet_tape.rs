//! Places as a tape measures them: from the panes, the sand and the water.

use glam::DVec3;

use crate::scene::{ItemId, Layout, Pump, Tank, aim};
use crate::units::{Measure, UnitSystem};

/// A tank, and the tape that is held to it.
#[derive(Clone, Copy)]
pub(super) struct Tape<'a> {
    pub(super) tank: &'a Tank,
    pub(super) units: UnitSystem,
}

impl Tape<'_> {
    /// Where the line of a pump's aim meets glass, sand or surface, as a tape
    /// measures it.
    pub(super) fn aimed_at(self, pump: &Pump) -> String {
        let along = aim(pump.turn_deg, pump.tilt_deg);
        let sand_cm = self.tank.sand.depth_cm;
        let low = DVec3::new(0.0, 0.0, sand_cm);
        let high = DVec3::new(self.tank.length_cm, self.tank.width_cm, self.tank.water_cm);
        // How far it is to the wall ahead, along each axis; none where it runs beside.
        let far = |axis: usize| {
            let wall = if along[axis] > 0.0 { high } else { low };
            let way_cm = (wall[axis] - pump.at_cm[axis]) / along[axis];
            (along[axis].abs() > 1e-9).then_some((way_cm.max(0.0), axis))
        };
        let nearest = (0..3).filter_map(far).min_by(|a, b| a.0.total_cmp(&b.0));
        let (way_cm, axis) = nearest.unwrap_or_default();
        let at = pump.at_cm + along * way_cm;
        let (across, deep) = (|| self.across(at.x, at.x), || self.deep(at.y, at.y));
        let up = || format!("{} above the sand", self.length(at.z - sand_cm));
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
    pub(super) fn gear_place(self, layout: &Layout, items: &[ItemId]) -> Option<String> {
        let pump = layout.pumps.iter().find(|it| items.contains(&it.id));
        if let Some(pump) = pump {
            return Some(format!(
                "its mouth {}",
                self.place((pump.at_cm, pump.at_cm))
            ));
        }
        let lamp = layout.lamps.iter().find(|it| items.contains(&it.id))?;
        let above = format!(
            "{} above the full water",
            self.length(lamp.at_cm.z - self.tank.water_cm)
        );
        let flat = self.flat((lamp.at_cm, lamp.at_cm));
        Some(format!("its middle {flat}, {above}"))
    }

    /// Where something is, as a tape measures it: to the two nearest panes and to
    /// the sand.
    pub(super) fn place(self, (low, high): (DVec3, DVec3)) -> String {
        let flat = self.flat((low, high));
        let above = low.z - self.tank.sand.depth_cm;
        let top = high.z - self.tank.sand.depth_cm;
        if (high.z - low.z).abs() < 0.1 {
            format!("{flat}, {} above the sand", self.length(above))
        } else {
            format!("{flat}, its top {} above the sand", self.length(top))
        }
    }

    /// How far something is from the two nearest panes.
    fn flat(self, (low, high): (DVec3, DVec3)) -> String {
        let side = self.across(low.x, high.x);
        format!("{side}, {}", self.deep(low.y, high.y))
    }

    /// The way to the nearer end pane, of what reaches from `low` to `high`.
    fn across(self, low: f64, high: f64) -> String {
        let right = self.tank.length_cm - high;
        if low <= right {
            format!("{} from the left pane", self.length(low))
        } else {
            format!("{} from the right pane", self.length(right))
        }
    }

    /// The way to the nearer of front and back.
    fn deep(self, low: f64, high: f64) -> String {
        let back = self.tank.width_cm - high;
        if low <= back {
            format!("{} from the front", self.length(low))
        } else {
            format!("{} from the back", self.length(back))
        }
    }

    /// A length as a tape is read: to half a centimeter, or a quarter inch.
    pub(super) fn length(self, length_cm: f64) -> String {
        let shown = Measure::Length.shown(self.units);
        let value = length_cm * shown.factor;
        match self.units {
            UnitSystem::Metric => {
                let half = (value * 2.0).round() / 2.0 + 0.0;
                format!("{half} {}", shown.unit)
            }
            UnitSystem::Us => {
                let quarters = (value * 4.0).round() as i64;
                let whole = quarters.abs() / 4;
                let part = ["", "¼", "½", "¾"][(quarters.abs() % 4) as usize];
                let sign = if quarters < 0 { "-" } else { "" };
                let number = match (whole, part) {
                    (0, "") => "0".to_owned(),
                    (0, part) => part.to_owned(),
                    (whole, part) => format!("{whole}{part}"),
                };
                format!("{sign}{number} {}", shown.unit)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Scene;

    /// A tank of 120 × 60 cm with 50 cm of water over 3 cm of sand.
    fn scene() -> Scene {
        ron::from_str(include_str!("../../tests/data/example.ron")).expect("it reads")
    }

    fn metric(tank: &Tank) -> Tape<'_> {
        Tape {
            tank,
            units: UnitSystem::Metric,
        }
    }

    #[test]
    fn an_aim_is_where_its_line_ends() {
        let scene = scene();
        let tape = metric(&scene.tank);
        let mut pump = scene.layouts[0].pumps[0].clone();
        let mut aimed = |at: [f64; 3], turn_deg: f64, tilt_deg: f64| {
            pump.at_cm = DVec3::from(at);
            (pump.turn_deg, pump.tilt_deg) = (turn_deg, tilt_deg);
            tape.aimed_at(&pump)
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
        let told = metric(&scene.tank).place((low, low + DVec3::new(20.0, 10.0, 15.0)));
        assert_eq!(
            told,
            "20 cm from the right pane, 10 cm from the back, its top 15 cm above the sand"
        );
    }

    /// By hand: 20 cm are 7.874 in, 10 are 3.937, 15 are 5.906.
    #[test]
    fn an_inch_tape_is_read_to_its_quarters() {
        let scene = scene();
        let tape = Tape {
            tank: &scene.tank,
            units: UnitSystem::Us,
        };
        let low = DVec3::new(80.0, 40.0, 3.0);
        assert_eq!(
            tape.place((low, low + DVec3::new(20.0, 10.0, 15.0))),
            "7¾ in from the right pane, 4 in from the back, its top 6 in above the sand"
        );
        let lengths = [0.0, 0.5, -0.6, 2.54, 32.0].map(|it| tape.length(it));
        assert_eq!(lengths, ["0 in", "¼ in", "-¼ in", "1 in", "12½ in"]);
    }
}

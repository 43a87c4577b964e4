//! An empty tank: common sizes, or the keeper's own.

use egui::Ui;

use crate::scene::{FORMAT, Layout, Sand, Scene, Sides, Tank, Water};
use crate::ui::ask::{Ask, Next};
use crate::ui::parts::{self, Number, Panel};
use crate::ui::text;
use crate::units::Measure;

/// Common inner sizes (length, width, height), in cm. COMMON PRACTICE.
const SIZES_CM: [(f64, f64, f64); 12] = [
    (40.0, 30.0, 30.0),
    (45.0, 45.0, 45.0),
    (60.0, 45.0, 45.0),
    (60.0, 60.0, 60.0),
    (90.0, 45.0, 45.0),
    (90.0, 60.0, 50.0),
    (120.0, 50.0, 60.0),
    (120.0, 60.0, 50.0),
    (150.0, 60.0, 60.0),
    (180.0, 60.0, 60.0),
    (200.0, 70.0, 65.0),
    (240.0, 80.0, 70.0),
];

/// The size that is being chosen.
#[derive(Clone, Debug)]
pub struct NewTank {
    size_cm: (f64, f64, f64),
}

impl Default for NewTank {
    fn default() -> Self {
        Self {
            size_cm: (90.0, 60.0, 50.0),
        }
    }
}

impl NewTank {
    /// Draws the page.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        let theme = panel.theme;
        ui.label(text::COMMON_SIZES);
        egui::Grid::new("sizes").num_columns(4).show(ui, |ui| {
            for (n, size) in SIZES_CM.into_iter().enumerate() {
                if parts::word(ui, theme, &size_words(panel, size), size == self.size_cm).clicked()
                {
                    self.size_cm = size;
                }
                if n % 4 == 3 {
                    ui.end_row();
                }
            }
        });
        ui.add_space(6.0);
        ui.label(text::OWN_SIZE);
        let rows = [
            (text::LENGTH, &mut self.size_cm.0),
            (text::DEPTH, &mut self.size_cm.1),
            (text::RISE, &mut self.size_cm.2),
        ];
        let units = panel.desk.settings().units;
        for (name, value) in rows {
            let number = Number::new(name, Measure::Length, (15.0, 600.0));
            let (_, new) = parts::row(ui, theme, name, |ui| number.plain(ui, units, *value));
            if let Some(new) = new {
                *value = new;
            }
        }
        ui.add_space(6.0);
        let (length, width, height) = self.size_cm;
        let volume = panel.text(Measure::Volume, length * width * height / 1000.0);
        parts::aside(ui, theme, text::tank_holds(&volume));
        ui.add_space(6.0);
        // Enter starts it too, except where it ends the typing of a number.
        let is_free = ui.memory(|memory| memory.focused().is_none());
        let is_entered = is_free && ui.input(|input| input.key_pressed(egui::Key::Enter));
        if parts::main_button(ui, theme, text::START_TANK).clicked() || is_entered {
            let scene = empty_scene(self.size_cm);
            panel.ask.push(Ask::Replace(Next::Scene(Box::new(scene))));
        }
    }
}

fn size_words(panel: &Panel<'_>, (length, width, height): (f64, f64, f64)) -> String {
    let number = |value: f64| {
        let shown = Measure::Length.shown(panel.units());
        format!("{:.0}", value * shown.factor)
    };
    let unit = Measure::Length.shown(panel.units()).unit;
    format!(
        "{} × {} × {} {unit}",
        number(length),
        number(width),
        number(height)
    )
}

/// A tank of this inner size with sand, water to a hand's breadth below the
/// rim, and nothing in it.
pub fn empty_scene((length_cm, width_cm, height_cm): (f64, f64, f64)) -> Scene {
    Scene {
        format: FORMAT,
        name: text::NEW_SCENE.to_owned(),
        tank: Tank {
            length_cm,
            width_cm,
            height_cm,
            // Five centimetres of freeboard. COMMON PRACTICE.
            water_cm: (height_cm - 5.0).max(height_cm * 0.8),
            sand: Sand::default(),
            sides: Sides::default(),
            panes: crate::scene::Panes::default(),
            water: Water::default(),
            returns: Vec::new(),
            overflow: None,
        },
        layouts: vec![Layout {
            name: text::FIRST_LAYOUT.to_owned(),
            ..Layout::default()
        }],
        readings: Vec::new(),
        animals: Vec::new(),
        underlays: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::{parse, scene_text};

    #[test]
    fn every_common_size_makes_a_scene_that_reads_back_without_errors() {
        for size in SIZES_CM {
            let scene = empty_scene(size);
            let text = scene_text(&scene).expect("writes");
            let loaded = parse(&text, "new.ron").expect("reads");
            assert_eq!(loaded.scene, scene, "as written");
        }
    }
}

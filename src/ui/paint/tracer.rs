//! Specks that drift with the water: short strokes along the mean velocity.

use egui::{Color32, Painter, Pos2};
use glam::{DVec2, Vec2};

use crate::draw::scatter;
use crate::ui::paint::cut::Cut;
use crate::ui::paint::label;
use crate::ui::sheet::Frame;

/// Water that a speck has to itself, in cm².
const ROOM_CM2: f64 = 42.0;
/// Specks in a view at most.
const SPECKS_MAX: usize = 400;
/// A stroke is as long as the water goes in this time, in s.
const STROKE_S: f32 = 0.32;

/// One speck: where it is, how old it is and how old it gets, in s.
#[derive(Clone, Copy, Debug)]
struct Speck {
    at_cm: Vec2,
    age_s: f32,
    life_s: f32,
}

/// The specks of one view.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tracers {
    specks: Vec<Speck>,
    n_born: i32,
}

impl Tracers {
    /// Lets `dt_s` pass.
    pub(crate) fn drift(&mut self, cut: &Cut, dt_s: f32) {
        let size: DVec2 = cut.max_cm() - cut.min_cm;
        let wanted = ((size.x * size.y / ROOM_CM2) as usize).min(SPECKS_MAX);
        self.specks.truncate(wanted);
        while self.specks.len() < wanted {
            // Young and old from the start, so that they do not all fade at once.
            let mut speck = self.born(cut);
            speck.age_s = speck.life_s * (0.5 + 0.5 * scatter(self.n_born, 3));
            self.specks.push(speck);
        }
        for k in 0..self.specks.len() {
            let mut speck = self.specks[k];
            speck.age_s += dt_s;
            let velocity = cut.velocity(speck.at_cm);
            if let Some(first) = velocity {
                // Half a step to the middle, a whole one with the speed there.
                let half = speck.at_cm + first * (dt_s / 2.0);
                speck.at_cm += cut.velocity(half).unwrap_or(first) * dt_s;
            }
            if velocity.is_none() || speck.age_s > speck.life_s {
                speck = self.born(cut);
            }
            self.specks[k] = speck;
        }
    }

    fn born(&mut self, cut: &Cut) -> Speck {
        const TRIES: usize = 6;
        let size = (cut.max_cm() - cut.min_cm).as_vec2();
        let mut at_cm = cut.min_cm.as_vec2();
        for _ in 0..TRIES {
            self.n_born = self.n_born.wrapping_add(1);
            let share = Vec2::new(scatter(self.n_born, 11), scatter(self.n_born, 29));
            at_cm = cut.min_cm.as_vec2() + size * (0.5 + 0.5 * share);
            if cut.is_water_at(at_cm) {
                break;
            }
        }
        Speck {
            at_cm,
            age_s: 0.0,
            life_s: 2.6 + 1.4 * scatter(self.n_born, 53),
        }
    }

    /// Draws them as strokes that end where the speck is.
    pub(crate) fn paint(&self, painter: &Painter, frame: &Frame, cut: &Cut) {
        let strokes = self.specks.iter().filter_map(|speck| {
            let velocity = cut.velocity(speck.at_cm)?;
            let to = frame.pos_flat(speck.at_cm.as_dvec2());
            let back = velocity * STROKE_S;
            let from = frame.pos_flat((speck.at_cm - back).as_dvec2());
            let (from, to) = bounded(from, to);
            let share = (speck.age_s / speck.life_s).clamp(0.0, 1.0);
            let fade = (4.0 * share * (1.0 - share)).min(1.0);
            Some(([from, to], Color32::from_white_alpha((190.0 * fade) as u8)))
        });
        painter.add(label::strokes_mesh(strokes, 1.3));
    }
}

/// At least a dot, at most a dash.
fn bounded(from: Pos2, to: Pos2) -> (Pos2, Pos2) {
    let along = to - from;
    let length = along.length();
    if length < 1e-3 {
        return (to - egui::vec2(1.2, 0.0), to);
    }
    (to - along * (length.clamp(2.0, 30.0) / length), to)
}

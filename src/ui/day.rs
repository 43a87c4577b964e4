//! The page of a day and a week: light on each coral by the hour with its
//! dose, what pumps move by the hour, and weeks of getting used to new light.

use std::sync::Arc;

use egui::{Align2, ComboBox, FontId, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::advice::{
    Acclimation, AdviceInput, CoralDay, DailyLight, acclimation, daily_light, daily_water,
};
use crate::light::LightSolver;
use crate::scene::{Item, ItemId};
use crate::ui::findings::item_words;
use crate::ui::parts::{self, Number, Panel};
use crate::ui::{text, theme};
use crate::units::Measure;

/// Height of the drawing of light, in points.
const CURVES: f32 = 120.0;
/// Height of a pump's row of hours, in points.
const HOURS_ROW: f32 = 16.0;

/// The page with what was chosen on it so far.
#[derive(Clone, Debug, Default)]
pub struct DayPage {
    /// The light that the day was made of, and the day.
    known: Option<(Arc<LightSolver>, DailyLight)>,
    /// The coral that gets used to new light; all of them if none.
    coral: Option<ItemId>,
    /// Its light until now, in µmol/m²/s.
    from_umol: Option<f64>,
    /// The old light as a share of the new.
    from_share: Option<f64>,
}

impl DayPage {
    /// Draws the page.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        self.look(panel);
        parts::heading(ui, text::DAY_LIGHT);
        match &self.known {
            None => {
                parts::aside(ui, panel.theme, text::DAY_NO_LIGHT);
            }
            Some((_, day)) => light(ui, panel, day),
        }
        parts::heading(ui, text::DAY_WATER);
        water(ui, panel);
        parts::aside(ui, panel.theme, text::DAY_WATER_WORDS);
        ui.label(text::DAY_NIGHT_WORDS);
        if let Some((_, day)) = self.known.clone() {
            parts::heading(ui, text::WEEKS);
            self.weeks(ui, panel, &day);
        }
    }

    /// Makes the day anew when the light has changed.
    fn look(&mut self, panel: &Panel<'_>) {
        let results = panel.desk.results();
        let solver = (results.light_solver.as_ref()).filter(|_| !results.light_is_old());
        let is_known = match (solver, &self.known) {
            (Some(now), Some((known, _))) => Arc::ptr_eq(now, known),
            (None, None) => true,
            _ => false,
        };
        if !is_known {
            self.known = solver.map(|solver| {
                let input = AdviceInput::of(panel.desk.shown_study());
                (Arc::clone(solver), daily_light(&input, solver))
            });
        }
    }

    /// Weeks of getting used to new light.
    fn weeks(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, day: &DailyLight) {
        let name = |id: ItemId| panel.desk.layout().item(id).map(|item| item_words(&item));
        let shown = self.coral.and_then(name);
        let shown = shown.unwrap_or_else(|| text::WEEKS_ALL.to_owned());
        parts::row(ui, panel.theme, text::WEEKS_WHO, |ui| {
            let combo = ComboBox::from_id_salt("weeks for").selected_text(shown);
            let response = combo.show_ui(ui, |ui| {
                ui.selectable_value(&mut self.coral, None, text::WEEKS_ALL);
                for coral in &day.corals {
                    let words = name(coral.id).unwrap_or_default();
                    ui.selectable_value(&mut self.coral, Some(coral.id), words);
                }
            });
            response.response.accessible_name(text::WEEKS_WHO);
        });
        let one = self
            .coral
            .and_then(|id| day.corals.iter().find(|coral| coral.id == id));
        let plan = match one {
            Some(coral) => self.plan_of_one(ui, panel, coral),
            None => self.plan_of_all(ui, panel, day),
        };
        match plan {
            None => drop(ui.label(text::WEEKS_NONE)),
            Some(plan) if plan.weeks == 0 => drop(ui.label(text::WEEKS_DARKER)),
            Some(plan) => {
                for step in plan.steps() {
                    let ppfd = panel.text(Measure::Ppfd, step.ppfd_umol);
                    ui.label(text::week_step(step.week, step.share, &ppfd));
                }
            }
        }
        parts::aside(ui, panel.theme, text::WEEKS_WORDS);
    }

    fn plan_of_one(
        &mut self,
        ui: &mut Ui,
        panel: &Panel<'_>,
        coral: &CoralDay,
    ) -> Option<Acclimation> {
        let from = self.from_umol.unwrap_or(0.5 * coral.most_umol);
        let number = Number::new(text::WEEKS_FROM, Measure::Ppfd, (0.0, 3000.0));
        let new = parts::row(ui, panel.theme, number.name, |ui| {
            number.plain(ui, panel.units(), from).1
        });
        self.from_umol = new.or(self.from_umol);
        steps_for(panel, coral, from)
    }

    /// The slowest of all corals sets the pace of a new lamp.
    fn plan_of_all(
        &mut self,
        ui: &mut Ui,
        panel: &Panel<'_>,
        day: &DailyLight,
    ) -> Option<Acclimation> {
        let from = self.from_share.unwrap_or(0.5);
        let number = Number::new(text::WEEKS_FROM_SHARE, Measure::Share, (0.0, 1.0));
        let new = parts::row(ui, panel.theme, number.name, |ui| {
            number.plain(ui, panel.units(), from).1
        });
        self.from_share = new.or(self.from_share);
        let plans = day.corals.iter();
        let plans = plans.filter_map(|coral| steps_for(panel, coral, from * coral.most_umol));
        plans.max_by(|a, b| (a.weeks.cmp(&b.weeks)).then(a.ppfd_umol[1].total_cmp(&b.ppfd_umol[1])))
    }
}

fn steps_for(panel: &Panel<'_>, day: &CoralDay, from_umol: f64) -> Option<Acclimation> {
    let corals = &panel.desk.layout().corals;
    let coral = corals.iter().find(|coral| coral.id == day.id)?;
    let entry = panel.desk.catalog().entry(&coral.entry)?;
    acclimation(entry, from_umol, day.most_umol)
}

fn light(ui: &mut Ui, panel: &Panel<'_>, day: &DailyLight) {
    if let Some(lit) = day.lit {
        ui.label(text::lit_hours(lit));
    }
    curves(ui, panel, day);
    for coral in &day.corals {
        let Some(item) = panel.desk.layout().item(coral.id) else {
            continue;
        };
        let dose = |mol: f64| Measure::Dose.text(mol, panel.units());
        let likes = coral.likes_mol.map(|likes| likes.map(dose));
        let most = panel.text(Measure::Ppfd, coral.most_umol);
        let is_out = (coral.likes_mol)
            .is_some_and(|[low, high]| coral.dose_mol < low || coral.dose_mol > high);
        let words = text::coral_day(&most, &dose(coral.dose_mol), likes);
        let color = if is_out {
            panel.theme.accent
        } else {
            panel.theme.ink
        };
        let words = format!("{}: {words}", item_words(&item));
        ui.label(egui::RichText::new(words).color(color));
    }
    parts::aside(ui, panel.theme, text::DAY_DOSE_WORDS);
}

/// Light on each coral over the day, as lines over the hours.
fn curves(ui: &mut Ui, panel: &Panel<'_>, day: &DailyLight) {
    let theme = panel.theme;
    let size = vec2(ui.available_width(), CURVES + 18.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, text::DAY_LIGHT));
    let plot = egui::Rect::from_min_size(rect.min, vec2(rect.width(), CURVES));
    let painter = ui.painter_at(rect);
    painter.rect_filled(plot, 0.0, theme.sheet);
    let most = day
        .corals
        .iter()
        .map(|coral| coral.most_umol)
        .fold(1.0, f64::max);
    let x_of = |hour: f64| plot.left() + plot.width() * (hour / 24.0) as f32;
    let font = FontId::proportional(theme::SMALL_SIZE);
    for hour in (0..=24).step_by(3) {
        let x = x_of(f64::from(hour));
        painter.vline(x, plot.y_range(), Stroke::new(0.5, theme.rule));
        let anchor = match hour {
            0 => Align2::LEFT_TOP,
            24 => Align2::RIGHT_TOP,
            _ => Align2::CENTER_TOP,
        };
        let at = pos2(x, plot.bottom() + 2.0);
        painter.text(at, anchor, format!("{hour}"), font.clone(), theme.aside);
    }
    for coral in &day.corals {
        let points = day.hours.iter().zip(&coral.ppfd_umol);
        let points = points.map(|(hour, ppfd)| {
            let share = (ppfd / most) as f32;
            pos2(x_of(*hour), plot.bottom() - share * (plot.height() - 8.0))
        });
        let is_out = (coral.likes_mol)
            .is_some_and(|[low, high]| coral.dose_mol < low || coral.dose_mol > high);
        let color = if is_out { theme.accent } else { theme.ink };
        painter.line(points.collect(), Stroke::new(1.2, color));
    }
    let top = panel.text(Measure::Ppfd, most);
    let at = plot.left_top() + vec2(4.0, 2.0);
    painter.text(at, Align2::LEFT_TOP, top, font, theme.aside);
    painter.hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, theme.ink));
}

/// Each pump's hours as a row of boxes, darker the more it moves.
fn water(ui: &mut Ui, panel: &Panel<'_>) {
    let layout = panel.desk.layout();
    let water = daily_water(layout);
    for (id, by_hour) in &water.pumps {
        let Some(Item::Pump(pump)) = layout.item(*id) else {
            continue;
        };
        let most = panel.text(Measure::Flow, by_hour.iter().copied().fold(0.0, f64::max));
        let full = pump.real_flow_lph();
        let words = format!("{}: {most}", item_words(&Item::Pump(pump)));
        hours_row(
            ui,
            panel,
            &words,
            by_hour.iter().map(|lph| lph / full.max(1e-9)),
        );
    }
    let tank = &panel.desk.scene().tank;
    let litres = tank.length_cm * tank.width_cm * tank.water_cm / 1000.0;
    let most = water.all_lph.iter().copied().fold(0.0, f64::max);
    let least = water.all_lph.iter().copied().fold(f64::INFINITY, f64::min);
    if most > 0.0 {
        let per_hour = [most, least].map(|lph| lph / litres.max(1.0));
        let words = text::turnovers(per_hour[0], per_hour[1]);
        ui.label(format!("{}: {words}", text::DAY_ALL_PUMPS));
    }
}

fn hours_row(ui: &mut Ui, panel: &Panel<'_>, words: &str, shares: impl Iterator<Item = f64>) {
    let theme = panel.theme;
    ui.label(words);
    let size = vec2(ui.available_width(), HOURS_ROW);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, words));
    let painter = ui.painter_at(rect);
    for (hour, share) in shares.enumerate() {
        let left = rect.left() + rect.width() * hour as f32 / 24.0;
        let cell = egui::Rect::from_min_size(
            pos2(left, rect.top()),
            vec2(rect.width() / 24.0 - 1.0, rect.height()),
        );
        painter.rect_filled(cell, 0.0, theme.sheet);
        let full = cell.height() * share.clamp(0.0, 1.0) as f32;
        let part = egui::Rect::from_min_max(pos2(cell.left(), cell.bottom() - full), cell.max);
        painter.rect_filled(part, 0.0, theme.water_line);
    }
}

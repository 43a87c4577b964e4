//! Looking instead of reading: shares of water by speed and of rock by light,
//! the selected coral now and in three years, its water over the day; all of it
//! as a table to save.

use std::sync::Arc;

use egui::{
    Align, Align2, Color32, FontId, Layout, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2,
};

use crate::advice::{Aspect, csv_field, daily_water, rock_shares, water_shares};
use crate::desk::Desk;
use crate::flow::FlowField;
use crate::light::LightField;
use crate::scene::{Coral, Item, Programme};
use crate::ui::ask::{Ask, PathFor};
use crate::ui::findings::item_words;
use crate::ui::inspector::strip;
use crate::ui::parts::{self, Panel};
use crate::ui::wash::{self, Class};
use crate::ui::{text, theme};
use crate::units::Measure;

/// Height of a bar of shares, in points.
const BAR: f32 = 22.0;
/// Height of the drawing of a day, in points.
const DAY: f32 = 90.0;
const CM_PER_M: f64 = 100.0;

/// Shares with the fields that they were counted from.
#[derive(Clone, Debug, Default)]
pub struct ChartsPage {
    water: Option<(Arc<FlowField>, Vec<f64>)>,
    rock: Option<(Arc<LightField>, Vec<f64>)>,
}

/// Limits between classes, in the wash's own unit.
fn limits(classes: &[Class]) -> Vec<f64> {
    classes.iter().skip(1).map(|class| class.from).collect()
}

fn speed_shares(field: &FlowField, classes: &[Class]) -> Vec<f64> {
    let limits: Vec<f64> = limits(classes)
        .iter()
        .map(|limit| limit / CM_PER_M)
        .collect();
    water_shares(field, &limits)
}

impl ChartsPage {
    /// Draws the page.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        self.count(panel);
        parts::heading(ui, text::CHART_WATER);
        match &self.water {
            Some((field, shares)) if !shares.is_empty() => {
                let classes = wash::flow_classes(panel.theme);
                bar(
                    ui,
                    panel,
                    (text::CHART_WATER, shares),
                    (classes, Measure::Speed),
                );
                if !field.settling.settled {
                    parts::aside(ui, panel.theme, text::CHART_ROUGH);
                }
            }
            _ => drop(parts::aside(ui, panel.theme, text::NO_ESTIMATE)),
        }
        parts::heading(ui, text::CHART_ROCK);
        match &self.rock {
            Some((_, shares)) if !shares.is_empty() => {
                let classes = wash::light_classes(panel.theme);
                bar(
                    ui,
                    panel,
                    (text::CHART_ROCK, shares),
                    (classes, Measure::Ppfd),
                );
            }
            _ => drop(parts::aside(ui, panel.theme, text::NO_LIGHT)),
        }
        match panel.desk.selected_item() {
            Some(Item::Coral(coral)) => one_coral(ui, panel, &coral),
            _ => drop(parts::aside(ui, panel.theme, text::CHART_SELECT)),
        }
        ui.add_space(8.0);
        if parts::main_button(ui, panel.theme, text::CHART_SAVE).clicked() {
            panel.ask.push(Ask::Whereto(PathFor::Charts));
        }
    }

    /// Counts anew where a field has changed.
    fn count(&mut self, panel: &Panel<'_>) {
        let results = panel.desk.results();
        let tank = results.tank.clone();
        let known = self.water.as_ref().map(|(field, _)| field);
        if tank.as_ref().map(Arc::as_ptr) != known.map(Arc::as_ptr) {
            let classes = wash::flow_classes(panel.theme);
            self.water = tank.map(|field| {
                let shares = speed_shares(&field, classes);
                (field, shares)
            });
        }
        let light = results.light.clone();
        let known = self.rock.as_ref().map(|(field, _)| field);
        if light.as_ref().map(Arc::as_ptr) != known.map(Arc::as_ptr) {
            let limits = limits(wash::light_classes(panel.theme));
            self.rock = light.map(|field| {
                let shares = rock_shares(&field, &limits);
                (field, shares)
            });
        }
    }
}

/// A class in words: `5 to 9 cm/s`, the last one open.
fn class_words(classes: &[Class], idx: usize, (measure, panel): (Measure, &Panel<'_>)) -> String {
    let low = panel.text(measure, classes[idx].from);
    if idx + 1 == classes.len() {
        text::chart_from(&low)
    } else {
        let from = measure.number(classes[idx].from, panel.units());
        text::chart_range(&from, &panel.text(measure, classes[idx].to))
    }
}

/// One bar whose parts are as wide as their shares, with the shares below.
fn bar(
    ui: &mut Ui,
    panel: &Panel<'_>,
    (name, shares): (&str, &[f64]),
    (classes, measure): (&[Class], Measure),
) {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), BAR), Sense::hover());
    let words: Vec<String> = (0..classes.len().min(shares.len()))
        .map(|idx| {
            let class = class_words(classes, idx, (measure, panel));
            text::chart_share(&class, shares[idx])
        })
        .collect();
    let said = format!("{name}: {}", words.join("; "));
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &said));
    let mut left = rect.left();
    for (class, share) in classes.iter().zip(shares) {
        let right = left + rect.width() * *share as f32;
        let part = Rect::from_x_y_ranges(left..=right, rect.y_range());
        ui.painter().rect_filled(part, 0.0, class.color);
        if *share >= 0.06 {
            ui.painter().text(
                part.center(),
                Align2::CENTER_CENTER,
                format!("{:.0} %", share * 100.0),
                FontId::proportional(theme::SMALL_SIZE),
                on(class.color),
            );
        }
        left = right;
    }
    let rim = Stroke::new(1.0, panel.theme.ink);
    ui.painter()
        .rect_stroke(rect, 0.0, rim, egui::StrokeKind::Middle);
    ui.horizontal_wrapped(|ui| {
        for (class, words) in classes.iter().zip(&words) {
            // A square and its words stay in one row, so their width is asked
            // for at once.
            let font = FontId::proportional(theme::SMALL_SIZE);
            let galley = ui
                .painter()
                .layout_no_wrap(words.clone(), font, panel.theme.aside);
            let wide = 14.0 + ui.spacing().item_spacing.x + galley.size().x;
            let room = vec2(wide, galley.size().y.max(14.0));
            let row = Layout::left_to_right(Align::Center);
            ui.allocate_ui_with_layout(room, row, |ui| {
                let (square, _) = ui.allocate_exact_size(vec2(12.0, 12.0), Sense::hover());
                ui.painter().rect_filled(square, 0.0, class.color);
                parts::aside(ui, panel.theme, words);
            });
        }
    });
}

/// Ink that reads on a color.
fn on(color: Color32) -> Color32 {
    if color.intensity() > 0.5 {
        Color32::BLACK
    } else {
        Color32::WHITE
    }
}

/// Light and flow of one coral against its range, and its water over the day.
fn one_coral(ui: &mut Ui, panel: &mut Panel<'_>, coral: &Coral) {
    let name = item_words(&Item::Coral(coral.clone()));
    parts::heading(ui, &text::chart_coral(&name));
    let results = panel.desk.results();
    let fit = results.fit_of(coral.id).cloned();
    let ahead = results.ahead_of(coral.id).cloned();
    let Some((fit, entry)) = fit.zip(panel.desk.catalog().entry(&coral.entry)) else {
        parts::aside(ui, panel.theme, text::FIT_NOT_KNOWN);
        return;
    };
    for each in &fit.strips {
        let later = strip::later(each, ahead.as_ref());
        if later.is_some() {
            strip::show(ui, panel, (each, later), entry);
        }
    }
    let speed_cm_s = speed_over(panel.desk, coral);
    let Some(speed_cm_s) = speed_cm_s else { return };
    ui.label(text::CHART_DAY);
    let range = (entry.flow_cm_s.low, entry.flow_cm_s.high);
    day(ui, panel, &speeds_by_hour(panel.desk, speed_cm_s), range);
    let changes = |programme: &Programme| !matches!(programme, Programme::Steady);
    let pumps = &panel.desk.layout().pumps;
    let words = if pumps.iter().any(|pump| changes(&pump.programme)) {
        text::CHART_DAY_CYCLES
    } else {
        text::CHART_DAY_WORDS
    };
    parts::aside(ui, panel.theme, words);
}

/// Mean speed over a coral as its strip has it, in cm/s.
fn speed_over(desk: &Desk, coral: &Coral) -> Option<f64> {
    let fit = desk.results().fit_of(coral.id)?;
    let flow = (fit.strips.iter()).find(|strip| strip.what == Aspect::Flow)?;
    flow.value
}

/// The speed at a place hour by hour, in cm/s: it is taken to go with what all
/// pumps move.
fn speeds_by_hour(desk: &Desk, speed_cm_s: f64) -> [f64; 24] {
    let water = daily_water(desk.layout());
    let set: f64 = (desk.layout().pumps.iter())
        .map(|pump| pump.real_flow_lph())
        .sum();
    std::array::from_fn(|hour| {
        let share = water.all_lph[hour] / set.max(1e-9);
        speed_cm_s * if set > 0.0 { share } else { 1.0 }
    })
}

/// Speeds over the hours of a day, with the range that a coral likes.
fn day(ui: &mut Ui, panel: &Panel<'_>, speeds_cm_s: &[f64; 24], (low, high): (f64, f64)) {
    let theme = panel.theme;
    let size = vec2(ui.available_width(), DAY + 18.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, text::CHART_DAY));
    let plot = Rect::from_min_size(rect.min, vec2(rect.width(), DAY));
    let painter = ui.painter_at(rect);
    painter.rect_filled(plot, 0.0, theme.sheet);
    let most = speeds_cm_s.iter().copied().fold(high * 1.2, f64::max);
    let y = |speed: f64| plot.bottom() - plot.height() * (speed / most) as f32;
    let liked = Rect::from_x_y_ranges(plot.x_range(), y(high)..=y(low));
    painter.rect_filled(liked, 0.0, theme.in_range.gamma_multiply(0.6));
    let step = plot.width() / 24.0;
    let font = FontId::proportional(theme::SMALL_SIZE);
    for (hour, speed) in speeds_cm_s.iter().enumerate() {
        let left = plot.left() + step * hour as f32;
        painter.hline(left..=left + step, y(*speed), Stroke::new(2.0, theme.ink));
        if hour % 6 == 0 {
            let at = pos2(left, plot.bottom() + 2.0);
            painter.text(
                at,
                Align2::LEFT_TOP,
                format!("{hour}"),
                font.clone(),
                theme.aside,
            );
        }
    }
    let top = panel.text(Measure::Speed, most);
    let at = plot.left_top() + vec2(4.0, 2.0);
    painter.text(at, Align2::LEFT_TOP, top, font, theme.aside);
    painter.hline(plot.x_range(), plot.bottom(), Stroke::new(1.0, theme.ink));
}

/// All charts as a table (CSV): what, from, to, value, unit.
pub fn table(desk: &Desk, theme: &theme::Theme) -> String {
    let mut rows = vec!["what,from,to,value,unit".to_owned()];
    let results = desk.results();
    let classes = wash::flow_classes(theme);
    let shares = results
        .tank
        .as_ref()
        .map(|field| speed_shares(field, classes));
    class_rows(
        &mut rows,
        ("water by speed (cm/s)", classes),
        &shares.unwrap_or_default(),
    );
    let classes = wash::light_classes(theme);
    let shares = (results.light.as_ref()).map(|field| rock_shares(field, &limits(classes)));
    class_rows(
        &mut rows,
        ("rock by light (umol/m2/s)", classes),
        &shares.unwrap_or_default(),
    );
    if let Some(Item::Coral(coral)) = desk.selected_item() {
        coral_rows(&mut rows, desk, &coral);
    }
    rows.push(String::new());
    rows.join("\n")
}

fn class_rows(rows: &mut Vec<String>, (what, classes): (&str, &[Class]), shares: &[f64]) {
    for (idx, (class, share)) in classes.iter().zip(shares).enumerate() {
        let to = if idx + 1 == classes.len() {
            String::new()
        } else {
            class.to.to_string()
        };
        rows.push(format!("{what},{},{to},{share:.4},share", class.from));
    }
}

fn coral_rows(rows: &mut Vec<String>, desk: &Desk, coral: &Coral) {
    let results = desk.results();
    let name = |when: &str| {
        let name = item_words(&Item::Coral(coral.clone()));
        csv_field(&format!("{name} {when}"))
    };
    let ahead = results.ahead_of(coral.id);
    let strips = results.fit_of(coral.id).map(|fit| fit.strips.as_slice());
    for strip in strips.unwrap_or_default() {
        let Some(later) = strip::later(strip, ahead) else {
            continue;
        };
        let unit = match strip.what {
            Aspect::Light => "umol/m2/s",
            _ => "cm/s",
        };
        for (when, value) in [("now", strip.value), ("in 3 years", later.value)] {
            let value = value.map_or_else(String::new, |value| format!("{value:.2}"));
            let (low, high) = (strip.low, strip.high);
            let name = name(when);
            rows.push(format!("{name},{low},{high},{value},{unit}"));
        }
    }
    if let Some(speed_cm_s) = speed_over(desk, coral) {
        for (hour, speed) in speeds_by_hour(desk, speed_cm_s).iter().enumerate() {
            let to = hour + 1;
            let name = name("by hour");
            rows.push(format!("{name},{hour},{to},{speed:.2},cm/s"));
        }
    }
}

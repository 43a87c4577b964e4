//! The legend: what the colors on the sheet mean, always in view.

use egui::{Align2, Color32, FontId, Rect, RichText, Sense, Shape, Stroke, Ui, Vec2, pos2, vec2};

use crate::catalog::Range;
use crate::desk::Action;
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::sheet::Wash;
use crate::ui::wash::{self, Class};
use crate::ui::{text, theme};
use crate::units::Measure;

/// Height that the legend takes, so that it can be kept free for it.
const HEIGHT: f32 = 132.0;
/// The same where its sentences need two lines.
const NARROW_HEIGHT: f32 = 150.0;
/// Width below which they do, in points.
const NARROW: f32 = 240.0;

/// The same in a small window: the colors with their limits.
const LOW_HEIGHT: f32 = 72.0;

/// Height of the legend in a column of this width.
pub fn height(width: f32, is_compact: bool) -> f32 {
    if is_compact {
        LOW_HEIGHT
    } else if width < NARROW {
        NARROW_HEIGHT
    } else {
        HEIGHT
    }
}

/// Draws it for the wash that is shown; what a narrow window has no room for
/// is scrolled to.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>, look: (Wash, bool)) {
    egui::ScrollArea::vertical()
        .id_salt("legend")
        .auto_shrink(false)
        .show(ui, |ui| all(ui, panel, look));
}

fn all(ui: &mut Ui, panel: &mut Panel<'_>, (shown, is_surface_light): (Wash, bool)) {
    match shown {
        Wash::Flow => {
            let unit = Measure::Speed.shown(panel.units()).unit;
            title(ui, &format!("{}, {unit}", text::LEGEND_FLOW));
            classes(ui, panel, wash::flow_classes(panel.theme), Measure::Speed);
            liked(ui, panel, Measure::Speed);
        }
        Wash::Light => {
            let unit = Measure::Ppfd.shown(panel.units()).unit;
            title(ui, &format!("{}, {unit}", text::LEGEND_LIGHT));
            classes(ui, panel, wash::light_classes(panel.theme), Measure::Ppfd);
            liked(ui, panel, Measure::Ppfd);
            where_lit(ui, panel, is_surface_light);
        }
        Wash::FlowChange => {
            let unit = Measure::Speed.shown(panel.units()).unit;
            title(ui, &format!("{}, {unit}", text::LEGEND_FLOW_CHANGE));
            classes(ui, panel, wash::flow_change_classes(), Measure::Speed);
            parts::aside(ui, panel.theme, text::LEGEND_CHANGE_WORDS);
        }
        Wash::LightChange => {
            let unit = Measure::Ppfd.shown(panel.units()).unit;
            title(ui, &format!("{}, {unit}", text::LEGEND_LIGHT_CHANGE));
            classes(ui, panel, wash::light_change_classes(), Measure::Ppfd);
            parts::aside(ui, panel.theme, text::LEGEND_CHANGE_WORDS);
        }
        Wash::Fit => {
            let words = (
                text::LEGEND_FIT,
                text::LEGEND_FIT_LOW,
                text::LEGEND_FIT_HIGH,
            );
            fit(ui, panel, words, wash::fit_classes());
            parts::aside(ui, panel.theme, text::LEGEND_FIT_WORDS);
        }
        Wash::FitChange => {
            let (low, high) = (text::LEGEND_FIT_WORSE, text::LEGEND_FIT_BETTER);
            let words = (text::LEGEND_FIT_CHANGE, low, high);
            fit(ui, panel, words, wash::fit_change_classes());
            parts::aside(ui, panel.theme, text::LEGEND_FIT_CHANGE_WORDS);
        }
        Wash::None => {
            title(ui, text::LEGEND_NONE);
            parts::aside(ui, panel.theme, text::LEGEND_NONE_WORDS);
        }
    }
    if matches!(shown, Wash::Flow | Wash::Light) {
        let is_light = shown == Wash::Light;
        let tank = panel.desk.results().tank.as_ref();
        let words = if is_light {
            text::HATCHED_LIGHT
        } else if tank.is_some_and(|tank| tank.settling.flip_share > 0.0) {
            text::HATCHED_FLIPS
        } else {
            text::HATCHED
        };
        hatched(ui, panel.theme, words);
    }
}

/// What squares on rock and sand mean.
fn fit(ui: &mut Ui, panel: &Panel<'_>, (name, low, high): (&str, &str, &str), classes: &[Class]) {
    let entry = panel.desk.chosen_entry();
    let entry = entry.and_then(|id| panel.desk.catalog().entry(id));
    let Some(entry) = entry else {
        title(ui, name);
        parts::aside(ui, panel.theme, text::LEGEND_FIT_NONE);
        return;
    };
    title(ui, &format!("{name}: {}", entry.plain_name));
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 16.0), Sense::hover());
    let step = rect.width() / classes.len() as f32;
    for (k, class) in classes.iter().enumerate() {
        let left = rect.left() + k as f32 * step;
        let square = Rect::from_min_size(pos2(left, rect.top()), vec2(step, 14.0));
        ui.painter().rect_filled(square, 0.0, class.color);
    }
    ui.horizontal(|ui| {
        parts::aside(ui, panel.theme, low);
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            parts::aside(ui, panel.theme, high);
        });
    });
}

/// Whether the light is shown in the water as well, or on surfaces only.
fn where_lit(ui: &mut Ui, panel: &mut Panel<'_>, is_surface_light: bool) {
    ui.horizontal_wrapped(|ui| {
        // Both words stay in one row in a narrow window too.
        let gap = if ui.available_width() < 220.0 {
            0.0
        } else {
            12.0
        };
        ui.spacing_mut().item_spacing.x = gap;
        for (words, wanted) in [(text::LIT_WATER, false), (text::LIT_SURFACES, true)] {
            let is_chosen = wanted == is_surface_light;
            if parts::word(ui, panel.theme, words, is_chosen).clicked() && !is_chosen {
                panel.ask.push(Ask::Do(Action::LightOnSurfaces));
            }
        }
    });
}

fn title(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).font(theme::bold(theme::TEXT_SIZE)));
}

/// A row of boxes with the limits of the classes below.
fn classes(ui: &mut Ui, panel: &Panel<'_>, classes: &[Class], measure: Measure) {
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 34.0), Sense::hover());
    let bar = Rect::from_min_size(rect.min, vec2(rect.width(), 14.0));
    let step = bar.width() / classes.len().max(1) as f32;
    let limit = |value: f64, x: f32, anchor: Align2| {
        let shown = value * measure.shown(panel.units()).factor;
        let digits = usize::from(shown.abs() < 10.0 && shown.fract().abs() > 0.05);
        ui.painter().text(
            pos2(x, bar.bottom() + 3.0),
            anchor,
            format!("{shown:.digits$}"),
            FontId::proportional(theme::SMALL_SIZE - 1.0),
            panel.theme.ink,
        );
    };
    // A difference is open at both ends.
    let is_change = classes.first().is_some_and(|class| class.from < 0.0);
    for (idx, class) in classes.iter().enumerate() {
        let left = bar.left() + step * idx as f32;
        let square = Rect::from_min_size(pos2(left, bar.top()), vec2(step, bar.height()));
        ui.painter().rect_filled(square, 0.0, class.color);
        let anchor = if idx == 0 {
            Align2::LEFT_TOP
        } else {
            Align2::CENTER_TOP
        };
        if !(is_change && idx == 0) {
            limit(class.from, left, anchor);
        }
    }
    if let Some((_, range)) = selected_range(panel, measure) {
        let x = |value: f64| bar.left() + bar.width() * place_in(classes, value);
        let (low, high) = (x(range.low), x(range.high));
        let mark = Stroke::new(2.0, panel.theme.ink);
        let line = bar.top() - 3.0;
        ui.painter().hline(low..=high, line, mark);
        for end in [low, high] {
            ui.painter().vline(end, line..=bar.bottom(), mark);
        }
    }
    // In a crowded row the last limit would run into the one before it.
    if let Some(last) = classes.last()
        && step > 36.0
        && !is_change
    {
        limit(last.to, bar.right(), Align2::RIGHT_TOP);
    }
}

/// What the selected coral likes, and its name; else the one whose berths are
/// shown.
fn selected_range<'a>(panel: &Panel<'a>, measure: Measure) -> Option<(&'a str, &'a Range)> {
    let desk = panel.desk;
    let selected = match desk.selection() {
        [id] => desk.layout().corals.iter().find(|coral| coral.id == *id),
        _ => None,
    };
    let id = selected.map(|coral| coral.entry.as_str());
    let entry = desk.catalog().entry(id.or(desk.chosen_entry())?)?;
    let range = match measure {
        Measure::Ppfd => &entry.light_ppfd_umol,
        _ => &entry.flow_cm_s,
    };
    Some((entry.plain_name.as_str(), range))
}

/// Says whose limits the marks on the bar are.
fn liked(ui: &mut Ui, panel: &Panel<'_>, measure: Measure) {
    if let Some((name, range)) = selected_range(panel, measure) {
        let low = measure.number(range.low, panel.units());
        let words = text::legend_likes(name, &low, &panel.text(measure, range.high));
        parts::aside(ui, panel.theme, words);
    }
}

/// Where a value lies along a row of equally wide classes, 0 to 1.
fn place_in(classes: &[Class], value: f64) -> f32 {
    let n = classes.len().max(1) as f64;
    let idx = classes.iter().rposition(|class| class.from <= value);
    let Some(idx) = idx else { return 0.0 };
    let class = &classes[idx];
    let within = ((value - class.from) / (class.to - class.from)).clamp(0.0, 1.0);
    ((idx as f64 + within) / n) as f32
}

fn hatched(ui: &mut Ui, theme: &theme::Theme, words: &str) {
    ui.horizontal_wrapped(|ui| {
        let (rect, _) = ui.allocate_exact_size(Vec2::new(38.0, 13.0), Sense::hover());
        hatch(ui, rect, theme.ink);
        parts::aside(ui, theme, words);
    });
}

/// Slanted lines in a box.
fn hatch(ui: &Ui, rect: Rect, color: Color32) {
    let painter = ui.painter_at(rect);
    let line = Stroke::new(0.8, color);
    let mut x = rect.left() - rect.height();
    while x < rect.right() {
        painter.add(Shape::line_segment(
            [pos2(x, rect.bottom()), pos2(x + rect.height(), rect.top())],
            line,
        ));
        x += 5.5;
    }
    painter.rect_stroke(rect, 0.0, line, egui::StrokeKind::Inside);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_lies_within_its_class_in_the_row() {
        let class = |from, to| Class {
            from,
            to,
            color: Color32::BLACK,
        };
        let row = [class(0.0, 2.0), class(2.0, 10.0)];
        assert_eq!(place_in(&row, 1.0), 0.25, "half of the first");
        assert_eq!(place_in(&row, 6.0), 0.75, "half of the second");
        assert_eq!(place_in(&row, 40.0), 1.0, "beyond the last");
        assert_eq!(place_in(&row, -1.0), 0.0, "before the first");
    }
}

//! A value against its range: a bar with the good part filled, a small
//! triangle where the value is, and the accent color when it lies outside.

use egui::{Rect, RichText, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::advice::{Ahead, Aspect, Strip, Verdict};
use crate::catalog::Entry;
use crate::desk::UnitSystem;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};
use crate::units::Measure;
use crate::words::{aspect_word, certainty_word};

/// Height of the bar, in points.
const BAR: f32 = 9.0;

/// What a strip of light or flow becomes in three years.
pub fn later<'a>(strip: &Strip, ahead: Option<&'a Ahead>) -> Option<&'a Strip> {
    match strip.what {
        Aspect::Light => ahead.map(|ahead| &ahead.light),
        Aspect::Flow => ahead.map(|ahead| &ahead.flow),
        Aspect::Room | Aspect::Mount | Aspect::Stability => None,
    }
}

/// Draws one strip with its name, value, bar and certainty; a hollow mark stands
/// where the value will lie `later`.
pub fn show(
    ui: &mut Ui,
    panel: &Panel<'_>,
    (strip, later): (&Strip, Option<&Strip>),
    entry: &Entry,
) {
    let speaker = panel.speaker();
    let theme = panel.theme;
    let is_out = matches!(strip.verdict, Verdict::Bad | Verdict::Poor)
        || strip
            .value
            .is_some_and(|value| value < strip.low || value > strip.high);
    let ink = if is_out { theme.accent } else { theme.ink };
    let value = value_words(strip, panel.units());
    ui.horizontal(|ui| {
        ui.label(aspect_word(strip.what));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            ui.label(
                RichText::new(&value)
                    .font(theme::bold(theme::TEXT_SIZE))
                    .color(ink),
            );
        });
    });
    if strip.what != Aspect::Mount && strip.what != Aspect::Stability {
        bar(ui, panel, (strip, later), ink);
    }
    let said = speaker.strip(strip, entry);
    let words = format!("{said} · {}", certainty_word(strip.certainty));
    parts::aside(ui, theme, words).on_hover_text(&strip.basis);
    if let Some(later) = later.filter(|later| later.value.is_some()) {
        let value = value_words(later, panel.units());
        parts::aside(ui, theme, text::in_three_years(&value));
    }
    let remedy = speaker.strip_remedy(strip, entry);
    if !remedy.is_empty() {
        ui.label(
            RichText::new(remedy)
                .font(theme::italic(theme::SMALL_SIZE))
                .color(ink),
        );
    }
    ui.add_space(5.0);
}

fn bar(
    ui: &mut Ui,
    panel: &Panel<'_>,
    (strip, later): (&Strip, Option<&Strip>),
    ink: egui::Color32,
) {
    let theme = panel.theme;
    let (rect, response) =
        ui.allocate_exact_size(vec2(ui.available_width(), BAR + 8.0), Sense::hover());
    let name = format!(
        "{}: {}, {}",
        aspect_word(strip.what),
        value_words(strip, panel.units()),
        range_words(strip, panel.units())
    );
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &name));
    response.on_hover_text(&name);
    let bar = Rect::from_min_size(rect.min, vec2(rect.width(), BAR));
    let most = scale_end(strip);
    let x = |value: f64| bar.left() + bar.width() * (value / most).clamp(0.0, 1.0) as f32;
    let painter = ui.painter();
    painter.rect_filled(bar, 0.0, theme.strip);
    let good = Rect::from_x_y_ranges(x(strip.low)..=x(strip.high.min(most)), bar.y_range());
    painter.rect_filled(good, 0.0, theme.in_range);
    painter.vline(x(strip.optimum), bar.y_range(), Stroke::new(1.4, theme.ink));
    let triangle = |value: f64| {
        let tip = pos2(x(value), bar.bottom() + 1.0);
        vec![tip, tip + vec2(4.5, 6.5), tip + vec2(-4.5, 6.5)]
    };
    if let Some(value) = later.and_then(|later| later.value) {
        let line = Stroke::new(1.2, theme.ink);
        painter.add(Shape::closed_line(triangle(value), line));
    }
    if let Some(value) = strip.value {
        painter.add(Shape::convex_polygon(triangle(value), ink, Stroke::NONE));
    }
}

/// The right end of the bar: the range lies in its middle, the value inside it.
fn scale_end(strip: &Strip) -> f64 {
    let high = if strip.high.is_finite() {
        strip.high
    } else {
        (2.0 * strip.optimum).max(2.0 * strip.low)
    };
    let wanted = 1.35 * high;
    wanted
        .max(strip.value.unwrap_or(0.0).min(3.0 * high))
        .max(1e-9)
}

fn value_words(strip: &Strip, units: UnitSystem) -> String {
    match strip.value {
        Some(value) => with_unit(value, strip, units),
        None => text::NOT_KNOWN.to_owned(),
    }
}

fn range_words(strip: &Strip, units: UnitSystem) -> String {
    let low = with_unit(strip.low, strip, units);
    if strip.high.is_finite() {
        text::range(&low, &with_unit(strip.high, strip, units))
    } else {
        text::at_least(&low)
    }
}

/// A value of a strip in the keeper's units.
fn with_unit(value: f64, strip: &Strip, units: UnitSystem) -> String {
    match strip.figure.measure() {
        Measure::Plain => text::times(value),
        measure => measure.text(value, units),
    }
}

//! What lies under the pointer, in words.

use egui::{Align2, Rect, Ui, vec2};
use glam::DVec3;

use crate::catalog::{Catalog, Range};
use crate::desk::UnitSystem;
use crate::study::Medium;
use crate::ui::sheet::Readout;
use crate::ui::text;
use crate::ui::theme::{self, Theme};
use crate::units::Measure;

/// The same on a scrap of paper in the lower right corner of the sheet, where no
/// panel has room for it.
pub fn float(ui: &Ui, sheet: Rect, words: &str, theme: &Theme) {
    let font = theme::italic(theme::TEXT_SIZE);
    let room = sheet.width() * 0.7;
    let galley = ui.painter().layout(words.to_owned(), font, theme.ink, room);
    let at = sheet.right_bottom() - vec2(10.0, 8.0);
    let rect = Align2::RIGHT_BOTTOM.anchor_size(at, galley.size());
    let paper = theme.sheet.gamma_multiply(0.9);
    ui.painter()
        .rect_filled(rect.expand2(vec2(5.0, 2.0)), 2.0, paper);
    ui.painter().galley(rect.min, galley, theme.ink);
}

/// Place, what fills it, speed with direction, and light.
pub fn readout_words(readout: &Readout, units: UnitSystem, catalog: &Catalog) -> String {
    let number = |value: f64| Measure::Length.number(value, units);
    let at = readout.at_cm;
    let unit = Measure::Length.shown(units).unit;
    let mut parts = vec![format!(
        "{}, {}, {} {unit}",
        number(at.x),
        number(at.y),
        number(at.z)
    )];
    match readout.place {
        Medium::Water => {}
        Medium::Rock => parts.push(text::IN_ROCK.to_owned()),
        Medium::Sand => parts.push(text::IN_SAND_BED.to_owned()),
        Medium::Outside => parts.push(text::OUTSIDE.to_owned()),
    }
    if let Some(speed) = readout.speed_cm_s {
        let mut words = Measure::Speed.text(speed, units);
        if let Some([low, high]) = readout.interval_cm_s {
            let low = Measure::Speed.number(low, units);
            let high = Measure::Speed.number(high, units);
            words = format!("{words} ({low} to {high})");
        }
        if let Some(ends) = readout.phases_cm_s {
            let [low, high] = ends.map(|speed| Measure::Speed.number(speed, units));
            words = format!("{words}, over the program {low} to {high}");
        }
        if let Some(ends) = readout.phases_interval_cm_s {
            let [low, high] = ends.map(|speed| Measure::Speed.number(speed, units));
            words = format!("{words} ({low} to {high})");
        }
        if let Some(direction) = readout.velocity_cm_s.and_then(direction_word) {
            words = format!("{words} {direction}");
        }
        parts.push(words);
    }
    if let Some(ppfd) = readout.ppfd_umol {
        parts.push(Measure::Ppfd.text(ppfd, units));
    }
    if let (Some(ppfd), Some(speed)) = (readout.ppfd_umol, readout.speed_cm_s) {
        parts.push(suited(catalog, ppfd, speed));
    }
    parts.join(" · ")
}

/// Which corals this light and this flow would suit: the first two by name.
fn suited(catalog: &Catalog, ppfd_umol: f64, speed_cm_s: f64) -> String {
    const NAMED: usize = 2;
    let within = |range: &Range, value: f64| range.low <= value && value <= range.high;
    let mut fits = catalog.entries().iter().filter(|entry| {
        within(&entry.light_ppfd_umol, ppfd_umol) && within(&entry.flow_cm_s, speed_cm_s)
    });
    let named: Vec<&str> = fits
        .by_ref()
        .take(NAMED)
        .map(|entry| entry.plain_name.as_str())
        .collect();
    text::suited(&named, fits.count())
}

/// Where water goes, by its largest part; nothing where it hardly moves.
fn direction_word(velocity: DVec3) -> Option<&'static str> {
    const STILL_CM_S: f64 = 0.2;
    if velocity.length() < STILL_CM_S {
        return None;
    }
    let size = velocity.abs();
    Some(if size.x >= size.y && size.x >= size.z {
        if velocity.x > 0.0 {
            text::TO_RIGHT
        } else {
            text::TO_LEFT
        }
    } else if size.y >= size.z {
        if velocity.y > 0.0 {
            text::TO_BACK
        } else {
            text::TO_FRONT
        }
    } else if velocity.z > 0.0 {
        text::UPWARDS
    } else {
        text::DOWNWARDS
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn directions_are_those_a_keeper_sees_from_the_front() {
        let word = |x, y, z| direction_word(DVec3::new(x, y, z));
        assert_eq!(word(3.0, 1.0, 0.0), Some(text::TO_RIGHT), "along the glass");
        assert_eq!(word(0.0, -3.0, 1.0), Some(text::TO_FRONT), "to the viewer");
        assert_eq!(word(0.0, 0.0, -3.0), Some(text::DOWNWARDS), "down");
        assert_eq!(word(0.05, 0.0, 0.0), None, "still");
    }
}

//! The shown layout set against another one: figures with who is better,
//! what becomes of each coral, what to move, and a ranking of all.

use std::sync::Arc;

use egui::{Align, Grid, Label, Layout, RichText, ScrollArea, Sense, Ui, Vec2};

use crate::advice::{CoralFate, FigureRow, Move, MoveKind, Outcome, Verdict};
use crate::desk::{Action, Command, Compared, FlowStatus};
use crate::ui::ask::{Ask, Below};
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};
use crate::units::{Measure, UnitSystem};
use crate::words::Speaker;

/// Half size of what is flown to, in m.
const HALF_M: f64 = 0.06;

/// Draws the comparison; `has_line` says whether the swipe line is on.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>, has_line: bool) {
    if ui.available_width() < parts::NARROW_LIST {
        ScrollArea::vertical()
            .id_salt("compare")
            .auto_shrink(false)
            .min_scrolled_height(parts::LEAST_LIST)
            .show(ui, |ui| all(ui, panel, (has_line, true)));
    } else {
        all(ui, panel, (has_line, false));
    }
}

/// Head and columns; the columns one below the other if they are stacked.
fn all(ui: &mut Ui, panel: &mut Panel<'_>, (has_line, is_stacked): (bool, bool)) {
    head(ui, panel, has_line);
    let Some(compared) = panel.desk.results().compared.clone() else {
        let words = if panel.desk.compared().is_some() {
            text::COMPARING
        } else {
            text::COMPARE_HINT
        };
        parts::aside(ui, panel.theme, words);
        return;
    };
    if is_stacked {
        for n in 0..3 {
            column_title(ui, &compared, n);
            column_body(ui, panel, &compared, n);
        }
        return;
    }
    let (width, height) = (ui.available_width(), ui.available_height());
    let shares = [0.36, 0.32, 0.32];
    ui.horizontal_top(|ui| {
        for (n, share) in shares.into_iter().enumerate() {
            let size = Vec2::new(width * share - 10.0, height);
            ui.allocate_ui_with_layout(size, Layout::top_down(Align::Min), |ui| {
                ui.set_min_size(size);
                ui.set_max_width(size.x);
                column(ui, panel, &compared, n);
            });
        }
    });
}

fn column(ui: &mut Ui, panel: &mut Panel<'_>, compared: &Arc<Compared>, n: usize) {
    column_title(ui, compared, n);
    ScrollArea::vertical()
        .id_salt(("compare", n))
        .auto_shrink(false)
        .min_scrolled_height(parts::LEAST_LIST)
        .show(ui, |ui| column_body(ui, panel, compared, n));
}

fn column_title(ui: &mut Ui, compared: &Compared, n: usize) {
    let titles = [
        text::FIGURES.to_owned(),
        text::corals_changed(
            compared
                .comparison
                .corals
                .iter()
                .filter(|fate| is_changed(fate))
                .count(),
        ),
        text::moves(compared.moves.len()),
    ];
    ui.label(RichText::new(&titles[n]).font(theme::bold(theme::SMALL_SIZE)));
}

fn column_body(ui: &mut Ui, panel: &mut Panel<'_>, compared: &Compared, n: usize) {
    match n {
        0 => {
            ranking(ui, panel, compared);
            let names = [compared.other_idx, panel.desk.layout_idx()];
            figures(ui, panel, &compared.comparison.rows, names);
        }
        1 => corals(ui, panel, &compared.comparison.corals),
        _ => moves(ui, panel, &compared.moves),
    }
}

/// Which layouts, how far their estimates are, and how to see the difference.
fn head(ui: &mut Ui, panel: &mut Panel<'_>, has_line: bool) {
    let layouts = panel.desk.scene().layouts.clone();
    let (shown, other) = (panel.desk.layout_idx(), panel.desk.compared());
    ui.horizontal_wrapped(|ui| {
        let name = |idx: usize| match layouts[idx].name.as_str() {
            "" => text::UNNAMED.to_owned(),
            name => name.to_owned(),
        };
        ui.label(RichText::new(name(shown)).font(theme::bold(theme::TEXT_SIZE)));
        ui.label(text::AGAINST);
        let mut wanted = other;
        let selected = other.map_or_else(|| text::CHOOSE_LAYOUT.to_owned(), name);
        let combo = egui::ComboBox::from_id_salt("other layout")
            .selected_text(selected)
            .show_ui(ui, |ui| {
                for idx in (0..layouts.len()).filter(|idx| *idx != shown) {
                    ui.selectable_value(&mut wanted, Some(idx), name(idx));
                }
            });
        combo.response.accessible_name(text::OTHER_LAYOUT);
        if wanted != other {
            panel.send.push(Command::CompareWith(wanted));
        }
        let Some(other) = other else { return };
        status(ui, panel);
        ui.add_space(8.0);
        let line_word = parts::word(ui, panel.theme, text::SWIPE_LINE, has_line);
        if line_word.on_hover_text(text::SWIPE_TIP).clicked() {
            panel.ask.push(Ask::SwipeLine);
        }
        for action in [
            Action::WashFlowChange,
            Action::WashLightChange,
            Action::WashFitChange,
        ] {
            let response = parts::link(ui, panel.theme, action.label());
            if response.on_hover_text(action.tip()).clicked() {
                panel.ask.push(Ask::Do(action));
            }
        }
        if parts::link(ui, panel.theme, text::SWAP_LAYOUTS).clicked() {
            panel.send.push(Command::ShowLayout(other));
        }
        if parts::link(ui, panel.theme, text::END_COMPARING).clicked() {
            panel.send.push(Command::CompareWith(None));
            panel.ask.push(Ask::List(Below::Findings));
        }
    });
}

fn status(ui: &mut Ui, panel: &Panel<'_>) {
    let results = panel.desk.results();
    let words = match &results.other.status {
        FlowStatus::Running(share) => text::other_running(*share),
        FlowStatus::Failed(why) => format!("{}: {why}", text::NO_ESTIMATE),
        _ if results.tank_is_old() || matches!(results.flow_status(), FlowStatus::Running(_)) => {
            text::SHOWN_SETTLES.to_owned()
        }
        _ => return,
    };
    parts::aside(ui, panel.theme, words);
}

fn ranking(ui: &mut Ui, panel: &Panel<'_>, compared: &Compared) {
    let layouts = &panel.desk.scene().layouts;
    if layouts.len() < 3 || compared.ranking.len() < 2 {
        return;
    }
    let names = compared.ranking.iter().enumerate();
    let words: Vec<String> = names
        .filter_map(|(n, idx)| Some(format!("{}. {}", n + 1, layouts.get(*idx)?.name)))
        .collect();
    let left = layouts.len() - compared.ranking.len().min(layouts.len());
    parts::aside(ui, panel.theme, text::ranking(&words.join(", "), left))
        .on_hover_text(text::RANKING_TIP);
}

fn figures(ui: &mut Ui, panel: &Panel<'_>, rows: &[FigureRow], layouts: [usize; 2]) {
    const NAME_LETTERS: usize = 14;
    let theme = panel.theme;
    let scene = panel.desk.scene();
    Grid::new("figures")
        .num_columns(4)
        .spacing([10.0, 1.0])
        .show(ui, |ui| {
            parts::aside(ui, theme, "");
            for idx in layouts {
                let name = scene.layouts.get(idx).map_or("", |layout| &layout.name);
                parts::aside(ui, theme, text::shortened(name, NAME_LETTERS)).on_hover_text(name);
            }
            parts::aside(ui, theme, "");
            ui.end_row();
            for row in rows {
                let (unit, factor) = unit_of(row, panel.units());
                let name = match unit {
                    "" => row.name.to_owned(),
                    unit => format!("{}, {unit}", row.name),
                };
                ui.label(RichText::new(name).size(theme::SMALL_SIZE));
                for value in [row.first, row.second] {
                    ui.label(
                        RichText::new(figure(value.map(|value| value * factor)))
                            .size(theme::SMALL_SIZE),
                    );
                }
                let (words, color) = match row.outcome {
                    Outcome::Second => (text::BETTER, theme.good),
                    Outcome::First => (text::WORSE, theme.accent),
                    Outcome::Tie => (text::TIE, theme.aside),
                    Outcome::Differs => (text::DIFFERS, theme.ink),
                    Outcome::Unknown => (text::NOT_KNOWN, theme.aside),
                };
                let words = RichText::new(words).size(theme::SMALL_SIZE).color(color);
                ui.label(words)
                    .on_hover_text(text::tie_within(row.uncertainty * factor, unit));
                ui.end_row();
            }
        });
}

/// The unit in which a row is shown, and what one of its own is in it.
fn unit_of(row: &FigureRow, units: UnitSystem) -> (&'static str, f64) {
    match row.measure {
        Measure::Plain => (row.unit, 1.0),
        measure => (measure.shown(units).unit, measure.shown(units).factor),
    }
}

/// Three digits, no more than the figures are worth.
fn figure(value: Option<f64>) -> String {
    match value {
        None => text::UNKNOWN_FIGURE.to_owned(),
        Some(value) if value.abs() >= 99.95 || value.fract() == 0.0 => format!("{value:.0}"),
        Some(value) if value.abs() >= 9.995 => format!("{value:.1}"),
        Some(value) => format!("{value:.2}"),
    }
}

/// Whether a value changed by more than a tenth, which is what light and flow
/// are sure of.
fn has_moved(pair: Option<[f64; 2]>) -> bool {
    const SURE: f64 = 0.1;
    pair.is_some_and(|[a, b]| (a - b).abs() > SURE * a.abs().max(b.abs()))
}

fn is_changed(fate: &CoralFate) -> bool {
    has_moved(fate.light_umol)
        || has_moved(fate.flow_cm_s)
        || fate.before != fate.after
        || !fate.causes.is_empty()
        || fate.acclimation.is_some()
}

fn corals(ui: &mut Ui, panel: &mut Panel<'_>, fates: &[CoralFate]) {
    let theme = panel.theme;
    for fate in fates.iter().filter(|fate| is_changed(fate)) {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 5.0;
            let name = RichText::new(&fate.name).font(theme::bold(theme::SMALL_SIZE));
            if ui.add(Label::new(name).sense(Sense::click())).clicked() {
                go(panel, fate.id);
            }
            let is_known = fate.before != Some(Verdict::Unknown);
            let is_worse = is_known && fate.after < fate.before;
            let color = if is_worse { theme.accent } else { theme.ink };
            let words = text::fate(verdict(fate.before), verdict(fate.after));
            ui.label(RichText::new(words).size(theme::SMALL_SIZE).color(color));
        });
        let units = panel.units();
        let steps = [
            (text::ASPECT_LIGHT, Measure::Ppfd, fate.light_umol),
            (text::ASPECT_FLOW, Measure::Speed, fate.flow_cm_s),
        ];
        for (name, measure, pair) in steps {
            if let Some([a, b]) = pair.filter(|_| has_moved(pair)) {
                let words = text::step(name, &measure.number(a, units), &measure.text(b, units));
                parts::aside(ui, theme, words);
            }
        }
        let speaker = speaker(panel);
        for cause in speaker.fate_causes(fate) {
            parts::aside(ui, theme, cause);
        }
        if let Some(plan) = &fate.acclimation {
            let words =
                RichText::new(speaker.acclimation(plan)).font(theme::italic(theme::SMALL_SIZE));
            ui.label(words.color(theme.accent));
        }
    }
    if fates.iter().all(|fate| !is_changed(fate)) {
        parts::aside(ui, theme, text::NO_FATES);
    }
}

/// Who knows the items of both layouts.
fn speaker<'a>(panel: &Panel<'a>) -> Speaker<'a> {
    let desk = panel.desk;
    let other = desk
        .compared()
        .and_then(|idx| desk.scene().layouts.get(idx));
    match other {
        Some(other) => panel.speaker().knowing(other),
        None => panel.speaker(),
    }
}

fn go(panel: &mut Panel<'_>, id: u32) {
    panel.send.push(Command::Select(vec![id]));
    if let Some(item) = panel.desk.layout().item(id) {
        let half_m = glam::DVec3::splat(HALF_M);
        panel.ask.push(Ask::FlyTo(item.at_cm() / 100.0, half_m));
    }
}

/// A verdict in a word; none where the coral is not in that layout.
fn verdict(verdict: Option<Verdict>) -> Option<&'static str> {
    Some(match verdict? {
        Verdict::Bad => text::FATE_BAD,
        Verdict::Poor => text::FATE_POOR,
        Verdict::Fair => text::FATE_FAIR,
        Verdict::Good => text::FATE_GOOD,
        Verdict::Unknown => text::NOT_KNOWN,
    })
}

fn moves(ui: &mut Ui, panel: &mut Panel<'_>, moves: &[Move]) {
    let theme = panel.theme;
    if moves.is_empty() {
        parts::aside(ui, theme, text::NO_MOVES);
    }
    let speaker = speaker(panel);
    for (n, step) in moves.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            ui.spacing_mut().item_spacing.x = 5.0;
            let number = RichText::new(format!("{}", n + 1)).font(theme::bold(theme::SMALL_SIZE));
            ui.label(number.color(theme.accent));
            let is_off = matches!(
                step.kind,
                MoveKind::TakeOff | MoveKind::Unmount | MoveKind::Lift
            );
            let color = if is_off { theme.aside } else { theme.ink };
            let words = RichText::new(speaker.step(step))
                .size(theme::SMALL_SIZE)
                .color(color);
            let label = ui.add(Label::new(words).wrap().sense(Sense::click()));
            if label.clicked()
                && let Some(id) = step.items.first()
            {
                go(panel, *id);
            }
        });
    }
}

//! What Bommie noticed, in sentences, worst first.

use egui::{Align, Layout, RichText, ScrollArea, Ui};

use crate::advice::{Finding, Kind, Remedy, Severity};
use crate::catalog::Catalog;
use crate::desk::{Action, Command, FlowStatus, LightStatus, Place, changes_of};
use crate::light::SurfacePatch;
use crate::scene::Item;
use crate::ui::ask::{Ask, Below};
use crate::ui::parts::{self, Panel};
use crate::ui::{compare, growth, progress, proposals, text, theme};
use crate::words::{certainty_word, kind_word};

/// Which list is shown and how.
#[derive(Clone, Copy, Debug)]
pub struct Lists {
    /// The list.
    pub below: Below,
    /// The finding that the keeper stands on.
    pub current: Option<usize>,
    /// Whether the swipe line is on.
    pub has_line: bool,
}

/// Draws the list that is chosen.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>, lists: Lists, readout: Option<&str>) {
    let Lists {
        below,
        current,
        has_line,
    } = lists;
    top_row(ui, panel, below, readout);
    match below {
        Below::Findings => {}
        Below::Growth => return growth::show(ui, panel),
        Below::Compare => return compare::show(ui, panel, has_line),
    }
    let findings = std::sync::Arc::clone(&panel.desk.results().findings);
    ScrollArea::vertical()
        .id_salt("findings")
        .auto_shrink(false)
        .min_scrolled_height(parts::LEAST_LIST)
        .show(ui, |ui| {
            proposals::show(ui, panel);
            if findings.is_empty() {
                parts::aside(ui, panel.theme, quiet_words(panel));
            }
            for (idx, finding) in findings.iter().enumerate() {
                line(ui, panel, (idx, finding), current == Some(idx));
            }
        });
}

/// The names of the lists, and what is under the pointer or what a tool asks
/// for. Where there is no room for both, the pointer is elsewhere than on the
/// names.
fn top_row(ui: &mut Ui, panel: &mut Panel<'_>, below: Below, readout: Option<&str>) {
    /// What the names of all three lists take, in points.
    const HEADS: f32 = 450.0;
    /// Between them and what is said of the place under the pointer.
    const GAP: f32 = 16.0;
    let id = ui.scope_id().with("heads");
    // As wide as they were in the last frame: what they count has no fixed width.
    let heads_width = ui.data(|data| data.get_temp(id)).unwrap_or(HEADS);
    let font = theme::italic(theme::TEXT_SIZE);
    let words = readout.map(|readout| RichText::new(readout).font(font.clone()));
    let words = words.map(|words| words.color(panel.theme.aside));
    let width = |readout: &str| {
        let text = readout.to_owned();
        let galley = ui.painter().layout_no_wrap(text, font, panel.theme.aside);
        galley.size().x
    };
    let room = ui.available_width() - heads_width;
    if readout.is_some_and(|readout| width(readout) > room) {
        ui.horizontal_wrapped(|ui| {
            ui.set_min_height(parts::WORD_HEIGHT);
            words.map(|words| ui.label(words))
        });
        return;
    }
    if room < 0.0 {
        ui.horizontal_wrapped(|ui| heads(ui, panel, below, false));
        return;
    }
    ui.horizontal(|ui| {
        heads(ui, panel, below, true);
        let width = ui.min_rect().width() + GAP;
        ui.data_mut(|data| data.insert_temp(id, width));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            words.map(|words| ui.label(words))
        });
    });
}

/// The names of the lists, each with how much is in it where there is room.
fn heads(ui: &mut Ui, panel: &mut Panel<'_>, below: Below, has_counts: bool) {
    let results = panel.desk.results();
    let n_rough = results.findings.iter().filter(|it| is_rough(panel, it));
    let n_rough = n_rough.count();
    let n_firm = results.findings.len() - n_rough;
    let lists = [
        (
            Below::Findings,
            text::NOTICED,
            text::noticed(n_firm, n_rough),
        ),
        (
            Below::Growth,
            text::GROWTH,
            text::count(results.growth.len()),
        ),
    ];
    for (list, name, count) in lists {
        if parts::word(ui, panel.theme, name, list == below).clicked() {
            panel.ask.push(Ask::List(list));
        }
        if has_counts {
            parts::aside(ui, panel.theme, count);
            ui.add_space(10.0);
        }
    }
    if panel.desk.scene().layouts.len() > 1 || below == Below::Compare {
        let response = parts::word(ui, panel.theme, text::COMPARE, below == Below::Compare);
        if response.on_hover_text(Action::Compare.tip()).clicked() {
            panel.ask.push(Ask::Do(Action::Compare));
        }
    }
}

/// Whether a finding follows from an estimate that may still change much: it is
/// not counted as found yet.
fn is_rough(panel: &Panel<'_>, finding: &Finding) -> bool {
    let results = panel.desk.results();
    match finding.kind {
        Kind::DeadSpot | Kind::CoralFlow | Kind::SandMoves | Kind::MayFlip => {
            let (stage, is_old) = progress::stage(panel.desk);
            is_old || stage.is_rough()
        }
        Kind::Shade | Kind::CoralLight => {
            results.light_is_old() || results.light_status() != LightStatus::Fine
        }
        _ => false,
    }
}

/// How sure a finding is; while its estimate is rough, that it is.
fn sure_word(panel: &Panel<'_>, finding: &Finding) -> &'static str {
    if is_rough(panel, finding) {
        text::ROUGH
    } else {
        certainty_word(finding.certainty)
    }
}

/// What to say while there is nothing to list.
fn quiet_words(panel: &Panel<'_>) -> &'static str {
    let layout = panel.desk.layout();
    let results = panel.desk.results();
    if layout.rocks.is_empty() && layout.pumps.is_empty() {
        return text::EMPTY_TANK;
    }
    let waits = matches!(
        results.flow_status(),
        FlowStatus::Idle | FlowStatus::Running(_)
    ) || matches!(
        results.light_status(),
        LightStatus::Idle | LightStatus::Running
    );
    if waits {
        text::STILL_LOOKING
    } else {
        text::ALL_WELL
    }
}

fn line(ui: &mut Ui, panel: &mut Panel<'_>, (idx, finding): (usize, &Finding), is_current: bool) {
    let width = ui.available_width();
    let rough = is_rough(panel, finding);
    let kind = |ui: &mut Ui, theme: &theme::Theme| {
        let color = if rough {
            theme.aside
        } else if finding.severity == Severity::Serious {
            theme.accent
        } else {
            theme.ink
        };
        let word = RichText::new(kind_word(finding.kind)).font(theme::bold(theme::TEXT_SIZE));
        ui.add(egui::Label::new(word.color(color)).truncate());
    };
    if width < parts::NARROW_LIST {
        ui.horizontal_wrapped(|ui| {
            kind(ui, panel.theme);
            parts::aside(ui, panel.theme, sure_word(panel, finding));
            remedies(ui, panel, finding);
        });
        sentence(ui, panel, (idx, finding), (is_current, true));
        ui.add_space(5.0);
        return;
    }
    let remedy_width = (width * 0.22).clamp(110.0, 230.0);
    let text_width = (width - 100.0 - 60.0 - remedy_width - 40.0).max(120.0);
    ui.horizontal_top(|ui| {
        parts::cell(ui, 100.0, |ui| kind(ui, panel.theme));
        parts::cell(ui, text_width, |ui| {
            sentence(ui, panel, (idx, finding), (is_current, true));
        });
        parts::cell(ui, 60.0, |ui| {
            parts::aside(ui, panel.theme, sure_word(panel, finding));
        });
        // Names may be long: they go on below each other.
        ui.horizontal_wrapped(|ui| remedies(ui, panel, finding));
    });
}

/// What was noticed, in words: the one that the keeper stands on whole and in
/// view, the others as far as there is room.
fn sentence(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (idx, finding): (usize, &Finding),
    (is_current, is_whole): (bool, bool),
) {
    let said = panel.speaker().finding(finding);
    let mut words = RichText::new(&said);
    if is_rough(panel, finding) {
        words = words.color(panel.theme.aside).italics();
    }
    if is_current {
        words = words.underline();
    }
    let response = parts::sentence(ui, words, is_whole);
    parts::focus_ring(ui, panel.theme, &response);
    let seen = egui::Id::unique("finding in view");
    let in_view = ui.data(|data| data.get_temp::<usize>(seen));
    if (is_current && in_view != Some(idx)) || response.gained_focus() {
        response.scroll_to_me(None);
    }
    if is_current {
        ui.data_mut(|data| data.insert_temp(seen, idx));
    }
    let tip = format!("{said}\n{}", text::FLY_THERE);
    if response.on_hover_text(tip).clicked() {
        panel.ask.push(Ask::Finding(idx));
    }
}

/// What can be done about it.
fn remedies(ui: &mut Ui, panel: &mut Panel<'_>, finding: &Finding) {
    let links = panel.speaker().remedy_links(&finding.remedies);
    for (n, (remedy, words)) in finding.remedies.iter().zip(&links).enumerate() {
        if n > 0 {
            parts::aside(ui, panel.theme, "·");
        }
        if link(ui, panel, remedy, words) {
            take(panel, finding, remedy);
        }
    }
}

/// A remedy as a link, with what it does as its tip; whether it was clicked.
fn link(ui: &mut Ui, panel: &Panel<'_>, remedy: &Remedy, words: &str) -> bool {
    let response = parts::link(ui, panel.theme, words);
    let tip = panel.speaker().remedy(remedy);
    response.on_hover_text(tip).clicked()
}

/// Does what a remedy offers.
fn take(panel: &mut Panel<'_>, finding: &Finding, remedy: &Remedy) {
    let fly = Ask::FlyTo(finding.place.at_m(), finding.place.half_size_m());
    match remedy {
        Remedy::ProposePump => panel.ask.push(Ask::Do(Action::ProposePump)),
        Remedy::ShowBerths(id) => {
            panel.send.push(Command::Select(vec![*id]));
            panel.ask.push(Ask::Do(Action::WashFit));
        }
        Remedy::ListCandidates => {
            panel.ask.push(fly);
            let place = darkest_place(panel, finding);
            panel.send.push(Command::AskPlace(place));
        }
        Remedy::Select(id) => {
            panel.send.push(Command::Select(vec![*id]));
            panel.ask.push(fly);
        }
        _ => {
            let label = panel.speaker().remedy(remedy);
            panel.send.push(Command::Begin(label));
            for change in changes_of(remedy, panel.desk.layout()) {
                panel.send.push(Command::Change(change));
            }
            panel.send.push(Command::End);
        }
    }
}

/// The surface at a finding's point.
fn darkest_place(panel: &Panel<'_>, finding: &Finding) -> Option<Place> {
    let results = panel.desk.results();
    let at_m = finding.place.at_m();
    let patches = results.light.as_ref()?.patches.iter();
    let away = |patch: &SurfacePatch| patch.at_m.distance(at_m);
    let nearest = patches.min_by(|a, b| away(a).total_cmp(&away(b)))?;
    Some(Place {
        at_m: nearest.at_m,
        normal: nearest.normal,
        on: nearest.owner,
    })
}

/// What an item is called in a sentence: its name, or its kind and number.
pub fn item_words(item: &Item) -> String {
    if !item.name().is_empty() {
        return item.name().to_owned();
    }
    if let Item::Coral(coral) = item
        && let Some(entry) = Catalog::built_in().entry(&coral.entry)
    {
        return entry.label();
    }
    format!("{} {}", text::kind(item.kind()), item.id())
}

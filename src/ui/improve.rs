//! The page that looks for what to change before anything is bought: what may
//! change, what must hold, and the plans that were found.

use std::collections::BTreeSet;
use std::sync::Arc;

use egui::{RichText, Ui};

use crate::advice::GearPane;
use crate::desk::{Action, Change, Command, SearchStatus};
use crate::improve::search::{CoralState, ImproveOptions, Improvement, Lever, Plan};
use crate::scene::{Item, ItemId};
use crate::ui::ask::Ask;
use crate::ui::findings::item_words;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};
use crate::units::Measure;
use crate::words::verdict_adverb;

/// What may change, in the keeper's words.
const LEVERS: [(Lever, &str); 8] = [
    (Lever::Aim, "aim of pumps"),
    (Lever::Throttle, "strength of pumps"),
    (Lever::Hang, "where pumps hang"),
    (Lever::Programme, "two pumps in turn"),
    (Lever::Dim, "brightness of lamps, channel by channel"),
    (Lever::Height, "height of lamps"),
    (Lever::Place, "place of corals that are not glued"),
    (Lever::Glued, "place of glued corals"),
];

/// Panes that may carry gear.
const PANES: [(GearPane, &str); 3] = [
    (GearPane::Left, "left pane"),
    (GearPane::Right, "right pane"),
    (GearPane::Back, "back"),
];

/// Numbers of pumps that may be bought.
const BUYS: [(usize, &str); 4] = [(0, "none"), (1, "one"), (2, "two"), (3, "three pumps")];

/// The page with what was chosen on it so far.
#[derive(Clone, Debug, Default)]
pub struct ImprovePage {
    options: Option<ImproveOptions>,
}

impl ImprovePage {
    /// Draws the page.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        let options = self
            .options
            .get_or_insert_with(|| panel.desk.improve_options().clone());
        parts::aside(ui, panel.theme, text::IMPROVE_WORDS);
        if panel.desk.layout().corals.is_empty() {
            ui.label(text::NO_CORALS_TO_HELP);
            return;
        }
        levers(ui, options);
        keeps(ui, panel, options);
        parts::heading(ui, text::MAY_BUY);
        ui.horizontal(|ui| {
            let new = parts::choice(ui, panel.theme, &BUYS, |n| n == options.buy_max);
            options.buy_max = new.unwrap_or(options.buy_max);
        });
        ui.add_space(8.0);
        begin(ui, panel, options);
        if let Some(found) = panel.desk.results().improvement.clone() {
            plans(ui, panel, &found);
        }
    }
}

/// What may change.
fn levers(ui: &mut Ui, options: &mut ImproveOptions) {
    parts::heading(ui, text::MAY_CHANGE);
    ui.horizontal_wrapped(|ui| {
        for (lever, words) in LEVERS {
            let mut may = options.may.contains(&lever);
            if ui.checkbox(&mut may, words).changed() {
                set(&mut options.may, lever, may);
            }
        }
    });
    if !options.may.contains(&Lever::Hang) && options.buy_max == 0 {
        return;
    }
    parts::heading(ui, text::MAY_CARRY_GEAR);
    ui.horizontal_wrapped(|ui| {
        for (pane, words) in PANES {
            let mut may = options.panes.contains(&pane);
            if ui.checkbox(&mut may, words).changed() {
                set(&mut options.panes, pane, may);
            }
        }
    });
}

/// Puts a thing into a set, or takes it out.
fn set<T: Ord>(all: &mut BTreeSet<T>, one: T, is_in: bool) {
    if is_in {
        all.insert(one);
    } else {
        all.remove(&one);
    }
}

/// What must hold: things that stay, corners that stay calm.
fn keeps(ui: &mut Ui, panel: &Panel<'_>, options: &mut ImproveOptions) {
    let layout = panel.desk.layout();
    let gear = layout.pumps.iter().cloned().map(Item::Pump);
    let lamps = layout.lamps.iter().cloned().map(Item::Lamp);
    let corals = || layout.corals.iter().cloned().map(Item::Coral);
    parts::heading(ui, text::MUST_STAY);
    ui.horizontal_wrapped(|ui| {
        for item in gear.chain(lamps).chain(corals()) {
            tick(ui, &mut options.fixed, &item, text::keep);
        }
    });
    parts::heading(ui, text::MUST_BE_CALM);
    ui.horizontal_wrapped(|ui| {
        for item in corals() {
            tick(ui, &mut options.quiet, &item, text::calm);
        }
    });
}

fn tick(ui: &mut Ui, ids: &mut BTreeSet<ItemId>, item: &Item, words: fn(&str) -> String) {
    let id = item.id();
    let mut is_in = ids.contains(&id);
    let name = format!("{} ({id})", item_words(item));
    if ui.checkbox(&mut is_in, words(&name)).changed() {
        set(ids, id, is_in);
    }
}

fn begin(ui: &mut Ui, panel: &mut Panel<'_>, options: &ImproveOptions) {
    let status = panel.desk.results().improving.clone();
    ui.horizontal(|ui| match status {
        SearchStatus::Running(share) => {
            ui.label(text::seeking_plans(share));
            if parts::link(ui, panel.theme, text::STOP).clicked() {
                panel.ask.push(Ask::Do(Action::StopWork));
            }
        }
        SearchStatus::Idle | SearchStatus::Done | SearchStatus::Old => {
            if parts::main_button(ui, panel.theme, text::LOOK_FOR_PLANS).clicked() {
                let wanted = Box::new(options.clone());
                panel.send.push(Command::Improve(wanted));
            }
            if status == SearchStatus::Old {
                parts::aside(ui, panel.theme, text::PLAN_IS_OLD);
            }
        }
    });
}

fn plans(ui: &mut Ui, panel: &mut Panel<'_>, found: &Arc<Improvement>) {
    if found.plans.is_empty() {
        let is_well = found.before.in_range() == found.before.corals.len();
        ui.label(if is_well {
            text::ALL_WELL
        } else {
            text::NO_PLAN
        });
    }
    for (i, plan) in found.plans.iter().enumerate() {
        parts::rule(ui, panel.theme);
        ui.push_id(("plan", i), |ui| show_plan(ui, panel, (i + 1, plan), found));
    }
}

fn show_plan(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (number, plan): (usize, &Plan),
    found: &Improvement,
) {
    let (before, after) = (&plan.before, &plan.after);
    let counts = [before.in_range(), after.in_range(), after.corals.len()];
    parts::heading(ui, &text::plan_heading(number, counts));
    let volume = |litres: f64| panel.text(Measure::Volume, litres);
    ui.label(format!(
        "{}; {}",
        text::plan_water(
            &volume(before.dead_l),
            &volume(after.dead_l),
            &volume(after.dead_half_width_l)
        ),
        text::buys(plan.buys.len())
    ));
    for (i, other) in found.plans.iter().enumerate() {
        if i + 1 != number && plan.ties_with(other) {
            parts::aside(ui, panel.theme, text::tie(i + 1));
        }
    }
    small_heading(ui, text::WHAT_TO_DO);
    for deed in &plan.deeds {
        ui.label(format!("· {}", deed.text(&panel.speaker())));
    }
    let changed = after.corals.iter().filter_map(|now| {
        let then = before.coral(now.id)?;
        ((then.light, then.flow) != (now.light, now.flow)).then(|| gain(panel, then, now))
    });
    let changed: Vec<String> = changed.collect();
    if !changed.is_empty() {
        small_heading(ui, text::WHO_GAINS);
        for words in changed {
            ui.label(format!("· {words}"));
        }
    }
    if !plan.cautions.is_empty() {
        small_heading(ui, text::WHAT_TO_MIND);
        for caution in &plan.cautions {
            parts::aside(ui, panel.theme, format!("· {caution}"));
        }
    }
    let is_there = |name: &str| panel.desk.scene().layouts.iter().any(|l| l.name == name);
    let is_old = panel.desk.results().improving == SearchStatus::Old;
    if !is_old
        && !is_there(&plan.layout.name)
        && parts::link(ui, panel.theme, &text::add_plan(number)).clicked()
    {
        let idx = panel.desk.layout_idx();
        let change = Change::AddLayout(Box::new(plan.layout.clone()));
        panel.edit(text::ADD_A_PLAN, change);
        panel.send.push(Command::CompareWith(Some(idx)));
        panel.send.push(Command::ShowLayout(idx + 1));
        panel.ask.push(Ask::Close);
    }
}

fn small_heading(ui: &mut Ui, words: &str) {
    ui.label(RichText::new(words).font(theme::bold(theme::SMALL_SIZE)));
}

/// What a plan does for one coral.
fn gain(panel: &Panel<'_>, then: &CoralState, now: &CoralState) -> String {
    let light = |state: &CoralState| told(panel, Measure::Ppfd, state.ppfd_umol);
    let flow = |state: &CoralState| told(panel, Measure::Speed, state.speed_cm_s);
    let with = |value: String, verdict| format!("{value} ({})", verdict_adverb(verdict));
    text::gain(
        &now.name,
        [&with(light(then), then.light), &with(light(now), now.light)],
        [&with(flow(then), then.flow), &with(flow(now), now.flow)],
    )
}

fn told(panel: &Panel<'_>, measure: Measure, value: Option<f64>) -> String {
    value.map_or_else(
        || text::NOT_KNOWN.to_owned(),
        |value| panel.text(measure, value),
    )
}

//! The strip on top: what is open, which layout, which wash, how far the
//! estimates are, and the way to every command.

use egui::{
    Align, Color32, Layout, Response, RichText, Role, Sense, TextEdit, Ui, Vec2, WidgetInfo,
};

use crate::desk::{Action, ActionGroup, Change, Command, FlowStatus, LightStatus};
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::sheet::Wash;
use crate::ui::{text, theme};

/// A window narrower than this, in points, has the strip with fewer words.
const SHORT_BELOW: f32 = 800.0;

/// What the strip remembers between frames.
#[derive(Debug, Default)]
pub struct TitleStrip {
    /// The layout's new name while it is being typed.
    renaming: Option<String>,
    /// The scene's new name while it is being typed.
    naming: Option<String>,
    /// The layout whose name was brought into view last.
    in_view: Option<usize>,
}

impl TitleStrip {
    /// Starts typing a new name for the shown layout.
    pub fn rename_layout(&mut self, panel: &Panel<'_>) {
        self.renaming = Some(panel.desk.layout().name.clone());
    }

    /// Draws the strip.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, wash: Wash) {
        let width = ui.available_width();
        ui.horizontal_centered(|ui| {
            menu(ui, panel);
            if width > SHORT_BELOW {
                undo(ui, panel);
            }
            ui.add_space(2.0);
            self.scene_name(ui, panel);
            ui.add_space(10.0);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let mut words = format!("{}…", Action::Commands.label());
                if width > SHORT_BELOW {
                    words = format!("{words} {}", Action::Commands.key().replace('+', " "));
                }
                let response = parts::word(ui, panel.theme, &words, false);
                if response.on_hover_text(Action::Commands.tip()).clicked() {
                    panel.ask.push(Ask::Do(Action::Commands));
                }
                ui.add_space(14.0);
                status(ui, panel, width);
                ui.add_space(14.0);
                washes(ui, panel, wash);
                if width > SHORT_BELOW {
                    parts::aside(ui, panel.theme, text::WASH);
                }
                ui.add_space(14.0);
                ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                    egui::ScrollArea::horizontal()
                        .id_salt("layouts")
                        .show(ui, |ui| {
                            ui.horizontal_centered(|ui| self.layouts(ui, panel))
                        });
                });
            });
        });
    }

    fn scene_name(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        let name = &panel.desk.scene().name;
        if let Some(typed) = &mut self.naming {
            match typing(ui, typed, text::SCENE_NAME) {
                Typing::Going => {}
                Typing::Left => self.naming = None,
                Typing::Done => {
                    if typed != name && !typed.is_empty() {
                        panel.edit(text::RENAME_SCENE, Change::Name(typed.clone()));
                    }
                    self.naming = None;
                }
            }
            return;
        }
        let label = egui::Label::new(
            RichText::new(name)
                .font(theme::bold(theme::HEADING_SIZE))
                .color(panel.theme.ink),
        );
        let response = ui.add(label.truncate().sense(Sense::click()));
        if response.on_hover_text(text::CLICK_TO_RENAME).clicked() {
            self.naming = Some(name.clone());
        }
        if panel.desk.document().is_unsaved() {
            parts::aside(ui, panel.theme, text::UNSAVED);
        }
    }

    fn layouts(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        let shown = panel.desk.layout_idx();
        let names: Vec<String> = panel
            .desk
            .scene()
            .layouts
            .iter()
            .map(|layout| layout.name.clone())
            .collect();
        for (idx, name) in names.iter().enumerate() {
            if idx == shown && self.renaming.is_some() {
                self.layout_typing(ui, panel, name);
                continue;
            }
            let shown_name = if name.is_empty() { text::UNNAMED } else { name };
            let response = parts::word(ui, panel.theme, shown_name, idx == shown);
            if idx == shown && self.in_view != Some(idx) {
                self.in_view = Some(idx);
                response.scroll_to_me(None);
            }
            if response.clicked() && idx != shown {
                panel.send.push(Command::ShowLayout(idx));
            }
            if response.double_clicked() {
                self.renaming = Some(name.clone());
            }
            response.context_menu(|ui| {
                for action in [
                    Action::RenameLayout,
                    Action::CopyLayout,
                    Action::LayoutLeft,
                    Action::LayoutRight,
                    Action::Compare,
                    Action::RemoveLayout,
                ] {
                    if ui.button(action.label()).clicked() {
                        panel.send.push(Command::ShowLayout(idx));
                        panel.ask.push(Ask::Do(action));
                        ui.close();
                    }
                }
            });
        }
        let response = parts::word(ui, panel.theme, text::PLUS_LAYOUT, false);
        if response.on_hover_text(Action::CopyLayout.tip()).clicked() {
            panel.ask.push(Ask::Do(Action::CopyLayout));
        }
    }

    fn layout_typing(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, name: &str) {
        let Some(typed) = &mut self.renaming else {
            return;
        };
        match typing(ui, typed, text::LAYOUT_NAME) {
            Typing::Going => {}
            Typing::Left => self.renaming = None,
            Typing::Done => {
                let layouts = &panel.desk.scene().layouts;
                let taken = layouts.iter().any(|layout| layout.name == *typed);
                if typed != name && !typed.is_empty() && !taken {
                    panel.edit(
                        Action::RenameLayout.label(),
                        Change::NameLayout(typed.clone()),
                    );
                }
                self.renaming = None;
            }
        }
    }
}

/// The way back, pale while there is no step to take back.
fn undo(ui: &mut Ui, panel: &mut Panel<'_>) {
    let step = panel.desk.document().history().last_label();
    let tip = text::undo_tip(step, Action::Undo.key());
    ui.add_enabled_ui(step.is_some(), |ui| {
        let response = parts::word(ui, panel.theme, Action::Undo.label(), false);
        if response.on_hover_text(tip).clicked() {
            panel.ask.push(Ask::Do(Action::Undo));
        }
    });
}

enum Typing {
    Going,
    Done,
    Left,
}

/// A one-line field that takes the keyboard at once.
fn typing(ui: &mut Ui, typed: &mut String, name: &str) -> Typing {
    let response = ui.add(
        TextEdit::singleline(typed)
            .desired_width(150.0)
            .char_limit(80),
    );
    let response = response.accessible_name(name);
    if response.lost_focus() {
        if ui.input(|input| input.key_pressed(egui::Key::Escape)) {
            return Typing::Left;
        }
        return Typing::Done;
    }
    if !response.has_focus() {
        response.request_focus();
    }
    Typing::Going
}

fn washes(ui: &mut Ui, panel: &mut Panel<'_>, wash: Wash) {
    // The row is laid out from the right.
    let rows = [
        (
            Action::WashNone,
            text::WASH_NONE,
            matches!(wash, Wash::None),
        ),
        (Action::WashFit, text::WASH_FIT, matches!(wash, Wash::Fit)),
        (
            Action::WashLight,
            text::WASH_LIGHT,
            matches!(wash, Wash::Light),
        ),
        (
            Action::WashFlow,
            text::WASH_FLOW,
            matches!(wash, Wash::Flow),
        ),
    ];
    for (action, label, is_chosen) in rows {
        let response = parts::word(ui, panel.theme, label, is_chosen);
        let tip = format!("{} ({})", action.tip(), action.key());
        if response.on_hover_text(tip).clicked() {
            panel.ask.push(Ask::Do(action));
        }
    }
}

/// The menu, all of it made from the table.
fn menu(ui: &mut Ui, panel: &mut Panel<'_>) {
    let button = egui::Button::new(text::MENU).frame(false);
    let (response, _) = egui::containers::menu::MenuButton::from_button(button).ui(ui, |ui| {
        for group in [
            ActionGroup::Scene,
            ActionGroup::Edit,
            ActionGroup::Add,
            ActionGroup::View,
            ActionGroup::Advice,
            ActionGroup::Layout,
            ActionGroup::Program,
        ] {
            ui.menu_button(group.label(), |ui| {
                ui.set_min_width(230.0);
                for action in Action::all().filter(|action| action.group() == group) {
                    let button = egui::Button::new(action.label())
                        .shortcut_text(action.key())
                        .frame_when_inactive(false);
                    let response = ui.add(button).on_hover_text(action.tip());
                    if response.clicked() {
                        panel.ask.push(Ask::Do(action));
                        ui.close();
                    }
                }
            });
        }
    });
    response.on_hover_text(text::MENU_TIP);
}

/// One dot and a few words about the estimates, in a box of fixed width.
fn status(ui: &mut Ui, panel: &Panel<'_>, window_width: f32) -> Response {
    let (color, words) = match text::paper_status(panel.desk.results().paper) {
        Some(words) => (panel.theme.glow, words.to_owned()),
        None => status_words(panel),
    };
    let is_narrow = window_width < 1100.0;
    let width = if is_narrow { 14.0 } else { 236.0 };
    let (rect, response) = ui.allocate_exact_size(Vec2::new(width, 22.0), Sense::hover());
    ui.painter()
        .circle_filled(rect.left_center() + Vec2::new(6.0, 0.0), 4.5, color);
    if !is_narrow {
        let galley = ui.painter().layout_no_wrap(
            words.clone(),
            egui::FontId::proportional(theme::TEXT_SIZE),
            panel.theme.ink,
        );
        let at = rect.left_center() + Vec2::new(17.0, -galley.size().y / 2.0);
        ui.painter_at(rect).galley(at, galley, panel.theme.ink);
    }
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &words));
    response.on_hover_text(status_details(panel))
}

fn status_words(panel: &Panel<'_>) -> (Color32, String) {
    let results = panel.desk.results();
    let theme = panel.theme;
    let has_jet =
        !panel.desk.layout().pumps.is_empty() || !panel.desk.scene().tank.returns.is_empty();
    if !has_jet {
        return (theme.rule, text::NO_PUMP.to_owned());
    }
    let field = results.tank.as_ref().or(results.plan_slice.as_ref());
    let (name, is_old) = match (&results.tank, &results.plan_slice) {
        (_, Some(_)) if results.slices_lead() => (text::SLICE_ESTIMATE, results.slices_are_old()),
        (Some(_), _) => (text::TANK_ESTIMATE, results.tank_is_old()),
        (None, Some(_)) => (text::SLICE_ESTIMATE, results.slices_are_old()),
        (None, None) => ("", false),
    };
    match &results.flow_status() {
        FlowStatus::Failed(_) => (theme.accent, text::NO_ESTIMATE.to_owned()),
        FlowStatus::Idle if field.is_none() => (theme.rule, text::NOTHING_ESTIMATED.to_owned()),
        FlowStatus::Running(share) if field.is_none() => (theme.glow, text::estimating(*share)),
        FlowStatus::Running(share) => (theme.glow, text::refining(name, *share)),
        _ if is_old => (theme.glow, text::of_earlier(name)),
        FlowStatus::Unsettled => {
            let words = runs_words(panel).map_or_else(String::new, |words| format!("; {words}"));
            (theme.accent, format!("{}{words}", text::unsettled(name)))
        }
        FlowStatus::Idle | FlowStatus::Settled => match runs_words(panel) {
            Some(words) => (theme.good, format!("{name}, {words}")),
            None => (theme.good, text::settled(name, averaged_s(panel))),
        },
    }
}

/// Tank time that the averages cover, in s.
fn averaged_s(panel: &Panel<'_>) -> f64 {
    let results = panel.desk.results();
    let field = results.tank.as_ref().or(results.plan_slice.as_ref());
    field.map_or(0.0, |field| field.settling.averaged_s)
}

/// What is known from further runs of the tank.
fn runs_words(panel: &Panel<'_>) -> Option<String> {
    let results = panel.desk.results();
    if let Some(share) = results.further_runs {
        return Some(text::further_runs(share));
    }
    let tank = results.tank.as_ref().filter(|tank| tank.n_runs > 1)?;
    Some(text::runs_agree(tank.n_runs, tank.settling.flip_share))
}

fn status_details(panel: &Panel<'_>) -> String {
    let results = panel.desk.results();
    let flow = match &results.flow_status() {
        FlowStatus::Failed(why) => format!("{}: {why}", text::NO_ESTIMATE),
        FlowStatus::Settled if runs_words(panel).is_some() => {
            let words = status_words(panel).1;
            format!("{words}; {}", text::averaged(averaged_s(panel)))
        }
        _ => status_words(panel).1,
    };
    let light = match &results.light_status() {
        LightStatus::Idle => text::LIGHT_IDLE.to_owned(),
        LightStatus::Running => text::LIGHT_RUNNING.to_owned(),
        LightStatus::Coarse => text::LIGHT_COARSE.to_owned(),
        LightStatus::Fine => text::LIGHT_FINE.to_owned(),
        LightStatus::Failed(why) => format!("{}: {why}", text::NO_LIGHT),
    };
    let paper = text::paper_status(results.paper);
    [Some(flow.as_str()), Some(light.as_str()), paper]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join("\n")
}

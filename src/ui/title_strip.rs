//! The strip on top: what is open, which layout, which wash, how far the
//! estimates are, and the way to every command.

use egui::{Align, Layout, Response, RichText, Role, Sense, TextEdit, Ui, Vec2, WidgetInfo};

use crate::desk::{Action, ActionGroup, Change, Command};
use crate::ui::ask::Ask;
use crate::ui::parts::{self, Panel};
use crate::ui::sheet::Wash;
use crate::ui::{progress, text, theme};

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
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, (wash, are_folded): (Wash, bool)) {
        let width = ui.available_width();
        let gap = if width > SHORT_BELOW { 14.0 } else { 2.0 };
        if width < SHORT_BELOW {
            ui.spacing_mut().item_spacing.x = 5.0;
        }
        ui.horizontal_centered(|ui| {
            menu(ui, panel);
            undo(ui, panel);
            ui.add_space(2.0);
            self.scene_name(ui, panel, width);
            ui.add_space(gap);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
                let words = if width > SHORT_BELOW {
                    let key = Action::Commands.key().replace('+', " ");
                    format!("{} {key}", Action::Commands.label())
                } else {
                    text::FIND.to_owned()
                };
                let response = parts::word(ui, panel.theme, &words, false);
                if response.on_hover_text(Action::Commands.tip()).clicked() {
                    panel.ask.push(Ask::Do(Action::Commands));
                }
                let words = if are_folded { text::UNFOLD } else { text::FOLD };
                let response = parts::word(ui, panel.theme, words, are_folded);
                let action = Action::FoldPanels;
                let tip = format!("{} ({})", action.tip(), action.key());
                if response.on_hover_text(tip).clicked() {
                    panel.ask.push(Ask::Do(action));
                }
                ui.add_space(gap);
                status(ui, panel, width);
                ui.add_space(gap);
                washes(ui, panel, wash);
                if width > SHORT_BELOW {
                    parts::aside(ui, panel.theme, text::WASH);
                }
                ui.add_space(gap);
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

    fn scene_name(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, width: f32) {
        /// Share of the strip that the name takes at most.
        const SHARE: f32 = 0.2;
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
        let room = Vec2::new(ui.available_width().min(SHARE * width), 22.0);
        let label = label.truncate().sense(Sense::click());
        let response = ui
            .scope(|ui| {
                ui.set_max_width(room.x);
                ui.add(label)
            })
            .inner;
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
    const WIDE: f32 = 190.0;
    const NARROW: f32 = 128.0;
    let (color, words) = progress::status(panel.desk, panel.theme);
    let width = if window_width < SHORT_BELOW {
        NARROW
    } else {
        WIDE
    };
    let (rect, response) = ui.allocate_exact_size(Vec2::new(width, 22.0), Sense::hover());
    ui.painter()
        .circle_filled(rect.left_center() + Vec2::new(6.0, 0.0), 4.5, color);
    let room = width - 17.0;
    let lay_out = |size: f32| {
        let font = egui::FontId::proportional(size);
        ui.painter()
            .layout_no_wrap(words.clone(), font, panel.theme.ink)
    };
    let mut galley = lay_out(theme::TEXT_SIZE);
    if galley.size().x > room {
        galley = lay_out(theme::TEXT_SIZE * (room / galley.size().x).max(0.7));
    }
    let at = rect.left_center() + Vec2::new(17.0, -galley.size().y / 2.0);
    ui.painter().galley(at, galley, panel.theme.ink);
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &words));
    response.on_hover_text(progress::details(panel.desk))
}

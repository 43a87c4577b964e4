//! The selected thing, in words and numbers; the tank when nothing is selected.

pub mod berths;
pub mod coral;
mod finer;
pub mod inhabitants;
pub mod known;
pub mod lamp;
pub mod many;
pub mod pump;
pub mod rock;
pub mod strip;
pub mod tank;

use egui::{RichText, ScrollArea, TextEdit, Ui};
use glam::DVec3;

use crate::desk::{Action, Change};
use crate::scene::Item;
use crate::ui::ask::Ask;
use crate::ui::findings::item_words;
use crate::ui::parts::{self, Number, Panel};
use crate::ui::{text, theme};
use crate::units::Measure;

/// What the inspector remembers between frames.
#[derive(Debug, Default)]
pub struct Inspector {
    /// The thing whose name is being typed, and the name.
    naming: Option<(u32, String)>,
    /// Whether the name field should take the keyboard.
    wants_name: bool,
    /// Masses of rocks, so that they are not weighed in every frame.
    scale: rock::Scale,
}

impl Inspector {
    /// Puts the keyboard into the name of the selected thing.
    pub fn rename(&mut self) {
        self.wants_name = true;
    }

    /// Draws what belongs to the selection.
    pub fn show(&mut self, ui: &mut Ui, panel: &mut Panel<'_>) {
        ScrollArea::vertical()
            .id_salt("inspector")
            .auto_shrink(false)
            .show(ui, |ui| {
                ui.spacing_mut().item_spacing.y = 3.0;
                // Fields lie clear of the scroll bar.
                ui.set_max_width(ui.available_width() - 8.0);
                if let Some(place) = panel.desk.place() {
                    inhabitants::show(ui, panel, place);
                    return;
                }
                if let Some(entry) = berths::entry_without_coral(panel) {
                    berths::for_new(ui, panel, entry);
                    return;
                }
                match (panel.desk.selection().len(), panel.desk.selected_item()) {
                    (0, _) => tank::show(ui, panel),
                    (_, Some(item)) => self.one(ui, panel, &item),
                    _ => many::show(ui, panel),
                }
            });
    }

    fn one(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, item: &Item) {
        self.name_field(ui, panel, item);
        match item {
            Item::Rock(it) => rock::show(ui, panel, it, &mut self.scale),
            Item::Pump(it) => pump::show(ui, panel, it),
            Item::Lamp(it) => lamp::show(ui, panel, it),
            Item::Coral(it) => coral::show(ui, panel, it),
        }
        ui.add_space(8.0);
        let actions: &[Action] = match item {
            Item::Rock(_) => &[
                Action::LetDown,
                Action::CutOpening,
                Action::ScaleUp,
                Action::ScaleDown,
                Action::Hide,
                Action::Mirror,
                Action::TurnLeft,
                Action::TurnRight,
                Action::Duplicate,
                Action::Lock,
                Action::Remove,
            ],
            Item::Pump(_) | Item::Lamp(_) | Item::Coral(_) => &[
                Action::Mirror,
                Action::TurnLeft,
                Action::TurnRight,
                Action::Duplicate,
                Action::Lock,
                Action::Remove,
            ],
        };
        action_links(ui, panel, actions);
    }

    /// The name as a heading that can be typed over, and what it is below.
    fn name_field(&mut self, ui: &mut Ui, panel: &mut Panel<'_>, item: &Item) {
        let id = item.id();
        let mut typed = match &self.naming {
            Some((naming, typed)) if *naming == id => typed.clone(),
            _ => item.name().to_owned(),
        };
        let hint = match item {
            Item::Coral(_) => item_words(item),
            _ => text::name_hint(item),
        };
        let hint = RichText::new(hint).font(theme::bold(theme::HEADING_SIZE));
        let edit = TextEdit::singleline(&mut typed)
            .id_salt(("name", id))
            .font(theme::bold(theme::HEADING_SIZE))
            .hint_text(hint)
            .frame(egui::Frame::NONE)
            .desired_width(f32::INFINITY)
            .char_limit(80);
        let response = ui.add(edit).accessible_name(text::NAME);
        if std::mem::take(&mut self.wants_name) {
            response.request_focus();
        }
        if response.has_focus() {
            self.naming = Some((id, typed));
        } else if let Some((naming, typed)) = self.naming.take()
            && naming == id
            && typed != item.name()
        {
            let mut renamed = item.clone();
            renamed.set_name(typed);
            panel.edit(Action::Rename.label(), Change::Put(Box::new(renamed)));
        }
        let mut words = text::kind(item.kind()).to_owned();
        if item.locked() {
            words = format!("{words}, {}", text::LOCKED);
        }
        parts::aside(ui, panel.theme, words);
        ui.add_space(4.0);
    }
}

/// Actions from the table as links in running text.
fn action_links(ui: &mut Ui, panel: &mut Panel<'_>, actions: &[Action]) {
    ui.horizontal_wrapped(|ui| {
        for (n, action) in actions.iter().enumerate() {
            if n > 0 {
                parts::aside(ui, panel.theme, "·");
            }
            let response = parts::link(ui, panel.theme, action.label());
            let tip = match action.key() {
                "" => action.tip().to_owned(),
                key => format!("{} ({key})", action.tip()),
            };
            if response.on_hover_text(tip).clicked() {
                panel.ask.push(Ask::Do(*action));
            }
        }
    });
}

/// Where something is: three numbers, each its own step.
fn place_rows(ui: &mut Ui, panel: &mut Panel<'_>, item: &Item) {
    let at_cm = item.at_cm();
    let tank = &panel.desk.scene().tank;
    let rows = [
        (text::FROM_LEFT, tank.length_cm),
        (text::FROM_FRONT, tank.width_cm),
        (text::HEIGHT, tank.height_cm.max(tank.water_cm) + 150.0),
    ];
    for (axis, (name, most)) in rows.into_iter().enumerate() {
        let number = Number::new(name, Measure::Length, (-20.0, most + 20.0));
        parts::number_row(ui, panel, &number, at_cm[axis], |new| {
            moved(item, axis, new)
        });
    }
}

/// The item at another place. A rock takes along what is bonded to it or sits
/// on it, so this is a shift.
fn moved(item: &Item, axis: usize, to_cm: f64) -> Change {
    let mut delta_cm = DVec3::ZERO;
    delta_cm[axis] = to_cm - item.at_cm()[axis];
    Change::Shift(vec![item.id()], delta_cm)
}

/// A row with an angle.
fn angle_row(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (name, most_deg): (&str, f64),
    value_deg: f64,
    change: impl FnOnce(f64) -> Change,
) {
    let number = Number::new(name, Measure::Angle, (-most_deg, most_deg));
    parts::number_row(ui, panel, &number, value_deg, change);
}

//! Several selected things: how many, and what can be done with all of them.

use egui::{RichText, Ui};

use crate::desk::{Action, Command};
use crate::scene::ItemKind;
use crate::ui::findings::item_words;
use crate::ui::inspector::action_links;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};

/// Draws it.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let ids = panel.desk.selection().to_vec();
    ui.label(RichText::new(text::things(ids.len())).font(theme::bold(theme::HEADING_SIZE)));
    let layout = panel.desk.layout();
    let items: Vec<_> = ids.iter().filter_map(|id| layout.item(*id)).collect();
    let kinds = [
        ItemKind::Rock,
        ItemKind::Pump,
        ItemKind::Lamp,
        ItemKind::Coral,
    ];
    let counts: Vec<String> = kinds
        .iter()
        .map(|kind| {
            (
                *kind,
                items.iter().filter(|item| item.kind() == *kind).count(),
            )
        })
        .filter(|(_, n)| *n > 0)
        .map(|(kind, n)| text::kinds(kind, n))
        .collect();
    parts::aside(ui, panel.theme, counts.join(", "));
    ui.add_space(8.0);
    action_links(
        ui,
        panel,
        &[
            Action::AlignLeft,
            Action::AlignMiddle,
            Action::AlignRight,
            Action::AlignFront,
            Action::AlignBack,
            Action::AlignTops,
            Action::AlignBottoms,
            Action::DistributeAcross,
            Action::DistributeDepth,
            Action::Bond,
            Action::ScaleUp,
            Action::ScaleDown,
            Action::Hide,
            Action::LetDown,
            Action::Mirror,
            Action::TurnLeft,
            Action::TurnRight,
            Action::Duplicate,
            Action::Copy,
            Action::Lock,
            Action::Remove,
            Action::SelectNone,
        ],
    );
    ui.add_space(8.0);
    for item in &items {
        if parts::word(ui, panel.theme, &item_words(item), false).clicked() {
            panel.send.push(Command::Select(vec![item.id()]));
        }
    }
}

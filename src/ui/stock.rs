//! What is where, on what mount, since when.

use egui::{Grid, RichText, Ui};

use crate::desk::Command;
use crate::scene::{Item, Support};
use crate::ui::ask::Ask;
use crate::ui::findings::item_words;
use crate::ui::parts::{self, Panel};
use crate::ui::{text, theme};
use crate::units::Measure;

/// Draws the list; a click on a name selects the thing.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let layout = panel.desk.layout().clone();
    let ids: Vec<u32> = layout.ids().collect();
    if ids.is_empty() {
        parts::aside(ui, panel.theme, text::EMPTY_TANK);
        return;
    }
    Grid::new("stock")
        .num_columns(5)
        .spacing([18.0, 3.0])
        .show(ui, |ui| {
            for title in text::STOCK_TITLES {
                ui.label(RichText::new(title).font(theme::bold(theme::SMALL_SIZE)));
            }
            ui.end_row();
            for item in ids.iter().filter_map(|id| layout.item(*id)) {
                if ui.link(item_words(&item)).clicked() {
                    panel.send.push(Command::Select(vec![item.id()]));
                    panel.ask.push(Ask::Close);
                }
                parts::aside(ui, panel.theme, text::kind(item.kind()));
                ui.label(place_words(panel, &item));
                ui.label(mount_words(&layout, &item));
                ui.label(since_words(&item));
                ui.end_row();
            }
        });
}

fn place_words(panel: &Panel<'_>, item: &Item) -> String {
    let at = item.at_cm();
    let units = panel.units();
    let number = |value: f64| Measure::Length.number(value, units);
    let unit = Measure::Length.shown(units).unit;
    format!(
        "{}, {}, {} {unit}",
        number(at.x),
        number(at.y),
        number(at.z)
    )
}

fn mount_words(layout: &crate::scene::Layout, item: &Item) -> String {
    let Item::Coral(coral) = item else {
        return String::new();
    };
    let on = match coral.on {
        Support::Sand => text::THE_SAND.to_owned(),
        Support::Rock(id) => layout
            .item(id)
            .map_or_else(String::new, |rock| item_words(&rock)),
    };
    format!("{}, {on}", text::mount(coral.mount))
}

fn since_words(item: &Item) -> String {
    match item {
        Item::Coral(coral) => coral.since.clone().unwrap_or_default(),
        _ => String::new(),
    }
}

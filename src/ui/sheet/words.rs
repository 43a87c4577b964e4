//! The words on the sheet, in the keeper's units.

use crate::catalog::Catalog;
use crate::desk::{Desk, Levels, UnitSystem};
use crate::scene::{Item, ItemId, Quantity, Reading};
use crate::ui::sheet::View;
use crate::ui::sheet::hand::Grip;

/// No layout is set against the shown one.
pub(crate) const COMPARE_FIRST: &str =
    "A difference needs two layouts: press K to set this one against another";

/// There is no surface under the pointer.
pub(crate) const POINT_AT_SURFACE: &str =
    "Point at rock, or at sand in the top view, to ask what lives there";

pub(crate) use crate::words::{drawn_length as length, drawn_speed as speed};

/// What a view is and where it is cut, in many words and in few.
pub(crate) fn caption(view: View, levels: Levels, units: UnitSystem) -> [String; 2] {
    let (name, at_cm, from) = match view {
        View::Top => ("top", levels.height_cm, "above the base"),
        View::Side => ("side", levels.depth_cm, "from the front glass"),
        View::End => ("end", levels.across_cm, "from the left"),
    };
    let at = length(at_cm, units);
    [
        format!("{name}, cut at {at} {from}"),
        format!("{name}, at {at}"),
    ]
}

/// The top view's caption while it shows how a coral would fit.
pub(crate) const FIT_CAPTION: [&str; 2] = ["top, fit on sand and rock", "top, fit"];

/// The top view's caption while it shows the light on sand and rock.
pub(crate) const BED_CAPTION: [&str; 2] = ["top, light on sand and rock", "top, light"];

/// The words of a finding that stands for others as well.
pub(crate) fn and_more(text: &str, n_more: usize) -> String {
    format!("{text}, {n_more} more")
}

/// A figure of a rough estimate.
pub(crate) fn roughly(text: &str) -> String {
    format!("{text}? (rough)")
}

/// How far something lies off a view's cut, as seen by who looks at the view.
pub(crate) fn off_cut(view: View, off_cm: f64, units: UnitSystem) -> String {
    let word = match (view, off_cm > 0.0) {
        (View::Top, true) => "above",
        (View::Top, false) => "below",
        (View::Side, true) => "behind",
        (View::Side, false) => "in front",
        (View::End, true) => "nearer",
        (View::End, false) => "farther left",
    };
    format!("{} {word}", length(off_cm.abs().round(), units))
}

/// What a click on a mark does that its view's cut misses.
pub(crate) const BRING_CUT: &str = "Click to bring the cut there";
/// What a click on any other mark does.
pub(crate) const SHOW_WHOLE: &str = "Click to go there";

/// The name of a proposed pump's ghost in a view.
pub(crate) fn ghost(number: usize, view: View) -> String {
    let view = view_name(view).to_lowercase();
    format!("{}, {view}", crate::ui::text::proposal(number))
}

/// What a click on a ghost does.
pub(crate) const TAKE_GHOST: &str = "Click to take it";
/// The same of one that is out of date.
pub(crate) const TAKE_OLD_GHOST: &str =
    "Out of date: the scene has changed since. Click to take it all the same";

/// The border between the columns of views, for screen readers.
pub(crate) const COLUMN_BORDER: &str = "border between the columns of views";

/// A view's name for screen readers.
pub(crate) fn view_name(view: View) -> &'static str {
    match view {
        View::Top => "Top view",
        View::Side => "Side view",
        View::End => "End view",
    }
}

/// The turning view's name for screen readers.
pub(crate) const SOLID_NAME: &str = "Solid view";
/// The turning view's caption.
pub(crate) const SOLID_CAPTION: [&str; 2] =
    ["drag to turn, double-click for the front", "drag to turn"];

/// A reading's value and what the estimate has there.
pub(crate) fn reading(reading: &Reading, computed: Option<f64>, units: UnitSystem) -> String {
    let value = |value: f64| match reading.quantity {
        Quantity::PpfdUp | Quantity::PpfdScalar => format!("{value:.0}"),
        Quantity::Speed => speed(value, units),
    };
    let Some(measured) = reading.value.map(value) else {
        return crate::ui::text::NOT_READ_YET.to_owned();
    };
    match computed {
        Some(computed) => format!("read {measured}, computed {}", value(computed)),
        None => format!("read {measured}"),
    }
}

/// What a tool asks for.
pub(super) fn hint(tool: super::Tool) -> Option<&'static str> {
    match tool {
        super::Tool::Hand => None,
        super::Tool::Rock => Some(
            "draw an outline in the top or side view: in one stroke, or point by point and \
             back to the first; Escape stops",
        ),
        super::Tool::Reading => Some(crate::ui::text::CLICK_PLACES),
        super::Tool::Opening => {
            Some("draw the hole on the selected rock, as seen from the front; Escape stops")
        }
    }
}

/// An item's name for screen readers.
pub(crate) fn item_name(item: &Item, catalog: &Catalog) -> String {
    let kind = match item {
        Item::Rock(_) => "rock",
        Item::Pump(_) => "pump",
        Item::Lamp(_) => "lamp",
        Item::Coral(_) => "coral",
    };
    let name = match item {
        Item::Coral(coral) if coral.name.is_empty() => catalog
            .entry(&coral.entry)
            .map_or_else(|| coral.entry.clone(), crate::catalog::Entry::label),
        item => item.name().to_owned(),
    };
    if name.is_empty() || name == kind {
        format!("{kind} {}", item.id())
    } else {
        format!("{kind} {}, {name}", item.id())
    }
}

/// Said of an outline that was guessed from the one drawn in the top view, and
/// what makes it less and more.
pub(super) const GUESSED_FROM_ABOVE: [&str; 3] = ["height guessed:", "lower", "higher"];
/// The same of one that was guessed from the side view.
pub(super) const GUESSED_FROM_SIDE: [&str; 3] = ["depth guessed:", "shallower", "deeper"];
/// Takes a guessed outline as it is.
pub(super) const KEEP_GUESS: &str = "keep the guess";
/// Label of a step that changes a guessed outline.
pub(super) const CHANGE_GUESS: &str = "change the guess";

/// Label of a step that moves by keys.
pub(super) const NUDGE: &str = "nudge";
/// Label of a step that turns by keys.
pub(super) const TURN: &str = "turn";
/// Label of a step that adds a point to an outline.
pub(super) const ADD_POINT: &str = "add a point";
/// Label of a step that makes an outline smooth or cornered.
pub(super) const SWITCH_CURVE: &str = "curve or corners";
/// Label of a step that takes one out.
pub(super) const REMOVE_POINT: &str = "remove a point";
/// Said when an opening is to be cut into nothing.
pub(super) const SELECT_ROCK_FIRST: &str =
    "select the rock first into which the opening is to be cut";

/// Label of a step that drew something.
pub(super) fn drawn(tool: super::Tool) -> &'static str {
    match tool {
        super::Tool::Hand => "draw",
        super::Tool::Rock => "draw a rock",
        super::Tool::Opening => "cut an opening",
        super::Tool::Reading => "note a reading",
    }
}

/// Said when a stroke made nothing.
pub(super) fn not_drawn(tool: super::Tool, view: View) -> &'static str {
    match (tool, view) {
        (super::Tool::Rock, View::End) => {
            "to draw an end outline, select a rock first; draw new rocks in the top or side view"
        }
        (super::Tool::Opening, _) => {
            "no hole was cut: the stroke is too small, or the rock is turned away from this view"
        }
        _ => "no rock was drawn: the stroke is too small",
    }
}

/// Label of a gesture.
pub(super) fn gesture(grip: &Grip, desk: &Desk) -> String {
    let name = |id: ItemId| {
        let item = desk.layout().item(id);
        item.map_or_else(|| "it".to_owned(), |item| plain_name(&item))
    };
    match grip {
        Grip::Items { ids, .. } => match ids.as_slice() {
            [id] => format!("move {}", name(*id)),
            ids => format!("move {} things", ids.len()),
        },
        Grip::Coral(coral) => format!("move {}", name(coral.id)),
        Grip::Aim(id) => format!("aim {}", name(*id)),
        Grip::Turn(item) => format!("turn {}", name(item.id())),
        Grip::Point(spot, _) => format!("reshape {}", name(spot.rock)),
        Grip::Return(_) => "move the return".to_owned(),
        Grip::Overflow(_) => "move the overflow".to_owned(),
        Grip::WaterLine => "set the water line".to_owned(),
        Grip::Reading(_) => "move the reading".to_owned(),
        Grip::Level(_) | Grip::Marquee(_) | Grip::Pan | Grip::Pen => "look".to_owned(),
    }
}

/// The keeper's name for an item, or its kind.
fn plain_name(item: &Item) -> String {
    match (item.name(), item) {
        ("", Item::Rock(_)) => "rock".to_owned(),
        ("", Item::Pump(_)) => "pump".to_owned(),
        ("", Item::Lamp(_)) => "lamp".to_owned(),
        ("", Item::Coral(coral)) => coral.entry.clone(),
        (name, _) => name.to_owned(),
    }
}

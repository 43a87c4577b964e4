//! All words of the shell that a keeper reads, in one place, ready for
//! translation. Labels, keys and tooltips of actions stand in the action table.

use std::path::Path;
use std::time::Duration;

use crate::advice::Meeting;
use crate::scene::{Item, ItemKind};

macro_rules! words {
    ($($name:ident = $text:literal;)*) => {
        $(#[doc = $text] pub const $name: &str = $text;)*
    };
}

pub mod charts;
pub mod files;
pub mod help;
pub mod inspector;
pub mod light;
pub mod owned;
pub mod paper;
pub mod photo;
pub mod progress;

pub use charts::*;
pub use files::*;
pub use help::*;
pub use inspector::*;
pub use light::*;
pub use owned::*;
pub use paper::*;
pub use photo::*;
pub use progress::*;

words! {
    PROGRAM = "Bommie";

    // The title strip.
    MENU = "menu";
    MENU_TIP = "Every command, by group";
    SCENE_NAME = "name of the scene";
    CLICK_TO_RENAME = "Click to rename the scene";
    RENAME_SCENE = "rename the scene";
    UNSAVED = "unsaved";
    UNNAMED = "(no name)";
    PLUS_LAYOUT = "+ layout";
    LAYOUT_NAME = "name of the layout";
    WASH = "wash";
    WASH_FLOW = "flow";
    WASH_LIGHT = "light";
    WASH_FIT = "fit";
    WASH_NONE = "none";
    NO_ESTIMATE = "no flow estimate";
    NO_PUMP = "no pump, still water";
    LOOKING = "looking";
    QUICK_LOOK = "quick look";
    STAYS_ROUGH = "rough, does not settle";
    SETTLED = "settled";
    FIND = "find";
    STAGES = "An estimate goes from a quick look (slices, may be far off) over rough (averages still change) and settled to cross-checked (several runs agree).";
    LIGHT_IDLE = "light: not computed yet";
    LIGHT_RUNNING = "light: under way";
    LIGHT_COARSE = "light: coarse, the fine map follows";
    LIGHT_FINE = "light: fine map";
    NO_LIGHT = "no light map";

    DETAILS = "details";
    INSPECTOR_BORDER = "border of the inspector";
    FINDINGS_BORDER = "border of the findings";
    FOLD = "fold";
    UNFOLD = "panels";

    // Findings.
    NOTICED = "What Bommie noticed";
    EMPTY_TANK = "An empty tank. Click a shape at the left to add a rock, or press R to draw one; then add a pump and a lamp.";
    STILL_LOOKING = "Still looking: findings appear here, worst first.";
    ALL_WELL = "Nothing to report.";
    FLY_THERE = "Click to go there";
    ADD_PROPOSED = "add the proposed pump";
    ROUGH = "rough";

    // Growth.
    MONTHS = "months of growth to look ahead";
    TODAY = "back to today";
    GROWTH = "As corals grow";
    NO_CORALS = "No corals yet: growth starts with the first one.";
    NO_GROWTH = "Nothing touches, shades or stings anything within five years.";
    GROWTH_BASIS = "By the catalog's growth rates: usual month (early to late). Rates vary widely; prune when you see it.";
    FIELDS_GROWN = "water and light as grown";
    FIELDS_FOLLOW = "water and light follow";
    FIELDS_GROWN_TIP = "Water and light are solved with the grown corals. Nothing in the scene is changed.";

    // Two layouts.
    COMPARE = "compare";
    COMPARING = "Working out the comparison: light first, then the tank estimate of the other layout.";
    COMPARE_HINT = "Choose the layout that this one is to be set against; duplicate the layout first if there is only one.";
    AGAINST = "against";
    CHOOSE_LAYOUT = "choose a layout";
    OTHER_LAYOUT = "layout to compare with";
    SWIPE_LINE = "swipe line";
    SWIPE_TIP = "Lay the other layout over the right part of the sheet; drag the line";
    SWAP_LAYOUTS = "swap the two";
    END_COMPARING = "end comparing";
    SHOWN_SETTLES = "the shown layout still settles";
    FIGURES = "figures";
    BETTER = "better";
    WORSE = "worse";
    TIE = "tie";
    DIFFERS = "differs";
    UNKNOWN_FIGURE = "?";
    RANKING_TIP = "By how many figures each layout wins against each other one; ties count for none";
    NO_FATES = "Nothing changes for any coral.";
    FATE_BAD = "badly off";
    FATE_POOR = "poor";
    FATE_FAIR = "fair";
    FATE_GOOD = "good";
    NO_MOVES = "Nothing has to be moved.";
    LEGEND_FLOW_CHANGE = "flow, more or less";
    LEGEND_LIGHT_CHANGE = "light, more or less";
    LEGEND_CHANGE_WORDS = "Shown layout against the other one: orange is more, violet less, pale about the same.";

    // Read-out under the pointer.
    IN_ROCK = "rock";
    IN_SAND_BED = "sand";
    OUTSIDE = "outside the water";
    TO_RIGHT = "to the right";
    TO_LEFT = "to the left";
    TO_BACK = "to the back";
    TO_FRONT = "to the front";
    UPWARDS = "upward";
    DOWNWARDS = "downward";

    // Legend.
    LEGEND_FLOW = "flow wash";
    LEGEND_LIGHT = "light wash";
    LEGEND_FIT = "fit wash";
    LEGEND_FIT_WORDS = "The darker green, the better; numbers are the best berths.";
    LEGEND_FIT_LOW = "will not do";
    LEGEND_FIT_HIGH = "suits it";
    LEGEND_FIT_CHANGE = "fit, better or worse";
    LEGEND_FIT_WORSE = "worse here";
    LEGEND_FIT_BETTER = "better here";
    LEGEND_FIT_CHANGE_WORDS = "Shown layout against the other one, where both have the same surface; what was moved stays bare.";
    LEGEND_FIT_NONE = "Choose a coral: key C, or select one.";
    LEGEND_NONE = "no wash";
    LEGEND_NONE_WORDS = "Ink only. Keys 1, 2 and 3 bring flow, light and fit.";
    HATCHED = "dead or shaded: hatched";
    HATCHED_FLIPS = "hatched: dead or shaded; red the other way: may flip";

    // Pages.
    CLOSE = "close";
    PAGE_COMMANDS = "find a command";
    PAGE_HELP = "help";
    PAGE_ABOUT = "about and cautions";
    PAGE_NEW_TANK = "new tank";
    PAGE_CORALS = "choose a coral";
    PAGE_HISTORY = "steps";
    PAGE_STOCK = "stock list";
    PAGE_SCENES = "open a scene";
    PAGE_UNSAVED = "unsaved work";
    SEARCH_COMMANDS = "type what you want to do";
    NO_COMMAND = "No command has these words.";
    SEARCH_CORALS = "name, genus, or a word such as branching, shade, sand";
    HISTORY_WORDS = "Click a step to go to the state after it. Nothing is lost until you change something.";
    THE_START = "as opened";
    DEMOS = "scenes that come with the program";
    STORIES = "stories: a question and its tank";
    RECENT = "files opened lately";
    NO_RECENT = "None yet.";
    OTHER_FILE = "another file…";
    COMMON_SIZES = "Common inner sizes, length × depth × height:";
    OWN_SIZE = "Or your own, measured inside the glass:";
    START_TANK = "start with this tank";
    NEW_SCENE = "new reef";
    FIRST_LAYOUT = "first layout";
    PATH_OPEN = "open a scene file";
    PATH_SAVE = "save the scene";
    PATH_PICTURE = "save a picture";
    PATH_WORDS = "This system offers no file dialog, so type the path.";
    PATH_HINT = "/home/me/reef.ron";
    PATH_NAME = "path";
    DO_OPEN = "open";
    DO_SAVE = "save";
    SCENE_FILES = "scene";
    PICTURE_FILES = "picture";
    SAVE_FIRST = "save first";
    QUIT_AND_KEEP = "quit, keep it for the next start";
    GO_ON_AND_KEEP = "go on, keep it for the next start";
    STAY = "stay here";
    DROP_HERE = "let go: a scene opens, a mesh becomes a rock, a photo lies under the side view, a table brings readings, an IES file goes to the selected lamp";
    COPIED = "things copied in Bommie";

    // Notices.
    PUT_AWAY = "close";
    CLOSE_ALL = "close all";
    UNSAVED_FOUND = "Unsaved work was found";
    RECOVER = "open it";
    LET_GO = "discard it";
    WORK_NOT_KEPT = "Unsaved work cannot be kept on this disk; save often";
    NO_FOLDER = "the system names no folder for it";
    PICTURE_EMPTY = "the picture was empty";
    PICTURE_NOT_SAVED = "The picture could not be saved";

    // Help and about.
    BEGIN = "how to begin";
    HOW_SURE = "how sure is it?";
    BY_HAND = "by hand";
    CAUTION_FIRST = "A plan is not a proof. Before you build, read this.";
    MORE_CAUTIONS = "hands, glue and animals";
    LICENCES = "licenses";
    LICENCE_WORDS = "Free software under MIT or Apache 2.0, at your choice. Letters: Alegreya Sans, SIL Open Font License 1.1.";
}

/// Titles of the stock list.
pub const STOCK_TITLES: [&str; 5] = ["what", "kind", "where", "mount", "since"];

/// Title of the window.
pub fn window_title(scene: &str, is_unsaved: bool) -> String {
    let mark = if is_unsaved { "*" } else { "" };
    format!("{mark}{scene} - {PROGRAM}")
}

/// What undo would take back.
pub fn undo_tip(step: Option<&str>, key: &str) -> String {
    match step {
        Some(step) => format!("Take back: {step} ({key})"),
        None => format!("Nothing to take back yet ({key})"),
    }
}

/// A kind of thing.
pub fn kind(kind: ItemKind) -> &'static str {
    match kind {
        ItemKind::Rock => "rock",
        ItemKind::Pump => "pump",
        ItemKind::Lamp => "lamp",
        ItemKind::Coral => "coral",
    }
}

/// So many of a kind.
pub fn kinds(which: ItemKind, n: usize) -> String {
    let plural = if n == 1 { "" } else { "s" };
    format!("{n} {}{plural}", kind(which))
}

/// So many selected things.
pub fn things(n: usize) -> String {
    format!("{n} things")
}

/// What stands in an empty name field.
pub fn name_hint(item: &Item) -> String {
    format!("{} without a name", kind(item.kind()))
}

/// Over how long an estimate was averaged.
pub fn averaged(averaged_s: f64, cell: &str, computed_on: &str) -> String {
    format!("cells of {cell}, averaged over {averaged_s:.0} s, computed on the {computed_on}")
}

/// Why the processor computed what a card was to compute.
pub fn processor_since(why: &str) -> String {
    format!("processor ({why})")
}

/// The lists, where they stand behind the details.
pub fn lists(n: usize) -> String {
    format!("noticed {n}")
}

/// How many findings.
pub fn count(n: usize) -> String {
    match n {
        0 => String::new(),
        1 => "1 thing".to_owned(),
        n => format!("{n} things"),
    }
}

/// How far ahead the sheet looks.
pub fn months_ahead(months: f64) -> String {
    match months as u32 {
        0 => "corals as today".to_owned(),
        1 => "in 1 month".to_owned(),
        n if n % 12 == 0 => format!("in {n} months ({} y)", n / 12),
        n => format!("in {n} months"),
    }
}

/// How much growth brings within five years.
pub fn growth_ahead(n: usize) -> String {
    match n {
        0 => "no conflict as corals grow".to_owned(),
        1 => "1 conflict as corals grow".to_owned(),
        n => format!("{n} conflicts as corals grow"),
    }
}

/// How much of it has come by the month that is shown.
pub fn growth_by_then(n: usize) -> String {
    match n {
        0 => "no conflict by then".to_owned(),
        1 => "1 conflict by then".to_owned(),
        n => format!("{n} conflicts by then"),
    }
}

/// Looks at a month.
pub fn show_month(month: f64) -> String {
    format!("look at month {month:.0}")
}

/// What a notice is about, and of how many things it says so.
pub fn notice_heading(summary: &str, n: usize) -> String {
    match n {
        1 => summary.to_owned(),
        n => format!("{summary} ({n})"),
    }
}

/// What growth does, in a word.
pub fn meeting(what: Meeting) -> &'static str {
    match what {
        Meeting::Touch => "touch",
        Meeting::Overgrow => "overgrowth",
        Meeting::Shade => "shade",
        Meeting::Sting => "sting",
        Meeting::Spread => "moat",
        Meeting::Block => "flow",
    }
}

/// How far the estimate of the other layout is.
pub fn other_running(share: f64) -> String {
    format!("its water settles, {:.0} %", share * 100.0)
}

/// How many corals fare otherwise.
pub fn corals_changed(n: usize) -> String {
    match n {
        0 => "corals".to_owned(),
        1 => "1 coral changes".to_owned(),
        n => format!("{n} corals change"),
    }
}

/// How many steps it takes.
pub fn moves(n: usize) -> String {
    match n {
        0 => "moves".to_owned(),
        1 => "1 move".to_owned(),
        n => format!("{n} moves, in this order"),
    }
}

/// Layouts in order.
pub fn ranking(names: &str, left: usize) -> String {
    match left {
        0 => format!("ranking: {names}"),
        n => format!("ranking: {names} ({n} not solved yet)"),
    }
}

/// Up to which difference two figures are a tie.
pub fn tie_within(uncertainty: f64, unit: &str) -> String {
    format!("a tie up to a difference of {uncertainty:.2} {unit}")
}

/// A name with no more than so many letters.
pub fn shortened(name: &str, most: usize) -> String {
    if name.chars().count() <= most {
        return name.to_owned();
    }
    let start: String = name.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", start.trim_end())
}

/// A margin.
pub fn times(margin: f64) -> String {
    format!("{margin:.1} times")
}

/// A value before and after.
pub fn step(name: &str, before: &str, after: &str) -> String {
    format!("{name} {before}, then {after}")
}

/// How a coral fares before and after.
pub fn fate(before: Option<&str>, after: Option<&str>) -> String {
    match (before, after) {
        (Some(before), Some(after)) if before == after => format!("still {after}"),
        (Some(before), Some(after)) => format!("was {before}, becomes {after}"),
        (Some(before), None) => format!("was {before}, is left out"),
        (None, Some(after)) => format!("new, {after}"),
        (None, None) => NOT_KNOWN.to_owned(),
    }
}

/// What light and flow an entry likes.
pub fn likes(light: &str, flow: &str) -> String {
    format!("likes light {light}, flow {flow} (common practice)")
}

/// Light and flow at a place.
pub fn place_figures(light: Option<String>, flow: Option<String>) -> String {
    let light = light.unwrap_or_else(|| NOT_KNOWN.to_owned());
    let flow = flow.unwrap_or_else(|| NOT_KNOWN.to_owned());
    format!("light {light}, flow {flow}")
}

/// Moves the coral to a berth.
pub fn move_to(number: usize) -> String {
    format!("move it to berth {number}")
}

/// Plants a coral at a berth.
pub fn plant_at(number: usize) -> String {
    format!("plant it at berth {number}")
}

/// Plants a coral.
pub fn plant(name: &str) -> String {
    format!("plant {name}")
}

/// Shows where an entry would do well.
pub fn berths_of(name: &str) -> String {
    format!("berths for {name}")
}

/// A coral with a strong poison was placed.
pub fn palytoxin(name: &str) -> String {
    format!("Handle the {name} with care: it can hold a strong poison")
}

/// A range in words.
pub fn range(low: &str, high: &str) -> String {
    format!("wants {low} to {high}")
}

/// A lower limit in words.
pub fn at_least(low: &str) -> String {
    format!("wants {low} or more")
}

/// An entry that the catalog lacks.
pub fn unknown_entry(id: &str) -> String {
    format!("{id} (not in the catalog)")
}

/// A rock without a name.
pub fn rock_number(id: u32) -> String {
    format!("rock {id}")
}

/// A glued group.
pub fn group(n: u32) -> String {
    format!("group {n}")
}

/// A return nozzle.
pub fn return_number(n: usize) -> String {
    format!("return {n}")
}

/// A reading.
pub fn reading_number(n: usize) -> String {
    format!("reading {n}")
}

/// Takes something out.
pub fn remove_thing(name: &str) -> String {
    format!("remove {name}")
}

/// How much the tank holds.
pub fn tank_holds(volume: &str) -> String {
    format!("holds {volume} up to the water line, rock and sand included")
}

/// How many entries a search found.
pub fn entries_found(n: usize) -> String {
    match n {
        0 => "nothing has these words".to_owned(),
        1 => "1 entry".to_owned(),
        n => format!("{n} entries"),
    }
}

/// One entry of the catalog in a line.
pub fn entry_words(form: &str, light: &str, flow: &str) -> String {
    format!("{form} · light {light} · flow {flow}")
}

/// The question about unsaved work.
pub fn unsaved_question(name: &str, is_quit: bool) -> String {
    let what = if is_quit { "quitting" } else { "going on" };
    format!("\"{name}\" has changes that are in no file yet. Save them before {what}?")
}

/// Work was kept.
pub fn kept(name: &str) -> String {
    format!("The work on \"{name}\" is kept and offered at the next start")
}

/// What was left over.
pub fn leftover(name: &str, age: &str) -> String {
    format!("\"{name}\", last changed {age}.")
}

/// How long ago, in words.
pub fn age(age: Duration) -> String {
    let minutes = age.as_secs() / 60;
    match minutes {
        0 => "less than a minute ago".to_owned(),
        1 => "a minute ago".to_owned(),
        2..=119 => format!("{minutes} minutes ago"),
        120..=2879 => format!("{} hours ago", minutes / 60),
        _ => format!("{} days ago", minutes / 1440),
    }
}

/// A little picture of a scene.
pub fn picture_of(name: &str) -> String {
    format!("plan of {name}")
}

/// Where a picture went.
pub fn picture_saved(path: &Path) -> String {
    format!("Picture saved to {}", path.display())
}

/// What the program is.
pub fn about(version: &str) -> String {
    format!(
        "{PROGRAM} {version} plans the rock, pumps, lamps and corals of a reef tank before anything is glued. \
         A bommie is a lone coral outcrop standing in a lagoon. \
         Flow and light are estimates from first principles with stated limits; what lives in your tank decides."
    )
}

/// Before the search for a pump and what it found.
pub const PROPOSAL: &str = "proposal";
/// Stops the search.
pub const STOP: &str = "stop";
/// Above proposals of an earlier scene.
pub const PROPOSAL_IS_OLD: &str = "out of date";
/// Why they are.
pub const PROPOSALS_ARE_OLD: &str = "The scene has changed since these were found.";
/// Looks for them anew.
pub const SEARCH_AGAIN: &str = "search again";
/// In place of the link, where the pump is in the tank.
pub const PROPOSAL_TAKEN: &str = "taken";

/// The line above proposals: what to look at before buying.
pub const COSTS_NOTHING: &str = "first";
/// What that would bring.
pub const BEFORE_BUYING: &str = "other aims and settings cost nothing";

/// How far the search has come.
pub fn searching(share: f64) -> String {
    format!(
        "looking along the walls for a place, {:.0} %",
        share * 100.0
    )
}

/// Which of the proposals.
pub fn proposal(number: usize) -> String {
    format!("proposal {number}")
}

/// What an empty tank asks for, in the order of building.
pub const FIRST_STEPS: [&str; 3] = [
    "1  rock: click a shape at the left, or press R and draw an outline here",
    "2  pump: press P, then drag its arrow",
    "3  lamp: click panel, pendant, tube or bar at the left",
];

/// Takes a proposal.
pub fn add_proposal(number: usize) -> String {
    format!("take proposal {number}")
}

//! Every command that needs no further data, once: label, key, tooltip, group.
//! Menu, searchable list, help page and shortcuts are made from this table.

/// A named action.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "the table below says what each does")]
pub enum Action {
    NewTank,
    OpenDemo,
    Open,
    Save,
    SaveAs,
    SavePicture,
    Quit,
    Undo,
    Redo,
    Copy,
    Paste,
    Duplicate,
    Remove,
    SelectAll,
    SelectNone,
    Mirror,
    TurnLeft,
    TurnRight,
    LetDown,
    Lock,
    Rename,
    AddBoulder,
    AddSlab,
    AddPillar,
    AddArch,
    AddLedge,
    AddRubble,
    DrawRock,
    CutOpening,
    AddPump,
    AddReturn,
    AddPanel,
    AddPendant,
    AddTube,
    AddCoral,
    AddAnimal,
    AddReading,
    WashFlow,
    WashLight,
    WashFit,
    WashNone,
    WashFlowChange,
    WashLightChange,
    Tracers,
    FitSheet,
    ZoomIn,
    ZoomOut,
    ZoomSelection,
    FillTop,
    FillSide,
    FillEnd,
    FillSolid,
    AllViews,
    MonthsOn,
    MonthsBack,
    Today,
    ProposePump,
    StopWork,
    NextFinding,
    PreviousFinding,
    GrowthList,
    LivesHere,
    CopyLayout,
    RenameLayout,
    RemoveLayout,
    NextLayout,
    LayoutLeft,
    LayoutRight,
    Compare,
    Commands,
    Help,
    About,
    UnitsSwitch,
    NightSheet,
    LargerText,
    SmallerText,
    LessMotion,
    History,
    Stocklist,
}

/// Where an action stands in the menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ActionGroup {
    /// Files.
    Scene,
    /// Changing what is drawn.
    Edit,
    /// Adding things.
    Add,
    /// What the sheet shows.
    View,
    /// Estimates and advice.
    Advice,
    /// Arrangements.
    Layout,
    /// About the program.
    Program,
}

impl ActionGroup {
    /// Its word in the menu.
    pub fn label(self) -> &'static str {
        match self {
            Self::Scene => "scene",
            Self::Edit => "edit",
            Self::Add => "add",
            Self::View => "view",
            Self::Advice => "advice",
            Self::Layout => "layout",
            Self::Program => "program",
        }
    }
}

/// One row of the table.
struct Row(
    Action,
    ActionGroup,
    &'static str,
    &'static str,
    &'static str,
);

use Action as A;
use ActionGroup as G;

/// Action, group, label, key ("" for none), tooltip.
const TABLE: &[Row] = &[
    Row(
        A::NewTank,
        G::Scene,
        "new tank",
        "Ctrl+N",
        "Start an empty tank of a common size",
    ),
    Row(
        A::OpenDemo,
        G::Scene,
        "open a demo scene",
        "",
        "Open one of the scenes that come with the program",
    ),
    Row(A::Open, G::Scene, "open", "Ctrl+O", "Open a scene file"),
    Row(
        A::Save,
        G::Scene,
        "save",
        "Ctrl+S",
        "Save the scene to its file",
    ),
    Row(
        A::SaveAs,
        G::Scene,
        "save as",
        "Ctrl+Shift+S",
        "Save the scene to another file",
    ),
    Row(
        A::SavePicture,
        G::Scene,
        "save a picture",
        "Ctrl+P",
        "Save what the window shows as a PNG picture",
    ),
    Row(
        A::Quit,
        G::Scene,
        "quit",
        "Ctrl+Q",
        "Leave; unsaved work is kept for the next start",
    ),
    Row(
        A::Undo,
        G::Edit,
        "undo",
        "Ctrl+Z",
        "Take the last step back",
    ),
    Row(
        A::Redo,
        G::Edit,
        "redo",
        "Ctrl+Shift+Z",
        "Do the undone step again",
    ),
    Row(
        A::Copy,
        G::Edit,
        "copy",
        "Ctrl+C",
        "Remember the selected things",
    ),
    Row(
        A::Paste,
        G::Edit,
        "paste",
        "Ctrl+V",
        "Add what was copied, also in another layout",
    ),
    Row(
        A::Duplicate,
        G::Edit,
        "duplicate",
        "Ctrl+D",
        "Add a copy beside the selected things",
    ),
    Row(
        A::Remove,
        G::Edit,
        "remove",
        "Delete",
        "Take the selected things out",
    ),
    Row(
        A::SelectAll,
        G::Edit,
        "select all",
        "Ctrl+A",
        "Select everything in the layout",
    ),
    Row(
        A::SelectNone,
        G::Edit,
        "select nothing",
        "Escape",
        "Let go of the selection, or stop drawing",
    ),
    Row(
        A::Mirror,
        G::Edit,
        "mirror left to right",
        "M",
        "Mirror the selected things about their middle",
    ),
    Row(
        A::TurnLeft,
        G::Edit,
        "turn left",
        "[",
        "Turn the selected things 5 degrees, counter-clockwise from above",
    ),
    Row(
        A::TurnRight,
        G::Edit,
        "turn right",
        "]",
        "Turn the selected things 5 degrees, clockwise from above",
    ),
    Row(
        A::LetDown,
        G::Edit,
        "let it down",
        "D",
        "Lower the selected rocks until they meet rock or sand",
    ),
    Row(
        A::Lock,
        G::Edit,
        "lock or free",
        "L",
        "Keep the pointer from moving the selected things",
    ),
    Row(
        A::Rename,
        G::Edit,
        "rename",
        "F2",
        "Give the selected thing a name",
    ),
    Row(
        A::AddBoulder,
        G::Add,
        "boulder",
        "",
        "Add a rounded lump of rock",
    ),
    Row(A::AddSlab, G::Add, "slab", "", "Add a flat, wide rock"),
    Row(
        A::AddPillar,
        G::Add,
        "pillar",
        "",
        "Add a tall, narrow rock",
    ),
    Row(
        A::AddArch,
        G::Add,
        "arch",
        "",
        "Add a rock with an opening at its foot",
    ),
    Row(
        A::AddLedge,
        G::Add,
        "ledge",
        "",
        "Add a rock with a shelf that leans out",
    ),
    Row(A::AddRubble, G::Add, "rubble", "", "Add a low heap"),
    Row(
        A::DrawRock,
        G::Add,
        "draw a rock",
        "R",
        "Draw an outline freehand in the top or side view",
    ),
    Row(
        A::CutOpening,
        G::Add,
        "cut an opening",
        "O",
        "Draw a hole into the selected rock, for an arch or a cave",
    ),
    Row(A::AddPump, G::Add, "pump", "P", "Add a circulation pump"),
    Row(A::AddReturn, G::Add, "return", "", "Add a return nozzle"),
    Row(A::AddPanel, G::Add, "panel", "", "Add a flat lamp"),
    Row(
        A::AddPendant,
        G::Add,
        "pendant",
        "",
        "Add a round hanging lamp",
    ),
    Row(A::AddTube, G::Add, "tube", "", "Add a tube lamp"),
    Row(
        A::AddCoral,
        G::Add,
        "coral",
        "C",
        "Choose a coral and place it",
    ),
    Row(
        A::AddAnimal,
        G::Add,
        "animal",
        "",
        "Note an animal that digs, pushes, hosts, or needs a cave or a lane",
    ),
    Row(
        A::AddReading,
        G::Add,
        "reading",
        "",
        "Note a value that you measured in the tank",
    ),
    Row(
        A::WashFlow,
        G::View,
        "flow wash",
        "1",
        "Color the views by the speed of the water",
    ),
    Row(
        A::WashLight,
        G::View,
        "light wash",
        "2",
        "Color the views by light",
    ),
    Row(
        A::WashFit,
        G::View,
        "fit wash",
        "3",
        "Color rock and sand by how well the chosen coral would do",
    ),
    Row(A::WashNone, G::View, "no wash", "0", "Ink only"),
    Row(
        A::WashFlowChange,
        G::View,
        "flow difference",
        "4",
        "Color the views by how the flow differs from the compared layout",
    ),
    Row(
        A::WashLightChange,
        G::View,
        "light difference",
        "5",
        "Color the views by how the light differs from the compared layout",
    ),
    Row(
        A::Tracers,
        G::View,
        "tracers",
        "T",
        "Let specks drift with the water, or still them",
    ),
    Row(
        A::FitSheet,
        G::View,
        "fit the sheet",
        "Home",
        "Show the whole tank",
    ),
    Row(A::ZoomIn, G::View, "closer", "+", "Look closer"),
    Row(
        A::ZoomOut,
        G::View,
        "farther",
        "-",
        "Look from farther away",
    ),
    Row(
        A::ZoomSelection,
        G::View,
        "look at the selection",
        "Z",
        "Bring the selected things into the middle",
    ),
    Row(
        A::FillTop,
        G::View,
        "top view alone",
        "F5",
        "Let the top view fill the sheet",
    ),
    Row(
        A::FillSide,
        G::View,
        "side view alone",
        "F6",
        "Let the side view fill the sheet",
    ),
    Row(
        A::FillEnd,
        G::View,
        "end view alone",
        "F7",
        "Let the end view fill the sheet",
    ),
    Row(
        A::FillSolid,
        G::View,
        "solid view alone",
        "F8",
        "Let the turning view fill the sheet",
    ),
    Row(
        A::AllViews,
        G::View,
        "all views",
        "F4",
        "Show the linked views together",
    ),
    Row(
        A::MonthsOn,
        G::View,
        "six months later",
        ".",
        "Look at the corals as they will have grown",
    ),
    Row(
        A::MonthsBack,
        G::View,
        "six months earlier",
        ",",
        "Look less far ahead",
    ),
    Row(
        A::Today,
        G::View,
        "back to today",
        "Y",
        "Look at the corals as they are",
    ),
    Row(
        A::ProposePump,
        G::Advice,
        "propose a pump",
        "Ctrl+G",
        "Search where one more circulation pump helps most",
    ),
    Row(
        A::StopWork,
        G::Advice,
        "stop the search",
        "Ctrl+.",
        "Stop the running search",
    ),
    Row(
        A::NextFinding,
        G::Advice,
        "next finding",
        "N",
        "Go to the next thing that was noticed",
    ),
    Row(
        A::PreviousFinding,
        G::Advice,
        "previous finding",
        "Shift+N",
        "Go to the previous thing that was noticed",
    ),
    Row(
        A::GrowthList,
        G::Advice,
        "what growth brings",
        "G",
        "List who touches, shades, stings or starves whom, and when",
    ),
    Row(
        A::LivesHere,
        G::Advice,
        "what lives here?",
        "W",
        "List the corals that suit the surface under the pointer",
    ),
    Row(
        A::CopyLayout,
        G::Layout,
        "duplicate the layout",
        "Ctrl+L",
        "Add a copy of this layout to change freely",
    ),
    Row(
        A::RenameLayout,
        G::Layout,
        "rename the layout",
        "",
        "Give this layout another name",
    ),
    Row(
        A::RemoveLayout,
        G::Layout,
        "remove the layout",
        "",
        "Remove this layout; undo brings it back",
    ),
    Row(
        A::NextLayout,
        G::Layout,
        "next layout",
        "Ctrl+Tab",
        "Show the next layout",
    ),
    Row(
        A::LayoutLeft,
        G::Layout,
        "move the layout left",
        "",
        "Move this layout one place to the left in the strip",
    ),
    Row(
        A::LayoutRight,
        G::Layout,
        "move the layout right",
        "",
        "Move this layout one place to the right in the strip",
    ),
    Row(
        A::Compare,
        G::Layout,
        "compare layouts",
        "K",
        "Set this layout against another one: figures, corals, moves",
    ),
    Row(
        A::Commands,
        G::Program,
        "do anything",
        "Ctrl+K",
        "Search every command by its words",
    ),
    Row(
        A::Help,
        G::Program,
        "help",
        "F1",
        "How to begin, and all keys",
    ),
    Row(
        A::About,
        G::Program,
        "about and cautions",
        "",
        "What this is, what it is not, and how to stay safe",
    ),
    Row(
        A::UnitsSwitch,
        G::Program,
        "centimetres or inches",
        "U",
        "Switch the units everywhere",
    ),
    Row(
        A::NightSheet,
        G::Program,
        "day or night sheet",
        "",
        "Switch between light and dark paper",
    ),
    Row(
        A::LargerText,
        G::Program,
        "larger text",
        "Ctrl++",
        "Enlarge everything",
    ),
    Row(
        A::SmallerText,
        G::Program,
        "smaller text",
        "Ctrl+-",
        "Shrink everything",
    ),
    Row(
        A::LessMotion,
        G::Program,
        "less motion",
        "",
        "Stop what moves by itself, or let it move again",
    ),
    Row(
        A::History,
        G::Program,
        "steps",
        "Ctrl+H",
        "The list of past steps, to jump in",
    ),
    Row(
        A::Stocklist,
        G::Program,
        "stock list",
        "",
        "What is where, on what mount, since when",
    ),
];

impl Action {
    /// All actions in the order of the menu.
    pub fn all() -> impl Iterator<Item = Self> {
        TABLE.iter().map(|row| row.0)
    }

    fn row(self) -> &'static Row {
        // A test below sees to it that every action has its row.
        TABLE.iter().find(|row| row.0 == self).unwrap_or(&TABLE[0])
    }

    /// Its words in the menu and the searchable list.
    pub fn label(self) -> &'static str {
        self.row().2
    }

    /// Its key, such as `Ctrl+Shift+Z`; empty for none.
    pub fn key(self) -> &'static str {
        self.row().3
    }

    /// What it does, in a sentence.
    pub fn tip(self) -> &'static str {
        self.row().4
    }

    /// Where it stands in the menu.
    pub fn group(self) -> ActionGroup {
        self.row().1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_and_labels_are_used_once_and_the_table_is_whole() {
        for (i, row) in TABLE.iter().enumerate() {
            for other in &TABLE[i + 1..] {
                assert_ne!(row.0, other.0, "{} stands twice", row.2);
                assert_ne!(row.2, other.2, "label used twice");
                assert!(
                    row.3.is_empty() || row.3 != other.3,
                    "key {} used twice",
                    row.3
                );
            }
        }
        // The last variant's number counts the variants before it.
        assert_eq!(
            TABLE.len(),
            Action::Stocklist as usize + 1,
            "every action has a row"
        );
    }
}
